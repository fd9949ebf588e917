"""The shipped table: every value sourced, trusted as far as it says, in order, and in known units."""

from __future__ import annotations

import subprocess
import sys
from itertools import pairwise
from typing import get_args

import pytest

from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import Fact, Trust
from trayward.library.crops import crop_names, emergence, fact_columns, fact_said, facts_for, library_facts
from trayward.sources import source, source_keys

UNITS = {"", "g", "g/ml", "mm", "d", "h", "C", "C d", "%"}
UNIT_OF = {
    "tsw_g": "g",
    "sow_g_per_1020": "g",
    "yield_g_per_1020": "g",
    "seed_thickness_mm": "mm",
    "seed_width_mm": "mm",
    "seed_equiv_diam_mm": "mm",
    "square_mesh_pass_mm": "mm",
    "harvest_height_mm": "mm",
    "bulk_density_g_per_ml": "g/ml",
    "days_": "d",
    "storage_life_days": "d",
    "soak_h": "h",
    "germ_pct": "%",
    "t_": "C",
    "tt": "C d",
    "passes_1mm_mesh": "",
    "mucilaginous": "",
}
ORDERED = [
    *(
        tuple(f"{stem}_{end}" for end in ("low", "typ", "high"))
        for stem in (
            "tsw_g", "seed_thickness_mm", "seed_width_mm", "sow_g_per_1020", "days_blackout", "days_light",
            "days_sow_to_harvest", "yield_g_per_1020",
        )
    ),
    ("bulk_density_g_per_ml_low", "bulk_density_g_per_ml", "bulk_density_g_per_ml_high"),
    ("soak_h_low", "soak_h_high"),
    ("days_germ_under_cover_low", "days_germ_under_cover_high"),
    ("harvest_height_mm_low", "harvest_height_mm_high"),
    ("t_base_germ_C", "t_opt_germ_C", "t_ceiling_germ_C"),
]  # fmt: skip
ALL_VALUES = [(crop, name, fact) for crop in crop_names() for name, fact in library_facts(crop).facts.items()]


def test_the_table_is_whole() -> None:
    assert len(crop_names()) == len(set(crop_names())) == 45
    assert len(ALL_VALUES) > 900


def test_every_value_has_a_known_source_a_trust_and_its_quantitys_unit() -> None:
    keys, trusts = set(source_keys()), set(get_args(Trust)) - {"farm"}
    for crop, name, fact in ALL_VALUES:
        assert fact.source in keys, (crop, name)
        assert fact.trust in trusts, (crop, name)
        assert fact.unit in UNITS, (crop, name)
        stem = max((stem for stem in UNIT_OF if name.startswith(stem)), key=len)
        assert fact.unit == UNIT_OF[stem], (crop, name)


def test_what_a_source_from_memory_says_is_not_called_seen() -> None:
    for crop, name, fact in ALL_VALUES:
        if fact.source in {"memory", "knott_memory", "jonesbaumgardt2019"}:
            assert fact.trust == "memory", (crop, name)
        assert (fact.source == "practice") == (fact.trust == "practice"), (crop, name)


def test_low_typical_and_high_are_in_order() -> None:
    for crop in crop_names():
        facts = library_facts(crop)
        for group in ORDERED:
            known = [value for value in (facts.number(name) for name in group) if value is not None]
            assert all(first <= second for first, second in pairwise(known)), (crop, group, known)


def test_numbers_are_plausible() -> None:
    limits = {"g/ml": (0.2, 1), "h": (0, 48), "%": (40, 100), "C": (-5, 50), "C d": (10, 300), "mm": (0.3, 160)}
    limits["d"] = (0, 40)
    for crop, name, fact in ALL_VALUES:
        if isinstance(fact.value, float) and fact.unit in limits:
            low, high = limits[fact.unit]
            assert low <= fact.value <= high, (crop, name, fact.value)


