"""Why order lines may fall short: what stands in the way of each, and what one tray more would raise its chance to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from trayward.dates import day_words
from trayward.plan.crop_search import seed_suffices
from trayward.plan.days import Bools, Ints
from trayward.plan.limits import DAYS_OFF
from trayward.plan.plots import Plot
from trayward.plan.prices import over_cost
from trayward.plan.types import Limit
from trayward.plan.uses import CUT, LIVE
from trayward.plan.why import Why
from trayward.plan.why_late import too_late
from trayward.plan.why_more import More, chances_now, chances_with
from trayward.plan.why_short import Raised, alone, lack_words, limit_of, merged, open_of, say, short_wants
from trayward.plan.words import all_words, amount_words, days_words, in_ten
from trayward.units import show_money

MOST_RAISED = 120
"""One tray more is tried for so many short wants, those that weigh most first. [-]"""
HELPS = 0.02
"""A chance raised by less than this is not raised. [-]"""
LEAST_OVER = 0.01
"""A tray that goes beyond limits for less than this has room. [farm's currency]"""
IN_TIME = 0.25
"""A tray that is in time more seldom than this is too late. [-]"""


def line_reasons(why: Why) -> Raised:
    """What stands in the way of each line less likely than the farm wants, and what would raise its chance."""
    found, short, now = Raised({}, {}, []), short_wants(why), chances_now(why)
    for want, lines in short.items():
        for line in lines:
            found.why[line] = f"Expected to be {lack_words(why.told, want, line)} short."
    tried = _trays_to_try(why, short, found)
    chances = chances_with(why, [tray.more for trays in tried.values() for tray in trays.values() if tray])
    left = iter(chances)
    for want, trays in tried.items():
        told = [_Best(tray, next(left), now) for tray in trays.values() if tray]
        best = max(told, key=lambda one: one.raises)
        late = [crop for crop, tray in trays.items() if tray is None]
        if late and best.raises < HELPS:
            too_late(why, want, late, short[want], found)
        else:
            _tell_best(why, short[want], best, found)
    return found._replace(limits=merged(why.told, found.limits))


class _Tray(NamedTuple):
    """One tray more for a want, and what it brings with limits counted. [farm's currency]"""

    more: More
    gain: float


class _Best(NamedTuple):
    tray: _Tray
    chance: Mapping[int, float]
    """Line of its want -> its chance with that tray."""
    now: Mapping[int, float]

    @property
    def raises(self) -> float:
        """By how much the chances of the want's lines are raised, on average."""
        return float(np.mean([chance - self.now[line] for line, chance in self.chance.items()]))


def _trays_to_try(why: Why, short: Mapping[int, list[int]], found: Raised) -> dict[int, dict[str, _Tray | None]]:
    """For each short want a tray of each part, None where none is in time; what is out of reach is told at once."""
    tried: dict[int, dict[str, _Tray | None]] = {}
    for want, lines in short.items():
        if _blocked(why, want, lines, found):
            continue
        crops = [crop for crop, _ in why.told.task.wants[want].parts]
        in_time = {crop: _in_time(why, want, crop) for crop in crops}
        if not any(len(choices) for choices in in_time.values()):
            too_late(why, want, crops, lines, found)
        elif len(tried) < MOST_RAISED:
            tried[want] = {crop: _tray(why, want, crop, choices) for crop, choices in in_time.items()}
    return tried


def _blocked(why: Why, want: int, lines: list[int], found: Raised) -> bool:
    """Whether a part cannot be grown at all; if so, that is told."""
    told, wanted = why.told, why.told.task.wants[want]
    blocked = [crop for crop, _ in wanted.parts if crop in told.ways.blocked]
    if blocked:
        limit, words = told.ways.blocked[blocked[0]]
        say(found, lines, words)
        found.limits.append(limit_of(told, limit, wanted.day, 0.0, 1.0, "", lines, words))
    return bool(blocked)


def _serving(why: Why, want: int, plot: Plot) -> Bools:
    """Whether a tray of each choice of a plot could go to a want, in each scenario (s, n)."""
    wanted, choices = why.told.task.wants[want], plot.choices
    if wanted.live:
        due = sorted(plot.demand.live).index(wanted.day)
        goes: Bools = (choices.grams > 0) & ((choices.how == LIVE) & (choices.due == due))[None, :]
        return goes
    due = int(np.searchsorted(plot.demand.days, wanted.day))
    fits: Bools = (choices.first <= due) & (due <= choices.last) & (choices.how == CUT)[None, :]
    return fits


def _in_time(why: Why, want: int, crop: str) -> Ints:
    """The choices to be sown of a crop that are likely enough in time for a want."""
    plot = why.decision.plots[why.plots[crop]]
    reach = _serving(why, want, plot).mean(axis=0) * (plot.choices.way >= 0)
    return np.flatnonzero(reach > IN_TIME)


def _tray(why: Why, want: int, crop: str, choices: Ints) -> _Tray | None:
    """Of trays in time the one that is there most often where the want is short now; of equals what brings most."""
    if not len(choices):
        return None
    number = why.plots[crop]
    helps = (_serving(why, want, why.decision.checked[number])[:, choices] & _short(why, want)[:, None]).mean(axis=0)
    fine = choices[helps >= 0.9 * helps.max()]
    gains = why.gains(number, np.full(len(fine), -1), fine)
    best = int(np.argmax(gains))
    return _Tray(More(want, number, int(fine[best])), float(gains[best]))


def _short(why: Why, want: int) -> Bools:
    """Whether a line of a want is short, in each scenario it was checked by (s,)."""
    told = why.told
    short: Bools = np.any([told.met[n] < open_of(told.lines[n]) for n in told.task.wants[want].lines], axis=0)
    return short


def _tell_best(why: Why, lines: list[int], best: _Best, found: Raised) -> None:
    told, more = why.told, best.tray.more
    plot = why.decision.plots[more.crop]
    day = day_words(told.days.day(int(plot.choices.sow[more.choice])))
    seed, over = _seed_clash(why, more, lines), _over(why, more)
    has_room = over < LEAST_OVER and not seed
    for line in lines:
        chance, now = best.chance[line], best.now[line]
        words = f"One tray more of {plot.crop}, sown {day}, would not make it likelier."
        if chance >= now + HELPS:
            step, costs = _step_words(chance, now), _cost_words(best.tray.gain, told.settings.money.currency)
            words = f"One tray more of {plot.crop}, sown {day}, would make it {step}."
            if has_room:
                words = f"One tray more of {plot.crop}, sown {day}, would make it {step}, and {costs}."
        found.raised[line] = words
    for limit in seed + (_clashes(why, more, lines) if over >= LEAST_OVER else []):
        say(found, lines, alone(limit.message))
        found.limits.append(limit)


def _over(why: Why, more: More) -> float:
    """What a tray more takes beyond the limits costs. [farm's currency]"""
    return float(over_cost(why.decision.shared, why.use_after(more.crop, more.choice))) - why.over


def _step_words(chance: float, now: float) -> str:
    """What a chance would be instead of what it is; said as raised a little where both read the same."""
    likely, present = in_ten(chance), in_ten(now)
    return f"{likely} instead of {present}" if likely != present else f"a little likelier than {present}"


def _cost_words(gain: float, currency: str) -> str:
    money = show_money(abs(gain), currency)
    return f"cost {money} more than it brings" if gain < 0 else f"bring {money} more than it costs"


def _seed_clash(why: Why, best: More, lines: list[int]) -> list[Limit]:
    """The seed of the crop, where there is too little of it for one tray more."""
    told, model = why.told, why.search.worths[best.crop].model
    choices = model.plot.choices
    after = why.decision.takes[best.crop].copy()
    after[best.choice] += 1
    if seed_suffices(model, after[None])[0]:
        return []
    sow = int(choices.sow[best.choice])
    for end, here in [(end, here) for end, here in model.seed if end > sow]:
        used = (choices.way >= 0) & (choices.sow < end)
        short = float(after[used] @ choices.seed_g[used]) - here
        if short > 1e-6:
            break
    crop = model.plot.crop
    words = f"Seed of {crop}: {amount_words(here, 'g')} to sow by {day_words(told.days.day(sow))}"
    words += f"; a tray more needs {amount_words(short, 'g')} on top of it."
    return [limit_of(told, f"seed of {crop}", sow, here, short, "g", lines, words)]


def _clashes(why: Why, best: More, lines: list[int]) -> list[Limit]:
    """The limits that one tray more would go beyond, the one that costs most first."""
    shared, told = why.decision.shared, why.told
    before, after = why.search.use, why.use_after(best.crop, best.choice)
    more, has = after - before, shared.has[:, None, :]
    over = np.maximum(after - has, 0.0) - np.maximum(before - has, 0.0)
    mean = over.mean(axis=1)
    found: list[Limit] = []
    for place in np.argsort(-(mean.sum(axis=1) * shared.beyond)).tolist():
        days = np.flatnonzero(mean[place] > 0.02)
        if len(days):
            worst = int(days[np.argmax(mean[place, days])])
            number = shared.numbers[place]
            name, unit = told.task.limits.names[number], told.task.limits.units[number]
            if any(limit.limit == name for limit in found):
                continue  # the same spots or kit, counted twice a day
            there, needs = float(shared.has[place, worst]), float(more[place, :, worst].mean())
            when = days_words(told.days.day(int(days[0])), told.days.day(int(days[-1])))
            full = all_words(there, unit)
            words = f"{name}: {full} taken {when} if trays are slow; one tray more has no room."
            if mean[place, worst] > 0.5 * needs:
                words = f"{name}: {full} taken {when}; one tray more has no room."
            if name == DAYS_OFF:
                words = f"{name}: {amount_words(needs, unit)} of work would fall {when}."
            found.append(limit_of(told, name, worst, there, needs, unit, lines, words, (int(days[0]), int(days[-1]))))
    return found[:2]
