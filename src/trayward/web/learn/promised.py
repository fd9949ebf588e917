"""Promises held against what happened: of 10 trays promised within the range, so many were."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import msgspec

from trayward.web.drawing.look import Chart
from trayward.web.drawing.ranges import Row, ranges_chart
from trayward.web.learn.shown import share_axis
from trayward.web.learn.words import Say

if TYPE_CHECKING:
    from trayward.outlook.types import Held


class Promise(msgspec.Struct, frozen=True, kw_only=True):
    """One promise held against what happened."""

    promised: str
    held: str
    may_be: str
    trays: int
    sowings: int
    so: str
    """Whether it was kept, in words."""


class Promises(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of one sort, drawn and as a table."""

    what: str
    words: str
    chart: Chart
    rows: tuple[Promise, ...]


def promises(found: Sequence[Held], say: Say) -> tuple[Promises, ...]:
    """How often ranges of days and of weights held, by how often they were to."""
    told = []
    for what in ("days", "grams"):
        rows = [row for row in found if row.what == what]
        if rows:
            told.append(_promises(what, rows, say))
    return tuple(told)


def _promises(what: str, rows: Sequence[Held], say: Say) -> Promises:
    _ = say.words
    middle = next((row for row in rows if abs(row.promised - 0.8) < 0.01), rows[0])
    held = round(10 * middle.held)
    words = (
        _("Of 10 trays that were to be ready within the range, %(held)s were; 8 were promised.", held=held)
        if what == "days"
        else _("Of 10 trays that were to weigh within the range, %(held)s did; 8 were promised.", held=held)
    )
    drawn = [
        Row(
            name=_("Promised %(share)s", share=say.share(row.promised)),
            low=row.low,
            mid=row.held,
            high=row.high,
            told=_("held %(share)s", share=say.share(row.held)),
            before=(row.promised, row.promised, row.promised),
            stands_out=not _kept(row),
        )
        for row in rows
    ]
    return Promises(
        what=what,
        words=words,
        chart=ranges_chart(drawn, share_axis(_("share of the trays within their range"), say)),
        rows=tuple(
            Promise(
                promised=say.share(row.promised),
                held=say.share(row.held),
                trays=row.trays,
                sowings=row.sowings,
                may_be=say.share_between(row.low, row.high),
                so=_so(row, say),
            )
            for row in rows
        ),
    )


def _so(row: Held, say: Say) -> str:
    """Whether a promise was kept, so few trays being what they are."""
    _ = say.words
    if _kept(row):
        return _("as promised")
    return _("held more often") if row.held > row.promised else _("held less often")


def _kept(row: Held) -> bool:
    return row.low <= row.promised <= row.high
