"""What stands in a farm's calendar: sowings planned, cuts and turns expected, deliveries, washes, records, walks.

Days that are only likely say so, and their words hold the range: 8 in 10 lie within it.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from typing import Final, Literal, get_args

import msgspec

from trayward.dates import day_words
from trayward.errors import InputError
from trayward.exchange.ics import Event
from trayward.farm.calendar import local_day, month_end
from trayward.farm.due import lines_due
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.repeats import occurrences
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.farm.transitions.holding import kit_needed
from trayward.hygiene.kinds import title_of
from trayward.outlook.ahead import Outlook
from trayward.outlook.types import Range, TrayOutlook, When
from trayward.plan.done import sown_against
from trayward.plan.types import Plan, PlannedSowing
from trayward.units import show_mass
from trayward.words import counted, listed

Sort = Literal["sow", "cut", "turn", "deliver", "wash", "record", "round"]
SORTS: Final[tuple[Sort, ...]] = get_args(Sort)
WEEKS: Final = 6
"""How far ahead it looks; as far as a plan does. [weeks]"""


class Item(msgspec.Struct, frozen=True, kw_only=True):
    """Something of the calendar, before it has its version."""

    key: str
    """What it is, whatever day it is on: keeps its place on phones."""
    sort: Sort
    first: date
    summary: str
    words: tuple[str, ...] = ()
    likely: bool = False
    rule: str = ""


class Scene(msgspec.Struct, frozen=True, kw_only=True):
    """What the calendar is made of."""

    state: FarmState
    settings: FarmSettings
    plan: Plan | None
    standing: Callable[[Tray], TrayOutlook]
    """When a standing tray goes on and what it may weigh."""
    today: date

    @property
    def last(self) -> date:
        """The last day looked at."""
        return self.today + timedelta(weeks=WEEKS)

    def mass(self, grams: float) -> str:
        """A weight as the farm shows it."""
        return show_mass(grams, self.settings.units.mass)

    def day(self, at: datetime) -> date:
        """The farm's day of a moment, today at the earliest: what was due before is still to do."""
        return max(self.today, local_day(at, self.settings))


def require_sorts(words: Iterable[str]) -> frozenset[Sort]:
    """The sorts of some words. Raises `InputError` for another word."""
    found = list(words)
    strange = [word for word in found if word not in SORTS]
    if strange:
        raise InputError("without", strange[0], "is none of the sorts", f"Choose of {listed(SORTS, most=9)}.")
    return frozenset(sort for sort in SORTS if sort in found)


def scene(state: FarmState, outlook: Outlook, plan: Plan | None, at: datetime) -> Scene:
    """The farm at a moment, as its calendar is made of it."""
    settings = state.settings_or_usual
    return Scene(state=state, settings=settings, plan=plan, standing=outlook.standing, today=local_day(at, settings))


def events(scene: Scene, mark: str, without: frozenset[Sort] = frozenset()) -> list[Event]:
    """
    All of the calendar by its days, each with an id that no other farm has.

    Parameters
    ----------
    scene : Scene
        The farm now.
    mark : str
        The farm's own mark.
    without : frozenset of str
        Sorts to leave out.
    """
    space = uuid.uuid5(uuid.NAMESPACE_URL, f"trayward:{mark}")
    told = [
        Event(
            uid=str(uuid.uuid5(space, item.key)), summary=item.summary, first=item.first, last=item.first,
            words="\n".join(item.words), sort=CATEGORIES[item.sort], likely=item.likely, rule=item.rule,
        )
        for sort in SORTS if sort not in without and sort != "round"
        for item in _ITEMS[sort](scene) if scene.today <= item.first <= scene.last or item.rule
    ]  # fmt: skip
    return sorted(told, key=lambda event: (event.first, event.sort, event.summary)) + (
        [] if "round" in without else _rounds(scene, space)
    )


