"""What the page of records shows: forms made from the kinds' fields, what is due, and what was found."""

from __future__ import annotations

import re
from collections.abc import Sequence

import msgspec

from trayward.farm.settings import ShownUnits
from trayward.hygiene.due import ReviewDue
from trayward.hygiene.kinds import Kind
from trayward.hygiene.pack import RecordShown
from trayward.hygiene.words import Piece, figure_words, limit_words, record_pieces
from trayward.rounds.records import shown_limit
from trayward.rounds.types import FieldAsked
from trayward.units import parse_temperature
from trayward.web.faults import as_field
from trayward.web.typed import Typed

SAID = "said_"


class FieldShown(msgspec.Struct, frozen=True, kw_only=True):
    """A field of a form."""

    name: str
    field: str
    title: str
    number: bool
    required: bool
    unit: str
    limit: str = ""
    low: float | None = None
    high: float | None = None
    """The limits in the unit that is typed."""
    usual: str = ""
    """What it said last time, where that is usually the same."""


class FoundShown(msgspec.Struct, frozen=True, kw_only=True):
    """A record in the list."""

    seen: RecordShown
    words: tuple[Piece, ...]


class ToReview(msgspec.Struct, frozen=True, kw_only=True):
    """A record to look at."""

    due: ReviewDue
    words: tuple[Piece, ...]


def form_name(field: str) -> str:
    """
    What a field is called in a form.

    Examples
    --------
    >>> form_name("e. coli")
    'said_e_coli'
    """
    return SAID + re.sub(r"\W+", "_", field).strip("_")


def fields_of(asks: Sequence[FieldAsked], units: ShownUnits) -> tuple[FieldShown, ...]:
    """The fields of a record, a limit beside each that has one."""
    return tuple(
        FieldShown(
            name=form_name(each.field), field=as_field(each.field), title=each.title, number=each.number,
            required=each.required, unit=units.temperature if each.unit == "C" else each.unit,
            limit=_limit(each, units), low=_end(each.low, each, units), high=_end(each.high, each, units),
            usual=each.usual,
        )
        for each in asks
    )  # fmt: skip


def _limit(each: FieldAsked, units: ShownUnits) -> str:
    if each.low is not None and each.high is not None:
        return f"{figure_words(each.low, each.unit, units)} to {figure_words(each.high, each.unit, units)}"
    return limit_words(each.low, each.high, each.unit, units)


def _end(value: float | None, each: FieldAsked, units: ShownUnits) -> float | None:
    """A limit in the unit that is typed."""
    return None if value is None else shown_limit(value, each.unit, units)


def values_typed(form: Typed, kind: Kind, units: ShownUnits) -> dict[str, str | float]:
    """What was typed into the fields of a record; a bare number is in the degrees this person reads."""
    values: dict[str, str | float] = {}
    for each in kind.fields:
        name = form_name(each.name)
        if form.has(name):
            said, degrees = form.text(name), units.temperature
            warmth = round(parse_temperature(said, default=degrees, name=each.name), 2) if each.unit == "C" else None
            values[each.name] = said if warmth is None else warmth
    return values


def found_of(records: list[RecordShown], units: ShownUnits) -> list[FoundShown]:
    """Records in words."""
    return [FoundShown(seen=each, words=record_pieces(each.record, units)) for each in records]


def to_review(reviews: tuple[ReviewDue, ...], units: ShownUnits) -> list[ToReview]:
    """Records that wait for a review, in words."""
    return [ToReview(due=each, words=record_pieces(each.held.record, units)) for each in reviews]
