"""What the pages tell a reader to type works, the answers they show are those they get, and links lead somewhere."""

from __future__ import annotations

import doctest
import re
import shlex
from pathlib import Path

import pytest

from tests.docs.quick_reader import QuickReader
from tests.postgres import postgres, postgres_url
from tools import pages
from tools.pages import Reader, as_shown, blocks, same, shown, typed, walk

__all__ = ["postgres", "postgres_url"]

ROOT = pages.ROOT
NAMES = [str(page.relative_to(ROOT)) for page in pages.pages()]
LINK = re.compile(r"\]\(([^)\s]+)\)")
HEADING = re.compile(r"^#+ (.+)$", re.MULTILINE)
PLAIN = re.compile(r"```.*?```|`[^`\n]*`", re.DOTALL)


def text_of(name: str) -> str:
    """A page."""
    return (ROOT / name).read_text(encoding="utf-8")


def pages_with(language: str) -> list[str]:
    """Pages that have a block in that language."""
    return [name for name in NAMES if blocks(text_of(name), language)]


def targets() -> set[str]:
    """What make can be asked for."""
    text = (ROOT / "Makefile").read_text(encoding="utf-8")
    return {name for line in re.findall(r"^([a-z][a-z -]*):", text, re.MULTILINE) for name in line.split()}


def walk_through(commands: list[tuple[str, str]], reader: Reader) -> None:
    """Type every command: each goes as the page says and, once the clock stands, answers what the page shows."""
    for command, wanted in commands:
        done = reader.type(command)
        if done is not None:
            as_said, answer = done
            assert as_said, f"{command}\n{answer}"
            if wanted and reader.clock_stopped:
                assert same(wanted, answer), f"{command}\n{answer}\nMend it: python -m tools.pages --write"


@pytest.mark.slow
@pytest.mark.parametrize("name", pages_with("console"))
def test_what_a_page_tells_to_type_works(name: str, tmp_path: Path) -> None:
    """Run in order in one empty folder. `make` lines are only looked up: this is run by one of them."""
    commands = [pair for block in blocks(text_of(name), "console") for pair in shown(block)]
    for words in (shlex.split(command) for command, _ in commands):
        if words[0] == "make":
            assert {word for word in words[1:] if "=" not in word} <= targets(), words
    walk_through(commands, (Reader if name == "README.md" else QuickReader)(tmp_path))


@pytest.mark.slow
def test_what_the_page_on_postgresql_tells_to_type_works(tmp_path: Path, postgres_url: str) -> None:
    """Its `shell` blocks want a server: this one's address goes in the place of the one they name."""
    page = text_of("docs/how-to/postgresql.md")
    commands = [pair for block in blocks(page, "shell") for pair in shown(block) if pair[0].startswith("trayward")]
    assert len(commands) >= 5
    walk_through(commands, QuickReader(tmp_path, TRAYWARD_BOOK=postgres_url, TRAYWARD_NOW="2026-11-25T07:30+00:00"))


