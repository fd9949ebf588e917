"""What the stores show: each crop's seed and lots, each pool of kit and where its pieces are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta

import msgspec

from trayward.desk.lookup import facts_of
from trayward.farm.calendar import local_day
from trayward.farm.crops import CropFacts
from trayward.farm.density import missing_for_tray
from trayward.farm.in_line import Place
from trayward.farm.kit import PoolState
from trayward.farm.kit_marks import marks_where, marks_words
from trayward.farm.seed_care import SeedCare
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.use_first import aged_seed, seed_place
from trayward.plan.seed_reach import TRACE_G, SeedReach, seed_in_store
from trayward.rounds.words import slug
from trayward.science.viability import LiveShare

SOON = timedelta(days=7)
"""What has to be ordered within this is asked for at the top. Our choice. [d]"""
SHORT = timedelta(days=28)
"""Where nobody said how long seed takes to come: what runs out within this is asked for. Our choice. [d]"""
MOST_USED_UP = 24
"""Lots used up that are still listed, the newest of them."""
WORN = 0.9
"""From this share of its expected uses on kit is called nearly worn: our choice. [-]"""


class LotShown(msgspec.Struct, frozen=True, kw_only=True):
    """A seed lot as the stores show it."""

    lot: str
    crop: str
    variety: str
    left_g: float
    received_g: float
    months: int
    """In store. [months]"""
    here_since: date
    expected_on: date | None
    late: bool
    """On order, and the day it was to come is past."""
    treated: bool
    live: LiveShare | None
    assumed: bool
    """Neither label nor test says what sprouts: it is taken for an ordinary lot."""
    good_until: date | None
    care: SeedCare
    missing: tuple[str, ...] = ()
    """What has to be known before a tray of it can be weighed out, in words."""
    place: Place
    """Its place in line: what goes off first is used first; then what came first."""
    first: bool = False
    """The one of several lots to use first."""


class CropShown(msgspec.Struct, frozen=True, kw_only=True):
    """A crop's seed: how far it reaches, and its lots, the one to use first before the others."""

    crop: str
    reach: SeedReach
    lots: tuple[LotShown, ...]
    order_now: bool
    """It has to be ordered within a week, or runs out within four weeks and nobody said how long seed takes to come."""


class PoolShown(msgspec.Struct, frozen=True, kw_only=True):
    """A pool of kit and where its pieces are."""

    pool: str
    slug: str
    count: int
    in_use: int
    dirty: int
    washed: int
    """Washed, and waiting to be sanitised."""
    drying: int
    dry_at: datetime | None
    """When the last of those that dry are ready."""
    away: int
    lost: int
    ready: int
    short: int
    """Pieces that the record has too many of in use and in the wash: count them. [-]"""
    dry_hours: float
    uses: int
    uses_each: float
    """Uses so far, the mean of all pieces. [-]"""
    lasts_uses: int
    worn: float | None
    """Share of the expected uses. [-]"""
    wear: float
    """What the uses so far cost. [farm's currency]"""
    marks_dirty: str = ""
    """Which of the dirty ones carry marks, in words."""
    marks_away: str = ""
    """... and of those with customers."""

    @property
    def nearly_worn(self) -> bool:
        """Whether it has had nearly all the uses it is expected to last."""
        return self.worn is not None and self.worn >= WORN


# Seed -----------------------------------------------------------------------------------------------------------------


def crops_shown(
    state: FarmState, settings: FarmSettings, reaches: Mapping[str, SeedReach], at: datetime
) -> tuple[CropShown, ...]:
    """Every crop with seed or a use for it: what has to be ordered first comes first, then by name."""
    today, lots = local_day(at, settings), seed_in_store(state)
    found = [
        CropShown(
            crop=crop,
            reach=reach,
            lots=_in_order([lot_shown(state, settings, lot, at) for lot in lots.get(crop, [])]),
            order_now=_order_now(reach, today),
        )
        for crop, reach in reaches.items()
    ]
    return tuple(sorted(found, key=lambda one: (not one.order_now, _urgent(one), one.crop)))


def _urgent(one: CropShown) -> date:
    return (one.reach.order_by or one.reach.runs_out or date.max) if one.order_now else date.max


def _order_now(reach: SeedReach, today: date) -> bool:
    if reach.order_by is not None:
        return reach.order_by <= today + SOON
    return reach.runs_out is not None and reach.runs_out <= today + SHORT


