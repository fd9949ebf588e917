"""How often something comes: shares of chances by row and column, such as customers by weekday or by product.

A row has its own level and the columns a common profile; a cell is believed to be about level times profile until its
own chances say otherwise. The past fades, and how fast is found out (`demand_fading`).
"""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from trayward.outlook.demand_fading import KEPT, SCORED, before_each, blocks, faded, further, pick, recent, trust
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
    total, of = faded(done[:start]), faded(chances[:start])
    scores = []
    for block in blocks(len(done) - start, len(KEPT) * len(STRENGTHS) * done[0].size):
        came, out_of = done[start:][block], chances[start:][block]
        totals, total = before_each(total, came)
        ofs, of = before_each(of, out_of)
        a, b = _betas(totals, ofs)
        scores.append(_score(a / (a + b), came[:, None], out_of[:, None]))
    return Shares(done=total, chances=of, trusted=trust(recent(np.concatenate(scores))))


def _betas(done: Floats, chances: Floats) -> tuple[Floats, Floats]:
    """Parameters of the cells' beta laws (..., g, c, j), from faded sums (..., h, c, j)."""
    prior = _prior(done, chances)[..., None, :, :]
    strength = STRENGTHS[:, None, None]
    a = done[..., None, :, :] + strength * prior
    b = np.maximum(chances - done, 0.0)[..., None, :, :] + strength * (1 - prior)
    shape = (*done.shape[:-3], -1, *done.shape[-2:])
    return a.reshape(shape), b.reshape(shape)


def _prior(done: Floats, chances: Floats) -> Floats:
    """Level of the row times profile of the column (..., h, c, j)."""
    alike = done.shape[-1] // chances.shape[-1]
    out_of = chances.sum(axis=-1, keepdims=True) * alike
    came = done.sum(axis=-1, keepdims=True)
    mean = (came.sum(axis=-2, keepdims=True) + 0.5) / (out_of.sum(axis=-2, keepdims=True) + 5.0)
    level = (came + LEVEL_CHANCES * mean) / (out_of + LEVEL_CHANCES)
    column = done.sum(axis=-2, keepdims=True) + PROFILE_CHANCES * mean
    profile = column / (chances.sum(axis=-2, keepdims=True) + PROFILE_CHANCES)
    return np.asarray(np.clip(level * profile / mean, LEAST, MOST))


def _score(share: Floats, came: Floats, out_of: Floats) -> Floats:
    """Log chance of each week under each way, by row (w, g, c)."""
    # Single precision is four times as fast here, and whether a way is better never hangs on the seventh figure.
    share = np.clip(share, 1e-6, 1 - 1e-6).astype(np.float32)
    hit, miss = came.astype(np.float32), np.maximum(out_of - came, 0.0).astype(np.float32)
    found = hit * np.log(share)
    found += miss * np.log(1 - share)
    return np.asarray(found.sum(axis=-1, dtype=np.float64))
