"""Why order lines may fall short: what stands in the way of each, and what one tray more would raise its chance to."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from trayward.plan.crop_search import seed_suffices
from trayward.plan.limits import DAYS_OFF
from trayward.plan.prices import over_cost
from trayward.plan.serving import serve
from trayward.plan.told_lines import chance_of
from trayward.plan.types import Limit
from trayward.plan.uses import CUT, LIVE
from trayward.plan.why import Why
from trayward.plan.why_late import too_late
from trayward.plan.why_short import Raised, lack_words, limit_of, say, short_wants
from trayward.plan.words import amount_words, day_words, days_words, in_ten

MOST_RAISED = 16
"""So many short wants are looked into, those that weigh most first. [-]"""
HELPS = 0.02
"""A chance raised by less than this is not raised. [-]"""


def line_reasons(why: Why) -> Raised:
    """What stands in the way of each line less likely than the farm wants, and what would raise its chance."""
    told, found = why.told, Raised({}, {}, [])
    short = short_wants(why)
    for want, lines in list(short.items())[:MOST_RAISED]:
        _look_into(why, want, lines, found)
    for want, lines in list(short.items())[MOST_RAISED:]:
        for line in lines:
            found.why.setdefault(line, f"Expected to be {lack_words(told, want, line)} short.")
    return found


def _look_into(why: Why, want: int, lines: list[int], found: Raised) -> None:
    told, wanted = why.told, why.told.task.wants[want]
    blocked = [crop for crop, _ in wanted.parts if crop in told.ways.blocked]
    for line in lines:
        found.why[line] = f"Expected to be {lack_words(told, want, line)} short."
    if blocked:
        limit, words = told.ways.blocked[blocked[0]]
        say(found, lines, words)
        found.limits.append(limit_of(told, limit, wanted.day, 0.0, 1.0, "", lines, words))
        return
    trays = {crop: _best_tray(why, want, crop) for crop, _ in wanted.parts}
    best = max((one for one in trays.values() if one is not None), key=lambda one: one.chance, default=None)
    late = [crop for crop, one in trays.items() if one is None]
    if best is None or (late and best.chance < _chance_now(why, want) + HELPS):
        too_late(why, want, late, lines, found)
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
        say(found, lines, limit.message)
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
    return [limit_of(told, f"seed of {crop}", sow, here, short, "g", lines, words)]


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
            full = amount_words(there, unit)
            words = f"{name}: all {full} taken if trays are slow {when}; one tray more has no room."
            if mean[place, worst] > 0.5 * needs:
                words = f"{name}: all {full} taken {when}; one tray more has no room."
            if name == DAYS_OFF:
                words = f"{name}: {amount_words(needs, unit)} of work would fall {when}."
            found.append(limit_of(told, name, worst, there, needs, unit, lines, words, (int(days[0]), int(days[-1]))))
    return found[:2]
