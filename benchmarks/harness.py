"""What every benchmark shares: the figure it gives, how it is shown, and how time is taken.

A benchmark is a module with a function `figures() -> list[Figure]`, and at its end

    if __name__ == "__main__":
        run(figures)

Every figure is measured in the same run as the peer it stands beside, on the same machine; a figure without a peer
says so with an empty name.
"""

from __future__ import annotations

import argparse
import gc
import json
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import asdict, dataclass


@dataclass(frozen=True)
class Figure:
    """One measured number, and the number it stands beside.

    `value` and `peer_value` are in `unit`; `ratio` is value / peer_value [-], worked out where it is not given.
    """

    name: str
    size: str
    value: float
    unit: str
    peer: str = ""
    peer_value: float | None = None
    ratio: float | None = None

    def __post_init__(self) -> None:
        if self.ratio is None and self.peer_value:
            object.__setattr__(self, "ratio", self.value / self.peer_value)


def measure(act: Callable[[], object], *, repeat: int = 5, warm_up: int = 1) -> float:
    """Median time of `act` over `repeat` runs, after some that do not count. [s]"""
    for _ in range(warm_up):
        act()
    return statistics.median(once(act) for _ in range(repeat))


def measure_beside(
    act: Callable[[], object], peer: Callable[[], object], *, repeat: int = 5, warm_up: int = 1
) -> tuple[float, float]:
    """Median times of two things run turn about, so that a slow moment of the machine strikes both. [s], [s]"""
    for _ in range(warm_up):
        act()
        peer()
    pairs = [(once(act), once(peer)) for _ in range(repeat)]
    return statistics.median(mine for mine, _ in pairs), statistics.median(theirs for _, theirs in pairs)


def once(act: Callable[[], object]) -> float:
    """Time of one run, with what earlier runs left behind swept up first. [s]"""
    gc.collect()
    began = time.perf_counter()
    act()
    return time.perf_counter() - began


def show_number(value: float | None) -> str:
    """A number with about three digits that count, no more than were measured."""
    if value is None:
        return "-"
    if abs(value) >= 100:
        return f"{value:,.0f}"
    return f"{value:.3g}"


ROW = "{:<44} {:>18} {:>12} {:<12} {:<32} {:>12} {:>8}"


def readable(figures: Iterable[Figure]) -> str:
    """The figures as a table for a terminal."""
    rows = [ROW.format("what", "size", "value", "unit", "beside", "its value", "ratio")]
    for figure in figures:
        numbers = [show_number(number) for number in (figure.value, figure.peer_value, figure.ratio)]
        rows.append(
            ROW.format(figure.name, figure.size, numbers[0], figure.unit, figure.peer or "-", numbers[1], numbers[2])
        )
    return "\n".join(row.rstrip() for row in rows)


def as_json(figures: Iterable[Figure]) -> str:
    """The figures as the JSON list that every benchmark gives."""
    return json.dumps([asdict(figure) for figure in figures], indent=2)


def progress(text: str) -> None:
    """Say on standard error what is being measured; standard output carries the figures alone."""
    print(text, file=sys.stderr, flush=True)


def run(figures: Callable[[], list[Figure]]) -> None:
    """The command line of a benchmark: a table, or with `--json` the list."""
    parser = argparse.ArgumentParser(description=figures.__doc__)
    parser.add_argument("--json", action="store_true", help="give the figures as JSON")
    given = parser.parse_args()
    found = figures()
    print(as_json(found) if given.json else readable(found))
