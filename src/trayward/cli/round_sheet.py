"""The round on the terminal: a line or two for each row, and how each kind of look is done, said once at the end."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import click

from trayward.cli.given import Given
from trayward.cli.show import stage_letter, wrapped
from trayward.farm.settings import ShownUnits
from trayward.rounds.types import Amount, Round, RoundRow
from trayward.rounds.words import counted, day_words, listed
from trayward.units import show_length, show_mass, show_temperature, show_volume

SHOWN: dict[str, Callable[[float, ShownUnits], str]] = {
    "g": lambda value, units: show_mass(value, units.mass),
    "ml": lambda value, units: show_volume(value, units.volume),
    "mm": lambda value, units: show_length(value, units.length),
    "C": lambda value, units: show_temperature(value, units.temperature),
}
"""How an amount of some unit is shown in the farm's own."""

INDENT = " " * 8


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
    for note in now.notes:
        wrapped(f"Note: {note}", "  ")
    if now.rows:
        wrapped(
            "Answer: trayward round answer 3 ready (or not-yet, dry, moist, problem mould, done, cut 95 102). "
            "All of a row: trayward round show 3.",
            "  ",
        )


def _show_short(given: Given, row: RoundRow) -> None:
    if row.kind != "look":
        show_row(given, row, spaced=False)
        return
    what, _, _ = row.do.partition(". ")
    where = f" on {listed(row.spots)}" if row.spots else ""
    wrapped(_numbered(row, f"{what.rstrip('.')}{where}. {row.cue}".rstrip()), INDENT)
    dry = [f"{amount.what} {_value(amount, given.units)} a tray if dry" for amount in row.amounts if _is_water(amount)]
    sentences = [row.why, *(f"{part[0].upper()}{part[1:]}." for part in dry), _going(row)]
    wrapped(INDENT + " ".join(sentence for sentence in sentences if sentence), INDENT)


def _is_water(amount: Amount) -> bool:
    return amount.unit == "ml" and not amount.what.startswith("if yes")


def _show_how(given: Given, rows: Iterable[RoundRow]) -> None:
    """What looks in each stage come to, said once instead of in every row."""
    told: dict[str, str] = {}
    for row in rows:
        _, _, how = row.do.partition(". ")
        if row.kind == "look" and how:
            beside = [amount_words(amount, given.units) for amount in row.amounts if not _is_water(amount)]
            tail = f" {beside[0][0].upper()}{'; '.join(beside)[1:]}." if beside else ""
            told.setdefault(f"{stage_letter(row.stage)}  {how}{tail}", "")
    if told:
        click.echo("\nHow")
    for words in told:
        wrapped(f"  {words}", "     ")
    click.echo()


def show_row(given: Given, row: RoundRow, *, spaced: bool = True) -> None:
    """Everything about one row: what to do and how, the question, the amounts, the trays and why."""
    wrapped(_numbered(row, row.do), INDENT)
    amounts = "; ".join(amount_words(amount, given.units) for amount in row.amounts)
    question = f"Question: {row.cue}" if row.cue else ""
    for words in (question, f"{amounts[:1].upper()}{amounts[1:]}." if amounts else "", _where(row), row.why):
        if words:
            wrapped(INDENT + words, INDENT)
    if spaced:
        click.echo()


def _numbered(row: RoundRow, words: str) -> str:
    letter = stage_letter(row.stage) if row.stage else " "
    return f"{row.number:>4}  {letter} {words}"


def _where(row: RoundRow) -> str:
    """Which trays, on which spots, and where they go."""
    told = [f"Trays {listed(row.trays)}" if row.trays else "", f"on {listed(row.spots)}" if row.spots else ""]
    said = ", ".join(part for part in told if part)
    return " ".join(part for part in (f"{said[:1].upper()}{said[1:]}." if said else "", _going(row)) if part)


def _going(row: RoundRow) -> str:
    going = [f"{tray} to {spot}" for tray, spot in zip(row.trays, row.to, strict=False) if spot]
    return f"If yes: {listed(going)}." if going else ""


def _value(amount: Amount, units: ShownUnits) -> str:
    if amount.unit in ("pieces", "pH"):
        return f"{amount.value:g}"
    show = SHOWN.get(amount.unit)
    return show(amount.value, units) if show else f"{amount.value:g} {amount.unit}"


def amount_words(amount: Amount, units: ShownUnits) -> str:
    """An amount in the farm's unit, with what it is for."""
    each = " a tray" if amount.each else ""
    return f"{amount.what} {_value(amount, units)}{each}" + (f", {amount.note}" if amount.note else "")
