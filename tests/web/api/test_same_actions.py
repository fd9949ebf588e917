"""What was once done or refused elsewhere alone: setup, trials, sheets of orders, photos, sums, events, slips."""

from __future__ import annotations

import base64
import io
import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec
import pytest
from PIL import Image

from tests.web.api.conftest import Program
from tests.web.conftest import MORNING, words_of
from trayward import Farm
from trayward.plan.types import Earning, Limit, Plan

TOMORROW = (MORNING + timedelta(days=1)).date().isoformat()


def sent(content: bytes) -> str:
    return base64.b64encode(content).decode()


def test_the_setup_is_taken_out_looked_at_and_applied(farm: Program) -> None:
    text = farm.told("/setup")["text"]
    assert farm.say("/setup/look", text=text).json()["changes"] == []
    assert "the farm is like that already" in farm.say("/setup/apply", text=text).json()["error"]["rule"]
    changed = text.replace('name = "Lantern Loft"', 'name = "Lantern Loft East"', 1)
    assert any("Lantern Loft East" in words for words in farm.say("/setup/look", text=changed).json()["changes"])
    farm.kept("/setup/apply", text=changed)
    assert farm.told("/farm")["settings"]["name"] == "Lantern Loft East"
    error = farm.say("/setup/apply", text="[farm\n").json()["error"]
    assert error["sentence"].startswith("setup file, line 1")


def test_a_day_of_an_order_that_repeats_is_left_out_and_a_pause_taken_off(farm: Program) -> None:
    one = farm.told("/standing")["standing"][0]
    name, line = one["standing"], [{**each, "price": None} for each in one["lines"]]
    told = {"standing": name, "customer": one["customer"], "start": TOMORROW, "rule": "FREQ=DAILY", "lines": line}
    farm.kept("/standing/set", **told, sure=True)
    day = TOMORROW
    farm.kept("/standing/skip", standing=name, day=day)
    after = farm.told("/standing")["standing"][0]
    assert day in after["except_on"]
    assert farm.say("/standing/skip", standing=name, day=day).json()["error"]["thing"] == "day"
    farm.kept("/standing/pause", standing=name, first="2026-12-20", last="2026-12-28")
    farm.kept("/standing/go-on", standing=name, paused_from="2026-12-20")
    assert not any(each["first"] == "2026-12-20" for each in farm.told("/standing")["standing"][0]["pauses"])
    farm.kept("/standing/end", standing=name)
    farm.kept("/standing/go-on", standing=name)
    assert not farm.told("/standing")["standing"][0]["ended"]


@pytest.mark.parametrize(
    ("path", "fields", "sentence"),
    [
        ("/customers/set", {"name": " "}, "customer = nothing: it has to be some words. Give it a name."),
        ("/customers/set", {"name": "UPSIDE LADLES"}, "customer = UPSIDE LADLES: it is hardly told from Upside Ladle."),
        ("/orders/place", {"due": "2036-12-04"}, "order, due = 2036-12-04: that is 3662 days ahead. Check the year."),
        ("/orders/place", {"due": "2026-11-01"}, "order, due = 2026-11-01: is past; today is"),
        ("/orders/place", {"order": "thimble-tue"}, "order = thimble-tue: there is one of that name."),
        ("/measure", {"what": "height", "value": 40}, "measure = height: the book calls it height_mm."),
    ],
)  # fmt: skip
def test_what_a_command_refuses_or_asks_about_a_program_is_told_in_the_same_words(
    farm: Program, path: str, fields: dict[str, Any], sentence: str
) -> None:
    if path == "/orders/place":
        line = {"line": "1", "product": "radish", "quantity": 80}
        fields = {"customer": "Upside Ladle", "due": TOMORROW, "lines": [line], **fields}
    if path == "/measure":
        fields = {"trays": [farm.told("/trays?outlook=false")["trays"][0]["tray"]], **fields}
    answer = farm.say(path, **fields)
    assert answer.status_code == 422
    assert answer.json()["error"]["sentence"].startswith(sentence)


def test_a_trial_is_begun_sown_and_given_up(farm: Program) -> None:
    recipe = farm.told("/recipes")["recipes"][0]["name"]
    told = {"recipe": recipe, "what": "density", "levels": [1.0, 1.2], "days": 2}
    farm.kept("/learn/trials/begin", name="thick or thin", **told)
    again = farm.say("/learn/trials/begin", name="thick or thin", **told)
    assert again.json()["error"]["rule"] == "there is a trial of that name"
    farm.kept("/learn/trials/drop", name="thick or thin")


def test_what_a_change_would_be_worth_says_how_it_was_understood(farm: Program) -> None:
    found = farm.say("/plan/what-if", changes=["2 more lit shelves of 4 spots"], weeks=3).json()
    assert found["understood"]
    assert found["told"] is not None or found["since"] is not None
    assert farm.say("/plan/what-if", changes=["a purple moon"]).status_code == 422


