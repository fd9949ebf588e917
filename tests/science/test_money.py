"""Prices, break-even, worth over years and the density that pays."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.money import (
    adding_up,
    book_value,
    break_even,
    depreciation,
    margin_of_price,
    margin_of_safety,
    net_present_value,
    paying_density,
    price_for_margin,
)
from trayward.science.response import ReciprocalLaw
from trayward.units import show_money

AMOUNTS = st.floats(0.01, 10_000)


@given(cost=AMOUNTS, margin=st.floats(0, 0.9), fee=st.floats(0, 0.09))
def test_the_price_for_a_margin_leaves_that_margin(cost: float, margin: float, fee: float) -> None:
    price = price_for_margin(cost, margin, fee)
    assert margin_of_price(price, cost, fee) == pytest.approx(margin, abs=1e-9)


@given(cost=AMOUNTS, margin=st.floats(0, 0.8), more=st.floats(0.001, 0.1))
def test_more_margin_asks_a_higher_price(cost: float, margin: float, more: float) -> None:
    assert price_for_margin(cost, margin + more) > price_for_margin(cost, margin)


def test_a_margin_that_leaves_nothing_for_the_cost_is_refused() -> None:
    with pytest.raises(InputError, match="margin and fee = 110 %: must leave something for the cost"):
        price_for_margin(2.0, 0.8, 0.3)
    with pytest.raises(InputError, match="margin = 100 %"):
        price_for_margin(2.0, 1.0)
    with pytest.raises(InputError, match="margin = nan %"):
        price_for_margin(2.0, float("nan"))


@given(fixed=AMOUNTS, variable=AMOUNTS, left=AMOUNTS)
def test_at_break_even_what_is_sold_pays_all_costs(fixed: float, variable: float, left: float) -> None:
    found = break_even(fixed, variable + left, variable)
    assert found.units * (variable + left) == pytest.approx(fixed + found.units * variable, rel=1e-6)
    assert found.units <= found.whole * (1 + 1e-8)
    assert found.whole < found.units + 1


def test_what_sells_below_its_cost_never_breaks_even() -> None:
    with pytest.raises(InputError, match=r"price = 2.00: must be above what one costs, 2.00.*Ask more"):
        break_even(100, 2.0, 2.0)


def test_a_thing_is_worth_what_is_left_over_once_it_has_served() -> None:
    assert book_value(480, 30, 5, 0) == 480
    assert book_value(480, 30, 5, 5) == pytest.approx(30)
    with pytest.raises(InputError, match=r"after = 6 yr: must lie in \[0, 5\]"):
        book_value(480, 30, 5, 6)
    with pytest.raises(InputError, match=r"left over = 500: must lie in \[0, 480\]"):
        depreciation(480, 500, 5)


@given(rate=st.floats(0.01, 0.5), flow=AMOUNTS, years=st.integers(1, 20))
def test_equal_payments_are_worth_what_the_annuity_formula_says(rate: float, flow: float, years: int) -> None:
    """Closed form of a geometric series: flow (1 - (1 + r)^-n) / r."""
    found = net_present_value(rate, [0.0, *[flow] * years])
    assert found == pytest.approx(flow * (1 - (1 + rate) ** -years) / rate, rel=1e-9)


def test_safety_is_below_nothing_where_less_is_planned_than_pays() -> None:
    assert margin_of_safety(200, 225) == pytest.approx(-0.125)
    with pytest.raises(InputError, match="planned = 0"):
        margin_of_safety(0, 225)


# Density --------------------------------------------------------------------------------------------------------------


@given(elasticity=st.floats(0.1, 0.9), gram=st.floats(0.01, 0.2), unit=st.floats(0.001, 0.3))
def test_at_the_density_that_pays_the_last_seed_brings_what_it_costs(
    elasticity: float, gram: float, unit: float
) -> None:
    """Beside it, on either side, a tray earns less: the highest point was found, not only a level one."""
    law = ReciprocalLaw.with_elasticity(elasticity, 5.0, 200.0)
    best = paying_density(law.a, law.b, gram, unit)
    assert best is not None

    def earned(density: float) -> float:
        return gram * law.of_area(density) - unit * density

    if best > 0:
        assert earned(best) >= max(earned(best * 0.99), earned(best * 1.01)) - 1e-9
    else:
        assert earned(0.01) < 0


def test_free_seed_has_no_density_that_pays_best() -> None:
    law = ReciprocalLaw.with_elasticity(0.35, 5.0, 200.0)
    assert paying_density(law.a, law.b, 0.05, 0.0) is None
    assert paying_density(law.a, 0.0, 0.05, 0.1) is None


def test_dear_seed_of_a_cheap_crop_pays_at_no_density() -> None:
    law = ReciprocalLaw.with_elasticity(0.35, 5.0, 200.0)
    assert paying_density(law.a, law.b, 0.0001, 5.0) == 0.0


# Shown ----------------------------------------------------------------------------------------------------------------


@given(st.lists(st.floats(0, 1000), max_size=20), st.integers(0, 3))
def test_shown_lines_add_up_to_the_shown_total(amounts: list[float], places: int) -> None:
    shown = [Decimal(repr(amount)) for amount in adding_up(amounts, places)]
    exact = sum((Decimal(repr(round(amount, 9))) for amount in amounts), Decimal(0))
    assert sum(shown, Decimal(0)) == exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP)
    coin = 10.0**-places
    assert all(abs(float(one) - amount) <= coin * (1 + 1e-6) for one, amount in zip(shown, amounts, strict=True))


@pytest.mark.parametrize(
    ("amount", "currency", "shown"),
    [(1.005, "EUR", "1.01 EUR"), (0.145, "", "0.15"), (1.0005, "KWD", "1.001 KWD"), (120.5, "JPY", "121 JPY")],
)
def test_half_a_coin_goes_up_whatever_the_machine_makes_of_it(amount: float, currency: str, shown: str) -> None:
    """Digits of a currency: ISO 4217, from memory."""
    assert show_money(amount, currency) == shown
