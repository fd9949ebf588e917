"""The search of a latent model's standard deviations: those whose Laplace criterion is least."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from trayward.outlook.latent_layout import Layout, variance
from trayward.outlook.latent_mode import Likelihood, Mode, Told, climb, criterion_of
from trayward.outlook.terms import Floats, SdPrior

MANY: Final = 4_000
"""From this many groups on, some stand for all where that does no harm."""
ROUNDS: Final = 80
STEP: Final = 1e-3
"""Step of the differences that give third derivatives of a likelihood. [log sd], and a share of a group's width"""
LONGEST: Final = 1.0
"""Longest step of the log of a standard deviation."""
NOTHING: Final = 0.003
"""A term whose spread is this share of what one level's own groups could show is taken to have none."""
FAINT: Final = 0.2
"""Expected curvature of the criterion below which groups say next to nothing of a spread."""
HIDDEN: Final = 1e-3
"""A gain of the criterion that quadrature and rounding may hide."""
RIDGE: Final = 0.01
"""Keeps a step finite where groups say nothing of a spread."""


@dataclass(frozen=True)
class Point:
    """The criterion at a set of log standard deviations, its slope, its expected curvature, how coefficients move."""

    logs: Floats
    mode: Mode
    value: float
    slope: Floats
    curvature: Floats
    moves: Floats


