"""How long the whole outlook takes, from trays to ranges: learned from nothing, with what was kept, one more entry on.

The farms are made up with known truth (`trayward.study.fields`): library recipes on several media, about six trays a
sowing, two looks a day, temperature logged at each; so many trays have ended and a Shelf, a Loft or a Barn stands full.
All times are by the wall clock, as a grower waits; "processor" says what the process itself had of it. Each figure
stands beside a part of itself, or beside what it would be done without, timed turn about in the same process.
"""

from __future__ import annotations

import tempfile
import time
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, Final

import msgspec

from benchmarks import books, farms, mixed_models
from benchmarks.harness import Figure, apart, peak_mib, progress, quantile, run
from benchmarks.harness import once as timed

SIZES: Final = ("1k", "10k", "50k")
ENDED: Final = {"1k": 1_000, "10k": 10_000, "50k": 50_000}
FARM: Final = {"1k": "Shelf", "10k": "Loft", "50k": "Barn"}
LOTS: Final = {"1k": 20, "10k": 100, "50k": 200}
REPEAT: Final = {"1k": 5, "10k": 3, "50k": 2}
TRAYS_A_SOWING: Final = 6
MOST_TRAYS: Final = 2 * TRAYS_A_SOWING - 1
"""Trays of a sowing are 1 to this many, all alike likely."""
STANDS: Final = 11
"""About how long a tray stands on the farm. [d]"""
MORE: Final = 30
"""Weights and looks added one by one, or as many as half the trays standing."""
SCENARIOS, PROPOSED, TRAYS_PROPOSED = 64, 40, 4


def figures(sizes: Iterable[str] = SIZES) -> list[Figure]:
    """Time and memory of the outlook, by number of ended trays and of trays standing."""
    found = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            path = str(Path(folder) / "state.json")
            progress(f"outlook: {size} trays, making the farm")
            made = apart("outlook", "made", size, path)
            progress(f"outlook: {size} trays, learning")
            words = f"{size}, {made['standing']:,} stand"
            found += _learned_figures(words, apart("outlook", "learned", size, path))
            progress(f"outlook: {size} trays, one more and looking ahead")
            found += _ahead_figures(words, apart("outlook", "ahead", size, path))
    return found


def _learned_figures(size: str, told: dict[str, Any]) -> list[Figure]:
    rows = ("its rows alone", told["rows"])
    return [
        Figure("outlook learned from nothing", size, told["nothing"], "s", *rows),
        Figure("of it, processor", size, told["nothing_cpu"], "s", "its rows alone, processor", told["rows_cpu"]),
        Figure("peak memory of learning", size, told["learned_mib"], "MiB", "before", told["before_mib"]),
        Figure("learned with what was kept", size, told["kept"], "s", "from nothing", told["nothing"]),
        Figure("what is kept", size, told["kept_mib"], "MiB", "the state as kept", told["state_mib"]),
    ]


def _ahead_figures(size: str, told: dict[str, Any]) -> list[Figure]:
    found = []
    for what, name in (("weight", "one weight more, to its sowing's range"), ("look", 'one "not yet" more, learned')):
        for word, share in (("p50", 0.5), ("p95", 0.95)):
            mine, theirs = (quantile(told[key], share) * 1000 for key in (what, PEERS[what][0]))
            found.append(Figure(f"{name}, {word}", size, mine, "ms", PEERS[what][1], theirs))
    ranges, hundreds = median(told["ranges"]), told["standing"] / 100
    rows = median(told["rows"]) * 1000
    return [
        *found,
        Figure("ranges of standing trays, a hundred", size, ranges * 1000 / hundreds, "ms", READ, rows / hundreds),
        Figure(DRAWS, f"{size}", median(told["draws"]) * 1000, "ms", "ranges of those standing", ranges * 1000),
    ]


PEERS: Final = {
    "weight": ("equations", "a yields' model alone, solved"),
    "look": ("unchanged", "nothing more"),
}
READ: Final = "their rows read"
DRAWS: Final = f"{SCENARIOS} scenarios, {PROPOSED} sowings more"


def part(what: str, size: str, path: str) -> dict[str, Any]:
    """What the new process does: makes the farm, learns from it, or adds to it and looks ahead."""
    return {"made": _made, "learned": _learned, "ahead": _ahead}[what](size, Path(path))


# The farm -------------------------------------------------------------------------------------------------------------


