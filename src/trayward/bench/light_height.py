"""How high and how far apart to hang lamps. Loads numpy: import it late."""

from __future__ import annotations

from collections.abc import Callable

from trayward.bench.light import (
    DAY,
    HOLDS,
    HOLDS_WALLS,
    PPFD,
    SOURCES,
    about,
    about_share,
    given_of,
    length,
    percent,
    share,
)
from trayward.bench.light_layout import EYES, MAINS, Layout, better_than_built
from trayward.bench.types import Amount, Grid, Sheet
from trayward.science.light import dli
from trayward.science.light_best import BestLayout, Tried, best_layout
from trayward.units import show_length


def height_sheet(
    layout: Layout,
    heights_mm: tuple[float, float],
    *,
    evenness: float | None = None,
    ppfd: float | None = None,
    show: Callable[[float], str] = show_length,
) -> tuple[Sheet, BestLayout]:
    """
    The height and spacing that serve best.

    Parameters
    ----------
    layout : Layout
        The shelf and its lamps; their height and spacing do not count.
    heights_mm : (float, float)
        Lowest and highest there is room for. [mm]
    evenness : float or None
        Least over mean light asked for. [-]
    ppfd : float or None
        Mean light asked for. [umol/m2/s]
    show : function
        A length in words.

    Returns
    -------
    Sheet, BestLayout

    Raises
    ------
    InputError
        If nothing is asked for, or a value is out of range.
    """
    best = best_layout(
        layout.hung, layout.ground, heights_mm, layout.widest_mm, least_evenness=evenness, least_ppfd=ppfd,
        walls=layout.box(heights_mm[1]),
    )  # fmt: skip
    even = best.light.evenness
    apart = (length("middle to middle of lamps", best.best.spacing_mm),) if layout.count > 1 else ()
    sheet = Sheet(
        bench="light",
        task="height",
        title=_best_title(best, evenness, ppfd, show),
        given=(*given_of(layout), *_asked(heights_mm, evenness, ppfd)),
        found=(
            length("lamps above the leaves", best.best.height_mm),
            *apart,
            about("light on the leaves, mean", even.mean, PPFD),
            about("darkest spot", even.least, PPFD),
            about_share("evenness: least of mean", even.min_mean),
            about_share("photons that reach the leaves", best.light.share_on_shelf),
            about("daily light, mean", dli(even.mean, layout.hours), DAY),
            Amount(name="all that was asked for", value=best.reached),
        ),
        grids=(_by_height(best, layout, show),),
        steps=_better(best, layout),
        holds=HOLDS + ((HOLDS_WALLS,) if layout.walls else ()),
        findings=better_than_built(layout.efficacy),
        cautions=(MAINS, EYES),
        sources=SOURCES,
    )
    return sheet, best


def _asked(heights: tuple[float, float], evenness: float | None, ppfd: float | None) -> list[Amount]:
    found = [length("lowest height", heights[0]), length("highest height", heights[1])]
    found += [share("evenness asked for, least of mean", evenness)] if evenness is not None else []
    return found + ([Amount(name="light asked for, mean", value=ppfd, unit=PPFD)] if ppfd is not None else [])


def _best_title(best: BestLayout, evenness: float | None, ppfd: float | None, show: Callable[[float], str]) -> str:
    apart = f", {show(best.best.spacing_mm)} apart" if best.best.spacing_mm else ""
    place = f"{show(best.best.height_mm)} above the leaves{apart}"
    if not best.reached:
        missing = " and the ".join(best.short_of)
        return f"No height gives the {missing} asked for. Closest: {place}."
    if evenness is None:
        return f"Hang them {place}: the evenest with {ppfd:.0f} {PPFD} on the mean."
    return f"Hang them {place}: the most light with a darkest spot of {percent(evenness)} of the mean."


def _by_height(best: BestLayout, layout: Layout, show: Callable[[float], str]) -> Grid:
    def row(tried: Tried) -> tuple[str, ...]:
        apart = (show(tried.spacing_mm),) if layout.count > 1 else ()
        return (show(tried.height_mm), *apart, f"{tried.mean:.0f}", percent(tried.min_mean),
                percent(tried.share_on_shelf))  # fmt: skip

    apart = ("Apart",) if layout.count > 1 else ()
    columns = ("Height", *apart, f"Mean {PPFD}", "Least of mean", "Reach the leaves")
    return Grid(
        title="At other heights, hung as evenly as they go", columns=columns, rows=tuple(map(row, best.by_height))
    )


def _better(best: BestLayout, layout: Layout) -> tuple[str, ...]:
    steps = []
    if "evenness" in best.short_of and not layout.walls:
        steps.append("Line the sides with matt white: try --walls 85%.")
    if "evenness" in best.short_of:
        steps.append("Use longer lamps, or more and weaker ones; or ask for less evenness.")
    if "light" in best.short_of:
        steps.append("Add lamps, or take stronger ones; or ask for less light and give more hours.")
    if best.reached and "highest" in best.at_end:
        steps.append("This is the highest there is room for: what is higher was not looked at.")
    if best.reached and "lowest" in best.at_end:
        steps.append("This is the lowest that was looked at.")
    return (*steps, "Hang the lamps, measure at nine spots at the height of the leaves, and raise them as plants grow.")
