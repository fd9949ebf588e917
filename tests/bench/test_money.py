"""The sums of money: a tray's bill, a price, break-even, one gram of seed more, what moves it most."""

from __future__ import annotations

import re
from decimal import Decimal
from itertools import pairwise

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.bench.money import break_even_sheet, margin_of_tray, price_sheet, tray_sheet
from trayward.bench.money_density import Answering, density_sheet
from trayward.bench.money_moves import moves, moves_sheet
from trayward.bench.money_told import EXAMPLE, OUNCE, Told, library_told, plain_told
from trayward.bench.types import Amount, Sheet
from trayward.errors import InputError
from trayward.library.crops import crop_names, library_facts
from trayward.library.recipes import recipe_gaps
from trayward.science.costs import Job, TrayInputs, tray_costs
from trayward.science.response import DENSITY_ELASTICITY
from trayward.sources import source_keys

INPUTS = TrayInputs(
    weight_g=200, seed_g=20, seed_kg=30, medium=0.5, wear=0.1, shelf_kwh_day=1.0, shelf_trays=4, lit_days=5, kwh=0.3,
    jobs=(Job(name="sow", minutes=6), Job(name="cut", minutes=8, if_cut=True)), wage_h=15,
    pack_g=50, pack=0.2, lost=0.1,
)  # fmt: skip
TRAY = Told(inputs=INPUTS, crop="broccoli", currency="EUR", price=0.05)


def value(sheet: Sheet, name: str) -> float:
    return float(amount(sheet, name).value)


def amount(sheet: Sheet, name: str) -> Amount:
    return next(one for one in (*sheet.found, *sheet.given) if one.name == name)


# A tray ---------------------------------------------------------------------------------------------------------------


@settings(max_examples=60)
@given(seed=st.floats(0.1, 200), wage=st.floats(0, 60), lost=st.floats(0, 0.5), pack=st.floats(0, 2))
def test_the_bill_as_shown_adds_up_to_the_cent(seed: float, wage: float, lost: float, pack: float) -> None:
    inputs = msgspec.structs.replace(INPUTS, seed_g=seed, wage_h=wage, lost=lost, pack=pack)
    *lines, together = tray_sheet(msgspec.structs.replace(TRAY, inputs=inputs)).grids[0].rows
    for column in (1, 2):
        shown = sum((Decimal(line[column].replace(" ", "")) for line in lines), Decimal(0))
        assert shown == Decimal(together[column].replace(" ", ""))
    dearest = [Decimal(line[1].replace(" ", "")) for line in lines]
    assert all(one >= other - Decimal("0.01") for one, other in pairwise(dearest))


def test_a_currency_without_cents_is_shown_without_them() -> None:
    inputs = msgspec.structs.replace(INPUTS, seed_kg=4500.0, wage_h=1800.0, medium=80.0, pack=30.0)
    sheet = tray_sheet(msgspec.structs.replace(TRAY, inputs=inputs, currency="JPY"))
    assert re.search(r"costs \d+ JPY; 100 g that can be sold \d+ JPY", sheet.title)
    assert "." not in "".join(cell for row in sheet.grids[0].rows for cell in row[1:3])


def test_a_tray_says_what_it_leaves_where_a_price_is_known() -> None:
    sheet = tray_sheet(TRAY)
    assert value(sheet, "left of a tray") == pytest.approx(200 * 0.05 - value(sheet, "cost of a tray"))
    assert "margin" not in [one.name for one in tray_sheet(msgspec.structs.replace(TRAY, price=None)).found]


def test_a_light_tray_makes_the_dear_end_of_what_100_g_cost() -> None:
    sheet = tray_sheet(msgspec.structs.replace(TRAY, weight_low_g=150.0, weight_high_g=260.0))
    found = amount(sheet, "cost of 100 g")
    light = tray_costs(msgspec.structs.replace(INPUTS, weight_g=150))
    assert found.high == pytest.approx(100 * light.gram)
    assert found.low is not None
    assert found.high is not None
    assert found.low < float(found.value) < found.high


