"""How the plan kept its word, worked by hand on a few lines; and what chances learn from it."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from tests.plan.farms import MONDAY, NOW, farm, line, order
from trayward.farm.bills import DeliveryMade, LineGone
from trayward.farm.promised import FINE
from trayward.farm.state import FarmState, LinePromised
from trayward.outlook.ahead import look_ahead
from trayward.plan.came_out import Came, LeftOut, Told, came_out
from trayward.plan.decide import Effort
from trayward.plan.demand import open_lines
from trayward.plan.habits import AS_LINES, HALF, SPANS, Habit, Habits, habits_of, learned, likeliest, within_reach
from trayward.plan.kept_word import ENOUGH, kept_word
from trayward.plan.make import make_plan, plan_days
from trayward.plan.told_lines import chance_of

PROPERTY = settings(max_examples=40, deadline=None, derandomize=True, database=None)
LADLE = "Copper Ladle"
FRIDAY = MONDAY - timedelta(days=3)
"""A day that is over when these plans are made."""


def promised(chance: float, *, ahead: int = 5, due: date = FRIDAY, asked: float | None = 100.0) -> LinePromised:
    said = (round(FINE * chance),)
    return LinePromised(due=due, customer=LADLE, amount=100.0, ahead=(ahead,), told=said, read=said, asked=asked)


def gone(name: str, grams: float, day: date = FRIDAY) -> DeliveryMade:
    line = LineGone(line=name, loose={"H1": grams})
    return DeliveryMade(entry=f"E-{name}", delivery=f"D-{name}", customer=LADLE, day=day, lines=(line,))


def state(promises: dict[str, LinePromised], *deliveries: DeliveryMade) -> FarmState:
    made = farm()
    made.promised, made.deliveries = promises, list(deliveries)
    return made


def test_in_full_and_on_time_is_what_was_promised() -> None:
    told = state(
        {name: promised(0.9) for name in ("full", "short", "late", "in two", "none")},
        gone("full", 100.0),
        gone("short", 99.0),
        gone("late", 100.0, FRIDAY + timedelta(days=1)),
        gone("in two", 40.0, FRIDAY - timedelta(days=1)),
        gone("in two", 60.0),
    )
    came, left_out = came_out(told, MONDAY)
    assert {one.line: one.met for one in came} == {
        "full": True, "short": False, "late": False, "in two": True, "none": False,
    }  # fmt: skip
    assert left_out == LeftOut()
    found = kept_word(told, MONDAY)
    assert (found.lines, found.met, found.promises) == (5, 2, 5)
    assert found.expected == pytest.approx(4.5)
    (row,) = found.rows
    assert (row.told, row.met, row.lines, row.so) == (pytest.approx(0.9), 0.4, 5, "few")


def test_lines_that_cannot_be_judged_are_left_out_and_counted() -> None:
    unwritten = replace(promised(0.9), customer="Upside Ladle")
    empty_week = promised(0.9, due=FRIDAY - timedelta(days=14))
    told = state(
        {
            "ahead": promised(0.9, due=MONDAY), "off": promised(0.9, asked=0.0), "more": promised(0.9, asked=300.0),
            "no word": unwritten, "empty week": empty_week, "good": replace(promised(0.9), changed=2),
        },
        gone("good", 100.0),
    )  # fmt: skip
    found = kept_word(told, MONDAY)
    assert found.left_out == LeftOut(not_due=1, cancelled=1, changed=1, not_written=2, changed_promises=2)
    assert (found.lines, found.met) == (1, 1)


def test_a_line_of_which_no_plan_was_kept_since_is_held_against_its_order_as_it_stands() -> None:
    placed = order(-3, 100.0, name="A")
    told = farm(placed)
    told.promised, told.deliveries = {"A/1": promised(0.9, asked=None)}, [gone("A/1", 100.0)]
    assert kept_word(told, MONDAY).met == 1
    told.orders = {}
    assert kept_word(told, MONDAY).left_out.cancelled == 1


def test_many_lines_are_judged_as_far_as_chance_allows() -> None:
    # 40 lines told 9 in 10, over eight weeks, of which half were met: far less often than told.
    lines = {f"{n}": promised(0.9, due=FRIDAY - timedelta(days=7 * (n % 8))) for n in range(40)}
    out = [gone(name, 100.0, one.due) for name, one in lines.items() if int(name) % 16 < 8]
    found = kept_word(state(lines, *out), MONDAY)
    assert found.lines == 40 >= ENOUGH
    assert found.rows[0].so == "less"
    assert found.rows[0].low < found.rows[0].met < found.rows[0].high < 0.9


# What chances learn ---------------------------------------------------------------------------------------------------


def test_without_a_record_chances_are_told_as_they_are_read() -> None:
    told = habits_of(farm(), MONDAY)
    assert told == Habits()
    assert [told.told(read, 5) for read in (0.0, 0.37, 1.0)] == [0.0, 0.37, 1.0]


def test_the_record_is_followed_as_far_as_it_is_long() -> None:
    came = [Came(f"{n}", FRIDAY, True, (Told(5, 1.0, 1.0),)) for n in range(int(HALF))]
    (habit,) = learned(came)
    assert (habit.days_from, habit.days_to, habit.lines) == (3, 6, int(HALF))
    assert habit.lift == pytest.approx(SPANS[0].lift / 2), "lines told sure say nothing of those that are not"
    assert habit.slip == pytest.approx(SPANS[0].slip * AS_LINES / (AS_LINES + HALF) / 2), "fifty of them, all met"


def test_near_days_are_told_as_they_are_read() -> None:
    habits = Habits(habits=(Habit(days_from=3, days_to=13, lift=0.2, slip=0.1, lines=99),))
    assert habits.told(0.5, 2) == 0.5
    assert habits.told(0.5, 3) == pytest.approx(0.55)
    assert habits.told(0.5, 14) == 0.5, "of lines so far off nothing is recorded"


def test_lift_and_slip_are_found_again_in_lines_drawn_with_them() -> None:
    # Own simulation: 20,000 lines, lift 0.25 and slip 0.06. Over 12 such draws
    # they scatter by 0.010 and 0.006; three times that.
    draw, tally = Random(4), dict[float, list[float]]()
    for _ in range(20_000):
        read = draw.randrange(97) / 96
        met = draw.random() < (1 - 0.06 if draw.random() < read else 0.25 * within_reach(read))
        tally.setdefault(read, [0.0, 0.0])[met] += 1
    lift, slip = likeliest({read: (short, met) for read, (short, met) in tally.items()}, SPANS[0])
    assert lift == pytest.approx(0.25, abs=0.03)
    assert slip == pytest.approx(0.06, abs=0.02)


LINES = st.lists(st.tuples(st.integers(0, 96), st.booleans(), st.integers(3, 28)), max_size=60)


@given(LINES)
@PROPERTY
def test_the_likelier_line_stays_the_likelier_and_nothing_becomes_sure(lines: list[tuple[int, bool, int]]) -> None:
    came = [
        Came(f"{n}", FRIDAY, met, (Told(ahead, read / 96, read / 96),)) for n, (read, met, ahead) in enumerate(lines)
    ]
    for habit in learned(came):
        told = [habit.told(read / 96) for read in range(97)]
        assert all(first < then for first, then in pairwise(told))
        assert 0.0 < told[0] < told[-1] < 1.0


def test_a_plan_tells_chances_by_the_record_and_decides_as_before() -> None:
    effort = Effort(scenarios=8, checked=24, proof_seconds=0.0)
    plain = farm(order(2, 50.0, name="soon"), order(9, 250.0, name="later"))
    assert plain.settings is not None
    plain.settings = replace(plain.settings, caution=0.95)
    taught = replace(plain)
    # A hundred lines told to be hopeless, of which nine in ten were met all the same.
    taught.promised = {f"{n}": promised(0.0) for n in range(100)}
    taught.deliveries = [gone(f"{n}", 100.0) for n in range(90)]
    before, after = (make_plan(one, look_ahead(one, NOW), NOW, weeks=3, effort=effort) for one in (plain, taught))
    assert [(one.sow_on, one.trays) for one in after.sowings] == [(one.sow_on, one.trays) for one in before.sowings]
    assert line(after, "soon/1").chance == line(before, "soon/1").chance == 0.0, "two days ahead nothing helps any more"
    was, now = line(before, "later/1"), line(after, "later/1")
    assert was.read is None
    assert now.read == was.chance
    habit = habits_of(taught, MONDAY)
    assert now.chance == pytest.approx(habit.told(now.read or 0.0, 9), abs=1e-4)
    assert "Chances follow how 100 earlier order lines came out." in after.notes
    assert not [note for note in before.notes if "earlier order line" in note]


def test_a_line_that_gets_nothing_in_any_course_stays_at_none_whatever_the_record() -> None:
    """Such as one for which there is no seed."""
    hopeful = Habits(habits=(Habit(days_from=3, days_to=40, lift=0.4, slip=0.02, lines=100),))
    farmed = farm(order(9, 250.0, name="later"))
    (later,) = open_lines(farmed, plan_days(farmed, NOW, 3)[1])
    nothing, little = np.zeros(24), np.full(24, 40.0)
    assert chance_of(later, nothing, hopeful) == 0.0
    assert chance_of(later, little, hopeful) == pytest.approx(hopeful.told(0.0, 9))
    assert hopeful.told(0.0, 9) > 0.1
