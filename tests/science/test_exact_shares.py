"""Exact ranges and Fisher's test, against scipy (`binomtest` with the exact method, `fisher_exact`)."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from trayward.errors import InputError
from trayward.science.exact_shares import clopper_pearson, fisher_exact

COUNT = st.tuples(st.integers(0, 60), st.integers(0, 60)).map(lambda pair: (min(pair), max(pair)))


@given(COUNT.filter(lambda pair: pair[1] > 0), st.sampled_from([0.5, 0.8, 0.95]))
def test_ranges_are_those_of_scipy(count: tuple[int, int], sure: float) -> None:
    expected = stats.binomtest(*count).proportion_ci(sure, method="exact")
    assert clopper_pearson(*count, sure) == pytest.approx((expected.low, expected.high), abs=1e-8)


@given(COUNT, COUNT)
def test_chances_are_those_of_scipy(one: tuple[int, int], other: tuple[int, int]) -> None:
    table = [[one[0], one[1] - one[0]], [other[0], other[1] - other[0]]]
    expected = stats.fisher_exact(table).pvalue
    assert fisher_exact(*one, *other) == pytest.approx(expected, abs=1e-8)


def test_nothing_counted_says_nothing() -> None:
    assert clopper_pearson(0, 0) == (0.0, 1.0)
    assert fisher_exact(0, 0, 3, 9) == 1.0


@pytest.mark.parametrize("count", [(-1, 3), (4, 3)])
def test_more_cases_than_were_counted_are_refused(count: tuple[int, int]) -> None:
    with pytest.raises(InputError, match="cases"):
        clopper_pearson(*count)
    with pytest.raises(InputError, match="cases"):
        fisher_exact(*count, 1, 2)


def test_a_share_of_certainty_is_refused() -> None:
    with pytest.raises(InputError, match="sure"):
        clopper_pearson(1, 2, 1.0)


@pytest.mark.parametrize(
    ("one", "other"), [((496, 3522), (681, 1214)), ((3, 37), (435, 3846)), ((276, 2761), (241, 3672))]
)
def test_chances_of_many_cases_are_those_of_scipy_too(one: tuple[int, int], other: tuple[int, int]) -> None:
    """A year of a large farm: the chance of the first is below 1e-100, so the tolerance is relative (scipy's own)."""
    expected = stats.fisher_exact([[one[0], one[1] - one[0]], [other[0], other[1] - other[0]]]).pvalue
    assert fisher_exact(*one, *other) == pytest.approx(expected, rel=1e-6, abs=0.0)