def test_on_a_farm_of_ounces_an_ounce_is_priced_and_seed_by_the_pound() -> None:
    sheet = tray_sheet(msgspec.structs.replace(TRAY, portion=OUNCE))
    assert value(sheet, "cost of 1 oz") == pytest.approx(28.349523 * tray_costs(INPUTS).gram)
    assert amount(sheet, "price of seed").unit == "EUR/lb"
    assert value(sheet, "price of seed") == pytest.approx(30 * 0.45359237)


@pytest.mark.parametrize("crop", [crop for crop in crop_names() if not recipe_gaps(library_facts(crop))])
def test_every_crop_the_library_can_grow_has_a_bill_and_marks_what_nobody_gave(crop: str) -> None:
    sheet = tray_sheet(library_told(crop, library_facts(crop)))
    assert value(sheet, "cost of a tray") > 0
    assert amount(sheet, "wage").note == EXAMPLE
    assert any("made up" in line for line in sheet.holds)
    assert set(sheet.sources) <= set(source_keys())


def test_a_tray_of_no_crop_needs_only_its_seed_and_weight() -> None:
    told = plain_told(180, 15)
    assert tray_sheet(told).title.startswith("A tray that is cut costs ")
    assert told.inputs.jobs == ()


# A price --------------------------------------------------------------------------------------------------------------


@given(margin=st.floats(0, 0.8), fee=st.floats(0, 0.15))
def test_at_the_price_asked_that_share_of_it_is_left(margin: float, fee: float) -> None:
    sheet = price_sheet(TRAY, margin, fee)
    gram = value(sheet, "price of 100 g") / 100
    left = margin_of_tray(INPUTS, gram, fee)
    assert left / (gram * 200) == pytest.approx(margin, abs=1e-9)
    assert left == pytest.approx(value(sheet, "left of a tray"))


def test_a_price_below_cost_is_pointed_out() -> None:
    cheap = msgspec.structs.replace(TRAY, price=0.01)
    (finding,) = price_sheet(cheap, 0.4).findings
    assert finding.code == "below-cost"
    assert "price of 100 g = 1.00 EUR: less than it costs" in finding.message
    assert price_sheet(TRAY, 0.4).findings == ()


# Break-even -----------------------------------------------------------------------------------------------------------


def test_break_even_trays_pay_the_fixed_costs_and_one_fewer_does_not() -> None:
    sheet = break_even_sheet(TRAY, {"rent": 80.0, "rack": 2.0}, planned=40)
    trays, leaves = value(sheet, "trays to sell a week"), value(sheet, "a tray leaves")
    assert trays * leaves >= 82.0 > (trays - 1) * leaves
    assert leaves == pytest.approx(margin_of_tray(INPUTS, 0.05))
    assert value(sheet, "trays to sow a week") == pytest.approx(trays / 0.9, abs=0.005)
    assert value(sheet, "earned a week") == pytest.approx(40 * leaves - 82.0)
    assert sheet.title == f"{trays:.0f} trays of broccoli sold a week pay the fixed costs."


def test_break_even_asks_for_what_it_lacks() -> None:
    with pytest.raises(InputError, match=r"price = none: break-even needs one. Say it"):
        break_even_sheet(msgspec.structs.replace(TRAY, price=None), {"rent": 80.0})
    with pytest.raises(InputError, match="fixed = none"):
        break_even_sheet(TRAY, {})
    with pytest.raises(InputError, match="must be above what one costs"):
        break_even_sheet(msgspec.structs.replace(TRAY, price=0.01), {"rent": 80.0})


def test_rent_on_the_shelf_and_among_the_fixed_costs_is_pointed_out() -> None:
    twice = msgspec.structs.replace(TRAY, inputs=msgspec.structs.replace(INPUTS, shelf_rent_day=0.1, shelf_days=8))
    assert [one.code for one in break_even_sheet(twice, {"rent": 80.0}).findings] == ["rent-twice"]


# Density --------------------------------------------------------------------------------------------------------------


def test_one_gram_more_of_seed_brings_what_the_published_answer_says() -> None:
    """0.35 % more weight for 1 % more seed (signore2024 and others): of 20 g and 200 g, 3.5 g for a gram."""
    sheet = density_sheet(TRAY)
    assert value(sheet, "crop of 1 g of seed") == pytest.approx(DENSITY_ELASTICITY[0] * 200 / 20)
    assert value(sheet, "1 g of seed costs") == pytest.approx(0.03 / 0.9)
    assert value(sheet, "1 g of seed brings") == pytest.approx(3.5 * (0.05 - 0.2 / 50))


