"""Lots that stand out are named; with no lot different, hardly any is."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from tests.outlook.learning.grown import Truth, recipe, taught
from trayward.errors import InputError
from trayward.outlook.learning.standouts import (
    distance,
    false_discoveries_held,
    oddness,
    stand_outs,
    two_sided,
    yield_stand_outs,
)

PUBLISHED = np.array(
    [
        0.0001,
        0.0004,
        0.0019,
        0.0095,
        0.0201,
        0.0278,
        0.0298,
        0.0344,
        0.0459,
        0.3240,
        0.4262,
        0.5719,
        0.6528,
        0.7590,
        1.0,
    ]
)
"""The 15 p values of the example in Benjamini and Hochberg (1995), JRSS B 57:289-300 (from memory)."""


def test_the_example_of_benjamini_and_hochberg_names_four_of_fifteen() -> None:
    """The paper rejects the first four at 5 %, where Bonferroni's rule rejects three (from memory)."""
    assert np.flatnonzero(false_discoveries_held(PUBLISHED, 0.05)).tolist() == [0, 1, 2, 3]


def test_it_names_what_statsmodels_names() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from statsmodels.stats.multitest import multipletests
    rng = np.random.default_rng(2)
    for share in (0.01, 0.1, 0.3):
        for _ in range(50):
            chances = rng.uniform(size=30) ** rng.integers(1, 4)
            assert (
                false_discoveries_held(chances, share).tolist() == multipletests(chances, share, "fdr_bh")[0].tolist()
            )


def test_nothing_to_compare_names_nothing_and_a_chance_that_is_none_is_refused() -> None:
    assert false_discoveries_held(np.zeros(0)).tolist() == []
    with pytest.raises(InputError, match=r"each must lie in \[0, 1\]"):
        false_discoveries_held(np.array([0.5, np.nan]))


def test_dividing_out_the_prior_gives_the_plain_estimate_over_its_error() -> None:
    """One-way, balanced: n trays of a lot with mean m about 0, error s / sqrt(n). Shrunken by hand."""
    m, s, n, prior = np.array([0.3, -0.1]), 0.2, 8, 0.15
    keep = prior**2 / (prior**2 + s**2 / n)
    sd = np.sqrt(prior**2 * (1 - keep)) * np.ones(2)
    assert distance(keep * m, sd, prior) == pytest.approx(m / (s / np.sqrt(n)))


def test_a_lot_whose_trays_say_nothing_is_at_no_distance() -> None:
    """Known as well as before, or a spread of zero: no sign of anything, and no division by zero."""
    assert distance(np.array([0.0, 0.1]), np.array([0.1, 0.1]), 0.1).tolist() == [0.0, 0.0]
    assert distance(np.array([0.0]), np.array([0.0]), 0.0).tolist() == [0.0]


def test_an_odd_day_is_odd_among_days_that_all_differ() -> None:
    """Effects shrunken by hand: standard normal over all lots, whatever the trays of each."""
    rng = np.random.default_rng(6)
    prior, error = 0.2, 0.1
    true = rng.normal(0, prior, 20_000)
    keep = prior**2 / (prior**2 + error**2)
    z = oddness(keep * (true + rng.normal(0, error, 20_000)), np.full(20_000, prior * np.sqrt(1 - keep)), prior)
    assert z.std() == pytest.approx(1.0, abs=0.02)
    assert oddness(np.array([0.1]), np.array([0.2]), 0.2).tolist() == [0.0]


def test_few_sowings_make_chance_likelier() -> None:
    """Two-sided 5 % points by standard tables: 2.228 of Student's t with 10 degrees of freedom, 1.960 of the normal."""
    assert two_sided(np.array([2.228]), 10)[0] == pytest.approx(0.05, abs=1e-4)
    assert two_sided(np.array([-1.960]), 1e9)[0] == pytest.approx(0.05, abs=1e-4)
    assert two_sided(np.array([1.0]), -3)[0] == pytest.approx(0.5)  # one degree at least


