"""Words of entries about packs, deliveries and what is thrown away."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.dates import day_words
from trayward.farm.entries import Delivered, LineDelivered, LotGrams, Packed, ThrownAway
from trayward.farm.settings import ShownUnits
from trayward.rounds.entries.names import amounts, names
from trayward.rounds.sayings import joined
from trayward.units import show_mass
from trayward.words import Filled, Own, counted, filled, in_a_row


def packed(body: Packed, units: ShownUnits) -> str:
    lots, packs = _grams(body.parts, units), counted(body.packs, "pack")
    return joined(
        filled("{pack} packed: {packs} of {product}", pack=Own(body.pack), packs=packs, product=Own(body.product)),
        filled("{mass} each", mass=show_mass(body.pack_g, units.mass)),
        filled("from {lots}", lots=lots) if lots else "",
        filled("best before {day_words}", day_words=day_words(body.best_before)) if body.best_before else "",
    )


def delivered(body: Delivered, units: ShownUnits) -> str:
    lines = in_a_row((in_a_row((Own(line.line), _line_words(line, units)), ": ") for line in body.lines), "; ")
    went = filled("{delivery} delivered to {customer}", delivery=Own(body.delivery), customer=Own(body.customer))
    return in_a_row((joined(went, Own(body.document)), lines), ": ")


def _line_words(line: LineDelivered, units: ShownUnits) -> str:
    return joined(
        amounts((counted(count.packs, "pack"), count.pack) for count in line.packs),
        _grams(line.loose, units),
        names(line.trays),
    )


def _grams(parts: Iterable[LotGrams], units: ShownUnits) -> Filled:
    return amounts((show_mass(part.grams, units.mass), part.harvest) for part in parts)


def thrown_away(body: ThrownAway, units: ShownUnits) -> str:
    grams = [(show_mass(part.grams, units.mass), part.harvest) for part in body.parts]
    packs = [(counted(count.packs, "pack"), count.pack) for count in body.packs]
    return filled("thrown away: {amounts}, {reason}", amounts=amounts([*grams, *packs]), reason=body.reason)
