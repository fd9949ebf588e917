"""
What looks mistyped in what is about to be said, in the grower's words: moments, cuts and seed (care: `care_doubts`).

Each function goes through one thing said and yields what is doubted about it; it changes and refuses nothing. Where
nobody knows what to expect, nothing is doubted. Bounds are our choice where no source is named, and wide: too many
questions teach people to say yes without reading.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from trayward.desk.lookup import facts_of, trays_named
from trayward.errors import Doubt
from trayward.farm.calendar import zone
from trayward.farm.density import seed_for_tray
from trayward.farm.entries import SeedUsed
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.farm.state import FarmState, SeedLot, Tray
from trayward.outlook.doubt import (
    OF_LENGTH,
    OF_WEIGHT,
    POINT,
    WRONG_UNIT,
    Slip,
    Suspicion,
    heaviest,
    outside,
    suspect,
    weight_bounds,
    weight_expected,
    within_factor,
)
from trayward.outlook.types import Range
from trayward.rounds.words import between, weights_between
from trayward.units import GRAMS_PER_OUNCE, show_length, show_mass, show_number

if TYPE_CHECKING:
    from trayward.outlook.ahead import Outlook

AHEAD = timedelta(hours=1)
"""How far a device's clock may run ahead of another's before an entry is refused, or the other is said to be behind."""
QUIET = timedelta(days=90)
"""A book in which nobody wrote for so long is more likely met by a clock set wrong."""
DENSITY_FACTOR = 1.5
"""Seed on a tray, and the weight of a thousand: 8 in 10 are this near to what is reckoned with. [-]"""
LOT_FACTOR = 25.0
"""A delivery so many times outside those before it is more likely grams for kilograms, or the other way round. [-]"""
LEAST_GERMINATION = 40.0
"""Where no law says how much seed must sprout at least. [%]"""
LOT_LEFT = 1.5
"""Seed left: more than so many times what was delivered is doubted. [-]"""
FAR_OFF, SAME_AMOUNT = 5.0, 1.05
"""What is left or counted so many times off the book's is doubted, where a slip brings it this near. [-]"""

Doubts = Iterator[Doubt]
Look = Callable[[datetime], "Outlook"]
Bounds = tuple[float | None, float | None]
Show = Callable[[float, str], str]
"""A figure in words, in a unit; empty: the farm's own."""


# When -----------------------------------------------------------------------------------------------------------------


def moment_doubts(at: datetime, began: datetime | None, horizon: datetime | None, settings: FarmSettings) -> Doubts:
    """A moment before the book begins, or long after its last entry: a wrong date, or a device's clock set wrong."""
    here = zone(settings)
    first, last = (each.astimezone(here) if each else None for each in (began, horizon))
    if first is not None and at < first:
        rule = f"the book begins on {first:%Y-%m-%d}. Check the date and the device's clock"
    elif last is not None and at > last + QUIET:
        rule = f"the last entry is of {last:%Y-%m-%d}, {(at - last).days} days before. Check the device's clock"
    else:
        return
    yield Doubt(
        subject="when",
        value=at.isoformat(),
        expected_low=first.isoformat() if first else None,
        expected_high=(last + QUIET).isoformat() if last else None,
        said=f"{at.astimezone(here):%Y-%m-%d %H:%M}",
        rule=rule,
    )


def clock_doubts(recorded: datetime, end: datetime | None, settings: FarmSettings) -> Doubts:
    """What is said by a clock that is behind the book's end: a machine lost its time, or an entry has a wrong date."""
    if end is None:
        return
    here = zone(settings)
    last = f"{end.astimezone(here):%Y-%m-%d %H:%M}"
    yield Doubt(
        subject="now",
        value=recorded.isoformat(),
        expected_low=end.isoformat(),
        said=f"{recorded.astimezone(here):%Y-%m-%d %H:%M}",
        rule=f"the book goes on to {last}. Set the clock, or take the entry of a wrong date back in the book",
    )


# Cut ------------------------------------------------------------------------------------------------------------------


def cut_doubts(state: FarmState, look: Look, grams: Mapping[str, float], at: datetime) -> Doubts:
    """Weights of a cut against the outlook of each tray; trays that share a weight are named once. [g]"""
    ahead: Outlook | None = None
    for name, weight in grams.items():
        named = trays_named(state, [name])
        for tray in named:
            if tray.fate != "growing":
                continue  # the book refuses it, and says why
            ahead = ahead or look(at)
            doubt = _cut_doubt(state, ahead, tray, weight / len(named), name, len(named))
            if doubt is not None:
                yield doubt
                break


