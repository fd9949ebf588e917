"""A grower's own wish put into a plan: a sowing with other trays or on another day, left out, or one more.

The plan stays the plan that was made then: its moment, its chances and its money are of before the wish, and a note
says so. Rounds ask for the sowings as they are after it. The next plan is chosen afresh; it moves the sowings of today
and tomorrow only for a gain (`calm` of the farm's settings), and counts every tray that was sown.
"""

from __future__ import annotations

from datetime import date, timedelta

from msgspec.structs import replace

from trayward.dates import day_words
from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.outlook.types import TrayOutlook
from trayward.plan.types import CutPlanned, Plan, PlannedSowing, SeedTaken, Serve, StageExpected
from trayward.words import counted

BY_HAND = "Changed by hand: "
"""Begins the note of every wish in a plan."""
MOST_TRAYS = 500
"""More trays of one sowing than this are a slip of the finger. [trays]"""


def by_hand(plan: Plan) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """What was changed in a plan by hand, and its other notes."""
    hand = tuple(note.removeprefix(BY_HAND) for note in plan.notes if note.startswith(BY_HAND))
    return hand, tuple(note for note in plan.notes if not note.startswith(BY_HAND))


def with_trays(plan: Plan, number: int, trays: int, sown: int = 0) -> Plan:
    """
    The plan with one of its sowings larger or smaller.

    Seed, weight and what it serves go along: fewer trays serve the first days first, live trays before grams, and more
    trays serve nobody yet.

    Parameters
    ----------
    number : int
        The sowing's place in the plan.
    trays : int
        How many trays instead.
    sown : int
        How many of them are sown already; no fewer can be wished for.

    Raises
    ------
    InputError
        If there are to be fewer than were sown, none, or far too many.
    """
    before = _at(plan, number)
    least = max(1, sown)
    if not least <= trays <= MOST_TRAYS:
        remedy = "Leave it out instead." if trays < 1 else "Check the number."
        rule = f"must lie in [{least}, {MOST_TRAYS}]" + (f"; {sown} are sown already" if sown else "")
        raise InputError("trays", trays, rule, remedy)
    if trays == before.trays:
        raise InputError("trays", trays, "it is as many as before", "Give another number, or leave it as it is.")
    words = f"{before.recipe} on {day_words(before.sow_on)}, {counted(trays, 'tray')} instead of {before.trays}."
    return _put(plan, number, resized(before, trays), words)


def resized(before: PlannedSowing, trays: int) -> PlannedSowing:
    """A planned sowing of more or fewer trays. [trays]"""
    share = trays / before.trays
    each = before.seed_g / before.trays
    cuts = _fewer_cuts(before, trays) if trays < before.trays else _more_cuts(before, trays)
    return replace(
        before,
        trays=trays,
        evening=before.waiting(trays),
        seed_g=round(each * trays, 1),
        lots=tuple(SeedTaken(lot=lot.lot, grams=round(lot.grams * share, 2)) for lot in before.lots),
        cuts=cuts,
        grams_expected=round(sum(cut.grams_expected for cut in cuts), 1),
        serves=_fewer_serves(before, trays, sum(cut.grams_expected for cut in cuts)),
    )


def _live(sowing: PlannedSowing) -> int:
    return sum(serve.trays for serve in sowing.serves)


def _fewer_cuts(before: PlannedSowing, trays: int) -> tuple[CutPlanned, ...]:
    """What is left to cut once the live trays have theirs; the last cuts go first."""
    left = max(0, trays - _live(before))
    found = []
    for cut in sorted(before.cuts, key=lambda one: one.cut_on):
        count = min(cut.trays, left)
        left -= count
        if count:
            found.append(replace(cut, trays=count, grams_expected=round(cut.grams_expected * count / cut.trays, 1)))
    return tuple(found)


def _more_cuts(before: PlannedSowing, trays: int) -> tuple[CutPlanned, ...]:
    """The trays more are cut with the last of the others; of a sowing that is all live nobody said what they weigh."""
    if not before.cuts:
        return before.cuts
    *first, last = before.cuts
    count = last.trays + trays - before.trays
    return (*first, replace(last, trays=count, grams_expected=round(last.grams_expected * count / last.trays, 1)))


def _fewer_serves(before: PlannedSowing, trays: int, grams: float) -> tuple[Serve, ...]:
    """Whom it still serves: live trays as far as they reach, then grams, the first days first."""
    found = []
    for serve in sorted(before.serves, key=lambda one: (one.due, one.line)):
        if serve.trays:
            count = min(serve.trays, trays)
            trays -= count
            found += [replace(serve, trays=count)] if count else []
        else:
            part = min(serve.grams, grams)
            grams -= part
            found += [replace(serve, grams=round(part, 1))] if part > 0 else []
    return tuple(found)


def on_day(plan: Plan, number: int, day: date, today: date) -> Plan:
    """The plan with one of its sowings on another day; its stages and cuts move by as many days.

    Raises
    ------
    InputError
        If the day is past, beyond the plan, or the day it is on.
    """
    before = _at(plan, number)
    _require_day(plan, day, today)
    if day == before.sow_on:
        raise InputError("day", day.isoformat(), "it is on that day already", "Give another, or leave it as it is.")
    words = f"{before.recipe}, {counted(before.trays, 'tray')}, on {day_words(day)} instead of "
    return _put(plan, number, moved(before, day), f"{words}{day_words(before.sow_on)}.")


