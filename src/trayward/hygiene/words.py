"""Records in words and rows: the same on the terminal, the pages and paper."""

from __future__ import annotations

from typing import NamedTuple

from trayward.errors import InputError
from trayward.farm.often import often_words
from trayward.farm.records import Habit, HygieneRecord, Value
from trayward.farm.settings import METRIC, ShownUnits
from trayward.hygiene.kinds import Kind, known_kind, title_of
from trayward.units import degrees_in, show_number
from trayward.words import Own, filled, in_a_row


def field_title(kind: str, field: str) -> str:
    """What a field of a kind is called; of one that is not known, its name."""
    known = known_kind(kind)
    return next((each.title for each in known.fields if each.name == field), field) if known is not None else field


def figure_words(value: float | str, unit: str, units: ShownUnits = METRIC) -> str:
    """A value with its unit, a temperature as the farm reads it."""
    if isinstance(value, str):
        return value
    if unit != "C":
        return f"{show_number(value)} {unit}".rstrip()
    # To a tenth: beside a limit a whole degree is too coarse.
    return f"{round(degrees_in(value, units.temperature), 1) + 0.0:g} {units.temperature}"


def limit_words(low: float | None, high: float | None, unit: str, units: ShownUnits = METRIC) -> str:
    """The limits of a figure; empty where there is none."""
    ends = [f"at least {figure_words(low, unit, units)}"] if low is not None else []
    ends += [f"at most {figure_words(high, unit, units)}"] if high is not None else []
    return " and ".join(ends)


def value_words(kind: str, value: Value, units: ShownUnits = METRIC) -> str:
    """
    A value under its title, with its limit where it lies beyond.

    Examples
    --------
    >>> value_words("cold room", Value(field="temperature", value=9.0, unit="C", high=5.0))
    'Temperature 9 C (limit: at most 5 C)'
    """
    colon = ":" if isinstance(value.value, str) else ""
    title = f"{field_title(kind, value.field)}{colon}"
    said = in_a_row((title, figure_words(value.value, value.unit, units)), " ")
    limit = limit_words(value.low, value.high, value.unit, units)
    return filled("{said} (limit: {limit})", said=said, limit=limit) if value.outside else said


def values_words(record: HygieneRecord, units: ShownUnits = METRIC) -> str:
    """All values of a record in a row."""
    return ", ".join(value_words(record.kind, value, units) for value in record.values)


class Piece(NamedTuple):
    """A part of what a record says: words of ours, or what somebody wrote, with the marks around it."""

    words: str
    own: bool = False
    """True: it is theirs, and said in no other language."""


def record_words(record: HygieneRecord, units: ShownUnits = METRIC) -> str:
    """A record as a sentence without a full stop."""
    return in_a_row((Own(piece.words) if piece.own else piece.words for piece in record_pieces(record, units)), "")


def record_pieces(record: HygieneRecord, units: ShownUnits = METRIC) -> tuple[Piece, ...]:
    """The same in pieces, for a page that says our words in another language and leaves theirs."""
    found = [Piece(title_of(record.kind)), Piece(f", {record.area}: " if record.area else ": ", own=True)]
    found += values_pieces(record, units)
    if record.corrective:
        found += [Piece("; ", own=True), Piece("done about it"), Piece(f": {record.corrective}", own=True)]
    if record.note:
        found.append(Piece(f" ({record.note})", own=True))
    return tuple(found)


def values_pieces(record: HygieneRecord, units: ShownUnits = METRIC) -> list[Piece]:
    """All values of a record in a row, in pieces."""
    found: list[Piece] = []
    for at, value in enumerate(record.values):
        if at:
            found.append(Piece(", ", own=True))
        found += _value_pieces(record.kind, value, units)
    return found


def _value_pieces(kind: str, value: Value, units: ShownUnits) -> list[Piece]:
    if isinstance(value.value, str):
        return [Piece(field_title(kind, value.field)), Piece(f": {value.value}", own=True)]
    return [Piece(value_words(kind, value, units))]


def habit_words(habit: Habit, units: ShownUnits = METRIC) -> str:
    """How often a record is kept, as a sentence without a full stop."""
    where = in_a_row((title_of(habit.kind), Own(habit.area)))
    if habit.ended:
        return filled("{title}: no longer asked for", title=where)
    said = [_rule_words(habit)]
    kind = known_kind(habit.kind)
    for limit in habit.limits:
        unit = next((each.unit for each in kind.fields if each.name == limit.field), "") if kind else ""
        shown = limit_words(limit.low, limit.high, unit, units)
        said.append(in_a_row((field_title(habit.kind, limit.field), shown), " "))
    if habit.review_days is not None:
        said.append(filled("reviewed within {days} d", days=str(habit.review_days)))
    return in_a_row((where, in_a_row(said)), ": ")


def basis_words(kind: Kind) -> str:
    """Where a kind's fields come from, and how far that was checked."""
    seen = "" if kind.seen or "from memory" in kind.source else " (from memory)"
    return f"Basis: {kind.source}{seen}. Kept {kind.keep_years} years at least."


def _rule_words(habit: Habit) -> str:
    """A repeat in words; of a record that arrived with one that is no rule, as it was said."""
    try:
        return often_words(habit.rule, habit.times)
    except InputError:
        return habit.rule
