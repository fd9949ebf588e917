"""What looks mistyped is pointed out, and kept if the grower insists: by a yes on the terminal, or by --sure."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TypeVar

import click

from trayward.cli.given import Given
from trayward.errors import DoubtError, TraywardError

T = TypeVar("T")


def unless_doubted(given: Given, say: Callable[[], T]) -> T:
    """
    Say something that may look mistyped; where somebody is there to answer, ask once, and say it again on a yes.

    Nothing was recorded before the question: what is doubted is kept whole or not at all.

    Raises
    ------
    DoubtError
        Where nobody can answer: the message says how to insist.
    TraywardError
        If the answer is no.
    """
    try:
        return say()
    except DoubtError as doubt:
        if given.json or not somebody_there():
            raise
        _ask(doubt)
    before, given.sure = given.sure, True
    try:
        return say()
    finally:
        given.sure = before


def somebody_there() -> bool:
    """Whether a question would be read and answered by a person."""
    return sys.stdin.isatty()


def _ask(doubt: DoubtError) -> None:
    for each in doubt.doubts:
        click.echo(each.sentence(), err=True)
    what = f"Keep {doubt.doubts[0].said}?" if len(doubt.doubts) == 1 else "Keep all of it as you said?"
    if not click.confirm(what, err=True):
        raise TraywardError("Nothing was recorded. Say it anew with the right figure.")
