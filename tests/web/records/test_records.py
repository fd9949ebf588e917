"""Records on a page: what is due, a form from the kind's fields, reviews for the owner, the pack; and by the API."""

from __future__ import annotations

import io
import zipfile
from datetime import timedelta

import pytest

from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from tests.web.round.test_round import rows_of
from trayward import Farm

ROOM = {"kind": "cold room", "area": "Cold room 1"}
TYPED = {**ROOM, "_form": "write"}
FORM = "/records/form?kind=cold+room&area=Cold+room+1"


@pytest.fixture
def people() -> Anybody:
    return Anybody()


@pytest.fixture
def asked(pages: Pages) -> Pages:
    """The cold room is read every day, at most 5 C."""
    form = {**ROOM, "every": "daily", "high": "5", "within": "3"}
    assert pages.post("/records/habit", form, page="/records").status_code == 303
    return pages


def test_it_works(pages: Pages) -> None:
    page = pages.get("/records")
    assert page.status_code == 200
    assert "No record is due." in words_of(page)
    assert "/records" in pages.get("/more").text


def test_what_is_due_is_written_down_with_the_form_of_its_kind(asked: Pages, farm: Farm) -> None:
    assert "Cold room temperature" in words_of(asked.get("/records")).partition("Another record")[0]
    form = asked.get(FORM)
    assert "Limit: at most 5 C" in words_of(form)
    assert asked.post("/records/write", {**ROOM, "said_temperature": "39 F"}, page=FORM).status_code == 303
    words = words_of(asked.get("/records"))
    assert "No record is due." in words
    assert "Temperature 3.9 C" in words
    assert farm.records_due(asked.clock.at) == ()


def test_beyond_the_limit_the_page_asks_and_keeps_what_was_typed(asked: Pages) -> None:
    refused = asked.post("/records/write", {**TYPED, "said_temperature": "9 C"}, page=FORM)
    assert refused.status_code == 422
    assert 'value="9 C"' in refused.text
    assert "Say what was done about it" in words_of(refused)
    form = {**ROOM, "said_temperature": "9 C", "corrective": "moved the crates"}
    assert asked.post("/records/write", form, page=FORM).status_code == 303
    assert "beyond a limit" in words_of(asked.get("/records"))


def test_a_wrong_unit_is_shown_at_its_field(asked: Pages) -> None:
    refused = asked.post("/records/write", {**TYPED, "said_temperature": "4 kg"}, page=FORM)
    assert refused.status_code == 422
    assert 'id="write-said_temperature-wrong"' in refused.text


def test_a_form_of_no_kind_is_not_found(pages: Pages) -> None:
    assert pages.get("/records/form?kind=moon").status_code == 404


def test_a_record_kept_on_a_phone_lands_once_on_its_own_time(asked: Pages, farm: Farm) -> None:
    said = asked.clock.at
    asked.clock.forward(hours=2)
    form, name = {**ROOM, "said_temperature": "4"}, "11111111-2222-4333-8444-555555555555"
    for _ in range(2):
        assert asked.send("/records/write", form, said=said, name=name).status_code < 400
    day = asked.clock.at.date()
    found = farm.records(day, day, at=asked.clock.at)
    assert [(each.at, each.entry) for each in found] == [(said, name)]


def test_what_a_phone_kept_and_sent_is_refused_in_its_persons_language(asked: Pages) -> None:
    asked.get("/about?lang=es")
    sent = asked.send("/records/write", {**ROOM, "said_temperature": "9"})
    assert sent.status_code == 422
    assert "pasa del límite, como mucho 5 C" in sent.json()["error"]["sentence"]
    # A program is told what its documentation says, whatever its language.
    by_program = asked.client.post(
        "/records/write", data={**ROOM, "said_temperature": "9", "_key": asked.key("/records")},
        headers={"Accept": "application/json"},
    )  # fmt: skip
    assert "lies beyond the limit, at most 5 C" in by_program.json()["error"]["sentence"]


