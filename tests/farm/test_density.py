"""Grams for a tray: the lot's figures first, then the farm's, then the library's; a blank is asked for, not guessed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from trayward.farm.crops import CropFacts, Fact
from trayward.farm.density import SeedAmount, bulk_density, live_density, seed_for_tray
from trayward.farm.live_seed import ordinary_live_share
from trayward.farm.recipes import Medium, Recipe, Stage, TraySize
from trayward.farm.state import SeedLot

AT = datetime(2026, 11, 25, 7, tzinfo=UTC)
RECIPE = Recipe(
    name="broccoli on mesh mat",
    crop="broccoli",
    medium=Medium(name="mesh mat"),
    stages=(Stage(name="ready", days_low=1, days_typical=2, days_high=3, ground="lit"),),
    live_seeds_per_cm2=4.0,
)
FACTS = CropFacts(
    crop="broccoli",
    facts={
        "tsw_g_typ": Fact(value=3.0, unit="g"),
        "germ_pct_fsa_min": Fact(value=75.0, unit="%"),
        "bulk_density_g_per_ml": Fact(value=0.676, unit="g/ml"),
    },
)


def lot(**fields: object) -> SeedLot:
    plain = SeedLot(lot="S7", crop="broccoli", received_at=AT, received_g=500.0, left_g=500.0)
    return msgspec.structs.replace(plain, **fields)


def facts(**more: Fact) -> CropFacts:
    return msgspec.structs.replace(FACTS, facts={**FACTS.facts, **more})


def test_grams_follow_from_density_area_seed_weight_and_germination() -> None:
    """4 live seeds on 1290.32 cm2 are 5161; at 3.5 g a thousand and 90 % that is 20.07 g."""
    amount = seed_for_tray(RECIPE, FACTS, lot(tsw_g=3.5, germination=0.9))
    assert amount.grams == pytest.approx(20.07, abs=0.01)
    assert amount.seeds == pytest.approx(5735, abs=1)
    assert amount.ml == pytest.approx(20.07 / 0.676, abs=0.02)
    assert amount.tablespoons == pytest.approx(2.008, abs=0.002)
    assert amount.missing == ()
    assert amount.basis == (
        "4 live seeds per cm2 on 1290 cm2; 1000 seeds of lot S7 weigh 3.5 g; 90 % of lot S7 sprout, by its label"
    )


def test_the_farms_own_seed_test_outweighs_the_label() -> None:
    """The label's 90 % counts as 30 seeds, 27 of them alive; with 80 of 100 that is 107 of 130, or 82.3 %."""
    tested = seed_for_tray(RECIPE, FACTS, lot(germination=0.9, sprouted=80, tested=100))
    label = seed_for_tray(RECIPE, FACTS, lot(germination=107 / 130))
    assert tested.grams == pytest.approx(label.grams)
    assert "82 % of lot S7 sprout, by its label and 80 of 100 in your own test" in tested.basis


def test_old_seed_takes_more_for_the_same_stand() -> None:
    seed = lot(germination=0.9)
    fresh, old = (seed_for_tray(RECIPE, FACTS, seed, AT + timedelta(days=days)).grams for days in (0, 400))
    assert fresh is not None
    assert old is not None
    assert 1.03 * fresh < old < 1.3 * fresh


def test_the_crops_seed_weight_stands_in_for_a_lots_blank() -> None:
    amount = seed_for_tray(RECIPE, FACTS, lot(germination=0.9))
    assert amount.grams == pytest.approx(4.0 * 1290.32 * 3.0 / 1000 / 0.9)
    assert "by the library" in amount.basis
    said = seed_for_tray(RECIPE, facts(tsw_g_typ=Fact(value=4.0, trust="farm")), lot(germination=0.9))
    assert "4 g by this farm" in said.basis


