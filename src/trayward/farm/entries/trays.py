"""Entries about standing trays: looks, water and feed, moves, stages, measures."""

from __future__ import annotations

from typing import Literal

from trayward.farm.entries.body import Body, TrayBody
from trayward.farm.entries.sowing import TraySown


class RoundAnswered(TrayBody, frozen=True, kw_only=True):
    """What the grower saw on a round. Only what was said is set."""

    KIND = "round answered"
    round: str = ""
    """Which walk: `2026-11-25 morning`; empty for a look outside the rounds."""
    moisture: Literal["moist", "dry"] | None = None
    cue: Literal["ready", "not yet"] | None = None
    share_emerged: float | None = None
    height_mm: float | None = None
    problem: str = ""
    """A word for trouble seen, for instance `mould`, `fallen`, `uneven`; empty: none seen."""
    note: str = ""


class Watered(TrayBody, frozen=True, kw_only=True):
    """Water given, to each tray. [ml]"""

    KIND = "watered"
    ml: float
    way: Literal["mist", "below", "soak"] = "below"


class Fed(TrayBody, frozen=True, kw_only=True):
    """Feed given, to each tray, from below. [ml], EC [dS/m]"""

    KIND = "fed"
    ml: float
    ph: float | None = None
    ec: float | None = None
    feed: str = ""


class Moved(Body, frozen=True, kw_only=True):
    """Trays went to other spots, all at once, so two may swap."""

    KIND = "moved"
    moves: tuple[TraySown, ...]

    def subjects(self) -> tuple[str, ...]:
        return tuple(f"tray:{move.tray}" for move in self.moves)


class StageChanged(TrayBody, frozen=True, kw_only=True):
    """Trays begin a stage."""

    KIND = "stage changed"
    stage: str


class Measured(TrayBody, frozen=True, kw_only=True):
    """A measure of each of some trays. `what` says which: height_mm, weight_g, canopy_share, ..."""

    KIND = "measured"
    what: str
    value: float
    unit: str = ""


class Discarded(TrayBody, frozen=True, kw_only=True):
    """Trays thrown away."""

    KIND = "discarded"
    reason: str
