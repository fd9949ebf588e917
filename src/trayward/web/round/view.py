"""What the round's page shows: the rows of now by rack and shelf, how far it is, which walks there are today."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime

import msgspec

from trayward.farm.calendar import local_day, present_round, rounds_of
from trayward.farm.places import Shelf
from trayward.farm.settings import FarmSettings, ShownUnits
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState
from trayward.hygiene.kinds import known_kind
from trayward.rounds.amount_words import EXPECT, KIT, LOT, SPOON, amount_value
from trayward.rounds.amounts import CUT, FEED_PH, IF_YES
from trayward.rounds.answer import kit_taken
from trayward.rounds.goods import COLD_ROOM, PACK_PLACE
from trayward.rounds.hygiene import WASH_PLACE
from trayward.rounds.records import RECORDS_PLACE
from trayward.rounds.scene import BENCH, is_last
from trayward.rounds.sowing import SOWING_PLACE
from trayward.rounds.told import told_of, write_told
from trayward.rounds.types import Amount, Round, RoundRow
from trayward.web.records.view import FieldShown, fields_of

WHOLE_ROUND = 130
"""A farm of no more spots than this has its whole round on one page."""
PART_SPOTS = 72
"""Larger farms have it in parts of whole racks, of about so many spots."""
PART_ROWS = 60
"""So many jobs, or overdue rows, are on one page."""


class AmountShown(msgspec.Struct, frozen=True, kw_only=True):
    """An amount in the reader's units: what, how much, and how it is measured."""

    what: str
    much: str
    each: bool
    note: str


class RowShown(msgspec.Struct, frozen=True, kw_only=True):
    """A row as it is shown."""

    id: str
    name: str
    told: str
    """What its form carries."""
    kind: str
    title: str
    how: str
    cue: str
    stage: str
    place: str
    where: tuple[str, ...]
    """Its spots."""
    to: tuple[str, ...]
    """Where its trays go when they go on."""
    amounts: tuple[AmountShown, ...]
    later: tuple[AmountShown, ...]
    """Amounts from then on, once the trays have gone on."""
    lacks: str
    """What is wanting to do it now: a free spot, seed, clean kit."""
    why: str
    overdue: bool
    trays: tuple[str, ...]
    lots: tuple[str, ...]
    count: int
    seed_g: float | None
    """Seed on each tray. [g]"""
    waters: bool
    """Whether trays of it may be dry."""
    minutes: float
    takes: tuple[str, ...] = ()
    """Pools with marks of which its trays take some with their next stage."""
    fields: tuple[FieldShown, ...] = ()
    """Of a record: what it says."""
    limited: bool = False
    """Of a record: whether any of it has a limit."""
    corrective: str = ""
    """Of a record: what is usually done where something was not right."""
    home: bool = False
    """Of what goes out: whether it is for the household's own table."""
    last: bool
    """Whether its trays wait to be cut, so that no answer calls them ready."""


class Rest(msgspec.Struct, frozen=True, kw_only=True):
    """The looks of a group, to be answered at once when none is ready."""

    rows: int
    waiting: str
    """Trays the round asks a question of, with commas."""
    others: str
    """Trays it asks nothing of yet."""
    waters: bool
    """Whether all of them may be dry."""


REST_FROM = 3
"""Fewer looks than these are answered one by one. [-]"""


class Group(msgspec.Struct, frozen=True, kw_only=True):
    """Rows that stand together: a rack, a table, or all that is overdue."""

    id: str
    title: str
    rows: tuple[RowShown, ...]
    rest: Rest | None = None
    feed: AmountShown | None = None
    """What feed all its looks want, where they want the same: said once with its caution, not with each tray."""


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """A part of a long round: some racks, the jobs, or what is overdue."""

    key: str
    title: str
    rows: int


class Walk(msgspec.Struct, frozen=True, kw_only=True):
    """One of the rounds of the day."""

    name: str
    """As the farm calls it: morning."""
    round: str
    """Day and walk."""
    at: datetime
    when: str
    """over, now or later."""


def word_id(*words: str) -> str:
    """
    Words as the id of a part of the page.

    Examples
    --------
    >>> word_id("row", "look-261121A-Shelf by the door")
    'row-look-261121A-Shelf-by-the-door'
    """
    return re.sub(r"[^A-Za-z0-9]+", "-", " ".join(words)).strip("-")


def rest_of(rows: Sequence[RowShown]) -> Rest | None:
    """The looks among some rows together; None where there are too few to be worth it."""
    looks = [row for row in rows if row.kind == "look"]
    if len(looks) < REST_FROM:
        return None
    waiting = [tray for row in looks if row.cue and not row.last for tray in row.trays]
    others = [tray for row in looks if not row.cue or row.last for tray in row.trays]
    waters = all(row.waters for row in looks)
    return Rest(rows=len(looks), waiting=",".join(waiting), others=",".join(others), waters=waters)


