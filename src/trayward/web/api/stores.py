"""Seed, kit and instruments."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.web.api.operation import tell
from trayward.web.api.rounds import Share
from trayward.web.api.telling import Count, Grams, Name, Telling, Words
from trayward.web.ask import Ask

Number = Annotated[int, msgspec.Meta(ge=0, le=1_000_000)]
Marks = Annotated[tuple[Name, ...], msgspec.Meta(max_length=2000)]
SomeMarks = Annotated[tuple[Name, ...], msgspec.Meta(min_length=1, max_length=2000)]


class ReceiveSeed(Telling, frozen=True, kw_only=True):
    """A delivery of seed, here now or on order for a day."""

    lot: Name
    crop: Name
    grams: Grams
    variety: Words = ""
    supplier: Words = ""
    supplier_lot: Words = ""
    germination: Share | None = None
    """The label's share that sprouts. [-]"""
    tsw_g: Annotated[float, msgspec.Meta(gt=0, le=1e4)] | None = None
    """Weight of a thousand seeds. [g]"""
    cost: Annotated[float, msgspec.Meta(ge=0, le=1e9)] = 0.0
    """Of the whole delivery. [farm's currency]"""
    treated: bool = False
    """Treated with anything. Defer to the label: treated seed is not for eating fresh."""
    document: Words = ""
    expected_on: date | None = None
    """On order for that day; the same telling without it receives the lot."""


class TestSeed(Telling, frozen=True, kw_only=True):
    """A seed test: so many of so many came up, and / or the weight of a thousand seeds."""

    lot: Name
    sprouted: Number | None = None
    tested: Number | None = None
    tsw_g: Annotated[float, msgspec.Meta(gt=0, le=1e4)] | None = None
    days: Annotated[float, msgspec.Meta(ge=0, le=365)] | None = None
    """How long it took. [d]"""


class WeighSeed(Telling, frozen=True, kw_only=True):
    """Seed left in a lot, as the scale says."""

    lot: Name
    grams: Grams
    reason: Words = ""


class Wash(Telling, frozen=True, kw_only=True):
    """Kit washed; all that is dirty where no count is given."""

    pool: Name
    count: Count | None = None
    marks: Marks = ()
    """Which, where they carry marks."""
    soap: Words = ""
    rinse_c: Annotated[float, msgspec.Meta(ge=0, le=100)] | None = None
    """[C]"""
    left_out: tuple[Name, ...] = ()
    """Steps of the farm's washing that were left out; then it stays dirty."""


class Sanitise(Telling, frozen=True, kw_only=True):
    """Kit sanitised. Defer to the label, local codes and licensed practice for agent, strength and time."""

    pool: Name
    agent: Annotated[Words, msgspec.Meta(min_length=1)]
    count: Count | None = None
    marks: Marks = ()
    """Which, where they carry marks."""
    strength_ppm: Annotated[float, msgspec.Meta(ge=0, le=1e6)] | None = None
    contact_min: Annotated[float, msgspec.Meta(ge=0, le=1e5)] | None = None
    """[min]"""
    water_c: Annotated[float, msgspec.Meta(ge=0, le=100)] | None = None


class CountKit(Telling, frozen=True, kw_only=True):
    """How many of a pool there are in all."""

    pool: Name
    count: Number
    reason: Words = ""


class ReturnKit(Telling, frozen=True, kw_only=True):
    """Kit back from customers who bought live trays; it comes back dirty."""

    pool: Name
    count: Count | None = None
    """All that is away if neither this nor `marks` is given."""
    marks: Marks = ()


class MarkKit(Telling, frozen=True, kw_only=True):
    """Things of a pool carry marks from now on."""

    pool: Name
    marks: SomeMarks
    uses: Number = 0
    """Uses each had before. [-]"""


class UseKit(Telling, frozen=True, kw_only=True):
    """Which marked kit a standing tray is on."""

    tray: Name
    marks: SomeMarks


class RetireKit(Telling, frozen=True, kw_only=True):
    """Marked things are used no more, or are lost."""

    marks: SomeMarks
    reason: Words = ""
    lost: bool = False
    replaced_by: Marks = ()


