"""From sowing to the cut: what is done to trays."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime
from difflib import get_close_matches
from typing import Literal, Unpack

from trayward.desk.care_doubts import (
    feed_doubts,
    height_doubts,
    tray_temperature_doubts,
    water_doubts,
)
from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.doubts import Doubts, cut_doubts, cut_height_doubts, lot_doubts, sow_doubts
from trayward.desk.lookup import facts_of, lots_for, recipe_named, stage_named, trays_named
from trayward.desk.naming import Taken, next_name, tray_names
from trayward.desk.trouble import Troubling, held_doubts
from trayward.errors import Doubt, InputError, NotFoundError
from trayward.farm.calendar import local_day, present_round
from trayward.farm.density import seed_for_tray
from trayward.farm.entries import (
    Body,
    Cut,
    Discarded,
    Fed,
    MarksOn,
    Measured,
    Moved,
    RoundAnswered,
    SeedUsed,
    SowingMade,
    StageChanged,
    Stripped,
    TrayCut,
    TraySown,
    Watered,
)
from trayward.farm.kit_marks import dealt, proposed
from trayward.farm.recipes import Recipe
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState, SeedLot, Tray
from trayward.farm.transitions.holding import kit_needed
from trayward.farm.transitions.say import show
from trayward.rounds.answer import answer_trays
from trayward.rounds.moves import new_spots
from trayward.rounds.restack import no_room, restack

CRUMB_G = 0.001
"""Less than any scale of a farm shows. [g]"""


class Growing(Troubling):
    """Sow, look, water, feed, move, turn, discard, cut and strip.

    A figure that looks mistyped raises `DoubtError` and nothing is kept; said again with `sure=True` it is.
    """

    @worked_out(SowingMade)
    def sow(
        self,
        recipe: str,
        trays: int,
        *,
        grams_per_tray: float | None = None,
        lots: Mapping[str, float] | None = None,
        lot: str | None = None,
        spots: Sequence[str] | None = None,
        stage: str = "",
        sowing: str = "",
        trial: str = "",
        marks: Sequence[str] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Sow trays of a recipe.

        Parameters
        ----------
        recipe : str
            The recipe's name, or its crop where there is just one.
        trays : int
            How many.
        grams_per_tray : float, optional
            Seed on each tray [g]; from the recipe's density and the lot's figures if left out.
        lots : mapping of str to float, optional
            Grams from each lot for all trays together [g]; what goes off first comes first if left out.
        lot : str, optional
            Take all of it from this lot.
        spots : sequence of str, optional
            Where each tray goes; the first free ones in walking order if left out.
        marks : sequence of str, optional
            Marked mats, trays and covers, dealt out to the trays in order; the longest rested ones if left out.

        Returns
        -------
        Receipt
            `names` holds the sowing, then its trays.
        """
        settings = self.settings(said["at"])
        state = self._at_hand(said["at"])
        chosen = recipe_named(state, recipe)
        if trays < 1:
            raise InputError("trays", trays, "at least 1 is sown", "Give a whole number of trays.")
        begin = stage_named(chosen, stage) if stage else chosen.stages[0]
        said_seed = bool(lots) or grams_per_tray is not None
        used = tuple(SeedUsed(lot=name, grams=grams) for name, grams in lots.items()) if lots else ()
        used = used or seed_to_use(state, chosen, trays, said["at"], grams_per_tray, lot)
        names = tray_names(sowing or next_name(local_day(said["at"], settings), self._sowings(state)), trays)
        name = names[0].rpartition(".")[0]
        places = self._spots_for(state, begin.ground, begin.stack, trays, spots)
        body = SowingMade(
            sowing=name,
            recipe=chosen.name,
            trays=tuple(TraySown(tray=tray, spot=spot) for tray, spot in zip(names, places, strict=True)),
            lots=used,
            stage=stage,
            trial=trial,
            marks=self._marks_for(state, chosen, begin.name, names, marks, said["at"]),
        )
        doubts = (
            *lot_doubts(state, chosen, used),
            *(sow_doubts(state, chosen, trays, used, said["at"]) if said_seed else ()),
        )
        return self._say(body, doubts=doubts, names=(name, *names), **said)

    def _marks_for(
        self,
        state: FarmState,
        recipe: Recipe,
        stage: str,
        trays: Sequence[str],
        marks: Sequence[str] | None,
        at: datetime,
    ) -> tuple[MarksOn, ...]:
        """Marked kit for each tray. Of a sowing that is written down late nobody guesses which it was."""
        needed = kit_needed(recipe, stage)
        if marks is None:
            horizon = self.book.head().horizon
            marks = proposed(state, needed, len(trays), at) if horizon is None or at >= horizon else ()
        return dealt(state, marks, needed, trays)

    def _sowings(self, state: FarmState) -> Taken:
        return Taken(self.book, "sowing", state.sowings)

    @staticmethod
    def _spots_for(
        state: FarmState, ground: str, stack: int, trays: int, spots: Sequence[str] | None
    ) -> Sequence[str | None]:
        if spots is not None:
            if len(spots) != trays:
                raise InputError("spots", len(spots), f"each of the {trays} trays needs one", "Name one for each tray.")
            return spots
        if ground not in ("dark", "lit"):
            return [None] * trays
        kind: Literal["dark", "lit"] = "dark" if ground == "dark" else "lit"
        free = free_spots(state, kind, stack)
        if len(free) < trays:
            found = restack(state, kind, stack, trays - len(free))
            rule, remedy = f"{trays} trays need one each", "Move, cut or discard trays first, or sow fewer."
            raise no_room(f"free {ground} spots", len(free), rule, trays, found, remedy)
        return free[:trays]

    @worked_out(RoundAnswered)
    def answer(
        self,
        trays: Sequence[str],
        *,
        cue: Literal["ready", "not yet"] | None = None,
        moisture: Literal["moist", "dry"] | None = None,
        share_emerged: float | None = None,
        height_mm: float | None = None,
        problem: str = "",
        note: str = "",
        water_ml: float | None = None,
        spots: Sequence[str] | None = None,
        **said: Unpack[Said],
    ) -> Receipt:
        """Answer what the round asks of some trays; "ready" begins their next stage, on the right kind of shelf."""
        named = trays_named(self.state(said["at"]), trays)
        bodies = answer_trays(
            self._at_hand(said["at"]),
            tuple(tray.tray for tray in named),
            round_name=self._round_name(said["at"]),
            cue=cue,
            moisture=moisture,
            share_emerged=share_emerged,
            height_mm=height_mm,
            problem=problem,
            note=note,
            water_ml=water_ml,
            spots=tuple(spots) if spots is not None else None,
        )
        doubts = self._look_doubts([tray.tray for tray in named], height_mm, water_ml, said["at"])
        return self._say(*bodies, doubts=doubts, **said)

    def _look_doubts(
        self, trays: Sequence[str], height_mm: float | None, water_ml: float | None, at: datetime
    ) -> Doubts:
        """What looks mistyped in an answer about trays."""
        state = self.state(at)
        yield from height_doubts(state, trays, height_mm)
        yield from water_doubts(state, trays, water_ml)

    def _round_name(self, at: datetime) -> str:
        return present_round(self.settings(at), at)[0]

    @worked_out(Watered)
    def water(
        self, trays: Sequence[str], ml: float, way: Literal["mist", "below", "soak"] = "below", **said: Unpack[Said]
    ) -> Receipt:
        """Water given to each of some trays. [ml]"""
        names = self._names(trays, said["at"])
        doubts = water_doubts(self.state(said["at"]), names, ml)
        return self._say(Watered(trays=names, ml=ml, way=way), doubts=doubts, **said)

    @worked_out(Fed)
    def feed(
        self,
        trays: Sequence[str],
        ml: float,
        *,
        ph: float | None = None,
        ec: float | None = None,
        feed: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Feed given to each of some trays, from below. [ml], EC [dS/m]"""
        names = self._names(trays, said["at"])
        doubts = feed_doubts(self.state(said["at"]), names, ml, ph, ec)
        return self._say(Fed(trays=names, ml=ml, ph=ph, ec=ec, feed=feed), doubts=doubts, **said)

    @worked_out(Moved)
    def move(self, moves: Mapping[str, str], **said: Unpack[Said]) -> Receipt:
        """Trays to other spots, all at once, so two may swap."""
        state = self.state(said["at"])
        pairs = [(tray.tray, spot) for name, spot in moves.items() for tray in trays_named(state, [name])]
        body = Moved(moves=tuple(TraySown(tray=tray, spot=spot) for tray, spot in pairs))
        return self._say(body, **said)

    @worked_out(StageChanged)
    def begin(
        self, trays: Sequence[str], stage: str, *, spots: Sequence[str] | None = None, **said: Unpack[Said]
    ) -> Receipt:
        """Trays begin a stage; those that cannot stay go where you say, else to the first free spots that suit it."""
        state = self.state(said["at"])
        named = trays_named(state, trays)
        for tray in named:
            if tray.fate != "growing":
                raise InputError("tray", tray.tray, f"it grows no more: {tray.fate}", "Leave it out.")
        turning = {tray.tray: stage_named(state.recipe_of(tray), stage) for tray in named}
        moves = new_spots(self._at_hand(said["at"]), turning, tuple(spots) if spots is not None else None)
        bodies: list[Body] = [StageChanged(trays=tuple(turning), stage=stage)]
        if moves:
            bodies.append(Moved(moves=tuple(TraySown(tray=tray, spot=spot) for tray, spot in moves.items())))
        return self._say(*bodies, **said)

    @worked_out(Measured)
    def measure(self, trays: Sequence[str], what: str, value: float, unit: str = "", **said: Unpack[Said]) -> Receipt:
        """A measure taken of each of some trays; one that the farm reckons with goes by its name in the book."""
        _require_own_measure(what)
        names = self._names(trays, said["at"])
        state = self.state(said["at"])
        doubts: Iterable[Doubt] = ()
        if what == "height_mm":
            doubts = height_doubts(state, names, value)
        elif what == "temperature_c":
            doubts = tray_temperature_doubts(state, names, value)
        return self._say(Measured(trays=names, what=what, value=value, unit=unit), doubts=doubts, **said)

    @worked_out(Discarded)
    def discard(self, trays: Sequence[str], reason: str, **said: Unpack[Said]) -> Receipt:
        """Throw trays away."""
        if not reason.strip():
            raise InputError("reason", "nothing", "a discarded tray needs one", "Say in a word, for instance: mould.")
        return self._say(Discarded(trays=self._names(trays, said["at"]), reason=reason), **said)

    @worked_out(Cut)
    def cut(
        self,
        grams: Mapping[str, float],
        *,
        height_mm: float | None = None,
        regrow: bool = False,
        harvest: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Cut trays into one harvest lot, with the grams of each. [g]

        Returns
        -------
        Receipt
            `names` holds the harvest lot.
        """
        state = self.state(said["at"])
        cuts, crops = _cuts(state, grams)
        if len(crops) > 1:
            remedy = "Record each crop's cut on its own."
            raise InputError("trays", ", ".join(sorted(crops)), "a harvest lot is of one crop", remedy)
        name = harvest or self._harvest_name(state, said["at"])
        body = Cut(harvest=name, crop=crops.pop(), trays=cuts, height_mm=height_mm, regrow=regrow)
        doubts = self._cut_doubts(state, grams, height_mm, said["at"])
        return self._say(body, doubts=doubts, names=(name,), **said)

    def _cut_doubts(
        self, state: FarmState, grams: Mapping[str, float], height_mm: float | None, at: datetime
    ) -> Doubts:
        """What looks mistyped in a cut, the outlook of each tray being asked; and trays that are held back."""
        yield from held_doubts(state, trays_named(state, list(grams)))
        yield from cut_doubts(state, self.outlook, grams, at)
        yield from cut_height_doubts(state, tuple(grams), height_mm)

    @worked_out(Stripped)
    def strip(self, trays: Sequence[str], **said: Unpack[Said]) -> Receipt:
        """Roots scraped off; the kit of these trays is now dirty."""
        return self._say(Stripped(trays=self._names(trays, said["at"])), **said)

    def _harvest_name(self, state: FarmState, at: datetime) -> str:
        taken = Taken(self.book, "harvest", state.harvests)
        return next_name(local_day(at, self.settings(at)), taken, "H")

    def _names(self, trays: Sequence[str], at: datetime) -> tuple[str, ...]:
        return tuple(tray.tray for tray in trays_named(self.state(at), trays))


def _cuts(state: FarmState, grams: Mapping[str, float]) -> tuple[tuple[TrayCut, ...], set[str]]:
    """Grams by tray, where a sowing's name means its trays share the weight evenly; and the crops they are of."""
    cuts: list[TrayCut] = []
    crops: set[str] = set()
    for name, weight in grams.items():
        trays: list[Tray] = trays_named(state, [name])
        crops.update(tray.crop for tray in trays)
        cuts += [TrayCut(tray=tray.tray, grams=weight / len(trays)) for tray in trays]
    if not cuts:
        raise InputError("trays", "none", "at least one tray is cut", "Name each tray and its grams.")
    return tuple(cuts), crops


def seed_to_use(
    state: FarmState, recipe: Recipe, trays: int, at: datetime, grams_per_tray: float | None, lot: str | None
) -> tuple[SeedUsed, ...]:
    """Which lots a sowing takes its seed from, what goes off first before the rest, and how much of each. [g]

    Raises
    ------
    NotFoundError
        If the farm has no lot of that name.
    InputError
        If the grams follow from nothing known, or the lots do not hold enough.
    """
    lots = lots_for(state, recipe.crop, at) if lot is None else [_lot_named(state, recipe, lot)]
    if not lots:
        remedy = "Record the delivery with: trayward seed receive"
        raise InputError(f"seed of {recipe.crop}", 0, "there is none in stock", remedy, "g")
    each = grams_per_tray if grams_per_tray is not None else _grams(state, recipe, lots[0], at)
    if not 0 < each < float("inf"):
        raise InputError("seed on a tray", f"{each:g}", "must be more than 0 g", "Weigh it again.", "g")
    return _shared_out(recipe, lots, each * trays)


def _lot_named(state: FarmState, recipe: Recipe, lot: str) -> SeedLot:
    held = state.seed.get(lot)
    if held is None:
        known = tuple(name for name, other in state.seed.items() if other.crop == recipe.crop)
        raise NotFoundError("seed lot", lot, known, "Record the delivery with: trayward seed receive")
    if held.expected_on is not None:
        rule = f"it is on order for {held.expected_on} and not here yet"
        raise InputError("seed lot", lot, rule, "Record the delivery with: trayward seed receive")
    return held


def _grams(state: FarmState, recipe: Recipe, lot: SeedLot, at: datetime) -> float:
    amount = seed_for_tray(recipe, facts_of(state, recipe.crop), lot, at)
    if amount.grams is None:
        ask = ", ".join(amount.missing)
        raise InputError("grams a tray", "unknown", f"it needs {ask}", "Say it with --grams, or test the lot.")
    return amount.grams


def _shared_out(recipe: Recipe, lots: list[SeedLot], grams: float) -> tuple[SeedUsed, ...]:
    held = sum(max(lot.left_g, 0.0) for lot in lots)
    if held < grams - CRUMB_G:
        rule = f"this sowing needs {show(grams)} g"
        remedy = "Sow fewer trays, receive seed, or weigh the lot if the scale says otherwise."
        raise InputError(f"seed of {recipe.crop}", show(held), rule, remedy, "g")
    used: list[SeedUsed] = []
    for lot in lots:
        take = min(round(grams - sum(part.grams for part in used), 3), lot.left_g)
        if take > 0:
            used.append(SeedUsed(lot=lot.lot, grams=take))
    return tuple(used)


MEASURES: Mapping[str, str] = {
    "height": "height_mm",
    "weight": "weight_g",
    "temperature": "temperature_c",
    "canopy": "canopy_share",
    "emerged": "emerged_share",
}
"""What the farm reckons with of what is measured: as people say it, and its name in the book, which has the unit."""


def _require_own_measure(what: str) -> None:
    """Raise `InputError` for a word that is no measure of the book, and hardly told from one."""
    if what in MEASURES.values():
        return
    if what in MEASURES:
        rule, remedy = f"the book calls it {MEASURES[what]}", f"Say {MEASURES[what]}, and the value in that unit."
        raise InputError("measure", what, rule, remedy)
    meant = get_close_matches(what.lower(), (*MEASURES, *MEASURES.values()), n=1, cutoff=0.8)
    if meant:
        remedy = f"Did you mean {meant[0]}? A measure of your own needs a word that differs more."
        raise InputError("measure", what, f"it is hardly told from {meant[0]}", remedy)
