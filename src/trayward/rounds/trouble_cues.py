"""What a tray's own records say that tells one cause of trouble from another, each with the figures it rests on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import NamedTuple

from trayward.farm.last_air import air_near
from trayward.farm.spots import stage_of
from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import DAMP_PCT, THICK, THIN
from trayward.rounds.scene import shelf_name
from trayward.rounds.sisters import Sisters
from trayward.rounds.words import day_number
from trayward.units import show_temperature

DRY_PCT = 45.0
"""Relative humidity up to which air counts as dry. Our choice. [%]"""
WARM_C, COOL_C = 24.0, 18.0
"""Above 24 C disease on mats rises (seedco_density); advice for mats begins at 18 C. [C]"""
NEAR = timedelta(days=2)
"""Readings so far back count as the air it stood in. Our choice."""
FIRST_DAYS = 4
DRY_SPELL, JUST = timedelta(hours=36), timedelta(hours=12)
WEAK = 0.8
"""A lot of which fewer sprout is weak: ordinary seed of most crops is sold above (7 CFR 201.31 asks 75 %). [-]"""
SEVERAL, MANY = 2, 0.2
"""Other trays with the same trouble: so many at least, and such a share of them. Our choice."""
MOST = 0.5
"""Of its own sowing, such a share. Our choice."""
SMALL = 0.1
"""Less of a tray is a small part of it. Our choice. [-]"""


class Seen(NamedTuple):
    """Whether a cue shows, and the figures that say so, in the grower's words."""

    shows: bool
    words: str = ""


Cues = dict[str, Seen]
"""By the guide's names; what the records do not say is left out."""


def cues_of(
    state: FarmState,
    tray: Tray,
    sign: str,
    at: datetime,
    *,
    where: str = "",
    share: float | None = None,
    sisters: Sisters | None = None,
) -> Cues:
    """Every cue of a tray that the records, or who looked, can tell; `sisters`: trays as they were read before."""
    found: Cues = {}
    for tell in (_stage, _age, _density, _air, _water, _seed):
        found |= tell(state, tray, at)
    found |= _sisters(state, tray, sign, sisters or Sisters())
    return found | _place_on_tray(where, share)


def _stage(state: FarmState, tray: Tray, at: datetime) -> Cues:
    del at
    stage = stage_of(state, tray)
    if stage is None:
        return {}
    covered = stage.cover != "none" or stage.ground == "dark"
    return {
        "covered": Seen(covered, f"it stands covered or dark ({stage.name})"),
        "in light": Seen(stage.ground == "lit", _lit_words(stage.name)),
    }


def _lit_words(stage: str) -> str:
    """That it stands in the light; the stage too, where that is not called light itself."""
    return "it stands in the light" if stage == "light" else f"it stands in the light ({stage})"


def _age(state: FarmState, tray: Tray, at: datetime) -> Cues:
    if state.settings is None:
        return {}
    day, recipe = day_number(tray.sown_at, at, state.settings), state.recipes.get(tray.recipe)
    found = {"first days": Seen(day <= FIRST_DAYS, f"day {day}")}
    if recipe is not None:
        last = recipe.days_to_ready + recipe.cut_window_days
        found["past its days"] = Seen(day > last, f"day {day}, and its recipe reckons with {last:.0f}")
    return found


def _density(state: FarmState, tray: Tray, at: datetime) -> Cues:
    del at
    recipe, sown = state.recipes.get(tray.recipe), tray.live_seeds_per_cm2
    if recipe is None or sown is None or recipe.live_seeds_per_cm2 <= 0:
        return {}
    times = sown / recipe.live_seeds_per_cm2
    thick, asked = f"{sown:.2g}", f"{recipe.live_seeds_per_cm2:.2g}"
    words = f"{thick} live seeds a cm2, its recipe says {asked}"
    if thick == asked:
        words = f"{thick} live seeds a cm2, as its recipe says"
    return {"thick": Seen(times >= THICK, words), "thin": Seen(times <= THIN, words)}