def in_language(event: Event, said: Callable[[str], str]) -> Event:
    """An event in another language; `said` makes one of the rooms' sentences its own, and leaves names alone."""
    words = "\n".join(said(line) for line in event.words.split("\n")) if event.words else ""
    asked = SAID_AS.get(event.sort, event.sort)
    told = said(asked)
    sort = event.sort if told == asked else told
    return msgspec.structs.replace(event, summary=said(event.summary), words=words, sort=sort)


SAID_AS: Final = {"Cut": "Cutting"}
"""What a sort is called to be said in another language: `cut` alone is also what became of a tray."""


CATEGORIES: Final[dict[Sort, str]] = {
    "sow": "Sow", "cut": "Cut", "turn": "Turn", "deliver": "Deliver", "wash": "Wash", "record": "Record",
    "round": "Round",
}  # fmt: skip


# Sowings, cuts and turns: one for each day ----------------------------------------------------------------------------


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """Some trays of one crop on a day, and what is told of them."""

    day: date
    crop: str
    trays: int
    words: str


class ToSow(msgspec.Struct, frozen=True):
    """A planned sowing and how many of its trays are still to be sown."""

    planned: PlannedSowing
    trays: int

    @property
    def share(self) -> float:
        """Of all its trays. [-]"""
        return self.trays / self.planned.trays


def to_sow(scene: Scene) -> list[ToSow]:
    """What is still to be sown from today on."""
    if scene.plan is None:
        return []
    done = sown_against(scene.plan, scene.state)[0]
    return [ToSow(each.planned, each.left) for each in done if each.left > 0 and each.planned.sow_on >= scene.today]


def _of_days(sort: Sort, deed: Callable[[str, str], str], parts: Iterable[Part], *, likely: bool) -> Iterator[Item]:
    """What is to be done on each day as one item: a calendar with thirty lines a day helps nobody."""
    days: dict[date, list[Part]] = {}
    for part in parts:
        days.setdefault(part.day, []).append(part)
    for day, together in days.items():
        crops = listed(dict.fromkeys(part.crop for part in together), most=4)
        yield Item(
            key=f"{sort}/{day}", sort=sort, first=day, likely=likely,
            summary=deed(counted(sum(part.trays for part in together), "tray"), crops),
            words=tuple(f"{part.crop}, {counted(part.trays, 'tray')}: {part.words}" for part in together),
        )  # fmt: skip


def _sowings(scene: Scene) -> Iterator[Item]:
    return _of_days(
        "sow", lambda trays, crops: f"Sow {trays}: {crops}", map(_sowing(scene), to_sow(scene)), likely=False
    )


def _sowing(scene: Scene) -> Callable[[ToSow], Part]:
    def told(each: ToSow) -> Part:
        planned = each.planned
        lots = f" of {listed(taken.lot for taken in planned.lots)}" if planned.lots else ""
        customers = listed(dict.fromkeys(serve.customer for serve in planned.serves), most=4)
        words = [
            f"recipe {planned.recipe}" if planned.recipe != planned.crop else "",
            f"seed {scene.mass(planned.seed_g * each.share)}{lots}", _cut_words(planned),
            f"for {customers}" if customers else "",
        ]  # fmt: skip
        return Part(day=planned.sow_on, crop=planned.crop, trays=each.trays, words=_sentence(words))

    return told


def _cut_words(planned: PlannedSowing) -> str:
    if planned.cut_between is None:
        return f"cut on {day_words(planned.cut_on)}"
    first, last = planned.cut_between
    span = f", 8 in 10 from {day_words(first)} to {day_words(last)}" if last > first else ""
    return f"cut likely on {day_words(planned.cut_on)}{span}"


def _cuts(scene: Scene) -> Iterator[Item]:
    return _of_days("cut", lambda trays, crops: f"Cut {trays}: {crops}", _cut_parts(scene), likely=True)


