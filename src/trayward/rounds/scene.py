"""What every row of a round needs to know: the walk, the day, the tray's recipe and when it was last seen to."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import islice
from typing import Literal, Protocol

from trayward.errors import BookError
from trayward.farm.calendar import local_day, present_round, rounds_of
from trayward.farm.due import lines_due
from trayward.farm.orders import LineDue
from trayward.farm.places import floor_position, shelf_of
from trayward.farm.recipes import Recipe, Stage, stage_called
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState, Tray
from trayward.farm.trial_levels import trial_levels
from trayward.outlook.types import Range, TrayOutlook, When
from trayward.rounds.kept import KeptPlan, kept_plan

BENCH = "bench"
"""Where trays without a spot are, while they soak."""


ENOUGH = 0.5
"""A line short by no more than this counts as met: scales and packs round. [g]"""

LATE_DAYS = 7
"""How long a line that was not delivered is still asked for. [d]"""

AHEAD_DAYS = 14
"""How far ahead lines are looked at to say whom a cut is for. [d]"""


class Asked(Protocol):
    """The part of the outlook a round asks."""

    def standing(self, tray: Tray) -> TrayOutlook:
        """What is likely of a tray that grows now."""


class Promised:
    """Spots that rows of this round have been given, so that no two rows are sent to the same one.

    What trays would need if they went on is promised loosely; a sowing takes what is left, and only then such a spot.
    A floor position takes trays of one stack height only.
    """

    def __init__(self, state: FarmState) -> None:
        self._state = state
        self._free: dict[tuple[str, int], list[str]] = {}
        self._loose: dict[str, int] = {}
        self._firm: dict[str, int] = {}
        self._floors: dict[str, int] = {}
        """How high each floor position is stacked by what was promised, loosely or firmly."""

    def loosely(self, ground: Literal["dark", "lit"], stack: int, count: int) -> list[str]:
        """Up to `count` spots, in walking order, for trays that may go on."""
        chosen = self._open(ground, stack, count)
        self._loose.update(dict.fromkeys(chosen, stack))
        self._floors.update((floor_position(spot), stack) for spot in chosen)
        return chosen

    def firmly(self, ground: Literal["dark", "lit"], stack: int, count: int) -> list[str]:
        """Up to `count` spots for trays that are sown now; those promised loosely come last."""
        chosen = self._open(ground, stack, count)
        if len(chosen) < count:
            chosen = self._open(ground, stack, count, firm_alone=True)
        self._firm.update(dict.fromkeys(chosen, stack))
        self._floors.update((floor_position(spot), stack) for spot in chosen)
        return chosen

    def left(self, ground: Literal["dark", "lit"], stack: int, count: int) -> int:
        """How many of `count` trays would still find a spot; none is promised by asking. [trays]"""
        return len(self._open(ground, stack, count))

    def _open(self, ground: Literal["dark", "lit"], stack: int, count: int, *, firm_alone: bool = False) -> list[str]:
        key = (ground, stack)
        if key not in self._free:
            self._free[key] = free_spots(self._state, ground, stack)
        floors, loose = self._floors, self._loose
        if firm_alone:
            floors, loose = {floor_position(spot): height for spot, height in self._firm.items()}, {}
        fitting = (
            spot
            for spot in self._free[key]
            if spot not in loose and spot not in self._firm and floors.get(floor_position(spot), stack) == stack
        )
        return list(islice(fitting, count))


@dataclass(frozen=True)
class Scene:
    """A farm at one moment, as somebody walking it sees it."""

    state: FarmState
    outlook: Asked
    settings: FarmSettings
    at: datetime
    name: str
    """Day and walk, for instance `2026-11-25 morning`."""
    began: datetime
    before: datetime
    """When the walk before this one began."""
    today: date
    gap: timedelta
    """From one walk to the next, on average."""
    kept: KeptPlan
    lines: tuple[LineDue, ...]
    """Order lines of late and soon."""
    promised: Promised
    _missed: dict[datetime, datetime] = field(default_factory=dict)
    _stages: dict[tuple[str, str], tuple[Stage, Stage | None]] = field(default_factory=dict)
    _outlooks: dict[tuple[str, str, str, datetime], TrayOutlook] = field(default_factory=dict)

    @cached_property
    def open_lines(self) -> dict[str, list[LineDue]]:
        """Crop -> cut lines due today or later that are not yet delivered, in the order they are due."""
        found: dict[str, list[LineDue]] = defaultdict(list)
        for line in self.lines:
            if line.due >= self.today and line.grams - line.done_g > ENOUGH:
                for crop in dict.fromkeys(part.crop for part in line.parts):
                    found[crop].append(line)
        return found

    @cached_property
    def live_owed(self) -> dict[str, list[LineDue]]:
        """Crop -> lines of live trays due today or later that are not yet delivered in full."""
        found: dict[str, list[LineDue]] = defaultdict(list)
        for line in self.lines:
            if line.live and line.done_trays < line.trays and line.due >= self.today:
                found[line.parts[0].crop].append(line)
        return found

    def recipe(self, tray: Tray) -> Recipe | None:
        """The tray's recipe; None where the book never heard of it."""
        return self.state.recipes.get(tray.recipe)

    def stage(self, tray: Tray) -> Stage:
        """The tray's stage; a bare one where its recipe has none of that name (any more)."""
        return self._stage_and_next(tray)[0]

    def next_stage(self, tray: Tray) -> Stage | None:
        """The stage after the tray's present one; None after the last."""
        return self._stage_and_next(tray)[1]

    def _stage_and_next(self, tray: Tray) -> tuple[Stage, Stage | None]:
        key = (tray.recipe, tray.stage)
        if key not in self._stages:
            recipe = self.recipe(tray)
            bare = Stage(name=tray.stage, days_low=0.0, days_typical=0.0, days_high=0.0, ground="lit")
            after = follows(recipe, tray.stage) if recipe is not None else None
            self._stages[key] = (stage_called(recipe, tray.stage) or bare, after)
        return self._stages[key]

    def expects(self, tray: Tray) -> TrayOutlook | None:
        """The outlook of a tray, None without a recipe. Trays of a sowing that began their stage together share one."""
        if self.recipe(tray) is None:
            return None
        key = (tray.sowing, tray.recipe, tray.stage, tray.stage_since)
        if key not in self._outlooks:
            self._outlooks[key] = self.outlook.standing(tray)
        return self._outlooks[key]

    def ends(self, tray: Tray) -> When | None:
        """When the tray's present stage is expected to end; None where nobody can say."""
        expected = self.expects(tray)
        found = (end.ends for end in expected.stages if end.stage == tray.stage) if expected is not None else iter(())
        return next(found, None)

    def grams(self, tray: Tray) -> Range | None:
        """What the tray is likely to weigh; None where nobody can say."""
        expected = self.expects(tray)
        return expected.grams if expected is not None else None

    @cached_property
    def _days_of_dark(self) -> dict[str, float]:
        """Of trays in trials of the blackout, how long each stands under it. [d]"""
        found: dict[str, float] = {}
        for trial in self.state.trials.values():
            if trial.what == "blackout":
                found |= trial_levels(self.state, trial, self.settings)
        return found

    def days_of_dark(self, tray: Tray) -> float | None:
        """How long a trial wants a tray under its blackout, where it stands under one; else None. [d]"""
        return self._days_of_dark.get(tray.tray) if self.stage(tray).cover == "blackout" else None

    def seen_at(self, tray: Tray) -> datetime:
        """When somebody last stood before the tray: at a look, when it was sown, or when it went on."""
        return max(moment for moment in (tray.last_look, tray.sown_at, tray.stage_since) if moment is not None)

    def seen(self, tray: Tray) -> bool:
        """Whether the tray has been seen to in the present round."""
        return tray.last_round == self.name or self.seen_at(tray) >= self.began

    def missed_since(self, tray: Tray) -> datetime | None:
        """When the first round began that passed the tray by; None where none did."""
        if self.seen(tray) or self.seen_at(tray) >= self.before:
            return None
        seen = self.seen_at(tray)
        if seen not in self._missed:
            self._missed[seen] = round_after(self.settings, seen)
        return self._missed[seen]