def _in_order(lots: Sequence[LotShown]) -> tuple[LotShown, ...]:
    """What goes off first is used first; then what came first. On order and treated lots stand behind."""

    ordered = sorted(lots, key=lambda lot: (lot.treated, lot.expected_on is not None, lot.place))
    sown = [lot for lot in ordered if lot.expected_on is None and not lot.treated]
    if len(sown) < 2:
        return tuple(ordered)
    return tuple(msgspec.structs.replace(lot, first=lot is sown[0]) for lot in ordered)


def lot_shown(state: FarmState, settings: FarmSettings, lot: SeedLot, at: datetime) -> LotShown:
    """One lot with what is likely alive of it today, and what its age asks."""
    facts, today = facts_of(state, lot.crop), local_day(at, settings)
    care, live = aged_seed(lot, facts, at, settings)
    return LotShown(
        lot=lot.lot,
        crop=lot.crop,
        variety=lot.variety,
        left_g=lot.left_g,
        received_g=lot.received_g,
        months=max(0, round((at - lot.received_at) / timedelta(days=365.25 / 12))),
        here_since=local_day(lot.received_at, settings),
        expected_on=lot.expected_on,
        late=lot.expected_on is not None and lot.expected_on < today,
        treated=lot.treated,
        live=live,
        assumed=lot.live_share is None,
        good_until=local_day(care.good_until, settings) if care.good_until is not None else None,
        care=care,
        missing=missing_of(state, lot, facts),
        place=seed_place(lot, facts, at, settings),
    )


def missing_of(state: FarmState, lot: SeedLot, facts: CropFacts) -> tuple[str, ...]:
    """What is not known of a lot or its crop, and is wanted to weigh out a tray; nothing for crops without a recipe."""
    grown = any(recipe.crop == lot.crop for recipe in state.recipes.values())
    return missing_for_tray(facts, lot) if grown else ()


def used_up(state: FarmState) -> tuple[SeedLot, ...]:
    """The newest lots of which nothing is left."""
    gone = [lot for lot in state.seed.values() if lot.left_g <= TRACE_G and lot.expected_on is None]
    return tuple(sorted(gone, key=lambda lot: (lot.received_at, lot.lot), reverse=True)[:MOST_USED_UP])


def crops_offered(state: FarmState, library: Sequence[str]) -> tuple[str, ...]:
    """Crops that seed may come of: those the farm grows or had first, then the rest of the library."""
    own = {recipe.crop for recipe in state.recipes.values()} | {lot.crop for lot in state.seed.values()}
    return (*sorted(own), *sorted(set(library) - own))


def free_name(state: FarmState, crop: str, today: date) -> str:
    """A name for a lot that no other has: the crop and the month, with a letter where it has to."""
    name = f"{slug(crop)}-{today:%y%m}" if crop else ""
    if not name or name not in state.seed:
        return name
    return next(each for each in (f"{name}{letter}" for letter in _letters()) if each not in state.seed)


def _letters() -> list[str]:
    return [chr(ord("b") + number) for number in range(25)] + [f"-{number}" for number in range(2, 1000)]


# Kit ------------------------------------------------------------------------------------------------------------------


def pools_shown(state: FarmState, at: datetime) -> tuple[PoolShown, ...]:
    """Every pool and where its pieces are."""
    return tuple(pool_shown(held, at) for held in state.kit.values())


def pool_shown(held: PoolState, at: datetime) -> PoolShown:
    """One pool, its uses spread evenly over its pieces."""
    pool, ready = held.pool, held.ready(at)
    each = held.uses / pool.count if pool.count else 0.0
    drying = [batch.ready_at for batch in held.drying if batch.ready_at > at]
    return PoolShown(
        pool=pool.name,
        slug=slug(pool.name),
        count=pool.count,
        in_use=held.in_use,
        dirty=held.dirty,
        washed=held.washed,
        drying=held.still_drying(at),
        dry_at=max(drying, default=None),
        away=held.away,
        lost=held.lost,
        ready=max(0, ready),
        short=max(0, -ready),
        dry_hours=pool.dry_hours,
        uses=held.uses,
        uses_each=each,
        lasts_uses=pool.lasts_uses,
        worn=each / pool.lasts_uses if pool.lasts_uses else None,
        wear=held.uses * pool.wear,
        marks_dirty=marks_words(marks_where(held, "dirty")),
        marks_away=marks_words(marks_where(held, "away")),
    )
