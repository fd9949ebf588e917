"""What a study says, against figures worked out by hand, by enumeration, by another library and by simulation."""

from __future__ import annotations

import itertools
import json
import random
from datetime import date

import msgspec
import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from tests.study import fake_seasons as fake
from trayward.plan.held import wilson
from trayward.study import figures
from trayward.study.figures import Courses, Estimate, generator_of, learning_pays, pays_from, share_closed
from trayward.study.goals import goals_of
from trayward.study.reliability import Promises, reliability
from trayward.study.report import StudyReport, pays_words, percent_words, study_report
from trayward.study.running import Failed, run_all, season_tasks
from trayward.study.types import BOUND, CEILING, KNOWN, LAW, LEARNING, PRIORS, RULE, Promise, SeasonResult, SeasonTask

TASKS = season_tasks("loft", range(1, 21))


def lived(policy: str, seed: int, margin: float, *, buffer: float = 0.0, **more: object) -> SeasonResult:
    """A season of which only this is said."""
    task = SeasonTask(world="loft", seed=seed, policy=policy, buffer=buffer)
    return SeasonResult(task=task, margin=margin, money=margin, **more)  # type: ignore[arg-type]


HAND = [
    lived(RULE, 1, 100.0, lines=10, full_on_time=8, delivered_g=900.0, unsold_g=100.0),
    lived(RULE, 2, 200.0, lines=30, full_on_time=27, delivered_g=2500.0, unsold_g=500.0),
    lived(RULE, 1, 150.0, buffer=0.2),
    lived(RULE, 2, 130.0, buffer=0.2),
    lived(LEARNING, 1, 200.0),
    lived(LEARNING, 2, 260.0),
    lived(LAW, 1, 210.0),
    lived(LAW, 2, 290.0),
    lived(KNOWN, 1, 240.0),
    lived(KNOWN, 2, 280.0),
    lived(BOUND, 1, 250.0),
    lived(BOUND, 2, 350.0),
]
"""The rule with 0 % more earns 300 in all, with 20 % more 280."""


@pytest.fixture(scope="module")
def report() -> StudyReport:
    """Twenty seeds of made-up seasons."""
    return study_report(run_all(TASKS, run=fake.season).results, world="loft")


# Shares of the gap ----------------------------------------------------------------------------------------------------


def test_the_share_closed_is_a_ratio_of_sums_over_the_best_rule_in_hindsight() -> None:
    """By hand: (460 - 300) / (600 - 300), and likewise over 520 - 300 and 500 - 300."""
    told = study_report(HAND, world="loft")
    assert told.best_buffer == 0.0
    assert told.share_closed.mean == pytest.approx(160 / 300)
    assert told.share_closed_known_biology.mean == pytest.approx(160 / 220)
    assert told.share_closed_known_law.mean == pytest.approx(160 / 200)
    assert told.shares_closed[KNOWN].mean == pytest.approx(220 / 300)
    assert told.policies[LEARNING].over_best_rule.mean == pytest.approx(80.0)


def test_the_best_rule_is_one_buffer_for_all_seeds_not_the_best_of_each() -> None:
    """Seed 1 alone would take 20 % more: the best of each seed would earn 350, and the share would be 110 / 250."""
    told = study_report(HAND, world="loft")
    assert told.policies[RULE].margin == 150.0
    assert [(rule.buffer, rule.margin) for rule in told.rules] == [(0.0, 150.0), (0.2, 140.0)]


def test_shares_of_lines_and_grams_are_of_sums() -> None:
    told = study_report(HAND, world="loft").policies[RULE]
    assert told.full_on_time == pytest.approx(35 / 40)
    assert told.unsold_share == pytest.approx(600 / 4000)
    assert (told.unsold_g, told.delivered_g, told.lines) == (300.0, 1700.0, 20.0)


def test_the_interval_is_the_one_of_every_possible_redraw() -> None:
    """Three seeds have 27 redraws; with so few the interval reaches from the least of them to the most."""
    ours, most = np.array([4.0, 7.0, 5.0]), np.array([9.0, 10.0, 12.0])
    rules = np.array([[1.0, 2.0], [3.0, 1.0], [2.0, 2.5]])
    every = []
    for drawn in itertools.product(range(3), repeat=3):
        best = rules[list(drawn)].mean(axis=0).max()
        every.append((ours[list(drawn)].mean() - best) / (most[list(drawn)].mean() - best))
    found = share_closed(ours, rules, most, generator_of("share"))
    assert (found.low, found.high) == (pytest.approx(min(every)), pytest.approx(max(every)))
    assert found.mean == pytest.approx((16 - 6) / (31 - 6))


