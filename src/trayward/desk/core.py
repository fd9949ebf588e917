"""The heart of the desk: read the farm's state at a moment, and record what somebody says.

What cannot be is refused while it can still be put right, that is when it is said as it happens. A record that arrives
late, after others that happened later, lands on its own time; what does not add up then is kept as a finding, because
the book must not lose what was said.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from datetime import date, datetime
from functools import wraps
from itertools import count
from time import sleep
from typing import Any, Concatenate, ParamSpec, Required, TypedDict, TypeVar, Unpack

import msgspec

from trayward.desk.advice import advice
from trayward.desk.back import Back
from trayward.desk.doubts import AHEAD, clock_doubts, moment_doubts
from trayward.desk.hindsight import less_what_went_since
from trayward.desk.naming import names_made, new_entry_id, require_names
from trayward.desk.ports import Book, Checkpoint, Head, Kept
from trayward.errors import (
    BookError,
    ConflictError,
    Doubt,
    DoubtError,
    Finding,
    InputError,
    NotFoundError,
    RefusedError,
)
from trayward.farm.codec import decode_state, encode_state, normal
from trayward.farm.copying import copied
from trayward.farm.entries import Body, Entry, InvoiceCredited, InvoiceMade, Struck
from trayward.farm.fold import apply, check, fold
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FOLD, FarmState

CHECKPOINT_EVERY = 2000
"""Entries folded on top of a checkpoint before a new one is kept: loading stays under about 50 ms."""

SHORT_IDS_AMONG = 20_000
"""How many of the newest entries may be named by the first letters of their id."""

TRIES = 32
"""How often an append is tried again when somebody else wrote in between."""
PAUSE_S = 0.001
"""Each try waits so much longer than the one before, at most ten times that, so that others get through. [s]"""


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """What was kept, and what about it deserves a look."""

    kept: tuple[Kept, ...]
    findings: tuple[Finding, ...] = ()
    names: tuple[str, ...] = ()
    """Names the call made: of a sowing and its trays, a harvest lot, a pack, ..."""

    def with_findings(self, more: Iterable[Finding]) -> Receipt:
        """The receipt, with what else about it deserves a look."""
        return msgspec.structs.replace(self, findings=(*self.findings, *more))


class Said(TypedDict, total=False):
    """How a thing is said: every call that records takes these by name."""

    at: Required[datetime]
    """When it happened, with offset."""
    by: str
    """Who says so."""
    recorded: datetime | None
    """When it is said; `at` if left out."""
    ids: Sequence[str] | None
    """Ids made by the device: one for the whole call, or one for each entry it makes; fresh ones if left out.

    Saying the same again with the same ids changes nothing, also where the farm has gone on since.
    """
    sure: bool
    """True: keep it although it looks mistyped. So does who hands on what was said before, as a phone offline does."""


class DeskCore:
    """A book with its state. The state is kept in memory between calls; everyone outside the desk only reads it.

    Parameters
    ----------
    book : Book
        Where it is all kept.
    new_id : callable
        Makes the ids of entries that come without.
    pause : callable
        Waits so many seconds before an append is tried again. No clock is read: how long it is, nobody looks.
    """

    def __init__(
        self, book: Book, *, new_id: Callable[[], str] = new_entry_id, pause: Callable[[float], None] = sleep
    ) -> None:
        self.book = book
        self._pause = pause
        self._new_id = new_id
        self._seq = -1
        self._state: FarmState | None = None
        self._since_checkpoint = 0
        self._back = Back(book)
        self._struck: frozenset[str] = frozenset()
        """The entries that were struck when the state in memory was folded."""
        self._past: tuple[int, datetime, FarmState] | None = None
        """The farm at the earlier moment asked for last: where the book ended, the moment, the state."""

    # Reading ---------------------------------------------------------------------------------------------------------

    def state(self, at: datetime) -> FarmState:
        """The farm as it was at a moment, by what the book knows today."""
        require_aware(at)
        head = self.book.head()
        if head.horizon is None or at >= head.horizon:
            return self._present(head)
        # A call about the past asks for it several times, and whoever has it only reads it.
        if self._past is None or self._past[:2] != (head.seq, at):
            self._past = head.seq, at, self._folded(at)
        return self._past[2]

    def settings(self, at: datetime) -> FarmSettings:
        """The farm's settings. Raises `BookError` for a book that was never set up, `InputError` before it was."""
        settings = self.state(at).settings
        if settings is None:
            began = self._present(self.book.head()).began
            if began is not None and at < began:
                rule = f"this farm was set up only at {began.isoformat()}"
                raise InputError("when", at.isoformat(), rule, "Set the machine's clock, or say a later moment.")
            raise BookError(
                "This book has no farm in it yet. Set one up: trayward init --setup loft, or your own file."
            )
        return settings

    def ends_beyond(self, now: datetime) -> datetime | None:
        """Where the book ends, if a clock that says `now` is behind that; what was struck counts no more. Else None."""
        require_aware(now)
        end, right = self.book.head().horizon, now + AHEAD
        if end is None or end <= right:
            return None
        struck, back = self.book.struck(), AHEAD
        # Mostly the last hour says it; a long book need not be read for it.
        while not (later := self._standing_after(max(right, end - back), struck)) and end - back > right:
            back *= 4
        return later[-1] if later else None

    def _standing_after(self, moment: datetime, struck: Collection[str]) -> list[datetime]:
        return [entry.at for entry in self.book.timeline(later_than=moment) if entry.id not in struck]

    def _present(self, head: Head) -> FarmState:
        """The whole book folded, from memory as far as it reaches."""
        if self._state is not None and self._seq >= head.seq:
            return self._state
        if self._state is not None and self._catch_up(self._state, head):
            self._seq = head.seq
            return self._state
        self._state = self._folded(None)
        # Others may have written since `head` was read: the fold says itself how far it reaches.
        self._seq = self._state.entries
        return self._state

    def _catch_up(self, state: FarmState, head: Head) -> bool:
        """Apply what others wrote since; False where it reaches back in time and all must be folded again."""
        fresh = [kept.entry for kept in self.book.entries(after=self._seq, until_seq=head.seq)]
        before = state.horizon
        for entry in fresh:
            if before is not None and entry.at < before:
                self._back.expect(min(entry.at for entry in fresh), self._seq)
                return False
            if isinstance(entry.body, Struck):
                return False
            before = entry.at
        self._back.passing(state, self._seq, self._struck)
        for entry in fresh:
            apply(state, entry)
        return True

    def _folded(self, until: datetime | None) -> FarmState:
        """The book folded up to a moment, from the nearest state on that is at hand."""
        begun = self._back.begun(until)
        state, timeline = begun or self._begun_in_store(until)
        before, struck = state.entries, self.book.struck()  # the fold goes on in the same state
        if until is None:
            # Of the whole book, with an eye on what will be folded again soon.
            timeline = self._back.noting(timeline, state, struck, from_here=begun is not None)
            self._struck = struck
        fold(timeline, start=state, struck=struck)
        if begun is None and until is None and state.entries - before >= CHECKPOINT_EVERY:
            self._keep_checkpoint(state)
        return state

    def _begun_in_store(self, until: datetime | None) -> tuple[FarmState, Iterator[Entry]]:
        """The farm as of the store's nearest checkpoint and what happened since; from the start where there is none."""
        checkpoint = self.book.checkpoint(until=until)
        while checkpoint is not None and (state := usable_state(checkpoint)) is not None:
            timeline = self.book.timeline_after(checkpoint, until=until)
            # The timeline ends where the book ends now. A late entry or a strike kept before that took the checkpoint
            # away with it: only one that still stands is true of the whole timeline.
            newest = self.book.checkpoint(until=until)
            if newest == checkpoint:
                return state, timeline
            checkpoint = newest
        return FarmState(), self.book.timeline(until=until)

    def _keep_checkpoint(self, state: FarmState) -> None:
        head = self.book.head()
        # Somebody may have written while we folded; then the next reader keeps the checkpoint.
        if state.horizon is not None and head.seq == state.entries:
            self.book.save_checkpoint(Checkpoint(seq=head.seq, horizon=state.horizon, state=encode_state(state)))

    def _at_hand(self, at: datetime) -> FarmState:
        """The farm at a moment, as far as it is still to be had: for choosing spots, seed and crop where nobody says.

        For a record that arrives late, what others took since is left out, or what they truly did would be found wrong.
        """
        require_aware(at)
        head = self.book.head()
        if head.horizon is None or at >= head.horizon:
            return self._present(head)
        return less_what_went_since(copied(self.state(at)), self._present(head))

    # Writing ---------------------------------------------------------------------------------------------------------

    def record(
        self,
        *bodies: Body,
        at: datetime,
        by: str = "grower",
        recorded: datetime | None = None,
        ids: Sequence[str] | None = None,
        names: tuple[str, ...] = (),
        sure: bool = False,  # noqa: ARG002
    ) -> Receipt:
        """Keep what somebody says, all of it or nothing; `sure` or not, what looks mistyped is no concern of the book.

        Parameters
        ----------
        bodies : Body
            What is said, in order; each may build on the one before.
        at : datetime
            When it happened, with offset.
        by : str
            Who says so.
        recorded : datetime, optional
            When it is said; `at` if left out.
        ids : sequence of str, optional
            Ids made by the device: one for all, or one for each; fresh ones if left out. Saying the same again changes
            nothing.

        Raises
        ------
        InputError
            If nothing is said, nobody says it, or something would be kept under no name.
        RefusedError
            If it says something that cannot be, and does not arrive late.
        """
        entries = self._entries(bodies, at, by, recorded or at, ids)
        for tried in range(TRIES):
            if tried:
                self._pause(PAUSE_S * min(tried, 10))
            head = self.book.head()
            fresh = [entry for entry in entries if ids is None or self.book.get(entry.id) is None]
            if not fresh:
                return Receipt(kept=tuple(self.book.append(entries)), names=names)
            try:
                return self._keep(entries, fresh, head, names)
            except ConflictError:
                continue
        raise ConflictError("Others write to the book without a pause. Nothing was kept; try again in a moment.")

    def _say(
        self, *bodies: Body, doubts: Iterable[Doubt] = (), names: tuple[str, ...] = (), **said: Unpack[Said]
    ) -> Receipt:
        """Keep what a person says here and now. Raises `DoubtError` where it looks mistyped and nobody is `sure`."""
        if not said.get("sure"):
            require_not_ahead(said["at"], said.get("recorded"))
            found = (*self._moment_doubts(said["at"], said.get("recorded")), *doubts)
            if found:
                raise DoubtError(found)
        return self.record(*bodies, **said, names=names)

    def _moment_doubts(self, at: datetime, recorded: datetime | None) -> tuple[Doubt, ...]:
        head = self.book.head()
        state = self._present(head)
        found = tuple(moment_doubts(at, state.began, head.horizon, state.settings_or_usual))
        if found or recorded is None:
            return found
        return tuple(clock_doubts(recorded, self.ends_beyond(recorded), state.settings_or_usual))

    def _entries(
        self, bodies: Sequence[Body], at: datetime, by: str, recorded: datetime, ids: Sequence[str] | None
    ) -> list[Entry]:
        if not bodies:
            raise InputError("entries", "none", "at least one thing must be said", "Say what happened.")
        require_not_ahead(at, recorded)
        if not by.strip():
            raise InputError("by", "nothing", "it has to be some words", "Say who says so.")
        require_names(bodies)
        chosen = list(ids) if ids is not None else [self._new_id() for _ in bodies]
        if len(chosen) == 1:
            chosen = [id_of(chosen[0], number) for number in range(1, len(bodies) + 1)]
        if len(chosen) != len(bodies):
            rule = f"there must be one for all, or one for each of the {len(bodies)} entries"
            raise InputError("ids", len(chosen), rule, "Send both again.")
        return [
            normal(Entry(id=name, at=at, recorded=recorded, by=by, body=body))
            for name, body in zip(chosen, bodies, strict=True)
        ]

    def _keep(self, entries: list[Entry], fresh: list[Entry], head: Head, names: tuple[str, ...]) -> Receipt:
        for entry in fresh:
            if isinstance(entry.body, Struck):
                self._check_strike(entry.body)
        late = head.horizon is not None and entries[0].at < head.horizon
        if late or any(isinstance(entry.body, Struck) for entry in entries):
            return self._keep_and_fold_again(entries, head, names)
        state = self._present(head)
        self._back.passing(state, self._seq, self._struck)
        try:
            findings = self._rehearse(state, fresh)
            kept = self.book.append(entries, expected_seq=head.seq)
        except BaseException as err:
            # A lone entry changes the state only once it is kept: after a conflict there is just the news to catch up.
            if len(fresh) > 1 or not isinstance(err, ConflictError):
                self._forget()
            raise
        apply(state, fresh[-1])
        self._seq = max(each.seq for each in kept)
        self._past = None
        self._since_checkpoint += len(fresh)
        self._checkpoint_when_due()
        return Receipt(kept=tuple(kept), findings=findings, names=names)

    @staticmethod
    def _rehearse(state: FarmState, entries: Sequence[Entry]) -> tuple[Finding, ...]:
        """Check entries, applying all but the last to the state in memory; refuse all of them if one cannot be."""
        findings: list[Finding] = []
        for number, entry in enumerate(entries, start=1):
            found = (*check(state, entry), *advice(state, entry))
            wrong = tuple(finding for finding in found if finding.severity == "wrong")
            if wrong:
                raise RefusedError(wrong)
            findings += found
            if number < len(entries):
                apply(state, entry)
        return tuple(findings)

    def _keep_and_fold_again(self, entries: list[Entry], head: Head, names: tuple[str, ...]) -> Receipt:
        before = set(self._present(head).findings)
        kept = self.book.append(entries, expected_seq=head.seq)
        self._forget()
        self._since_checkpoint += len(entries)
        self._back.expect(min([entries[0].at, *self._struck_at(entries)]), head.seq)
        after = self._present(self.book.head()).findings
        return Receipt(kept=tuple(kept), findings=tuple(f for f in after if f not in before), names=names)

    def _struck_at(self, entries: Sequence[Entry]) -> list[datetime]:
        """When what these entries strike had happened."""
        found = [self.book.get(entry.body.entry) for entry in entries if isinstance(entry.body, Struck)]
        return [kept.entry.at for kept in found if kept is not None]

    def _checkpoint_when_due(self) -> None:
        if self._state is not None and self._since_checkpoint >= CHECKPOINT_EVERY:
            self._keep_checkpoint(self._state)
            self._since_checkpoint = 0

    def _said_already(self, kind: type[Body], said: Said) -> Receipt | None:
        """What was kept when a call was made before, told by its ids; None for one that is made for the first time."""
        ids = said.get("ids")
        first = self.book.get(ids[0]) if ids else None
        if not ids or first is None or not isinstance(first.entry.body, kind):
            return None
        if first.entry.at != said["at"] or first.entry.by != said.get("by", "grower"):
            return None
        kept = kept_under(self.book, ids)
        return Receipt(kept=kept, names=names_made(each.entry.body for each in kept))

    def _forget(self) -> None:
        """Drop the state in memory; the next reader folds it again from the book."""
        self._state, self._past = None, None
        self._seq = -1

    # Striking --------------------------------------------------------------------------------------------------------

    def strike(self, entry_id: str, reason: str, **said: Unpack[Said]) -> Receipt:
        """Take an earlier entry back. It stays in the book; the state is as if it had never been said."""
        return self.record(Struck(entry=entry_id, reason=reason), **said)

    def entry_named(self, name: str) -> Kept:
        """The entry whose id is, or begins with, what is said; short ids are looked for among the newest entries.

        Raises
        ------
        NotFoundError
            If there is none.
        InputError
            If several begin so.
        """
        exact = self.book.get(name)
        if exact is not None:
            return exact
        newest = self.book.entries(after=max(0, self.book.head().seq - SHORT_IDS_AMONG))
        found = [kept for kept in newest if name and kept.entry.id.startswith(name)]
        if not found:
            raise NotFoundError("entry", name, remedy="Find it with: trayward book show")
        if len(found) > 1:
            known = ", ".join(kept.entry.id for kept in found[:4])
            raise InputError("entry", name, f"several begin so: {known}", "Give more of its letters.")
        return found[0]

    def _check_strike(self, body: Struck) -> None:
        found = self.book.get(body.entry)
        if found is None:
            raise NotFoundError("entry", body.entry, remedy="Find it with: trayward book show")
        _require_no_invoice(found.entry)
        if body.entry in self.book.struck():
            raise InputError("entry", body.entry, "it is struck already", "There is nothing more to do.")
        if not body.reason.strip():
            raise InputError("reason", "nothing", "a struck entry needs one", "Say in a few words what was wrong.")