class Search:
    """The problem to be searched: what is told, and which spreads are free."""

    def __init__(self, likelihood: Likelihood, layout: Layout) -> None:
        self.likelihood = likelihood
        self.layout = layout
        many = layout.groups >= MANY
        self.sample = np.arange(0, layout.groups, 4 if many else 1)
        self.sampled = likelihood.some(self.sample) if many else likelihood
        self.k = len(likelihood.inner)
        self.free = [k for k, term in enumerate(layout.terms) if term.known_sd is None]
        self.priors: list[SdPrior | None] = [*likelihood.inner, *(layout.terms[k].sd_prior for k in self.free)]
        self.unsteadied = np.array([prior is None for prior in self.priors], dtype=bool)
        self.floors = np.full(len(self.priors), -math.inf)
        self.guess = np.zeros(len(self.priors))

    def begin(self, inner: Floats | None, terms: Mapping[str, Any]) -> Floats:
        """Logs of the spreads to begin with: those given and above zero, else a prior's median, else a guess."""
        given = [*(inner.tolist() if inner is not None else [0.0] * self.k)]
        given += [float(terms.get(self.layout.terms[k].name, 0.0)) for k in self.free]
        medians = [prior.median if prior else 0.0 for prior in self.priors]
        own = [value or median for value, median in zip(given, medians, strict=True)]
        guess = [*self.likelihood.guess]
        if len(own) > self.k and not all(own[self.k :]):
            seen = np.array([value or rough for value, rough in zip(own, guess, strict=False)], dtype=np.float64)
            guess += [self._rough(seen)] * len(self.free)
        else:
            guess += own[self.k :]
        self.guess = np.log(np.array(guess, dtype=np.float64))
        return np.log(np.array([value or rough for value, rough in zip(own, guess, strict=True)], dtype=np.float64))

    def _rough(self, inner: Floats) -> float:
        """Half of how well one group shows its own predictor: a spread to begin with where nothing is known."""
        if not self.layout.groups:
            return 1.0
        curvature = self.likelihood.told(
            self.layout.predictor(self.layout.centre * self._fixed_only()), inner
        ).curvature
        shown = curvature[curvature > 0]
        return 0.5 / math.sqrt(float(np.median(shown))) if len(shown) else 1.0

    def _fixed_only(self) -> Floats:
        return self.layout.scale([0.0] * len(self.layout.terms))

    def set_floors(self, curvature: Floats) -> None:
        """Say below which log spread a term, or an inner spread, counts as none."""
        widest = self.layout.crossed(curvature).diagonal()
        shown = [float(widest[self.layout.block(k)].max(initial=0.0)) for k in self.free]
        terms = [math.log(NOTHING) - 0.5 * math.log(most) if most > 0 else -math.inf for most in shown]
        inner = self.guess[: self.k] + math.log(NOTHING)
        floors = np.concatenate([inner, terms])
        # A spread with a prior is never none.
        floors[[prior is not None for prior in self.priors]] = -math.inf
        self.floors = floors

    def inner(self, logs: Floats) -> Floats:
        """The likelihood's own spreads (k,), out of the logs of all. [-]"""
        return np.asarray(np.exp(logs[: self.k]))

    def sds(self, logs: Floats) -> list[Floats | float]:
        """A standard deviation for each term."""
        there = np.where(logs > self.floors, np.exp(logs), 0.0)[self.k :]
        estimated = dict(zip(self.free, there.tolist(), strict=True))
        return [
            estimated[k] if k in estimated else np.asarray(term.known_sd, dtype=np.float64)
            for k, term in enumerate(self.layout.terms)
        ]

    def climb(self, logs: Floats, start: Floats) -> Mode:
        """The coefficients at their best under spreads of these logs, sought from `start` on."""
        return climb(self.likelihood, self.layout, self.inner(logs), self.layout.scale(self.sds(logs)), start)

    def belief(self, logs: Floats) -> float:
        """Minus twice the log prior of the spreads, up to a constant."""
        pairs = zip(self.priors, logs, strict=True)
        return float(sum(((log - math.log(prior.median)) / prior.log_sd) ** 2 for prior, log in pairs if prior))

    def value(self, logs: Floats, mode: Mode) -> float:
        """What is to be least: minus twice the log of what spreads are worth, prior included, up to a constant."""
        return criterion_of(self.layout, mode) + self.belief(logs)

    def point(self, logs: Floats, mode: Mode) -> Point:
        """
        All that the next step needs, worked out where coefficients are at their best.

        Notes
        -----
        With A the sharpness in standard coefficients c, w the groups' curvatures, m_j what group j multiplies c by, and
        h_j = m_j' inv(A) m_j, the criterion -2 height + log det A moves with the log of a spread directly, and through
        w: sum of h_j dw_j, where dw_j has a direct part and one through eta, which moves as c follows its best. The
        derivatives of w come from differences of what the likelihood tells; of many groups every fourth stands for all
        there, since these parts count only as much as the coefficients are many.
        """
        layout, told = self.layout, mode.told
        covariance = mode.root @ mode.root.T
        spots = [layout.spot(k) for k in range(len(layout.terms))]
        leverage = variance(covariance, layout.fixed, spots, [mode.scale[spot] for spot in spots])
        bends = self._third(mode, logs, leverage)
        direct, pushes, slope = [], [], []
        for i in range(self.k):
            bent, pushed = self._nudged(mode, logs, i, leverage)
            slope.append(-2 * float(told.inner_slopes[:, i].sum()) + float(leverage @ bent))
            direct.append(np.zeros(layout.groups))
            pushes.append(mode.scale * layout.gather(pushed))
        for k in self.free:
            block, effects = layout.block(k), mode.coefficients[layout.block(k)]
            shift = (mode.scale * mode.coefficients)[spots[k]]
            used = layout.terms[k].levels - float(np.trace(covariance[block, block]))
            slope.append(2 * (used - float(effects @ effects)))
            push = -mode.scale * layout.gather(told.curvature * shift)
            push[block] += effects
            direct.append(shift)
            pushes.append(push)
        moves = covariance @ np.array(pushes).reshape(-1, layout.size).T
        for i in range(len(slope)):
            moved = direct[i] + layout.predictor(mode.scale * moves[:, i]) - layout.offset
            slope[i] += float((leverage * bends) @ moved)
        value = self.value(logs, mode)
        return Point(logs, mode, value, self._with_belief(logs, slope), self._expected(told, covariance), moves)

    def _third(self, mode: Mode, logs: Floats, leverage: Floats) -> Floats:
        """How each group's curvature grows with its predictor, (J,)."""
        eta, told = mode.eta[self.sample], mode.told.curvature[self.sample]
        step = STEP / np.sqrt(np.maximum(told, 1e-6))
        ahead = self.sampled.told(eta + step, self.inner(logs))
        return self._for_all((ahead.curvature - told) / step, leverage)

    def _nudged(self, mode: Mode, logs: Floats, i: int, leverage: Floats) -> tuple[Floats, Floats]:
        """How each group's curvature and slope grow with the log of the likelihood's `i`-th standard deviation."""
        nudged = logs.copy()
        nudged[i] += STEP
        ahead = self.sampled.told(mode.eta[self.sample], self.inner(nudged))
        bent = (ahead.curvature - mode.told.curvature[self.sample]) / STEP
        pushed = (ahead.slope - mode.told.slope[self.sample]) / STEP
        return self._for_all(bent, leverage), self._for_all(pushed, leverage)

    def _for_all(self, row: Floats, leverage: Floats) -> Floats:
        """Values of the sampled groups standing for all, weighted so that sums with `leverage` come out."""
        whole = np.zeros(self.layout.groups)
        whole[self.sample] = row * (leverage.sum() / max(float(leverage[self.sample].sum()), 1e-300))
        return whole

    def _with_belief(self, logs: Floats, slope: list[float]) -> Floats:
        added = [
            2 * (log - math.log(prior.median)) / prior.log_sd**2 if prior else 0.0
            for prior, log in zip(self.priors, logs, strict=True)
        ]
        return np.asarray(np.array(slope) + np.array(added))

    def _expected(self, told: Told, covariance: Floats) -> Floats:
        """Curvature of the criterion as expected: scores squared (BHHH) for inner spreads, Fisher's for terms."""
        size = self.k + len(self.free)
        total = np.diag([RIDGE + (2 / prior.log_sd**2 if prior else 0.0) for prior in self.priors])
        if self.k and self.layout.groups > 1:
            off = told.inner_slopes - told.inner_slopes.mean(axis=0)
            total[: self.k, : self.k] += 2 * off.T @ off
        for a, k in enumerate(self.free):
            for b, m in enumerate(self.free):
                part = -covariance[self.layout.block(k), self.layout.block(m)]
                if k == m:
                    part = part + np.eye(len(part))
                total[self.k + a, self.k + b] += 4 * float(np.sum(part * part))
        return total.reshape(size, size)


