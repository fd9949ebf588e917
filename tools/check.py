"""Run the project's checks one after another: a heading and a verdict each; stop at the first that fails.

`python tools/check.py` runs them all, `--quick` leaves the slow tests out, `python tools/check.py types` runs one.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
CLOSING = re.compile(r"\b\d+ (?:passed|failed|error)")


@dataclass(frozen=True)
class Step:
    """One check: its name, what it looks at, its command, and whether to show its output while it runs."""

    name: str
    heading: str
    command: tuple[str, ...]
    shown: bool = False


def tool(name: str) -> str:
    """A command of the environment this runs in."""
    return str(Path(sys.executable).with_name(name))


STEPS = (
    Step("lock-check", "the lock is whole, hashed and names no address", (sys.executable, "tools/lock.py", "--check")),
    Step("format-check", "every file is formatted", (tool("ruff"), "format", "--check", ".")),
    Step("lint", "no lint", (tool("ruff"), "check", ".")),
    Step("types", "strict types", (tool("mypy"),)),
    # Without its cache: that forgets to look again at an unchanged file when the module it imports is new.
    Step("layers", "imports run one way", (tool("lint-imports"), "--no-logo", "--no-cache")),
    # A worker for each core; a file's tests stay together, so that one database server serves them all.
    Step("tests", "the tests", (sys.executable, "-m", "pytest", "-n", "auto", "--dist", "loadfile"), shown=True),
)


def run(step: Step, extra: list[str]) -> tuple[int, list[str]]:
    """Run one check. Gives its exit code and its lines; shows them at once if the step asks for that."""
    lines: list[str] = []
    with subprocess.Popen(
        [*step.command, *extra], cwd=ROOT, text=True, errors="replace", env={**os.environ, "COLUMNS": "120"},
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        for line in process.stdout:
            lines.append(line.rstrip())
            if step.shown:
                print(line, end="", flush=True)
    return process.returncode, lines


def verdict(step: Step, lines: list[str]) -> str:
    """What the check said of itself, in one line: pytest's closing line, or the last line there is."""
    if step.name == "tests":
        closing = [line.strip("= ") for line in lines if CLOSING.search(line)]
        return closing[-1] if closing else "ran no test"
    if step.name == "layers":
        return next((line for line in lines if line.startswith("Contracts:")), "")
    return lines[-1] if lines else ""


def report(step: Step, code: int, lines: list[str], seconds: float) -> bool:
    """Print how the check went. True when it held."""
    if code == 0:
        print(f"    holds: {verdict(step, lines)} ({seconds:.1f} s)", flush=True)
        return True
    if not step.shown:
        print("\n".join(lines))
    print(f"    DOES NOT HOLD: {step.heading} ({seconds:.1f} s)")
    mend = " `make format` mends it." if step.name == "format-check" else ""
    print(f"    To run this step alone: make {step.name}.{mend}", flush=True)
    return False


def extra_arguments(step: Step, quick: bool) -> list[str]:
    """What is added to the command: for the tests, the slow ones left out, and the caller's own words."""
    if step.name != "tests":
        return []
    return (["-m", "not slow"] if quick else []) + os.environ.get("PYTEST_WORDS", "").split()


def main() -> int:
    """Run the checks that were asked for; 0 when all hold."""
    parser = argparse.ArgumentParser(description="Run the project's checks.")
    parser.add_argument("only", nargs="*", choices=[[], *(step.name for step in STEPS)], help="these alone")
    parser.add_argument("--quick", action="store_true", help="leave the slow tests out")
    given = parser.parse_args()
    chosen = [step for step in STEPS if not given.only or step.name in given.only]
    for number, step in enumerate(chosen, 1):
        print(f"{number}/{len(chosen)} {step.name}: {step.heading}", flush=True)
        began = time.monotonic()
        code, lines = run(step, extra_arguments(step, given.quick))
        if not report(step, code, lines, time.monotonic() - began):
            return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
