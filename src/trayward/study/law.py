"""The true law as the planner may be told it: all that records could ever teach, and nothing of the luck of trays.

Told is what is true of a farm, its recipes, seed lots, seasons and weather. Every sowing and every tray has its luck
drawn anew in each scenario, those that stand too, but never against what was seen of them: a stage that goes on is
longer than it has lasted, one that is over was as long as it was, and sowings whose trays were slow or heavy so far are
drawn more often. So it is what the plan that learns would come to with endless records.

What is not reckoned with: that a sowing of which trays were lost is likelier to lose more, and that a stage begun late
falls into other weather.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from typing import NamedTuple

import numpy as np

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.plan.days import Floats, Ints
from trayward.plan.futures import Future
from trayward.study.biology import sown_future
from trayward.study.chance import Chance
from trayward.study.ledger import Ledger, Named
from trayward.study.truth import Truth, last_look, never, next_look

DAY = timedelta(days=1)
SOWINGS, TRAYS = 128, 12
"""So many lucks of a standing sowing are weighed, each by so many lucks of its trays. [-]"""
FAINT = 1e-3
"""The least likelihood of anything seen: what none of so few draws shows has still come about. [-]"""
SCALE_SD = 0.01
"""The least doubt in the log of a tray's weight, where trays differ by none. Our choice. [-]"""
GOLDEN = (math.sqrt(5) - 1) / 2
TINY = 1e-6

Key = tuple[str, date, str]
"""What trays share that share the luck of a sowing: recipe, day, seed lot."""


class Lasted(NamedTuple):
    """Of a stage of a tray was seen that it was not over after so long, and that it was after so long. [d]"""

    place: int
    """Which of the recipe's growing stages, from 0."""
    not_yet: float
    over: float
    """Infinite: it goes on."""


class Lucks(NamedTuple):
    """What trays of a sowing do in lucks of sowings (p), each with lucks of its trays (j)."""

    days: Floats
    """Length of each stage (p, j, stages). [d]"""
    grams: Floats
    """(p, j). [g]"""
    lost_in: Ints
    """The stage in which mould takes it; beyond the last: none (p, j)."""


class Weighed(NamedTuple):
    """Lucks of a sowing, and how likely each is after what was seen of its trays."""

    lucks: Lucks
    upto: Floats
    """Chances added up (p,)."""


class TrueLaw:
    """
    What trays may do by the true law, in each scenario another luck.

    Parameters
    ----------
    ledger : Ledger
        Which tray is which of the truth; of its luck only what eyes and the scale have seen is used.
    lot_on : callable
        The seed lot of a crop that is in use on a day.
    missed : callable
        Whether nobody looks on the walk of a moment.
    """

    certain, foresees = False, False

    def __init__(
        self, ledger: Ledger, lot_on: Callable[[str, date], str], missed: Callable[[datetime], bool] = never
    ) -> None:
        self.ledger, self.lot_on, self.missed = ledger, lot_on, missed
        self._at: datetime | None = None
        self._truths: dict[int, Truth] = {}
        self._told: dict[tuple[str, date, int, str, bool], Future] = {}
        self._lucks: dict[Key, Lucks] = {}
        self._weighed: dict[Key, Weighed] = {}
        self._sisters: dict[Key, list[Tray]] = {}
        self._seen: dict[str, tuple[Lasted, ...]] = {}

    def sees(self, state: FarmState, at: datetime) -> None:
        """The trays that stand and their sisters that have left, at the moment of the plan."""
        self._at, self._weighed, self._seen = at, {}, {}
        standing = {_key(named) for tray in state.growing() if (named := self.ledger.named.get(tray.tray))}
        self._lucks = {key: lucks for key, lucks in self._lucks.items() if key in standing}
        self._sisters = {key: [] for key in standing}
        for tray in (*state.trays.values(), *state.ended.values()):
            named = self.ledger.named.get(tray.tray)
            if named is not None and _key(named) in standing:
                self._sisters[_key(named)].append(tray)

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """What a tray of a recipe sown on a day may do."""
        lot = self.lot_on(recipe.crop, day)
        key = recipe.name, day, scenario, lot, evening
        if key not in self._told:
            if scenario not in self._truths:
                self._truths[scenario] = self.ledger.truth.fresh(scenario)
            truth = self._truths[scenario].tray(recipe, day, 0, lot)
            self._told[key] = sown_future(truth, recipe, day, self.ledger.settings, self.missed, evening=evening)
        return self._told[key]

    def standing(self, tray: Tray, scenario: int) -> Future:
        """What a standing tray may do, none of it against what was seen; the stage under way counts from its begin."""
        assert self._at is not None, "the farm is shown before it is asked about"
        named = self.ledger.named[tray.tray]
        weighed = self._of(named)
        place, steps = _place(named.recipe, tray.stage), self._lasted(tray)
        now = steps[-1] if steps and steps[-1].place == place else None
        sowing, own = _pick(weighed, named, now, place, scenario)
        lucks = weighed.lucks
        days = self._walked(tray, lucks.days[sowing, own, place:], waits=now is not None and math.isfinite(now.over))
        lost = bool(place <= lucks.lost_in[sowing, own] < lucks.days.shape[2])
        return Future(stage_days=days, grams=float(lucks.grams[sowing, own]), lost=lost)

    def _walked(self, tray: Tray, lengths: Floats, *, waits: bool) -> tuple[float, ...]:
        """Lengths as the walks of the day make them; a tray that waits for room goes on as soon as there is some."""
        settings, at = self.ledger.settings, self._at
        assert at is not None
        days, begun = [], tray.stage_since
        least = at if waits else next_look(at + timedelta(microseconds=1), settings, self.missed)
        for length in lengths:
            ends = max(at if waits else next_look(begun + DAY * float(length), settings, self.missed), least)
            days.append((ends - begun) / DAY)
            begun, waits = ends, False
        return tuple(days)

    # What was seen ---------------------------------------------------------------------------------------------------

    def _of(self, named: Named) -> Weighed:
        key = _key(named)
        if key not in self._lucks:
            self._lucks[key] = draw_lucks(self.ledger.truth, named)
        if key not in self._weighed:
            sisters = self._sisters[key]
            seen = Counter(one for tray in sisters for one in self._lasted(tray))
            scale = [self.ledger.of(tray.tray).grams for tray in sisters if tray.fate == "cut"]
            self._weighed[key] = weigh(self._lucks[key], seen, scale)
        return self._weighed[key]

    def _lasted(self, tray: Tray) -> tuple[Lasted, ...]:
        """What the walks have shown of how long each stage of a tray takes."""
        if tray.tray not in self._seen:
            self._seen[tray.tray] = tuple(self._looked(tray))
        return self._seen[tray.tray]

    def _looked(self, tray: Tray) -> Iterable[Lasted]:
        assert self._at is not None
        settings, truth, named = self.ledger.settings, self.ledger.of(tray.tray), self.ledger.named[tray.tray]
        until = last_look(tray.ended_at or self._at, settings, self.missed)
        for step in tray.steps:
            place = _place(named.recipe, step.stage)
            if place == len(named.recipe.growing_stages):
                continue
            over = next_look(step.since + DAY * truth.stage_days[step.stage], settings, self.missed)
            if over > until:  # what comes after now is not looked at, whatever the truth holds
                yield Lasted(place, max((until - step.since) / DAY, 0.0), math.inf)
            else:
                before = last_look(over - timedelta(microseconds=1), settings, self.missed)
                yield Lasted(place, max((before - step.since) / DAY, 0.0), (over - step.since) / DAY)


