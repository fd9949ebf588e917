"""What is done to trays: sown, moved, watered, fed, measured, noted, cut, thrown away, stripped."""

from __future__ import annotations

from typing import Annotated, Literal

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.web.api.operation import tell
from trayward.web.api.rounds import AnswerTrays, Height
from trayward.web.api.telling import Count, Grams, Millilitres, Name, Names, Telling, Words
from trayward.web.ask import Ask


class Sow(Telling, frozen=True, kw_only=True):
    """Sow trays of a recipe."""

    recipe: Name
    """Its name, or its crop where there is just one."""
    trays: Count
    grams_per_tray: Grams | None = None
    """Worked out from the recipe's density and the lot, where it is left out. [g]"""
    lots: dict[Name, Grams] | None = None
    """Grams of each lot for all trays together. [g]"""
    lot: Name | None = None
    """Take all of it from this lot."""
    spots: tuple[Name, ...] | None = None
    stage: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """The stage they begin in; empty: the recipe's first."""
    marks: tuple[Name, ...] | None = None
    """Marked mats, trays and covers, dealt out in order; the longest rested where it is left out."""


class Move(Telling, frozen=True, kw_only=True):
    """Trays to other spots, all at once, so two may swap."""

    moves: Annotated[dict[Name, Name], msgspec.Meta(min_length=1, max_length=2000)]
    """Tray to spot."""


class Begin(Telling, frozen=True, kw_only=True):
    """Trays begin a stage."""

    trays: Names
    stage: Name
    spots: tuple[Name, ...] | None = None


class Water(Telling, frozen=True, kw_only=True):
    """Water given to each of some trays."""

    trays: Names
    ml: Millilitres
    way: Literal["mist", "below", "soak"] = "below"


class Feed(Telling, frozen=True, kw_only=True):
    """Feed given to each of some trays, from below."""

    trays: Names
    ml: Millilitres
    ph: Annotated[float, msgspec.Meta(ge=0, le=14)] | None = None
    ec: Annotated[float, msgspec.Meta(ge=0, le=100)] | None = None
    """[dS/m]"""
    feed: Words = ""


class Measure(Telling, frozen=True, kw_only=True):
    """A measure of each of some trays."""

    trays: Names
    what: Name
    """height_mm, weight_g, canopy_share, temperature_c, ..."""
    value: Annotated[float, msgspec.Meta(ge=-1e6, le=1e6)]
    unit: Annotated[str, msgspec.Meta(max_length=40)] = ""


class NoteDown(Telling, frozen=True, kw_only=True):
    """Words about anything."""

    text: Annotated[Words, msgspec.Meta(min_length=1)]
    about: tuple[Name, ...] = ()
    """Subjects as `kind:name`, for instance `tray:261125A.1`."""


class Discard(Telling, frozen=True, kw_only=True):
    """Throw trays away."""

    trays: Names
    reason: Annotated[Words, msgspec.Meta(min_length=1)]


class CutTrays(Telling, frozen=True, kw_only=True):
    """Cut trays into one harvest lot."""

    grams: Annotated[dict[Name, Grams], msgspec.Meta(min_length=1, max_length=2000)]
    """Of each tray. [g]"""
    height_mm: Height | None = None
    """Above the medium. [mm]"""
    regrow: bool = False
    """The trays stay for another cut."""


class SeeTrouble(Telling, frozen=True, kw_only=True):
    """Trouble seen on some trays; what may be mould or rot holds them back until they are cleared."""

    trays: Names
    sign: Annotated[Words, msgspec.Meta(min_length=1)]
    """By the guide or in words of one's own: `white fuzz`."""
    cause: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """What it most likely is, by the guide's name."""
    where: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """edge, middle, patches or all over."""
    share: Annotated[float, msgspec.Meta(ge=0, le=1)] | None = None
    """Share of each tray that has it. [-]"""
    looks: dict[Name, bool] = msgspec.field(default_factory=dict)
    """Answers of a close look, by the guide's names."""
    note: Words = ""


class ClearTrouble(Telling, frozen=True, kw_only=True):
    """Trays that were held back are well."""

    trays: Names
    found: Annotated[Words, msgspec.Meta(min_length=1)]
    """What it was instead: root hairs."""
    note: Words = ""


