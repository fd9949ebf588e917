"""A shelf and the lamps over it as a grower says them, with what is usual where nothing is said."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

import msgspec

from trayward.errors import Finding, InputError
from trayward.farm.recipes import TraySize
from trayward.science.either import require_each
from trayward.science.light import require_hours
from trayward.science.light_power import EFFICACY_OF_LEDS, photon_output, require_efficacy

if TYPE_CHECKING:
    from trayward.science.lamps import Beam, HungLamp
    from trayward.science.light_map import LitShelf, Walls

TRAYS, LAMPS, WATTS, HOURS = 4, 3, 20.0, 16.0
"""Three 20 W lamps over four trays, 16 h a day: common practice, no source."""
EFFICACY = 2.2
"""Photons a joule of a plain white LED bar whose sheet says none. [umol/J] Common practice, no source."""
HEIGHT_MM = 250.0
"""Lamps above leaves on a rack. [mm] Common practice, no source."""
ABOVE_LAMPS_MM = 50.0
"""From the lamps' faces to the shelf they hang from. [mm] Common practice, no source."""
Side = Literal["left", "right", "front", "back"]
SIDES: tuple[Side, ...] = ("left", "right", "front", "back")
MAINS = (
    "Mains power near water: let cords hang in drip loops, plug in where a residual current device (GFCI) guards, and "
    "keep plugs out of the wet. The lamp's label, local code and a licensed electrician decide."
)
EYES = "Do not stare into bright lamps; switch them off or shade your eyes when you look closely."


class Layout(msgspec.Struct, frozen=True, kw_only=True):
    """What hangs over which ground. Lengths in mm, from the leaves up."""

    length_mm: float
    width_mm: float
    """The ground that trays stand on."""
    trays: int
    tray_mm: tuple[float, float] = (508.0, 254.0)
    """Long and short side of one."""
    shelf: str = ""
    """Name of the farm's shelf, where it is one."""
    count: int = LAMPS
    watts: float | None = WATTS
    """Power of one lamp; None where only its photons are known. [W]"""
    umol_s: float = WATTS * EFFICACY
    """Photons of one lamp. [umol/s]"""
    photons_from: str = ""
    """How its photons are known: `20 W x 2.2 umol/J, usual`."""
    lamp_length_mm: float = 0.0
    lamp_width_mm: float = 0.0
    height_mm: float = HEIGHT_MM
    spacing_mm: float = 0.0
    across: bool = False
    beam_power: float = 1.0
    all_round: bool = False
    beam: str = "120 degrees"
    """The beam in words."""
    walls: float = 0.0
    """Share of light that the sides throw back. [-]"""
    open_sides: tuple[Side, ...] = ()
    gap_mm: float | None = None
    """From the leaves to the shelf above; None: just over the lamps."""
    hours: float = HOURS

    @property
    def ground(self) -> LitShelf:
        """The shelf to be lit."""
        from trayward.science.light_map import LitShelf

        return LitShelf(length_mm=self.length_mm, width_mm=self.width_mm)

    @property
    def efficacy(self) -> float | None:
        """Photons a joule, where power is known. [umol/J]"""
        return self.umol_s / self.watts if self.watts else None

    @property
    def beam_law(self) -> Beam:
        """How the light spreads."""
        from trayward.science.lamps import ALL_ROUND, Beam

        return ALL_ROUND if self.all_round else Beam(power=self.beam_power)

    @property
    def widest_mm(self) -> float:
        """Widest spacing that keeps all lamps over the shelf. [mm]"""
        side = self.length_mm if self.across else self.width_mm
        return max(0.0, (side - self.lamp_width_mm) / (self.count - 1)) if self.count > 1 else 0.0

    def hung(self, height_mm: float | None = None, spacing_mm: float | None = None) -> tuple[HungLamp, ...]:
        """The lamps, at their own height and spacing or at others. [mm]"""
        from trayward.science.lamps import lamps_in_rows

        return lamps_in_rows(
            self.count,
            over_mm=(self.length_mm, self.width_mm),
            height_mm=self.height_mm if height_mm is None else height_mm,
            spacing_mm=self.spacing_mm if spacing_mm is None else spacing_mm,
            umol_s=self.umol_s,
            length_mm=self.lamp_length_mm,
            width_mm=self.lamp_width_mm,
            beam=self.beam_law,
            across=self.across,
        )

    @property
    def places(self) -> tuple[tuple[float, float, float, float], ...]:
        """Where its trays stand, laid across the shelf: left, front, length, width; none where they do not fit. [mm]"""
        long, short = self.tray_mm
        left, front = (self.length_mm - self.trays * short) / 2, (self.width_mm - long) / 2
        if min(left, front) < -1e-6:
            return ()
        return tuple((left + number * short, front, short, long) for number in range(self.trays))

    def box(self, highest_mm: float | None = None) -> Walls | None:
        """The sides around the shelf, up to the shelf above, which is taken as black; None where all is open."""
        from trayward.science.light_map import Walls

        if self.walls == 0:
            return None
        top = self.gap_mm or (highest_mm or self.height_mm) + ABOVE_LAMPS_MM
        white = {side: 0.0 if side in self.open_sides else self.walls for side in SIDES}
        return Walls(height_mm=top, **white)