def _require_no_invoice(entry: Entry) -> None:
    """Raise `InputError` for an entry that made an invoice or a credit note: their numbers leave no gap."""
    if not isinstance(entry.body, InvoiceMade | InvoiceCredited):
        return
    bill = entry.body.bill
    rule = f"it made {'credit note' if bill.credits else 'invoice'} {bill.name}, and such a number stays"
    remedy = "Make another invoice." if bill.credits else f"Credit it instead: trayward money credit {bill.name}"
    raise InputError("entry", entry.id, rule, remedy)


Told = ParamSpec("Told")
Room = TypeVar("Room", bound=DeskCore)
UseCase = Callable[Concatenate[Room, Told], Receipt]


def worked_out(kind: type[Body]) -> Callable[[UseCase[Room, Told]], UseCase[Room, Told]]:
    """Mark a use case that works out from the farm's state what to say; `kind` is the first thing it says.

    A phone that heard no answer makes the call again: with the same ids it gets the first call's receipt, although the
    same words would come to something else by now. And where somebody else wrote while it was worked out, so that the
    outcome is refused (the same name, the same spot), it is worked out anew.
    """

    def marked(method: UseCase[Room, Told]) -> UseCase[Room, Told]:
        @wraps(method)
        def call(desk: Room, /, *args: Told.args, **kwargs: Told.kwargs) -> Receipt:
            said: Any = kwargs
            earlier = desk._said_already(kind, said)
            if earlier is not None:
                return earlier
            for _ in range(TRIES):
                seq = desk.book.head().seq
                try:
                    return method(desk, *args, **kwargs)
                except RefusedError:
                    if desk.book.head().seq == seq:
                        raise
            return method(desk, *args, **kwargs)

        return call

    return marked


