"""What matt walls around a shelf throw back: radiosity on rectangles, every photon accounted for. Loads numpy.

The shelf, the shelf above and four sides make a closed box. Its faces are cut into patches; what patches give one
another is in closed form, so that the shares from each patch add up to one.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from trayward.science.lamps import HungLamp
from trayward.science.light_bars import M2, gauss, light_on
from trayward.science.light_forms import corner_share, exchange_parallel, exchange_square, side_corner_share
from trayward.science.light_map import LitShelf, Walls, middles

Floats = NDArray[np.float64]

PATCH_MM = 90.0
"""About the side of a patch. [mm] Halving it moves the mean light by under 0.1 %, the darkest corner by up to 3 %."""
FEWEST, MOST = 4, 12
"""Patches a side. [-]"""
GROUND = (20, 40)
"""Cells across and along the shelf at which light from the walls is worked out; others are read off between them."""
NODES = 3
"""Points of Gauss a side of a patch, for straight light. [-]"""


class Face(NamedTuple):
    """A face of the box: the axis it is square to, where on it, the way light goes into it, and its two own axes."""

    axis: int
    at: float
    facing: tuple[float, float, float]
    own: tuple[int, int]


class Box(NamedTuple):
    """Size of the box [mm] and what its faces throw back: leaves, top, left, right, front, back. [-]"""

    size: tuple[float, float, float]
    shares: tuple[float, ...]


class Back(NamedTuple):
    """Light from the walls: over the cells of `GROUND` [umol/m2/s], and the account. [umol/s]"""

    shelf: LitShelf
    ground: Floats
    kept_by_leaves: float
    kept_elsewhere: float
    kept: Floats
    """By face: leaves, top, left, right, front, back."""

    def over(self, x: Floats, y: Floats) -> Floats:
        """Light at every crossing of x and y, (ny, nx). [umol/m2/s]"""
        ys, xs = middles(self.shelf.width_mm, GROUND[0]), middles(self.shelf.length_mm, GROUND[1])
        along = np.array([np.interp(x, xs, row) for row in self.ground])
        return np.array([np.interp(y, ys, column) for column in along.T]).T


def thrown_back(lamps: Sequence[HungLamp], shelf: LitShelf, walls: Walls, straight_on_shelf: float) -> Back:
    """
    Light that walls throw onto a shelf, and where every photon ends.

    Parameters
    ----------
    lamps : sequence of HungLamp
        Inside the box.
    shelf, walls : LitShelf, Walls
        The box.
    straight_on_shelf : float
        Photons that fall on the shelf straight. [umol/s]

    Returns
    -------
    Back

    Notes
    -----
    Light on a patch H = straight + F B, light that it gives B = share x H; solved for all patches at once. What falls
    straight on walls is scaled (by less than 1 %, unless a lamp touches one) to the photons that miss the shelf.

    References
    ----------
    Goral, C. M. and others (1984), Modeling the Interaction of Light between Diffuse Surfaces, SIGGRAPH (from memory).
    """
    box = Box((shelf.length_mm, shelf.width_mm, walls.height_mm), walls.shares)
    solved = _solved(box)
    emitted = math.fsum(lamp.umol_s for lamp in lamps)
    falls = straight_on_faces(lamps, shelf, walls)
    floor = solved.face == 0
    for part, wanted in ((floor, straight_on_shelf), (~floor, emitted - straight_on_shelf)):
        found = float((falls[part] * solved.area[part]).sum())
        falls[part] *= wanted / found if found > 0 else 0.0
    given = solved.give @ falls
    light = falls + solved.seen @ given
    kept: Floats = np.bincount(solved.face, (1 - solved.share) * light * solved.area, minlength=6).astype(float)
    on_floor = float(((light - falls) * solved.area)[floor].sum())
    ground = (solved.ground @ given[~floor]).reshape(GROUND)
    mean = ground.mean() * solved.area[floor].sum()
    ground *= on_floor / mean if mean > 0 else 0.0
    return Back(shelf, ground * M2, float(kept[0]), float(kept[1:].sum()), kept)


def straight_on_faces(lamps: Sequence[HungLamp], shelf: LitShelf, walls: Walls) -> Floats:
    """Light straight from the lamps, mean over each patch of the box, faces in order. [umol/mm2/s]"""
    faces = _faces((shelf.length_mm, shelf.width_mm, walls.height_mm))
    return np.concatenate([_mean_light(lamps, face, patches) for face, patches in faces])


def _mean_light(lamps: Sequence[HungLamp], face: Face, patches: Floats) -> Floats:
    nodes, weights = gauss(NODES)
    first = patches[:, 0, None] + (patches[:, 1] - patches[:, 0])[:, None] * (nodes + 1) / 2
    second = patches[:, 2, None] + (patches[:, 3] - patches[:, 2])[:, None] * (nodes + 1) / 2
    points = np.empty((len(patches), NODES, NODES, 3))
    points[..., face.axis] = face.at
    points[..., face.own[0]] = first[:, :, None]
    points[..., face.own[1]] = second[:, None, :]
    light = light_on(lamps, points.reshape(-1, 3), face.facing).reshape(len(patches), NODES, NODES) / M2
    mean: Floats = np.einsum("nij,i,j->n", light, weights, weights) / 4
    return mean


@lru_cache(maxsize=8)
def _faces(size: tuple[float, float, float]) -> list[tuple[Face, Floats]]:
    """The six faces with their patches (n, 4): from, to on the first own axis, from, to on the second. [mm]"""
    x, y, z = size
    faces = (
        Face(2, 0.0, (0, 0, -1), (0, 1)), Face(2, z, (0, 0, 1), (0, 1)), Face(0, 0.0, (-1, 0, 0), (1, 2)),
        Face(0, x, (1, 0, 0), (1, 2)), Face(1, 0.0, (0, -1, 0), (0, 2)), Face(1, y, (0, 1, 0), (0, 2)),
    )  # fmt: skip
    return [(face, _patches(size[face.own[0]], size[face.own[1]])) for face in faces]


def _patches(first: float, second: float) -> Floats:
    counts = [min(MOST, max(FEWEST, math.ceil(side / PATCH_MM))) for side in (first, second)]
    a, b = (np.linspace(0, side, count + 1) for side, count in zip((first, second), counts, strict=True))
    low = np.stack(np.meshgrid(a[:-1], b[:-1], indexing="ij"), -1).reshape(-1, 2)
    high = np.stack(np.meshgrid(a[1:], b[1:], indexing="ij"), -1).reshape(-1, 2)
    return np.stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1]], axis=1)


class Solved(NamedTuple):
    """A box with its exchange solved, whatever lamps hang in it."""

    face: NDArray[np.intp]
    area: Floats
    share: Floats
    seen: Floats
    """Share of what each patch gives that falls on each, by the receiver's area: F, (n, n). [-]"""
    give: Floats
    """What patches give, for straight light on each: (n, n). [-]"""
    ground: Floats
    """Light on the cells of the shelf for what each patch above it gives. [-]"""


