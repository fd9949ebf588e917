"""The inspection pack on paper: every record of a period by kind, with corrections, reviews and what was missed."""

from __future__ import annotations

from trayward.farm.calendar import zone
from trayward.farm.settings import FarmSettings
from trayward.hygiene.kinds import DEFER, known_kind
from trayward.hygiene.pack import Inspection, RecordShown, csv_of, initials, keep_until, moment, shown_title
from trayward.hygiene.words import basis_words, values_words
from trayward.paper.flow import Cell, Column, Flow, Words
from trayward.paper.paper import paper_of
from trayward.rounds.words import counted, day_words

COLUMNS = (
    Column(title="When it happened", wide=56.0),
    Column(title="Found and done"),
    Column(title="Done by", wide=28.0),
    Column(title="Reviewed by", wide=34.0),
)


def inspection_sheet(pack: Inspection, settings: FarmSettings, *, size: str = "") -> bytes:
    """The pack as one PDF: a page of what is in it, then the records kind by kind."""
    flow = paper_of(settings, pack.made, size).flow("Records for inspection", f"{pack.first} to {pack.last}")
    _front(flow, pack)
    for name in pack.kinds():
        kind = known_kind(name)
        records = pack.of(name)
        flow.gap(4.0)
        flow.table(COLUMNS)
        # A section's heading stands again on every page that its rows go on to.
        flow.section(f"{shown_title(name)}: {len(records)}", basis_words(kind) if kind is not None else "")
        for each in records:
            flow.row(*_cells(each, settings))
        flow.end_table()
    return flow.pdf()


def pack_files(pack: Inspection, settings: FarmSettings, *, size: str = "") -> dict[str, bytes]:
    """The pack whole, by name of file: the PDF, and a CSV for each kind."""
    sheets = {
        f"{kind.replace(' ', '-')}.csv": csv_of(pack, kind, settings).encode("utf-8-sig") for kind in pack.kinds()
    }
    return {"records.pdf": inspection_sheet(pack, settings, size=size)} | sheets


def _front(flow: Flow, pack: Inspection) -> None:
    place = ", ".join(pack.address) or "address not set"
    flow.words(f"{pack.farm}, {place}. Times are those of {pack.timezone}, with their offset.")
    struck = sum(each.struck is not None for each in pack.records)
    late, waits = (sum(getattr(each, name) for each in pack.records) for name in ("late", "waits"))
    outside = sum(each.outside for each in pack.records)
    flow.words(
        f"{counted(len(pack.records), 'record')}: {outside} outside limits, {late} written down late, {struck} struck, "
        f"{waits} not reviewed yet."
    )
    if not pack.records:
        flow.words("Nothing was written down on these days.", bold=True)
    for due in pack.missed:
        where = f", {due.area}" if due.area else ""
        since = f"not written down since {day_words(due.since)}, {counted(due.missed, 'time')}"
        flow.words(f"{due.title}{where}: {since}.", bold=True)
    flow.words("Nothing is deleted: a struck line stays here, with who struck it, when and why.")
    flow.words(DEFER)


def _cells(each: RecordShown, settings: FarmSettings) -> tuple[Cell, Cell, Cell, Cell]:
    return _when(each, settings), _found(each, settings), _who(each), _reviewed(each, settings)


def _when(each: RecordShown, settings: FarmSettings) -> Cell:
    here = zone(settings)
    lines: list[str | Words] = [Words(words=moment(each.at, here), bold=True)]
    if each.late:
        lines += [Words(words="LATE, written down", bold=True), moment(each.recorded, here)]
    return (*lines, f"entry {each.entry[:8]}", f"keep until {keep_until(each, settings)}")


def _found(each: RecordShown, settings: FarmSettings) -> Cell:
    told, here = each.record, zone(settings)
    lines: list[str | Words] = []
    if each.struck is not None:
        struck = each.struck
        words = f"STRUCK by {struck.by}, {moment(struck.at, here)}: {struck.reason}"
        lines.append(Words(words=words, bold=True))
    if told.area:
        lines.append(told.area)
    lines.append(Words(words=values_words(told, settings.units), bold=told.outside and each.struck is None))
    if told.about:
        lines.append(f"Lots: {', '.join(name.partition(':')[2] for name in told.about)}")
    if told.corrective:
        lines.append(f"Done about it: {told.corrective}")
    elif each.outside:
        lines.append(Words(words="Nobody said what was done about it.", bold=True))
    return (*lines, *([told.note] if told.note else []))


def _who(each: RecordShown) -> Cell:
    return (each.by, f"({initials(each.by)})")


def _reviewed(each: RecordShown, settings: FarmSettings) -> Cell:
    if each.review is not None:
        own = (each.review.by, moment(each.review.at, zone(settings)))
        return (*own, each.review.note) if each.review.note else own
    return "not yet" if each.waits else ""
