"""Pictures say their reading, stay the same from run to run, and can be told apart without colour."""

from __future__ import annotations

import ast
import re
import struct
import xml.etree.ElementTree as ET
from collections.abc import Callable
from functools import cache
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import msgspec
import pytest

from tests.pictures import made
from trayward.cli.show import STAGE_LETTERS
from trayward.errors import InputError
from trayward.pictures import bars
from trayward.pictures.calibration import calibration_picture
from trayward.pictures.density import density_picture
from trayward.pictures.earned import earned_picture, earned_report_picture
from trayward.pictures.forest import forest_picture
from trayward.pictures.hundred import counted_in, hundred, hundred_weights
from trayward.pictures.light_map import light_map_picture
from trayward.pictures.look import GROUND, INK, MARKS, SIZES, SOFT, Wide, contrast, mark_of
from trayward.pictures.page import Picture, broken, shortened, width_in
from trayward.pictures.plan import plan_picture, plan_title
from trayward.pictures.saving import as_png, as_svg, save
from trayward.pictures.shares import shares_picture
from trayward.pictures.standing import standing_picture
from trayward.pictures.study import spread_out, study_picture
from trayward.pictures.swings import swings_picture
from trayward.pictures.tray import tray_picture
from trayward.units import GRAMS_PER_OUNCE

SVG = "{http://www.w3.org/2000/svg}"
PICTURES: dict[str, Callable[[Wide], Picture]] = {
    "standing": lambda wide: standing_picture(made.GROUPS, made.AT, made.ZONE, wide=wide),
    "no trays": lambda wide: standing_picture([], made.AT, made.ZONE, wide=wide),
    "tray": lambda wide: tray_picture(made.TRAY, made.REASONS, made.AT, made.ZONE, wide=wide),
    "lots": lambda wide: forest_picture(made.LOTS, "1 of 3 seed lots stands out.", heading="Weight", wide=wide),
    "drift": lambda wide: forest_picture(made.SEASONS, "Trays became lighter.", in_time=True, wide=wide),
    "earned": lambda wide: earned_picture(made.EARNED, "65.07 EUR are left.", wide=wide),
    "earned in a month": lambda wide: earned_report_picture(
        made.EARNED, made.EARNED, "November 2026: 303.70 EUR sold.", wide=wide
    ),
    "shares": lambda wide: shares_picture(made.PARTS, "Half of the spread comes from the seed lot.", wide=wide),
    "density": lambda wide: density_picture(made.DENSITY, "Radish: go up to 2.7.", wide=wide),
    "density untried": lambda wide: density_picture(made.UNTRIED, "Broccoli: 6 pays best.", wide=wide),
    "calibration": lambda wide: calibration_picture(made.PROMISES, "The ranges held.", wide=wide),
    "light": lambda wide: light_map_picture(made.LIGHT, "Light on the leaves: 142 on the mean.", wide=wide),
    "light in a corner": lambda wide: light_map_picture(
        made.WALLED_LIGHT, "One corner is bright.", unit="in", wide=wide
    ),
    "swings": lambda wide: swings_picture(made.SWINGS, "Weight moves the cost of 100 g most.", wide=wide),
    "swings of a loss": lambda wide: swings_picture(made.LOSS, "Price moves what a tray leaves most.", wide=wide),
    "plan": lambda wide: plan_picture(made.PLAN, plan_title(made.PLAN), wide=wide),
    "plan of one tray": lambda wide: plan_picture(made.BARE_PLAN, plan_title(made.BARE_PLAN), wide=wide),
    "study": lambda wide: study_picture(made.STUDY, "Learning earned 66 % of what can be earned.", wide=wide),
    "study of one": lambda wide: study_picture(made.PLAIN_STUDY, "The rule loses money.", wide=wide),
}
WIDES: tuple[Wide, ...] = ("desk", "phone")


@cache
def once(name: str, wide: Wide) -> Picture:
    """A picture, drawn once for all tests that only look at it."""
    return PICTURES[name](wide)


@cache
def svg_once(name: str, wide: Wide) -> str:
    """The same as SVG."""
    return as_svg(once(name, wide))


