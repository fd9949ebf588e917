"""The pages of the reference say what the code says."""

from __future__ import annotations

import ast
import re
from typing import Literal

import click
import pytest

from tools import make_reference, reference_entries, reference_findings, reference_setup
from trayward.desk.setup.file import ready_setup_text
from trayward.farm.codec import decode_entry
from trayward.farm.entries import KINDS


@click.group()
def farm() -> None:
    """Look after a farm."""


@farm.command()
@click.argument("tray")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON | for machines.")
@click.option("--secret", hidden=True)
def water(tray: str, as_json: bool, secret: str) -> None:
    """Give a tray water.

    It is written
    down at once.

    \b
      water 261125A.1
    """


@farm.command(hidden=True)
def inside() -> None:
    """Not for growers."""


PAGE = make_reference.page(farm, "farm")


def test_every_command_has_its_part_with_its_words_and_options() -> None:
    assert "## farm water\n\nGive a tray water.\n\nIt is written down at once.\n" in PAGE
    assert "farm water [OPTIONS] TRAY" in PAGE
    assert "| `--json` | Answer as JSON \\| for machines. |" in PAGE


def test_an_example_stays_as_it_was_typed() -> None:
    assert "```text\n  water 261125A.1\n```" in PAGE


def test_what_is_hidden_is_left_out() -> None:
    assert "secret" not in PAGE
    assert "inside" not in PAGE


def test_every_command_is_in_the_list_with_a_link_to_its_part() -> None:
    assert "- [`farm water`](#farm-water): Give a tray water." in PAGE


PAGES = ("commands", "setup-file", "entries", "findings")


@pytest.fixture(scope="module")
def kept() -> dict[str, str]:
    """The pages as they are to be, made when they are first asked for: each worker reads this file, one runs it."""
    return make_reference.pages()


@pytest.mark.parametrize("name", PAGES)
def test_a_kept_page_is_up_to_date(kept: dict[str, str], name: str) -> None:
    """Run `make reference` when this fails."""
    assert make_reference.difference(kept[name], name) == []


def test_no_page_is_left_out_here(kept: dict[str, str]) -> None:
    assert tuple(kept) == PAGES


def test_every_key_field_and_finding_has_its_words_and_no_words_are_left_over() -> None:
    """Mend the words in `tools/setup_words.py`, `tools/entry_words.py` or `tools/reference_findings.py`."""
    assert make_reference.gaps() == []


# The setup file -------------------------------------------------------------------------------------------------------


def test_a_key_without_words_is_found_and_so_are_words_for_no_key() -> None:
    known = reference_setup.known_keys(reference_setup.EXAMPLE.read_text(encoding="utf-8"))
    known["kit"]["colour"] = known["kit"].pop("wear")
    assert reference_setup.gaps(known) == ["kit, colour: no words", "kit, wear: is not read"]


@pytest.mark.parametrize("name", ["shelf", "loft"])
def test_the_page_knows_every_key_of_a_ready_setup(name: str) -> None:
    known = reference_setup.known_keys(reference_setup.EXAMPLE.read_text(encoding="utf-8"))
    ready = reference_setup.known_keys(ready_setup_text(name))
    names = ("farm.rounds", "product.parts")
    strange = {table: set(keys) - set(known.get(table, {})) for table, keys in ready.items() if table not in names}
    assert {table: keys for table, keys in strange.items() if keys} == {}


@pytest.mark.parametrize(
    ("key", "row"),
    [
        ("stack", "| `stack` | whole number, 1 to 26 | 1 |"),
        ("kind", '| `kind` | one of `"dark"`, `"lit"` | needed |'),
        ("caution", '| `caution` | share, such as `"80 %"`, 0.5 to 0.99 | 0.8 |'),
        ("expected", "| `expected` | day | may be left out |"),
    ],
)
def test_kind_bounds_and_default_come_from_the_reader(kept: dict[str, str], key: str, row: str) -> None:
    assert row in kept["setup-file"], key


# Entries --------------------------------------------------------------------------------------------------------------


def test_every_kind_stands_on_the_page_of_entries_with_its_version(kept: dict[str, str]) -> None:
    for kind, body in KINDS.items():
        assert f"\n## {kind}\n" in kept["entries"]
        assert f"Version {body.VERSION}." in kept["entries"].partition(f"\n## {kind}\n")[2].partition("\n## ")[0]


def test_the_line_shown_is_an_entry_that_can_be_read(kept: dict[str, str]) -> None:
    line = kept["entries"].partition("```json\n")[2].partition("\n")[0]
    assert decode_entry(line.encode()).kind == "washed"


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (tuple[float, float], "list of number, 2 of them"),
        (tuple[str, ...], "list of words"),
        (Literal["moist", "dry"] | None, 'one of `"moist"`, `"dry"` or nothing'),
        (float | str, "number or words"),
    ],
)
def test_types_are_said_in_words(kind: object, words: str) -> None:
    assert reference_entries.type_words(kind) == words


def test_a_type_without_words_is_refused() -> None:
    with pytest.raises(TypeError, match="no words"):
        reference_entries.type_words(complex)


# Findings -------------------------------------------------------------------------------------------------------------


def test_the_code_of_a_finding_is_words_with_hyphens() -> None:
    assert [code for code in reference_findings.codes() if not re.fullmatch(r"[a-z]+(-[a-z]+)*", code)] == []


def test_findings_are_read_from_the_source() -> None:
    source = """
found = [wrong(entry, "tray-lost", message, "Look for it."), _wrong("book-torn", "Torn.")]
more = odd(entry, "seed-wet", message) if damp else Finding(code="mat-worn", severity="odd", message=message)
other = elsewhere(entry, "no-finding", message)
either = Finding(code="mix-hot", severity="odd" if warm else "wrong", message=message)
"""
    assert sorted(reference_findings.said(ast.parse(source))) == [
        ("book-torn", "wrong"),
        ("mat-worn", "odd"),
        ("mix-hot", "odd"),
        ("mix-hot", "wrong"),
        ("seed-wet", "odd"),
        ("tray-lost", "wrong"),
    ]
