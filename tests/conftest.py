"""What holds for every test."""

from __future__ import annotations

import gc
import os
import signal
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

# A run begun in the background of a script inherits that Ctrl-C means nothing, and so would each program a test starts.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)

# As the command line does: the outlook's matrices are small, and tests run on every core. Before anything loads numpy.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

pytest_plugins = ["tests.once_more"]

SLOW, DRIVES, PLAIN = 100, 10, 1
"""About how the waits for a test compare: one marked slow, one that drives another program, any other. [-]"""

SELDOM = (10_000, 20, 20)
"""
After how many new objects, and how many smaller looks, Python looks for what can be let go. [-]

Tests make books and pages and drop them whole. With Python's own numbers (700, 10, 10) looking takes 7 % of their time,
with these 4.
"""


@pytest.hookimpl(wrapper=True)
def pytest_collection() -> Iterator[None]:
    """
    What is collected is there to the end, so nobody looks through it for what can be let go, then or later.

    Half a million objects stand for the tests. Python would go through all of them forty times while they are made, and
    again and again while they run.
    """
    gc.disable()
    try:
        return (yield)
    finally:
        gc.collect()
        gc.freeze()
        gc.set_threshold(*SELDOM)
        gc.enable()


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """
    Files that take long come first; within a file all stays as it was.

    On several cores each takes the next file when it is done with one. When small ones are left at the end, none waits
    long for another.
    """
    weight: Counter[Path] = Counter()
    for item in items:
        slow, drives = (item.get_closest_marker(mark) is not None for mark in ("slow", "drives"))
        weight[item.path] += SLOW if slow else DRIVES if drives else PLAIN
    items.sort(key=lambda item: -weight[item.path])
