"""How unsure the spreads themselves are: with few lots or sowings nobody knows for sure how much these differ."""

from __future__ import annotations

import math

import numpy as np

from trayward.outlook.terms import Floats, SdPrior


def reliabilities(sd: float | Floats, errors: Floats) -> Floats:
    """How much of each level's effect its rows tell, 0 to 1: what doubt of it is left against the spread. [-]"""
    sds = np.broadcast_to(sd, errors.shape)
    left = np.divide(errors, sds, out=np.ones(errors.shape), where=sds > 0)
    return np.asarray(np.clip(1 - np.square(left), 0.0, 1.0))


def log_sd_error(sd: float, errors: Floats, prior: SdPrior) -> float:
    """
    Standard error of the log of a spread.

    Parameters
    ----------
    sd : float
        The spread of the effects of a term.
    errors : array (levels,)
        Standard error of each effect.
    prior : SdPrior
        What was believed of the spread.

    Returns
    -------
    float
        Never more than the prior's own. [-]

    Notes
    -----
    An effect that its rows tell in full says of the log of the spread what one draw from a normal does: an information
    of 2. One of reliability r, 1 - (error / sd)^2, says 2 r^2, for the variance of its estimate is sd^2 / r.
    """
    return 1 / math.sqrt(2 * float(np.square(reliabilities(sd, errors)).sum()) + 1 / prior.log_sd**2)


def residual_error(freedom: float, prior: SdPrior) -> float:
    """Standard error of the log of a residual spread with so many degrees of freedom. [-]"""
    return 1 / math.sqrt(2 * max(freedom, 0.0) + 1 / prior.log_sd**2)
