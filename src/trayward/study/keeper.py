"""Somebody who keeps a farm through a season, day by day, and does what a policy decides.

The keeper walks the rounds, cuts, packs, delivers, washes and sows, and writes it all into the book through
`trayward.Farm` alone. What to sow and which ready trays to cut is the policy's to say; the rest is the same for all:

- a tray is turned when its cue is seen on a walk, if there is room; what had to wait is turned once trays are cut;
- when what was cut does not fill what is due until the next day of work, a further ready tray is cut, the oldest first;
- whoever brings and spares most by the gram is served first (`farm.served_first`); a line goes out as far as there is
  crop, on its day or never;
- a ready tray is thrown away on the evening of the last day of its cut window, and crop past its days in the cold room;
- germinating trays are stacked when others need their place; a tray that waits for room for days is thrown away;
- no more is sown than there are free spots, clean kit and minutes of hands for; what found no room in the morning is
  sown after the evening walk, when trays have moved on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Protocol

from trayward.bootstrap import Farm
from trayward.farm.calendar import is_work_day, rounds_of, work_minutes
from trayward.farm.entries import LineDelivered, PackCount
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Tray
from trayward.study.customers import PlacedOrder
from trayward.study.events import Events
from trayward.study.hands import minutes_spent, trays_that_fit
from trayward.study.ledger import Ledger
from trayward.study.live_trays import live_for, spared
from trayward.study.room import stacked_up
from trayward.study.shares import Filled, fill, good_lots, good_until, short
from trayward.study.truth import CUT_AFTER, SOW_AFTER, SPOIL_AFTER, WAITS, evening_moment, last_cut_day, last_look
from trayward.study.turning import AFTER_CUT, Turning, is_asked
from trayward.study.world_file import SeasonWorld

DAY = timedelta(days=1)
BEFORE = timedelta(minutes=30)
"""Mail is read and seed unpacked so long before the first walk."""
DELIVERED, WASHED = timedelta(minutes=100), timedelta(minutes=140)
"""When in the day things are done, after the first walk begins."""
BACK_DAYS = 7
"""Kit of live trays comes back from the customer so many days later. [d]"""


class Policy(Protocol):
    """What decides what to sow and what to cut; it sees the farm's book and nothing else."""

    def cuts(self, farm: Farm, at: datetime) -> Sequence[str]:
        """Ready trays to cut this morning."""
        ...

    def clears(self, farm: Farm, at: datetime) -> Sequence[str]:
        """Growing trays to throw away this morning, because their places are wanted; asked after `cuts`."""
        ...

    def sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:
        """Recipes to sow this morning and how many trays of each."""
        ...

    def evening_sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:
        """The same of this evening, besides what found no room in the morning."""
        ...


def write_down(farm: Farm, placed: PlacedOrder, at: datetime, by: str) -> None:
    """Keep an order, or the change of a standing one, as it becomes known."""
    if placed.order is not None:
        order = placed.order
        farm.place_order(order.customer, order.due, order.lines, order=order.order, at=at, by=by, sure=True)
    if placed.standing is not None:
        farm.set_standing(placed.standing, at=at, by=by, sure=True)


