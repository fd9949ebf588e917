"""Trouble seen on trays: it is noted, and what may be unfit to eat is held back until somebody clears it."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec.structs import replace

from trayward.farm.entries import Entry, LotGrams, PackCount, TroubleCleared, TroubleSeen
from trayward.farm.holds import SUSPECTED_MOULD, hold_of, lot_held, pack_held, suspects_mould
from trayward.farm.state import FarmState, Tray, Trouble
from trayward.farm.transitions.holding import to_change
from trayward.farm.transitions.say import Findings, between, fate_words, grows, listed, odd, tray_unknown, wrong

CLEAR_IT = "Throw it away, or mist it, wait, look close and clear it by name: trayward trouble clear"
CHECK_CROP = "Hold back what is here and see where the rest went: trayward trace. When in doubt, throw it away"


def check_seen(state: FarmState, body: TroubleSeen, entry: Entry) -> Findings:
    """Trouble may be seen on a tray that was cut, too: then what was cut of it deserves a look."""
    found = _trays_named(state, body.trays, entry)
    if not body.sign.strip():
        found.append(wrong(entry, "nothing-named", "sign = none: trouble has a sign.", "Say in a word what is seen."))
    found += between(entry, "share with trouble", body.share, 0, 1)
    return found + (_crop_in_doubt(state, body.trays, entry) if body.hold else [])


def _trays_named(state: FarmState, names: tuple[str, ...], entry: Entry) -> Findings:
    """What is wrong with the trays named, which may have ended long ago."""
    if not names:
        return [wrong(entry, "nothing-named", "trays = none: at least one must be named.", "Name them.")]
    return [tray_unknown(entry, name) for name in names if state.tray(name) is None]


def apply_seen(state: FarmState, body: TroubleSeen, entry: Entry) -> None:
    for name in body.trays:
        tray = to_change(state, name)
        if tray is None:
            continue
        share = body.share if body.share is not None and 0 <= body.share <= 1 else None
        tray.troubles = [
            *tray.troubles,
            Trouble(
                at=entry.at, by=entry.by, entry=entry.id, sign=body.sign, cause=body.cause, where=body.where,
                share=share, hold=body.hold, stage=tray.stage, spot=tray.spot,
            ),
        ]  # fmt: skip
        if grows(state, name) is not None:
            tray.last_look = entry.at
            tray.problem = hold_of(tray) or body.cause or body.sign


def check_cleared(state: FarmState, body: TroubleCleared, entry: Entry) -> Findings:
    found = _trays_named(state, body.trays, entry)
    if not body.found.strip():
        remedy = "Say what it was instead: root hairs."
        found.append(wrong(entry, "nothing-named", "found = nothing: who clears a tray says what it was.", remedy))
    free = [name for name in body.trays if state.tray(name) is not None and not hold_of(state.tray(name))]
    if free:
        message = f"trays {listed(free)} = not held back: there is nothing to clear."
        found.append(odd(entry, "not-held", message, "Check the trays' names."))
    return found


def apply_cleared(state: FarmState, body: TroubleCleared, entry: Entry) -> None:
    """An empty `found` clears nothing: what lifts a hold is that somebody looked and can say what it was."""
    for name in body.trays if body.found.strip() else ():
        if not hold_of(state.tray(name)) or (tray := to_change(state, name)) is None:
            continue
        tray.troubles = [
            replace(each, cleared_at=entry.at, cleared_by=entry.by, found=body.found)
            if each.hold and each.cleared_at is None
            else each
            for each in tray.troubles
        ]
        if grows(state, name) is not None:
            tray.last_look, tray.problem = entry.at, ""


def note_word(tray: Tray, word: str, entry: Entry) -> None:
    """
    A word for trouble, said in passing at a look; the same word again says nothing new.

    Mould holds the tray back as if it had been said by the guide. No word, or another, does not lift that: who saw none
    may have looked at another corner.
    """
    hold = SUSPECTED_MOULD if suspects_mould(word) else ""
    if word and not _said_already(tray, word, hold):
        tray.troubles = [
            *tray.troubles,
            Trouble(
                at=entry.at, by=entry.by, entry=entry.id, sign=word, hold=hold, stage=tray.stage, spot=tray.spot
            ),
        ]  # fmt: skip
    tray.problem = word if not hold_of(tray) or suspects_mould(word) else tray.problem or hold_of(tray)


def _said_already(tray: Tray, word: str, hold: str) -> bool:
    last = tray.troubles[-1] if tray.troubles else None
    if last is not None and last.sign == word and last.cleared_at is None:
        return True
    return bool(hold) and hold_of(tray) == hold


# What is held does not go out -----------------------------------------------------------------------------------------


def cut_of_held(state: FarmState, trays: Iterable[str], entry: Entry) -> Findings:
    """Trays that were cut though they are held back: their crop is held, too."""
    return [
        odd(entry, "cut-held", f"tray {name} = {hold}: it is not to be cut for sale or eating, and its crop is held.",
            f"{CLEAR_IT} {name}")
        for name in trays
        if (hold := hold_of(state.trays.get(name)))
    ]  # fmt: skip


def lots_held(state: FarmState, parts: Iterable[LotGrams], entry: Entry, deed: str) -> Findings:
    """Harvest lots with crop of trays that are held back must not go into packs, nor out."""
    return [
        wrong(entry, "harvest-held", f"harvest lot {name} = {_why(held)}: it cannot be {deed}.", _way_out(held))
        for name in dict.fromkeys(part.harvest for part in parts)
        if (held := lot_held(state, state.harvests.get(name)))
    ]


def packs_held(state: FarmState, packs: Iterable[PackCount], entry: Entry) -> Findings:
    """Packs with crop of trays that are held back must not go out."""
    found: Findings = []
    for name in dict.fromkeys(count.pack for count in packs):
        lot = state.packs.get(name)
        held = pack_held(state, lot.parts) if lot is not None else {}
        if held:
            message = f"pack lot {name} = {_why(held)}: it cannot go out."
            found.append(wrong(entry, "pack-held", message, _way_out(held)))
    return found


def live_held(state: FarmState, trays: Iterable[str], entry: Entry) -> Findings:
    """Live trays that are held back must not go out."""
    return [
        wrong(entry, "tray-held", f"tray {name} = {hold}: it cannot be delivered.", f"{CLEAR_IT} {name}")
        for name in trays
        if (hold := hold_of(state.trays.get(name)))
    ]


def _why(held: dict[str, str]) -> str:
    """Which trays it holds crop of, and what is suspected of them."""
    return f"crop of {listed(list(held))}, {listed(sorted(set(held.values())))}"


def _way_out(held: dict[str, str]) -> str:
    names = " ".join(held)
    return f"Throw it away; or clear each tray once somebody knows what it was: trayward trouble clear {names}"


def _crop_in_doubt(state: FarmState, names: Iterable[str], entry: Entry) -> Findings:
    """What was cut of trays, or went out live, before somebody suspected them."""
    found: Findings = []
    for name in names:
        tray = state.tray(name)
        if tray is not None and tray.fate == "delivered":
            message = f"tray {name} = {fate_words(state, tray)}: it went to a customer as it stood."
            found.append(odd(entry, "held-gone", message, f"{CHECK_CROP}."))
        elif tray is not None and tray.cuts:
            lots = [lot.harvest for lot in state.harvests.values() if name in lot.trays]
            message = f"tray {name} = cut into {listed(lots)}: that crop is held back with it."
            found.append(odd(entry, "held-cut", message, f"{CHECK_CROP}."))
    return found
