"""Run the project's checks: a heading and a verdict each; stop at the first that fails.

`python tools/check.py` runs them all, `--quick` leaves the slow tests out, `python tools/check.py types` runs one.
They begin one after another; those that use one core and take long go on beside what comes next.
"""

from __future__ import annotations

import argparse
import os
import re
import signal
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).resolve().parents[1]
WORKERS = str((os.cpu_count() or 1) + 1)
CLOSING = re.compile(r"\b\d+ (?:passed|failed|error)")


@dataclass(frozen=True)
class Step:
    """One check."""

    name: str
    heading: str
    """What it looks at."""
    command: tuple[str, ...]
    shown: bool = False
    """Whether its output is shown while it runs."""
    beside: bool = False
    """Whether the next check begins while it runs."""


def tool(name: str) -> str:
    """A command of the environment this runs in."""
    return str(Path(sys.executable).with_name(name))


STEPS = (
    Step("lock-check", "the lock is whole, hashed and names no address", (sys.executable, "tools/lock.py", "--check")),
    Step("format-check", "every file is formatted", (tool("ruff"), "format", "--check", ".")),
    Step("lint", "no lint", (tool("ruff"), "check", ".")),
    Step("types", "strict types", (tool("mypy"),), beside=True),
    # Without its cache: that forgets to look again at an unchanged file when the module it imports is new.
    Step("layers", "imports run one way", (tool("lint-imports"), "--no-logo", "--no-cache"), beside=True),
    # A worker more than there are cores: tests also wait, for a browser, a database, another process. A file's
    # tests stay together, so that one database server serves them all. Files come in the order of `tests/conftest.py`,
    # those that take long first.
    Step(
        "tests",
        "the tests",
        (sys.executable, "-m", "pytest", "-n", WORKERS, "--dist", "loadfile", "--no-loadscope-reorder"),
        shown=True,
    ),
)


class Running:
    """A check that has begun: its lines and its exit code come in by themselves; at its end it is put into `ended`."""

    def __init__(self, step: Step, extra: list[str], ended: SimpleQueue[Running]) -> None:
        self.step, self.lines, self.began = step, list[str](), time.monotonic()
        self.code, self.seconds = 0, 0.0
        self._ended = ended
        self._process = subprocess.Popen(
            [*step.command, *extra], cwd=ROOT, text=True, errors="replace", env={**os.environ, "COLUMNS": "120"},
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
        )  # fmt: skip
        self._reading = threading.Thread(target=self._read, daemon=True)
        self._reading.start()

    def _read(self) -> None:
        with self._process as process:
            assert process.stdout is not None
            for line in process.stdout:
                self.lines.append(line.rstrip())
                if self.step.shown:
                    print(line, end="", flush=True)
        self.code, self.seconds = process.returncode, time.monotonic() - self.began
        self._ended.put(self)

    def stop(self) -> None:
        """End it as Ctrl-C would."""
        self._process.send_signal(signal.SIGINT)
        self._reading.join()


def verdict(step: Step, lines: list[str]) -> str:
    """What the check said of itself, in one line: pytest's closing line, or the last line there is."""
    if step.name == "tests":
        closing = [line.strip("= ") for line in lines if CLOSING.search(line)]
        return closing[-1] if closing else "ran no test"
    if step.name == "layers":
        return next((line for line in lines if line.startswith("Contracts:")), "")
    return lines[-1] if lines else ""


def report(ended: Running) -> bool:
    """Print how a check went. True when it held."""
    step = ended.step
    if ended.code == 0:
        print(f"    {step.name} holds: {verdict(step, ended.lines)} ({ended.seconds:.1f} s)", flush=True)
        return True
    if not step.shown:
        print("\n".join(ended.lines))
    print(f"    DOES NOT HOLD: {step.heading} ({ended.seconds:.1f} s)")
    mend = " `make format` mends it." if step.name == "format-check" else ""
    print(f"    To run this step alone: make {step.name}.{mend}", flush=True)
    return False


def all_hold(going: list[Running], ended: SimpleQueue[Running], until: Running | None = None) -> bool:
    """Report what ends until this one has, or all; the first that does not hold stops what else is going."""
    while until in going if until is not None else going:
        done = ended.get()
        going.remove(done)
        if not report(done):
            for other in going:
                other.stop()
            return False
    return True


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
    going: list[Running] = []
    ended: SimpleQueue[Running] = SimpleQueue()
    for number, step in enumerate(chosen, 1):
        print(f"{number}/{len(chosen)} {step.name}: {step.heading}", flush=True)
        going.append(Running(step, extra_arguments(step, given.quick), ended))
        if not step.beside and not all_hold(going, ended, going[-1]):
            return 1
    return 0 if all_hold(going, ended) else 1


if __name__ == "__main__":
    sys.exit(main())
