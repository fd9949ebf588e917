"""Why the plan is as it is: each answer is the plan weighed again with one tray more, less or on another day."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.crop_search import Moves, seed_suffices
from trayward.plan.days import Floats, Ints
from trayward.plan.limits import DAYS_OFF
from trayward.plan.plots import Choices
from trayward.plan.prices import over_cost, use_of
from trayward.plan.serving import Claim, serve
from trayward.plan.told import ENOUGH_G, Told, chance_of, given_by, serves_of, sowings_of
from trayward.plan.types import Limit, Serve
from trayward.plan.uses import CUT, LIVE
from trayward.plan.words import amount_words, count_words, day_words, days_words, in_ten, list_words, whom_words

MOST_RAISED = 16
"""So many short wants are looked into, those that weigh most first. [-]"""
HELPS = 0.02
"""A chance raised by less than this is not raised. [-]"""
SPAN = 0.8
"""The days between which a tray is ready are those of so many in ten. [-]"""
PRESSED = 0.5
"""A limit gone beyond by less than this, the mean over scenarios, is not told of. [the limit's unit]"""
LEAST_WORTH = 0.01
"""A limit is told of where one more of it for a week is worth this. [farm's currency]"""


class Why:
    """Asks the plan again, for reasons."""

    def __init__(self, told: Told) -> None:
        self.told, self.decision = told, told.decision
        self.plots = {plot.crop: number for number, plot in enumerate(self.decision.plots)}
        self.search = self.decision.search
        self.over = float(over_cost(self.decision.shared, self.search.use))
        self.tied = _tied([plot.crop for plot in self.decision.plots], self.decision.claims)

    def gains(self, crop: int, off: Ints, on: Ints) -> Floats:
        """What changes of one tray of a crop bring, limits counted (c,). [farm's currency]"""
        if not len(off):
            return np.zeros(0)
        return self.search.gains(crop, Moves(np.asarray(off), np.asarray(on)))

    def use_after(self, crop: int, on: int) -> Floats:
        """What is taken up of the limits after one tray more."""
        model = self.search.worths[crop].model
        one = np.zeros(model.count)
        one[on] = 1.0
        found: Floats = self.search.use + use_of(self.decision.shared, model, one)
        return found


def _tied(crops: Sequence[str], claims: Sequence[Claim]) -> dict[str, frozenset[str]]:
    """Each crop and those that mixes tie to it, directly or through others."""
    found = {crop: frozenset([crop]) for crop in crops}
    for parts in {claim.parts for claim in claims}:
        together = frozenset().union(*(found[crop] for crop, _ in parts))
        found.update(dict.fromkeys(together, together))
    return found


# Sowings --------------------------------------------------------------------------------------------------------------


def sowing_reasons(why: Why) -> dict[tuple[int, int], str]:
    """(way, day) -> whom a sowing is for, when it is likely ready, and what another day or none would cost."""
    told, found = why.told, {}
    given, others = given_by(told), _otherwise(why)
    for (sow, _, way), (plot, group) in sowings_of(told).items():
        serves: list[Serve] = []
        for choice, _ in group:
            live = bool(plot.choices.how[choice] == LIVE)
            serves += serves_of(told, given.get((plot.crop, choice), {}), live=live)
        main = max(group, key=lambda item: item[1])[0]
        words = [_for_whom(serves), _ready_words(told, way, sow), others[plot.crop, main]]
        found[way, sow] = " ".join(part for part in words if part)
    return found


def _for_whom(serves: list[Serve]) -> str:
    return f"For {whom_words(serves)}." if serves else ""


def _ready_words(told: Told, way: int, sow: int) -> str:
    ready = told.futures.sown[way].begins[:, sow, -1]
    low, mid, high = (int(np.quantile(ready, share)) for share in ((1 - SPAN) / 2, 0.5, (1 + SPAN) / 2))
    day = told.days.day
    likely = f"Likely ready {day_words(day(mid))}"
    return f"{likely}." if low == high else f"{likely}, 8 in 10 {days_words(day(low), day(high))}."


def _otherwise(why: Why) -> dict[tuple[str, int], str]:
    """(crop, choice) -> what a tray would be worth less a working day before or after, and what it is worth at all."""
    found = {}
    for number, plot in enumerate(why.decision.plots):
        choices, take = plot.choices, why.decision.takes[number]
        moves = [(one, other) for one in np.flatnonzero((take > 0) & (choices.way >= 0)).tolist()
                 for other in (-1, *_beside(choices, one))]  # fmt: skip
        off, on = (np.array([move[side] for move in moves], dtype=np.int64) for side in (0, 1))
        lost: dict[int, list[tuple[int, float]]] = {}
        for (one, other), gain in zip(moves, why.gains(number, off, on).tolist(), strict=True):
            lost.setdefault(one, []).append((other, -gain))
        for one, told in lost.items():
            found[plot.crop, one] = _otherwise_words(choices, one, told)
    return found


def _beside(choices: Choices, choice: int) -> list[int]:
    """The same choice a working day sooner and a working day later, where there are such."""
    alike = (choices.way == choices.way[choice]) & (choices.how == choices.how[choice])
    alike &= (choices.stand == choices.stand[choice]) & (choices.due == choices.due[choice])
    found = []
    for there in (alike & (choices.sow < choices.sow[choice]), alike & (choices.sow > choices.sow[choice])):
        others = np.flatnonzero(there)
        if len(others):
            found.append(int(others[np.argmin(np.abs(choices.sow[others] - choices.sow[choice]))]))
    return found


def _otherwise_words(choices: Choices, choice: int, lost: list[tuple[int, float]]) -> str:
    worth = next(amount for other, amount in lost if other < 0)
    when: dict[str, list[str]] = {}
    for other, amount in lost:
        if other >= 0:
            sooner = "sooner" if choices.sow[other] < choices.sow[choice] else "later"
            when.setdefault(_less(amount, worth), []).append(sooner)
    said = [f"a day {' or '.join(days)} {less}" for less, days in when.items()]
    words = f"; {' and '.join(said)}" if said else ""
    return f"Without a tray of it the plan would lose {worth:.2f}{words}."


def _less(amount: float, worth: float) -> str:
    """What a tray would bring on another day; one that would lose more than it is worth at all would be in the way."""
    if amount > worth + 0.005:
        return "it would do more harm than good"
    return "as much" if abs(amount) < 0.005 else f"{amount:.2f} less" if amount > 0 else f"{-amount:.2f} more"


# Lines ----------------------------------------------------------------------------------------------------------------


class Raised(NamedTuple):
    """What is told of the lines that may fall short."""

    why: dict[int, str]
    raised: dict[int, str]
    limits: list[Limit]


def line_reasons(why: Why) -> Raised:
    """What stands in the way of each line less likely than the farm wants, and what would raise its chance."""
    told, found = why.told, Raised({}, {}, [])
    short = _short_wants(why)
    for want, lines in list(short.items())[:MOST_RAISED]:
        _look_into(why, want, lines, found)
    for want, lines in list(short.items())[MOST_RAISED:]:
        for line in lines:
            found.why.setdefault(line, f"Expected to be {_lack_words(told, want, line)} short.")
    return found


def _short_wants(why: Why) -> dict[int, list[int]]:
    """Wants with lines less likely than the farm wants to be, what is expected to be let down weighing most first."""
    told = why.told
    weighed: dict[int, float] = {}
    lines: dict[int, list[int]] = {}
    for claim, met in zip(why.decision.claims, why.decision.served.met, strict=True):
        if claim.line >= 0 and chance_of(told.lines[claim.line], met) < told.settings.caution:
            lines.setdefault(claim.want, []).append(claim.line)
            missed = float((claim.amount - met).mean()) * claim.worth
            weighed[claim.want] = weighed.get(claim.want, 0.0) + missed
    return {want: lines[want] for want in sorted(lines, key=lambda want: (-weighed[want], want))}


def _lack_words(told: Told, want: int, line: int) -> str:
    met = told.met[line]
    live = told.task.wants[want].live
    open_ = float(told.lines[line].trays) if live else told.lines[line].grams
    lacking = max(0.0, open_ - float(met.mean()))
    if live and abs(lacking - round(lacking)) < 0.05:
        return count_words(round(lacking), "live tray")
    return f"{lacking:.1f} live trays" if live else amount_words(max(ENOUGH_G, lacking), "g")


def _look_into(why: Why, want: int, lines: list[int], found: Raised) -> None:
    told, wanted = why.told, why.told.task.wants[want]
    blocked = [crop for crop, _ in wanted.parts if crop in told.ways.blocked]
    for line in lines:
        found.why[line] = f"Expected to be {_lack_words(told, want, line)} short."
    if blocked:
        limit, words = told.ways.blocked[blocked[0]]
        _say(found, lines, words)
        found.limits.append(_limit(told, limit, wanted.day, 0.0, 1.0, "", lines, words))
        return
    trays = {crop: _best_tray(why, want, crop) for crop, _ in wanted.parts}
    best = max((one for one in trays.values() if one is not None), key=lambda one: one.chance, default=None)
    late = [crop for crop, one in trays.items() if one is None]
    if best is None or (late and best.chance < _chance_now(why, want) + HELPS):
        _too_late(why, want, late, lines, found)
        return
    _tell_best(why, want, lines, best, found)


class _More(NamedTuple):
    """One tray more for a want."""

    crop: int
    choice: int
    chance: float
    """Mean chance of the want's short lines after it."""
    gain: float
    over: float


def _best_tray(why: Why, want: int, crop: str) -> _More | None:
    """The tray more of a crop that raises the chance of a want's lines most; None where none is in time."""
    number = why.plots[crop]
    wanted, plot = why.told.task.wants[want], why.decision.plots[number]
    choices = plot.choices
    if wanted.live:
        due = sorted(plot.demand.live).index(wanted.day)
        inside = choices.grams * ((choices.how == LIVE) & (choices.due == due))[None, :]
    else:
        due = int(np.searchsorted(plot.demand.days, wanted.day))
        inside = (choices.first <= due) & (due <= choices.last) & (choices.how == CUT)[None, :]
    reach = inside.mean(axis=0) * (choices.way >= 0)
    likely = np.flatnonzero(reach > 0.25)
    if not len(likely):
        return None
    fine = likely[reach[likely] >= 0.9 * reach[likely].max()]
    gains = why.gains(number, np.full(len(fine), -1), fine)
    choice = int(fine[np.argmax(gains)])
    over = float(over_cost(why.decision.shared, why.use_after(number, choice))) - why.over
    return _More(number, choice, _chance_with(why, want, number, choice), float(gains.max()), over)


def _chance_with(why: Why, want: int, crop: int, choice: int) -> float:
    """The mean chance of a want's lines after one tray more; only crops that mixes tie to it are served again."""
    decision, crops = why.decision, why.tied[why.decision.plots[crop].crop]
    near = [number for number, plot in enumerate(decision.plots) if plot.crop in crops]
    takes = [decision.takes[number].copy() for number in near]
    takes[near.index(crop)][choice] += 1
    claims = [claim for claim in decision.claims if claim.parts[0][0] in crops]
    served = serve([decision.checked[number] for number in near], takes, claims)
    chances = [
        chance_of(why.told.lines[claim.line], met)
        for claim, met in zip(claims, served.met, strict=True)
        if claim.want == want and claim.line >= 0
    ]
    return float(np.mean(chances))


def _chance_now(why: Why, want: int) -> float:
    chances = [
        chance_of(why.told.lines[claim.line], met)
        for claim, met in zip(why.decision.claims, why.decision.served.met, strict=True)
        if claim.want == want and claim.line >= 0
    ]
    return float(np.mean(chances))


def _tell_best(why: Why, want: int, lines: list[int], best: _More, found: Raised) -> None:
    told, now = why.told, _chance_now(why, want)
    plot = why.decision.plots[best.crop]
    day = day_words(told.days.day(int(plot.choices.sow[best.choice])))
    tray = f"One tray more of {plot.crop}, sown {day},"
    seed = _seed_clash(why, best, lines)
    if best.chance < now + HELPS:
        words = f"{tray} would not make it likelier."
    else:
        said = in_ten(best.chance), in_ten(now)
        step = f"{said[0]} instead of {said[1]}" if said[0] != said[1] else f"a little likelier than {said[1]}"
        words = f"{tray} would make it {step}"
        words += f", and {_cost_words(best.gain)}." if best.over < 0.01 and not seed else "."
    for line in lines:
        found.raised[line] = words
    for limit in seed + (_clashes(why, best, lines) if best.over >= 0.01 else []):
        _say(found, lines, limit.message)
        found.limits.append(limit)


def _cost_words(gain: float) -> str:
    return f"cost {-gain:.2f} more than it brings" if gain < 0 else f"bring {gain:.2f} more than it costs"


def _seed_clash(why: Why, best: _More, lines: list[int]) -> list[Limit]:
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
    return [_limit(told, f"seed of {crop}", sow, here, short, "g", lines, words)]


def _say(found: Raised, lines: list[int], words: str) -> None:
    for line in lines:
        found.why[line] = f"{found.why.get(line, '')} {words}".strip()


def _clashes(why: Why, best: _More, lines: list[int]) -> list[Limit]:
    """The limits that one tray more would go beyond, the one that costs most first."""
    shared, told = why.decision.shared, why.told
    before, after = why.search.use, why.use_after(best.crop, best.choice)
    more, has = after - before, shared.has[:, None, :]
    over = np.maximum(after - has, 0.0) - np.maximum(before - has, 0.0)
    mean = over.mean(axis=1)
    found = []
    for place in np.argsort(-(mean.sum(axis=1) * shared.beyond)).tolist():
        days = np.flatnonzero(mean[place] > 0.02)
        if len(days):
            worst = int(days[np.argmax(mean[place, days])])
            number = shared.numbers[place]
            name, unit = told.task.limits.names[number], told.task.limits.units[number]
            there, needs = float(shared.has[place, worst]), float(more[place, :, worst].mean())
            when = days_words(told.days.day(int(days[0])), told.days.day(int(days[-1])))
            taken = "taken" if mean[place, worst] > 0.5 * needs else "taken if trays are slow"
            words = f"{name}: all {amount_words(there, unit)} {taken} {when}; one tray more has no room."
            if name == DAYS_OFF:
                words = f"{name}: {amount_words(needs, unit)} of work would fall {when}."
            found.append(_limit(told, name, worst, there, needs, unit, lines, words, (int(days[0]), int(days[-1]))))
    return found[:2]


def _limit(
    told: Told,
    name: str,
    day: int,
    has: float,
    short: float,
    unit: str,
    lines: list[int],
    words: str,
    span: tuple[int, int] | None = None,
) -> Limit:
    first, last = span or (day, day)
    whom = list_words(dict.fromkeys(f"{told.lines[n].line.customer} ({told.lines[n].line.product})" for n in lines))
    return Limit(
        limit=name,
        first=told.days.day(first),
        last=told.days.day(last),
        has=round(has, 2),
        short=round(short, 2),
        unit=unit,
        lines=tuple(told.lines[number].line.line for number in lines),
        message=f"{words} Wanted for {whom}.",
    )


def _too_late(why: Why, want: int, crops: Sequence[str], lines: list[int], found: Raised) -> None:
    """No tray sown from now on can be cut in time and still be good."""
    told, wanted = why.told, why.told.task.wants[want]
    quick = {crop: _quickest(told, crop) for crop in crops}
    crop = max(quick, key=lambda part: quick[part])
    latest = wanted.day - quick[crop]
    words = f"Too late to sow {crop}: it takes {quick[crop]} days, so it had to be sown by "
    words += f"{day_words(told.days.day(latest))}."
    if latest >= 0:
        _out_of_step(why, want, crop, lines, found)
        return
    _say(found, lines, words)
    found.limits.append(_limit(told, "time", wanted.day, float(wanted.day), float(-latest), "d", lines, words))


def _quickest(told: Told, crop: str) -> int:
    """Days from sowing today to ready, by the quickest recipe of a crop. [d]"""
    return min(
        (int(np.median(told.futures.sown[n].begins[:, 0, -1])) for n, way in enumerate(told.ways.ways)
         if way.recipe.crop == crop), default=0)  # fmt: skip


def _out_of_step(why: Why, want: int, crop: str, lines: list[int], found: Raised) -> None:
    """There is time to grow it, but days off, the cut window and the cold-room life leave no day to sow or cut on."""
    told, day = why.told, why.told.task.wants[want].day
    gaps = [gap for number, way in enumerate(told.ways.ways) if way.recipe.crop == crop
            for gap in _gaps(told, number, day)]  # fmt: skip
    words = f"Days off leave no day to sow {crop} or cut it on that is in time for it."
    if not gaps:
        _say(found, lines, words)
        found.limits.append(_limit(told, DAYS_OFF, day, 0.0, 1.0, "d", lines, words))
        return
    gap = min(gaps, key=lambda one: (one.longer, one.name != "cut window"))
    sown, cut = day_words(told.days.day(gap.sow)), day_words(told.days.day(gap.cut))
    name = f"{gap.name} of {crop}"
    kept = "be cut by" if gap.name == "cut window" else "keep till"
    on = day_words(told.days.day(gap.until))
    words = f"{name.capitalize()}: sown {sown} it is {'ready' if gap.name == 'cut window' else 'cut'} {cut} and has to"
    words = f"{words} {kept} {on}, {count_words(gap.longer, 'day')} longer than it does."
    _say(found, lines, words)
    found.limits.append(_limit(told, name, day, float(gap.has), float(gap.longer), "d", lines, words))


class _Gap(NamedTuple):
    """How much longer a crop would have to stand or keep."""

    name: str
    sow: int
    cut: int
    """The day it is cut, or ready."""
    until: int
    has: int
    longer: int


def _gaps(told: Told, way: int, due: int) -> list[_Gap]:
    """What each sowing day leaves open between the last day a tray is good and the day it is due."""
    recipe, found = told.ways.ways[way].recipe, []
    for sow in np.flatnonzero(told.days.open[: min(due + 1, told.days.count)]).tolist():
        ready = int(np.median(told.futures.sown[way].begins[:, sow, -1]))
        worked = told.days.last_open(min(due, ready + recipe.cut_window_days))
        cut = told.days.last_open(due)
        if ready <= worked:
            found.append(_Gap("cold-room life", sow, worked, due, recipe.cold_room_days,
                              due - worked - recipe.cold_room_days))  # fmt: skip
        if ready <= cut and due <= cut + recipe.cold_room_days:
            found.append(_Gap("cut window", sow, ready, cut, recipe.cut_window_days,
                              cut - ready - recipe.cut_window_days))  # fmt: skip
    return [gap for gap in found if gap.longer > 0]


# Limits ---------------------------------------------------------------------------------------------------------------


def limit_worths(why: Why) -> list[Limit]:
    """The limits that bind, week by week: how much there is, and what one more all week would be worth."""
    told, shared, found = why.told, why.decision.shared, []
    for place, number in enumerate(shared.numbers):
        weeks: dict[tuple[int, int], list[int]] = {}
        for day in np.flatnonzero(why.decision.price[place] > 1e-6).tolist():
            year, week, _ = told.days.day(day).isocalendar()
            weeks.setdefault((year, week), []).append(day)
        for days in weeks.values():
            worth = float(why.decision.price[place, days].sum())
            if worth >= LEAST_WORTH:
                found.append(_worth(told, number, float(shared.has[place, days[0]]), days, worth))
    return found


def _worth(told: Told, number: int, has: float, days: list[int], worth: float) -> Limit:
    name, unit = told.task.limits.names[number], told.task.limits.units[number]
    first, last = told.days.day(days[0]), told.days.day(days[-1])
    more = "a minute more on each day" if unit == "min" else "one more"
    words = f"{name}: all {amount_words(has, unit)} taken {days_words(first, last)}; {more} would bring {worth:.2f}."
    return Limit(
        limit=name, first=first, last=last, has=round(has, 2), short=0.0, unit=unit, message=words,
        worth=round(worth, 2),
    )  # fmt: skip


def pressed(why: Why) -> list[Limit]:
    """The limits that trays go beyond on the whole: those that stand need it, or it pays to."""
    told, shared = why.told, why.decision.shared
    has, found = shared.has[:, None, :], []
    over = np.maximum(why.search.use - has, 0.0).mean(axis=1)
    stand = np.maximum(_standing_use(why) - has, 0.0).mean(axis=1)
    for place, number in enumerate(shared.numbers):
        press = told.task.press[number]
        needs = over[place] + press
        days = np.flatnonzero(needs > PRESSED).tolist()
        if days:
            name, unit = told.task.limits.names[number], told.task.limits.units[number]
            worst = max(days, key=lambda day: needs[day])
            there, short = float(shared.has[place, worst]), float(needs[worst])
            first, last = told.days.day(days[0]), told.days.day(days[-1])
            words = f"{name}: {amount_words(there, unit)} on {day_words(told.days.day(worst))}"
            words += f", {amount_words(short, unit)} more needed"
            words += " for the trays that stand." if stand[place, worst] + press[worst] > short / 2 else "."
            found.append(Limit(limit=name, first=first, last=last, has=round(there, 2), short=round(short, 2),
                               unit=unit, message=words))  # fmt: skip
    return found


def _standing_use(why: Why) -> Floats:
    """What the trays that stand take up of the limits (limits, scenarios, days)."""
    found = np.zeros_like(why.search.use)
    for worth, take in zip(why.search.worths, why.decision.takes, strict=True):
        found += use_of(why.decision.shared, worth.model, np.where(worth.choices.way < 0, take, 0.0))
    return found
