"""What a setup file says of hygiene records: how often each is written down where, within which limits."""

from __future__ import annotations

from datetime import date

from trayward.desk.setup.table import Table
from trayward.errors import InputError, NotFoundError
from trayward.farm.often import often_from_words
from trayward.farm.records import Habit, Limit
from trayward.farm.settings import FarmSettings
from trayward.hygiene.kinds import Kind, kind_named, read_value

NO_DAY = date(2000, 1, 1)


def read_habits(root: Table, settings: FarmSettings) -> list[Habit]:
    """The `[[record]]` tables; times of the day are those of the farm's walks where only their number is said."""
    return [habit for table in root.tables("record") if (habit := _habit(table, settings)) is not None]


def _habit(table: Table, settings: FarmSettings) -> Habit | None:
    said = table.text("kind", None, remedy="Name a kind of record, for instance cold room.")
    kind = _kind(table, said)
    area, every = " ".join(table.text("area").split()), table.text("every")
    start, limits = table.day("start") or NO_DAY, tuple(_limit(each, kind) for each in table.tables("limit"))
    within = table.whole("review_within", 0, high=3650) if table.has("review_within") else None
    table.finish()
    if kind is None:
        return None
    try:
        often = often_from_words(every, settings)
    except InputError as error:
        table.wrong("every", error.rule, error.remedy)
        return None
    return Habit(
        kind=kind.name, area=area, rule=often.rule, times=often.times, start=start, review_days=within,
        limits=tuple(each for each in limits if each is not None),
    )  # fmt: skip


def _kind(table: Table, said: str) -> Kind | None:
    try:
        return kind_named(said) if said else None
    except NotFoundError:
        table.wrong("kind", "there is no such kind of record", "See: trayward record kinds")
        return None


def _limit(table: Table, kind: Kind | None) -> Limit | None:
    field, low, high = table.text("field", None), table.raw("low"), table.raw("high")
    table.finish()
    if kind is None or not field:
        return None
    try:
        named = kind.field(field)
    except NotFoundError:
        table.wrong("field", f"{kind.name} has no such field", "See: trayward record kinds")
        return None
    if not named.number:
        table.wrong("field", "words have no limit", "Set limits for figures only.")
        return None
    ends: list[float | None] = []
    for key, end in (("low", low), ("high", high)):
        try:
            read = None if end is None else read_value(named, end if isinstance(end, int | float) else str(end))
        except InputError as error:
            table.wrong(key, error.rule, error.remedy)
            return None
        ends.append(float(read) if read is not None else None)
    return Limit(field=named.name, low=ends[0], high=ends[1])
