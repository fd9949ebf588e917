"""What is in the way of a plan, as every place shows it: limits that are all taken, and what cannot be helped."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from trayward.dates import day_words
from trayward.plan.types import Limit, LineOutlook, Plan
from trayward.words import listed

TOO_LATE = "time"
"""The limit that a line due before anything sown now is ready runs into."""
TOO_LATE_TO_SOW = "Too late to sow "
"""Begins its message; the crop follows, and behind a colon how long it takes."""
MOST_NAMED = 3


def binding(limits: Iterable[Limit]) -> tuple[Limit, ...]:
    """Limits that are all taken and of which one more would bring something, the soonest first."""
    found = [one for one in limits if one.worth > 0]
    return tuple(sorted(found, key=lambda one: (one.first, one.last, -one.worth, one.limit)))


def barred(plan: Plan) -> tuple[str, ...]:
    """What one more of a limit cannot help, said once each; what is too late once for all lines it is too late for."""
    told = {limit.limit for limit in plan.limits if limit.worth > 0}
    lines = {line.line: line for line in plan.lines}
    late: dict[str, list[LineOutlook]] = {}
    others = []
    for limit in plan.limits:
        wanted = [lines[line] for line in limit.lines if line in lines]
        crop = too_late(limit)
        if crop and wanted:
            late.setdefault(crop, []).extend(wanted)
        elif limit.limit not in told:
            others.append(limit.message or limit.limit)
    return (*(late_words(crop, wanted) for crop, wanted in late.items()), *dict.fromkeys(others))


def too_late(limit: Limit) -> str:
    """The crop that it is too late to sow, if that is what is said of a limit."""
    if limit.limit != TOO_LATE or not limit.message.startswith(TOO_LATE_TO_SOW):
        return ""
    return limit.message.removeprefix(TOO_LATE_TO_SOW).partition(":")[0]


def late_words(crop: str, wanted: Sequence[LineOutlook]) -> str:
    """What it is too late to sow, and whom for, the soonest first; what is ordered too where it is not all the crop."""
    soonest = sorted(wanted, key=lambda line: (line.due, line.customer, line.crop))
    if all(line.crop == crop for line in wanted):
        names = [f"{line.customer} on {day_words(line.due)}" for line in soonest]
    else:
        names = [f"{line.crop} of {line.customer} on {day_words(line.due)}" for line in soonest]
    return f"Too late to sow {crop} for {listed(_counted_once(names), most=MOST_NAMED)}."


def _counted_once(names: Sequence[str]) -> list[str]:
    """Each name once, with how many lines bear it."""
    many = {name: names.count(name) for name in names}
    return [name if number == 1 else f"{name} ({number} lines)" for name, number in many.items()]