def words_in(svg: str) -> list[str]:
    """Every word drawn, as a reader or a search finds it."""
    return ["".join(text.itertext()) for text in ET.fromstring(svg).iter(f"{SVG}text")]


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_says_its_reading_and_its_figures_to_those_who_have_it_read_out(name: str) -> None:
    picture = once(name, "desk")
    root = ET.fromstring(svg_once(name, "desk"))
    assert root.get("role") == "img"
    title, desc = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert [title.get("id"), desc.get("id")] == (root.get("aria-labelledby") or "").split()
    assert title.text == picture.title
    assert picture.title.endswith((".", "!"))
    assert (desc.text or "") == "; ".join(picture.words)
    assert bool(picture.words) == (name != "no trays")


@pytest.mark.parametrize("wide", WIDES)
@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_is_the_same_from_run_to_run_and_its_words_stay_words(name: str, wide: Wide) -> None:
    first, second = once(name, wide), PICTURES[name](wide)
    svg = svg_once(name, wide)
    assert svg == as_svg(second)
    assert as_png(first) == as_png(second)
    assert "<dc:date>" not in svg
    told = " ".join(words_in(svg)).replace("\u00a0", " ")
    assert all(word in told for word in first.title.split())


@pytest.mark.parametrize("name", PICTURES)
def test_a_picture_for_the_phone_is_390_wide_and_no_word_leaves_it(name: str) -> None:
    """A browser has 96 px to the inch (CSS Values and Units Level 3, absolute lengths; from memory)."""
    picture = once(name, "phone")
    assert picture.figure.get_size_inches()[0] * 96 == pytest.approx(390)
    assert [text for text, left, right in edges(name, "phone") if left < -0.5 or right > 1.5 + width(picture)] == []


@pytest.mark.parametrize("name", PICTURES)
def test_no_word_leaves_a_picture_for_the_desk(name: str) -> None:
    picture = once(name, "desk")
    assert [text for text, left, right in edges(name, "desk") if left < -0.5 or right > 1.5 + width(picture)] == []


def width(picture: Picture) -> float:
    """Width of a picture in the dots it is measured in."""
    return float(picture.figure.bbox.width)


def edges(name: str, wide: Wide) -> list[tuple[str, float, float]]:
    """Every word drawn with its left and right edge, in dots."""
    return [(text, box.x0, box.x1) for text, box in placed(name, wide)]


