"""Linear mixed models against the same model written out in full matrices, and at the edges of what a farm records.

The full form is the textbook's: with V the covariance of the rows, coefficients by generalised least squares, effects
and predictions by their covariance with the rows (Robinson, 1991, That BLUP is a good thing, Statistical Science 6,
15-32, from memory). It shares no code with the package. Tolerances of 1e-8 leave room for rounding only.
"""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from numpy.typing import NDArray

from trayward.errors import InputError
from trayward.outlook import mixed_layout
from trayward.outlook.mixed import RESIDUAL, Spreads, cross_products, fit, solve
from trayward.outlook.mixed_equations import equations
from trayward.outlook.mixed_model import model_of, start_of
from trayward.outlook.mixed_point import Point
from trayward.outlook.terms import NEW, FixedPrior, SdPrior, Term

Floats = NDArray[np.float64]
Shape = tuple[str, int, int, Any]
"""Name, levels, effects a level, known sd (None: estimated)."""

CROSSED: list[Shape] = [("recipe", 4, 1, None), ("lot", 6, 1, None), ("season", 3, 1, None)]
KNOWN: list[Shape] = [("recipe", 4, 1, 0.7), ("lot", 5, 1, np.array([0.3, 0.0, 1.0, 0.2, 2.0])), ("sowing", 9, 1, None)]
SLOPES: list[Shape] = [("recipe", 3, 2, None), ("lot", 7, 2, None), ("sowing", 12, 1, None)]
WIDE_FIRST: list[Shape] = [("sowing", 9, 2, None), ("lot", 4, 1, None), ("recipe", 3, 2, None)]
ONE: list[Shape] = [("lot", 5, 1, None)]
NONE: list[Shape] = []
KINDS = {"crossed": CROSSED, "known": KNOWN, "slopes": SLOPES, "wide first": WIDE_FIRST, "one": ONE, "none": NONE}


class Problem:
    """A small model with made-up rows, and its answers by full matrices."""

    def __init__(self, shapes: list[Shape], seed: int, *, nested: bool = False, prior: bool = False) -> None:
        rng = np.random.default_rng(seed)
        self.rng, self.shapes, self.n = rng, shapes, 40
        self.x = np.column_stack([np.ones(self.n), rng.normal(size=(self.n, 2)) + 3])
        self.y = 50 + rng.normal(0, 2, self.n)
        self.w = rng.uniform(0.3, 3, self.n)
        self.levels = {name: rng.integers(0, levels, self.n) for name, levels, _, _ in shapes}
        if nested and shapes:
            fine = max(shapes, key=lambda shape: shape[1])
            for name, levels, _, _ in shapes:
                if name != fine[0]:
                    self.levels[name] = self.levels[fine[0]] * 7 % levels
        self.columns = {name: rng.normal(1, 1, (self.n, width)) for name, _, width, _ in shapes if width > 1}
        self.terms = [self._term(*shape) for shape in shapes]
        self.spreads = Spreads(1.3, {s[0]: self._spread(s) for s in shapes if s[3] is None})
        self.prior = FixedPrior(mean=np.array([40.0, 1.0, 0.0]), sd=np.array([np.inf, 0.5, 2.0])) if prior else None
        self.products = cross_products(self.y, self.x, self.terms, weights=self.w)

    def _term(self, name: str, levels: int, width: int, known: Any) -> Term:
        level, columns = self.levels[name], self.columns.get(name)
        return Term(name=name, level=level, levels=levels, columns=columns, known_sd=known)

    def _spread(self, shape: Shape) -> Any:
        root = self.rng.normal(size=(shape[2], shape[2]))
        return abs(float(root[0, 0])) + 0.2 if shape[2] == 1 else root @ root.T + 0.1 * np.eye(shape[2])

    def design(self, levels: dict[str, Any], columns: dict[str, Floats], rows: int) -> Floats:
        """All random columns, NEW levels left empty."""
        blocks = [np.zeros((rows, 0))]
        for name, size, width, _ in self.shapes:
            block = np.zeros((rows, size, width))
            seen = np.flatnonzero(levels[name] >= 0)
            block[seen, levels[name][seen]] = columns[name][seen] if width > 1 else 1.0
            blocks.append(block.reshape(rows, -1))
        return np.hstack(blocks)

    def random_covariance(self) -> Floats:
        blocks = []
        for name, levels, _, known in self.shapes:
            if known is not None:
                blocks.append(np.diag(np.broadcast_to(known, (levels,)) ** 2))
                continue
            spread = self.spreads.terms[name]
            each = np.array([[spread**2]]) if np.ndim(spread) == 0 else spread
            blocks.append(np.kron(np.eye(levels), each))
        size = sum(len(block) for block in blocks)
        whole, at = np.zeros((size, size)), 0
        for block in blocks:
            whole[at : at + len(block), at : at + len(block)] = block
            at += len(block)
        return whole

    def full(self) -> dict[str, Any]:
        """Everything by full matrices: unknowns stacked as proper-or-flat coefficients, then effects."""
        p = self.x.shape[1]
        sd = np.full(p, np.inf) if self.prior is None else self.prior.sd
        mean = np.zeros(p) if self.prior is None else np.where(np.isfinite(sd), self.prior.mean, 0.0)
        flat = ~np.isfinite(sd)
        before = np.zeros((p + len(self.random_covariance()),) * 2)
        before[:p, :p] = np.diag(np.where(flat, 0.0, np.where(flat, 0.0, sd) ** 2))
        before[p:, p:] = self.random_covariance()
        whole = np.hstack([self.x, self.design(self.levels, self.columns, self.n)])
        v = whole @ before @ whole.T + np.diag(self.spreads.residual**2 / self.w)
        vi = np.linalg.inv(v)
        x, gap = self.x[:, flat], self.y - self.x @ mean
        xvx = x.T @ vi @ x
        b = np.linalg.solve(xvx, x.T @ vi @ gap)
        left = gap - x @ b
        # Flat coefficients enter as the directions `up`; the rest is conditioned on the rows.
        up = np.zeros((len(before), flat.sum()))
        up[np.flatnonzero(flat), np.arange(flat.sum())] = 1.0
        gain = before @ whole.T @ vi
        estimate = np.r_[mean, np.zeros(len(before) - p)] + up @ b + gain @ left
        bent = up - gain @ x
        covariance = before - gain @ whole @ before + bent @ np.linalg.solve(xvx, bent.T)
        ml = self.n * np.log(2 * np.pi) + np.linalg.slogdet(v)[1] + left @ vi @ left
        reml = ml - flat.sum() * np.log(2 * np.pi) + np.linalg.slogdet(xvx)[1]
        return {"estimate": estimate, "covariance": covariance, "ml": ml, "reml": reml}


