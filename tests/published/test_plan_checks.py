"""Published optima through the plan's own solver boundary."""

from __future__ import annotations

import numpy as np
import pytest

from trayward.plan.model import Model, RowName
from trayward.plan.solve import Answer, solve


def minimise(
    cost: list[float],
    rows: list[tuple[list[float], float, float]],
    *,
    upper: float = np.inf,
    whole: bool = False,
    gap: float = 0.0,
) -> tuple[Model, Answer]:
    """Minimise cost x values, the values from 0 to `upper`, under rows of (coefficients, lower, upper)."""
    model = Model()
    columns = model.add_columns(np.array(cost), 0.0, upper, whole=whole)
    for coefficients, lower, high in rows:
        row = model.add_rows(np.array([lower]), np.array([high]), [RowName("limit", "test", 0)])
        model.add_entries(row[0], columns, np.array(coefficients))
    return model, solve(model, gap=gap)


def test_a_textbook_product_mix_gives_its_optimum_and_its_shadow_prices() -> None:
    """Wyndor Glass, Hillier and Lieberman, Introduction to Operations Research (from memory): 2, 6, value 36."""
    below = -np.inf
    _, answer = minimise([-3, -5], [([1, 0], below, 4), ([0, 2], below, 12), ([3, 2], below, 18)])
    assert answer.status == "optimal"
    assert answer.values == pytest.approx([2, 6])
    assert -answer.cost == pytest.approx(36)
    assert -answer.prices == pytest.approx([0, 1.5, 1])


def test_a_vegetable_farms_linear_plan_gives_the_published_areas_and_income() -> None:
    """Hazell (1971), Am. J. Agric. Econ. 53:53-62, doi 10.2307/3180297; solution as in agridat, hazell.vegetables."""
    below = -np.inf
    rows = [
        ([1.0] * 4, below, 200.0),
        ([25.0, 36.0, 27.0, 87.0], below, 10000.0),
        ([-1.0, 1.0, -1.0, 1.0], below, 0.0),
    ]
    _, answer = minimise([-253, -443, -284, -516], rows)
    assert answer.values == pytest.approx([0, 27.45, 100, 72.55], abs=0.01)
    assert -answer.cost == pytest.approx(77996.08, abs=0.01)


def test_a_grain_and_beet_farm_at_mean_yields_gives_the_published_plan() -> None:
    """Birge and Louveaux, Introduction to Stochastic Programming, section 1.1; figures from memory.

    Columns: acres of wheat, corn, beet; bought wheat, corn; sold wheat, corn, beet at 36 up to 6000 t, beet at 10.
    """
    cost = [150, 230, 260, 238, 210, -170, -150, -36, -10]
    rows = [
        ([1, 1, 1, 0, 0, 0, 0, 0, 0], -np.inf, 500),
        ([2.5, 0, 0, 1, 0, -1, 0, 0, 0], 200, np.inf),
        ([0, 3, 0, 0, 1, 0, -1, 0, 0], 240, np.inf),
        ([0, 0, 20, 0, 0, 0, 0, -1, -1], 0, np.inf),
        ([0, 0, 0, 0, 0, 0, 0, 1, 0], -np.inf, 6000),
    ]
    _, answer = minimise(cost, rows)
    assert answer.values[:3] == pytest.approx([120, 80, 300])
    assert -answer.cost == pytest.approx(118600, abs=0.5)


YIELDS = {"good": (3.0, 3.6, 24.0), "mean": (2.5, 3.0, 20.0), "bad": (2.0, 2.4, 16.0)}
"""Tonnes an acre of wheat, corn and beet, each year as likely: 1.2, 1.0 and 0.8 times the mean."""


