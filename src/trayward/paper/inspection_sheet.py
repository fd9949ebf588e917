"""The inspection pack on paper: every record of a period by kind, with corrections, reviews and what was missed."""

from __future__ import annotations

import re
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from trayward.farm.calendar import zone
from trayward.farm.settings import FarmSettings
from trayward.hygiene.due import Gap, RecordDue
from trayward.hygiene.kinds import DEFER, known_kind
from trayward.hygiene.pack import (
    KIT,
    Inspection,
    RecordShown,
    RuleShown,
    csv_of,
    initials,
    keep_until,
    moment,
    rules_csv,
    shown_title,
)
from trayward.hygiene.words import Piece, basis_words, values_pieces
from trayward.paper.flow import Cell, Column, Flow, Words
from trayward.paper.inspection_words import read_me
from trayward.paper.paper import paper_of
from trayward.paper.tongue import ENGLISH, Tongue, later

COLUMNS = (
    Column(title=later("When it happened"), wide=59.0),
    Column(title=later("Found and done")),
    Column(title=later("Done by"), wide=26.0),
    Column(title=later("Reviewed by"), wide=34.0),
)

MOST_GAPS = 60
"""So many days or times on which something was not written down are named; all are counted."""


def inspection_sheet(pack: Inspection, settings: FarmSettings, *, size: str = "", tongue: Tongue = ENGLISH) -> bytes:
    """The pack as one PDF: a page of what is in it, then the records kind by kind."""
    days = tongue._("%(first)s to %(last)s", first=tongue.plain_day(pack.first), last=tongue.plain_day(pack.last))
    flow = paper_of(settings, pack.made, size, tongue).flow(tongue._("Records for inspection"), days)
    _front(flow, pack)
    _rules(flow, pack)
    for name in pack.kinds():
        kind = known_kind(name)
        records = pack.of(name)
        flow.gap(4.0)
        flow.table(COLUMNS)
        # A section's heading stands again on every page that its rows go on to.
        basis = tongue.said(basis_words(kind)) if kind is not None else ""
        flow.section(f"{tongue.said(shown_title(name))}: {len(records)}", basis)
        for each in records:
            flow.row(*_cells(each, settings, tongue))
        flow.end_table()
    return flow.pdf()


def pack_files(
    pack: Inspection, settings: FarmSettings, *, size: str = "", tongue: Tongue = ENGLISH
) -> dict[str, bytes]:
    """
    The pack whole, by name of file: the PDF, a CSV for each kind, one of the rules that may apply, and what all is.

    Columns of the CSV files are called the same everywhere, so that a program finds them on every farm; a text file in
    the language of the pack says what each holds.
    """
    sheets = {f"{kind.replace(' ', '-')}.csv": csv_of(pack, kind, settings) for kind in pack.kinds()}
    if pack.rules:
        sheets["rules.csv"] = rules_csv(pack)
    told = {name: words.encode("utf-8-sig") for name, words in sheets.items()}
    about = {tongue._("read-me.txt"): read_me(pack, sheets, tongue).encode("utf-8-sig")}
    return {"records.pdf": inspection_sheet(pack, settings, size=size, tongue=tongue)} | about | told


def _front(flow: Flow, pack: Inspection) -> None:
    tongue = flow.tongue
    place = ", ".join(pack.address) or tongue._("address not set")
    times = tongue._("Times are those of %(timezone)s, with their offset.", timezone=pack.timezone)
    flow.words(f"{pack.farm}, {place}. {times}")
    struck = sum(each.struck is not None for each in pack.records)
    late, waits = (sum(getattr(each, name) for each in pack.records) for name in ("late", "waits"))
    outside = sum(each.outside for each in pack.records)
    flow.words(
        tongue.ngettext(
            "%(num)s record: %(outside)s outside limits, %(late)s written down late, %(struck)s struck, "
            "%(waits)s not reviewed yet.",
            "%(num)s records: %(outside)s outside limits, %(late)s written down late, %(struck)s struck, "
            "%(waits)s not reviewed yet.",
            len(pack.records), outside=outside, late=late, struck=struck, waits=waits,
        )
    )  # fmt: skip
    if not pack.records:
        flow.words(tongue._("Nothing was written down on these days."), bold=True)
    for due in pack.missed:
        flow.words(_missed(due, tongue), bold=True)
    for gap in pack.gaps:
        flow.words(_gap(gap, pack, tongue))
    flow.words(tongue._("Nothing is deleted: a struck line stays here, with who struck it, when and why."))
    flow.words(tongue.said(DEFER))


def _rules(flow: Flow, pack: Inspection) -> None:
    """Which rules may apply by the answers that the farm keeps; where it keeps none, that it does not."""
    tongue = flow.tongue
    if not pack.rules:
        flow.gap(2.0)
        flow.words(tongue._("Which rules may apply: no answers are kept. They are given on the page of rules."))
        return
    flow.gap(4.0)
    flow.table((Column(title=later("Rule"), wide=62.0), Column(title=later("Why, and what it would ask for"))))
    flow.section(tongue._("Which rules may apply, by the answers that the farm keeps"), tongue.said(DEFER))
    for each in pack.rules:
        flow.row(*_rule(each, tongue))
    flow.end_table()


def _rule(each: RuleShown, tongue: Tongue) -> tuple[Cell, Cell]:
    crops = f" ({', '.join(each.crops)})" if each.crops else ""
    memory = "" if each.seen else " " + tongue._("From memory, confirm it.")
    first: Cell = (
        Words(words=tongue._(LEANINGS.get(each.leaning, each.leaning)), bold=True),
        f"{tongue.said(each.title)}{crops}",
    )
    kept = [
        tongue._("%(record)s: %(count)s in the last year", record=tongue.said(title), count=count)
        for title, count in each.records
    ]
    others = [tongue.said(other) for other in each.others]
    source = tongue._("Source: %(source)s.", source=tongue.said(each.source))
    asked = [f"- {words}" for words in (*kept, *others)]
    return first, (*(tongue.said(why) for why in each.because), *asked, f"{source}{memory}")


