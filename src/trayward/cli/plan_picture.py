"""`trayward plan --picture`: a plan's figures, taken out of it for the picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trayward.pictures.types import Delivery, PlanFigures, RackFigures, SowingBar, StageSpan
from trayward.plan.due_days import due_days
from trayward.plan.types import Plan, PlannedSowing

if TYPE_CHECKING:
    from trayward.pictures.look import Wide
    from trayward.pictures.page import Picture


def draw_plan(made: Plan, wide: Wide) -> Picture:
    """A picture of a plan, at a desk's or a phone's width."""
    from trayward.pictures.plan import plan_picture, plan_title

    figures = figures_of(made)
    return plan_picture(figures, plan_title(figures), wide=wide)


def figures_of(made: Plan) -> PlanFigures:
    """What of a plan is drawn."""
    standing = [SowingBar(crop=cut.crop, trays=cut.trays, sow_on=None, cut_on=cut.cut_on) for cut in made.cuts]
    return PlanFigures(
        first=made.first,
        last=made.last,
        sowings=(*standing, *map(_bar, made.sowings)),
        deliveries=_deliveries(made),
        racks=tuple(
            RackFigures(what=rack.limit, has=rack.has, likely=rack.likely, low=rack.low, high=rack.high)
            for rack in made.racks
        ),
    )


def _bar(one: PlannedSowing) -> SowingBar:
    low, high = one.cut_between or (None, None)
    return SowingBar(
        crop=one.crop,
        trays=one.trays,
        sow_on=one.sow_on,
        cut_on=one.cut_on,
        low=low,
        high=high,
        stages=tuple(StageSpan(stage=stage.stage, first=stage.first, last=stage.last) for stage in one.stages),
    )


def _deliveries(made: Plan) -> tuple[Delivery, ...]:
    found = [Delivery(crop=crop, due=due, sure=sure) for (crop, due), sure in due_days(made).items()]
    return tuple(sorted(found, key=lambda one: (one.due, one.crop)))
