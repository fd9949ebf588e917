"""Light over a shelf against photons thrown one by one: another method altogether, with chance in it."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from trayward.science.lamps import ALL_ROUND, LAMBERTIAN, Beam, HungLamp, beam_of_angle, lamps_in_rows
from trayward.science.light_map import LitShelf, Walls, light_map

Floats = NDArray[np.float64]
SIZE = (1016.0, 508.0)
SHELF = LitShelf(length_mm=SIZE[0], width_mm=SIZE[1])
PHOTONS = 400_000
"""The chance in a share of 0.5 is then 0.0008 (standard deviation); 0.004 is five of them."""
NEAR = 0.004


def matt(count: int, power: float, rng: np.random.Generator) -> Floats:
    """Directions about +z, as the cosine to a power (1: matt), (count, 3)."""
    up = rng.random(count) ** (1 / (power + 1))  # intensity cos^m in solid angle: P(cos > c) = 1 - c^(m+1)
    turn = 2 * math.pi * rng.random(count)
    out = np.sqrt(1 - up * up)
    return np.stack([out * np.cos(turn), out * np.sin(turn), up], axis=1)


def thrown(lamps: tuple[HungLamp, ...], rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Where photons begin and where they head, all lamps being alike."""
    which = rng.integers(len(lamps), size=PHOTONS)
    ends = np.array([(*lamp.ends[0], *lamp.ends[1]) for lamp in lamps])[which]
    part = rng.random(PHOTONS)[:, None]
    at = ends[:, :2] + part * (ends[:, 2:] - ends[:, :2])
    start = np.concatenate([at, np.full((PHOTONS, 1), lamps[0].height_mm)], axis=1)
    beam = lamps[0].beam
    if beam.all_round:
        z = rng.uniform(-1, 1, PHOTONS)
        turn = 2 * math.pi * rng.random(PHOTONS)
        return start, np.stack([np.sqrt(1 - z * z) * np.cos(turn), np.sqrt(1 - z * z) * np.sin(turn), z], axis=1)
    return start, matt(PHOTONS, beam.power, rng) * (1, 1, -1)


def strike(at: Floats, way: Floats, top: float) -> tuple[Floats, NDArray[np.intp], NDArray[np.bool_]]:
    """Where each photon meets the box, on which axis, and whether at its far side."""
    far = way > 0
    edge = np.where(far, (*SIZE, top), 0.0)
    with np.errstate(divide="ignore"):
        reach = np.where(way == 0, np.inf, (edge - at) / way)
    axis = reach.argmin(axis=1)
    rows = np.arange(len(at))
    met = at + reach[rows, axis, None] * way
    met[rows, axis] = edge[rows, axis]
    return met, axis, far[rows, axis]


def kept_by_face(lamps: tuple[HungLamp, ...], walls: Walls, seed: int) -> tuple[Floats, Floats]:
    """Share of the photons that each face keeps (leaves, top, left, right, front, back), and those met first."""
    rng = np.random.default_rng(seed)
    at, way = thrown(lamps, rng)
    face_of = np.array([[2, 3], [4, 5], [0, 1]])
    kept, first = np.zeros(6), None
    while len(at):
        at, axis, far = strike(at, way, walls.height_mm)
        face = face_of[axis, far.astype(int)]
        first = np.bincount(face, minlength=6) if first is None else first
        back = rng.random(len(at)) < np.array(walls.shares)[face]
        kept += np.bincount(face[~back], minlength=6)
        at, axis, far = at[back], axis[back], far[back]
        way = matt(len(at), 1.0, rng)
        way[:, 2] *= np.where(far, -1, 1)
        # The new way is about the face's own axis: its upright part goes there.
        for number in (0, 1):
            on = axis == number
            way[on, number], way[on, 2] = way[on, 2].copy(), way[on, number].copy()
    assert first is not None
    return kept / PHOTONS, first / PHOTONS


def bars(beam: Beam, length: float = 900.0) -> tuple[HungLamp, ...]:
    """Three bars over the shelf."""
    return lamps_in_rows(3, over_mm=SIZE, height_mm=250, spacing_mm=170, umol_s=44, length_mm=length, beam=beam)


WALLS = {
    "all white": Walls(height_mm=400, left=0.85, right=0.85, front=0.85, back=0.85),
    "back alone": Walls(height_mm=350, back=0.9),
    "a white top and pale leaves": Walls(height_mm=400, left=0.6, back=0.9, top=0.8, leaves=0.2),
}


@pytest.mark.parametrize("walls", WALLS)
@pytest.mark.parametrize("beam", [LAMBERTIAN, beam_of_angle(90), ALL_ROUND], ids=["120", "90", "all round"])
def test_walls_send_as_many_photons_to_the_leaves_as_when_each_is_followed(walls: str, beam: Beam) -> None:
    lamps = bars(beam)
    found = light_map(lamps, SHELF, WALLS[walls])
    kept, first = kept_by_face(lamps, WALLS[walls], seed=11)
    assert kept.sum() == pytest.approx(1)
    assert found.share_on_shelf == pytest.approx(kept[0], abs=NEAR)
    assert light_map(lamps, SHELF).share_on_shelf == pytest.approx(first[0], abs=NEAR)


@pytest.mark.parametrize("beam", [LAMBERTIAN, Beam(power=3.3)], ids=["120", "narrow"])
def test_photons_fall_where_the_map_has_them(beam: Beam) -> None:
    """Counted on 4 by 8 fields of the shelf: each is within five standard deviations of its count."""
    lamps = bars(beam, 600.0)
    at, way = thrown(lamps, np.random.default_rng(5))
    met, axis, far = strike(at, way, 10_000.0)
    on = (axis == 2) & ~far
    counts, _, _ = np.histogram2d(met[on, 1], met[on, 0], bins=(4, 8), range=((0, SIZE[1]), (0, SIZE[0])))
    found = light_map(lamps, SHELF, cells=(80, 160))
    share = found.ppfd.reshape(4, 20, 8, 20).mean(axis=(1, 3)) * SHELF.area_m2 / 32 / found.emitted
    assert (np.abs(counts - PHOTONS * share) < 5 * np.sqrt(PHOTONS * share)).all()
