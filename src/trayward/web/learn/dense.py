"""Weight against density: the curve, the trays, and the level that pays best."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trayward.web.drawing.curve import Curve, OnCurve, Upright, curve_chart
from trayward.web.learn.shown import Shown
from trayward.web.learn.words import Say

if TYPE_CHECKING:
    from trayward.outlook.learning.density import CurvePoint, DensityResponse

CURVE_ROWS = 7
SAME = 0.02
"""Levels nearer than this are one. [-]"""


def density(found: DensityResponse, present: float | None, say: Say) -> Shown:
    """Weight against density: the curve, the trays, and the level that pays best."""
    _ = say.words
    best = found.best
    uprights = []
    if present is not None:
        uprights.append(Upright(x=present, words=_("now %(level)s", level=say.level(present))))
    if best is not None and (present is None or abs(best.level / present - 1) > SAME):
        words = _("pays best %(level)s", level=say.level(best.level))
        uprights.append(Upright(x=best.level, words=words, strong=True))
    curve = Curve(
        points=tuple(OnCurve(x=one.level, low=one.low, mid=one.grams, high=one.high) for one in found.curve),
        trays=tuple((one.level, one.grams) for one in found.trays),
        uprights=tuple(uprights),
        x_words=_("live seeds a cm²"),
        y_words=_("a tray"),
        write=say.number,
    )
    heads = (_("Live seeds a cm²"), _("A tray, likely"), _("8 in 10"))
    rows = [(say.level(one.level), say.grams(one.grams), say.grams_between(one.low, one.high)) for one in _some(found)]
    chart = curve_chart(curve, lambda grams: say.grams(grams) if grams else "0") if found.curve else None
    return Shown(words=density_title(found, say), chart=chart, heads=heads, rows=tuple(rows))


def density_title(found: DensityResponse, say: Say) -> str:
    """The curve in one sentence."""
    _ = say.words
    best = found.best
    if best is None:
        return _("How the weight of a tray of %(crop)s answers to density.", crop=found.crop)
    if abs(best.level / best.present - 1) < SAME:
        return _("The present %(level)s live seeds a cm² pay best, as far as is known.", level=say.level(best.present))
    level, some = say.level(best.level), min(9, max(1, round(10 * best.chance)))
    if not best.peak:
        return _(
            "%(level)s live seeds a cm² pay best of all that is known: better than now in %(some)s of 10 cases.",
            level=level,
            some=some,
        )
    return _("%(level)s live seeds a cm² pay best: better than now in %(some)s of 10 cases.", level=level, some=some)


def _some(found: DensityResponse) -> list[CurvePoint]:
    last = len(found.curve) - 1
    places = (
        dict.fromkeys(round(number * last / (CURVE_ROWS - 1)) for number in range(CURVE_ROWS)) if found.curve else {}
    )
    return [found.curve[place] for place in places]