def stacked(found: Any, shapes: list[Shape]) -> Floats:
    return np.concatenate([found.fixed, *(found.effects[shape[0]].ravel() for shape in shapes)])


@pytest.fixture(params=[(kind, nested, prior) for kind in KINDS for nested in (False, True) for prior in (False, True)])
def problem(request: pytest.FixtureRequest) -> Problem:
    kind, nested, prior = request.param
    return Problem(KINDS[kind], seed=len(kind) + 100 * nested, nested=nested, prior=prior)


def test_estimates_and_their_errors_are_those_of_full_matrices(problem: Problem) -> None:
    found, full = solve(problem.products, problem.spreads, fixed_prior=problem.prior), problem.full()
    assert stacked(found, problem.shapes) == pytest.approx(full["estimate"], rel=1e-8, abs=1e-8)
    assert found.fixed_covariance == pytest.approx(full["covariance"][:3, :3], rel=1e-8, abs=1e-8)
    errors = np.concatenate([np.zeros(0), *(found.effect_se[shape[0]].ravel() for shape in problem.shapes)])
    assert errors**2 == pytest.approx(np.diag(full["covariance"])[3:], rel=1e-8, abs=1e-8)


def test_the_criterion_is_minus_twice_the_likelihood_of_full_matrices(problem: Problem) -> None:
    found, full = solve(problem.products, problem.spreads, fixed_prior=problem.prior), problem.full()
    assert found.criterion == pytest.approx(full["reml"], abs=1e-8)
    assert found.system.criterion("ml") == pytest.approx(full["ml"], abs=1e-8)


