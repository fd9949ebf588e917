"""What the harvest page shows: cuts by day, the season by crop, trays that can be cut, where a lot went."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from operator import attrgetter
from typing import Literal

import msgspec

from trayward.farm.calendar import day_start, local_day
from trayward.farm.entries import Delivered, Entry, Packed, ThrownAway
from trayward.farm.holds import hold_of
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot, Tray
from trayward.outlook.cut_foretold import CutForetold
from trayward.outlook.doubt import Bounds, weight_bounds, weight_expected
from trayward.outlook.types import Range, TrayOutlook
from trayward.rounds.cuts import cut_due
from trayward.rounds.scene import Scene, is_last
from trayward.rounds.story import struck_among

DAYS_ON_A_PAGE, LOTS_ON_A_PAGE = 7, 60
"""Days with a cut that a page of the list holds, fewer where they have more lots than one can look over."""
MOST_GROUPS = 40
"""Sowings with ready trays that are offered to be cut here; the round has them all."""
LOOK_BACK = timedelta(days=56)
"""How far back the summary by crop looks. [d]"""

Verdict = Literal["as expected", "less", "more", ""]


class LotShown(msgspec.Struct, frozen=True, kw_only=True):
    """One harvest lot against what was expected of it."""

    harvest: str
    crop: str
    trays: int
    grams: float
    left_g: float
    foretold: Range | None
    verdict: Verdict


class DayShown(msgspec.Struct, frozen=True, kw_only=True):
    """What was cut on one day."""

    day: date
    grams: float
    lots: tuple[LotShown, ...]


class CropShown(msgspec.Struct, frozen=True, kw_only=True):
    """A crop over the weeks looked back on."""

    crop: str
    lots: int
    trays: int
    grams: float
    mean_g: float
    """A tray. [g]"""
    foretold: Range | None
    verdict: Verdict


class ReadyTray(msgspec.Struct, frozen=True, kw_only=True):
    """A tray that can be cut now."""

    tray: str
    spot: str
    crop: str
    sowing: str
    since: date
    weight: Bounds | None
    """What its weight is likely to be, and which would be doubted. [g]"""
    on_round: bool
    """Whether the present round asks for its cut."""
    why: str = ""
    asked_for: bool = False


class ReadyGroup(msgspec.Struct, frozen=True, kw_only=True):
    """Ready trays of a sowing: they are cut into one lot."""

    sowing: str
    crop: str
    trays: tuple[ReadyTray, ...]

    @property
    def asked_for(self) -> bool:
        """Whether one of them is the tray somebody wants to cut."""
        return any(tray.asked_for for tray in self.trays)

    @property
    def on_round(self) -> bool:
        """Whether the round asks for all of them."""
        return all(tray.on_round for tray in self.trays)


def verdict_of(grams: float, foretold: Range | None) -> Verdict:
    """Where a weight lies: within the range that 8 in 10 cuts were to lie in, below it, or above it."""
    if foretold is None:
        return ""
    if grams < foretold.low:
        return "less"
    return "more" if grams > foretold.high else "as expected"


# By day ---------------------------------------------------------------------------------------------------------------


def days_of_cuts(state: FarmState, settings: FarmSettings) -> dict[date, list[HarvestLot]]:
    """Harvest lots by the day they were cut, newest day first."""
    found: dict[date, list[HarvestLot]] = {}
    began, lots = None, []
    for lot in sorted(state.harvests.values(), key=attrgetter("cut_at", "harvest"), reverse=True):
        # A large farm has tens of thousands of lots: the wall's date is asked for once a day, not once a lot.
        if began is None or lot.cut_at < began:
            day = local_day(lot.cut_at, settings)
            began, lots = day_start(day, settings), found.setdefault(day, [])
        lots.append(lot)
    return found


def page_of(days: Mapping[date, Sequence[HarvestLot]], number: int) -> tuple[dict[date, Sequence[HarvestLot]], int]:
    """The days of a page of the list, and how many pages there are."""
    parts: list[dict[date, Sequence[HarvestLot]]] = [{}]
    lots = 0
    for day, cut in days.items():
        if parts[-1] and (len(parts[-1]) >= DAYS_ON_A_PAGE or lots + len(cut) > LOTS_ON_A_PAGE):
            parts.append({})
            lots = 0
        parts[-1][day] = cut
        lots += len(cut)
    return parts[min(max(1, number), len(parts)) - 1], len(parts)


def days_shown(
    days: Mapping[date, Sequence[HarvestLot]], foretold: Mapping[str, CutForetold | None]
) -> tuple[DayShown, ...]:
    """Each day's lots, with what was expected of them where that is known."""
    return tuple(
        DayShown(day=day, grams=sum(lot.grams for lot in lots), lots=tuple(lot_shown(lot, foretold) for lot in lots))
        for day, lots in days.items()
    )


def lot_shown(lot: HarvestLot, foretold: Mapping[str, CutForetold | None]) -> LotShown:
    """A lot against what was expected of it."""
    told = foretold.get(lot.harvest)
    total = told.total if told is not None else None
    return LotShown(
        harvest=lot.harvest,
        crop=lot.crop,
        trays=len(lot.trays),
        grams=lot.grams,
        left_g=lot.left_g,
        foretold=total,
        verdict=verdict_of(lot.grams, total),
    )


