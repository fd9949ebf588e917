"""Jobs of a round that are said to be done some time after the round asked for them: sown, washed, delivered."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Unpack

from trayward.desk.core import Receipt, Said
from trayward.desk.others import Other, Others
from trayward.desk.soon import Soon
from trayward.desk.walking import Walking
from trayward.errors import Finding, InputError, NotFoundError, RefusedError
from trayward.farm.entries import Note
from trayward.farm.spots import free_spots
from trayward.rounds.said import said_in_words
from trayward.rounds.told import RowSaid, RowTold
from trayward.rounds.types import RoundRow


class Jobs(Walking, Soon, Others):
    """Jobs by the row as it was told: done where they are still to do, else kept as words."""

    def _keep_job(self, told: RowTold, answer: RowSaid, others: Sequence[Other], **said: Unpack[Said]) -> Receipt:
        """A job done; where somebody else did it meanwhile, a note that it was said, too."""
        if not answer.done:
            raise InputError("answer", "none", "a job is done or not done", "Say that it is done.")
        if not others or self._still_wanted(told, **said):
            try:
                return self._job(told.as_row(), told, answer, **said)
            except (RefusedError, InputError, NotFoundError):
                if not others:
                    raise
        return self._say(self._note(told, answer, told.job, said["at"]), **said)

    def _still_wanted(self, told: RowTold, **said: Unpack[Said]) -> bool:
        """Whether the round of now still asks for as much of the job."""
        horizon = self.book.head().horizon
        now = max(each for each in (said["at"], said.get("recorded"), horizon) if each is not None)
        row = next((row for row in self.round_soon(now).rows if row.row == told.row), None)
        return row is not None and row.count >= told.count

    def _job(self, row: RoundRow, told: RowTold, answer: RowSaid, **said: Unpack[Said]) -> Receipt:
        count = answer.count if answer.count is not None else told.count
        if told.kind == "sow":
            return self._sow_told(row, answer, **said)
        if told.kind == "deliver" and told.due is not None:
            return self.deliver_due(told.customer, told.due, trays=answer.only or told.trays, **said)
        if told.kind == "wash":
            return self.wash(
                told.pool, None if answer.marks and answer.count is None else count, marks=_marks_done(told, answer),
                soap=answer.soap, rinse_c=answer.rinse_c, left_out=answer.left_out, **said,
            )  # fmt: skip
        if told.kind == "sanitise":
            return self.sanitise(
                told.pool, answer.agent, None if answer.marks and answer.count is None else count,
                marks=_marks_done(told, answer), strength_ppm=answer.strength_ppm, contact_min=answer.contact_min,
                water_c=answer.water_c, **said,
            )  # fmt: skip
        if told.kind == "pack":
            return self._pack_row(row, count, **said)
        return self.do_row(row, **said)

    def _sow_told(self, row: RoundRow, answer: RowSaid, **said: Unpack[Said]) -> Receipt:
        """Spots that somebody else took meanwhile are replaced by free ones, and the receipt says so."""
        count = answer.count if answer.count is not None else row.count
        spots: tuple[str, ...] = answer.spots or (row.spots[:count] if len(row.spots) >= count else ())
        odd: tuple[Finding, ...] = ()
        if not answer.spots and spots:
            spots, odd = self._not_taken(row, spots, said["at"])
        receipt = self.do_row(
            row,
            trays=answer.count,
            grams_per_tray=answer.grams_per_tray,
            spots=spots or None,
            marks=answer.marks or None,
            **said,
        )
        return receipt.with_findings(odd)

    def _not_taken(
        self, row: RoundRow, spots: Sequence[str], at: datetime
    ) -> tuple[tuple[str, ...], tuple[Finding, ...]]:
        state = self._at_hand(at)
        taken = {spot: state.spots[spot] for spot in spots if spot in state.spots}
        recipe = state.recipes.get(row.recipe)
        if not taken or recipe is None or recipe.stage(row.stage).ground not in ("dark", "lit"):
            return tuple(spots), ()
        stage = recipe.stage(row.stage)
        free = free_spots(state, "dark" if stage.ground == "dark" else "lit", stage.stack)
        spare = iter([spot for spot in free if spot not in spots])
        found = tuple(next(spare, spot) if spot in taken else spot for spot in spots)
        pairs = [(old, new) for old, new in zip(spots, found, strict=True) if old != new]
        return found, tuple(_taken_finding(old, new, taken[old]) for old, new in pairs)

    def _note(self, told: RowTold, answer: RowSaid, about: Sequence[str], at: datetime) -> Note:
        """All that was said, in words, about what it can do nothing to any more."""
        units = self.settings(at).units
        return Note(text=f"Answered, too. {said_in_words(told, answer, units)}", about=tuple(about))


def _marks_done(told: RowTold, answer: RowSaid) -> tuple[str, ...]:
    """Which marks a job was done to: as said, else the row's where all of it was done."""
    whole = answer.count is None or answer.count == told.count
    return answer.marks or (told.marks if whole else ())


def _taken_finding(old: str, new: str, tray: str) -> Finding:
    message = f"spot {old} = taken: {tray} stands there by the book, so the new tray is down on {new}."
    return Finding(code="spot-taken-since", severity="odd", message=message, remedy="Move it if it stands elsewhere.")
