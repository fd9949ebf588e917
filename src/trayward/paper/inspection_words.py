"""What the files of an inspection pack are and what each of their columns holds, in the pack's language."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping

from trayward.hygiene.kinds import DEFER, KINDS
from trayward.hygiene.pack import HEAD, TAIL, Inspection, shown_title
from trayward.hygiene.words import field_title
from trayward.paper.tongue import Tongue, later

COLUMNS: Mapping[str, str] = {
    "entry": later("the number of the entry in the farm's book, for ever the same"),
    "farm": later("the farm's name"),
    "location": later("the farm's address"),
    "happened": later("when it was done or read, on the farm's clock with its offset"),
    "written down": later("when it was written down"),
    "late": later("“late”: written down more than a day after it happened"),
    "area": later("where: room, rack, table or tap"),
    "lots": later("the lots it concerns"),
    "produce": later("the crops and products of these lots"),
    "done by": later("who did it"),
    "initials": later("their initials"),
    "outside limits": later("each value beyond its limit, with the limit that held on that day"),
    "corrective action": later("what was done about it"),
    "note": later("anything else that was said"),
    "struck by": later("who struck the line; a struck line stays and counts no more"),
    "struck at": later("when it was struck"),
    "struck because": later("why it was struck"),
    "review needed": later("“yes”: somebody in charge has to look at it"),
    "reviewed by": later("who looked at it"),
    "reviewed at": later("when they did"),
    "review note": later("what they said"),
    "keep until": later("the day until which it is kept at least"),
    "leaning": later("“may apply”, “does not seem to apply” or “cannot be told”; it is no verdict"),
    "rule": later("the public rule"),
    "crops": later("the crops it is about; none: the farm as a whole"),
    "because": later("why, by the answers that the farm keeps"),
    "records asked for": later("kinds of record that it would ask for"),
    "written in the last year": later("how many of each were written, in the same order"),
    "other duties": later("what else it would ask for"),
    "source": later("where the rule stands"),
    "from memory": later("“yes”: its text was not looked up; confirm it"),
}
"""Every column that is not a field of a kind, and what it holds."""
KIT_FIELDS: Mapping[str, str] = {
    "what was cleaned": later("how many of which kit, with their marks"),
    "method": later("how: “washed” or “sanitised”, and with what"),
    "left out": later("steps of the farm's washing that were not done"),
    "rinse": later("temperature of the rinse"),
    "strength": later("strength of the agent as measured"),
    "contact": later("how long it stayed on"),
    "water": later("temperature of its water"),
}
"""Columns of the washing and sanitising of kit."""


def read_me(pack: Inspection, sheets: Mapping[str, str], tongue: Tongue) -> str:
    """What is in the pack, for whoever opens it; `sheets`: the CSV files by name."""
    days = tongue._("%(first)s to %(last)s", first=tongue.plain_day(pack.first), last=tongue.plain_day(pack.last))
    lines = [
        f"{pack.farm}: {tongue._('Records for inspection')}, {days}",
        "",
        tongue._("Columns and fixed words of the CSV files are called the same on every farm and in every language."),
        tongue._("They are in UTF-8 with commas between the columns. Here is what each one holds."),
        "",
        tongue._("records.pdf: all records to read and to print"),
    ]
    for name, sheet in sheets.items():
        lines += ["", f"{name}: {_about(name, tongue)}", *_columns(name, sheet, tongue)]
    return "\r\n".join([*lines, "", tongue.said(DEFER), ""])


def _about(name: str, tongue: Tongue) -> str:
    if name == "rules.csv":
        return tongue._("which rules may apply, by the answers that the farm keeps")
    return tongue.said(shown_title(_kind(name)))


def _kind(name: str) -> str:
    return name.removesuffix(".csv").replace("-", " ")


def _columns(name: str, sheet: str, tongue: Tongue) -> Iterator[str]:
    """Each column of a sheet with what it holds."""
    own = {kind.name for kind in KINDS}
    for column in next(csv.reader(io.StringIO(sheet))):
        field = column.partition(" [")[0]
        if column in COLUMNS and (column in (*HEAD, *TAIL) or name == "rules.csv"):
            words = tongue._(COLUMNS[column])
        elif _kind(name) in own:
            words = tongue.said(field_title(_kind(name), field))
        else:
            words = tongue._(KIT_FIELDS[field]) if field in KIT_FIELDS else field
        yield f"  {column}: {words}"
