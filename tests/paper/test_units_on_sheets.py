"""A sheet for a farm that reads ounces and inches tells the recipe's measures in those."""

from __future__ import annotations

from datetime import UTC, datetime

from tests.paper.seen import text_of
from trayward.farm.settings import US
from trayward.paper.harvest_sheet import CutTold, TrayToCut, harvest_sheet
from trayward.paper.paper import Paper
from trayward.paper.round_sheet import round_sheet
from trayward.rounds.types import Round, RoundRow

AT = datetime(2026, 11, 27, 7, 10, tzinfo=UTC)
PAPER = Paper(farm="Lantern Loft", printed=AT, units=US)


def test_how_a_row_is_done_stands_in_the_farms_units() -> None:
    rows = (
        RoundRow(row="turn-1", number=1, kind="turn", place="D1", crop="pea", stage="germinate", trays=("261124A.1",),
                 do="Put on: pea, 1 tray", how="Close it under a tray with 2.3 kg on top.", why=""),
        RoundRow(row="look-1", number=2, kind="look", place="D1", crop="kale", stage="germinate", trays=("261124B.1",),
                 do="Look: kale, 1 tray", how="Only if it feels dry: 60 ml of water below.", why=""),
    )  # fmt: skip
    text = text_of(round_sheet(Round(round="2026-11-27 morning", at=AT, rows=rows, minutes=2.0), PAPER, "261127-0710"))
    assert "with 5.07 lb on top" in text
    assert "1/4 cup of water below" in text


def test_how_high_a_tray_is_cut_stands_in_the_farms_units() -> None:
    cut = CutTold(
        number=1, crop="pea", trays=(TrayToCut(tray="261114C.1", spot="A2.1"),), lots=(), why="",
        height="Cut 13 to 25 mm above the medium.",
    )  # fmt: skip
    assert "Cut 1/2 to 1 in above the medium" in text_of(harvest_sheet([cut], PAPER, "Friday"))