def test_what_crops_earn_is_told_by_the_plan_kept_in_the_words_of_the_page(farm: Program, book: Path) -> None:
    none = farm.told("/plan/mix")
    assert (none["crops"], none["words"], none["note"][:12]) == ([], [], "No plan kept")
    with Farm.open(str(book)) as beside:
        beside.keep_plan(with_earnings(), at=MORNING)
    told = farm.told("/plan/mix")
    assert (told["first"], told["last"], told["currency"]) == ("2026-11-25", "2026-12-15", "EUR")
    assert [one["crop"] for one in told["crops"]] == ["radish", "pea"]
    assert [one["limit"] for one in told["limits"]] == ["lit spots"]
    assert told["words"][0] == "Grow more: a tray more brings 0.40 EUR (radish)."
    page = words_of(farm.client.get("/sow/mix"))
    assert all(words in page for words in told["words"])


def with_earnings() -> Plan:
    """A plan of two crops: one of which a tray more would pay, and one of which a tray less would be hardly missed."""
    crops = (("radish", 12.0, 0.4, 3.0), ("pea", 4.0, -2.0, 0.3))
    earned = tuple(
        Earning(crop=crop, trays=3, margin=margin, spot_days=10.0, a_spot_day=margin / 10, one_more=more, one_less=less)
        for crop, margin, more, less in crops
    )
    last = MORNING.date() + timedelta(days=20)
    lit = Limit(limit="lit spots", first=MORNING.date(), last=last, has=8.0, short=0.0, unit="spots", worth=1.0)
    mat = msgspec.structs.replace(lit, limit="mat", worth=0.0)
    return Plan(made_at=MORNING, first=MORNING.date(), last=last, earnings=earned, limits=(mat, lit))


def test_a_sheet_of_orders_is_looked_at_and_kept_as_it_was_looked_at(farm: Program) -> None:
    """As a spreadsheet of a Spanish office saves it: semicolons, Latin-1, days as people write them."""
    customer = farm.told("/customers")["customers"][0]["name"]
    sheet = f"cliente;fecha;producto;cantidad\n{customer};13/12/2026;pea;200 g\n".encode("latin-1")
    looked = farm.say("/orders/import/look", file=sent(sheet), name="pedidos.csv", day_order="dmy").json()
    assert (looked["needs"], looked["rejected"], len(looked["placed"])) == ([], [], 1), looked
    same = {"file": sent(sheet), "name": "pedidos.csv", "day_order": "dmy"}
    assert farm.say("/orders/import/keep", sheet=same, seal="another").status_code == 422
    kept = farm.kept("/orders/import/keep", sheet=same, seal=looked["seal"])
    assert kept["entries"][0]["kind"] == "order placed"


def test_a_photo_of_a_tray_is_kept_small_and_one_of_another_kind_is_refused(farm: Program) -> None:
    tray = farm.told("/trays?outlook=false")["trays"][0]["tray"]
    made = io.BytesIO()
    Image.new("RGB", (2400, 1200), "green").save(made, "PNG")
    name = farm.kept("/photo", trays=[tray], picture=sent(made.getvalue()), note="first leaves")["names"]
    assert name == [] or len(name[0]) == 64
    heic = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(200)
    error = farm.say("/photo", trays=[tray], picture=sent(heic)).json()["error"]
    assert error["thing"] == "photo"
    assert "HEIC" in error["value"]
    assert "JPEG" in error["remedy"]


def test_every_sum_of_the_bench_is_listed_and_one_is_worked_out(farm: Program) -> None:
    sums = farm.told("/bench")["sums"]
    assert {each["bench"] for each in sums} == {"seed", "water", "hygiene", "money", "light", "air", "growth"}
    found = farm.say("/bench", bench="air", sum="dew", values={"temperature": "22 C", "humidity": "70 %"}).json()
    amount = found["sheet"]["found"][0]
    assert amount["value"] == pytest.approx(16.3, abs=0.2)  # 22 C and 70 % RH: Magnus form, as the bench's own checks
    assert farm.say("/bench", bench="air", sum="dew", values={"mood": "good"}).json()["error"]["thing"] == "mood"
    lacks = farm.say("/bench", bench="air", sum="dew", values={"temperature": "22 C"}).json()["error"]
    assert lacks["rule"] == "say either how humid it is, or what a wet thermometer shows"


@pytest.mark.parametrize("repeats", ["nan", "97 inf 90 85"])
def test_what_is_no_number_of_seeds_is_refused(farm: Program, repeats: str) -> None:
    error = farm.say("/bench", bench="seed", sum="test", values={"repeats": repeats}).json()["error"]
    assert (error["thing"], error["rule"]) == ("repeat", "it must be a number")


def test_tracing_events_of_some_days_are_an_epcis_document(farm: Program) -> None:
    told = farm.told("/exchange/events?first=2026-11-20&last=2026-11-22")
    assert told["type"] == "EPCISDocument"
    assert told["epcisBody"]["eventList"]
    assert json.dumps(told).count('"eventTime"') == len(told["epcisBody"]["eventList"])
    assert farm.get("/exchange/events?first=2026-01-01&last=2026-11-22").status_code == 422
