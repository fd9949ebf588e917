"""Lamps over a shelf: how their light spreads, and where they hang.

Lengths are in mm. The shelf lies in the plane z = 0, at the height of the leaves: x along its length, y along its
width, from its lower left corner. Lamps hang above it and shine down.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from trayward.errors import InputError
from trayward.science.either import require_each

MOST_POWER = 100.0
"""Beams narrower than about 13 degrees belong on a stage. [-]"""


class Beam(msgspec.Struct, frozen=True, kw_only=True):
    """
    How a lamp's light spreads: as the cosine of the angle from straight down, to a power.

    `power` 1 is a Lambertian lamp, as bare LED bars and flat panels are: half as bright at 60 degrees (a beam of 120
    degrees). 0 is the same in every direction downwards. `all_round` shines the same up and down, like a bare bulb.
    """

    power: float = 1.0
    all_round: bool = False

    @property
    def straight_down(self) -> float:
        """Intensity straight down for each photon given. [1/sr]"""
        return 1 / (4 * math.pi) if self.all_round else (self.power + 1) / (2 * math.pi)


LAMBERTIAN = Beam()
ALL_ROUND = Beam(power=0.0, all_round=True)


def beam_of_angle(degrees: float) -> Beam:
    """
    The beam whose light is half as bright at its edge: what a lamp's sheet calls its beam angle.

    Parameters
    ----------
    degrees : float
        Full angle between the edges where the intensity is half of that straight down. [degrees] Valid 15 to 180.

    Returns
    -------
    Beam
        With power ln(1/2) / ln(cos(angle / 2)); 180 degrees is the same in every direction downwards.

    Raises
    ------
    InputError
        If the angle is out of range.

    Examples
    --------
    >>> round(beam_of_angle(120).power, 6), round(beam_of_angle(60).power, 2)
    (1.0, 4.82)
    """
    remedy = "Bare LED bars have about 120 degrees; the lamp's sheet says."
    require_each("beam angle", degrees, 15, 180, "degrees", remedy)
    edge = math.cos(math.radians(degrees / 2))
    return Beam(power=math.log(0.5) / math.log(edge) if edge > 1e-12 else 0.0)


class HungLamp(msgspec.Struct, frozen=True, kw_only=True):
    """
    One lamp over a shelf, by its middle: a point, a bar (`length_mm`), or a panel (`width_mm` too). [mm]

    `angle_deg` turns a bar from the shelf's length towards its width [degrees].
    """

    x_mm: float
    y_mm: float
    height_mm: float
    """Above the leaves."""
    umol_s: float
    """Photon output. [umol/s]"""
    length_mm: float = 0.0
    width_mm: float = 0.0
    angle_deg: float = 0.0
    beam: Beam = LAMBERTIAN

    @property
    def ends(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Both ends of its middle line, seen from above. [mm]"""
        along = math.radians(self.angle_deg)
        across, up = self.length_mm / 2 * math.cos(along), self.length_mm / 2 * math.sin(along)
        return (self.x_mm - across, self.y_mm - up), (self.x_mm + across, self.y_mm + up)


def require_lamp_height(height_mm: float) -> None:
    """Refuse heights no lamp hangs at over a shelf. [mm]"""
    remedy = "Measure from the lamp's face down to the leaves."
    require_each("lamp height", height_mm, 0, 20_000, "mm", remedy, above=True)


def require_spacing(spacing_mm: float) -> None:
    """Refuse spacings no shelf has. [mm]"""
    remedy = "Measure from the middle of one lamp to the middle of the next."
    require_each("spacing", spacing_mm, 0, 20_000, "mm", remedy)


def require_lamps(lamps: Sequence[HungLamp]) -> None:
    """Refuse lamps that cannot hang so."""
    if not lamps:
        raise InputError("lamps", 0, "there must be one at least", "Say how many lamps hang over the shelf.")
    for lamp in lamps:
        require_lamp_height(lamp.height_mm)
        require_each("photon output", lamp.umol_s, 0, 1e6, "umol/s", "Watts x umol/J gives it.")
        require_each("lamp length", lamp.length_mm, 0, 20_000, "mm", "Measure the part that shines.")
        require_each("lamp width", lamp.width_mm, 0, 20_000, "mm", "Measure the part that shines.")
        require_each("beam power", lamp.beam.power, 0, MOST_POWER, "", "Bare LED bars have 1.")
        if not all(math.isfinite(value) for value in (lamp.x_mm, lamp.y_mm, lamp.angle_deg)):
            place = f"{lamp.x_mm:g}, {lamp.y_mm:g}, {lamp.angle_deg:g}"
            raise InputError("lamp place", place, "must be numbers", "Measure from a corner of the shelf.")


def lamps_in_rows(
    count: int,
    *,
    over_mm: tuple[float, float],
    height_mm: float,
    spacing_mm: float,
    umol_s: float,
    length_mm: float = 0.0,
    width_mm: float = 0.0,
    beam: Beam = LAMBERTIAN,
    across: bool = False,
) -> tuple[HungLamp, ...]:
    """
    Lamps that are alike, side by side at one height over the middle of a shelf.

    Parameters
    ----------
    count : int
        How many. [-] Valid from 1.
    over_mm : (float, float)
        Length and width of the shelf. [mm] Valid above 0.
    height_mm : float
        Above the leaves. [mm] Valid above 0.
    spacing_mm : float
        From the middle of one to the middle of the next. [mm] Valid from 0.
    umol_s : float
        Photon output of one. [umol/s] Valid from 0.
    length_mm, width_mm : float
        The part that shines. [mm] Valid from 0.
    beam : Beam
        How their light spreads.
    across : bool
        True: bars lie along the shelf's width, side by side along its length.

    Returns
    -------
    tuple of HungLamp

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> [lamp.y_mm for lamp in lamps_in_rows(3, over_mm=(1016, 508), height_mm=300, spacing_mm=170, umol_s=44)]
    [84.0, 254.0, 424.0]
    """
    require_each("lamps", count, 1, 1000, "", "Say how many lamps hang over the shelf.")
    require_spacing(spacing_mm)
    middle = (over_mm[0] / 2, over_mm[1] / 2)
    steps = [(number - (count - 1) / 2) * spacing_mm for number in range(count)]
    lamps = tuple(
        HungLamp(
            x_mm=middle[0] + (step if across else 0.0),
            y_mm=middle[1] + (0.0 if across else step),
            height_mm=height_mm,
            umol_s=umol_s,
            length_mm=length_mm,
            width_mm=width_mm,
            angle_deg=90.0 if across else 0.0,
            beam=beam,
        )
        for step in steps
    )
    require_lamps(lamps)
    return lamps
