"""What the page of records shows: forms made from the kinds' fields, what is due, and what was found."""

from __future__ import annotations

import re

import msgspec

from trayward.farm.records import Habit
from trayward.farm.settings import ShownUnits
from trayward.hygiene.due import ReviewDue
from trayward.hygiene.kinds import Field, Kind, limits_of
from trayward.hygiene.pack import RecordShown
from trayward.hygiene.words import Piece, figure_words, limit_words, record_pieces
from trayward.web.faults import as_field

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


class FoundShown(msgspec.Struct, frozen=True, kw_only=True):
    """A record in the list."""

    seen: RecordShown
    words: tuple[Piece, ...]


class ToReview(msgspec.Struct, frozen=True, kw_only=True):
    """A record to look at."""

    due: ReviewDue
    words: tuple[Piece, ...]


def form_name(field: Field) -> str:
    """
    What a field is called in a form.

    Examples
    --------
    >>> form_name(Field(name="e. coli", title="E. coli"))
    'said_e_coli'
    """
    return SAID + re.sub(r"\W+", "_", field.name).strip("_")


def fields_of(kind: Kind, habit: Habit | None, units: ShownUnits) -> tuple[FieldShown, ...]:
    """The fields of a kind, a limit beside each that has one."""
    return tuple(
        FieldShown(
            name=form_name(each), field=as_field(each.name), title=each.title, number=each.number,
            required=each.required,
            unit=units.temperature if each.unit == "C" else each.unit, limit=_limit(each, habit, units),
        )
        for each in kind.fields
    )  # fmt: skip


def _limit(field: Field, habit: Habit | None, units: ShownUnits) -> str:
    low, high = limits_of(field, habit)
    if low is not None and high is not None:
        return f"{figure_words(low, field.unit, units)} to {figure_words(high, field.unit, units)}"
    return limit_words(low, high, field.unit, units)


def found_of(records: list[RecordShown], units: ShownUnits) -> list[FoundShown]:
    """Records in words."""
    return [FoundShown(seen=each, words=record_pieces(each.record, units)) for each in records]


def to_review(reviews: tuple[ReviewDue, ...], units: ShownUnits) -> list[ToReview]:
    """Records that wait for a review, in words."""
    return [ToReview(due=each, words=record_pieces(each.held.record, units)) for each in reviews]
