"""One number or an array of them: what goes in comes out, and every value is looked at."""

from __future__ import annotations

import math

import numpy as np
import pytest

from trayward.errors import InputError
from trayward.science.either import extremes, require_each


def test_the_least_and_the_greatest_stand_for_all() -> None:
    assert extremes(np.array([3.0, 1.0, 2.0])) == (1.0, 3.0)
    assert extremes(4) == (4.0, 4.0)
    assert math.isnan(extremes(np.array([1.0, math.nan]))[0])


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf, 11.0])
def test_one_bad_value_among_many_is_refused(bad: float) -> None:
    with pytest.raises(InputError, match=r"many = .* mm: must lie in \[0, 10\] mm. Measure again"):
        require_each("many", np.array([1.0, bad, 2.0]), 0, 10, "mm", "Measure again.")


def test_no_values_at_all_are_no_fault() -> None:
    require_each("none", np.array([]), 5, 10, "mm")


def test_above_leaves_the_lower_end_out() -> None:
    require_each("share", 0.1, 0, 1, "", above=True)
    with pytest.raises(InputError, match="must lie above 0 and up to 1"):
        require_each("share", 0.0, 0, 1, "", above=True)
