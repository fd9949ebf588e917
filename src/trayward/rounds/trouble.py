"""Trouble seen on a tray: which words mean mould, and how to tell mould from root hairs."""

from __future__ import annotations

MOULD_WORDS = ("mould", "mold", "fung")
"""A problem with one of these in it is suspected mould; `fung` for fungus and fungal."""

MOULD_TEST = (
    "mist it and wait a minute: root hairs vanish, mould stays, spans the seed and smells. If it stays, throw the "
    "whole tray away; never eat or sell it"
)
"""Common practice, no source."""


def suspects_mould(problem: str) -> bool:
    """
    Whether the words for trouble seen mean mould.

    Examples
    --------
    >>> suspects_mould("Mould?"), suspects_mould("fallen")
    (True, False)
    """
    return any(word in problem.lower() for word in MOULD_WORDS)
