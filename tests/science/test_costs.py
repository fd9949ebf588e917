"""What a tray costs, line by line, and which of its figures moves that most."""

from __future__ import annotations

import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.costs import MOVED, Job, TrayCosts, TrayInputs, swings, tray_costs

SOME = st.floats(0.01, 1000)
JOBS = st.tuples(SOME, SOME).map(
    lambda two: (Job(name="sow", minutes=two[0]), Job(name="cut", minutes=two[1], if_cut=True))
)
TRAYS = st.builds(
    TrayInputs,
    weight_g=SOME, seed_g=SOME, seed_kg=SOME, medium=SOME, medium_uses=st.floats(1, 100), wear=SOME, water_l=SOME,
    water_m3=SOME, feed_ml=SOME, feed_l=SOME, shelf_kwh_day=SOME, shelf_trays=st.floats(1, 20), lit_days=SOME, kwh=SOME,
    shelf_days=SOME, shelf_rent_day=SOME, jobs=JOBS, wage_h=SOME, pack_g=SOME, pack=SOME, trim=st.floats(0.01, 0.5),
    lost=st.floats(0.01, 0.5),
)  # fmt: skip
CHEAPER = {"medium_uses", "shelf_trays", "pack_g"}
"""More of these makes a tray cheaper, or leaves it as it is."""
COSTLIER = {name for name in TrayInputs.__struct_fields__ if name not in CHEAPER | {"jobs", "weight_g"}}


@given(given=TRAYS, factor=st.floats(1.01, 1.9), name=st.sampled_from(sorted(COSTLIER)))
def test_more_of_anything_makes_a_gram_dearer(given: TrayInputs, factor: float, name: str) -> None:
    more = msgspec.structs.replace(given, **{name: getattr(given, name) * factor})
    assert tray_costs(more).gram >= tray_costs(given).gram * (1 - 1e-12)


@given(given=TRAYS, factor=st.floats(1.01, 3), name=st.sampled_from(sorted(CHEAPER | {"weight_g"})))
def test_more_weight_more_uses_and_larger_packs_make_a_gram_cheaper(
    given: TrayInputs, factor: float, name: str
) -> None:
    more = msgspec.structs.replace(given, **{name: getattr(given, name) * factor})
    assert tray_costs(more).gram <= tray_costs(given).gram * (1 + 1e-12)


@given(TRAYS)
def test_the_lines_and_what_lost_trays_add_are_the_cost_of_a_tray(given: TrayInputs) -> None:
    found = tray_costs(given)
    assert math.fsum(line.amount for line in found.lines) + found.carried == pytest.approx(found.tray)
    assert found.gram * found.saleable_g == pytest.approx(found.tray)


@given(TRAYS)
def test_a_hundred_trays_cost_the_same_by_the_tray_and_by_the_till(given: TrayInputs) -> None:
    """Money paid for 100 trays sown is money carried by those that are cut."""
    found = tray_costs(given)
    kept = 100 * (1 - given.lost)
    paid = 100 * found.grown + kept * (found.bare - found.grown)
    assert paid == pytest.approx(kept * found.tray)


def test_a_lost_tray_is_neither_cut_nor_packed() -> None:
    given = TrayInputs(
        weight_g=200, jobs=(Job(name="cut", minutes=10, if_cut=True),), wage_h=12, pack_g=50, pack=0.2, lost=0.5
    )
    assert tray_costs(given).tray == pytest.approx(2.0 + 0.8)


def test_loose_goods_have_no_packs() -> None:
    found = tray_costs(TrayInputs(weight_g=200, pack=0.2, medium=1.0))
    assert (found.one_pack, found.packs_sown, found.tray) == (0.0, 0.0, 1.0)


@pytest.mark.parametrize(
    ("name", "value", "words"),
    [
        ("lost", 1.0, r"share of trays lost = 100 %: must lie in \[0, 100\) %"),
        ("trim", -0.1, "share trimmed away = -10 %"),
        ("weight_g", 0.0, "weight of a tray = 0 g: must be above 0"),
        ("seed_kg", -1.0, "price of seed = -1 a kg"),
        ("kwh", math.nan, "price of energy = nan a kWh"),
        ("medium_uses", 0.5, "uses of the medium = 0.5"),
        ("shelf_trays", 0.0, "trays on a shelf = 0"),
        ("wage_h", math.inf, "wage = inf an hour"),
    ],
)
def test_what_cannot_be_is_refused_by_its_name(name: str, value: float, words: str) -> None:
    with pytest.raises(InputError, match=words):
        tray_costs(msgspec.structs.replace(TrayInputs(weight_g=200), **{name: value}))


def test_minutes_below_nothing_are_refused() -> None:
    with pytest.raises(InputError, match="minutes to wash = -1 min"):
        tray_costs(TrayInputs(weight_g=200, jobs=(Job(name="wash", minutes=-1),)))


# What moves it --------------------------------------------------------------------------------------------------------


def cost(given: TrayInputs) -> float:
    return tray_costs(given).gram


@given(given=TRAYS, share=st.floats(0.05, 0.5))
def test_what_moves_the_cost_is_sorted_and_each_end_is_what_the_sum_says(given: TrayInputs, share: float) -> None:
    found = swings(given, share, cost)
    widths = [one.width for one in found]
    assert widths == sorted(widths, reverse=True)
    for one in (one for one in found if one.name in MOVED):
        for factor, end in ((1 - share, one.lower), (1 + share, one.higher)):
            moved = msgspec.structs.replace(given, **{one.name: one.present * factor})
            assert end == pytest.approx(tray_costs(moved).gram)


def test_what_is_nothing_moves_nothing_and_is_left_out() -> None:
    found = swings(TrayInputs(weight_g=200, seed_g=20, seed_kg=30, feed_l=9), 0.2, cost)
    assert [one.name for one in found] == ["weight_g", "seed_kg"]


def test_the_weight_of_a_tray_moves_the_cost_of_a_gram_more_when_it_falls() -> None:
    (weight, _) = swings(TrayInputs(weight_g=200, seed_g=20, seed_kg=30), 0.2, cost)
    present = 0.6 / 200
    assert (weight.lower / present, weight.higher / present) == pytest.approx((1 / 0.8, 1 / 1.2))


@pytest.mark.parametrize("share", [0.0, 1.0, math.nan])
def test_a_share_that_moves_nothing_or_all_is_refused(share: float) -> None:
    with pytest.raises(InputError, match="must lie between 0 and 100 %"):
        swings(TrayInputs(weight_g=200), share, cost)


def test_a_loss_raised_to_more_than_all_is_refused() -> None:
    with pytest.raises(InputError, match="share of trays lost = 102 %"):
        swings(TrayInputs(weight_g=200, medium=1, lost=0.6), 0.7, cost)


def test_figures_can_be_told_from_the_lines() -> None:
    found: TrayCosts = tray_costs(TrayInputs(weight_g=100, seed_g=10, seed_kg=20))
    assert {line.name: line.amount for line in found.lines if line.amount} == {"seed": pytest.approx(0.2)}
