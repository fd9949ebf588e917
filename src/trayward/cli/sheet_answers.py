"""Answers written on a printed sheet, entered by row number: they land on those rows, whatever became of the round."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any

from trayward.cli import people
from trayward.cli.doubting import unless_doubted
from trayward.cli.given import Given
from trayward.cli.show import answer, looks, receipt_json, wrapped
from trayward.errors import InputError
from trayward.farm.kit_marks import read_marks
from trayward.rounds.told import RowSaid, RowTold
from trayward.words import counted, listed

if TYPE_CHECKING:
    from trayward.cli.walking import Heard
    from trayward.desk.core import Receipt


def answer_sheet(given: Given, rows: str, heard: Heard, options: Mapping[str, Any]) -> None:
    """Answer rows of a sheet, each as it stood there when it was printed."""
    from trayward.paper.kept_rows import sheet_rows

    kept = sheet_rows(given.farm, options["sheet"])
    told = []
    for number in people.row_numbers(rows, len(kept)):
        row = kept[number - 1]
        receipt = unless_doubted(given, partial(_one, given, row, _said(given, row, heard, options)))
        told.append({"number": number, "row": row.row, **receipt_json(receipt)})
        if not given.json:
            wrapped(
                f"{number}  {row.do}: {', '.join(_words(heard)) or 'seen'} ({listed(receipt.names) or 'kept'})", "   "
            )
            looks(receipt.findings)
    answer(given, {"answers": told, "passed_over": []}, lambda: None)


def record_said(row: RowTold, heard: Heard, options: Mapping[str, Any]) -> RowSaid:
    """What is said to a row that asks for a hygiene record."""
    from trayward.rounds.records import values_said

    values = values_said(row.record, heard.read)
    return RowSaid(done=heard.done, values=values, corrective=options["did"], note=options["note"])


def _one(given: Given, row: RowTold, said: RowSaid) -> Receipt:
    return given.farm.answer_told(row, said, **given.said).receipt


def _words(heard: Heard) -> list[str]:
    done = "done" if heard.done else "cut" if heard.cut else ""
    return [word for word in (heard.cue, heard.moisture, heard.problem, done, " ".join(heard.read)) if word]


def _said(given: Given, row: RowTold, heard: Heard, options: Mapping[str, Any]) -> RowSaid:
    if row.kind == "record":
        return record_said(row, heard, options)
    units, only = given.units, tuple(people.names(options["only"]) or ())
    grams = people.maybe(people.mass, options["grams"], units) if row.kind == "sow" else None
    return RowSaid(
        done=heard.done,
        grams=_weights(given, row, heard, options, only),
        cue=heard.cue,
        moisture=heard.moisture,
        share_emerged=people.share(options["emerged"], "emerged"),
        height_mm=people.maybe(people.length, options["height"], units),
        water_ml=people.maybe(people.volume, options["water"], units),
        problem=heard.problem,
        note=options["note"],
        only=only,
        spots=tuple(people.names(options["spots"]) or ()),
        count=options["trays"],
        grams_per_tray=grams,
        agent=options["agent"],
        marks=read_marks(options["marks"] or ""),
    )


def _weights(
    given: Given, row: RowTold, heard: Heard, options: Mapping[str, Any], only: tuple[str, ...]
) -> dict[str, float]:
    """The weight of each tray of a cut, in the order the sheet has them. [g]"""
    if not (heard.cut or (heard.done and row.kind == "cut")):
        return {}
    texts = heard.weights or tuple(people.names(options["grams"]) or ())
    trays = only or row.trays
    if len(texts) != len(trays):
        rule = f"the row has {counted(len(trays), 'tray')}: {', '.join(trays)}"
        raise InputError("weights", len(texts), rule, "Give one for each tray, or name some of them with --only.")
    return {tray: people.mass(text, given.units) for tray, text in zip(trays, texts, strict=True)}
