"""Order lines served again with one tray more: many such trays at once, each in scenarios of its own."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.plan.days import Floats
from trayward.plan.plots import Choices, Plot
from trayward.plan.serving import Claim, serve
from trayward.plan.told_lines import chance_of
from trayward.plan.why import Why

AT_ONCE = 8
"""So many trays are served again together: more are slower, as each adds scenarios to all that is served. [-]"""

_ONE_EACH = ("way", "group", "evening", "sow", "stand", "how", "due", "upper", "cost", "seed_g")
_BY_SCENARIO = ("first", "last", "leave", "ready")


class More(NamedTuple):
    """One tray more, for a want."""

    want: int
    crop: int
    """Number of the crop's plot."""
    choice: int


def chances_now(why: Why) -> dict[int, float]:
    """Line -> its chance, as the plan stands."""
    return _chances(why, why.decision.claims, list(why.decision.served.met))


def chances_with(why: Why, trays: Sequence[More]) -> list[dict[int, float]]:
    """Of each tray, line of its want -> its chance with that tray; only crops that mixes tie to it are served again."""
    days = {want: wanted.day for want, wanted in enumerate(why.told.task.wants)}
    tied: dict[frozenset[str], list[int]] = defaultdict(list)
    for number in sorted(range(len(trays)), key=lambda one: (days[trays[one].want], one)):
        tied[why.tied[why.decision.plots[trays[number].crop].crop]].append(number)
    found: list[dict[int, float]] = [{}] * len(trays)
    for crops, numbers in tied.items():
        for first in range(0, len(numbers), AT_ONCE):
            some = numbers[first : first + AT_ONCE]
            # What is due later is served later, and takes nothing from it.
            last = max(days[trays[number].want] for number in some)
            claims = [one for one in why.decision.claims if one.parts[0][0] in crops and one.day <= last]
            for number, chance in zip(some, _served(why, crops, claims, [trays[n] for n in some]), strict=True):
                found[number] = chance
    return found


def _served(why: Why, crops: frozenset[str], claims: Sequence[Claim], trays: Sequence[More]) -> list[dict[int, float]]:
    """The chances after each of some trays, all served at once: the scenarios stand as often as there are trays."""
    decision, times = why.decision, len(trays)
    near = [number for number, plot in enumerate(decision.plots) if plot.crop in crops]
    plots = [_with_each(decision.checked[n], decision.takes[n], n, trays) for n in near]
    wide = [claim._replace(amount=np.tile(claim.amount, times)) for claim in claims]
    met = serve(plots, [np.ones(len(plot.choices.how)) for plot in plots], wide).met.reshape(len(claims), times, -1)
    return [_chances(why, claims, list(met[:, at]), tray.want) for at, tray in enumerate(trays)]


def _with_each(plot: Plot, take: Floats, number: int, trays: Sequence[More]) -> Plot:
    """A plot with those choices alone that are taken, a tray each that gives all: one of `trays` more in its part."""
    taken = np.repeat(take[None, :], len(trays), axis=0)
    for at, tray in enumerate(trays):
        if tray.crop == number:
            taken[at, tray.choice] += 1.0
    used, choices = np.flatnonzero(taken.any(axis=0)), plot.choices
    given = np.repeat(taken[:, used], choices.grams.shape[0], axis=0)
    tiled = {name: np.tile(getattr(choices, name)[:, used], (len(trays), 1)) for name in _BY_SCENARIO}
    grams = np.tile(choices.grams[:, used], (len(trays), 1)) * given
    own = {name: getattr(choices, name)[used] for name in _ONE_EACH}
    return plot._replace(choices=Choices(**own, **tiled, grams=grams))


def _chances(why: Why, claims: Sequence[Claim], met: Sequence[Floats], alone: int | None = None) -> dict[int, float]:
    """Line -> its chance; of one want's lines alone where one is named."""
    return {
        claim.line: chance_of(why.told.lines[claim.line], got, why.told.habits)
        for claim, got in zip(claims, met, strict=True)
        if claim.line >= 0 and alone in (None, claim.want)
    }