def test_at_the_seed_that_pays_best_a_tray_leaves_more_than_on_either_side() -> None:
    sheet = density_sheet(TRAY)
    best = value(sheet, "seed that pays best")
    again = msgspec.structs.replace(INPUTS, seed_kg=30)
    from trayward.science.response import ReciprocalLaw

    law = ReciprocalLaw.with_elasticity(DENSITY_ELASTICITY[0], 20, 200)

    def left(seed: float) -> float:
        return margin_of_tray(msgspec.structs.replace(again, seed_g=seed, weight_g=law.of_area(seed)), 0.05)

    assert left(best) > max(left(best * 0.95), left(best * 1.05), left(20))
    assert value(sheet, "gain over now") == pytest.approx(left(best) - left(20))


@given(dear=st.floats(1.1, 20))
def test_dearer_seed_never_asks_for_more_of_it(dear: float) -> None:
    dearer = msgspec.structs.replace(TRAY, inputs=msgspec.structs.replace(INPUTS, seed_kg=30 * dear))
    assert value(density_sheet(dearer), "seed that pays best") < value(density_sheet(TRAY), "seed that pays best")


def test_nothing_is_advised_beyond_what_anybody_sowed() -> None:
    sheet = density_sheet(msgspec.structs.replace(TRAY, sown_g=(15.0, 26.0)))
    assert value(sheet, "seed that pays best") == 26.0
    assert value(sheet, "by the law alone") > 26.0
    assert "as far as there is ground for it, about 26 g" in sheet.title
    assert any("try it first" in line for line in sheet.holds)


def test_a_farms_own_answer_goes_before_the_law() -> None:
    own = Answering(elasticity=0.1, low=0.0, high=0.2, best_g=17.0, curve=((14.0, 190.0), (20.0, 200.0), (26.0, 204.0)))
    sheet = density_sheet(TRAY, own)
    assert value(sheet, "seed that pays best") == 17.0
    assert [row[0].strip() for row in sheet.grids[0].rows] == ["15 g", "17 g", "18 g", "20 g", "22 g", "25 g"]


def test_one_gram_more_needs_seed_its_price_and_a_price() -> None:
    for name in ("seed_g", "seed_kg"):
        with pytest.raises(InputError, match="must be above 0 to weigh one gram more"):
            density_sheet(msgspec.structs.replace(TRAY, inputs=msgspec.structs.replace(INPUTS, **{name: 0.0})))
    with pytest.raises(InputError, match="what seed is worth depends on it"):
        density_sheet(msgspec.structs.replace(TRAY, price=None))


# What moves it --------------------------------------------------------------------------------------------------------


def test_what_moves_the_cost_most_is_named_with_what_it_makes_of_it() -> None:
    found = moves(TRAY, 0.2)
    assert found.rows[0].what == "weight of a tray"
    assert found.title.startswith("Broccoli: weight of a tray moves the cost of 100 g most: 20 % less makes it ")
    light = tray_costs(msgspec.structs.replace(INPUTS, weight_g=160))
    assert found.rows[0].lower == pytest.approx(100 * light.gram)


def test_the_price_moves_what_is_left_by_its_share_of_the_sales() -> None:
    found = moves(TRAY, 0.2, "margin")
    price = next(row for row in found.rows if row.what == "price of 100 g")
    assert price.higher - found.base == pytest.approx(0.2 * 200 * 0.05)
    widths = [abs(row.higher - row.lower) for row in found.rows]
    assert widths == sorted(widths, reverse=True)
    with pytest.raises(InputError, match="what is left depends on it"):
        moves(msgspec.structs.replace(TRAY, price=None), 0.2, "margin")


def test_the_table_of_what_moves_it_has_every_figure_that_counts() -> None:
    rows = [row[0] for row in moves_sheet(TRAY, 0.1).grids[0].rows]
    assert {"seed: grams or price", "minutes to sow", "minutes to cut", "trays lost", "price of a pack"} <= set(rows)
    assert "rent" not in rows
