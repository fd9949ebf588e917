"""The commands that the pages tell a reader to type, and the answers they show: run, compared, written anew.

`python -m tools.pages` says where a page shows another answer than it gets; `--write` puts the new answer in. Only
pages that stop the clock (`export TRAYWARD_NOW=...`) are looked at: elsewhere an answer depends on the day.
"""

from __future__ import annotations

import argparse
import difflib
import doctest
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
STOPPED = "TRAYWARD_NOW"
REFUSED = "# refused"
"""Marks a command that must be refused."""
ENTRY_ID = re.compile(
    r"\b[0-9a-f]{8}\b(?=[),]| and )|(?<=and )[0-9a-f]{8}\b|(?<=\d  )[0-9a-f]{8}(?=  )|\b[0-9a-f]{64}\b"
)


def pages() -> list[Path]:
    """Every page of the project."""
    first = [ROOT / name for name in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md")]
    return first + sorted((ROOT / "docs").rglob("*.md"))


def blocks(text: str, language: str) -> list[str]:
    """The code blocks of a page in one language, in order."""
    return [code for marked, code in BLOCK.findall(text) if marked == language]


def shown(block: str) -> list[tuple[str, str]]:
    """The commands a console block tells to type, each with the answer it shows; a backslash lets a line go on."""
    found: list[tuple[str, str]] = []
    for line in block.replace("\\\n", " ").splitlines():
        if line.startswith("$ "):
            found.append((line[2:].strip(), ""))
        elif found:
            command, answer = found[-1]
            found[-1] = (command, f"{answer}{line}\n")
    return found


def typed(block: str) -> list[str]:
    """The commands alone."""
    return [command for command, _ in shown(block)]


def same(wanted: str, answer: str) -> bool:
    """Whether an answer is the one a page shows; `...` on the page stands for anything, for instance an entry's id."""
    flags = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE
    return doctest.OutputChecker().check_output(wanted, answer, flags)


def surroundings(home: Path) -> dict[str, str]:
    """A reader's surroundings: an empty home, and the commands of this environment."""
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    return {**os.environ, "PATH": path, "HOME": str(home), "COLUMNS": "80", "NO_COLOR": "1"}


class Reader:
    """Somebody who types what a page says, line after line, in one empty folder."""

    def __init__(self, folder: Path, **said: str) -> None:
        self.folder, self.around = folder, {**surroundings(folder), **said}

    @property
    def clock_stopped(self) -> bool:
        """Whether answers can be compared."""
        return STOPPED in self.around

    def type(self, command: str) -> tuple[bool, str] | None:
        """Whether a command went as the page says, and its answer, errors and all; None where there is none to run."""
        words = shlex.split(command)
        if words[0] == "export":
            self.around |= dict(word.split("=", 1) for word in words[1:])
            return None
        if words[0] in ("make", "git", "cd"):
            return None
        done = subprocess.run(
            command, shell=True, cwd=self.folder, env=self.around, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            text=True, check=False,
        )  # fmt: skip
        return (done.returncode != 0) == command.endswith(REFUSED), done.stdout


# Written anew ---------------------------------------------------------------------------------------------------------


def as_shown(answer: str) -> str:
    """An answer as a page shows it: without ids, which are different every time, and without trailing blanks."""
    return "".join(f"{line.rstrip()}\n" for line in ENTRY_ID.sub("...", answer).splitlines())


def walk(text: str, reader: Reader) -> str:
    """The page with every answer it shows as it is now; an answer that still fits stays as it is written."""

    def anew(found: re.Match[str]) -> str:
        if found[1] != "console":
            return found[0]
        return f"```console\n{''.join(_lines(found[2], reader))}```"

    return BLOCK.sub(anew, text)


def _lines(block: str, reader: Reader) -> Iterator[str]:
    """A block line by line, as it is to be written; what stands before the first command is left alone."""
    for part in re.split(r"^(?=\$ )", block, flags=re.MULTILINE):
        (command, wanted), *_ = shown(part) or [("", "")]
        if not command:
            yield part
            continue
        done = reader.type(command)
        yield part.removesuffix(wanted)
        if wanted and done is not None and reader.clock_stopped and not same(wanted, done[1]):
            yield as_shown(done[1])
        else:
            yield wanted


def main() -> int:
    """Say which answers differ, or write them; 0 when none do."""
    parser = argparse.ArgumentParser(description="Compare the answers the pages show with those they get.")
    parser.add_argument("--write", action="store_true", help="put the new answers in")
    given, differing = parser.parse_args(), 0
    for path in pages():
        text = path.read_text(encoding="utf-8")
        if STOPPED not in "".join(blocks(text, "console")):
            continue
        with tempfile.TemporaryDirectory() as folder:
            now = walk(text, Reader(Path(folder)))
        lines = list(difflib.unified_diff(text.splitlines(), now.splitlines(), str(path.name), "now", lineterm="", n=1))
        differing += bool(lines)
        print("\n".join(lines) or f"{path.relative_to(ROOT)} shows what it gets.")
        if given.write:
            path.write_text(now, encoding="utf-8")
    return 1 if differing and not given.write else 0


if __name__ == "__main__":
    sys.exit(main())
