"""Whether a feed is as its recipes and the farm want it, and what mends it."""

from __future__ import annotations

from typing import Literal

from trayward.farm.entries import Entry, ReadingTaken
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, odd, show

STRAY = {"ph": 0.5, "ec": 0.2}
"""A feed this far outside what is wanted deserves a look. Our choice. [pH], [dS/m]"""
SAID = {"ph": ("pH", ""), "ec": ("EC", " dS/m")}
"""How it is called, and its unit."""
SOURCE_WORDS = frozenset(
    {"tap", "source", "well", "rain", "raw", "ro", "osmosis", "plain", "mains", "spring", "runoff"}
)
"""A reading at a place with one of these words in its name is of the water before anything is mixed into it."""


def feed_remedy(state: FarmState, what: Literal["ph", "ec"], value: float, wanted: tuple[float, float]) -> str:
    """What to do about a feed that is out of range; with amounts where the farm states its water."""
    # The chemistry loads numpy, and is wanted only where something is out of range.
    from trayward.farm.water import ec_remedy, ph_remedy

    water = state.settings.water if state.settings is not None else None
    return ph_remedy(water, value, wanted) if what == "ph" or water is None else ec_remedy(water, value)


def feed_ec_wanted(state: FarmState) -> tuple[float, float] | None:
    """The EC the farm states for its feed, from and to. [dS/m]"""
    water = state.settings.water if state.settings is not None else None
    return water.feed_ec_ds_m if water is not None else None


def feed_ph_wanted(state: FarmState) -> tuple[float, float] | None:
    """The pH that the recipes of the growing trays want, from the lowest to the highest; of all, where none grow."""
    growing = {tray.recipe for tray in state.growing()}
    ranges = [recipe.feed_ph for name, recipe in state.recipes.items() if name in growing or not growing]
    return (min(low for low, _ in ranges), max(high for _, high in ranges)) if ranges else None


def stray_feed(
    state: FarmState,
    entry: Entry,
    what: Literal["ph", "ec"],
    value: float,
    wanted: tuple[float, float],
    *,
    subject: str,
    who: str,
) -> Findings:
    """What to say of a feed far outside what is wanted. `subject`: what was measured; `who`: who wants it otherwise."""
    low, high = wanted
    if low - STRAY[what] <= value <= high + STRAY[what]:
        return []
    message = f"{subject} = {show(value)}{SAID[what][1]}: {who} {low:g} to {high:g}."
    remedy = feed_remedy(state, what, value, wanted)
    return [odd(entry, "feed-ph", message, remedy) if what == "ph" else odd(entry, "feed-ec", message, remedy)]


def feed_reading(state: FarmState, body: ReadingTaken, entry: Entry) -> Findings:
    """A reading of pH or EC of the feed, on a farm that states its water, against what is wanted."""
    if body.what not in ("ph", "ec") or state.settings is None or state.settings.water is None:
        return []
    if SOURCE_WORDS & set(body.where.lower().replace("-", " ").split()):
        return []
    wanted = feed_ph_wanted(state) if body.what == "ph" else feed_ec_wanted(state)
    if wanted is None:
        return []
    subject = SAID[body.what][0] + (f" at {body.where}" if body.where else "")
    who = "its recipes want" if body.what == "ph" else "the farm wants"
    return stray_feed(state, entry, body.what, body.value, wanted, subject=subject, who=who)
