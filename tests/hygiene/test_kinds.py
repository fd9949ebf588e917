"""The table of kinds against the digest of rules, row by row and field by field; and what is read into a field."""

from __future__ import annotations

import doctest
import os
import re
from importlib import import_module
from pathlib import Path

import pytest

from trayward.errors import InputError, NotFoundError
from trayward.hygiene.kinds import HEADER, KINDS, kind_named, read_value

DATA = Path(os.environ.get("TRAYWARD_TEST_DATA") or Path(__file__).parents[3] / "shared" / "data")
RULES = DATA.parent / "reference" / "rules.md"

ROWS = {
    "Training (subpart C)": ("training", {"date": "", "topics": "topics", "persons": "persons"}),
    "Responsible supervisor": ("supervisor", {"name": "name", "course": "course", "date": "course date"}),
    "Illness and visitors (subpart D)": ("illness or visitor", {"exclusion": "what", "return": "returned"}),
    "Water system inspection (subpart E)": (
        "water inspection",
        {"source": "source", "control": "control", "protection": "protection", "nearby land": "land",
         "distribution": "distribution", "findings": "findings"},
    ),
    "Water assessment for growing": (
        "water assessment", {"factors": "factors", "outcome": "outcome", "action": "action"},
    ),
    "Water tests": ("water test", {"sample point": "point", "date": "", "method": "method", "result": "e. coli"}),
    "Public supply": ("public supply", {"supplier": "supplier", "certificate": "document"}),
    "Water actions": ("water action", {"what was wrong": "wrong", "what was done": "done"}),
    "Water treatment": (
        "water treatment",
        {"method": "method", "free chlorine": "free chlorine", "pH": "ph", "contact time": "contact"},
    ),
    "Soil amendment of animal origin (subpart F)": (
        "amendment", {"certificate": "certificate", "turnings": "made here"},
    ),
    "Cleaning and sanitising (subpart L)": (
        "cleaning",
        {"date": "", "cleaner": "cleaner", "sanitiser": "sanitiser", "concentration": "strength",
         "contact time": "contact", "item": "item"},
    ),
}  # fmt: skip
"""Row of rules.md, section 2.3 -> our kind, and which of our fields holds each thing; empty: the entry itself."""


def table_of(section: str) -> list[list[str]]:
    """The rows of the first table of a section of the digest."""
    if not RULES.is_file():
        pytest.skip("the digest of rules is not here: it lies beside the shared data")
    text = RULES.read_text(encoding="utf-8")
    part = text.partition(f"### {section} ")[2].partition("\n#")[0]
    rows = [[cell.strip() for cell in line.strip("|").split("|")] for line in part.splitlines() if line[:1] == "|"]
    return rows[2:]


@pytest.mark.parametrize("row", list(ROWS))
def test_each_kind_holds_what_its_row_of_the_rules_asks_for(row: str) -> None:
    name, held = ROWS[row]
    kind = kind_named(name)
    cells = next(cells for cells in table_of("2.3") if cells[0] == row)
    _, _, _, what, corrective, review, keep, source = cells
    for words, field in held.items():
        assert words.lower() in what.lower()
        if field:
            kind.field(field)
    assert kind.review == (review.startswith("yes"))
    assert bool(kind.corrective) == (corrective not in ("-", "excluded, returned"))
    assert kind.keep_years >= int(re.match(r"(\d+) years?", keep)[1])  # type: ignore[index]
    for section in re.findall(r"112\.\d+(?:\([a-z0-9]+\))*", kind.source):
        assert section in source, section
    if "(from memory)" in source and "seen" not in source:
        assert not kind.seen or "from memory" in kind.source


def test_every_row_of_the_rules_is_a_kind_but_sprout_batches_which_are_for_sprout_growers_only() -> None:
    assert {cells[0] for cells in table_of("2.3")} - set(ROWS) == {"Sprout batch records (subpart M)"}


