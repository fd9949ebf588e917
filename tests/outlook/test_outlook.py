"""When and how much, with how much doubt: published figures first, the farm's own trays soon after."""

from __future__ import annotations

import math
from datetime import timedelta

import msgspec
import pytest

from tests.outlook.grown import BROCCOLI, DAY, LENGTHS, MONDAY, ROUND, cut_tray, farm, standing_tray
from trayward.farm.recipes import Recipe, Stage, YieldPrior
from trayward.farm.state import Tray
from trayward.outlook.ahead import look_ahead
from trayward.outlook.types import Range, When


def grams(*ended: Tray, recipe: Recipe = BROCCOLI) -> Range:
    found = look_ahead(farm(*ended, recipe=recipe), MONDAY).proposed(recipe, MONDAY).grams
    assert found is not None
    return found


def days(when: When) -> tuple[float, float, float]:
    return tuple((at - MONDAY) / DAY for at in (when.low, when.likely, when.high))  # type: ignore[return-value]


# Nothing known yet ---------------------------------------------------------------------------------------------------


def test_with_no_own_tray_the_outlook_is_the_published_range_and_says_so() -> None:
    """Sources print 118 to 340 g: 8 of 10 cases lie between, so the range is theirs about the middle they give."""
    outlook = look_ahead(farm(), MONDAY).proposed(BROCCOLI, MONDAY)
    assert outlook.grams is not None
    assert outlook.grams.likely == pytest.approx(207.0)
    assert outlook.grams.high / outlook.grams.low == pytest.approx(340 / 118, rel=5e-3)
    assert outlook.grams_basis.own_trays == 0
    assert "Published figures (a published table) only, counted as 0.4 trays" in outlook.grams_basis.words
    assert "none cut here yet" in outlook.grams_basis.words


def test_ranges_lie_within_one_another() -> None:
    found = grams()
    assert found.half is not None
    assert found.most is not None
    assert found.mean is not None
    least, low, lower, likely, upper, high, most = (
        found.most[0], found.low, found.half[0], found.likely, found.half[1], found.high, found.most[1],
    )  # fmt: skip
    assert least < low < lower < likely < found.mean < upper < high < most


def test_sources_that_happen_to_agree_are_still_doubted() -> None:
    """One trial is not every farm: 312 to 340 g in print is not 8 in 10 of all farms' trays."""
    sure = msgspec.structs.replace(
        BROCCOLI, yield_prior=YieldPrior(low_g=312.0, typical_g=326.0, high_g=340.0, source="two tables")
    )
    found = grams(recipe=sure)
    assert 2.0 < found.high / found.low < 3.0


def test_the_farms_own_word_on_its_trays_is_taken_as_said() -> None:
    own = msgspec.structs.replace(
        BROCCOLI, yield_prior=YieldPrior(low_g=80.0, typical_g=100.0, high_g=125.0, source="this farm")
    )
    found = grams(recipe=own)
    assert (found.low, found.likely, found.high) == pytest.approx((80.0, 100.0, 125.0), rel=0.01)
    assert "setup file" in look_ahead(farm(recipe=own), MONDAY).proposed(own, MONDAY).grams_basis.words


def test_a_crop_without_a_figure_borrows_from_crops_like_it() -> None:
    """The library has no yield for it: its family's lenders speak, and the range is wide."""
    from trayward.library.crops import crop_names, library_facts
    from trayward.library.yields import family_yield_prior, yield_prior

    blank = next(
        name
        for name in crop_names()
        if yield_prior(library_facts(name)).typical_g is None and family_yield_prior(name).typical_g is not None
    )
    recipe = msgspec.structs.replace(BROCCOLI, name=blank, crop=blank, yield_prior=YieldPrior())
    found = grams(recipe=recipe)
    lent = family_yield_prior(blank)
    assert found.likely == pytest.approx(lent.typical_g, rel=1e-6)
    assert found.high / found.low > 2
    assert "borrowed" in look_ahead(farm(recipe=recipe), MONDAY).proposed(recipe, MONDAY).grams_basis.words


def test_nobody_said_and_nothing_was_cut_so_it_asks() -> None:
    blank = msgspec.structs.replace(BROCCOLI, name="moonwort", crop="moonwort", yield_prior=YieldPrior())
    outlook = look_ahead(farm(recipe=blank), MONDAY)
    assert outlook.cautious_grams(blank) is None
    assert outlook.proposed(blank, MONDAY).grams is None
    assert "give the recipe a typical yield" in outlook.proposed(blank, MONDAY).grams_basis.words


