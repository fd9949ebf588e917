"""Sowings of the coming days on paper: how many trays of what, how much seed from which lot, and where to."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import msgspec

from trayward.paper.flow import Blank, Column, Flow, Tick, Words
from trayward.paper.paper import Paper
from trayward.paper.tongue import Tongue, later


class LotShare(msgspec.Struct, frozen=True, kw_only=True):
    """Seed out of one lot. [g]"""

    lot: str
    grams: float


class SowingTold(msgspec.Struct, frozen=True, kw_only=True):
    """One sowing to make."""

    day: date
    recipe: str
    crop: str
    trays: int
    seed_g: float
    """On each tray. [g]"""
    lots: tuple[LotShare, ...] = ()
    spots: tuple[str, ...] = ()
    """Where they go; empty where the round of the day says it."""
    number: int = 0
    """Of its row in the round; 0 where it is of another day."""
    spoons: float = 0.0
    """The same without a scale, in level tablespoons on each tray. [-]"""
    why: str = ""


COLUMNS = (
    Column(title=later("No"), wide=17.0),
    Column(title=later("Sow")),
    Column(title=later("Seed"), wide=52.0),
    Column(title=later("Done"), wide=15.0, align="centre"),
    Column(title=later("Sown, if not so"), wide=44.0),
)


def sowing_sheet(sowings: Sequence[SowingTold], paper: Paper, about: str, sheet: str = "") -> bytes:
    """
    Sowings by day.

    Parameters
    ----------
    sowings : sequence of SowingTold
        In the order they are to be made.
    about : str
        The days they are of, and the plan they come from.
    sheet : str
        The name under which the row numbers are kept.
    """
    tongue = paper.tongue
    flow = paper.flow(tongue._("Sowing"), about, sheet=sheet if any(each.number for each in sowings) else "")
    if not sowings:
        flow.words(tongue._("No sowing in these days."), bold=True)
        flow.words(tongue._("Sowings come from the kept plan: make one with trayward plan, or on the page Sow."))
        return flow.pdf()
    flow.table(COLUMNS)
    day: date | None = None
    for sowing in sowings:
        if sowing.day != day:
            day = sowing.day
            flow.section(_day_words(day, sowings, tongue))
        _row(flow, sowing, paper)
    return flow.pdf()


def _day_words(day: date, sowings: Sequence[SowingTold], tongue: Tongue) -> str:
    trays = sum(sowing.trays for sowing in sowings if sowing.day == day)
    return f"{tongue.day(day)}: {tongue.counted(trays, 'tray')}"


def _row(flow: Flow, sowing: SowingTold, paper: Paper) -> None:
    mass, tongue = paper.units.mass, paper.tongue
    where = tongue._("To %(spots)s.", spots=", ".join(sowing.spots)) if sowing.spots else ""
    seed = [Words(words=tongue._("%(mass)s a tray", mass=tongue.mass(sowing.seed_g, mass)), bold=True)]
    lots = [tongue._("%(mass)s of %(lot)s", mass=tongue.mass(each.grams, mass), lot=each.lot) for each in sowing.lots]
    number = Words(words=str(sowing.number) if sowing.number else "", bold=True, size=14.0)
    what = [Words(words=f"{tongue.counted(sowing.trays, 'tray')}: {sowing.recipe}", bold=True)]
    flow.row(
        number,
        (*what, *(words for words in (where, tongue.said(sowing.why)) if words)),
        (*seed, *lots, *([_spoons(sowing, tongue)] if sowing.spoons else [])),
        Tick(),
        Blank(labels=(later("trays"), later("lot"))),
    )


def _spoons(sowing: SowingTold, tongue: Tongue) -> str:
    return tongue._("or %(spoons)s level tbsp", spoons=tongue.number(f"{sowing.spoons:g}"))
