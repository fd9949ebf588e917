"""The sowing jobs of a day, from the kept plan."""

from __future__ import annotations

from datetime import date, timedelta

import msgspec
import pytest

from tests.rounds.loft import BROCCOLI, DAY_ONE, RADISH, lantern_loft, on_day, sow
from trayward.errors import InputError
from trayward.farm.entries import PlanKept, RecipeSet, SeedReceived
from trayward.farm.settings import FarmSettings
from trayward.library.recipes import standard_recipe
from trayward.plan.types import PlannedSowing, SeedTaken, Serve
from trayward.rounds.done import sowing_from_row
from trayward.rounds.types import RoundRow

WED = date(2026, 11, 25)


def planned(
    crop: str = "broccoli", trays: int = 2, on: date = WED, seed_g: float = 20.0, **more: object
) -> PlannedSowing:
    return PlannedSowing(
        sow_on=on,
        crop=crop,
        recipe=f"{crop} on mesh mat",
        trays=trays,
        seed_g=seed_g * trays,
        cut_on=on + timedelta(days=9),
        grams_expected=200.0 * trays,
        **more,
    )


def amounts(row: RoundRow) -> dict[str, float]:
    return {amount.what: amount.value for amount in row.amounts}


def test_a_planned_sowing_says_grams_lot_spots_kit_and_minutes():
    loft = lantern_loft()
    serve = Serve(line="O1/1", customer="Kite Cafe", due=WED + timedelta(days=9), grams=300.0)
    loft.keep_plan(DAY_ONE, planned(lots=(SeedTaken(lot="B1", grams=40.0),), serves=(serve,)))
    row = loft.row(DAY_ONE, "sow")
    assert (row.row, row.count, row.lots, row.spots) == (
        "sow-broccoli-on-mesh-mat-1125", 2, ("B1",), ("A1.1a", "A1.1b"),
    )  # fmt: skip
    assert row.words.startswith("Sow: broccoli on mesh mat, 2 trays. Spread the seed evenly, wet it well")
    said = amounts(row)
    assert (said["seed"], said["seed in all"], said["of lot B1"]) == (20.0, 40.0, 40.0)
    assert (said["kit: mesh mat"], said["kit: cover"], said["weight on the cover"]) == (2, 2, 2300.0)
    assert row.minutes == 2 * BROCCOLI.minutes_sow
    assert row.why == "For Kite Cafe on Fri 4 Dec."


def test_trays_that_find_a_place_in_the_evening_only_are_named():
    """In the morning those that fit are asked for; once they are sown, the others."""
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(trays=3, evening=2))
    row = loft.row(DAY_ONE, "sow")
    assert (row.count, len(row.spots)) == (1, 1)
    assert row.why.startswith("2 of the 3 trays are sown in the evening, once others have gone on: by day they have")
    loft.say(on_day(1, 9), sow("S", "A1.1a"))
    assert loft.row(on_day(1, 10), "sow").count == 2


def test_two_tablespoons_of_broccoli_seed_stand_beside_the_20_g():
    """2 tbsp of broccoli seed weigh 20 g within 10 % by the library's bulk density."""
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned())
    assert amounts(loft.row(DAY_ONE, "sow"))["seed by the spoon"] == pytest.approx(2.0, rel=0.1)


def test_what_was_sown_since_the_plan_was_made_is_not_asked_for_again():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(trays=3))
    loft.say(on_day(1, 9), sow("S", "A1.1a", "A1.1b"))
    row = loft.row(on_day(1, 10), "sow")
    assert (row.count, row.spots, amounts(row)["seed"]) == (1, ("A1.1c",), 20.0)
    loft.say(on_day(1, 11), sow("T", "A1.1c"))
    assert loft.rows(on_day(1, 12), "sow") == []


def test_trays_standing_before_the_plan_do_not_count_as_sown_for_it():
    loft = lantern_loft()
    loft.say(on_day(0, 12), sow("S", "A1.1a"))
    loft.keep_plan(DAY_ONE, planned(trays=1))
    assert loft.row(DAY_ONE, "sow").count == 1


def test_a_sowing_ahead_of_its_day_counts_and_none_is_asked_for_before_its_day():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(trays=1, on=WED + timedelta(days=2)))
    assert loft.rows(DAY_ONE, "sow") == []
    loft.say(on_day(1, 9), sow("S", "A1.1a"))
    assert loft.rows(on_day(3, 8), "sow") == []


def test_yesterdays_sowing_is_overdue_and_leads_the_list():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned())
    loft.say(DAY_ONE, sow("R", "A1.1a", crop="radish"))
    loft.answer(on_day(1, 19.5), row=loft.row(on_day(1, 19.5), "look"), moisture="moist")
    rows = loft.rows(on_day(2, 7.5))
    assert [(row.kind, row.overdue) for row in rows] == [("sow", True), ("look", False)]
    assert rows[0].since == on_day(2, 0)
    assert rows[0].why.startswith("Planned for Wed 25 Nov.")


