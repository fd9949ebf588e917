"""What the pages of tracing show, from a trace or a recall sheet."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from trayward.farm.recalls import Contact
from trayward.trace.recall import RecallSheet
from trayward.trace.types import CHAIN, Step, Trace
from trayward.trace.words import Words

MOST = 60
"""So many things of one kind stand on the page; the sheet has all."""
MOST_LIVES = 12
SAID_THERE = "contact-missing"
"""A finding that stands at its customer on the page."""


class Thing(msgspec.Struct, frozen=True, kw_only=True):
    """One thing on the way."""

    code: str
    words: str
    known: bool
    subject: str


class Kind(msgspec.Struct, frozen=True, kw_only=True):
    """All things of one kind on the way."""

    kind: str
    things: tuple[Thing, ...]
    count: int

    @property
    def more(self) -> int:
        """How many are left out."""
        return self.count - len(self.things)


class Lived(msgspec.Struct, frozen=True, kw_only=True):
    """What a tray went through."""

    words: str
    washed: tuple[str, ...]


class Shown(msgspec.Struct, frozen=True, kw_only=True):
    """A trace as the page shows it."""

    start: str
    kinds: tuple[Kind, ...]
    balances: tuple[str, ...]
    more_balances: int
    """How many the page leaves out; the sheet has all."""
    findings: tuple[str, ...]
    lives: tuple[Lived, ...]
    taken_back: int
    late: int


class Called(msgspec.Struct, frozen=True, kw_only=True):
    """A customer in a recall."""

    customer: str
    had: str
    still: str
    """What of it may still be there."""
    contact: Contact
    reachable: bool
    deliveries: tuple[str, ...]


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """A recall as the page shows it."""

    subject: str
    start: str
    harvests: tuple[str, ...]
    packs: tuple[str, ...]
    customers: tuple[Called, ...]
    hold: tuple[str, ...]
    growing: tuple[str, ...]
    account: str
    findings: tuple[str, ...]


def shown_of(trace: Trace, words: Words) -> Shown:
    """A trace for the page."""
    balances = [words.harvest(each) for each in trace.harvests] + [words.pack(each) for each in trace.packs]
    balances += [words.seed(each) for each in trace.seed]
    lives = tuple(
        Lived(words=words.life(life), washed=tuple(words.washing(each) for each in life.washed))
        for life in trace.lives[:MOST_LIVES]
    )
    kinds = tuple(_kind(kind, found, words) for kind in CHAIN if (found := trace.of(kind)))
    return Shown(
        start=_capital(words.start(trace.start)), kinds=kinds, balances=tuple(balances[:MOST]),
        more_balances=max(0, len(balances) - MOST), findings=tuple(each.sentence() for each in trace.findings),
        lives=lives, taken_back=trace.taken_back, late=trace.late,
    )  # fmt: skip


def _kind(kind: str, steps: Sequence[Step], words: Words) -> Kind:
    things = tuple(
        Thing(
            code=step.code or step.name, words=words.step(step), known=step.known, subject=f"{step.kind}:{step.name}",
        )
        for step in steps[:MOST]
    )  # fmt: skip
    return Kind(kind=kind, things=things, count=len(steps))


def sheet_of(sheet: RecallSheet, words: Words) -> Sheet:
    """A recall for the page."""
    customers = tuple(
        Called(
            customer=each.customer, had=words.had(each), still=words.still(each), contact=each.contact,
            reachable=each.reachable,
            deliveries=tuple(f"{words.day(out.at)}, {out.delivery}: {words.had(out)}" for out in each.deliveries),
        )
        for each in sheet.customers
    )  # fmt: skip
    return Sheet(
        subject=sheet.start.subject, start=_capital(words.start(sheet.start)),
        harvests=tuple(step.code or step.name for step in sheet.harvests),
        packs=tuple(words.recall_pack(pack) for pack in sheet.packs), customers=customers,
        hold=tuple(f"{words.mass(grams)}, {lot}" for lot, grams in sheet.cold_room.items()), growing=sheet.growing,
        account=words.account(sheet),
        findings=tuple(each.sentence() for each in sheet.findings if each.code != SAID_THERE),
    )  # fmt: skip


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
