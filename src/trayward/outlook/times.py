"""When trays are ready: stage after stage, sampled, from standard days to days on the calendar.

A tray's present stage is known to last longer than its last "not yet", and its sowing's other trays tell how its sowing
goes; the stages to come take their chance.
"""

from __future__ import annotations

import math
from datetime import datetime, time, timedelta
from typing import Protocol

import msgspec
import numpy as np

from trayward.farm.calendar import zone
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import Tray
from trayward.outlook import lattice, normal
from trayward.outlook.censored import Intervals, draw_own
from trayward.outlook.laws import Blurred, blurred
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

    def own_sd(self, law: StageLaw, wait: Wait) -> Floats:
        """How much single trays differ in the stage under way, in each case (n,). [log d]"""

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:
        """Log standard days of a stage not yet begun (n,)."""


class EvenChances:
    """Evenly spread chances, for the ranges of one tray: what it shares with others does not matter."""

    def __init__(self, points: int = lattice.POINTS) -> None:
        self.points = points

    def sowing(self, law: StageLaw, wait: Wait, model: StageModel | None, seen: Intervals | None) -> Floats:
        """What a sowing's trays have in common in the stage under way, on the model's scale (n,)."""
        if seen is None or model is None or law.tray_sd <= 0:
            shared = blurred(law.mu - law.usual, law.known_sd, law.parts[:3])
            return self._spread(shared, 1, 6) / law.scale
        # As long as the stage's model stays as it is, so does what it says of a sowing.
        key = (wait.sowing, wait.recipe.name, wait.lot, wait.season, self.points)
        if key not in model.sowings_told:
            model.sowings_told[key] = self._sowing(law, seen)
        return model.sowings_told[key]

    def _sowing(self, law: StageLaw, seen: Intervals) -> Floats:
        mean, level = (law.mu - law.usual) / law.scale, _level_sd(law) / law.scale
        chances, found = lattice.uniforms(self.points)[:, 1], np.empty(self.points)
        for part, sowing_sd, tray_sd in strata(law, self.points):
            found[part] = sowing_quantiles(seen, mean, level, sowing_sd, tray_sd, chances[part])
        return found

    def own(self) -> Floats:
        """A tray's own luck in the stage under way, uniform (n,)."""
        return np.asarray(lattice.uniforms(self.points)[:, 0])

    def own_sd(self, law: StageLaw, wait: Wait) -> Floats:  # noqa: ARG002
        """How much single trays differ in the stage under way, in each case (n,). [log d]"""
        return np.asarray(law.tray_sd * np.exp(law.unsure[3] * lattice.normals(self.points)[:, 11]))

    def later(self, number: int, law: StageLaw, wait: Wait, model: StageModel | None) -> Floats:  # noqa: ARG002
        """Log standard days of a stage not yet begun (n,), whatever parts its luck has."""
        return self._spread(law.tray(), min(1 + number, 5), min(6 + number, 10))

    def _spread(self, law: Blurred, chance: int, blur: int) -> Floats:
        """A law spread evenly over the cases, by the columns of chances that its deviate and its spread take."""
        normals = lattice.normals(self.points)
        return np.asarray(law.mu + law.sd * np.exp(law.blur * normals[:, blur]) * normals[:, chance])


UNSURE = 0.15
"""Spreads known to this on a log scale are taken as known where looking at a sowing costs time. Our choice. [-]"""
CORNERS = ((-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0), (1.0, -1.0))
"""Two spreads, each one standard error lower and higher: four even cases with the mean and variance of all. [-]"""


def strata(law: StageLaw, points: int) -> list[tuple[slice, float, float]]:
    """
    Cases in parts, each with how much sowings and trays may differ in it, on the model's scale.

    What a sowing showed says more of its pace the less its trays differ: where nobody knows how much they do, a fourth
    of the cases takes each of four answers.
    """
    sowing, tray = law.sowing_sd / law.scale, law.tray_sd / law.scale
    if max(law.unsure[2:]) < UNSURE:
        return [(slice(0, points), sowing, tray)]
    return [
        (slice(at, points, 4), sowing * math.exp(law.unsure[2] * one), tray * math.exp(law.unsure[3] * other))
        for at, (one, other) in enumerate(CORNERS)
    ]


def _level_sd(law: StageLaw) -> float:
    return math.hypot(law.known_sd, law.lot_sd, law.season_sd)


class Clocked:
    """Samples waits by what a farm's trays teach."""

    def __init__(self, lessons: Lessons) -> None:
        self.lessons = lessons
        self.rounds = sorted(_share_of_day(one.at) for one in lessons.reader.settings.rounds)

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
                    seen = self._seen(wait, at) if wait.stages[number - 1].cue else at
                    standard, at = np.exp(chances.later(number, law, wait, model)), seen
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
        shared, sd = chances.sowing(law, wait, model, seen), chances.own_sd(law, wait) / law.scale
        if bound == -math.inf:
            own = sd * normal.quantile(chances.own())
        else:
            own = draw_own(bound - shared, np.inf, sd, chances.own()) if law.tray_sd > 0 else np.zeros(1)
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

    def _seen(self, wait: Wait, at: Floats) -> Floats:
        """When the next stage begins: on the first round after the one before is over, in days from `since` (n,).

        One that ends by the clock is ended on time.
        """
        if not self.rounds:
            return at
        begin = _share_of_day(wait.since.astimezone(zone(self.lessons.reader.settings)).time())
        day = np.floor(at + begin)
        marks = np.array([*self.rounds, 1 + self.rounds[0]])
        return np.asarray(day + marks[np.searchsorted(marks, at + begin - day)] - begin)

    def _whole(self, wait: Wait, chances: Chances, elapsed: float) -> Floats:
        """All stages together, of which only the time since sowing is known."""
        fresh = msgspec.structs.replace(wait, whole=False, now=wait.since, not_yet=None)
        total = np.sort(self.ends(fresh, chances)[:, -1])
        low = (wait.not_yet - wait.since) / DAY if wait.not_yet is not None else 0.0
        beyond = total[total > low]
        spread = np.quantile(beyond, np.linspace(0.0, 1.0, len(total))) if len(beyond) else np.full(len(total), low)
        return np.maximum(spread, elapsed)[:, None]


def _share_of_day(at: time) -> float:
    return (at.hour + at.minute / 60 + at.second / 3600) / 24


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
