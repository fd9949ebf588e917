"""The place at a moment: what stands on which spot, now, or on a day ahead if the kept plan is followed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from itertools import pairwise

import msgspec

from trayward.farm.calendar import day_start, local_day
from trayward.farm.places import Shelf, spot_name
from trayward.farm.recipes import Recipe, stage_called
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import find_spot, stage_of, walking_shelves
from trayward.farm.state import FarmState, Tray
from trayward.outlook.types import StageEnd, TrayOutlook, When
from trayward.plan.types import PlannedSowing
from trayward.rounds.kept import KeptPlan
from trayward.rounds.scene import BENCH, is_last

DAY = timedelta(days=1)


class Occupant(msgspec.Struct, frozen=True, kw_only=True):
    """What stands on a spot: a tray, or one that the plan means to sow."""

    tray: str = ""
    """Empty for one that is only planned."""
    crop: str
    recipe: str
    stage: str
    since: date
    """The day its stage began, or is likely to have begun by then."""
    sown_on: date
    ready: When | None = None
    """When it is likely ready; the moment it was called so, where it is; None where nobody can say."""
    is_ready: bool = False
    trouble: str = ""
    ground: str = "lit"
    stack: int = 1
    spot: str = ""
    elsewhere: bool = False
    """Whether it would have to stand elsewhere than it does now; `spot` is then the first one free in the walk."""

    @property
    def planned(self) -> bool:
        """Whether nobody has sown it yet."""
        return not self.tray


class Place(msgspec.Struct, frozen=True, kw_only=True):
    """Every spot that is taken, and who has none."""

    day: date
    taken: dict[str, Occupant]
    bench: tuple[Occupant, ...] = ()
    """Trays that need no shelf, or stand on none."""
    crowded_out: tuple[Occupant, ...] = ()
    """Trays for which there would be no spot of the right kind."""
    leaving: int = 0
    """Trays standing now that are likely cut or gone by then."""


# Now ------------------------------------------------------------------------------------------------------------------


def place_now(state: FarmState, settings: FarmSettings, at: datetime, told: Mapping[str, TrayOutlook]) -> Place:
    """
    The place as it is.

    Parameters
    ----------
    told : mapping of tray to TrayOutlook
        What is likely of the trays; one that is missing, or is about an earlier stage, is told by its recipe.
    """
    found = [_as_it_is(state, settings, tray, outlook_of(state, tray, told, at)) for tray in state.growing()]
    return Place(
        day=local_day(at, settings),
        taken={one.spot: one for one in found if one.spot},
        bench=tuple(one for one in found if not one.spot),
    )


def outlook_of(
    state: FarmState, tray: Tray, told: Mapping[str, TrayOutlook], at: datetime
) -> tuple[tuple[StageEnd, ...], When | None]:
    """The ends of a tray's stages to come, and when it is ready: as told where that is of its stage, else by recipe."""
    recipe, known = state.recipes.get(tray.recipe), told.get(tray.tray)
    if is_last(recipe, tray.stage):
        return (), _surely(tray.stage_since)
    if known is not None and known.stages and known.stages[0].stage == tray.stage:
        return known.stages, known.ready
    ends = by_recipe(recipe, tray.stage, tray.stage_since, at) if recipe is not None else ()
    return ends, ends[-1].ends if ends else None


def by_recipe(recipe: Recipe, stage: str, since: datetime, at: datetime) -> tuple[StageEnd, ...]:
    """When stages end by the recipe's own days, the one called `stage` having begun at `since`; never before `at`."""
    names = [each.name for each in recipe.growing_stages]
    if stage not in names:
        return ()
    low = likely = high = since
    found: list[StageEnd] = []
    for each in recipe.growing_stages[names.index(stage) :]:
        low = max(low + DAY * each.days_low, at)
        likely = max(likely + DAY * each.days_typical, at)
        high = max(high + DAY * each.days_high, at)
        found.append(StageEnd(stage=each.name, ends=When(low=low, likely=likely, high=high)))
    return tuple(found)


def _as_it_is(
    state: FarmState, settings: FarmSettings, tray: Tray, ahead: tuple[tuple[StageEnd, ...], When | None]
) -> Occupant:
    stage = stage_of(state, tray)
    return Occupant(
        tray=tray.tray,
        crop=tray.crop,
        recipe=tray.recipe,
        stage=tray.stage,
        since=local_day(tray.stage_since, settings),
        sown_on=local_day(tray.sown_at, settings),
        ready=ahead[1],
        is_ready=is_last(state.recipes.get(tray.recipe), tray.stage),
        trouble=tray.problem,
        ground=stage.ground if stage else "lit",
        stack=stage.stack if stage else 1,
        spot=tray.spot or "",
    )


def _surely(at: datetime) -> When:
    return When(low=at, likely=at, high=at)


# On a day ahead -------------------------------------------------------------------------------------------------------


def place_on(
    state: FarmState,
    settings: FarmSettings,
    at: datetime,
    day: date,
    told: Mapping[str, TrayOutlook],
    kept: KeptPlan,
) -> Place:
    """
    The place as it is likely in the night after a day, if the kept plan is followed.

    Parameters
    ----------
    day : date
        The farm's day, today or later.
    told : mapping of tray to TrayOutlook
        What is likely of the trays standing now; see `place_now`.
    kept : KeptPlan
        What is still to sow, and when standing trays are cut.

    Returns
    -------
    Place
        Trays go on at the middle of what is likely. One stays on its spot as long as that suits its stage; the others,
        and the sowings to come, take the first free spots in walking order. A ready tray without a day in the plan
        stands to the end of its cut window.
    """
    night = day_start(day + DAY, settings)
    standing = [_then(state, settings, tray, night, outlook_of(state, tray, told, at)) for tray in state.growing()]
    staying = [one for one in standing if not _gone(state, one, day, kept)]
    sown = [
        one for each in kept.to_sow for one in _sown_by(state, each.planned, each.trays, local_day(at, settings), day)
    ]
    taken, bench, out = _settled(state, [*staying, *sown])
    return Place(
        day=day,
        taken=taken,
        bench=tuple(bench),
        crowded_out=tuple(out),
        leaving=len(standing) - len(staying),
    )