def farmer(*years: tuple[float, float, float], sown: tuple[float, ...] = ()) -> tuple[float, np.ndarray]:
    """The farmer's best cost and acres, sown before the year is known; `sown`: acres settled already."""
    model, share = Model(), 1 / len(years)
    acres = model.add_columns(np.array([150.0, 230.0, 260.0]), 0.0, np.inf)
    land = model.add_rows(np.array([-np.inf]), np.array([500.0]), [RowName("limit", "land", 0)])
    model.add_entries(land[0], acres, 1.0)
    for place, fixed in enumerate(sown):
        row = model.add_rows(np.array([fixed]), np.array([fixed]), [RowName("limit", "sown", place)])
        model.add_entries(row[0], acres[place], 1.0)
    for wheat, corn, beet in years:
        bought = model.add_columns(np.array([238.0, 210.0]) * share, 0.0, np.inf)
        sold = model.add_columns(
            np.array([-170.0, -150.0, -36.0, -10.0]) * share, 0.0, [np.inf, np.inf, 6000.0, np.inf]
        )
        names = [RowName("supply", crop, 0) for crop in ("wheat", "corn", "beet")]
        rows = model.add_rows(np.array([200.0, 240.0, 0.0]), np.full(3, np.inf), names)
        model.add_entries(rows, acres, np.array([wheat, corn, beet]))
        model.add_entries(rows[:2], bought, 1.0)
        model.add_entries(rows, sold[:3], -1.0)
        model.add_entries(rows[2], sold[3], -1.0)
    answer = solve(model, gap=0.0)
    assert answer.status == "optimal"
    return answer.cost, answer.values[acres]


def test_the_farmer_who_does_not_know_the_year_sows_the_published_two_stage_plan() -> None:
    """PLAN-08: Birge and Louveaux, section 1.1, doi 10.1007/978-1-4614-0237-4; figures from memory."""
    cost, acres = farmer(*YIELDS.values())
    assert acres == pytest.approx([170, 80, 250], abs=0.01)
    assert -cost == pytest.approx(108390, abs=1)


def test_knowing_the_year_and_minding_the_doubt_are_worth_what_is_published() -> None:
    """PLAN-09, the same source: wait and see 115,406, EVPI 7,016; mean plan in all years 107,240, VSS 1,150."""
    minding = -farmer(*YIELDS.values())[0]
    knowing = float(np.mean([-farmer(year)[0] for year in YIELDS.values()]))
    _, mean_acres = farmer(YIELDS["mean"])
    not_minding = -farmer(*YIELDS.values(), sown=tuple(mean_acres))[0]
    assert knowing == pytest.approx(115_406, abs=1)
    assert knowing - minding == pytest.approx(7_016, abs=1)
    assert not_minding == pytest.approx(107_240, abs=1)
    assert minding - not_minding == pytest.approx(1_150, abs=1)


def test_lot_sizing_over_twelve_periods_costs_what_is_published() -> None:
    """Wagner and Whitin (1958), Management Science 5:89-96, doi 10.1287/mnsc.5.1.89; data and answer from memory.

    Whole columns: set up or not; then the share of each period's need made in each earlier or same period.
    """
    need = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
    set_up = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
    model = Model()
    opened = model.add_columns(np.array(set_up, dtype=float), 0, 1, whole=True)
    for period, wanted in enumerate(need):
        kept = np.array([(period - made) * wanted for made in range(period + 1)], dtype=float)
        shares = model.add_columns(kept, 0, 1)
        whole = model.add_rows(np.ones(1), np.ones(1), [RowName("supply", "need", period)])
        model.add_entries(whole[0], shares, 1.0)
        names = [RowName("limit", "set up", made) for made in range(period + 1)]
        only = model.add_rows(np.full(period + 1, -np.inf), np.zeros(period + 1), names)
        model.add_entries(only, shares, 1.0)
        model.add_entries(only, opened[: period + 1], -1.0)
    answer = solve(model, gap=0.0)
    assert answer.status == "optimal"
    assert answer.cost == pytest.approx(864, abs=1e-6)


def test_what_cannot_be_is_said_in_our_own_words() -> None:
    _, impossible = minimise([1.0], [([1.0], 2.0, np.inf)], upper=1.0)
    assert impossible.status == "infeasible"
    _, endless = minimise([-1.0], [([1.0], 0.0, np.inf)])
    assert endless.status == "unbounded"


def test_entries_in_the_same_place_add_up_and_the_rows_can_be_read_back() -> None:
    model = Model()
    columns = model.add_columns(np.array([1.0, 1.0]), 0, 9)
    rows = model.add_rows(np.zeros(2), np.ones(2), [RowName("limit", "a", 0), RowName("limit", "b", 1)])
    model.add_entries(rows, columns[0], np.array([2.0, 3.0]))
    model.add_entries(rows[0], columns[0], 1.0)
    assert list(model.activity(np.array([10.0, 0.0]))) == [30.0, 30.0]


def test_whole_numbers_are_kept_whole() -> None:
    """max x, 2x <= 7, x whole: 3, not 3.5."""
    _, answer = minimise([-1.0], [([2.0], -np.inf, 7.0)], whole=True)
    assert answer.values == pytest.approx([3])