def _cut_doubt(state: FarmState, ahead: Outlook, tray: Tray, grams: float, name: str, sharing: int) -> Doubt | None:
    recipe, told = state.recipe_of(tray), ahead.standing(tray)
    expected = weight_expected(tray, recipe, told, ahead.at)
    about = (f"tray {tray.tray}" if sharing == 1 else name, "weight")
    if expected is None:
        return _too_heavy(state, recipe, about, grams, sharing)
    slips = (*OF_WEIGHT, Slip(sharing, each=True)) if sharing > 1 else OF_WEIGHT
    bounds = weight_bounds(tray, told, expected, ahead.at)
    found = bounds.suspect(grams, slips) if bounds is not None else None
    if found is None:
        return None
    here = " here" if told.grams_basis.own_trays else ""
    low, high = expected.low * sharing, expected.high * sharing
    trays = f"a tray of {tray.crop}{here} brings" if sharing == 1 else f"{sharing} trays of {tray.crop}{here} bring"
    rule = f"{trays} {weights_between(low, high, units_of(state).mass)}"
    return doubted(about, grams * sharing, "g", found.times(sharing), (low, high), rule, masses(state), sharing)


def _too_heavy(state: FarmState, recipe: Recipe, about: tuple[str, str], grams: float, sharing: int) -> Doubt | None:
    most, show = heaviest(recipe), masses(state)
    found = outside(grams, -math.inf, most)
    if found is None:
        return None
    rule = f"no tray of that size is known to bring more than {show(most, '')}"
    return doubted(about, grams * sharing, "g", found, (None, most * sharing), rule, show)


def cut_height_doubts(state: FarmState, trays: Sequence[str], height_mm: float | None) -> Doubts:
    """The height of a cut above the medium, against the recipe's. [mm]"""
    if height_mm is None:
        return
    recipe, show = state.recipe_of(trays_named(state, trays)[0]), lengths(state)
    low, high = recipe.cut_height_mm
    if not 0 < low <= high:
        return
    found = suspect(height_mm, Range(low=low, likely=math.sqrt(low * high), high=high), OF_LENGTH)
    if found is not None:
        rule = f"the recipe {recipe.name} cuts at {between(show(low, ''), show(high, ''))}"
        yield doubted(("cut", "height"), height_mm, "mm", found, (low, high), rule, show)


# Seed -----------------------------------------------------------------------------------------------------------------


def sow_doubts(state: FarmState, recipe: Recipe, trays: int, used: Sequence[SeedUsed], at: datetime) -> Doubts:
    """Seed on each tray, against what the recipe's density takes of that lot. [g]"""
    takes = seed_for_tray(recipe, facts_of(state, recipe.crop), state.seed.get(used[0].lot), at).grams
    if not takes:
        return
    grams = sum(part.grams for part in used) / trays
    sharing = (Slip(1 / trays, each=True), Slip(trays, each=True)) if trays > 1 else ()
    expected, show = within_factor(takes, DENSITY_FACTOR), masses(state)
    found = suspect(grams, expected, (*POINT, *sharing, *OF_WEIGHT))
    if found is not None:
        rule = f"the recipe's {recipe.live_seeds_per_cm2:.2g} live seeds per cm2 take {show(takes, '')}"
        about = (recipe.name, "seed on a tray")
        yield doubted(about, grams, "g", found, (expected.low, expected.high), rule, show)


def lot_doubts(state: FarmState, recipe: Recipe, used: Sequence[SeedUsed]) -> Doubts:
    """Seed of another crop than the recipe grows: more likely the wrong lot was named than the wrong seed sown."""
    for part in used:
        lot = state.seed.get(part.lot)
        if lot is not None and lot.crop != recipe.crop:
            theirs = [name for name, other in state.seed.items() if other.crop == recipe.crop and other.left_g > 0]
            yield Doubt(
                subject="seed lot", value=lot.lot, said=lot.lot,
                rule=f"it is seed of {lot.crop}, and {recipe.name} grows {recipe.crop}",
                perhaps=theirs[0] if theirs else None, perhaps_said=theirs[0] if theirs else "",
            )  # fmt: skip


def delivery_doubts(
    state: FarmState, lot: str, crop: str, grams: float, germination: float | None, tsw_g: float | None
) -> Doubts:
    """A delivery of seed: its weight against earlier ones of the crop, and the figures on its label. [g], [-], [g]"""
    yield from _delivered_doubts(state, lot, crop, grams)
    yield from _germination_doubts(state, lot, crop, germination)
    yield from thousand_doubts(state, lot, crop, tsw_g)


def _delivered_doubts(state: FarmState, lot: str, crop: str, grams: float) -> Doubts:
    before = [held.received_g for held in state.seed.values() if held.crop == crop and held.lot != lot]
    before = [received for received in before if received > 0]
    if not before or grams <= 0:
        return
    low, high, show = min(before), max(before), masses(state)
    # A point one place off is no wonder: bags come in all sizes.
    tried = [(grams * slip.factor, slip.unit) for slip in WRONG_UNIT]
    found = outside(grams, low / LOT_FACTOR, high * LOT_FACTOR, tried)
    if found is not None:
        rule = f"deliveries of {crop} so far were {between(show(low, ''), show(high, ''))}"
        yield doubted((f"seed lot {lot}", ""), grams, "g", found, (low, high), rule, show)