def _then(
    state: FarmState,
    settings: FarmSettings,
    tray: Tray,
    night: datetime,
    ahead: tuple[tuple[StageEnd, ...], When | None],
) -> Occupant:
    """A standing tray as it is likely at a later moment."""
    recipe = state.recipes.get(tray.recipe)
    name, since = tray.stage, tray.stage_since
    for end, after in pairwise([*(end for end in ahead[0]), None]):
        if end is None or end.ends.likely >= night or recipe is None:
            break
        name, since = after.stage if after is not None else recipe.stages[-1].name, end.ends.likely
    now = _as_it_is(state, settings, tray, ahead)
    stage = stage_called(recipe, name)
    return msgspec.structs.replace(
        now,
        stage=name,
        since=local_day(since, settings),
        is_ready=is_last(recipe, name),
        ground=stage.ground if stage else now.ground,
        stack=stage.stack if stage else now.stack,
    )


def _gone(state: FarmState, one: Occupant, day: date, kept: KeptPlan) -> bool:
    """Whether a tray that stands now is cut by the night of a day, or its window is over."""
    planned = kept.cut_days.get(one.tray)
    if planned is not None:
        return planned.day <= day
    recipe = state.recipes.get(one.recipe)
    return one.is_ready and recipe is not None and one.since + DAY * recipe.cut_window_days < day


def _sown_by(state: FarmState, planned: PlannedSowing, trays: int, today: date, day: date) -> Iterator[Occupant]:
    """Trays of a planned sowing that stand in the night of a day; one that is late is sown today."""
    begin = max(planned.sow_on, today)
    late = begin - planned.sow_on
    if begin > day:
        return
    cut = sum(each.trays for each in planned.cuts if each.cut_on + late <= day)
    if planned.cut_on + late <= day and not planned.cuts:
        cut = trays
    spans = [(each.stage, each.first + late) for each in planned.stages if each.first + late <= day]
    recipe = state.recipes.get(planned.recipe)
    name, since = spans[-1] if spans else (recipe.stages[0].name if recipe else "", begin)
    stage = stage_called(recipe, name)
    for _ in range(max(0, trays - cut)):
        yield Occupant(
            crop=planned.crop,
            recipe=planned.recipe,
            stage=name,
            since=since,
            sown_on=begin,
            is_ready=is_last(recipe, name),
            ground=stage.ground if stage else "lit",
            stack=stage.stack if stage else 1,
        )


# Who stands where -----------------------------------------------------------------------------------------------------


class _Floor:
    """One floor position and what stands on it."""

    def __init__(self, shelf: Shelf, position: int) -> None:
        self.shelf, self.position = shelf, position
        self.held: dict[int, Occupant] = {}

    def takes(self, one: Occupant) -> bool:
        """Whether one more may stand here."""
        return len(self.held) < min(self.shelf.stack, one.stack, *(held.stack for held in self.held.values()))

    def put(self, one: Occupant) -> Occupant:
        """Stand it on the lowest free level."""
        level = next(level for level in range(self.shelf.stack) if level not in self.held)
        spot = spot_name(self.shelf.name, self.position, level, self.shelf.stack)
        self.held[level] = msgspec.structs.replace(one, spot=spot, elsewhere=bool(one.tray))
        return self.held[level]


def _settled(
    state: FarmState, standing: Iterable[Occupant]
) -> tuple[dict[str, Occupant], list[Occupant], list[Occupant]]:
    """Who stands on which spot, on the bench, or finds none."""
    floors = {
        (shelf.name, position): _Floor(shelf, position)
        for shelf in walking_shelves(state)
        for position in range(1, shelf.spots + 1)
    }
    taken: dict[str, Occupant] = {}
    bench: list[Occupant] = []
    moving: list[Occupant] = []
    for one in standing:
        found = find_spot(state, one.spot) if one.spot else None
        if one.ground == BENCH:
            bench.append(msgspec.structs.replace(one, elsewhere=bool(one.spot), spot=""))
        elif found is not None and found[0].kind == one.ground and floors[found[0].name, found[1]].takes(one):
            floors[found[0].name, found[1]].held[found[2]] = one
            taken[one.spot] = one
        else:
            moving.append(one)
    out: list[Occupant] = []
    for one, spot in _moved(floors.values(), moving):
        if spot is None:
            out.append(one)
        else:
            taken[spot.spot] = spot
    return taken, bench, out


def _moved(floors: Iterable[_Floor], moving: Iterable[Occupant]) -> Iterator[tuple[Occupant, Occupant | None]]:
    """Each of those that need a spot, with itself on the first that takes it."""
    by_kind: dict[str, list[_Floor]] = defaultdict(list)
    for floor in floors:
        by_kind[floor.shelf.kind].append(floor)
    reached: dict[tuple[str, int], int] = {}
    for one in moving:
        key, row = (one.ground, one.stack), by_kind[one.ground]
        # A floor that does not take such a tray never will: floors only fill up.
        place = next((at for at in range(reached.get(key, 0), len(row)) if row[at].takes(one)), len(row))
        reached[key] = place
        yield one, row[place].put(one) if place < len(row) else None
