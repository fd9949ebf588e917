"""The book on a page: found, read whole, struck, told as a story, looked through, and carried away."""

from __future__ import annotations

import csv
import io
import json
import re
import zipfile
from datetime import timedelta
from pathlib import Path
from typing import Any
from urllib.parse import quote
from zoneinfo import ZoneInfo

import pytest

from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from trayward import Farm
from trayward.desk.backups import BackupPlan
from trayward.desk.ports import Kept, Wanted
from trayward.errors import BookError
from trayward.farm.entries import KINDS, Watered
from trayward.store import SqlBook
from trayward.store.backups import back_up, keep_plan


@pytest.fixture
def people() -> Anybody:
    return Anybody()


def note(farm: Farm, pages: Pages, text: str, *about: str, by: str = "Maren", before: float = 0) -> str:
    """A note in the book; gives its id."""
    at = pages.clock.at - timedelta(minutes=before)
    return farm.note(text, about, at=at, by=by, recorded=pages.clock.at).kept[0].entry.id


def newest(farm: Farm, **wanted: Any) -> Kept:
    return farm.book.search(Wanted(**wanted), limit=1).kept[0]


# Finding --------------------------------------------------------------------------------------------------------------


def test_it_works(pages: Pages) -> None:
    page = pages.get("/book")
    assert page.status_code == 200
    assert "looked at" in words_of(page)
    assert page.text.count('class="row entry') == 40
    assert 'rel="next"' in page.text


def test_the_newest_day_stands_first(pages: Pages) -> None:
    days = re.findall(r'<h3 class="day">([^<]+)</h3>', pages.get("/book?what=cut").text)
    assert len(days) > 3
    numbers = [int(re.search(r"\d+", day).group()) for day in days]  # type: ignore[union-attr]
    assert days[0].startswith("Tue 24"), "Lantern Loft was last cut on the morning before"
    assert numbers == sorted(numbers, reverse=True), "all of November"


def test_older_ones_come_page_by_page_and_none_twice(pages: Pages, farm: Farm) -> None:
    address, seen = "/book?what=cut&what=sown", []
    while address:
        text = pages.get(address).text
        seen += re.findall(r'href="/book/entry/([^"]+)"', text)
        found = re.search(r'rel="next" href="([^"]+)"', text)
        address = found.group(1).replace("&amp;", "&") if found else ""
    wanted = [kept.entry.id for kept in farm.book.entries() if kept.entry.kind in ("cut", "sowing made")]
    assert len(seen) == len(set(seen))
    assert sorted(seen) == sorted(wanted)


def test_a_tray_is_found_by_its_name_whatever_its_letters(pages: Pages, farm: Farm) -> None:
    tray = farm.state(pages.clock.at).growing()[0].tray
    for typed in (tray, tray.lower(), f" {tray} "):
        words = words_of(pages.get(f"/book?find={quote(typed)}"))
        assert f"About tray {tray}" in words
        assert f"{tray} looked at" in words


def test_a_customer_a_mat_and_a_crop_are_found_by_name(pages: Pages, farm: Farm) -> None:
    state = farm.state(pages.clock.at)
    customer, mat = next(iter(state.customers)), next(iter(state.kit))
    assert f"About customer {customer}" in words_of(pages.get(f"/book?find={quote(customer)}")).replace("&amp;", "&")
    assert f"About kit {mat}" in words_of(pages.get(f"/book?find={quote(mat)}"))
    radish = words_of(pages.get("/book?find=radish"))
    assert "About radish" in radish
    assert " sown: " in radish, "sowings are said of the recipe, and found by the crop"


def test_words_of_a_note_are_found(pages: Pages, farm: Farm) -> None:
    note(farm, pages, "The Fan of shelf A2 rattles")
    page = words_of(pages.get("/book?find=FAN+rattles"))
    assert "The Fan of shelf A2 rattles" in page
    assert "Nothing found" in words_of(pages.get("/book?find=trumpet"))