def test_a_day_off_has_no_sowing_and_says_that_it_waits():
    settings = FarmSettings(name="Lantern Loft", days_off=(WED,))
    loft = lantern_loft(settings=settings)
    loft.keep_plan(DAY_ONE, planned())
    present = loft.round(DAY_ONE)
    assert present.rows == ()
    assert "A day off: sowing, stripping and washing wait for the next working day." in present.notes
    assert loft.row(on_day(2, 8), "sow").overdue


def test_two_sowings_are_never_sent_to_the_same_spot_nor_to_the_same_seed():
    loft = lantern_loft(dark=2, stack=4)
    lots = SeedReceived(lot="B2", crop="broccoli", grams=100.0, germination=0.97)
    loft.say(on_day(0, 12), lots)
    radish = planned("radish", trays=2)
    loft.keep_plan(
        DAY_ONE, planned(trays=3, seed_g=130.0), radish, planned(trays=2, seed_g=30.0, on=WED - timedelta(1))
    )
    rows = loft.rows(DAY_ONE, "sow")
    spots = [spot for row in rows for spot in row.spots]
    assert len(spots) == len(set(spots)) == 7
    grams = [amounts(row).get("of lot B1", 0.0) for row in rows]
    assert sum(grams) == 400.0
    assert rows[0].count == 2  # the older one is served first, wholly from the lot that goes off first
    assert amounts(rows[0])["of lot B1"] == 60.0
    assert {name: grams for name, grams in amounts(rows[1]).items() if "lot" in name} == {
        "of lot B1": 340.0,
        "of lot B2": 50.0,
    }


def test_no_free_spot_is_said_with_the_way_out():
    loft = lantern_loft(dark=1, stack=1)
    loft.keep_plan(DAY_ONE, planned(trays=2))
    row = loft.row(DAY_ONE, "sow")
    assert row.spots == ("A1.1",)
    assert "There is no free dark spot for 1 tray: turn, cut or move trays first." in row.lacks


def test_seed_that_does_not_reach_and_kit_that_is_dirty_are_said():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(trays=2, seed_g=300.0))
    loft.state.kit["mesh mat"].dirty = 39
    row = loft.row(DAY_ONE, "sow")
    assert row.lacks == "Seed of broccoli is short by 200 g. Mesh mat: 1 clean and dry, 2 needed."
    assert "short" not in row.why


def test_seed_on_order_and_treated_seed_are_not_taken():
    loft = lantern_loft()
    loft.state.seed["B1"].treated = True
    loft.say(DAY_ONE, SeedReceived(lot="B2", crop="broccoli", grams=400.0, expected_on=WED))
    loft.keep_plan(DAY_ONE, planned())
    row = loft.row(DAY_ONE, "sow")
    assert row.lots == ()
    assert "Seed of broccoli is short by 40 g." in row.lacks


def test_a_plan_without_grams_falls_back_on_the_recipes_density_and_the_lot():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(seed_g=0.0))
    # 4.31 live seeds/cm2 x 1290.3 cm2 x 3.15 g / 1000 / 0.92 = 19.0 g
    assert amounts(loft.row(DAY_ONE, "sow"))["seed"] == pytest.approx(19.0, abs=0.1)


def test_a_soaked_crop_begins_on_the_bench_and_needs_no_spot():
    recipe = standard_recipe("pea")
    loft = lantern_loft(RecipeSet(recipe=recipe), SeedReceived(lot="P1", crop="pea", grams=2000.0, germination=0.9))
    loft.keep_plan(DAY_ONE, planned("pea", seed_g=150.0))
    row = loft.row(DAY_ONE, "sow")
    assert row.words.startswith("Soak: pea on mesh mat, 2 trays. Soak the seed in clean cool water")
    assert (row.stage, row.spots) == ("soak", ())
    body = sowing_from_row(loft.state, row, sowing="261125A")
    assert [tray.spot for tray in body.trays] == [None, None]
    assert loft.say(DAY_ONE, body) == []


def test_seed_is_not_put_to_soak_for_a_spot_that_is_not_there_without_a_word():
    recipe = standard_recipe("pea")
    seed = SeedReceived(lot="P1", crop="pea", grams=2000.0, germination=0.9)
    loft = lantern_loft(RecipeSet(recipe=recipe), seed, dark=1, stack=1)
    loft.keep_plan(DAY_ONE, planned("pea", seed_g=150.0, trays=1))
    assert loft.row(DAY_ONE, "sow").lacks == ""
    loft.say(DAY_ONE, sow("S", "A1.1"))
    row = loft.row(DAY_ONE, "sow")
    assert row.lacks == "No dark spot is free yet to spread it on: see that there will be one before you soak."
    assert row.lacks not in row.why


