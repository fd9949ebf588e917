"""Sheets of the hygiene bench: what is asked first, what is pointed out, what is always said."""

from __future__ import annotations

import pytest

from trayward.bench.hot_water import hot_water_sheet, table_sheet
from trayward.bench.hygiene import CAUTIONS, FLAMMABLE, dilute_sheet, made_sheet
from trayward.bench.hygiene_label import Label, strength_of
from trayward.bench.hygiene_use import chlorine_sheet, contact_sheet, mix_sheet, solution_sheet
from trayward.bench.types import Amount, Sheet
from trayward.errors import InputError
from trayward.science.sanitiser import AGENTS, agent_named
from trayward.sources import source

BLEACH = agent_named("bleach")
LABELS = {name: Label(percent=65 if agent.form == "powder" else 5.0) for name, agent in AGENTS.items()}


def found(sheet: Sheet, name: str) -> Amount:
    """The amount of that name."""
    return next(amount for amount in sheet.found if amount.name == name)


def sheets() -> list[Sheet]:
    """One of every kind that has to do with a sanitiser."""
    diluted = [dilute_sheet(AGENTS[name], label, 200.0, 4000.0) for name, label in LABELS.items()]
    return [
        *diluted,
        made_sheet(BLEACH, LABELS["bleach"], 15.0, 4000.0),
        contact_sheet(1.5, ph=7.5, water_c=15.0),
        chlorine_sheet(7.5),
        solution_sheet(BLEACH, [(0, 200)], 30, 100),
    ]


@pytest.mark.parametrize("sheet", sheets(), ids=lambda sheet: f"{sheet.task} {sheet.title}")
def test_clean_first_strips_label_codes_air_and_gloves_are_said_on_every_sheet(sheet: Sheet) -> None:
    said = " ".join(sheet.cautions)
    for word in (
        "Clean and rinse first",
        "test strip",
        "label",
        "local codes",
        "licensed practice",
        "Gloves",
        "fresh air",
    ):
        assert word in said


@pytest.mark.parametrize(
    "sheet", [*sheets(), mix_sheet(), table_sheet(), hot_water_sheet("kale")], ids=lambda s: s.task
)
def test_every_sheet_names_its_bench_what_it_holds_for_and_sources_that_are_there(sheet: Sheet) -> None:
    assert sheet.bench == "hygiene"
    assert sheet.holds
    assert sheet.sources
    assert all(source(key).title for key in sheet.sources)


def test_the_amount_to_measure_stands_first() -> None:
    sheet = dilute_sheet(BLEACH, Label(percent=8.25), 200.0, 3785.41)
    assert sheet.found[0].name == "bleach to measure"
    assert sheet.found[0].value == pytest.approx(9.18, abs=0.01)
    assert found(sheet, "water to measure first").value == pytest.approx(3785.41 - 9.18, abs=0.01)


def test_both_readings_of_a_label_are_shown_where_it_does_not_say_of_what() -> None:
    sheet = dilute_sheet(BLEACH, Label(percent=8.25), 200.0, 3785.41)
    assert "by weight" in found(sheet, "read otherwise").note
    assert found(sheet, "read otherwise").value < found(sheet, "bleach to measure").value
    said = dilute_sheet(BLEACH, Label(percent=8.25, by="weight"), 200.0, 3785.41)
    assert "read otherwise" not in [amount.name for amount in said.found]


def test_a_label_of_available_chlorine_is_stronger_than_one_of_hypochlorite() -> None:
    plain = strength_of(BLEACH, Label(percent=12.5, by="weight"))
    available = strength_of(BLEACH, Label(percent=12.5, by="weight", available=True))
    # Cl2 to NaOCl, 70.906 to 74.442 g/mol (from memory).
    assert plain.ppm / available.ppm == pytest.approx(0.9525, abs=1e-4)


def test_a_density_on_the_label_goes_before_the_one_from_memory() -> None:
    acid = agent_named("peroxyacetic acid")
    assert strength_of(acid, Label(percent=5.6, density=1.12)).ppm == pytest.approx(62_720)


def test_what_a_rule_does_not_allow_is_not_explained_step_by_step() -> None:
    sheet = dilute_sheet(BLEACH, Label(percent=8.25), 250.0, 4000.0)
    assert [finding.code for finding in sheet.findings] == ["sanitiser-too-strong"]
    assert sheet.steps == ()
    assert sheet.title.startswith("Too strong")
    assert "40 CFR 180.940" in sheet.findings[0].message
    assert dilute_sheet(BLEACH, Label(percent=8.25), 250.0, 4000.0, use="tools").findings == ()


def test_a_wash_of_peroxyacetic_acid_is_held_to_its_rule() -> None:
    acid, label = agent_named("peroxyacetic acid"), Label(ppm=62_000)
    assert [f.code for f in dilute_sheet(acid, label, 100.0, 4000.0, use="wash").findings] == ["sanitiser-too-strong"]
    assert dilute_sheet(acid, label, 80.0, 4000.0, use="wash").findings == ()