def _cut_parts(scene: Scene) -> Iterator[Part]:
    for day, trays in _standing_cuts(scene):
        told = [scene.standing(tray) for tray in trays]
        words = [
            _ready_words(scene, [one.ready for one in told]),
            _gram_words(scene, [one.grams for one in told if one.grams is not None]),
            listed(tray.tray for tray in trays),
        ]
        yield Part(day=day, crop=trays[0].crop, trays=len(trays), words=_sentence(words))
    for each in to_sow(scene):
        for cut in each.planned.cuts:
            sown = f"to be sown on {day_words(each.planned.sow_on)}"
            words = [sown, f"likely {scene.mass(cut.grams_expected * each.share)}", _cut_words(each.planned)]
            number = max(1, round(cut.trays * each.share))
            yield Part(day=cut.cut_on, crop=cut.crop, trays=number, words=_sentence(words))


def _standing_cuts(scene: Scene) -> Iterator[tuple[date, list[Tray]]]:
    """Trays that stand, by the day the plan cuts them; those it does not name, on the day they are likely ready."""
    growing = {tray.tray: tray for tray in scene.state.growing()}
    planned: set[str] = set()
    for cut in scene.plan.cuts if scene.plan is not None else ():
        trays = [growing[name] for name in cut.standing if name in growing]
        planned |= {tray.tray for tray in trays}
        if trays:
            yield max(cut.cut_on, scene.today), trays
    for trays in _by_sowing(tray for tray in growing.values() if tray.tray not in planned):
        yield scene.day(scene.standing(trays[0]).ready.likely), trays


def _ready_words(scene: Scene, whens: Sequence[When]) -> str:
    """From when to when 8 in 10 are ready; of trays that differ, from the earliest to the latest."""
    first, last = scene.day(min(when.low for when in whens)), scene.day(max(when.high for when in whens))
    return "likely ready now" if last == scene.today else f"ready {_between(first, last)}"


def _between(first: date, last: date) -> str:
    if first == last:
        return f"likely on {day_words(first)}"
    return f"from {day_words(first)} to {day_words(last)}, 8 in 10"


def _gram_words(scene: Scene, grams: Sequence[Range]) -> str:
    if not grams:
        return ""
    ends = f"{scene.mass(grams[0].low)} to {scene.mass(grams[0].high)}"
    return f"likely {scene.mass(sum(one.likely for one in grams))}, of one tray {ends}, 8 in 10"


def _turns(scene: Scene) -> Iterator[Item]:
    return _of_days("turn", lambda trays, crops: f"Turn {trays}: {crops}", _turn_parts(scene), likely=True)


def _turn_parts(scene: Scene) -> Iterator[Part]:
    """When standing trays likely begin their next stage; that they are ready stands with the cuts."""
    for trays in _by_sowing(scene.state.growing(), stages=True):
        recipe = scene.state.recipe_of(trays[0])
        for end in scene.standing(trays[0]).stages[:-1]:
            following = recipe.next_stage(end.stage)
            if following is not None:
                span = _between(scene.day(end.ends.low), scene.day(end.ends.high))
                words = [f"from {end.stage} to {following.name}", span, listed(tray.tray for tray in trays)]
                day = scene.day(end.ends.likely)
                yield Part(day=day, crop=trays[0].crop, trays=len(trays), words=_sentence(words))


def _by_sowing(trays: Iterable[Tray], *, stages: bool = False) -> list[list[Tray]]:
    """Trays that were sown together; `stages`: and are in the same stage."""
    found: dict[tuple[str, str, str], list[Tray]] = {}
    for tray in trays:
        found.setdefault((tray.sowing, tray.recipe, tray.stage if stages else ""), []).append(tray)
    return [sorted(together, key=lambda tray: tray.tray) for together in found.values()]


def _sentence(words: Iterable[str]) -> str:
    return f"{'; '.join(word for word in words if word)}."


# Deliveries -----------------------------------------------------------------------------------------------------------


def _deliveries(scene: Scene) -> Iterator[Item]:
    orders: dict[str, list[LineDue]] = {}
    for line in lines_due(scene.state, scene.today, scene.last):
        orders.setdefault(line.line.rpartition("/")[0], []).append(line)
    for order, lines in orders.items():
        held = scene.state.customers.get(lines[0].customer)
        who = f"For the own table: {lines[0].customer}" if held is not None and held.home else lines[0].customer
        done = all(_is_done(line) for line in lines)
        words = [f"{line.product}: {_amount(scene, line)}{', delivered' * _is_done(line)}." for line in lines]
        summary = who if held is not None and held.home else f"Deliver to {who}"
        yield Item(
            key=f"deliver/{order}", sort="deliver", first=lines[0].due, words=(*words, f"Order {order}."),
            summary=f"{summary} (done)" if done else summary,
        )  # fmt: skip