def test_quantiles_of_redraws_are_those_of_a_t_interval_for_a_plain_mean() -> None:
    """For a mean of near-normal values the interval must be close to the t interval: mean +- 2.0930 s / sqrt(20)."""
    values = np.random.default_rng(5).normal(100, 15, 20)
    found = figures.mean_estimate(list(values), generator_of("t"))
    half = 2.0930 * values.std(ddof=1) / np.sqrt(20)
    assert found.low is not None
    assert found.high is not None
    # Quantiles of 10 000 redraws scatter by about 2 % of the half width, and the values are a little skewed.
    assert found.low == pytest.approx(values.mean() - half, abs=0.08 * half)
    assert found.high == pytest.approx(values.mean() + half, abs=0.08 * half)


@pytest.mark.parametrize("seeds", [8, pytest.param(20, marks=pytest.mark.slow)])
def test_the_interval_holds_the_true_share_as_often_as_it_says(seeds: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """95 % is promised. 600 made-up studies tell it to 0.9 points (one standard error), so 3 points are left open."""
    monkeypatch.setattr(figures, "REDRAWS", 1000)
    chance, held = np.random.default_rng(11), 0
    for _ in range(600):
        base = chance.normal(1000, 200, seeds)
        rules = base[:, None] + np.array([-30.0, 0.0, -25.0]) + chance.normal(0, 20, (seeds, 3))
        most = base + 100 * chance.lognormal(-0.125, 0.5, seeds)
        found = share_closed(base + 60 + chance.normal(0, 30, seeds), rules, most, chance)
        assert found.low is not None
        assert found.high is not None
        held += found.low <= 0.6 <= found.high
    assert 0.92 <= held / 600 <= 0.98


def test_pairing_by_seed_makes_the_interval_narrow(report: StudyReport) -> None:
    """Seeds differ by 200, policies of a seed by tens: unpaired, nothing could be told from twenty seeds."""
    own, gain = report.policies[LEARNING], report.policies[LEARNING].over_best_rule
    assert own.margin_low is not None
    assert own.margin_high is not None
    assert gain.low is not None
    assert gain.high is not None
    assert gain.high - gain.low < 0.1 * (own.margin_high - own.margin_low)
    assert gain.low < 70 < gain.high


def test_a_share_is_not_told_where_there_is_no_gap_to_close() -> None:
    level = np.array([5.0, 6.0])
    found = share_closed(level, level[:, None], level, generator_of("none"))
    assert found == Estimate(seeds=2, why_not="the yardstick does not lie above the best rule of thumb")


def test_an_interval_is_not_told_where_the_gap_is_lost_in_chance() -> None:
    """The yardstick lies above the rule by 0.5 in the mean, and by -9 to 10 from seed to seed."""
    rules = np.array([[10.0], [0.0], [10.0], [0.0]])
    found = share_closed(np.ones(4), rules, np.array([1.0, 10.0, 1.0, 10.0]), generator_of("lost"))
    assert found.mean == pytest.approx((4 - 20) / (22 - 20))
    assert found.low is None
    assert found.why_not == "the gap is too small against chance for an interval"


def test_one_seed_has_a_figure_and_no_interval() -> None:
    told = study_report([one for one in HAND if one.task.seed == 1], world="loft")
    assert told.share_closed.mean == pytest.approx((200 - 150) / (250 - 150))
    assert (told.share_closed.low, told.share_closed.high) == (None, None)
    assert told.headline.endswith("the plan that learns earned 50 %, over 1 season.")


# What is said ---------------------------------------------------------------------------------------------------------


def test_the_json_has_the_keys_that_programs_rely_on(report: StudyReport) -> None:
    told = json.loads(msgspec.json.encode(report))
    assert list(told)[:6] == [
        "world",
        "seeds",
        "policies",
        "share_closed",
        "share_closed_known_biology",
        "calibration",
    ]
    assert (told["world"], told["seeds"]) == ("loft", 20)
    assert list(told["policies"]) == [RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND]
    for one in told["policies"].values():
        assert {"margin", "money", "full_on_time", "unsold_share"} <= set(one)
    for share in (told[f"share_closed{more}"] for more in ("", "_known_biology", "_known_law", "_ceiling")):
        assert 0 < share["low"] < share["mean"] < share["high"] < 1
    assert {"promised", "kept", "kept_low", "kept_high", "promises"} <= set(told["calibration"][0])
    assert told["policies"][RULE]["buffer"] == 0.2
    assert told["margins"][LEARNING]["7"] == fake.season(SeasonTask(world="loft", seed=7, policy=LEARNING)).margin


def test_made_up_worth_comes_out_again(report: StudyReport) -> None:
    """Made so that beyond the best rule learning earns 70 of 100, known law 80, known biology 85, ceiling 90."""
    assert report.share_closed.mean == pytest.approx(0.70, abs=0.05)
    assert report.share_closed_known_biology.mean == pytest.approx(70 / 85, abs=0.05)
    assert report.share_closed_known_law.mean == pytest.approx(70 / 80, abs=0.05)
    assert report.share_closed_ceiling.mean == pytest.approx(70 / 90, abs=0.05)
    assert report.shares_closed[CEILING].mean == pytest.approx(0.90, abs=0.05)
    assert report.policies[LEARNING].full_on_time == pytest.approx(0.985)
    assert report.policies[BOUND].full_on_time == 1.0


def test_the_same_seasons_say_the_same_in_whatever_order_they_came(report: StudyReport) -> None:
    results = list(run_all(TASKS, run=fake.season).results)
    random.Random(3).shuffle(results)
    assert msgspec.json.encode(study_report(results, world="loft")) == msgspec.json.encode(report)


def test_a_failed_season_is_named_and_every_figure_does_without_its_seed() -> None:
    study = run_all(TASKS, run=fake.failing)
    told = study_report(study.results, world="loft", failed=study.failed)
    assert told.failed == ("learning, seed 2 of loft: ValueError: the scales broke",)
    assert told.lacks == (
        "Without seed 2 of learning: its own figures, all shares of the gap, the promises, and when learning pays.",
    )
    assert told.seeds == 20
    assert told.share_closed.seeds == told.policies[LEARNING].seeds == 19
    assert told.policies[BOUND].seeds == told.shares_closed[KNOWN].seeds == 20
    without = [one for one in run_all(TASKS, run=fake.season).results if one.task.seed != 2]
    assert told.share_closed == study_report(without, world="loft").share_closed


def test_a_policy_that_was_not_asked_for_leaves_its_figures_open() -> None:
    told = study_report([one for one in HAND if one.task.policy in (RULE, LEARNING)], world="loft")
    assert list(told.policies) == [RULE, LEARNING]
    assert told.share_closed == Estimate(why_not="there is no season of all-knowing")
    assert told.headline == ("How much of the gap learning closes cannot be told: there is no season of all-knowing.")
    assert [goal.met for goal in told.goals] == [None] * 4


def test_nothing_lived_is_said_and_does_not_break() -> None:
    task = SeasonTask(world="loft", seed=1, policy=RULE)
    told = study_report([], world="loft", failed=[Failed(task=task, error="no power")])
    assert (told.seeds, told.policies, told.best_buffer) == (1, {}, None)
    assert told.headline.startswith("How much of the gap learning closes cannot be told")


def test_a_best_buffer_at_the_end_of_those_tried_is_pointed_out(report: StudyReport) -> None:
    assert not report.best_buffer_at_end
    rising = [lived(RULE, seed, 100 * buffer, buffer=buffer) for seed in (1, 2) for buffer in (0.0, 0.2)]
    assert study_report(rising, world="loft").best_buffer_at_end
    falling = [lived(RULE, seed, -100 * buffer, buffer=buffer) for seed in (1, 2) for buffer in (0.0, 0.2)]
    assert study_report(falling, world="loft").best_buffer_at_end


def test_a_bound_that_counts_no_lines_claims_none() -> None:
    told = study_report(HAND, world="loft")
    assert told.policies[BOUND].full_on_time is None


def test_what_is_odd_about_a_season_is_told_with_its_name() -> None:
    told = study_report([lived(BOUND, 3, 9.0, notes=("stopped before its gap was closed",))], world="loft")
    assert told.notes == ("all-knowing, seed 3 of loft: stopped before its gap was closed",)


# When learning pays ---------------------------------------------------------------------------------------------------


def test_learning_pays_from_the_day_it_stays_ahead_counted_from_the_first_sowing() -> None:
    """Ahead on day 1, behind on day 2, ahead from day 3 on; sown on day 1."""
    assert pays_from(Courses([0, 5, 1, 8, 9], [0, 4, 3, 7, 8], first_sown=1)) == 2


def test_learning_that_is_behind_at_the_end_does_not_pay_in_the_season() -> None:
    assert pays_from(Courses([0, 5, 9, 8], [0, 4, 3, 8], first_sown=0)) is None


def test_the_middle_season_counts_those_in_which_it_never_pays_as_later_than_any() -> None:
    pays, never = Courses([0, 0, 2], [0, 0, 1], first_sown=0), Courses([0, 0, 1], [0, 0, 1], first_sown=0)
    told = learning_pays([pays, pays, never])
    assert told is not None
    assert (told.median_days, told.seeds, told.seeds_in_which) == (2.0, 3, 2)
    told = learning_pays([pays, never, never])
    assert told is not None
    assert told.median_days is None
    assert pays_words(told).startswith("Learning does not pay within the season: it is ahead for good by its end in 1 ")


def test_of_one_season_when_learning_pays_is_said_of_that_one() -> None:
    pays, never = Courses([0, 0, 2], [0, 0, 1], first_sown=0), Courses([0, 0, 1], [0, 0, 1], first_sown=0)
    assert pays_words(learning_pays([pays])) == (
        "Learning pays from day 2 after the first sowing: from then on it stays ahead of the published figures. It is "
        "one season only."
    )
    assert pays_words(learning_pays([never])).startswith("Learning does not pay within the one season")


def test_when_learning_pays_comes_out_as_the_seasons_were_made(report: StudyReport) -> None:
    """Behind until day 15 by 30, then ahead where it earns more: about 30 a season of 40 days."""
    assert report.learning_pays is not None
    assert report.learning_pays.median_days == 15
    assert report.learning_pays.seeds_in_which == 20
    assert "from day 15 after the first sowing" in pays_words(report.learning_pays)
    assert pays_words(None).startswith("When learning pays cannot be told")


# Promises -------------------------------------------------------------------------------------------------------------


def promises(chance: random.Random, number: int, *, off: float = 0.0, shared: float = 0.0) -> list[Promise]:
    """Promises of a season, of so many lines, that say too much by `off`; a season is good or bad by `shared`."""
    luck = chance.choice((-shared, shared))
    found = []
    for line in range(number):
        true = 0.5 + 0.35 * chance.random()
        kept = chance.random() < true + luck
        found.append(Promise(line=f"L{line}", due=date(2026, 12, 1), days_ahead=4, chance=true + off, kept=kept))
    return found


def test_promises_are_counted_by_chance_with_their_mean_and_the_share_kept() -> None:
    """By hand: 0.92, 0.94, 0.90 lie in [0.9, 0.95), two of three kept; 1.0 belongs to the last bin."""
    said = [(0.92, True), (0.94, True), (0.90, False), (1.0, True), (0.15, False)]
    due = date(2026, 12, 1)
    told = reliability(
        {1: [Promise(line=str(n), due=due, days_ahead=n, chance=c, kept=k) for n, (c, k) in enumerate(said)]}
    )
    assert [(one.chance_from, one.chance_to, one.promises, one.lines) for one in told.bins] == [
        (0.0, 0.2, 1, 1),
        (0.9, 0.95, 3, 3),
        (0.98, 1.0, 1, 1),
    ]
    assert told.bins[1].promised == pytest.approx(0.92)
    assert told.bins[1].kept == pytest.approx(2 / 3)
    assert told.told.largest_off_points is None, "no bin has promises enough to be judged by"
    assert [(one.days_from, one.promises) for one in told.told.by_days_ahead] == [(0, 3), (3, 2)]


@pytest.mark.parametrize(
    ("share", "number", "low", "high"),
    [(81 / 263, 263, 0.2553, 0.3662), (15 / 148, 148, 0.0624, 0.1605), (0.0, 20, 0.0, 0.1611)],
)
def test_wilsons_interval_is_the_published_one(share: float, number: int, low: float, high: float) -> None:
    """R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, score (from memory); and statsmodels."""
    assert wilson(share, number) == pytest.approx((low, high), abs=6e-5)
    peer = proportion_confint(round(share * number), number, method="wilson")
    assert wilson(share, number) == pytest.approx(peer, abs=1e-6)


def test_a_share_kept_lies_in_its_interval_as_often_as_that_says_though_seasons_are_good_or_bad_as_a_whole() -> None:
    """95 % is promised; 300 studies of 12 seasons tell it to 1.3 points. Counted as independent, far fewer hold it."""
    chance, held, plainly, asked = random.Random(8), 0, 0, 0
    for _ in range(300):
        told = reliability({season: promises(chance, 60, shared=0.12) for season in range(12)})
        one = next(one for one in told.bins if one.chance_from == 0.6)
        low, high = wilson(one.kept, one.promises)
        held += one.kept_low <= one.promised <= one.kept_high
        plainly += low <= one.promised <= high
        asked += 1
    assert 0.91 <= held / asked <= 0.99
    assert plainly / asked < 0.85


def test_the_same_line_promised_every_day_is_no_more_news_than_once() -> None:
    once = promises(random.Random(4), 40)
    daily = [msgspec.structs.replace(one, days_ahead=day) for one in once for day in range(10)]
    first, many = (reliability({1: told}).bins for told in (once, daily))
    assert [(one.kept_low, one.kept_high) for one in many] == [(one.kept_low, one.kept_high) for one in first]
    assert [one.lines for one in many] == [one.lines for one in first]


def test_chances_that_say_too_much_are_found_off_by_as_much() -> None:
    chance = random.Random(2)
    told = reliability({season: promises(chance, 400, off=0.08) for season in range(20)}).told
    assert told.mean_off_points == pytest.approx(8.0, abs=1.5)
    assert told.largest_off_points is not None
    assert told.surely_off_points is not None
    # The largest of four bins of hundreds: 8 points, and up to three standard errors of 2.3 more.
    assert 8 < told.largest_off_points < 15
    assert 3 < told.surely_off_points < told.largest_off_points


def test_honest_chances_are_not_surely_off(report: StudyReport) -> None:
    assert report.promises[LEARNING].surely_off_points == pytest.approx(0.0, abs=1.0)
    assert report.promises[LEARNING].promises == 20 * 200
    assert set(report.promises) == {PRIORS, LEARNING, LAW, KNOWN}


# Goals ----------------------------------------------------------------------------------------------------------------


def verdicts(share: Estimate, full: Estimate, of_bound: float | None, promised: Promises) -> list[tuple[object, str]]:
    """Whether goals are met, with the words; of the share against knowing all, the lines, and the promises."""
    every = goals_of(share, share, full, of_bound, promised)
    return [(goal.met, goal.words) for goal in (every[0], *every[2:])]


def test_goals_met_are_said_met() -> None:
    share, full = Estimate(mean=0.93, low=0.91, high=0.95, seeds=9), Estimate(mean=0.99, low=0.985, high=1.0, seeds=9)
    assert verdicts(share, full, 0.999, Promises(largest_off_points=2.9, surely_off_points=0.0)) == [(True, "met")] * 3


def test_goals_missed_are_said_missed_and_where_chance_leaves_it_open_that_too() -> None:
    share, full = Estimate(mean=0.6, low=0.5, high=0.7, seeds=9), Estimate(mean=0.975, low=0.96, high=0.99, seeds=9)
    assert verdicts(share, full, 0.999, Promises(largest_off_points=7.0, surely_off_points=4.0)) == [
        (False, "not met"),
        (False, "not met, but chance leaves it open"),
        (False, "not met"),
    ]
    (_, _, promised) = verdicts(share, full, 0.999, Promises(largest_off_points=7.0, surely_off_points=2.0))
    assert promised == (False, "not met, but chance leaves it open")


def test_one_season_proves_nothing_whether_a_goal_was_met_in_it_or_not() -> None:
    share, full = Estimate(mean=0.6, seeds=1), Estimate(mean=0.99, seeds=1)
    assert verdicts(share, full, 0.999, Promises())[:2] == [
        (False, "not met, but one season proves nothing"),
        (True, "met, but one season proves nothing"),
    ]


def test_lines_are_not_asked_for_where_even_knowing_all_they_cannot_be_met() -> None:
    full = Estimate(mean=0.9, low=0.8, high=0.95, seeds=9)
    assert verdicts(full, full, 0.97, Promises())[1] == (None, "not asked here: knowing all, only 97.0 % can be met")
    assert verdicts(full, full, None, Promises())[1][0] is None
    assert verdicts(full, full, None, Promises())[2][1] == "cannot be told: no chance was promised 100 times"


def test_a_share_is_said_with_what_chance_leaves_open() -> None:
    assert percent_words(Estimate(mean=0.617, low=0.551, high=0.694)) == "62 % (55 to 69 %)"
    assert percent_words(Estimate(mean=0.617)) == "62 %"
    assert percent_words(Estimate()) == "not known"
