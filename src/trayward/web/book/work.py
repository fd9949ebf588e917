"""The book looked through from its first entry to its last: long work for another process."""

from __future__ import annotations

from datetime import datetime

import msgspec

from trayward.bootstrap import Farm
from trayward.errors import Finding
from trayward.web.work import job


class Checked(msgspec.Struct, frozen=True, kw_only=True):
    """What looking through the book gave."""

    entries: int
    last: str
    """The hash that the book ended with."""
    findings: tuple[Finding, ...]


def check(farm: Farm, at: datetime) -> Checked:  # noqa: ARG001 - every job is given the moment
    """Work out every hash of the book anew and compare."""
    head = farm.book.head()
    return Checked(entries=head.seq, last=head.hash, findings=tuple(farm.book.verify()))


job("book-check", check)
