"""A farm's sheets for the wall: the round, and what it and the plan ask to sow, cut and wash."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.state import FarmState
from trayward.paper.harvest_sheet import CutTold, TrayToCut, WashTold, harvest_sheet, wash_list
from trayward.paper.kept_rows import keep_rows
from trayward.paper.paper import Printed, days_of, paper_of
from trayward.paper.round_sheet import round_name, round_sheet
from trayward.paper.sowing_sheet import LotShare, SowingTold, sowing_sheet
from trayward.paper.tongue import ENGLISH, Tongue
from trayward.rounds.amount_words import LOT, SEED, SPOON
from trayward.rounds.types import Round, RoundRow

if TYPE_CHECKING:
    from trayward.bootstrap import Farm


def round_paper(
    farm: Farm, at: datetime, *, size: str = "", present: Round | None = None, racks: Sequence[str] = (),
    tongue: Tongue = ENGLISH,
) -> Printed:  # fmt: skip
    """
    The present round for the wall.

    Parameters
    ----------
    present : Round, optional
        Where it was made already.
    racks : sequence of str
        Racks, shelves or tables to print alone, for a sheet at each rack; numbers stay those of the whole round.
    tongue : Tongue
        The language it is in, as for every sheet below.

    Raises
    ------
    NotFoundError
        If the round has no row at one of them, and the farm no such place.
    """
    settings = farm.settings(at)
    present = present or farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    shown = _at_places(present, farm.state(at), racks) if racks else present
    made = round_sheet(shown, paper_of(settings, at, size, tongue), sheet)
    return Printed(pdf=made, name=f"round-{sheet}", sheet=sheet)


def _at_places(present: Round, state: FarmState, wanted: Sequence[str]) -> Round:
    """The rows of some racks, shelves or tables alone."""
    racks = {shelf.name: shelf.rack for shelf in state.shelves.values()}
    known = {*racks, *racks.values(), *(row.place for row in present.rows)}
    for name in wanted:
        if name not in known:
            raise NotFoundError("place", name, tuple(sorted(known)))
    rows = tuple(row for row in present.rows if row.place in wanted or racks.get(row.place, "") in wanted)
    return msgspec.structs.replace(present, rows=rows, minutes=sum((row.minutes for row in rows), 0.0))


def sowing_paper(farm: Farm, at: datetime, *, days: int = 7, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """Sowings of the round, and of the kept plan for the days after."""
    settings = farm.settings(at)
    today, last, about = days_of(at, days, settings, tongue)
    present = farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    told = [_sown_now(row, today) for row in present.rows if row.kind == "sow"]
    told += _sown_later(farm, at, today, last)
    made = sowing_sheet(told, paper_of(settings, at, size, tongue), about, sheet)
    return Printed(pdf=made, name=f"sowing-{sheet}", sheet=sheet)


def _sown_now(row: RoundRow, today: date) -> SowingTold:
    seed = next((amount.value for amount in row.amounts if amount.what == SEED and amount.unit == "g"), 0.0)
    spoons = next((amount.value for amount in row.amounts if amount.unit == SPOON), 0.0)
    lots = [
        LotShare(lot=amount.what.removeprefix(LOT), grams=amount.value)
        for amount in row.amounts
        if amount.what.startswith(LOT)
    ]
    if not lots:
        lots = [LotShare(lot=lot, grams=seed * row.count / len(row.lots)) for lot in row.lots]
    return SowingTold(
        day=today, recipe=row.recipe, crop=row.crop, trays=row.count, seed_g=seed, lots=tuple(lots), spots=row.spots,
        number=row.number, spoons=spoons,
    )  # fmt: skip


def _sown_later(farm: Farm, at: datetime, today: date, last: date) -> Iterable[SowingTold]:
    plan = farm.kept_plan(at)
    for sowing in plan.sowings if plan is not None else ():
        if today < sowing.sow_on <= last:
            yield SowingTold(
                day=sowing.sow_on, recipe=sowing.recipe, crop=sowing.crop, trays=sowing.trays,
                seed_g=sowing.seed_g / max(sowing.trays, 1),
                lots=tuple(LotShare(lot=taken.lot, grams=taken.grams) for taken in sowing.lots),
            )  # fmt: skip


def harvest_paper(farm: Farm, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """Trays that the round asks to cut, with what each likely weighs."""
    settings, present = farm.settings(at), farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    rows = [row for row in present.rows if row.kind == "cut"]
    expected = farm.weights_expected([tray for row in rows for tray in row.trays], at) if rows else {}
    cuts = []
    for row in rows:
        spots = dict(zip(row.trays, row.spots, strict=False))
        ranges = {tray: expected[tray].expected for tray in row.trays if tray in expected}
        trays = tuple(
            TrayToCut(
                tray=tray, spot=spots.get(tray, ""), low_g=ranges[tray].low if tray in ranges else None,
                high_g=ranges[tray].high if tray in ranges else None,
            )
            for tray in row.trays
        )  # fmt: skip
        cuts.append(CutTold(number=row.number, crop=row.crop, trays=trays, lots=row.lots, height=row.how, why=row.why))
    made = harvest_sheet(cuts, paper_of(settings, at, size, tongue), round_name(present.round, tongue), sheet)
    return Printed(pdf=made, name=f"harvest-{sheet}", sheet=sheet)


def wash_paper(farm: Farm, at: datetime, *, size: str = "", tongue: Tongue = ENGLISH) -> Printed:
    """What the round asks to strip, wash and sanitise."""
    settings, present = farm.settings(at), farm.round_soon(at)
    sheet = keep_rows(farm, present, settings)
    washes = []
    for row in present.rows:
        if row.kind in ("strip", "wash", "sanitise"):
            count, sanitise = row.count or len(row.trays), row.kind == "sanitise"
            washes.append(
                WashTold(number=row.number, do=row.do, sanitise=sanitise, count=count, how=row.how, spots=row.spots)
            )
    made = wash_list(washes, paper_of(settings, at, size, tongue), round_name(present.round, tongue), sheet)
    return Printed(pdf=made, name=f"washing-{sheet}", sheet=sheet)