class Keeper:
    """Keeps a farm through a season."""

    def __init__(
        self,
        farm: Farm,
        world: SeasonWorld,
        policy: Policy,
        ledger: Ledger,
        events: Events,
        orders: Iterable[PlacedOrder],
        *,
        name: str = "keeper",
    ) -> None:
        self.farm, self.world, self.policy = farm, world, policy
        self.ledger, self.events, self.name = ledger, events, name
        self.settings = world.settings
        self.phantom_g = 0.0
        """Grams that were written down and never lay there. [g]"""
        self.spoiled_g = 0.0
        """Grown and never cut. [g]"""
        self._due: list[LineDue] = []
        """What is due today and on days off that follow, as it stood in the morning."""
        self._mail: dict[date, list[PlacedOrder]] = defaultdict(list)
        for placed in orders:
            self._mail[max(placed.known_on, world.first)].append(placed)
        self._bags: dict[date, list[str]] = defaultdict(list)
        for crop, bags in world.seed.items():
            for bag in bags[1:]:
                self._bags[bag.on].append(crop)
        self._away: dict[date, dict[str, int]] = defaultdict(dict)
        self._turning = Turning(farm, ledger, name)

    def live(self, day: date) -> None:
        """One whole day."""
        walks = [walk for walk, _ in rounds_of(day, self.settings)]
        morning = walks[0]
        self.hear(day, morning - BEFORE)
        self._due = self.farm.due(day, self._next_work_day(day) - DAY, at=morning - BEFORE)
        self.look(morning)
        if self.world.spec.logs_temperature:
            self.read(day, morning + timedelta(minutes=5))
        worked = is_work_day(self.settings, day)
        if worked:
            self.cut(day, morning + CUT_AFTER)
        self.deliver(day, morning + DELIVERED)
        if worked:
            self.clean(day, morning + WASHED)
            left = self.sow(day, morning + SOW_AFTER, self.policy.sowings(self.farm, morning + SOW_AFTER))
        for walk in walks[1:]:
            self.look(walk)
        if worked:
            evening = evening_moment(day, self.settings)
            self.clean(day, evening)
            self.sow(day, evening, [*left, *self.policy.evening_sowings(self.farm, evening)])
        self.spoil(day, walks[-1] + SPOIL_AFTER)

    # Mail and seed ---------------------------------------------------------------------------------------------------

    def hear(self, day: date, at: datetime) -> None:
        """Orders that became known, seed that came, kit that came back."""
        for placed in self._mail.pop(day, ()):
            write_down(self.farm, placed, at, self.name)
        for crop in self._bags.pop(day, ()):
            self._new_bag(crop, day, at)
        for pool, count in self._away.pop(day, {}).items():
            self.farm.return_kit(pool, count, at=at, by=self.name)

    def _new_bag(self, crop: str, day: date, at: datetime) -> None:
        """A new lot takes the place of the old one, so that the same lot is sown whatever was sown before."""
        bag = next(each for each in self.world.seed[crop] if each.on == day)
        if self.farm.state(at).seed[bag.before].left_g > 0:
            self.farm.weigh_seed(bag.before, 0.0, "old bag given away", at=at, by=self.name, sure=True)
        seed = bag.seed
        self.farm.receive_seed(
            seed.lot, crop, seed.grams, germination=seed.germination, tsw_g=seed.tsw_g, cost=seed.cost,
            at=at, by=self.name, sure=True,
        )  # fmt: skip

    def read(self, day: date, at: datetime) -> None:
        """The temperature of each room."""
        warm = round(self.ledger.truth.warmth(day), 1)
        for room in dict.fromkeys(shelf.room for shelf in self.farm.state(at).shelves.values()):
            self.farm.take_reading("temperature", warm, room, at=at, by=self.name, sure=True)

    # The round -------------------------------------------------------------------------------------------------------

    def look(self, at: datetime) -> None:
        """Answer for the growing trays: those that are lost, those whose cue shows, those that are asked and go on."""
        if self.events.missed(at):
            return
        state = self.farm.state(at)
        growing = [tray for tray in state.growing() if tray.stage in self.ledger.of(tray.tray).stage_days]
        lost = [tray for tray in growing if self.ledger.is_lost(tray, at)]
        over = [tray for tray in growing if self.ledger.is_over(tray, at) and tray not in lost]
        going_on = [
            tray.tray for tray in growing if tray not in lost and tray not in over and is_asked(state, tray, at)
        ]
        if going_on:
            self.farm.answer(going_on, cue="not yet", at=at, by=self.name, sure=True)
        if lost:
            self.farm.discard([tray.tray for tray in lost], "mould", at=at, by=self.name, sure=True)
        self._turning.turn(over, at)

    # Cutting ---------------------------------------------------------------------------------------------------------

    def cut(self, day: date, at: datetime) -> None:
        """Cut what the policy says, and what today's orders want beyond that; then turn what waited for room."""
        chosen = list(self.policy.cuts(self.farm, at))
        state = self.farm.state(at)
        ready = {tray.tray: tray for tray in state.growing() if tray.stage == "ready"}
        picked = {name: ready[name] for name in chosen if name in ready}
        picked |= self._more(day, state, ready, picked)
        by_crop: dict[str, list[Tray]] = defaultdict(list)
        for tray in picked.values():
            by_crop[tray.crop].append(tray)
        for trays in by_crop.values():
            self._cut_together(trays, day, at)
        self._clear(day, at)
        stripped = [tray.tray for tray in self.farm.state(at).trays.values() if tray.fate == "cut"]
        if stripped:
            self.farm.strip(stripped, at=at + timedelta(minutes=15), by=self.name, sure=True)
        seen = last_look(at - CUT_AFTER, self.settings, self.events.missed)
        self._turning.turn_those_that_waited(at + AFTER_CUT - CUT_AFTER, seen)

    def _clear(self, day: date, at: datetime) -> None:
        """Throw away what stands where the policy wants others to go; what was cut by then is left out."""
        growing = {tray.tray: tray for tray in self.farm.state(at).growing()}
        names = [name for name in self.policy.clears(self.farm, at) if name in growing]
        if names:
            ready = [growing[name] for name in names if growing[name].stage == "ready"]
            self.spoiled_g += sum(self.ledger.weight(tray, day) for tray in ready)
            self.farm.discard(names, "no order has a use for it", at=at, by=self.name, sure=True)

    def _more(self, day: date, state: FarmState, ready: dict[str, Tray], picked: dict[str, Tray]) -> dict[str, Tray]:
        """Further ready trays, tray by tray, until what is due before the next day of work is there."""
        wanted = short((line for line in self._due if not line.live), good_lots(state, day, self.settings))
        kept_live = spared(self._due, ready, picked)
        found: dict[str, Tray] = {}
        for crop, grams in wanted.items():
            there = sum(self.ledger.weight(tray, day) for tray in picked.values() if tray.crop == crop)
            more = [tray for tray in ready.values() if tray.crop == crop and tray.tray not in picked]
            for tray in sorted(more, key=lambda tray: (tray.stage_since, tray.tray)):
                if there >= grams or tray.tray in kept_live:
                    continue
                found[tray.tray] = tray
                there += self.ledger.weight(tray, day)
        return found

    def _next_work_day(self, day: date) -> date:
        day += DAY
        while not is_work_day(self.settings, day):
            day += DAY
        return day

    def _cut_together(self, trays: Sequence[Tray], day: date, at: datetime) -> None:
        """Trays of a crop into one harvest lot; a weight typed wrong is struck when it is seen, else it stays."""
        true = {tray.tray: self.ledger.weight(tray, day) for tray in trays}
        typed, seen = dict(true), True
        for name, grams in true.items():
            named = self.ledger.named[name]
            written = self.events.typed(named.recipe.name, named.sown_on, named.number, grams)
            if written.grams != grams:
                typed[name], seen = written.grams, written.noticed
        said = self.farm.cut(typed, at=at, by=self.name, sure=True)
        if typed == true:
            return
        if seen:
            self.farm.strike(said.kept[0].entry.id, "typed one place off", at=at + timedelta(minutes=1), by=self.name)
            self.farm.cut(true, at=at + timedelta(minutes=2), by=self.name, sure=True)
            return
        nothing = sum(typed.values()) - sum(true.values())
        self.phantom_g += nothing
        self.farm.throw_away(
            {said.names[0]: nothing}, "written down, not there", at=at + timedelta(minutes=1), by=self.name, sure=True
        )

    # Selling ---------------------------------------------------------------------------------------------------------

    def deliver(self, day: date, at: datetime) -> None:
        """Pack and deliver what is due today, as far as there is crop; live trays out of the ready ones."""
        lines = [line for line in self._due if line.due == day]
        if not lines:
            return
        state = self.farm.state(at)
        out: dict[str, list[LineDelivered]] = defaultdict(list)
        filled = fill(lines, good_lots(state, day, self.settings), state)
        packed = self._pack([each for each in filled if each.packs], at)
        for each in filled:
            packs = (PackCount(pack=packed[each.line.line], packs=each.packs),) if each.packs else ()
            loose = () if each.packs else each.parts
            out[each.line.customer].append(LineDelivered(line=each.line.line, packs=packs, loose=loose))
        for line, trays in live_for(lines, state).items():
            out[line.customer].append(LineDelivered(line=line.line, trays=tuple(trays)))
            self._remember_kit(state, trays, day)
        for customer, delivered in out.items():
            self.farm.deliver(customer, delivered, at=at + timedelta(minutes=5), by=self.name, sure=True)

    def _pack(self, filled: Sequence[Filled], at: datetime) -> dict[str, str]:
        """Fill the packs of each line; the name of the pack lot by line."""
        names = {}
        for each in filled:
            parts: dict[str, float] = defaultdict(float)
            for part in each.parts:
                parts[part.harvest] += part.grams
            said = self.farm.pack(
                each.line.product, each.packs, pack_g=each.line.pack_g, parts=parts, at=at, by=self.name, sure=True
            )
            names[each.line.line] = said.names[0]
        return names

    def _remember_kit(self, state: FarmState, trays: Iterable[str], day: date) -> None:
        back = self._away[day + BACK_DAYS * DAY]
        for name in trays:
            for pool, count in state.trays[name].kit.items():
                back[pool] = back.get(pool, 0) + count

    def spoil(self, day: date, at: datetime) -> None:
        """Throw away trays whose last day it was, and crop past its days in the cold room."""
        state = self.farm.state(at)
        late = [
            tray
            for tray in state.growing()
            if tray.stage == "ready" and day >= last_cut_day(tray.stage_since, state.recipe_of(tray), self.settings)
        ]
        grown_over = [tray.tray for tray in state.growing() if self.ledger.is_over(tray, at - WAITS)]
        if grown_over:
            self.farm.discard(grown_over, "grown over, no room", at=at, by=self.name, sure=True)
        if late:
            self.spoiled_g += sum(self.ledger.weight(tray, day) for tray in late)
            names = [tray.tray for tray in late]
            self.farm.discard(names, "past its cut window", at=at, by=self.name, sure=True)
        old = {
            lot.harvest: lot.left_g
            for lot in state.harvests.values()
            if lot.left_g > 0 and day >= good_until(lot, self.settings)
        }
        if old:
            self.farm.throw_away(old, "past its days in the cold room", at=at, by=self.name, sure=True)

    # Washing and sowing ----------------------------------------------------------------------------------------------

    def clean(self, day: date, at: datetime) -> None:  # noqa: ARG002
        """
        Wash what is dirty, and sanitise it where the farm does. Defer to the label and local codes.

        A round asks for it morning and evening: covers that came off in the evening dry overnight.
        """
        for pool in list(self.farm.state(at).kit.values()):
            if pool.dirty:
                self.farm.wash(pool.pool.name, at=at, by=self.name)
            if pool.pool.sanitise and pool.washed:
                self.farm.sanitise(pool.pool.name, "as labelled", at=at, by=self.name)

    def sow(self, day: date, at: datetime, wanted: Iterable[tuple[str, int]]) -> list[tuple[str, int]]:
        """Sow what is wanted as far as there is room, clean kit and time; gives what was left over."""
        minutes = work_minutes(self.settings, day) - minutes_spent(self.farm.state(at), self.settings, day)
        left = []
        for name, count in wanted:
            state = self.farm.state(at)
            recipe = state.recipes[name]
            trays = min(count, self._room_made(recipe, count, at), int(minutes // max(recipe.minutes_sow, 0.01)))
            if trays > 0:
                lot = self.world.lot_on(recipe.crop, day)
                said = self.farm.sow(name, trays, lot=lot, at=at, by=self.name, sure=True)
                self.ledger.sown(said.names[1:], recipe, day, lot)
                minutes -= trays * recipe.minutes_sow
            if trays < count:
                left.append((name, count - max(trays, 0)))
        return left

    def _room_made(self, recipe: Recipe, count: int, at: datetime) -> int:
        """How many trays can be sown, once germinating trays are stacked if need be."""
        fits = trays_that_fit(self.farm.state(at), recipe, at)
        moves = stacked_up(self.farm.state(at)) if fits < count else {}
        if not moves:
            return fits
        self.farm.move(moves, at=at, by=self.name, sure=True)
        return trays_that_fit(self.farm.state(at), recipe, at)