def _germination_doubts(state: FarmState, lot: str, crop: str, share: float | None) -> Doubts:
    """Below half of what the law asks for, a label was misread, or `0.92 %` stands for 92 %."""
    least = (facts_of(state, crop).number("germ_pct_fsa_min") or LEAST_GERMINATION) / 100
    if share is None or not 0 < share < least / 2:
        return
    meant = next((share * factor for factor in (100, 10) if least <= share * factor <= 1), None)
    rule = f"ordinary seed of {crop} sprouts to {_percent(least)} or more"
    about = (f"seed lot {lot}", "germination")
    yield doubted(about, share, "", Suspicion(meant), (least, 1.0), rule, _percent)


def thousand_doubts(state: FarmState, lot: str, crop: str, tsw_g: float | None) -> Doubts:
    """The weight of a thousand seeds, against what is known of the crop. [g]"""
    facts = facts_of(state, crop)
    typical = facts.number("tsw_g_typ")
    if tsw_g is None or not typical:
        return
    near, show = within_factor(typical, DENSITY_FACTOR), masses(state)
    low = min(near.low, facts.number("tsw_g_low") or near.low)
    high = max(near.high, facts.number("tsw_g_high") or near.high)
    found = suspect(tsw_g, Range(low=low, likely=typical, high=high))
    if found is not None:
        rule = f"a thousand seeds of {crop} weigh about {show(typical, 'g')}"
        yield doubted((f"seed lot {lot}", "1000 seeds"), tsw_g, "g", found, (low, high), rule, show)


def weighed_doubts(state: FarmState, name: str, grams: float) -> Doubts:
    """What is left of a lot by the scale: more than was delivered, or a slip away from what the book holds. [g]"""
    lot = state.seed.get(name)
    if lot is None or lot.expected_on is not None:
        return
    found, show = _weighed_wrong(lot, grams), masses(state)
    if found is not None:
        held = show(max(0.0, lot.left_g), "")
        rule = f"{held} are left by the book, of {show(lot.received_g, '')} delivered"
        yield doubted((f"seed lot {name}", "left"), grams, "g", found, (0.0, lot.received_g), rule, show)


def _weighed_wrong(lot: SeedLot, grams: float) -> Suspicion | None:
    return slipped(grams, lot.left_g) or outside(grams, -math.inf, LOT_LEFT * max(lot.received_g, lot.left_g))


def slipped(value: float, held: float) -> Suspicion | None:
    """A figure far off what the book holds, where a slip of the finger brings it near: a point, or a figure more."""
    ratio = value / held if held > 0 and math.isfinite(value) else 0.0
    if ratio > 0 and not 1 / FAR_OFF < ratio < FAR_OFF:
        for slip in OF_WEIGHT:
            if 1 / SAME_AMOUNT <= ratio * slip.factor <= SAME_AMOUNT:
                return Suspicion(value * slip.factor, slip.unit)
    return None


# Words ----------------------------------------------------------------------------------------------------------------


def doubted(
    about: tuple[str, str],
    value: float,
    unit: str,
    found: Suspicion,
    expected: Bounds,
    rule: str,
    show: Show,
    sharing: int = 1,
) -> Doubt:
    """A suspicion in the grower's words. `about`: what it is about, and which figure of that.

    `sharing` is how many the figure is for together; what was meant for each is shown so.
    """
    meant = ""
    if found.perhaps is not None:
        each = found.perhaps / sharing
        meant = f"{show(each, found.unit)} each" if found.each else show(found.perhaps, found.unit)
        if unit == "g" and math.isclose(found.perhaps, value * GRAMS_PER_OUNCE):  # the figure that was typed
            meant = f"{show_number(each / GRAMS_PER_OUNCE)} oz each" if found.each else f"{show_number(value)} oz"
    return Doubt(
        subject=about[0],
        what=about[1],
        value=value,
        unit=unit,
        expected_low=expected[0],
        expected_high=expected[1],
        perhaps=found.perhaps,
        said=show(value, ""),
        rule=rule,
        perhaps_said=meant,
    )


def units_of(state: FarmState) -> ShownUnits:
    """The units the farm reads."""
    return state.settings.units if state.settings is not None else ShownUnits()


def masses(state: FarmState) -> Show:
    """How this farm shows a weight."""
    units = units_of(state)
    return lambda grams, unit: show_mass(grams, unit or units.mass)


def lengths(state: FarmState) -> Show:
    """How this farm shows a length."""
    units = units_of(state)
    return lambda mm, unit: show_length(mm, unit or units.length)


def _percent(share: float, unit: str = "%") -> str:
    return f"{100 * share:.3g} {unit or '%'}"
