"""How often something comes: shares of chances by row and column, such as customers by weekday or by product.

A row has its own level and the columns a common profile; a cell is believed to be about level times profile until its
own chances say otherwise. The past fades, and how fast is found out (`demand_fading`).
"""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from trayward.outlook.demand_fading import KEPT, SCORED, SCORES_KEPT, faded, further, pick, trust
from trayward.outlook.terms import Floats

STRENGTHS: Final = np.array([1.0, 6.0, 40.0])
"""As many chances of a cell the belief from row and column counts as. Our choice. [-]"""
LEVEL_CHANCES: Final = 14.0
"""As many chances of a row all rows together count as. Our choice. [-]"""
PROFILE_CHANCES: Final = 4.0
"""As many chances of a column all columns together count as. Our choice. [-]"""
LEAST, MOST = 1e-4, 0.98


class Shares(msgspec.Struct, frozen=True, kw_only=True):
    """What is known of each cell: successes `done` and `chances` (h, c, j), and how far each way is trusted (c, g)."""

    done: Floats
    chances: Floats
    trusted: Floats

    def betas(self, weeks: float) -> tuple[Floats, Floats]:
        """The two parameters of each cell's beta law when another `weeks` lie ahead, by way; both (g, c, j)."""
        left = further(weeks)[:, None, None]
        return _betas(self.done * left, self.chances * left)

    def mean(self, weeks: float) -> Floats:
        """The expected share of each cell (c, j). [-]"""
        a, b = self.betas(weeks)
        return np.asarray(np.einsum("cg,gcj->cj", self.trusted, a / (a + b)))

    def draw(self, weeks: float, n: int, rng: np.random.Generator) -> Floats:
        """Shares as they may be (n, c, j). [-]"""
        a, b = self.betas(weeks)
        ways, rows = pick(self.trusted, n, rng), np.arange(len(self.trusted))
        return rng.beta(a[ways, rows], b[ways, rows])


def learn_shares(done: Floats, chances: Floats) -> Shares:
    """
    Learn how often something comes.

    Parameters
    ----------
    done : (w, c, j)
        How often it came, by week, row and column.
    chances : (w, c, j) or (w, c, 1)
        Out of how many.

    Returns
    -------
    Shares
        Cells are beta-binomial: prior mean from row and column, its strength and the fading of the past found out.
    """
    start = max(0, len(done) - SCORED)
    chances = np.broadcast_to(chances, (*chances.shape[:2], max(1, min(chances.shape[2], done.shape[2]))))
    total, of = faded(done[:start]), faded(chances[:start])
    scores = np.zeros((len(KEPT) * len(STRENGTHS), done.shape[1]))
    kept = KEPT[:, None, None]
    for came, out_of in zip(done[start:], chances[start:], strict=True):
        a, b = _betas(total, of)
        scores = scores * SCORES_KEPT + _score(a / (a + b), came, out_of)
        total, of = kept * (total + came), kept * (of + out_of)
    return Shares(done=total, chances=of, trusted=trust(scores))


def _betas(done: Floats, chances: Floats) -> tuple[Floats, Floats]:
    prior = _prior(done, chances)[:, None]
    strength = STRENGTHS[None, :, None, None]
    a = done[:, None] + strength * prior
    b = np.maximum(chances - done, 0.0)[:, None] + strength * (1 - prior)
    shape = (-1, *done.shape[1:])
    return a.reshape(shape), b.reshape(shape)


def _prior(done: Floats, chances: Floats) -> Floats:
    """Level of the row times profile of the column (h, c, j)."""
    columns = done.shape[2]
    of = chances if chances.shape[2] == columns else np.broadcast_to(chances, done.shape)
    mean = (done.sum(axis=(1, 2), keepdims=True) + 0.5) / (of.sum(axis=(1, 2), keepdims=True) + 5.0)
    level = (done.sum(axis=2, keepdims=True) + LEVEL_CHANCES * mean) / (of.sum(axis=2, keepdims=True) + LEVEL_CHANCES)
    came = done.sum(axis=1, keepdims=True) + PROFILE_CHANCES * mean
    profile = came / (of.sum(axis=1, keepdims=True) + PROFILE_CHANCES)
    return np.asarray(np.clip(level * profile / mean, LEAST, MOST))


def _score(share: Floats, came: Floats, out_of: Floats) -> Floats:
    """Log chance of a week under each way, by row (g, c)."""
    share = np.clip(share, 1e-6, 1 - 1e-6)
    miss = np.maximum(out_of - came, 0.0)
    return np.asarray(np.einsum("cj,gcj->gc", came, np.log(share)) + np.einsum("cj,gcj->gc", miss, np.log1p(-share)))