def _air(state: FarmState, tray: Tray, at: datetime) -> Cues:
    damp, warm = (air_near(state, tray, what, at - NEAR, at) for what in ("humidity", "temperature"))
    found: Cues = {}
    if damp is not None:
        words = f"{damp:.0f} % humidity near it"
        found |= {"damp air": Seen(damp >= DAMP_PCT, words), "dry air": Seen(damp <= DRY_PCT, words)}
    if warm is not None:
        unit = state.settings.units.temperature if state.settings is not None else "C"
        words = f"{show_temperature(warm, unit)} near it"
        found |= {"warm": Seen(warm > WARM_C, words), "cool": Seen(warm < COOL_C, words)}
    return found


def _water(state: FarmState, tray: Tray, at: datetime) -> Cues:
    found: Cues = {}
    if tray.moisture is not None:
        found["seen dry"] = Seen(tray.moisture == "dry", "the last look found it dry")
    stage = stage_of(state, tray)
    since = tray.last_water or tray.sown_at
    ago = at - since
    hours = f"{ago / timedelta(hours=1):.0f} h since it had water"
    found["just watered"] = Seen(tray.last_water is not None and ago <= JUST, hours)
    if stage is not None and stage.water in ("mist", "below"):
        found["not watered"] = Seen(ago >= DRY_SPELL, hours)
    return found


def _seed(state: FarmState, tray: Tray, at: datetime) -> Cues:
    del at
    shares = [(lot, share) for name in tray.lots if (lot := state.seed.get(name)) and (share := lot.live_share)]
    if not shares:
        return {}
    lot, share = min(shares, key=lambda each: each[1])
    return {"weak seed": Seen(share < WEAK, f"lot {lot.lot} sprouts to {share:.0%}")}


# Its sisters ----------------------------------------------------------------------------------------------------------


def _sisters(state: FarmState, tray: Tray, sign: str, sisters: Sisters) -> Cues:
    """Whether trays of its sowing have the same trouble, and those of other sowings that share its lot or shelf."""
    sowing, shelf = state.sowings.get(tray.sowing), shelf_name(tray)
    names = [name for name in (sowing.trays if sowing is not None else ()) if name != tray.tray]
    sown_with = [other for name in names if (other := state.tray(name)) is not None]
    of_lot = [other for other in sisters.of_lots(state, tray.lots) if other.sowing != tray.sowing]
    on_shelf = [other for other in sisters.on_shelf(state, shelf) if other.sowing != tray.sowing]
    return {
        **_shared("same lot", of_lot, sign, f"of lot {', '.join(tray.lots)}"),
        **_shared("same sowing", sown_with, sign, f"of sowing {tray.sowing}", least=1, enough=MOST),
        **_shared("same shelf", on_shelf, sign, f"on {shelf}"),
    }


def _shared(
    cue: str, others: Sequence[Tray], sign: str, words: str, *, least: int = SEVERAL, enough: float = MANY
) -> Cues:
    """Whether enough of the trays that share something had a sign; nothing where none shares it."""
    if not others:
        return {}
    troubled = sum(has_sign(other, sign) for other in others)
    number = len(others)
    told = f"{troubled:g} of {number:g} other trays {words} had it"
    if not troubled:
        told = f"none of {number:g} other trays {words} had it"
    if number == 1:
        told = f"the one other tray {words} had it" if troubled else f"the one other tray {words} did not have it"
    return {cue: Seen(troubled >= least and troubled >= enough * number, told)}


def has_sign(tray: Tray, sign: str) -> bool:
    """Whether trouble of that sign was seen on a tray and not cleared."""
    return any(each.sign == sign and each.cleared_at is None for each in tray.troubles)


# What who looked says -------------------------------------------------------------------------------------------------


PLACES = {
    "edge": ("edge", "corner", "rim"),
    "middle": ("middle", "centre", "center"),
    "patches": ("patch", "spot"),
    "all over": ("all over", "everywhere", "whole"),
}
"""Where on a tray, and the words that say so."""


def _place_on_tray(where: str, share: float | None) -> Cues:
    found: Cues = {}
    if where.strip():
        said = where.casefold()
        for name, words in PLACES.items():
            shows = any(word in said for word in words)
            found[name] = Seen(shows, f"seen: {where}" if shows else f"seen: {where}, not {words[0]}")
    if share is not None:
        found["small part"] = Seen(share < SMALL, f"{share:.0%} of the tray")
    return found
