"""The round: everything that is due at one moment, in walking order, overdue first."""

from __future__ import annotations

from collections import Counter
from datetime import datetime

import msgspec

from trayward.dates import day_words
from trayward.farm.calendar import is_work_day, zone
from trayward.farm.recipes import Recipe
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState
from trayward.hygiene.due import review_findings
from trayward.rounds.air import air_findings
from trayward.rounds.amounts import mix_notes
from trayward.rounds.goods import goods, stale_notes
from trayward.rounds.hygiene import strip_rows, wash_rows
from trayward.rounds.lacking import lacking
from trayward.rounds.looks import LooksKept, tray_rows
from trayward.rounds.records import record_rows
from trayward.rounds.scene import Asked, Scene, make_scene, round_after, shelf_name, spot_order
from trayward.rounds.sowing import soak_notes, sow_rows
from trayward.rounds.types import Round, RoundRow, RowKind
from trayward.sensors.words import alarm_findings

AT_A_SHELF: tuple[RowKind, ...] = ("discard", "look", "turn", "cut")
AFTERWARDS: tuple[RowKind, ...] = ("strip", "sow", "pack", "deliver", "wash", "sanitise", "record")
"""What follows the walk, in this order; washing comes when all that gets dirty is. Records that are due at a time of
the day are not left to the end: they stand before the jobs."""

OLD_PLAN_DAYS = 7
"""A kept plan older than this is worth making anew. [d]"""


def make_round(state: FarmState, outlook: Asked, at: datetime, *, kept: LooksKept | None = None) -> Round:
    """
    What to do now.

    Parameters
    ----------
    state : FarmState
        The farm at that moment.
    outlook : Outlook
        What is likely of its trays at that moment.
    at : datetime
        Now, with offset.
    kept : LooksKept, optional
        Looks of the round made before this one; this one's are kept there.

    Returns
    -------
    Round
        Every growing tray that was not yet seen to in the present round is in exactly one row that looks at it,
        turns it, cuts it or looks close for mould. Around them stand the jobs of the day: sow what the kept
        plan says, strip, wash, pack, deliver, and the hygiene records that are due. Overdue rows come first,
        each part in walking order. A row's name stays the same all through the round; its number is its place
        in the list just made.

    Raises
    ------
    BookError
        If the farm was never set up.
    """
    scene = make_scene(state, outlook, at)
    going_out = goods(scene)
    rows = [*tray_rows(scene, kept), *strip_rows(scene), *sow_rows(scene), *going_out.rows, *wash_rows(scene)]
    rows += record_rows(scene)
    ordered = _numbered(sorted(rows, key=_Order(state)))
    return Round(
        round=scene.name,
        at=at,
        rows=ordered,
        done=_done(scene, ordered),
        minutes=round(sum((row.minutes for row in ordered), 0.0), 1),
        idle="" if ordered else _idle(scene),
        notes=(*_notes(scene, ordered), *going_out.notes),
    )


class _Order:
    """Overdue first; then along the shelves, then the jobs at the tables in the order of `AFTERWARDS`."""

    def __init__(self, state: FarmState) -> None:
        self._shelves = {shelf.name: place for place, shelf in enumerate(walking_shelves(state))}

    def __call__(self, row: RoundRow) -> tuple[bool, int, int, str, tuple[str, int, str], str]:
        if row.kind in AT_A_SHELF or (row.kind == "record" and row.place in self._shelves):
            place = self._shelves.get(row.place, len(self._shelves))
            return (not row.overdue, 0, place, row.place, spot_order(row.spots[0] if row.spots else None), row.row)
        job = -1 if row.timed else AFTERWARDS.index(row.kind)
        return (not row.overdue, 1, job, "", spot_order(None), row.row)


def _numbered(rows: list[RoundRow]) -> tuple[RoundRow, ...]:
    """Rows with their number, and with names of their own: a second row of a name is told apart by a figure."""
    seen: Counter[str] = Counter()
    numbered = []
    for number, row in enumerate(rows, start=1):
        seen[row.row] += 1
        name = row.row if seen[row.row] == 1 else f"{row.row}-{seen[row.row]}"
        numbered.append(msgspec.structs.replace(row, row=name, number=number))
    return tuple(numbered)


def _done(scene: Scene, rows: tuple[RoundRow, ...]) -> int:
    """Rows of this round already done: trays of a sowing on a shelf that were looked at or cut, and open no more."""
    still_open = {tray for row in rows for tray in row.trays}
    answered = {
        (tray.sowing, shelf_name(tray))
        for tray in scene.state.trays.values()
        if tray.tray not in still_open and any(at and at >= scene.began for at in (tray.last_look, tray.ended_at))
    }
    return len(answered)


def _notes(scene: Scene, rows: tuple[RoundRow, ...]) -> list[str]:
    notes = [finding.sentence() for finding in alarm_findings(scene.state)]
    notes += [scene.kept.note] if scene.kept.note else []
    notes += _old_plan(scene)
    if not is_work_day(scene.settings, scene.today):
        notes.append("A day off: sowing, stripping and washing wait for the next working day.")
    notes += soak_notes(scene)
    notes += stale_notes(scene)
    notes += mix_notes(scene.settings.water, _growing_recipes(scene.state))
    notes += [finding.sentence() for finding in air_findings(scene.state, scene.at)]
    notes += [finding.sentence() for finding in review_findings(scene.state, scene.settings, scene.at)]
    return notes if rows else [*notes, *_nothing_grows(scene)]


def _idle(scene: Scene) -> str:
    begins = round_after(scene.settings, scene.at).astimezone(zone(scene.settings))
    return f"Nothing is due now. The next round begins {day_words(begins.date())}, {begins:%H:%M}."


def _nothing_grows(scene: Scene) -> list[str]:
    """Why nothing is to do on a farm where nothing stands and its plan sows nothing."""
    plan = scene.kept.plan
    if plan is None or scene.state.growing():
        return []
    return [lack.sentence() for lack in lacking(scene.state, plan)]


def _growing_recipes(state: FarmState) -> list[Recipe]:
    """Recipes of trays that grow now."""
    names = dict.fromkeys(tray.recipe for tray in state.growing())
    return [state.recipes[name] for name in names if name in state.recipes]


def _old_plan(scene: Scene) -> list[str]:
    plan = scene.kept.plan
    if plan is None or (scene.at - plan.made_at).days <= OLD_PLAN_DAYS:
        return []
    made = plan.made_at.astimezone(zone(scene.settings)).date()
    return [f"The kept plan is of {day_words(made)}: run plan again and keep it."]