def test_predictions_carry_the_doubt_of_full_matrices(problem: Problem) -> None:
    found, full = solve(problem.products, problem.spreads, fixed_prior=problem.prior), problem.full()
    m, rng = 30, problem.rng
    x = np.column_stack([np.ones(m), rng.normal(size=(m, 2))])
    # Some levels are left free, as in a plan: also pairs of levels that no row brought together.
    low = 0 if any(np.ndim(shape[3]) for shape in problem.shapes) else NEW
    levels = {name: rng.integers(low, size, m) for name, size, _, _ in problem.shapes}
    columns = {name: rng.normal(size=(m, width)) for name, _, width, _ in problem.shapes if width > 1}
    told = found.predict(x, levels, columns)
    whole = np.hstack([x, problem.design(levels, columns, m)])
    assert told.mean == pytest.approx(whole @ full["estimate"], rel=1e-8)
    variance = np.einsum("mi,ij,mj->m", whole, full["covariance"], whole)
    assert told.known_sd**2 == pytest.approx(variance, rel=1e-8, abs=1e-8)
    total = variance + problem.spreads.residual**2
    for name, _, _, known in problem.shapes:
        spread = known if known is not None else problem.spreads.terms[name]
        z = columns.get(name, np.ones((m, 1)))
        each = np.array([[spread**2]]) if np.ndim(spread) == 0 else spread
        new = np.where(levels[name] == NEW, np.einsum("mi,ij,mj->m", z, each, z) if low == NEW else 0.0, 0.0)
        assert told.new_sd[name] ** 2 == pytest.approx(new)
        total = total + new
    assert told.total_sd**2 == pytest.approx(total)


class OneAfterAnother:
    """Stands for a generator: gives each draw one standard normal of its own that is 1, all others 0."""

    def __init__(self) -> None:
        self.given = 0

    def standard_normal(self, shape: tuple[int, ...]) -> Floats:
        rows = int(np.prod(shape[:-1]))
        found = np.zeros((rows, shape[-1]))
        found[np.arange(rows), self.given + np.arange(rows)] = 1.0
        self.given += rows
        return found.reshape(shape)


def test_draws_have_exactly_the_joint_covariance_of_full_matrices(problem: Problem) -> None:
    found, full = solve(problem.products, problem.spreads, fixed_prior=problem.prior), problem.full()
    size = len(full["estimate"])
    drawn = found.draw(OneAfterAnother(), size)  # type: ignore[arg-type]
    parts = [drawn.fixed, *(drawn.effects[shape[0]].reshape(size, -1) for shape in problem.shapes)]
    off = np.hstack(parts) - full["estimate"]
    assert off.T @ off == pytest.approx(full["covariance"], rel=1e-8, abs=1e-8)


def test_draws_of_some_levels_repeat_a_level_and_keep_new_ones_apart() -> None:
    problem = Problem(CROSSED, 3)
    found = solve(problem.products, problem.spreads)
    wanted = {"lot": np.array([2, NEW, 2, NEW]), "season": np.array([1])}
    drawn = found.draw(np.random.default_rng(5), 40_000, wanted)
    assert set(drawn.effects) == {"lot", "season"}
    lot = drawn.effects["lot"][:, :, 0]
    assert (lot[:, 0] == lot[:, 2]).all()
    assert lot[:, 0].mean() == pytest.approx(found.effects["lot"][2, 0], abs=0.03)
    # 40,000 draws: an sd is within 4 x 0.35 %, a correlation within 4 x 0.5 %.
    spread = problem.spreads.terms["lot"]
    assert lot[:, [1, 3]].std(axis=0) == pytest.approx([spread, spread], rel=0.015)
    assert abs(np.corrcoef(lot.T)[1, [0, 3]]).max() < 0.02


@pytest.mark.parametrize("method", ["reml", "ml"])
@pytest.mark.parametrize("with_priors", [False, True])
@pytest.mark.parametrize("kind", ["crossed", "known", "slopes", "wide first"])
def test_the_gradient_is_that_of_finite_differences(kind: str, with_priors: bool, method: Any) -> None:
    problem = Problem(KINDS[kind], 11, prior=with_priors)
    if with_priors:
        terms = [
            Term(**{**{key: getattr(term, key) for key in term.__struct_fields__}, "sd_prior": SdPrior(0.5, 0.8)})
            for term in problem.terms
        ]
        problem.products = cross_products(problem.y, problem.x, terms, weights=problem.w)
    found = equations(problem.products, problem.prior)
    model = model_of(found, method, SdPrior(1.0, 0.5) if with_priors else None)
    at = start_of(model) + np.random.default_rng(1).normal(0, 0.3, model.size)
    step = 1e-5
    by_difference = [
        (Point(model, at + step * one).criterion - Point(model, at - step * one).criterion) / (2 * step)
        for one in np.eye(model.size)
    ]
    # Central differences at 1e-5 of a criterion near 200: rounding 1e-8, curvature 1e-9.
    assert Point(model, at).gradient == pytest.approx(by_difference, rel=1e-5, abs=1e-5)


