"""What seed falls through a mesh, by its sizes and the openings."""

from __future__ import annotations

from collections.abc import Sequence

from trayward.bench.seed_facts import Size
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding
from trayward.science.mesh import TEST_SIEVE_MM, share_retained

OPENINGS = (0.5, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
"""Shown side by side where no others are asked for. [mm]"""
A_PITY = 0.02
"""Losing more than this is pointed out: our choice. [-]"""


def mesh_sheet(
    crop: str,
    size: Size,
    opening_mm: float,
    *,
    square: bool = True,
    others_mm: Sequence[float] = (),
    grams: float | None = None,
    gels: bool = False,
) -> Sheet:
    """
    Share of dry seed that falls through an opening, and through others beside it.

    Parameters
    ----------
    crop : str
        Its name.
    size : Size
        How wide it is, how much that differs, how thick.
    opening_mm : float
        Side of the hole, or its diameter. [mm]
    square : bool
        False for round holes.
    others_mm : sequence of float
        Openings for the table; empty: those around the seed's own size. [mm]
    grams : float or None
        Seed on a tray, to say how much is lost. [g]
    gels : bool
        Whether the crop's seed grows a coat of gel when wet.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a measure is out of range.
    """
    falls = _falls(size, opening_mm, square)
    lost = (Amount(name="lost of a tray", value=falls * grams, unit="g", kind="mass"),) if grams is not None else ()
    return Sheet(
        bench="seed",
        task="mesh",
        title=f"What dry {crop} seed falls through.",
        given=_given(crop, size, opening_mm, square=square, grams=grams),
        found=(
            Amount(name="falls through", value=falls, unit="-", kind="share"),
            Amount(name="stays on top", value=1 - falls, unit="-", kind="share"),
            *lost,
            Amount(name="opening that keeps 99 in 100", value=keeps(size, 0.99, square=square), unit="mm"),
        ),
        grids=(_grid(size, others_mm or _around(size)),),
        findings=_odd(crop, falls, opening_mm),
        holds=_holds(gels),
        sources=tuple(dict.fromkeys((*size.sources, "astm_e11", "computed"))),
    )


def _falls(size: Size, opening_mm: float, square: bool) -> float:
    held = share_retained(size.width_mm, size.sd_mm, opening_mm, thickness_mm=size.thickness_mm, square_holes=square)
    return 1 - held


def keeps(size: Size, share: float, *, square: bool = True) -> float:
    """The widest opening that still holds this share of the seed, by halving. [mm]"""
    low, high = 1e-3 * size.width_mm, 2 * size.width_mm
    for _ in range(60):
        middle = (low + high) / 2
        if 1 - _falls(size, middle, square) >= share:
            low = middle
        else:
            high = middle
    return low


def _given(crop: str, size: Size, opening_mm: float, *, square: bool, grams: float | None) -> tuple[Amount, ...]:
    hole = "side of a square hole" if square else "diameter of a round hole"
    thick = size.thickness_mm
    return (
        Amount(name="crop", value=crop),
        Amount(name="opening", value=opening_mm, unit="mm", note=f"{hole}{_sieve(opening_mm)}"),
        Amount(name="seed width", value=size.width_mm, unit="mm", note=size.basis),
        Amount(name="differs by", value=size.sd_mm, unit="mm", note="standard deviation"),
        *((Amount(name="thickness", value=thick, unit="mm"),) if thick is not None else ()),
        *((Amount(name="seed on a tray", value=grams, unit="g", kind="mass"),) if grams is not None else ()),
    )


def _sieve(opening_mm: float) -> str:
    number = next((each for each, mm in TEST_SIEVE_MM.items() if abs(mm - opening_mm) < 1e-9), None)
    return f", test sieve No. {number}" if number is not None else ""


def _around(size: Size) -> tuple[float, ...]:
    near = tuple(each for each in OPENINGS if 0.4 * size.width_mm <= each <= 1.6 * size.width_mm)
    return near or (round(size.width_mm, 2),)


def _grid(size: Size, openings: Sequence[float]) -> Grid:
    rows = tuple(
        (f"{each:g} mm", _percent(_falls(size, each, True)), _percent(_falls(size, each, False)))
        for each in sorted(openings)
    )
    return Grid(title="Falls through", columns=("Opening", "Square holes", "Round holes"), rows=rows)


def _percent(share: float) -> str:
    if share < 0.0005:
        return "none"
    return "all" if share > 0.9995 else f"{100 * share:.3g} %"


def _odd(crop: str, falls: float, opening_mm: float) -> tuple[Finding, ...]:
    if falls <= A_PITY:
        return ()
    remedy = "Take a finer mesh, or lay paper under the seed until it has rooted."
    message = f"opening = {opening_mm:g} mm: about {100 * falls:.2g} % of dry {crop} seed falls through."
    return (Finding(code="seed-falls-through", severity="odd", message=message, remedy=remedy),)


def _holds(gels: bool) -> tuple[str, ...]:
    first = (
        "Dry seed that is shaken until it stands on end and finds a hole, widths spread like a bell: the most that can "
        "fall. Sown gently, less does.",
        "Measure the clear hole, not from thread to thread; weave differs.",
    )
    wet = "Wet, this seed grows a coat of gel and sticks (from memory): mist the mesh before you sow."
    return (*first, wet) if gels else first
