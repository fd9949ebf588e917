"""What the plan promises: chances that hold, amounts that are means, money that adds up."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tests.plan.doubts import certain, doubtful, set_farm, told, unsure_recipe
from tests.plan.farms import day, farm, line, lot, order, plan, recipe, trays
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import EXACT, HOME, LIVE, PUNNET, live, stand, with_packs
from trayward.farm.settings import Money
from trayward.plan.days import Floats
from trayward.plan.decide import Effort
from trayward.plan.plots import Plot
from trayward.plan.serving import serve
from trayward.plan.told import Told, chance_of, read_lines, read_money
from trayward.plan.words import day_words

FEW = Effort(scenarios=12, checked=60, proof_seconds=0, reasons=False)


# Chances --------------------------------------------------------------------------------------------------------------


def test_chances_are_read_off_scenarios_the_plan_was_not_chosen_by() -> None:
    made = told(some_farm(1), effort=FEW)
    decision = made.decision
    for chosen, other in zip(decision.plots, decision.checked, strict=True):
        assert (chosen.choices.grams.shape[0], other.choices.grams.shape[0]) == (12, 60)
        assert not set(chosen.choices.grams[:, 0]) & set(other.choices.grams[:, 0]) - {0.0}
    came = serve(decision.checked, decision.takes, decision.claims)
    for claim, met, said in zip(decision.claims, came.met, (read_lines(made, {}, {})[c.line] for c in decision.claims),
                                strict=True):  # fmt: skip
        open_ = made.lines[claim.line].grams
        assert said.chance == pytest.approx((met >= open_ - 0.5).mean(), abs=1e-4)
        assert said.short == pytest.approx((open_ - met).mean(), abs=0.006)
        assert said.met_grams == pytest.approx(met.mean(), abs=0.06)


def replayed(made: Told, truths: Told) -> list[tuple[float, float]]:
    """Promised and kept: the chance a plan says of each line, and the share of other truths in which it is met."""
    takes = [_same_trays(*pair) for pair in zip(made.decision.plots, made.decision.takes, truths.decision.checked,
                                                strict=True)]  # fmt: skip
    came = serve(truths.decision.checked, takes, truths.decision.claims)
    kept = {claim.line: chance_of(truths.lines[claim.line], met)
            for claim, met in zip(truths.decision.claims, came.met, strict=True)}  # fmt: skip
    promised = read_lines(made, {}, {})
    return [(promised[number].chance or 0.0, share) for number, share in kept.items()]


def _same_trays(plot: Plot, take: Floats, other: Plot) -> Floats:
    """The trays of a plot's choices put on the same choices of a plot with other scenarios."""

    def key(one: Plot, number: int) -> tuple[int, ...]:
        choices = one.choices
        return tuple(
            int(part[number]) for part in (choices.way, choices.group, choices.sow, choices.stand, choices.how)
        )

    places = {key(other, number): number for number in range(len(other.choices.upper))}
    found = np.zeros(len(other.choices.upper))
    for number in np.flatnonzero(take).tolist():
        found[places[key(plot, number)]] += take[number]
    return found


def test_promised_chances_are_kept_in_truths_drawn_from_the_outlook() -> None:
    """
    200 truths for each of 40 farms: of lines promised about alike, as large a share is kept, within 3 points.

    Each promise is read off 400 scenarios. Truths are of other seeds than those the plan was chosen and checked by.
    """
    both: list[tuple[float, float]] = []
    for seed in range(40):
        state = some_farm(seed)
        made = told(state, effort=Effort(scenarios=12, checked=400, proof_seconds=0, reasons=False))
        truths = told(
            state, effort=Effort(scenarios=1, checked=200, seed=77, proof_seconds=0, search_seconds=0, reasons=False)
        )
        both += replayed(made, truths)
    promised, kept = np.array(both).T
    assert promised.mean() == pytest.approx(kept.mean(), abs=0.01)
    for low, high in ((0.0, 0.2), (0.2, 0.5), (0.5, 0.8), (0.8, 0.95), (0.95, 1.01)):
        own = (promised >= low) & (promised < high)
        assert own.sum() >= 10
        assert promised[own].mean() == pytest.approx(kept[own].mean(), abs=0.03)


def test_a_line_counts_as_met_from_the_chance_the_farm_wants() -> None:
    made = doubtful(some_farm(1))
    assert {one.met for one in made.lines} == {True, False}
    assert all(one.met == ((one.chance or 0.0) >= one.sure) for one in made.lines)


