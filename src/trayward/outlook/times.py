"""When trays are ready: stage after stage, sampled, from standard days to days on the calendar.

A tray's present stage is known to last longer than its last "not yet", and its sowing's other trays tell how its sowing
goes; the stages to come take their chance.
"""

from __future__ import annotations

import math
from datetime import datetime, timedelta
from typing import Protocol

import msgspec
import numpy as np

from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import Tray
from trayward.outlook import lattice, normal
from trayward.outlook.censored import Intervals, draw_own
from trayward.outlook.memory import Lessons
from trayward.outlook.priors import stage_belief
from trayward.outlook.sisters import sowing_quantiles
from trayward.outlook.stages import StageAsked, StageLaw, StageModel, clock_law, seen_of
from trayward.outlook.terms import Floats

DAY = timedelta(days=1)


class Wait(msgspec.Struct, frozen=True, kw_only=True):
    """
    The stages a tray still has to go through.

    The first began at `since`. Where it is under way, `not_yet` is when it was last said to go on, and `now` is now: it
    does not end before. `sowing` is the group that its trays' looks are kept under; empty for a tray only proposed.
    """

    recipe: Recipe
    since: datetime
    stages: tuple[Stage, ...]
    now: datetime
    room: str = ""
    lot: str = ""
    season: str = ""
    sowing: str = ""
    not_yet: datetime | None = None
    whole: bool = False
    """The recipe no longer has the stage it is in: all stages together are waited for, from `since` on."""


class Chances(Protocol):
    """Where the luck of stages comes from, in some number of cases."""

    points: int
    """How many cases."""

    def sowing(self, law: StageLaw, wait: Wait, model: StageModel | None, seen: Intervals | None) -> Floats:
        """What a sowing's trays have in common in the stage under way, on the model's scale (n,)."""

    def own(self) -> Floats:
        """A tray's own luck in the stage under way, uniform (n,)."""

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:
        """Log standard days of a stage not yet begun (n,)."""


class EvenChances:
    """Evenly spread chances, for the ranges of one tray: what it shares with others does not matter."""

    def __init__(self, points: int = lattice.POINTS) -> None:
        self.points = points

    def sowing(self, law: StageLaw, wait: Wait, model: StageModel | None, seen: Intervals | None) -> Floats:  # noqa: ARG002
        """What a sowing's trays have in common in the stage under way, on the model's scale (n,)."""
        mean, sd = (law.mu - law.usual) / law.scale, math.hypot(_level_sd(law), law.sowing_sd) / law.scale
        if seen is None or law.tray_sd <= 0:
            return np.asarray(mean + sd * lattice.normals(self.points)[:, 1])
        return sowing_quantiles(seen, mean, sd, law.tray_sd / law.scale, lattice.uniforms(self.points)[:, 1])

    def own(self) -> Floats:
        """A tray's own luck in the stage under way, uniform (n,)."""
        return np.asarray(lattice.uniforms(self.points)[:, 0])

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:  # noqa: ARG002
        """Log standard days of a stage not yet begun (n,): normal, whatever parts its luck has."""
        return np.asarray(law.mu + _whole_sd(law) * lattice.normals(self.points)[:, min(1 + number, 11)])


def _level_sd(law: StageLaw) -> float:
    return math.hypot(law.known_sd, law.lot_sd, law.season_sd)


def _whole_sd(law: StageLaw) -> float:
    return math.hypot(_level_sd(law), law.sowing_sd, law.tray_sd)


