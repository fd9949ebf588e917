"""What the page of one tray shows."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime, timedelta

import msgspec

from trayward.farm.entries import Entry, Photo
from trayward.farm.places import shelf_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots, stage_of
from trayward.farm.state import FarmState, Tray
from trayward.outlook.types import Range, TrayOutlook
from trayward.plan.types import Serve
from trayward.rounds.kept import CutDay, KeptPlan
from trayward.rounds.place import outlook_of
from trayward.rounds.scene import follows, is_last
from trayward.rounds.story import StoryLine
from trayward.rounds.words import day_number

MOST_SPOTS = 60
"""Free spots offered in a list; others can be typed."""
LocalDay = Callable[[datetime], date]


class Days(msgspec.Struct, frozen=True, kw_only=True):
    """A stage and the days on which it likely ends."""

    stage: str
    low: date
    likely: date
    high: date


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the story, and whether whoever reads may take it back."""

    words: str
    entry: str
    by: str
    struck: bool
    may_strike: bool
    photo: str = ""
    """The hash of a photo, where the line is one."""


class TrayShown(msgspec.Struct, frozen=True, kw_only=True):
    """A tray as its page shows it."""

    tray: str
    crop: str
    recipe: str
    medium: str
    sowing: str
    sisters: tuple[str, ...]
    """Other trays of its sowing that grow."""
    fate: str
    stripped: bool
    stage: str
    since: date
    days: int
    """In the stage. [d]"""
    day: int
    """Of its life, the day it was sown being 1."""
    sown_on: date
    spot: str | None
    kind: str
    """Of its shelf: dark, lit; empty on the bench."""
    seed_g: float
    lots: tuple[str, ...]
    trial: str
    trouble: str
    moisture: str
    height_mm: float | None
    share_emerged: float | None
    last_look: datetime | None
    last_water: datetime | None
    grams: float | None
    ended_at: datetime | None
    reason: str
    cue: str
    next_stage: str
    next_do: str
    ready_now: bool
    ends: tuple[Days, ...]
    """Of the stages still to end; the last one is when it is ready."""
    by_recipe: bool
    """Whether the days are the recipe's own, as the farm's were not worked out yet."""
    expected: Range | None
    """What it will likely weigh. [g]"""
    basis: tuple[str, ...]
    loss: float
    last_cut_day: date | None
    """The last day of its cut window, where it is ready."""
    cut_on: date | None
    serves: tuple[Serve, ...]

    @property
    def growing(self) -> bool:
        """Whether it still grows."""
        return self.fate == "growing"


def tray_shown(
    state: FarmState,
    settings: FarmSettings,
    tray: Tray,
    at: datetime,
    day_of: LocalDay,
    told: Mapping[str, TrayOutlook],
    kept: KeptPlan,
) -> TrayShown:
    """All that is known of a tray, whether it grows or is done with."""
    recipe = state.recipes.get(tray.recipe)
    growing = tray.fate == "growing"
    known = told.get(tray.tray) if growing else None
    ends, _ = outlook_of(state, tray, told, at) if growing else ((), None)
    fresh = known is not None and bool(known.stages) and known.stages[0].stage == tray.stage
    after = follows(recipe, tray.stage) if recipe is not None and growing else None
    stage, ready = stage_of(state, tray), growing and is_last(recipe, tray.stage)
    cut = kept.cut_days.get(tray.tray) if growing else None
    sowing = state.sowings.get(tray.sowing)
    return TrayShown(
        tray=tray.tray,
        crop=tray.crop,
        recipe=tray.recipe,
        medium=recipe.medium.name if recipe is not None else "",
        sowing=tray.sowing,
        sisters=_sisters(state, tray, sowing.trays if sowing is not None else ()),
        fate=tray.fate,
        stripped=tray.stripped,
        stage=tray.stage,
        since=day_of(tray.stage_since),
        days=(day_of(at) - day_of(tray.stage_since)).days,
        day=day_number(tray.sown_at, tray.ended_at or at, settings),
        sown_on=day_of(tray.sown_at),
        spot=tray.spot,
        kind=_kind(state, tray.spot),
        seed_g=tray.seed_g,
        lots=tray.lots,
        trial=tray.trial,
        trouble=tray.problem,
        moisture=tray.moisture or "",
        height_mm=tray.height_mm,
        share_emerged=tray.share_emerged,
        last_look=tray.last_look,
        last_water=tray.last_water,
        grams=tray.grams,
        ended_at=tray.ended_at,
        reason=tray.reason,
        cue=stage.cue if stage is not None and growing else "",
        next_stage=after.name if after is not None else "",
        next_do=after.do if after is not None else "",
        ready_now=ready,
        ends=tuple(
            Days(stage=end.stage, low=day_of(end.ends.low), likely=day_of(end.ends.likely), high=day_of(end.ends.high))
            for end in ends
        ),
        by_recipe=bool(ends) and not fresh,
        expected=known.grams if known is not None else None,
        basis=_basis(known),
        loss=known.loss if known is not None else 0.0,
        last_cut_day=_last_day(tray, recipe, day_of) if ready else None,
        cut_on=cut.day if cut is not None else None,
        serves=_serves(cut),
    )


def _sisters(state: FarmState, tray: Tray, trays: Iterable[str]) -> tuple[str, ...]:
    others = (state.trays.get(name) for name in trays if name != tray.tray)
    return tuple(other.tray for other in others if other is not None and other.fate == "growing")


def _kind(state: FarmState, spot: str | None) -> str:
    shelf = state.shelves.get(shelf_of(spot)) if spot else None
    return shelf.kind if shelf is not None else ""


def _basis(known: TrayOutlook | None) -> tuple[str, ...]:
    return tuple(dict.fromkeys((known.time_basis.words, known.grams_basis.words))) if known is not None else ()


def _last_day(tray: Tray, recipe: Recipe | None, day_of: LocalDay) -> date | None:
    return day_of(tray.stage_since) + timedelta(days=recipe.cut_window_days) if recipe is not None else None


def _serves(cut: CutDay | None) -> tuple[Serve, ...]:
    return cut.serves if cut is not None else ()


def spots_for(state: FarmState, stage: Stage | None) -> tuple[str, ...]:
    """Free spots that suit trays in a stage, in walking order; none for the bench."""
    if stage is None or stage.ground == "bench":
        return ()
    return tuple(free_spots(state, stage.ground, stage.stack)[:MOST_SPOTS])


def stages_to_come(state: FarmState, tray: Tray) -> tuple[Stage, ...]:
    """The stages of a tray's recipe that it can still begin, the next one first."""
    recipe = state.recipes.get(tray.recipe)
    if recipe is None:
        return ()
    names = [stage.name for stage in recipe.stages]
    at = names.index(tray.stage) + 1 if tray.stage in names else 0
    return recipe.stages[at:]


def told_of(
    lines: Sequence[StoryLine], said: Mapping[str, Entry], who: str, *, run: bool, answer: bool
) -> tuple[Told, ...]:
    """The story, newest first. Hands take back what they said themselves, owners anything.

    `said`: the entries that the lines tell of, by their ids.
    """
    return tuple(_told(line, said.get(line.entry), who, run=run, answer=answer) for line in reversed(lines))


def _told(line: StoryLine, entry: Entry | None, who: str, *, run: bool, answer: bool) -> Told:
    own = entry is not None and entry.by == who
    return Told(
        words=line.words,
        entry=line.entry,
        by=entry.by if entry is not None else "",
        struck=line.struck,
        may_strike=not line.struck and (run or (answer and own)),
        photo=entry.body.sha256 if entry is not None and isinstance(entry.body, Photo) else "",
    )