def id_of(first: str, number: int) -> str:
    """The id of an entry of a call that was given one id: that one, then with `-2`, `-3`, ..."""
    return first if number == 1 else f"{first}-{number}"


def first_id(entry_id: str) -> str:
    """The id that a call was given, from that of one of its entries."""
    stem, _, number = entry_id.rpartition("-")
    return stem if stem and number.isdecimal() and len(number) < 4 else entry_id


def call_of(entry: Entry) -> str:
    """What the entries of one call have in common: the id they were given, else who said them and when."""
    return first_id(entry.id) if "-" in entry.id else f"{entry.by} {entry.at} {entry.recorded}"


def kept_under(book: Book, ids: Sequence[str]) -> tuple[Kept, ...]:
    """What a call left in the book that was given these ids, or this one id; nothing where it was not made before."""
    names = ids if len(ids) > 1 else (id_of(ids[0], number) for number in count(1))
    kept: list[Kept] = []
    for name in names:
        found = book.get(name)
        if found is None:
            break
        kept.append(found)
    return tuple(kept)


def usable_state(checkpoint: Checkpoint) -> FarmState | None:
    """The state of a checkpoint; None where another version of the fold made it."""
    try:
        state = decode_state(checkpoint.state)
    except BookError:
        return None
    return state if state.fold == FOLD else None


def require_not_ahead(at: datetime, recorded: datetime | None) -> None:
    """Raise `InputError` for a moment that lies ahead of the one it is said at, or has no offset."""
    require_aware(at)
    if recorded is None:
        return
    require_aware(recorded)
    if at > recorded + AHEAD:
        remedy = "Check the date and the device's clock."
        now = recorded.isoformat(timespec="minutes")
        raise InputError("when", at.isoformat(timespec="minutes"), f"it cannot lie ahead of now, {now}", remedy)


def require_aware(at: datetime) -> None:
    """Raise `InputError` for a time without offset: nobody could say when that was."""
    if at.tzinfo is None or at.utcoffset() is None:
        raise InputError(
            "time", at.isoformat(), "it must carry its offset from UTC", "Write 2026-11-25T07:00:00+00:00."
        )


def require_to_come(expected: date | None, today: date) -> None:
    """Raise `InputError` for a day of arrival that is over."""
    if expected is not None and expected < today:
        rule, remedy = "that day is over", "Say when it comes; leave it out where it is here."
        raise InputError("expected", expected.isoformat(), rule, remedy)
