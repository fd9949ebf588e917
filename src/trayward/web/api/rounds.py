"""The round: its rows, and what is said to them."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

import msgspec

from trayward.desk.answering import Answered
from trayward.desk.core import Said
from trayward.rounds.told import RowSaid, RowTold, told_of
from trayward.rounds.types import RoundRow
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Count, Grams, Millilitres, Name, Names, Telling, Words
from trayward.web.ask import Ask

Share = Annotated[float, msgspec.Meta(ge=0, le=1)]
Figure = Annotated[float, msgspec.Meta(ge=-1e9, le=1e9)]
Height = Annotated[float, msgspec.Meta(ge=0, le=10_000)]


class RowInRound(msgspec.Struct, frozen=True, kw_only=True):
    """A row, and what to send back with its answer."""

    row: RoundRow
    told: RowTold
    """The row as it stands now. Keep it with an answer that is sent later: it lands although the row may be gone."""


class RoundNow(msgspec.Struct, frozen=True, kw_only=True):
    """The present round, in walking order."""

    round: str
    """Day and walk."""
    at: datetime
    rows: tuple[RowInRound, ...]
    done: int
    minutes: float
    idle: str
    """Where there is no row: that nothing is due, and when the next round begins, in words."""
    notes: tuple[str, ...]


class AnswerRow(Telling, frozen=True, kw_only=True):
    """What was seen at a row's trays; only what was seen is said."""

    row: Name | RowTold
    """Its name in the present round, or the row as it was told."""
    cue: Literal["ready", "not yet"] | None = None
    moisture: Literal["moist", "dry"] | None = None
    share_emerged: Share | None = None
    height_mm: Height | None = None
    water_ml: Millilitres | None = None
    """Given to each tray, if not the usual amount. [ml]"""
    problem: Words = ""
    """A word for trouble: mould, fallen, uneven."""
    throw: bool = False
    """Its trays are thrown away, for `problem`."""
    note: Words = ""
    only: tuple[Name, ...] = ()
    """Some of its trays; all if empty."""
    spots: tuple[Name, ...] = ()
    """Where trays went, if not as the row says."""
    marks: tuple[Name, ...] = ()
    """Marked kit that the next stage takes, dealt out to the trays in order."""


class DoRow(Telling, frozen=True, kw_only=True):
    """A row's job is done: turned, sown, stripped, washed, sanitised, packed, delivered."""

    row: Name | RowTold
    only: tuple[Name, ...] = ()
    count: Count | None = None
    """How many were sown, washed or sanitised, if not as the row says."""
    grams_per_tray: Grams | None = None
    """Seed on each tray, if not as the row says. [g]"""
    spots: tuple[Name, ...] = ()
    agent: Words = ""
    """What kit was sanitised with; defer to its label."""
    strength_ppm: Annotated[float, msgspec.Meta(ge=0, le=1e6)] | None = None
    contact_min: Annotated[float, msgspec.Meta(ge=0, le=1e5)] | None = None
    water_c: Annotated[float, msgspec.Meta(ge=0, le=100)] | None = None
    """Of the agent. [C]"""
    marks: tuple[Name, ...] = ()
    """Which marked kit was sown on, washed or sanitised, if not as the row says."""
    soap: Words = ""
    rinse_c: Annotated[float, msgspec.Meta(ge=0, le=100)] | None = None
    """Of what was washed. [C]"""
    left_out: tuple[Name, ...] = ()
    values: dict[str, Figure | Words] = msgspec.field(default_factory=dict)
    """Of a hygiene record: field -> a figure in the field's unit, or words; words of a figure may carry a unit."""
    corrective: Words = ""
    """What was done where a figure lies beyond its limit."""
    """Steps of the farm's washing that were not done."""
    note: Words = ""


class CutRow(Telling, frozen=True, kw_only=True):
    """A row's trays are cut. [g]"""

    row: Name | RowTold
    grams: Annotated[dict[Name, Grams], msgspec.Meta(min_length=1, max_length=2000)]
    """Of each tray that was cut. [g]"""
    height_mm: Height | None = None
    """Above the medium. [mm]"""
    note: Words = ""


def _round(ask: Ask, _: Nothing) -> RoundNow:
    now = ask.farm.round_soon(ask.at)
    rows = tuple(RowInRound(row=row, told=told_of(row, now.round, now.at, ask.settings)) for row in now.rows)
    return RoundNow(
        round=now.round, at=now.at, rows=rows, done=now.done, minutes=now.minutes, idle=now.idle, notes=now.notes
    )


def _row(ask: Ask, said: str | RowTold) -> RowTold:
    if isinstance(said, RowTold):
        return said
    row = ask.farm.row(said, ask.at)
    now = ask.farm.round_soon(ask.at)
    return told_of(row, now.round, ask.at, ask.settings)


def _answer(ask: Ask, told: AnswerRow, said: Said) -> Answered:
    answer = RowSaid(
        throw=told.throw, cue=told.cue, moisture=told.moisture, share_emerged=told.share_emerged,
        height_mm=told.height_mm, water_ml=told.water_ml, problem=told.problem, note=told.note, only=told.only,
        spots=told.spots, marks=told.marks,
    )  # fmt: skip
    return ask.farm.answer_told(_row(ask, told.row), answer, **said)


def _do(ask: Ask, told: DoRow, said: Said) -> Answered:
    answer = RowSaid(
        done=True, only=told.only, count=told.count, grams_per_tray=told.grams_per_tray, spots=told.spots,
        agent=told.agent, strength_ppm=told.strength_ppm, contact_min=told.contact_min, water_c=told.water_c,
        marks=told.marks, soap=told.soap, rinse_c=told.rinse_c, left_out=told.left_out, note=told.note,
        values=told.values, corrective=told.corrective,
    )  # fmt: skip
    return ask.farm.answer_told(_row(ask, told.row), answer, **said)


def _cut(ask: Ask, told: CutRow, said: Said) -> Answered:
    answer = RowSaid(grams=told.grams, height_mm=told.height_mm, note=told.note)
    return ask.farm.answer_told(_row(ask, told.row), answer, **said)


class AnswerTrays(Telling, frozen=True, kw_only=True):
    """What was seen at some trays outside a row; "ready" begins their next stage."""

    trays: Names
    cue: Literal["ready", "not yet"] | None = None
    moisture: Literal["moist", "dry"] | None = None
    share_emerged: Share | None = None
    height_mm: Height | None = None
    problem: Words = ""
    note: Words = ""
    water_ml: Millilitres | None = None
    spots: tuple[Name, ...] | None = None


OPERATIONS = (
    look("/round", _round, RoundNow, "round", "What to do now, in walking order."),
    tell("/round/answer", _answer, AnswerRow, "round", "Answer what a row asks."),
    tell("/round/do", _do, DoRow, "round", "Say that a row's job is done."),
    tell("/round/cut", _cut, CutRow, "round", "Cut a row's trays, with the grams of each."),
)
