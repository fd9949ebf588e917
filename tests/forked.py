"""Processes that come from one that has loaded Trayward: a quarter of a second of loading less for each."""

from __future__ import annotations

import multiprocessing
from multiprocessing.context import ForkServerContext

LOADED = ["trayward.cli.main", "trayward.web.app", "trayward.bootstrap", "numpy", "alembic.config", "rich.table"]


def from_one_that_has_loaded() -> ForkServerContext:
    """
    How to start a process that begins with all modules loaded and nothing done yet.

    It is forked from a process that does nothing but that, never from the one the tests run in. There is one for a
    worker, started with its first process, so all who use it load the same.
    """
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(LOADED)
    return context