def test_the_average_information_of_full_matrices_leads_the_search() -> None:
    problem = Problem(CROSSED, 2)
    model = model_of(equations(problem.products, None), "reml", None)
    point = Point(model, model.parameters(problem.spreads))
    z = problem.design(problem.levels, problem.columns, problem.n)
    r0 = np.diag(1 / problem.w)
    at, slopes = 0, [2 * problem.spreads.residual**2 * r0]
    for name, size, _, _ in problem.shapes:
        block = z[:, at : at + size]
        slopes.append(2 * problem.spreads.terms[name] ** 2 * block @ block.T)
        at += size
    vi = np.linalg.inv(sum(slopes) / 2)
    px = vi @ problem.x
    p = vi - px @ np.linalg.solve(problem.x.T @ px, px.T)
    q = np.column_stack([slope @ p @ problem.y for slope in slopes])
    assert point.information == pytest.approx(q.T @ p @ q, rel=1e-5)  # the start's spreads carry the floor, 1e-6


@pytest.mark.parametrize("kind", ["crossed", "slopes", "wide first", "known"])
def test_rows_added_later_count_as_if_they_had_been_there(kind: str) -> None:
    problem = Problem(KINDS[kind], 21)
    early, late = slice(0, 33), slice(33, 40)

    def terms(rows: slice) -> list[Term]:
        # A level known one by one cannot grow, so that term is there in full from the start.
        grown = {t.name: t.levels if np.ndim(t.known_sd) else int(t.level[rows].max()) + 1 for t in problem.terms}
        return [
            Term(
                name=term.name,
                level=term.level[rows],
                levels=grown[term.name],
                columns=None if term.columns is None else term.columns[rows],
                known_sd=term.known_sd,
            )
            for term in problem.terms
        ]

    first = cross_products(problem.y[early], problem.x[early], terms(early), weights=problem.w[early])
    both = first.with_rows(
        problem.y[late],
        problem.x[late],
        {term.name: term.level[late] for term in problem.terms},
        {name: columns[late] for name, columns in problem.columns.items()},
        weights=problem.w[late],
    )
    whole = cross_products(problem.y, problem.x, terms(slice(0, 40)), weights=problem.w)
    mine, anew = solve(both, problem.spreads), solve(whole, problem.spreads)
    assert mine.rows == anew.rows == 40
    assert mine.criterion == pytest.approx(anew.criterion, abs=1e-8)
    assert stacked(mine, problem.shapes) == pytest.approx(stacked(anew, problem.shapes), rel=1e-8, abs=1e-8)


def test_a_tray_of_a_new_lot_and_sowing_makes_their_terms_grow() -> None:
    problem = Problem(CROSSED, 4)
    more = problem.products.with_rows(
        [60.0], [[1.0, 3.0, 3.0]], {"recipe": np.array([0]), "lot": np.array([8]), "season": np.array([1])}
    )
    found = solve(more, problem.spreads)
    assert found.effects["lot"].shape == (9, 1)
    # Levels 6 and 7 have no row: their effect is 0, as uncertain as a new lot's.
    assert found.effects["lot"][6:8, 0] == pytest.approx([0, 0])
    assert found.effect_se["lot"][6:8, 0] == pytest.approx([problem.spreads.terms["lot"]] * 2)
    assert found.effects["lot"][8, 0] > 0


def test_the_order_in_which_terms_are_put_away_changes_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    problem = Problem(CROSSED, 8, nested=True)
    usual = fit(problem.products)
    assert usual.system.layout.first == 1
    assert usual.system.layout.second == 0
    monkeypatch.setattr(mixed_layout, "MOST_PAIRS", -1)
    dense = fit(problem.products)
    assert dense.system.layout.first is None
    assert dense.criterion == pytest.approx(usual.criterion, abs=1e-8)
    assert stacked(dense, CROSSED) == pytest.approx(stacked(usual, CROSSED), rel=1e-5, abs=1e-6)


def farm(seed: int, rows: int = 3_000) -> tuple[Floats, Floats, list[Term], dict[str, float]]:
    """Trays of sowings of lots of recipes, crossed with seasons, and the sds they were made with."""
    rng = np.random.default_rng(seed)
    lot_of, recipe_of = rng.integers(0, 60, 500), np.arange(60) % 20
    season_of, sowing = rng.integers(0, 26, 500), rng.integers(0, 500, rows)
    level = {"recipe": recipe_of[lot_of][sowing], "lot": lot_of[sowing], "season": season_of[sowing], "sowing": sowing}
    true = {"recipe": 0.4, "lot": 0.15, "season": 0.1, "sowing": 0.2, RESIDUAL: 0.12}
    x = np.column_stack([np.ones(rows), rng.normal(size=rows)])
    y = x @ [5.0, 0.3] + rng.normal(0, true[RESIDUAL], rows)
    terms = [Term(name=name, level=each, levels=int(each.max()) + 1) for name, each in level.items()]
    for term in terms:
        y += rng.normal(0, true[term.name], term.levels)[term.level]
    return y, x, terms, true


