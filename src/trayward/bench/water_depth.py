"""Depth sums: how much a tray takes up to the top of its mat, what a weight says is gone, what stands in a tank."""

from __future__ import annotations

import msgspec

from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding, InputError
from trayward.farm.settings import ShownUnits
from trayward.science.water_depth import (
    barrel_depth_mm,
    barrel_litres,
    box_depth_mm,
    box_litres,
    litres_of_grams,
    refill_g,
    tray_depth_mm,
    tray_ml,
)
from trayward.units import MM_PER_INCH, show_length, show_volume

LEVEL = "Holds for a level tray: 2 mm of tilt over its length is 1 mm of water at either end."
NEAR_MM = 2.0
"""Water is kept so far below the top of the mat, so that no stem stands in it. Common practice, no source. [mm]"""


MOST_ML = 4000.0
"""A tray of 20 x 10 inches and 30 mm holds 3.9 l up to its brim: no refill is more. [ml]"""


class TrayInside(msgspec.Struct, frozen=True, kw_only=True):
    """The inside of a tray that water goes into, and what stands in it. [mm], shares [-]"""

    length_mm: float
    width_mm: float
    depth_mm: float = 30.0
    """Up to its brim."""
    mat_mm: float = 0.0
    mat_from_mm: float = 0.0
    """How high the mat's underside stands above the bottom."""
    mat_solid: float = 0.0
    ribs: float = 0.0
    ribs_mm: float = 0.0

    @property
    def top_mm(self) -> float:
        """Where the mat ends. [mm]"""
        return self.mat_from_mm + self.mat_mm

    def ml(self, depth_mm: float) -> float:
        """What fills it to a depth. [ml]"""
        return tray_ml(
            self.length_mm, self.width_mm, depth_mm,
            mat_mm=self.mat_mm, mat_from_mm=self.mat_from_mm, mat_solid=self.mat_solid,
            ribs=self.ribs, ribs_mm=self.ribs_mm,
        )  # fmt: skip

    def depth(self, ml: float) -> float:
        """How deep a volume stands. [mm]"""
        return tray_depth_mm(
            self.length_mm, self.width_mm, ml,
            mat_mm=self.mat_mm, mat_from_mm=self.mat_from_mm, mat_solid=self.mat_solid,
            ribs=self.ribs, ribs_mm=self.ribs_mm,
        )  # fmt: skip


def _tray_given(tray: TrayInside) -> tuple[Amount, ...]:
    told = [
        Amount(name="tray length inside", value=tray.length_mm, unit="mm", kind="length"),
        Amount(name="tray width inside", value=tray.width_mm, unit="mm", kind="length"),
    ]
    if tray.mat_mm:
        told.append(Amount(name="mat", value=tray.mat_mm, unit="mm", kind="length", note="thick"))
    if tray.mat_from_mm:
        told.append(Amount(name="mat stands off the bottom", value=tray.mat_from_mm, unit="mm", kind="length"))
    if tray.mat_solid:
        told.append(Amount(name="mat that is not water", value=tray.mat_solid, unit="-", kind="share"))
    if tray.ribs:
        told.append(Amount(name="bottom under ribs", value=tray.ribs, unit="-", kind="share"))
        told.append(Amount(name="ribs", value=tray.ribs_mm, unit="mm", kind="length", note="high"))
    return tuple(told)


