"""Even points average as a normal distribution does."""

from __future__ import annotations

import numpy as np
import pytest

from trayward.outlook.learning.points import normal_points, root_of


@pytest.mark.parametrize("dims", [1, 2, 3, 6])
def test_the_points_have_the_mean_and_spread_of_a_standard_normal(dims: int) -> None:
    """1,024 thrown points would miss each by 0.03 or so; even ones are nearer in few dimensions."""
    points = normal_points(1024, dims)
    assert points.mean(axis=0) == pytest.approx(np.zeros(dims), abs=1e-12)
    assert np.cov(points.T).reshape(dims, dims) == pytest.approx(np.eye(dims), abs=0.03 if dims < 4 else 0.07)


def test_a_root_gives_its_covariance_back_even_where_that_is_flat() -> None:
    flat = np.array([[4.0, 2.0], [2.0, 1.0]])
    root = root_of(flat)
    assert root @ root.T == pytest.approx(flat)
    assert root_of(np.zeros((3, 3))) == pytest.approx(np.zeros((3, 3)))
