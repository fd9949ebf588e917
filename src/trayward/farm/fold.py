"""The fold: from the entries of the book, in the order of happening, to the state of the farm.

Everybody who folds the same entries gets the same state, whenever they reached the book and wherever the fold was
interrupted. Entries are to be as the book gives them back (`codec.normal`).
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from trayward.errors import Finding
from trayward.farm.entries import Entry
from trayward.farm.state import FarmState
from trayward.farm.transitions.say import wrong
from trayward.farm.transitions.table import TRANSITIONS

_ID = re.compile(r"[A-Za-z0-9_-]{8,64}")


def check(state: FarmState, entry: Entry) -> tuple[Finding, ...]:
    """
    What would be wrong or odd about an entry in the present state; changes nothing.

    Parameters
    ----------
    state : FarmState
        The farm at the moment the entry speaks of.
    entry : Entry
        What is about to be said.

    Returns
    -------
    tuple of Finding
        `wrong` ones are for the desk to refuse; each names the entry.
    """
    found = TRANSITIONS[type(entry.body)].check(state, entry.body, entry)
    if _ID.fullmatch(entry.id) is None:
        message = f"entry = {entry.id!r}: an entry's id has 8 to 64 letters, digits, `-` or `_`."
        found = [wrong(entry, "entry-id", message, "Let the device make another."), *found]
    return tuple(found)


def apply(state: FarmState, entry: Entry) -> None:
    """
    Change the state in place by what an entry says.

    Lenient, because the record may arrive late and must not be lost: what is wrong or odd goes to `state.findings`,
    and what can be done is done. Whatever arrives, no spot ever holds two trays, the spots mirror the trays' spots,
    kit in use is what the trays hold, and seed is below zero only where a finding says so.

    Parameters
    ----------
    state : FarmState
        The farm after every entry that happened before; changed in place.
    entry : Entry
        What was said.
    """
    body = entry.body
    check_it, apply_it, whole = TRANSITIONS[type(body)]
    found = check_it(state, body, entry)
    if found:
        state.findings += found
    if not (whole and found and any(finding.severity == "wrong" for finding in found)):
        apply_it(state, body, entry)
    _count(state, entry)


def fold(
    entries: Iterable[Entry], *, start: FarmState | None = None, struck: frozenset[str] = frozenset()
) -> FarmState:
    """
    The state of the farm after some entries.

    Parameters
    ----------
    entries : iterable of Entry
        In the order of happening.
    start : FarmState, optional
        The fold of the entries before them. It is folded on in place and given back: copying a big farm would cost
        more than folding the day. An empty farm if left out.
    struck : frozenset of str, optional
        Ids of entries that were taken back; they count as read and change nothing.

    Returns
    -------
    FarmState
        The same object as `start` where that was given.
    """
    state = FarmState() if start is None else start
    for entry in entries:
        if entry.id in struck:
            _count(state, entry)
        else:
            apply(state, entry)
    return state


def _count(state: FarmState, entry: Entry) -> None:
    state.entries += 1
    if state.began is None:
        state.began = entry.at
    if state.horizon is None or entry.at > state.horizon:
        state.horizon = entry.at
