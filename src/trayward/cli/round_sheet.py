"""The round on the terminal: a line or two for each row, and how each kind of look is done, said once at the end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import click

from trayward.cli.given import Given
from trayward.cli.show import stage_letter, wrapped
from trayward.dates import day_words
from trayward.rounds.amount_words import amount_value, amounts_words
from trayward.rounds.amounts import IF_YES
from trayward.rounds.measures import how_in_units
from trayward.rounds.records import asked_words, can_be_ticked
from trayward.rounds.types import Amount, Round, RoundRow
from trayward.rounds.words import sentences
from trayward.words import counted, listed

INDENT = " " * 8
SAID_BY_DO = ("wash", "sanitise", "deliver")
"""Kinds of rows that say how many in what is to be done."""
LOOK_ANSWERS = ("fine", "moist", "dry", "ready", "not-yet", "problem mould")


def show_round(given: Given, now: Round) -> None:
    """The rows in walking order under their places, then how to do what many of them ask."""
    local = now.at.astimezone(given.zone)
    work = f", about {now.minutes:.0f} min" if now.minutes >= 1 else ""
    seen = f"{day_words(local.date())} {local:%H:%M}"
    click.echo(f"Round of {now.round}, seen {seen}: {counted(len(now.rows), 'row')}{work}")
    place = ""
    for row in now.rows:
        heading = ("overdue, " if row.overdue else "") + row.place
        if heading != place:
            click.echo(f"\n{heading}")
            place = heading
        _show_short(given, row)
    _show_how(given, now.rows)
    if now.idle:
        wrapped(now.idle, "  ")
    for note in now.notes:
        wrapped(f"Note: {note}", "  ")
    if now.rows:
        wrapped(_answering(now.rows), "  ")


def _answering(rows: Sequence[RoundRow]) -> str:
    """How to answer, by the example of a row that is there: a look if there is one."""
    row = next((row for row in rows if row.kind == "look"), rows[0])
    if row.kind == "record" and not can_be_ticked(row.asks):
        return f"When it is read: trayward round answer {row.number} read FIGURE. {_all_of(row)}"
    if row.kind != "look":
        return f"When it is done: trayward round answer {row.number} done. {_all_of(row)}"
    others = [word for word in LOOK_ANSWERS if word != "ready" or row.cue]
    return (
        f"Answer a look: trayward round answer {row.number} {others[0]} (or {', '.join(others[1:])}); "
        f"a job: done; a cut: cut with the weight of each tray; a reading: read with its figure. {_all_of(row)}"
    )


def _all_of(row: RoundRow) -> str:
    return f"All of a row: trayward round show {row.number}."


def _show_short(given: Given, row: RoundRow) -> None:
    if row.kind != "look":
        show_row(given, row, spaced=False)
        return
    where = f" on {listed(row.spots)}" if row.spots else ""
    wrapped(_numbered(row, f"{row.do}{where}. {row.cue}".rstrip()), INDENT)
    dry = [
        f"{amount.what} {amount_value(amount, given.units)} a tray if dry"
        for amount in row.amounts
        if _is_water(amount)
    ]
    sentences = [row.lacks, row.why, *(f"{part[0].upper()}{part[1:]}." for part in dry), _going(row)]
    wrapped(INDENT + " ".join(sentence for sentence in sentences if sentence), INDENT)


def _is_water(amount: Amount) -> bool:
    return amount.unit == "ml" and not amount.what.startswith(IF_YES)


def _show_how(given: Given, rows: Iterable[RoundRow]) -> None:
    """What looks in each stage come to, said once instead of in every row."""
    told: dict[str, str] = {}
    for row in rows:
        if row.kind == "look" and row.how:
            beside = amounts_words((amount for amount in row.amounts if not _is_water(amount)), given.units)
            how = how_in_units(row, row.how, given.units)
            told.setdefault(f"{stage_letter(row.stage)}  {how} {beside}".rstrip(), "")
    if told:
        click.echo("\nHow")
    for words in told:
        wrapped(f"  {words}", "     ")
    click.echo()


def show_row(given: Given, row: RoundRow, *, spaced: bool = True) -> None:
    """Everything about one row: what to do and how, the question, the amounts, the trays and why."""
    wrapped(_numbered(row, sentences(row.do, how_in_units(row, row.how, given.units))), INDENT)
    amounts = amounts_words(row.amounts, given.units) if row.kind not in SAID_BY_DO else ""
    question = f"Question: {row.cue}" if row.cue else ""
    lots = f"From {listed(row.lots)}." if row.kind == "deliver" and row.lots else ""
    asked = asked_words(row.asks, given.units) if row.asks else ""
    for words in (question, asked, amounts, lots, _where(row), row.lacks, row.why):
        if words:
            wrapped(INDENT + words, INDENT)
    if spaced:
        click.echo()


def _numbered(row: RoundRow, words: str) -> str:
    letter = stage_letter(row.stage) if row.stage else " "
    return f"{row.number:>4}  {letter} {words}"


def _where(row: RoundRow) -> str:
    """Which trays, on which spots, and where they go."""
    trays = "tray" if len(row.trays) == 1 else "trays"
    told = [f"{trays} {listed(row.trays)}" if row.trays else "", f"on {listed(row.spots)}" if row.spots else ""]
    said = ", ".join(part for part in told if part)
    return " ".join(part for part in (f"{said[:1].upper()}{said[1:]}." if said else "", _going(row)) if part)


def _going(row: RoundRow) -> str:
    going = [f"{tray} to {spot}" for tray, spot in zip(row.trays, row.to, strict=False) if spot]
    return f"If yes: {listed(going)}." if going else ""