def _made(size: str, path: Path) -> dict[str, Any]:
    from trayward.farm.codec import encode_state

    state = state_of(size)
    path.write_bytes(encode_state(state))
    return {"standing": len(state.trays)}


def state_of(size: str) -> Any:
    """A farm on which so many trays have ended, as its book stands then."""
    import numpy as np

    from trayward.study.fields import BEGIN, DAY, Field, Habits

    spots, sowings = books.SIZES[FARM[size]], ENDED[size] / TRAYS_A_SOWING
    apart_by = DAY * STANDS * TRAYS_A_SOWING / spots
    most = int(sowings * 1.06) + int(2 * STANDS * DAY / apart_by)
    a_lot = max(1, round(sowings / LOTS[size]))

    class Busy(Field):
        """Sows evenly round the clock, its recipes in turn."""

        def _sow(self, days: float) -> None:  # noqa: ARG002
            names = [str(name) for _ in range(most // len(self.recipes) + 1) for name in self.rng.permutation(mine)]
            of_crop: Counter[str] = Counter()
            for number, name in enumerate(names[:most]):
                recipe = self.recipes[name]
                lot = f"{recipe.crop} {of_crop[recipe.crop] // a_lot}"
                of_crop[recipe.crop] += 1
                self._sow_one(recipe, f"s{number}", lot, BEGIN + apart_by * number)

        def _warmths(self, days: int) -> list[Any]:  # noqa: ARG002
            return super()._warmths(int(apart_by * most / DAY) + 120)

    recipes = {recipe.name: recipe for recipe in map(recipe_of, range(farms.recipe_count(spots)))}
    mine = list(recipes)
    habits = Habits(most_trays=MOST_TRAYS, logs_warmth=True)
    field = Busy(np.random.default_rng(ENDED[size]), ENDED[size], habits, recipes=recipes)
    return field.state(field.moment_of(ENDED[size]))


def recipe_of(number: int) -> Any:
    """Recipe `number` from 0: the library's, for the crops of made-up books in turn, each on one medium more."""
    from trayward.library.recipes import standard_recipe

    crop, medium = farms.CROPS[number % len(farms.CROPS)][0], farms.MEDIA[number // len(farms.CROPS)]
    return msgspec.structs.replace(standard_recipe(crop), name=f"{crop} on {medium.name}", medium=medium)


# Learning -------------------------------------------------------------------------------------------------------------


def _learned(size: str, path: Path) -> dict[str, Any]:
    """Learn from nothing, read the rows alone, learn with what was kept; turn about."""
    from trayward.farm.codec import decode_state
    from trayward.outlook.clock import Climate
    from trayward.outlook.kept import kept_in, kept_out
    from trayward.outlook.memory import Memory
    from trayward.outlook.row_reader import rows_of_all

    state = decode_state(path.read_bytes())
    told: list[bytes] = []
    found: dict[str, Any] = {"before_mib": peak_mib()}
    acts: dict[str, Callable[[], object]] = {
        "nothing": lambda: Memory().lessons(state),
        "rows": lambda: rows_of_all([*state.ended.values(), *state.trays.values()], state, Climate(state)),
        "kept": lambda: Memory(kept_in(told[0])).lessons(state),
    }
    acts["nothing"]()
    found["learned_mib"] = peak_mib()
    Memory(keep=lambda more: told.append(kept_out(more))).lessons(state)
    times = _turn_about(acts, REPEAT[size])
    sizes = {"kept_mib": len(told[0]) / 2**20, "state_mib": path.stat().st_size / 2**20}
    path.with_suffix(".kept").write_bytes(told[0])
    return {**found, **sizes, **{name: median(seconds) for name, seconds in times.items()}}


def _turn_about(acts: dict[str, Callable[[], object]], repeat: int) -> dict[str, list[float]]:
    """Seconds that each took by the wall clock and, as `NAME_cpu`, of the processor; several times in turn. [s]"""
    found: dict[str, list[float]] = {}
    for _ in range(repeat):
        for name, act in acts.items():
            began = time.process_time()
            found.setdefault(name, []).append(timed(act))
            found.setdefault(f"{name}_cpu", []).append(time.process_time() - began)
    return found


# Looking ahead --------------------------------------------------------------------------------------------------------


def _ahead(size: str, path: Path) -> dict[str, Any]:
    """Ranges and scenarios of a farm just learned from, then weights and looks one by one."""
    from trayward.farm.codec import decode_state
    from trayward.outlook.kept import kept_in
    from trayward.outlook.memory import Memory

    state = decode_state(path.read_bytes())
    kept = path.with_suffix(".kept").read_bytes()
    found: dict[str, Any] = {"standing": len(state.trays), "ranges": [], "rows": [], "draws": []}
    for _ in range(REPEAT[size]):
        memory = Memory(kept_in(kept))
        for name, seconds in _ranges(state, memory).items():
            found[name].append(seconds)
    return found | _looks(state, memory) | _weights(state, memory) | {"equations": _equations(size)}


def _ranges(state: Any, memory: Any) -> dict[str, float]:
    """Ranges of all standing trays of a farm just learned from, their rows read, and scenarios of it. [s]"""
    import numpy as np

    from trayward.outlook.ahead import look_ahead
    from trayward.outlook.draws import Proposed
    from trayward.outlook.row_reader import rows_of_all

    lessons, trays, recipes = memory.lessons(state), list(state.trays.values()), list(state.recipes.values())
    ahead = look_ahead(state, state.horizon, memory)
    sowings = [
        Proposed(
            recipe=recipes[number % len(recipes)],
            sow_at=state.horizon + timedelta(days=number % 14),
            trays=TRAYS_PROPOSED,
        )
        for number in range(PROPOSED)
    ]
    return {
        "ranges": timed(lambda: [ahead.standing(tray) for tray in trays]),
        "rows": timed(lambda: rows_of_all(trays, state, lessons.climate)),
        "draws": timed(lambda: ahead.draws(sowings, SCENARIOS, np.random.default_rng(1))),
    }


def _looks(state: Any, memory: Any) -> dict[str, list[float]]:
    """Single trays that are said to be not ready yet, each learned from; and nothing said. [s]"""
    found: dict[str, list[float]] = {"look": [], "unchanged": []}
    for tray, at in _one_by_one(state):
        tray.steps[-1].last_not_yet = at
        found["look"].append(timed(lambda: memory.lessons(state)))
        found["unchanged"].append(timed(lambda: memory.lessons(state)))
    return found


def _weights(state: Any, memory: Any) -> dict[str, list[float]]:
    """Single ready trays cut and weighed, each to the range of a tray of its sowing that still stands. [s]"""
    from trayward.outlook.ahead import look_ahead

    def look(at: datetime, tray: Any) -> None:
        look_ahead(state, at, memory).standing(tray)

    found = []
    for tray, at in _one_by_one(state, ready=True):
        sister = next((one for one in state.trays.values() if one.sowing == tray.sowing and one is not tray), tray)
        cut(state, tray, at)
        found.append(timed(partial(look, at, sister)))
    return {"weight": found}


def _one_by_one(state: Any, *, ready: bool = False) -> Iterator[tuple[Any, datetime]]:
    """Trays spread over the farm, growing or ready, and a moment for each, the book's end moving on with it."""
    last = {name: recipe.stages[-1].name for name, recipe in state.recipes.items()}
    trays = [tray for tray in state.trays.values() if (tray.stage == last[tray.recipe]) == ready]
    every = max(2, len(trays) // MORE)
    for tray in trays[::every]:
        state.horizon += timedelta(minutes=1)
        yield tray, state.horizon


def cut(state: Any, tray: Any, at: datetime, grams: float = 200.0) -> None:
    """Cut and weigh a standing tray, as the fold does."""
    tray.fate, tray.ended_at, tray.grams, tray.stripped = "cut", at, grams, True
    state.ended[tray.tray] = state.trays.pop(tray.tray)


def _equations(size: str) -> list[float]:
    """One weight more in a mixed model of as many trays (`mixed_models`), solved: a part of what it takes. [s]"""
    from trayward.outlook.mixed import Spreads, cross_products, solve
    from trayward.outlook.terms import Term

    y, fixed, levels = mixed_models.trays(ENDED[size])
    terms = [Term(name=name, level=level, levels=int(level.max()) + 1) for name, level in levels.items()]
    products, spreads = cross_products(y, fixed, terms), Spreads(mixed_models.TRAY_SD, dict(mixed_models.SPREADS))
    one = {name: level[-1:] for name, level in levels.items()}
    return [timed(lambda: solve(products.with_rows(y[-1:], fixed[-1:], one), spreads)) for _ in range(12)][1:]


if __name__ == "__main__":
    run(figures, SIZES)
