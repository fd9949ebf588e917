"""What the first pages show."""

from __future__ import annotations

import msgspec

from trayward import __version__


class About(msgspec.Struct, frozen=True, kw_only=True):
    """What this is."""

    version: str
    licence: str


def about_words() -> About:
    """Version and licence."""
    return About(version=__version__, licence="Apache-2.0")