def test_a_farm_that_wants_to_be_surer_promises_more_and_sows_more() -> None:
    """Wanted in half, 8 of 10 and 95 of 100 cases: with room for all, each step sows more and is kept more often."""
    orders = [order(number, 150, price=0.02, name=f"o{number}") for number in (9, 11, 14, 16)]
    plans = [
        doubtful(set_farm(farm(*orders, recipes=(unsure_recipe(),)), caution=sure),
                 effort=Effort(scenarios=48, checked=96, proof_seconds=0, reasons=False))
        for sure in (0.5, 0.8, 0.95)
    ]  # fmt: skip
    chances = [float(np.mean([one.chance for one in made.lines])) for made in plans]
    sown = [trays(made) for made in plans]
    assert sown == sorted(sown)
    assert sown[0] < sown[-1]
    assert chances == sorted(chances)
    assert chances[2] > 0.85


# Lines ----------------------------------------------------------------------------------------------------------------


def test_a_line_met_already_is_sure() -> None:
    made = certain(with_packs(farm(order(1, 1, product="punnet", unit="packs", price=3.0), products=(PUNNET,))))
    (said,) = made.lines
    assert (said.chance, said.short, said.met_grams) == (1.0, 0.0, 50.0)


def test_live_trays_are_promised_whole() -> None:
    made = certain(farm(live(6, 3), products=(LIVE,), lit=2))  # type: ignore[arg-type]
    (said,) = made.lines
    assert (said.trays, said.met_trays, said.chance, said.short) == (3, 2, 0.0, 1.0)


def test_crumbs_do_not_make_a_line_fall_short() -> None:
    """Short of less than half a gram is met: nobody weighs that."""
    assert line(certain(farm(order(5, 100.4), recipes=(EXACT,))), "radish-5/1").chance == 1.0
    short = certain(set_farm(farm(order(5, 100.6, price=0.0), recipes=(EXACT,)), caution=0.5))
    assert trays(short) == 2 or line(short, "radish-5/1").chance == 0.0


# Sowings and cuts -----------------------------------------------------------------------------------------------------


def test_a_sowing_says_whom_it_serves_when_it_is_cut_and_its_seed() -> None:
    made = certain(farm(order(5, 150), recipes=(EXACT,), lots=(lot(grams=15, name="old"), lot(grams=500, name="new"))))
    (sown,) = made.sowings
    assert (sown.sow_on, sown.cut_on, sown.trays, sown.grams_expected) == (day(0), day(5), 2, 200.0)
    assert [(one.customer, one.due, one.grams) for one in sown.serves] == [("Copper Ladle", day(5), 150.0)]
    assert sum(taken.grams for taken in sown.lots) == sown.seed_g == 20.0
    assert [(one.stage, one.first, one.last) for one in sown.stages] == [
        ("germinate", day(0), day(1)), ("light", day(2), day(4)), ("ready", day(5), day(5))
    ]  # fmt: skip


def test_what_is_served_by_sowings_adds_up_to_what_lines_get() -> None:
    made = doubtful(some_farm(1))
    for one in made.lines:
        given = sum(serve.grams for sown in made.sowings for serve in sown.serves if serve.line == one.line)
        assert given == pytest.approx(one.met_grams, abs=1.0 + 0.2 * len(made.sowings))


def test_as_many_trays_are_cut_a_day_as_what_is_due_takes() -> None:
    """Four trays of 100 g, ready on day 2 with two days to stand: two for 150 g on day 2, two for 200 g on day 4."""
    state = stand(farm(order(2, 150), order(4, 200), recipes=(recipe(window=2, keeps=0),)), 4)
    made = certain(state)
    assert [(cut.cut_on, cut.trays) for cut in made.cuts] == [(day(2), 2), (day(4), 2)]
    names = [name for cut in made.cuts for name in cut.standing]
    assert sorted(names) == ["s.1", "s.2", "s.3", "s.4"]


# Money ----------------------------------------------------------------------------------------------------------------