def test_a_smaller_tray_takes_less_seed() -> None:
    half = msgspec.structs.replace(RECIPE, tray=TraySize(length_mm=254, width_mm=254))
    whole, small = (seed_for_tray(recipe, FACTS, lot(germination=0.9)).grams for recipe in (RECIPE, half))
    assert whole is not None
    assert small == pytest.approx(whole / 2)


def test_without_a_germination_an_ordinary_lot_is_assumed_and_the_lots_own_is_asked_for() -> None:
    """75 % is the legal least and 100 % the best there can be: 87.5 %."""
    amount = seed_for_tray(RECIPE, FACTS, lot())
    assert amount.grams == pytest.approx(4.0 * 1290.32 * 3.0 / 1000 / 0.875)
    assert amount.missing == ("the germination of lot S7",)
    assert "an ordinary lot is assumed" in amount.basis
    assert seed_for_tray(RECIPE, FACTS, None).missing == ("the germination of the broccoli seed",)


def test_without_any_sourced_germination_no_grams_are_made_up() -> None:
    bare = CropFacts(crop="broccoli", facts={"tsw_g_typ": Fact(value=3.0)})
    assert seed_for_tray(RECIPE, bare, lot()) == SeedAmount(
        missing=("the germination of lot S7",), basis="no amount without the germination of lot S7"
    )


def test_without_a_seed_weight_no_grams_are_made_up() -> None:
    amount = seed_for_tray(RECIPE, CropFacts(crop="broccoli"), lot(germination=0.9))
    assert amount.grams is None
    assert amount.missing == ("the weight of 1000 seeds of broccoli",)


def test_a_lot_of_which_nothing_sprouts_asks_for_another() -> None:
    amount = seed_for_tray(RECIPE, FACTS, lot(sprouted=0, tested=50))
    assert amount.grams is None
    assert amount.missing == ("another lot: no seed of lot S7 sprouts",)


def test_without_a_bulk_density_there_are_grams_but_no_spoons() -> None:
    bare = CropFacts(crop="broccoli", facts={"tsw_g_typ": Fact(value=3.0)})
    amount = seed_for_tray(RECIPE, bare, lot(germination=0.9))
    assert amount.grams is not None
    assert (amount.ml, amount.tablespoons) == (None, None)


def test_bulk_density_falls_back_to_the_middle_of_its_range() -> None:
    ends = {"bulk_density_g_per_ml_low": Fact(value=0.6), "bulk_density_g_per_ml_high": Fact(value=0.7)}
    assert bulk_density(CropFacts(crop="kale", facts=ends)) == pytest.approx(0.65)
    assert bulk_density(CropFacts(crop="kale")) is None


@pytest.mark.parametrize(
    ("said", "share"),
    [
        ({"germ_pct_fsa_min": 75.0}, 0.875),
        ({"germ_pct_fsa_min": 75.0, "germ_pct_lab_best": 97.0}, 0.86),
        ({"germ_pct_fsa_min": 75.0, "germ_pct_lab_best": 63.0}, 0.875),  # a poor lot in the laboratory says nothing
        ({"germ_pct_lab_best": 97.0}, None),
        ({"germ_pct_fsa_min": 75.0, "germ_pct_usual": 93.0}, 0.93),
    ],
)
def test_an_ordinary_lot_lies_between_the_legal_least_and_the_best(said: dict[str, float], share: float | None) -> None:
    known = CropFacts(crop="x", facts={name: Fact(value=value) for name, value in said.items()})
    assert ordinary_live_share(known) == (pytest.approx(share) if share is not None else None)


def test_density_as_sown_is_the_inverse_of_the_grams() -> None:
    seed = lot(tsw_g=3.5, germination=0.9)
    grams = seed_for_tray(RECIPE, FACTS, seed).grams
    assert grams is not None
    assert live_density(grams, RECIPE, FACTS, seed) == pytest.approx(4.0)
    assert live_density(grams, RECIPE, FACTS, lot()) is None
    assert live_density(grams, RECIPE, FACTS, None) is None
