"""Trouble seen on a tray: how to tell mould from root hairs, and what a round says of trays that are held back."""

from __future__ import annotations

from trayward.farm.holds import SUSPECTED_MOULD

MOULD_TEST = (
    "mist it and wait a minute: root hairs vanish, mould stays, spans the seed and smells. If it stays, throw the "
    "whole tray away; never eat or sell it"
)
"""Common practice, no source."""

HELD_TEST = "if it is what it seems, throw the whole tray away; never eat or sell it"


def close_look(hold: str) -> str:
    """What is to be done with trays that are held back."""
    return MOULD_TEST if hold == SUSPECTED_MOULD else HELD_TEST