def draw_lucks(truth: Truth, named: Named) -> Lucks:
    """Lucks of a sowing and of its trays, by the law alone."""
    stages = [stage.name for stage in named.recipe.growing_stages]
    places = {name: place for place, name in enumerate(stages)}
    trays = [
        [fresh.tray(named.recipe, named.sown_on, number, named.lot) for number in range(TRAYS)]
        for fresh in (truth.fresh(luck) for luck in range(SOWINGS))
    ]
    return Lucks(
        np.array([[[tray.stage_days[name] for name in stages] for tray in row] for row in trays]),
        np.array([[tray.grams for tray in row] for row in trays]),
        np.array([[places.get(tray.lost_in, len(stages)) for tray in row] for row in trays], dtype=np.int64),
    )


def weigh(lucks: Lucks, seen: Counter[Lasted], scale: list[float]) -> Weighed:
    """
    How likely each luck of a sowing is after what its trays have shown, by Bayes: trays are apart given the sowing.

    Parameters
    ----------
    seen : Counter
        Of stages, how often each.
    scale : list of float
        Weights of its trays that were cut. [g]
    """
    log = np.zeros(len(lucks.grams))
    for one, times in seen.items():
        log += times * np.log(_shown(lucks.days[:, :, one.place], one).mean(axis=1) + FAINT)
    if scale:
        grams = np.log(lucks.grams)
        sd = max(float(np.sqrt(grams.var(axis=1, ddof=1).mean())), SCALE_SD)
        off = np.log(np.array(scale))[:, None] - grams.mean(axis=1)[None, :]
        log -= 0.5 * np.sum((off / sd) ** 2, axis=0)
    chance = np.exp(log - log.max())
    return Weighed(lucks, np.cumsum(chance / chance.sum()))


def _shown(days: Floats, one: Lasted) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    found: np.ndarray[tuple[int, ...], np.dtype[np.bool_]] = (days > one.not_yet + TINY) & (days <= one.over + TINY)
    return found


def _pick(weighed: Weighed, named: Named, now: Lasted | None, place: int, scenario: int) -> tuple[int, int]:
    """The luck of the sowing in a scenario, the same for sisters, and one of a tray that fits what was seen of this."""
    lucks = weighed.lucks
    first = Chance(0).uniform("luck", named.recipe.name, named.sown_on, named.lot)
    # Steps by the golden section spread few scenarios evenly over what is likely, however many are asked for.
    sowing = min(int(np.searchsorted(weighed.upto, (first + GOLDEN * scenario) % 1.0)), len(weighed.upto) - 1)
    days, lost = lucks.days[sowing], lucks.lost_in[sowing]
    fits = lost >= place
    if now is not None:
        gone = now.not_yet if math.isinf(now.over) else now.over
        fits &= _shown(days[:, place], now) & ((lost > place) | (days[:, place] / 2 > gone + TINY))
    found = np.flatnonzero(fits)
    if len(found):
        return sowing, int(found[(named.number + scenario) % len(found)])
    length = days[:, place] if now is not None else lucks.grams[sowing]
    return sowing, int(np.argmax(np.where(lost >= place, length, -1.0)))


def _place(recipe: Recipe, stage: str) -> int:
    """Which of the growing stages it is; how many there are: it is past them."""
    names = [one.name for one in recipe.growing_stages]
    return names.index(stage) if stage in names else len(names)


def _key(named: Named) -> Key:
    return named.recipe.name, named.sown_on, named.lot