def test_a_simulated_farms_spreads_are_found_within_their_errors() -> None:
    offs = []
    for seed in range(20):
        y, x, terms, true = farm(seed)
        found = fit(cross_products(y, x, terms))
        spreads = {**found.spreads.terms, RESIDUAL: found.spreads.residual}
        offs.append([np.log(spreads[name] / true[name]) / found.log_sd_errors[name] for name in true])
        assert abs(found.fixed[1] - 0.3) < 4 * np.sqrt(found.fixed_covariance[1, 1])
    # 100 offs that are standard normal but for the log's skew: their mean has sd 0.1, their sd one of 0.07.
    assert abs(np.mean(offs)) < 0.35
    assert 0.8 < np.std(offs) < 1.25
    assert np.abs(offs).max() < 4.5


def test_predicted_eight_in_ten_hold_eight_in_ten_of_trays_to_come() -> None:
    held = []
    for seed in range(6):
        y, x, terms, _ = farm(100 + seed, 4_000)
        early = slice(0, 3_000)
        found = fit(cross_products(y[early], x[early], [_first(term, early) for term in terms]))
        told = found.predict(x[3_000:], {term.name: term.level[3_000:] for term in terms})
        held.append(np.abs(y[3_000:] - told.mean) < 1.2816 * told.total_sd)
    # 6,000 trays that share sowings: a binomial sd of 0.5 % and a little more.
    assert np.mean(held) == pytest.approx(0.8, abs=0.02)


def _first(term: Term, rows: slice) -> Term:
    return Term(name=term.name, level=term.level[rows], levels=term.levels)


def test_a_fit_begun_at_another_ends_where_it_would_have_ended_alone() -> None:
    y, x, terms, _ = farm(1)
    products = cross_products(y, x, terms)
    alone = fit(products)
    begun = fit(products, start=Spreads(1.0, {"recipe": 0.0, "lot": 2.0, "season": 0.001, "sowing": 1.0}))
    assert begun.criterion == pytest.approx(alone.criterion, abs=1e-7)
    assert list(begun.spreads.terms.values()) == pytest.approx(list(alone.spreads.terms.values()), rel=1e-5)
    again = solve(products, alone.spreads)
    assert again.criterion == pytest.approx(alone.criterion, abs=1e-9)


def test_slopes_that_do_not_differ_are_told_to_be_at_the_boundary() -> None:
    rng = np.random.default_rng(5)
    lot = rng.integers(0, 12, 200)
    x = np.column_stack([np.ones(200), rng.normal(size=200)])
    y = x @ [5.0, 0.3] + rng.normal(0, 0.4, 12)[lot] + rng.normal(0, 0.2, 200)
    wide = fit(cross_products(y, x, [Term(name="lot", level=lot, levels=12, columns=x)]))
    plain = fit(cross_products(y, x, [Term(name="lot", level=lot, levels=12)]))
    covariance = np.asarray(wide.spreads.terms["lot"])
    assert wide.at_boundary == ("lot",)
    assert plain.at_boundary == ()
    assert np.linalg.eigvalsh(covariance).min() >= 0
    assert np.sqrt(covariance[0, 0]) == pytest.approx(plain.spreads.terms["lot"], rel=0.05)
    assert wide.criterion <= plain.criterion
    again = solve(wide.system.equations.products, wide.spreads)
    assert again.criterion == pytest.approx(wide.criterion, abs=1e-5)


