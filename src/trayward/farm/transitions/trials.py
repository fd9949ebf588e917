"""What is tried out, and how."""

from __future__ import annotations

from trayward.errors import Finding
from trayward.farm.entries import Entry, TrialSet
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, between, listed, odd, show, wrong
from trayward.farm.trials import Trial

LEAST_BLOCKS = 2
"""One day alone cannot tell a level from that day."""


def check_trial(state: FarmState, body: TrialSet, entry: Entry) -> Findings:
    trial = body.trial
    if not trial.name.strip():
        return [wrong(entry, "trial-name", "trial = '': it needs a name.", "Name it, for instance: denser radish.")]
    if body.dropped:
        return [] if trial.name in state.trials else [_no_such(state, trial.name, entry)]
    if trial.recipe not in state.recipes:
        message = f"trial {trial.name}, recipe {trial.recipe} = none: the farm has no recipe of that name."
        return [wrong(entry, "recipe-unknown", message, f"Recipes: {listed(list(state.recipes))}.")]
    found = between(entry, f"trial {trial.name}, blocks", trial.blocks, LEAST_BLOCKS, 1000)
    found += between(entry, f"trial {trial.name}, trays of each level", trial.trays_each, 1, 10_000)
    return found + _level_problems(trial, entry) + _order_problems(trial, entry) + _changes(state, trial, entry)


def apply_trial(state: FarmState, body: TrialSet, entry: Entry) -> None:
    if body.dropped:
        state.trials.pop(body.trial.name, None)
    else:
        state.trials[body.trial.name] = body.trial


def _no_such(state: FarmState, name: str, entry: Entry) -> Finding:
    message = f"trial {name} = none: the farm has no trial of that name."
    return wrong(entry, "trial-unknown", message, f"Trials: {listed(list(state.trials))}.")


def _level_problems(trial: Trial, entry: Entry) -> Findings:
    found: Findings = []
    least, unit = (0.0, "d") if trial.what == "blackout" else (0.001, "1/cm2")
    for level in trial.levels:
        found += between(entry, f"trial {trial.name}, level", level, least, 100, unit)
    if len(set(trial.levels)) < max(2, len(trial.levels)):
        levels = ", ".join(show(level) for level in trial.levels) or "none"
        message = f"trial {trial.name}, levels = {levels}: at least 2 that differ, each named once."
        found.append(wrong(entry, "trial-levels", message, "Name the levels to compare."))
    return found


def _order_problems(trial: Trial, entry: Entry) -> Findings:
    """The order of each day, where given, holds every level once."""
    good = not trial.orders or (
        len(trial.orders) == trial.blocks and all(sorted(order) == sorted(trial.levels) for order in trial.orders)
    )
    if good:
        return []
    message = (
        f"trial {trial.name}, orders = {len(trial.orders)} days: each of its {trial.blocks} days has every level once."
    )
    return [wrong(entry, "trial-orders", message, "Leave the orders out, or give one for each day.")]


def _changes(state: FarmState, trial: Trial, entry: Entry) -> Findings:
    """A trial that has begun is about what it was begun for."""
    known = state.trials.get(trial.name)
    same = known is None or (known.recipe, known.what, known.levels) == (trial.recipe, trial.what, trial.levels)
    if same or not any(tray.trial == trial.name for tray in (*state.trays.values(), *state.ended.values())):
        return []
    message = f"trial {trial.name} = begun already: its trays were sown for other levels."
    return [odd(entry, "trial-changed", message, "Give the new trial a name of its own.")]
