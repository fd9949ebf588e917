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
from trayward.outlook.censored import draw_own, draw_shared
from trayward.outlook.memory import Lessons
from trayward.outlook.priors import stage_belief
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


class Luck(msgspec.Struct, frozen=True):
    """Chance numbers for one stage of one tray, standard normal or uniform (n,): see `Chances`."""

    level: Floats
    """What is not known yet of recipe, lot and season together."""
    sowing: Floats
    """Uniform."""
    tray: Floats
    """Uniform."""


class Chances(Protocol):
    """Where the luck of stages comes from."""

    points: int
    """How many cases."""

    def stage(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Luck:
        """Luck in the stage of that number, from the present on."""


class EvenChances:
    """Evenly spread chance numbers, for the ranges of one tray: what is shared with others does not matter."""

    def __init__(self, points: int = lattice.POINTS) -> None:
        self.points = points

    def stage(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Luck:  # noqa: ARG002
        """Luck in the stage of that number, from the present on."""
        uniforms = lattice.uniforms(12, self.points)
        if number == 0:
            return Luck(normal.quantile(uniforms[:, 1]) * _level_sd(law), uniforms[:, 2], uniforms[:, 0])
        # Later stages are normal on a log scale whatever parts the luck has: one number makes them all.
        total = normal.quantile(uniforms[:, min(2 + number, 11)]) * _whole_sd(law)
        still = np.full(self.points, 0.5)
        return Luck(total, still, still)


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
                luck = chances.stage(number, law, wait, model)
                standard = self._first(law, model, luck, wait, stage) if number == 0 else np.exp(_later(law, luck))
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

    def _first(self, law: StageLaw, model: StageModel | None, luck: Luck, wait: Wait, stage: Stage) -> Floats:
        """Standard days of the stage under way."""
        bound = self._bound(law, wait, stage)
        eta = (law.mu - law.usual + luck.level) / law.scale
        shared = self._sowing(model, law, luck, wait, eta)
        sd = law.tray_sd / law.scale
        own = draw_own(bound - eta - shared, np.inf, sd, luck.tray) if sd > 0 else 0.0
        return np.exp(law.usual + law.scale * np.maximum(eta + shared + own, bound))

    def _bound(self, law: StageLaw, wait: Wait, stage: Stage) -> float:
        """The last "not yet" on the model's scale."""
        if wait.not_yet is None or wait.not_yet <= wait.since:
            return -math.inf
        low = self.lessons.climate.standard_days(wait.room, stage.base_c, stage.at_c, wait.since, wait.not_yet)
        return (math.log(low) - law.usual) / law.scale if low > 0 else -math.inf

    @staticmethod
    def _sowing(model: StageModel | None, law: StageLaw, luck: Luck, wait: Wait, eta: Floats) -> Floats:
        """The sowing's own effect, given what its trays showed so far."""
        if model is None or law.sowing_sd <= 0:
            return np.zeros_like(eta)
        sowing_sd, tray_sd = law.sowing_sd / law.scale, law.tray_sd / law.scale
        seen = seen_of(model.groups, wait.sowing) if wait.sowing else None
        if seen is None:
            return normal.quantile(luck.sowing) * sowing_sd
        return draw_shared(seen, eta[:, None], sowing_sd, tray_sd, luck.sowing[:, None])[:, 0]

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


def _later(law: StageLaw, luck: Luck) -> Floats:
    """Log standard days of a stage not yet begun, of a new draw of its parts."""
    sowing, tray = normal.quantile(luck.sowing) * law.sowing_sd, normal.quantile(luck.tray) * law.tray_sd
    return law.mu + luck.level + sowing + tray


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