def test_no_sowing_rate_is_beyond_what_a_tray_can_carry() -> None:
    """Above 40 seeds per cm2 of any seed, or above 12 of seed over 1.5 mg, is a habit of weight, not a rate."""
    for crop in crop_names():
        facts = library_facts(crop)
        tsw = facts.number("tsw_g_typ")
        assert tsw is not None
        for end in ("low", "typ", "high"):
            grams = facts.number(f"sow_g_per_1020_{end}")
            if grams is not None:
                assert grams / tsw * 1000 / 1290.3 <= (12 if tsw > 1.5 else 40), (crop, end)


def test_words_are_from_a_closed_list() -> None:
    for crop, name, fact in ALL_VALUES:
        if isinstance(fact.value, str):
            assert name in {"mucilaginous", "passes_1mm_mesh"}, crop
            assert fact.value in {"yes", "no", "borderline"}, crop


def test_a_blank_stays_a_blank() -> None:
    assert library_facts("radish").number("yield_g_per_1020_typ") is None
    assert library_facts("purslane").text("mucilaginous") is None
    assert library_facts("tatsoi").number("sow_g_per_1020_typ") is None


def test_an_unknown_crop_is_refused_with_what_is_known() -> None:
    with pytest.raises(NotFoundError, match=r"crop 'moonwort': .* Known: broccoli, kale"):
        library_facts("moonwort")


def test_the_farms_word_goes_before_the_librarys() -> None:
    said = {"broccoli": {"tsw_g_typ": Fact(value=3.4, unit="g", trust="farm"), "germ_pct_usual": Fact(value=95)}}
    facts = facts_for("broccoli", said)
    assert facts.number("tsw_g_typ") == 3.4
    assert facts.number("germ_pct_usual") == 95.0
    assert facts.number("tsw_g_low") == library_facts("broccoli").number("tsw_g_low")
    assert library_facts("broccoli").number("tsw_g_typ") == 3.15


def test_a_farm_may_say_every_column_and_its_usual_germination() -> None:
    assert len(fact_columns()) == len(set(fact_columns()))
    assert {"tsw_g_typ", "days_blackout_typ", "germ_pct_usual"} <= set(fact_columns())
    assert all(name in fact_columns() for _, name, _ in ALL_VALUES)


def test_a_crop_only_the_farm_knows_has_only_the_farms_facts() -> None:
    facts = facts_for("moonwort", {"moonwort": {"tsw_g_typ": Fact(value=1.2, trust="farm")}})
    assert facts.number("tsw_g_typ") == 1.2
    assert facts_for("moonwort", {}).facts == {}


def test_emergence_holds_one_row_for_each_crop_and_temperature_from_one_known_source() -> None:
    rows = emergence()
    assert len({(row.crop, row.temp_c) for row in rows}) == len(rows) == 13 * 9
    assert {row.source for row in rows} == {"harrington1954"}
    assert source("harrington1954").year == "1954"
    assert all(row.days is None for row in rows if row.none_sprouted)


def test_importing_the_library_reads_no_data() -> None:
    """Start-up stays light: tables are read on first use."""
    script = (
        "import trayward.library.crops as c, trayward.library.advice, trayward.sources as s; "
        "print(c._table.cache_info().currsize, s._all_sources.cache_info().currsize); "
        "import sys; print('numpy' in sys.modules)"
    )
    out = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True).stdout
    assert out.split() == ["0", "0", "False"]


@pytest.mark.parametrize(
    ("column", "value", "rule"),
    [
        ("tsw_g_typ", "abc", "value = abc: must be a number"),
        ("tsw_g_typ", float("nan"), "must be a number"),
        ("tsw_g_typ", -3.0, "must not be below 0"),
        ("germ_pct_usual", 140.0, r"must lie in \[0, 100\]"),
        ("mucilaginous", "perhaps", "must be one of no, yes"),
    ],
)
def test_a_figure_that_cannot_be_is_no_fact_of_a_crop(column: str, value: float | str, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        fact_said(column, value)


def test_a_base_temperature_may_lie_below_zero() -> None:
    assert fact_said("t_base_emerg_C", -1.5) == -1.5
