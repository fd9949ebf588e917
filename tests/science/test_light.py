"""Daily light, photons and watts, meters and evenness: what is refused, and what must always hold."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError, NotFoundError
from trayward.science.light import dli, hours_for_dli, ppfd_for_dli
from trayward.science.light_power import ideal_efficacy, kwh_a_day, kwh_per_mol, photon_energy, photon_output, watts_for
from trayward.science.light_readings import LUX_PER_UMOL, lux_factor, lux_of_ppfd, ppfd_at, ppfd_of_lux, uniformity

LIGHTS = st.sampled_from(sorted(LUX_PER_UMOL))


@given(st.floats(0, 10_000), st.floats(0.1, 24))
def test_daily_light_and_the_light_it_takes_lead_back_to_each_other(ppfd: float, hours: float) -> None:
    day = dli(ppfd, hours)
    if day <= 100:
        assert ppfd_for_dli(day, hours) == pytest.approx(ppfd, abs=1e-9)
        if ppfd > 1e-6:
            assert hours_for_dli(day, ppfd) == pytest.approx(hours)


@given(st.floats(0, 10_000), LIGHTS)
def test_lux_and_ppfd_lead_back_to_each_other(ppfd: float, light: str) -> None:
    lux = lux_of_ppfd(ppfd, light)
    if lux <= 500_000:
        assert ppfd_of_lux(lux, light) == pytest.approx(ppfd, abs=1e-9)


@given(st.floats(100, 3000))
def test_longer_waves_carry_less_and_give_more_photons(nm: float) -> None:
    assert photon_energy(nm) * ideal_efficacy(nm) == pytest.approx(1000)
    if nm < 2999:
        assert photon_energy(nm + 1) < photon_energy(nm)


@given(st.floats(1, 2000), st.floats(0.05, 3), st.floats(0.5, 5.8), st.floats(0.05, 1))
def test_photons_bought_are_photons_that_land(ppfd: float, area: float, efficacy: float, share: float) -> None:
    watts = watts_for(ppfd, area, efficacy, share)
    assert photon_output(watts, efficacy) * share == pytest.approx(ppfd * area)
    assert kwh_a_day(watts, 16) == pytest.approx(dli(ppfd, 16) * area * kwh_per_mol(efficacy, share))


@given(st.lists(st.floats(1, 2000), min_size=2, max_size=40), st.floats(0.1, 10))
def test_evenness_is_a_share_and_does_not_know_the_unit(values: list[float], scale: float) -> None:
    found, scaled = uniformity(values), uniformity([scale * value for value in values])
    assert 0 < found.min_max <= found.min_mean * (1 + 1e-9) <= 1 + 2e-9
    assert found.least <= found.mean * (1 + 1e-9) <= found.most * (1 + 2e-9)
    for name in ("min_mean", "min_max", "cv", "christiansen"):
        assert getattr(scaled, name) == pytest.approx(getattr(found, name), abs=1e-9)


def test_a_shelf_lit_alike_everywhere_is_wholly_even() -> None:
    found = uniformity([150.0] * 9)
    assert (found.min_mean, found.min_max, found.cv, found.christiansen) == (1, 1, 0, 1)


def test_arrays_go_in_and_come_out() -> None:
    assert dli(np.array([100.0, 200.0]), 10) == pytest.approx([3.6, 7.2])
    assert hours_for_dli(np.array([5.0, 10.0]), 200.0) == pytest.approx([6.944, 13.889], abs=0.001)
    assert ppfd_of_lux(np.array([5400.0]), "sun") == pytest.approx([100])


REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "25 h": (lambda: dli(200, 25), r"hours = 25 h: must lie in \[0, 24\] h. A day has 24 h"),
    "below no light": (lambda: dli(-1, 16), r"ppfd = -1 umol/m2/s: must lie in \[0, 10000\]"),
    "lux for PPFD": (lambda: dli(20_000, 16), r"If this is lux, turn it into PPFD first"),
    "not a number": (lambda: dli(math.nan, 16), r"ppfd = nan umol/m2/s: must lie in"),
    "one bad of many": (lambda: dli(np.array([100.0, -5.0]), 16), r"ppfd = -5 umol/m2/s"),
    "too short a day": (lambda: hours_for_dli(30, 200), r"hours = 41.7 h: .* It takes 347 umol/m2/s at least"),
    "no light": (lambda: hours_for_dli(10, 0), r"Without light no hours are enough"),
    "no hours": (lambda: ppfd_for_dli(10, 0), r"hours = 0 h: must lie above 0"),
    "too much a day": (lambda: ppfd_for_dli(400, 16), r"dli = 400 mol/m2/d: must lie in \[0, 100\]"),
    "beyond physics": (lambda: photon_output(20, 6), r"efficacy = 6 umol/J: must lie above 0 and up to 5.85"),
    "no efficacy": (lambda: kwh_per_mol(0), r"efficacy = 0 umol/J"),
    "watts below nothing": (lambda: kwh_a_day(-20, 16), r"watts = -20 W"),
    "no area": (lambda: watts_for(200, 0, 2.5), r"area = 0 m2"),
    "no share": (lambda: watts_for(200, 1, 2.5, 0), r"share on the shelf = 0: must lie above 0 and up to 1"),
    "x-rays": (lambda: photon_energy(1), r"wavelength = 1 nm: must lie in \[100, 3000\] nm"),
    "at the lamp": (lambda: ppfd_at(600, 300, 0), r"distance = 0 mm: must lie above 0"),
    "dark lux": (lambda: ppfd_of_lux(-1, "sun"), r"lux = -1 lux"),
    "one reading": (lambda: uniformity([100]), r"evenness takes two values or more"),
    "all dark": (lambda: uniformity([0, 0]), r"not all dark"),
    "a lost reading": (lambda: uniformity([100, math.nan]), r"Look for a reading gone wrong"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_refused_with_the_way_out(what: str) -> None:
    work, words = REFUSED[what]
    with pytest.raises(InputError, match=words):
        work()


def test_a_light_that_nobody_measured_is_refused_by_name() -> None:
    with pytest.raises(NotFoundError, match=r"light 'pink LED'.*white LED.*measure with a quantum meter"):
        lux_factor("pink LED")
