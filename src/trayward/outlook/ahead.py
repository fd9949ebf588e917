"""The one door of the outlook: when a tray will be ready and what it will weigh, with how much doubt."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from datetime import date, datetime, timedelta
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from trayward.errors import Finding
from trayward.farm.calendar import local_day
from trayward.farm.holds import hold_of
from trayward.farm.recipes import Recipe, YieldPrior
from trayward.farm.state import FarmState, Tray
from trayward.outlook.types import Basis, Range, Reason, StageEnd, TrayOutlook, When

if TYPE_CHECKING:  # numpy takes its time to load: whoever asks nothing does not wait for it
    from numpy.random import Generator

    from trayward.outlook.draws import Draws, Proposed
    from trayward.outlook.losses import LossModel
    from trayward.outlook.memory import Lessons, Memory
    from trayward.outlook.stages import StageModel
    from trayward.outlook.terms import Floats
    from trayward.outlook.times import Clocked, Wait
    from trayward.outlook.yields import YieldLaw, YieldModel

DAY = timedelta(days=1)
SHARES = (0.025, 0.1, 0.25, 0.5, 0.75, 0.9, 0.975)
SAME_DAY = 0.1
"""A tray ready this little after the hour it was sown at still counts as ready that day: it is cut later on. [d]

Whole days, as recipes say them: sown on Monday for nine days it is cut on the Wednesday after next, not a day later for
an hour's sake. A plan over one future counts so, sown trays and standing ones alike. A plan over many futures has hours
in each of them, and asks on which walk a tray is seen (`plan.seen`).
"""


class Outlook:
    """What is likely at one moment, by the published figures and by what this farm's book holds."""

    def __init__(self, state: FarmState, at: datetime, memory: Memory | Callable[[], Memory] | None = None) -> None:
        self.state, self.at = state, at
        self.settings = state.settings_or_usual
        self.caution = self.settings.caution
        self._memory = memory
        self._standing: dict[tuple[object, ...], TrayOutlook] = {}
        self._bases: dict[tuple[str, YieldPrior], tuple[Basis, Basis]] = {}
        self._fresh: dict[tuple[Recipe, str, str], tuple[TrayOutlook, Floats]] = {}

    # What it rests on ------------------------------------------------------------------------------------------------

    @cached_property
    def lessons(self) -> Lessons:
        """What the farm's trays have taught."""
        from trayward.outlook.memory import Memory

        memory = self._memory() if callable(self._memory) else self._memory
        return (memory or Memory()).lessons(self.state)

    @property
    def learned(self) -> Lessons | None:
        """The lessons, where something was asked already; None: they are yet to be learned."""
        return self.__dict__.get("lessons")

    @property
    def yields(self) -> YieldModel:
        """What the cut trays teach about weight."""
        return self.lessons.yields

    @property
    def stages(self) -> dict[str, StageModel]:
        """What the trays teach about each stage's length."""
        return self.lessons.stages

    @property
    def losses(self) -> LossModel:
        """What the ended trays teach about losses."""
        return self.lessons.losses

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What in the record does not add up, or was left out."""
        return self.lessons.findings

    # One tray --------------------------------------------------------------------------------------------------------

    def proposed(self, recipe: Recipe, sow_at: datetime, lot: str = "") -> TrayOutlook:
        """The outlook of one tray of a recipe, were it sown at that moment, of a seed lot or of one not met yet."""
        told, _ = self._sown(recipe, sow_at, lot)
        return _moved(told, sow_at - self.at)

    def standing(self, tray: Tray) -> TrayOutlook:
        """The outlook of a tray that is growing: what it and its sowing have been through counts."""
        step = tray.steps[-1]
        # Of where it stands only the room's warmth and the lamp's light count.
        room, light = self.lessons.climate.room_of(tray.spot or step.spot), self.lessons.reader.likely_light(tray)
        key = (tray.sowing, tray.recipe, step.stage, step.since, step.last_not_yet, room, light, hold_of(tray))
        if key not in self._standing:
            self._standing[key] = self._stood(tray)
        found = self._standing[key]
        return found if found.tray == tray.tray else _renamed(found, tray.tray)

    def take_over(self, earlier: Outlook) -> None:
        """Trays of an earlier outlook with the same lessons of which nothing was said since need no new look."""
        before, now = earlier.state, self.state
        if before.readings != now.readings:
            return
        for key, told in earlier._standing.items():
            then, tray = before.trays.get(told.tray), now.trays.get(told.tray)
            if tray is not None and then == tray and before.sowings.get(tray.sowing) == now.sowings.get(tray.sowing):
                self._standing[key] = told

    def explain(self, tray: Tray) -> tuple[Reason, ...]:
        """What moves a standing tray's outlook away from the published figures, the most first."""
        from trayward.outlook.reasons import reasons

        return reasons(tray, self.state.recipe_of(tray), self.lessons)

    # Cautious figures ------------------------------------------------------------------------------------------------

    def cautious_days(self, recipe: Recipe) -> int:
        """Whole days from sowing after which the cautious share of trays is ready. [d]"""
        import numpy as np

        _, ends = self._sown(recipe, self.at, "")
        days = float(np.quantile(ends[:, -1], self.caution)) if ends.shape[1] else 0.0
        return max(0, math.ceil(days - SAME_DAY))

    def cautious_ready(self, tray: Tray) -> datetime:
        """When the cautious share of trays like this standing one is ready."""
        import numpy as np

        wait = self.wait(tray)
        if not wait.stages:
            return wait.since
        return wait.since + DAY * float(np.quantile(self._ends(wait)[:, -1], self.caution))

    def cautious_grams(self, recipe: Recipe) -> float | None:
        """Weight of one tray that the cautious share reaches; None where nobody knows. [g]"""
        law = self._law(recipe, "", self._season(self.at))
        return None if law is None else law.tray().quantile(1 - self.caution)

    # Many trays at once ----------------------------------------------------------------------------------------------

    def draws(self, sowings: Sequence[Proposed], n: int, rng: Generator) -> Draws:
        """Scenarios of what all standing trays and some proposed sowings will do, together; see `outlook.draws`."""
        from trayward.outlook.draws import draw

        return draw(self, sowings, n, rng)

    # Inside ----------------------------------------------------------------------------------------------------------

    @cached_property
    def clocked(self) -> Clocked:
        """Samples when trays are ready."""
        from trayward.outlook.times import Clocked

        return Clocked(self.lessons)

    def _sown(self, recipe: Recipe, sow_at: datetime, lot: str) -> tuple[TrayOutlook, Floats]:
        """The outlook of a tray as if sown now, and its stages' ends (n, stages) in days from then. [d]"""
        key = (recipe, lot, self._season(sow_at))
        if key not in self._fresh:
            wait = self.fresh_wait(recipe, self.at, lot, self._season(sow_at))
            ends = self._ends(wait)
            self._fresh[key] = self._told(wait, ends), ends
        return self._fresh[key]

    def fresh_wait(self, recipe: Recipe, sow_at: datetime, lot: str, season: str) -> Wait:
        """What a tray waits for that is sown at a moment."""
        from trayward.outlook.times import Wait

        return Wait(
            recipe=recipe,
            since=sow_at,
            stages=recipe.growing_stages,
            now=sow_at,
            room=self.lessons.climate.room_of(None),
            lot=lot,
            season=season,
        )

    def _season(self, at: datetime) -> str:
        return self.season_on(local_day(at, self.settings))

    def season_on(self, day: date) -> str:
        """The season a day lies in."""
        from trayward.outlook.rows import season_of

        return str(season_of(day))

    def wait(self, tray: Tray) -> Wait:
        """What a standing tray still waits for."""
        from trayward.outlook.times import wait_of

        return wait_of(tray, self.state.recipe_of(tray), self.lessons, self.at)

    def _stood(self, tray: Tray) -> TrayOutlook:
        wait = self.wait(tray)
        told = self._told(wait, self._ends(wait), tray)
        return _held(told) if hold_of(tray) else told

    def _ends(self, wait: Wait) -> Floats:
        from trayward.outlook.times import EvenChances

        return self.clocked.ends(wait, EvenChances())

    def _told(self, wait: Wait, ends: Floats, tray: Tray | None = None) -> TrayOutlook:
        from trayward.outlook.basis import grams_basis, time_basis

        recipe = wait.recipe
        known = recipe.name, recipe.yield_prior
        if known not in self._bases:
            self._bases[known] = time_basis(recipe, self.lessons), grams_basis(recipe, self.yields)
        times, grams = self._bases[known]
        law = self._law(recipe, wait.lot, wait.season, wait.sowing, tray)
        names = [tray.stage] if wait.whole and tray is not None else [stage.name for stage in wait.stages]
        whens = [_when(wait.since, days) for days in _shares_of(ends)]
        return TrayOutlook(
            recipe=recipe.name,
            crop=recipe.crop,
            tray=tray.tray if tray else "",
            stages=tuple(StageEnd(stage=name, ends=when) for name, when in zip(names, whens, strict=True)),
            ready=whens[-1] if whens else _surely(wait.since),
            grams=None if law is None else _range(law),
            time_basis=times,
            grams_basis=grams,
            loss=self._loss(wait, ends),
        )

    def _law(
        self, recipe: Recipe, lot: str, season: str, sowing: str = "", tray: Tray | None = None
    ) -> YieldLaw | None:
        if not self.yields.knows(recipe):
            return None
        from trayward.outlook.yields import asked_of

        return self.yields.law(asked_of(recipe, lot, season, sowing, tray, self.lessons.reader))

    def _loss(self, wait: Wait, ends: Floats) -> float:
        """The chance to lose it in the time it still has to grow, losses being spread evenly over a tray's time."""
        from trayward.outlook.losses import still_to_come

        if not ends.shape[1]:
            return 0.0
        chance = self.losses.chance(wait.recipe, wait.season)
        ahead = float(ends[:, -1].mean()) - max(0.0, (wait.now - wait.since) / DAY)
        return still_to_come(chance, ahead, wait.recipe.days_to_ready)


