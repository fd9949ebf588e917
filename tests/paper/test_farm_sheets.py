"""Sheets of Lantern Loft: row numbers that match the app and answer the right row, whatever became of the round."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import msgspec
import pytest

from tests.once_lived import MORNING, thirty_days
from tests.paper.seen import codes, pictures, text_of
from trayward import Farm
from trayward.codes.lot import coded
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import Cut, Delivered, FarmSet, Packed
from trayward.farm.settings import FarmPaper, GS1Item
from trayward.paper.farm_labels import labels_paper, pack_label, tags_paper
from trayward.paper.farm_sheets import harvest_paper, round_paper, sowing_paper, wash_paper
from trayward.paper.going_out import note_paper, pick_paper
from trayward.paper.kept_rows import keep_rows, sheet_rows
from trayward.plan.types import Plan, PlannedSowing, SeedTaken
from trayward.rounds.told import RowSaid
from trayward.web.look.locales import Tongues
from trayward.web.look.on_paper import on_paper
from trayward.web.look.own_names import Names

AT = MORNING


@pytest.fixture(scope="session")
def lived(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return thirty_days(tmp_path_factory)


@pytest.fixture
def loft(lived: Path, tmp_path: Path) -> Iterator[Farm]:
    shutil.copy(lived, tmp_path / "loft.sqlite")
    with Farm.open(tmp_path / "loft.sqlite") as farm:
        yield farm


def test_a_record_that_is_due_stands_on_the_sheet_with_lines_for_its_figures(loft: Farm) -> None:
    limits = {"temperature": (None, "5 C")}
    loft.set_record_habit("cold room", area="walk-in", every="daily", limits=limits, at=AT)
    loft.write_record("cleaning", {"item": "tables", "cleaner": "dish soap"}, area="packing", at=AT - timedelta(days=1))
    loft.set_record_habit("cleaning", area="packing", every="daily", at=AT)
    printed = round_paper(loft, AT)
    rows = {row.row: number for number, row in enumerate(sheet_rows(loft, printed.sheet), start=1)}
    text = " ".join(text_of(printed.pdf).split())
    number = rows["record-cold-room-walk-in"]
    assert re.search(rf"\b{number} Write down: Cold room temperature, walk-in Temperature, at most 5 C\.", text)
    assert "if beyond it: done" in text
    assert "As last time: What was cleaned: tables; Cleaner: dish soap." in text
    es = Tongues().of("es_ES")
    tongue = on_paper(es, Names(["walk-in", "packing"]).sayer(es.sayings, es.locale))
    spanish = " ".join(text_of(round_paper(loft, AT, tongue=tongue).pdf).split())
    assert "Anotar: Temperatura de la cámara fría, walk-in" in spanish
    assert "Temperatura, como mucho 5 C" in spanish


def test_numbers_on_the_sheet_are_those_of_the_round(loft: Farm) -> None:
    printed = round_paper(loft, AT)
    rows = loft.round(AT).rows
    assert [row.row for row in sheet_rows(loft, printed.sheet)] == [row.row for row in rows]
    text = text_of(printed.pdf)
    for row in rows:
        title = row.do.split(",")[0]
        assert re.search(rf"\b{row.number} (\S )?{re.escape(title)[:24]}", text), (row.number, title)


def test_a_number_from_the_sheet_answers_its_row_when_the_round_has_moved(loft: Farm) -> None:
    printed = round_paper(loft, AT)
    looks = [row for row in loft.round(AT).rows if row.kind == "look"]
    first, third = looks[0], looks[2]
    loft.answer_row(first, moisture="moist", at=AT + timedelta(minutes=5), by="Maren")
    moved = loft.round(AT + timedelta(minutes=6)).rows
    assert moved[third.number - 1].row != third.row
    told = sheet_rows(loft, printed.sheet)[third.number - 1]
    answered = loft.answer_told(told, RowSaid(moisture="dry"), at=AT + timedelta(minutes=7), by="Maren")
    assert answered.receipt.kept[0].entry.body.trays == third.trays
    trays = loft.state(AT + timedelta(minutes=8)).trays
    assert {trays[tray].last_look for tray in third.trays} == {AT + timedelta(minutes=7)}
    assert {trays[tray].last_look for tray in first.trays} == {AT + timedelta(minutes=5)}


def test_a_sheet_can_be_entered_when_the_next_round_is_on(loft: Farm) -> None:
    printed = round_paper(loft, AT)
    look = next(row for row in loft.round(AT).rows if row.kind == "look")
    evening = AT + timedelta(hours=12)
    told = sheet_rows(loft, printed.sheet)[look.number - 1]
    answered = loft.answer_told(told, RowSaid(moisture="moist"), at=AT + timedelta(minutes=9), recorded=evening)
    assert answered.receipt.kept[0].entry.at == AT + timedelta(minutes=9)


def test_a_sheet_for_one_rack_has_its_rows_alone_with_their_numbers_of_the_whole_round(loft: Farm) -> None:
    state, rows = loft.state(AT), loft.round(AT).rows
    rack = next(state.shelves[row.place].rack for row in rows[5:] if row.place in state.shelves)
    here = [row for row in rows if row.place in state.shelves and state.shelves[row.place].rack == rack]
    printed = round_paper(loft, AT, racks=(rack,))
    assert f"{len(here)} row" in text_of(printed.pdf)
    assert sheet_rows(loft, printed.sheet)[here[-1].number - 1].row == here[-1].row
    with pytest.raises(NotFoundError, match="place"):
        round_paper(loft, AT, racks=("Z9",))


def test_a_sheet_nobody_printed_is_refused_in_words(loft: Farm) -> None:
    for name in ("260101-0000", "269999-0000", "the one on the door", ""):
        with pytest.raises(NotFoundError, match="at the foot of the sheet"):
            sheet_rows(loft, name)


def test_sheets_of_a_day_are_kept_beside_each_other_and_let_go_after_two_weeks(loft: Farm) -> None:
    early, late = round_paper(loft, AT).sheet, round_paper(loft, AT + timedelta(hours=1)).sheet
    assert early != late
    assert sheet_rows(loft, early)
    assert sheet_rows(loft, late)
    round_paper(loft, AT + timedelta(days=14), present=loft.round(AT))
    assert sheet_rows(loft, early)
    keep_rows(loft, msgspec.structs.replace(loft.round(AT), at=AT + timedelta(days=14)), loft.settings(AT))
    with pytest.raises(NotFoundError, match="two weeks"):
        sheet_rows(loft, early)


def test_every_sheet_of_the_farm_is_made(loft: Farm) -> None:
    for make, words in (
        (sowing_paper, "Sowing"), (harvest_paper, "Harvest"), (wash_paper, "Washing"), (pick_paper, "Pick list"),
    ):  # fmt: skip
        assert words in text_of(make(loft, AT, size="Letter").pdf)


def test_planned_sowings_stand_on_the_sheet_of_the_days_to_come(loft: Farm) -> None:
    day = AT.date() + timedelta(days=2)
    sowing = PlannedSowing(
        sow_on=day, crop="radish", recipe="radish on coir", trays=3, seed_g=84.0, cut_on=day + timedelta(days=9),
        grams_expected=600.0, lots=(SeedTaken(lot="RAD-26-1", grams=84.0),),
    )  # fmt: skip
    loft.keep_plan(Plan(made_at=AT, first=AT.date(), last=day, sowings=(sowing,)), at=AT)
    text = text_of(sowing_paper(loft, AT, days=3).pdf)
    for words in ("Fri 27 Nov: 3 trays", "radish on coir", "28 g a tray", "84 g of RAD-26-1"):
        assert words in text, words
    assert "Fri 27 Nov: 3 trays" not in text_of(sowing_paper(loft, AT, days=2).pdf)
    with pytest.raises(InputError, match="how many days"):
        sowing_paper(loft, AT, days=0)


def test_the_note_of_a_delivery_names_what_went_out_with_its_lot_codes(loft: Farm) -> None:
    made = [kept.entry.body for kept in loft.book.entries() if isinstance(kept.entry.body, Delivered)][-1]
    text = text_of(note_paper(loft, made.delivery, AT).pdf)
    assert coded(made.delivery) in text
    assert made.customer in text
    for line in made.lines:
        for name in (*(part.harvest for part in line.loose), *(count.pack for count in line.packs), *line.trays):
            assert coded(name) in text
    # As the paper has it, with its check character, and as thumbs type it.
    for typed in (coded(made.delivery), f" {coded(made.delivery).lower()} ", made.delivery.lower()):
        assert text_of(note_paper(loft, typed, AT).pdf) == text
    with pytest.raises(NotFoundError, match="delivery"):
        note_paper(loft, "D999", AT)
    with pytest.raises(NotFoundError, match=f"Did you mean .*{made.delivery}"):
        note_paper(loft, f"{made.delivery}X", AT)


def test_a_pack_label_says_the_books_days_and_its_code_is_read_back(loft: Farm) -> None:
    state = loft.state(AT)
    fresh = [lot for lot in state.harvests.values() if lot.left_g > 100 and lot.cold_room_days > 1]
    lot = max(fresh, key=lambda lot: lot.cut_at)
    receipt = loft.pack(lot.crop, 2, pack_g=50.0, parts={lot.harvest: 100.0}, at=AT)
    name = receipt.names[0]
    body = receipt.kept[0].entry.body
    assert isinstance(body, Packed)
    made = pack_label(loft, coded(name), AT)
    assert pack_label(loft, name.lower(), AT) == made
    assert (made.best_before, made.net_g, made.lot) == (body.best_before, 50.0, coded(name))
    assert made.cut == (lot.cut_at.date(),)
    assert made.basis == f"keeps {lot.cold_room_days} day{'s' if lot.cold_room_days != 1 else ''} cold"
    printed = labels_paper(loft, [name], AT, on="63.5 x 33.9")
    assert [each.text for each in codes(pictures(printed.pdf, 300)[0])] == [coded(name)] * 2


def test_a_label_of_a_harvest_lot_has_no_net_weight(loft: Farm) -> None:
    made = next(kept.entry.body for kept in loft.book.entries() if isinstance(kept.entry.body, Cut))
    assert pack_label(loft, made.harvest, AT).net_g == 0.0
    with pytest.raises(NotFoundError, match="pack"):
        pack_label(loft, "P999", AT)


def test_gs1_codes_are_refused_while_the_farm_has_no_company_prefix(loft: Farm) -> None:
    harvest = next(iter(loft.state(AT).harvests))
    for code in ("gs1 matrix", "gs1-bars", "gs1 link"):
        with pytest.raises(InputError, match="company prefix"):
            pack_label(loft, harvest, AT, code=code)
    with pytest.raises(InputError, match="needs its address"):
        pack_label(loft, harvest, AT, code="web")
    with pytest.raises(InputError, match="Say one of"):
        pack_label(loft, harvest, AT, code="ean")


def test_every_shelf_has_a_tag_with_its_code(loft: Farm) -> None:
    shelves = list(loft.state(AT).shelves)
    printed = tags_paper(loft, "shelves", AT, on="99.1 x 67.7")
    seen = {each.text for picture in pictures(printed.pdf, 200) for each in codes(picture)}
    assert seen == {coded(name) for name in shelves}
    with pytest.raises(NotFoundError, match="shelf"):
        tags_paper(loft, "shelves", AT, on="99.1 x 67.7", only=["Z9"])


@pytest.mark.parametrize(
    ("code", "identifier"), [("gs1 matrix", "]d2"), ("gs1 bars", "]C1"), ("gs1 link", "]Q1"), ("web", "]Q1")]
)
def test_a_farm_with_a_company_prefix_prints_codes_that_read_back_as_its_product(
    loft: Farm, code: str, identifier: str
) -> None:
    lot = max(loft.state(AT).harvests.values(), key=lambda lot: lot.cut_at)
    said = FarmPaper(
        web="https://lantern-loft.example", gs1_prefix="9521234", gs1_items=(GS1Item(product=lot.crop, item="50001"),)
    )
    loft.record(FarmSet(settings=msgspec.structs.replace(loft.settings(AT), paper=said)), at=AT)
    printed = labels_paper(loft, [lot.harvest], AT, on="99.1 x 67.7", code=code)
    (found,) = codes(pictures(printed.pdf, 300)[0])
    assert found.symbology_identifier == identifier
    best = f"{lot.cut_at.date() + timedelta(days=lot.cold_room_days):%y%m%d}"
    name = coded(lot.harvest)
    assert found.text == {
        "gs1 link": f"https://lantern-loft.example/01/09521234500018/10/{name}?15={best}",
        "web": f"https://lantern-loft.example/code/{name}",
    }.get(code, f"(01)09521234500018(15){best}(10){name}")


def test_no_label_is_printed_for_what_is_past_its_day(loft: Farm) -> None:
    lot = max(loft.state(AT).harvests.values(), key=lambda lot: lot.cut_at)
    late = AT + timedelta(days=lot.cold_room_days + 2)
    with pytest.raises(InputError, match="Do not sell it"):
        labels_paper(loft, [lot.harvest], late, on="63.5 x 33.9")
