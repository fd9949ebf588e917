"""What the page of rules shows, from what the record knows and what was said on the page."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from urllib.parse import urlencode

import msgspec

from trayward.desk.ruling import FACTS
from trayward.hygiene.kinds import title_of
from trayward.library.rules import Reading

OF_FARM = ("country", "produce", "food", "near_share", "near", *FACTS)
OF_CROP = tuple(f"{name}-" for name in (*FACTS, "listed", "why", "set"))
"""What answers are called: of the farm whole, and what begins those of a crop or a threshold."""


def answers_in(said: Iterable[tuple[str, str]]) -> str:
    """
    The answers among what an address says, as they are kept; what is blank or no answer is left out.

    Examples
    --------
    >>> answers_in([("country", "US"), ("roots", ""), ("roots-pea", "cut off"), ("page", "2")])
    'country=US&roots-pea=cut+off'
    """
    return urlencode([(name, word.strip()) for name, word in said
                      if word.strip() and (name in OF_FARM or name.startswith(OF_CROP))])  # fmt: skip


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of record that a rule would ask for, and how many the farm wrote in the last year."""

    kind: str
    title: str
    count: int


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """A reading as the page shows it."""

    reading: Reading
    kept: tuple[Kept, ...]


def shown_of(readings: Sequence[Reading], kept: Mapping[str, int]) -> tuple[Shown, ...]:
    """Readings, those that may apply first; in each the order of the table."""
    order = ("may apply", "cannot be told", "does not seem to apply")
    found = sorted(readings, key=lambda each: order.index(each.leaning))
    return tuple(
        Shown(
            reading=each,
            kept=tuple(Kept(kind=kind, title=title_of(kind), count=kept.get(kind, 0)) for kind in each.records),
        )
        for each in found
    )
