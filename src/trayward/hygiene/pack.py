"""An inspection pack: the records of a period with their corrections, reviews and cleaning of trays and mats; as CSV.

The header of every required record (21 CFR 112.161) is on every row: farm and place, date and time with zone, values
as found, lots, area, who with initials, whether written late, what was struck, and who reviewed it.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import msgspec

from trayward.farm.calendar import zone
from trayward.farm.cells import plain_cell
from trayward.farm.entries import Sanitised, Washed
from trayward.farm.kit_marks import marks_words
from trayward.farm.records import HygieneRecord, Value
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.hygiene.due import Gap, RecordDue
from trayward.hygiene.kinds import KEEP_YEARS, KINDS, known_kind, title_of
from trayward.hygiene.words import value_words

LATE = timedelta(days=1)
"""Written down longer after it happened than this counts as late, as in tracing: a phone may be out of reach that
long. Both moments stand on the record. [d]"""
RECENT = timedelta(days=30)
"""What is shown where nobody says from when: on every face the same."""
KIT = "cleaning of trays and mats"
"""Washing and sanitising of kit, out of the book."""


class Strike(msgspec.Struct, frozen=True, kw_only=True):
    """That a record was taken back: by whom, when, why."""

    by: str
    at: datetime
    reason: str


class Review(msgspec.Struct, frozen=True, kw_only=True):
    """That somebody in charge looked at a record."""

    by: str
    at: datetime
    note: str = ""


class RecordShown(msgspec.Struct, frozen=True, kw_only=True):
    """A record as it stands in the book, with what became of it."""

    entry: str
    kind: str
    title: str
    at: datetime
    recorded: datetime
    by: str
    record: HygieneRecord
    struck: Strike | None = None
    review: Review | None = None
    produce: tuple[str, ...] = ()
    """Crops and products of the lots it concerns."""

    @property
    def late(self) -> bool:
        """Whether it was written down long after it happened."""
        return self.recorded - self.at > LATE

    @property
    def outside(self) -> bool:
        """Whether a figure lies beyond a limit, and it was not taken back."""
        return self.struck is None and self.record.outside

    @property
    def waits(self) -> bool:
        """Whether somebody in charge still has to look at it."""
        asked = self.record.review_days is not None or self.record.outside
        return self.struck is None and self.review is None and asked


class RuleShown(msgspec.Struct, frozen=True, kw_only=True):
    """What one public rule comes to by the facts that the farm said, without a verdict."""

    leaning: str
    title: str
    crops: tuple[str, ...] = ()
    because: tuple[str, ...] = ()
    records: tuple[tuple[str, int], ...] = ()
    """Title of a kind of record that it would ask for, and how many were written in the last year."""
    others: tuple[str, ...] = ()
    source: str
    seen: bool


class Inspection(msgspec.Struct, frozen=True, kw_only=True):
    """The records of a period, for whoever comes to inspect."""

    farm: str
    address: tuple[str, ...]
    timezone: str
    first: date
    last: date
    made: datetime
    records: tuple[RecordShown, ...]
    """In the order of happening, struck ones with them."""
    missed: tuple[RecordDue, ...]
    """What should have been written down and was not, as of when the pack was made."""
    gaps: tuple[Gap, ...] = ()
    """When something was due in the period and was not written down, also where it was again afterwards."""
    rules: tuple[RuleShown, ...] = ()
    """Which public rules may apply, by the answers that the farm keeps; none where it keeps none."""

    def kinds(self) -> tuple[str, ...]:
        """Kinds that have records, in the order of the table; the cleaning of kit at the end."""
        there = {each.kind for each in self.records}
        known = [kind.name for kind in KINDS] + [KIT]
        return tuple(name for name in known if name in there) + tuple(sorted(there - set(known)))

    def of(self, kind: str) -> tuple[RecordShown, ...]:
        """The records of one kind."""
        return tuple(each for each in self.records if each.kind == kind)


def initials(name: str) -> str:
    """
    The first letters of somebody's names.

    Examples
    --------
    >>> initials("Ada Reed"), initials("grower")
    ('AR', 'G')
    """
    return "".join(part[0] for part in name.replace("-", " ").split() if part).upper()


def outside_first(records: Sequence[RecordShown]) -> list[RecordShown]:
    """What is out of limits and not yet reviewed first, then the newest."""
    newest = sorted(records, key=lambda each: each.at, reverse=True)
    return sorted(newest, key=lambda each: not (each.outside and each.waits))


def kit_record(body: Washed | Sanitised) -> HygieneRecord:
    """A washing or sanitising of kit as a cleaning record."""
    which = f" ({marks_words(body.marks)})" if body.marks else ""
    values = [Value(field="what was cleaned", value=f"{body.count} x {body.pool}{which}")]
    if isinstance(body, Washed):
        values.append(Value(field="method", value=f"washed{f', {body.soap}' if body.soap else ''}"))
        if body.left_out:
            values.append(Value(field="left out", value=", ".join(body.left_out)))
        found: tuple[tuple[str, float | None, str], ...] = (("rinse", body.rinse_c, "C"),)
    else:
        values.append(Value(field="method", value=f"sanitised, {body.agent}"))
        found = (
            ("strength", body.strength_ppm, "ppm"),
            ("contact", body.contact_min, "min"),
            ("water", body.water_c, "C"),
        )
    values += [Value(field=name, value=value, unit=unit) for name, value, unit in found if value is not None]
    return HygieneRecord(kind=KIT, values=tuple(values), note=body.note)


def produce_of(state: FarmState, about: Sequence[str]) -> tuple[str, ...]:
    """The crops and products of lots, trays and packs, each once."""
    found: dict[str, None] = {}
    for subject in about:
        kind, _, name = subject.partition(":")
        if kind == "pack" and name in state.packs:
            found[state.packs[name].product] = None
        elif kind == "harvest" and name in state.harvests:
            found[state.harvests[name].crop] = None
        elif kind == "lot" and name in state.seed:
            found[state.seed[name].crop] = None
        elif kind == "tray" and (tray := state.tray(name)) is not None:
            found[tray.crop] = None
    return tuple(found)


def moment(at: datetime, here: ZoneInfo) -> str:
    """A moment on the farm's clock with its offset: `2026-11-27 07:10 +00:00`."""
    local = at.astimezone(here)
    offset = f"{local:%z}"
    return f"{local:%Y-%m-%d %H:%M} {offset[:3]}:{offset[3:5]}"


