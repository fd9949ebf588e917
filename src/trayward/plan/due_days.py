"""The days on which a plan has each crop due, and whether what is due is as sure as it is wanted."""

from __future__ import annotations

from datetime import date

from trayward.plan.types import Plan


def due_days(plan: Plan) -> dict[tuple[str, date], bool]:
    """By crop and day, whether every line of it is met: lines its trays serve, and those for it alone that get none."""
    lines = {line.line: line for line in plan.lines}
    grown = {one.crop for one in plan.sowings} | {one.crop for one in plan.cuts}
    served = [(one.crop, serve.line) for one in plan.sowings for serve in one.serves]
    served += [(one.crop, serve.line) for one in plan.advice for serve in one.serves]
    alone = [(line.crop, line.line) for line in plan.lines if line.crop in grown]
    found: dict[tuple[str, date], bool] = {}
    for crop, name in (*served, *alone):
        if name in lines:
            key = crop, lines[name].due
            found[key] = found.get(key, True) and lines[name].met
    return found