def test_water_goes_first_and_the_product_into_it() -> None:
    for name, label in LABELS.items():
        steps = dilute_sheet(AGENTS[name], label, 100.0, 4000.0).steps
        assert "Wash and rinse" in steps[0]
        assert "into the water, never the other way round" in steps[2]


def test_a_high_ph_slow_chlorine_and_a_low_one_gas_are_pointed_out() -> None:
    for ph, words in ((8.5, "acts quickly"), (5.0, "comes off as gas")):
        findings = dilute_sheet(BLEACH, Label(percent=8.25), 150.0, 4000.0, ph=ph).findings
        assert words in findings[0].message
        assert "ever pour acid into a chlorine solution" in findings[0].remedy
    assert dilute_sheet(BLEACH, Label(percent=8.25), 150.0, 4000.0, ph=7.0).findings == ()


def test_hot_water_for_chlorine_is_pointed_out() -> None:
    codes = [f.code for f in dilute_sheet(BLEACH, Label(percent=8.25), 150.0, 4000.0, water_c=60.0, ph=7.0).findings]
    assert codes == ["water-hot-for-sanitiser"]


def test_alcohol_is_told_by_volume_and_its_fire_is_said() -> None:
    sheet = dilute_sheet(agent_named("alcohol"), Label(percent=95), 700_000.0, 500.0)
    assert sheet.found[0].value == pytest.approx(368.4, abs=0.1)
    assert sheet.cautions == (*CAUTIONS, FLAMMABLE)
    with pytest.raises(InputError, match=r"target = 80 %: must not be above the product's own 70 %"):
        dilute_sheet(agent_named("alcohol"), Label(percent=70), 800_000.0, 500.0)


def test_a_powder_is_weighed_and_wants_its_per_cent() -> None:
    powder = agent_named("calcium hypochlorite")
    assert dilute_sheet(powder, Label(percent=65), 200.0, 10_000.0).found[0].value == pytest.approx(3.08, abs=0.01)
    with pytest.raises(InputError, match="a powder has its strength in per cent of weight"):
        dilute_sheet(powder, Label(ppm=65), 200.0, 10_000.0)
    with pytest.raises(InputError, match="a powder has its strength in per cent of weight"):
        made_sheet(powder, Label(ppm=65), 5.0, 10_000.0)


def test_pouring_what_was_asked_for_makes_what_was_wanted() -> None:
    for name, label in LABELS.items():
        asked = dilute_sheet(AGENTS[name], label, 150.0, 4000.0)
        water = 4000.0 if AGENTS[name].form == "powder" else found(asked, "water to measure first").value
        made = made_sheet(AGENTS[name], label, float(asked.found[0].value), float(water))
        shown = 150.0 / 10_000 if AGENTS[name].form == "spirit" else 150.0
        assert made.found[0].value == pytest.approx(shown, rel=1e-9)


def test_contact_time_is_first_where_it_is_asked_for() -> None:
    sheet = contact_sheet(1.5, ct=92.0, baffling=0.5)
    assert [amount.name for amount in sheet.found[:2]] == ["contact time needed", "stay in the tank on average"]
    assert contact_sheet(200.0, minutes=2.0).found[0].value == 400.0


def test_what_must_never_be_mixed_is_a_table_and_a_plain_never() -> None:
    assert mix_sheet().found[0].value == len(mix_sheet().grids[0].rows)
    assert mix_sheet("bleach", "vinegar").found[0].value == "never"
    nothing = mix_sheet("soap", "ammonia")
    assert nothing.found[0].value == "do not"
    assert nothing.grids == ()
    assert set(mix_sheet("quat").grids[0].rows) < set(mix_sheet().grids[0].rows)


def test_a_bath_that_failed_is_a_finding_and_one_that_held_is_none() -> None:
    good = hot_water_sheet("radish", [0, 5, 10, 15], [50.0, 50.1, 49.9, 50.0])
    bad = hot_water_sheet("radish", [0, 5, 10, 15], [50.0, 52.0, 49.9, 50.0])
    assert (good.found[0].value, good.findings) == (True, ())
    assert bad.found[0].value is False
    assert [finding.code for finding in bad.findings] == ["bath-off"]
    assert any("no step against germs" in caution for caution in bad.cautions)


def test_a_solution_that_is_not_good_says_so_first() -> None:
    sheet = solution_sheet(BLEACH, [(0, 200), (60, 90)], 70, 100, 200)
    assert (sheet.found[0].name, sheet.found[0].value) == ("still good", False)
    assert sheet.grids[0].rows == (("0 min", "200 ppm"), ("60 min", "90 ppm"))