class Reading(Telling, frozen=True, kw_only=True):
    """A reading of an instrument. temperature [C], humidity [% RH], ph [-], ec [dS/m], ppfd [umol/m2/s]"""

    what: Literal["temperature", "humidity", "ph", "ec", "ppfd"]
    value: Annotated[float, msgspec.Meta(ge=-1e4, le=1e5)]
    where: Words = ""
    """A room, a rack, a shelf, a tank."""


def _receive(ask: Ask, told: ReceiveSeed, said: Said) -> Receipt:
    return ask.farm.receive_seed(
        told.lot, told.crop, told.grams, variety=told.variety, supplier=told.supplier, supplier_lot=told.supplier_lot,
        germination=told.germination, tsw_g=told.tsw_g, cost=told.cost, treated=told.treated, document=told.document,
        expected_on=told.expected_on, **said,
    )  # fmt: skip


def _test(ask: Ask, told: TestSeed, said: Said) -> Receipt:
    return ask.farm.test_seed(
        told.lot, sprouted=told.sprouted, tested=told.tested, tsw_g=told.tsw_g, days=told.days, **said
    )


def _weigh(ask: Ask, told: WeighSeed, said: Said) -> Receipt:
    return ask.farm.weigh_seed(told.lot, told.grams, told.reason, **said)


def _wash(ask: Ask, told: Wash, said: Said) -> Receipt:
    return ask.farm.wash(
        told.pool, told.count, marks=told.marks, soap=told.soap, rinse_c=told.rinse_c, left_out=told.left_out, **said
    )


def _sanitise(ask: Ask, told: Sanitise, said: Said) -> Receipt:
    return ask.farm.sanitise(
        told.pool, told.agent, told.count, marks=told.marks, strength_ppm=told.strength_ppm,
        contact_min=told.contact_min, water_c=told.water_c, **said,
    )  # fmt: skip


def _count(ask: Ask, told: CountKit, said: Said) -> Receipt:
    return ask.farm.count_kit(told.pool, told.count, told.reason, **said)


def _return(ask: Ask, told: ReturnKit, said: Said) -> Receipt:
    return ask.farm.return_kit(told.pool, told.count, marks=told.marks, **said)


def _mark(ask: Ask, told: MarkKit, said: Said) -> Receipt:
    return ask.farm.mark_kit(told.pool, told.marks, uses=told.uses, **said)


def _use(ask: Ask, told: UseKit, said: Said) -> Receipt:
    return ask.farm.use_kit(told.tray, told.marks, **said)


def _retire(ask: Ask, told: RetireKit, said: Said) -> Receipt:
    return ask.farm.retire_kit(told.marks, reason=told.reason, lost=told.lost, replaced_by=told.replaced_by, **said)


def _reading(ask: Ask, told: Reading, said: Said) -> Receipt:
    return ask.farm.take_reading(told.what, told.value, told.where, **said)


OPERATIONS = (
    tell("/seed/receive", _receive, ReceiveSeed, "stores", "Seed received or on order.", may="run"),
    tell("/seed/test", _test, TestSeed, "stores", "A seed test.", kinds=("seed tested",)),
    tell("/seed/weigh", _weigh, WeighSeed, "stores", "Seed left, as weighed.", kinds=("seed weighed",)),
    tell("/kit/wash", _wash, Wash, "stores", "Kit washed.", kinds=("washed",)),
    tell("/kit/sanitise", _sanitise, Sanitise, "stores", "Kit sanitised.", kinds=("sanitised",)),
    tell("/kit/count", _count, CountKit, "stores", "Kit counted.", may="run", kinds=("kit counted",)),
    tell("/kit/return", _return, ReturnKit, "stores", "Kit back from customers.", kinds=("kit returned",)),
    tell("/kit/mark", _mark, MarkKit, "stores", "Kit marked.", may="run", kinds=("kit marked",)),
    tell("/kit/use", _use, UseKit, "stores", "Marked kit under a tray.", kinds=("kit used",)),
    tell("/kit/retire", _retire, RetireKit, "stores", "Marked kit retired or lost.", kinds=("kit retired",)),
    tell("/readings", _reading, Reading, "stores", "A reading of an instrument.", kinds=("reading taken",)),
)