def moved(before: PlannedSowing, day: date) -> PlannedSowing:
    """A planned sowing on another day, all of its days moved along."""
    by = day - before.sow_on
    between = before.cut_between
    return replace(
        before,
        sow_on=day,
        evening=0,
        cut_on=before.cut_on + by,
        cut_between=between and (between[0] + by, between[1] + by),
        stages=tuple(replace(one, first=one.first + by, last=one.last + by) for one in before.stages),
        cuts=tuple(replace(one, cut_on=one.cut_on + by) for one in before.cuts),
    )


def without(plan: Plan, number: int) -> Plan:
    """The plan with one of its sowings left out."""
    before = _at(plan, number)
    words = f"{before.recipe} on {day_words(before.sow_on)}, {counted(before.trays, 'tray')}, left out."
    kept = tuple(one for place, one in enumerate(plan.sowings) if place != number)
    return _noted(replace(plan, sowings=kept), words)


def with_own(plan: Plan, sowing: PlannedSowing, today: date) -> Plan:
    """The plan with a sowing more that the grower wants."""
    _require_day(plan, sowing.sow_on, today)
    words = f"{sowing.recipe} on {day_words(sowing.sow_on)}, {counted(sowing.trays, 'tray')}, added."
    return _noted(replace(plan, sowings=_ordered((*plan.sowings, sowing))), words)


def own_sowing(
    recipe: Recipe, trays: int, day: date, each_g: float, told: TrayOutlook, settings: FarmSettings
) -> PlannedSowing:
    """
    A sowing the grower wants, as the outlook expects it.

    Parameters
    ----------
    recipe : Recipe
        What is sown.
    trays : int
        How many.
    day : date
        When.
    each_g : float
        Seed on a tray; 0 where nobody knows yet. [g]
    told : TrayOutlook
        The outlook of such a tray, sown on that day.
    """
    if not 1 <= trays <= MOST_TRAYS:
        raise InputError("trays", trays, f"must lie in [1, {MOST_TRAYS}]", "Check the number.")
    ready = [local_day(moment, settings) for moment in (told.ready.low, told.ready.likely, told.ready.high)]
    low, likely, high = (max(each, day) for each in ready)
    grams = round((told.grams.likely if told.grams else 0.0) * trays, 1)
    cut = CutPlanned(cut_on=likely, crop=recipe.crop, trays=trays, grams_expected=grams)
    return PlannedSowing(
        sow_on=day,
        crop=recipe.crop,
        recipe=recipe.name,
        trays=trays,
        seed_g=round(each_g * trays, 1),
        cut_on=likely,
        cut_between=(low, high),
        grams_expected=grams,
        stages=_stages(recipe, day, told, settings),
        cuts=(cut,),
        why=f"Your own wish. Likely ready {day_words(likely)}, 8 in 10 from {day_words(low)} to {day_words(high)}.",
    )


def _stages(recipe: Recipe, day: date, told: TrayOutlook, settings: FarmSettings) -> tuple[StageExpected, ...]:
    """Each stage from the day the one before likely ends; the last is being ready."""
    found, first = [], day
    for stage in told.stages:
        ends = max(first, local_day(stage.ends.likely, settings))
        found.append(StageExpected(stage=stage.stage, first=first, last=max(first, ends - timedelta(days=1))))
        first = ends
    last = recipe.stages[-1].name
    if not found or found[-1].stage != last:
        found.append(StageExpected(stage=last, first=first, last=first))
    return tuple(found)


# Inside ---------------------------------------------------------------------------------------------------------------


def _at(plan: Plan, number: int) -> PlannedSowing:
    if not 0 <= number < len(plan.sowings):
        raise InputError("sowing", number, "the plan has none of that number", "Open the plan anew.")
    return plan.sowings[number]


def _require_day(plan: Plan, day: date, today: date) -> None:
    first = max(today, plan.first)
    if not first <= day <= plan.last:
        rule = f"must lie from {day_words(first)} to {day_words(plan.last)}, the days of the plan"
        raise InputError("day", day.isoformat(), rule, "Give a day of the plan, or make it anew.")


def _put(plan: Plan, number: int, sowing: PlannedSowing, words: str) -> Plan:
    changed = (*plan.sowings[:number], sowing, *plan.sowings[number + 1 :])
    return _noted(replace(plan, sowings=_ordered(changed)), words)


def _ordered(sowings: tuple[PlannedSowing, ...]) -> tuple[PlannedSowing, ...]:
    return tuple(sorted(sowings, key=lambda one: (one.sow_on, one.recipe)))


def _noted(plan: Plan, words: str) -> Plan:
    return replace(plan, notes=(f"{BY_HAND}{words}", *plan.notes))


def same_plan(plan: Plan | None, said: str) -> Plan:
    """The plan a form was filled in against.

    Raises
    ------
    InputError
        If another has been kept, or this one changed, since the page was opened.
    """
    if plan is None or plan_mark(plan) != said:
        raise InputError("plan", "another", "the plan was changed since this page was opened", "Look at it again.")
    return plan


def plan_mark(plan: Plan) -> str:
    """What tells this plan from others and from itself before a wish."""
    return f"{plan.made_at.isoformat()} {len(plan.notes)} {len(plan.sowings)}"