def test_a_name_can_be_looked_for_in_notes_instead(pages: Pages, farm: Farm) -> None:
    note(farm, pages, "radish smells of mould")
    page = pages.get("/book?find=radish").text
    address = re.search(r'href="([^"]+)">Look for', page)
    assert address is not None
    there = words_of(pages.get(address.group(1).replace("&amp;", "&")))
    assert "radish smells of mould" in there
    assert " sown: " not in there


def test_what_who_and_when_narrow_it(pages: Pages, farm: Farm) -> None:
    note(farm, pages, "a note of Ida's", by="Ida", before=5)
    note(farm, pages, "a note of Maren's")
    ida = words_of(pages.get("/book?by=Ida"))
    assert "a note of Ida&#39;s" in ida
    assert "a note of Maren" not in ida
    day = words_of(pages.get("/book?since=2026-11-20&until=2026-11-20&what=watered"))
    assert "Fri 20 Nov" in day
    assert "Thu 19" not in day
    assert "Sat 21" not in day
    assert "looked at:" not in day


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("since=yesterday", "since = yesterday: must be a day"),
        ("since=2026-11-20&until=2026-11-01", "the last day lies before the first"),
        ("before=nonsense", "is no place in the book"),
        ("before=2026-11-20T00:00:00~1", "is no place in the book"),
    ],
)
def test_what_makes_no_sense_is_said_and_stays_as_typed(pages: Pages, query: str, said: str) -> None:
    page = pages.get(f"/book?{query}")
    assert page.status_code == 422
    assert said in words_of(page)
    assert 'class="row entry' in page.text, "the book is shown all the same"
    if query == "since=yesterday":
        assert 'value="yesterday"' in page.text


def test_late_words_land_on_their_own_day_and_say_so(pages: Pages, farm: Farm) -> None:
    note(farm, pages, "said in the morning of yesterday", before=60 * 24)
    page = words_of(pages.get("/book?find=yesterday"))
    assert "Tue 24 Nov" in page
    assert "written down later" in page


# One entry ------------------------------------------------------------------------------------------------------------


def test_one_entry_tells_all_of_it(pages: Pages, farm: Farm) -> None:
    cut = newest(farm, kinds=("cut",))
    page = pages.get(f"/book/entry/{cut.entry.id}")
    words = words_of(page)
    assert page.status_code == 200
    for part in ("Cut", cut.entry.by, cut.hash, str(cut.seq), "at once", "harvest lot"):
        assert part in words
    assert 'href="/book/harvest/' in page.text


def test_an_entry_of_every_kind_can_be_read(pages: Pages, farm: Farm) -> None:
    kinds = {kept.entry.kind: kept.entry.id for kept in farm.book.entries()}
    assert len(kinds) > 20, "Lantern Loft says most of what can be said"
    for kind, name in kinds.items():
        page = pages.get(f"/book/entry/{name}")
        assert page.status_code == 200, kind


def test_every_kind_has_a_word_to_look_for_it_by(pages: Pages) -> None:
    from trayward.desk.looking_up import DEEDS

    assert sorted(kind for kinds in DEEDS.values() for kind in kinds) == sorted(KINDS)
    shown = pages.get("/book").text
    for deed in DEEDS:
        assert f'name="what" value="{deed}"' in shown


def test_an_entry_nobody_made_is_not_found(pages: Pages) -> None:
    page = pages.get("/book/entry/no-such-entry")
    assert page.status_code == 404
    assert "no-such-entry" in words_of(page)


# Striking -------------------------------------------------------------------------------------------------------------


def test_a_mistake_is_struck_with_its_reason_and_stays(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "wrote this on the wrong farm")
    where = f"/book/entry/{wrong}"
    answer = pages.post(f"{where}/strike", {"reason": "wrong farm"}, page=where)
    assert (answer.status_code, answer.headers["location"]) == (303, where)
    page = pages.get(where)
    assert "<del>Note: wrote this on the wrong farm.</del>" in page.text
    assert "Struck by Maren" in words_of(page)
    assert "wrong farm" in words_of(page)
    listed = pages.get("/book?find=wrong+farm").text
    assert "<del>Note: wrote this on the wrong farm.</del>" in listed
    assert wrong in farm.book.struck()


