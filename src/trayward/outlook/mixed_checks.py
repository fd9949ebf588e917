"""Checks of the rows and priors that a mixed model is given, each with words for what is wrong."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike, NDArray

from trayward.errors import InputError
from trayward.outlook.terms import Floats, SdPrior, Term

RESIDUAL = "residual"
"""What the spread of single rows is called among the spreads; no term may have this name."""


def checked(
    y: ArrayLike, fixed: ArrayLike, terms: Sequence[Term], weights: ArrayLike | None
) -> tuple[Floats, Floats, list[Term], Floats]:
    """Outcome, fixed columns, terms and weights of the rows that weigh anything; raises where they cannot be used."""
    outcome = finite("y", y, 1)
    matrix = finite("fixed", fixed, 2, len(outcome))
    weight = np.ones(len(outcome)) if weights is None else finite("weights", weights, 1, len(outcome))
    if (weight < 0).any():
        raise InputError("weights", f"{weight.min():g}", "must not be negative", "Give a row that says nothing 0.")
    kept = weight > 0
    names = [term.name for term in terms]
    if len({*names, RESIDUAL}) <= len(names):
        raise InputError("terms", ", ".join(names), f"must have different names, none of them {RESIDUAL!r}")
    found = [_checked_term(term, len(outcome), kept) for term in terms]
    return outcome[kept], matrix[kept], found, weight[kept]


def _checked_term(term: Term, rows: int, kept: NDArray[np.bool_]) -> Term:
    level = np.asarray(term.level)
    if level.shape != (rows,):
        raise InputError(f"levels of {term.name}", f"shape {level.shape}", f"must be one for each of {rows} rows")
    if rows and (level.dtype.kind not in "iu" or level.min() < 0 or level.max() >= term.levels):
        rule = f"must be whole numbers from 0 to {term.levels - 1}"
        raise InputError(f"levels of {term.name}", f"{level.min()} to {level.max()}", rule)
    columns = None if term.columns is None else finite(f"columns of {term.name}", term.columns, 2, rows)[kept]
    _check_known(term)
    return Term(
        name=term.name,
        level=level[kept].astype(np.int64),
        levels=term.levels,
        columns=columns,
        known_sd=term.known_sd,
        sd_prior=term.sd_prior,
    )


def _check_known(term: Term) -> None:
    prior = term.sd_prior
    if prior is not None:
        check_prior(f"sd_prior of {term.name}", prior)
    if term.known_sd is None:
        return
    known = np.asarray(term.known_sd, dtype=float)
    if term.width != 1 or known.shape not in ((), (term.levels,)):
        raise InputError(f"known_sd of {term.name}", f"shape {known.shape}", "must be one, or one a level, and q = 1")
    if not (np.isfinite(known) & (known >= 0)).all():
        raise InputError(f"known_sd of {term.name}", f"{known.min():g}", "must be finite and not negative")


def check_prior(name: str, prior: SdPrior) -> None:
    """Raise unless a prior of a spread can be one."""
    if not (np.isfinite(prior.median) and prior.median > 0 and np.isfinite(prior.log_sd) and prior.log_sd > 0):
        raise InputError(name, f"{prior.median:g} ({prior.log_sd:g})", "must have a median and a log_sd above 0")


def finite(name: str, values: ArrayLike, dimensions: int, rows: int | None = None) -> Floats:
    """The values as an array of so many dimensions and rows, every one of them a finite number."""
    found = np.asarray(values, dtype=float)
    if found.ndim != dimensions or (rows is not None and len(found) != rows):
        wanted = f"{dimensions} dimension(s)" + ("" if rows is None else f" and {rows} rows")
        raise InputError(name, f"shape {found.shape}", f"must have {wanted}")
    if not np.isfinite(found).all():
        place = int(np.flatnonzero(~np.isfinite(found.reshape(len(found), -1)).all(axis=1))[0])
        raise InputError(f"{name}, row {place}", found[place], "must be a finite number", "Leave the row out.")
    return found


def check_residual(value: float) -> None:
    """Raise unless a residual sd can be one."""
    if not (np.isfinite(value) and value > 0):
        raise InputError(RESIDUAL, value, "must be a finite sd above 0")
