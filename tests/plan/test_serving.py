"""Who gets what: as a grower would hand it out day by day, with nothing made and nothing lost."""

from __future__ import annotations

import numpy as np
import pytest

from tests.plan.doubts import simple_plot, told
from tests.plan.test_rules import some_farm
from trayward.plan.build import Stock
from trayward.plan.days import Floats
from trayward.plan.decide import Effort, claims_of
from trayward.plan.plots import Plot
from trayward.plan.serving import Claim, Served, Source, serve
from trayward.plan.uses import LIVE


def claim(
    amount: float | Floats,
    *,
    day: int = 5,
    worth: float = 1.0,
    parts: tuple[tuple[str, float], ...] = (("radish", 1.0),),
    live: bool = False,
    scenarios: int = 1,
) -> Claim:
    return Claim(0, 0, day, live, parts, np.broadcast_to(amount, (scenarios,)).astype(float), worth, worth)


def plot(
    grams: list[list[float]], spans: list[tuple[int, int]], *, dues: list[int], crop: str = "radish", **more: int
) -> Plot:
    """Choices (columns) in scenarios (rows), each good for some due days, the same in all scenarios."""
    table = np.array(grams, dtype=float)
    first, last = (np.tile([span[end] for span in spans], (len(table), 1)).astype(float) for end in (0, 1))
    return simple_plot(crop, table, first, last, dues, **more)


def ones(*plots: Plot) -> list[Floats]:
    return [np.ones(len(one.choices.upper)) for one in plots]


def met(came: Served) -> list[list[float]]:
    return [[round(float(value), 6) for value in row] for row in came.met]


def test_what_brings_more_is_served_first() -> None:
    tray = plot([[100.0]], [(0, 0)], dues=[5])
    came = serve([tray], ones(tray), [claim(80, worth=1.0), claim(80, worth=2.0)])
    assert met(came) == [[20.0], [80.0]]


def test_of_lines_alike_the_small_one_is_served_first() -> None:
    """So that more lines are met in full."""
    tray = plot([[100.0]], [(0, 0)], dues=[5])
    assert met(serve([tray], ones(tray), [claim(90), claim(30)])) == [[70.0], [30.0]]


def test_an_earlier_day_is_served_before_a_dearer_later_one() -> None:
    """Nobody is turned away today for what somebody may be given tomorrow."""
    tray = plot([[100.0]], [(0, 1)], dues=[5, 6])
    assert met(serve([tray], ones(tray), [claim(80, day=6, worth=9.0), claim(80, day=5)])) == [[20.0], [80.0]]


def test_what_spoils_first_is_taken_first_in_each_scenario() -> None:
    """Two trays, of which in the first scenario one, in the second the other keeps for the second day."""
    grams = np.array([[60.0, 60.0], [60.0, 60.0]])
    last = np.array([[0.0, 1.0], [1.0, 0.0]])
    trays = simple_plot("radish", grams, np.zeros((2, 2)), last, [5, 6])
    came = serve([trays], ones(trays), [claim(60, day=5, scenarios=2), claim(60, day=6, scenarios=2)])
    assert met(came) == [[60.0, 60.0], [60.0, 60.0]]
    assert came.wasted.tolist() == [0.0, 0.0]


def test_the_cold_room_is_emptied_before_a_tray_is_cut() -> None:
    tray = plot([[100.0]], [(0, 1)], dues=[5, 6])
    stocked = tray._replace(stock=[Stock(harvest="H1", crop="radish", grams=50, last=6)])
    came = serve([stocked], ones(stocked), [claim(70)])
    assert came.shares == {(0, Source("radish", -1, "H1")): 50.0, (0, Source("radish", 0, "")): 20.0}


def test_crop_that_is_no_longer_good_serves_nobody() -> None:
    tray = plot([[100.0]], [(0, 0)], dues=[5, 6])
    stocked = tray._replace(stock=[Stock(harvest="H1", crop="radish", grams=50.0, last=5)])
    came = serve([stocked], ones(stocked), [claim(70, day=6)])
    assert met(came) == [[0.0]]
    assert came.wasted.tolist() == [150.0]


def test_a_mix_goes_as_far_as_its_scarcest_part_and_leaves_the_rest_of_the_other() -> None:
    mix = (("radish", 0.25), ("pea", 0.75))
    radish, pea = plot([[100.0]], [(0, 0)], dues=[5]), plot([[90.0]], [(0, 0)], dues=[5], crop="pea")
    came = serve([radish, pea], ones(radish, pea), [claim(200, parts=mix, worth=2.0), claim(100)])
    assert met(came) == [[120.0], [70.0]]  # 90 / 0.75; 100 - 30
    assert came.wasted.tolist() == [0.0]


