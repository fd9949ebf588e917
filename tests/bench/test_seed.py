"""Sheets of the seed bench: what stands first, what it rests on, what is pointed out."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from trayward.bench.seed import density_sheet, grams_sheet, spoons_sheet
from trayward.bench.seed_counts import germination_sheet, spread_sheet, sprouted_sheet, weight_sheet
from trayward.bench.seed_facts import SeedFacts, Size, Typed, seed_facts, seed_size
from trayward.bench.seed_keep import SeedWanted, age_sheet, need_sheet, soak_sheet
from trayward.bench.seed_mesh import keeps, mesh_sheet
from trayward.bench.types import Amount, Sheet
from trayward.errors import InputError
from trayward.farm.crops import CropFacts, Fact
from trayward.farm.recipes import TraySize
from trayward.farm.state import SeedLot
from trayward.library.crops import crop_names, library_facts
from trayward.science.mesh import share_retained
from trayward.science.seed_life import Store
from trayward.science.viability import live_share
from trayward.sources import source
from trayward.units import ML_PER_TABLESPOON

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
NOMINAL = TraySize()
BROCCOLI = library_facts("broccoli")


def found(sheet: Sheet, name: str) -> Amount:
    """The amount of that name."""
    return next(amount for amount in sheet.found if amount.name == name)


def number(amount: Amount) -> float:
    """Its value, which is a number."""
    assert isinstance(amount.value, (int, float))
    return float(amount.value)


def lot(**more: object) -> SeedLot:
    """A lot of broccoli here since today."""
    told = {"lot": "B1", "crop": "broccoli", "received_at": AT, "received_g": 500.0, "left_g": 500.0}
    return SeedLot(**{**told, **more})  # type: ignore[arg-type]


@pytest.mark.parametrize("crop", crop_names())
def test_every_crop_of_the_library_has_its_sheets(crop: str) -> None:
    facts = library_facts(crop)
    seed = seed_facts(facts)
    sheets = [grams_sheet(facts, seed, 2.0, NOMINAL), density_sheet(facts, seed, 20.0, NOMINAL)]
    sheets += [soak_sheet(facts, seed, 50.0), age_sheet(facts, seed, 1.0)]
    size = seed_size(facts)
    assert size is not None
    sheets.append(mesh_sheet(crop, size, 1.0))
    if seed.bulk is not None:
        sheets.append(spoons_sheet(seed, grams=20.0))
    for sheet in sheets:
        assert sheet.bench == "seed"
        assert sheet.holds
        assert all(source(key).title for key in sheet.sources)
        assert len(sheet.sources) == len(set(sheet.sources))


def test_twenty_grams_of_broccoli_are_about_two_tablespoons_on_a_tray() -> None:
    # Common practice, no source.
    sheet = grams_sheet(BROCCOLI, seed_facts(BROCCOLI, Typed(label=0.9)), 4.4, NOMINAL)
    assert sheet.found[0].name == "seed for a tray"
    assert number(sheet.found[0]) == pytest.approx(20.0, rel=0.02)
    assert number(found(sheet, "in the spoon")) / ML_PER_TABLESPOON == pytest.approx(2.0, rel=0.03)
    assert "US" in found(sheet, "in the spoon").note


def test_grams_and_density_are_each_others_inverse() -> None:
    seed = seed_facts(BROCCOLI, Typed(label=0.9))
    grams = number(grams_sheet(BROCCOLI, seed, 6.0, NOMINAL).found[0])
    assert number(density_sheet(BROCCOLI, seed, grams, NOMINAL).found[0]) == pytest.approx(6.0)


def test_the_range_of_the_density_is_that_of_the_share_where_the_weight_is_sure() -> None:
    live = live_share(None, 43, 50)
    seed = SeedFacts(
        crop="broccoli", tsw_g=3.2, tsw_doubt=0.0, tsw_basis="", bulk=None, bulk_basis="", live=live, sources=()
    )  # fmt: skip
    low, high = seed.live_range(5.0)
    assert (low, high) == pytest.approx((5 * live.low / live.mean, 5 * live.high / live.mean))


def test_the_range_of_the_density_holds_eight_in_ten_lots_that_are_like_it() -> None:
    """Share by its beta distribution, weight by its spread, drawn together; 20,000 draws, two points of tolerance."""
    import numpy as np

    rng = np.random.default_rng(3)
    for typed in (Typed(sprouted=43, tested=50), Typed(label=0.92), Typed(sprouted=430, tested=500, tsw_g=3.2)):
        seed = seed_facts(BROCCOLI, typed)
        share = rng.beta(seed.live.alpha, seed.live.beta, 20_000) / seed.live.mean
        drawn = 5.0 * share * np.exp(rng.normal(0, seed.tsw_doubt, 20_000))
        low, high = seed.live_range(5.0)
        assert ((drawn >= low) & (drawn <= high)).mean() == pytest.approx(0.8, abs=0.02)


def test_what_is_weighed_to_be_sure_reaches_the_density_in_nine_lots_of_ten() -> None:
    import numpy as np

    rng = np.random.default_rng(4)
    seed = seed_facts(BROCCOLI, Typed(sprouted=43, tested=50))
    sheet = grams_sheet(BROCCOLI, seed, 4.4, NOMINAL)
    times = number(found(sheet, "to reach it with 9 lots in 10")) / number(sheet.found[0])
    share = rng.beta(seed.live.alpha, seed.live.beta, 20_000) / seed.live.mean
    reached = 4.4 * times * share * np.exp(rng.normal(0, seed.tsw_doubt, 20_000)) >= 4.4
    assert reached.mean() == pytest.approx(0.9, abs=0.02)


def test_a_larger_test_makes_the_density_surer() -> None:
    wide, narrow = (
        seed_facts(BROCCOLI, Typed(sprouted=9 * times, tested=10 * times, tsw_g=3.2)).live_range(5.0)
        for times in (2, 40)
    )
    assert narrow[1] - narrow[0] < wide[1] - wide[0]


def test_what_is_typed_goes_before_the_lot_and_the_lot_before_the_library() -> None:
    library, of_lot = seed_facts(BROCCOLI), seed_facts(BROCCOLI, lot=lot(tsw_g=3.5, germination=0.93), at=AT)
    typed = seed_facts(BROCCOLI, Typed(tsw_g=3.0, label=0.8), lot=lot(tsw_g=3.5, germination=0.93), at=AT)
    assert (library.tsw_g, of_lot.tsw_g, typed.tsw_g) == (3.15, 3.5, 3.0)
    assert "library" in library.tsw_basis
    assert of_lot.tsw_basis == "lot B1, weighed"
    assert typed.live.mean == pytest.approx(0.8)
    assert of_lot.live.mean == pytest.approx(0.93, abs=0.005)
    assert "ordinary" in library.live.basis


def test_the_farms_own_word_goes_before_the_librarys() -> None:
    own = {"tsw_g_typ": Fact(value=3.4, unit="g", trust="farm")}
    seed = seed_facts(CropFacts(crop="broccoli", facts={**BROCCOLI.facts, **own}))
    assert (seed.tsw_g, seed.tsw_basis) == (3.4, "by this farm")


def test_a_crop_nobody_knows_is_asked_for_its_weight() -> None:
    nothing = CropFacts(crop="moonwort")
    with pytest.raises(
        InputError, match=r"weight of 1000 seeds = blank: nobody said .* moonwort weigh. Count 100 seeds"
    ):
        grams_sheet(nothing, seed_facts(nothing), 4.0, NOMINAL)
    with pytest.raises(InputError, match=r"bulk density = blank: .* Fill a level cup"):
        spoons_sheet(seed_facts(nothing, Typed(tsw_g=3.0)), grams=20.0)
    assert seed_size(nothing) is None
    assert "85 % assumed" in seed_facts(nothing).live.basis


def test_crowded_seed_and_an_amount_unlike_any_in_print_are_pointed_out() -> None:
    seed = seed_facts(BROCCOLI, Typed(label=0.9))
    codes = [finding.code for finding in grams_sheet(BROCCOLI, seed, 20.0, NOMINAL).findings]
    assert codes == ["sown-dense", "sown-unlike-print"]
    assert grams_sheet(BROCCOLI, seed, 4.4, NOMINAL).findings == ()


def test_seed_of_which_few_sprout_is_not_just_sown_thicker() -> None:
    dead = seed_facts(BROCCOLI, Typed(sprouted=0, tested=50))
    (found, _) = grams_sheet(BROCCOLI, dead, 4.0, NOMINAL).findings
    assert found.code == "sprouts-few"
    assert "buy new seed" in found.remedy
    for sheet in (grams_sheet(BROCCOLI, seed_facts(BROCCOLI, Typed(label=0.6)), 4.0, NOMINAL),):
        assert "sprouts-few" not in [one.code for one in sheet.findings]


def test_beet_is_said_to_come_in_clusters() -> None:
    beet = library_facts("beet")
    assert any("clusters" in words for words in grams_sheet(beet, seed_facts(beet), 1.0, NOMINAL).holds)


def test_a_smaller_tray_takes_less_and_so_does_what_is_in_print_for_it() -> None:
    half = TraySize(length_mm=254.0)
    seed = seed_facts(BROCCOLI, Typed(label=0.9))
    large, small = (grams_sheet(BROCCOLI, seed, 4.4, tray) for tray in (NOMINAL, half))
    for name in ("seed for a tray", "commonly sown", "most in print"):
        assert number(found(small, name)) == pytest.approx(number(found(large, name)) / 2)


def test_spoons_want_one_amount() -> None:
    seed = seed_facts(BROCCOLI)
    with pytest.raises(InputError, match="must be a weight or a volume"):
        spoons_sheet(seed)
    assert number(spoons_sheet(seed, ml=2 * ML_PER_TABLESPOON).found[0]) == pytest.approx(20.0, rel=0.01)


def test_amaranth_through_a_millimetre_is_pointed_out_and_told_in_grams() -> None:
    size = seed_size(library_facts("amaranth"))
    assert size is not None
    sheet = mesh_sheet("amaranth", size, 1.0, grams=8.0)
    assert [finding.code for finding in sheet.findings] == ["seed-falls-through"]
    assert number(found(sheet, "lost of a tray")) == pytest.approx(8 * number(found(sheet, "falls through")))
    assert number(found(sheet, "falls through")) + number(found(sheet, "stays on top")) == pytest.approx(1)


@pytest.mark.parametrize("square", [True, False])
def test_the_opening_that_keeps_nearly_all_does(square: bool) -> None:
    size = Size(width_mm=1.6, sd_mm=0.15, thickness_mm=1.2, basis="")
    opening = keeps(size, 0.99, square=square)
    held = share_retained(1.6, 0.15, opening, thickness_mm=1.2, square_holes=square)
    assert held == pytest.approx(0.99, abs=1e-6)


def test_the_table_of_openings_falls_more_and_more() -> None:
    size = Size(width_mm=1.6, sd_mm=0.15, thickness_mm=None, basis="")
    rows = mesh_sheet("radish", size, 1.4, others_mm=[2.0, 1.0, 1.4]).grids[0].rows
    assert [row[0] for row in rows] == ["1 mm", "1.4 mm", "2 mm"]
    assert rows[1][1] == "9.12 %"  # 1 - 0.9088, SEED-08


def test_seed_that_is_sown_dry_is_not_soaked_and_a_blank_is_said() -> None:
    dry = soak_sheet(BROCCOLI, seed_facts(BROCCOLI), 20.0)
    assert found(dry, "soak").value == "no, sow it dry"
    assert dry.steps == ()
    daikon = library_facts("daikon")
    assert found(soak_sheet(daikon, seed_facts(daikon), 20.0), "soak").value == "not on record"
    sunflower = library_facts("sunflower")
    wet = soak_sheet(sunflower, seed_facts(sunflower), 100.0)
    assert number(found(wet, "water")) == pytest.approx(3 * 100 / 0.4154, rel=1e-3)
    assert any("germs grow" in words for words in wet.cautions)


def test_seed_kept_warm_and_damp_is_pointed_out_and_soon_dead() -> None:
    onion = library_facts("onion")
    warm = age_sheet(onion, seed_facts(onion), 2.0, Store(temp_c=21.0, rh_pct=60.0))
    assert found(warm, "sprouts now").value == "hardly any"
    assert [finding.code for finding in warm.findings] == ["seed-store-damp"]
    cool = age_sheet(onion, seed_facts(onion), 2.0)
    assert cool.findings == ()
    assert number(found(cool, "sprouts now")) < 0.845


def test_older_seed_wants_more_of_it() -> None:
    seed = seed_facts(BROCCOLI, Typed(label=0.95))
    times = [number(found(age_sheet(BROCCOLI, seed, years), "sow so many times as much")) for years in (0.0, 1.0, 3.0)]
    assert times[0] == pytest.approx(1.0)
    assert times == sorted(times)


def test_what_is_to_buy_is_what_is_wanted_and_over_less_what_is_here_and_coming() -> None:
    rows = [
        SeedWanted(crop="broccoli", trays=24, wanted_g=480, here_g=310, coming_g=100, runs_out="lasts 2.6 weeks"),
        SeedWanted(crop="radish", trays=2, wanted_g=60, here_g=500),
    ]
    sheet = need_sheet(rows, 0.1, "the next 4 weeks", "6 trays a week")
    assert [(amount.name, amount.value) for amount in sheet.found] == [("buy broccoli", pytest.approx(118))]
    assert sheet.grids[0].rows[1][-1] == "0 g"
    assert need_sheet(rows[1:], 0.1, "", "").found[0].value == "nothing"
    with pytest.raises(InputError, match=r"spare = 10: .* Give 0.1 for 10 % over"):
        need_sheet(rows, 10, "", "")


def test_a_germination_series_gives_both_conventions_and_says_which() -> None:
    # germinationmetrics R package, lot G1 replicate 1 (its tests and vignette seen).
    sheet = germination_sheet(list(range(5, 12)), [4, 17, 10, 7, 1, 0, 1], 50)
    assert number(found(sheet, "sprouted in the end")) == 0.8
    assert number(found(sheet, "half of those up")) == pytest.approx(5.9706, abs=1e-4)
    assert number(found(sheet, "half, the other way")) == pytest.approx(5.9412, abs=1e-4)
    assert number(found(sheet, "mean time")) == pytest.approx(6.7)
    assert "Coolbear" in found(sheet, "half of those up").note
    assert sheet.grids[0].rows[-1] == ("11", "1", "80 %")


def test_a_single_sprout_has_a_time_and_no_spread() -> None:
    names = [amount.name for amount in germination_sheet([3, 4], [0, 1], 10).found]
    assert "mean time" in names
    assert "varies by" not in names
    assert "synchrony" not in names


def test_repeats_that_lie_too_far_apart_are_pointed_out() -> None:
    # SEED-04, as a sheet.
    assert sprouted_sheet(360, 400, [97, 88, 90, 85]).findings == ()
    apart = sprouted_sheet(359, 400, [97, 88, 90, 84])
    assert [finding.code for finding in apart.findings] == ["repeats-apart"]
    assert "cfr_7_201_55" in apart.sources


def test_samples_that_vary_more_than_laboratories_allow_are_pointed_out() -> None:
    assert weight_sheet(100, [0.31, 0.32, 0.315]).findings == ()
    assert [finding.code for finding in weight_sheet(100, [0.31, 0.36]).findings] == ["weights-vary"]
    alone = weight_sheet(100, [0.32]).found[0]
    assert (alone.low, alone.high) == (None, None)


def test_clumped_seed_is_pointed_out_and_water_is_not_held_to_chance() -> None:
    assert [finding.code for finding in spread_sheet([0, 0, 9, 0, 12, 0, 0, 11]).findings] == ["spread-clumped"]
    water = spread_sheet([0.5, 9.25, 0.0, 12.5])
    assert water.findings == ()
    assert "unevenness" not in [amount.name for amount in water.found]
