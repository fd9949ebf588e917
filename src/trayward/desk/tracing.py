"""Tracing: what a code or a name means, where it came from and went, and recalls."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from datetime import date, datetime, timedelta
from functools import cached_property
from itertools import islice, product
from typing import TYPE_CHECKING, Unpack
from urllib.parse import unquote, urlsplit

from trayward.codes.lot import LOOK_ALIKE, is_code, read
from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.looking_up import LookingUp
from trayward.desk.naming import Taken, next_name
from trayward.desk.ports import Book, Wanted
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.entries import ContactSet, Entry, RecallKept
from trayward.farm.recalls import Contact, Recall, Told
from trayward.farm.state import FarmState

if TYPE_CHECKING:
    from trayward.trace.recall import KeptRecall, RecallSheet
    from trayward.trace.sortable import KeyData
    from trayward.trace.types import Start, Trace, Way

NEAREST = ("pack", "harvest", "delivery", "tray", "sowing", "lot", "customer", "kit", "mark", "shelf")
"""What is meant where a name means several things, the first of these."""
MOST_SPELLINGS = 200
TRACED = "Trace a pack, harvest lot, delivery, tray, sowing, seed lot, customer, kit pool, marked kit or shelf."


class BookRecord:
    """The record that tracing reads, out of the book, as it is known at a moment."""

    def __init__(self, book: Book, state: FarmState, at: datetime) -> None:
        self._book = book
        self._taken_back: dict[str, int] = {}
        self.state = state
        self.at = at

    @cached_property
    def _struck(self) -> frozenset[str]:
        return self._book.struck()

    def about(self, subject: str) -> Sequence[Entry]:
        """What counts of what was said about a thing, in the order of happening."""
        found = [kept.entry for kept in self._book.about(subject) if kept.entry.at <= self.at]
        counted = [entry for entry in found if entry.id not in self._struck]
        self._taken_back[subject] = len(found) - len(counted)
        return counted

    def some(
        self, subject: str, kinds: Sequence[str], *, since: datetime | None, until: datetime | None, limit: int
    ) -> Sequence[Entry]:
        """What counts about a thing of some kinds, the newest first."""
        wanted = Wanted(kinds=tuple(kinds), about=(subject,), since=since, until=until)
        # Struck ones are left out afterwards; a few more are asked for, so that enough are left.
        found = self._book.search(wanted, limit=limit + min(len(self._struck), limit + 20)).kept
        entries = (kept.entry for kept in found if kept.entry.id not in self._struck and kept.entry.at <= self.at)
        return list(islice(entries, limit))

    def taken_back(self, subject: str) -> int:
        """How many entries about a thing were struck, of those read."""
        return self._taken_back.get(subject, 0)


class Tracing(LookingUp):
    """Where crop came from and where it went; calling it back."""

    def trace(
        self, word: str, *, at: datetime, way: Way = "both", first: date | None = None, last: date | None = None
    ) -> Trace:
        """
        Everything that leads to a thing, and everything that comes of it.

        Parameters
        ----------
        word : str
            A code off a label, scanned or typed, or a name: pack, harvest lot, delivery, tray, sowing, seed lot,
            customer, kit pool or shelf. `kind:name` where a name means several.
        at : datetime
            As the book knows it at that moment.
        way : {"back", "forward", "both"}
            Towards the seed, towards the customer, or both.
        first, last : date, optional
            For a customer, kit or a shelf: only these days, both included.

        Raises
        ------
        NotFoundError
            If nothing is called so.
        InputError
            If it is a code with a wrong check character; the likely slip is named.
        """
        from trayward.trace.trace import trace

        start = self.trace_start(word, at=at, first=first, last=last)
        return trace(self._record(at), start, way)

    def trace_start(self, word: str, *, at: datetime, first: date | None = None, last: date | None = None) -> Start:
        """What a code or a name means."""
        from trayward.trace.types import Span, Start

        if first is not None and last is not None and last < first:
            raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
        found = self._meant(word, at)
        kind, _, name = found.partition(":")
        return Start(kind=kind, name=name, span=Span(first=first, last=last))

    def recall_sheet(
        self, word: str, *, at: datetime, first: date | None = None, last: date | None = None
    ) -> RecallSheet:
        """All packs and customers that had of a thing, with how to reach them, and what is accounted for."""
        from trayward.trace.recall import recall_sheet

        return recall_sheet(self._record(at), self.trace_start(word, at=at, first=first, last=last))

    def key_data(
        self, word: str, *, at: datetime, first: date | None = None, last: date | None = None
    ) -> tuple[KeyData, ...]:
        """The harvests, packings and shippings of all lots that lead to a thing or come of it, as rows to be sorted."""
        from trayward.trace.sortable import key_data

        return key_data(self._record(at), self.trace_start(word, at=at, first=first, last=last))

    @worked_out(RecallKept)
    def keep_recall(
        self,
        word: str,
        *,
        reason: str,
        began: datetime,
        exercise: bool = True,
        reached: Collection[str] = (),
        notes: Iterable[tuple[str, str]] = (),
        recall: str = "",
        first: date | None = None,
        last: date | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """
        Keep a recall that was tried out, or had to be, as it went; it ended when it is said (`at`).

        Parameters
        ----------
        word : str
            What was called back; see `trace`.
        reason : str
            Why.
        began : datetime
            When somebody began to look.
        exercise : bool
            True: only tried out.
        reached : collection of str
            The customers that were reached.
        notes : iterable of (str, str)
            Customer and what they said.

        Returns
        -------
        Receipt
            `names` holds the recall.
        """
        if not reason.strip():
            raise InputError("reason", "nothing", "a recall needs one", "Say in a few words why.")
        at = said["at"]
        sheet = self.recall_sheet(word, at=at, first=first, last=last)
        if not sheet.harvests and not sheet.customers:
            raise InputError("recall", word, "nothing was cut or went out of it", "There is nothing to call back.")
        _check_began(began, at)
        had = {each.customer for each in sheet.customers}
        strange = sorted(set(reached) - had)
        if strange:
            raise NotFoundError("customer", strange[0], tuple(sorted(had)), "Only who had of it is called.")
        name = recall or next_name(local_day(at, self.settings(at)), Taken(self.book, "recall"), "R")
        told = told_of(sheet, set(reached), dict(notes))
        body = RecallKept(
            recall=Recall(
                recall=name, about=sheet.start.subject, reason=reason.strip(), exercise=exercise, began=began, ended=at,
                harvests=tuple(step.name for step in sheet.harvests), packs=tuple(pack.pack for pack in sheet.packs),
                told=told, cut_g=sheet.cut_g, accounted_g=sheet.accounted_g,
                findings=tuple(finding.message for finding in sheet.findings), first=first, last=last,
            )
        )  # fmt: skip
        return self._say(body, names=(name,), **said)

    def kept_recall(self, name: str, *, at: datetime) -> KeptRecall:
        """
        A recall that was kept, with all packs and customers as the book tells them of the moment it ended.

        Raises
        ------
        NotFoundError
            If no recall of that name was kept.
        """
        from trayward.trace.recall import KeptRecall

        held = self.state(at).recalls
        told = held.get(name.strip()) or held.get(name.strip().upper())
        if told is None:
            raise NotFoundError("recall", name, tuple(held), "See them with: trayward recall")
        said = self.said_about(f"recall:{told.recall}", at)
        entry = next(each for each in said if isinstance(each.body, RecallKept) and each.body.recall == told)
        # What was written down later, or struck, is in it: whoever reads the paper sees what the book knows now.
        sheet = self.recall_sheet(told.about, at=told.ended, first=told.first, last=told.last)
        return KeptRecall(recall=told, by=entry.by, written=entry.recorded, sheet=sheet)

    def set_contact(self, contact: Contact, **said: Unpack[Said]) -> Receipt:
        """How a customer is reached at once, from now on."""
        held = self.state(said["at"]).customers
        if contact.customer not in held:
            raise NotFoundError("customer", contact.customer, tuple(held), "Set them up with: trayward order customer")
        return self.record(ContactSet(contact=contact), **said, names=(contact.customer,))

    # What is meant ----------------------------------------------------------------------------------------------------

    def _record(self, at: datetime) -> BookRecord:
        return BookRecord(self.book, self.state(at), at)

    def _meant(self, word: str, at: datetime) -> str:
        """The subject that a scanned or typed word means."""
        typed = lot_in(word)
        if not typed:
            raise InputError("code or name", "nothing", "something must be named", TRACED)
        known = self.subjects_of(typed, at)
        if nearest := _nearest(known):
            return nearest
        if is_code(typed):
            for name in spellings(read(typed)):
                if found := _nearest(self.subjects_of(name, at)):
                    return found
        elif not known and _looks_like_code(typed):
            read(typed, lambda name: bool(_nearest(self.subjects_of(name, at))))
        if known:
            kind = known[0].partition(":")[0]
            raise InputError("code or name", word, f"it is the name of a {kind}, which leads nowhere", TRACED)
        state = self.state(at)
        names = (*state.packs, *state.harvests, *state.seed, *state.customers)
        raise NotFoundError("code or name", word, remedy=TRACED, also=tuple(names))


def _nearest(subjects: Sequence[str]) -> str:
    """Of several things of one name the one that is most likely meant; empty where tracing follows none of them."""
    found = {subject.partition(":")[0]: subject for subject in reversed(subjects)}
    return next((found[kind] for kind in NEAREST if kind in found), "")


def _looks_like_code(typed: str) -> bool:
    """Whether what is neither a name nor a code may be one in which somebody slipped: a dash before its end."""
    return "-" in typed[-3:-1] and bool(typed[:-1].rstrip("- "))


def told_of(sheet: RecallSheet, reached: Collection[str], notes: dict[str, str]) -> tuple[Told, ...]:
    """The customers of a sheet, with whether they were reached."""
    return tuple(
        Told(
            customer=each.customer, grams=each.grams, packs=each.packs, trays=each.trays,
            reached=each.customer in reached, note=notes.get(each.customer, ""),
        )
        for each in sheet.customers
    )  # fmt: skip


def lot_in(word: str) -> str:
    """The lot in what was scanned: of a GS1 code or address its batch, of another address its last part."""
    from trayward.codes import gs1

    typed = word.strip()
    if "://" in typed:
        try:
            held = dict(gs1.read_digital_link(typed))
        except InputError:
            return unquote(urlsplit(typed).path.rstrip("/").rpartition("/")[2])
        return held.get("10") or held.get("21") or typed
    # What a reader gives for a code that begins with an item has neither brackets nor a mark before it.
    item = len(typed) > 18 and typed[:2] in ("01", "02") and gs1.is_valid_key(typed[2:16])
    if typed.startswith(("(", "]", gs1.GS)) or gs1.GS in typed or item:
        held = dict(gs1.read_elements(typed))
        return held.get("10") or held.get("21") or typed
    return typed


def spellings(name: str) -> Iterator[str]:
    """A name, and how else it may be spelt with characters that look alike; the check character cannot tell those."""
    yield name
    alike: dict[str, str] = {}
    for letter, seen in LOOK_ALIKE.items():
        group = "".join(sorted({letter, seen, *(one for one, other in LOOK_ALIKE.items() if other == seen)}))
        alike |= dict.fromkeys(group, group)
    ways = [alike.get(letter.upper(), letter) for letter in name]
    for made in islice(product(*ways), MOST_SPELLINGS):
        yield "".join(made)


def _check_began(began: datetime, ended: datetime) -> None:
    """Raises `InputError` where a recall ended before it began, or took longer than any does."""
    moment, at, days = began.isoformat(timespec="minutes"), ended.isoformat(timespec="minutes"), LONGEST_RECALL.days
    if began > ended:
        rule = f"it cannot come after the end, {at}"
        raise InputError("began", moment, rule, "Check when it began.")
    if ended - began > LONGEST_RECALL:
        rule = f"it lies more than {days} days before the end"
        raise InputError("began", moment, rule, "Check when it began.")


LONGEST_RECALL = timedelta(days=60)
"""Nobody looks longer for who had of a lot; a day further back is mistyped. Our choice."""
