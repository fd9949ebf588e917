"""Whether kit is cleared for its next use, by the farm's own steps and limits, and what to do where it is not.

The figures are the farm's own. Agents, their strength, time and protection: the label, local codes and licensed
practice go first; chlorine is never mixed with acid or ammonia.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from trayward.farm.calendar import zone
from trayward.farm.entries import Sanitised, Washed
from trayward.farm.kit import Clearing, Mark, Pool, PoolState
from trayward.farm.kit_marks import dry
from trayward.farm.state import FarmState
from trayward.words import Filled, in_a_row

CARE = "follow the label, local codes and licensed practice; never mix chlorine with acid or ammonia"
"""For every place where agents are spoken of. From memory; the label says it too."""


class Missed(NamedTuple):
    """A limit of the farm's own that a washing or sanitising does not keep."""

    what: str
    said: float | None
    """None: not written down."""
    low: float | None
    high: float | None
    unit: str

    @property
    def words(self) -> str:
        """The limit in words."""
        if self.low is not None and self.high is not None:
            return f"{self.low:g} to {self.high:g} {self.unit}"
        return f"at least {self.low:g} {self.unit}" if self.low is not None else f"at most {self.high:g} {self.unit}"


def wash_missed(pool: Pool, body: Washed) -> list[Missed]:
    """Limits of the farm that a washing does not keep; a step left out is for `steps_missed`."""
    return list(_outside("rinse", body.rinse_c, pool.clearing.rinse_c, None, "C"))


def steps_missed(pool: Pool, body: Washed) -> list[str]:
    """Steps of the farm's washing that were left out."""
    return [step for step in pool.clearing.steps if step in body.left_out]


def sanitise_missed(pool: Pool, body: Sanitised) -> list[Missed]:
    """Limits of the farm that a sanitising does not keep."""
    rule = pool.clearing
    return [
        *_outside("strength", body.strength_ppm, rule.ppm_least, rule.ppm_most, "ppm"),
        *_outside("contact time", body.contact_min, rule.contact_min, None, "min"),
        *_outside("water", body.water_c, rule.water_least_c, rule.water_most_c, "C"),
    ]


def _outside(what: str, said: float | None, low: float | None, high: float | None, unit: str) -> Iterator[Missed]:
    asked = low is not None or high is not None
    inside = said is not None and (low is None or said >= low) and (high is None or said <= high)
    if asked and not inside:
        yield Missed(what, said, low, high, unit)


def wants_sanitising(pool: Pool, mark: Mark) -> bool:
    """Whether a mark, once washed, is sanitised before its next use."""
    return pool.sanitise or (pool.clearing.after_mould and mark.suspect)


def clearing_problems(clearing: Clearing) -> Iterator[tuple[str, float, str]]:
    """Limits that cannot be: name, value, rule."""
    spans = {
        "rinse": (clearing.rinse_c, 0, 100, "C"), "least strength": (clearing.ppm_least, 0, 100_000, "ppm"),
        "most strength": (clearing.ppm_most, 0, 100_000, "ppm"),
        "contact time": (clearing.contact_min, 0, 24 * 60, "min"),
        "least water temperature": (clearing.water_least_c, 0, 100, "C"),
        "most water temperature": (clearing.water_most_c, 0, 100, "C"),
    }  # fmt: skip
    for name, (value, low, high, unit) in spans.items():
        if value is not None and not low <= value <= high:
            yield name, value, f"must lie in [{low:g}, {high:g}] {unit}"
    pairs = (
        ("strength", clearing.ppm_least, clearing.ppm_most, "ppm"),
        ("water temperature", clearing.water_least_c, clearing.water_most_c, "C"),
    )
    for name, least, most, unit in pairs:
        if least is not None and most is not None and least > most:
            yield f"least {name}", least, f"must not be above the most, {most:g} {unit}"


# Where it stands ------------------------------------------------------------------------------------------------------


def way_out(state: FarmState, held: PoolState, at: datetime) -> str:
    """What to do so that more of a pool is cleared."""
    ways = []
    if held.dirty:
        ways.append(f"Wash {held.dirty} first, and let them dry {held.pool.dry_hours:g} h.")
    if held.washed:
        ways.append(f"Sanitise {held.washed} first, and let them dry {held.pool.dry_hours:g} h.")
    waiting = [batch for batch in held.drying if batch.ready_at > at]
    if waiting:
        ways.append(f"{held.still_drying(at)} dry until {clock(state, max(batch.ready_at for batch in waiting))}.")
    return " ".join(ways) or "Record what was washed, or count the pool."


def mark_uncleared(state: FarmState, held: PoolState, name: str, at: datetime) -> tuple[str, str] | None:
    """What a mark lacks before its next use, and the way out; None for one that is cleared."""
    mark = held.marks[name]
    drying = f"dry {held.pool.dry_hours:g} h"
    if mark.where == "dirty":
        then = "sanitise it, " if wants_sanitising(held.pool, mark) else ""
        return "dirty, and not washed since its last use", f"Wash it, {then}let it {drying}; or take another."
    if mark.where == "washed":
        why = "washed, and not sanitised after suspected mould" if mark.suspect else "washed, and not sanitised"
        return why, f"Sanitise it, let it {drying}; or take another."
    if mark.where == "ready" and not dry(mark, at):
        assert mark.since is not None
        return f"not dry before {clock(state, mark.since)}", "Wait until it is dry, or take another."
    if mark.where == "away":
        return "with a customer", "Record that it came back, wash it; or take another."
    if mark.where == "in use":
        return f"under tray {mark.tray}", f"Record that {mark.tray} was stripped, or take another."
    return None


def clock(state: FarmState, at: datetime) -> str:
    """A moment on the farm's wall, in figures."""
    return f"{on_the_wall(state, at):%Y-%m-%d %H:%M}"


def on_the_wall(state: FarmState, at: datetime) -> datetime:
    """A moment by the farm's own clock."""
    return at.astimezone(zone(state.settings)) if state.settings is not None else at


def steps_words(pool: Pool) -> str:
    """What washing one is, in the farm's words or those of common practice."""
    return ", ".join((*pool.wash_steps, "stand up to dry"))


def limits_words(pool: Pool) -> Filled:
    """The farm's own limits for sanitising; empty where it set none."""
    rule = pool.clearing
    spans: Sequence[tuple[str, float | None, float | None, str]] = (
        ("strength", rule.ppm_least, rule.ppm_most, "ppm"), ("contact", rule.contact_min, None, "min"),
        ("water", rule.water_least_c, rule.water_most_c, "C"),
    )  # fmt: skip
    found = [
        in_a_row((what, Missed(what, None, low, high, unit).words), " ")
        for what, low, high, unit in spans
        if low is not None or high is not None
    ]
    return in_a_row(found)
