"""What the plan promises of its lines: chances that hold, and amounts that are means."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import certain, doubtful, set_farm, told, unsure_recipe
from tests.plan.farms import farm, line, order, trays
from tests.plan.test_rules import some_farm
from tests.plan.test_under_doubt import EXACT, LIVE, PUNNET, live, with_packs
from trayward.plan.days import Floats
from trayward.plan.decide import Effort
from trayward.plan.plots import Plot
from trayward.plan.serving import serve
from trayward.plan.told import Told
from trayward.plan.told_lines import chance_read, read_lines

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
    kept = {claim.line: chance_read(truths.lines[claim.line], met)
            for claim, met in zip(truths.decision.claims, came.met, strict=True)}  # fmt: skip
    promised = read_lines(made, {}, {})
    return [(promised[number].chance or 0.0, share) for number, share in kept.items()]


def _same_trays(plot: Plot, take: Floats, other: Plot) -> Floats:
    """The trays of a plot's choices put on the same choices of a plot with other scenarios."""

    def key(one: Plot, number: int, *, evening: bool) -> tuple[int, ...]:
        choices = one.choices
        return evening, *(
            int(part[number]) for part in (choices.way, choices.group, choices.sow, choices.stand, choices.how)
        )

    late = other.choices.evening.tolist()
    places = {key(other, number, evening=late[number]): number for number in range(len(other.choices.upper))}
    found = np.zeros(len(other.choices.upper))
    for number in np.flatnonzero(take).tolist():
        same, morning = (key(plot, number, evening=one) for one in (bool(plot.choices.evening[number]), False))
        # What serves in too few of the others is no choice there: the morning's stands in for the evening's.
        place = places.get(same, places.get(morning))
        if place is not None:
            found[place] += take[number]
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