# By crop --------------------------------------------------------------------------------------------------------------


def lots_since(state: FarmState, first: date, settings: FarmSettings) -> list[HarvestLot]:
    """Harvest lots cut on a day or later."""
    began = day_start(first, settings)
    return [lot for lot in state.harvests.values() if lot.cut_at >= began]


def crops_shown(lots: Iterable[HarvestLot], foretold: Mapping[str, Range]) -> tuple[CropShown, ...]:
    """Lots by crop: the mean weight of a tray against what one was expected to bring."""
    by_crop: dict[str, list[HarvestLot]] = {}
    for lot in lots:
        by_crop.setdefault(lot.crop, []).append(lot)
    return tuple(_crop(crop, mine, foretold.get(crop)) for crop, mine in sorted(by_crop.items()))


def _crop(crop: str, lots: Sequence[HarvestLot], foretold: Range | None) -> CropShown:
    grams, trays = sum(lot.grams for lot in lots), sum(len(lot.trays) for lot in lots)
    mean = grams / trays if trays else 0.0
    return CropShown(
        crop=crop,
        lots=len(lots),
        trays=trays,
        grams=grams,
        mean_g=mean,
        foretold=foretold,
        verdict=verdict_of(mean, foretold),
    )


# Cut now --------------------------------------------------------------------------------------------------------------


def ready_trays(state: FarmState) -> list[Tray]:
    """Trays that wait to be cut; those held back do not."""
    ready = [tray for tray in state.growing() if is_last(state.recipes.get(tray.recipe), tray.stage)]
    return [tray for tray in ready if not hold_of(tray)]


class HeldTray(msgspec.Struct, frozen=True, kw_only=True):
    """A tray that could be cut if it were not held back."""

    tray: str
    spot: str
    crop: str
    why: str


def held_ready(state: FarmState) -> tuple[HeldTray, ...]:
    """Trays that wait to be cut and are held back, with why."""
    ready = [tray for tray in state.growing() if is_last(state.recipes.get(tray.recipe), tray.stage)]
    return tuple(
        HeldTray(tray=tray.tray, spot=tray.spot or "", crop=tray.crop, why=why)
        for tray in ready
        if (why := hold_of(tray))
    )


def ready_groups(
    state: FarmState, scene: Scene, told: Mapping[str, TrayOutlook], asked_for: str = ""
) -> tuple[ReadyGroup, ...]:
    """Trays that are ready to cut, by sowing; what the round does not ask for comes first."""
    ready = ready_trays(state)
    by_sowing: dict[str, list[ReadyTray]] = {}
    for tray in ready:
        by_sowing.setdefault(tray.sowing, []).append(_ready(state, scene, tray, told, asked_for))
    groups = (ReadyGroup(sowing=name, crop=trays[0].crop, trays=tuple(trays)) for name, trays in by_sowing.items())
    return tuple(sorted(groups, key=lambda group: (not group.asked_for, group.on_round)))[:MOST_GROUPS]


def _ready(state: FarmState, scene: Scene, tray: Tray, told: Mapping[str, TrayOutlook], asked_for: str) -> ReadyTray:
    due, known = cut_due(scene, tray), told.get(tray.tray)
    recipe = state.recipes[tray.recipe]
    expected = weight_expected(tray, recipe, known, scene.at) if known is not None else None
    return ReadyTray(
        tray=tray.tray,
        spot=tray.spot or "",
        crop=tray.crop,
        sowing=tray.sowing,
        since=local_day(tray.stage_since, scene.settings),
        weight=weight_bounds(tray, known, expected, scene.at) if known is not None and expected is not None else None,
        on_round=due is not None,
        why=due.why if due is not None else "",
        asked_for=tray.tray == asked_for,
    )


# Where a lot went -----------------------------------------------------------------------------------------------------


class WentTo(msgspec.Struct, frozen=True, kw_only=True):
    """Where a harvest lot went. [g]"""

    packed_g: float = 0.0
    delivered_g: float = 0.0
    """Loose."""
    thrown_g: float = 0.0
    packs: tuple[str, ...] = ()
    """Pack lots that hold of it."""


def went_to(entries: Sequence[Entry], harvest: str) -> WentTo:
    """
    Where a harvest lot went, by the entries about it; what was struck counts for nothing.

    Parameters
    ----------
    entries : sequence of Entry
        Those about the lot, with those that strike them.
    harvest : str
        Its name.
    """
    struck = struck_among(entries)
    bodies = [entry.body for entry in entries if entry.id not in struck]
    packed = [body for body in bodies if isinstance(body, Packed)]
    loose = [part for body in bodies if isinstance(body, Delivered) for line in body.lines for part in line.loose]
    thrown = [part for body in bodies if isinstance(body, ThrownAway) for part in body.parts]
    return WentTo(
        packed_g=sum(part.grams for body in packed for part in body.parts if part.harvest == harvest),
        delivered_g=sum(part.grams for part in loose if part.harvest == harvest),
        thrown_g=sum(part.grams for part in thrown if part.harvest == harvest),
        packs=tuple(body.pack for body in packed),
    )