def feed_once(rows: Sequence[RowShown]) -> tuple[AmountShown | None, tuple[RowShown, ...]]:
    """
    The feed that several looks want alike, and the rows without it: it then stands among what else a row has to say.

    A caution that stands under every tray is not read any more.
    """
    wanted = [each for row in rows if row.kind == "look" for each in row.amounts if each.what == FEED_PH]
    if len(wanted) < 2 or len(set(wanted)) > 1:
        return None, tuple(rows)
    return wanted[0], tuple(_without(row, wanted[0]) if row.kind == "look" else row for row in rows)


def _without(row: RowShown, feed: AmountShown) -> RowShown:
    left = tuple(each for each in row.amounts if each != feed)
    moved = (feed,) if len(left) < len(row.amounts) else ()
    return msgspec.structs.replace(row, amounts=left, later=(*moved, *row.later))


# Rows -----------------------------------------------------------------------------------------------------------------


def row_shown(row: RoundRow, present: Round, state: FarmState, units: ShownUnits) -> RowShown:
    """A row of the round of now, in the reader's units."""
    settings = state.settings_or_usual
    recipe = state.recipes.get(row.recipe)
    each = next((amount.value for amount in row.amounts if amount.what == "seed"), None)
    told = [amount for amount in row.amounts if _is_told(row, amount)]
    return RowShown(
        id=word_id("row", row.row),
        name=row.row,
        told=write_told(told_of(row, present.round, present.at, settings)),
        kind=row.kind,
        title=row.do,
        how=row.how,
        cue=row.cue,
        stage=row.stage,
        place=row.place,
        where=row.spots,
        to=tuple(dict.fromkeys(spot for spot in row.to if spot)),
        amounts=tuple(amount_shown(amount, units) for amount in told if not amount.what.startswith(IF_YES)),
        later=tuple(amount_shown(amount, units) for amount in told if amount.what.startswith(IF_YES)),
        lacks=row.lacks,
        why=row.why,
        overdue=row.overdue,
        trays=row.trays,
        lots=row.lots,
        count=row.count,
        seed_g=each,
        waters=any(amount.unit == "ml" for amount in row.amounts),
        minutes=row.minutes,
        takes=_takes(row, state),
        fields=fields_of(row.asks, units),
        limited=any(each.low is not None or each.high is not None for each in row.asks),
        corrective=kind.corrective if (kind := known_kind(row.record)) is not None else "",
        home=row.home,
        last=is_last(recipe, row.stage),
    )


def _takes(row: RoundRow, state: FarmState) -> tuple[str, ...]:
    tray = state.trays.get(row.trays[0]) if row.trays and row.kind in ("look", "turn") else None
    if tray is None or not any(held.marks for held in state.kit.values()):
        return ()
    return tuple(pool for pool in kit_taken(state, tray) if state.kit[pool].marks)


def _is_told(row: RoundRow, amount: Amount) -> bool:
    """Left out: what the row's own words say already."""
    if amount.what == EXPECT:
        return False
    return amount.what != CUT and row.kind not in ("wash", "sanitise", "deliver")


def amount_shown(amount: Amount, units: ShownUnits) -> AmountShown:
    """An amount of a row, in the reader's units."""
    what = amount.what.removeprefix(IF_YES).removeprefix(KIT)
    if amount.unit == "pH":
        return AmountShown(what=what, much=amount.note.partition(",")[0], each=False, note=_after(amount.note))
    if amount.unit == SPOON:
        return AmountShown(what="or by the spoon", much=f"{amount.value:g} tbsp", each=True, note="level")
    much = amount_value(amount, units)
    note = "" if what.startswith(LOT) else amount.note
    return AmountShown(what=what, much=f"{much} x" if amount.unit == "pieces" else much, each=amount.each, note=note)


def _after(note: str) -> str:
    return note.partition(", ")[2]


# Parts and groups -----------------------------------------------------------------------------------------------------

OVERDUE, JOBS = "overdue", "jobs"


