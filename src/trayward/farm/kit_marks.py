"""Marked kit: which mat is where, which were longest at rest, and how marks go round with the counts of their pool.

The counts of a pool stay what rounds and plan reckon with. Where a deed names no marks, those move with it that must:
all that were dirty, if none is dirty any more. Of the others nobody knows, and they stay as they were.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime, timedelta

from trayward.errors import InputError
from trayward.farm.entries import Entry, KitUsed, MarksOn, SowingMade
from trayward.farm.kit import GONE, Mark, PoolState, Where
from trayward.farm.state import FarmState, Tray

MARK = re.compile(r"[A-Za-z][A-Za-z0-9-]{0,15}")
MOST_AT_ONCE = 2000
"""So many marks are made at once at most; more is a slip of the finger. Our choice. [-]"""
_SPAN = re.compile(r"([A-Za-z][A-Za-z-]*)(\d+)\s*-\s*(?:\1)?(\d+)")


# Reading marks --------------------------------------------------------------------------------------------------------


def read_marks(words: str) -> tuple[str, ...]:
    """
    Marks as people write them: one by one, or from one to another.

    Raises
    ------
    InputError
        For what cannot be a mark, or far too many.

    Examples
    --------
    >>> read_marks("M1-M3, C7 C9")
    ('M1', 'M2', 'M3', 'C7', 'C9')
    >>> read_marks("M08-12")
    ('M08', 'M09', 'M10', 'M11', 'M12')
    """
    spaced = re.sub(r"\s*-\s*", "-", words)
    found = [mark for part in re.split(r"[,;\s]+", spaced) if part for mark in _span(part)]
    for mark in found:
        if MARK.fullmatch(mark) is None:
            raise InputError("marks", mark, "a mark is a letter and then letters or digits", "For instance M1-M40.")
    return tuple(dict.fromkeys(found))


def _span(part: str) -> list[str]:
    spans = _SPAN.fullmatch(part)
    if spans is None:
        return [part]
    letters, first, last = spans.groups()
    if not 0 <= int(last) - int(first) < MOST_AT_ONCE:
        rule = f"it must go up, by fewer than {MOST_AT_ONCE}"
        raise InputError("marks", part, rule, "For instance M1-M40.")
    return [f"{letters}{number:0{len(first)}d}" for number in range(int(first), int(last) + 1)]


def in_order(mark: str) -> tuple[str, int, str]:
    """A key that puts M9 before M10."""
    letters = mark.rstrip("0123456789")
    return letters, int(mark[len(letters) :] or 0), mark


def marks_words(marks: Iterable[str], most: int = 12) -> str:
    """
    Marks in a row, runs of them drawn together.

    Examples
    --------
    >>> marks_words(["M3", "M1", "M2", "M9", "C7", "C8"])
    'C7, C8, M1-M3, M9'
    """
    runs: list[list[str]] = []
    for mark in sorted(marks, key=in_order):
        letters, number, _ = in_order(mark)
        if runs and in_order(runs[-1][-1])[:2] == (letters, number - 1) and len(runs[-1][-1]) <= len(mark):
            runs[-1].append(mark)
        else:
            runs.append([mark])
    words = [part for run in runs for part in ([f"{run[0]}-{run[-1]}"] if len(run) > 2 else run)]
    return ", ".join(words[:most]) + (f", {len(words) - most} more" if len(words) > most else "")


def pool_of(state: FarmState, mark: str) -> PoolState | None:
    """The pool a mark belongs to; a mark is used once on a farm."""
    return next((held for held in state.kit.values() if mark in held.marks), None)


def marks_where(held: PoolState, *where: Where) -> list[str]:
    """A pool's marks that are somewhere, in order."""
    return sorted((name for name, mark in held.marks.items() if mark.where in where), key=in_order)


def rested(held: PoolState, at: datetime) -> list[str]:
    """Marks that are cleared at a moment, the longest at rest first."""
    free = [(mark.since, name) for name, mark in held.marks.items() if mark.where == "ready" and dry(mark, at)]
    return [name for _, name in sorted(free, key=lambda each: (each[0] is not None, each[0] or at, in_order(each[1])))]


def dry(mark: Mark, at: datetime) -> bool:
    """Whether a ready one is dry."""
    return mark.since is None or mark.since <= at


# Giving them to trays -------------------------------------------------------------------------------------------------


def proposed(
    state: FarmState, needed: Mapping[str, int], trays: int, at: datetime, but: Collection[str] = ()
) -> tuple[str, ...]:
    """
    Marks for a sowing: of every marked pool it needs, the longest rested; none of a pool that has too few.

    Parameters
    ----------
    needed : mapping of str to int
        Pool -> pieces for one tray.
    but : collection of str
        Marks that are promised to others.
    """
    found: list[str] = []
    for pool, each in needed.items():
        held = state.kit.get(pool)
        there = rested(held, at) if held is not None and held.marks else []
        free = [mark for mark in there if mark not in but]
        if len(free) >= each * trays:
            found += free[: each * trays]
    return tuple(found)


