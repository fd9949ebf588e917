"""What is said of a line is what the plan itself says when it is asked again with one tray more."""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import pytest

from tests.plan.doubts import certain, told
from tests.plan.farms import day, farm, line, order, pool, recipe
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import CASES, EXACT
from tests.plan.test_why_limits import binding, knowing
from trayward.dates import day_words
from trayward.farm.recipes import KitNeed
from trayward.plan.decide import Effort
from trayward.plan.farm_search import FarmSearch
from trayward.plan.prices import over_cost
from trayward.plan.serving import serve
from trayward.plan.told import Told
from trayward.plan.told_lines import chance_read
from trayward.plan.types import Plan
from trayward.plan.why import Why
from trayward.plan.why_lines import line_reasons
from trayward.plan.why_more import AT_ONCE, More, chances_now, chances_with
from trayward.plan.words import in_ten

SOME = Effort(scenarios=12, checked=48, proof_seconds=0)
RAISED = re.compile(
    r"One tray more of (\w+), sown (\w+ \d+ \w+), would make it (.+?) (?:instead of|than) (.+?)(?:, and (.+))?\.$"
)


def sown_day(words: str) -> int:
    return next(number for number in range(42) if day_words(day(number)) == words)


@pytest.mark.parametrize("seed", range(6))
def test_one_tray_more_raises_a_line_as_far_as_is_said(seed: int) -> None:
    """Served again from the whole farm with that tray: the chance is the one in the words."""
    made = told(some_farm(seed), effort=SOME)
    found = line_reasons(Why(made))
    for number, words in found.raised.items():
        said = RAISED.match(words)
        if said is None:
            assert words.endswith("would not make it likelier.")
            continue
        crop, sow = said[1], sown_day(said[2])
        before, after = (chances(made, number, crop, sow, more) for more in (0, 1))
        assert said[4] == in_ten(before[0])
        # Where both read the same, what is raised is said to be raised a little.
        assert said[3].replace("a little likelier", said[4]) in {in_ten(chance) for chance in after}
        assert max(after) > before[0]


def test_two_lines_of_a_product_and_day_are_told_each_its_own_chance() -> None:
    """Spots for one tray of the two that both want: who is served first has it nearly sure, the other hardly."""
    both = order(9, 40, price=0.4, name="first"), order(9, 150, price=0.1, name="second", customer="Night Owl")
    plan = certain(farm(*both, recipes=(EXACT,), lit=1))
    first, second = line(plan, "first/1"), line(plan, "second/1")
    assert (first.chance, first.raised_by, second.chance) == (1.0, "", 0.0)
    said = RAISED.match(second.raised_by)
    assert said is not None
    assert (said[3], said[4]) == ("as good as sure", "next to none")
    assert "lit spots: the only spot taken from" in second.why


def test_many_trays_tried_at_once_come_to_what_each_comes_to_alone() -> None:
    """Each stands in scenarios of its own, so none takes from what another gives: exactly the same chances."""
    made = told(some_farm(1), effort=SOME)
    why, plots = Why(made), made.decision.plots
    trays = [
        More(claim.want, number, choice)
        for claim in made.decision.claims
        for number, plot in enumerate(plots)
        if plot.crop in dict(claim.parts)
        for choice in range(0, len(plot.choices.how), 5)
    ]
    assert len(trays) > 2 * AT_ONCE
    together, alone = chances_with(why, trays), [chances_with(why, [one])[0] for one in trays]
    assert together == alone
    now = chances_now(why)
    assert max(chance - now[line] for raised in together for line, chance in raised.items()) > 0.1


def test_every_line_that_may_fall_short_is_told_why_however_many_there_are() -> None:
    """24 lines nobody can sow for any more, and one that wants for spots."""
    early = [order(number, 90 + n, price=0.1 + 0.01 * n, name=f"e{number}-{n}") for number in (1, 2, 3, 4)
             for n in range(6)]  # fmt: skip
    made = certain(farm(*early, order(9, 900, name="late"), recipes=(EXACT,), lit=3))
    lines = {one.line: one for one in made.lines}
    assert all("Too late to sow radish: it takes 5 days" in lines[f"{one.order}/1"].why for one in early)
    late = lines["late/1"].why
    assert "lit spots: all 3 spots taken" in late
    assert "Wanted for" not in late  # it is the line itself that is told
    (limit,) = [one for one in made.limits if one.limit == "lit spots" and one.lines]
    assert limit.message.endswith("Wanted for Copper Ladle (radish).")