def test_own_trays_alone_are_enough_where_nobody_says_anything() -> None:
    blank = msgspec.structs.replace(BROCCOLI, crop="moonwort", yield_prior=YieldPrior())
    trays = [cut_tray(number, 95.0 + number % 3) for number in range(12)]
    assert grams(*trays, recipe=blank).likely == pytest.approx(96.0, rel=0.05)


# The farm's own trays ------------------------------------------------------------------------------------------------


def test_every_own_tray_moves_it_toward_what_this_farm_cuts() -> None:
    """The farm cuts 95 g where 207 g is published: how far it has moved, on a log scale, after so many sowings."""

    def moved(count: int) -> float:
        trays = [cut_tray(number, 95.0) for number in range(count)]
        return math.log(207.0 / grams(*trays).likely) / math.log(207.0 / 95.0)

    shares = [moved(count) for count in (0, 1, 2, 5, 30)]
    assert shares == sorted(shares)
    assert shares[0] == pytest.approx(0.0, abs=1e-9)
    assert 0.5 < shares[1] < 0.9  # published yields differ more between farms than trays do on one
    assert shares[4] > 0.9


def test_trays_of_one_sowing_count_for_less_than_as_many_sowings() -> None:
    one = grams(cut_tray(1, 95.0)).likely
    together = grams(*(cut_tray(number, 95.0, sowing="A") for number in range(8))).likely
    apart = grams(*(cut_tray(number, 95.0) for number in range(8))).likely
    assert apart < together < one


def test_the_farms_own_scatter_takes_over_from_the_published_spread() -> None:
    steady = grams(*(cut_tray(number, 95.0 + number % 3) for number in range(30)))
    wild = grams(*(cut_tray(number, 95.0 * (1.5 if number % 2 else 0.7)) for number in range(30)))
    assert steady.high / steady.low < 1.6
    assert wild.high / wild.low > 1.8


def test_a_poor_lot_lowers_what_its_next_tray_brings_and_no_other_lots() -> None:
    good = [cut_tray(number, 100.0 + number % 5, lot="GOOD") for number in range(20)]
    poor = [cut_tray(number, 70.0 + number % 5, lot="POOR") for number in range(20, 40)]
    outlook = look_ahead(farm(*good, *poor), MONDAY)
    told = {lot: outlook.proposed(BROCCOLI, MONDAY, lot).grams for lot in ("GOOD", "POOR", "NEW")}
    likely = {lot: found.likely for lot, found in told.items() if found is not None}
    assert likely["POOR"] < likely["NEW"] < likely["GOOD"]
    assert likely["POOR"] == pytest.approx(72.0, rel=0.07)


def test_a_weight_gained_while_waiting_is_taken_off_again() -> None:
    growing = msgspec.structs.replace(BROCCOLI, growth_a_day=0.1)
    late = [cut_tray(number, 110.0) for number in range(40)]
    for tray in late:
        assert tray.ended_at is not None
        tray.ended_at += DAY
    on_time = [cut_tray(number, 100.0) for number in range(40)]
    assert grams(*late, recipe=growing).likely == pytest.approx(grams(*on_time).likely, rel=0.03)


def test_a_denser_tray_is_expected_to_bring_more_but_not_in_proportion() -> None:
    tray = standing_tray("light", MONDAY)
    thin, dense = (msgspec.structs.replace(tray, live_seeds_per_cm2=density) for density in (5.0, 10.0))
    outlook = look_ahead(farm(standing=(tray,)), MONDAY)
    told = [look_ahead(farm(standing=(one,)), MONDAY).standing(one).grams for one in (thin, dense)]
    first, second = (found.likely for found in told if found is not None)
    assert 1.1 < second / first < 1.6
    assert outlook.standing(tray).grams is not None


def test_a_weight_typed_ten_times_too_large_is_left_out_and_named() -> None:
    """The published figure alone shows the slip with one tray; with more, its fellows do."""
    slip = cut_tray(99, 2070.0)
    for fellows in (0, 2, 12):
        trays = [cut_tray(number, 200.0 + number) for number in range(fellows)]
        outlook = look_ahead(farm(*trays, slip), MONDAY)
        assert grams(*trays, slip).likely == pytest.approx(grams(*trays).likely, rel=0.01)
        (finding,) = [one for one in outlook.findings if one.code == "weight-wild"]
        assert "tray 99.99 = 2070 g" in finding.message
        assert "trayward tray story 99.99" in finding.remedy


