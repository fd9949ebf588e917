"""The page of commands says what the commands say."""

from __future__ import annotations

import click

from tools import make_reference


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


def test_the_kept_page_of_commands_is_up_to_date() -> None:
    """Run `make reference` when this fails."""
    from trayward.cli.main import cli

    assert make_reference.difference(make_reference.page(cli)) == []
