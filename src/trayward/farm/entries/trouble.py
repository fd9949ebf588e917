"""Entries about trouble seen on trays."""

from __future__ import annotations

import msgspec

from trayward.farm.entries.body import TrayBody


class TroubleSeen(TrayBody, frozen=True, kw_only=True):
    """Trouble seen on trays, also on ones that were cut: the sign, and what is thought to be behind it."""

    KIND = "trouble seen"
    sign: str
    """What eyes and nose tell, by the guide's name or in a word of one's own: `white fuzz`, `fallen`."""
    cause: str = ""
    """What it most likely is, by the guide's name; empty: nobody said."""
    where: str = ""
    """Where on the tray, in a word: `edge`, `middle`, `corner`, `all over`."""
    share: float | None = None
    """Share of the tray that has it, 0 to 1."""
    looks: dict[str, bool] = msgspec.field(default_factory=dict)
    """What a close look answered, question by question: `gone when misted`: true."""
    hold: str = ""
    """Why the trays are held back from cutting, packing and sale until somebody clears them; empty: they are not."""
    note: str = ""


class TroubleCleared(TrayBody, frozen=True, kw_only=True):
    """Somebody looked close: what the trays were held back for was something else."""

    KIND = "trouble cleared"
    found: str
    """What it was instead: `root hairs`."""
    note: str = ""
