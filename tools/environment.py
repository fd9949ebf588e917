"""Make the project's own environment from the pinned lock; say each step and its time; do nothing when it is made.

Run by `make` with whatever Python 3.11 or newer was found, so it uses the standard library only. `run` is what it
takes to use Trayward, `dev` also what it takes to test it. The stamp file says what the environment was made from.
"""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import subprocess
import sys
import time
import tomllib
from collections.abc import Callable
from importlib import util
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
STAMP = ".trayward.json"
LEVELS = ("run", "dev")
OWN_TESTS = r"site-packages[/\\].*[/\\]tests[/\\]"
"""Where packages bring their own tests along."""
SHOWN_LINES = 15
"""How much of a failed command's own output is shown: enough for the reason, not the whole log."""


class SetupFailed(Exception):  # noqa: N818 - read as the sentence it is
    """A step could not be done; the message says why and what to do."""


def digest(level: str) -> str:
    """What the environment is made from, as one hash: the lock, and what the project file says of building."""
    whole = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    built = json.dumps([whole["project"], whole["build-system"]], sort_keys=True)
    lock = (ROOT / f"requirements/{level}.txt").read_text(encoding="utf-8")
    return hashlib.sha256(f"{lock}\0{built}".encode()).hexdigest()


def python_of(venv: Path) -> Path:
    """The environment's own Python."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def is_made(venv: Path, level: str) -> bool:
    """Whether the environment stands here, works, and was made from today's lock (`dev` holds all of `run`)."""
    try:
        stamp = json.loads((venv / STAMP).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    held = [stamp.get(name) == digest(name) for name in LEVELS[LEVELS.index(level) :]]
    return any(held) and stamp.get("place") == str(venv) and python_of(venv).exists()


def write_stamp(venv: Path, level: str) -> None:
    """Say what the environment was made from, and where: a moved environment does not work and is made anew."""
    stamp = {"place": str(venv), level: digest(level)}
    (venv / STAMP).write_text(json.dumps(stamp), encoding="utf-8")


def run(command: list[str], trouble: str, *, on_line: Callable[[str], None] | None = None) -> None:
    """Run a command quietly; on failure raise with `trouble` and the end of what it printed."""
    env = {**os.environ, "PIP_NO_INPUT": "1", "PIP_DISABLE_PIP_VERSION_CHECK": "1", "PIP_USER": "0"}
    said: list[str] = []
    with subprocess.Popen(
        command, cwd=ROOT, env=env, text=True, errors="replace",
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    ) as process:  # fmt: skip
        assert process.stdout is not None
        for line in process.stdout:
            said.append(line.rstrip())
            if on_line:
                on_line(line)
    if process.returncode:
        raise SetupFailed("\n".join([*said[-SHOWN_LINES:], "", trouble]))


def works(venv: Path) -> bool:
    """Whether the environment's Python starts and is new enough."""
    command = [str(python_of(venv)), "-c", "import pip, sys; sys.exit(sys.version_info < (3, 11))"]
    try:
        return subprocess.run(command, capture_output=True, check=False).returncode == 0
    except OSError:
        return False


def make_environment(venv: Path) -> None:
    """An empty environment, unless a working one stands there. Never clears a folder that is not an environment."""
    if (venv / "pyvenv.cfg").is_file() and works(venv):
        return
    if venv.exists() and any(venv.iterdir()) and not (venv / "pyvenv.cfg").is_file():
        raise SetupFailed(
            f"{venv} is there already and is not a Python environment, so it is left alone.\n"
            "Name another folder: make VENV=some/other/folder ..."
        )
    if util.find_spec("venv") is None or util.find_spec("ensurepip") is None:
        version = f"{sys.version_info.major}.{sys.version_info.minor}"
        raise SetupFailed(
            f"This Python ({sys.executable}) comes without its venv module, which makes environments.\n"
            f"On Debian or Ubuntu install it, as root: apt-get install python{version}-venv\n"
            "Elsewhere install a full Python 3.11, then run make again."
        )
    run([sys.executable, "-m", "venv", "--clear", str(venv)], f"The environment {venv} could not be made.")


def install_packages(venv: Path, level: str) -> None:
    """Everything the lock names, each file checked against its hash."""
    lock = f"requirements/{level}.txt"
    # Byte-code is made afterwards, on every core; pip makes it on one.
    words = ["--no-compile", "--require-hashes", "--progress-bar", "off", "-r", lock]
    command = [str(python_of(venv)), "-m", "pip", "install", *words]
    trouble = (
        f"The packages of {lock} could not be installed. If there is no network, connect and run make again;\n"
        "if a hash does not match, do not go on: the package is not the one that was tested."
    )
    run(command, trouble, on_line=counter())


def counter() -> Callable[[str], None]:
    """Print a dot for every few packages fetched, so that a slow line is seen to move."""
    seen = 0

    def count(line: str) -> None:
        nonlocal seen
        seen += line.startswith("Collecting ")
        if line.startswith("Collecting ") and seen % 4 == 0:
            print(".", end="", flush=True)

    return count


def install_project(venv: Path) -> None:
    """Trayward itself, as it stands in this folder: an edit shows at once."""
    command = [str(python_of(venv)), "-m", "pip", "install", "--no-deps", "--no-build-isolation", "--editable", "."]
    run(command, "Trayward itself could not be installed from this folder.")


def compile_byte_code(venv: Path) -> None:
    """
    Byte-code for all of it, also where the machine tells Python to write none: else every start is slow.

    The packages' own tests, a quarter of all, are left out: nobody runs them here.
    """
    places = [str(path) for path in venv.glob("lib*/python*/site-packages")] + ["src"]
    command = [str(python_of(venv)), "-m", "compileall", "-q", "-j", "0", "-x", OWN_TESTS, *places]
    # Some packages carry templates or test files that are not valid Python; that is no trouble of ours.
    subprocess.run(command, cwd=ROOT, capture_output=True, check=False)


def check_packages(venv: Path) -> None:
    """The packages agree with each other."""
    run([str(python_of(venv)), "-m", "pip", "check"], "The installed packages do not fit together: run `make lock`.")


def steps(venv: Path, level: str) -> list[tuple[str, Callable[[], None]]]:
    """What to do, in order, each with its heading."""
    version = f"{sys.version_info.major}.{sys.version_info.minor}.{sys.version_info.micro}"
    return [
        (f"environment {venv.name}, Python {version}", lambda: make_environment(venv)),
        (f"packages of requirements/{level}.txt, hashes checked", lambda: install_packages(venv, level)),
        ("byte-code for a quick start", lambda: compile_byte_code(venv)),
        ("trayward itself", lambda: install_project(venv)),
        ("packages fit together", lambda: check_packages(venv)),
        ("stamp", lambda: write_stamp(venv, level)),
    ]


def make(venv: Path, level: str) -> None:
    """Do every step, printing its number, heading and time."""
    doing = steps(venv, level)
    for number, (heading, act) in enumerate(doing, 1):
        began = time.monotonic()
        print(f"{number}/{len(doing)} {heading} ...", end="", flush=True)
        act()
        print(f" {time.monotonic() - began:.1f} s", flush=True)


def main() -> int:
    """Make the environment if it is not made; 0 when it stands."""
    parser = argparse.ArgumentParser(description="Make the project's own environment from the pinned lock.")
    parser.add_argument("--venv", type=Path, required=True, help="the folder it goes to")
    parser.add_argument("--for", dest="level", choices=LEVELS, default="run", help="what it is for")
    given = parser.parse_args()
    venv = (ROOT / given.venv).absolute()
    if is_made(venv, given.level):
        return 0
    try:
        make(venv, given.level)
    except SetupFailed as failed:
        print(f" not done\n\n{failed}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
