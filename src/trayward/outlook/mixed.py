"""Linear mixed models: fixed coefficients, random effects of crossed or nested terms, and how much all of it varies.

    y = X b + sum over terms of Z_k u_k + e,   u_k ~ normal(0, G_k) for every level,   e ~ normal(0, s2 / weight)

Spreads are estimated by restricted maximum likelihood (or plain, for comparison), the rest follows exactly. Priors on
coefficients and spreads take part, so that the model stands from the first row on. `cross_products` sums up the rows
once; `fit` searches the spreads; `solve` takes them as given, for one more weight between two fits.
"""

from __future__ import annotations

import numpy as np

from trayward.errors import InputError
from trayward.outlook.mixed_checks import RESIDUAL, check_prior, check_residual
from trayward.outlook.mixed_draw import Drawn
from trayward.outlook.mixed_equations import Method, equations
from trayward.outlook.mixed_fit import Fit, fit_of
from trayward.outlook.mixed_model import Model, check_enough, model_of, start_of
from trayward.outlook.mixed_predict import Predicted
from trayward.outlook.mixed_search import boundary_of, log_sd_errors, search
from trayward.outlook.mixed_spreads import Spreads, factors_of
from trayward.outlook.mixed_system import System
from trayward.outlook.products import CrossProducts, cross_products
from trayward.outlook.terms import FixedPrior, Floats, SdPrior

__all__ = ["RESIDUAL", "CrossProducts", "Drawn", "Fit", "Predicted", "Spreads", "cross_products", "fit", "solve"]


def fit(
    products: CrossProducts,
    *,
    method: Method = "reml",
    fixed_prior: FixedPrior | None = None,
    residual_prior: SdPrior | None = None,
    start: Spreads | None = None,
) -> Fit:
    """
    Fit a linear mixed model: search its spreads, then solve.

    Parameters
    ----------
    products : CrossProducts
        The sums of the rows.
    method : {"reml", "ml"}
        Restricted or plain maximum likelihood. Coefficients with a finite prior sd count as random in both.
    fixed_prior, residual_prior : optional
        What is believed of the coefficients and of the residual sd. Terms bring their own.
    start : Spreads, optional
        Where the search begins, for instance an earlier fit's. Must be of the same terms.

    Returns
    -------
    Fit
        Its `criterion` is minus twice the (restricted) log likelihood; each prior of a spread adds the square of its
        distance from the median on the log scale, in `log_sd`.

    Raises
    ------
    InputError
        Where nothing tells how much rows vary: no more rows than free coefficients, and no `residual_prior`.

    Notes
    -----
    A term whose rows say nothing of its spread and which has no `sd_prior` stays near where the search began, and its
    `log_sd_errors` is infinite. A fixed column that earlier ones explain is dropped (`Fit.dropped`).

    References
    ----------
    Patterson, H. D. and Thompson, R. (1971). Recovery of inter-block information when block sizes are unequal.
    Biometrika 58, 545-554 (from memory). The modules `mixed_system` and `mixed_point` name what they follow.
    """
    if residual_prior is not None:
        check_prior("residual_prior", residual_prior)
    if method not in ("reml", "ml"):
        raise InputError("method", repr(method), "must be 'reml' or 'ml'")
    found = equations(products, fixed_prior)
    check_enough(found, residual_prior)
    model = model_of(found, method, residual_prior)
    model, point, second = search(model, start_of(model) if start is None else _begun(model, start))
    return fit_of(
        point.system,
        spreads=model.spreads(point.parameters),
        criterion=point.criterion,
        log_sd_errors=log_sd_errors(point, second),
        at_boundary=boundary_of(point),
    )


def solve(products: CrossProducts, spreads: Spreads, *, fixed_prior: FixedPrior | None = None) -> Fit:
    """Effects and coefficients at given spreads, without a search; `log_sd_errors` is empty."""
    check_residual(spreads.residual)
    found = equations(products, fixed_prior)
    system = System(found, spreads.residual, factors_of(found.groups, spreads))
    return fit_of(
        system, spreads=spreads, criterion=system.criterion("reml"), log_sd_errors={}, at_boundary=_zeros(spreads)
    )


def _begun(model: Model, start: Spreads) -> Floats:
    check_residual(start.residual)
    factors_of(model.equations.groups, start)
    return model.within(model.parameters(start))


def _zeros(spreads: Spreads) -> tuple[str, ...]:
    return tuple(name for name, value in spreads.terms.items() if np.ndim(value) == 0 and value == 0)
