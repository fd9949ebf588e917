"""The round: what to do now, and answering it row by row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import partial
from typing import Any, Literal, NamedTuple

import click
import msgspec

from trayward.cli import people
from trayward.cli.doubting import unless_doubted
from trayward.cli.faults import as_json, exit_code
from trayward.cli.given import Given, group
from trayward.cli.numbers import WHOLE
from trayward.cli.round_sheet import show_round, show_row
from trayward.cli.sheet_answers import answer_sheet, record_said
from trayward.cli.show import answer, looks, receipt_json, wrapped
from trayward.cli.shown import numbered, remember, row_by_name
from trayward.desk.core import Receipt
from trayward.errors import InputError, TraywardError
from trayward.farm.entries import KitUsed, Moved, StageChanged, Watered
from trayward.farm.kit_marks import marks_words, read_marks
from trayward.rounds.told import told_of
from trayward.rounds.types import Round, RoundRow
from trayward.words import counted, listed


@group("round", example="trayward round")
def round_(given: Given) -> None:
    """What to do now, in walking order, overdue first. Answer it with: trayward round answer ROWS ANSWER."""
    now = given.farm.round(given.at)
    remember(given.book, now)
    answer(given, now, lambda: show_round(given, now))


@round_.add("show", example="trayward round show 3")
@click.argument("row")
def show_(given: Given, row: str) -> None:
    """Everything about one ROW of the round as last shown: how to do it, amounts, spots and why."""
    now = given.farm.round(given.at)
    (chosen,) = _chosen(given, now, row)[:1]
    answer(given, chosen, lambda: show_row(given, chosen))


# Answering ------------------------------------------------------------------------------------------------------------

CUES: dict[str, Literal["ready", "not yet"]] = {"ready": "ready", "yes": "ready", "not-yet": "not yet", "no": "not yet"}
MOISTURES: dict[str, Literal["moist", "dry"]] = {"moist": "moist", "dry": "dry"}
ANSWERS_REMEDY = "Answer fine, moist, dry, ready, not-yet, problem WORD, done, or cut WEIGHTS."
RECORD_REMEDY = "Answer read FIGURE, read FIELD=VALUE, or done where all is as last time."


class Heard(NamedTuple):
    """The words of an answer, understood."""

    cue: Literal["ready", "not yet"] | None = None
    moisture: Literal["moist", "dry"] | None = None
    problem: str = ""
    done: bool = False
    cut: bool = False
    weights: tuple[str, ...] = ()
    looked: bool = False
    read: tuple[str, ...] = ()
    """Of a hygiene record: what was found, a figure or FIELD=VALUE."""


def hear(words: Sequence[str]) -> Heard:
    """
    Understand the words of an answer.

    Raises
    ------
    InputError
        If a word is none that answers a row.
    """
    left = list(words)
    heard = Heard()
    while left:
        word = left.pop(0).lower()
        if word in CUES:
            heard = heard._replace(cue=CUES[word])
        elif word in MOISTURES:
            heard = heard._replace(moisture=MOISTURES[word])
        elif word == "problem" and left:
            heard = heard._replace(problem=left.pop(0))
        elif word == "done":
            heard = heard._replace(done=True)
        elif word in ("ok", "fine", "seen"):
            heard = heard._replace(looked=True)
        elif word == "cut":
            heard, left = heard._replace(cut=True, weights=tuple(left)), []
        elif word == "read" and left:
            heard, left = heard._replace(read=tuple(left)), []
        else:
            raise InputError("answer", word, "it is no answer to a row", ANSWERS_REMEDY)
    return heard


@round_.add("answer", example='trayward round answer 3 not-yet moist --height "2 in"', records=True, doubts=True)
@click.argument("rows")
@click.argument("words", nargs=-1, metavar="ANSWER...")
@click.option("--only", metavar="TRAYS", help="Only these trays of the row, with commas. Example: 261125A.2.")
@click.option("--height", metavar="LENGTH", help='How tall; of a cut: how high above the mat. Example: "2 in".')
@click.option("--emerged", metavar="SHARE", help='How much has come up. Example: "80 %".')
@click.option("--water", metavar="VOLUME", help='Water given to each tray, if not the usual. Example: "30 ml".')
@click.option("--spots", metavar="SPOTS", help="Where trays went, if not as proposed. Example: K2.1,K2.2.")
@click.option("--marks", metavar="MARKS", help="Marked kit that the next stage takes. Example: M1-M4.")
@click.option("--grams", metavar="WEIGHTS", help='Weights of a cut, or seed a tray. Example: "95, 101".')
@click.option("--trays", type=WHOLE, help="How many were sown, if not all. Example: 2.")
@click.option("--agent", default="", metavar="NAME", help='What kit was sanitised with. Example: "peroxyacetic acid".')
@click.option("--did", default="", metavar="WORDS", help="Of a figure beyond its limit: what was done about it.")
@click.option("--note", default="", metavar="WORDS", help='What else you saw. Example: "front corner thin".')
@click.option("--sheet", default="", metavar="NAME", help="ROWS are those of a printed sheet. Example: 261127-0710.")
def answer_(
    given: Given,
    rows: str,
    words: Sequence[str],
    **options: Any,
) -> None:
    """Answer ROWS (3, or 1,2,5-7, or all, or a row's name) of the round as last shown.

    ANSWER is ready, not-yet, moist, dry, fine or problem WORD for what was seen; done for a job done as proposed
    (sow, turn, strip, wash, sanitise, pack, deliver, discard); cut with the grams of each tray. A hygiene record: read
    with a figure or FIELD=VALUE, or done where all is as last time.
    """
    heard = hear(words)
    if options["sheet"]:
        answer_sheet(given, rows, heard, options)
        return
    now = given.farm.round(given.at)
    looks_only = not (heard.done or heard.cut or heard.read)
    chosen = _chosen(given, now, rows, looks_only=looks_only)
    passed = _passed_over(now, rows) if looks_only else []
    answered: list[dict[str, Any]] = []
    for row in chosen:
        try:
            receipt = unless_doubted(given, partial(_answer_one, given, now, row, heard, options))
        except TraywardError as error:
            if not answered:
                raise
            _stopped(given, answered, row, error)
            return
        answered.append({"row": row.row, **receipt_json(receipt)})
        if not given.json:
            _say(row, heard, receipt)
    told = {"answers": answered, "passed_over": [row.row for row in passed]}
    answer(given, told, lambda: _say_passed(passed))


def _passed_over(now: Round, rows: str) -> list[RoundRow]:
    """The jobs of the round where all looks were answered at once."""
    return [row for row in now.rows if row.kind != "look"] if rows.strip().lower() == "all" else []


def _say_passed(passed: Sequence[RoundRow]) -> None:
    if passed:
        jobs = listed((f"{row.number} {row.do.partition(',')[0]}" for row in passed), most=8)
        wrapped(f"Passed over, because jobs are done or not done: {jobs}.", "  ")


def _chosen(given: Given, now: Round, rows: str, *, looks_only: bool = False) -> list[RoundRow]:
    """
    Rows by number, as last shown in this round (and so numbered), or by name; `all` means all that are open.

    With `looks_only`, `all` means all looks: "all moist" says nothing of the sowing still to do.
    """
    if rows.strip().lower() == "all":
        found = [row for row in now.rows if row.kind == "look" or not looks_only]
        if not found:
            rule = "the round has no look left" if now.rows else "the round has no row left"
            remedy = "Answer jobs one by one, with done." if now.rows else "There is nothing to answer."
            raise InputError("rows", rows, rule, remedy)
        return found
    if not rows.replace(",", "").replace("-", "").replace(" ", "").isdigit():
        return [row_by_name(now, name, name) for name in people.names(rows) or []]
    names = numbered(given.book, now)
    return [
        msgspec.structs.replace(row_by_name(now, names[number - 1], str(number)), number=number)
        for number in people.row_numbers(rows, len(names))
    ]


def _answer_one(given: Given, now: Round, row: RoundRow, heard: Heard, options: dict[str, Any]) -> Receipt:
    """One row answered, or its job done, its trays cut, its record written down."""
    if row.kind == "record" and (heard.done or heard.read):
        told = told_of(row, now.round, now.at, given.settings)
        return given.farm.answer_told(told, record_said(told, heard, options), **given.said).receipt
    if heard.read:
        raise InputError("row", row.row, "it is no hygiene record to read", ANSWERS_REMEDY)
    if row.kind == "record":
        raise InputError("row", row.row, "it asks for a hygiene record", RECORD_REMEDY)
    only, spots, units = people.names(options["only"]), people.names(options["spots"]), given.units
    seen = heard.cue or heard.moisture or heard.problem or heard.looked
    height = people.maybe(people.length, options["height"], units)
    if heard.cut or (heard.done and row.kind == "cut" and options["grams"]):
        weights = heard.weights or tuple(people.names(options["grams"]) or ())
        return _cut(given, row, weights, height, only)
    if heard.done and not seen:
        grams = people.maybe(people.mass, options["grams"], units) if row.kind == "sow" else None
        return given.farm.do_row(
            row,
            only=only,
            trays=options["trays"],
            grams_per_tray=grams,
            spots=spots,
            agent=options["agent"],
            marks=read_marks(options["marks"] or "") or None,
            **given.said,
        )
    if not (seen or height is not None or options["emerged"] or options["water"] or options["note"]):
        raise InputError("answer", "none", f"row {row.number} asks for one", ANSWERS_REMEDY)
    return _looked(given, row, heard, height, options)


def _looked(given: Given, row: RoundRow, heard: Heard, height: float | None, options: dict[str, Any]) -> Receipt:
    """A look at a row's trays, with what was seen."""
    units = given.units
    return given.farm.answer_row(
        row,
        cue=heard.cue,
        moisture=heard.moisture,
        share_emerged=people.share(options["emerged"], "emerged"),
        height_mm=height,
        problem=heard.problem,
        note=options["note"],
        water_ml=people.maybe(people.volume, options["water"], units),
        only=people.names(options["only"]),
        spots=people.names(options["spots"]),
        marks=read_marks(options["marks"] or ""),
        **given.said,
    )


def _cut(
    given: Given, row: RoundRow, weights: Sequence[str], height: float | None, only: Sequence[str] | None
) -> Receipt:
    if row.kind not in ("cut", "look"):
        raise InputError("row", row.row, "there is nothing to cut in it", ANSWERS_REMEDY)
    grams = [people.mass(text, given.units) for text in weights]
    return given.farm.cut_row(row, grams, height_mm=height, only=only, **given.said)


def _say(row: RoundRow, heard: Heard, receipt: Receipt) -> None:
    told = [
        heard.cue or "",
        heard.moisture or "",
        heard.problem,
        "done" if heard.done else "",
        "cut" if heard.cut else "",
        " ".join(heard.read),
    ]
    named = f", {listed(receipt.names)}" if receipt.names else ""
    ids = listed([kept.entry.id[:8] for kept in receipt.kept], most=3)
    wrapped(f"{row.number}  {row.do}: {', '.join(word for word in told if word) or 'seen'}{named} ({ids})", "   ")
    for words in _came_along(receipt):
        wrapped(f"   {words}", "   ")
    looks(receipt.findings)


def _came_along(receipt: Receipt) -> Iterable[str]:
    """What an answer brought with it: a stage begun, water given, trays moved."""
    for kept in receipt.kept:
        body = kept.entry.body
        if isinstance(body, StageChanged):
            yield f"{listed(body.trays)}: now {body.stage}."
        elif isinstance(body, Moved):
            yield f"Moved {listed([f'{move.tray} to {move.spot}' for move in body.moves])}."
        elif isinstance(body, KitUsed):
            yield f"{body.tray} is on {marks_words(body.marks)}."
        elif isinstance(body, Watered):
            yield f"Watered {listed(body.trays)}, {body.ml:.0f} ml each, {WAYS[body.way]}."


WAYS = {"mist": "misted", "below": "below", "soak": "soaked"}


def _stopped(given: Given, answered: list[dict[str, Any]], row: RoundRow, error: TraywardError) -> None:
    """Some rows were kept before one could not be: say both."""
    if given.json:
        answer(given, {"answers": answered, **as_json(error)}, lambda: None)
    click.echo(f"row {row.number}: {error}", err=True)
    click.echo(f"{counted(len(answered), 'row')} before it {'was' if len(answered) == 1 else 'were'} kept.", err=True)
    given.ctx.exit(exit_code(error))