@cache
def placed(name: str, wide: Wide) -> list[tuple[str, Any]]:
    """Every word drawn with the box it fills, in dots."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.text import Text

    # matplotlib also keeps labels of ticks that lie beyond the ends of an axis; those are never drawn.
    drawn, picture = set(words_in(svg_once(name, wide))), once(name, wide)
    FigureCanvasAgg(picture.figure).draw()
    shown: list[Any] = picture.figure.findobj(lambda one: isinstance(one, Text) and one.get_visible())
    return [(one.get_text(), one.get_window_extent()) for one in shown if set(one.get_text().split("\n")) & drawn]


# Saving ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("wide", WIDES)
@pytest.mark.parametrize("name", PICTURES)
def test_no_two_words_lie_over_each_other(name: str, wide: Wide) -> None:
    # Three dots less on each side: words whose corners touch can be read.
    boxes = [(text, box.padded(-3.0)) for text, box in placed(name, wide)]
    assert [(one, other) for (one, here), (other, there) in combinations(boxes, 2) if here.overlaps(there)] == []


def test_what_a_picture_has_no_mark_of_its_note_does_not_explain() -> None:
    texts = [" ".join(words_in(svg_once(name, "desk"))) for name in ("density", "density untried")]
    assert ["Dots: " in text for text in texts] == [True, False]


def test_a_picture_is_saved_by_the_ending_of_its_name_over_an_older_one(tmp_path: Path) -> None:
    picture = once("shares", "desk")
    for name in ("spread.png", "spread.svg", "SPREAD.PNG"):
        (tmp_path / name).write_text("an older one")
        assert save(picture, tmp_path / name) == tmp_path / name
    head = (tmp_path / "spread.png").read_bytes()[:24]
    assert head[:8] == b"\x89PNG\r\n\x1a\n"
    assert struct.unpack(">I", head[16:20])[0] == round(SIZES["desk"].width * SIZES["desk"].dpi)
    assert (tmp_path / "SPREAD.PNG").read_bytes() == (tmp_path / "spread.png").read_bytes()
    assert (tmp_path / "spread.svg").read_text(encoding="utf-8").startswith("<svg ")


def test_another_ending_is_refused_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"saved as PNG or SVG. Let its name end in .png or .svg: spread.png"):
        save(once("shares", "desk"), tmp_path / "spread.gif")


def test_a_folder_that_is_not_there_is_refused_with_the_way_out(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="Name a file in a folder you may write to"):
        save(once("shares", "desk"), tmp_path / "nowhere" / "spread.svg")


def test_marks_of_markup_in_a_name_do_no_harm() -> None:
    group = made.GROUPS[0].__class__(crop="<b>&$x$", stage="light", trays=1, ready=made.ready(1, 2, 3))
    svg = as_svg(standing_picture([group], made.AT, made.ZONE))
    assert any(text.startswith("<b>&$x$") for text in words_in(svg))


# Marks ----------------------------------------------------------------------------------------------------------------


def test_every_stage_has_its_own_letter_colour_and_pattern() -> None:
    """Colour is never alone: somebody who sees none, or prints in black, has the letter and the pattern."""
    for trait in ("letter", "colour", "pattern"):
        assert len({getattr(mark, trait) for mark in MARKS.values()}) == len(MARKS) == 5
    assert {stage: mark.letter for stage, mark in MARKS.items()} == STAGE_LETTERS


@pytest.mark.parametrize("stage", [*MARKS, "stretch"])
def test_the_letter_of_a_stage_can_be_read_on_its_colour(stage: str) -> None:
    """4.5:1 is what WCAG 2.1 asks of small words (success criterion 1.4.3; from memory)."""
    mark = mark_of(stage)
    assert contrast(mark.on, mark.colour) >= 4.5


def test_main_words_have_seven_to_one_on_the_ground() -> None:
    """The house rule for a room with bright lamps, and what WCAG 2.1 calls enhanced (1.4.6; from memory)."""
    assert contrast(INK, GROUND) >= 7
    assert contrast(SOFT, GROUND) >= 7
    assert contrast("#FFFFFF", "#000000") == pytest.approx(21)


# Figures --------------------------------------------------------------------------------------------------------------


def test_a_hundred_outcomes_have_the_shares_they_were_made_from() -> None:
    values = hundred(10.0, 20.0, 40.0, half=(14.0, 28.0), most=(6.0, 60.0))
    assert values == sorted(values)
    below = [sum(value < limit for value in values) for limit in (10.0, 14.0, 20.0, 28.0, 40.0)]
    assert below == [10, 25, 50, 75, 90]
    assert sum(value < 6.0 for value in values) in (2, 3)


def test_a_hundred_weights_are_never_below_nothing() -> None:
    values = hundred_weights(made.grams(4.0, 20.0, 30.0))
    assert min(values) > 0
    assert sum(value < 4.0 for value in values) == 10


def test_what_lies_beyond_the_edges_is_counted_with_the_outermost() -> None:
    assert counted_in([-3, 0.5, 1.5, 9, 2.0], [0, 1, 2, 3]) == [2, 1, 2]


def test_a_hundred_trays_are_a_hundred_dots() -> None:
    picture = once("tray", "desk")
    clouds = [cloud for axes in picture.figure.axes for cloud in axes.collections]
    assert [len(cloud.get_offsets()) for cloud in clouds] == [100, 100]


def test_the_curve_is_never_drawn_beyond_the_densities_there_is_ground_for() -> None:
    (axes,) = once("density", "desk").figure.axes
    (curve,) = [line for line in axes.lines if len(line.get_xdata()) == len(made.DENSITIES)]
    assert (min(curve.get_xdata()), max(curve.get_xdata())) == (1.0, 4.0)
    (band,) = [part for part in axes.collections if len(part.get_paths()) == 1 and len(part.get_offsets()) <= 1]
    xs = band.get_paths()[0].vertices[:, 0]
    assert (xs.min(), xs.max()) == (1.0, 4.0)


def test_amounts_begin_at_zero() -> None:
    weights, density, shares = (
        once("standing", "desk").figure.axes[1].get_xlim(),
        once("density", "desk").figure.axes[0].get_ylim(),
        once("shares", "desk").figure.axes[0].get_xlim(),
    )
    assert [low for low, _ in (weights, density, shares)] == [0, 0, 0]


def test_a_lot_that_stands_out_has_another_shape() -> None:
    (axes,) = once("lots", "desk").figure.axes
    assert sorted(line.get_marker() for line in axes.lines if line.get_marker() in ("D", "o")) == ["D", "o", "o"]


def test_now_is_a_thin_line_and_nothing_standing_is_ready_before_it() -> None:
    axes = once("standing", "desk").figure.axes[0]
    now = (8.5) / 24  # 07:30 UTC is 08:30 in Berlin in winter
    lines = [line for line in axes.lines if list(line.get_xdata()) == pytest.approx([now, now])]
    assert next(line.get_linewidth() for line in lines) == 1.0
    assert min(bar.get_x() for bar in axes.patches) >= now


def test_more_groups_than_anybody_reads_are_counted_not_drawn() -> None:
    many = [
        made.GROUPS[0].__class__(crop=f"crop {n}", stage="light", trays=1, ready=made.ready(1, 2, 3)) for n in range(70)
    ]
    svg = as_svg(standing_picture(many, made.AT, made.ZONE))
    assert "10 more groups, ready later, are not drawn." in " ".join(words_in(svg))
    assert svg.count("crop 69") == 1  # in the words, not in the drawing


@pytest.mark.parametrize(
    ("high", "unit", "ticks"),
    [(320, "g", [0, 100, 200, 300]), (4200, "g", [0, 2000, 4000]), (400, "oz", [0, 5, 10])],
)
def test_weights_along_the_edge_are_round_in_the_farms_unit(high: float, unit: str, ticks: list[float]) -> None:
    one = GRAMS_PER_OUNCE if unit == "oz" else 1
    assert [at / one for at in bars.weight_ticks(high, unit, 4)] == pytest.approx(ticks)


def test_a_number_keeps_to_its_unit_when_a_line_is_broken() -> None:
    lines = broken("ready 1 to 4 Dec, likely Thu 3 Dec; 110 to 390 g, likely 210", 13.5, 1.2)
    assert not any(re.search(r"\d$", line) and after.startswith(("g", "Dec")) for line, after in pairwise(lines))
    assert len(lines) > 3
    assert max(width_in(line, 13.5) for line in lines) < 1.3


# The room -------------------------------------------------------------------------------------------------------------


def test_the_room_knows_figures_alone() -> None:
    """Whoever works them out, pictures need types, units, dates and errors; and matplotlib once something is drawn."""
    room = Path(bars.__file__).parent
    ours, early = set(), set()
    for path in room.glob("*.py"):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in ast.walk(tree):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("trayward"):
                ours.add(node.module)
        early |= {getattr(node, "module", None) for node in tree.body if isinstance(node, ast.ImportFrom)}
    outside = {name for name in ours if not name.startswith("trayward.pictures")}
    assert outside == {"trayward.dates", "trayward.errors", "trayward.outlook.types", "trayward.units"}
    assert not any((name or "").startswith("matplotlib") for name in early)


def test_what_moves_a_tray_is_told_apart_for_weight_and_for_days() -> None:
    picture = once("tray", "phone")
    told = words_in(as_svg(picture))
    assert [word for word in told if word.startswith("What moves")] == ["What moves its weight", "What moves its days"]
    assert "germinate, this farm" in told
    assert any(words.startswith("grams, lot B2: +5 %") for words in picture.words)


def test_a_name_too_long_for_its_room_is_cut_off_with_a_mark() -> None:
    assert shortened("lot B2", 10, 3.0) == "lot B2"
    cut = shortened("a very long name that nobody would give to a lot", 10, 1.0)
    assert cut.endswith("…")
    assert width_in(cut, 10) <= 1.0


# Season study ---------------------------------------------------------------------------------------------------------


def test_names_at_the_ends_of_lines_keep_apart_in_the_order_of_the_lines() -> None:
    assert spread_out([5.0, 9.9, 10.0, 0.0], 2.0, 10.0) == [5.0, 8.0, 10.0, 0.0]
    assert spread_out([3.0, 3.0], 1.0, 10.0) == [3.0, 2.0]


def test_margins_of_policies_are_bars_from_zero_and_a_loss_lies_below_it() -> None:
    gain, loss = once("study", "desk").figure.axes[0], once("study of one", "desk").figure.axes[0]
    assert [bar.get_width() for bar in gain.patches] == [8200, 9100, 10_900, 11_400, 12_300]
    assert gain.get_xlim()[0] == 0
    assert loss.get_xlim()[0] < -120 < 0 < loss.get_xlim()[1]


def test_what_a_study_does_not_know_is_not_drawn_nor_explained() -> None:
    assert [len(once(name, "desk").figure.axes) for name in ("study", "study of one")] == [4, 1]
    told = " ".join(words_in(svg_once("study of one", "desk")))
    assert not any(word in told for word in ("19 in 20", "goals", "Open dots", "Grey"))
    told = " ".join(words_in(svg_once("study", "desk"))).replace("\u00a0", " ")
    assert all(word in told for word in ("19 in 20", "goals", "Open dots", "within 3 points"))


def test_promises_too_few_to_judge_by_are_open_dots() -> None:
    axes = once("study", "desk").figure.axes[2]
    dots = [line.get_markerfacecolor() for line in axes.lines if line.get_marker() == "o"]
    assert dots.count(GROUND) == sum(one.few for one in made.STUDY.promises) == 1
    assert len(dots) == 7


# What moves a sum -----------------------------------------------------------------------------------------------------


def test_every_bar_of_what_moves_a_sum_begins_at_the_sum_as_it_is() -> None:
    axes = once("swings", "desk").figure.axes[0]
    ends = {round(bar.get_x() + end * bar.get_width(), 6) for bar in axes.patches for end in (0, 1)}
    starts = [bar.get_x() for bar in axes.patches]
    assert set(starts) == {4.57}
    assert {5.72, 3.81, 3.8, 5.35} <= ends


def test_lower_and_higher_are_told_apart_without_colour() -> None:
    axes = once("swings of a loss", "desk").figure.axes[0]
    assert {bar.get_hatch() for bar in axes.patches} == {"////", None}
    told = " ".join(words_in(svg_once("swings of a loss", "desk"))).replace("\u00a0", " ")
    assert "50 % less" in told
    assert "50 % more" in told
    assert "−0.20" in told


def test_what_moves_a_sum_too_little_to_read_is_counted_not_drawn() -> None:
    picture = once("swings", "desk")
    told = " ".join(words_in(as_svg(picture)))
    assert "1 more moves it less." in told
    assert "trifle 8" not in told
    assert picture.words[-1] == "trifle 8, 0.01 EUR: 4.57 with 20 % less, 4.57 with 20 % more"


# Light ----------------------------------------------------------------------------------------------------------------


def test_the_figures_of_a_shelf_stand_at_its_spots_and_its_ends_are_told() -> None:
    told = " ".join(words_in(svg_once("light", "desk"))).replace("\u00a0", " ")
    middle = max(value for line in made.LIGHT.ppfd for value in line)
    least = min(value for line in made.LIGHT.ppfd for value in line)
    assert f"◇ darkest {least:.0f} ○ brightest {middle:.0f}" in " ".join(told.split())
    spots = [len(once("light", wide).figure.axes[0].texts) for wide in WIDES]
    assert spots == [3 * 7, 3 * 5]


def test_a_wall_has_a_thick_edge_and_only_then_is_explained() -> None:
    def edges(name: str) -> dict[str, float]:
        return {side: spine.get_linewidth() for side, spine in once(name, "desk").figure.axes[0].spines.items()}

    walled = edges("light in a corner")
    assert walled["left"] == walled["top"] > walled["right"] == walled["bottom"]
    texts = [" ".join(words_in(svg_once(name, "desk"))) for name in ("light", "light in a corner")]
    assert ["wall" in text for text in texts] == [False, True]


def test_light_along_the_shelf_begins_at_zero() -> None:
    assert once("light", "desk").figure.axes[1].get_ylim()[0] == 0


def test_a_shelf_lit_alike_everywhere_is_drawn_too() -> None:
    even = msgspec.structs.replace(made.LIGHT, ppfd=((100.0,) * 4,) * 3)
    picture = light_map_picture(even, "All of it has 100.")
    assert "darkest 100, mean 100, brightest 100 µmol/m²/s" in picture.words
