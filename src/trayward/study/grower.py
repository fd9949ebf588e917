"""A grower in simulated time: walks the rounds, and keeps the book as a person would.

This one sows by the rule of thumb that growers use without a planner: what is due on a day, divided by the average
weight of a tray so far, and a bit more. It sees of the world only what eyes and a scale can see.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta
from typing import Literal

from trayward.desk.desk import Desk
from trayward.desk.growing import seed_to_use
from trayward.desk.lookup import facts_of
from trayward.errors import InputError
from trayward.farm.calendar import is_work_day, local_day, moment
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots
from trayward.farm.state import FarmState, Tray
from trayward.study.worlds import TrayTruth, World, grown, stage_is_over

EXTRA = 0.15
"""The bit more that is sown, as a share."""

LOOK_AHEAD_DAYS = 35
"""How far ahead orders are read when deciding what to sow. [d]"""


class Grower:
    """Somebody who runs a farm day by day."""

    def __init__(self, farm: Desk, world: World, settings: FarmSettings, *, name: str, extra: float = EXTRA) -> None:
        self.farm = farm
        self.world = world
        self.settings = settings
        self.name = name
        self.extra = extra
        """The bit more that is sown. [-]"""
        self._covered: set[tuple[str, str]] = set()

    def live(self, day: date) -> None:
        """One whole day: morning round, the day's work, evening round."""
        morning = moment(day, self.settings.rounds[0].at, self.settings)
        self.look(morning)
        self.read(morning + timedelta(minutes=30))
        if is_work_day(self.settings, day):
            self.cut(morning + timedelta(minutes=40))
            self.deliver(morning + timedelta(minutes=100))
            self.clean(morning + timedelta(minutes=140))
            self.sow(morning + timedelta(minutes=170))
        self.look(moment(day, self.settings.rounds[-1].at, self.settings))

    def end(self, at: datetime) -> None:
        """What is left to do on the last evening: nothing."""

    # The round -------------------------------------------------------------------------------------------------------

    def look(self, at: datetime) -> None:
        """Answer every growing tray: those that go on, those that have reached their cue, those that are lost."""
        for recipe, group in self._groups(at):
            stage = group[0].stage
            truths = {tray.tray: self.truth(recipe, tray) for tray in group}
            lost = [tray for tray in group if self._is_lost(truths[tray.tray], tray, at)]
            over = [
                tray
                for tray in group
                if tray not in lost and stage_is_over(truths[tray.tray], stage, tray.stage_since, at)
            ]
            going_on = [tray for tray in group if tray not in lost and tray not in over]
            self._discard(lost, at)
            self._answer(over, at, ready=stage != "ready")
            self._answer(going_on, at, ready=False)

    def _groups(self, at: datetime) -> Iterator[tuple[Recipe, list[Tray]]]:
        state = self.farm.state(at)
        groups: dict[tuple[str, str], list[Tray]] = defaultdict(list)
        for tray in state.growing():
            groups[tray.sowing, tray.stage].append(tray)
        for group in list(groups.values()):
            yield state.recipes[group[0].recipe], group

    def truth(self, recipe: Recipe, tray: Tray) -> TrayTruth:
        """What the world decided for a tray."""
        return self.world.tray(recipe, tray.sowing, tray.tray, tray.lots[0] if tray.lots else "")

    @staticmethod
    def _is_lost(truth: TrayTruth, tray: Tray, at: datetime) -> bool:
        if tray.stage != truth.lost_in:
            return False
        return at - tray.stage_since >= timedelta(days=truth.stage_days[tray.stage] / 2)

    def _answer(self, trays: list[Tray], at: datetime, *, ready: bool) -> None:
        if not trays:
            return
        asked = self._cue_is_asked(trays[0], at)
        dry = self.world.is_dry(trays[0].sowing, at)
        cue: Literal["ready", "not yet"] | None = "ready" if ready else "not yet" if asked else None
        try:
            self.farm.answer(
                [tray.tray for tray in trays], cue=cue, moisture="dry" if dry else "moist", at=at, by=self.name
            )
        except InputError:
            # No free spot for the next stage: the trays wait where they are until something is cut.
            names = [tray.tray for tray in trays]
            self.farm.answer(names, moisture="moist", note="ready, no free spot", at=at, by=self.name)

    def _cue_is_asked(self, tray: Tray, at: datetime) -> bool:
        stage = self.farm.state(at).recipes[tray.recipe].stage(tray.stage)
        return tray.stage != "ready" and at - tray.stage_since >= timedelta(days=stage.days_low * 0.8)

    def _discard(self, trays: list[Tray], at: datetime) -> None:
        if trays:
            names = [tray.tray for tray in trays]
            self.farm.answer(
                names, problem="mould", note="web between the stems, stays when misted", at=at, by=self.name
            )
            self.farm.discard(names, "mould", at=at, by=self.name)

    # The day's work --------------------------------------------------------------------------------------------------

    def cut(self, at: datetime) -> None:
        """Cut ready trays for what is due before the next day of work, and those at the end of their window."""
        state = self.farm.state(at)
        wanted = self._short(state, self._due(at, local_day(at, self.settings), self._next_work_day(at)))
        cuts = [self._weights(state, trays, wanted.get(crop, 0.0), at) for crop, trays in self._ready(state).items()]
        for grams in filter(None, cuts):
            # The scale of a world does not slip, so nobody need be asked whether it did.
            self.farm.cut(grams, height_mm=18.0, at=at, by=self.name, sure=True)
        for grams in filter(None, cuts):
            self.farm.strip(list(grams), at=at + timedelta(minutes=20), by=self.name)

    def _weights(self, state: FarmState, trays: list[Tray], wanted: float, at: datetime) -> dict[str, float]:
        """What the scale says of the trays to cut: the oldest first, until there is enough, and all that must go."""
        grams: dict[str, float] = {}
        for tray in sorted(trays, key=lambda tray: tray.stage_since):
            recipe = state.recipes[tray.recipe]
            waited = (at - tray.stage_since) / timedelta(days=1)
            if sum(grams.values()) < wanted or waited > recipe.cut_window_days - 1:
                grams[tray.tray] = round(grown(self.truth(recipe, tray), recipe, waited))
        return grams

    @staticmethod
    def _ready(state: FarmState) -> dict[str, list[Tray]]:
        ready: dict[str, list[Tray]] = defaultdict(list)
        for tray in state.growing():
            if tray.stage == "ready":
                ready[tray.crop].append(tray)
        return ready

    def _due(self, at: datetime, first: date, before: date) -> list[LineDue]:
        return self.farm.due(first, before - timedelta(days=1), at=at)

    def _next_work_day(self, at: datetime) -> date:
        day = local_day(at, self.settings) + timedelta(days=1)
        while not is_work_day(self.settings, day):
            day += timedelta(days=1)
        return day + timedelta(days=1)

    @staticmethod
    def _short(state: FarmState, lines: Iterable[LineDue]) -> dict[str, float]:
        """Grams of each crop that lines still want beyond what is cut. [g]"""
        wanted: dict[str, float] = defaultdict(float)
        for line in lines:
            for part in line.parts:
                wanted[part.crop] += max(line.grams - line.done_g, 0.0) * part.share
        for lot in state.harvests.values():
            wanted[lot.crop] -= lot.left_g
        return wanted

    def deliver(self, at: datetime) -> None:
        """Pack and deliver what is due today, as far as there is crop; live trays out of the ready ones."""
        day = local_day(at, self.settings)
        customers = dict.fromkeys(line.customer for line in self.farm.due(day, day, at=at))
        for minutes, customer in enumerate(customers):
            self._deliver_to(customer, day, at + timedelta(minutes=minutes))
        self._throw_away_old(at + timedelta(minutes=30))

    def _deliver_to(self, customer: str, day: date, at: datetime) -> None:
        live: list[str] = []
        for line in self.farm.due(day, day, at=at):
            if line.customer == customer and line.live:
                ready = self._ready(self.farm.state(at)).get(line.parts[0].crop, [])
                live += [tray.tray for tray in ready if tray.tray not in live][: line.trays]
            elif line.customer == customer and line.pack_g:
                self._pack(line, at)
        try:
            self.farm.deliver_due(customer, day, trays=live, at=at, by=self.name)
        except InputError:
            self.farm.note(f"Nothing to deliver to {customer} today.", at=at, by=self.name)

    def _pack(self, line: LineDue, at: datetime) -> None:
        assert line.pack_g is not None, "only lines asked for in packs are packed"
        state = self.farm.state(at)
        held = {part.crop: 0.0 for part in line.parts}
        for lot in state.harvests.values():
            if lot.crop in held:
                held[lot.crop] += lot.left_g
        most = min(held[part.crop] / part.share for part in line.parts) // line.pack_g
        packs = int(min(most, line.packs))
        if packs:
            self.farm.pack(line.product, packs, pack_g=line.pack_g, at=at, by=self.name)

    def _throw_away_old(self, at: datetime) -> None:
        old = {
            lot.harvest: lot.left_g
            for lot in self.farm.state(at).harvests.values()
            if lot.left_g > 0.5 and at - lot.cut_at > timedelta(days=lot.cold_room_days)
        }
        if old:
            self.farm.throw_away(old, "past its days in the cold room", at=at, by=self.name)

    def clean(self, at: datetime) -> None:
        """Wash what is dirty."""
        for pool in list(self.farm.state(at).kit.values()):
            if pool.dirty:
                self.farm.wash(pool.pool.name, soap="food-safe soap", rinse_c=55.0, at=at, by=self.name)
            if pool.pool.sanitise and pool.washed:
                self.farm.sanitise(pool.pool.name, "as labelled", contact_min=10.0, at=at, by=self.name)

    def read(self, at: datetime) -> None:
        """Temperature and humidity of each room, a little different every day."""
        rooms = dict.fromkeys(shelf.room for shelf in self.farm.state(at).shelves.values())
        for room in rooms:
            warm, damp = self.world.air(room, at)
            self.farm.take_reading("temperature", warm, room, at=at, by=self.name)
            self.farm.take_reading("humidity", damp, room, at=at, by=self.name)

    # Sowing by the rule of thumb -------------------------------------------------------------------------------------

    def sow(self, at: datetime) -> None:
        """Sow what falls due a recipe's days from now, by the average weight so far and a bit more."""
        state = self.farm.state(at)
        today, tomorrow = local_day(at, self.settings), self._next_work_day(at) - timedelta(days=1)
        due = self.farm.due(today, today + timedelta(days=LOOK_AHEAD_DAYS), at=at)
        for recipe in state.recipes_in_use():
            lead = timedelta(days=math.ceil(recipe.days_to_ready) + 1)
            days = [line for line in due if line.due < tomorrow + lead and line.due >= today + lead]
            trays = self._trays_for(recipe, days, at)
            if trays:
                self._sow(recipe, trays, at)

    def _trays_for(self, recipe: Recipe, lines: list[LineDue], at: datetime) -> int:
        grams, live = 0.0, 0
        for line in lines:
            share = sum(part.share for part in line.parts if part.crop == recipe.crop)
            if share and (recipe.crop, line.line) not in self._covered:
                self._covered.add((recipe.crop, line.line))
                grams += line.grams * share
                live += line.trays
        return live + math.ceil(grams * (1 + self.extra) / self._average(recipe, at) - 1e-9)

    def _average(self, recipe: Recipe, at: datetime) -> float:
        state = self.farm.state(at)
        cut = [tray.grams for tray in state.ended.values() if tray.recipe == recipe.name and tray.grams is not None]
        return sum(cut) / len(cut) if cut else recipe.yield_prior.typical_g or 0.12 * recipe.tray.area_cm2

    def _sow(self, recipe: Recipe, trays: int, at: datetime) -> None:
        state = self.farm.state(at)
        first = recipe.stages[0]
        if first.ground != "bench":
            trays = min(trays, len(free_spots(state, first.ground, first.stack)))
        for need in recipe.kit:
            if need.pool in state.kit:
                trays = min(trays, state.kit[need.pool].ready(at) // need.each)
        if trays > 0:
            self._buy_when_low(state, recipe, trays, at)
            self.farm.sow(recipe.name, trays, at=at, by=self.name)

    def _buy_when_low(self, state: FarmState, recipe: Recipe, trays: int, at: datetime) -> None:
        try:
            seed_to_use(state, recipe, trays, at, None, None)
        except InputError:
            number = 1 + sum(lot.crop == recipe.crop for lot in state.seed.values())
            lot = f"{recipe.crop[:2].upper()}{number:02d}"
            label = self.world.seed_label(recipe.crop, lot, self._thousand_seeds(state, recipe.crop))
            self.farm.receive_seed(
                lot, recipe.crop, 1000.0, supplier="Harbour Seed Loft", supplier_lot=f"HS-{number:03d}",
                germination=label.germination, tsw_g=label.tsw_g, cost=label.cost, at=at, by=self.name,
            )  # fmt: skip

    @staticmethod
    def _thousand_seeds(state: FarmState, crop: str) -> float:
        weights = [lot.tsw_g for lot in state.seed.values() if lot.crop == crop and lot.tsw_g is not None]
        return weights[-1] if weights else facts_of(state, crop).number("tsw_g_typ") or 2.0