def dealt(
    state: FarmState, marks: Sequence[str], needed: Mapping[str, int], trays: Sequence[str]
) -> tuple[MarksOn, ...]:
    """
    Marks dealt out to trays in order, as many of each pool to a tray as it needs.

    Raises
    ------
    InputError
        If the farm has no such mark, or there are more of a pool than the trays take.
    """
    by_pool: dict[str, list[str]] = {}
    for mark in dict.fromkeys(marks):
        held = pool_of(state, mark)
        if held is None:
            raise InputError("marks", mark, "the farm has no kit of that mark", "See them with: trayward kit marks")
        by_pool.setdefault(held.pool.name, []).append(mark)
    found: dict[str, list[str]] = {}
    for pool, there in by_pool.items():
        each = needed.get(pool, 0)
        if len(there) > each * len(trays):
            rule = f"{len(trays)} trays take {each * len(trays)} of {pool}"
            if len(trays) == 1:
                rule = f"1 tray takes {each} of {pool}"
            raise InputError("marks", marks_words(there), rule, "Name as many as are used.")
        for number, mark in enumerate(there):
            found.setdefault(trays[number // each], []).append(mark)
    return tuple(MarksOn(tray=tray, marks=tuple(found[tray])) for tray in trays if tray in found)


def by_pools(state: FarmState, marks: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Known marks by their pool, each once."""
    found: dict[str, list[str]] = {}
    for mark in dict.fromkeys(marks):
        held = pool_of(state, mark)
        if held is not None:
            found.setdefault(held.pool.name, []).append(mark)
    return {pool: tuple(names) for pool, names in found.items()}


def put_under(state: FarmState, tray: Tray, marks: Iterable[str]) -> None:
    """A tray is on these marks now; others of the same pools that it was said to be on are free again, unused."""
    for pool, names in by_pools(state, marks).items():
        held = state.kit[pool]
        _take_back(held, tray.tray, [mark for mark in held.on.get(tray.tray, ()) if mark not in names])
        for name in names:
            _put_on(held, tray.tray, name)


def _put_on(held: PoolState, tray: str, name: str) -> None:
    """A mark is in use by a tray from now on; nothing changes where it is already."""
    mark = held.marks[name]
    if mark.where == "in use":
        if mark.tray == tray:
            return
        _leave(held, mark.tray, name)
    mark.where, mark.tray, mark.since = "in use", tray, None
    mark.uses += 1
    held.on[tray] = (*held.on.get(tray, ()), name)


def _take_back(held: PoolState, tray: str, marks: Sequence[str]) -> None:
    for name in marks:
        _leave(held, tray, name)
        mark = held.marks[name]
        mark.where, mark.tray = "ready", ""
        mark.uses -= 1


def _leave(held: PoolState, tray: str, mark: str) -> None:
    left = tuple(name for name in held.on.get(tray, ()) if name != mark)
    if left:
        held.on[tray] = left
    else:
        held.on.pop(tray, None)


def let_go(held: PoolState, tray: str, where: Where, *, suspect: bool = False) -> None:
    """The marks a tray holds of a pool go elsewhere."""
    for name in held.on.pop(tray, ()):
        mark = held.marks[name]
        mark.where = where
        mark.suspect = mark.suspect or suspect


def marks_told(state: FarmState, tray: str, entries: Iterable[Entry]) -> tuple[str, ...]:
    """
    The marks a tray was on, out of what counts of what was said about it: of each pool those said last.

    Parameters
    ----------
    entries : iterable of Entry
        In the order of happening, without those taken back.
    """
    found: dict[str, tuple[str, ...]] = {}
    for entry in entries:
        body = entry.body
        if isinstance(body, SowingMade):
            given = next((on.marks for on in body.marks if on.tray == tray), ())
        elif isinstance(body, KitUsed) and body.tray == tray:
            given = body.marks
        else:
            continue
        found |= by_pools(state, given)
    return tuple(mark for marks in found.values() for mark in marks)


# Washing --------------------------------------------------------------------------------------------------------------


def which(
    held: PoolState, where: Where, there: int, count: int | None, marks: Sequence[str], deed: str
) -> tuple[int, tuple[str, ...]]:
    """
    How many of a pool a deed was done to, and which marks: all that are there, if nobody says.

    Where only some of the marked ones are named, a count of all that are there is one that nobody changed: the names
    say how many it was.

    Parameters
    ----------
    there : int
        How many are `where` the deed finds them, marked or not.
    count : int or None
        How many were said.
    marks : sequence of str
        Which were said.
    deed : str
        What was done, for who has to say which: `washed`.

    Raises
    ------
    InputError
        If some of marked ones were done and nobody said which.
    """
    named, known = tuple(dict.fromkeys(marks)), marks_where(held, where)
    number = count if count is not None else len(named) or there
    unnamed = [mark for mark in known if mark not in named]
    if not unnamed or number - len(named) <= there - len(known):
        return number, named
    if number >= there:
        return (len(named), named) if named else (number, tuple(known))
    rule = f"{number} of {there} {held.pool.name} were {deed}, and they carry marks"
    raise InputError("marks", "not said", rule, f"Say which of {marks_words(known)}.")


def moved_marks(held: PoolState, where: Where, named: Sequence[str], left: int) -> list[Mark]:
    """Of the marks somewhere those a deed was done to: the named ones, or all if nothing is `left` there any more."""
    names = named or (tuple(held.marks) if left == 0 else ())
    marks = (held.marks.get(name) for name in dict.fromkeys(names))
    return [mark for mark in marks if mark is not None and mark.where == where]


def to_dry(held: PoolState, marks: Iterable[Mark], at: datetime) -> None:
    """These are clean, and dry after the pool's time."""
    for mark in marks:
        mark.where, mark.since, mark.suspect = "ready", at + timedelta(hours=held.pool.dry_hours), False


def in_service(held: PoolState) -> int:
    """How many marked things are not gone."""
    return sum(mark.where not in GONE for mark in held.marks.values())
