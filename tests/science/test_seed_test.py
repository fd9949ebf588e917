"""Seed tests counted: how sure, how many, do repeats agree, what a thousand weigh."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from trayward.errors import InputError
from trayward.science.seed_test import compare_repeats, seeds_to_test, weight_of_repeats, widest_range, wilson


@given(st.integers(1, 500), st.data(), st.floats(0.5, 0.99))
def test_the_range_is_the_one_of_a_statistics_library(tested: int, data: st.DataObject, sure: float) -> None:
    sprouted = data.draw(st.integers(0, tested))
    peer = binomtest(sprouted, tested).proportion_ci(sure, method="wilson")
    assert wilson(sprouted, tested, sure) == pytest.approx((peer.low, peer.high), abs=1e-7)


@given(st.integers(0, 100), st.floats(0.5, 0.9), st.integers(2, 10))
def test_more_seeds_of_the_same_share_never_make_it_less_sure(sprouted: int, sure: float, times: int) -> None:
    low, high = wilson(sprouted, 100, sure)
    more_low, more_high = wilson(sprouted * times, 100 * times, sure)
    assert low - 1e-12 <= sprouted / 100 <= high + 1e-12
    assert more_high - more_low <= high - low + 1e-12


@pytest.mark.parametrize(("within", "share", "sure"), [(0.05, 0.9, 0.8), (0.03, 0.5, 0.95), (0.1, 1.0, 0.8)])
def test_the_seeds_to_test_are_the_fewest_that_do(within: float, share: float, sure: float) -> None:
    import math

    from trayward.science.bell import probit

    def half(tested: int) -> float:
        z = probit((1 + sure) / 2)
        return z / (1 + z * z / tested) * math.sqrt(share * (1 - share) / tested + z * z / (4 * tested * tested))

    many = seeds_to_test(within, share, sure)
    assert half(many) <= within
    assert many <= 2 or half(many - 1) > within


@given(st.integers(2, 99))
def test_repeats_may_lie_furthest_apart_where_half_of_the_seed_sprouts(mean: int) -> None:
    assert 5 <= widest_range(mean) <= widest_range(50) == 20


def test_two_repeats_have_a_table_of_their_own() -> None:
    # 7 CFR 201.55, the column of 2 repeats (rows from 87 % up seen in a public copy).
    assert [widest_range(mean, 2) for mean in (97, 95, 92, 90, 88, 87)] == [6, 7, 9, 9, 10, 11]
    with pytest.raises(InputError, match=r"mean = 60 %: is not in the rule's table. Take four repeats"):
        widest_range(60, 2)


def test_where_nearly_none_or_all_sprout_no_table_speaks() -> None:
    assert compare_repeats([1, 1, 2, 0]).allowed_pct is None
    assert compare_repeats([100, 100, 100, 100]).allowed_pct is None
    assert compare_repeats([0, 0]).agree


def test_weight_from_repeats_and_how_much_they_vary() -> None:
    found = weight_of_repeats(100, [0.30, 0.34])
    assert found.tsw_g == pytest.approx(3.2)
    assert found.vary_pct == pytest.approx(100 * 0.0282843 / 0.32, rel=1e-5)
    assert found.error_g == pytest.approx(0.2)
    assert weight_of_repeats(500, [1.6]).error_g is None


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: wilson(5, 4), r"sprouted = 5 of 4: must lie between none and all"),
        (lambda: wilson(0, 0), r"sprouted = 0 of 0"),
        (lambda: wilson(1, 2, 1.0), r"sure = 1: must lie between 0 and 1"),
        (lambda: seeds_to_test(5), r"within = 5: .* Give 0.05 for 5 points"),
        (lambda: compare_repeats([90, 90, 90]), r"repeats = 3: must be 2 or 4"),
        (lambda: compare_repeats([90, 120]), r"repeat = 120 %"),
        (lambda: weight_of_repeats(0, [1.0]), r"seeds = 0: at least one"),
        (lambda: weight_of_repeats(100, [0.0]), r"weight = 0 g: must be above zero"),
    ],
)
def test_counts_that_cannot_be_are_refused(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
