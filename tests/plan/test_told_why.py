"""Reasons are what the plan itself says when it is asked again: with one tray more, less, or on another day."""

from __future__ import annotations

import re
from datetime import date

import numpy as np
import pytest

from tests.plan.doubts import Typical, certain, cost_of, told, unsure_recipe
from tests.plan.farms import MONDAY, day, farm, line, lot, order, recipe
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import CASES, EXACT, MIX
from trayward.farm.state import FarmState
from trayward.plan.decide import Effort
from trayward.plan.farm_search import FarmSearch
from trayward.plan.prices import over_cost
from trayward.plan.serving import serve
from trayward.plan.told import Told, chance_of
from trayward.plan.told_why import Why, limit_worths, line_reasons, sowing_reasons
from trayward.plan.types import Plan
from trayward.plan.words import day_words, in_ten

SOME = Effort(scenarios=12, checked=48, proof_seconds=0)


def knowing(state: FarmState) -> Told:
    return told(state, biology=Typical(state.recipes))


# Sowings --------------------------------------------------------------------------------------------------------------


def changed(made: Told, crop: int, off: int, on: int) -> float:
    """How much dearer the plan is with one tray of a crop elsewhere, or away."""
    takes = [take.copy() for take in made.decision.takes]
    takes[crop][off] -= 1
    if on >= 0:
        takes[crop][on] += 1
    return cost_of(made.decision, takes) - made.decision.cost


def amount(words: str, when: str) -> float | None:
    """What a sentence says a tray brings less on another day; infinite for harm, None where it does not speak of it."""
    found = re.search(
        rf"a day (?:sooner or )?{when}(?: or later)? (it would do more harm than good|as much|([0-9.]+) (less|more))",
        words,
    )
    if found is None:
        return None
    if found[2] is None:
        return 0.0 if found[1] == "as much" else np.inf
    return float(found[2]) * (1 if found[3] == "less" else -1)


@pytest.mark.parametrize("seed", range(6))
def test_another_day_costs_what_is_said_of_it(seed: int) -> None:
    """Every sowing's words against the plan's own objective with that tray moved a working day, or left out."""
    made = told(some_farm(seed), effort=SOME)
    reasons, checked = sowing_reasons(Why(made)), 0
    for number, (plot, take) in enumerate(zip(made.decision.plots, made.decision.takes, strict=True)):
        choices = plot.choices
        for one in np.flatnonzero((take > 0) & (choices.way >= 0)).tolist():
            way, sow = int(choices.way[one]), int(choices.sow[one])
            if ((choices.way == way) & (choices.sow == sow) & (take > 0)).sum() > 1:
                continue  # the words are those of the choice with most trays
            alike = (choices.way == way) & (choices.how == choices.how[one]) & (choices.stand == choices.stand[one])
            lost = re.search(r"Without a tray of it the plan would lose (-?[0-9.]+[0-9])", reasons[way, sow])
            assert lost is not None
            worth = changed(made, number, one, -1)
            assert float(lost[1]) == pytest.approx(worth, abs=0.0051)
            for words, there in (("sooner", choices.sow < sow), ("later", choices.sow > sow)):
                said, others = amount(reasons[way, sow], words), np.flatnonzero(alike & there)
                assert (said is None) == (not len(others))
                if said is not None:
                    other = int(others[np.argmin(np.abs(choices.sow[others] - sow))])
                    dearer = changed(made, number, one, other)
                    assert dearer > worth if said == np.inf else said == pytest.approx(dearer, abs=0.0051)
                    checked += 1
    assert checked >= 2


def test_a_sowing_names_its_lines_and_when_it_is_likely_ready() -> None:
    made = certain(farm(order(5, 150), order(6, 40, customer="Tin Spoon"), recipes=(recipe(window=1, keeps=0),)))
    whole = " ".join(sown.why for sown in made.sowings)
    assert "Copper Ladle 150 g on Sat 5 Dec" in whole
    assert "Tin Spoon 40 g on Sun 6 Dec" in whole
    assert "Likely ready Sat 5 Dec." in whole


def test_a_sowing_of_doubtful_days_says_between_which_it_is_likely_ready() -> None:
    made = told(farm(order(9, 150), recipes=(unsure_recipe(),)), effort=SOME)
    words = next(iter(sowing_reasons(Why(made)).values()))
    assert re.search(r"Likely ready \w+ \d+ Dec, 8 in 10 from \w+ \d+ Dec to \w+ \d+ Dec\.", words)


# Lines ----------------------------------------------------------------------------------------------------------------

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
        want = next(claim.want for claim in made.decision.claims if claim.line == number)
        before, after = (chances(made, want, crop, sow, more) for more in (0, 1))
        assert said[4] == in_ten(before[0])
        # Where both read the same, what is raised is said to be raised a little.
        assert said[3].replace("a little likelier", said[4]) in {in_ten(chance) for chance in after}
        assert max(after) > before[0]