MODEL = {
    "water point and test": (
        "water test",
        {"source": "water source", "use": "use", "sample date": "sampled", "method": "method",
         "laboratory": "laboratory", "result": "e. coli", "next due": ""},
    ),
    "chemical use": (
        "chemical use",
        {"product": "product", "registration number": "registration", "lot": "product lot",
         "target and measured concentration": "target", "pH": "ph", "time": "", "contact time": "contact",
         "person": ""},
    ),
}  # fmt: skip
"""Row of rules.md, section 6 -> our kind, and which field holds each thing; empty: the entry, or how often it is."""


@pytest.mark.parametrize("row", list(MODEL))
def test_what_one_data_model_should_hold_is_in_the_kind(row: str) -> None:
    name, held = MODEL[row]
    text = RULES.read_text(encoding="utf-8") if RULES.is_file() else pytest.skip("the digest of rules is not here")
    line = next(line for line in text.partition("## 6. ")[2].splitlines() if line.startswith(f"| {row} |"))
    asked = [word.strip() for word in line.split("|")[2].split(",")]
    assert asked == list(held)
    for field in filter(None, held.values()):
        kind_named(name).field(field)


def test_the_header_of_a_record_is_that_of_the_rules() -> None:
    assert tuple(cells[0] for cells in table_of("2.2")) == HEADER


def test_kinds_have_one_name_each_and_say_where_they_are_from() -> None:
    assert len({kind.name for kind in KINDS}) == len(KINDS)
    for kind in KINDS:
        assert kind.source
        assert any(field.required for field in kind.fields)
        assert len({field.name for field in kind.fields}) == len(kind.fields)
        # Wherever chlorine or acid may be at hand, the caution stands beside it.
        if any(field.name in ("strength", "free chlorine") for field in kind.fields):
            assert "Never mix chlorine with acid" in kind.caution


def test_a_kind_that_is_none_names_those_that_are() -> None:
    with pytest.raises(NotFoundError, match=r"Did you mean cleaning\?"):
        kind_named("cleanin")


@pytest.mark.parametrize(
    ("kind", "field", "said", "value"),
    [
        ("cold room", "temperature", "41 F", 5.0),
        ("cold room", "temperature", "3,5", 3.5),
        ("cleaning", "contact", "2 min", 2.0),
        ("cleaning", "strength", "80 ppm", 80.0),
        ("cleaning", "strength", "0,5 ppm", 0.5),
        ("water test", "e. coli", "0 in 100 ml", 0.0),
        ("cleaning", "item", "  knives   and scissors ", "knives and scissors"),
    ],
)
def test_a_value_is_read_with_its_unit(kind: str, field: str, said: str, value: float | str) -> None:
    assert read_value(kind_named(kind).field(field), said) == value


@pytest.mark.parametrize(
    ("kind", "field", "said", "rule"),
    [
        ("cold room", "temperature", "4 kg", "is not a temperature"),
        ("cleaning", "strength", "80 C", "must be a number in ppm"),
        ("cleaning", "strength", "-1", "cannot be"),
        ("cleaning", "strength", "1,500 ppm", "can be read as 1500 or as a decimal number"),
        ("cleaning", "strength", "nan", "cannot be"),
        ("water treatment", "ph", "70", "cannot be"),
        ("cleaning", "contact", "2 C", "Accepted: min, h or d"),
    ],
)
def test_a_wrong_unit_or_a_figure_that_cannot_be_is_refused(kind: str, field: str, said: str, rule: str) -> None:
    with pytest.raises(InputError, match=rule):
        read_value(kind_named(kind).field(field), said)


@pytest.mark.parametrize("module", ["hygiene.kinds", "hygiene.words", "hygiene.pack", "farm.records",
                                    "farm.transitions.records", "web.records.view"])  # fmt: skip
def test_the_examples_in_the_docstrings_hold(module: str) -> None:
    result = doctest.testmod(import_module(f"trayward.{module}"))
    assert result.attempted > 0
    assert result.failed == 0
