"""Rows after the cut: strip the trays, wash the kit, sanitise it where this farm does."""

from __future__ import annotations

from collections import defaultdict

from trayward.farm.calendar import is_work_day
from trayward.farm.kit import PoolState
from trayward.farm.kit_clear import limits_words, steps_words
from trayward.farm.kit_marks import marks_where, marks_words
from trayward.farm.state import Tray
from trayward.rounds.scene import Scene, spot_order
from trayward.rounds.types import Amount, RoundRow
from trayward.rounds.words import day_of, sentences, slug
from trayward.units import show_temperature
from trayward.words import counted

WASH_PLACE = "wash place"

SELLERS_TOO = "when selling, sanitise too as your local rules ask"

SANITISE_CARE = (
    "clean first, then agent, strength and time as its label says; never mix agents, air the room, gloves and eyes; "
    "let it dry"
)


def strip_rows(scene: Scene) -> list[RoundRow]:
    """One row for each sowing with trays that are cut and still hold their roots."""
    if not is_work_day(scene.settings, scene.today):
        return []
    cut: dict[str, list[Tray]] = defaultdict(list)
    for tray in scene.state.trays.values():
        if tray.fate == "cut" and not tray.stripped:
            cut[tray.sowing].append(tray)
    return [_strip_row(scene, trays) for trays in cut.values()]


def wash_rows(scene: Scene) -> list[RoundRow]:
    """One row for each pool with dirty things, and one for each that waits to be sanitised."""
    if not is_work_day(scene.settings, scene.today):
        return []
    rows = [_wash_row(scene, held) for held in scene.state.kit.values() if held.dirty > 0]
    return rows + [_sanitise_row(held) for held in scene.state.kit.values() if held.washed > 0]


def _strip_row(scene: Scene, trays: list[Tray]) -> RoundRow:
    trays = sorted(trays, key=lambda tray: spot_order(tray.spot))
    first, recipe = trays[0], scene.recipe(trays[0])
    cut_at = min((tray.ended_at for tray in trays if tray.ended_at is not None), default=None)
    late = cut_at is not None and cut_at < scene.before
    return RoundRow(
        row=f"strip-{first.sowing}",
        number=0,
        kind="strip",
        place=WASH_PLACE,
        crop=first.crop,
        recipe=first.recipe,
        do=f"Strip: {first.crop}, {counted(len(trays), 'tray')}",
        how=sentences("scrape roots and stubble off"),
        trays=tuple(tray.tray for tray in trays),
        overdue=late,
        since=cut_at if late else None,
        why=f"Cut {day_of(cut_at, scene.settings)}." if cut_at is not None else "",
        minutes=round((recipe.minutes_wash if recipe is not None else 0.0) * len(trays), 1),
    )


def _wash_row(scene: Scene, held: PoolState) -> RoundRow:
    marks = marks_where(held, "dirty")
    too = SELLERS_TOO if scene.settings.sells and not held.pool.sanitise else ""
    return RoundRow(
        row=f"wash-{slug(held.pool.name)}",
        number=0,
        kind="wash",
        place=WASH_PLACE,
        crop="",
        do=f"Wash: {held.pool.name}, {held.dirty}",
        how=sentences(steps_words(held.pool), _rinse_words(scene, held), too),
        amounts=(_pieces(held, held.dirty, marks),),
        pool=held.pool.name,
        marks=tuple(marks),
        count=held.dirty,
        why=sentences(f"dry {held.pool.dry_hours:g} h after washing", _short_words(scene, held), _mould_words(held)),
        minutes=round(held.pool.minutes_wash * held.dirty, 1),
    )


def _short_words(scene: Scene, held: PoolState) -> str:
    ready = held.ready(scene.at)
    return f"{max(ready, 0)} clean and dry now" if ready < held.pool.count else ""


def _sanitise_row(held: PoolState) -> RoundRow:
    marks, limits = marks_where(held, "washed"), limits_words(held.pool)
    return RoundRow(
        row=f"sanitise-{slug(held.pool.name)}",
        number=0,
        kind="sanitise",
        place=WASH_PLACE,
        crop="",
        do=f"Sanitise: {held.pool.name}, {held.washed}",
        how=sentences(SANITISE_CARE),
        amounts=(_pieces(held, held.washed, marks),),
        pool=held.pool.name,
        marks=tuple(marks),
        count=held.washed,
        why=sentences(
            "after suspected mould" if not held.pool.sanitise else "",
            f"this farm wants {limits}" if limits else "",
            "the label, local codes and licensed practice go before this line",
        ),
    )


def _pieces(held: PoolState, count: int, marks: list[str]) -> Amount:
    """How many, and which where they carry marks."""
    return Amount(what=held.pool.name, value=count, unit="pieces", each=False, note=marks_words(marks))


def _rinse_words(scene: Scene, held: PoolState) -> str:
    least = held.pool.clearing.rinse_c
    shown = show_temperature(least, scene.settings.units.temperature) if least is not None else ""
    return f"rinse at {shown} or more, and write it down" if shown else ""


def _mould_words(held: PoolState) -> str:
    """Kit of a tray with suspected mould is kept apart from the rest of the wash."""
    if not held.suspect:
        return ""
    apart = marks_words([name for name, mark in held.marks.items() if mark.suspect and mark.where == "dirty"])
    which = apart or f"{held.suspect} of them"
    then = ", then sanitise" if held.pool.sanitise or held.pool.clearing.after_mould else ""
    return f"{which} held a tray with suspected mould: wash apart and last{then}"
