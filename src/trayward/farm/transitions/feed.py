"""Whether a feed is as its recipes and the farm want it, and what mends it."""

from __future__ import annotations

from typing import Literal

from trayward.farm.entries import Entry, ReadingTaken
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import Findings, odd, show

FEED_STRAY_PH = 0.5
"""A feed this far outside the recipe's range deserves a look. [pH]"""
FEED_STRAY_EC = 0.2
"""And so does one this far outside the EC wanted. Our choice. [dS/m]"""
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


def feed_reading(state: FarmState, body: ReadingTaken, entry: Entry) -> Findings:
    """A reading of pH or EC of the feed, on a farm that states its water, against what is wanted."""
    if body.what not in ("ph", "ec") or state.settings is None or state.settings.water is None:
        return []
    if SOURCE_WORDS & set(body.where.lower().replace("-", " ").split()):
        return []
    wanted = feed_ph_wanted(state) if body.what == "ph" else feed_ec_wanted(state)
    stray = FEED_STRAY_PH if body.what == "ph" else FEED_STRAY_EC
    if wanted is None or wanted[0] - stray <= body.value <= wanted[1] + stray:
        return []
    name, unit, who = ("pH", "", "its recipes want") if body.what == "ph" else ("EC", " dS/m", "the farm wants")
    at = f" at {body.where}" if body.where else ""
    message = f"{name}{at} = {show(body.value)}{unit}: {who} {wanted[0]:g} to {wanted[1]:g}."
    return [odd(entry, f"feed-{body.what}", message, feed_remedy(state, body.what, body.value, wanted))]
