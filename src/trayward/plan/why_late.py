"""Why a line is out of reach: no tray sown from now on is in time, or no working day is left to sow or cut it on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from trayward.dates import day_words
from trayward.plan.limits import DAYS_OFF
from trayward.plan.told import Told
from trayward.plan.why import Why
from trayward.plan.why_short import Raised, limit_of, say
from trayward.words import counted


def too_late(why: Why, want: int, crops: Sequence[str], lines: list[int], found: Raised) -> None:
    """No tray sown from now on can be cut in time and still be good."""
    told, wanted = why.told, why.told.task.wants[want]
    quick = {crop: _quickest(told, crop) for crop in crops}
    crop = max(quick, key=lambda part: quick[part])
    latest = wanted.day - quick[crop]
    last = day_words(told.days.day(latest))
    words = f"Too late to sow {crop}: it takes {quick[crop]} days, so it had to be sown by {last}."
    if latest >= 0:
        _out_of_step(why, want, crop, lines, found)
        return
    say(found, lines, words)
    found.limits.append(limit_of(told, "time", wanted.day, float(wanted.day), float(-latest), "d", lines, words))


def _quickest(told: Told, crop: str) -> int:
    """Days from sowing today to ready, by the quickest recipe of a crop. [d]"""
    return min(
        (int(np.median(told.futures.sown[n].begins[:, 0, -1])) for n, way in enumerate(told.ways.ways)
         if way.recipe.crop == crop), default=0)  # fmt: skip


def _out_of_step(why: Why, want: int, crop: str, lines: list[int], found: Raised) -> None:
    """There is time to grow it, but days off, the cut window and the cold-room life leave no day to sow or cut on."""
    told, day = why.told, why.told.task.wants[want].day
    gaps = [gap for number, way in enumerate(told.ways.ways) if way.recipe.crop == crop
            for gap in _gaps(told, number, day)]  # fmt: skip
    words = f"Days off leave no day to sow {crop} or cut it on that is in time for it."
    if not gaps:
        say(found, lines, words)
        found.limits.append(limit_of(told, DAYS_OFF, day, 0.0, 1.0, "d", lines, words))
        return
    gap = min(gaps, key=lambda one: (one.longer, one.name != "cut window"))
    sown, cut = day_words(told.days.day(gap.sow)), day_words(told.days.day(gap.cut))
    name = f"{gap.name} of {crop}"
    kept = "be cut by" if gap.name == "cut window" else "keep till"
    on = day_words(told.days.day(gap.until))
    words = f"{name.capitalize()}: sown {sown} it is {'ready' if gap.name == 'cut window' else 'cut'} {cut} and has to"
    words = f"{words} {kept} {on}, {counted(gap.longer, 'day')} longer than it does."
    say(found, lines, words)
    found.limits.append(limit_of(told, name, day, float(gap.has), float(gap.longer), "d", lines, words))


class _Gap(NamedTuple):
    """How much longer a crop would have to stand or keep."""

    name: str
    sow: int
    cut: int
    """The day it is cut, or ready."""
    until: int
    has: int
    longer: int


def _gaps(told: Told, way: int, due: int) -> list[_Gap]:
    """What each sowing day leaves open between the last day a tray is good and the day it is due."""
    recipe, found = told.ways.ways[way].recipe, []
    for sow in np.flatnonzero(told.days.open[: min(due + 1, told.days.count)]).tolist():
        ready = int(np.median(told.futures.sown[way].begins[:, sow, -1]))
        worked = told.days.last_open(min(due, ready + recipe.cut_window_days))
        cut = told.days.last_open(due)
        if ready <= worked:
            found.append(_Gap("cold-room life", sow, worked, due, recipe.cold_room_days,
                              due - worked - recipe.cold_room_days))  # fmt: skip
        if ready <= cut and due <= cut + recipe.cold_room_days:
            found.append(_Gap("cut window", sow, ready, cut, recipe.cut_window_days,
                              cut - ready - recipe.cut_window_days))  # fmt: skip
    return [gap for gap in found if gap.longer > 0]
