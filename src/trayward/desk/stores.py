"""Seed, kit, places, readings and notes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Literal, Unpack

from trayward.desk.care_doubts import reading_doubts
from trayward.desk.core import DeskCore, Receipt, Said, require_to_come, worked_out
from trayward.desk.doubts import Doubts, delivery_doubts, thousand_doubts, weighed_doubts
from trayward.desk.kit_doubts import sanitise_doubts, wash_doubts
from trayward.desk.lookup import trays_named
from trayward.desk.naming import require_told_apart
from trayward.errors import DoubtError, InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.entries import (
    Body,
    CropFactSet,
    KitCounted,
    KitMarked,
    KitRetired,
    KitReturned,
    KitSet,
    KitUsed,
    Note,
    PlaceSet,
    ReadingTaken,
    Sanitised,
    SeedReceived,
    SeedTested,
    SeedWeighed,
    Washed,
)
from trayward.farm.kit import Pool, PoolState
from trayward.farm.kit_marks import marks_words, pool_of, which
from trayward.farm.places import Shelf
from trayward.rounds.air import air_findings
from trayward.rounds.sanitised import sanitised_findings
from trayward.words import listed


class Stores(DeskCore):
    """Receive, test and weigh seed; wash and sanitise kit; set up shelves; take readings; note."""

    def receive_seed(
        self,
        lot: str,
        crop: str,
        grams: float,
        *,
        variety: str = "",
        supplier: str = "",
        supplier_lot: str = "",
        germination: float | None = None,
        tsw_g: float | None = None,
        cost: float = 0.0,
        treated: bool = False,
        document: str = "",
        expected_on: date | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """A delivery of seed, here now or on order for a day to come. [g]"""
        if expected_on is not None:
            require_to_come(expected_on, local_day(said["at"], self.settings(said["at"])))
        body = SeedReceived(
            lot=lot,
            crop=crop,
            grams=grams,
            variety=variety,
            supplier=supplier,
            supplier_lot=supplier_lot,
            germination=germination,
            tsw_g=tsw_g,
            cost=cost,
            treated=treated,
            document=document,
            expected_on=expected_on,
        )
        doubts = delivery_doubts(self.state(said["at"]), lot, crop, grams, germination, tsw_g)
        return self._say(body, doubts=doubts, names=(lot,), **said)

    def test_seed(
        self,
        lot: str,
        *,
        sprouted: int | None = None,
        tested: int | None = None,
        tsw_g: float | None = None,
        days: float | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """A seed test: how many of how many came up, and / or the weight of a thousand seeds. [g]"""
        body = SeedTested(lot=lot, sprouted=sprouted, tested=tested, tsw_g=tsw_g, days=days)
        held = self.state(said["at"]).seed.get(lot)
        doubts = thousand_doubts(self.state(said["at"]), lot, held.crop, tsw_g) if held is not None else ()
        return self._say(body, doubts=doubts, **said)

    def weigh_seed(self, lot: str, grams: float, reason: str = "", **said: Unpack[Said]) -> Receipt:
        """Seed left in a lot, as the scale says. [g]"""
        doubts = weighed_doubts(self.state(said["at"]), lot, grams)
        return self._say(SeedWeighed(lot=lot, grams=grams, reason=reason), doubts=doubts, **said)

    def set_crop_fact(self, crop: str, name: str, value: float | str, note: str = "", **said: Unpack[Said]) -> Receipt:
        """What a crop's figure is on this farm, before the library's. Raises `InputError` for what cannot be."""
        from trayward.library.crops import fact_said

        body = CropFactSet(crop=crop, name=name, value=fact_said(name, value), note=note)
        return self.record(body, **said)

    @worked_out(Washed)
    def wash(
        self,
        pool: str,
        count: int | None = None,
        *,
        marks: Sequence[str] = (),
        soap: str = "",
        rinse_c: float | None = None,
        left_out: Sequence[str] = (),
        note: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Kit washed; all that is dirty if neither a count nor marks are given.

        `left_out` names steps of the farm's washing that were not done: then it stays dirty.
        """
        held = self._pool(pool, said["at"])
        number, names = which(held, "dirty", held.dirty, count, marks, "washed")
        if number < 1:
            raise InputError(pool, number, "there is none to wash", "Strip trays first, or count the pool.")
        unknown = [step for step in left_out if step not in held.pool.wash_steps]
        if unknown:
            raise InputError("left out", unknown[0], "it is no step of this pool", listed(held.pool.wash_steps))
        body = Washed(
            pool=pool, count=number, marks=names, soap=soap, rinse_c=rinse_c, left_out=tuple(left_out), note=note
        )
        return self._clean(body, wash_doubts(held.pool, body), **said)

    def _clean(self, body: Body, doubts: Doubts, **said: Unpack[Said]) -> Receipt:
        """Keep a cleaning; what does not keep the farm's own limits is asked about first, and clears nothing."""
        found = () if said.get("sure") else tuple(doubts)
        if found:
            raise DoubtError(found)
        return self.record(body, **said)

    @worked_out(Sanitised)
    def sanitise(
        self,
        pool: str,
        agent: str,
        count: int | None = None,
        *,
        marks: Sequence[str] = (),
        strength_ppm: float | None = None,
        contact_min: float | None = None,
        water_c: float | None = None,
        note: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Kit sanitised; all that waits for it if no count is given.

        Defer to the label, local codes and licensed practice for agent, strength, time and protection. The receipt
        points out a strength above what a rule names.
        """
        held = self._pool(pool, said["at"])
        # On a farm that only washes, what was washed dries already and is sanitised as it does.
        waits = held.pool.sanitise or held.washed > 0
        there = held.washed if waits else held.still_drying(said["at"])
        number, names = which(held, "washed", there, count, marks, "sanitised")
        if number < 1:
            raise InputError(pool, number, "there is none to sanitise", "Wash some first.")
        if not agent.strip():
            raise InputError("agent", "not said", "what was used belongs in the book", "Name it, as on its label.")
        body = Sanitised(
            pool=pool, count=number, marks=names, agent=agent, strength_ppm=strength_ppm, contact_min=contact_min,
            water_c=water_c, note=note,
        )  # fmt: skip
        receipt = self._clean(body, sanitise_doubts(held.pool, body), **said)
        odd = sanitised_findings(agent, strength_ppm)
        return receipt.with_findings(odd)

    def count_kit(self, pool: str, count: int, reason: str = "", **said: Unpack[Said]) -> Receipt:
        """How many of a pool there are in all."""
        self._pool(pool, said["at"])
        return self.record(KitCounted(pool=pool, count=count, reason=reason), **said)

    def return_kit(
        self, pool: str, count: int | None = None, *, marks: Sequence[str] = (), **said: Unpack[Said]
    ) -> Receipt:
        """Kit back from customers; it comes back dirty. All that is away if neither a count nor marks are given."""
        held = self._pool(pool, said["at"])
        number, names = which(held, "away", held.away, count, marks, "brought back")
        return self.record(KitReturned(pool=pool, count=number, marks=names), **said)

    def mark_kit(self, pool: str, marks: Sequence[str], *, uses: int = 0, **said: Unpack[Said]) -> Receipt:
        """Things of a pool carry these marks from now on; `uses` is how often each was used before."""
        self._pool(pool, said["at"])
        return self.record(KitMarked(pool=pool, marks=tuple(marks), uses=uses), **said)

    def use_kit(self, tray: str, marks: Sequence[str], **said: Unpack[Said]) -> Receipt:
        """Which marked kit a standing tray is on, where its sowing did not say or said others."""
        names = [each.tray for each in trays_named(self.state(said["at"]), [tray])]
        if len(names) != 1:
            raise InputError("tray", tray, "marks are said of one tray", "Name the tray, for instance 261125A.1.")
        return self.record(KitUsed(tray=names[0], marks=tuple(marks)), **said)

    def retire_kit(
        self,
        marks: Sequence[str],
        *,
        reason: str = "",
        lost: bool = False,
        replaced_by: Sequence[str] = (),
        **said: Unpack[Said],
    ) -> Receipt:
        """Marked things are used no more, or are lost; new ones may take their place."""
        state = self.state(said["at"])
        pools = {held.pool.name for mark in marks if (held := pool_of(state, mark)) is not None}
        unknown = [mark for mark in marks if pool_of(state, mark) is None]
        if unknown or not marks:
            known = tuple(name for held in state.kit.values() for name in held.marks)
            raise NotFoundError("mark", unknown[0] if unknown else "", known, "See them with: trayward kit marks")
        if len(pools) > 1:
            raise InputError("marks", marks_words(marks), "they are of several pools", "Say each pool's on their own.")
        body = KitRetired(
            pool=pools.pop(), marks=tuple(marks), fate="lost" if lost else "retired", reason=reason,
            replaced_by=tuple(replaced_by),
        )  # fmt: skip
        return self.record(body, **said)

    def set_kit(self, pool: Pool, **said: Unpack[Said]) -> Receipt:
        """A pool of kit is as said from now on. Raises `InputError` for a new name hardly told from another's."""
        require_told_apart("kit", pool.name, self.state(said["at"]).kit)
        return self.record(KitSet(pool=pool), **said)

    def set_shelf(self, shelf: Shelf, **said: Unpack[Said]) -> Receipt:
        """A shelf is as said from now on; 0 spots closes it."""
        return self.record(PlaceSet(shelf=shelf), **said)

    def take_reading(
        self,
        what: Literal["temperature", "humidity", "ph", "ec", "ppfd"],
        value: float,
        where: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """A reading of an instrument. [C, % RH, pH, dS/m, umol/m2/s]

        The receipt says what is odd about the air it was taken in.
        """
        doubts = reading_doubts(self.state(said["at"]), what, value, where)
        receipt = self._say(ReadingTaken(what=what, value=value, where=where), doubts=doubts, **said)
        if what not in ("temperature", "humidity"):
            return receipt
        odd = air_findings(self.state(said["at"]), said["at"], where)
        return receipt.with_findings(odd)

    def note(self, text: str, about: Sequence[str] = (), **said: Unpack[Said]) -> Receipt:
        """Words, about anything. `about` holds subjects as `kind:name`."""
        if not text.strip():
            raise InputError("note", "nothing", "it must say something", "Write a few words.")
        return self._say(Note(text=text, about=tuple(about)), **said)

    def _pool(self, pool: str, at: datetime) -> PoolState:
        kit = self.state(at).kit
        if pool not in kit:
            raise NotFoundError("kit", pool, tuple(kit), "Add one with: trayward kit set")
        return kit[pool]
