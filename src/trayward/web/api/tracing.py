"""Tracing and recalls, for programs."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.errors import Finding
from trayward.farm.recalls import Contact, Recall
from trayward.trace.recall import RecallCustomer, RecallPack
from trayward.trace.types import Trace, Way
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Name, Telling, Words
from trayward.web.ask import Ask


class TraceAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which way, and for a customer, kit or a shelf which days."""

    way: Way = "both"
    first: date | None = None
    last: date | None = None


class RecallAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """For a customer, kit or a shelf which days."""

    first: date | None = None
    last: date | None = None


class RecallTold(msgspec.Struct, frozen=True, kw_only=True):
    """All packs and customers that had of it, and what is accounted for. [g]"""

    about: str
    harvests: tuple[str, ...]
    packs: tuple[RecallPack, ...]
    customers: tuple[RecallCustomer, ...]
    growing: tuple[str, ...]
    cold_room: dict[str, float]
    cut_g: float
    delivered_g: float
    here_g: float
    thrown_g: float
    share: float
    findings: tuple[Finding, ...]


class RecallPage(msgspec.Struct, frozen=True, kw_only=True):
    """Recalls that were kept, in the order they were."""

    recalls: tuple[Recall, ...]


class KeepRecall(Telling, frozen=True, kw_only=True):
    """Keep a recall that was tried out, or had to be; it ended when it is said."""

    about: Name
    """A code or a name; see `/trace`."""
    reason: Annotated[Words, msgspec.Meta(min_length=1)]
    began: datetime
    exercise: bool = True
    reached: tuple[Name, ...] = ()


class SetContact(Telling, frozen=True, kw_only=True):
    """How a customer is reached at once, whole."""

    customer: Name
    person: Words = ""
    phone: Words = ""
    email: Words = ""
    address: Words = ""


def _trace(ask: Ask, asked: TraceAsked) -> Trace:
    return ask.farm.trace(str(ask.path["word"]), at=ask.at, way=asked.way, first=asked.first, last=asked.last)


def _recall(ask: Ask, asked: RecallAsked) -> RecallTold:
    found = ask.farm.recall_sheet(str(ask.path["word"]), at=ask.at, first=asked.first, last=asked.last)
    return RecallTold(
        about=found.start.subject, harvests=tuple(step.name for step in found.harvests), packs=found.packs,
        customers=found.customers, growing=found.growing, cold_room=found.cold_room, cut_g=found.cut_g,
        delivered_g=found.delivered_g, here_g=found.here_g, thrown_g=found.thrown_g, share=found.share,
        findings=found.findings,
    )  # fmt: skip


def _recalls(ask: Ask, _: Nothing) -> RecallPage:
    return RecallPage(recalls=tuple(ask.farm.state(ask.at).recalls.values()))


def _keep(ask: Ask, told: KeepRecall, said: Said) -> Receipt:
    return ask.farm.keep_recall(
        told.about, reason=told.reason, began=told.began, exercise=told.exercise, reached=told.reached, **said
    )


def _contact(ask: Ask, told: SetContact, said: Said) -> Receipt:
    made = Contact(customer=told.customer, person=told.person, phone=told.phone, email=told.email, address=told.address)
    return ask.farm.set_contact(made, **said)


OPERATIONS = (
    look("/trace/{word:path}", _trace, Trace, "trace", "Where something came from and where it went.",
         takes=TraceAsked),
    look("/recall/{word:path}", _recall, RecallTold, "trace", "Every pack and customer that had of a lot.",
         takes=RecallAsked, may="run"),
    look("/recalls", _recalls, RecallPage, "trace", "Recalls that were kept.", may="run"),
    tell("/recalls", _keep, KeepRecall, "trace", "Keep a recall as it went.", may="run", kinds=("recall kept",)),
    tell("/contacts", _contact, SetContact, "trace", "How a customer is reached.", may="run", kinds=("contact set",)),
)  # fmt: skip
