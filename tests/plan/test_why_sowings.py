"""What is said of a sowing is what the plan itself says when that tray is moved a day, or left out."""

from __future__ import annotations

import re

import numpy as np
import pytest

from tests.plan.doubts import certain, cost_of, told, unsure_recipe
from tests.plan.farms import farm, order, recipe
from tests.plan.test_rules import some_farm
from trayward.plan.decide import Effort
from trayward.plan.told import Told
from trayward.plan.why import Why
from trayward.plan.why_sowings import sowing_reasons

SOME = Effort(scenarios=12, checked=48, proof_seconds=0)


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
            alike &= choices.evening == choices.evening[one]
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