@dataclass(frozen=True)
class Found:
    """Where the search ended, and whether it ended where it should."""

    logs: Floats
    mode: Mode
    settled: bool


def search(problem: Search, logs: Floats, start: Floats, tolerance: float) -> Found:
    """Quasi-Newton steps on the logs of the spreads until one more would gain next to nothing."""
    mode = problem.climb(logs, start)
    problem.set_floors(mode.told.curvature)
    if not len(logs) or not problem.layout.groups:
        return Found(logs, mode, True)
    point, steps, woken = problem.point(logs, mode), list[tuple[Floats, Floats]](), False
    for _ in range(ROUNDS):
        step, promised = next_step(problem, point, steps)
        after = _go(problem, point, step) if promised >= tolerance else None
        if after is None and promised >= tolerance and steps:
            steps = []  # What earlier steps taught misled: begin again from the expected curvature.
            continue
        if after is None and not woken:
            after, woken, steps = _wake(problem, point), True, []
        if after is None:
            return Found(point.logs, point.mode, promised < max(tolerance, HIDDEN))
        moved = after.logs - point.logs
        steps = [*steps[-2:], (moved, after.slope - point.slope)] if np.abs(moved).max() < LONGEST else []
        point = after
    return Found(point.logs, point.mode, False)


def next_step(problem: Search, point: Point, steps: Sequence[tuple[Floats, Floats]]) -> tuple[Floats, float]:
    """
    The next step of the logs, and what twice it promises to gain.

    Notes
    -----
    The expected curvature takes up the changes of slope that the last few steps met (BFGS). A spread that groups say
    next to nothing of, and that wants to be less, goes to its floor at once: on a log scale it would creep there.
    """
    curvature = point.curvature
    for moved, changed in steps:
        pull = curvature @ moved
        if changed @ moved > 1e-2 * (moved @ pull):
            curvature = (
                curvature - np.outer(pull, pull) / (moved @ pull) + np.outer(changed, changed) / (changed @ moved)
            )
    free = point.logs > problem.floors
    step = np.zeros(len(point.logs))
    step[free] = -np.linalg.solve(curvature[np.ix_(free, free)], point.slope[free])
    promised = float(-step @ point.slope)
    step = np.clip(step, -LONGEST, LONGEST)
    faint = free & problem.unsteadied & (point.slope > 0) & (np.diag(point.curvature) < FAINT)
    faint &= np.isfinite(problem.floors)
    step[faint] = problem.floors[faint] - point.logs[faint]
    return step, math.inf if faint.any() else promised


def _go(problem: Search, point: Point, step: Floats) -> Point | None:
    """The point a step leads to, shortened until the criterion falls; None where it does not."""
    for halved in range(12):
        logs = np.maximum(point.logs + 0.5**halved * step, problem.floors)
        moved = logs - point.logs
        mode = problem.climb(logs, _follow(problem, point, logs))
        if problem.value(logs, mode) <= point.value + max(HIDDEN, 1e-4 * float(point.slope @ moved)):
            return problem.point(logs, mode)
    return None


def _follow(problem: Search, point: Point, logs: Floats) -> Floats:
    """Standard coefficients to begin from at other spreads: moved along their slopes, or for a long way kept real."""
    moved = logs - point.logs
    if float(np.abs(moved).max()) < 0.3:
        return np.asarray(point.mode.coefficients + point.moves @ moved)
    scale = problem.layout.scale(problem.sds(logs))
    ratio = np.divide(point.mode.scale, scale, out=np.zeros_like(scale), where=scale > 0)
    return point.mode.coefficients * np.minimum(ratio, 3.0)


def _wake(problem: Search, point: Point) -> Point | None:
    """Try spreads that were taken to be none once more, now that the others have settled."""
    asleep = point.logs <= problem.floors
    for k in np.flatnonzero(asleep):
        logs = point.logs.copy()
        logs[k] = problem.guess[k] + math.log(0.3)
        mode = problem.climb(logs, point.mode.coefficients)
        if problem.value(logs, mode) < point.value:
            return problem.point(logs, mode)
    return None
