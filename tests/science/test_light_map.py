"""The light over a shelf: photons are kept account of, lamps add up, more height is never brighter below one lamp."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.science.lamps import ALL_ROUND, LAMBERTIAN, Beam, HungLamp, beam_of_angle, lamps_in_rows
from trayward.science.light_bars import cosines, light_on
from trayward.science.light_best import best_layout
from trayward.science.light_map import LitShelf, Walls, light_map, straight_on_shelf
from trayward.science.light_walls import straight_on_faces, thrown_back, view_factors

SHELF = LitShelf(length_mm=1016, width_mm=508)
OVER = (SHELF.length_mm, SHELF.width_mm)
CELLS = (12, 24)

BEAMS = st.one_of(st.just(ALL_ROUND), st.just(LAMBERTIAN), st.floats(0, 20).map(lambda power: Beam(power=power)))
SMOOTH = st.one_of(st.just(ALL_ROUND), st.floats(1, 5).map(lambda power: Beam(power=power)))
"""Beams that do not break off at the height of the lamp, so that few points sum them well."""
LAMPS = st.builds(
    HungLamp,
    x_mm=st.floats(0, 1016),
    y_mm=st.floats(0, 508),
    height_mm=st.floats(80, 800),
    umol_s=st.floats(1, 200),
    length_mm=st.one_of(st.just(0.0), st.floats(1, 1200)),
    angle_deg=st.floats(-90, 90),
    beam=BEAMS,
)


def three(height: float = 250.0, spacing: float = 170.0, **more: object) -> tuple[HungLamp, ...]:
    """Three bars of 44 umol/s over the shelf."""
    said = {"umol_s": 44.0, "length_mm": 900.0, **more}
    return lamps_in_rows(3, over_mm=OVER, height_mm=height, spacing_mm=spacing, **said)  # type: ignore[arg-type]


def white(share: float, height: float = 400.0, **more: float) -> Walls:
    """The same white all around, the shelf above black."""
    return Walls(height_mm=height, left=share, right=share, front=share, back=share, **more)


# A bar ----------------------------------------------------------------------------------------------------------------


@given(LAMPS, st.floats(-500, 1500), st.floats(-500, 1000))
@settings(max_examples=60)
def test_a_bar_is_as_many_points_in_a_row(lamp: HungLamp, x: float, y: float) -> None:
    """The closed form against 4000 point lamps along the bar."""
    spot = np.array([[x, y, 0.0]])
    count = 4000
    (x0, y0), (x1, y1) = lamp.ends
    parts = (np.arange(count) + 0.5) / count
    away = np.stack([x - (x0 + parts * (x1 - x0)), y - (y0 + parts * (y1 - y0)), np.full(count, -lamp.height_mm)], 1)
    r = np.sqrt((away**2).sum(1))
    wanted = (lamp.umol_s * lamp.beam.straight_down * (lamp.height_mm / r) ** (lamp.beam.power + 1) / r**2).mean()
    assert float(light_on([lamp], spot)[0]) == pytest.approx(1e6 * wanted, rel=1e-5, abs=1e-9)


@given(st.floats(0, 30), st.floats(-50, 50))
def test_whole_and_broken_powers_of_the_cosine_meet(power: float, tangent: float) -> None:
    """Closed form and table against Gauss with 200 points on the same angle."""
    nodes, weights = np.polynomial.legendre.leggauss(200)
    end = math.atan(tangent)
    for k in (round(power), power):
        wanted = float((np.cos(end * (nodes + 1) / 2) ** k * weights).sum()) * end / 2
        found = float(cosines(k, np.array([tangent]), np.array([1.0]))[0])
        assert found == pytest.approx(wanted, abs=1e-7 if 0 < k < 1 else 1e-10)


def test_a_beam_angle_is_where_light_is_half() -> None:
    for degrees in (30, 60, 90, 120):
        assert math.cos(math.radians(degrees / 2)) ** beam_of_angle(degrees).power == pytest.approx(0.5)
    assert beam_of_angle(180).power == 0


def test_turning_the_shelf_turns_the_map() -> None:
    along = light_map(three(), SHELF, cells=(20, 40))
    turned = lamps_in_rows(3, over_mm=OVER[::-1], height_mm=250, spacing_mm=170, umol_s=44, length_mm=900, across=True)
    other = light_map(turned, LitShelf(length_mm=508, width_mm=1016), cells=(40, 20))
    assert other.ppfd == pytest.approx(along.ppfd.T, rel=1e-9)


# What must always hold ------------------------------------------------------------------------------------------------


@given(st.lists(LAMPS, min_size=1, max_size=4), st.lists(LAMPS, min_size=1, max_size=4))
@settings(max_examples=30)
def test_lamps_add_up(some: list[HungLamp], others: list[HungLamp]) -> None:
    both = light_map([*some, *others], SHELF, cells=CELLS).ppfd
    apart = light_map(some, SHELF, cells=CELLS).ppfd + light_map(others, SHELF, cells=CELLS).ppfd
    assert both == pytest.approx(apart, rel=1e-9)
    assert (both > 0).all()


@given(LAMPS, st.floats(1.0, 4.0))
@settings(max_examples=50)
def test_more_height_never_raises_the_peak_below_one_lamp(lamp: HungLamp, times: float) -> None:
    def peak(height: float) -> float:
        higher = HungLamp(
            x_mm=508, y_mm=254, height_mm=height, umol_s=lamp.umol_s, length_mm=lamp.length_mm, beam=lamp.beam
        )
        return light_map([higher], SHELF, cells=(13, 25)).evenness.most

    assert peak(lamp.height_mm * times) <= peak(lamp.height_mm) * (1 + 1e-9)


@given(st.floats(100, 500), st.floats(0, 900), SMOOTH)
@settings(max_examples=15, deadline=None)
def test_photons_on_the_shelf_and_through_the_sides_are_all_there_are(height: float, long: float, beam: Beam) -> None:
    """Light on the black walls of a box is summed by itself, 3 by 3 points a patch: 1 % is what that leaves open."""
    lamps = three(height, 120, length_mm=long, beam=beam)
    walls = white(0.0, height + 100)
    on_faces = straight_on_faces(lamps, SHELF, walls)
    elsewhere = float((on_faces * patch_areas(walls.height_mm))[cells_of_floor(walls.height_mm) :].sum())
    assert straight_on_shelf(lamps, SHELF) + elsewhere == pytest.approx(132, rel=0.01)


def patch_areas(height: float) -> np.ndarray:
    """Area of each patch of the box. [mm2]"""
    from trayward.science.light_walls import _faces

    every = np.concatenate([patches for _, patches in _faces((*OVER, height))])
    return np.asarray((every[:, 1] - every[:, 0]) * (every[:, 3] - every[:, 2]))


def cells_of_floor(height: float) -> int:
    """How many patches the shelf has; they come first."""
    from trayward.science.light_walls import _faces

    return len(_faces((*OVER, height))[0][1])


@given(LAMPS)
@settings(max_examples=30)
def test_the_shelf_never_gets_more_than_the_lamps_give(lamp: HungLamp) -> None:
    found = light_map([lamp], SHELF, cells=CELLS)
    assert 0 < found.on_shelf < found.emitted
    assert found.on_shelf + found.lost == pytest.approx(found.emitted, rel=1e-12)


def test_a_shelf_without_end_gets_all_of_a_downward_lamp_and_half_of_an_all_round_one() -> None:
    huge = LitShelf(length_mm=20_000, width_mm=20_000)
    shares = []
    for beam in (LAMBERTIAN, Beam(power=3), ALL_ROUND):
        lamp = HungLamp(x_mm=10_000, y_mm=10_000, height_mm=500, umol_s=50, length_mm=900, beam=beam)
        shares.append(light_map([lamp], huge, cells=CELLS).share_on_shelf)
    # Below a Lambertian lamp a disc of radius 10 m at 0.5 m gets r2 / (r2 + h2) = 0.9975, the square a little more.
    assert shares[0] == pytest.approx(0.998, abs=0.001)
    assert shares[1] == pytest.approx(1.0, abs=0.0001)
    assert 0.45 < shares[2] < 0.5


def test_light_far_below_a_bar_is_that_of_a_point() -> None:
    """At 20 lengths the closed form of a bar is the inverse-square law within 0.1 %."""
    bar, point = (HungLamp(x_mm=0, y_mm=0, height_mm=10_000, umol_s=50, length_mm=long) for long in (500, 0))
    spot = np.zeros((1, 3))
    assert light_on([bar], spot) == pytest.approx(light_on([point], spot), rel=1e-3)


# Walls ----------------------------------------------------------------------------------------------------------------


def test_patches_of_a_box_give_one_another_all_they_give() -> None:
    seen = view_factors((1016.0, 508.0, 400.0))
    assert seen.sum(axis=1) == pytest.approx(np.ones(len(seen)), abs=1e-9)


@given(st.floats(0, 0.99), st.floats(0, 0.95), st.floats(0, 0.5), BEAMS)
@settings(max_examples=25, deadline=None)
def test_walls_keep_or_give_back_every_photon(sides: float, top: float, leaves: float, beam: Beam) -> None:
    found = light_map(three(beam=beam), SHELF, white(sides, top=top, leaves=leaves), CELLS)
    assert found.on_shelf + found.lost == pytest.approx(found.emitted, rel=1e-9)
    # What falls on the leaves less what they throw back; the map's 12 x 24 cells are within 1 % of the sum.
    assert found.ppfd.mean() * SHELF.area_m2 * (1 - leaves) == pytest.approx(found.on_shelf, rel=0.01)


@given(st.floats(0, 0.9), st.floats(0.01, 0.09))
@settings(max_examples=20, deadline=None)
def test_whiter_walls_never_make_a_shelf_darker_anywhere(share: float, more: float) -> None:
    darker, whiter = (light_map(three(), SHELF, white(each), CELLS) for each in (share, share + more))
    assert (whiter.ppfd >= darker.ppfd - 1e-9).all()
    assert whiter.on_shelf > darker.on_shelf


def test_black_walls_change_nothing() -> None:
    bare, walled = light_map(three(), SHELF), light_map(three(), SHELF, white(0.0))
    assert walled.ppfd == pytest.approx(bare.ppfd)
    assert walled.on_shelf == pytest.approx(bare.on_shelf)


def test_a_closed_white_box_brings_nearly_all_light_to_the_leaves() -> None:
    """All faces of 0.999: by the flux balance of a box only the leaves keep light to speak of."""
    found = light_map(three(), SHELF, white(0.999, top=0.999))
    assert found.share_on_shelf > 0.99


def test_one_white_wall_lights_its_own_side_more() -> None:
    back = light_map(three(), SHELF, Walls(height_mm=400, back=0.9)).ppfd - light_map(three(), SHELF).ppfd
    assert back[-1].mean() > 3 * back[0].mean() > 0
    left = light_map(three(), SHELF, Walls(height_mm=400, left=0.9)).ppfd - light_map(three(), SHELF).ppfd
    assert left[:, 0].mean() > 3 * left[:, -1].mean() > 0


def test_finer_patches_change_the_mean_light_by_less_than_a_part_in_a_thousand(monkeypatch: pytest.MonkeyPatch) -> None:
    from trayward.science import light_walls

    coarse = light_map(three(), SHELF, white(0.9, top=0.9)).evenness
    monkeypatch.setattr(light_walls, "PATCH_MM", 60.0)
    monkeypatch.setattr(light_walls, "MOST", 20)
    for kept in (light_walls._solved, light_walls.view_factors):
        kept.cache_clear()
    fine = light_map(three(), SHELF, white(0.9, top=0.9)).evenness
    for kept in (light_walls._solved, light_walls.view_factors):
        kept.cache_clear()
    assert coarse.mean == pytest.approx(fine.mean, rel=1e-3)
    assert coarse.least == pytest.approx(fine.least, rel=0.03)


def test_light_from_the_walls_is_told_by_face() -> None:
    lamps = three()
    back = thrown_back(lamps, SHELF, white(0.5), straight_on_shelf(lamps, SHELF))
    assert back.kept.sum() == pytest.approx(132)
    assert back.kept[2] == pytest.approx(back.kept[3])
    assert back.kept[4] == pytest.approx(back.kept[5])


# Where to hang them ---------------------------------------------------------------------------------------------------


def hang(height: float, spacing: float) -> Sequence[HungLamp]:
    """Three bars as long as the shelf."""
    return three(height, spacing, length_mm=1016.0)


def test_lower_lamps_are_chosen_as_far_as_the_evenness_asked_for_allows() -> None:
    found = best_layout(hang, SHELF, (100, 500), 254, least_evenness=0.5)
    assert found.reached
    assert found.best.min_mean >= 0.5 - 1e-6
    assert found.light.evenness.min_mean == pytest.approx(found.best.min_mean)
    assert found.light.evenness.mean == pytest.approx(found.best.mean)
    # No layout of a plain grid of 20 mm that is as even has more light, but for what lies between two tries.
    others = [light_map(hang(h, s), SHELF).evenness for h in range(100, 501, 20) for s in range(14, 255, 20)]
    assert found.best.mean >= 0.99 * max(each.mean for each in others if each.min_mean >= 0.5)


def test_with_light_alone_asked_for_the_evenest_that_has_it_is_chosen() -> None:
    found = best_layout(hang, SHELF, (100, 500), 254, least_ppfd=120)
    assert found.reached
    assert found.best.mean >= 120 * (1 - 1e-6)
    others = [light_map(hang(h, s), SHELF).evenness for h in range(100, 501, 20) for s in range(14, 255, 20)]
    assert found.best.min_mean >= 0.99 * max(each.min_mean for each in others if each.mean >= 120)


def test_what_cannot_be_had_is_said_with_what_comes_closest() -> None:
    even = best_layout(hang, SHELF, (100, 400), 254, least_evenness=0.95)
    assert (even.reached, even.short_of) == (False, ("evenness",))
    assert even.best.min_mean == pytest.approx(max(tried.min_mean for tried in even.by_height), abs=0.01)
    bright = best_layout(hang, SHELF, (100, 400), 254, least_ppfd=2000)
    assert (bright.reached, bright.short_of) == (False, ("light",))
    assert "lowest" in bright.at_end


def test_other_heights_are_told_and_higher_is_darker() -> None:
    rows = best_layout(hang, SHELF, (100, 400), 254, least_evenness=0.5).by_height
    assert [row.height_mm for row in rows] == sorted(row.height_mm for row in rows)
    at_one_spacing = [light_map(hang(row.height_mm, 170), SHELF).evenness.mean for row in rows]
    assert at_one_spacing == sorted(at_one_spacing, reverse=True)


def test_a_layout_that_is_not_the_same_on_all_sides_is_looked_at_whole() -> None:
    def aside(height: float, spacing: float) -> Sequence[HungLamp]:
        return [HungLamp(x_mm=200, y_mm=100 + spacing, height_mm=height, umol_s=44)]

    found = best_layout(aside, SHELF, (200, 300), 100, least_ppfd=20)
    assert found.best.mean == pytest.approx(found.light.evenness.mean)


def test_one_lamp_has_no_spacing_to_choose() -> None:
    found = best_layout(lambda h, s: hang(h, s)[1:2], SHELF, (100, 300), 0, least_evenness=0.3)
    assert found.best.spacing_mm == 0


# Refused --------------------------------------------------------------------------------------------------------------

REFUSED: dict[str, tuple[Callable[[], object], str]] = {
    "below the leaves": (lambda: three(-10), r"lamp height = -10 mm: must lie above 0"),
    "on the leaves": (lambda: three(0), r"Measure from the lamp's face down to the leaves"),
    "darkness": (lambda: three(umol_s=-1.0), r"photon output = -1 umol/s"),
    "a length below nothing": (lambda: three(length_mm=-5.0), r"lamp length = -5 mm"),
    "spacing": (lambda: three(spacing=-1), r"spacing = -1 mm"),
    "no lamp": (lambda: light_map([], SHELF), r"lamps = 0: there must be one at least"),
    "nowhere": (lambda: light_map([HungLamp(x_mm=math.nan, y_mm=0, height_mm=1, umol_s=1)], SHELF), r"lamp place"),
    "no shelf": (lambda: light_map(three(), LitShelf(length_mm=0, width_mm=1)), r"shelf length = 0 mm"),
    "one cell": (lambda: light_map(three(), SHELF, cells=(1, 5)), r"cells = 1: must lie in \[2, 1000\]"),
    "pencil beam": (lambda: beam_of_angle(5), r"beam angle = 5 degrees: must lie in \[15, 180\]"),
    "a wall that gives light": (lambda: light_map(three(), SHELF, white(1.0)), r"wall share = 1: must lie from 0"),
    "low walls": (lambda: light_map(three(), SHELF, white(0.5, 200)), r"wall height = 200 mm: .*over the lamps"),
    "through a wall": (
        lambda: light_map(three(length_mm=1100.0), SHELF, white(0.5)),
        r"a lamp ends outside the walls. Shorten the lamps",
    ),
    "heights crossed": (lambda: best_layout(hang, SHELF, (400, 100), 254, least_ppfd=100), r"the other way round"),
    "nothing asked": (lambda: best_layout(hang, SHELF, (100, 400), 254), r"evenness or light must be asked for"),
    "more than even": (lambda: best_layout(hang, SHELF, (100, 400), 254, least_evenness=1.2), r"evenness = 1.2"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_hang_so_is_refused_with_the_way_out(what: str) -> None:
    work, words = REFUSED[what]
    with pytest.raises(InputError, match=words):
        work()