class Layout:
    """
    How the rows of a round lie on pages: by rack in walking order, the tables after them, what is overdue first.

    A large farm's round has parts made of whole racks. They follow from the shelves, not from what is open, so that the
    part somebody walks does not change under their thumb.
    """

    def __init__(self, state: FarmState, rows: Sequence[RoundRow]) -> None:
        self._shelves = {shelf.name: shelf for shelf in walking_shelves(state)}
        self._whole = sum(shelf.spots * shelf.stack for shelf in self._shelves.values()) <= WHOLE_ROUND
        self._part_of = {} if self._whole else _parts_of(self._shelves.values())
        self.rows: dict[str, list[RoundRow]] = {}
        for row in rows:
            self.rows.setdefault(self._key(row), []).append(row)
        self.parts = self._parts()

    def _key(self, row: RoundRow) -> str:
        if self._whole:
            return ""
        if row.overdue:
            return OVERDUE
        return self._part_of.get(row.place, JOBS)

    def _parts(self) -> tuple[Part, ...]:
        if self._whole:
            return (Part(key="", title="", rows=len(self.rows.get("", ()))),)
        keys = [OVERDUE, *dict.fromkeys(self._part_of.values()), JOBS]
        counts = {key: len(self.rows.get(key, ())) for key in keys}
        return tuple(Part(key=key, title=key, rows=counts[key]) for key in keys if counts[key] or key in self._part_of)

    def chosen(self, key: str) -> str:
        """The part asked for; the first with something in it where there is none of that name."""
        known = [part.key for part in self.parts]
        if key in known:
            return key
        return next((part.key for part in self.parts if part.rows), known[0] if known else "")

    def groups(self, key: str, page: int = 1) -> list[tuple[str, list[RoundRow]]]:
        """Title and rows of each group of a part, in walking order."""
        rows = self.rows.get(key, [])
        if key in (OVERDUE, JOBS):
            rows = rows[(page - 1) * PART_ROWS : page * PART_ROWS]
        groups: dict[str, list[RoundRow]] = {}
        for row in rows:
            groups.setdefault(self._title(row), []).append(row)
        return list(groups.items())

    def _title(self, row: RoundRow) -> str:
        if row.overdue and self._whole:
            return OVERDUE
        shelf = self._shelves.get(row.place)
        if shelf is not None:
            return shelf.rack
        return f"{PLACE}{row.place}" if row.kind == "record" and row.place not in TABLES else row.place

    def pages(self, key: str) -> int:
        """How many pages a part has: one, but for very many jobs."""
        rows = len(self.rows.get(key, ()))
        return max(1, -(-rows // PART_ROWS)) if key in (OVERDUE, JOBS) else 1


TABLES = (BENCH, SOWING_PLACE, PACK_PLACE, COLD_ROOM, WASH_PLACE, RECORDS_PLACE)
"""Places of jobs that have a name of ours."""
PLACE = "place: "
"""Begins the name of a group at a place that the farm named for its records, and that is no rack."""
SHELVES = "shelves "
"""Begins the name of a part that is no whole rack."""


def _parts_of(shelves: Iterable[Shelf]) -> dict[str, str]:
    """
    Shelf -> the part it belongs to: whole racks that fit together, or some shelves of one that is too large.

    Examples
    --------
    >>> long = [Shelf(name=f"D{n}", rack="D", room="", kind="lit", spots=30) for n in (1, 2, 3)]
    >>> small = [Shelf(name=f"{rack}1", rack=rack, room="", kind="lit", spots=20) for rack in "EF"]
    >>> _parts_of([*long, *small])
    {'D1': 'shelves D1-D2', 'D2': 'shelves D1-D2', 'D3': 'shelves D3', 'E1': 'E-F', 'F1': 'E-F'}
    """
    racks: dict[str, list[Shelf]] = {}
    for shelf in shelves:
        racks.setdefault(shelf.rack, []).append(shelf)
    found: dict[str, str] = {}
    together: list[str] = []
    for rack, own in racks.items():
        if _spots(own) > PART_SPOTS:
            found |= _named(together, racks) | _cut_up(own)
            together = []
        elif together and sum(_spots(racks[name]) for name in (*together, rack)) > PART_SPOTS:
            found |= _named(together, racks)
            together = [rack]
        else:
            together.append(rack)
    return found | _named(together, racks)


def _spots(shelves: Iterable[Shelf]) -> int:
    return sum(shelf.spots * shelf.stack for shelf in shelves)


def _named(together: Sequence[str], racks: Mapping[str, Sequence[Shelf]]) -> dict[str, str]:
    """Shelves of racks that make one part, and its name."""
    if not together:
        return {}
    name = together[0] if len(together) == 1 else f"{together[0]}-{together[-1]}"
    return {shelf.name: name for rack in together for shelf in racks[rack]}


def _cut_up(shelves: Sequence[Shelf]) -> dict[str, str]:
    """A large rack, in parts of so many shelves as fit."""
    parts: list[list[Shelf]] = [[]]
    for shelf in shelves:
        if parts[-1] and _spots((*parts[-1], shelf)) > PART_SPOTS:
            parts.append([])
        parts[-1].append(shelf)
    return {
        shelf.name: SHELVES + (part[0].name if len(part) == 1 else f"{part[0].name}-{part[-1].name}")
        for part in parts
        for shelf in part
    }


# Walks ----------------------------------------------------------------------------------------------------------------


def walks_of(settings: FarmSettings, at: datetime) -> tuple[Walk, ...]:
    """The rounds of the day a moment lies in, in the order they come."""
    present = present_round(settings, at)[0]
    day: date = local_day(at, settings)
    found = []
    for begins, name in rounds_of(day, settings):
        when = "now" if name == present else ("over" if begins <= at else "later")
        found.append(Walk(name=name.partition(" ")[2], round=name, at=begins, when=when))
    return tuple(found)
