"""What an answer shows, in words: the figure that is asked for first and large, then what to do, then the rest."""

from __future__ import annotations

import msgspec
from markupsafe import Markup

from trayward.bench.types import Amount, Grid
from trayward.farm.settings import ShownUnits
from trayward.sources import source
from trayward.web.bench.light_svg import cells_of, light_svg
from trayward.web.bench.sums.declared import Answer, Sum
from trayward.web.bench.sums.shown import amount_words, between_words, note_words
from trayward.web.bench.words import page_words

CARE_FIRST = ("hygiene", "water", "light", "air")
"""Benches whose work can hurt at once."""


class AmountShown(msgspec.Struct, frozen=True, kw_only=True):
    """A named value in words."""

    name: str
    words: str
    between: str
    note: str


class AnswerShown(msgspec.Struct, frozen=True, kw_only=True):
    """An answer in words."""

    title: str
    first: AmountShown | None
    found: tuple[AmountShown, ...]
    """What else came out."""
    odd: tuple[str, ...]
    cautions: tuple[str, ...]
    care_first: bool
    """Acids, chlorine and mains: the caution stands before what to do."""
    steps: tuple[str, ...]
    grids: tuple[Grid, ...]
    picture: Markup | None
    picture_words: str
    given: tuple[AmountShown, ...]
    holds: tuple[str, ...]
    sources: tuple[str, ...]


def shown(bench: str, each: Sum, answer: Answer) -> AnswerShown:
    """An answer as its page shows it."""
    sheet, units = answer.sheet, answer.units

    def said(lines: tuple[str, ...]) -> tuple[str, ...]:
        return tuple(page_words(line, bench, each) for line in lines)

    found = tuple(_amount(amount, units, bench, each) for amount in sheet.found)
    picture, words, grid = _picture(answer)
    return AnswerShown(
        title=page_words(sheet.title, bench, each),
        first=found[0] if found else None,
        found=found[1:],
        odd=said(tuple(finding.sentence() for finding in sheet.findings)),
        cautions=said(sheet.cautions),
        care_first=bench in CARE_FIRST,
        steps=said(sheet.steps),
        grids=(*sheet.grids, *grid),
        picture=picture,
        picture_words=words,
        given=tuple(_amount(amount, units, bench, each) for amount in sheet.given),
        holds=said(sheet.holds),
        sources=tuple(source(key).citation for key in sheet.sources),
    )


def _amount(amount: Amount, units: ShownUnits, bench: str, each: Sum) -> AmountShown:
    note = page_words(note_words(amount, units), bench, each)
    return AmountShown(
        name=amount.name, words=amount_words(amount, units), between=between_words(amount, units), note=note
    )


def _picture(answer: Answer) -> tuple[Markup | None, str, tuple[Grid, ...]]:
    """The drawing, what it says in a sentence, and the table behind it."""
    if answer.figures is None:
        return None, "", ()
    cells = [value for row in answer.figures.ppfd for value in row]
    words = f"Light on the shelf seen from above: {min(cells):.0f} to {max(cells):.0f} µmol/m²/s."
    rows = cells_of(answer.figures)
    table = Grid(
        title="The map in figures, µmol/m²/s, back row first",
        columns=("", *(str(number) for number in range(1, len(rows[0]) + 1))),
        rows=tuple(
            (f"row {number}", *(f"{value:.0f}" for value in row))
            for number, row in reversed(list(enumerate(rows, start=1)))
        ),
    )
    return light_svg(answer.figures, answer.units, words), words, (table,)