def make_layout(
    *,
    trays: int | None = None,
    size_mm: tuple[float, float] | None = None,
    tray: TraySize | None = None,
    count: int = LAMPS,
    watts: float | None = None,
    efficacy: float | None = None,
    umol_s: float | None = None,
    lamp_length_mm: float | None = None,
    spacing_mm: float | None = None,
    across: bool = False,
    **more: object,
) -> Layout:
    """
    A layout from what is said of it; the rest is as usual.

    Parameters
    ----------
    trays : int or None
        Trays side by side on the shelf, long sides together; 4 if neither they nor a size are said. [-]
    size_mm : (float, float) or None
        Length and width of the ground; None: as much as the trays take up. [mm]
    tray : TraySize or None
        Their size; None: 1020.
    count, watts, efficacy, umol_s
        Lamps, power of one [W], photons a joule [umol/J], photons of one [umol/s]. Photons are power x efficacy where
        they are not said.
    lamp_length_mm : float or None
        None: as long as the side of the shelf they lie along. [mm]
    spacing_mm : float or None
        From middle to middle; None: each over the middle of its own strip of the shelf. [mm]
    across : bool
        They lie along the shelf's short side.
    **more
        Other fields of `Layout`.

    Returns
    -------
    Layout

    Raises
    ------
    InputError
        If a value is out of range, or both photons and efficacy are said.

    Examples
    --------
    >>> found = make_layout()
    >>> found.count, found.umol_s, found.length_mm, round(found.spacing_mm)
    (3, 44.0, 1016.0, 169)
    """
    tray = tray or TraySize()
    require_each("lamps", count, 1, 100, "", "Say how many lamps hang over the shelf.")
    require_each("trays", trays if trays is not None else 1, 1, 200, "", "Say how many trays stand on the shelf.")
    length, width = size_mm or ((trays or TRAYS) * tray.width_mm, tray.length_mm)
    require_each("shelf length", length, 0, 20_000, "mm", "Measure the ground where trays stand.", above=True)
    require_each("shelf width", width, 0, 20_000, "mm", "Measure the ground where trays stand.", above=True)
    side, along = (length, width) if across else (width, length)
    photons, words, power = _photons(watts, efficacy, umol_s)
    found = Layout(
        length_mm=length,
        width_mm=width,
        tray_mm=(tray.length_mm, tray.width_mm),
        trays=trays or (trays_on(length, width, tray) if size_mm else TRAYS),
        count=count,
        watts=power,
        umol_s=photons,
        photons_from=words,
        lamp_length_mm=along if lamp_length_mm is None else lamp_length_mm,
        spacing_mm=side / count if spacing_mm is None else spacing_mm,
        across=across,
        **more,  # type: ignore[arg-type]
    )
    require_hours(found.hours)
    return found


def trays_on(length_mm: float, width_mm: float, tray: TraySize | None = None) -> int:
    """
    How many trays fit on a ground, all laid the same way.

    Examples
    --------
    >>> trays_on(1220, 610), trays_on(1220, 460)
    (4, 2)
    """
    tray = tray or TraySize()
    short, long = tray.width_mm - 1e-6, tray.length_mm - 1e-6
    ways = ((short, long), (long, short))
    return max(int(length_mm // one) * int(width_mm // other) for one, other in ways)


def _photons(watts: float | None, efficacy: float | None, umol_s: float | None) -> tuple[float, str, float | None]:
    """Photons of one lamp [umol/s], how they are known, and its power [W]."""
    if umol_s is not None and efficacy is not None:
        rule = "the lamp's photons are already said"
        raise InputError("efficacy", f"{efficacy:g}", rule, "Give one of the two.", "umol/J")
    if umol_s is not None:
        require_each("photon output", umol_s, 0, 1e6, "umol/s", "Look on the lamp's sheet for umol/s.", above=True)
        if watts:
            require_efficacy(umol_s / watts)
        return umol_s, "as said", watts
    power = WATTS if watts is None else watts
    require_each(
        "watts", power, 0, 1e6, "W", "Read the power at the wall from the lamp's label or a meter.", above=True
    )
    usual = efficacy is None
    each = EFFICACY if efficacy is None else efficacy
    return photon_output(power, each), f"{power:g} W x {each:g} umol/J" + (", usual" if usual else ""), power


def better_than_built(efficacy: float | None) -> tuple[Finding, ...]:
    """Photons a joule that no lamp of today is known to give."""
    if efficacy is None or efficacy <= EFFICACY_OF_LEDS:
        return ()
    message = f"efficacy = {efficacy:.2g} umol/J: LED lamps as built today give {EFFICACY_OF_LEDS:g} at most."
    remedy = "Take watts at the wall, and umol/s of the whole lamp, from its sheet."
    return (Finding(code="efficacy-high", severity="odd", message=message, remedy=remedy),)
