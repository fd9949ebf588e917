"""When and how much, with how much doubt: the first version of the outlook."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest

from trayward.farm.recipes import Medium, Recipe, Stage, YieldPrior
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.outlook.ahead import look_ahead
from trayward.outlook.shrink import Lognormal, Tally, effective_number, learn, shrunk
from trayward.outlook.stages import seen_days

MONDAY = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
DAY = timedelta(days=1)
BROCCOLI = Recipe(
    name="broccoli",
    crop="broccoli",
    medium=Medium(name="mesh mat"),
    live_seeds_per_cm2=5.0,
    stages=(
        Stage(name="germinate", days_low=2.0, days_typical=3.0, days_high=4.0, ground="dark"),
        Stage(name="blackout", days_low=0.8, days_typical=1.0, days_high=1.4, ground="dark"),
        Stage(name="light", days_low=3.0, days_typical=4.0, days_high=5.0, ground="lit"),
        Stage(name="ready", days_low=1.0, days_typical=2.0, days_high=3.0, ground="lit"),
    ),
    yield_prior=YieldPrior(low_g=118.0, typical_g=207.0, high_g=340.0),
)


def cut_tray(number: int, grams: float, *, sowing: str = "") -> Tray:
    """A tray that ran exactly to the recipe and was cut the day it was ready."""
    marks = [MONDAY + DAY * days for days in (0, 3, 4, 8)]
    names = ("germinate", "blackout", "light", "ready")
    steps = [
        StageStep(stage=name, since=since, until=until)
        for name, since, until in zip(names, marks, [*marks[1:], None], strict=True)
    ]
    return Tray(
        tray=f"{sowing or number}.{number}",
        sowing=sowing or str(number),
        recipe="broccoli",
        crop="broccoli",
        sown_at=MONDAY,
        seed_g=20.0,
        lots=("L1",),
        fate="cut",
        steps=steps,
        ended_at=marks[-1],
        grams=grams,
        stripped=True,
    )


def standing_tray(stage: str, since: datetime, *, not_yet: datetime | None = None) -> Tray:
    return Tray(
        tray="s.1",
        sowing="s",
        recipe="broccoli",
        crop="broccoli",
        sown_at=MONDAY,
        seed_g=20.0,
        lots=("L1",),
        steps=[StageStep(stage=stage, since=since, last_not_yet=not_yet)],
    )


def farm(*ended: Tray, recipe: Recipe = BROCCOLI, caution: float = 0.8) -> FarmState:
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", caution=caution),
        recipes={recipe.name: recipe},
        ended={tray.tray: tray for tray in ended},
    )


def likely_grams(*ended: Tray) -> float:
    grams = look_ahead(farm(*ended), MONDAY).proposed(BROCCOLI, MONDAY).grams
    assert grams is not None
    return grams.likely


def test_a_new_lot_shrinks_toward_the_house_mean_as_the_conjugate_identity_says() -> None:
    """House mean 250 g, between lots 20 g, trays 30 g, a lot of 3 trays at 290 g: 272.9 g, sd 13.1 g, within 0.1.

    Source: normal-normal conjugate identity, Gelman et al., Bayesian Data Analysis, 3rd ed. 2013, ch. 2.
    """
    mean, sd = shrunk(250, 20, 30, 290, 3)
    assert mean == pytest.approx(272.9, abs=0.1)
    assert sd == pytest.approx(13.1, abs=0.1)


def test_with_no_own_tray_the_outlook_is_the_published_range_and_says_so() -> None:
    outlook = look_ahead(farm(), MONDAY).proposed(BROCCOLI, MONDAY)
    assert outlook.grams is not None
    assert outlook.grams.likely == pytest.approx(207.0)
    assert outlook.grams.high / outlook.grams.low == pytest.approx(340 / 118, rel=1e-9)
    assert outlook.grams_basis.own_trays == 0
    assert outlook.grams_basis.prior_trays == 3.0
    assert "Published figures only" in outlook.grams_basis.words


def test_one_own_tray_moves_it_a_little_and_thirty_move_it_a_lot() -> None:
    """The farm cuts 95 g where 207 g is published; the way from the one to the other on a log scale."""

    def moved(grams: float) -> float:
        return math.log(207.0 / grams) / math.log(207.0 / 95.0)

    one = moved(likely_grams(cut_tray(1, 95.0)))
    thirty = moved(likely_grams(*(cut_tray(number, 95.0) for number in range(30))))
    assert one == pytest.approx(1 / 4)
    assert thirty > 0.9


def test_trays_of_one_sowing_count_for_less_than_as_many_sowings() -> None:
    together = likely_grams(*(cut_tray(number, 95.0, sowing="A") for number in range(8)))
    apart = likely_grams(*(cut_tray(number, 95.0) for number in range(8)))
    assert apart < together < likely_grams(cut_tray(1, 95.0))
    assert effective_number([8], 0.5) == pytest.approx(8 / 4.5)


def test_the_farms_own_scatter_takes_over_from_the_published_spread() -> None:
    narrow = look_ahead(farm(*(cut_tray(n, 95.0 + n % 3) for n in range(30))), MONDAY).proposed(BROCCOLI, MONDAY)
    assert narrow.grams is not None
    assert narrow.grams.high / narrow.grams.low < 0.6 * 340 / 118


def test_nobody_said_and_nothing_was_cut_so_it_asks() -> None:
    blank = Recipe(name="shiso", crop="shiso", medium=BROCCOLI.medium, stages=BROCCOLI.stages, live_seeds_per_cm2=5.0)
    outlook = look_ahead(farm(recipe=blank), MONDAY)
    assert outlook.cautious_grams(blank) is None
    assert outlook.proposed(blank, MONDAY).grams is None
    assert "give the recipe a typical yield" in outlook.proposed(blank, MONDAY).grams_basis.words


def test_own_trays_alone_are_enough_where_nothing_is_published() -> None:
    blank = Recipe(
        name="broccoli", crop="broccoli", medium=BROCCOLI.medium, stages=BROCCOLI.stages, live_seeds_per_cm2=5.0
    )
    outlook = look_ahead(farm(cut_tray(1, 90.0), cut_tray(2, 100.0), recipe=blank), MONDAY)
    grams = outlook.proposed(blank, MONDAY).grams
    assert grams is not None
    assert grams.likely == pytest.approx(math.sqrt(90.0 * 100.0))


def test_the_cautious_weight_is_reached_by_the_cautious_share_of_trays() -> None:
    sure, unsure = (look_ahead(farm(caution=caution), MONDAY).cautious_grams(BROCCOLI) for caution in (0.8, 0.5))
    assert unsure == pytest.approx(207.0)
    assert sure == pytest.approx(207.0 * (340 / 118) ** (-0.8416 / 2.5631), rel=1e-3)


def test_cautious_days_are_whole_and_grow_with_caution() -> None:
    half, most, nearly_all = (
        look_ahead(farm(caution=share), MONDAY).cautious_days(BROCCOLI) for share in (0.5, 0.8, 0.99)
    )
    assert (half, most) == (9, 10)  # medians of 8.1 and 9.1 days, rounded up to whole days
    assert nearly_all > most


def test_a_weight_gained_while_waiting_is_taken_off_again() -> None:
    growing = Recipe(
        name="broccoli",
        crop="broccoli",
        medium=BROCCOLI.medium,
        stages=BROCCOLI.stages,
        live_seeds_per_cm2=5.0,
        growth_a_day=0.1,
    )
    late = cut_tray(1, 110.0)
    late.ended_at = MONDAY + DAY * 9
    grams = look_ahead(farm(late, recipe=growing), MONDAY).proposed(growing, MONDAY).grams
    assert grams is not None
    assert grams.likely == pytest.approx(100.0)


def test_a_stage_seen_between_two_rounds_counts_as_the_middle_on_a_log_scale() -> None:
    half_day = timedelta(hours=12)
    seen = StageStep(stage="germinate", since=MONDAY, last_not_yet=MONDAY + DAY * 2, until=MONDAY + DAY * 2.5)
    assert seen_days(seen, half_day) == pytest.approx(math.sqrt(2 * 2.5))
    unasked = StageStep(stage="germinate", since=MONDAY, until=MONDAY + DAY * 2.5)
    assert seen_days(unasked, half_day) == pytest.approx(2.25)
    assert seen_days(StageStep(stage="germinate", since=MONDAY), half_day) is None


def test_own_stage_times_move_the_days() -> None:
    slow = [cut_tray(number, 95.0) for number in range(30)]
    for tray in slow:
        tray.steps[0].until = MONDAY + DAY * 6
        tray.steps[1] = StageStep(stage="blackout", since=MONDAY + DAY * 6, until=MONDAY + DAY * 7)
        tray.steps[2] = StageStep(stage="light", since=MONDAY + DAY * 7, until=MONDAY + DAY * 11)
    assert look_ahead(farm(*slow), MONDAY).cautious_days(BROCCOLI) >= 11
    assert look_ahead(farm(*slow), MONDAY).proposed(BROCCOLI, MONDAY).time_basis.own_trays == 30


def test_not_yet_postpones_the_end_and_a_mere_look_does_not() -> None:
    now = MONDAY + DAY * 3.2
    looked, said = (
        look_ahead(farm(), now).standing(standing_tray("germinate", MONDAY, not_yet=not_yet))
        for not_yet in (None, MONDAY + DAY * 3.1)
    )
    assert said.ready.likely > looked.ready.likely
    assert looked.stages[0].ends.low == now  # it may well be through: it only has to be looked at
    assert said.stages[0].ends.likely > now


def test_a_tray_long_past_its_time_is_due_now_not_in_the_past() -> None:
    now = MONDAY + DAY * 40
    outlook = look_ahead(farm(), now)
    tray = standing_tray("light", MONDAY, not_yet=MONDAY + DAY * 39.9)
    assert now <= outlook.standing(tray).ready.low <= outlook.standing(tray).ready.high < now + DAY * 40
    assert outlook.cautious_ready(tray) >= now


def test_a_ready_tray_was_ready_when_it_was_said() -> None:
    outlook = look_ahead(farm(), MONDAY + DAY * 9).standing(standing_tray("ready", MONDAY + DAY * 8))
    assert outlook.ready.low == outlook.ready.high == MONDAY + DAY * 8
    assert outlook.stages == ()


def test_stages_end_in_order_and_the_sum_has_the_moments_of_its_parts() -> None:
    outlook = look_ahead(farm(), MONDAY).proposed(BROCCOLI, MONDAY)
    likely = [stage.ends.likely for stage in outlook.stages]
    assert likely == sorted(likely)
    assert outlook.ready == outlook.stages[-1].ends
    parts = [
        Lognormal(math.log(d), math.log(high / low) / 2.5631).moments()
        for low, d, high in ((2, 3, 4), (0.8, 1, 1.4), (3, 4, 5))
    ]
    whole = Lognormal.of_moments(sum(mean for mean, _ in parts), sum(spread for _, spread in parts))
    assert (outlook.ready.high - MONDAY) / DAY == pytest.approx(whole.quantile(0.9), rel=1e-3)


@pytest.mark.parametrize("not_yet", [0.0, 2.9, 12.0])
def test_no_stage_ends_before_the_one_before_it(not_yet: float) -> None:
    """A sliver of a stage after one known to have lasted long: where matched moments alone would go backwards."""
    stages = (
        Stage(name="germinate", days_low=1.0, days_typical=3.0, days_high=9.0, ground="dark"),
        Stage(name="blackout", days_low=0.001, days_typical=0.001, days_high=0.001, ground="dark"),
        *BROCCOLI.stages[-1:],
    )
    short = Recipe(name="broccoli", crop="broccoli", medium=BROCCOLI.medium, stages=stages, live_seeds_per_cm2=5.0)
    tray = standing_tray("germinate", MONDAY, not_yet=MONDAY + DAY * not_yet if not_yet else None)
    first, second = look_ahead(farm(recipe=short), MONDAY + DAY * (not_yet + 0.1)).standing(tray).stages
    assert first.ends.low <= second.ends.low
    assert first.ends.likely <= second.ends.likely
    assert first.ends.high <= second.ends.high


def test_a_stage_the_recipe_no_longer_has_leaves_the_time_since_sowing_to_go_by() -> None:
    outlook = look_ahead(farm(), MONDAY + DAY * 2).standing(standing_tray("press", MONDAY + DAY))
    assert MONDAY + DAY * 7 < outlook.ready.likely < MONDAY + DAY * 10


def test_quantiles_given_that_it_lasted_are_those_of_the_cut_off_lognormal() -> None:
    """Against the share counted directly: of the cases above 3.5, half lie below the conditional median."""
    law = Lognormal(math.log(3.0), 0.2)
    median = law.quantile(0.5, above=3.5)
    normal = [law.quantile((i + 0.5) / 20000) for i in range(20000)]
    beyond = [value for value in normal if value > 3.5]
    assert sum(value < median for value in beyond) / len(beyond) == pytest.approx(0.5, abs=0.002)


def test_neither_prior_nor_own_trays_teach_nothing() -> None:
    assert learn(None, Tally()) is None
