"""What a cut was expected to bring before it was made."""

from __future__ import annotations

import math
from datetime import timedelta

import msgspec
import numpy as np
import pytest

from tests.outlook.grown import BROCCOLI, DAY, MONDAY, cut_tray
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot, Sowing, Tray
from trayward.outlook.cut_foretold import cut_foretold, mean_law
from trayward.outlook.memory import lessons_upto
from trayward.outlook.yields import YieldLaw

LAW = YieldLaw(mu=5.3, known_sd=0.1, lot_sd=0.05, season_sd=0.05, sowing_sd=0.2, tray_sd=0.25)


def sowing_of(tray: Tray) -> Sowing:
    return Sowing(
        sowing=tray.sowing,
        recipe="broccoli",
        crop="broccoli",
        sown_at=tray.sown_at,
        trays=(tray.tray,),
        lots={"L1": 20.0},
    )


def farm(trays: list[Tray]) -> FarmState:
    sowings = {tray.sowing: sowing_of(tray) for tray in trays}
    return FarmState(
        settings=FarmSettings(name="Lantern Loft"),
        recipes={"broccoli": BROCCOLI},
        sowings=sowings,
        ended={tray.tray: tray for tray in trays},
    )


def lot_of(*trays: Tray, waits: float = 0.0) -> HarvestLot:
    cut_at = max(tray.steps[-1].since for tray in trays) + timedelta(days=waits)
    return HarvestLot(
        harvest="H1", crop="broccoli", cut_at=cut_at, grams=200.0, left_g=0.0, trays=tuple(tray.tray for tray in trays),
        cold_room_days=5,
    )  # fmt: skip


def test_without_any_tray_a_cut_was_expected_to_bring_what_the_recipe_says() -> None:
    tray = cut_tray(1, 260.0, sown=MONDAY)
    state = farm([tray])
    told = cut_foretold(state, lot_of(tray), lessons_upto(state, MONDAY))
    assert told is not None
    # BROCCOLI's printed figure is 207 g; the middle of what is believed lies at it within a tenth.
    assert told.total.likely == pytest.approx(207.0, rel=0.1)
    assert told.total == told.each[tray.tray]


def test_a_heavy_cut_does_not_change_what_was_expected_of_it() -> None:
    expected = []
    for grams in (100.0, 400.0):
        earlier = [cut_tray(number, 150.0, sown=MONDAY - DAY * (40 + number)) for number in range(2, 12)]
        tray = cut_tray(1, grams, sown=MONDAY)
        state = farm([*earlier, tray])
        told = cut_foretold(state, lot_of(tray), lessons_upto(state, MONDAY))
        assert told is not None
        expected.append(told.total.likely)
    assert expected[0] == expected[1]
    assert expected[0] < 185.0  # ten trays of 150 g say that this farm's are lighter than 207 g


def test_several_trays_vary_less_than_one_and_one_sowing_more_than_several() -> None:
    def width(sowings: tuple[float, ...], trays: int) -> float:
        law = mean_law(LAW, sowings, trays)
        return math.log(law.quantile(0.9) / law.quantile(0.1))

    assert width((1.0,), 1) > width((1.0,), 4) > width((0.25,) * 4, 4) > 0


@pytest.mark.parametrize(("sizes", "seed"), [((1,), 1), ((4,), 2), ((2, 2), 3), ((3, 1, 1), 4)])
def test_the_law_of_a_mean_is_that_of_simulated_trays(sizes: tuple[int, ...], seed: int) -> None:
    rng, cases = np.random.default_rng(seed), 200_000
    shared = rng.normal(0.0, math.sqrt(LAW.known_sd**2 + LAW.lot_sd**2 + LAW.season_sd**2), (cases, 1))
    sowing = np.repeat(rng.normal(0.0, LAW.sowing_sd, (cases, len(sizes))), sizes, axis=1)
    own = rng.normal(0.0, LAW.tray_sd, (cases, sum(sizes)))
    mean = np.exp(LAW.mu + shared + sowing + own).mean(axis=1)
    law = mean_law(LAW, [size / sum(sizes) for size in sizes], sum(sizes))
    # 200,000 cases place a quantile to about 0.2 %; what is left of 1 % is the lognormal taken for the sum's law.
    assert [law.quantile(share) for share in (0.1, 0.5, 0.9)] == pytest.approx(
        np.quantile(mean, (0.1, 0.5, 0.9)), rel=0.01
    )


def test_a_tray_that_waited_was_expected_to_have_grown() -> None:
    tray = cut_tray(1, 260.0, sown=MONDAY)
    state = farm([tray])
    state.recipes["broccoli"] = msgspec.structs.replace(BROCCOLI, growth_a_day=0.1, cut_window_days=2)
    lessons = lessons_upto(state, MONDAY)
    told = [cut_foretold(state, lot_of(tray, waits=waits), lessons) for waits in (0.0, 1.0, 9.0)]
    likely = [each.total.likely for each in told if each is not None]
    # A tenth a day, and no further than the two days of its cut window.
    assert [one / likely[0] for one in likely] == pytest.approx([1.0, 1.1, 1.21])


def test_nobody_can_say_without_a_recipe_or_a_figure() -> None:
    tray = cut_tray(1, 260.0, sown=MONDAY)
    state = farm([tray])
    lessons = lessons_upto(state, MONDAY)
    del state.recipes["broccoli"]
    assert cut_foretold(state, lot_of(tray), lessons) is None
    assert cut_foretold(FarmState(), lot_of(tray), lessons) is None