def test_seed_that_soaks_overnight_outside_the_stages_is_announced_the_day_before():
    recipe = msgspec.structs.replace(RADISH, soak_h=8.0)
    loft = lantern_loft(RecipeSet(recipe=recipe))
    loft.keep_plan(DAY_ONE, planned("radish", on=WED + timedelta(days=1), seed_g=30.0))
    assert "Soak tonight for tomorrow: 60 g of radish seed, 8 h in water." in loft.round(DAY_ONE).notes
    assert "Seed soaked 8 h before." in loft.row(on_day(2, 8), "sow").words


def test_without_a_kept_plan_the_round_says_so_and_an_old_plan_is_named():
    loft = lantern_loft()
    assert loft.round(DAY_ONE).notes[0] == "No plan kept: run plan, and keep it, to see what to sow."
    loft.keep_plan(DAY_ONE)
    assert loft.round(DAY_ONE).idle == "Nothing is due now. The next round begins Wed 25 Nov, 19:00."
    assert loft.round(DAY_ONE).notes == (
        "No order is due in these weeks, so there is nothing to sow for. "
        "Write one down: trayward order add, or order standing.",
    )
    assert loft.round(on_day(10, 8)).notes[0] == "The kept plan is of Wed 25 Nov: run plan again and keep it."


def test_a_kept_plan_that_cannot_be_read_stops_no_round():
    loft = lantern_loft()
    loft.say(DAY_ONE, sow("S", "A1.1a"), PlanKept(plan=msgspec.Raw(b'{"made_at": 7}')))
    present = loft.round(on_day(1, 19.5))
    assert [row.kind for row in present.rows] == ["look"]
    assert present.notes[0] == "The kept plan cannot be read: run plan and keep it again."


def test_a_planned_recipe_the_farm_no_longer_has_is_named():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned("cress"))
    assert "The farm has no recipe 'cress on mesh mat' any more" in loft.row(DAY_ONE, "sow").why


# Said to be done ------------------------------------------------------------------------------------------------------


def test_a_sow_row_said_to_be_done_is_a_sowing_and_the_row_is_gone():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned())
    body = sowing_from_row(loft.state, loft.row(DAY_ONE, "sow"), sowing="261125A")
    assert [(tray.tray, tray.spot) for tray in body.trays] == [("261125A.1", "A1.1a"), ("261125A.2", "A1.1b")]
    assert [(used.lot, used.grams) for used in body.lots] == [("B1", 40.0)]
    assert loft.say(DAY_ONE, body) == []
    assert loft.rows(DAY_ONE, "sow") == []


def test_fewer_trays_and_other_grams_than_planned_are_as_good():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned(trays=3))
    row = loft.row(DAY_ONE, "sow")
    body = sowing_from_row(loft.state, row, sowing="S", trays=1, grams=22.0, spots=["A1.3a"])
    assert ([tray.spot for tray in body.trays], body.lots[0].grams) == (["A1.3a"], 22.0)


def test_more_trays_than_spots_or_more_seed_than_there_is_cannot_be_sown():
    loft = lantern_loft()
    loft.keep_plan(DAY_ONE, planned())
    row = loft.row(DAY_ONE, "sow")
    with pytest.raises(InputError, match=r"spots = 2: each of the 5 trays needs one\. Name one for each tray"):
        sowing_from_row(loft.state, row, sowing="S", trays=5)
    with pytest.raises(InputError, match=r"seed = 600 g: lots B1 are short by 200 g"):
        sowing_from_row(loft.state, row, sowing="S", grams=300.0)
    with pytest.raises(InputError, match="at least 1 is sown"):
        sowing_from_row(loft.state, row, sowing="S", trays=0)
    look = msgspec.structs.replace(row, kind="look")
    with pytest.raises(InputError, match="it is a row to look, not to sow"):
        sowing_from_row(loft.state, look, sowing="S")


def test_seed_that_goes_off_first_is_weighed_out_first_although_the_plan_named_another():
    """The plan named the strong old lot; since then a weaker one came. Its grams follow from the density then."""
    loft = lantern_loft()
    loft.say(on_day(0, 12), SeedReceived(lot="B2", crop="broccoli", grams=500.0, germination=0.76))
    loft.keep_plan(DAY_ONE, planned(trays=1, lots=(SeedTaken(lot="B1", grams=20.0),)))
    row = loft.row(DAY_ONE, "sow")
    assert row.lots == ("B2",)
    assert amounts(row)["seed"] > 20.0
