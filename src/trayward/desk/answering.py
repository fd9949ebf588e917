"""Answers to rows that somebody saw some time ago: they land at their own time, whatever became of the row since.

Two people may answer the same row, one of them hours later from a phone that had no signal. Both answers are kept. What
the second one brings with it (a stage begun, trays moved, a cut) happens only where it has not happened already; else
it is kept as what was seen, or as a note about the trays, and whoever sent it is told who answered, too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime
from hashlib import sha256
from typing import NamedTuple, Unpack

import msgspec

from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.doubts import Doubts
from trayward.desk.jobs import Jobs
from trayward.desk.others import ANSWERS, JOBS, Other
from trayward.desk.ports import Kept
from trayward.desk.recording import Recording
from trayward.desk.scale import Scale
from trayward.errors import InputError
from trayward.farm.entries import (
    Body,
    Cut,
    Discarded,
    Note,
    RoundAnswered,
    StageChanged,
    Stripped,
    TrayCut,
    Watered,
)
from trayward.farm.holds import held_trays
from trayward.farm.recipes import stage_called
from trayward.farm.state import Tray
from trayward.rounds.answer import answer_trays, chosen_trays
from trayward.rounds.told import RowSaid, RowTold
from trayward.rounds.types import RowKind
from trayward.rounds.words import sentences


class Answered(msgspec.Struct, frozen=True, kw_only=True):
    """What came of an answer."""

    receipt: Receipt
    others: tuple[Other, ...] = ()
    """Who answered the row, too, in the order of happening."""
    as_words: bool = False
    """True: it was done already, so it is kept as a note, or as what was seen, and changes nothing more."""


class _Found(NamedTuple):
    """The trays of an answer by what became of them, before it was said and since."""

    open: tuple[str, ...]
    """As the row has them, then and now."""
    seen: tuple[str, ...]
    """As the row has them then; they have gone on since."""
    gone_on: tuple[str, ...]
    """In another stage already then."""
    over: tuple[str, ...]
    """They grew no more then, or nobody knows them."""


class Answering(Jobs, Recording, Scale):
    """Answers by the row's name, the moment, and what the form carried."""

    def answer_told(self, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> Answered:
        """
        Keep an answer to a row as it was told to whoever answers it.

        Parameters
        ----------
        told : RowTold
            The row, as the page had it.
        answer : RowSaid
            What is said to it.
        at : datetime
            When it was said; hours ago, where a phone had no signal.

        Returns
        -------
        Answered
            The receipt, and who answered the same row, too.

        Raises
        ------
        InputError
            If the row takes no such answer.
        DoubtError
            If a figure looks mistyped and nobody is `sure`.
        """
        if answer.throw and not answer.problem.strip():
            rule = "say why it is thrown away"
            raise InputError("problem", "nothing", rule, "In a word, for instance: mould, fallen.")
        others = self.others_of(told, answer.only or tuple(answer.grams), said["at"], tuple(said.get("ids") or ()))
        noted = self._keep_note(told, answer, **said)
        receipt = self._keep_answer(told, answer, others, **said)
        receipt = msgspec.structs.replace(receipt, kept=(*receipt.kept, *noted))
        kept = [each.entry.body for each in receipt.kept]
        acted = any(isinstance(body, ACTS[told.kind]) for body in kept)
        asked = answer.done or answer.throw or bool(answer.grams) or answer.cue == "ready"
        return Answered(receipt=receipt, others=others, as_words=asked and not acted)

    @worked_out(Body)
    def _keep_answer(self, told: RowTold, answer: RowSaid, others: Sequence[Other], **said: Unpack[Said]) -> Receipt:
        if told.kind == "record":
            return self._keep_record(told, answer, **said)
        if told.kind in JOBS:
            return self._keep_job(told, answer, others, **said)
        if told.kind == "strip":
            return self._keep_strip(told, answer, **said)
        trays = chosen_trays(told.as_row(), answer.only or tuple(answer.grams))
        if not trays:
            raise InputError(
                "trays", "none", "an answer is about at least one tray", "Open the round and answer there."
            )
        found = self._found(told, trays, said["at"])
        mouldy = self._mouldy(trays, said["at"]) if told.kind != "discard" else {}
        if len(found.open) == len(trays) and not mouldy:
            return self._keep_whole(told, answer, **said)
        if answer.grams or answer.throw or (told.kind == "discard" and answer.done):
            return self._keep_ending(told, answer, trays, **said)
        return self._keep_looks(told, answer, found, mouldy, **said)

    def _keep_note(self, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> tuple[Kept, ...]:
        """Words that came with a job, a cut or trays thrown away, whose own entries have no place for them.

        They are kept first, and under an id that the same words to the same row have again: a sending that broke off in
        between, or a cut that was asked about, does not keep them twice.
        """
        ends = answer.grams or answer.throw or (told.kind == "discard" and answer.done)
        if told.kind == "record":
            return ()  # A record has its own place for them.
        text = sentences(f"trouble seen: {answer.problem}" if answer.problem and answer.grams else "", answer.note)
        if not text or not (ends or told.kind in JOBS or told.kind == "strip"):
            return ()
        about = [f"tray:{name}" for name in answer.only or tuple(answer.grams) or told.trays] or told.job
        words = " ".join((said.get("by", ""), told.round, told.row, text))
        entry_id = f"note-{sha256(words.encode()).hexdigest()[:32]}"
        if self.book.get(entry_id) is not None:
            return ()
        mine: Said = {**said, "ids": [entry_id]}
        return self.record(Note(text=text, about=tuple(about)), **mine).kept

    def _keep_record(self, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> Receipt:
        """What was read or done is a fact of its moment, whoever wrote it down, too; the rest is as last time."""
        if not (answer.done or answer.values):
            raise InputError("answer", "none", "a record says what was found or done", "Write it down, or say done.")
        return self.write_record(
            told.record, {**told.usual, **answer.values}, area=told.area, corrective=answer.corrective,
            note=answer.note, **said,
        )  # fmt: skip

    # Where the row stands as it was told -----------------------------------------------------------------------------

    def _keep_whole(self, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> Receipt:
        """Nothing has happened to the trays since."""
        row, only = told.as_row(), answer.only or None
        if answer.grams:
            trays = tuple(answer.grams)
            return self.cut_row(row, list(answer.grams.values()), height_mm=answer.height_mm, only=trays, **said)
        if answer.throw:
            return self.discard(answer.only or told.trays, answer.problem, **said)
        if answer.done and told.kind == "discard":
            return self.do_row(row, only=only, **said)
        if answer.done and told.kind == "cut":
            raise InputError("grams", "nothing", "a cut wants the grams of each tray", "Weigh each tray.", "g")
        if answer.cleared and told.kind == "discard":
            return self.clear_trouble(only or told.trays, answer.cleared, note=answer.note, **said)
        return self.answer_row(
            row, cue="ready" if answer.done else answer.cue, moisture=answer.moisture,
            share_emerged=answer.share_emerged, height_mm=answer.height_mm, problem=answer.problem, note=answer.note,
            water_ml=answer.water_ml, only=only, spots=answer.spots or None, marks=answer.marks, **said,
        )  # fmt: skip

    def _found(self, told: RowTold, trays: Iterable[str], at: datetime) -> _Found:
        then, now = self.state(at), self._present(self.book.head())
        became = {name: _became(then.tray(name), now.tray(name), told.stage) for name in trays}
        return _Found(*(tuple(name for name, what in became.items() if what == each) for each in _Found._fields))

    def _mouldy(self, trays: Iterable[str], at: datetime) -> dict[str, str]:
        """Trays that are held back, then or now, and why: they go no further."""
        states = (self.state(at), self._present(self.book.head()))
        found: dict[str, str] = {}
        for state in states:
            for name, hold in held_trays(state, trays).items():
                tray = state.tray(name)
                found[name] = (tray.problem if tray is not None else "") or hold
        return found

    # Where others were quicker ---------------------------------------------------------------------------------------

    def _keep_looks(
        self, told: RowTold, answer: RowSaid, found: _Found, mouldy: Mapping[str, str], **said: Unpack[Said]
    ) -> Receipt:
        """What was seen is kept; what it would bring along happens only to trays that have not gone on."""
        at, cue = said["at"], "ready" if answer.done else answer.cue
        free = tuple(tray for tray in found.open if tray not in mouldy)
        held = tuple(tray for tray in found.open if tray in mouldy)
        bodies: list[Body] = []
        if free:
            bodies += answer_trays(
                self._at_hand(at), free, round_name=self._round_name(at), cue=cue, moisture=answer.moisture,
                share_emerged=answer.share_emerged, height_mm=answer.height_mm, problem=answer.problem,
                note=answer.note, water_ml=answer.water_ml,
                wished={tray: spot for tray, spot in zip(told.trays, told.to, strict=False) if spot},
                marks=answer.marks if cue == "ready" else (),
            )  # fmt: skip
        bodies += self._seen(told, answer, (*found.seen, *held), mouldy, at, as_told=True)
        bodies += self._seen(told, answer, found.gone_on, mouldy, at, as_told=False)
        if found.over:
            bodies.append(self._note(told, answer, [f"tray:{name}" for name in found.over], at))
        standing = [*found.open, *found.seen]
        doubts = self._look_doubts(standing, answer.height_mm, answer.water_ml, at) if standing else ()
        return self._say(*bodies, doubts=doubts, **said)

    def _seen(
        self,
        told: RowTold,
        answer: RowSaid,
        trays: Sequence[str],
        mouldy: Mapping[str, str],
        at: datetime,
        *,
        as_told: bool,
    ) -> Iterator[Body]:
        """What was seen of trays, without what it brings along; of another stage than theirs by now, in words."""
        if not trays:
            return
        cue = "ready" if answer.done else answer.cue
        # Who saw no mould where somebody else did does not make it go away: the tray is looked at close.
        problem = answer.problem or next((mouldy[name] for name in trays if name in mouldy), "")
        note = answer.note if as_told else ", ".join(each for each in (_of_stage(told, cue), answer.note) if each)
        yield RoundAnswered(
            trays=tuple(trays), round=self._round_name(at), moisture=answer.moisture, cue=cue if as_told else None,
            share_emerged=answer.share_emerged, height_mm=answer.height_mm, problem=problem, note=note,
        )  # fmt: skip
        yield from self._watered(told, answer, trays, at)

    def _watered(self, told: RowTold, answer: RowSaid, trays: Sequence[str], at: datetime) -> Iterator[Body]:
        """Water that was given: as said, else the usual of the row's stage to trays that were dry."""
        if answer.water_ml is None and answer.moisture != "dry":
            return
        stage = stage_called(self.state(at).recipes.get(told.recipe), told.stage)
        usual = stage.water_ml if stage is not None else 0.0
        ml = answer.water_ml if answer.water_ml is not None else usual
        way = stage.water if stage is not None and stage.water != "none" else "below"
        if ml > 0:
            yield Watered(trays=tuple(trays), ml=ml, way=way)

    def _keep_ending(self, told: RowTold, answer: RowSaid, trays: Sequence[str], **said: Unpack[Said]) -> Receipt:
        """A cut, or trays thrown away, where some of them were so already: those are kept as words."""
        at, now = said["at"], self._present(self.book.head())
        then = self.state(at)
        growing = tuple(name for name in trays if _grows(now.tray(name)) and _grows(then.tray(name)))
        over = [f"tray:{name}" for name in trays if name not in growing]
        doubts: Doubts = iter(())
        names: tuple[str, ...] = ()
        bodies: list[Body] = []
        if growing and answer.grams:
            names = (self._harvest_name(then, at),)
            weights = {name: answer.grams[name] for name in growing}
            cuts = tuple(TrayCut(tray=name, grams=grams) for name, grams in weights.items())
            bodies.append(Cut(harvest=names[0], crop=told.crop, trays=cuts, height_mm=answer.height_mm))
            doubts = self._cut_doubts(then, weights, answer.height_mm, at)
        elif growing:
            bodies.append(Discarded(trays=growing, reason=answer.problem or self._why_held(growing, at)))
        if over:
            bodies.append(self._note(told, answer, over, at))
        return self._say(*bodies, doubts=doubts, names=names, **said)

    def _keep_strip(self, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> Receipt:
        trays, now = chosen_trays(told.as_row(), answer.only), self._present(self.book.head())
        left = tuple(name for name in trays if (tray := now.tray(name)) is not None and not tray.stripped)
        over = [f"tray:{name}" for name in trays if name not in left]
        bodies: list[Body] = [Stripped(trays=left)] if left else []
        if over:
            bodies.append(self._note(told, answer, over, said["at"]))
        return self._say(*bodies, **said)


ACTS: dict[RowKind, tuple[type[Body], ...]] = {
    **ANSWERS, "look": (StageChanged, Cut, Discarded), "turn": (StageChanged, Cut, Discarded)
}  # fmt: skip
"""What does the thing that a row asks for, or that is said to it: a ready tray that is looked at may be cut as well."""


def _became(then: Tray | None, now: Tray | None, stage: str) -> str:
    if then is None or now is None or not _grows(then):
        return "over"
    if then.stage != stage:
        return "gone_on"
    return "open" if _grows(now) and now.stage == stage else "seen"


def _grows(tray: Tray | None) -> bool:
    return tray is not None and tray.fate == "growing"


def _of_stage(told: RowTold, cue: str | None) -> str:
    return f"said of {told.stage}: {cue}" if cue else ""
