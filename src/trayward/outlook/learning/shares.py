"""What explains the spread: how much of it comes from lots, recipes, seasons, sowings, and from tray to tray."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

import msgspec
import numpy as np

from trayward.errors import InputError
from trayward.outlook.learning.points import POINTS, TENTHS, normal_points, root_of
from trayward.outlook.learning.standouts import with_a_like
from trayward.outlook.mixed import RESIDUAL, Spreads
from trayward.outlook.rows import YieldRow
from trayward.outlook.terms import Floats
from trayward.outlook.yields import YieldModel

CAPPED = 3.0
"""A log sd known worse than this is not known at all; more would only give numbers too large to add. [log]"""


class Share(msgspec.Struct, frozen=True, kw_only=True):
    """One cause's part in the spread. `sd` is how far its levels lie apart [log]; shares are of the variance. [-]"""

    what: str
    sd: float
    share: float
    low: float
    high: float
    levels: int = 0
    """How many of them were seen: 3 lots, 40 sowings; 0 where that says nothing."""


class Spread(msgspec.Struct, frozen=True, kw_only=True):
    """What explains the spread of the grams, or of a stage's days; the largest part first."""

    about: Literal["grams", "days"]
    stage: str = ""
    trays: int = 0
    shares: tuple[Share, ...] = ()
    words: str = ""
    one_lot_each: bool = False
    """No recipe was sown from two lots, so what is the recipe's and what the lot's is mostly a guess."""


def variance_shares(
    names: Sequence[str], log_sds: Floats, log_sd_cov: Floats, levels: Sequence[int] = ()
) -> tuple[Share, ...]:
    """
    Each cause's share of the variance, with the range that the doubt about the sds leaves.

    Parameters
    ----------
    names : sequence of str
        The causes; the spread from tray to tray is one of them.
    log_sds : array (k,)
        Log of each cause's sd. [log]
    log_sd_cov : array (k, k)
        Covariance of the errors of these logs; zeros for what is known. [log2]
    levels : sequence of int, optional
        How many levels of each cause were seen. [-]

    Returns
    -------
    tuple of Share
        The largest first. `share` is at the estimated sds, so that the shares add up to 1; `low` to `high` holds 8 of
        10 of what they may be. [-]

    Raises
    ------
    InputError
        If a log sd or its covariance is no number.

    Notes
    -----
    The errors are taken as normal on the log scale and carried through by evenly spread points, because a share near 0
    or 1 has a range that is far from even on its two sides.
    """
    if not np.all(np.isfinite(log_sds)) or np.any(np.isnan(log_sd_cov)):
        raise InputError("log sds", "not a number", "each cause needs a spread and its error", "Fit again.", "log")
    count = len(names)
    cov = np.clip(log_sd_cov, -(CAPPED**2), CAPPED**2)
    draws = log_sds + normal_points(POINTS, count) @ root_of(cov).T
    variances = np.exp(2 * (draws - draws.max(axis=1, keepdims=True)))
    spread = variances / variances.sum(axis=1, keepdims=True)
    low, _, high = np.quantile(spread, TENTHS, axis=0)
    middle = np.exp(2 * (log_sds - log_sds.max()))
    middle = middle / middle.sum()
    found = [
        Share(
            what=name,
            sd=float(np.exp(log_sds[k])),
            share=float(middle[k]),
            low=float(min(low[k], middle[k])),
            high=float(max(high[k], middle[k])),
            levels=levels[k] if levels else 0,
        )
        for k, name in enumerate(names)
    ]
    return tuple(sorted(found, key=lambda share: -share.share))


ALIKE = 1e-3
"""Trays that lie no farther apart than this were not weighed one by one: there is no spread to share out. [log]"""
ALL_ALIKE = "All trays are written down with the same weight: there is no spread to explain. Weigh each one."
ONE_LOT_EACH = " Each recipe had one lot only, so what is the recipe's and what the lot's is mostly a guess."
CAUSES = {
    "recipe": "the recipe",
    "crop": "the crop",
    "lot": "the seed lot",
    "season": "the season",
    "sowing": "the sowing day",
    "density by crop": "how a crop takes its density",
    "tray": "tray to tray",
}
"""What each cause is called in a sentence."""


def spread_words(about: str, shares: Sequence[Share]) -> str:
    """
    The spread in one sentence.

    Examples
    --------
    >>> lot = Share(what="lot", sd=0.2, share=0.64, low=0.4, high=0.8)
    >>> tray = Share(what="tray", sd=0.15, share=0.36, low=0.2, high=0.6)
    >>> spread_words("weights", [lot, tray])
    'Of the spread of weights, 64 % comes from the seed lot (between 40 and 80 %), 36 % from tray to tray (20 to 60 %).'
    """
    if not shares:
        return f"Nothing is known of the spread of {about} yet: no tray was cut here."
    told = []
    for number, part in enumerate(shares):
        comes = "comes from" if number == 0 else "from"
        between = f"{'between ' if number == 0 else ''}{part.low * 100:.0f} {'and' if number == 0 else 'to'} "
        told.append(
            f"{part.share * 100:.0f} % {comes} {CAUSES.get(part.what, part.what)} ({between}{part.high * 100:.0f} %)"
        )
    return f"Of the spread of {about}, {', '.join(told)}."


def yield_spread(model: YieldModel) -> Spread:
    """What explains the spread of the weights on a farm, from one tray of one recipe to another."""
    from trayward.outlook.learning.refit import with_errors

    fitted = with_errors(model)
    if fitted is None:
        return Spread(about="grams", words=spread_words("weights", ()))
    seen = {name: len(set(_levels_seen(model, name))) for name in fitted.spreads.terms}
    # A cause with one level only moves all trays alike: it explains nothing of how they differ.
    names = [name for name, count in seen.items() if count > 1]
    sds = [float(np.ravel(fitted.spreads.terms[name])[0]) for name in names] + [fitted.spreads.residual]
    if all_alike(fitted.spreads):
        return Spread(about="grams", trays=len(model.rows), words=ALL_ALIKE)
    errors = [float(np.ravel(fitted.log_sd_errors.get(name, CAPPED))[0]) for name in [*names, RESIDUAL]]
    shares = variance_shares(
        [*names, "tray"],
        np.log(np.maximum(sds, 1e-6)),
        np.diag(np.minimum(errors, CAPPED) ** 2),
        [*(seen[name] for name in names), len(model.rows)],
    )
    told_apart = bool(with_a_like((row.recipe, row.lot) for row in model.rows))
    alone = {"recipe", "lot"} <= set(names) and not told_apart
    words = spread_words("weights", shares) + (ONE_LOT_EACH if alone else "")
    return Spread(about="grams", trays=len(model.rows), shares=shares, words=words, one_lot_each=alone)


def all_alike(spreads: Spreads) -> bool:
    """Whether neither trays of a sowing nor sowings differ: what is usual was typed, not what was weighed."""
    return max(spreads.residual, float(np.ravel(spreads.terms["sowing"])[0])) < ALIKE


def _levels_seen(model: YieldModel, term: str) -> list[str]:
    return [str(getattr(row, term)) for row in model.rows] if term in YieldRow._fields else []