def test_the_money_of_a_plan_without_doubt_is_that_of_a_till() -> None:
    """Two trays: 20 g seed at 0.01, mats at 0.50, 13 min each at 12 an hour; 150 g sold at 0.10, 50 g thrown away."""
    grown = recipe(window=0, keeps=0, medium=0.5, minutes=(5, 0, 8, 0))
    made = certain(farm(order(5, 150), recipes=(grown,), money=Money(wage_h=12.0, disposal_kg=2.0)))
    money = made.money
    assert (money.sales, money.seed, money.medium) == (15.0, 0.2, 1.0)
    assert money.hands == pytest.approx(2 * 13 * 12 / 60)
    assert money.disposal == pytest.approx(0.1)
    assert money.margin == pytest.approx(15.0 - 0.2 - 1.0 - 5.2 - 0.1)
    assert money.shortfall == 0.0


def test_what_is_let_down_is_priced_but_is_not_money() -> None:
    made = certain(farm(order(4, 100, price=0.2), recipes=(EXACT,), money=Money(shortfall=1.5)))
    assert made.money.shortfall == pytest.approx(30.0)
    assert made.money.margin == 0.0


def test_packaging_is_paid_for_what_is_delivered() -> None:
    made = certain(farm(order(5, 4, product="punnet", unit="packs", price=3.0), recipes=(EXACT,), products=(PUNNET,),
                        money=Money(packaging=0.25)))  # fmt: skip
    assert (made.money.sales, made.money.packaging) == (12.0, 1.0)


def test_what_the_house_eats_brings_no_money_and_is_grown() -> None:
    made = certain(farm(order(5, 100, product="for the house", price=0.0), recipes=(EXACT,), products=(HOME,)))
    assert made.money.sales == 0.0
    assert made.lines[0].chance == 1.0


def test_expected_money_is_the_mean_of_the_money_in_each_scenario() -> None:
    made = told(some_farm(1), effort=FEW)
    decision, settings = made.decision, made.settings.money
    sales = [0.0] * 60
    for claim, met in zip(decision.claims, decision.served.met, strict=True):
        due = made.lines[claim.line].line
        for scenario in range(60):
            sales[scenario] += due.value * float(met[scenario]) / due.grams
    money = read_money(made)
    assert money.sales == pytest.approx(math.fsum(sales) / 60, abs=0.01)
    assert money.disposal == pytest.approx(float(decision.served.wasted.mean()) * settings.disposal_kg / 1000, abs=0.01)
    costs = sum(float(plot.choices.cost @ take) for plot, take in zip(decision.checked, decision.takes, strict=True))
    assert money.seed + money.medium + money.hands + money.energy == pytest.approx(costs, rel=0.02)


def test_the_objective_is_what_is_asked_for_less_what_the_plan_costs() -> None:
    made = told(some_farm(1), effort=FEW)
    plan = doubtful(some_farm(1), effort=FEW)
    asked = sum(want.worth * want.amount for want in made.task.wants)
    assert plan.objective == pytest.approx(asked - made.decision.cost, abs=0.01)
    assert day_words(day(0)) == "Mon 30 Nov"


# For a picture of it --------------------------------------------------------------------------------------------------


def test_the_racks_are_as_full_each_night_as_the_trays_that_stand_on_them() -> None:
    """Two trays due on day 8, where all is typical: sown on day 3, two nights in the dark and three in the light."""
    state = farm(order(8, 200.0), recipes=(recipe(window=0, keeps=0),), dark=3, lit=5)
    dark, lit = certain(state).racks
    assert (dark.limit, lit.limit) == ("dark spots", "lit spots")
    assert (set(dark.has), set(lit.has)) == ({3.0}, {5.0})
    for rack, nights in ((dark, (3, 4)), (lit, (5, 6, 7))):
        expected = tuple(2.0 if night in nights else 0.0 for night in range(21))
        assert rack.likely == rack.low == rack.high == expected


def test_where_days_are_in_doubt_the_racks_and_the_cut_have_a_range() -> None:
    state = farm(order(12, 300.0), order(15, 300.0), recipes=(unsure_recipe(),))
    made = doubtful(state)
    for rack in made.racks:
        assert all(low - 1e-9 <= high for low, high in zip(rack.low, rack.high, strict=True))
        assert any(low < high for low, high in zip(rack.low, rack.high, strict=True))
    between = [sowing.cut_between for sowing in made.sowings]
    assert all(one is not None and one[0] <= sowing.cut_on <= one[1]
               for one, sowing in zip(between, made.sowings, strict=True))  # fmt: skip
    assert any(one is not None and one[0] < one[1] for one in between)


def test_a_plan_over_one_future_has_no_ranges_to_show() -> None:
    made = plan(farm(order(8, 200.0)))
    assert made.racks == ()
    assert {sowing.cut_between for sowing in made.sowings} == {None}