def make_scene(state: FarmState, outlook: Asked, at: datetime) -> Scene:
    """The scene at a moment. Raises `BookError` for a farm that was never set up."""
    settings = state.settings
    if settings is None:
        raise BookError("This book has no farm in it yet, so there is no round. Set the farm up first.")
    name, began = present_round(settings, at)
    today = local_day(at, settings)
    return Scene(
        state=state,
        outlook=outlook,
        settings=settings,
        at=at,
        name=name,
        began=began,
        before=present_round(settings, began - timedelta(seconds=1))[1],
        today=today,
        gap=timedelta(days=1) / max(len(settings.rounds), 1),
        kept=kept_plan(state),
        promised=Promised(state),
        lines=tuple(lines_due(state, _first_due(state, settings, today), today + timedelta(days=AHEAD_DAYS))),
    )


def _first_due(state: FarmState, settings: FarmSettings, today: date) -> date:
    """The first day whose deliveries still count: not long past, and not before the book began."""
    late = today - timedelta(days=LATE_DAYS)
    return late if state.began is None else max(late, local_day(state.began, settings))


def round_after(settings: FarmSettings, at: datetime) -> datetime:
    """When the first walk after a moment begins."""
    today = local_day(at, settings)
    days = (today + timedelta(days=ahead) for ahead in range(3))
    return next(began for day in days for began, _ in rounds_of(day, settings) if began > at)


def follows(recipe: Recipe, stage: str) -> Stage | None:
    """The stage after the one named; None after the last, or where the recipe has none of that name."""
    names = [each.name for each in recipe.stages]
    return recipe.next_stage(stage) if stage in names else None


def is_last(recipe: Recipe | None, stage: str) -> bool:
    """Whether it is the recipe's last stage, in which a tray waits to be cut."""
    return recipe is not None and bool(recipe.stages) and recipe.stages[-1].name == stage


def shelf_name(tray: Tray) -> str:
    """The shelf a tray stands on, or the bench."""
    return shelf_of(tray.spot) if tray.spot else BENCH


def spot_order(spot: str | None) -> tuple[str, int, str]:
    """Spots in the order they stand in: shelf, floor position by number, level."""
    shelf, _, place = (spot or "").partition(".")
    digits = "".join(letter for letter in place if letter.isdigit())
    return (shelf, int(digits or 0), place)
