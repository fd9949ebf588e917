"""An answer to a row in plain words, for a note where nothing else of it can be kept."""

from __future__ import annotations

from collections.abc import Iterator

from trayward.farm.settings import ShownUnits
from trayward.rounds.told import RowSaid, RowTold
from trayward.rounds.words import sentences
from trayward.units import show_length, show_mass, show_volume
from trayward.words import listed


def said_in_words(told: RowTold, answer: RowSaid, units: ShownUnits) -> str:
    """
    What was said to a row, as sentences.

    Examples
    --------
    >>> told = RowTold(round="2026-11-25 morning", row="look-A", kind="look", do="Look: radish, 1 tray", stage="light")
    >>> said_in_words(told, RowSaid(cue="not yet", moisture="dry", note="pale"), ShownUnits())
    'Look: radish, 1 tray, in light. Not yet, dry. Pale.'
    """
    stage = f"{told.do}, in {told.stage}" if told.stage else told.do
    return sentences(stage, ", ".join(_parts(told, answer, units)), answer.note)


def _parts(told: RowTold, answer: RowSaid, units: ShownUnits) -> Iterator[str]:
    if answer.done:
        yield "done" if answer.count is None else f"done, {answer.count}"
    if answer.throw:
        yield "thrown away"
    if answer.grams:
        yield f"cut {listed(f'{tray} {show_mass(grams, units.mass)}' for tray, grams in answer.grams.items())}"
    if answer.cue:
        yield answer.cue
    if answer.moisture:
        yield answer.moisture
    if answer.share_emerged is not None:
        yield f"{answer.share_emerged:.0%} up"
    if answer.height_mm is not None:
        above = " above the medium" if answer.grams else " tall"
        yield f"{show_length(answer.height_mm, units.length)}{above}"
    if answer.water_ml is not None:
        yield f"{show_volume(answer.water_ml, units.volume)} of water each"
    if answer.problem:
        yield f"trouble seen: {answer.problem}"
    if answer.cleared:
        yield f"cleared, it was {answer.cleared}"
    if answer.grams_per_tray is not None:
        yield f"{show_mass(answer.grams_per_tray, units.mass)} of seed a tray"
    if answer.spots:
        yield f"on {listed(answer.spots)}"
    if answer.agent:
        yield f"with {answer.agent}"
    if answer.strength_ppm is not None:
        yield f"{answer.strength_ppm:g} ppm"
    if answer.contact_min is not None:
        yield f"for {answer.contact_min:g} min"
    if not answer.only or len(answer.only) == len(told.trays):
        return
    yield f"only {listed(answer.only)}"
