"""What the farm's own trays teach, tray by tray: lengths between looks, weights, losses, and what is odd."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.farm.places import Lamp, Shelf
from trayward.farm.recipes import Medium, Recipe, Stage, TraySize
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Reading, Sowing, StageStep, Tray
from trayward.farm.trials import Trial
from trayward.outlook.clock import Climate
from trayward.outlook.row_reader import rows_of, rows_of_all
from trayward.outlook.rows import Rows, StageRow

MONDAY = datetime(2026, 11, 2, 7, 0, tzinfo=UTC)
DAY = timedelta(days=1)
INF = math.inf


def stage(name: str, days: float, ground: str, *, cover: str = "none", cue: str = "Does it show?") -> Stage:
    return Stage(
        name=name,
        days_low=days / 2,
        days_typical=days,
        days_high=days * 2,
        ground=ground,
        cover=cover,
        cue=cue,
        base_c=3.0,
        at_c=21.0,
    )


CRESS = Recipe(
    name="cress",
    crop="garden cress",
    medium=Medium(name="mesh mat"),
    live_seeds_per_cm2=5.0,
    tray=TraySize(length_mm=500.0, width_mm=200.0),
    stages=(
        stage("soak", 0.5, "bench", cue=""),
        stage("germinate", 3, "dark"),
        stage("blackout", 1, "dark", cover="blackout"),
        stage("light", 4, "lit"),
        stage("ready", 2, "lit", cue=""),
    ),
    cut_window_days=2,
)
"""1000 cm2 a tray."""
SHELVES = (
    Shelf(name="D1", rack="D", room="loft", kind="dark", spots=8),
    Shelf(name="L1", rack="L", room="loft", kind="lit", spots=4, lamp=Lamp(count=2, umol_s=50.0, hours=16.0)),
    Shelf(name="L2", rack="L", room="loft", kind="lit", spots=4, lamp=Lamp(count=4, umol_s=50.0, hours=16.0)),
    Shelf(name="L3", rack="L", room="loft", kind="lit", spots=4, lamp=Lamp(count=4, umol_s=50.0, hours=16.0)),
    Shelf(name="L4", rack="L", room="loft", kind="lit", spots=4, lamp=Lamp(count=4, watts=36.0)),
)


def farm(*trays: Tray, shelves: tuple[Shelf, ...] = (), readings: tuple[tuple[float, float], ...] = ()) -> FarmState:
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", timezone="Europe/Berlin"),
        recipes={"cress": CRESS},
        shelves={shelf.name: shelf for shelf in shelves},
        readings=[Reading(MONDAY + DAY * day, "temperature", temp, "loft") for day, temp in readings],
        ended={tray.tray: tray for tray in trays if tray.fate != "growing"},
        trays={tray.tray: tray for tray in trays if tray.fate == "growing"},
    )


def step(
    name: str,
    since: float,
    until: float | None = None,
    *,
    not_yet: float | None = None,
    silent: float | None = None,
    spot: str | None = None,
) -> StageStep:
    """A stage from so many days after Monday to so many."""
    moments = (None if day is None else MONDAY + DAY * day for day in (until, not_yet, silent))
    ended, last_not_yet, last_silent = moments
    return StageStep(
        stage=name,
        since=MONDAY + DAY * since,
        until=ended,
        last_not_yet=last_not_yet,
        last_silent=last_silent,
        spot=spot,
    )


def tray(*steps: StageStep, fate: str = "growing", ended: float | None = None, **more: object) -> Tray:
    given: dict[str, object] = {"tray": "S.1", "sowing": "S", "grams": 400.0 if fate == "cut" else None, **more}
    return Tray(
        recipe="cress",
        crop="garden cress",
        sown_at=steps[0].since,
        seed_g=10.0,
        lots=given.pop("lots", ("L1",)),
        fate=fate,
        steps=list(steps),
        ended_at=MONDAY + DAY * ended if ended is not None else None,
        **given,
    )


def whole_life(**more: object) -> Tray:
    """Soaked 0.5 d, germinated 3 d, 1 d under the cover, 4 d in the light, ready for 1 d and cut."""
    steps = (
        step("soak", 0, 0.5, spot=None),
        step("germinate", 0.5, 3.5, not_yet=3.0, spot="D1.1"),
        step("blackout", 3.5, 4.5, not_yet=4.0, spot="D1.1"),
        step("light", 4.5, 8.5, not_yet=8.0, spot="L1.1"),
        step("ready", 8.5, spot="L1.1"),
    )
    given: dict[str, object] = {"fate": "cut", "ended": 9.5, "live_seeds_per_cm2": 5.0, **more}
    return tray(*steps, **given)


def told(one: Tray, state: FarmState | None = None, *, at: float = 100.0, upto: float | None = None) -> Rows:
    state = state or farm(one)
    moment = MONDAY + DAY * upto if upto is not None else None
    return rows_of(one, state, Climate(state, MONDAY + DAY * at), upto=moment)


def lengths(rows: Rows) -> list[tuple[str, float, float]]:
    return [(row.stage, pytest.approx(row.low), row.high) for row in rows.stages]


# How long stages took -------------------------------------------------------------------------------------------------


def test_a_stage_ended_between_the_last_not_yet_and_the_look_that_said_ready():
    assert lengths(told(whole_life())) == [("germinate", 2.5, 3.0), ("blackout", 0.5, 1.0), ("light", 3.5, 4.0)]


def test_a_stage_that_ends_by_the_clock_and_the_wait_to_be_cut_teach_nothing():
    assert {row.stage for row in told(whole_life()).stages} == {"germinate", "blackout", "light"}


def test_a_trial_of_the_blackout_sets_how_long_it_lasts_so_that_teaches_nothing_of_its_cue():
    life = whole_life(trial="darker")
    state = farm(life)
    state.trials = {
        name: Trial(name=name, recipe="cress", what=what, levels=(0.5, 1.0), blocks=2)
        for name, what in (("darker", "blackout"), ("thicker", "density"))
    }
    assert {row.stage for row in told(life, state).stages} == {"germinate", "light"}
    life.trial = "thicker"
    assert {row.stage for row in told(life, state).stages} == {"germinate", "blackout", "light"}


def test_without_a_not_yet_an_earlier_walk_that_left_the_cue_open_counts_as_one():
    life = tray(step("germinate", 0, 5, silent=2.0), step("blackout", 5))
    assert lengths(told(life)) == [("germinate", 2.0, 5.0)]


def test_a_silent_look_in_the_same_walk_counts_for_nothing():
    life = tray(step("germinate", 0, 5, silent=4.999), step("blackout", 5))
    assert lengths(told(life)) == [("germinate", 4.5, 5.0)]  # two walks a day


def test_with_no_look_on_record_it_was_not_over_a_round_before():
    life = tray(step("germinate", 0, 3), step("blackout", 3))
    assert lengths(told(life)) == [("germinate", 2.5, 3.0)]
    short = tray(step("germinate", 0, 0.4), step("blackout", 0.4))
    assert lengths(told(short)) == [("germinate", 0.0, 0.4)]


def test_a_change_that_passes_a_stage_over_was_caught_up_on_so_only_its_end_is_known():
    over = tray(step("germinate", 0, 6, silent=5.0), step("light", 6))
    assert lengths(told(over)) == [("germinate", 0.0, 6.0)]
    at_one_go = tray(step("germinate", 0, 6), step("blackout", 6, 6), step("light", 6))
    assert lengths(told(at_one_go)) == [("germinate", 0.0, 6.0)]
    asked = tray(step("germinate", 0, 6, not_yet=2.0), step("light", 6))
    assert lengths(told(asked)) == [("germinate", 2.0, 6.0)]


def test_a_stage_under_way_lasts_longer_than_its_last_not_yet():
    assert lengths(told(tray(step("germinate", 0, not_yet=2.5)))) == [("germinate", 2.5, INF)]


@pytest.mark.parametrize("looks", [{}, {"silent": 2.0}])
def test_a_stage_under_way_that_nobody_said_not_yet_to_teaches_nothing(looks: dict[str, float]):
    assert told(tray(step("germinate", 0, **looks))).stages == []


@pytest.mark.parametrize("fate", ["discarded", "cut", "delivered"])
def test_a_tray_that_ended_while_growing_was_cut_short(fate: str):
    rows = told(tray(step("germinate", 0, not_yet=2.5), fate=fate, ended=2.75))
    assert lengths(rows) == [("germinate", 2.5, INF)]
    assert rows.stages[0].at == MONDAY + DAY * 2.5


def test_lengths_are_told_in_standard_days_of_the_room():
    # 12 °C is half way from the base of 3 °C to the 21 °C that lengths hold at: half the pace.
    life = whole_life()
    state = farm(life, shelves=SHELVES, readings=tuple((day, 12.0) for day in range(12)))
    assert lengths(told(life, state)) == [("germinate", 1.25, 1.5), ("blackout", 0.25, 0.5), ("light", 1.75, 2.0)]


def test_a_stage_never_ends_before_it_surely_lasted_even_if_the_room_went_cold():
    """Warm on the first two days, then below the base: by the warmth, nothing passed between the two last looks."""
    life = tray(step("germinate", 0, 5, not_yet=4.5, spot="D1.1"), step("blackout", 5, spot="D1.1"))
    temps = ((0, 21.0), (1, 21.0), (2, 2.0), (3, 2.0), (4, 2.0), (5, 2.0))
    (row,) = told(life, farm(life, shelves=SHELVES, readings=temps)).stages
    assert 0 < row.low < row.high


def test_a_not_yet_said_after_the_change_is_not_believed():
    life = tray(step("germinate", 0, 3, not_yet=3.2), step("blackout", 3))
    assert lengths(told(life)) == [("germinate", 2.5, 3.0)]


# Groups ---------------------------------------------------------------------------------------------------------------


def test_trays_of_one_recipe_and_lot_sown_on_one_day_are_one_group_even_in_two_sowings():
    first, second = whole_life(), whole_life(tray="T.1", sowing="T")
    other = whole_life(tray="U.1", sowing="U", lots=("L2",))
    state = farm(first, second, other)
    groups = [row.sowing for row in rows_of_all((first, second, other), state, Climate(state)).yields]
    assert groups == ["cress|L1|2026-11-02", "cress|L1|2026-11-02", "cress|L2|2026-11-02"]


def test_the_main_lot_is_the_one_most_seed_came_from():
    life = whole_life(lots=("L1", "L2"))
    state = farm(life)
    lots = {"L1": 3.0, "L2": 7.0}
    state.sowings["S"] = Sowing(
        sowing="S", recipe="cress", crop="garden cress", sown_at=MONDAY, trays=("S.1",), lots=lots
    )
    assert told(life, state).yields[0].lot == "L2"
    assert told(life).yields[0].lot == "L1"
    assert told(whole_life(lots=())).yields[0].lot == ""


def test_the_day_of_a_sowing_is_the_one_on_the_farms_wall():
    late = tray(step("germinate", 15.7, 19, not_yet=18.7), step("blackout", 19))  # 23:48 UTC is past midnight in Berlin
    assert told(late).stages[0].sowing == "cress|L1|2026-11-18"


def test_seasons_are_blocks_of_four_weeks():
    # Monday 2024-01-01 to Monday 2026-11-02 are 1036 days: 37 blocks of 28.
    assert told(whole_life()).yields[0].season == 37
    before = tray(step("germinate", -1, 2, not_yet=1.5), step("blackout", 2))
    assert told(before).stages[0].season == 36


# What it weighed ------------------------------------------------------------------------------------------------------


def test_a_cut_tray_tells_its_weight_for_each_square_centimetre():
    (row,) = told(whole_life(trial="thick")).yields
    assert row.log_grams_per_cm2 == pytest.approx(math.log(0.4))
    assert (row.tray, row.crop, row.medium, row.trial) == ("S.1", "garden cress", "mesh mat", "thick")
    assert row.at == MONDAY + DAY * 9.5


def test_the_wait_before_the_cut_is_counted_up_to_the_cut_window():
    assert told(whole_life()).yields[0].waited_days == pytest.approx(1.0)
    assert told(whole_life(ended=20.0)).yields[0].waited_days == 2.0
    early = tray(step("light", 0, not_yet=3.0), fate="cut", ended=3.5)
    assert told(early).yields[0].waited_days == 0.0


@pytest.mark.parametrize(("density", "log"), [(10.0, math.log(2)), (None, 0.0), (0.0, 0.0), (INF, 0.0)])
def test_density_is_told_against_the_recipes(density: float | None, log: float):
    assert told(whole_life(live_seeds_per_cm2=density)).yields[0].log_density == pytest.approx(log)


def test_the_pace_is_that_of_the_growing_stages_where_warmth_was_logged():
    life = whole_life()
    assert told(life).yields[0].log_pace == 0.0
    state = farm(life, shelves=SHELVES, readings=tuple((day, 12.0) for day in range(12)))
    assert told(life, state).yields[0].log_pace == pytest.approx(math.log(0.5))


def test_light_is_told_against_the_farms_median_shelf():
    # L1 has half the lamps of L2 and L3; L4's light is not known.
    life = whole_life()
    assert told(life, farm(life, shelves=SHELVES)).yields[0].log_light == pytest.approx(math.log(0.5))
    life.steps[3].spot = "L4.1"
    assert told(life, farm(life, shelves=SHELVES)).yields[0].log_light == 0.0
    assert told(life).yields[0].log_light == 0.0


def test_days_under_the_cover_are_told_against_the_recipes():
    assert told(whole_life()).yields[0].blackout_extra == pytest.approx(0.0)
    longer = whole_life()
    longer.steps[2].until = longer.steps[3].since = MONDAY + DAY * 6
    assert told(longer).yields[0].blackout_extra == pytest.approx(1.5)
    unseen = tray(step("light", 0, 4, not_yet=3.5), step("ready", 4), fate="cut", ended=4.5)
    assert told(unseen).yields[0].blackout_extra == 0.0


@pytest.mark.parametrize("grams", [0.0, -3.0, math.nan])
def test_a_weight_of_nothing_is_no_weight_but_a_finding(grams: float):
    rows = told(whole_life(grams=grams))
    assert rows.yields == []
    (finding,) = rows.findings
    assert finding.code == "weight-zero"
    assert "tray S.1" in finding.message


# Losses ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("fate", "lost"), [("cut", False), ("delivered", False), ("discarded", True)])
def test_only_a_discarded_tray_is_lost(fate: str, lost: bool):
    (row,) = told(whole_life(fate=fate, reason="mould")).losses
    assert row.lost is lost


@pytest.mark.parametrize("reason", ["surplus", "Unsold.", "too many for this week", "nobody wants it", "left over"])
def test_a_tray_thrown_away_because_nobody_wanted_it_is_not_lost(reason: str):
    assert not told(whole_life(fate="discarded", reason=reason)).losses[0].lost


@pytest.mark.parametrize("reason", ["mould", "too few sprouted", "damping off", "dropped", ""])
def test_any_other_reason_is_a_loss(reason: str):
    assert told(whole_life(fate="discarded", reason=reason)).losses[0].lost


def test_a_ready_tray_thrown_away_past_its_window_was_not_lost_to_disease():
    assert told(whole_life(fate="discarded", reason="mould", ended=10.4)).losses[0].lost  # 1.9 of 2 days
    assert not told(whole_life(fate="discarded", reason="yellow", ended=11.0)).losses[0].lost


def test_a_growing_tray_is_neither_lost_nor_saved():
    assert told(tray(step("germinate", 0))).losses == []


# What is odd ----------------------------------------------------------------------------------------------------------


def test_a_stage_that_ended_before_it_began_is_left_out_and_named():
    rows = told(tray(step("germinate", 3, 1), step("blackout", 1, 2, not_yet=1.5), step("light", 2)))
    assert lengths(rows) == [("blackout", 0.5, 1.0)]
    (finding,) = rows.findings
    assert finding.code == "stage-time-odd"
    assert finding.message.startswith("tray S.1, germinate = ended before it began")


def test_a_stage_ten_times_longer_than_the_recipes_longest_is_left_out_and_named():
    rows = told(tray(step("germinate", 0, 61, not_yet=60), step("blackout", 61)))
    assert rows.stages == []
    assert [finding.code for finding in rows.findings] == ["stage-time-odd"]
    assert len(told(tray(step("germinate", 0, 59, not_yet=58), step("blackout", 59))).stages) == 1


def test_a_stage_of_less_than_a_fifth_of_the_recipes_shortest_is_left_out_and_named():
    rows = told(tray(step("germinate", 0, 0.25), step("blackout", 0.25)))
    assert rows.stages == []
    assert [finding.code for finding in rows.findings] == ["stage-time-odd"]
    assert len(told(tray(step("germinate", 0, 0.5), step("blackout", 0.5))).stages) == 1


def test_a_stage_that_begins_in_the_future_is_left_out_and_named():
    rows = told(tray(step("germinate", 0, 3, not_yet=2.5), step("blackout", 3)), at=2.0)
    assert [finding.code for finding in rows.findings] == ["stage-time-odd"]
    assert "blackout = begun 2026-11-05 07:00 UTC: that is yet to come" in rows.findings[0].message


def test_a_tray_sown_in_the_future_teaches_nothing_and_is_named():
    rows = told(whole_life(), at=-1.0)
    assert rows[:3] == ([], [], [])
    assert [finding.code for finding in rows.findings] == ["stage-time-odd"]


def test_a_stage_over_without_any_warmth_is_left_out_and_named():
    life = tray(step("germinate", 0, 3, not_yet=2.5, spot="D1.1"), step("blackout", 3, spot="D1.1"))
    rows = told(life, farm(life, shelves=SHELVES, readings=((0, 2.0), (1, 2.0), (2, 2.0), (3, 2.0))))
    assert rows.stages == []
    assert [finding.code for finding in rows.findings] == ["stage-time-odd"]


def test_a_tray_of_a_recipe_or_stage_the_farm_no_longer_has_is_passed_over():
    gone = whole_life()
    gone.recipe = "dropped"
    assert told(gone) == Rows.none()
    renamed = tray(step("sprout", 0, 3, not_yet=2.5), step("blackout", 3, not_yet=3.5))
    assert lengths(told(renamed)) == [("blackout", 0.5, INF)]


# What was known at a moment -------------------------------------------------------------------------------------------


def test_by_a_moment_in_a_stage_it_lasts_longer_than_the_last_look_known_then():
    assert lengths(told(whole_life(), upto=3.2)) == [("germinate", 2.5, INF)]
    assert told(whole_life(), upto=3.2).losses == []


def test_a_look_after_the_moment_stands_for_one_a_round_before_it():
    assert lengths(told(whole_life(), upto=2.0)) == [("germinate", 1.0, INF)]  # 1.5 after Monday; begun at 0.5


def test_by_a_moment_before_the_sowing_nothing_is_known_and_nothing_is_odd():
    assert told(whole_life(), upto=-1.0) == Rows.none()


def test_by_a_moment_before_the_cut_neither_weight_nor_fate_is_known():
    rows = told(whole_life(), upto=9.4)
    assert (rows.yields, rows.losses) == ([], [])
    assert len(rows.stages) == 3
    assert len(told(whole_life(), upto=9.5).yields) == 1


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(1, 10), min_size=5, max_size=5), st.integers(-2, 60), st.integers(5, 30))
def test_what_is_told_of_a_moment_is_what_was_known_then(halves: list[int], at: int, temp: int):
    """The tray as the book had it at that moment, of looks every half day, teaches what is told of it afterwards."""
    names, since = [stage.name for stage in CRESS.stages], 0.0
    steps = []
    for name, half_days in zip(names, halves, strict=True):
        until = since + half_days / 2
        steps.append(step(name, since, until, not_yet=until - 0.5 if half_days > 1 else None, spot="D1.1"))
        since = until
    steps[-1].until = None
    life = tray(*steps, fate="cut", ended=since)
    moment = at / 2 + 0.25  # between two looks
    readings = tuple((day, float(temp + day % 3)) for day in range(40))
    state = farm(life, shelves=SHELVES, readings=readings)
    later = told(life, state, upto=moment)
    past = farm(life, shelves=SHELVES, readings=tuple(pair for pair in readings if pair[0] <= moment))
    then = told(_as_known(life, moment), past, at=moment) if moment >= 0 else Rows.none()
    assert later.yields == then.yields
    assert later.losses == then.losses
    assert [row for row in later.stages if row.high < INF] == [row for row in then.stages if row.high < INF]
    assert [_floor(row) for row in later.stages] == [_floor(row) for row in then.stages]
    assert all(row.at <= MONDAY + DAY * moment for row in (*later.stages, *later.yields, *later.losses))


def _floor(row: StageRow) -> tuple[str, float]:
    """A stage and whether it is over; of one under way the last look may be up to a round older afterwards."""
    return row.stage, row.high


def _as_known(life: Tray, moment: float) -> Tray:
    """The tray as the book had it at a moment, if it was looked at every half day."""
    at = MONDAY + DAY * moment
    steps = []
    for now in life.steps:
        if now.since > at:
            break
        over = now.until is not None and now.until <= at
        looked = now.last_not_yet
        if looked is not None and looked > at:
            looked = at - DAY / 4 if at - DAY / 4 > now.since else None
        steps.append(
            StageStep(
                stage=now.stage,
                since=now.since,
                last_not_yet=looked,
                until=now.until if over else None,
                spot=now.spot,
            )
        )
    ended = life.ended_at is not None and life.ended_at <= at
    return tray(*steps, fate="cut" if ended else "growing", ended=(life.ended_at - MONDAY) / DAY if ended else None)
