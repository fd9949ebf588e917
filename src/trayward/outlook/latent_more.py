"""More groups for a model already fitted: what was learned is the belief that new groups start from."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from trayward.outlook.latent import LatentFit
from trayward.outlook.latent_layout import Layout
from trayward.outlook.latent_mode import Likelihood, climb
from trayward.outlook.terms import Floats, Ints, Term


def with_groups(
    fitted: LatentFit, likelihood: Likelihood, offset: Floats, fixed: Floats, terms: Sequence[Term]
) -> LatentFit:
    """
    Coefficients after more groups were seen, at the spreads already found.

    Parameters
    ----------
    fitted : LatentFit
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
    layout = Layout(offset, fixed, fitted.layout.prior, terms)
    sds = [fitted.spreads.terms[term.name] if term.known_sd is None else term.known_sd for term in layout.terms]
    scale, inner = layout.scale(sds), np.asarray(fitted.spreads.inner, dtype=np.float64)
    layout.centre, layout.precision = _belief(fitted, layout)
    mode = climb(likelihood, layout, inner, scale, layout.centre)
    return LatentFit(fitted.spreads, fitted.criterion, fitted.settled, layout, mode)


def _belief(fitted: LatentFit, layout: Layout) -> tuple[Floats, Floats]:
    """Middle (size,) and precision (size, size) of the standard coefficients as learned; new levels are standard."""
    places = _places(fitted.layout, layout)
    centre, precision = np.zeros(layout.size), np.eye(layout.size)
    centre[places] = fitted.mode.coefficients
    lower = np.linalg.inv(fitted.mode.root)
    precision[np.ix_(places, places)] = lower.T @ lower
    return centre, precision


def _places(old: Layout, new: Layout) -> Ints:
    """Where each coefficient of the old layout stands in the new."""
    blocks = [np.arange(old.p)]
    for k, term in enumerate(old.terms):
        blocks.append(int(new.starts[k]) + np.arange(term.levels))
    return np.concatenate(blocks).astype(np.int64)
