"""What a setup file says of sheets and labels, read, refused and written again."""

from __future__ import annotations

import tomllib

import pytest

from trayward.desk.setup.file import read_setup, ready_setup_text
from trayward.desk.setup.written import setup_text
from trayward.errors import SetupError
from trayward.farm.entries import FarmSet
from trayward.farm.settings import FarmPaper, FarmSettings, GS1Item
from trayward.farm.state import FarmState

PAPER = """[farm.paper]
size = "Letter"
address = ["Attic, 4 Rope Walk", "Lantern Quay"]
storage = "Keep at 1 to 5 C."
words = "Rinse before eating."
web = "https://lantern-loft.example/"
gs1_prefix = "9521234"
[farm.paper.gs1_items]
radish = "50001"
"""


def setup(paper: str) -> str:
    return ready_setup_text("shelf").replace("[[rack]]", f"{paper}\n\n[[rack]]", 1)


def paper_in(paper: str) -> FarmPaper:
    bodies = read_setup(setup(paper), name="nook.toml")
    return next(body for body in bodies if isinstance(body, FarmSet)).settings.paper


def test_it_works() -> None:
    assert paper_in(PAPER) == FarmPaper(
        size="Letter", address=("Attic, 4 Rope Walk", "Lantern Quay"), storage="Keep at 1 to 5 C.",
        words="Rinse before eating.", web="https://lantern-loft.example", gs1_prefix="9521234",
        gs1_items=(GS1Item(product="radish", item="50001"),),
    )  # fmt: skip
    assert paper_in("") == FarmPaper()


def test_it_is_written_as_it_was_read() -> None:
    state = FarmState(settings=FarmSettings(name="Lantern Loft", paper=paper_in(PAPER)))
    said = tomllib.loads(PAPER)["farm"]["paper"]
    assert tomllib.loads(setup_text(state))["farm"]["paper"] == {**said, "web": "https://lantern-loft.example"}


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('size = "B5"', "one of A4, Letter"),
        ('web = "lantern-loft"', "web address"),
        ('gs1_prefix = "12"', "gs1_prefix"),
        ('gs1_prefix = "9521234"\n[farm.paper.gs1_items]\nradish = "1234567"', "radish"),
        ('[farm.paper.gs1_items]\nradish = "50001"', "radish"),
        ('colour = "red"', "colour"),
    ],
)
def test_what_cannot_be_is_refused_by_line(line: str, says: str) -> None:
    with pytest.raises(SetupError, match=says):
        read_setup(setup(f"[farm.paper]\n{line}"), name="nook.toml")