def test_a_tray_that_weighed_nothing_is_named_and_teaches_nothing_of_weight() -> None:
    outlook = look_ahead(farm(cut_tray(1, 0.0), cut_tray(2, 95.0)), MONDAY)
    assert [one.code for one in outlook.findings] == ["weight-zero"]
    assert outlook.yields.own_trays(BROCCOLI) == 1


# When ----------------------------------------------------------------------------------------------------------------


def test_stages_end_in_order_and_the_whole_has_the_recipes_days() -> None:
    outlook = look_ahead(farm(), MONDAY).proposed(BROCCOLI, MONDAY)
    likely = [stage.ends.likely for stage in outlook.stages]
    assert likely == sorted(likely)
    assert outlook.ready == outlook.stages[-1].ends
    low, middle, high = days(outlook.ready)
    # Medians add to 8 days; two stages that end between rounds 12 h apart wait a quarter of a day each for the next.
    # Three independent lognormals of the recipe's ranges, each but the last put on to the next round, 400,000 of them
    # drawn apart from this code with numpy: 7.21, 8.61, 10.31. 512 even points are good to a tenth of a day out here.
    assert middle == pytest.approx(8.61, abs=0.1)
    assert (low, high) == pytest.approx((7.21, 10.31), abs=0.2)


def test_own_stage_times_move_the_days() -> None:
    slow = [cut_tray(number, 95.0, lengths=(6.0, 1.0, 4.0)) for number in range(30)]
    outlook = look_ahead(farm(*slow), MONDAY)
    assert outlook.cautious_days(BROCCOLI) >= 11
    assert outlook.proposed(BROCCOLI, MONDAY).time_basis.own_trays == 30


def test_what_was_seen_to_the_half_day_teaches_the_time_between_two_looks() -> None:
    """Seen ready at 3.0 days, not yet at 2.5: the stage lasted between, so the middle lies between, not at 3.0."""
    trays = [cut_tray(number, 95.0) for number in range(40)]
    _, likely, _ = days(look_ahead(farm(*trays), MONDAY).proposed(BROCCOLI, MONDAY).stages[0].ends)
    assert 2.5 < likely < 3.0


def test_trays_still_growing_past_their_time_teach_too() -> None:
    """Ten trays stand in the dark at day 6 and none is ready: a new tray will take longer than the recipe says."""
    standing = tuple(
        standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * 5.9, tray=f"s{number}.1", sowing=f"s{number}")
        for number in range(10)
    )
    before = look_ahead(farm(), MONDAY + DAY * 6).proposed(BROCCOLI, MONDAY)
    after = look_ahead(farm(standing=standing), MONDAY + DAY * 6).proposed(BROCCOLI, MONDAY)
    assert days(after.stages[0].ends)[1] > days(before.stages[0].ends)[1] + 1.0


def test_not_yet_postpones_the_end_and_a_mere_look_does_not() -> None:
    now = MONDAY + DAY * 3.2
    looked, said = (
        look_ahead(farm(standing=(tray,)), now).standing(tray)
        for tray in (
            standing_tray("germinate", MONDAY),
            standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * 3.1),
        )
    )
    assert said.ready.likely > looked.ready.likely
    assert looked.stages[0].ends.low == now  # it may well be through: it only has to be looked at
    assert said.stages[0].ends.likely > now


def test_a_tray_that_said_not_yet_this_morning_has_another_outlook_this_evening() -> None:
    morning = standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * 3.0)
    evening = standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * 3.5)
    at = MONDAY + DAY * 3.5
    before, after = (look_ahead(farm(standing=(tray,)), at).standing(tray) for tray in (morning, evening))
    assert after.ready.likely > before.ready.likely + timedelta(hours=2)


