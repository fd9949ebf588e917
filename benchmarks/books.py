"""Books of any length for measuring: what a farm of a given size would have said, day by day, the same for a seed.

    entries = list(books.entries(10_000, spots=96, seed=1))

The mix is a farm's: sowings, answers on two rounds a day, waterings, feedings, moves, cuts, packing, deliveries,
washing, readings, now and then a discarded tray, a note and a strike. Entries come in the order they happened, and the
record adds up: folding it leaves no finding, so speed is measured on the common road.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from itertools import islice
from random import Random
from typing import Final

from benchmarks import farms
from trayward.desk.naming import letters, tray_names
from trayward.farm import entries as said
from trayward.farm.entries import Body, Entry
from trayward.farm.orders import LineAsked
from trayward.farm.recipes import Recipe

START: Final = date(2024, 1, 1)
SIZES: Final = {"Shelf": 12, "Loft": 96, "Barn": 1200}
"""Spots of the three sizes that figures are given for."""
WALKS: Final = (("morning", time(6, 5, tzinfo=UTC)), ("evening", time(18, 5, tzinfo=UTC)))
"""A little after the farm's rounds begin, summer and winter."""
SECONDS_APART: Final = 12
COLD_DAYS: Final = 5
PACK_G: Final = 100.0
LOT_TRAYS: Final = 60
"""A delivery of seed is for this many trays."""


def entries(count: int, *, spots: int = SIZES["Loft"], seed: int = 1, start: date = START) -> Iterator[Entry]:
    """The first `count` entries of the book of a farm with that many spots. [entries], [spots]"""
    return islice(Field(spots, Random(seed), start).days(), count)


@dataclass
class Group:
    """The trays of one sowing, which go through life together."""

    recipe: Recipe
    trays: list[str]
    spots: list[str]
    stage: int = 0
    wait: int = 0
    """Rounds until the present stage looks done."""

    @property
    def stage_name(self) -> str:
        """The stage they are in."""
        return self.recipe.stages[self.stage].name

    @property
    def lit(self) -> bool:
        """Whether they stand in the light."""
        return self.recipe.stages[self.stage].ground == "lit"


@dataclass
class PackLot:
    """Packs still here of one filling."""

    pack: str
    packed_on: date
    packs: int


@dataclass
class ColdLot:
    """What is left of a harvest lot in the cold room. [g]"""

    harvest: str
    cut_on: date
    grams: float


