"""A row as somebody saw it: all that is needed to understand an answer later, when the row itself is gone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Literal

import msgspec

from trayward.errors import InputError
from trayward.farm.calendar import local_day
from trayward.farm.settings import FarmSettings
from trayward.rounds.types import Amount, RoundRow, RowKind

Cue = Literal["ready", "not yet"]
Moisture = Literal["moist", "dry"]


class AmountTold(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """An amount of a row, without what is only for reading."""

    what: str
    value: float
    unit: str
    each: bool = True


class RowTold(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """
    A row of a round, as the page had it that was answered.

    A phone without signal keeps it with the answer and sends both hours later; somebody else may have answered the row
    meanwhile, and the round of now may know nothing of it.
    """

    round: str
    """Day and walk of the round it stood in."""
    row: str
    kind: RowKind
    do: str = ""
    """What it said to do."""
    place: str = ""
    crop: str = ""
    recipe: str = ""
    stage: str = ""
    trays: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    to: tuple[str, ...] = ()
    lots: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    pool: str = ""
    marks: tuple[str, ...] = ()
    product: str = ""
    customer: str = ""
    count: int = 0
    due: date | None = None
    """Of a delivery: the day it is for."""
    record: str = ""
    area: str = ""
    opens: datetime | None = None
    usual: dict[str, str] = {}
    """Of a record: what its fields said last time, where that is usually the same."""
    amounts: tuple[AmountTold, ...] = ()

    @property
    def job(self) -> tuple[str, ...]:
        """What a job is done to, as subjects of the book."""
        named = {"kit": self.pool, "product": self.product, "customer": self.customer, "record": self.record}
        return tuple(f"{kind}:{name}" for kind, name in named.items() if name) or (f"recipe:{self.recipe}",)

    def as_row(self) -> RoundRow:
        """The row again, without its words."""
        return RoundRow(
            row=self.row, number=0, kind=self.kind, place=self.place, crop=self.crop, recipe=self.recipe,
            stage=self.stage, do=self.do, trays=self.trays, spots=self.spots, to=self.to, lots=self.lots,
            lines=self.lines, pool=self.pool, marks=self.marks, product=self.product, customer=self.customer,
            record=self.record, area=self.area, opens=self.opens, count=self.count,
            amounts=tuple(
                Amount(what=each.what, value=each.value, unit=each.unit, each=each.each) for each in self.amounts
            ),
        )  # fmt: skip


class RowSaid(msgspec.Struct, frozen=True, kw_only=True):
    """What somebody says to a row; only what was said is set."""

    done: bool = False
    """The job is done: turned, sown, stripped, washed, sanitised, packed, delivered."""
    throw: bool = False
    """Its trays are thrown away, for `problem`."""
    grams: Mapping[str, float] = {}
    """Of a cut: the weight of each tray that was cut. [g]"""
    cue: Cue | None = None
    moisture: Moisture | None = None
    share_emerged: float | None = None
    height_mm: float | None = None
    """Of the stand; of a cut: above the medium. [mm]"""
    water_ml: float | None = None
    """Given to each tray, where it was not the usual amount. [ml]"""
    problem: str = ""
    cleared: str = ""
    """Of trays that are held back: what it was instead of what was suspected."""
    note: str = ""
    only: tuple[str, ...] = ()
    """Some of its trays; all if empty."""
    spots: tuple[str, ...] = ()
    """Where trays went, if not as the row says."""
    count: int | None = None
    """How many were sown, washed or sanitised, if not as the row says."""
    grams_per_tray: float | None = None
    """Seed on each tray, if not as the row says. [g]"""
    agent: str = ""
    """What kit was sanitised with."""
    strength_ppm: float | None = None
    contact_min: float | None = None
    water_c: float | None = None
    """Of the agent. [C]"""
    marks: tuple[str, ...] = ()
    """Which marked kit was sown on, washed or sanitised, if not as the row says."""
    soap: str = ""
    rinse_c: float | None = None
    """Of what was washed. [C]"""
    left_out: tuple[str, ...] = ()
    """Steps of the farm's washing that were not done."""
    values: Mapping[str, float | str] = {}
    """Of a hygiene record: field -> what was found, a figure in the field's unit or words with theirs."""
    corrective: str = ""
    """What was done where a figure lies beyond its limit."""


def told_of(row: RoundRow, round_name: str, at: datetime, settings: FarmSettings) -> RowTold:
    """What a form that answers a row carries of it; `at` is the moment the round was made for."""
    return RowTold(
        round=round_name, row=row.row, kind=row.kind, do=row.do, place=row.place,
        crop=row.crop, recipe=row.recipe, stage=row.stage, trays=row.trays, spots=row.spots, to=row.to, lots=row.lots,
        lines=row.lines, pool=row.pool, marks=row.marks, product=row.product, customer=row.customer, count=row.count,
        due=due_day(row, at, settings) if row.kind == "deliver" else None, record=row.record, area=row.area,
        opens=row.opens, usual={each.field: each.usual for each in row.asks if each.usual},
        amounts=tuple(
            AmountTold(what=each.what, value=each.value, unit=each.unit, each=each.each)
            for each in row.amounts
            if each.unit in ("g", "ml")
        ),
    )  # fmt: skip


def due_day(row: RoundRow, at: datetime, settings: FarmSettings) -> date:
    """The day a delivery row of the round of a moment is for; a late one has been overdue since the day after."""
    late = row.overdue and row.since is not None
    return local_day(row.since, settings) - timedelta(days=1) if late and row.since else local_day(at, settings)


def write_told(told: RowTold) -> str:
    """The row as the words of a hidden field."""
    return msgspec.json.encode(told).decode()


def read_told(words: str) -> RowTold:
    """The row out of a hidden field. Raises `InputError` for words that are none."""
    try:
        return msgspec.json.decode(words, type=RowTold)
    except msgspec.DecodeError as error:
        rule = "it must be a row of the round as its page gives it"
        raise InputError("row", words[:40], rule, "Open the round and answer there.") from error
