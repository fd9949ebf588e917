"""More groups for a model already fitted: what was learned is the belief that new groups start from."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.outlook.latent import LatentFit, Spreads, fit_among, settle
from trayward.outlook.latent_layout import Layout
from trayward.outlook.latent_mode import Likelihood, climb
from trayward.outlook.terms import FixedPrior, Floats, Ints, Term

SOUGHT_AMONG = 800
"""Sowings that spreads are sought among: so many tell them to about three parts in a hundred."""


class Evidence(NamedTuple):
    """What was seen of J groups, and what they belong to: see `latent.fit_latent`."""

    likelihood: Likelihood
    offset: Floats
    fixed: Floats
    prior: FixedPrior
    terms: Sequence[Term]


def fitted(evidence: Evidence, spreads: Spreads | None = None, start: Floats | None = None) -> LatentFit:
    """What evidence teaches from the beginning: at given spreads, or at those sought in it."""
    return fit_among(*evidence, among=SOUGHT_AMONG) if spreads is None else settle(*evidence, spreads, start=start)


def taught(before: LatentFit | None, evidence: Evidence) -> LatentFit | None:
    """What is known after more evidence; where there is none, what was known before."""
    if not len(evidence.offset):
        return before
    if before is None:
        return fitted(evidence)
    return with_groups(before, evidence.likelihood, evidence.offset, evidence.fixed, evidence.terms)


def with_groups(
    before: LatentFit, likelihood: Likelihood, offset: Floats, fixed: Floats, terms: Sequence[Term]
) -> LatentFit:
    """
    Coefficients after more groups were seen, at the spreads already found.

    Parameters
    ----------
    before : LatentFit
        What was learned before; its normal approximation stands for all groups it saw.
    likelihood : Likelihood
        What was seen of J more groups.
    offset, fixed : array (J,), (J, p)
        As for `fit_latent`.
    terms : sequence of Term
        The same terms in the same order; levels known before keep their numbers, later ones are new.

    Returns
    -------
    LatentFit
        Its `criterion` is not told anew.

    Notes
    -----
    Costs what the new groups cost, however many were seen before. The same as fitting all groups at once, but for the
    curve of the earlier groups' likelihood away from their best coefficients.
    """
    layout = Layout(offset, fixed, before.layout.prior, terms)
    sds = [before.spreads.terms[term.name] if term.known_sd is None else term.known_sd for term in layout.terms]
    scale, inner = layout.scale(sds), np.asarray(before.spreads.inner, dtype=np.float64)
    layout.centre, layout.precision = _belief(before, layout)
    mode = climb(likelihood, layout, inner, scale, layout.centre)
    return LatentFit(before.spreads, before.criterion, before.settled, layout, mode)


def _belief(before: LatentFit, layout: Layout) -> tuple[Floats, Floats]:
    """Middle (size,) and precision (size, size) of the standard coefficients as learned; new levels are standard."""
    places = _places(before.layout, layout)
    centre, precision = np.zeros(layout.size), np.eye(layout.size)
    centre[places] = before.mode.coefficients
    lower = np.linalg.inv(before.mode.root)
    precision[np.ix_(places, places)] = lower.T @ lower
    return centre, precision


def _places(old: Layout, new: Layout) -> Ints:
    """Where each coefficient of the old layout stands in the new."""
    blocks = [np.arange(old.p)]
    for k, term in enumerate(old.terms):
        blocks.append(int(new.starts[k]) + np.arange(term.levels))
    return np.concatenate(blocks).astype(np.int64)
