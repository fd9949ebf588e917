"""Weight against density: the curve with its range, the trays that were weighed, the present and the best density."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trayward.pictures import bars
from trayward.pictures.look import GROUND, INK, PLAIN, RULE, SOFT, Size, Wide, tint
from trayward.pictures.page import LINE, Panel, Picture, drawn, in_house_style, size_of
from trayward.pictures.types import DensityFigures, OnCurve
from trayward.units import show_mass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

NOTE = "Band: where the curve lies, 8 in 10. {dots}Beyond the curve there is no ground to say anything."
DOTS = "Dots: trays that were cut, other causes taken out. "
FIGURES = 6
"""Points of the curve that are told in words."""


@in_house_style
def density_picture(figures: DensityFigures, title: str, *, unit: str = "g", wide: Wide = "desk") -> Picture:
    """
    How the weight of a tray answers to density; never drawn beyond the densities there is ground for.

    Parameters
    ----------
    figures : DensityFigures
        The curve, the trays, the present and the best density.
    title : str
        What it shows, in one sentence.
    unit : str
        Unit of weights, `g` or `oz`.
    """
    size = size_of(wide)
    panel = Panel(height=3.1, left=0.75, right=0.3, above=0.58, below=0.62)
    note = NOTE.format(dots=DOTS if figures.weighed else "")
    picture, (axes,) = drawn(title, size, [[panel]], words_of(figures, unit), note=note)
    _axes(axes, figures, unit, size)
    curve = figures.curve
    xs = [point.density for point in curve]
    axes.fill_between(
        xs, [point.low for point in curve], [point.high for point in curve], color=tint(PLAIN, 0.25), linewidth=0
    )
    axes.plot(xs, [point.likely for point in curve], color=PLAIN, linewidth=2.4)
    for point in curve[:1] + curve[-1:]:
        axes.plot([point.density] * 2, [point.low, point.high], color=PLAIN, linewidth=1.2, linestyle=(0, (2, 2)))
    axes.scatter(
        [tray.density for tray in figures.weighed], [tray.grams for tray in figures.weighed], s=26, facecolor=GROUND,
        edgecolor=INK, linewidth=1.0, zorder=3,
    )  # fmt: skip
    _marks(axes, figures, size)
    return picture


def words_of(figures: DensityFigures, unit: str) -> list[str]:
    """Some points of the curve, the trays, and where it is best, in words."""
    step = max(1, len(figures.curve) // FIGURES)
    told = [f"{point.density:.3g} live seeds a cm2: {_weight(point, unit)}" for point in figures.curve[::step]]
    told.append(f"{len(figures.weighed)} trays weighed")
    if figures.present is not None:
        told.append(f"present density {figures.present:.3g}")
    if figures.best is not None:
        told.append(f"best density {figures.best:.3g}" + (", the end of what is known" if figures.at_the_end else ""))
    return told


def _weight(point: OnCurve, unit: str) -> str:
    return bars.spread_words(point.low, point.likely, point.high, unit)


def _axes(axes: Axes, figures: DensityFigures, unit: str, size: Size) -> None:
    grams = [point.high for point in figures.curve] + [tray.grams for tray in figures.weighed]
    most = max([*grams, 1.0]) * 1.08
    densities = [point.density for point in figures.curve] + [tray.density for tray in figures.weighed]
    densities += [at for at in (figures.present,) if at is not None]
    axes.set_xlim(0, max([*densities, 1.0]) * 1.06)
    axes.set_ylim(0, most)
    at = bars.weight_ticks(most, unit, 5)
    axes.set_yticks(at, [show_mass(weight, unit) if weight else "0" for weight in at])
    axes.grid(visible=False, axis="x")
    axes.grid(axis="y", color=RULE, linewidth=0.8)
    axes.set_xlabel("live seeds a cm²", fontsize=size.label, color=INK, labelpad=6)
    axes.annotate(
        "a tray", (0, 1), xycoords="axes fraction", xytext=(-4, 8), textcoords="offset points", ha="right", va="bottom",
        fontsize=size.label, annotation_clip=False,
    )  # fmt: skip


def _marks(axes: Axes, figures: DensityFigures, size: Size) -> None:
    """The present and the best density as upright lines, named above; one line where they are the same."""
    best, present = figures.best, figures.present
    end = " (end of what is known)" if figures.at_the_end else ""
    span = axes.get_xlim()[1]
    if best is not None and present is not None and abs(best - present) < 0.01 * span:
        _mark(axes, best, f"now and best: {best:.3g}", "center", "-", size)
        return
    if present is not None:
        side = "right" if best is not None and best > present else "left"
        _mark(axes, present, f"now {present:.3g}", side, (0, (4, 3)), size)
    if best is not None:
        side = "right" if present is not None and best <= present else "left"
        _mark(axes, best, f"best {best:.3g}{end}", side, "-", size, level=1)


def _mark(axes: Axes, at: float, text: str, side: str, dashes: object, size: Size, *, level: int = 0) -> None:
    """A line at a density, with its words above; `level` 1: above the words of another."""
    axes.axvline(at, color=INK, linewidth=1.2, linestyle=dashes, zorder=2)
    if at > 0.72 * axes.get_xlim()[1]:
        side = "right"
    elif at < 0.2 * axes.get_xlim()[1]:
        side = "left"
    axes.annotate(
        text, (at, 1), xycoords=("data", "axes fraction"), textcoords="offset points",
        xytext=({"left": -2, "right": 2}.get(side, 0), 6 + level * size.label * LINE), ha=side, va="bottom",
        fontsize=size.label, color=INK if dashes == "-" else SOFT, annotation_clip=False,
    )  # fmt: skip