def depth_sheet(
    tray: TrayInside, *, ml: float | None = None, depth_mm: float | None = None, shown: ShownUnits | None = None
) -> Sheet:
    """
    How much water reaches, and does not pass, the top of the mat; or how deep some water stands.

    Parameters
    ----------
    tray : TrayInside
        The tray that holds the water. [mm]
    ml : float or None
        Water poured in [ml]: how deep is it?
    depth_mm : float or None
        A depth wanted [mm]; None: the top of the mat, or 5 mm where there is none.
    shown : ShownUnits
        Units of the title, the notes and the ruler; metric if left out.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range, or the mat or the water stand over the brim.
    """
    shown = shown or ShownUnits()
    top = tray.top_mm
    if top > tray.depth_mm:
        rule = f"lies above the brim, {tray.depth_mm:g} mm"
        raise InputError("top of the mat", f"{top:g}", rule, "Measure from the bottom of the tray.", "mm")
    if ml is not None:
        return _poured(tray, ml)
    wanted = depth_mm if depth_mm is not None else (top or 5.0)
    if wanted > tray.depth_mm:
        rule = f"lies above the brim, {tray.depth_mm:g} mm"
        raise InputError("water depth", f"{wanted:g}", rule, "Pour less.", "mm")
    safe = max(wanted - NEAR_MM, 0.0)
    over = wanted > top > 0
    found = [
        Amount(
            name="water for a dry tray, at most", value=tray.ml(wanted), unit="ml", kind="volume", note="never more"
        ),
        Amount(
            name="better stop at",
            value=tray.ml(safe),
            unit="ml",
            kind="volume",
            note=f"{show_length(NEAR_MM, shown.length)} lower",
        ),
        Amount(
            name="each millimetre of depth",
            value=tray.ml(wanted) - tray.ml(max(wanted - 1, 0)),
            unit="ml",
            kind="volume",
        ),
    ]
    to_what = "a depth of" if over or not top else "the top of the mat,"
    return Sheet(
        bench="water",
        task="depth",
        title=f"Water up to {to_what} {show_length(wanted, shown.length)}",
        given=(*_tray_given(tray), Amount(name="up to", value=wanted, unit="mm", kind="length")),
        found=tuple(found),
        grids=(_depths(tray, wanted, shown),),
        holds=(LEVEL, "What a dry mat and roots soak up goes in besides: top up once after a few minutes."),
        findings=(_over(wanted, top),) if over else (),
        sources=("computed", "practice"),
    )


def _over(depth_mm: float, top_mm: float) -> Finding:
    message = f"water depth = {depth_mm:g} mm: over the top of the mat, {top_mm:g} mm; stems stand in it and rot."
    return Finding(code="over-the-top", severity="odd", message=message, remedy="Pour less, or tip some out.")


def _on_a_ruler(depth_mm: float, shown: ShownUnits) -> str:
    """Inches to the hundredth: quarters of a shallow depth are finer than a ruler's eighths."""
    return f"{depth_mm / MM_PER_INCH:.2f} in" if shown.length == "in" else show_length(depth_mm)


def _depths(tray: TrayInside, wanted: float, shown: ShownUnits) -> Grid:
    depths = [wanted * part / 4 for part in (1, 2, 3, 4)]
    rows = tuple((_on_a_ruler(depth, shown), show_volume(tray.ml(depth), shown.volume)) for depth in depths)
    return Grid(title="By the ruler", columns=("Deep", "Water"), rows=rows)


def _poured(tray: TrayInside, ml: float) -> Sheet:
    depth = tray.depth(ml)
    findings: tuple[Finding, ...] = ()
    if depth > tray.depth_mm:
        rule = f"does not stay in this tray, which holds {tray.ml(tray.depth_mm):.0f} ml"
        raise InputError("water", f"{ml:g}", rule, "Pour less.", "ml")
    if 0 < tray.top_mm < depth:
        findings = (_over(round(depth, 1), tray.top_mm),)
    left = (
        (Amount(name="up to the top of the mat", value=tray.ml(tray.top_mm) - ml, unit="ml", kind="volume"),)
        if tray.top_mm > depth
        else ()
    )
    return Sheet(
        bench="water",
        task="depth",
        title="How deep water stands in a tray",
        given=(*_tray_given(tray), Amount(name="water", value=ml, unit="ml", kind="volume")),
        found=(Amount(name="depth", value=depth, unit="mm", kind="length"), *left),
        holds=(LEVEL,),
        findings=findings,
        sources=("computed",),
    )


def refill_sheet(
    weight_now_g: float, weight_full_g: float, *, weight_empty_g: float = 0.0, tray: TrayInside | None = None
) -> Sheet:
    """
    How much water goes back into a tray, by the scale.

    Parameters
    ----------
    weight_now_g, weight_full_g : float
        Of the tray now, and right after its last watering. [g]
    weight_empty_g : float
        Of the dry tray with mat and seed [g]; 0: not known.
    tray : TrayInside or None
        With it, how deep that much water stands by itself.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a weight is out of range.
    """
    lost = refill_g(weight_now_g, weight_full_g, weight_empty_g)
    ml = litres_of_grams(lost) * 1000
    found = [Amount(name="water to put back", value=ml, unit="ml", kind="volume")]
    if weight_empty_g:
        share = lost / (weight_full_g - weight_empty_g) if weight_full_g > weight_empty_g else 0.0
        found.append(Amount(name="share of its water gone", value=share, unit="-", kind="share"))
    if tray is not None:
        found.append(Amount(name="that stands by itself", value=tray.depth(ml), unit="mm", kind="length", note="deep"))
    return Sheet(
        bench="water",
        task="refill",
        title="Water to put back, by the scale",
        given=(
            Amount(name="tray now", value=weight_now_g, unit="g", kind="mass"),
            Amount(name="after the last watering", value=weight_full_g, unit="g", kind="mass"),
            *((Amount(name="dry", value=weight_empty_g, unit="g", kind="mass"),) if weight_empty_g else ()),
        ),
        found=tuple(found),
        steps=("Pour it in from below, never over the top.", "Weigh the tray again: that is its new full weight."),
        holds=("The plants have grown meanwhile, so a little less goes back than was drunk: look, and weigh anew.",),
        findings=(_too_much(ml),) if ml > MOST_ML else (),
        sources=("computed",),
    )


