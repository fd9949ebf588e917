"""What a trial has said so far: its levels compared within the days they were sown, and whether that settles it."""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from typing import Literal, NamedTuple

import msgspec
import numpy as np

from trayward.farm.trials import Lever, Trial
from trayward.outlook.learning.blocks import Blocked, LevelEffect, blocked
from trayward.outlook.learning.density import UNITS
from trayward.outlook.learning.points import EIGHTY, POINTS
from trayward.outlook.learning.response import Response, Worth
from trayward.outlook.learning.worth_trying import Candidate, covariance_after
from trayward.outlook.terms import Floats

Standing = Literal["not sown", "growing", "not settled", "settled"]

SURE = 0.9
"""A level is settled on where it is the best in at least 9 of 10 cases, [-]"""
TRIFLE = 0.01
"""or where choosing it costs no more than this share of what a tray brings, whichever is best. [-]"""
MOST_MORE = 12
"""More days than this are not worth waiting for: levels so alike hardly matter."""
OFF = 0.15
"""A density this far off every level, as a share, is none of them: the tray got something else. [-]"""
OFF_DAYS = 0.75
"""A blackout this far off every level is none of them. [d]"""


class TrialTray(NamedTuple):
    """One cut tray of a trial: its level as sown, the day and seed it shares with others, its log weight. [log g]"""

    tray: str
    level: float
    block: Hashable
    log_grams: float


class LevelSaid(msgspec.Struct, frozen=True, kw_only=True):
    """
    A level against the present one: how many times the weight, by this trial alone and with all that was known. [-]

    `gain` is what it brings more, a tray, all told [currency, or g where no price is known]; `chance` how likely it is
    the best of the levels. [-]
    """

    level: float
    trays: int
    alone: tuple[float, float, float] | None
    """Low, middle, high of an 80 % range, by this trial alone; None where it cannot tell."""
    together: tuple[float, float, float]
    gain: float
    chance: float


class TrialSaid(msgspec.Struct, frozen=True, kw_only=True):
    """What a trial has said. `more_blocks` is how many sowing days more would settle it; None: settled, or too many."""

    trial: str
    recipe: str
    what: Lever
    standing: Standing
    cut: int
    planned: int
    growing: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    """Trays that were given none of the trial's levels, or whose level is not known."""
    reference: float | None = None
    levels: tuple[LevelSaid, ...] = ()
    alone: Blocked | None = None
    best: float | None = None
    more_blocks: int | None = None
    words: str = ""


def nearest_level(trial: Trial, level: float | None) -> float | None:
    """The trial's level a tray was given; None where it was given none of them."""
    if level is None or not math.isfinite(level) or (trial.what == "density" and level <= 0):
        return None
    if trial.what == "density":
        best = min(trial.levels, key=lambda each: abs(math.log(each / level)))
        return best if abs(level / best - 1) <= OFF else None
    best = min(trial.levels, key=lambda each: abs(each - level))
    return best if abs(level - best) <= OFF_DAYS else None


def learned(response: Response, trays: Sequence[TrialTray]) -> Response:
    """
    What is believed after some trays, from what was believed before: exact, each day's shared part unknown.

    Notes
    -----
    Trays of a day have covariance day_sd^2 besides their own tray_sd^2; coefficients and trays are jointly normal.
    """
    if not trays:
        return response
    basis = response.basis(np.array([tray.level for tray in trays]))
    days = [tray.block for tray in trays]
    same = np.array([[float(mine == other) for other in days] for mine in days])
    cov = same * response.day_sd**2 + np.eye(len(trays)) * response.tray_sd**2
    whole = basis @ response.cov @ basis.T + cov
    gain = np.linalg.solve(whole, basis @ response.cov).T
    off = np.array([tray.log_grams for tray in trays]) - basis @ response.mean
    after = response.cov - gain @ basis @ response.cov
    return msgspec.structs.replace(response, mean=response.mean + gain @ off, cov=(after + after.T) / 2)


def trial_said(
    trial: Trial,
    trays: Sequence[TrialTray],
    response: Response,
    worth: Worth | None,
    present: float,
    *,
    growing: Sequence[str] = (),
    lost: Sequence[str] = (),
    off: Sequence[str] = (),
) -> TrialSaid:
    """
    Analyse a trial as far as its trays are cut.

    Parameters
    ----------
    trial : Trial
        What is compared.
    trays : sequence of TrialTray
        Its cut trays.
    response : Response
        What is believed now, these trays included.
    worth : Worth or None
        What a gram brings and the level costs; grams alone count where it is None.
    present : float
        The level the recipe has now; the nearest of the trial is the reference.
    growing, lost, off : sequence of str
        Its trays that still grow, were thrown away, or whose level or weight is not known.

    Returns
    -------
    TrialSaid
    """
    placed = [tray._replace(level=near) for tray in trays if (near := nearest_level(trial, tray.level)) is not None]
    known = {tray.tray for tray in placed}
    base = TrialSaid(
        trial=trial.name,
        recipe=trial.recipe,
        what=trial.what,
        standing="growing" if growing else "not sown",
        cut=len(placed),
        planned=trial.trays,
        growing=tuple(growing),
        lost=tuple(lost),
        off=(*off, *(tray.tray for tray in trays if tray.tray not in known)),
    )
    if not placed:
        return msgspec.structs.replace(base, words=_waiting_words(base))
    return _weighed(base, trial, placed, response, worth, present)


