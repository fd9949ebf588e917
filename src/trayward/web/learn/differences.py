"""What makes trays differ: causes, seed lots, the weeks."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from trayward.web.drawing.ranges import Row
from trayward.web.learn.shown import FEW, MOST_ROWS, Shown, factor_axis, share_axis, shown
from trayward.web.learn.words import Say, causes

if TYPE_CHECKING:
    from trayward.outlook.learning.drift import SeasonEffect
    from trayward.outlook.learning.effects import LotEffect
    from trayward.outlook.learning.shares import Spread

MOST_LOTS = 20


def spread(found: Spread, say: Say, *, days: bool = False) -> Shown | None:
    """Causes of the spread, the largest first; None where nothing can be told apart."""
    _ = say.words
    if found.trays < FEW or not found.shares:
        return None
    names = causes(say)
    drawn = [
        Row(
            name=say.chosen(part.what, names),
            low=part.low,
            mid=part.share,
            high=part.high,
            told=say.share_between(part.low, part.high),
        )
        for part in found.shares
    ]
    rows = [
        (
            say.chosen(part.what, names),
            say.share(part.share),
            say.share_between(part.low, part.high),
            str(part.levels or "–"),
        )
        for part in found.shares
    ]
    first = found.shares[0]
    words = (
        _(
            "%(cause)s explains the largest part of how the days differ: about %(share)s.",
            cause=say.chosen(first.what, names),
            share=say.share(first.share),
        )
        if days
        else _(
            "%(cause)s explains the largest part of how the weights differ: about %(share)s.",
            cause=say.chosen(first.what, names),
            share=say.share(first.share),
        )
    )
    heads = (_("Cause"), _("Share of the differences"), _("May truly be"), _("How many were seen"))
    return shown(words, heads, rows, drawn, share_axis(_("share of the differences"), say))


def lots(found: Sequence[LotEffect], named: frozenset[str], words: str, say: Say) -> Shown:
    """Seed lots against their like, the heaviest first."""
    _ = say.words
    far = sorted(found, key=lambda one: (one.lot not in named, -abs(one.factor - 1)))[:MOST_LOTS]
    far.sort(key=lambda one: (-one.factor, one.lot))
    drawn = [
        Row(
            name=one.lot,
            low=one.low,
            mid=one.factor,
            high=one.high,
            told=say.more_between(one.low, one.high),
            stands_out=one.lot in named,
        )
        for one in far
    ]
    rows = [
        (one.lot, say.more(one.factor), say.more_between(one.low, one.high), str(one.trays), _lot_mark(one, named, say))
        for one in sorted(found, key=lambda one: (-one.factor, one.lot))
    ]
    heads = (_("Seed lot"), _("Weight"), _("8 in 10"), _("Trays"), "")
    return msgspec.structs.replace(
        shown(words, heads, rows, drawn, factor_axis(drawn, say)), left_out=len(found) - len(far)
    )


def _lot_mark(one: LotEffect, named: frozenset[str], say: Say) -> str:
    _ = say.words
    if one.lot in named:
        return _("stands out")
    return _("its recipe's only lot") if one.alone else ""


def seasons(found: Sequence[SeasonEffect], words: str, say: Say) -> Shown:
    """Four weeks after four weeks against the usual, the oldest first."""
    _ = say.words
    names = [say.day(one.first) for one in found]
    drawn = [
        Row(name=name, low=one.low, mid=one.factor, high=one.high, told=say.more_between(one.low, one.high))
        for name, one in zip(names, found, strict=True)
    ][-MOST_ROWS:]
    rows = [
        (name, say.more(one.factor), say.more_between(one.low, one.high), str(one.trays))
        for name, one in zip(names, found, strict=True)
    ]
    heads = (_("Four weeks from"), _("Weight"), _("8 in 10"), _("Trays"))
    return shown(words, heads, rows, drawn, factor_axis(drawn, say))
