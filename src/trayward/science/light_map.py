"""The light over a shelf, spot by spot, and where all the photons go. Loads numpy: import it late."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError
from trayward.science.either import require_each
from trayward.science.lamps import HungLamp, require_lamps
from trayward.science.light_bars import M2, gauss, light_on
from trayward.science.light_readings import Evenness, uniformity

Floats = NDArray[np.float64]
NODES = 4
"""Points of Gauss on each piece when light is summed over the shelf. [-]"""
MOST_PIECES = 60
"""Pieces a side at most. [-]"""
FINE = 3.0
"""Pieces are no longer than so many times the height of the lowest lamp. [-]"""


class LitShelf(msgspec.Struct, frozen=True, kw_only=True):
    """The ground that is lit, at the height of the leaves. [mm]"""

    length_mm: float
    width_mm: float

    @property
    def area_m2(self) -> float:
        """Its area. [m2]"""
        return self.length_mm * self.width_mm / M2


class Walls(msgspec.Struct, frozen=True, kw_only=True):
    """
    What stands around a shelf from the leaves up to the shelf above, by the share of light that it throws back. [-]

    0 is an open side, or a black one. All are taken as matt: light comes back the same in every direction.
    """

    height_mm: float
    """From the leaves to the shelf above, lamps included. [mm]"""
    left: float = 0.0
    right: float = 0.0
    front: float = 0.0
    back: float = 0.0
    top: float = 0.0
    """The underside of the shelf above."""
    leaves: float = 0.0
    """The crop itself; 0 counts all that falls on it as kept."""

    @property
    def shares(self) -> tuple[float, ...]:
        """Leaves, top, left, right, front, back. [-]"""
        return (self.leaves, self.top, self.left, self.right, self.front, self.back)


class LightMap(msgspec.Struct, frozen=True, kw_only=True):
    """
    Light over a shelf, and the account of its photons.

    `ppfd` (ny, nx) [umol/m2/s], at the middles of equal cells: `x_mm` (nx,), `y_mm` (ny,) [mm]. `emitted`, `on_shelf`
    (what falls on it and stays) and `lost` (past its edges, up, or kept by walls) [umol/s].
    """

    shelf: LitShelf
    lamps: tuple[HungLamp, ...]
    walls: Walls | None
    x_mm: Any
    y_mm: Any
    ppfd: Any
    emitted: float
    on_shelf: float
    lost: float
    evenness: Evenness

    @property
    def share_on_shelf(self) -> float:
        """Share of the photons that stay on the shelf. [-]"""
        return self.on_shelf / self.emitted if self.emitted else 0.0


def light_map(
    lamps: Sequence[HungLamp], shelf: LitShelf, walls: Walls | None = None, cells: tuple[int, int] = (60, 120)
) -> LightMap:
    """
    Light over a shelf.

    Parameters
    ----------
    lamps : sequence of HungLamp
        At least one, above the leaves. With walls they must hang inside them.
    shelf : LitShelf
        The ground. [mm] Sides above 0, up to 20 m.
    walls : Walls or None
        What throws light back; None: open all around.
    cells : (int, int)
        Cells across its width and along its length. [-] Valid 2 to 1000.

    Returns
    -------
    LightMap

    Raises
    ------
    InputError
        If a lamp cannot hang so, a measure or a share is out of range, or a lamp sticks out of the walls.

    Notes
    -----
    Straight light is exact for points and bars (see `light_bars.light_on`); photons on the shelf are summed by Gauss.
    Walls are matt and the light between them is worked out by radiosity on patches, which gives back every photon that
    is not kept: on_shelf + lost = emitted. Lamps shade nothing and leaves are taken as flat.

    Examples
    --------
    >>> from trayward.science.lamps import lamps_in_rows
    >>> lamps = lamps_in_rows(3, over_mm=(1016, 508), height_mm=300, spacing_mm=170, umol_s=44, length_mm=900)
    >>> found = light_map(lamps, LitShelf(length_mm=1016, width_mm=508))
    >>> round(found.evenness.mean), round(found.evenness.min_mean, 2), round(found.share_on_shelf, 2)
    (123, 0.41, 0.48)
    """
    require_lamps(lamps)
    _require_shelf(shelf, cells)
    x, y = middles(shelf.length_mm, cells[1]), middles(shelf.width_mm, cells[0])
    ppfd = straight_map(lamps, x, y)
    emitted = math.fsum(lamp.umol_s for lamp in lamps)
    straight = straight_on_shelf(lamps, shelf)
    on_shelf, lost = straight, emitted - straight
    if walls is not None:
        from trayward.science.light_walls import thrown_back

        require_walls(walls, lamps, shelf)
        more = thrown_back(lamps, shelf, walls, straight)
        ppfd = ppfd + more.over(x, y)
        on_shelf, lost = more.kept_by_leaves, more.kept_elsewhere
    return LightMap(
        shelf=shelf, lamps=tuple(lamps), walls=walls, x_mm=x, y_mm=y, ppfd=ppfd, emitted=emitted, on_shelf=on_shelf,
        lost=lost, evenness=uniformity(ppfd),
    )  # fmt: skip


def middles(length: float, cells: int) -> Floats:
    """Middles of equal cells. [mm]"""
    return np.asarray((np.arange(cells, dtype=float) + 0.5) * (length / cells), dtype=np.float64)


def straight_map(lamps: Sequence[HungLamp], x: Floats, y: Floats) -> Floats:
    """Light straight from the lamps at every crossing of x and y, (ny, nx). [umol/m2/s]"""
    points = np.zeros((len(y) * len(x), 3))
    points[:, 0], points[:, 1] = np.tile(x, len(y)), np.repeat(y, len(x))
    return light_on(lamps, points).reshape(len(y), len(x))


def straight_on_shelf(lamps: Sequence[HungLamp], shelf: LitShelf) -> float:
    """Photons that fall on the shelf straight from the lamps, summed by Gauss. [umol/s]"""
    lowest = min(lamp.height_mm for lamp in lamps)
    x, across = _gauss(shelf.length_mm, lowest)
    y, up = _gauss(shelf.width_mm, lowest)
    return float(up @ straight_map(lamps, x, y) @ across) / M2


def _gauss(length: float, lowest: float) -> tuple[Floats, Floats]:
    """Points along a side and their weights, on pieces as fine as the lowest lamp wants. [mm]"""
    pieces = min(MOST_PIECES, max(3, math.ceil(FINE * length / lowest)))
    nodes, weights = gauss(NODES)
    step = length / pieces
    at = (np.arange(pieces)[:, None] + (nodes + 1) / 2) * step
    return at.ravel(), np.tile(weights * step / 2, pieces)


def _require_shelf(shelf: LitShelf, cells: tuple[int, int]) -> None:
    require_each("shelf length", shelf.length_mm, 0, 20_000, "mm", "Measure the ground where trays stand.", above=True)
    require_each("shelf width", shelf.width_mm, 0, 20_000, "mm", "Measure the ground where trays stand.", above=True)
    for count in cells:
        require_each("cells", count, 2, 1000, "", "60 by 120 is fine enough.")


def require_walls(walls: Walls, lamps: Sequence[HungLamp], shelf: LitShelf) -> None:
    """Refuse walls that give more light than they get, or that lamps stick out of."""
    for share in walls.shares:
        remedy = "Matt white paint or film throws back about 0.9."
        if not 0 <= share < 1:
            raise InputError("wall share", f"{share:g}", "must lie from 0 up to, not with, 1", remedy)
    top = max(lamp.height_mm for lamp in lamps)
    require_each("wall height", walls.height_mm, top, 20_000, "mm", "Walls end at the shelf above, over the lamps.")
    for lamp in lamps:
        half = lamp.width_mm / 2
        for x, y in lamp.ends:
            if not (half * abs(math.sin(math.radians(lamp.angle_deg))) - 1e-6 <= x <= shelf.length_mm + 1e-6
                    and -1e-6 <= y <= shelf.width_mm + 1e-6):  # fmt: skip
                rule = "a lamp ends outside the walls"
                remedy = "Shorten the lamps, bring them closer, or leave the walls out."
                raise InputError("lamp", f"{x:g}, {y:g}", rule, remedy, "mm")
