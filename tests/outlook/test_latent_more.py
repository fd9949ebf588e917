"""More sowings for a model already fitted: near what all at once would give, and exact where nothing bends."""

from __future__ import annotations

import numpy as np
import pytest

from trayward.outlook.censored import IntervalLikelihood, Intervals
from trayward.outlook.latent import LatentFit, Spreads, settle
from trayward.outlook.latent_more import with_groups
from trayward.outlook.terms import FixedPrior, Floats, Ints, Term

SPREADS = Spreads(np.array([0.3, 0.25]), {"recipe": 0.5, "lot": 0.2})
PRIOR = FixedPrior(np.zeros(1), np.array([0.4]))


def farm(groups: int, rng: np.random.Generator, width: float) -> tuple[Floats, Floats, Ints, Ints]:
    recipe, lot = rng.integers(0, 4, groups), rng.integers(0, 9, groups)
    effect = 0.2 + 0.5 * np.sin(recipe + 1.0) + 0.2 * np.cos(3.0 * lot)
    at = effect + 0.35 * rng.standard_normal(groups)
    low = np.floor(at / width) * width
    return low, low + width, recipe, lot


def likelihood(low: Floats, high: Floats) -> IntervalLikelihood:
    return IntervalLikelihood(Intervals(np.arange(len(low)), low, high, np.ones(len(low))), len(low))


def terms(recipe: Ints, lot: Ints, lots: int) -> list[Term]:
    return [Term(name="recipe", level=recipe, levels=4), Term(name="lot", level=lot, levels=lots)]


def settled(low: Floats, high: Floats, recipe: Ints, lot: Ints, lots: int) -> LatentFit:
    ones = np.ones((len(low), 1))
    return settle(likelihood(low, high), np.zeros(len(low)), ones, PRIOR, terms(recipe, lot, lots), SPREADS)


@pytest.mark.parametrize(("width", "off"), [(0.05, 0.005), (0.6, 0.03)], ids=["seen often", "seen seldom"])
def test_sowings_added_later_teach_nearly_what_all_at_once_do(width: float, off: float) -> None:
    """With narrow looks the likelihood is as good as normal: what was learned first is then all there is to it."""
    rng = np.random.default_rng(3)
    low, high, recipe, lot = farm(120, rng, width)
    first = lot[:90] % 6  # three lots come later
    lot = np.concatenate((first, lot[90:]))
    begun = settled(low[:90], high[:90], recipe[:90], lot[:90], 6)
    more = with_groups(
        begun, likelihood(low[90:], high[90:]), np.zeros(30), np.ones((30, 1)), terms(recipe[90:], lot[90:], 9)
    )
    whole = settled(low, high, recipe, lot, 9)
    assert more.fixed == pytest.approx(whole.fixed, abs=off)
    for name in ("recipe", "lot"):
        assert more.effects[name] == pytest.approx(whole.effects[name], abs=off)
        assert more.effect_se[name] == pytest.approx(whole.effect_se[name], rel=0.05)
    assert more.spreads is begun.spreads


def test_a_lot_met_later_starts_from_what_lots_are_like() -> None:
    rng = np.random.default_rng(4)
    low, high, recipe, lot = farm(60, rng, 0.2)
    begun = settled(low, high, recipe, lot % 6, 6)
    more = with_groups(
        begun, likelihood(low[:0], high[:0]), np.zeros(0), np.ones((0, 1)), terms(recipe[:0], lot[:0], 9)
    )
    assert more.effects["lot"][6:] == pytest.approx([0.0, 0.0, 0.0])
    assert more.effect_se["lot"][6:] == pytest.approx([0.2, 0.2, 0.2])
    assert more.effects["recipe"] == pytest.approx(begun.effects["recipe"])
