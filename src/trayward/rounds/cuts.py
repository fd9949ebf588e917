"""Which trays are to be cut now, and what a cut row says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from trayward.dates import day_words
from trayward.farm.calendar import day_start, local_day
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import Tray
from trayward.rounds.amounts import cut_height, expected_grams, height_words
from trayward.rounds.scene import Scene, is_last
from trayward.rounds.types import Amount
from trayward.rounds.words import sentences
from trayward.words import counted, listed


@dataclass(frozen=True)
class CutDue:
    """A tray is to be cut now, and why."""

    why: str
    since: datetime | None = None
    """Set: it should have been cut before, by then."""


@dataclass(frozen=True)
class Words:
    """What a row says, apart from which trays it is about."""

    do: str
    how: str = ""
    cue: str = ""
    amounts: tuple[Amount, ...] = ()
    lines: tuple[str, ...] = ()
    minutes: float = 0.0


def last_cut_day(scene: Scene, tray: Tray, recipe: Recipe) -> date:
    """The last day of a ready tray's cut window."""
    return local_day(tray.stage_since, scene.settings) + timedelta(days=recipe.cut_window_days)


def cut_due(scene: Scene, tray: Tray) -> CutDue | None:
    """Whether a tray is to be cut: its window ends or is over, the plan says so, or there is no plan to wait for."""
    recipe = scene.recipe(tray)
    if recipe is None:
        return None
    if is_last(recipe, tray.stage):
        last = last_cut_day(scene, tray, recipe)
        if scene.today > last:
            why = "past its cut window: taste and look before it is eaten or sold; if it is poor, throw it away"
            return CutDue(why=why, since=day_start(last + timedelta(days=1), scene.settings))
        if scene.today == last:
            return CutDue(why="last day of its cut window")
        if scene.kept.plan is None:
            return CutDue(why="ready, and no plan says to wait")
        if tray.tray in scene.kept.outside:
            return CutDue(why="ready, and sown beside the plan, which does not say when to cut it")
    planned = scene.kept.cut_days.get(tray.tray)
    if planned is None or planned.day > scene.today:
        return None
    late = planned.day < scene.today
    why = f"planned for {day_words(planned.day)}" if late else "planned for today"
    return CutDue(why=why, since=day_start(planned.day + timedelta(days=1), scene.settings) if late else None)


def cut_words(scene: Scene, trays: Sequence[Tray], recipe: Recipe, asked: Stage | None) -> Words:
    """What a cut row says. `asked`: the stage whose question comes first, where the trays are not yet called ready."""
    likely = expected_grams(scene.grams(trays[0]), len(trays), scene.settings.units)
    wanted = lines_for(scene, trays)
    how = f"cut {height_words(recipe, scene.settings.units)}, weigh each tray, cool at once"
    how = f"if yes: {how}" if asked is not None else how
    return Words(
        do=f"Cut: {trays[0].crop}, {counted(len(trays), 'tray')}",
        how=sentences(
            how,
            "no order needs it: sell it, eat it or give it away" if unwanted(scene, trays) else for_whom(wanted),
            keep_back(scene, trays[0].crop),
        ),
        cue=asked.cue if asked is not None else "",
        amounts=(cut_height(recipe, scene.settings.units), *likely),
        lines=tuple(line.line for line in wanted),
        minutes=recipe.minutes_cut * len(trays),
    )


def lines_for(scene: Scene, trays: Iterable[Tray]) -> list[LineDue]:
    """The order lines that trays cut today are for: those the plan names, else those of the crop that are due soon.

    None where the plan knew the trays and found no use for them.
    """
    trays = list(trays)
    if unwanted(scene, trays):
        return []
    named = {serve.line for tray in trays if (cut := scene.kept.cut_days.get(tray.tray)) for serve in cut.serves}
    keeps = max((recipe.cold_room_days for tray in trays if (recipe := scene.recipe(tray))), default=0)
    last = scene.today + timedelta(days=keeps)
    crops = sorted({tray.crop for tray in trays})
    soon = [line for crop in crops for line in scene.open_lines.get(crop, ()) if line.due <= last]
    return [line for line in soon if line.line in named] or soon


def unwanted(scene: Scene, trays: Iterable[Tray]) -> bool:
    """Whether the kept plan knew these trays and found no use for any of them: no order needs them."""
    kept = scene.kept
    if kept.plan is None:
        return False
    made_at, used = kept.plan.made_at, kept.cut_days.keys() | kept.outside | kept.spoken_for
    return all(tray.sown_at < made_at and tray.tray not in used for tray in trays)


def keep_back(scene: Scene, crop: str) -> str:
    """Live trays of the crop that are still owed, so that they are not cut by mistake."""
    owed = [
        f"{counted(line.trays - line.done_trays, 'tray')} for {line.customer} on {day_words(line.due)}"
        for line in scene.live_owed.get(crop, ())
    ]
    return f"live trays are owed: {listed(owed, most=4)}" if owed else ""


def for_whom(lines: Sequence[LineDue]) -> str:
    """Whom a cut is for, in words."""
    who = dict.fromkeys(f"{line.customer} on {day_words(line.due)}" for line in lines)
    return f"for {listed(who, most=4)}" if who else ""