LEANINGS = {
    "may apply": later("May apply"),
    "does not seem to apply": later("Does not seem to apply"),
    "cannot be told": later("Cannot be told yet"),
}


def _missed(due: RecordDue, tongue: Tongue) -> str:
    """What should have been written down and was not."""
    what = f"{tongue.said(due.title)}, {due.area}" if due.area else tongue.said(due.title)
    times, since = tongue.counted(due.missed, "time"), tongue.day(due.since)
    return tongue._("%(what)s: not written down since %(day)s, %(times)s.", what=what, day=since, times=times)


def _gap(gap: Gap, pack: Inspection, tongue: Tongue) -> str:
    """When it was due in the period and was not written down."""
    what = f"{tongue.said(gap.title)}, {gap.area}" if gap.area else tongue.said(gap.title)
    here = ZoneInfo(pack.timezone)
    local = [each.astimezone(here) for each in gap.times]
    when = [f"{tongue.day(each.date())} {tongue.clock(each)}" for each in local] or [*map(tongue.day, gap.days)]
    more = [tongue._("and %(count)s more", count=len(when) - MOST_GAPS)] if len(when) > MOST_GAPS else []
    return tongue._(
        "%(what)s: due %(asked)s times, not written down %(count)s of them: %(when)s.", what=what, asked=gap.asked,
        count=gap.count, when=", ".join([*when[:MOST_GAPS], *more]),
    )  # fmt: skip


def _cells(each: RecordShown, settings: FarmSettings, tongue: Tongue) -> tuple[Cell, Cell, Cell, Cell]:
    who, reviewed = _who(each), _reviewed(each, settings, tongue)
    return _when(each, settings, tongue), _found(each, settings, tongue), who, reviewed


def _when(each: RecordShown, settings: FarmSettings, tongue: Tongue) -> Cell:
    here = zone(settings)
    lines: list[str | Words] = [Words(words=moment(each.at, here), bold=True)]
    if each.late:
        lines += [Words(words=tongue._("LATE, written down"), bold=True), moment(each.recorded, here)]
    entry = tongue._("entry %(entry)s", entry=each.entry[:8])
    return (*lines, entry, tongue._("keep until %(day)s", day=keep_until(each, settings)))


def _found(each: RecordShown, settings: FarmSettings, tongue: Tongue) -> Cell:
    told, here = each.record, zone(settings)
    lines: list[str | Words] = []
    if each.struck is not None:
        struck = each.struck
        when = moment(struck.at, here)
        words = tongue._("STRUCK by %(who)s, %(when)s: %(why)s", who=struck.by, when=when, why=struck.reason)
        lines.append(Words(words=words, bold=True))
    if told.area:
        lines.append(told.area)
    values = "".join(_piece(piece, told.kind, tongue) for piece in values_pieces(told, settings.units))
    lines.append(Words(words=values, bold=told.outside and each.struck is None))
    if told.about:
        lots = ", ".join(name.partition(":")[2] for name in told.about)
        crops = f" ({', '.join(tongue.said(name) for name in each.produce)})" if each.produce else ""
        lines.append(tongue._("Lots: %(lots)s", lots=lots + crops))
    if told.corrective:
        lines.append(tongue._("Done about it: %(what)s", what=told.corrective))
    elif each.outside:
        lines.append(Words(words=tongue._("Nobody said what was done about it."), bold=True))
    return (*lines, *([_note(told.note, here, tongue)] if told.note else []))


def _note(note: str, here: ZoneInfo, tongue: Tongue) -> str:
    """What was noted; of an alarm, which the book notes by its name, the sensor and the moment it began."""
    found = _ALARM.fullmatch(note)
    if found is None:
        return note
    began = datetime.strptime(found["began"], "%Y%m%dT%H%M").replace(tzinfo=UTC)
    return tongue._("Alarm of %(sensor)s, %(when)s", sensor=found["sensor"], when=moment(began, here))


_ALARM = re.compile(r"Alarm (?P<sensor>.+)\.[^.]+\.(?P<began>\d{8}T\d{4})\.")


def _piece(piece: Piece, kind: str, tongue: Tongue) -> str:
    """Words of ours in the sheet's language, what somebody typed as it is."""
    if not piece.own:
        return tongue.said(piece.words)
    # What was done to kit is put together from the book: how it was done is our word, and kit's first names are ours.
    found = _KIT_SAID.fullmatch(piece.words) if kind == KIT else None
    if found is None:
        return piece.words
    own = tongue._(found["method"]) if found["method"] else f"{found['count']}{tongue.said(found['pool'])}"
    return f": {own}{found['rest'] or ''}"


KIT_METHODS = (later("washed"), later("sanitised"))
_KIT_SAID = re.compile(
    rf": (?:(?P<method>{'|'.join(KIT_METHODS)})|(?P<count>\d+ x )(?P<pool>[^(]+?))(?P<rest>(?: \(|,).*)?"
)


def _who(each: RecordShown) -> Cell:
    return (each.by, f"({initials(each.by)})")


def _reviewed(each: RecordShown, settings: FarmSettings, tongue: Tongue) -> Cell:
    if each.review is not None:
        own = (each.review.by, moment(each.review.at, zone(settings)))
        return (*own, each.review.note) if each.review.note else own
    return tongue._("not yet") if each.waits else ""
