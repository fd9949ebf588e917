"""The day's cut on paper: which trays, what they likely weigh, a line for what they do weigh; and what to wash."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from trayward.paper.flow import Blank, Column, Flow, Tick, Words
from trayward.paper.paper import Paper
from trayward.rounds.words import counted, weights_between


class TrayToCut(msgspec.Struct, frozen=True, kw_only=True):
    """One tray to cut."""

    tray: str
    spot: str
    low_g: float | None = None
    high_g: float | None = None
    """In 8 of 10 such trays between these. [g]"""


class CutTold(msgspec.Struct, frozen=True, kw_only=True):
    """Trays of a row of the round that are cut together."""

    number: int
    crop: str
    trays: tuple[TrayToCut, ...]
    lots: tuple[str, ...] = ()
    """The seed's."""
    height: str = ""
    why: str = ""


CUT_COLUMNS = (
    Column(title="No", wide=17.0),
    Column(title="Tray", wide=38.0),
    Column(title="On", wide=22.0),
    Column(title="Likely"),
    Column(title="Weighed", wide=50.0),
    Column(title="Cut", wide=14.0, align="centre"),
)


def harvest_sheet(cuts: Sequence[CutTold], paper: Paper, about: str, sheet: str = "") -> bytes:
    """
    Trays to cut, by crop.

    Parameters
    ----------
    cuts : sequence of CutTold
        As the round asks for them.
    about : str
        The round they are of.
    sheet : str
        The name under which the row numbers are kept.
    """
    flow = paper.flow("Harvest", about, sheet=sheet if cuts else "", answer="cut GRAMS")
    if not cuts:
        flow.words("No tray is to be cut now.", bold=True)
        return flow.pdf()
    flow.table(CUT_COLUMNS)
    for cut in cuts:
        seed = f"Seed of {', '.join(cut.lots)}." if cut.lots else ""
        about = " ".join(words for words in (cut.height, seed, cut.why) if words)
        flow.section(f"{cut.crop}, {counted(len(cut.trays), 'tray')}", about)
        for tray in cut.trays:
            _tray(flow, cut, tray, paper)
    flow.end_table()
    flow.gap(4.0)
    flow.need(40.0)
    flow.words("Harvest lots, as the app named them", bold=True)
    flow.table((Column(wide=60.0), Column(wide=60.0), Column()))
    for _ in range(2):
        flow.row(Blank(labels=("lot",)), Blank(labels=("lot",)), Blank(labels=("who, time",)), ruled=False)
    return flow.pdf()


def _tray(flow: Flow, cut: CutTold, tray: TrayToCut, paper: Paper) -> None:
    unit = paper.units.mass
    likely = (
        weights_between(tray.low_g, tray.high_g, unit) if tray.low_g is not None and tray.high_g is not None else ""
    )
    number = Words(words=str(cut.number), bold=True, size=14.0)
    flow.row(number, tray.tray, tray.spot, likely, Blank(unit=unit), Tick())


class WashTold(msgspec.Struct, frozen=True, kw_only=True):
    """Things of a pool to strip, wash or sanitise."""

    number: int
    do: str
    what: str
    count: int
    how: str = ""


WASH_COLUMNS = (
    Column(title="No", wide=17.0),
    Column(title="What"),
    Column(title="How many", wide=34.0),
    Column(title="With", wide=44.0),
    Column(title="Done", wide=16.0, align="centre"),
    Column(title="Who, time", wide=26.0),
)

CARE = (
    "Acids, chlorine and other agents burn: follow the label, never mix them, and wear what it says. "
    "Local codes and licensed practice come first."
)


def wash_list(washes: Sequence[WashTold], paper: Paper, about: str, sheet: str = "") -> bytes:
    """Kit to strip, wash and sanitise, with room for what was used."""
    flow = paper.flow("Washing", about, sheet=sheet if washes else "")
    if not washes:
        flow.words("There is nothing to wash now.", bold=True)
        return flow.pdf()
    flow.table(WASH_COLUMNS)
    for wash in washes:
        number = Words(words=str(wash.number), bold=True, size=14.0)
        what: tuple[str | Words, ...] = (Words(words=f"{wash.do}: {wash.what}", bold=True), wash.how)
        labels = ("agent", "ppm", "minutes") if wash.do == "Sanitise" else ("soap", "rinse")
        count = (f"{wash.count} to do", Blank()) if wash.count else Blank()
        flow.row(number, what, count, Blank(labels=labels), Tick(), Blank())
    flow.end_table()
    flow.gap()
    flow.words(CARE)
    return flow.pdf()
