"""What people type is read into one unit per quantity, or refused with the rule and the way out."""

from __future__ import annotations

import math
import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward import units
from trayward.errors import InputError


@pytest.mark.parametrize(
    ("text", "grams"),
    [
        ("20 g", 20.0),
        ("20g", 20.0),
        (" 20 grams ", 20.0),
        ("0.75 oz", 0.75 * 28.349523125),
        ("1 lb 4 oz", 566.9904625),
        ("1lb4oz", 566.9904625),
        ("12,5 g", 12.5),
        ("0,125 kg", 125.0),
        ("1/2 oz", 14.1747615625),
        ("½ oz", 14.1747615625),
        ("1½ oz", 42.5242846875),
        ("1 1/2 oz", 42.5242846875),
        ("1.250 kg", 1250.0),
        ("15", 15.0),
    ],
)
def test_weights_are_read_as_people_type_them(text: str, grams: float) -> None:
    assert units.parse_mass(text) == pytest.approx(grams, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "ml"),
    [
        ("1/4 cup", 59.147),
        ("1 cup", 236.588),
        ("1 tbsp", 14.7868),
        ("1 1/2 tsp", 7.39338),
        ("2 tbsp", 29.5735),
        ("8 fl oz", 236.588),
        ("8 fl. oz.", 236.588),
        ("1 cup 2 tbsp", 266.162),
        ("0,5 l", 500.0),
        ("450", 450.0),
    ],
)
def test_volumes_use_us_spoons_and_cups(text: str, ml: float) -> None:
    # NIST Handbook 44, Appendix C: 1 tbsp 14.7868 ml, 1 cup 236.588 ml (from memory).
    assert units.parse_volume(text) == pytest.approx(ml, rel=1e-5)


def test_spoons_of_seed_become_grams_by_bulk_density() -> None:
    assert units.parse_mass("2 tbsp", density_g_per_ml=0.676) == pytest.approx(19.99, abs=0.01)


def test_spoons_of_seed_without_a_bulk_density_are_refused() -> None:
    with pytest.raises(InputError, match="no bulk density is known"):
        units.parse_mass("2 tbsp")


@pytest.mark.parametrize(
    ("text", "celsius"),
    [("70 F", 21.1111), ("21 C", 21.0), ("-3 °C", -3.0), ("−3 °C", -3.0), ("70 degrees F", 21.1111), ("21,5", 21.5)],
)
def test_temperatures_are_read_in_either_scale(text: str, celsius: float) -> None:
    assert units.parse_temperature(text) == pytest.approx(celsius, abs=1e-4)


def test_a_bare_temperature_takes_the_farms_scale() -> None:
    assert units.parse_temperature("50", default="F") == pytest.approx(10.0)


@pytest.mark.parametrize(
    ("text", "mm"), [("13 mm", 13.0), ("1/2 in", 12.7), ('1/2"', 12.7), ("1 ft 3 in", 381.0), ("2,5 cm", 25.0)]
)
def test_lengths_are_read_in_millimetres_or_inches(text: str, mm: float) -> None:
    assert units.parse_length(text) == pytest.approx(mm)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [("3 h", 180), ("90 min", 90), ("1h30", 90), ("1 h 05", 65), ("1 h 30 min", 90), ("2 d", 2880), ("45", 45)],
)
def test_lengths_of_time_are_read_in_minutes(text: str, minutes: float) -> None:
    assert units.parse_minutes(text) == minutes


@pytest.mark.parametrize(
    ("text", "share"),
    [
        ("80 %", 0.8),
        ("80%", 0.8),
        ("0.8", 0.8),
        ("0,8", 0.8),
        ("43/50", 0.86),
        ("43 of 50", 0.86),
        ("1", 1.0),
        ("43 de 50", 0.86),
    ],
)
def test_shares_are_read_as_percent_decimal_or_count(text: str, share: float) -> None:
    assert units.parse_share(text) == pytest.approx(share)