def test_what_is_odd_about_what_a_phone_sent_is_told_in_its_persons_language(asked: Pages, farm: Farm) -> None:
    asked.get("/about?lang=es")
    happened = asked.clock.at
    asked.clock.forward(hours=1)
    farm.note("later than the reading", at=asked.clock.at)
    landed = asked.send("/records/write", {**ROOM, "said_temperature": "9"}, said=happened).json()
    odd = [each["sentence"] for each in landed["findings"]]
    assert any("Di qué se hizo al respecto." in sentence for sentence in odd), odd


def test_what_somebody_wrote_in_a_record_stays_theirs_in_spanish(asked: Pages, farm: Farm) -> None:
    did = "moved the crates to the other room"
    farm.write_record("cold room", {"temperature": "9 C"}, area="Cold room 1", corrective=did, at=asked.clock.at)
    farm.write_record("training", {"persons": "Ada, Bo", "topics": "clean kit"}, at=asked.clock.at)
    asked.get("/about?lang=es")
    words = words_of(asked.get("/records"))
    assert (
        f"Temperatura de la cámara fría, Cold room 1: Temperatura 9 C (límite: como mucho 5 C); qué se hizo: {did}"
        in words
    )
    assert "Formación: Personas formadas: Ada, Bo, Temas tratados: clean kit" in words


def test_the_owner_reviews_and_a_hand_may_not(asked: Pages, farm: Farm, people: Anybody) -> None:
    asked.post("/records/write", {**ROOM, "said_temperature": "4"}, page=FORM)
    entry = farm.reviews_due(asked.clock.at)[0].held.entry
    people.is_now("Ada", "hand")
    assert "Reviewed those ticked" not in words_of(asked.get("/records"))
    assert asked.post("/records/review", {"entry": entry}, page="/records").status_code == 403
    assert asked.get("/records/pack.pdf").status_code == 403
    people.is_now("Maren", "owner")
    assert asked.post("/records/review", {"entry": entry}, page="/records").status_code == 303
    assert "reviewed by Maren" in words_of(asked.get("/records"))
    assert farm.reviews_due(asked.clock.at) == ()


# On the round ---------------------------------------------------------------------------------------------------------


def round_row(pages: Pages, record: str = "cold-room-cold-room-1") -> tuple[str, str]:
    name = f"record-{record}"
    return name, rows_of(pages.get("/round").text)[name]


def test_what_is_due_is_read_and_written_down_on_the_round_itself(asked: Pages, farm: Farm) -> None:
    name, told = round_row(asked)
    words = words_of(asked.get("/round"))
    assert "Write down: Cold room temperature, Cold room 1" in words
    assert "Limit: at most 5 C" in words
    form = {"_form": name, "row": told, "answer": "done", "said_temperature": "9 C"}
    refused = asked.post("/round/answer", form, page="/round")
    assert refused.status_code == 422
    assert 'value="9 C"' in refused.text
    assert "lies beyond the limit, at most 5 C" in words_of(refused)
    assert asked.post("/round/answer", {**form, "corrective": "moved the crates"}, page="/round").status_code == 303
    (shown,) = farm.records(asked.clock.at.date(), asked.clock.at.date(), at=asked.clock.at)
    assert (shown.record.corrective, shown.record.area) == ("moved the crates", "Cold room 1")
    after = asked.get("/round")
    assert name not in rows_of(after.text)
    assert "Temperature 9 C" in words_of(after)


def test_whoever_reads_fahrenheit_is_asked_in_it(asked: Pages, farm: Farm, people: Anybody) -> None:
    people.is_now("Maren", "owner", units="us")
    page = asked.get("/round")
    assert 'data-high="41.0"' in page.text
    assert "Limit: at most 41 F" in words_of(page)
    name, told = round_row(asked)
    asked.post("/round/answer", {"_form": name, "row": told, "answer": "done", "said_temperature": "39"}, page="/round")
    (shown,) = farm.records(asked.clock.at.date(), asked.clock.at.date(), at=asked.clock.at)
    assert shown.record.values[0].value == 3.89


def test_a_reading_said_on_the_round_without_signal_lands_at_its_own_time(asked: Pages, farm: Farm) -> None:
    _, told = round_row(asked)
    said = asked.clock.at
    asked.clock.forward(hours=2)
    name = "11111111-2222-4333-8444-666666666666"
    for _ in range(2):
        form = {"row": told, "answer": "done", "said_temperature": "4"}
        assert asked.send("/round/answer", form, said=said, name=name).status_code < 400
    found = farm.records(said.date(), said.date(), at=asked.clock.at)
    assert [(each.at, each.entry, each.record.area) for each in found] == [(said, name, "Cold room 1")]


