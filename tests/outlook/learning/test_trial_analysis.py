"""A trial analysed as its trays are cut: what it found, whether that settles it, and what is still to come."""

from __future__ import annotations

import numpy as np
import pytest

from trayward.farm.trials import Trial
from trayward.outlook.learning.response import Response, Worth
from trayward.outlook.learning.trials import TrialTray, learned, nearest_level, trial_said

DENSER = Trial(name="denser", recipe="radish on mat", what="density", levels=(1.6, 2.1, 2.7), blocks=4, trays_each=2)
WORTH = Worth(gram=0.04, unit=0.8)


def belief(slope_sd: float = 0.18, bend_sd: float = 0.08) -> Response:
    return Response(
        what="density",
        centre=1.6,
        mean=np.array([np.log(250.0), 0.34, -0.11]),
        cov=np.diag([0.1**2, slope_sd**2, bend_sd**2]),
        tray_sd=0.1,
        day_sd=0.12,
    )


def sown(slope: float, bend: float, seed: int, trial: Trial = DENSER) -> list[TrialTray]:
    """The trial's trays, grown where that is the true answer to density."""
    rng = np.random.default_rng(seed)
    found = []
    for day in range(trial.blocks):
        luck = rng.normal(0, 0.12)
        for level in trial.levels:
            x = np.log(level / 1.6)
            for each in range(trial.trays_each):
                log = np.log(250.0) + luck + slope * x + bend * x**2 + rng.normal(0, 0.1)
                found.append(TrialTray(f"T{day}.{level}.{each}", level, day, float(log)))
    return found


def test_a_lots_few_trays_shrink_toward_the_house_as_in_the_textbook() -> None:
    """House mean 250, sd 20; three trays of mean 290, sd 30: 272.9 with sd 13.1 (Gelman et al. 2013, ch. 2)."""
    house = Response(
        what="blackout", centre=0.0, mean=np.array([250.0]), cov=np.array([[400.0]]), tray_sd=30.0, day_sd=0.0
    )
    after = learned(house, [TrialTray(str(n), 0.0, n, 290.0) for n in range(3)])
    assert after.mean[0] == pytest.approx(272.9, abs=0.1)
    assert np.sqrt(after.cov[0, 0]) == pytest.approx(13.1, abs=0.1)
    assert learned(house, []) is house


def test_a_planted_best_density_is_found_and_settled_on() -> None:
    """True weights rise steeply: by hand the profit at 2.7 is the highest of the three. Ten trials of 24 trays."""
    g = 250 * np.exp(0.75 * np.log(np.array(DENSER.levels) / 1.6))
    assert np.argmax(0.04 * g - 0.8 * np.array(DENSER.levels)) == 2
    best = []
    for seed in range(10):
        trays = sown(0.75, 0.0, seed)
        said = trial_said(DENSER, trays, learned(belief(), trays), WORTH, 1.6)
        best.append(said.best)
        assert said.cut == 24
        assert said.reference == 1.6
    assert best.count(2.7) >= 9


def test_a_settled_trial_says_what_its_level_brings_with_its_range() -> None:
    trays = sown(0.75, 0.0, 3)
    said = trial_said(DENSER, trays, learned(belief(), trays), WORTH, 1.6)
    assert said.standing == "settled"
    assert said.more_blocks is None
    top = said.levels[-1]
    assert top.alone is not None
    assert top.alone[0] < (2.7 / 1.6) ** 0.75 < top.alone[2]
    assert top.together[0] < top.together[1] < top.together[2]
    assert np.log(top.together[2] / top.together[0]) < np.log(top.alone[2] / top.alone[0])
    assert top.gain > 0
    assert sum(level.chance for level in said.levels) == pytest.approx(1.0)
    assert said.words.startswith("Trial denser, 24 of 24 trays cut: 2.7 live seeds a cm2 gives ")
    assert said.words.endswith("Settled.")


def test_half_a_trial_is_not_settled_and_says_what_would_settle_it_and_what_still_grows() -> None:
    trays = sown(0.45, -0.11, 1)[:6]
    worth = Worth(gram=0.05, unit=2.0)
    growing = [f"G{n}" for n in range(18)]
    said = trial_said(DENSER, trays, learned(belief(0.4, 0.2), trays), worth, 1.6, growing=growing, lost=["L"])
    assert said.standing == "not settled"
    assert said.more_blocks is not None
    assert said.growing == tuple(growing)
    assert said.lost == ("L",)
    assert "18 still growing" in said.words
    assert f"{said.more_blocks} more sowing day" in said.words


def test_levels_that_hardly_differ_are_settled_as_a_trifle() -> None:
    """Profit flat in density: nothing worth more days, whichever is the best."""
    flat = Response(
        what="density",
        centre=1.6,
        mean=np.array([np.log(250.0), 0.0, 0.0]),
        cov=np.diag([0.05, 0.004, 0.001]) ** 2,
        tray_sd=0.1,
        day_sd=0.1,
    )
    trays = sown(0.0, 0.0, 5)
    assert trial_said(DENSER, trays, learned(flat, trays), Worth(gram=0.04), 1.6).standing == "settled"


def test_without_a_price_grams_alone_count() -> None:
    trays = sown(0.75, 0.0, 3)
    said = trial_said(DENSER, trays, learned(belief(), trays), None, 1.6)
    assert said.best == 2.7
    assert "g a tray" in said.words


def test_a_trial_not_sown_or_all_growing_says_so() -> None:
    said = trial_said(DENSER, [], belief(), WORTH, 1.6)
    assert (said.standing, said.words) == ("not sown", "Trial denser: not sown yet.")
    said = trial_said(DENSER, [], belief(), WORTH, 1.6, growing=["S.1"])
    assert (said.standing, said.words) == ("growing", "Trial denser: 1 tray growing, none cut yet.")


def test_one_cut_tray_compares_nothing_by_itself() -> None:
    trays = sown(0.5, -0.1, 1)[:1]
    said = trial_said(DENSER, trays, learned(belief(), trays), WORTH, 1.6)
    assert said.alone is None
    assert all(level.alone is None for level in said.levels)


@pytest.mark.parametrize(
    ("level", "near"),
    [(1.62, 1.6), (2.0, 2.1), (2.69, 2.7), (1.1, None), (4.0, None), (0.0, None), (None, None), (float("nan"), None)],
)
def test_a_tray_belongs_to_the_level_it_was_sown_near(level: float | None, near: float | None) -> None:
    assert nearest_level(DENSER, level) == near


def test_days_of_blackout_belong_to_the_nearest_whole_level() -> None:
    dark = Trial(name="dark", recipe="radish on mat", what="blackout", levels=(0.0, 1.0, 2.0), blocks=2)
    assert [nearest_level(dark, days) for days in (0.0, 0.6, 1.9, 3.0)] == [0.0, 1.0, 2.0, None]