def _weighed(
    base: TrialSaid,
    trial: Trial,
    placed: Sequence[TrialTray],
    response: Response,
    worth: Worth | None,
    present: float,
) -> TrialSaid:
    """What a trial says whose trays are cut, some of them at least."""
    reference = min(trial.levels, key=lambda level: abs(level - present))
    alone = blocked(
        np.array([tray.log_grams for tray in placed]),
        [tray.block for tray in placed],
        [tray.level for tray in placed],
        reference,
    )
    levels = np.array(sorted(trial.levels))
    payoffs = _payoffs(response, worth, levels)
    best = int(np.argmax(payoffs.mean(axis=0)))
    settled = _settles(payoffs)
    said = msgspec.structs.replace(
        base,
        standing="settled" if settled else "not settled",
        reference=reference,
        levels=_levels_said(response, levels, payoffs, reference, alone, placed),
        alone=alone,
        best=float(levels[best]),
        more_blocks=None if settled else blocks_more(response, worth, trial),
    )
    return msgspec.structs.replace(said, words=_said_words(said, worth is not None))


def _payoffs(response: Response, worth: Worth | None, levels: Floats) -> Floats:
    """What a tray brings at each level, for each curve it may be. (draws, levels)"""
    paid = worth.checked() if worth is not None else Worth(gram=1.0)
    grams = np.exp(response.draws(POINTS) @ response.basis(levels).T + response.spread / 2)
    found: Floats = paid.gram * grams - paid.unit * levels
    return found


def _chances(payoffs: Floats) -> Floats:
    """How often each level is the best. (levels)"""
    best = np.argmax(payoffs, axis=1)
    return np.bincount(best, minlength=payoffs.shape[1]) / len(payoffs)


def _settles(payoffs: Floats) -> bool:
    """Whether one level may be chosen now: surely the best, or as good as any."""
    mean = payoffs.mean(axis=0)
    top = int(np.argmax(mean))
    regret = float(payoffs.max(axis=1).mean() - mean[top])
    return bool(_chances(payoffs)[top] >= SURE or regret <= TRIFLE * abs(mean[top]))


def blocks_more(response: Response, worth: Worth | None, trial: Trial) -> int | None:
    """How many sowing days more would settle a trial, were the curve to stay where it is believed; None: too many."""
    for more in range(1, MOST_MORE + 1):
        candidate = Candidate(levels=trial.levels, blocks=more, trays_each=trial.trays_each)
        then = msgspec.structs.replace(response, cov=covariance_after(response, candidate))
        if _settles(_payoffs(then, worth, np.array(sorted(trial.levels)))):
            return more
    return None


def _levels_said(
    response: Response,
    levels: Floats,
    payoffs: Floats,
    reference: float,
    alone: Blocked | None,
    placed: Sequence[TrialTray],
) -> tuple[LevelSaid, ...]:
    chances, mean = _chances(payoffs), payoffs.mean(axis=0)
    at = int(np.flatnonzero(levels == reference)[0])
    by_level = {effect.level: effect for effect in (alone.levels if alone else ())}
    return tuple(
        LevelSaid(
            level=float(level),
            trays=sum(tray.level == float(level) for tray in placed),
            alone=_factors(by_level.get(float(level))),
            together=_together(response, float(level), reference),
            gain=float(mean[k] - mean[at]),
            chance=float(chances[k]),
        )
        for k, level in enumerate(levels)
    )


def _factors(effect: LevelEffect | None) -> tuple[float, float, float] | None:
    if effect is None:
        return None
    return math.exp(effect.low), math.exp(effect.difference), math.exp(effect.high)


def _together(response: Response, level: float, reference: float) -> tuple[float, float, float]:
    """How many times the reference's weight a level gives, by all that is believed."""
    apart = response.basis(np.array([level]))[0] - response.basis(np.array([reference]))[0]
    middle = float(apart @ response.mean)
    reach = EIGHTY * math.sqrt(max(0.0, float(apart @ response.cov @ apart)))
    return math.exp(middle - reach), math.exp(middle), math.exp(middle + reach)


def _waiting_words(said: TrialSaid) -> str:
    if said.growing:
        return f"Trial {said.trial}: {_trays(len(said.growing))} growing, none cut yet."
    return f"Trial {said.trial}: not sown yet."


def _said_words(said: TrialSaid, money: bool) -> str:
    unit, best = UNITS[said.what], next(level for level in said.levels if level.level == said.best)
    low, middle, high = best.together
    first = f"Trial {said.trial}, {said.cut} of {_trays(said.planned)} cut"
    first += f", {len(said.growing)} still growing" if said.growing else ""
    first += f", {len(said.off)} at none of its levels" if said.off else ""
    if said.best == said.reference:
        found = f"the present {best.level:.3g} {unit} does best, in {best.chance * 10:.0f} of 10 cases"
    else:
        gain = f", {best.gain:+.2f} a tray" if money else f", {best.gain:+.0f} g a tray"
        found = (
            f"{best.level:.3g} {unit} gives {middle:.2f} times the weight of {said.reference:.3g} "
            f"(8 in 10: {low:.2f} to {high:.2f}){gain}, and is the best in {best.chance * 10:.0f} of 10 cases"
        )
    if said.standing == "settled":
        return f"{first}: {found}. Settled."
    if said.more_blocks is None:
        return f"{first}: {found}. Not settled, and {MOST_MORE} more days would not settle it: choose as you like."
    days = f"{said.more_blocks} more sowing day{'' if said.more_blocks == 1 else 's'}"
    return f"{first}: {found}. Not settled: {days} of it would."


def _trays(count: int) -> str:
    return f"{count} tray{'' if count == 1 else 's'}"