def look_ahead(state: FarmState, at: datetime, memory: Memory | Callable[[], Memory] | None = None) -> Outlook:
    """
    The outlook at a moment, by a state of the farm.

    With a memory, trays that are done with are read only once; it may be handed over as what gives it, so that nothing
    heavy loads before the outlook is asked anything.
    """
    return Outlook(state, at, memory)


def look_again(kept: Outlook, state: FarmState) -> Outlook | None:
    """
    An outlook of the same moment by another state of the same farm, with what was learned for the one before.

    For a book in which something was said late. Which trays stand, and what they and their sowings have been through,
    is as the new state says. None where nothing was learned yet, or where recipes, shelves or settings are others: what
    was learned would not fit.
    """
    before, lessons = kept.state, kept.learned
    if lessons is None:
        return None
    if (before.recipes, before.shelves, before.settings) != (state.recipes, state.shelves, state.settings):
        return None
    again = _taught(Outlook(state, kept.at), lessons)
    again.take_over(kept)
    return again


def _taught(outlook: Outlook, lessons: Lessons) -> Outlook:
    """The outlook with these lessons; rooms, sowings and seed lots are read from its own state."""
    import msgspec

    from trayward.outlook.clock import Climate
    from trayward.outlook.row_reader import RowReader

    climate = Climate(outlook.state)
    reader = RowReader(outlook.state, climate)
    outlook.lessons = msgspec.structs.replace(lessons, climate=climate, reader=reader)
    return outlook


