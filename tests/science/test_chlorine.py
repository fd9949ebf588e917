"""Free chlorine: its quick form, and the table of strength times time."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.chlorine import contact_minutes, hypochlorous_pka, hypochlorous_share, ph_for_share, tank_minutes
from trayward.science.chlorine_ct import PHS, STRENGTHS, TEMPERATURES, giardia_ct

phs, warmths = st.floats(4, 11), st.floats(0, 35)


@given(phs, phs, warmths)
def test_a_higher_ph_never_makes_more_chlorine_act_quickly(one: float, other: float, warmth: float) -> None:
    low, high = sorted((one, other))
    assert hypochlorous_share(high, warmth) <= hypochlorous_share(low, warmth)
    assert 0 < hypochlorous_share(low, warmth) < 1


@given(st.floats(0.001, 0.999), warmths)
def test_ph_and_share_are_each_others_inverse(share: float, warmth: float) -> None:
    assert hypochlorous_share(ph_for_share(share, warmth), warmth) == pytest.approx(share, rel=1e-9)


def test_half_of_it_acts_quickly_where_ph_and_constant_meet() -> None:
    assert hypochlorous_share(hypochlorous_pka(25.0), 25.0) == pytest.approx(0.5)
    # Commonly printed as 7.5 at 25 °C (from memory).
    assert hypochlorous_pka(25.0) == pytest.approx(7.54, abs=0.02)


def test_arrays_go_in_and_come_out() -> None:
    ph = np.linspace(5, 10, 11)
    assert hypochlorous_share(ph, 20.0) == pytest.approx([hypochlorous_share(float(each), 20.0) for each in ph])


def test_the_table_rises_with_ph_and_strength_and_falls_with_warmth() -> None:
    figures = np.array([[[giardia_ct(ppm, ph, temp) for ph in PHS] for ppm in STRENGTHS] for temp in TEMPERATURES])
    assert figures.shape == (6, 14, 7)
    assert (np.diff(figures, axis=2) > 0).all()
    assert (np.diff(figures, axis=1) >= 0).all()
    assert (np.diff(figures, axis=0) < 0).all()


def test_beyond_the_table_its_safe_edge_holds() -> None:
    assert giardia_ct(9.0, 7.5, 15.0) == giardia_ct(3.0, 7.5, 15.0)
    assert giardia_ct(1.0, 5.5, 15.0) == giardia_ct(1.0, 6.0, 15.0)
    assert giardia_ct(1.0, 7.5, 40.0) == giardia_ct(1.0, 7.5, 25.0)


@given(st.floats(0.1, 1000), st.floats(0.1, 1000), st.floats(0.05, 1))
def test_a_badly_mixed_tank_never_needs_less_time(ct: float, ppm: float, baffling: float) -> None:
    assert contact_minutes(ct, ppm) * ppm == pytest.approx(ct)
    assert tank_minutes(contact_minutes(ct, ppm), baffling) >= contact_minutes(ct, ppm) * (1 - 1e-12)


@pytest.mark.parametrize(
    ("call", "rule"),
    [
        (lambda: hypochlorous_share(15.0), r"pH = 15: must lie in \[4, 11\]. Below pH 4 chlorine comes off as poison"),
        (lambda: hypochlorous_share(2.0), r"pH = 2"),
        (lambda: hypochlorous_share(7.0, 68.0), r"temp_c = 68 °C: .* If this is Fahrenheit"),
        (lambda: ph_for_share(1.0), r"share = 1: must lie in \[0.001, 0.999\]"),
        (lambda: contact_minutes(92.0, 0.0), r"ppm = 0 ppm: must be above 0. Measure what is left"),
        (lambda: tank_minutes(60.0, 0.0), r"baffling = 0: .* 0.5 is average"),
        (lambda: giardia_ct(1.0, 9.5, 15.0), r"pH = 9.5: .* The table ends at pH 9"),
        (lambda: giardia_ct(1.0, 7.5, 0.0), r"temp_c = 0 °C: .* The table begins at 0.5"),
        (lambda: giardia_ct(math.nan, 7.5, 15.0), r"ppm = nan ppm"),
    ],
)
def test_values_out_of_range_are_refused_with_the_way_out(call, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        call()