def test_sisters_that_are_through_already_bring_the_last_one_nearer() -> None:
    """Three trays of a sowing turned at day 3.5; the fourth said not yet then. Alone it would be expected later."""
    at = MONDAY + DAY * 3.6
    late = standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * 3.5, tray="s.4")
    through = tuple(standing_tray("germinate", MONDAY, tray=f"s.{number}") for number in (1, 2, 3))
    for tray in through:
        tray.steps[0].last_not_yet, tray.steps[0].until = MONDAY + DAY * 3.0, MONDAY + DAY * 3.5
        tray.steps.append(msgspec.structs.replace(tray.steps[0], stage="blackout", since=MONDAY + DAY * 3.5,
                                                  until=None, last_not_yet=None))  # fmt: skip
    alone = look_ahead(farm(standing=(late,)), at).standing(late)
    among = look_ahead(farm(standing=(*through, late)), at).standing(late)
    assert among.stages[0].ends.high < alone.stages[0].ends.high


def test_a_tray_long_past_its_time_is_due_now_not_in_the_past() -> None:
    now = MONDAY + DAY * 40
    tray = standing_tray("light", MONDAY, not_yet=MONDAY + DAY * 39.9)
    outlook = look_ahead(farm(standing=(tray,)), now)
    assert now <= outlook.standing(tray).ready.low <= outlook.standing(tray).ready.high < now + DAY * 40
    assert outlook.cautious_ready(tray) >= now


def test_a_ready_tray_was_ready_when_it_was_said() -> None:
    tray = standing_tray("ready", MONDAY + DAY * 8)
    outlook = look_ahead(farm(standing=(tray,)), MONDAY + DAY * 9).standing(tray)
    assert outlook.ready.low == outlook.ready.high == MONDAY + DAY * 8
    assert outlook.stages == ()
    assert outlook.loss == 0


@pytest.mark.parametrize("not_yet", [0.0, 2.9, 12.0])
def test_no_stage_ends_before_the_one_before_it(not_yet: float) -> None:
    stages = (
        Stage(name="germinate", days_low=1.0, days_typical=3.0, days_high=9.0, ground="dark", cue="Shoot?"),
        Stage(name="blackout", days_low=0.001, days_typical=0.001, days_high=0.001, ground="dark", cue="Tall?"),
        *BROCCOLI.stages[-1:],
    )
    short = msgspec.structs.replace(BROCCOLI, stages=stages)
    tray = standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * not_yet if not_yet else None)
    state = farm(standing=(tray,), recipe=short)
    first, second = look_ahead(state, MONDAY + DAY * (not_yet + 0.1)).standing(tray).stages
    assert first.ends.low <= second.ends.low
    assert first.ends.likely <= second.ends.likely
    assert first.ends.high <= second.ends.high


def test_a_stage_the_recipe_no_longer_has_leaves_the_time_since_sowing_to_go_by() -> None:
    tray = standing_tray("press", MONDAY + DAY)
    outlook = look_ahead(farm(standing=(tray,)), MONDAY + DAY * 2).standing(tray)
    assert MONDAY + DAY * 7 < outlook.ready.likely < MONDAY + DAY * 10


def test_a_stage_that_ends_by_the_clock_takes_as_long_as_the_recipe_says_whatever_was_seen() -> None:
    soaked = msgspec.structs.replace(
        BROCCOLI, stages=(Stage(name="germinate", days_low=3.0, days_typical=3.0, days_high=3.0, ground="dark"),
                          *BROCCOLI.stages[1:])
    )  # fmt: skip
    trays = [cut_tray(number, 95.0, lengths=(4.5, 1.0, 4.0)) for number in range(20)]
    ends = look_ahead(farm(*trays, recipe=soaked), MONDAY).proposed(soaked, MONDAY).stages[0].ends
    assert days(ends)[1] == pytest.approx(3.0, abs=0.01)


def test_a_narrow_range_is_believed_until_plants_say_otherwise() -> None:
    sure = msgspec.structs.replace(
        BROCCOLI, stages=tuple(msgspec.structs.replace(stage, days_low=days_, days_typical=days_, days_high=days_)
                               for stage, days_ in zip(BROCCOLI.stages, (*LENGTHS, 2.0), strict=True))
    )  # fmt: skip
    before = look_ahead(farm(recipe=sure), MONDAY).proposed(sure, MONDAY)
    assert days(before.ready)[2] - days(before.ready)[0] < 1.1  # a round missed by minutes is half a day
    slow = [cut_tray(number, 95.0, lengths=(4.5, 1.0, 4.0)) for number in range(30)]
    after = look_ahead(farm(*slow, recipe=sure), MONDAY).proposed(sure, MONDAY)
    assert days(after.stages[0].ends)[1] > 3.8