class Strip(Telling, frozen=True, kw_only=True):
    """Roots scraped off some trays; their kit is dirty now."""

    trays: Names


def _sow(ask: Ask, told: Sow, said: Said) -> Receipt:
    return ask.farm.sow(
        told.recipe, told.trays, grams_per_tray=told.grams_per_tray, lots=told.lots, lot=told.lot, spots=told.spots,
        stage=told.stage, marks=told.marks, **said,
    )  # fmt: skip


def _answer(ask: Ask, told: AnswerTrays, said: Said) -> Receipt:
    return ask.farm.answer(
        told.trays, cue=told.cue, moisture=told.moisture, share_emerged=told.share_emerged, height_mm=told.height_mm,
        problem=told.problem, note=told.note, water_ml=told.water_ml, spots=told.spots, **said,
    )  # fmt: skip


def _move(ask: Ask, told: Move, said: Said) -> Receipt:
    return ask.farm.move(told.moves, **said)


def _begin(ask: Ask, told: Begin, said: Said) -> Receipt:
    return ask.farm.begin(told.trays, told.stage, spots=told.spots, **said)


def _water(ask: Ask, told: Water, said: Said) -> Receipt:
    return ask.farm.water(told.trays, told.ml, told.way, **said)


def _feed(ask: Ask, told: Feed, said: Said) -> Receipt:
    return ask.farm.feed(told.trays, told.ml, ph=told.ph, ec=told.ec, feed=told.feed, **said)


def _measure(ask: Ask, told: Measure, said: Said) -> Receipt:
    return ask.farm.measure(told.trays, told.what, told.value, told.unit, **said)


def _note(ask: Ask, told: NoteDown, said: Said) -> Receipt:
    return ask.farm.note(told.text, told.about, **said)


def _discard(ask: Ask, told: Discard, said: Said) -> Receipt:
    return ask.farm.discard(told.trays, told.reason, **said)


def _see_trouble(ask: Ask, told: SeeTrouble, said: Said) -> Receipt:
    return ask.farm.see_trouble(
        told.trays, told.sign, cause=told.cause, where=told.where, share=told.share, looks=told.looks, note=told.note,
        **said,
    )  # fmt: skip


def _clear_trouble(ask: Ask, told: ClearTrouble, said: Said) -> Receipt:
    return ask.farm.clear_trouble(told.trays, told.found, note=told.note, **said)


def _cut(ask: Ask, told: CutTrays, said: Said) -> Receipt:
    return ask.farm.cut(told.grams, height_mm=told.height_mm, regrow=told.regrow, **said)


def _strip(ask: Ask, told: Strip, said: Said) -> Receipt:
    return ask.farm.strip(told.trays, **said)


OPERATIONS = (
    tell("/sow", _sow, Sow, "trays", "Sow trays of a recipe.", kinds=("sowing made",)),
    tell("/answer", _answer, AnswerTrays, "trays", "Say what was seen at some trays, outside the round's rows."),
    tell("/begin", _begin, Begin, "trays", "Begin a stage.", kinds=("stage changed",)),
    tell("/move", _move, Move, "trays", "Move trays to other spots.", kinds=("moved",)),
    tell("/water", _water, Water, "trays", "Water given to some trays.", kinds=("watered",)),
    tell("/feed", _feed, Feed, "trays", "Feed given to some trays.", kinds=("fed",)),
    tell("/measure", _measure, Measure, "trays", "A measure of some trays.", kinds=("measured",)),
    tell("/note", _note, NoteDown, "trays", "A note, about anything.", kinds=("note",)),
    tell("/cut", _cut, CutTrays, "trays", "Cut trays into a harvest lot.", kinds=("cut",)),
    tell("/trouble", _see_trouble, SeeTrouble, "trays", "Trouble seen on some trays.", kinds=("trouble seen",)),
    tell(
        "/trouble/clear",
        _clear_trouble,
        ClearTrouble,
        "trays",
        "Clear trays that were held back.",
        kinds=("trouble cleared",),
    ),
    tell("/discard", _discard, Discard, "trays", "Throw trays away.", kinds=("discarded",)),
    tell("/strip", _strip, Strip, "trays", "Strip trays; their kit is dirty now.", kinds=("stripped",)),
)
