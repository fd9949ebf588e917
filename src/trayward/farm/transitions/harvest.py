"""Trays are cut into a harvest lot, and stripped."""

from __future__ import annotations

from msgspec.structs import replace

from trayward.farm.entries import Cut, Entry, Stripped, TrayCut
from trayward.farm.state import FarmState, HarvestLot, Tray
from trayward.farm.transitions.holding import done_with, hold_kit, leave_spot, to_change
from trayward.farm.transitions.recipes import LAST_STAGE
from trayward.farm.transitions.say import (
    Findings,
    between,
    fate_words,
    growing_problems,
    grows,
    odd,
    show,
    tray_unknown,
    twice,
    wrong,
)
from trayward.farm.transitions.trouble import cut_of_held

FAR_ABOVE = 3.0
FAR_BELOW = 0.2
"""A tray that weighs more than thrice the recipe's high, or less than a fifth of its low, was likely mistyped. [-]"""


def check_cut(state: FarmState, body: Cut, entry: Entry) -> Findings:
    names = tuple(cut.tray for cut in body.trays)
    found = growing_problems(state, entry, names, "cut") + twice(entry, "tray", list(names))
    known = state.harvests.get(body.harvest)
    if known is not None:
        message = f"harvest lot {body.harvest} = {show(known.grams)} g of {known.crop}: a name is used once."
        found.append(wrong(entry, "harvest-twice", message, "Strike this one and record it under a name of its own."))
    found += between(entry, "cut height", body.height_mm, 0, 1000, "mm")
    for cut in body.trays:
        found += _cut_problems(state, cut, body.crop, entry)
    return found + cut_of_held(state, names, entry)


def apply_cut(state: FarmState, body: Cut, entry: Entry) -> None:
    """Only trays that could be cut count: the same cut said on two phones is not twice the crop."""
    grams: dict[str, float] = {}
    for cut in body.trays:
        tray = grows(state, cut.tray)
        if tray is None or cut.tray in grams:
            continue
        grams[cut.tray] = max(0.0, cut.grams)
        tray.grams = (tray.grams or 0.0) + grams[cut.tray]
        tray.cuts += 1
        if not body.regrow:
            tray.fate = "cut"
            tray.ended_at = entry.at
            leave_spot(state, tray)
    if grams:
        _into_cold_room(state, body, entry, grams)


def check_stripped(state: FarmState, body: Stripped, entry: Entry) -> Findings:
    """Stripping a discarded tray says nothing new: its kit was dirty at once."""
    found: Findings = []
    for name in body.trays:
        tray = state.tray(name)
        if tray is None:
            found.append(tray_unknown(entry, name))
        elif tray.stripped or tray.fate in ("growing", "delivered"):
            message = f"tray {name} = {fate_words(state, tray)}: only a tray that was cut or discarded can be stripped."
            remedy = "Record the cut first, or check the tray's name."
            found.append(wrong(entry, "tray-not-cut", message, remedy))
    return found


def apply_stripped(state: FarmState, body: Stripped, entry: Entry) -> None:
    for name in body.trays:
        tray = state.tray(name)
        if tray is None or tray.fate not in ("cut", "discarded"):
            continue
        tray = to_change(state, name)
        assert tray is not None
        tray.stripped = True
        if name in state.trays:
            hold_kit(state, tray, {})
            done_with(state, tray)


def _cut_problems(state: FarmState, cut: TrayCut, crop: str, entry: Entry) -> Findings:
    found = between(entry, f"tray {cut.tray}, weight", cut.grams, 0, 100_000, "g")
    tray = grows(state, cut.tray)
    if tray is None or found:
        return found
    if tray.crop != crop:
        message = f"tray {cut.tray} = {tray.crop}: the harvest lot is said to be {crop}."
        found.append(odd(entry, "cut-crop", message, "Cut each crop into a lot of its own."))
    if tray.stage != LAST_STAGE:
        message = f"tray {cut.tray} = {tray.stage}: it was cut before it was {LAST_STAGE}."
        found.append(odd(entry, "cut-early", message, "Record when it was ready, so that the outlook learns from it."))
    return found + _weight_problems(state, tray, cut.grams, entry)


def _weight_problems(state: FarmState, tray: Tray, grams: float, entry: Entry) -> Findings:
    prior = state.recipes[tray.recipe].yield_prior
    too_much = prior.high_g is not None and grams > FAR_ABOVE * prior.high_g
    too_little = prior.low_g is not None and grams < FAR_BELOW * prior.low_g and not tray.cuts
    if not (too_much or too_little):
        return []
    usual = " to ".join(show(bound) for bound in (prior.low_g, prior.high_g) if bound is not None)
    message = f"tray {tray.tray}, weight = {show(grams)} g: the recipe {tray.recipe} reckons with {usual} g."
    return [odd(entry, "cut-weight", message, "Weigh it again; if it was mistyped, strike the entry and say it anew.")]


def _into_cold_room(state: FarmState, body: Cut, entry: Entry, grams: dict[str, float]) -> None:
    """A name used twice adds to its lot where the crop is the same; else the grams are in no lot (see the finding)."""
    total = sum(grams.values())
    known = state.harvests.get(body.harvest)
    if known is None:
        days = [state.recipes[state.trays[name].recipe].cold_room_days for name in grams]
        state.harvests[body.harvest] = HarvestLot(
            harvest=body.harvest,
            crop=body.crop,
            cut_at=entry.at,
            grams=total,
            left_g=total,
            trays=tuple(grams),
            cold_room_days=min(days),
            by_tray=dict(grams),
        )
    elif known.crop == body.crop:
        by_tray = dict(known.by_tray)
        for tray, given in grams.items():
            by_tray[tray] = by_tray.get(tray, 0.0) + given
        state.harvests[body.harvest] = replace(
            known,
            grams=known.grams + total,
            left_g=known.left_g + total,
            trays=tuple(dict.fromkeys((*known.trays, *grams))),
            by_tray=by_tray,
        )
