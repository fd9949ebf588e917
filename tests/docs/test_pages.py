"""What the pages tell a reader to type works, and their links lead somewhere."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PAGES = [ROOT / name for name in ("README.md", "CONTRIBUTING.md", "CHANGELOG.md")] + sorted(
    (ROOT / "docs").rglob("*.md")
)
NAMES = [str(page.relative_to(ROOT)) for page in PAGES]
BLOCK = re.compile(r"^```(\w+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
LINK = re.compile(r"\]\(([^)\s]+)\)")
PLAIN = re.compile(r"```.*?```|`[^`\n]*`", re.DOTALL)


def blocks(name: str, language: str) -> list[str]:
    """The code blocks of a page in one language, in order."""
    text = (ROOT / name).read_text(encoding="utf-8")
    return [code for marked, code in BLOCK.findall(text) if marked == language]


def pages_with(language: str) -> list[str]:
    """Pages that have a block in that language."""
    return [name for name in NAMES if blocks(name, language)]


def typed(block: str) -> list[str]:
    """The commands a console block tells to type; a line that ends in a backslash goes on."""
    joined = block.replace("\\\n", " ")
    return [line[2:].strip() for line in joined.splitlines() if line.startswith("$ ")]


def targets() -> set[str]:
    """What make can be asked for."""
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    return {name for line in re.findall(r"^([a-z][a-z -]*):", text, re.MULTILINE) for name in line.split()}


def place(tmp_path: Path) -> dict[str, str]:
    """A reader's surroundings: an empty home, and the commands of this environment."""
    path = os.pathsep.join([str(Path(sys.executable).parent), os.environ.get("PATH", "")])
    return {**os.environ, "PATH": path, "HOME": str(tmp_path), "COLUMNS": "120", "NO_COLOR": "1"}


@pytest.mark.parametrize("name", pages_with("console"))
def test_what_a_page_tells_to_type_works(name: str, tmp_path: Path) -> None:
    """Run in order in one empty folder. `make` lines are only looked up: this is run by one of them."""
    for command in (line for block in blocks(name, "console") for line in typed(block)):
        words = shlex.split(command)
        if words[0] == "make":
            assert {word for word in words[1:] if "=" not in word} <= targets(), command
        elif words[0] not in ("git", "cd"):
            done = subprocess.run(
                command, shell=True, cwd=tmp_path, env=place(tmp_path), capture_output=True, text=True, check=False
            )
            assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"


@pytest.mark.parametrize("name", pages_with("python"))
def test_the_python_of_a_page_runs(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All blocks of a page are one program."""
    monkeypatch.chdir(tmp_path)
    code = "\n".join(blocks(name, "python"))
    exec(compile(code, name, "exec"), {"__name__": "page"})


@pytest.mark.parametrize("name", NAMES)
def test_links_to_our_own_files_lead_somewhere(name: str) -> None:
    text = PLAIN.sub("", (ROOT / name).read_text(encoding="utf-8"))
    ours = [link.partition("#")[0] for link in LINK.findall(text) if ":" not in link]
    missing = [link for link in ours if link and not ((ROOT / name).parent / link).exists()]
    assert missing == []


def test_the_commands_of_a_block_are_found() -> None:
    assert typed("$ trayward init \\\n    --setup loft\nMade.\n$ trayward round\n") == [
        "trayward init      --setup loft",
        "trayward round",
    ]
    assert {"demo", "test", "types", "lock-check"} <= targets()