def test_what_was_struck_can_be_put_back(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "was right after all")
    pages.post(f"/book/entry/{wrong}/strike", {"reason": "doubted"}, page=f"/book/entry/{wrong}")
    back = re.search(r'href="(/book/entry/[^"]+)">See who struck it', pages.get(f"/book/entry/{wrong}").text)
    assert back is not None
    assert "What it took back counts again" in words_of(pages.get(back.group(1)))
    assert pages.post(f"{back.group(1)}/strike", {"reason": "was right"}, page=back.group(1)).status_code == 303
    assert wrong not in farm.book.struck()


def test_what_somebody_typed_stays_as_it_was_on_a_spanish_page(pages: Pages, farm: Farm) -> None:
    at = pages.clock.at
    tray = farm.state(at).growing()[0].tray
    said = farm.answer([tray], note="en una esquina, wrong tray", at=at, by="Ada").kept[0].entry.id
    pages.post(f"/book/entry/{said}/strike", {"reason": "wrong tray"}, page=f"/book/entry/{said}")
    listed = words_of(pages.get("/book", accept_language="es"))
    assert f"revisión de {tray}: en una esquina, wrong tray.".lower() in listed.lower()
    assert "se retiró «" in listed.lower()
    assert listed.count("wrong tray") == 4, "the look, the look within the strike, the strike, the look struck"
    assert "wrong bandeja" not in listed


def test_what_was_taken_back_at_once_is_said_in_the_pages_language(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "nada")
    pages.post("/undo", {"entry": wrong})
    assert "Struck by Maren: taken back at once" in words_of(pages.get("/book"))
    assert "Tachada por Maren: retirado al momento" in words_of(pages.get("/book", accept_language="es"))


def test_what_was_said_of_a_tray_in_one_breath_is_struck_with_it(pages: Pages, farm: Farm) -> None:
    at = pages.clock.at
    tray = next(each for each in farm.state(at).growing() if each.stage == "blackout")
    said = farm.answer([tray.tray], cue="ready", at=at, by="Ada")
    look, *brought = [each.entry.id for each in said.kept]
    assert brought
    page = words_of(pages.get(f"/book/entry/{look}"))
    assert f"Said with it, and still counts: {tray.tray} now " in page
    pages.post(f"/book/entry/{look}/strike", {"reason": "wrong tray", "along": "1"}, page=f"/book/entry/{look}")
    assert {look, *brought} <= set(farm.book.struck())
    assert farm.state(at).trays[tray.tray].stage == "blackout"


def test_a_strike_needs_a_reason(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "struck without a word")
    answer = pages.post(f"/book/entry/{wrong}/strike", {"reason": "  "}, page=f"/book/entry/{wrong}")
    assert answer.status_code == 422
    assert "a struck entry needs one" in words_of(answer)
    assert wrong not in farm.book.struck()


def test_a_strike_twice_is_refused_and_keeps_what_was_typed(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "struck twice")
    pages.post(f"/book/entry/{wrong}/strike", {"reason": "once"}, page=f"/book/entry/{wrong}")
    answer = pages.post(f"/book/entry/{wrong}/strike", {"reason": "and again"}, page=f"/book/entry/{wrong}")
    assert answer.status_code == 422
    assert "struck already" in words_of(answer)


def test_the_same_strike_sent_twice_by_a_phone_lands_once(pages: Pages, farm: Farm) -> None:
    wrong = note(farm, pages, "struck on a phone")
    for _ in range(2):
        answer = pages.send(
            f"/book/entry/{wrong}/strike", {"reason": "wrong tray"}, name="5f0c1f0e-7d43-4c6f-9a51-0a2f3c1d7e01"
        )
        assert answer.status_code == 200, answer.text
    assert len(farm.book.about(f"entry:{wrong}")) == 1


