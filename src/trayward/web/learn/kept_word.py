"""How the plan kept its word: of the order lines told 9 in 10, so many were met."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from trayward.web.learn.words import Say

if TYPE_CHECKING:
    from trayward.plan.kept_word import KeptWord, WordRow


class Word(msgspec.Struct, frozen=True, kw_only=True):
    """Promises of about the same chance, in figures as the page writes them."""

    chance: str
    told: str
    met: str
    may_be: str
    lines: int
    so: str


class Before(msgspec.Struct, frozen=True, kw_only=True):
    """Promises made about as long before the day."""

    days: str
    told: str
    met: str
    promises: int


class KeptWordShown(msgspec.Struct, frozen=True, kw_only=True):
    """Whether the plan kept its word: sentences, and two tables."""

    words: tuple[str, ...]
    rows: tuple[Word, ...]
    before: tuple[Before, ...]


def word_shown(found: KeptWord, say: Say) -> KeptWordShown:
    """The record of kept plans as the page shows it."""
    return KeptWordShown(
        words=found.words,
        rows=tuple(
            Word(
                chance=row.chance,
                told=say.share(row.told),
                met=say.share(row.met),
                may_be=say.share_between(row.low, row.high),
                lines=row.lines,
                so=_so(row, say),
            )
            for row in found.rows
        ),
        before=tuple(
            Before(
                days=_days(one.days_from, one.days_to, say),
                told=say.share(one.promised),
                met=say.share(one.kept),
                promises=one.promises,
            )
            for one in found.ahead
        ),
    )


def _days(first: int, last: int, say: Say) -> str:
    from trayward.plan.kept_word import FAR_DAYS

    _ = say.words
    if last > FAR_DAYS:
        return _("%(days)s days or more", days=first)
    return _("%(low)s to %(high)s days", low=first, high=last)


def _so(row: WordRow, say: Say) -> str:
    """Whether it came out as it was told, so few lines being what they are."""
    _ = say.words
    if row.so == "few":
        return _("too few to judge")
    if row.so == "held":
        return _("as told")
    return _("met more often") if row.so == "more" else _("met less often")
