"""Money against published or plain arithmetic: cost of a tray, break-even, depreciation, worth today."""

from __future__ import annotations

import pytest

from trayward.science.costs import Job, TrayInputs, tray_costs
from trayward.science.money import (
    book_value,
    break_even,
    depreciation,
    margin_of_safety,
    net_present_value,
)

TRAY = TrayInputs(
    weight_g=260, seed_g=40, seed_kg=18, medium=0.55, wear=1.20 / 30, water_l=10, water_m3=4, shelf_kwh_day=1.28,
    shelf_trays=4, lit_days=8, kwh=0.15, jobs=(Job(name="all", minutes=6),), wage_h=16,
)  # fmt: skip
"""The made-up tray of COST-03; its water and feed are 0.04 in all."""


def test_cost_01_break_even_units_and_sales() -> None:
    """OpenStax, Principles of Accounting vol. 2, section 3.2 (section seen, figures from memory). Exact."""
    found = break_even(18_000, 100, 20)
    assert (found.whole, found.units, found.sales, found.ratio) == (225, 225, 22_500, 0.8)


def test_cost_02_break_even_is_rounded_up() -> None:
    """Penn State acctg211 open textbook, section 7.2: fixed 20,000, price 400, variable 250; quotient computed."""
    found = break_even(20_000, 400, 250)
    assert (found.contribution, found.whole) == (150, 134)
    assert found.units == pytest.approx(133.33, abs=0.005)
    assert found.sales == pytest.approx(53_333, abs=0.5)


def test_cost_03_a_tray_costs_the_sum_of_its_lines() -> None:
    """Arithmetic identity with made-up prices: 0.72 + 0.55 + 0.04 + 0.04 + 0.384 + 1.60 = 3.334, within 0.001."""
    found = tray_costs(TRAY)
    lines = {line.name: line.amount for line in found.lines if line.amount}
    assert lines == {
        "seed": pytest.approx(0.72), "medium": pytest.approx(0.55), "wear of trays": pytest.approx(0.04),
        "water": pytest.approx(0.04), "light": pytest.approx(0.384), "hands: all": pytest.approx(1.60),
    }  # fmt: skip
    assert found.tray == pytest.approx(3.334, abs=0.001)


def test_cost_04_losses_divide_they_do_not_add() -> None:
    """Arithmetic identity: 260 g, 5 % trim, 10 % of trays fail, packs of 50 g: 4.446 packs, 0.750 each."""
    import msgspec

    found = tray_costs(msgspec.structs.replace(TRAY, lost=0.10, trim=0.05, pack_g=50))
    assert found.packs_sown == pytest.approx(4.446, abs=0.001)
    assert found.one_pack == pytest.approx(0.750, abs=0.001)


def test_cost_05_straight_line_depreciation() -> None:
    """Accounting definition. Exact."""
    assert depreciation(480, 30, 5) == 90
    assert book_value(480, 30, 5, 2) == 300


def test_cost_06_net_present_value() -> None:
    """By definition, within 0.01."""
    assert net_present_value(0.08, [-1000, 400, 400, 400]) == pytest.approx(30.84, abs=0.01)


def test_cost_07_margin_of_safety() -> None:
    """OpenStax, Principles of Accounting vol. 2, section 3.2 (section seen, figures from memory). Exact."""
    assert margin_of_safety(300, 225) == 0.25
