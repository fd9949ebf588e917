"""Whose kit waits to be washed: which trays the dirty, washed and lent pieces of a pool were under, the first first.

Pieces of a pool are alike, so that which of them is washed nobody knows where they carry no marks: those that became
dirty first are taken to be washed first. Where marks were named, it is the trays that these were under. It says what a
washing was for, and so what a tray's cleaning cost.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

from trayward.farm.kit import Owner, PoolState, Where


def owe(held: PoolState, where: Where, tray: str, count: int) -> None:
    """Some pieces that were under a tray are there now."""
    if count <= 0:
        return
    line = held.owners.setdefault(where, [])
    line.append(Owner(tray, count))
    # A farm that never writes a washing down has no more pieces than it owns.
    del line[: max(len(line) - max(held.pool.count, 1), 0)]


def first_in_line(held: PoolState, where: Where, count: int) -> list[Owner]:
    """Whose the first so many pieces are; fewer where nobody knows of more."""
    found: list[Owner] = []
    for owner in held.owners.get(where, ()):
        if count <= 0:
            break
        found.append(Owner(owner.tray, min(owner.count, count)))
        count -= owner.count
    return found


def pass_on(
    held: PoolState, where: Where, count: int, to: Where | None = None, *, under: Sequence[str] = ()
) -> list[Owner]:
    """
    So many pieces leave there, for another place or for nowhere in particular; whose they were.

    `under`: the trays of those that were named, one for each; the others leave in line.
    """
    named = _under(held, where, under[: max(count, 0)])
    first = first_in_line(held, where, count - sum(owner.count for owner in named))
    if first:
        line, last = held.owners[where], first[-1]
        rest = line[len(first) - 1].count - last.count
        line[: len(first)] = [Owner(last.tray, rest)] if rest else []
    moved = [*named, *first]
    for owner in moved if to is not None else ():
        owe(held, to, owner.tray, owner.count)  # type: ignore[arg-type]
    return moved


def _under(held: PoolState, where: Where, trays: Iterable[str]) -> list[Owner]:
    """Take one piece out of the line for each of these trays, where it has one."""
    line, found = held.owners.get(where, []), []
    for tray in trays:
        place = next((at for at, owner in enumerate(line) if owner.tray == tray), None)
        if place is None:
            continue
        left = line[place].count - 1
        line[place : place + 1] = [Owner(tray, left)] if left else []
        found.append(tray)
    return [Owner(tray, count) for tray, count in Counter(found).items()]


def by_tray(owners: Iterable[Owner]) -> dict[str, int]:
    """Pieces by the tray they were under."""
    found: dict[str, int] = {}
    for owner in owners:
        found[owner.tray] = found.get(owner.tray, 0) + owner.count
    return found