def _too_much(ml: float) -> Finding:
    message = f"water to put back = {ml / 1000:.3g} l: more than a tray holds."
    remedy = "Weigh it again, and look at the units of both weights."
    return Finding(code="refill-much", severity="odd", message=message, remedy=remedy)


def tank_sheet(
    *,
    length_mm: float,
    width_mm: float | None = None,
    radius_mm: float | None = None,
    depth_mm: float | None = None,
    litres: float | None = None,
    displaced_l: float = 0.0,
) -> Sheet:
    """
    What stands in a box or a lying barrel; or how deep some water stands in it.

    Parameters
    ----------
    length_mm : float
        Inside. [mm]
    width_mm, radius_mm : float or None
        Of a box, or of a barrel on its side. [mm]
    depth_mm, litres : float or None
        One of them: depth [mm] or water [l].
    displaced_l : float
        What stands in a box takes up. [l]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the shape or the question is not clear, or a value is out of range.
    """
    if (width_mm is None) == (radius_mm is None):
        raise InputError(
            "tank", "both" if width_mm else "neither", "is a box with a width, or a barrel with a radius", ""
        )
    if (depth_mm is None) == (litres is None):
        raise InputError("tank", "unclear", "either depth or litres must be said", "Say --depth or --litres.")
    if radius_mm is not None and displaced_l:
        raise InputError("what stands in it", f"{displaced_l:g}", "is counted in a box only", "Leave it out.", "l")
    shape = Amount(name="width", value=width_mm, unit="mm", kind="length") if width_mm is not None else Amount(
        name="radius", value=radius_mm or 0.0, unit="mm", kind="length"
    )  # fmt: skip
    asked = (
        Amount(name="depth", value=depth_mm, unit="mm", kind="length")
        if depth_mm is not None
        else Amount(name="water", value=1000 * (litres or 0.0), unit="ml", kind="volume")
    )
    if radius_mm is not None:
        found = _barrel(radius_mm, length_mm, depth_mm, litres)
    else:
        found = _box(length_mm, width_mm or 0.0, depth_mm, litres, displaced_l)
    besides = (Amount(name="stands in it", value=1000 * displaced_l, unit="ml", kind="volume"),) if displaced_l else ()
    return Sheet(
        bench="water",
        task="tank",
        title="What a tank holds",
        given=(Amount(name="length", value=length_mm, unit="mm", kind="length"), shape, asked, *besides),
        found=found,
        holds=("Holds for a level tank with straight sides and flat ends, measured inside.",),
        sources=("computed",),
    )


def _barrel(radius_mm: float, length_mm: float, depth_mm: float | None, litres: float | None) -> tuple[Amount, ...]:
    full = barrel_litres(radius_mm, length_mm, 2 * radius_mm)
    if depth_mm is not None:
        held = barrel_litres(radius_mm, length_mm, depth_mm)
        first = Amount(name="water in it", value=1000 * held, unit="ml", kind="volume")
    else:
        held = litres or 0.0
        deep = barrel_depth_mm(radius_mm, length_mm, held)
        first = Amount(name="depth", value=deep, unit="mm", kind="length")
    return (
        first,
        Amount(name="full", value=1000 * full, unit="ml", kind="volume"),
        Amount(name="filled", value=held / full, unit="-", kind="share"),
    )


def _box(
    length_mm: float, width_mm: float, depth_mm: float | None, litres: float | None, displaced_l: float
) -> tuple[Amount, ...]:
    each = Amount(name="each millimetre", value=1000 * box_litres(length_mm, width_mm, 1.0), unit="ml", kind="volume")
    if depth_mm is not None:
        held = box_litres(length_mm, width_mm, depth_mm, displaced_l)
        return (Amount(name="water in it", value=1000 * held, unit="ml", kind="volume"), each)
    deep = box_depth_mm(length_mm, width_mm, litres or 0.0, displaced_l)
    return (Amount(name="depth", value=deep, unit="mm", kind="length"), each)
