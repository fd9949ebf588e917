"""Sowings that are learned from, numbered as they are met, with the recipe, lot and season each belongs to."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from trayward.outlook.rows import LossRow, StageRow
from trayward.outlook.terms import SdPrior, Term


class Grouped:
    """
    Numbers of sowings and of the levels that they belong to; it only grows.

    Parameters
    ----------
    recipes : iterable of str
        Every recipe has its level from the start: it carries what is believed of it.
    growing : iterable of str
        Terms besides the recipe, of which levels are numbered as they are met: `lot`, `season`.
    """

    def __init__(self, recipes: Iterable[str], growing: Iterable[str]) -> None:
        self.number: dict[str, int] = {}
        self.levels: dict[str, dict[str, int]] = {"recipe": {name: at for at, name in enumerate(recipes)}}
        self.levels |= {term: {} for term in growing}
        self.codes: dict[str, list[int]] = {term: [] for term in self.levels}

    def number_of(self, row: StageRow | LossRow) -> int:
        """The number of a row's sowing, a new one where it was never met."""
        found = self.number.get(row.sowing)
        if found is None:
            found = self.number[row.sowing] = len(self.number)
            for term, names in self.levels.items():
                self.codes[term].append(names.setdefault(str(getattr(row, term)), len(names)))
        return found

    def go_on_from(self, earlier: Grouped) -> None:
        """Number levels as they are numbered there."""
        self.levels = {term: dict(names) for term, names in earlier.levels.items()}

    def terms_of(self, spreads: Mapping[str, SdPrior]) -> list[Term]:
        """The sowings' levels as terms, with what is believed of their spreads."""
        return [
            Term(
                name=term,
                level=np.array(self.codes[term], dtype=np.int64),
                levels=len(names),
                sd_prior=spreads[term],
            )
            for term, names in self.levels.items()
        ]