def test_hands_strike_their_own_and_nobody_elses(pages: Pages, farm: Farm, people: Anybody) -> None:
    own, hers = note(farm, pages, "of Ida", by="Ida"), note(farm, pages, "of Maren", by="Maren")
    people.is_now("Ida", "hand")
    assert "strike it" in words_of(pages.get(f"/book/entry/{own}"))
    assert "Maren said this" in words_of(pages.get(f"/book/entry/{hers}"))
    refused = pages.post(f"/book/entry/{hers}/strike", {"reason": "not mine"}, page=f"/book/entry/{hers}")
    assert refused.status_code == 403
    assert "Maren said this, not you" in words_of(refused)
    assert pages.post(f"/book/entry/{own}/strike", {"reason": "mine"}, page=f"/book/entry/{own}").status_code == 303
    assert farm.book.struck() >= {own}
    assert hers not in farm.book.struck()


def test_readers_read_and_do_nothing(pages: Pages, farm: Farm, people: Anybody) -> None:
    own = note(farm, pages, "of Noor", by="Noor")
    people.is_now("Noor", "reader")
    page = pages.get(f"/book/entry/{own}")
    assert page.status_code == 200
    assert "/strike" not in page.text
    assert pages.post(f"/book/entry/{own}/strike", {"reason": "mine"}, page=f"/book/entry/{own}").status_code == 403


@pytest.mark.parametrize(
    "path", ["/book/copies", "/book/check", "/book/export.jsonl", "/book/export.zip", "/book/backup"]
)
def test_copies_are_for_who_keeps_the_farm(pages: Pages, people: Anybody, path: str) -> None:
    people.is_now("Ida", "hand")
    assert pages.get(path).status_code == 403
    assert "/book/copies" not in pages.get("/book").text


# Stories --------------------------------------------------------------------------------------------------------------


def test_a_seed_lot_tells_its_story(pages: Pages, farm: Farm) -> None:
    lot = next(iter(farm.state(pages.clock.at).seed.values()))
    page = pages.get(f"/book/lot/{quote(lot.lot, safe='')}")
    words = words_of(page)
    assert f"Seed lot {lot.lot}" in words
    assert "received" in words
    assert "left" in words


def test_a_harvest_lot_tells_its_story_to_the_customer(pages: Pages, farm: Farm) -> None:
    sent = newest(farm, kinds=("packed",)).entry.body
    harvest = sent.parts[0].harvest  # type: ignore[attr-defined]
    words = words_of(pages.get(f"/book/harvest/{harvest}"))
    assert f"Harvest lot {harvest}" in words
    assert "cut" in words
    assert "packed" in words


