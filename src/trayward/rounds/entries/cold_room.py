"""Words of entries about packs, deliveries and what is thrown away."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.entries import Delivered, LineDelivered, Packed, ThrownAway
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import names
from trayward.rounds.sayings import joined
from trayward.units import show_mass
from trayward.words import counted


def packed(body: Packed, units: ShownUnits) -> str:
    lots = names(f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in body.parts)
    return joined(
        f"{body.pack} packed: {counted(body.packs, 'pack')} of {body.product}",
        f"{show_mass(body.pack_g, units.mass)} each",
        f"from {lots}" if lots else "",
        f"best before {day_words(body.best_before)}" if body.best_before is not None else "",
    )


def delivered(body: Delivered, units: ShownUnits) -> str:
    lines = "; ".join(f"{line.line}: {_line_words(line, units)}" for line in body.lines)
    return joined(f"{body.delivery} delivered to {body.customer}", body.document) + (f": {lines}" if lines else "")


def _line_words(line: LineDelivered, units: ShownUnits) -> str:
    return joined(
        names(f"{counted(count.packs, 'pack')} of {count.pack}" for count in line.packs),
        names(f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in line.loose),
        names(line.trays),
    )


def thrown_away(body: ThrownAway, units: ShownUnits) -> str:
    grams = [f"{show_mass(part.grams, units.mass)} of {part.harvest}" for part in body.parts]
    packs = [f"{counted(count.packs, 'pack')} of {count.pack}" for count in body.packs]
    return f"thrown away: {names([*grams, *packs])}, {body.reason}"