# Cautious figures, losses, reasons -----------------------------------------------------------------------------------


def test_the_cautious_weight_is_reached_by_the_cautious_share_of_trays() -> None:
    sure, unsure = (look_ahead(farm(caution=caution), MONDAY).cautious_grams(BROCCOLI) for caution in (0.8, 0.5))
    assert unsure == pytest.approx(207.0)
    assert sure == pytest.approx(207.0 * (340 / 118) ** (-0.8416 / 2.5631), rel=0.01)


def test_cautious_days_are_whole_and_grow_with_caution() -> None:
    half, most, nearly_all = (
        look_ahead(farm(caution=share), MONDAY).cautious_days(BROCCOLI) for share in (0.45, 0.8, 0.99)
    )
    assert (half, most) == (9, 10)  # with the waits for rounds 8.5 days, so the day after; four in five take 9.7
    assert nearly_all > most


def test_losses_follow_what_was_thrown_away_and_a_surplus_is_none() -> None:
    def chance(lost: int, reason: str = "mould") -> float:
        trays = [cut_tray(number, 95.0) for number in range(40)]
        for tray in trays[:: 40 // lost][:lost] if lost else []:
            tray.fate, tray.reason, tray.grams = "discarded", reason, None
        return look_ahead(farm(*trays), MONDAY).proposed(BROCCOLI, MONDAY).loss

    none, some, many = chance(0), chance(4), chance(12)
    assert none < 0.03 < some < many
    assert many == pytest.approx(0.25, abs=0.06)  # 12 of 40, drawn a little toward what is usual
    assert chance(12, "surplus") == pytest.approx(none, rel=0.2)


def test_what_is_nearly_grown_is_less_likely_to_be_lost() -> None:
    young, old = standing_tray("germinate", MONDAY), standing_tray("light", MONDAY - DAY * 4)
    outlook = look_ahead(farm(standing=(young,)), MONDAY), look_ahead(farm(standing=(old,)), MONDAY - DAY * 0.5)
    assert 0 < outlook[1].standing(old).loss < outlook[0].standing(young).loss


def test_reasons_name_what_moves_a_tray_and_their_product_is_the_move() -> None:
    good = [cut_tray(number, 100.0 + number % 5, lot="GOOD") for number in range(20)]
    poor = [cut_tray(number, 70.0 + number % 5, lot="L1") for number in range(20, 40)]
    tray = standing_tray("light", MONDAY)
    outlook = look_ahead(farm(*good, *poor, standing=(tray,)), MONDAY)
    reasons = [reason for reason in outlook.explain(tray) if reason.about == "grams"]
    lot = next(reason for reason in reasons if reason.what == "lot L1")
    assert lot.factor < 0.9
    assert lot.trays == 20
    assert "lighter" in lot.words
    told = outlook.standing(tray).grams
    assert told is not None
    assert 207.0 * math.prod(reason.factor for reason in reasons) == pytest.approx(told.likely, rel=0.02)


def test_the_rounds_gap_is_the_half_day_these_trays_were_seen_by() -> None:
    assert cut_tray(1, 95.0).steps[0].last_not_yet == cut_tray(1, 95.0).steps[1].since - ROUND


def test_seed_whose_life_is_in_doubt_makes_a_new_lots_trays_less_sure() -> None:
    """A lot of which 400 seeds were tried against one whose label is all there is, and years old."""
    from trayward.farm.state import SeedLot

    def lot(name: str, *, tested: int, years: float) -> SeedLot:
        when = MONDAY - DAY * 365 * years
        tests = [(MONDAY - DAY, round(tested * 0.9), tested)] if tested else []
        return SeedLot(
            lot=name, crop="broccoli", received_at=when, received_g=500.0, left_g=400.0, germination=0.9, tsw_g=3.2,
            tests=tests,
        )  # fmt: skip

    state = farm(*(cut_tray(number, 95.0 + number % 5, lot=f"L{number // 5}") for number in range(30)))
    state.seed = {one.lot: one for one in (lot("SURE", tested=400, years=0.1), lot("OLD", tested=0, years=4.0))}
    outlook = look_ahead(state, MONDAY)
    spans = {}
    for name in ("SURE", "OLD"):
        found = outlook.proposed(BROCCOLI, MONDAY, name).grams
        assert found is not None
        spans[name] = found.high / found.low
    assert spans["OLD"] > spans["SURE"] * 1.01