@pytest.mark.parametrize("seed", range(12))
def test_no_search_from_elsewhere_goes_lower(seed: int) -> None:
    # scipy's own simplex search over the same criterion, from two starts; its tolerance is 1e-4.
    from scipy.optimize import minimize

    rng = np.random.default_rng(seed)
    n = int(rng.integers(15, 80))
    terms = [Term(name=name, level=rng.integers(0, n // 3, n), levels=n // 3) for name in ("lot", "sowing")]
    y = rng.normal(0, 1, n) + sum(rng.choice([0.0, 0.5, 2.0]) * rng.normal(size=n // 3)[t.level] for t in terms)
    products = cross_products(y, np.ones((n, 1)), terms)
    model = model_of(equations(products, None), "reml", None)
    first = start_of(model)
    for start in (first, first + rng.normal(size=3)):
        other = minimize(lambda at: Point(model, model.within(at)).criterion, start, method="Nelder-Mead")
        assert fit(products).criterion < other.fun + 1e-4


# Few rows, odd rows ---------------------------------------------------------------------------------------------------

BELIEF = SdPrior(0.2, 0.6)


def small(rows: int, y: Any = None) -> Any:
    values = np.array([5.1, 4.8, 5.3, 5.0, 4.9])[:rows] if y is None else np.asarray(y, dtype=float)
    lot = Term(name="lot", level=np.arange(len(values)) // 2, levels=3, sd_prior=SdPrior(0.3, 0.5))
    products = cross_products(values, np.ones((len(values), 1)), [lot])
    prior = FixedPrior(mean=np.array([5.5]), sd=np.array([0.4]))
    return fit(products, fixed_prior=prior, residual_prior=BELIEF)


def test_with_no_tray_at_all_the_priors_are_what_is_known() -> None:
    found = small(0)
    assert found.spreads.residual == pytest.approx(0.2)
    assert found.spreads.terms["lot"] == pytest.approx(0.3)
    assert found.log_sd_errors["lot"] == pytest.approx(0.5)
    told = found.predict([[1.0]], {"lot": np.array([NEW])})
    assert told.mean == pytest.approx([5.5])
    assert told.total_sd == pytest.approx([np.sqrt(0.4**2 + 0.3**2 + 0.2**2)])


def test_one_tray_moves_the_mean_by_its_share_of_the_doubt() -> None:
    found = small(1)
    lot, residual = found.spreads.terms["lot"], found.spreads.residual
    share = 0.4**2 / (0.4**2 + lot**2 + residual**2)
    assert found.fixed[0] == pytest.approx(5.5 + share * (5.1 - 5.5))
    assert found.spreads.residual == pytest.approx(0.2, rel=0.1)


@pytest.mark.parametrize("rows", [2, 3, 5])
def test_a_handful_of_trays_gives_sensible_spreads(rows: int) -> None:
    found = small(rows)
    assert 0.05 < found.spreads.residual < 0.4
    assert 0.1 < found.spreads.terms["lot"] < 0.6
    assert np.isfinite([found.criterion, *found.fixed, *found.effects["lot"].ravel()]).all()


def test_priors_fade_as_trays_come_in() -> None:
    y, x, terms, _ = farm(7)
    wrong = [Term(name=term.name, level=term.level, levels=term.levels, sd_prior=SdPrior(0.05, 0.7)) for term in terms]
    found = fit(cross_products(y, x, wrong), residual_prior=SdPrior(0.5, 0.7))
    free = fit(cross_products(y, x, terms))
    assert found.spreads.residual == pytest.approx(free.spreads.residual, rel=0.01)
    assert found.spreads.terms["sowing"] == pytest.approx(free.spreads.terms["sowing"], rel=0.01)


def test_a_typing_error_ten_times_too_high_is_survived() -> None:
    found = small(5, [5.1, 4.8, 5.3, 50.0, 4.9])
    assert np.isfinite([found.spreads.residual, found.fixed[0]]).all()
    assert found.spreads.residual > 1


def test_trays_all_alike_leave_a_spread_by_the_prior() -> None:
    found = small(5, [5.0] * 5)
    assert 0.02 < found.spreads.residual < 0.2


def test_trays_all_alike_without_a_prior_give_a_spread_of_nearly_nothing_and_say_so() -> None:
    found = fit(cross_products(np.full(6, 5.0), np.ones((6, 1)), [Term(name="lot", level=np.arange(6) // 2, levels=3)]))
    assert RESIDUAL in found.at_boundary
    assert found.fixed == pytest.approx([5.0])
    assert found.spreads.residual < 1e-6


def test_sowings_of_one_tray_each_cannot_be_told_from_trays_and_the_fit_says_so() -> None:
    y = np.random.default_rng(3).normal(5, 0.3, 40)
    found = fit(cross_products(y, np.ones((40, 1)), [Term(name="sowing", level=np.arange(40), levels=40)]))
    both = np.hypot(found.spreads.residual, found.spreads.terms["sowing"])
    assert both == pytest.approx(y.std(ddof=1), rel=1e-4)
    assert found.log_sd_errors["sowing"] == np.inf


def test_a_single_lot_without_a_prior_is_told_to_be_unknown() -> None:
    y = np.random.default_rng(3).normal(5, 0.3, 20)
    found = fit(cross_products(y, np.ones((20, 1)), [Term(name="lot", level=np.zeros(20, dtype=int), levels=1)]))
    assert found.spreads.residual == pytest.approx(y.std(ddof=1), rel=1e-5)
    assert found.log_sd_errors["lot"] == np.inf


def test_a_column_that_others_explain_is_dropped_and_what_needs_it_alone_is_unknown() -> None:
    rng = np.random.default_rng(2)
    a = rng.integers(0, 2, 30)
    x = np.column_stack([np.ones(30), a == 0, a == 1]).astype(float)
    lot = Term(name="lot", level=rng.integers(0, 5, 30), levels=5)
    y = 5 + 0.3 * a + rng.normal(0, 0.1, 30)
    found = fit(cross_products(y, x, [lot]))
    plain = fit(cross_products(y, x[:, :2], [lot]))
    assert found.dropped == (2,)
    assert found.fixed[2] == 0
    assert found.criterion == pytest.approx(plain.criterion, abs=1e-8)
    told = found.predict([[1, 0, 1], [1, 1, 0], [1, 0, 0], [0, 1, -1]], {"lot": np.full(4, NEW)})
    assert np.isfinite(told.known_sd).tolist() == [True, True, False, True]
    assert told.mean[:2] == pytest.approx(plain.predict([[1, 0], [1, 1]], {"lot": np.full(2, NEW)}).mean)


def test_a_column_of_noughts_is_dropped() -> None:
    x = np.column_stack([np.ones(5), np.zeros(5)])
    found = fit(cross_products([5.1, 4.8, 5.3, 5.0, 4.9], x, []))
    assert found.dropped == (1,)
    assert found.spreads.residual == pytest.approx(np.std([5.1, 4.8, 5.3, 5.0, 4.9], ddof=1))


def test_a_prior_makes_columns_that_hang_together_harmless() -> None:
    x = np.ones((20, 2))
    y = np.random.default_rng(1).normal(3, 1, 20)
    prior = FixedPrior(mean=np.zeros(2), sd=np.array([10.0, 10.0]))
    found = solve(cross_products(y, x, []), Spreads(1.0, {}), fixed_prior=prior)
    assert found.dropped == ()
    assert found.fixed == pytest.approx(np.full(2, y.sum() / (2 * 20 + 1 / 100)))


def test_large_means_cost_no_digits() -> None:
    y, x, terms, _ = farm(9)
    near, far = fit(cross_products(y, x, terms)), fit(cross_products(y + 1e6, x, terms))
    assert far.criterion == pytest.approx(near.criterion, abs=1e-4)
    assert far.spreads.residual == pytest.approx(near.spreads.residual, rel=1e-5)
    assert far.fixed[0] - 1e6 == pytest.approx(near.fixed[0], abs=1e-6)


def test_rows_of_weight_nought_are_left_out() -> None:
    y, x, terms, _ = farm(5, 400)
    weights = np.ones(400)
    weights[::7] = 0
    kept = weights > 0
    some = [Term(name=term.name, level=term.level[kept], levels=term.levels) for term in terms]
    whole, part = fit(cross_products(y, x, terms, weights=weights)), fit(cross_products(y[kept], x[kept], some))
    assert whole.rows == kept.sum()
    assert whole.criterion == pytest.approx(part.criterion, abs=1e-8)


def test_a_row_of_weight_three_says_as_much_as_three_rows() -> None:
    y, x, terms, _ = farm(5, 300)
    spreads = Spreads(0.3, {"recipe": 0.4, "lot": 0.2, "season": 0.1, "sowing": 0.2})
    thrice = [Term(name=term.name, level=np.tile(term.level, 3), levels=term.levels) for term in terms]
    one = solve(cross_products(y, x, terms, weights=np.full(300, 3.0)), spreads)
    three = solve(cross_products(np.tile(y, 3), np.tile(x, (3, 1)), thrice), spreads)
    assert one.fixed == pytest.approx(three.fixed)
    assert one.effects["sowing"] == pytest.approx(three.effects["sowing"], abs=1e-10)


# What cannot be used --------------------------------------------------------------------------------------------------

LOT = Term(name="lot", level=np.array([0, 0, 1, 1]), levels=2)
ONES = np.ones((4, 1))
Y = [1.0, 2.0, 3.0, 4.5]


@pytest.mark.parametrize(
    ("y", "fixed", "terms", "weights", "words"),
    [
        ([1, 2, float("nan"), 4], ONES, [LOT], None, r"y, row 2 = nan: must be a finite number"),
        (Y, [[1], [1], [1], [np.inf]], [LOT], None, r"fixed, row 3 .* must be a finite number"),
        (Y, np.ones((3, 1)), [LOT], None, r"fixed = shape \(3, 1\): must have 2 dimension\(s\) and 4 rows"),
        (Y, ONES, [Term(name="lot", level=np.array([0, 0, 1, 2]), levels=2)], None, "levels of lot = 0 to 2"),
        (Y, ONES, [Term(name="lot", level=np.array([0, 0, 1, -1]), levels=2)], None, "levels of lot = -1 to 1"),
        (Y, ONES, [Term(name="lot", level=np.array([0, 0, 1]), levels=2)], None, "must be one for each of 4 rows"),
        (Y, ONES, [Term(name="lot", level=np.array([0.0, 0, 1, 1]), levels=2)], None, "must be whole numbers"),
        (Y, ONES, [LOT, LOT], None, "must have different names"),
        (Y, ONES, [Term(name="residual", level=LOT.level, levels=2)], None, "none of them 'residual'"),
        (Y, ONES, [LOT], [1, 1, -1, 1], "weights = -1: must not be negative"),
        (Y, ONES, [Term(name="lot", level=LOT.level, levels=2, known_sd=-1.0)], None, "known_sd of lot = -1"),
        (Y, ONES, [Term(name="lot", level=LOT.level, levels=2, known_sd=np.ones(3))], None, "known_sd of lot"),
        (Y, ONES, [Term(name="lot", level=LOT.level, levels=2, sd_prior=SdPrior(0.0, 1.0))], None, "sd_prior of lot"),
    ],
)
def test_rows_that_cannot_be_summed_are_named(y: Any, fixed: Any, terms: Any, weights: Any, words: str) -> None:
    with pytest.raises(InputError, match=words):
        cross_products(y, fixed, terms, weights=weights)


def test_a_fit_without_rows_or_priors_says_what_is_missing() -> None:
    nothing = cross_products([], np.zeros((0, 1)), [Term(name="lot", level=np.zeros(0, dtype=int), levels=2)])
    with pytest.raises(InputError, match=r"rows = 0: must be more than the 0 coefficients .* Give a residual_prior"):
        fit(nothing)
    with pytest.raises(InputError, match=r"rows = 1: must be more than the 1 coefficients"):
        fit(cross_products([5.0], [[1.0]], []))


def test_what_does_not_fit_the_model_is_refused() -> None:
    products = cross_products(Y, ONES, [LOT])
    found = solve(products, Spreads(1.0, {"lot": 1.0}))
    with pytest.raises(InputError, match="method = 'remel'"):
        fit(products, method="remel")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="residual = 0"):
        solve(products, Spreads(0.0, {"lot": 1.0}))
    with pytest.raises(InputError, match="must hold that of lot"):
        solve(products, Spreads(1.0, {}))
    with pytest.raises(InputError, match="spread of lot = -1"):
        solve(products, Spreads(1.0, {"lot": -1.0}))
    with pytest.raises(InputError, match="one mean and sd for each of 1 columns"):
        solve(products, Spreads(1.0, {"lot": 1.0}), fixed_prior=FixedPrior(mean=np.zeros(2), sd=np.ones(2)))
    with pytest.raises(InputError, match="residual_prior = 1"):
        fit(products, residual_prior=SdPrior(1.0, -1.0))
    with pytest.raises(InputError, match="levels of lot = 0 to 2: must lie in 0 to 1, or be NEW = -1"):
        found.predict(np.ones((2, 1)), {"lot": np.array([0, 2])})
    with pytest.raises(InputError, match="must name every term, so also lot"):
        found.predict(np.ones((2, 1)), {})
    with pytest.raises(InputError, match=r"fixed = 2 columns: must have 1"):
        found.predict(np.ones((2, 2)), {"lot": np.array([0, 1])})
    with pytest.raises(InputError, match="term = 'sowing': must be one of lot"):
        found.draw(np.random.default_rng(1), 2, {"sowing": np.array([0])})
    with pytest.raises(InputError, match="must name every term, so also lot"):
        products.with_rows([1.0], [[1.0]], {})


def test_a_level_with_its_own_known_spread_cannot_be_new() -> None:
    lot = Term(name="lot", level=LOT.level, levels=2, known_sd=np.array([0.1, 0.2]))
    products = cross_products(Y, ONES, [lot])
    with pytest.raises(InputError, match="each level has its own known spread"):
        solve(products, Spreads(1.0, {})).predict(np.ones((1, 1)), {"lot": np.array([NEW])})
    with pytest.raises(InputError, match="every level of lot has its own known spread"):
        products.with_rows([1.0], [[1.0]], {"lot": np.array([2])})