@pytest.mark.parametrize(
    ("parse", "text", "rule"),
    [
        (units.parse_mass, "", "must be a number with a unit"),
        (units.parse_mass, "a handful", "must be a number with a unit"),
        (units.parse_mass, "20 g g", "must be a number with a unit"),
        (units.parse_mass, "1/0 g", "must be a number with a unit"),
        (units.parse_mass, "1e3 g", "has the unit 'e'"),
        (units.parse_mass, "20 C", "has the unit 'c'"),
        (units.parse_mass, "-3 g", "must not be below zero"),
        (units.parse_mass, "4 oz 1 lb", "names its units out of order"),
        (units.parse_mass, "4 oz 4 oz", "names its units out of order"),
        (units.parse_mass, "1 lb 4", "has a number without its unit"),
        (units.parse_mass, "1.000,5 g", "has a number without its unit"),
        (units.parse_mass, "1,000 g", "can be read as 1000 or as a decimal number"),
        (units.parse_mass, "9" * 5000 + " g", "is too long"),
        (units.parse_volume, "3 g", "has the unit 'g'"),
        (units.parse_length, "1 h", "has the unit 'h'"),
        (units.parse_minutes, "1h75", "has a number without its unit"),
        (units.parse_temperature, "21 g", "has the unit 'g'"),
        (units.parse_temperature, "-300 C", "below absolute zero"),
        (units.parse_temperature, "20 C 21 C", "must be one number"),
        (units.parse_share, "80", "must lie between 0 and 1"),
        (units.parse_share, "60/50", "must lie between 0 and 1"),
        (units.parse_share, "half", "must be a share"),
        (units.parse_share, "43 g", "must be a share"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_the_rule_and_the_accepted_units(parse, text: str, rule: str) -> None:
    with pytest.raises(InputError, match=rule) as caught:
        parse(text)
    assert "Accepted" in caught.value.remedy
    assert caught.value.name in str(caught.value)


def test_the_error_names_what_was_asked_for() -> None:
    with pytest.raises(InputError, match=r"seed a tray = 'lots': must be a number with a unit. Accepted: g, kg, oz"):
        units.parse_mass("lots", name="seed a tray")


@given(st.floats(min_value=0, max_value=1e6, allow_nan=False), st.sampled_from(["g", "kg", "oz", "lb", "mg"]))
def test_any_weight_survives_being_written_and_read(amount: float, unit: str) -> None:
    size = {"g": 1, "kg": 1000, "oz": units.GRAMS_PER_OUNCE, "lb": units.GRAMS_PER_POUND, "mg": 0.001}[unit]
    assert units.parse_mass(f"{amount:.6f} {unit}") == pytest.approx(round(amount, 6) * size, rel=1e-12)
    if amount < 1 or amount >= 1000:  # a comma with three digits after it is refused as unclear
        written = f"{amount:.2f} {unit}".replace(".", ",")
        assert units.parse_mass(written) == pytest.approx(round(amount, 2) * size, rel=1e-9)


@given(st.floats(min_value=0.5, max_value=5e4), st.sampled_from(["g", "oz"]))
def test_a_shown_weight_reads_back_within_its_own_digits(grams: float, unit: str) -> None:
    assert units.parse_mass(units.show_mass(grams, unit)) == pytest.approx(grams, rel=0.006)


@given(st.floats(min_value=0.5, max_value=5e4), st.sampled_from(["ml", "cup"]))
def test_a_shown_volume_reads_back_within_its_own_digits(ml: float, unit: str) -> None:
    assert units.parse_volume(units.show_volume(ml, unit)) == pytest.approx(ml, rel=0.06)


@given(st.floats(min_value=0.5, max_value=5e3), st.sampled_from(["mm", "in"]))
def test_a_shown_length_reads_back_within_its_own_digits(mm: float, unit: str) -> None:
    assert units.parse_length(units.show_length(mm, unit)) == pytest.approx(mm, rel=0.06)


@given(st.floats(min_value=-40, max_value=60), st.sampled_from(["C", "F"]))
def test_a_shown_temperature_reads_back_within_half_a_degree(celsius: float, unit: str) -> None:
    assert units.parse_temperature(units.show_temperature(celsius, unit)) == pytest.approx(celsius, abs=0.3)


@given(st.integers(0, 200), st.integers(1, 200))
def test_a_count_of_seeds_reads_as_its_share_or_is_refused(sprouted: int, tested: int) -> None:
    if sprouted > tested:
        with pytest.raises(InputError, match="must lie between 0 and 1"):
            units.parse_share(f"{sprouted}/{tested}")
    else:
        assert units.parse_share(f"{sprouted} of {tested}") == pytest.approx(sprouted / tested)


@given(st.text(max_size=80))
def test_any_text_gives_a_finite_weight_or_an_input_error(text: str) -> None:
    """Never a crash, never a silent wrong kind of number."""
    for parse in (units.parse_mass, units.parse_volume, units.parse_length, units.parse_minutes, units.parse_share):
        try:
            assert 0 <= parse(text) < math.inf
        except InputError:
            continue


def test_shown_figures_have_few_digits() -> None:
    assert units.show_mass(20.0206) == "20 g"
    assert units.show_mass(20.0206, "oz") == "0.706 oz"
    assert units.show_mass(0) == "0 g"
    assert units.show_mass(12_345.6) == "12.3 kg"
    assert units.show_volume(236.588, "cup") == "1 cup"
    assert units.show_volume(59.147, "cup") == "1/4 cup"
    assert units.show_volume(29.5735, "cup") == "2 tbsp"
    assert units.show_length(12.7, "in") == "1/2 in"
    assert units.show_length(29.0, "in") == "1 1/8 in"
    assert units.show_temperature(21.0, "F") == "70 F"
    assert units.show_temperature(-0.1) == "0 C"


@pytest.mark.parametrize(
    ("grams", "shown"),
    [(0.0, "0 oz"), (28.35, "1 oz"), (450.0, "15.9 oz"), (453.6, "1 lb"), (2268.0, "5 lb"), (4500.0, "9.92 lb")],
)
def test_what_is_heavy_is_shown_in_pounds_where_ounces_are_read(grams: float, shown: str) -> None:
    assert units.show_mass(grams, "oz") == shown


@pytest.mark.parametrize(
    ("ml", "shown"),
    [
        (0.0, "0 tbsp"),
        (5.0, "1 tsp"),  # a US teaspoon is 4.93 ml
        (15.0, "1 tbsp"),
        (22.0, "1 1/2 tbsp"),
        (60.0, "1/4 cup"),  # 1.4 % more than the 59.1 ml of a quarter cup
        (80.0, "1/3 cup"),
        (118.0, "1/2 cup"),
        (240.0, "1 cup"),
        (355.0, "1 1/2 cup"),
        (450.0, "1.9 cup"),  # no cup is as near as 2 %
        (3000.0, "12.7 cup"),
    ],
)
def test_a_measure_is_shown_as_the_cup_or_spoon_there_is_for_it(ml: float, shown: str) -> None:
    assert units.show_volume(ml, "cup") == shown


def test_what_is_only_likely_is_shown_to_two_figures() -> None:
    assert [units.show_mass(grams, figures=2) for grams in (94.6, 168.4, 1174.0, 12_345.0)] == [
        "95 g",
        "170 g",
        "1200 g",
        "12 kg",
    ]
    assert units.show_mass(95.0, "oz", figures=2) == "3.4 oz"


def test_units_needs_only_the_standard_library_beside_the_errors() -> None:
    """Start-up stays light: importing it pulls in no library that `trayward.errors` has not pulled in already."""
    script = (
        "import sys, trayward.errors; before = set(sys.modules); import trayward.units; "
        "print(*sorted({m.split('.')[0] for m in set(sys.modules) - before}))"
    )
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert set(out.split()) - {"trayward"} <= set(sys.stdlib_module_names)
