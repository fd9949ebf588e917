"""What a plan says."""

from __future__ import annotations

from datetime import date, datetime

import msgspec


class Serve(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a sowing goes to an order line: grams cut, or live trays."""

    line: str
    customer: str
    due: date
    grams: float = 0.0
    trays: int = 0


class StageExpected(msgspec.Struct, frozen=True, kw_only=True):
    """A stage of a planned sowing and the days it is expected to take up, both included."""

    stage: str
    first: date
    last: date


class SeedTaken(msgspec.Struct, frozen=True, kw_only=True):
    """Grams out of one seed lot. [g]"""

    lot: str
    grams: float


class CutPlanned(msgspec.Struct, frozen=True, kw_only=True):
    """Trays to cut on a day; trays standing now are named, those of a planned sowing are not yet."""

    cut_on: date
    crop: str
    trays: int
    grams_expected: float
    standing: tuple[str, ...] = ()


class PlannedSowing(msgspec.Struct, frozen=True, kw_only=True):
    """Whole trays to sow on one day to one recipe."""

    sow_on: date
    crop: str
    recipe: str
    trays: int
    seed_g: float
    """Seed for all trays together. [g]"""
    cut_on: date
    """The day most of it is cut."""
    cut_between: tuple[date, date] | None = None
    """Of 10 trays in as many futures 8 leave between these days; None where the plan knew one future only."""
    grams_expected: float
    """Likely weight of all trays together. [g]"""
    serves: tuple[Serve, ...] = ()
    lots: tuple[SeedTaken, ...] = ()
    stages: tuple[StageExpected, ...] = ()
    cuts: tuple[CutPlanned, ...] = ()
    why: str = ""
    evening: int = 0
    """So many of the trays find a place in the evening only, once others have been turned."""

    def waiting(self, left: int) -> int:
        """Of so many trays still to sow, those that wait for the evening."""
        return min(self.evening, left)


class LineOutlook(msgspec.Struct, frozen=True, kw_only=True):
    """An order line and whether the plan meets it. Live trays count in `trays`, with grams 0."""

    line: str
    customer: str
    crop: str
    """The product: one crop, a mix or a live tray."""
    due: date
    grams: float
    met_grams: float
    trays: int = 0
    met_trays: int = 0
    comes_from: str = ""
    """Which trays and harvest lots it comes from; over one future only, `why` says it."""
    why: str = ""
    """What is in the way: limits, amounts, dates."""
    chance: float | None = None
    """The chance that it is met in full; None where the plan counted on one future only. [-]"""
    sure: float = 0.0
    """The chance from which the farm calls a line met. [-]"""
    short: float = 0.0
    """Grams, or live trays, it is expected to be short of."""
    raised_by: str = ""
    """What would make it likelier, and by how much."""
    read: float | None = None
    """The chance as it was read off the scenarios, where the one told follows the farm's record; else None. [-]"""

    @property
    def met(self) -> bool:
        """Whether the plan meets the line in full, as surely as the farm wants to be."""
        if self.chance is not None:
            return self.chance >= self.sure
        return self.met_grams >= self.grams - 0.5 and self.met_trays >= self.trays


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """A limit that stands in the way: what, when, how much there is, how much more would be needed."""

    limit: str
    """In the grower's nouns: `lit spots`, `dark spots`, `mat`, `hands`, `day off`, `seed of radish`, ..."""
    first: date
    last: date
    has: float
    short: float
    unit: str
    lines: tuple[str, ...] = ()
    message: str = ""
    worth: float = 0.0
    """What one more on each of these days (of hands an hour) would be worth. [farm's currency]"""


class CutAdvice(msgspec.Struct, frozen=True, kw_only=True):
    """What to do with trays that are ready: `cut` today, `hold`, or `let go`; and with trays, ready or not, that stand
    where others are to go: `clear`."""

    do: str
    crop: str
    trays: tuple[str, ...]
    until: date
    """The day of the cut, the last day they are held, or the day their place is wanted."""
    serves: tuple[Serve, ...] = ()
    message: str = ""


class Earning(msgspec.Struct, frozen=True, kw_only=True):
    """What a crop earns of the places it stands in."""

    crop: str
    trays: int
    margin: float
    """Sales less costs, over the plan's weeks. [farm's currency]"""
    spot_days: float
    """Lit floor positions x days. [d]"""
    a_spot_day: float
    """Margin of a lit floor position for a day. [farm's currency/d]"""
    one_more: float | None
    """What the best tray more would be worth now, limits counted; None: none can be sown. [farm's currency]"""
    one_less: float | None
    """What the least useful tray less would cost; None: none is sown. [farm's currency]"""
    message: str = ""


class RackUse(msgspec.Struct, frozen=True, kw_only=True):
    """How much of a kind of spots is taken each night of the plan, the first night first. [spots]"""

    limit: str
    """`dark spots` or `lit spots`."""
    has: tuple[float, ...]
    """How many there are."""
    likely: tuple[float, ...]
    """The mean over what may come."""
    low: tuple[float, ...]
    high: tuple[float, ...]
    """In 8 of 10 futures it lies between these."""


class Change(msgspec.Struct, frozen=True, kw_only=True):
    """What is different from the plan kept before."""

    what: str
    message: str
    day: date | None = None
    """The day it is about: the earlier one, where something moved."""


class PlanMoney(msgspec.Struct, frozen=True, kw_only=True):
    """What the plan is worth over its weeks. [farm's currency]"""

    sales: float = 0.0
    seed: float = 0.0
    medium: float = 0.0
    supplies: float = 0.0
    """Feed, soap and sanitiser, where the farm keeps them in store with prices."""
    hands: float = 0.0
    energy: float = 0.0
    packaging: float = 0.0
    disposal: float = 0.0
    shortfall: float = 0.0

    @property
    def margin(self) -> float:
        """Sales less what they cost; the price of shortfall is not money and stays out."""
        grown = self.seed + self.medium + self.supplies + self.hands + self.energy
        return self.sales - grown - self.packaging - self.disposal


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """Sowings proposed from one day to another, and what they do for the orders."""

    made_at: datetime
    first: date
    last: date
    sowings: tuple[PlannedSowing, ...] = ()
    cuts: tuple[CutPlanned, ...] = ()
    """Cuts of trays standing now."""
    lines: tuple[LineOutlook, ...] = ()
    limits: tuple[Limit, ...] = ()
    changes: tuple[Change, ...] = ()
    money: PlanMoney = PlanMoney()
    objective: float = 0.0
    gap: float | None = 0.0
    """Proven distance from the best possible, as a share of all sales asked for; None: not looked for. [-]"""
    gap_served: float | None = None
    """The same if this plan is served as well as can be, each way the weeks may go known beforehand. [-]"""
    advice: tuple[CutAdvice, ...] = ()
    earnings: tuple[Earning, ...] = ()
    racks: tuple[RackUse, ...] = ()
    """Spots taken night by night; none where the plan counted on one future only."""
    scenarios: int = 0
    """So many it was chosen over; 0: one cautious future."""
    full: float = 0.0
    """Lines that are expected to be met in full. [-]"""
    notes: tuple[str, ...] = ()
    """What was assumed or left out, in plain words."""
