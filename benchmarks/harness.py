"""What every benchmark shares: the figure it gives, how it is shown, and how time is taken.

A benchmark is a module with a function `figures() -> list[Figure]`, and at its end

    if __name__ == "__main__":
        run(figures)

or, where it measures several sizes, `figures(sizes) -> list[Figure]` and `run(figures, SIZES)`: then `--sizes 10k,100k`
measures those alone.

Every figure is measured in the same run as the peer it stands beside, on the same machine; a figure without a peer
says so with an empty name.
"""

from __future__ import annotations

import argparse
import gc
import importlib
import json
import math
import os
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Final

# As the command line does: the outlook's matrices are small. Before anything loads numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

ROOT: Final = Path(__file__).resolve().parents[1]


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


def run(figures: Callable[..., list[Figure]], sizes: Sequence[str] = ()) -> None:
    """The command line of a benchmark: a table, or with `--json` the list; with `--sizes` some sizes alone."""
    parser = argparse.ArgumentParser(description=figures.__doc__)
    parser.add_argument("--json", action="store_true", help="give the figures as JSON")
    if sizes:
        parser.add_argument("--sizes", default=",".join(sizes), help="what to measure: %(default)s, or some of it")
    given = parser.parse_args()
    found = figures(tuple(given.sizes.split(","))) if sizes else figures()
    print(as_json(found) if given.json else readable(found))


# Parts in a process of their own --------------------------------------------------------------------------------------


def apart(module: str, *words: str) -> dict[str, Any]:
    """
    Run a part of a benchmark as a new process, so that its memory and its warmth are its own.

    Parameters
    ----------
    module : str
        Name of the benchmark whose function `part` does it.
    words : str
        What `part` is given.

    Returns
    -------
    dict
        What `part` gave, and `peak_mib`, the most memory the process took up. [MiB]
    """
    code = "import sys; from benchmarks.harness import run_part; run_part(*sys.argv[1:])"
    done = subprocess.run(
        [sys.executable, "-c", code, module, *words], cwd=ROOT, stdout=subprocess.PIPE, check=True, text=True
    )
    return dict(json.loads(done.stdout))


def run_part(module: str, *words: str) -> None:
    """What the new process does: the part, then its result and peak memory as JSON."""
    found = importlib.import_module(f"benchmarks.{module}").part(*words)
    print(json.dumps({**found, "peak_mib": peak_mib()}))


def peak_mib() -> float:
    """The most memory this process has taken up so far. [MiB]"""
    status = Path("/proc/self/status")
    if status.is_file():
        # What Linux tells a process of its resources includes its parent's memory from before it became a program.
        line = next(line for line in status.read_text().splitlines() if line.startswith("VmHWM:"))
        return int(line.split()[1]) / 2**10
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / (2**20 if sys.platform == "darwin" else 2**10)


def quantile(values: Sequence[float], share: float) -> float:
    """The smallest of the values that at least that share of them does not exceed."""
    return sorted(values)[max(0, math.ceil(share * len(values)) - 1)]
