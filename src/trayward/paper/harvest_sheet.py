"""The day's cut on paper: which trays, what they likely weigh, a line for what they do weigh; and what to wash."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from trayward.paper.flow import Blank, Column, Flow, Tick, Words
from trayward.paper.paper import Paper
from trayward.paper.tongue import later
from trayward.rounds.measures import in_units
from trayward.words import listed


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
    Column(title=later("No"), wide=17.0),
    Column(title=later("Tray"), wide=38.0),
    Column(title=later("On"), wide=22.0),
    Column(title=later("Likely")),
    Column(title=later("Weighed"), wide=50.0),
    Column(title=later("Cut"), wide=14.0, align="centre"),
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
    tongue = paper.tongue
    flow = paper.flow(tongue._("Harvest"), about, sheet=sheet if cuts else "", answer="cut WEIGHTS")
    if not cuts:
        flow.words(tongue._("No tray is to be cut now."), bold=True)
        return flow.pdf()
    flow.table(CUT_COLUMNS)
    for cut in cuts:
        seed = tongue._("Seed of %(lots)s.", lots=", ".join(cut.lots)) if cut.lots else ""
        height = in_units(tongue.said(cut.height), paper.units, tongue.number)
        about = " ".join(words for words in (height, seed, tongue.said(cut.why)) if words)
        flow.section(f"{cut.crop}, {tongue.counted(len(cut.trays), 'tray')}", about)
        for tray in cut.trays:
            _tray(flow, cut, tray, paper)
    flow.end_table()
    flow.gap(4.0)
    flow.need(40.0)
    flow.words(tongue._("Harvest lots, as the app named them"), bold=True)
    flow.table((Column(wide=60.0), Column(wide=60.0), Column()))
    for _ in range(2):
        flow.row(*(Blank(labels=(each,)) for each in (later("lot"), later("lot"), later("who, time"))), ruled=False)
    return flow.pdf()


def _tray(flow: Flow, cut: CutTold, tray: TrayToCut, paper: Paper) -> None:
    unit = paper.units.mass
    known = tray.low_g is not None and tray.high_g is not None
    likely = paper.tongue.weights_between(tray.low_g or 0.0, tray.high_g or 0.0, unit) if known else ""
    number = Words(words=str(cut.number), bold=True, size=14.0)
    flow.row(number, tray.tray, tray.spot, likely, Blank(unit=unit), Tick())


class WashTold(msgspec.Struct, frozen=True, kw_only=True):
    """Things of a pool to strip, wash or sanitise."""

    number: int
    do: str
    sanitise: bool = False
    count: int
    how: str = ""
    spots: tuple[str, ...] = ()
    """Where the trays to strip stand."""


WASH_COLUMNS = (
    Column(title=later("No"), wide=17.0),
    Column(title=later("What")),
    Column(title=later("How many"), wide=34.0),
    Column(title=later("With"), wide=44.0),
    Column(title=later("Done"), wide=16.0, align="centre"),
    Column(title=later("Who, time"), wide=26.0),
)

CARE = later(
    "Acids, chlorine and other agents burn: follow the label, never mix them, and wear what it says. "
    "Local codes and licensed practice come first."
)


def wash_list(washes: Sequence[WashTold], paper: Paper, about: str, sheet: str = "") -> bytes:
    """Kit to strip, wash and sanitise, with room for what was used."""
    tongue = paper.tongue
    flow = paper.flow(tongue._("Washing"), about, sheet=sheet if washes else "")
    if not washes:
        flow.words(tongue._("There is nothing to wash now."), bold=True)
        return flow.pdf()
    flow.table(WASH_COLUMNS)
    for wash in washes:
        number = Words(words=str(wash.number), bold=True, size=14.0)
        do = Words(words=tongue.said(wash.do), bold=True)
        where = tongue._("On %(spots)s.", spots=tongue.said(listed(wash.spots))) if wash.spots else ""
        what: tuple[str | Words, ...] = (do, " ".join(words for words in (tongue.said(wash.how), where) if words))
        rinsed = Blank(labels=(RINSED_AT,), unit=paper.units.temperature)
        used = Blank(labels=SANITISED_WITH) if wash.sanitise else (Blank(labels=(WASHED_WITH,)), rinsed)
        count = (tongue._("%(count)s to do", count=wash.count), Blank()) if wash.count else Blank()
        flow.row(number, what, count, used, Tick(), Blank())
    flow.end_table()
    flow.gap()
    flow.words(tongue._(CARE))
    return flow.pdf()


SANITISED_WITH = (later("agent"), "ppm", later("minutes"))
WASHED_WITH, RINSED_AT = later("soap"), later("rinse")
