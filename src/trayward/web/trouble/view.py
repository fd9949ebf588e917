"""What the pages of trouble show, worked out from the guide and the farm's state."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

import msgspec

from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import Cause, Look, Sign, Told, trouble_guide
from trayward.rounds.trouble_rank import Ranked, rank_causes
from trayward.sources import PRACTICE, source

MOST_TRAYS = 40
"""More than this many trays are not listed on a page."""


class HeldTray(msgspec.Struct, frozen=True, kw_only=True):
    """A tray that is held back."""

    tray: str
    crop: str
    spot: str
    why: str
    growing: bool
    since: datetime | None
    by: str


class CauseShown(msgspec.Struct, frozen=True, kw_only=True):
    """A cause with how likely it is, the reasons of this tray, and what the guide says."""

    ranked: Ranked
    cause: Cause


def held_shown(state: FarmState, held: Mapping[str, str]) -> tuple[HeldTray, ...]:
    """The trays that are held back, those that grow first."""
    found = []
    for name, why in held.items():
        tray = state.tray(name)
        if tray is None:
            continue
        first = next(each for each in tray.troubles if each.hold and each.cleared_at is None)
        found.append(
            HeldTray(
                tray=name, crop=tray.crop, spot=tray.spot or "", why=why, growing=tray.fate == "growing",
                since=first.at, by=first.by,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda each: (not each.growing, each.tray)))


def causes_shown(
    state: FarmState, tray: Tray | None, sign: Sign, at: datetime, *, looks: Mapping[str, bool], where: str = ""
) -> tuple[CauseShown, ...]:
    """The causes of a sign, the likeliest first; by the guide alone where no tray is named."""
    guide = trouble_guide()
    ranked = rank_causes(state, tray, sign, at, looks=looks, where=where)
    return tuple(CauseShown(ranked=each, cause=guide.cause(each.cause)) for each in ranked)


def looks_of(sign: Sign) -> tuple[Look, ...]:
    """What to look for with a sign."""
    guide = trouble_guide()
    return tuple(guide.look(name) for name in sign.looks)


def cited(line: Told) -> str:
    """Where a sentence of the guide comes from; empty for what growers commonly do."""
    return "" if line.source == PRACTICE else source(line.source).citation.rstrip(".")