def chances(made: Told, want: int, crop: str, sow: int, more: int) -> list[float]:
    """The mean chance of a want's lines with a tray more of each choice of that day."""
    number = next(n for n, plot in enumerate(made.decision.plots) if plot.crop == crop)
    choices, found = made.decision.plots[number].choices, []
    for one in np.flatnonzero((choices.way >= 0) & (choices.sow == sow)).tolist():
        takes = [take.copy() for take in made.decision.takes]
        takes[number][one] += more
        came = serve(made.decision.checked, takes, made.decision.claims)
        found.append(float(np.mean([chance_of(made.lines[claim.line], met)
                                    for claim, met in zip(made.decision.claims, came.met, strict=True)
                                    if claim.want == want])))  # fmt: skip
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


def test_what_is_too_late_says_by_when_it_had_to_be_sown() -> None:
    made = certain(farm(order(3, 100), recipes=(EXACT,)))
    assert "Too late to sow radish: it takes 5 days, so it had to be sown by Sat 28 Nov." in made.lines[0].why
    (limit,) = [one for one in made.limits if one.limit == "time"]
    assert (limit.has, limit.short, limit.unit, limit.lines) == (3.0, 2.0, "d", ("radish-3/1",))


def test_a_mix_of_which_one_part_is_too_late_names_that_part() -> None:
    """Radish takes 5 days and is there in time; pea takes 8."""
    pea = recipe("pea", light=6.0, window=0, keeps=0)
    made = certain(farm(order(6, 100, product="mix"), recipes=(recipe(window=1, keeps=1), pea),
                        lots=(lot(), lot("pea")), products=(MIX,)))  # fmt: skip
    assert "Too late to sow pea: it takes 8 days" in made.lines[0].why


def test_a_cut_window_too_short_says_how_much_longer_it_would_have_to_be() -> None:
    made = certain(CASES["too short a cut window"][0]())
    words = made.lines[0].why
    assert (
        "Cut window of radish: sown Wed 2 Dec it is ready Mon 7 Dec and has to be cut by Tue 8 Dec, 1 day longer"
        in words
    )


def test_a_cold_room_life_too_short_says_how_much_longer_it_would_have_to_be() -> None:
    made = certain(CASES["too short a cold-room life"][0]())
    words = made.lines[0].why
    assert "Cold-room life of radish: sown Tue 1 Dec it is cut Sun 6 Dec and has to keep till Tue 8 Dec, 1 day" in words


def test_no_recipe_is_said_with_the_way_out() -> None:
    made = certain(CASES["no recipe"][0]())
    assert "There is no recipe for shiso: set one" in made.lines[0].why


# Limits ---------------------------------------------------------------------------------------------------------------


def binding(lit: int) -> FarmState:
    """One week of orders that wants more lit spots than there are: small trays, so that one more is a small step."""
    orders = [order(number, 400, price=0.1, name=f"o{number}") for number in (6, 7, 8, 9)]
    return farm(*orders, recipes=(recipe(window=0, keeps=0, medium=1.0),), lit=lit)


@pytest.mark.parametrize("lit", [3, 5, 8])
def test_one_more_of_a_limit_betters_the_plan_by_no_more_than_is_said(lit: int) -> None:
    """
    What one more spot all week is said to be worth, against the plan made again with one more.

    Prices of a linear model say what the first part of a unit brings, so a whole one brings that much at most; here a
    spot more is a tray more, so it brings about as much. (The objective counts what letting down costs, too.)
    """
    made, more = knowing(binding(lit)), knowing(binding(lit + 1))
    worth = sum(limit.worth for limit in limit_worths(Why(made)) if limit.limit == "lit spots")
    gain = made.decision.cost - more.decision.cost
    assert gain > 0
    assert gain <= worth + 0.05
    assert gain >= 0.4 * worth


def test_a_limit_with_room_left_is_worth_nothing() -> None:
    assert limit_worths(Why(knowing(binding(40)))) == []


def test_a_binding_limit_says_its_days_and_its_worth() -> None:
    found = [limit for limit in limit_worths(Why(knowing(binding(3)))) if limit.limit == "lit spots"]
    assert all(limit.has == 3.0 and limit.lines == () and limit.worth > 0 for limit in found)
    assert all(MONDAY <= limit.first <= limit.last for limit in found)
    assert all(f"one more would bring {limit.worth:.2f}" in limit.message for limit in found)
    assert all(limit.first.isocalendar()[:2] == limit.last.isocalendar()[:2] for limit in found)


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


def last_day(made: Plan) -> date:
    return max(one.due for one in made.lines)


def test_reasons_can_be_left_out() -> None:
    made = certain(binding(3), effort=Effort(scenarios=8, checked=16, proof_seconds=0, reasons=False))
    assert all(not sown.why for sown in made.sowings)
    assert all(not one.raised_by for one in made.lines)
    assert made.earnings == ()
    assert last_day(made) == day(9)