def test_what_says_the_same_of_several_lines_is_said_once_for_all_of_them() -> None:
    orders = [order(9, 400, price=0.1 + 0.02 * n, name=f"o{n}", customer=name)
              for n, name in enumerate(("Copper Ladle", "Night Owl"))]  # fmt: skip
    made = certain(farm(*orders, recipes=(EXACT,), lit=3))
    (limit,) = [one for one in made.limits if one.lines]
    assert set(limit.lines) == {"o0/1", "o1/1"}
    assert limit.message.startswith("lit spots: all 3 spots taken")
    assert limit.message.endswith("(radish) and Night Owl (radish).")


def chances(made: Told, line: int, crop: str, sow: int, more: int) -> list[float]:
    """The chance of a line with a tray more of each choice of that day."""
    number = next(n for n, plot in enumerate(made.decision.plots) if plot.crop == crop)
    choices, found = made.decision.plots[number].choices, []
    at = next(at for at, claim in enumerate(made.decision.claims) if claim.line == line)
    for one in np.flatnonzero((choices.way >= 0) & (choices.sow == sow)).tolist():
        takes = [take.copy() for take in made.decision.takes]
        takes[number][one] += more
        came = serve(made.decision.checked, takes, made.decision.claims)
        found.append(chance_read(made.lines[line], came.met[at]))
    return found


def test_what_a_tray_more_would_cost_is_said_where_no_limit_stands_in_the_way() -> None:
    """100.6 g asked for, a tray gives 100: 0.6 g more bring 0.06 and would cost 0.10 of seed and 1.00 of mat."""
    made = certain(farm(order(5, 100.6, price=0.1), recipes=(recipe(window=0, keeps=0, medium=5.0),)))
    said = RAISED.match(line(made, "radish-5/1").raised_by)
    assert said is not None
    assert said[5].endswith("more than it brings")
    assert (said[3], said[4]) == ("as good as sure", "next to none")


def test_lines_as_likely_as_the_farm_wants_need_no_reason() -> None:
    made = certain(farm(order(5, 150), recipes=(EXACT,)))
    assert (made.lines[0].why, made.lines[0].raised_by) in {("", ""), (made.lines[0].why, "")}
    assert "short" not in made.lines[0].why


def test_what_a_line_lacks_is_said_in_grams() -> None:
    made = certain(CASES["lit spots"][0]())
    assert "Expected to be 100 g short." in line(made, "radish-5/1").why


def test_no_recipe_is_said_with_the_way_out() -> None:
    made = certain(CASES["no recipe"][0]())
    assert "There is no recipe for shiso: set one" in made.lines[0].why


def test_what_clashes_is_what_a_tray_more_would_go_beyond() -> None:
    """The amounts that are said to be lacking are those the plan itself counts beyond the limit with that tray."""
    made = knowing(binding(3))
    why = Why(made)
    reasons = line_reasons(why)
    assert {limit.limit for limit in reasons.limits} == {"lit spots"}
    for limit in reasons.limits:
        assert (limit.has, limit.short) == (3.0, 1.0)
        assert limit.first >= day(2)
    search: FarmSearch = made.decision.search
    assert float(over_cost(search.shared, search.use)) == 0.0


def test_kit_that_is_counted_twice_a_day_is_told_of_once() -> None:
    """A cover more is lacking by day and by night."""
    covered = recipe(window=0, keeps=0, kit=(KitNeed(pool="cover", stages=("germinate",)),))
    made = knowing(farm(order(5, 300), recipes=(covered,), kit=(pool("cover", 2, dry_hours=6.0),)))
    assert [limit.limit for limit in line_reasons(Why(made)).limits] == ["cover"]


def test_reasons_can_be_left_out() -> None:
    made = certain(binding(3), effort=Effort(scenarios=8, checked=16, proof_seconds=0, reasons=False))
    assert all(not sown.why for sown in made.sowings)
    assert all(not one.raised_by for one in made.lines)
    assert made.earnings == ()
    assert last_day(made) == day(9)


def last_day(made: Plan) -> date:
    return max(one.due for one in made.lines)
