"""The round as a sheet for the wall: its rows in walking order, boxes to tick, lines to write weights on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

from msgspec.structs import replace

from trayward.farm.settings import ShownUnits
from trayward.paper.flow import Blank, Cell, Column, Flow, Ticks, Words
from trayward.paper.paper import Paper
from trayward.paper.tongue import Tongue, later
from trayward.rounds.amount_words import EXPECT, amount_value, amounts_words
from trayward.rounds.amounts import CUT, IF_YES
from trayward.rounds.measures import how_in_units
from trayward.rounds.records import asked_words, can_be_ticked
from trayward.rounds.types import Amount, Round, RoundRow

COLUMNS = (
    Column(title=later("No"), wide=17.0),
    Column(title=later("What")),
    Column(title=later("Tick"), wide=70.0),
    Column(title=later("Who, time"), wide=26.0),
)
A_CHUNK = 8
"""Trays of a cut whose weights are on one row of the sheet; more go on below."""
SAID_BY_DO = ("wash", "sanitise", "deliver")
MOST_SPOTS = 24
LETTERS: Mapping[str, str] = {"soak": "S", "germinate": "G", "blackout": "B", "light": "L", "ready": "R"}
"""The letter a stage has on the screen."""


def round_sheet(present: Round, paper: Paper, sheet: str = "") -> bytes:
    """
    A round on paper.

    Parameters
    ----------
    present : Round
        As the app shows it; the numbers of its rows are printed.
    sheet : str
        The name under which its numbers are kept, to enter it by.
    """
    local = present.at.astimezone(paper.printed.tzinfo)
    tongue = paper.tongue
    minutes = f"{present.minutes:.0f}"
    work = tongue._(", about %(minutes)s min", minutes=minutes) if present.minutes >= 1 else ""
    rows = tongue.ngettext("%(num)s row", "%(num)s rows", len(present.rows))
    about = f"{tongue.day(local.date())} {tongue.clock(local)}: {rows}{work}"
    title = tongue._("Round %(round)s", round=round_name(present.round, tongue))
    flow = paper.flow(title, about, sheet=sheet if present.rows else "", answer="ANSWER")
    _rows(flow, present.rows, paper.units)
    _how(flow, present.rows, paper.units)
    if present.idle:
        flow.words(tongue.said(present.idle), bold=True)
    if present.notes:
        flow.heading_line(tongue._("Notes"), keep=8.0)
        for words in present.notes:
            flow.words(tongue.said(words))
            flow.gap(1.0)
    return flow.pdf()


def round_name(name: str, tongue: Tongue) -> str:
    """A round by its day and walk: `2026-11-25 morning`. Walks of the ready setups have a name in each language."""
    day, _, walk = name.partition(" ")
    return f"{day} {tongue.said(walk)}".strip()


def _rows(flow: Flow, rows: Sequence[RoundRow], units: ShownUnits) -> None:
    if not rows:
        flow.words(flow.tongue._("There is nothing to do now."), bold=True)
        return
    flow.table(COLUMNS)
    place = ""
    for row in rows:
        place_now = flow.tongue.said(row.place)
        heading = flow.tongue._("Overdue, %(place)s", place=place_now) if row.overdue else place_now
        if heading != place:
            flow.section(heading)
            place = heading
        _row(flow, row, units)
    flow.end_table()


def _row(flow: Flow, row: RoundRow, units: ShownUnits) -> None:
    blanks = list(_blanks(row, units, flow.tongue))
    number: Cell = (Words(words=str(row.number), bold=True, size=14.0), _letter(row))
    what: tuple[str | Words | Blank, ...] = tuple(_what(row, units, flow.tongue))
    # What one record says stands together; the weights of a long cut go on below.
    beside = len(blanks) if row.kind == "record" else 1
    first: Cell = (*what, *blanks[:beside]) if blanks else what
    ticks = Ticks(_ticks(row))
    columns = _columns(flow, row, ticks)
    flow.row(number, first, ticks, Blank(), ruled=len(blanks) <= beside, columns=columns)
    for place, blank in enumerate(blanks[beside:], start=beside + 1):
        flow.row(f"{row.number}", (blank,), "", "", ruled=place == len(blanks), columns=columns)


def _columns(flow: Flow, row: RoundRow, ticks: Ticks) -> tuple[Column, ...]:
    """Boxes of looks stand below each other; where a job has few, its words take their room."""
    number, what, boxes, who = flow.columns
    needs = boxes.wide if row.kind == "look" else min(flow.ticks_need(ticks), boxes.wide)
    lent = boxes.wide - needs
    return number, replace(what, wide=what.wide + lent), replace(boxes, wide=needs), who


def _letter(row: RoundRow) -> str:
    return LETTERS.get(row.stage, row.stage[:1].upper())


def _ticks(row: RoundRow) -> tuple[str, ...]:
    """The words an answer has in the app."""
    ready, not_yet, dry = later("ready"), later("not yet"), later("dry")
    problem, done = later("problem"), later("done")
    if row.kind == "look":
        return (ready, not_yet, dry, problem) if row.cue else (later("fine"), dry, problem)
    if row.kind == "cut":
        return (later("cut"), not_yet, problem)
    if row.kind == "record" and not can_be_ticked(row.asks):
        return (later("written down"),)
    return (done, not_yet, problem) if row.kind == "turn" else (done,)


def _what(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[str | Words]:
    yield Words(words=tongue.said(row.do), bold=True)
    parts = [_on(row, tongue)]
    if row.kind == "look":
        parts += [tongue.said(row.cue), *_waters(row, units, tongue)]
    else:
        how = how_in_units(row, tongue.said(row.how), units, tongue.number)
        parts += [how, *_amounts(row, units, tongue), *_asked(row, units, tongue)]
    parts.append(_going(row, tongue))
    if row.kind not in ("look", "turn"):
        parts += [tongue.said(row.lacks), tongue.said(row.why)]
    told = " ".join(part for part in parts if part)
    if told:
        yield told


def _on(row: RoundRow, tongue: Tongue) -> str:
    """Where the trays of a row stand."""
    spots, more = ", ".join(row.spots[:MOST_SPOTS]), len(row.spots) - MOST_SPOTS
    if more > 0:
        return tongue._("On %(spots)s and %(more)s more.", spots=spots, more=more)
    return tongue._("On %(spots)s.", spots=spots) if spots else ""


def _going(row: RoundRow, tongue: Tongue) -> str:
    """Where trays go; which of them, if there are several."""
    going = [(tray, spot) for tray, spot in zip(row.trays, row.to, strict=False) if spot]
    if len(row.trays) == 1 and going:
        return tongue._("If yes: to %(spot)s.", spot=going[0][1])
    moves = ", ".join(tongue._("%(tray)s to %(spot)s", tray=tray, spot=spot) for tray, spot in going)
    return tongue._("If yes: %(moves)s.", moves=moves) if going else ""


def _waters(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[str]:
    for amount in row.amounts:
        if _is_water(amount):
            what, how_much = tongue.said(amount.what.capitalize()), tongue.number(amount_value(amount, units))
            yield tongue._("%(what)s %(amount)s a tray if dry.", what=what, amount=how_much)


def _is_water(amount: Amount) -> bool:
    return amount.unit == "ml" and not amount.what.startswith(IF_YES)


def _amounts(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[str]:
    if row.kind in SAID_BY_DO:
        yield tongue._("From %(lots)s.", lots=", ".join(row.lots)) if row.lots else ""
        return
    yield tongue.said(amounts_words((each for each in row.amounts if each.what not in (CUT, EXPECT)), units))
    for each in row.amounts:
        if each.what == EXPECT:
            mass, note = tongue.number(amount_value(each, units)), tongue.said(each.note)
            yield tongue._("Expect %(mass)s a tray, %(range)s.", mass=mass, range=note)


def _asked(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[str]:
    """What a record is to say; what was typed last time stays as it was typed."""
    yield tongue.said(asked_words((each for each in row.asks if not each.usual), units))
    usual = [f"{tongue.said(each.title)}: {each.usual}" for each in row.asks if each.usual]
    if usual:
        yield tongue._("As last time: %(values)s.", values="; ".join(usual))


def _blanks(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[Blank]:
    """Lines to write on: the grams of each tray of a cut, what was sown, packed or washed if not as asked."""
    if row.kind == "cut":
        for first in range(0, len(row.trays), A_CHUNK):
            yield Blank(labels=row.trays[first : first + A_CHUNK], unit=units.mass)
    elif row.kind == "sow":
        yield Blank(labels=(later("trays sown"), later("seed a tray")))
    elif row.kind in ("wash", "sanitise", "pack"):
        yield Blank(labels=(later("how many"),))
    elif row.kind == "record":
        yield from _record_blanks(row, units, tongue)


def _record_blanks(row: RoundRow, units: ShownUnits, tongue: Tongue) -> Iterator[Blank]:
    """A line for each thing that a record says anew, figures with their unit, and one for what was done about it."""
    for each in row.asks:
        if not each.usual and (each.required or each.number):
            yield Blank(labels=(tongue.said(each.title),), unit=units.temperature if each.unit == "C" else each.unit)
    if any(each.low is not None or each.high is not None for each in row.asks):
        yield Blank(labels=(later("if beyond it: done"),))


def _how(flow: Flow, rows: Iterable[RoundRow], units: ShownUnits) -> None:
    """What looks in each stage come to, said once instead of in every row."""
    told: dict[tuple[str, str], list[int]] = {}
    for row in rows:
        if row.kind == "look" and row.how:
            beside = amounts_words(
                (amount for amount in row.amounts if not _is_water(amount) and not amount.what.startswith(EXPECT)),
                units,
            )
            how = how_in_units(row, flow.tongue.said(row.how), units, flow.tongue.number)
            said = " ".join(words for words in (how, flow.tongue.said(beside) if beside else "") if words)
            told.setdefault((_letter(row), said), []).append(row.number)
    if not told:
        return
    letters = [letter for letter, _ in told]
    flow.heading_line(flow.tongue._("How to look, by the letter under the number"))
    for (letter, said), numbers in told.items():
        # One letter may ask for several things: then each says which rows it is for.
        which = flow.tongue._(", no %(rows)s", rows=_spans(numbers)) if letters.count(letter) > 1 else ""
        flow.words(f"{letter}{which}:  {said}")
        flow.gap(1.2)


def _spans(numbers: Sequence[int]) -> str:
    """
    Numbers of rows, those in a row by their first and last.

    Examples
    --------
    >>> _spans([2, 4, 5, 6, 9])
    '2, 4-6, 9'
    """
    breaks = [place for place, (one, next_) in enumerate(pairwise(numbers), start=1) if next_ != one + 1]
    starts, ends = [0, *breaks], [*breaks, len(numbers)]
    runs = [numbers[start:end] for start, end in zip(starts, ends, strict=True)]
    return ", ".join(f"{run[0]}" if len(run) == 1 else f"{run[0]}-{run[-1]}" for run in runs)