@lru_cache(maxsize=8)
def _solved(box: Box) -> Solved:
    faces = _faces(box.size)
    counts = [len(patches) for _, patches in faces]
    face = np.repeat(np.arange(6), counts)
    every = np.concatenate([patches for _, patches in faces])
    area = (every[:, 1] - every[:, 0]) * (every[:, 3] - every[:, 2])
    share = np.asarray(box.shares)[face]
    seen = view_factors(box.size)
    give: Floats = np.linalg.solve(np.eye(len(area)) - share[:, None] * seen, np.diag(share)).astype(float)
    return Solved(face, area, share, seen, give, _on_ground(faces, box.size))


@lru_cache(maxsize=8)
def view_factors(size: tuple[float, float, float]) -> Floats:
    """Share of what patch i gives that falls on patch j, (n, n), faces in order; every row adds up to 1. [-]"""
    faces = _faces(size)
    ends = np.cumsum([0, *(len(patches) for _, patches in faces)])
    exchange = np.zeros((ends[-1], ends[-1]))
    for i, (one, mine) in enumerate(faces):
        for j, (other, theirs) in enumerate(faces[:i]):
            block = _exchange(one, mine, other, theirs)
            exchange[ends[i] : ends[i + 1], ends[j] : ends[j + 1]] = block
            exchange[ends[j] : ends[j + 1], ends[i] : ends[i + 1]] = block.T
    every = np.concatenate([patches for _, patches in faces])
    area = (every[:, 1] - every[:, 0]) * (every[:, 3] - every[:, 2])
    found: Floats = np.maximum(exchange, 0.0) / area[:, None]
    return found


def _exchange(one: Face, mine: Floats, other: Face, theirs: Floats) -> Floats:
    if one.axis == other.axis:
        return exchange_parallel(mine, theirs, abs(one.at - other.at))
    return exchange_square(_from_line(one, mine, other), _from_line(other, theirs, one))


def _from_line(face: Face, patches: Floats, other: Face) -> Floats:
    """Patches by their distance from the line where two faces meet, and along it. [mm]"""
    across = face.own.index(other.axis)
    off = np.sort(np.abs(patches[:, 2 * across : 2 * across + 2] - other.at), axis=1)
    along = 1 - across
    return np.concatenate([off, patches[:, 2 * along : 2 * along + 2]], axis=1)


def _on_ground(faces: list[tuple[Face, Floats]], size: tuple[float, float, float]) -> Floats:
    """Share of the half sky over each cell of the shelf that each patch of top and sides fills. [-]"""
    y, x = middles(size[1], GROUND[0]), middles(size[0], GROUND[1])
    spots = np.stack([np.tile(x, len(y)), np.repeat(y, len(x))], axis=1)
    return np.concatenate([_fills(spots, face, patches) for face, patches in faces[1:]], axis=1)


def _fills(spots: Floats, face: Face, patches: Floats) -> Floats:
    if face.axis == 2:
        x = [patches[None, :, end] - spots[:, 0, None] for end in (0, 1)]
        y = [patches[None, :, end] - spots[:, 1, None] for end in (2, 3)]
        found = (corner_share(x[i], y[j], face.at) * (1 if i == j else -1) for i in (0, 1) for j in (0, 1))
        return np.asarray(sum(found))
    along = face.own[0]
    away = np.abs(spots[:, face.axis] - face.at)[:, None]
    y = [patches[None, :, end] - spots[:, along, None] for end in (0, 1)]
    z = [patches[None, :, end] for end in (2, 3)]
    found = (side_corner_share(y[i], z[j], away) * (1 if i == j else -1) for i in (0, 1) for j in (0, 1))
    return np.asarray(sum(found))