def _shares_of(ends: Floats) -> list[list[float]]:
    """Of each stage (n, stages), the days that `SHARES` of cases stay below. [d]"""
    import numpy as np

    places = np.array(SHARES) * len(ends) - 0.5
    below = places.astype(int)
    part = (places - below)[:, None]
    ordered = np.sort(ends, axis=0)
    found: list[list[float]] = (ordered[below] * (1 - part) + ordered[below + 1] * part).T.tolist()
    return found


def _when(since: datetime, days: list[float]) -> When:
    least, low, lower, likely, upper, high, most = (since + DAY * at for at in days)
    return When(low=low, likely=likely, high=high, half=(lower, upper), most=(least, most))


def _surely(at: datetime) -> When:
    return When(low=at, likely=at, high=at, half=(at, at), most=(at, at))


@lru_cache(maxsize=4096)
def _range(law: YieldLaw) -> Range:
    tray = law.tray()
    least, low, lower, likely, upper, high, most = (tray.quantile(share) for share in SHARES)
    return Range(low=low, likely=likely, high=high, mean=tray.mean, half=(lower, upper), most=(least, most))


def _moved(told: TrayOutlook, by: timedelta) -> TrayOutlook:
    """The same outlook, sown at another time."""
    import msgspec

    if not by:
        return told
    stages = tuple(StageEnd(stage=one.stage, ends=_later(one.ends, by)) for one in told.stages)
    return msgspec.structs.replace(told, stages=stages, ready=_later(told.ready, by))


def _later(when: When, by: timedelta) -> When:
    half, most = when.half, when.most
    return When(
        low=when.low + by,
        likely=when.likely + by,
        high=when.high + by,
        half=half and (half[0] + by, half[1] + by),
        most=most and (most[0] + by, most[1] + by),
    )


def _held(told: TrayOutlook) -> TrayOutlook:
    """A tray that is held back counts as lost, unless somebody clears it."""
    import msgspec

    return msgspec.structs.replace(told, loss=1.0)


def _renamed(told: TrayOutlook, tray: str) -> TrayOutlook:
    import msgspec

    return msgspec.structs.replace(told, tray=tray)


def untaught(state: FarmState, at: datetime) -> Outlook:
    """The outlook by the published figures only, as if no tray had taught anything; what stands is still seen."""
    from trayward.outlook.memory import Memory

    bare = FarmState(settings=state.settings, shelves=state.shelves, recipes=state.recipes)
    return _taught(Outlook(state, at), Memory().lessons(bare))
