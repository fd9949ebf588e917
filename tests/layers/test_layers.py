"""The rules of the house that no single test of a room would notice: what is imported when, who reads the clock."""

from __future__ import annotations

import ast
import os
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SOURCE = ROOT / "src" / "trayward"
FACE = SOURCE / "cli"
HEAVY = ("numpy", "scipy", "matplotlib", "highspy", "alembic", "sqlalchemy.orm", "rich", "dateutil")
CLOCKS = {
    "datetime.datetime.now",
    "datetime.datetime.utcnow",
    "datetime.datetime.today",
    "datetime.date.today",
    "time.time",
    "time.time_ns",
    "time.localtime",
    "time.gmtime",
    "time.ctime",
    "time.strftime",
}
"""`time.monotonic` and `perf_counter` are left out: they tell how long, never when."""
OWN_GENERATORS = {"Random", "SystemRandom", "default_rng", "Generator", "SeedSequence", "PCG64", "BitGenerator"}


# Start-up -------------------------------------------------------------------------------------------------------------


def loaded_by(code: str) -> set[str]:
    """Names of the modules that a fresh Python has loaded after running `code`."""
    tail = "\nimport sys; sys.stderr.write('\\nLOADED ' + ' '.join(sys.modules))"
    clean = {
        name: value for name, value in os.environ.items() if name not in ("PYTHONSTARTUP", "COVERAGE_PROCESS_START")
    }
    done = subprocess.run([sys.executable, "-c", code + tail], capture_output=True, text=True, check=True, env=clean)
    return set(done.stderr.rpartition("LOADED ")[2].split())


def test_importing_the_package_loads_no_heavy_library() -> None:
    assert loaded_by("import trayward").isdisjoint(HEAVY)


def test_asking_for_help_loads_no_heavy_library() -> None:
    """`trayward --help` is what a newcomer types first; it starts in 0.3 s only if it loads little."""
    code = "from trayward.cli.main import cli\ncli.main(['--help'], standalone_mode=False)"
    assert loaded_by(code).isdisjoint(HEAVY)


def test_a_round_waits_neither_for_a_heavy_library_nor_for_what_reads_a_setup() -> None:
    code = (
        "from trayward.cli import round_sheet\nfrom trayward import Farm\nfrom datetime import UTC, datetime\n"
        "from trayward.store import open_book\n"
        "with open_book(':memory:', create=True) as book: Farm(book).state(datetime(2026, 11, 25, tzinfo=UTC))"
    )
    loaded = loaded_by(code)
    assert loaded.isdisjoint((*HEAVY, "tomllib", "trayward.desk.setup.file"))
    assert "trayward.rounds.make" in loaded, "as a round loads it"


def test_the_start_up_check_would_notice_a_heavy_library() -> None:
    assert not loaded_by("import numpy").isdisjoint(HEAVY)


# Clocks, chance and printing ------------------------------------------------------------------------------------------


def names_in(nodes: list[ast.AST]) -> dict[str, str]:
    """What each imported name of a module stands for, spelt in full: `now` -> `datetime.datetime.now`."""
    found: dict[str, str] = {}
    for node in nodes:
        if isinstance(node, ast.Import):
            for alias in node.names:
                found[alias.asname or alias.name.partition(".")[0]] = (
                    alias.name if alias.asname else alias.name.partition(".")[0]
                )
        elif isinstance(node, ast.ImportFrom) and node.module:
            for alias in node.names:
                found[alias.asname or alias.name] = f"{node.module}.{alias.name}"
    return found


def spelt_out(node: ast.AST, names: dict[str, str]) -> str:
    """A dotted name in full, or an empty string for anything else."""
    if isinstance(node, ast.Name):
        return names.get(node.id, node.id)
    if isinstance(node, ast.Attribute):
        stem = spelt_out(node.value, names)
        return f"{stem}.{node.attr}" if stem else ""
    return ""