class Clocked:
    """Samples waits by what a farm's trays teach."""

    def __init__(self, lessons: Lessons) -> None:
        self.lessons = lessons

    def ends(self, wait: Wait, chances: Chances) -> Floats:
        """When each stage of a wait ends, in days from its `since` (n, stages); never before now."""
        elapsed = max(0.0, (wait.now - wait.since) / DAY)
        if wait.whole:
            return self._whole(wait, chances, elapsed)
        columns: list[Floats] = []
        at = np.full(chances.points, elapsed)
        for number, stage in enumerate(wait.stages):
            law, model = self._law(stage, wait)
            if law is not None:
                if number == 0:
                    standard = self._first(law, model, chances, wait, stage)
                else:
                    standard = np.exp(chances.later(number, law, wait, model))
                at = self._on_calendar(standard, at, number, wait, stage, elapsed)
            columns.append(at)
        return np.column_stack(columns) if columns else np.zeros((chances.points, 0))

    def _law(self, stage: Stage, wait: Wait) -> tuple[StageLaw | None, StageModel | None]:
        belief = stage_belief(stage)
        if belief is None:
            return None, None
        model = self.lessons.stages.get(stage.name)
        if belief.by_clock or model is None:
            return clock_law(belief), None
        return model.law(StageAsked(recipe=wait.recipe, lot=wait.lot, season=wait.season), belief), model

    def _first(self, law: StageLaw, model: StageModel | None, chances: Chances, wait: Wait, stage: Stage) -> Floats:
        """Standard days of the stage under way."""
        bound = self._bound(law, wait, stage)
        seen = seen_of(model.groups, wait.sowing) if model is not None and wait.sowing else None
        shared, sd = chances.sowing(law, wait, model, seen), law.tray_sd / law.scale
        if bound == -math.inf:
            own = sd * normal.quantile(chances.own())
        else:
            own = draw_own(bound - shared, np.inf, sd, chances.own()) if sd > 0 else np.zeros(1)
        return np.asarray(np.exp(law.usual + law.scale * np.maximum(shared + own, bound)))

    def _bound(self, law: StageLaw, wait: Wait, stage: Stage) -> float:
        """The last "not yet" on the model's scale."""
        if wait.not_yet is None or wait.not_yet <= wait.since:
            return -math.inf
        low = self.lessons.climate.standard_days(wait.room, stage.base_c, stage.at_c, wait.since, wait.not_yet)
        return (math.log(low) - law.usual) / law.scale if low > 0 else -math.inf

    def _on_calendar(
        self, standard: Floats, at: Floats, number: int, wait: Wait, stage: Stage, elapsed: float
    ) -> Floats:
        """Days from `since` on when a stage of so many standard days is over."""
        climate = self.lessons.climate
        if number == 0:
            days = climate.calendar_days(wait.room, stage.base_c, stage.at_c, wait.since, standard)
            return np.maximum(days, elapsed)
        # What is still to come is assumed as warm as the last week was.
        begin = max(wait.now, wait.since)
        pace = climate.mean_pace(wait.room, stage.base_c, stage.at_c, begin, begin + DAY)
        return at + standard / max(pace, 1e-3)

    def _whole(self, wait: Wait, chances: Chances, elapsed: float) -> Floats:
        """All stages together, of which only the time since sowing is known."""
        fresh = msgspec.structs.replace(wait, whole=False, now=wait.since, not_yet=None)
        total = np.sort(self.ends(fresh, chances)[:, -1])
        low = (wait.not_yet - wait.since) / DAY if wait.not_yet is not None else 0.0
        beyond = total[total > low]
        spread = np.quantile(beyond, np.linspace(0.0, 1.0, len(total))) if len(beyond) else np.full(len(total), low)
        return np.maximum(spread, elapsed)[:, None]


def wait_of(tray: Tray, recipe: Recipe, lessons: Lessons, now: datetime) -> Wait:
    """What a standing tray still waits for."""
    step, names = tray.steps[-1], [stage.name for stage in recipe.growing_stages]
    birth = lessons.reader.birth(tray)
    room = lessons.climate.room_of(tray.spot or step.spot)
    whole = step.stage not in names and step.stage != recipe.stages[-1].name
    stages = recipe.growing_stages if whole else recipe.growing_stages[_place(names, step.stage) :]
    return Wait(
        recipe=recipe,
        since=tray.sown_at if whole else step.since,
        stages=stages,
        now=now,
        room=room,
        lot=birth.lot,
        season=str(birth.season),
        sowing=birth.group,
        not_yet=step.last_not_yet,
        whole=whole,
    )


def _place(names: list[str], stage: str) -> int:
    return names.index(stage) if stage in names else len(names)
