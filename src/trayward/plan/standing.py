"""Trays growing now, as the plan counts them: like ones together, with the day they are ready and the last to cut."""

from __future__ import annotations

from datetime import datetime, timedelta

import msgspec

from trayward.farm.calendar import local_day
from trayward.farm.holds import hold_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.outlook.ahead import SAME_DAY, Outlook
from trayward.plan.days import Days
from trayward.plan.seen import clock_of
from trayward.plan.ways import stage_days


class Standing(msgspec.Struct, frozen=True, kw_only=True):
    """Trays alike in recipe, stage, outlook and kit. Days count from the plan's first."""

    recipe: Recipe
    stages: tuple[Stage, ...]
    """The present stage and those to come."""
    starts: tuple[int, ...]
    """The day each begins, the present one on day 0."""
    ready: int
    """The day they are ready, with the farm's caution."""
    last: int
    """The last day of the cut window."""
    grams: float
    likely: float
    held: tuple[tuple[str, int], ...]
    trays: tuple[str, ...]


def standing_trays(state: FarmState, outlook: Outlook, settings: FarmSettings, days: Days) -> list[Standing]:
    """The growing trays in groups, in the order they were sown. Those held back count as lost, until cleared."""
    groups: dict[tuple[object, ...], tuple[Standing, list[str]]] = {}
    for tray in (tray for tray in state.growing() if not hold_of(tray)):
        one = _one(state, tray, outlook, settings, days)
        key = (tray.recipe, one.stages, one.starts, one.ready, one.last, one.grams, one.held)
        groups.setdefault(key, (one, []))[1].append(tray.tray)
    return [msgspec.structs.replace(one, trays=tuple(names)) for one, names in groups.values()]


def _one(state: FarmState, tray: Tray, outlook: Outlook, settings: FarmSettings, days: Days) -> Standing:
    recipe, ahead = state.recipe_of(tray), outlook.standing(tray)
    names = [stage.name for stage in recipe.stages]
    stages = recipe.stages[names.index(tray.stage) :] if tray.stage in names else recipe.stages[-1:]
    ready = _ready_day(outlook.cautious_ready(tray), settings, days, seen=len(stages) == 1)
    likely = [
        max(0.0, (stage.ends.likely - outlook.at) / timedelta(days=1)) for stage in ahead.stages[: len(stages) - 1]
    ]
    window = days.index(local_day(ahead.ready.likely, settings)) + recipe.cut_window_days
    return Standing(
        recipe=recipe,
        stages=stages,
        starts=stage_days(likely, ready) if len(stages) > 1 else (0,),
        ready=ready,
        last=max(ready, window),
        grams=outlook.cautious_grams(recipe) or 0.0,
        likely=ahead.grams.likely if ahead.grams else 0.0,
        held=tuple(sorted((pool, count) for pool, count in tray.kit.items() if count)),
        trays=(tray.tray,),
    )


def _ready_day(ready: datetime, settings: FarmSettings, days: Days, *, seen: bool) -> int:
    """
    The day of the plan on which a tray that is ready at a moment can be cut first; `seen`: it stands ready already.

    One that gets ready later in the day than a morning's sowing would is cut the next day: a tray sown so many whole
    days before counts alike, whether it is proposed (`Outlook.cautious_days`) or stands.
    """
    clock = clock_of(settings, ready)
    next_day = not seen and clock.now > clock.sowing + SAME_DAY
    return max(0, days.index(local_day(ready, settings)) + next_day)
