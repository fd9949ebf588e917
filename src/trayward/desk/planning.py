"""The plan, the round and the outlook at a moment."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from time import sleep
from typing import TYPE_CHECKING, Unpack

import msgspec

from trayward.desk.backups import with_late_backup
from trayward.desk.core import DeskCore, Receipt, Said
from trayward.desk.lookup import trays_named
from trayward.desk.naming import new_entry_id
from trayward.desk.ports import Book
from trayward.errors import Finding, NotFoundError
from trayward.farm.entries import Cut, Entry, PlanKept, SowingMade, StageChanged
from trayward.farm.state import FarmState
from trayward.outlook.ahead import Outlook, look_ahead, untaught
from trayward.plan.done import plan_before
from trayward.plan.types import Plan
from trayward.rounds.make import make_round
from trayward.rounds.story import StoryLine, lot_story, tray_story
from trayward.rounds.types import Round, RoundRow
from trayward.rounds.weights import TrayWeights, tray_weights

if TYPE_CHECKING:
    from trayward.outlook.memory import Memory
    from trayward.plan.decide import Effort
    from trayward.plan.futures import Biology
    from trayward.plan.start import Start

TAUGHT = "outlook"
"""The name under which the book keeps what its trays teach, for the next process."""


class Planning(DeskCore):
    """What is likely, what to sow, what to do now, and what happened to a tray."""

    def __init__(
        self, book: Book, *, new_id: Callable[[], str] = new_entry_id, pause: Callable[[float], None] = sleep
    ) -> None:
        super().__init__(book, new_id=new_id, pause=pause)
        self._remembered: Memory | None = None

    def outlook(self, at: datetime) -> Outlook:
        """What is likely, by all the book knew at that moment."""
        return self._look_ahead(self.state(at), at)

    def outlook_findings(self, at: datetime) -> tuple[Finding, ...]:
        """What the outlook leaves out because it does not add up, with the entries that said it."""
        return tuple(self._with_entries(finding, at) for finding in self.outlook(at).findings)

    def _with_entries(self, finding: Finding, at: datetime) -> Finding:
        if finding.entries or not finding.about:
            return finding
        struck = self.book.struck()
        said = [entry for entry in self.said_about(finding.about, at) if entry.id not in struck]
        bodies = (Cut,) if finding.code.startswith("weight") else (StageChanged, SowingMade)
        ids = tuple(entry.id for entry in said if isinstance(entry.body, bodies))
        return msgspec.structs.replace(finding, entries=ids[-1:] if finding.code.startswith("weight") else ids)

    def _look_ahead(self, state: FarmState, at: datetime) -> Outlook:
        # A state of another day than the newest would only push out what is remembered of that one.
        return look_ahead(state, at, self._memory if state is self._state else None)

    def _memory(self) -> Memory:
        """What the outlook remembers, from an earlier process at first; numpy loads only when it is asked."""
        if self._remembered is None:
            from trayward.outlook.kept import kept_in, kept_out
            from trayward.outlook.memory import Memory

            kept = kept_in(self.book.worked_out(TAUGHT))
            self._remembered = Memory(kept, lambda more: self.book.keep_worked_out(TAUGHT, kept_out(more)))
        return self._remembered

    def plan(
        self,
        at: datetime,
        *,
        weeks: int = 6,
        effort: Effort | None = None,
        learned: bool = True,
        biology: Biology | None = None,
        start: Start | None = None,
    ) -> Plan:
        """
        Propose sowings for the coming weeks. Nothing is recorded; see `keep_plan`.

        Parameters
        ----------
        weeks : int
            How far ahead. [weeks] Valid 3 to 8.
        effort : Effort, optional
            Over how many scenarios, and how long to look for a proof; as usual if not said.
        learned : bool
            False: by the published figures only, as if no tray had ever taught anything.
        biology : Biology, optional
            Somebody who knows how trays will grow, asked instead of the outlook; the season study has one.
        start : Start, optional
            Another plan's trays (`plan.start.start_from(yesterdays)`), from which the search begins too.
        """
        from trayward.plan.make import make_plan
        from trayward.plan.under_doubt import USUAL
        from trayward.plan.words import weights_in

        units = self.settings(at).units
        state = self.state(at)
        outlook = self._look_ahead(state, at) if learned else untaught(state, at)
        with weights_in(units.mass):
            return make_plan(state, outlook, at, weeks=weeks, effort=effort or USUAL, biology=biology, start=start)

    def keep_plan(self, plan: Plan, **said: Unpack[Said]) -> Receipt:
        """Keep a plan: the rounds ask for its sowings and cuts, and the next plan says what changed."""
        body = PlanKept(plan=msgspec.Raw(msgspec.json.encode(plan)))
        return self.record(body, **said)

    def kept_plan(self, at: datetime) -> Plan | None:
        """The last plan kept, or None."""
        return plan_before(self.state(at))

    def round(self, at: datetime) -> Round:
        """What to do now, in walking order."""
        self.settings(at)
        state = self.state(at)
        return with_late_backup(make_round(state, self._look_ahead(state, at), at), self.book, at)

    def row(self, name: str, at: datetime) -> RoundRow:
        """A row of the present round, by its name or its number."""
        rows = self.round(at).rows
        for row in rows:
            if name in (row.row, str(row.number)):
                return row
        raise NotFoundError("row", name, tuple(row.row for row in rows), "See the rows with: trayward round")

    def story(self, tray: str, at: datetime) -> list[StoryLine]:
        """A tray's whole history in plain words, struck entries included and marked."""
        state = self.state(at)
        # A tray whose sowing was struck stands nowhere any more; its story is still in the book.
        said = [] if state.tray(tray) else self.said_about(f"tray:{tray}", at)
        name = tray if said else trays_named(state, [tray])[0].tray
        return tray_story(name, said or self.said_about(f"tray:{name}", at), state, self.settings(at))

    def tray_weights(self, tray: str, at: datetime) -> TrayWeights:
        """A tray's weight right after its last watering, and the last one since. [g]"""
        name = trays_named(self.state(at), [tray])[0].tray
        return tray_weights(name, self.said_about(f"tray:{name}", at))

    def lot_story(self, lot: str, at: datetime) -> list[StoryLine]:
        """A seed lot's history in plain words, struck entries included and marked."""
        state = self.state(at)
        if lot not in state.seed:
            raise NotFoundError("seed lot", lot, tuple(state.seed))
        return lot_story(lot, self.said_about(f"lot:{lot}", at), state, self.settings(at))

    def said_about(self, subject: str, at: datetime) -> list[Entry]:
        """The entries about a subject, those that strike them, and so on; in the order of happening."""
        found: dict[str, Entry] = {}
        fresh = self.book.about(subject)
        while fresh:
            found |= {kept.entry.id: kept.entry for kept in fresh}
            about = self.book.about(*(f"entry:{kept.entry.id}" for kept in fresh))
            fresh = [kept for kept in about if kept.entry.id not in found]
        return sorted((entry for entry in found.values() if entry.at <= at), key=lambda entry: entry.at)