def test_a_lot_that_stands_out_says_by_how_much_in_plain_words() -> None:
    said = stand_outs("lot", ["A", "B"], np.array([0.0, -0.2]), np.array([0.04, 0.04]), 0.2, 20, [12, 9])
    (found,) = said.found
    assert (found.name, found.trays) == ("B", 9)
    assert found.factor == pytest.approx(np.exp(-0.2))
    assert found.words == "Lot B is about 18 % lighter (14 to 22 %) than its like, by 9 trays."
    assert said.words == "1 of 2 lots stands out: B (at most 1 in 10 of those named is named by chance)."
    longer = stand_outs(
        "lot", ["A", "B"], np.array([0.0, 0.3]), np.array([0.04, 0.04]), 0.2, 20, about="days", stage="light"
    )
    assert longer.found[0].words == "Lot B takes about 35 % longer (28 to 42 %) in light than its like."


@pytest.mark.slow
def test_with_no_lot_different_few_farms_hear_of_any() -> None:
    """
    60 farms of 8 lots that are all alike, 40 sowings: at most 1 in 10 may name a lot, or a sowing as odd.

    The share's Monte Carlo error is 0.039 at 0.1; three of them are let pass.
    """
    radish = recipe()
    named = odd = 0
    for seed in range(60):
        rows = Truth(np.random.default_rng(seed)).rows(radish, sowings=40, lots=8)
        kinds = {kind.kind: kind for kind in yield_stand_outs(taught([radish], rows))}
        lots = kinds["lot"]
        assert lots.looked_at == 8
        named += bool(lots.found)
        odd += bool(kinds["sowing"].found)
    assert named / 60 <= 0.1 + 3 * 0.039
    assert odd / 60 <= 0.1 + 3 * 0.039


@pytest.mark.slow
def test_a_bad_lot_is_found_and_it_alone() -> None:
    """One lot of eight a quarter lighter, over five sowings of three trays: its error is about 0.05, so 5 of them."""
    radish = recipe()
    found = alone = 0
    for seed in range(40):
        truth = Truth(np.random.default_rng(1000 + seed))
        truth.lots = {"radish 3": -0.29}
        rows = truth.rows(radish, sowings=40, lots=8)
        lots = next(kind for kind in yield_stand_outs(taught([radish], rows)) if kind.kind == "lot")
        names = [one.name for one in lots.found]
        found += "radish 3" in names
        alone += names == ["radish 3"]
    assert found >= 36
    assert alone >= 28


def test_without_a_tray_nothing_stands_out() -> None:
    assert yield_stand_outs(taught([recipe()], [])) == ()


def test_a_lot_without_another_of_its_recipe_has_no_like_to_stand_out_from() -> None:
    """Peas had one lot, 40 % heavier than published: recipe and lot cannot be told apart. Radish had two."""
    radish, pea = recipe(), recipe("pea")
    truth = Truth(np.random.default_rng(12))
    truth.lots = {"pea 1": 0.34}
    rows = truth.rows(radish, sowings=20, lots=2) + truth.rows(pea, sowings=20, lots=1)
    lots = next(kind for kind in yield_stand_outs(taught([radish, pea], rows)) if kind.kind == "lot")
    assert lots.looked_at == 2
    assert "pea 1" not in {one.name for one in lots.found}


def test_one_tray_stands_out_from_nothing() -> None:
    radish = recipe()
    rows = Truth(np.random.default_rng(5)).rows(radish, sowings=1, trays=1)
    kinds = {kind.kind: kind for kind in yield_stand_outs(taught([radish], rows))}
    assert all(kind.found == () for kind in kinds.values())
    assert kinds["lot"].words == "No lot to compare yet: that takes a recipe sown from two lots."
    assert kinds["sowing"].words == "Only one sowing yet: nothing to hold it against."
