"""A story on the terminal: moment and words, line by line."""

from __future__ import annotations

from collections.abc import Sequence

import click

from trayward.cli.given import Given
from trayward.cli.show import answer, wrapped
from trayward.rounds.story import StoryLine


def show_story(given: Given, lines: Sequence[StoryLine]) -> None:
    """A story, one thing that happened a line; what was struck is marked and counts no more."""
    answer(given, {"story": list(lines)}, lambda: tell_story(lines))


def tell_story(lines: Sequence[StoryLine]) -> None:
    """The lines of a story, one below the other."""
    for line in lines:
        wrapped(f"{line.words}{' (struck)' if line.struck else ''}", "  ")
    if not lines:
        click.echo("Nothing is written about it yet.")
