"""A page's language handed to what is printed, and to what a calendar says."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from functools import partial

from trayward.paper.tongue import Tongue as OnPaper
from trayward.web.look.locales import Tongue


def on_paper(tongue: Tongue, said: Callable[[str], str]) -> OnPaper:
    """
    A language as a sheet takes it.

    Parameters
    ----------
    tongue : Tongue
        The language and its region.
    said : callable
        A sentence of the rooms below in it, with the names of one farm left as they are.
    """
    in_full = partial(tongue.day, year=True)
    return OnPaper(
        words=tongue.words, said=said, number=tongue.number, day=tongue.day, day_in_full=in_full, plain_day=in_full,
        month=tongue.month, clock=tongue.clock, moment=partial(_moment, tongue),
    )  # fmt: skip


def _moment(tongue: Tongue, local: datetime) -> str:
    day: date = local.date()
    return f"{tongue.day(day, year=True)} {tongue.clock(local)}"
