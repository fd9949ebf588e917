"""How honest the outlook's doubt is: shares of truths that ranges held, on made-up farms whose truth is known.

Not a matter of time: each figure is the share held, beside the share promised; its standard error over farms is in its
name. Farms are those of `trayward.study.fields`: drawn from what is believed, and off it. `--sizes` takes own trays.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context

from benchmarks.harness import Figure, progress, run
from trayward.study.fields import Habits, Off
from trayward.study.honesty import Told, held, told_of_farm

SIZES = ("0", "1", "5", "30", "200", "1000")
FARMS, FARMS_OFF = 200, 60
PROMISED = (0.5, 0.8, 0.95)
WHAT = ("grams", "days", "days at looks", "rest of days", "grams of standing", "sum of grams", "last of days")
OFFS = {
    "spreads half": Off(spreads=0.5),
    "spreads double": Off(spreads=2.0),
    "yields twice the published": Off(level=2.0),
    "skewed trays": Off(skewed=True),
}


def one_farm(number: int, sizes: tuple[int, ...], off: Off) -> list[Told]:
    """A third of the farms logs warmth, half of them answer a fifth of their sowings for all trays together."""
    habits = Habits(logs_warmth=number % 3 == 0, together=0.2 if number % 2 else 0.0)
    return told_of_farm(number, sizes, habits, off)


def told_of(farms: int, sizes: tuple[int, ...], off: Off) -> list[Told]:
    """All that is foretold on many farms, two at a time."""
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        found = pool.map(partial(one_farm, sizes=sizes, off=off), range(farms), chunksize=4)
        return [one for farm in found for one in farm]


def shares(told: list[Told], sizes: tuple[int, ...], kind: str, promised: tuple[float, ...]) -> list[Figure]:
    """A figure for each thing foretold, size and range."""
    found = []
    for what in WHAT:
        for size in sizes:
            for share in promised:
                got = held(told, what, size, share)  # type: ignore[arg-type]
                if got.cases:
                    name = f"{what}{kind} ± {100 * got.error:.1f}"
                    found.append(Figure(name, f"{size} trays", 100 * got.held, "in 100", "as promised", 100 * share))
    return found


def figures(sizes: tuple[str, ...] = SIZES) -> list[Figure]:
    """Shares held by ranges for 50, 80 and 95 in 100, after so many own trays."""
    numbers = tuple(map(int, sizes))
    progress(f"calibration: {FARMS} farms")
    found = shares(told_of(FARMS, numbers, Off()), numbers, "", PROMISED)
    some = tuple(number for number in numbers if number in (30, 1000))
    for name, off in OFFS.items() if some else ():
        progress(f"calibration: {FARMS_OFF} farms, {name}")
        found += shares(told_of(FARMS_OFF, some, off), some, f", {name}", (0.8,))
    return found


if __name__ == "__main__":
    run(figures, SIZES)
