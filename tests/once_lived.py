"""Thirty days of Lantern Loft, lived through once for the whole run, also by several workers."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from time import monotonic, sleep

import pytest

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
"""Lantern Loft keeps UTC: its morning round is on."""
DAYS = 30
"""Of history; enough for every stage, cuts, deliveries and learning, in a few seconds."""


def made_once(factory: pytest.TempPathFactory, name: str, make: Callable[[Path], object]) -> Path:
    """A file that the first worker to want it makes; the others wait for it. Never write to it."""
    shared = factory.getbasetemp().parent if "popen" in factory.getbasetemp().name else factory.getbasetemp()
    done, begun, part = (shared / f"{name}.{ending}" for ending in ("sqlite", "begun", "part"))
    try:
        begun.touch(exist_ok=False)
    except FileExistsError:
        return _waited_for(done)
    make(part)
    part.rename(done)
    return done


def _waited_for(done: Path) -> Path:
    until = monotonic() + 300
    while not done.exists():
        assert monotonic() < until, f"another worker did not finish {done.name}"
        sleep(0.2)
    return done


def thirty_days(factory: pytest.TempPathFactory) -> Path:
    """Lantern Loft's book after thirty days, up to the evening before."""
    from trayward.study.demo import make_demo

    return made_once(
        factory, "thirty-days", lambda path: make_demo(str(path), now=MORNING, tell=lambda _: None, days=DAYS).close()
    )
