"""Charts of our own: where things stand on them, and that words from people cannot break out of them."""

from __future__ import annotations

import doctest
import re
import xml.etree.ElementTree as ET
from types import ModuleType

import pytest

from trayward.web.drawing import curve, scale, svg
from trayward.web.drawing.curve import MOST_POINTS, Curve, OnCurve, Upright, curve_chart
from trayward.web.drawing.look import DESK, PHONE, Chart
from trayward.web.drawing.ranges import Axis, Row, ranges_chart
from trayward.web.drawing.scale import Scale, around, round_figures
from trayward.web.drawing.svg import shortened, tag, width_of

SVG = "{http://www.w3.org/2000/svg}"


def parsed(chart: Chart, wide: str) -> ET.Element:
    text = str(chart.phone if wide == "phone" else chart.desk)
    return ET.fromstring(text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


def bars(drawn: ET.Element) -> list[tuple[float, float]]:
    """Left end and width of each bar. [px]"""
    return [(float(one.attrib["x"]), float(one.attrib["width"])) for one in drawn.iter(f"{SVG}rect")]


ROWS = (
    Row(name="pea on coir", low=100.0, mid=150.0, high=200.0, told="100 to 200 g", before=(50.0, 150.0, 250.0)),
    Row(name="kale", low=50.0, mid=100.0, high=150.0, told="50 to 150 g", stands_out=True),
    Row(name="basil", low=50.0, mid=80.0, high=110.0, told="50 to 110 g", faint=True, before=(50.0, 80.0, 110.0)),
)


@pytest.mark.parametrize("wide", ["phone", "desk"])
def test_bars_stand_where_their_figures_are(wide: str) -> None:
    drawn = parsed(ranges_chart(ROWS, Axis(words="a tray, in g", ends=(0.0, 250.0))), wide)
    (first, long), (second, also) = bars(drawn)  # nothing of one's own is known of the third
    assert long == pytest.approx(also, abs=0.11), "both are 100 g wide; figures are written to a tenth of a pixel"
    assert first - second == pytest.approx(long / 2, abs=0.11), "and begin 50 g apart"


@pytest.mark.parametrize("wide", ["phone", "desk"])
def test_nothing_is_drawn_beyond_the_edges(wide: str) -> None:
    size = PHONE if wide == "phone" else DESK
    long = Row(
        name="a very long name of a recipe on a very long mat", low=-5.0, mid=40.0, high=900.0, told="0 to 900 g"
    )
    drawn = parsed(ranges_chart([*ROWS, long], Axis(words="a tray", ends=(0.0, 250.0))), wide)
    for one in drawn.iter(f"{SVG}rect"):
        assert 0 <= float(one.attrib["x"]) <= float(one.attrib["x"]) + float(one.attrib["width"]) <= size.width
    for one in drawn.iter(f"{SVG}text"):
        wide_of = width_of(one.text or "", float(one.attrib["font-size"]))
        x, anchor = float(one.attrib["x"]), one.attrib.get("text-anchor", "start")
        start = {"start": x, "end": x - wide_of, "middle": x - wide_of / 2}[anchor]
        assert start >= -1
        assert start + wide_of <= size.width + 1


def test_words_of_people_stay_words() -> None:
    nasty = '<script>alert("1")</script> & "quotes"'
    chart = ranges_chart(
        [Row(name=nasty, low=1.0, mid=2.0, high=3.0, told=nasty)], Axis(words=nasty, mark=2.0, mark_words=nasty)
    )
    for wide in ("phone", "desk"):
        drawn = parsed(chart, wide)
        assert {one.tag for one in drawn.iter()} <= {f"{SVG}{name}" for name in ("svg", "line", "rect", "text")}
        assert any("<script>" in (one.text or "") for one in drawn.iter(f"{SVG}text"))
    assert "style=" not in str(chart.desk), "the pages' policy lets no inline style through"
    assert tag("text", "x", cls='a" onload="b') == '<text class="a&quot; onload=&quot;b">x</text>'


def test_a_curve_is_drawn_inside_its_edges_from_zero_up() -> None:
    curve = Curve(
        points=tuple(OnCurve(x=x, low=80 + 5 * x, mid=100 + 5 * x, high=130 + 5 * x) for x in (3.0, 4.0, 5.0)),
        trays=((3.2, 90.0), (4.9, 150.0)),
        uprights=(Upright(x=4.0, words="now 4"), Upright(x=5.0, words="pays best 5", strong=True)),
        x_words="live seeds a cm²", y_words="a tray",
    )  # fmt: skip
    for wide, size in (("phone", PHONE), ("desk", DESK)):
        drawn = parsed(curve_chart(curve, lambda grams: f"{grams:g} g"), wide)
        band = next(one for one in drawn.iter(f"{SVG}path") if one.attrib["class"] == "drawn-band")
        places = [tuple(map(float, pair.split())) for pair in re.findall(r"[\d.]+ [\d.]+", band.attrib["d"])]
        assert len(places) == 6
        assert all(0 <= x <= size.width for x, _ in places)
        dots = [(float(one.attrib["cx"]), float(one.attrib["cy"])) for one in drawn.iter(f"{SVG}circle")]
        assert dots[0][0] < dots[1][0]
        assert dots[0][1] > dots[1][1], "the heavier tray stands higher"
        assert "0 g" in {one.text for one in drawn.iter(f"{SVG}text")}


def test_so_many_trays_are_drawn_as_a_chart_bears() -> None:
    curve = Curve(
        points=(), trays=tuple((3.0 + number / 5000, 100.0) for number in range(4000)), x_words="x", y_words="y"
    )
    assert str(curve_chart(curve, str).desk).count("<circle") == MOST_POINTS


@pytest.mark.parametrize(
    ("low", "high", "most"), [(0.0, 3.7, 5), (0.0, 9.99e6, 6), (-0.31, 0.02, 4), (5.75, 7.42, 8), (0.001, 0.0013, 3)]
)
def test_round_figures_lie_within_and_are_few(low: float, high: float, most: int) -> None:
    found = round_figures(low, high, most)
    assert 1 <= len(found) <= most + 1
    assert all(low - 1e-9 <= value <= high + 1e-9 for value in found)
    assert list(found) == sorted(set(found))


def test_what_is_no_range_has_no_figures() -> None:
    assert round_figures(3.0, 3.0) == ()
    assert round_figures(float("nan"), 2.0) == ()
    assert around([]) == (0.0, 1.0)
    assert around([float("inf")]) == (0.0, 1.0)
    assert Scale(low=2.0, high=2.0, start=0.0, end=10.0).at(2.0) == 0.0
    low, high = around([4.0, 4.0])
    assert low < 4.0 < high


@pytest.mark.parametrize("module", [curve, scale, svg])
def test_the_examples_hold(module: ModuleType) -> None:
    told = doctest.testmod(module)
    assert told.attempted
    assert not told.failed


def test_words_are_cut_to_fit() -> None:
    assert shortened("pea", 14.0, 100.0) == "pea"
    assert shortened("red cabbage on mesh mat", 14.0, 100.0).endswith("…")
    assert width_of(shortened("red cabbage on mesh mat", 14.0, 100.0), 14.0) <= 100.0