def _is_done(line: LineDue) -> bool:
    return line.done_trays >= line.trays if line.live else line.done_g >= line.grams > 0


def _amount(scene: Scene, line: LineDue) -> str:
    if line.live:
        return counted(line.trays, "live tray")
    return counted(round(line.packs), "pack") if line.packs else scene.mass(line.grams)


# Washes and records ---------------------------------------------------------------------------------------------------


def _washes(scene: Scene) -> Iterator[Item]:
    """What is dirty now, and what cuts to come will leave dirty."""
    dirty = {pool: kept.dirty for pool, kept in scene.state.kit.items() if kept.dirty > 0}
    if dirty:
        yield _wash(scene.today, dirty, likely=False)
    freed: dict[date, dict[str, int]] = {}
    for day, recipe, trays in _cut_days(scene):
        pools = freed.setdefault(day, {})
        for pool, each in kit_needed(recipe, recipe.stages[-1].name).items():
            if pool in scene.state.kit:
                pools[pool] = pools.get(pool, 0) + each * trays
    for day, pools in freed.items():
        if pools and not (day == scene.today and dirty):
            yield _wash(day, pools, likely=True)


def _wash(day: date, pools: dict[str, int], *, likely: bool) -> Item:
    what = listed(f"{number:g} of {pool}" for pool, number in pools.items())
    words = "After the cut, as many trays as likely are cut." if likely else "Dirty now, by the record."
    return Item(
        key=f"wash/{day}", sort="wash", first=day, likely=likely, words=(words,), summary=f"Wash {what}",
    )  # fmt: skip


def _cut_days(scene: Scene) -> Iterator[tuple[date, Recipe, int]]:
    for day, trays in _standing_cuts(scene):
        yield day, scene.state.recipe_of(trays[0]), len(trays)
    for each in to_sow(scene):
        recipe = scene.state.recipes.get(each.planned.recipe)
        if recipe is not None:
            for cut in each.planned.cuts:
                yield cut.cut_on, recipe, max(1, round(cut.trays * each.share))


def _records(scene: Scene) -> Iterator[Item]:
    """Hygiene records that are kept less often than daily; what is daily stands in the rounds."""
    for habit in scene.state.record_habits.values():
        if habit.ended or not habit.rule or "FREQ=DAILY" in habit.rule:
            continue
        # The first day the rule hits is DTSTART: it must be one of the rule's own (RFC 5545, section 3.8.5.3).
        days = occurrences(habit.rule, habit.start, habit.start, habit.start + timedelta(days=400))
        if days:
            area = f", {habit.area}" if habit.area else ""
            yield Item(
                key=f"record/{habit.key}", sort="record", first=days[0], rule=habit.rule,
                summary=f"Write down: {title_of(habit.kind)}{area}",
            )  # fmt: skip


# Walks ----------------------------------------------------------------------------------------------------------------


def _rounds(scene: Scene, space: uuid.UUID) -> list[Event]:
    """The walks of every day, at their time on the wall: from this month on to the end of next year."""
    first, last = scene.today.replace(day=1), month_end(date(scene.today.year + 1, 12, 1))
    return [
        Event(
            uid=str(uuid.uuid5(space, f"round/{walk.name}")), summary=f"{walk.name.capitalize()} round", first=first,
            last=last, at=walk.at, sort=CATEGORIES["round"],
        )
        for walk in scene.settings.rounds
    ]  # fmt: skip


_ITEMS: Final[dict[Sort, Callable[[Scene], Iterator[Item]]]] = {
    "sow": _sowings, "cut": _cuts, "turn": _turns, "deliver": _deliveries, "wash": _washes, "record": _records,
}  # fmt: skip
