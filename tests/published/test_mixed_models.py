"""Linear mixed models against published fits, and side by side with an independent fitter; the source beside each.

Data: files of `mixed-models` in the open data, taken from the R packages lme4, nlme and geepack. STAT-01 to STAT-06
were recomputed with R's lme4 and nlme. lme4: Bates, Maechler, Bolker and Walker (2015), J. Stat. Software 67(1), doi
10.18637/jss.v067.i01. nlme: scripts of Pinheiro and Bates (2000), Mixed-Effects Models in S and S-PLUS, ch. 1.

Printed values are met to half a unit of their last digit and to 4 significant digits where so many are printed.
"""

from __future__ import annotations

import csv
import os
import warnings
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from trayward.outlook.mixed import RESIDUAL, Fit, Spreads, cross_products, fit, solve
from trayward.outlook.terms import NEW, FixedPrior, Term

Floats = NDArray[np.float64]
DATA = Path(os.environ.get("TRAYWARD_TEST_DATA") or Path(__file__).parents[3] / "shared" / "data") / "mixed-models"
pytestmark = pytest.mark.skipif(not DATA.is_dir(), reason="the open data is not here")


@cache
def table(name: str) -> dict[str, NDArray[np.str_]]:
    with (DATA / f"{name}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return {key: np.array([row[key] for row in rows]) for key in rows[0]}


def numbers(name: str, column: str) -> Floats:
    return table(name)[column].astype(float)


def term(name: str, labels: NDArray[np.str_], columns: Floats | None = None) -> Term:
    known, level = np.unique(labels, return_inverse=True)
    return Term(name=name, level=level, levels=len(known), columns=columns)


def straight(*columns: Floats) -> Floats:
    """A column of ones and more."""
    return np.column_stack([np.ones(len(columns[0])), *columns])


def dummies(labels: NDArray[np.str_]) -> list[Floats]:
    """A column for each label but the first in order."""
    return [(labels == label).astype(float) for label in np.unique(labels)[1:]]


def errors(found: Fit) -> Floats:
    return np.sqrt(np.diag(found.fixed_covariance))


def slopes(found: Fit, name: str) -> tuple[float, float, float]:
    """Two sds and the correlation of a term with intercept and slope."""
    covariance = np.asarray(found.spreads.terms[name])
    sd = np.sqrt(np.diag(covariance))
    return float(sd[0]), float(sd[1]), float(covariance[0, 1] / sd.prod())


def dyestuff(name: str, method: Any = "reml") -> Fit:
    y = numbers(name, "yield")
    return fit(cross_products(y, np.ones((len(y), 1)), [term("batch", table(name)["batch"])]), method=method)


def test_dyestuff_by_restricted_likelihood() -> None:
    # STAT-01: lme4 package data (Davies 1947), by lme4 and by the moments of the analysis of variance.
    found = dyestuff("dyestuff")
    assert found.fixed == pytest.approx([1527.5])
    assert errors(found) == pytest.approx([19.383], abs=5e-4)
    assert found.spreads.terms["batch"] ** 2 == pytest.approx(1764.05, abs=0.005)
    assert found.spreads.residual**2 == pytest.approx(2451.25, abs=0.005)
    assert found.criterion == pytest.approx(319.6543, abs=5e-5)
    assert found.at_boundary == ()


def test_dyestuff_by_plain_likelihood_differs() -> None:
    # STAT-02: lme4.
    found = dyestuff("dyestuff", "ml")
    assert found.spreads.terms["batch"] ** 2 == pytest.approx(1388.333, abs=5e-3)
    assert found.spreads.residual**2 == pytest.approx(2451.250, abs=5e-3)
    assert errors(found) == pytest.approx([17.695], abs=5e-4)
    assert found.criterion == pytest.approx(327.32706, abs=5e-6)


def test_dyestuff_batches_are_shrunk_alike() -> None:
    # STAT-03: lme4; effect = deviation of the batch's mean x 0.7825.
    effects = dyestuff("dyestuff").effects["batch"][:, 0]
    assert effects == pytest.approx([-17.607, 0.391, 28.562, -23.085, 56.733, -44.995], abs=5e-4)
    y, batch = numbers("dyestuff", "yield"), table("dyestuff")["batch"]
    means = np.array([y[batch == each].mean() for each in np.unique(batch)])
    assert effects / (means - y.mean()) == pytest.approx(np.full(6, 0.7825), abs=5e-5)


def test_dyestuff2_has_no_spread_between_batches_and_the_fit_says_so() -> None:
    # STAT-04: lme4 package data (Box and Tiao 1973), a singular fit there.
    found = dyestuff("dyestuff2")
    assert found.spreads.terms["batch"] == 0
    assert found.at_boundary == ("batch",)
    assert found.log_sd_errors["batch"] == np.inf
    assert found.spreads.residual == pytest.approx(3.715684, abs=5e-7)
    assert found.fixed == pytest.approx([5.6656])
    assert found.criterion == pytest.approx(161.8283, abs=5e-5)
    assert (found.effects["batch"] == 0).all()


def sleepstudy(*, rows: Any = slice(None), apart: bool = False, method: Any = "reml") -> Fit:
    y, days = numbers("sleepstudy", "reaction")[rows], numbers("sleepstudy", "days")[rows]
    subject, x = table("sleepstudy")["subject"][rows], straight(days)
    together = [term("subject", subject, x)]
    terms = [term("start", subject), term("slope", subject, days[:, None])] if apart else together
    return fit(cross_products(y, x, terms), method=method)


def test_sleepstudy_with_intercept_and_slope_that_go_together() -> None:
    # STAT-05: lme4; variances 612.10, 35.07, 654.94 and correlation 0.07 in lme4's reference pages.
    found = sleepstudy()
    assert found.fixed == pytest.approx([251.40510, 10.46729], abs=5e-6)
    assert errors(found) == pytest.approx([6.8246, 1.5458], abs=5e-5)
    first, second, together = slopes(found, "subject")
    # Printed 24.7407 and 5.9221 by a search that stops a little earlier: 4 digits.
    assert first == pytest.approx(24.7407, rel=5e-5)
    assert second == pytest.approx(5.9221, rel=5e-5)
    assert together == pytest.approx(0.0656, abs=1e-4)
    assert found.spreads.residual == pytest.approx(25.5918, abs=5e-5)
    assert found.criterion == pytest.approx(1743.628, abs=5e-4)
    # Subject 308, the first: STAT-05, "recomputed".
    assert found.effects["subject"][0] == pytest.approx([2.2586, 9.1990], abs=5e-4)


def test_sleepstudy_by_plain_likelihood() -> None:
    # lme4's reference pages: -2 log L 1751.94.
    assert sleepstudy(method="ml").criterion == pytest.approx(1751.94, abs=5e-3)


def test_sleepstudy_without_its_first_two_days() -> None:
    # lme4's reference pages, rows with days >= 2.
    found = sleepstudy(rows=numbers("sleepstudy", "days") >= 2)
    assert slopes(found, "subject") == pytest.approx((31.507, 6.766, -0.25), abs=5e-3)
    assert slopes(found, "subject")[:2] == pytest.approx((31.507, 6.766), rel=5e-5)
    assert found.spreads.residual == pytest.approx(25.526, abs=5e-4)
    assert found.fixed == pytest.approx([245.10, 11.44], abs=5e-3)
    assert found.criterion == pytest.approx(1404.094, abs=5e-4)


def test_sleepstudy_with_intercept_and_slope_apart() -> None:
    # The same pages, uncorrelated effects.
    found = sleepstudy(rows=numbers("sleepstudy", "days") >= 2, apart=True)
    assert found.spreads.terms["start"] == pytest.approx(28.843, abs=2e-3)
    assert found.spreads.terms["slope"] == pytest.approx(6.285, abs=5e-4)
    assert found.spreads.residual == pytest.approx(25.747, abs=5e-4)
    # One unit of the last digit more than half: their search stopped a little above the least value, 1404.6256.
    assert found.criterion == pytest.approx(1404.626, abs=1e-3)


def penicillin(method: Any = "reml") -> Fit:
    y, columns = numbers("penicillin", "diameter"), table("penicillin")
    terms = [term("plate", columns["plate"]), term("sample", columns["sample"])]
    return fit(cross_products(y, np.ones((len(y), 1)), terms), method=method)


def test_penicillin_with_crossed_plates_and_samples() -> None:
    # lme4's reference pages.
    found = penicillin()
    assert found.spreads.terms["plate"] == pytest.approx(0.8467, abs=5e-5)
    assert found.spreads.terms["sample"] == pytest.approx(1.9316, abs=5e-5)
    assert found.spreads.residual == pytest.approx(0.5499, abs=5e-5)
    assert found.fixed == pytest.approx([22.97], abs=5e-3)
    assert found.criterion == pytest.approx(330.8606, abs=5e-5)


def test_penicillin_by_plain_likelihood() -> None:
    # Tests of MixedModels.jl (MIT licence).
    found = penicillin("ml")
    assert found.criterion == pytest.approx(332.18835, abs=5e-6)
    assert found.spreads.terms["plate"] == pytest.approx(0.845572, rel=5e-5)
    assert found.spreads.terms["sample"] == pytest.approx(1.770666, rel=5e-5)
    assert found.spreads.residual == pytest.approx(0.549932, rel=5e-5)
    assert errors(found) == pytest.approx([0.744604], rel=5e-5)


def oats(fixed: Floats) -> Fit:
    columns = table("oats")
    plot = np.char.add(columns["block"], columns["variety"])
    return fit(cross_products(numbers("oats", "yield"), fixed, [term("block", columns["block"]), term("plot", plot)]))


def test_oats_in_plots_of_blocks() -> None:
    # STAT-06 and nlme (Pinheiro and Bates 2000): nitrogen as a line.
    found = oats(straight(numbers("oats", "nitro")))
    assert found.fixed == pytest.approx([81.8722, 73.6667], abs=5e-5)
    assert errors(found) == pytest.approx([6.9453, 6.7815], abs=5e-5)
    assert found.spreads.terms["block"] == pytest.approx(14.506, abs=5e-4)
    assert found.spreads.terms["plot"] == pytest.approx(11.005, abs=5e-4)
    assert found.spreads.residual == pytest.approx(12.867, abs=5e-4)
    assert found.criterion == pytest.approx(2 * 296.52, abs=0.01)


def test_oats_spreads_have_nlmes_intervals() -> None:
    # nlme's 95 % intervals are normal on the log of an sd for the residual, and nearly so for the others.
    found = oats(straight(numbers("oats", "nitro")))
    published = {"block": (6.6089, 31.839), "plot": (6.4081, 18.898), RESIDUAL: (10.637, 15.565)}
    sds = {**found.spreads.terms, RESIDUAL: found.spreads.residual}
    for name, (low, high) in published.items():
        half = 1.959964 * float(found.log_sd_errors[name])
        assert (sds[name] * np.exp(-half), sds[name] * np.exp(half)) == pytest.approx((low, high), rel=2e-3)


def test_oats_with_nitrogen_in_steps_and_varieties() -> None:
    # nlme's test output: nitrogen as a factor plus variety.
    nitro, variety = dummies(table("oats")["nitro"]), dummies(table("oats")["variety"])
    found = oats(straight(*nitro, *variety))
    assert found.spreads.terms["block"] == pytest.approx(14.645, abs=5e-4)
    assert found.spreads.terms["plot"] == pytest.approx(10.473, abs=5e-4)
    assert found.spreads.residual == pytest.approx(12.75, abs=5e-3)
    assert found.fixed[-2:] == pytest.approx([5.292, -6.875], abs=5e-4)
    assert errors(found)[-2:] == pytest.approx([7.0789, 7.0789], abs=5e-5)


def test_oats_with_nitrogen_steps_that_differ_by_variety() -> None:
    # STAT-06: nlme, the factorial model.
    nitro, variety = dummies(table("oats")["nitro"]), dummies(table("oats")["variety"])
    found = oats(straight(*nitro, *variety, *(one * other for one in nitro for other in variety)))
    assert found.spreads.terms["block"] == pytest.approx(14.645, abs=5e-4)
    assert found.spreads.terms["plot"] == pytest.approx(10.299, abs=5e-4)
    assert found.spreads.residual == pytest.approx(13.307, abs=5e-4)


def test_rails_travel_times() -> None:
    # nlme's test output. Its plain likelihood gives the mean an error of 9.554, with 17 degrees of freedom of 18.
    y = numbers("rail", "travel")
    products = cross_products(y, np.ones((18, 1)), [term("rail", table("rail")["rail"])])
    found, plain = fit(products), fit(products, method="ml")
    assert found.fixed == pytest.approx([66.5])
    assert errors(found) == pytest.approx([10.171], abs=5e-4)
    assert found.spreads.terms["rail"] == pytest.approx(24.805, abs=1e-3)
    assert found.spreads.residual == pytest.approx(4.0208, abs=5e-5)
    assert found.criterion == pytest.approx(2 * 61.089, abs=1e-3)
    assert plain.spreads.terms["rail"] == pytest.approx(22.624, abs=5e-4)
    assert plain.criterion == pytest.approx(2 * 64.28, abs=0.01)
    assert errors(plain) * np.sqrt(18 / 17) == pytest.approx([9.554], abs=5e-4)


def cake(temperature: str) -> Fit:
    columns, temp = table("cake"), numbers("cake", "temp")
    recipe, steps = dummies(columns["recipe"]), dummies(columns["temp"])
    both = [one * other for one in recipe for other in steps]
    fixed = {"line": [*recipe, temp], "steps": [*recipe, *steps], "both": [*recipe, *steps, *both]}[temperature]
    batch = term("batch", np.char.add(columns["recipe"], columns["replicate"]))
    return fit(cross_products(numbers("cake", "angle"), straight(*fixed), [batch]), method="ml")


@pytest.mark.parametrize(
    ("temperature", "batch", "residual", "criterion"),
    [("line", 6.229, 4.540, 1696.1578), ("steps", 6.237, 4.475, 1689.5822), ("both", 6.249, 4.371, 1679.0519)],
)
def test_cakes_by_plain_likelihood(temperature: str, batch: float, residual: float, criterion: float) -> None:
    # lme4's reference pages.
    found = cake(temperature)
    assert found.spreads.terms["batch"] == pytest.approx(batch, abs=5e-4)
    assert found.spreads.residual == pytest.approx(residual, abs=6e-4)
    assert found.criterion == pytest.approx(criterion, abs=1e-4)


def test_cakes_coefficients() -> None:
    # lme4's reference pages.
    assert cake("line").fixed == pytest.approx([1.516, -1.478, -1.522, 0.158], abs=5e-4)


def dietox(kind: str) -> Fit:
    weight, time, pig = numbers("dietox", "weight"), numbers("dietox", "time"), table("dietox")["pig"]
    x = straight(time)
    terms = {
        "intercept": [term("pig", pig)],
        "slope": [term("pig", pig, x)],
        "apart": [term("pig", pig), term("growth", pig, time[:, None])],
    }
    return fit(cross_products(weight, x, terms[kind]))


def test_pigs_that_differ_in_level() -> None:
    # lme4 output printed in the statsmodels notebook "Linear Mixed Effects Models".
    found = dietox("intercept")
    assert found.fixed == pytest.approx([15.72352, 6.94251], abs=5e-6)
    assert errors(found) == pytest.approx([0.78805, 0.03339], abs=6e-6)
    assert found.spreads.terms["pig"] ** 2 == pytest.approx(40.39, abs=5e-3)
    assert found.spreads.residual**2 == pytest.approx(11.37, abs=5e-3)
    assert found.criterion == pytest.approx(4809.6, abs=0.05)


def test_pigs_that_differ_in_growth_too_reach_the_better_optimum() -> None:
    # The same notebook; another library stops at 4440.8 here.
    found = dietox("slope")
    assert found.criterion == pytest.approx(4434.1, abs=0.05)
    assert found.fixed == pytest.approx([15.73865, 6.93901], abs=5e-6)
    # Half a unit of the last digit and a little: 0.550125 and 0.079825 at the least value.
    assert errors(found) == pytest.approx([0.55012, 0.07982], abs=6e-6)
    first, second, together = slopes(found, "pig")
    assert first**2 == pytest.approx(19.493, abs=1e-3)
    assert second**2 == pytest.approx(0.416, abs=5e-4)
    assert together == pytest.approx(0.10, abs=5e-3)
    assert found.spreads.residual**2 == pytest.approx(6.038, rel=1e-4)  # 6.03745 at the least value


def test_pigs_whose_level_and_growth_go_apart() -> None:
    # The same notebook.
    found = dietox("apart")
    assert found.criterion == pytest.approx(4434.7, abs=0.05)
    assert found.spreads.terms["pig"] ** 2 == pytest.approx(19.8404, rel=1e-4)
    assert found.spreads.terms["growth"] ** 2 == pytest.approx(0.4234, abs=1e-4)
    assert found.spreads.residual**2 == pytest.approx(6.0282, abs=1e-4)


def test_a_new_lot_is_drawn_toward_the_houses_mean() -> None:
    # STAT-08: normal prior, normal rows (Gelman et al. 2013, ch. 2): house 250 g, lots 20 g, trays 30 g, three of 290.
    lot = Term(name="lot", level=np.zeros(3, dtype=int), levels=1)
    products = cross_products(np.full(3, 290.0), np.ones((3, 1)), [lot])
    house = FixedPrior(mean=np.array([250.0]), sd=np.zeros(1))
    found = solve(products, Spreads(30.0, {"lot": 20.0}), fixed_prior=house)
    told = found.predict([[1.0], [1.0]], {"lot": np.array([0, NEW])})
    assert told.mean == pytest.approx([272.9, 250.0], abs=0.05)
    assert [told.known_sd[0], told.new_sd["lot"][1]] == pytest.approx([13.1, 20.0], abs=0.05)


# Side by side ---------------------------------------------------------------------------------------------------------


def peer(y: Floats, x: Floats, terms: list[Term]) -> Any:
    """The same restricted fit by statsmodels, every term a variance component of one group of all rows."""
    from statsmodels.regression.mixed_linear_model import MixedLM, VCSpec

    terms = sorted(terms, key=lambda each: each.name)
    designs = [np.eye(each.levels)[each.level] for each in terms]
    labels = [[str(level) for level in range(each.levels)] for each in terms]
    spec = VCSpec([each.name for each in terms], [[each] for each in labels], [[each] for each in designs])
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it speaks of its own optimisers
        return MixedLM(y, x, np.ones(len(y)), exog_vc=spec).fit(reml=True, method="bfgs")


def assert_alike(found: Fit, theirs: Any, names: list[str]) -> None:
    # Its search stops at a gradient of 1e-5 or so of each variance's root: 4 digits hold, not more.
    assert found.criterion == pytest.approx(-2 * theirs.llf, abs=1e-4)
    assert found.fixed == pytest.approx(theirs.fe_params, rel=1e-4)
    assert errors(found) == pytest.approx(np.sqrt(np.diag(theirs.cov_params()))[: len(found.fixed)], rel=1e-3)
    mine = [float(found.spreads.terms[name]) ** 2 for name in sorted(names)]  # its components are in that order
    assert mine == pytest.approx(theirs.vcomp, rel=1e-3)
    assert found.spreads.residual**2 == pytest.approx(theirs.scale, rel=1e-3)


def test_an_independent_fitter_agrees_on_penicillin() -> None:
    y, columns = numbers("penicillin", "diameter"), table("penicillin")
    terms = [term("plate", columns["plate"]), term("sample", columns["sample"])]
    assert_alike(penicillin(), peer(y, np.ones((len(y), 1)), terms), ["plate", "sample"])


def test_an_independent_fitter_agrees_on_oats() -> None:
    columns, x = table("oats"), straight(numbers("oats", "nitro"))
    terms = [term("block", columns["block"]), term("plot", np.char.add(columns["block"], columns["variety"]))]
    assert_alike(oats(x), peer(numbers("oats", "yield"), x, terms), ["block", "plot"])


def test_an_independent_fitter_agrees_on_sowings_of_lots_crossed_with_seasons() -> None:
    rng = np.random.default_rng(12)
    sowing = np.arange(240) // 4
    lot, season = sowing % 12, np.arange(240) * 6 // 240
    names = {"lot": (lot, 12, 0.3), "season": (season, 6, 0.2), "sowing": (sowing, 60, 0.25)}
    x = straight(rng.normal(size=240))
    y = x @ [5.0, 0.2] + rng.normal(0, 0.15, 240)
    for level, levels, sd in names.values():
        y = y + rng.normal(0, sd, levels)[level]
    terms = [Term(name=name, level=level, levels=levels) for name, (level, levels, _) in names.items()]
    assert_alike(fit(cross_products(y, x, terms)), peer(y, x, terms), list(names))


def test_an_independent_fitter_agrees_on_sleepstudys_slopes() -> None:
    from statsmodels.regression.mixed_linear_model import MixedLM

    y, x = numbers("sleepstudy", "reaction"), straight(numbers("sleepstudy", "days"))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        theirs = MixedLM(y, x, table("sleepstudy")["subject"], exog_re=x).fit(reml=True)
    found = sleepstudy()
    assert found.criterion == pytest.approx(-2 * theirs.llf, abs=1e-4)
    assert np.asarray(found.spreads.terms["subject"]) == pytest.approx(np.asarray(theirs.cov_re), rel=5e-3)
    assert found.effects["subject"][0] == pytest.approx(np.asarray(theirs.random_effects["308"]), rel=5e-3)