@cache
def looked_at(path: Path) -> tuple[tuple[tuple[int, str], ...], tuple[int, ...]]:
    """
    Every dotted name used in a module of the package, and every line that prints or asks; found once for all tests.

    What was found is kept and the tree let go: the trees of all modules are millions of objects.
    """
    nodes = nodes_of(path.read_text(encoding="utf-8"))
    return tuple(uses(nodes)), tuple(prints(nodes))


def used_in(path: Path) -> tuple[tuple[int, str], ...]:
    """Every dotted name used in a module of the package, with its line."""
    return looked_at(path)[0]


def nodes_of(text: str) -> list[ast.AST]:
    """All that a module is made of."""
    return list(ast.walk(ast.parse(text)))


def prints(nodes: list[ast.AST]) -> Iterator[int]:
    """The lines that print, or ask whoever sits there."""
    for node in nodes:
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("print", "input"):
            yield node.lineno


def uses(nodes: list[ast.AST]) -> Iterator[tuple[int, str]]:
    """Every dotted name used in a module, with its line."""
    names = names_in(nodes)
    for node in nodes:
        if isinstance(node, (ast.Name, ast.Attribute)) and (full := spelt_out(node, names)):
            yield node.lineno, full


def reads_a_clock(name: str) -> bool:
    """Whether a name in full tells what time it is."""
    return name in CLOCKS


def draws_from_shared_chance(name: str) -> bool:
    """Whether a name in full is a function of the process-wide generators, which no caller can seed for itself."""
    stem, _, last = name.rpartition(".")
    return stem in ("random", "numpy.random") and last not in OWN_GENERATORS


def test_the_scan_sees_through_every_way_of_importing() -> None:
    text = "import datetime as d, numpy as np\nfrom time import time as tick\nfrom datetime import date\n"
    text += "d.datetime.now\ntick()\ndate.today\nnp.random.normal()\nnp.random.default_rng(1)\n"
    found = [name for _, name in uses(nodes_of(text))]
    assert {name for name in found if reads_a_clock(name)} == {
        "datetime.datetime.now",
        "time.time",
        "datetime.date.today",
    }
    assert {name for name in found if draws_from_shared_chance(name)} == {"numpy.random.normal"}


def modules(*, below_the_faces: bool) -> list[Path]:
    """Every module of the package, or only those below the faces."""
    return [path for path in sorted(SOURCE.rglob("*.py")) if not (below_the_faces and path.is_relative_to(FACE))]


def where(path: Path, line: int, name: str) -> str:
    """A place in the source, to click on."""
    return f"{path.relative_to(ROOT)}:{line}: {name}"


def test_no_room_below_the_faces_reads_a_clock() -> None:
    """`at` is a parameter, so that a season can be simulated and a day replayed."""
    found = [
        where(path, line, name)
        for path in modules(below_the_faces=True)
        for line, name in used_in(path)
        if reads_a_clock(name)
    ]
    assert found == []


def test_nobody_draws_from_the_shared_generators() -> None:
    """Randomness comes from a passed generator, so that the same seed gives the same plan."""
    found = [
        where(path, line, name)
        for path in modules(below_the_faces=False)
        for line, name in used_in(path)
        if draws_from_shared_chance(name)
    ]
    assert found == []


def test_only_the_faces_print() -> None:
    found = [where(path, line, "print") for path in modules(below_the_faces=True) for line in looked_at(path)[1]]
    assert found == []


def test_what_prints_is_seen() -> None:
    assert set(prints(nodes_of("x = 1\nif x:\n    print(x)\ny = input()\nbook.print()\n"))) == {3, 4}


# Rooms ----------------------------------------------------------------------------------------------------------------


def test_imports_run_one_way_through_the_rooms() -> None:
    """The rules stand in `pyproject.toml`: the order of the rooms, every room in it, and who may know the solver."""
    command = [str(Path(sys.executable).with_name("lint-imports")), "--no-logo", "--no-cache"]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_solver_is_met_in_one_module() -> None:
    """The rule allows that module alone; this says that it is there and does meet it."""
    found = {
        str(path.relative_to(SOURCE))
        for path in modules(below_the_faces=False)
        for _, name in used_in(path)
        if name.partition(".")[0] == "highspy"
    }
    assert found == {"plan/solve.py"}
