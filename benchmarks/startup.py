"""How long a command takes to start, beside a Python that does nothing.

Both are new processes with byte-code compiled; the peer is the floor that no Python program gets under.
"""

from __future__ import annotations

import compileall
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from benchmarks.harness import Figure, measure_beside, progress, run

REPEAT = 15
PACKAGE = Path(__file__).resolve().parents[1] / "src"
BARE = ("-c", "pass")
STARTS = {
    "trayward --help": (
        "-c",
        "import sys; sys.argv = ['trayward', '--help']; from trayward.cli.main import main; main()",
    ),
    "import trayward": ("-c", "import trayward"),
}


def start(arguments: tuple[str, ...]) -> Callable[[], object]:
    """A call that starts Python with these arguments and waits for its end."""
    return lambda: subprocess.run([sys.executable, *arguments], check=True, capture_output=True)


def figures() -> list[Figure]:
    """Time from typing a command to its answer, in a new process."""
    compileall.compile_dir(PACKAGE, quiet=1)
    found = []
    for name, arguments in STARTS.items():
        progress(f"startup: {name}, {REPEAT} times")
        mine, bare = measure_beside(start(arguments), start(BARE), repeat=REPEAT)
        found.append(Figure(name, "new process", mine * 1000, "ms", "python -c pass", bare * 1000))
    return found


if __name__ == "__main__":
    run(figures)