@pytest.mark.parametrize("name", pages_with("python"))
def test_the_python_of_a_page_runs(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """All blocks of a page are one program; those with a prompt must answer what they show."""
    monkeypatch.chdir(tmp_path)
    known: dict[str, object] = {"__name__": "page"}
    for block in blocks(text_of(name), "python"):
        if block.startswith(">>> "):
            example = doctest.DocTestParser().get_doctest(block, known, name, name, 0)
            failed, _ = (runner := doctest.DocTestRunner(verbose=False)).run(example, clear_globs=False)
            known = example.globs
            assert not failed, f"{name}: {runner.failures} answers differ"
        else:
            exec(compile(block, name, "exec"), known)


# Links ----------------------------------------------------------------------------------------------------------------


def links(name: str) -> list[tuple[str, str]]:
    """Links to our own files: the file, and the heading in it."""
    found = [link.partition("#") for link in LINK.findall(PLAIN.sub("", text_of(name))) if ":" not in link]
    return [(file, heading) for file, _, heading in found]


def anchors(path: Path) -> set[str]:
    """Where the headings of a page are found from a link."""
    plain = (re.sub(r"[^\w\s-]", "", heading.casefold()) for heading in HEADING.findall(path.read_text("utf-8")))
    return {words.strip().replace(" ", "-") for words in plain}


@pytest.mark.parametrize("name", NAMES)
def test_links_to_our_own_files_lead_somewhere(name: str) -> None:
    page = ROOT / name
    missing = [file for file, _ in links(name) if file and not (page.parent / file).exists()]
    assert missing == []


@pytest.mark.parametrize("name", NAMES)
def test_links_to_a_heading_find_it(name: str) -> None:
    page = ROOT / name
    targets = [((page.parent / file) if file else page, heading) for file, heading in links(name) if heading]
    assert [heading for target, heading in targets if heading not in anchors(target)] == []


UNLISTED = ("docs/README.md", "docs/benchmarks.md")
"""The index itself, and what is only there once `make bench` has written it."""


@pytest.mark.parametrize("name", [name for name in NAMES if name.startswith("docs/") and name not in UNLISTED])
def test_the_index_leads_to_every_page(name: str) -> None:
    listed = {(ROOT / "docs" / file).resolve() for file, _ in links("docs/README.md") if file}
    assert (ROOT / name).resolve() in listed


# The tools themselves -------------------------------------------------------------------------------------------------


def test_the_commands_of_a_block_are_found() -> None:
    assert typed("$ trayward init \\\n    --setup loft\nMade.\n$ trayward round\n") == [
        "trayward init      --setup loft",
        "trayward round",
    ]
    assert {"demo", "test", "types", "lock-check"} <= targets()


def test_an_answer_that_differs_from_the_one_shown_is_found() -> None:
    assert shown("$ trayward kit\nPool   Count\nmat    6\n$ trayward seed\n") == [
        ("trayward kit", "Pool   Count\nmat    6\n"),
        ("trayward seed", ""),
    ]
    assert same("Cut 1 tray. (entry ...)\n", "Cut 1 tray.\n  (entry 3f2a9c1d)\n")
    assert not same("Cut 1 tray: 95 g.\n", "Cut 1 tray: 96 g.\n")


def test_ids_are_not_shown_because_they_differ_every_time() -> None:
    assert as_shown("Sown. (entry 3f2a9c1d)  \n") == "Sown. (entry ...)\n"
    assert as_shown("ready (26760242, 9c4640c8 and 51f1231b)\n") == "ready (..., ... and ...)\n"
    assert as_shown("seen 20261125 07:30\n") == "seen 20261125 07:30\n"


def test_a_page_gets_new_answers_where_the_shown_ones_no_longer_fit(tmp_path: Path) -> None:
    """An answer that fits stays as it is written, and a command without one stays without."""
    stop = "$ export TRAYWARD_NOW=2026-11-25T07:30+00:00\n"
    page = f"Say:\n\n```console\n{stop}$ echo dry\nmoist\n$ echo wet mat\nwet ...\n$ echo quiet\n```\n"
    assert walk(page, Reader(tmp_path)) == page.replace("moist", "dry")


def test_a_quick_reader_gets_what_a_shell_gets(tmp_path: Path) -> None:
    """Its words in their order, what goes wrong, what is exported, and the folder it stands in."""
    commands = [
        "export TRAYWARD_NOW=2026-11-25T07:30+00:00", "trayward init --setup shelf --book farm.sqlite",
        "export TRAYWARD_BOOK=farm.sqlite", "trayward sow broccoli --trays 1", "trayward kit", "trayward kit --json",
        "trayward sow moss  # refused", "trayward kit  # refused", "trayward growing 'no such word'",
        "trayward book show --last 1 | head -1",
    ]  # fmt: skip
    readers = []
    for kind in (Reader, QuickReader):
        folder = tmp_path / kind.__name__
        folder.mkdir()
        readers.append(kind(folder))
    for command in commands:
        by_shell, quickly = (reader.type(command) for reader in readers)
        if by_shell is None or quickly is None:
            assert by_shell == quickly
            continue
        assert quickly[0] == by_shell[0], command
        assert as_shown(quickly[1]) == as_shown(by_shell[1]), command
        assert quickly[0] is (command != "trayward kit  # refused" and "no such" not in command), command


def test_a_command_that_should_be_refused_and_is_not_is_found(tmp_path: Path) -> None:
    assert Reader(tmp_path).type("true  # refused") == (False, "")
    assert Reader(tmp_path).type("false  # refused") == (True, "")
