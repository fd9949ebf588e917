"""The light map as a drawing."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from trayward.farm.settings import ShownUnits
from trayward.pictures.types import LightFigures
from trayward.web.bench.light_svg import SCALE, cells_of, coarse, colour_of, light_svg

ROWS = tuple(tuple(float(100 + 10 * down + over) for over in range(20)) for down in range(10))
SHELF = LightFigures(
    length_mm=1000, width_mm=500, height_mm=250, ppfd=ROWS, lamps=((100, 250, 900, 250, 20),),
    trays=((0, 0, 250, 500), (250, 0, 250, 500)), walls=("left", "back"),
)  # fmt: skip


def test_means_keep_the_mean() -> None:
    found = coarse(ROWS, 2, 4)
    assert (len(found), len(found[0])) == (2, 4)
    assert sum(map(sum, found)) / 8 == pytest.approx(sum(map(sum, ROWS)) / 200)


def test_a_map_smaller_than_its_cells_is_left_as_it_is() -> None:
    assert coarse(((1.0, 2.0),), 5, 5) == ((1.0, 2.0),)


def test_the_drawing_is_well_formed_and_says_every_cell() -> None:
    drawing = ET.fromstring(str(light_svg(SHELF, ShownUnits(), 'Light on "A1" <test>')))
    space = "{http://www.w3.org/2000/svg}" if drawing.tag.startswith("{") else ""
    texts = [each.text for each in drawing.iter(f"{space}text")]
    for row in cells_of(SHELF):
        for value in row:
            assert f"{value:.0f}" in texts
    assert "front" in texts
    assert drawing.get("role") == "img"
    assert drawing.get("aria-label") == 'Light on "A1" <test>'


def test_figures_stand_out_from_their_cells() -> None:
    # WCAG 2.2, 1.4.11 and 1.4.3: large text (18 pt and more) needs 3:1; relative luminance as WCAG defines it.
    def luminance(colour: str) -> float:
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for step in range(len(SCALE)):
        fill, ink = colour_of((step + 0.5) / len(SCALE), 1.0)
        light, dark = sorted((luminance(fill), luminance(ink)), reverse=True)
        assert (light + 0.05) / (dark + 0.05) >= 4.5, fill
    lightness = [luminance(colour) for colour in SCALE]
    assert lightness == sorted(lightness)


def test_no_light_at_all_is_dark() -> None:
    assert colour_of(0.0, 0.0) == (SCALE[0], "#FFFFFF")
