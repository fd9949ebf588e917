"""Trays go to other spots, all at once, so that two may swap."""

from __future__ import annotations

from trayward.farm.entries import Entry, Moved
from trayward.farm.spots import holder_of, spot_problem, stage_of
from trayward.farm.state import FarmState
from trayward.farm.transitions.holding import leave_spot, take_spot
from trayward.farm.transitions.say import Findings, from_finding, growing_problems, grows, twice


def check_moved(state: FarmState, body: Moved, entry: Entry) -> Findings:
    names = tuple(move.tray for move in body.moves)
    found = growing_problems(state, entry, names, "moved") + twice(entry, "tray", list(names))
    moved: dict[str, str | None] = {}
    for name in names:
        tray = grows(state, name)
        if tray is not None and tray.spot is not None:
            moved[tray.spot] = None
    for move in body.moves:
        tray = grows(state, move.tray)
        stage = stage_of(state, tray) if tray is not None else None
        if stage is None or move.spot is None:
            continue
        problem = spot_problem(state, move.spot, stage, tray=move.tray, moved=moved)
        found += [from_finding(entry, problem)] if problem else []
        if holder_of(state, move.spot, moved) is None:
            moved[move.spot] = move.tray
    return found


def apply_moved(state: FarmState, body: Moved, entry: Entry) -> None:
    """A tray said to stand where none can has left its old spot all the same; it stands nowhere until somebody says."""
    going = {move.tray: move.spot for move in body.moves}
    trays = [tray for name in going if (tray := grows(state, name)) is not None]
    for tray in trays:
        leave_spot(state, tray)
    for tray in trays:
        take_spot(state, tray, going[tray.tray])
