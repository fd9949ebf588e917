"""Whose kit waits to be washed: which trays the dirty, washed and lent pieces of a pool were under, the first first.

Pieces of a pool are alike, so that which of them is washed nobody knows where they carry no marks: those that became
dirty first are taken to be washed first. It says what a washing was for, and so what a tray's cleaning cost.
"""

from __future__ import annotations

from collections.abc import Iterable

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


def pass_on(held: PoolState, where: Where, count: int, to: Where | None = None) -> list[Owner]:
    """The first so many pieces leave there, for another place or for nowhere in particular; whose they were."""
    moved = first_in_line(held, where, count)
    if moved:
        line, last = held.owners[where], moved[-1]
        rest = line[len(moved) - 1].count - last.count
        line[: len(moved)] = [Owner(last.tray, rest)] if rest else []
    for owner in moved if to is not None else ():
        owe(held, to, owner.tray, owner.count)  # type: ignore[arg-type]
    return moved


def by_tray(owners: Iterable[Owner]) -> dict[str, int]:
    """Pieces by the tray they were under."""
    found: dict[str, int] = {}
    for owner in owners:
        found[owner.tray] = found.get(owner.tray, 0) + owner.count
    return found
