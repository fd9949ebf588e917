"""Counts with their nouns and names in a row, as every room says them."""

from __future__ import annotations

import doctest

import pytest

import trayward.words
from trayward.words import counted, listed


def test_the_examples_are_as_shown() -> None:
    done = doctest.testmod(trayward.words)
    assert (done.failed, done.attempted > 0) == (0, True)


@pytest.mark.parametrize(
    ("number", "said"),
    [(0, "0 trays"), (1.0, "1 tray"), (2.5, "2.5 trays"), (0.1 + 0.2, "0.3 trays"), (1_234_567, "1234567 trays")],
)
def test_a_count_is_written_without_digits_nobody_counted(number: float, said: str) -> None:
    assert counted(number, "tray") == said


def test_nothing_one_and_just_as_many_as_are_named() -> None:
    assert (listed([]), listed(["A1"]), listed("abcdef"), listed("abcdefg")) == (
        "",
        "A1",
        "a, b, c, d, e and f",
        "a, b, c, d, e, f and 1 more",
    )
