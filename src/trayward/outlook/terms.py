"""How rows are put into groups: the random terms that both kinds of model share.

A term says which level each row belongs to (its recipe, its seed lot, its sowing), and what is known beforehand of how
much levels differ.
"""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

NEW = -1
"""A level that no row belongs to: a recipe, lot or sowing not seen yet."""


class SdPrior(msgspec.Struct, frozen=True):
    """What is believed of a standard deviation before any row: its log is normal about log `median`."""

    median: float
    log_sd: float


class Term(msgspec.Struct, frozen=True, kw_only=True):
    """
    A group of random effects.

    `level` (n,) is each row's level, 0 to `levels` - 1. `columns` (n, q) is what its effects are multiplied by; None:
    one effect a level, multiplied by one. `known_sd` is a standard deviation that is not estimated, one for all levels
    or one each (levels,); only for q = 1. `sd_prior` steadies an estimated one; None: none.
    """

    name: str
    level: Ints
    levels: int
    columns: Floats | None = None
    known_sd: Any = None
    sd_prior: SdPrior | None = None

    @property
    def width(self) -> int:
        """Effects a level."""
        return 1 if self.columns is None else int(self.columns.shape[1])


class FixedPrior(msgspec.Struct, frozen=True):
    """What is believed of the fixed coefficients: normal, independent. `sd` infinite where nothing is. Both (p,)."""

    mean: Floats
    sd: Floats
