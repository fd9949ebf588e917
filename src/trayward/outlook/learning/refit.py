"""The yield model's rows as arrays once more, for questions that the model itself does not answer."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

import numpy as np

from trayward.outlook.mixed import CrossProducts, Fit, cross_products, fit, solve
from trayward.outlook.rows import YieldRow
from trayward.outlook.terms import FixedPrior, Floats, Term
from trayward.outlook.yields import RESIDUAL_PRIOR, Design, YieldModel, design_of, fixed_prior_of, terms_of


class Again(NamedTuple):
    """The model's rows with its terms and priors."""

    design: Design
    terms: list[Term]
    prior: FixedPrior


def again(model: YieldModel) -> Again:
    """The rows of a model, coded as it codes them."""
    levels = model.levels.copy()
    design = design_of(model.rows, model.recipes, levels)
    return Again(design, terms_of(design, levels), fixed_prior_of())


def products_of(rows: Again, more: Floats | None = None) -> tuple[CrossProducts, FixedPrior]:
    """The sums of the rows, with more fixed columns (n, k) of which nothing is believed."""
    if more is None:
        return cross_products(rows.design.y, rows.design.fixed, rows.terms), rows.prior
    columns = np.column_stack([rows.design.fixed, more])
    unknown = np.full(more.shape[1], np.inf)
    prior = FixedPrior(np.r_[rows.prior.mean, np.zeros(more.shape[1])], np.r_[rows.prior.sd, unknown])
    return cross_products(rows.design.y, columns, rows.terms), prior


def with_errors(model: YieldModel) -> Fit | None:
    """The model fitted anew from where it stands, so that the errors of its spreads are known; None without rows."""
    if model.fit is None:
        return None
    products, prior = products_of(again(model))
    return fit(products, fixed_prior=prior, residual_prior=RESIDUAL_PRIOR, start=model.fit.spreads)


def with_columns(model: YieldModel, more: Floats) -> Fit | None:
    """Coefficients of more columns beside all the model holds, at the model's spreads; None without rows."""
    if model.fit is None:
        return None
    products, prior = products_of(again(model), more)
    return solve(products, model.fit.spreads, fixed_prior=prior)


def sown_on(row: YieldRow) -> date:
    """The day a row's tray was sown."""
    return date.fromisoformat(row.sowing.rpartition("|")[2])