@dataclass
class Field:
    """A farm in the middle of being made up: where everything is, so that the next entry is one that could be."""

    spots: int
    chance: Random
    day: date
    now: datetime = field(init=False)
    told: int = 0
    page: list[Entry] = field(default_factory=list)
    """What was said since the last time the page was turned."""
    groups: list[Group] = field(default_factory=list)
    free: dict[str, list[str]] = field(default_factory=dict)
    """Free floor positions of the dark shelves, and free spots of the lit ones."""
    dirty: dict[str, int] = field(default_factory=lambda: defaultdict(int))
    seed: dict[str, tuple[str, float]] = field(default_factory=dict)
    cold: dict[str, list[ColdLot]] = field(default_factory=lambda: defaultdict(list))
    packed: dict[str, list[PackLot]] = field(default_factory=lambda: defaultdict(list))
    named: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.now = datetime.combine(self.day, time(5), tzinfo=UTC)

    def days(self) -> Iterator[Entry]:
        """Everything said, for ever."""
        for body in farms.set_up(self.spots, self.day):
            self.say(body)
        self.recipes = [farms.recipe(number) for number in range(farms.recipe_count(self.spots))]
        self.standing = farms.standing_orders(self.spots, self.day)
        dark = [shelf for shelf in farms.shelves(self.spots) if shelf.kind == "dark"]
        lit = [shelf for shelf in farms.shelves(self.spots) if shelf.kind == "lit"]
        self.free["dark"] = [f"{shelf.name}.{number}" for shelf in dark for number in range(1, shelf.spots + 1)]
        self.free["lit"] = [spot for shelf in lit for spot in shelf.spot_names()]
        while True:
            self.live_a_day()
            yield from self.page
            self.page.clear()
            self.day += timedelta(days=1)

    def say(self, body: Body) -> str:
        """Write an entry, a few seconds after the one before; gives its id."""
        self.told += 1
        self.now += timedelta(seconds=SECONDS_APART)
        name = f"measure-{self.told:09d}"
        self.page.append(Entry(id=name, at=self.now, recorded=self.now + timedelta(seconds=2), by="ida", body=body))
        return name

    def name(self, prefix: str = "") -> str:
        """The next free name of the day: `240101A`, or `H240101A` with a prefix."""
        stem = f"{prefix}{self.day:%y%m%d}"
        self.named[stem] = self.named.get(stem, -1) + 1
        return stem + letters(self.named[stem])

    def live_a_day(self) -> None:
        """A morning round and the day's work, then an evening round and the washing."""
        for walk, begins in WALKS:
            self.now = max(self.now, datetime.combine(self.day, begins))
            self.walk(f"{self.day.isoformat()} {walk}")
            if walk == "morning":
                self.work()
        self.wash()
        self.named.clear()

    # The rounds -------------------------------------------------------------------------------------------------------

    def walk(self, name: str) -> None:
        """Read the air, look at every group, water what is dry, and move on what is ready."""
        self.say(said.ReadingTaken(what="temperature", value=round(self.chance.gauss(20.5, 1.2), 1), where="hall"))
        self.say(said.ReadingTaken(what="humidity", value=round(self.chance.gauss(58.0, 6.0), 1), where="hall"))
        for group in list(self.groups):
            group.wait -= 1
            self.look(group, name)

    def look(self, group: Group, walk: str) -> None:
        """Answer for one group, and do what the answer asks."""
        done = group.wait <= 0 and self.may_move_on(group)
        dry = self.chance.random() < 0.35
        waits = group.stage_name == "ready"
        self.say(
            said.RoundAnswered(
                trays=tuple(group.trays),
                round=walk,
                moisture="dry" if dry else "moist",
                cue=None if waits else "ready" if done else "not yet",
                height_mm=round(self.chance.uniform(20, 90)) if group.lit and self.chance.random() < 0.1 else None,
            )
        )
        if done:
            self.move_on(group)
        if dry and group.stage_name != "soak":
            self.water(group)
        if group.lit and len(group.trays) > 1 and self.chance.random() < 0.004:
            self.discard(group, group.trays[-1])

    def water(self, group: Group) -> None:
        """Mist in the dark; from below in the light, every third time with feed."""
        trays = tuple(group.trays)
        if not group.lit:
            self.say(said.Watered(trays=trays, ml=60.0, way="mist"))
        elif self.chance.random() < 1 / 3:
            self.say(said.Fed(trays=trays, ml=400.0, ph=5.8, ec=1.2, feed="leaf feed"))
        else:
            self.say(said.Watered(trays=trays, ml=400.0, way="below"))

    def may_move_on(self, group: Group) -> bool:
        """Whether the next stage has room: only going into the light takes new spots."""
        following = group.stage + 1
        if following >= len(group.recipe.stages):
            return False
        return group.lit or group.recipe.stages[following].ground != "lit" or len(self.free["lit"]) >= len(group.trays)

    def move_on(self, group: Group) -> None:
        """Begin the next stage, and carry the trays to where it is spent."""
        before = group.recipe.stages[group.stage].ground
        covered = group.stage_name in farms.COVERED
        group.stage += 1
        now = group.recipe.stages[group.stage]
        group.wait = self.rounds_of(group)
        self.say(said.StageChanged(trays=tuple(group.trays), stage=now.name))
        if covered and now.name not in farms.COVERED:
            self.dirty["covers"] += len(group.trays)
        if before == "dark" and now.ground == "lit":
            self.let_go(group.spots, "dark")
            group.spots = [self.free["lit"].pop(0) for _ in group.trays]
        if before != now.ground:
            moves = tuple(
                said.TraySown(tray=tray, spot=spot) for tray, spot in zip(group.trays, group.spots, strict=True)
            )
            self.say(said.Moved(moves=moves))

    def rounds_of(self, group: Group) -> int:
        """How many rounds the present stage takes this group: its typical length, give or take a tenth."""
        days = group.recipe.stages[group.stage].days_typical
        return max(1, round(2 * days * self.chance.gauss(1.0, 0.1)))

    def let_go(self, spots: list[str], ground: str) -> None:
        """Spots that are free again: whole floor positions in the dark, single spots in the light."""
        freed = dict.fromkeys(spot.rstrip("ab") if ground == "dark" else spot for spot in spots)
        self.free[ground].extend(freed)

    def discard(self, group: Group, tray: str) -> None:
        """Throw one tray of a group in the light away."""
        self.say(said.Discarded(trays=(tray,), reason="mould"))
        self.strip([tray])
        place = group.trays.index(tray)
        self.let_go([group.spots.pop(place)], "lit")
        group.trays.remove(tray)

    def strip(self, trays: list[str]) -> None:
        """Scrape trays clean; what they stood in is dirty now."""
        self.say(said.Stripped(trays=tuple(trays)))
        for pool in ("grow trays", "base trays"):
            self.dirty[pool] += len(trays)

    # The day's work ---------------------------------------------------------------------------------------------------

    def work(self) -> None:
        """Clear the cold room, cut, pack, deliver, sow; a note on some days."""
        self.throw_away()
        for group in [group for group in self.groups if group.stage_name == "ready"]:
            self.cut(group)
        self.pack()
        self.deliver()
        self.sow()
        if self.chance.random() < 0.15:
            note = self.say(said.Note(text="Fan of the hall cleaned.", about=("place:hall",)))
            if self.chance.random() < 0.2:
                self.say(said.Struck(entry=note, reason="said of the wrong day"))

    def throw_away(self) -> None:
        """Cut crop past its days in the cold room, loose or in packs."""
        for crop in self.cold:
            lots, packs = self.cold[crop], self.packed[crop]
            old = [lot for lot in lots if (self.day - lot.cut_on).days >= COLD_DAYS]
            stale = [lot for lot in packs if (self.day - lot.packed_on).days >= COLD_DAYS]
            if old or stale:
                parts = tuple(said.LotGrams(harvest=lot.harvest, grams=lot.grams) for lot in old)
                counts = tuple(said.PackCount(pack=lot.pack, packs=lot.packs) for lot in stale)
                self.say(said.ThrownAway(parts=parts, packs=counts, reason="past its days"))
                lots[:] = [lot for lot in lots if lot not in old]
                packs[:] = [lot for lot in packs if lot not in stale]

    def cut(self, group: Group) -> None:
        """Cut all trays of a group into one harvest lot, and strip them."""
        typical = group.recipe.yield_prior.typical_g or 0.0
        weights = [round(max(20.0, self.chance.gauss(typical, typical * 0.12))) for _ in group.trays]
        cuts = tuple(
            said.TrayCut(tray=tray, grams=float(grams)) for tray, grams in zip(group.trays, weights, strict=True)
        )
        harvest = self.name("H")
        self.say(said.Cut(harvest=harvest, crop=group.recipe.crop, trays=cuts, height_mm=18.0))
        self.strip(group.trays)
        self.cold[group.recipe.crop].append(ColdLot(harvest, self.day, float(sum(weights))))
        self.let_go(group.spots, "lit")
        self.groups.remove(group)

    def pack(self) -> None:
        """Fill packs from a third of this morning's lots; what is packed is gone from the loose grams."""
        for crop, lots in self.cold.items():
            for lot in lots:
                packs = int(lot.grams // PACK_G) // 2
                if lot.cut_on == self.day and packs and self.chance.random() < 1 / 3:
                    lot.grams -= packs * PACK_G
                    part = said.LotGrams(harvest=lot.harvest, grams=packs * PACK_G)
                    best_before = self.day + timedelta(days=COLD_DAYS)
                    pack = PackLot(self.name("P"), self.day, packs)
                    self.packed[crop].append(pack)
                    body = said.Packed(
                        pack=pack.pack,
                        product=crop,
                        packs=packs,
                        pack_g=PACK_G,
                        parts=(part,),
                        best_before=best_before,
                    )
                    self.say(body)

    def deliver(self) -> None:
        """Today's standing orders, as far as the cold room goes."""
        today = farms.WEEKDAYS[self.day.weekday()]
        for order in self.standing:
            if order.rule.endswith(f"BYDAY={today}"):
                lines = [
                    self.line_out(f"{order.standing}@{self.day.isoformat()}/{line.line}", line) for line in order.lines
                ]
                gone = tuple(line for line in lines if line.packs or line.loose)
                if gone:
                    self.say(said.Delivered(delivery=self.name("D"), customer=order.customer, lines=gone))

    def line_out(self, name: str, asked: LineAsked) -> said.LineDelivered:
        """What goes out for a line: packs first, the rest loose."""
        packs = self.take_packs(asked.product, int(asked.quantity // PACK_G))
        rest = asked.quantity - PACK_G * sum(count.packs for count in packs)
        return said.LineDelivered(line=name, packs=packs, loose=self.take(asked.product, rest))

    def take_packs(self, crop: str, wanted: int) -> tuple[said.PackCount, ...]:
        """Up to that many packs of a crop, oldest first."""
        taken = []
        lots = self.packed[crop]
        while lots and wanted > 0:
            part = min(wanted, lots[0].packs)
            wanted -= part
            lots[0].packs -= part
            taken.append(said.PackCount(pack=lots[0].pack, packs=part))
            if not lots[0].packs:
                lots.pop(0)
        return tuple(taken)

    def take(self, crop: str, grams: float) -> tuple[said.LotGrams, ...]:
        """Up to that many grams of a crop out of the cold room, oldest lot first. [g]"""
        taken = []
        lots = self.cold[crop]
        while lots and grams > 0:
            part = min(grams, lots[0].grams)
            grams -= part
            lots[0].grams -= part
            if part > 0:
                taken.append(said.LotGrams(harvest=lots[0].harvest, grams=part))
            if lots[0].grams <= 0:
                lots.pop(0)
        return tuple(taken)

    def sow(self) -> None:
        """New groups while the dark shelves have room: about a ninth of the farm a day, to turn it over evenly."""
        left = max(1, self.spots // 9)
        while left > 0:
            trays = min(left, self.chance.randint(1, 6))
            positions = -(-trays // farms.STACK)
            if positions > len(self.free["dark"]):
                return
            self.sow_group(self.chance.choice(self.recipes), trays, positions)
            left -= trays

    def sow_group(self, recipe: Recipe, trays: int, positions: int) -> None:
        """Sow some trays of one recipe; while they soak they stand on no shelf."""
        floor = [self.free["dark"].pop(0) for _ in range(positions)]
        spots = [f"{position}{level}" for position in floor for level in "ab"[: farms.STACK]][:trays]
        grams = round(farms.seed_grams(recipe) * trays, 1)
        lot = self.lot_with(recipe, grams)
        sowing = self.name()
        group = Group(recipe, list(tray_names(sowing, trays)), spots)
        on_shelf = recipe.stages[0].ground != "bench"
        sown = tuple(
            said.TraySown(tray=tray, spot=spot if on_shelf else None)
            for tray, spot in zip(group.trays, spots, strict=True)
        )
        used = (said.SeedUsed(lot=lot, grams=grams),)
        self.say(said.SowingMade(sowing=sowing, recipe=recipe.name, trays=sown, lots=used))
        group.wait = self.rounds_of(group)
        self.groups.append(group)

    def lot_with(self, recipe: Recipe, grams: float) -> str:
        """A lot that holds that much seed, a new delivery if none does; the seed is taken out of it. [g]"""
        lot, left = self.seed.get(recipe.crop, ("", 0.0))
        if left < grams:
            lot, left = self.name("S"), round(LOT_TRAYS * farms.seed_grams(recipe), 1)
            self.receive(lot, recipe.crop, left)
        self.seed[recipe.crop] = (lot, left - grams)
        return lot

    def receive(self, lot: str, crop: str, grams: float) -> None:
        """A delivery of seed, and the farm's own test of it."""
        weight, sprouts = farms.facts_of(crop)
        self.say(said.SeedReceived(lot=lot, crop=crop, grams=grams, germination=sprouts, cost=round(grams * 0.02, 2)))
        sprouted = sum(self.chance.random() < sprouts for _ in range(100))
        self.say(said.SeedTested(lot=lot, sprouted=sprouted, tested=100, tsw_g=weight, days=4.0))

    def wash(self) -> None:
        """Wash what the day made dirty."""
        for pool, many in self.dirty.items():
            if many:
                self.say(said.Washed(pool=pool, count=many, soap="mild soap", rinse_c=40.0))
        self.dirty.clear()