RULES_HEAD = (
    "leaning", "rule", "crops", "because", "records asked for", "written in the last year", "other duties", "source",
    "from memory",
)  # fmt: skip
"""Columns of the sheet of rules."""
HEAD = (
    "entry", "farm", "location", "happened", "written down", "late", "area", "lots", "produce", "done by",
    "initials",
)  # fmt: skip
TAIL = (
    "outside limits", "corrective action", "note", "struck by", "struck at", "struck because", "review needed",
    "reviewed by", "reviewed at", "review note", "keep until",
)  # fmt: skip


def csv_of(pack: Inspection, kind: str, settings: FarmSettings) -> str:
    """The records of one kind as CSV, a column for each field with its unit."""
    rows = pack.of(kind)
    fields = list(dict.fromkeys((value.field, value.unit) for each in rows for value in each.record.values))
    out = io.StringIO()
    sheet = csv.writer(out)
    sheet.writerow([*HEAD, *(f"{name} [{unit}]" if unit else name for name, unit in fields), *TAIL])
    for each in rows:
        said = {(value.field, value.unit): value.value for value in each.record.values}
        sheet.writerow([*_head(pack, each, settings), *(plain_cell(said.get(field, "")) for field in fields),
                        *_tail(each, settings)])  # fmt: skip
    return out.getvalue()


def rules_csv(pack: Inspection) -> str:
    """Which rules may apply as CSV, a row for each."""
    out = io.StringIO()
    sheet = csv.writer(out)
    sheet.writerow(RULES_HEAD)
    for each in pack.rules:
        kinds, counts = "; ".join(kind for kind, _ in each.records), "; ".join(str(count) for _, count in each.records)
        row = (each.leaning, each.title, ", ".join(each.crops), " ".join(each.because), kinds, counts,
               "; ".join(each.others), each.source, "" if each.seen else "yes")  # fmt: skip
        sheet.writerow([plain_cell(cell) for cell in row])
    return out.getvalue()


def _head(pack: Inspection, each: RecordShown, settings: FarmSettings) -> list[object]:
    here = zone(settings)
    lots = ", ".join(name.partition(":")[2] for name in each.record.about)
    place = ", ".join(pack.address)
    found = [each.entry, pack.farm, place, moment(each.at, here), moment(each.recorded, here),
             "late" if each.late else "", each.record.area, lots, ", ".join(each.produce), each.by,
             initials(each.by)]  # fmt: skip
    return [plain_cell(value) for value in found]


def _tail(each: RecordShown, settings: FarmSettings) -> list[object]:
    here, struck, review = zone(settings), each.struck, each.review
    outside = "; ".join(value_words(each.kind, value) for value in each.record.values if value.outside)
    taken = [struck.by, moment(struck.at, here), struck.reason] if struck else ["", "", ""]
    looked = [review.by, moment(review.at, here), review.note] if review else ["", "", ""]
    asked = "yes" if each.record.review_days is not None or each.record.outside else ""
    found = [outside, each.record.corrective, each.record.note, *taken, asked, *looked, keep_until(each, settings)]
    return [plain_cell(value) for value in found]


def keep_until(each: RecordShown, settings: FarmSettings) -> str:
    """The day until which it is kept at least, counted from when it was written down."""
    kind = known_kind(each.kind)
    years = kind.keep_years if kind is not None else KEEP_YEARS
    day = each.recorded.astimezone(zone(settings)).date()
    leap = day.month == 2 and day.day == 29
    return (
        day.replace(year=day.year + years, month=3, day=1) if leap else day.replace(year=day.year + years)
    ).isoformat()


def shown_title(kind: str) -> str:
    """A kind's title, the cleaning of kit too."""
    return KIT.capitalize() if kind == KIT else title_of(kind)