def test_live_trays_go_to_their_day_and_whole() -> None:
    trays = plot([[1.0, 1.0], [1.0, 0.0]], [(0, -1), (0, -1)], dues=[5], how=LIVE, live=0)
    came = serve([trays], [np.array([1.0, 1.0])], [claim(2, live=True, scenarios=2)])
    assert met(came) == [[2.0, 1.0]]


def test_nothing_is_served_from_nothing() -> None:
    assert met(serve([], [], [])) == []
    empty = plot([[100.0]], [(0, 0)], dues=[5])
    assert met(serve([empty], [np.zeros(1)], [claim(10)])) == [[0.0]]


def test_demand_that_differs_from_scenario_to_scenario_is_served_in_each() -> None:
    tray = plot([[100.0], [40.0]], [(0, 0)], dues=[5])
    came = serve([tray], ones(tray), [claim(np.array([30.0, 70.0]), scenarios=2)])
    assert met(came) == [[30.0, 40.0]]
    assert came.wasted.tolist() == [70.0, 0.0]


# The whole of it against hand-work ------------------------------------------------------------------------------------


def by_hand(one: Plot, take: Floats, claims: list[Claim], scenario: int) -> tuple[list[float], float]:
    """One scenario, one crop, line by line and tray by tray."""
    dues = one.demand.days.tolist()
    crops = [
        [one.choices.grams[scenario, n] * take[n], one.choices.first[scenario, n], one.choices.last[scenario, n]]
        for n in range(len(take)) if one.choices.first[scenario, n] <= one.choices.last[scenario, n]
    ]  # fmt: skip
    crops.sort(key=lambda crop: crop[2])
    given = [0.0] * len(claims)
    for number in sorted(range(len(claims)), key=lambda n: (claims[n].day, -claims[n].worth, claims[n].amount[0], n)):
        need, due = float(claims[number].amount[scenario]), dues.index(claims[number].day)
        for crop in crops:
            if crop[1] <= due <= crop[2]:
                part = min(crop[0], need)
                crop[0], need, given[number] = crop[0] - part, need - part, given[number] + part
    return given, sum(crop[0] for crop in crops)


@pytest.mark.parametrize("seed", range(20))
def test_any_farm_is_served_as_one_would_by_hand(seed: int) -> None:
    rng = np.random.default_rng(seed)
    scenarios, trays, dues = 5, 6, [3, 5, 8, 9]
    first = rng.integers(0, 4, (scenarios, trays))
    last = first + rng.integers(-1, 3, (scenarios, trays))
    made = simple_plot("radish", rng.uniform(0, 150, (scenarios, trays)), first, np.minimum(last, 3), dues)
    take = rng.integers(0, 3, trays).astype(float)
    claims = [
        claim(rng.uniform(10, 200), day=int(rng.choice(dues)), worth=float(rng.choice([1, 2])), scenarios=scenarios)
        for _ in range(8)
    ]
    came = serve([made], [take], claims)
    for scenario in range(scenarios):
        given, wasted = by_hand(made, take, claims, scenario)
        assert came.met[:, scenario] == pytest.approx(given, abs=1e-6)
        assert came.wasted[scenario] == pytest.approx(wasted, abs=1e-6)
    shared = sum(came.shares.values())
    assert shared == pytest.approx(float(came.met.sum(axis=0).mean()), abs=1e-3)


@pytest.mark.parametrize("seed", range(5))
def test_the_plan_is_chosen_by_what_serving_really_brings(seed: int) -> None:
    """What the search counts on and what is handed out in the same scenarios are the same money.

    The search counts the dearest to let down first; who brings most and spares most is served first.
    """
    made = told(some_farm(seed), effort=Effort(scenarios=12, checked=12, proof_seconds=0, reasons=False))
    decision = made.decision
    claims = [
        claim._replace(gain=claim.worth)
        for claim in claims_of(made.task.wants, made.task.prices, made.lines, decision.amounts[:12])
    ]
    came = serve(decision.plots, decision.takes, claims)
    brings = sum(one.worth * float(row.mean()) for one, row in zip(claims, came.met, strict=True))
    brings -= made.task.disposal * float(came.wasted.mean())
    assert brings == pytest.approx(sum(decision.search.brings), rel=1e-4)
