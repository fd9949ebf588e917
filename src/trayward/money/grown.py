"""What one tray cost from its sowing until it left: seed, medium and wear, feed, hands, light.

As the plan and the season study count it (`study.account`), with two differences: light is that of the shelves the tray
stood on, not the mean over all lit ones, and seed is shared over the lots it came from.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import UTC, date, datetime
from functools import cached_property
from typing import NamedTuple

from trayward.farm.calendar import local_day, zone
from trayward.farm.hands import Leaves, minutes_by_job
from trayward.farm.kit import Pool
from trayward.farm.places import Shelf, shelf_of
from trayward.farm.recipes import Recipe, wear_of
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Tray
from trayward.farm.supply_costs import medium_cost
from trayward.money.coins import to_micro
from trayward.money.followed import Sources, TraysLeft
from trayward.money.supplied import Feeding
from trayward.money.terms import Terms
from trayward.money.types import Supposed

HOW: dict[str, Leaves] = {"cut": "cut", "delivered": "live", "discarded": "thrown"}
TYPICAL_UMOL_J = 2.5
"""Light of a joule where a lamp's watts are not said: about what LED bars for plants give. From memory. [umol/J]"""


class Stay(NamedTuple):
    """Some days of a tray on one shelf. [d]"""

    shelf: str
    days: int
    stack: int
    """How high the stage stacks."""
    ground: str


class TrayMoney(NamedTuple):
    """What one tray cost. [millionths of the currency]"""

    tray: Tray
    day: date
    seed: int
    medium: int
    feed: int
    hands: int
    energy: int
    stays: tuple[Stay, ...]

    @property
    def total(self) -> int:
        """All of it."""
        return self.seed + self.medium + self.feed + self.hands + self.energy

    @property
    def spot_days(self) -> int:
        """Days on a spot. [d]"""
        return sum(stay.days for stay in self.stays)


Mark = tuple[object, ...]


class Known(NamedTuple):
    """What a tray cost, what that rests on, and what of it has no price."""

    mark: Mark
    cost: TrayMoney
    noted: tuple[tuple[str, str, float], ...]


class KnownCosts:
    """
    What trays cost that was worked out before, kept from one account to the next.

    A tray that has left costs what it cost, as long as nothing is said anew about prices, recipes, kit, lamps or seed.
    """

    MOST = 50_000
    """Trays kept; then it begins anew."""

    def __init__(self) -> None:
        self._under: Mark = ()
        self._costs: dict[str, Known] = {}
        self.trays_left = TraysLeft()
        self.sources = Sources()

    def under(self, state: FarmState, terms: Terms, supposed: Supposed) -> dict[str, Known]:
        """Costs by tray, none where they were worked out under other terms; at supposed prices none are kept."""
        if supposed != Supposed():
            return {}
        seed = tuple((lot.lot, lot.cost, lot.received_g) for lot in state.seed.values())
        supplies = tuple((held.supply, *held.prices) for held in state.supplies.values())
        now: Mark = (terms.said, terms.settings, seed, supplies)
        if now != self._under or len(self._costs) > self.MOST:
            self._under, self._costs = now, {}
        return self._costs


def _mark(tray: Tray, feed: int) -> Mark:
    """What of a tray its cost depends on, beside what its feed cost."""
    steps = tuple((step.stage, step.since, step.spot) for step in tray.steps)
    return tray.ended_at, tray.fate, tray.recipe, tray.seed_g, steps, feed


