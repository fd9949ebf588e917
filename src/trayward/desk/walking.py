"""Going through the round: answering what a row asks, and saying that its job is done."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime
from typing import Literal, Unpack

from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.growing import Growing
from trayward.desk.planning import Planning
from trayward.desk.selling import Selling
from trayward.desk.stores import Stores
from trayward.errors import InputError
from trayward.farm.entries import Body, Cut, RoundAnswered, TrayCut
from trayward.farm.state import FarmState
from trayward.rounds.answer import answer_row, answer_trays
from trayward.rounds.told import due_day
from trayward.rounds.types import RoundRow
from trayward.words import counted

OF_LOT = "of lot "
"""How a sowing row names the grams that come out of a seed lot."""
OF_HARVEST = "of "
"""How a packing row names the grams that come out of a harvest lot."""


class Walking(Growing, Selling, Stores, Planning):
    """What a grower says on the round, row by row."""

    @worked_out(RoundAnswered)
    def answer_row(
        self,
        row: RoundRow,
        *,
        cue: Literal["ready", "not yet"] | None = None,
        moisture: Literal["moist", "dry"] | None = None,
        share_emerged: float | None = None,
        height_mm: float | None = None,
        problem: str = "",
        note: str = "",
        water_ml: float | None = None,
        only: Sequence[str] | None = None,
        spots: Sequence[str] | None = None,
        marks: Sequence[str] = (),
        **said: Unpack[Said],
    ) -> Receipt:
        """
        Answer what a row of the round asks; "ready" begins the next stage, on the spots the row proposes.

        `marks`: marked kit that the next stage takes, dealt out to the trays in order.
        """
        bodies = answer_row(
            self._at_hand(said["at"]),
            row,
            round_name=self._round_name(said["at"]),
            cue=cue,
            moisture=moisture,
            share_emerged=share_emerged,
            height_mm=height_mm,
            problem=problem,
            note=note,
            water_ml=water_ml,
            only=only,
            spots=spots,
            marks=marks,
        )
        doubts = self._look_doubts(tuple(only) if only else row.trays, height_mm, water_ml, said["at"])
        return self._say(*bodies, doubts=doubts, **said)

    @worked_out(RoundAnswered)
    def look_over(
        self,
        waiting: Sequence[str],
        others: Sequence[str] = (),
        *,
        moisture: Literal["moist", "dry"] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """
        Answer for all trays that are left of a rack at once: each was looked at, and none is ready.

        Parameters
        ----------
        waiting : sequence of str
            Trays the round asks a question of: "not yet" is said of each.
        others : sequence of str
            Trays it asks nothing of yet.
        moisture : "moist" or "dry", optional
            Of all of them; dry ones are given their usual water.

        Raises
        ------
        InputError
            If none of the trays grows any more.
        """
        state, name = self._at_hand(said["at"]), self._round_name(said["at"])
        growing = {tray.tray for tray in state.growing()}
        bodies: list[Body] = []
        asked: tuple[tuple[Sequence[str], Literal["not yet"] | None], ...] = ((waiting, "not yet"), (others, None))
        for trays, cue in asked:
            # Trays that were cut, gone out or thrown away since are answered for already.
            here = [tray for tray in trays if tray in growing]
            if here:
                bodies += answer_trays(state, here, round_name=name, cue=cue, moisture=moisture)
        if not bodies:
            remedy = "Look at the round again: others have answered for them."
            raise InputError("trays", len((*waiting, *others)), "none of them grows any more", remedy)
        return self._say(*bodies, **said)

    @worked_out(Body)
    def cut_row(
        self,
        row: RoundRow,
        grams: Sequence[float],
        *,
        height_mm: float | None = None,
        only: Sequence[str] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Cut the trays of a row, with the grams of each in the row's order; trays not yet called ready are so first.

        Returns
        -------
        Receipt
            `names` holds the harvest lot.
        """
        trays = tuple(only) if only else row.trays
        if len(grams) != len(trays):
            remedy = f"Give one weight each, in this order: {', '.join(trays)}."
            raise InputError("weights", len(grams), f"row {row.row} has {counted(len(trays), 'tray')}", remedy)
        state = self.state(said["at"])
        first = self._called_ready(state, row, trays, said["at"])
        name = self._harvest_name(state, said["at"])
        weights = tuple(TrayCut(tray=tray, grams=weight) for tray, weight in zip(trays, grams, strict=True))
        cut = Cut(harvest=name, crop=row.crop, trays=weights, height_mm=height_mm)
        doubts = self._cut_doubts(state, dict(zip(trays, grams, strict=True)), height_mm, said["at"])
        return self._say(*first, cut, doubts=doubts, names=(name,), **said)

    def _called_ready(self, state: FarmState, row: RoundRow, trays: Sequence[str], at: datetime) -> tuple[Body, ...]:
        """Who cuts a tray has found it ready: that answer goes first where nobody gave it yet."""
        recipe = state.recipes.get(row.recipe)
        if recipe is None or row.stage == recipe.stages[-1].name:
            return ()
        return answer_row(state, row, round_name=self._round_name(at), cue="ready", only=trays)

    def do_row(
        self,
        row: RoundRow,
        *,
        only: Sequence[str] | None = None,
        trays: int | None = None,
        grams_per_tray: float | None = None,
        spots: Sequence[str] | None = None,
        agent: str = "",
        marks: Sequence[str] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Say that the job of a row is done as the row proposes it.

        Parameters
        ----------
        row : RoundRow
            A row that turns, sows, strips, washes, sanitises, packs, delivers or looks close for mould.
        only : sequence of str, optional
            Some of the row's trays.
        trays : int, optional
            How many were sown, where it was not all.
        grams_per_tray : float, optional
            Seed on each tray, where it was not as proposed. [g]
        spots : sequence of str, optional
            Where trays went, where it was not as proposed.
        agent : str
            What kit was sanitised with.
        marks : sequence of str, optional
            Which marked kit was sown on, washed or sanitised, where it was not as proposed.

        Raises
        ------
        InputError
            If the row is no job, or says too little to be done as it stands.
        """
        mine = tuple(only) if only else row.trays
        match row.kind:
            case "sow":
                return self._sow_row(row, trays, grams_per_tray, spots, marks, **said)
            case "turn":
                return self.answer_row(row, cue="ready", only=only, spots=spots, marks=marks or (), **said)
            case "strip":
                return self.strip(mine, **said)
            case "wash":
                return self.wash(row.pool, None if marks else row.count, marks=marks or row.marks, **said)
            case "sanitise":
                return self._sanitise_row(row, agent, marks, **said)
            case "pack":
                return self._pack_row(row, **said)
            case "deliver":
                day = due_day(row, said["at"], self.settings(said["at"]))
                return self.deliver_due(row.customer, day, trays=mine, **said)
            case "discard":
                return self.discard(mine, self._why_held(mine, said["at"]), **said)
            case "record":
                rule = "a record says what was found"
                raise InputError("row", row.row, rule, "Answer it with its values.")
            case "cut":
                raise InputError("row", row.row, "a cut wants the grams of each tray", "Say them: cut 95 101.")
        raise InputError("row", row.row, "it is a look, not a job", "Answer ready, not-yet, moist or dry.")

    def _sow_row(
        self,
        row: RoundRow,
        trays: int | None,
        grams_per_tray: float | None,
        spots: Sequence[str] | None,
        marks: Sequence[str] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        count = trays if trays is not None else row.count
        proposed = amounts_named(row, OF_LOT)
        as_proposed = count == row.count and grams_per_tray is None and _covers(row, proposed)
        each = grams_per_tray if grams_per_tray is not None else _each(row)
        # Where too few were free when the row was made, they are looked for anew: that says what would make room.
        where = spots if spots is not None else (row.spots[:count] if row.spots and len(row.spots) >= count else None)
        if marks is None and row.marks and count == row.count:
            marks = row.marks
        if as_proposed:
            return self.sow(row.recipe, count, lots=proposed, spots=where, marks=marks, **said)
        return self.sow(row.recipe, count, grams_per_tray=each, spots=where, marks=marks, **said)

    def _sanitise_row(
        self, row: RoundRow, agent: str, marks: Sequence[str] | None = None, **said: Unpack[Said]
    ) -> Receipt:
        if not agent.strip():
            raise InputError("agent", "not said", "a sanitised row says with what", "Name the agent, as on its label.")
        return self.sanitise(row.pool, agent, None if marks else row.count, marks=marks or row.marks, **said)

    def _pack_row(self, row: RoundRow, packs: int | None = None, **said: Unpack[Said]) -> Receipt:
        """Fill the packs of a row, or so many: fewer take their share of each lot, more what is oldest."""
        count = row.count if packs is None else packs
        net = next((amount.value for amount in row.amounts if amount.what.startswith("net weight")), None)
        share = count / row.count if row.count else math.inf
        parts = {lot: grams * share for lot, grams in amounts_named(row, OF_HARVEST).items()} if share <= 1 else None
        return self.pack(row.product, count, pack_g=net, parts=parts, **said)


def amounts_named(row: RoundRow, before: str) -> dict[str, float]:
    """Grams of a row by the lot they come out of. [g]"""
    return {amount.what.removeprefix(before): amount.value for amount in row.amounts if amount.what.startswith(before)}


def _each(row: RoundRow) -> float | None:
    return next((amount.value for amount in row.amounts if amount.what == "seed"), None)


def _covers(row: RoundRow, lots: dict[str, float]) -> bool:
    """Whether the lots named hold all that the row wants, but for rounding."""
    each = _each(row)
    return bool(lots) and each is not None and sum(lots.values()) >= each * row.count - 0.2
