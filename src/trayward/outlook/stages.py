"""How long a stage lasts: the recipe's range first, the farm's own trays soon after.

A stage's end is seen only on rounds: it lies between the last "not yet" and the round that said "ready". In this
version such an interval counts as its middle on a log scale.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import StageStep, Tray
from trayward.outlook.shrink import EIGHTY, PRIOR_TRAYS, Learned, Lognormal, Tally, learn
from trayward.outlook.types import Basis
from trayward.outlook.yields import basis_words

LEAST_SD = 0.02
"""Even a stage that ends by the clock varies this much. Our assumption. [log d]"""
DAY = timedelta(days=1)


def stage_prior(stage: Stage) -> Lognormal | None:
    """The recipe's 80 % range of a stage's days, as a lognormal; None for a stage that takes no time."""
    if stage.days_typical <= 0:
        return None
    low = max(stage.days_low, stage.days_typical / 4) if stage.days_low <= stage.days_typical else stage.days_typical
    high = max(stage.days_high, stage.days_typical)
    return Lognormal(math.log(stage.days_typical), max(LEAST_SD, math.log(high / low) / (2 * EIGHTY)))


def seen_days(step: StageStep, round_gap: timedelta) -> float | None:
    """
    How long a stage lasted, as far as the rounds saw it; None while it lasts. [d]

    Without a "not yet", the change counts as half a round before it was seen: the grower looks every round.
    """
    if step.until is None or step.until <= step.since:
        return None
    latest = (step.until - step.since) / DAY
    if step.last_not_yet is None or step.last_not_yet <= step.since:
        return max(latest - round_gap / DAY / 2, latest / 2)
    return math.sqrt((step.last_not_yet - step.since) / DAY * latest)


def stage_logs(tray: Tray, round_gap: timedelta) -> Iterator[tuple[str, float]]:
    """Every stage a tray was seen through, with the log of its days; what a discarded tray ended in was cut short."""
    for step in tray.steps:
        days = seen_days(step, round_gap)
        if days and not (tray.fate == "discarded" and step is tray.steps[-1]):
            yield step.stage, math.log(days)


def learn_stages(recipe: Recipe, own: Callable[[str], Tally]) -> list[tuple[str, Learned | None]]:
    """Each growing stage of the recipe with the log of its days; None for a stage that takes no time."""
    found: list[tuple[str, Learned | None]] = []
    for stage in recipe.growing_stages:
        prior = stage_prior(stage)
        found.append((stage.name, None if prior is None else learn(prior, own(stage.name))))
    return found


def time_basis(stages: list[tuple[str, Learned | None]]) -> Basis:
    """What the times rest on: the best known stage speaks for all."""
    known = [learned for _, learned in stages if learned is not None]
    if not known:
        return Basis(own_trays=0, prior_trays=0.0, words="The recipe's stages take no time.")
    best = max(known, key=lambda learned: learned.own_trays)
    if not best.own_trays:
        words = f"The recipe's stage lengths only, counted as {PRIOR_TRAYS:.0f} trays: none seen through here yet."
        return Basis(own_trays=0, prior_trays=PRIOR_TRAYS, words=words)
    words = basis_words(best, "seen through").replace("published figures", "the recipe's stage lengths")
    return Basis(own_trays=best.own_trays, prior_trays=best.prior_trays, words=words)


class Wait:
    """Stages one after another from a moment on, the first perhaps under way: when each ends, with how much doubt.

    The first stage is known to last longer than `not_yet` days, and has lasted `elapsed` days so far: a "not yet"
    says something about the plants, a look without an answer does not.
    """

    def __init__(
        self, since: datetime, lengths: list[tuple[str, Lognormal | None]], not_yet: float = 0.0, elapsed: float = 0.0
    ) -> None:
        self.since, self.lengths, self.not_yet, self.elapsed = since, lengths, not_yet, elapsed
        self._laws: dict[int, Lognormal | None] = {}

    def end(self, share: float, stages: int | None = None) -> datetime:
        """The moment by which `share` of such trays are through the first `stages` of them (all, if not said)."""
        return self.since + DAY * self._days(share, len(self.lengths[:stages]))

    def _days(self, share: float, stages: int) -> float:
        if not stages:
            return self.elapsed
        law = self._law(stages)
        if law is None:
            return self._first(self.lengths[0][1], share)
        # Matching moments must not end a stage before the last.
        return max(self.elapsed + law.quantile(share), self._days(share, stages - 1))

    def _law(self, stages: int) -> Lognormal | None:
        """Days still to come of so many stages together; None where no later one takes time. Worked out once."""
        if stages not in self._laws:
            later = [law.moments() for _, law in self.lengths[1:stages] if law is not None]
            first = self._first_moments(self.lengths[0][1]) if later else (0.0, 0.0)
            mean, variance = (sum(parts) for parts in zip(first, *later, strict=True))
            self._laws[stages] = Lognormal.of_moments(mean - self.elapsed, variance) if later else None
        return self._laws[stages]

    def _first(self, law: Lognormal | None, share: float) -> float:
        return self.elapsed if law is None else max(self.elapsed, law.quantile(share, above=self.not_yet))

    def _first_moments(self, law: Lognormal | None) -> tuple[float, float]:
        """Mean and variance of the first stage's length, as known now."""
        if law is not None and self.elapsed <= 0:
            return law.moments()
        points = [(weight, self._first(law, share)) for weight, share in _SWANSON]
        mean = sum(weight * days for weight, days in points)
        return mean, sum(weight * (days - mean) ** 2 for weight, days in points)


_SWANSON = ((0.3, 0.1), (0.4, 0.5), (0.3, 0.9))
"""Weights of the 10th, 50th and 90th percentile for a mean (Swanson's rule, from memory)."""
