"""`trayward plan --picture`: a plan's figures, taken out of it for the picture."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from trayward.pictures.types import Delivery, PlanFigures, RackFigures, SowingBar, StageSpan
from trayward.plan.types import LineOutlook, Plan, PlannedSowing, Serve

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
    """The days each crop is due, by the lines it serves, and by those that ask for it alone and get nothing."""
    lines = {line.line: line for line in made.lines}
    crops = {sowing.crop for sowing in made.sowings} | {cut.crop for cut in made.cuts}
    found: dict[tuple[str, object], Delivery] = {}
    for crop, line in (*_served(made, lines), *((line.crop, line) for line in made.lines if line.crop in crops)):
        before = found.get((crop, line.due))
        sure = line.met and (before is None or before.sure)
        found[crop, line.due] = Delivery(crop=crop, due=line.due, sure=sure)
    return tuple(sorted(found.values(), key=lambda one: (one.due, one.crop)))


def _served(made: Plan, lines: dict[str, LineOutlook]) -> Iterable[tuple[str, LineOutlook]]:
    groups: list[tuple[str, tuple[Serve, ...]]] = [(one.crop, one.serves) for one in made.sowings]
    groups += [(one.crop, one.serves) for one in made.advice]
    for crop, serves in groups:
        yield from ((crop, lines[serve.line]) for serve in serves if serve.line in lines)