def test_a_cleaning_is_offered_as_it_was_last_time_in_spanish_too(pages: Pages, farm: Farm) -> None:
    day = pages.clock.at - timedelta(days=1)
    farm.write_record("cleaning", {"item": "tables", "cleaner": "dish soap"}, area="packing room", at=day)
    farm.set_record_habit("cleaning", area="packing room", every="daily", at=pages.clock.at)
    name, told = round_row(pages, "cleaning-packing-room")
    assert 'value="tables"' in pages.get("/round").text
    form = {"_form": name, "row": told, "answer": "done", "said_item": "tables", "said_cleaner": "dish soap"}
    assert pages.post("/round/answer", form, page="/round").status_code == 303
    pages.get("/about?lang=es")
    pages.clock.forward(days=1)
    words = words_of(pages.get("/round"))
    assert "Limpiar: packing room" in words
    assert "como la última vez" in words


def test_a_program_writes_a_record_down_by_its_row(asked: Pages, farm: Farm) -> None:
    rows = asked.get("/api/1/round").json()["rows"]
    row = next(each["row"] for each in rows if each["row"]["kind"] == "record")
    assert next((each["field"], each["unit"], each.get("high")) for each in row["asks"]) == ("temperature", "C", 5.0)
    told = {"row": row["row"], "values": {"temperature": 9.0}}
    refused = asked.client.post("/api/1/round/do", json=told)
    assert refused.status_code == 422
    assert refused.json()["error"]["thing"] == "corrective"
    assert asked.client.post("/api/1/round/do", json={**told, "corrective": "moved it"}).status_code in (200, 201)
    assert farm.records_due(asked.clock.at) == ()


def test_a_reader_writes_nothing_down(asked: Pages, people: Anybody) -> None:
    people.is_now("Guest", "reader")
    assert asked.get("/records").status_code == 200
    assert asked.get(FORM).status_code == 403
    assert asked.post("/records/write", {**ROOM, "said_temperature": "4"}, page="/records").status_code == 403


def test_the_pack_comes_as_pdf_and_whole(asked: Pages) -> None:
    asked.post("/records/write", {**ROOM, "said_temperature": "4"}, page=FORM)
    assert asked.get("/records/pack.pdf").content.startswith(b"%PDF")
    with zipfile.ZipFile(io.BytesIO(asked.get("/records/pack.zip").content)) as held:
        assert {"records.pdf", "cold-room.csv"} <= set(held.namelist())


def test_the_caution_stands_beside_agents(pages: Pages) -> None:
    assert "Never mix chlorine with acid or ammonia." in words_of(pages.get("/records/form?kind=cleaning"))


def test_programs_write_review_and_ask(pages: Pages, farm: Farm) -> None:
    said = {"Trayward-Script": "1"}
    habit = {**ROOM, "every": "daily", "limits": {"temperature": {"high": 5.0}}, "within_days": 3}
    assert pages.client.post("/api/1/records/habits", json=habit, headers=said).status_code == 200
    beyond = pages.client.post("/api/1/records", json={**ROOM, "values": {"temperature": 9.0}}, headers=said)
    assert beyond.status_code == 422
    assert beyond.json()["error"]["thing"] == "corrective"
    good = pages.client.post("/api/1/records", json={**ROOM, "values": {"temperature": "39 F"}}, headers=said)
    assert good.status_code == 200
    entry = farm.reviews_due(pages.clock.at + timedelta(minutes=1))[0].held.entry
    assert pages.client.post("/api/1/records/reviews", json={"entries": [entry]}, headers=said).status_code == 200
    day = pages.clock.at.date().isoformat()
    found = pages.client.get(f"/api/1/records?first={day}&last={day}").json()["records"]
    assert [(each["record"]["values"][0]["value"], bool(each["review"])) for each in found] == [(3.89, True)]
    assert pages.client.get("/api/1/records/due").json() == {"records": [], "reviews": []}
    assert len(pages.client.get("/api/1/records/kinds").json()["kinds"]) == 16