class TrayCoster:
    """Works out what trays cost, and remembers what nobody said the price of."""

    def __init__(
        self, state: FarmState, terms: Terms, supposed: Supposed | None = None, known: KnownCosts | None = None
    ) -> None:
        self.state, self.terms, self.supposed = state, terms, supposed or Supposed()
        self.since: datetime | None = None
        """When the first of the trays asked for was sown; None: in the beginning."""
        known = known or KnownCosts()
        self._known = known.under(state, terms, self.supposed)
        self.trays_left, self.sources = known.trays_left, known.sources
        self._noted: list[tuple[str, str, float]] = []
        """What of the tray at hand has no price."""
        self.no_seed_cost: dict[str, float] = {}
        """Seed lot without a cost -> grams that were used. [g]"""
        self.no_medium: dict[str, int] = {}
        """Recipe whose medium and kit cost nothing -> trays."""
        self.no_watts: set[str] = set()
        self.no_supply_cost: dict[str, float] = {}
        """Supply without a price -> what of it was used. [unit of the supply]"""
        self.no_minutes = 0
        """Minutes worked at no wage. [min]"""
        self._seed: dict[str, float | None] = {}
        self._hands: dict[object, float] = {}
        self._pools: dict[int, dict[str, Pool]] = {}
        self._changes = terms.changes

    def cost(self, tray: Tray) -> TrayMoney:
        """What a tray that has left cost; looked up where it was worked out before."""
        mark = _mark(tray, self._feeding.cost.get(tray.tray, 0))
        held = self._known.get(tray.tray)
        if held is None or held.mark != mark:
            self._noted = []
            held = self._known[tray.tray] = Known(mark, self._cost(tray), tuple(self._noted))
        for kind, name, amount in held.noted:
            self._take_note(kind, name, amount)
        return held.cost

    @cached_property
    def _feeding(self) -> Feeding:
        return Feeding(self.state, self.since or datetime.min.replace(tzinfo=UTC))

    def _take_note(self, kind: str, name: str, amount: float) -> None:
        """What has no price is told of every account, also where the tray was worked out before."""
        if kind == "seed":
            self.no_seed_cost[name] = self.no_seed_cost.get(name, 0.0) + amount
        elif kind == "medium":
            self.no_medium[name] = self.no_medium.get(name, 0) + 1
        elif kind == "feed":
            self.no_supply_cost[name] = self.no_supply_cost.get(name, 0.0) + amount
        elif kind == "watts":
            self.no_watts.add(name)
        else:
            self.no_minutes += round(amount)

    def _cost(self, tray: Tray) -> TrayMoney:
        assert tray.ended_at is not None, "asked only of trays that have left"
        at = tray.ended_at
        farm = self.terms.farm(at)
        day, sown = local_day(at, farm), local_day(tray.sown_at, farm)
        recipe = self.terms.recipe(tray.recipe, at) or self.state.recipe_of(tray)
        stays = stays_of(tray, recipe, day, self.terms.settings)
        medium = medium_cost(self.state, recipe, tray.sown_at) + wear_of(recipe.kit, self._kit(at))
        if not medium:
            self._noted.append(("medium", recipe.name, 1.0))
        self._noted += [("feed", *used) for used in self._feeding.unpriced.get(tray.tray, {}).items()]
        return TrayMoney(
            tray, day, self._seed_of(tray), to_micro(medium), self._feeding.cost.get(tray.tray, 0),
            self._hands_of(tray, recipe, (day - sown).days, at),
            self._light(stays, at), stays,
        )  # fmt: skip

    # Parts -----------------------------------------------------------------------------------------------------------

    def _seed_of(self, tray: Tray) -> int:
        sowing = self.state.sowings.get(tray.sowing)
        lots = sowing.lots if sowing is not None else dict.fromkeys(tray.lots, 1.0)
        whole, cost = sum(lots.values()), 0.0
        for lot, grams in lots.items():
            used, price = tray.seed_g * grams / whole if whole else 0.0, self._gram(lot)
            if price is None:
                self._noted.append(("seed", lot, used))
            else:
                cost += used * price
        return to_micro(cost)

    def _gram(self, lot: str) -> float | None:
        """Price of a gram of a lot; None where nobody said. [currency/g]"""
        if lot not in self._seed:
            held = self.state.seed.get(lot)
            known = held is not None and held.cost > 0 and held.received_g > 0
            self._seed[lot] = held.cost / held.received_g if held is not None and known else None
        return self._seed[lot]

    def _hands_of(self, tray: Tray, recipe: Recipe, days: int, at: datetime) -> int:
        farm, how = self.terms.farm(at), HOW[tray.fate]
        reached = tuple(dict.fromkeys(step.stage for step in tray.steps))
        key = (id(recipe), reached, days, len(farm.rounds), how, self._since(at))
        if key not in self._hands:
            jobs = minutes_by_job(
                recipe, self._kit(at), reached=reached, days=days, looks=len(farm.rounds), how=how
            )  # fmt: skip
            self._hands[key] = sum(jobs.values())
        wage = farm.money.wage_h if self.supposed.wage_h is None else self.supposed.wage_h
        if not wage:
            self._noted.append(("minutes", "", self._hands[key]))
        return to_micro(self._hands[key] * wage / 60)

    def _light(self, stays: tuple[Stay, ...], at: datetime) -> int:
        money = self.terms.money(at)
        price = money.energy_kwh if self.supposed.energy_kwh is None else self.supposed.energy_kwh
        kwh = 0.0
        for stay in stays:
            shelf = self.terms.shelf(stay.shelf, at) if stay.ground == "lit" else None
            if shelf is not None and stay.days:
                kwh += stay.days * self.position_kwh(shelf) / max(min(stay.stack, shelf.stack), 1)
        return to_micro(kwh * price)

    def position_kwh(self, shelf: Shelf) -> float:
        """Energy of one floor position of a shelf in a day. [kWh/d]"""
        lamp = shelf.lamp
        if lamp is None or not shelf.spots:
            return 0.0
        watts = lamp.watts
        if not watts:
            self._noted.append(("watts", shelf.name, 0.0))
            watts = (lamp.umol_s or 0.0) / TYPICAL_UMOL_J
        return lamp.count * watts * lamp.hours / 1000 / shelf.spots

    def _since(self, at: datetime) -> int:
        """How often kit had been set anew by then."""
        return bisect_right(self._changes, at)

    def _kit(self, at: datetime) -> dict[str, Pool]:
        since = self._since(at)
        if since not in self._pools:
            self._pools[since] = self.terms.pools(at)
        return self._pools[since]


def stays_of(tray: Tray, recipe: Recipe, until: date, settings: FarmSettings) -> tuple[Stay, ...]:
    """Where a tray stood, stage by stage, by whole days of the farm."""
    found = []
    clock = zone(settings)
    days = [step.since.astimezone(clock).date() for step in tray.steps] + [until]
    stages = {stage.name: stage for stage in recipe.stages}
    for place, step in enumerate(tray.steps):
        if step.spot is None:
            continue
        stage = stages.get(step.stage)
        ground, stack = (stage.ground, stage.stack) if stage is not None else ("bench", 1)
        found.append(Stay(shelf_of(step.spot), max((days[place + 1] - days[place]).days, 0), stack, ground))
    return tuple(found)
