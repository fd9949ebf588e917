"""The rows of trays that grow: look, turn, cut, and look close where mould is suspected.

Every growing tray that was not seen to in the present round is in exactly one of these rows. A tray that was, comes up
again only with a job that is still to be done: to be cut today, to go on by the clock, to be thrown away.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import msgspec

from trayward.dates import day_words
from trayward.farm.holds import hold_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState, Tray
from trayward.rounds.amounts import cover_weight, watering, watering_to_come
from trayward.rounds.answer import kit_taken
from trayward.rounds.cuts import Words, cut_due, cut_words, last_cut_day
from trayward.rounds.moves import by_need, must_move
from trayward.rounds.scene import Scene, is_last, shelf_name, spot_order
from trayward.rounds.sowing import kit_short_words
from trayward.rounds.trouble import close_look
from trayward.rounds.types import RoundRow, RowKind
from trayward.rounds.words import day_number, day_of, no_spot_words, sentences, slug
from trayward.words import counted, listed

STILL_GOOD = "Still good: upright, fresh and clean?"


@dataclass(frozen=True)
class Task:
    """What one tray is due."""

    tray: Tray
    kind: RowKind
    asks: bool
    since: datetime | None
    """Set: overdue, since then."""
    why: str = ""


class LooksKept:
    """
    Looks as the last round had them, for a round made anew after an answer: most of hundreds of rows are the same.

    A row is taken again only where all that it rests on is the same, see `_rests_on`.
    """

    def __init__(self) -> None:
        self._rows: dict[Hashable, tuple[RoundRow, object]] = {}
        self._before: dict[Hashable, tuple[RoundRow, object]] = {}

    def begin(self) -> None:
        """A round is made: what the one before it did not use is let go."""
        self._before, self._rows = self._rows, {}

    def of(self, key: Hashable, rests: object, made: Callable[[], RoundRow]) -> RoundRow:
        """The row kept under a key, else a new one; `rests` is held on to, so that no id in a key is given anew."""
        kept = self._before.get(key)
        self._rows[key] = kept if kept is not None else (made(), rests)
        return self._rows[key][0]


def tray_rows(scene: Scene, kept: LooksKept | None = None) -> list[RoundRow]:
    """Rows of the growing trays, not yet numbered or sorted; `kept` has those of the round before."""
    groups: dict[tuple[str, str, str, str], list[Task]] = defaultdict(list)
    for tray in scene.state.growing():
        task = task_of(scene, tray)
        if task is not None:
            groups[task.kind, tray.sowing, tray.stage, shelf_name(tray)].append(task)
    names, worded = _Names(scene), _Worded(scene)
    places = {shelf.name: place for place, shelf in enumerate(walking_shelves(scene.state))}
    walk = sorted(groups.items(), key=lambda group: (places.get(group[0][3], len(places)), group[0]))
    kept = kept if kept is not None else LooksKept()
    kept.begin()
    return [_row(scene, names, worded, tasks, kept) for _, tasks in walk]


def task_of(scene: Scene, tray: Tray) -> Task | None:
    """What a growing tray is due now; None where it was seen to and nothing more is to be done."""
    missed = scene.missed_since(tray)
    if hold_of(tray):
        return Task(tray=tray, kind="discard", asks=False, since=missed)
    cut, seen = cut_due(scene, tray), scene.seen(tray)
    ready = is_last(scene.recipe(tray), tray.stage)
    # Whoever was seen to is asked nothing more, but for a cut: its outlook need not be looked up.
    asks = (cut is not None or not seen) and could_end(scene, tray)
    nearly = asks and (after := scene.next_stage(tray)) is not None and is_last(scene.recipe(tray), after.name)
    if cut is not None and (ready or nearly):
        late = [since for since in (missed, cut.since) if since is not None]
        return None if said_not_yet(scene, tray) else Task(tray, "cut", asks, min(late, default=None), cut.why)
    by_clock = clock_up(scene, tray)
    if by_clock is not None and (not seen or scene.seen_at(tray) < by_clock <= scene.at):
        return Task(tray, "turn", False, missed or (by_clock if by_clock < scene.before else None))
    if seen:
        return None
    why = f"The plan counts on it: {cut.why}" if cut is not None else ""
    return Task(tray, "look", asks or ready, missed, why)


def said_not_yet(scene: Scene, tray: Tray) -> bool:
    """Whether somebody answered "not yet" to it in the present round."""
    said = tray.steps[-1].last_not_yet
    return said is not None and said >= scene.began


def could_end(scene: Scene, tray: Tray) -> bool:
    """Whether the stage could end by now, so that its question is worth asking."""
    stage = scene.stage(tray)
    if not stage.cue or scene.next_stage(tray) is None:
        return False
    if tray.steps[-1].last_not_yet is not None:
        return True
    if scene.at >= tray.stage_since + timedelta(days=stage.days_typical):
        return True
    ends = scene.ends(tray)
    earliest = ends.low if ends is not None else tray.stage_since + timedelta(days=stage.days_low)
    return scene.at >= earliest - scene.gap


def clock_up(scene: Scene, tray: Tray) -> datetime | None:
    """When a stage that ends by the clock is over, once that is nearer to this walk than to the next; else None."""
    stage = scene.stage(tray)
    if stage.cue or scene.next_stage(tray) is None:
        return None
    over = tray.stage_since + timedelta(days=stage.days_typical)
    return over if over <= scene.at + scene.gap / 2 else None


# Putting a row together -----------------------------------------------------------------------------------------------


class _Names:
    """Names of rows. Sowing and shelf are enough as long as all its trays were in one stage when the walk began.

    That a tray goes on in the middle of the walk must not change the names of the rows still open, so stages count as
    they were when the walk began; a row in any other stage adds its stage. A cut is of ready trays unless it says so.
    """

    def __init__(self, scene: Scene) -> None:
        self._began, self._recipes = scene.began, scene.state.recipes
        self._common = {name: self._common_stage(scene.state, name) for name in self._sowings(scene.state)}

    def of(self, kind: str, tray: Tray) -> str:
        stem = f"{kind}-{tray.sowing}-{shelf_name(tray)}"
        recipe = self._recipes.get(tray.recipe)
        plain = is_last(recipe, tray.stage) if kind == "cut" else self._common.get(tray.sowing) == tray.stage
        return stem if plain else f"{stem}-{slug(tray.stage)}"

    @staticmethod
    def _sowings(state: FarmState) -> set[str]:
        return {tray.sowing for tray in state.growing()}

    def _common_stage(self, state: FarmState, sowing: str) -> str | None:
        """The one stage all trays of a sowing were in when the walk began, those that ended since included."""
        names = state.sowings[sowing].trays if sowing in state.sowings else ()
        trays = [tray for name in names if (tray := state.tray(name)) is not None]
        stages = {self._stage_then(tray) for tray in trays if tray.ended_at is None or tray.ended_at >= self._began}
        return stages.pop() if len(stages) == 1 else None

    def _stage_then(self, tray: Tray) -> str:
        begun = [step.stage for step in tray.steps if step.since < self._began]
        return begun[-1] if begun else tray.steps[0].stage


class _Worded:
    """
    What rows say is to be done, worked out once for all rows that say the same.

    But for a cut, and for trays held back, it depends on the job, the recipe, the stage and how many trays there are:
    of hundreds of rows on a large farm few differ.
    """

    def __init__(self, scene: Scene) -> None:
        self._scene = scene
        self._kept: dict[tuple[str, str, str, str, int, bool], Words] = {}

    def of(self, kind: RowKind, trays: Sequence[Tray], *, asks: bool) -> Words:
        scene, first = self._scene, trays[0]
        recipe, stage = scene.recipe(first), scene.stage(first)
        if kind == "cut" and recipe is not None:
            return cut_words(scene, trays, recipe, stage if asks else None)
        if kind == "discard":
            return _wording(scene, kind, trays, recipe, stage, asks=asks)
        key = (kind, first.crop, first.recipe, first.stage, len(trays), asks)
        if key not in self._kept:
            self._kept[key] = _wording(scene, kind, trays, recipe, stage, asks=asks)
        return self._kept[key]


def _row(scene: Scene, names: _Names, worded: _Worded, tasks: list[Task], kept: LooksKept) -> RoundRow:
    """One row out of trays of one sowing that want the same on one shelf."""
    if len(tasks) > 1:
        tasks = sorted(tasks, key=lambda task: spot_order(task.tray.spot))
    first = tasks[0]
    goes_on = first.kind == "turn" or (first.kind == "look" and any(task.asks for task in tasks))
    # Where trays would go hangs on every other tray, so that is asked anew for each round.
    to, lacks = _to(scene, [task.tray for task in tasks]) if goes_on else ((), "")
    if first.kind == "turn":
        lacks = sentences(lacks, kit_short_words(scene, kit_taken(scene.state, first.tray), len(tasks))).rstrip(".")
    name, recipe = names.of(first.kind, first.tray), scene.recipe(first.tray)
    if first.kind != "look" or is_last(recipe, first.tray.stage):
        return _lacking(_made(scene, name, to, worded, tasks), lacks)
    key = _rests_on(scene, name, to, tasks)
    return _lacking(kept.of(key, (recipe, scene.settings), lambda: _made(scene, name, to, worded, tasks)), lacks)


def _lacking(row: RoundRow, lacks: str) -> RoundRow:
    """The row with what it lacks: that hangs on every other tray, so no kept row has it."""
    if not lacks:
        return row
    said = sentences(f"if yes, {lacks}" if row.kind == "look" else lacks)
    return msgspec.structs.replace(row, lacks=said)


def _rests_on(scene: Scene, name: str, to: tuple[str, ...], tasks: Sequence[Task]) -> Hashable:
    """All that a look at trays not yet ready rests on. What `_made` comes to read of a tray must be said here, too."""
    first = tasks[0].tray
    ends = scene.ends(first)
    trays = tuple(
        (
            task.tray.tray, task.tray.spot, task.tray.sown_at, task.tray.lots, task.tray.problem, task.tray.trial,
            scene.seen_at(task.tray), scene.days_of_dark(task.tray), task.since, task.asks, task.why,
        )
        for task in tasks
    )  # fmt: skip
    likely = ends.likely if ends is not None else None
    return (name, to, first.stage, likely, scene.today, id(scene.recipe(first)), id(scene.settings), trays)


def _made(scene: Scene, name: str, to: tuple[str, ...], worded: _Worded, tasks: list[Task]) -> RoundRow:
    first, trays = tasks[0], [task.tray for task in tasks]
    late = [task.since for task in tasks if task.since is not None]
    words = worded.of(first.kind, trays, asks=any(task.asks for task in tasks))
    return RoundRow(
        row=name,
        number=0,
        kind=first.kind,
        place=shelf_name(first.tray),
        crop=first.tray.crop,
        recipe=first.tray.recipe,
        stage=first.tray.stage,
        do=words.do,
        how=words.how,
        cue=words.cue,
        amounts=words.amounts,
        trays=tuple(tray.tray for tray in trays),
        spots=tuple(tray.spot for tray in trays if tray.spot),
        to=to,
        lots=tuple(dict.fromkeys(lot for tray in trays for lot in tray.lots)),
        lines=words.lines,
        overdue=bool(late),
        since=min(late, default=None),
        why=_why(scene, tasks),
        minutes=round(words.minutes, 1),
    )


def _wording(
    scene: Scene, kind: RowKind, trays: Sequence[Tray], recipe: Recipe | None, stage: Stage, *, asks: bool
) -> Words:
    if kind == "discard":
        hold = hold_of(trays[0])
        do, how = f"Look close: {_crop(trays)}, {hold}", sentences(close_look(hold))
        return Words(do=do, how=how, minutes=_look_minutes(recipe, trays))
    after = scene.next_stage(trays[0])
    if kind == "turn" and after is not None:
        do, how = f"Begin {after.name}: {_crop(trays)}", sentences(after.do)
        amounts = (*watering(after, recipe, trays=len(trays), water=scene.settings.water), *cover_weight(after))
        minutes = _look_minutes(recipe, trays) + after.minutes * len(trays)
        return Words(do=do, how=how, amounts=amounts, minutes=minutes)
    cue = stage.cue if asks and after is not None else ""
    if is_last(recipe, stage.name):
        cue = stage.cue or STILL_GOOD
    if_yes = _if_yes(recipe, after) if cue and after is not None else ""
    do, how = f"Look: {_crop(trays)}", sentences(care_words(stage), if_yes)
    count, water = len(trays), scene.settings.water
    to_come = watering_to_come(stage, after, recipe, trays=count, water=water) if cue else ()
    amounts = (*watering(stage, recipe, trays=count, water=water), *to_come, *cover_weight(stage))
    return Words(do=do, how=how, cue=cue, amounts=amounts, minutes=_look_minutes(recipe, trays))


def _if_yes(recipe: Recipe | None, after: Stage) -> str:
    if recipe is not None and is_last(recipe, after.name):
        return f"if yes: it is ready, to be cut within {counted(recipe.cut_window_days, 'day')}"
    return f"if yes: {after.do[:1].lower()}{after.do[1:]}" if after.do else f"if yes: begin {after.name}"


def _to(scene: Scene, trays: Sequence[Tray]) -> tuple[tuple[str, ...], str]:
    """Where trays would go if they went on now, empty if none would move or none finds room; and who finds none."""
    turning = {tray.tray: after for tray in trays if (after := scene.next_stage(tray)) is not None}
    moving = must_move(scene.state, turning)
    found: dict[str, str] = {}
    lacks = ""
    for (ground, stack), names in by_need(turning, moving).items():
        given = scene.promised.loosely(ground, stack, len(names))
        found.update(zip(names, given, strict=False))
        lacks = lacks or no_spot_words(ground, len(names), len(given))
    return (tuple(found.get(tray.tray, "") for tray in trays) if found else ()), lacks


def care_words(stage: Stage) -> str:
    """What is done to a tray at a look in a stage, in words; how much stands in the amounts."""
    lift = {"weight": "lift cover and weight", "blackout": "lift the cover", "none": ""}[stage.cover]
    water = {
        "none": "water below only if dry" if stage.water_ml > 0 else "",
        "soak": "see that the seed is under water",
        "mist": "mist if dry",
        "below": "water below if dry, never over the top",
    }[stage.water]
    back = {"weight": "cover and weight back on", "blackout": "cover back on", "none": ""}[stage.cover]
    return ", ".join(part for part in (lift, water, back) if part)


def _why(scene: Scene, tasks: list[Task]) -> str:
    """Where the trays are in their life, what is expected, and what was missed or seen before."""
    tray = tasks[0].tray
    passed = [task.tray.tray for task in tasks if scene.missed_since(task.tray) is not None]
    missed = ""
    if passed:
        last = min(scene.seen_at(task.tray) for task in tasks if task.tray.tray in passed)
        since, some = day_of(last, scene.settings), listed(passed)
        missed = f"not looked at since {since}"
        if len(passed) < len(tasks):
            missed = f"not looked at {some} since {since}"
    seen = sorted({task.tray.problem for task in tasks if task.tray.problem})
    return sentences(
        missed,
        next((task.why for task in tasks if task.why), ""),
        f"seen before: {listed(seen)}" if seen else "",
        _trial_words(scene, [task.tray for task in tasks]),
        _life_words(scene, tray, tasks[0].kind),
    )


def _trial_words(scene: Scene, trays: Sequence[Tray]) -> str:
    """How long a trial wants trays in the dark: then the cue does not say when to turn them."""
    said: dict[str, list[str]] = {}
    for tray in trays:
        level = scene.days_of_dark(tray)
        if level is not None:
            said.setdefault(f"trial {tray.trial}: {level:g} d of blackout", []).append(tray.tray)
    if len(said) == 1 and len(next(iter(said.values()))) == len(trays):
        return next(iter(said))
    return "; ".join(f"{words} for {listed(names)}" for words, names in said.items())


def _life_words(scene: Scene, tray: Tray, kind: RowKind) -> str:
    day = f"day {day_number(tray.sown_at, scene.at, scene.settings)}"
    recipe = scene.recipe(tray)
    if kind == "discard":
        return day
    if recipe is not None and is_last(recipe, tray.stage):
        return f"{day}; ready since {day_of(tray.stage_since, scene.settings)}, " + _window_words(scene, tray, recipe)
    ends = scene.ends(tray)
    return f"{day}; {tray.stage} likely ends {day_of(ends.likely, scene.settings)}" if ends is not None else day


def _window_words(scene: Scene, tray: Tray, recipe: Recipe) -> str:
    last = last_cut_day(scene, tray, recipe)
    return f"to be cut by {day_words(last)}" if scene.today <= last else f"past its window since {day_words(last)}"


def _crop(trays: Sequence[Tray]) -> str:
    return f"{trays[0].crop}, {counted(len(trays), 'tray')}"


def _look_minutes(recipe: Recipe | None, trays: Sequence[Tray]) -> float:
    return (recipe.minutes_look if recipe is not None else 0.0) * len(trays)