@pytest.mark.parametrize("path", ["/book/lot/none", "/book/harvest/none", "/book/lot/a/b"])
def test_a_lot_nobody_knows_is_not_found(pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 404


# What does not add up -------------------------------------------------------------------------------------------------


def test_what_does_not_add_up_stands_with_its_entries_and_its_remedy(pages: Pages, farm: Farm) -> None:
    at = pages.clock.at
    tray = farm.state(at).growing()[0]
    early = tray.sown_at - timedelta(days=2)
    farm.record(Watered(trays=(tray.tray,), ml=30.0, way="mist"), at=early, by="Maren", recorded=at)
    finding = next(found for found in farm.state(at).findings if tray.tray in found.message)
    page = pages.get("/book/odd")
    words = words_of(page)
    assert page.status_code == 200
    for found in farm.state(at).findings[-3:]:
        assert words_of(found.message.replace("'", "&#39;")) in words
    assert f'href="/book/entry/{finding.entries[0]}"' in page.text
    assert str(len(farm.state(at).findings)) in words_of(pages.get("/book"))


# Checking and copies --------------------------------------------------------------------------------------------------


def test_the_whole_book_is_checked_elsewhere_and_the_answer_stays(pages: Pages, farm: Farm) -> None:
    page = pages.get("/book/check")
    assert "begun=" in str(page.url)
    assert "data-live" in page.text
    assert pages.client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
    here = f"{page.url.raw_path.decode()}"
    done = words_of(pages.get(here))
    head = farm.book.head()
    assert "Yes." in done
    assert f"{head.seq} entries" in done.replace(",", "")
    assert head.hash in done
    note(farm, pages, "the book goes on")
    assert head.hash in words_of(pages.get(here)), "that check stays what it was"


def test_a_change_behind_the_books_back_is_told(pages: Pages, book: Path) -> None:
    import sqlite3
    from contextlib import closing

    with closing(sqlite3.connect(book)) as connection:
        connection.execute("DROP TRIGGER entry_no_update")
        connection.execute("UPDATE entry SET by_whom = 'nobody' WHERE seq = 40")
        connection.commit()
    page = pages.get("/book/check")
    assert pages.client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
    words = words_of(pages.get(page.url.raw_path.decode()))
    assert "No." in words
    assert "Entry 40" in words
    assert "What to do:" in words


def test_the_lines_are_the_book(pages: Pages, farm: Farm) -> None:
    sent = pages.get("/book/export.jsonl")
    assert sent.headers["content-disposition"] == 'attachment; filename="lantern-loft-2026-11-25.jsonl"'
    lines = sent.text.splitlines()
    assert len(lines) == farm.book.head().seq
    last = json.loads(lines[-1])
    assert (last["seq"], last["hash"]) == (farm.book.head().seq, farm.book.head().hash)


def test_the_sheets_are_the_book(pages: Pages, farm: Farm) -> None:
    sent = pages.get("/book/export.zip")
    with zipfile.ZipFile(io.BytesIO(sent.content)) as packed:
        assert packed.testzip() is None
        names = packed.namelist()
        rows = [
            row
            for name in names
            if name.endswith(".csv")
            for row in csv.DictReader(io.TextIOWrapper(packed.open(name), encoding="utf-8-sig", newline=""))
        ]
    assert len(rows) == farm.book.head().seq
    assert {int(row["seq"]) for row in rows} == set(range(1, farm.book.head().seq + 1))


def test_the_backup_is_a_book_that_opens(pages: Pages, farm: Farm, tmp_path: Path) -> None:
    sent = pages.get("/book/backup")
    copy = tmp_path / "copy.book"
    copy.write_bytes(sent.content)
    with Farm.open(str(copy)) as again:
        assert again.book.head() == farm.book.head()
        assert again.book.verify() == []


def test_nothing_is_left_behind_of_copies(pages: Pages, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    room = tmp_path / "room"
    room.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(room))
    for path in ("/book/export.zip", "/book/backup"):
        assert pages.get(path).status_code == 200
    assert list(room.glob("trayward-*")) == []


# Backups --------------------------------------------------------------------------------------------------------------


def test_the_book_says_when_it_was_last_backed_up(pages: Pages, farm: Farm, tmp_path: Path) -> None:
    assert "trayward book schedule" in pages.get("/book/copies").text
    assert "Last sound backup" not in pages.get("/book").text
    assert isinstance(farm.book, SqlBook)
    plan = BackupPlan(folder=str(tmp_path))
    keep_plan(farm.book, plan, pages.clock.at)
    back_up(farm.book, plan, pages.clock.at, ZoneInfo("UTC"))
    assert "Last sound backup" in words_of(pages.get("/book"))
    copies = words_of(pages.get("/book/copies"))
    assert "every day at 02:30" in copies
    assert f"{farm.book.head().seq:,} entries".replace(",", "") in copies.replace(",", "")


def test_a_backup_that_is_too_old_is_told_in_the_book_and_on_the_round(
    pages: Pages, farm: Farm, tmp_path: Path
) -> None:
    assert isinstance(farm.book, SqlBook)
    keep_plan(farm.book, BackupPlan(folder=str(tmp_path / "gone")), pages.clock.at - timedelta(days=5))
    with pytest.raises(BookError, match="Plug the disk in"):
        back_up(farm.book, BackupPlan(folder=str(tmp_path / "gone")), pages.clock.at, ZoneInfo("UTC"))
    assert "too old" in words_of(pages.get("/book"))
    assert "Plug the disk in" in words_of(pages.get("/book/copies"))
    assert "No sound backup of the book was made yet" in words_of(pages.get("/round"))
