"""Water at any pH: charge and mass balance, more acid never raises the pH, and there and back again."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.solution import (
    OUTDOOR_CO2_ATM,
    Solution,
    alkalinity_from,
    alkalinity_left,
    at_ph,
    buffer_strength,
    settle,
    water_of,
)
from trayward.science.solution_constants import LIGANDS, METALS, SPECIES, debye_a, log_k, log_k_water
from trayward.science.solution_dose import dose_to_ph, titration, with_dose
from trayward.science.solution_feed import blend
from trayward.science.solution_reagents import REAGENTS, Product, product_of, read_product

ACIDS = ["citric 50 %", "phosphoric 75 %", "nitric 38 %", "sulphuric 30 %", "citric powder", "nitric 0.5 mol/l"]
PH = st.floats(6.0, 8.8)
ALKALINITY = st.floats(0.2, 8.0)
WATERS = st.builds(
    lambda ph, meq, calcium, magnesium, temp: water_of(
        ph, meq, temp_c=temp, calcium_mg=calcium, magnesium_mg=magnesium
    ),
    PH,
    ALKALINITY,
    st.floats(0.0, 150.0),
    st.floats(0.0, 40.0),
    st.sampled_from([2.0, 10.0, 18.0, 25.0, 35.0]),
)  # fmt: skip


def total(rest_species: np.ndarray, *, ligand: str = "", metal: str = "") -> float:
    held = [each.ligand == ligand if ligand else each.metal == metal for each in SPECIES]
    return float(rest_species @ np.array(held, dtype=float))


@settings(max_examples=60, deadline=None)
@given(water=WATERS, acid=st.sampled_from(ACIDS), moles=st.floats(0.0, 4e-3))
def test_nothing_is_lost_and_charges_balance(water: Solution, acid: str, moles: float) -> None:
    dosed = with_dose(water, read_product(acid), moles)
    rest = settle(dosed)
    assert rest.charge == pytest.approx(0.0, abs=1e-10)
    for ligand in LIGANDS:
        assert total(rest.species, ligand=ligand) == pytest.approx(float(getattr(dosed, ligand)), rel=1e-7, abs=1e-15)
    for metal in METALS:
        assert total(rest.species, metal=metal) <= float(getattr(dosed, metal)) * (1 + 1e-9) + 1e-15
    assert np.all(rest.species >= 0)


@settings(max_examples=40, deadline=None)
@given(water=WATERS, acid=st.sampled_from(ACIDS), small=st.floats(0.0, 2e-3), more=st.floats(1e-7, 2e-3))
def test_more_acid_never_raises_the_ph(water: Solution, acid: str, small: float, more: float) -> None:
    product = read_product(acid)
    before = settle(with_dose(water, product, small)).ph
    after = settle(with_dose(water, product, small + more)).ph
    assert after < before


@settings(max_examples=40, deadline=None)
@given(
    water=WATERS,
    base=st.sampled_from(["koh 10 %", "koh 1 mol/l"]),
    small=st.floats(0, 1e-3),
    more=st.floats(1e-7, 1e-3),
)
def test_more_lye_never_lowers_the_ph(water: Solution, base: str, small: float, more: float) -> None:
    product = read_product(base)
    assert settle(with_dose(water, product, small + more)).ph > settle(with_dose(water, product, small)).ph


@settings(max_examples=40, deadline=None)
@given(ph=PH, meq=ALKALINITY, calcium=st.floats(0.0, 150.0), temp=st.floats(0.0, 50.0))
def test_water_comes_back_with_its_own_ph_and_alkalinity(ph: float, meq: float, calcium: float, temp: float) -> None:
    rest = settle(water_of(ph, meq, calcium_mg=calcium, temp_c=temp))
    assert rest.ph == pytest.approx(ph, abs=1e-7)
    assert alkalinity_left(rest) == pytest.approx(meq, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(water=WATERS, acid=st.sampled_from(ACIDS), target=st.floats(4.5, 5.95))
def test_a_dose_brings_the_water_to_its_target_and_no_further(water: Solution, acid: str, target: float) -> None:
    product = read_product(acid)
    dose = dose_to_ph(water, product, target)
    assert settle(with_dose(water, product, float(dose.amount) * product.moles)).ph == pytest.approx(target, abs=1e-6)
    assert dose.alkalinity < dose.alkalinity_before
    assert dose.buffer > 0


@settings(max_examples=30, deadline=None)
@given(water=WATERS, low=st.floats(4.5, 5.5), more=st.floats(0.05, 0.9))
def test_a_lower_target_takes_more_acid(water: Solution, low: float, more: float) -> None:
    product = read_product("phosphoric 75 %")
    assert (
        dose_to_ph(water, product, low).mmol > dose_to_ph(water, product, low + more if low + more < 6 else 5.99).mmol
    )


@settings(max_examples=40, deadline=None)
@given(
    ph=PH, other_ph=PH, meq=ALKALINITY, other_meq=ALKALINITY,
    calcium=st.floats(0, 150), other_calcium=st.floats(0, 150), share=st.floats(0.0, 1.0),
)  # fmt: skip
def test_a_blend_holds_what_both_waters_held(
    ph: float, other_ph: float, meq: float, other_meq: float, calcium: float, other_calcium: float, share: float
) -> None:
    one, other = water_of(ph, meq, calcium_mg=calcium), water_of(other_ph, other_meq, calcium_mg=other_calcium)
    mixed = blend(one, other, share)
    for name in ("carbon", "calcium", "magnesium", "strong", "sulfur"):
        wanted = share * float(getattr(one, name)) + (1 - share) * float(getattr(other, name))
        assert float(getattr(mixed, name)) == pytest.approx(wanted, rel=1e-12, abs=1e-18)
    rest = settle(mixed)
    assert alkalinity_left(rest) == pytest.approx(share * meq + (1 - share) * other_meq, abs=1e-6)
    assert min(ph, other_ph) - 0.7 < rest.ph < max(ph, other_ph) + 0.05


def test_a_blend_of_one_water_with_itself_is_that_water() -> None:
    water = water_of(7.6, 3.0, calcium_mg=60)
    assert settle(blend(water, water, 0.37)).ph == pytest.approx(7.6, abs=1e-8)


# Against a brute-force solve ------------------------------------------------------------------------------------------


def brute_charge(ph: float, citrate: float, strong: float, temp_c: float) -> float:
    """Citric acid in lye, nothing else: written out by hand, activities by plain repetition."""
    slope, hydrogen, strength = debye_a(temp_c), 10**-ph, 0.001
    found = {each.name: 10 ** log_k(each, temp_c) for each in SPECIES if each.ligand == "citrate"}
    charge = math.nan
    for _ in range(200):
        root = math.sqrt(strength)
        gamma = [10 ** (-slope * z**2 * (root / (1 + root) - 0.3 * strength)) for z in range(4)]
        parts = [1.0] + [
            found[name] * hydrogen**protons * gamma[3] / gamma[3 - protons]
            for protons, name in ((1, "HCit"), (2, "H2Cit"), (3, "H3Cit"))
        ]
        free = citrate / sum(parts)
        held = [free * part for part in parts]
        proton, hydroxide = hydrogen / gamma[1], 10 ** log_k_water(temp_c) / hydrogen / gamma[1]
        strength = 0.5 * (sum(held[at] * (3 - at) ** 2 for at in range(4)) + strong + proton + hydroxide)
        charge = strong + proton - hydroxide - sum(held[at] * (3 - at) for at in range(4))
    return charge


@pytest.mark.parametrize("temp_c", [10.0, 25.0, 40.0])
@pytest.mark.parametrize("equivalents", [0.5, 1.0, 1.7, 2.6])
def test_citric_acid_in_lye_is_what_a_brute_force_solve_finds(equivalents: float, temp_c: float) -> None:
    # Independent: bisection over one acid written out by hand with the published constants; 1e-6 pH.
    citrate, strong = 2e-3, equivalents * 2e-3
    low, high = 2.0, 11.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if brute_charge(middle, citrate, strong, temp_c) > 0 else (low, middle)
    rest = settle(Solution(citrate=citrate, strong=strong, ions=strong, temp_c=temp_c))
    assert rest.ph == pytest.approx((low + high) / 2, abs=1e-6)


# Open to the air ------------------------------------------------------------------------------------------------------


def test_dosed_water_drifts_up_as_it_stands_open() -> None:
    dose = dose_to_ph(water_of(7.8, 3.6), read_product("nitric 38 %"), 5.8)
    assert dose.ph_stood > 7.0


def test_water_that_is_to_hold_its_ph_in_the_open_takes_nearly_all_its_alkalinity_in_acid() -> None:
    water = water_of(7.8, 3.6)
    closed = dose_to_ph(water, read_product("nitric 38 %"), 5.8)
    standing = dose_to_ph(water, read_product("nitric 38 %"), 5.8, co2_atm=OUTDOOR_CO2_ATM)
    assert standing.mmol > closed.mmol
    assert standing.mmol == pytest.approx(3.6, abs=0.01)
    assert standing.ph_stood == pytest.approx(5.8, abs=1e-6)


def test_more_carbon_dioxide_in_the_air_lowers_the_ph() -> None:
    water = water_of(7.8, 3.6)
    assert settle(water, co2_atm=1500e-6).ph < settle(water, co2_atm=420e-6).ph


# Arrays, reagents, refusals -------------------------------------------------------------------------------------------


def test_an_array_of_waters_is_worked_out_like_each_by_itself() -> None:
    ph, meq = np.linspace(6.5, 8.5, 12), np.linspace(0.5, 6.0, 12)
    product = read_product("phosphoric 75 %")
    whole = np.asarray(dose_to_ph(water_of(ph, meq, calcium_mg=40.0), product, 5.8).mmol)
    each = [
        float(dose_to_ph(water_of(float(a), float(b), calcium_mg=40.0), product, 5.8).mmol)
        for a, b in zip(ph, meq, strict=True)
    ]
    assert whole == pytest.approx(each, rel=1e-7)


def test_a_titration_falls_all_the_way() -> None:
    amounts, ph = titration(water_of(7.8, 3.6), read_product("citric 50 %"), 1.0)
    assert amounts[0] == 0
    assert ph[0] == pytest.approx(7.8, abs=1e-6)
    assert np.all(np.diff(ph) < 0)


def test_the_buffer_is_the_slope_of_the_titration() -> None:
    water, step = water_of(7.0, 3.0, ec_ds_m=0.6), 5e-7
    acid, base = (settle(water._replace(strong=3e-3 + way * step)).ph for way in (-1, 1))
    slope = 2 * step * 1000 / (float(base) - float(acid))
    assert buffer_strength(water, 7.0) == pytest.approx(slope, rel=1e-4)


@pytest.mark.parametrize("reagent", REAGENTS, ids=lambda each: each.name)
def test_a_stronger_bottle_is_denser_and_holds_more(reagent: object) -> None:
    rows = reagent.densities  # type: ignore[attr-defined]
    products = [product_of(reagent, percent=percent) for percent, _ in rows[1:]]  # type: ignore[arg-type]
    assert [each.density for each in products] == sorted(each.density or 0 for each in products)
    assert [each.moles for each in products] == sorted(each.moles for each in products)


@pytest.mark.parametrize(
    ("words", "molar"),
    [
        ("nitric 67 % 1.40", 14.89),
        ("sulphuric acid 96 %", 17.97),
        ("phosphoric 85 %", 14.65),
        ("koh 45 %", 11.68),
        ("H3PO4 2 mol/l", 2.0),
    ],
)
def test_words_on_a_label_give_its_strength(words: str, molar: float) -> None:
    # Common strengths of bought acids: 17.8 to 18, 14.6 to 14.8, 11.7 mol/l (supplier lists, seen); 1 %.
    assert read_product(words).molar == pytest.approx(molar, rel=0.01)


@pytest.mark.parametrize(
    ("words", "match"),
    [
        ("citric 110 %", "strength of citric acid = 110 %"),
        ("citric 0 %", "strength of citric acid = 0 %"),
        ("citric 80 %", 'Is it dry\\? Then say "citric acid powder"'),
        ("sulphuric powder", "it is sold as a liquid only"),
        ("vinegar 5 %", "must be one of"),
        ("citric", "its strength must be said"),
        ("nitric 38 % 1.9", "is not the density of 38 % nitric acid"),
        ("nitric 40 mol/l", "must lie above 0 and up to 20 mol/l"),
        ("citric powder 120 %", "purity of citric acid = 120 %"),
        ("nitric 1.2.3 %", "has a number that cannot be read"),
    ],
)
def test_a_label_that_cannot_be_is_refused(words: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        read_product(words)


@pytest.mark.parametrize(
    ("given_", "match"),
    [
        ({"ph": 15.0, "alkalinity_meq": 3.0}, "water pH = 15"),
        ({"ph": math.nan, "alkalinity_meq": 3.0}, "water pH = nan"),
        ({"ph": 7.0, "alkalinity_meq": -1.0}, "alkalinity = -1 meq/l"),
        ({"ph": 7.0, "alkalinity_meq": math.nan}, "alkalinity = nan"),
        ({"ph": 7.0, "alkalinity_meq": 3.0, "temp_c": 80.0}, "water temperature = 80 C"),
        ({"ph": 7.0, "alkalinity_meq": 3.0, "calcium_mg": -5.0}, "calcium = -5 mg/l"),
        ({"ph": 10.4, "alkalinity_meq": 0.1}, "is too high for this alkalinity"),
        ({"ph": 4.6, "alkalinity_meq": 18.0}, "is too low for this alkalinity"),
        ({"ph": 7.0, "alkalinity_meq": 3.0, "ec_ds_m": -1.0}, "EC = -1 dS/m"),
    ],
)
def test_water_that_cannot_be_is_refused(given_: dict[str, float], match: str) -> None:
    with pytest.raises(InputError, match=match):
        water_of(**given_)


@pytest.mark.parametrize(
    ("words", "target", "match"),
    [
        ("citric 50 %", 8.5, "lies above the water's own pH 7.80, and citric acid moves it away"),
        ("koh 10 %", 6.0, "lies below the water's own pH 7.80"),
        ("citric 50 %", 15.0, "target pH = 15: must lie in \\[3, 10\\]"),
        ("khco3 powder", 9.9, "cannot be reached with potassium bicarbonate"),
    ],
)
def test_a_target_that_cannot_be_reached_is_refused(words: str, target: float, match: str) -> None:
    with pytest.raises(InputError, match=match):
        dose_to_ph(water_of(7.8, 3.6), read_product(words), target)


def test_water_that_is_there_already_takes_nothing() -> None:
    product: Product = read_product("citric 50 %")
    assert dose_to_ph(water_of(5.8, 0.2), product, 5.8).amount == pytest.approx(0.0, abs=1e-6)


def test_brine_is_refused() -> None:
    with pytest.raises(InputError, match=r"must not exceed 0\.5 mol/l of ionic strength"):
        at_ph(Solution(ions=2.0), 7.0)


def test_an_unknown_unit_of_alkalinity_is_refused() -> None:
    with pytest.raises(InputError, match="alkalinity unit = drops"):
        alkalinity_from(1.0, "drops")
