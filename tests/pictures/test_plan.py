"""The picture of a plan shows every sowing where it is, each due day as sure as it is, and limits as limits."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from msgspec import structs

from tests.pictures import made
from tests.pictures.test_pictures import WIDES, words_in
from trayward.pictures.look import INK, TROUBLE, Wide, mark_of
from trayward.pictures.page import Picture
from trayward.pictures.plan import MOST, in_lanes, plan_picture, plan_title
from trayward.pictures.saving import as_svg
from trayward.pictures.types import PlanFigures, RackFigures, SowingBar


def drawn(figures: PlanFigures, wide: Wide = "desk") -> Picture:
    return plan_picture(figures, plan_title(figures), wide=wide)


def only(*sowings: SowingBar, **more: object) -> PlanFigures:
    return PlanFigures(first=made.FIRST, last=made.on(41), sowings=sowings, **more)  # type: ignore[arg-type]


def note_of(figures: PlanFigures) -> str:
    return " ".join(" ".join(words_in(as_svg(drawn(figures)))).replace("\u00a0", " ").split())


def test_a_sowing_is_a_bar_from_its_day_to_its_cut_in_the_colours_of_its_stages() -> None:
    one = made.sowing("pea", 3, soak=1, light=6, late=2)
    axes = drawn(only(one)).figure.axes[0]
    pieces = [(bar.get_x(), bar.get_x() + bar.get_width(), bar.get_facecolor()) for bar in axes.patches]
    assert pieces[0][0] == 3.0
    assert pieces[-1][1] == 14.5, "sown on day 3, five days dark and six lit, cut in the middle of day 14"
    assert [end for _, end, _ in pieces[:-1]] == [begin for begin, _, _ in pieces[1:]]
    from matplotlib.colors import to_rgba

    stages = ("soak", "germinate", "blackout", "light", "ready")
    assert [colour for *_, colour in pieces] == [to_rgba(mark_of(stage).colour) for stage in stages]
    letters = [text.get_text() for text in axes.texts if text.get_text() in "SGBLR"]
    assert letters == ["S", "G", "B", "L", "R"]


def test_the_range_of_a_cut_lies_below_its_bar_from_the_early_day_to_the_late_one() -> None:
    axes = drawn(only(made.sowing("pea", 3, late=2))).figure.axes[0]
    assert [12.5, 16.5] in [list(line.get_xdata()) for line in axes.lines]
    certain = drawn(only(made.sowing("pea", 3))).figure.axes[0]
    assert len(axes.lines) - len(certain.lines) == 3
    assert "Line below a bar" in note_of(only(made.sowing("pea", 3, late=2)))
    assert "Line below a bar" not in note_of(only(made.sowing("pea", 3)))


def test_a_stage_of_some_hours_gives_way_to_the_next_on_the_same_day() -> None:
    one = made.sowing("pea", 3, soak=1)
    soaked = structs.replace(
        one, stages=(structs.replace(one.stages[0], first=made.on(4), last=made.on(4)), *one.stages[1:])
    )
    axes = drawn(only(soaked)).figure.axes[0]
    assert [text.get_text() for text in axes.texts if text.get_text() in "SGBLR"] == ["G", "B", "L", "R"]


def test_bars_that_share_a_lane_keep_apart() -> None:
    own = [one for one in made.PLAN.sowings if one.crop == "pea"]
    lanes = in_lanes(own, made.PLAN, 1.0)
    assert len(lanes) == len(own)
    ends = {one.sow_on: (one.high or one.cut_on) for _, one in lanes}
    for (lane, one), (other_lane, other) in combinations(lanes, 2):
        if lane == other_lane:
            first, second = sorted((one, other), key=lambda each: str(each.sow_on))
            assert second.sow_on is not None
            assert ends[first.sow_on] < second.sow_on
    assert {lane for lane, _ in lanes} == set(range(max(lane for lane, _ in lanes) + 1))


def test_trays_that_stand_are_one_bar_cut_on_its_days() -> None:
    trays = [
        SowingBar(crop="radish", trays=count, sow_on=None, cut_on=made.on(day))
        for count, day in ((2, 9), (1, 4), (3, 4))
    ]
    axes = drawn(only(*trays)).figure.axes[0]
    ends = [bar.get_x() + bar.get_width() for bar in axes.patches]
    assert ends == [4.5, 9.5]
    assert [text.get_text() for text in axes.texts][-2:] == ["4", "2"], "four trays are cut on day 4, two on day 9"


def test_a_day_that_is_not_sure_is_an_open_triangle_of_another_colour() -> None:
    axes = drawn(made.PLAN).figure.axes[-1]
    marks = [line for line in axes.lines if line.get_marker() == "v"]
    assert len(marks) == len(made.PLAN.deliveries)
    looks = {(line.get_color(), line.get_markerfacecolor() == INK) for line in marks}
    assert looks == {(INK, True), (TROUBLE, False)}
    unsure = sum(not one.sure for one in made.PLAN.deliveries)
    assert sum(line.get_color() == TROUBLE for line in marks) == unsure > 0
    assert sum("not as sure as wanted" in words for words in drawn(made.PLAN).words) == unsure


@pytest.mark.parametrize("wide", WIDES)
def test_racks_are_drawn_from_zero_with_the_limit_over_them_and_share_their_days_with_the_sowings(wide: Wide) -> None:
    dark, lit, sown = drawn(made.PLAN, wide).figure.axes
    assert dark.get_xlim() == lit.get_xlim() == sown.get_xlim()
    edges = {(round(box.x0, 6), round(box.x1, 6)) for box in (axes.get_position() for axes in (dark, lit, sown))}
    assert len(edges) == 1
    for axes, has in ((dark, 20.0), (lit, 56.0)):
        assert axes.get_ylim()[0] == 0
        assert axes.get_ylim()[1] > has
        limit = max(axes.lines, key=lambda line: line.get_linewidth())
        assert set(limit.get_ydata()) == {has}


def test_what_may_go_beyond_the_limit_is_hatched_and_only_that() -> None:
    rack = RackFigures(
        what="lit spots", has=(4.0,) * 42, likely=(3.0,) * 42, low=(2.0,) * 42, high=(4.0,) * 20 + (6.0,) + (4.0,) * 21
    )
    over = only(made.sowing("pea", 3), racks=(rack,))
    bars = [bar for bar in drawn(over).figure.axes[0].patches if bar.get_hatch()]
    assert [(bar.get_x(), bar.get_y(), bar.get_height()) for bar in bars] == [(20.0, 4.0, 2.0)]
    assert "Hatched" in note_of(over)
    assert "Hatched" not in note_of(structs.replace(over, racks=(structs.replace(rack, high=rack.has),)))


def test_the_title_says_what_is_sown_and_when_it_is_tightest() -> None:
    assert plan_title(made.PLAN) == "66 trays to sow in 6 weeks; dark spots are fullest on Fri 27 Nov: 19 of 20 likely."
    assert plan_title(made.BARE_PLAN) == "Nothing to sow in 3 weeks."
    assert plan_title(only()) == "Nothing is sown or cut in these weeks."
    assert plan_title(only(made.sowing("pea", 1))) == "1 tray to sow in 6 weeks."


def test_every_sowing_and_every_racks_fullest_night_is_told_in_words() -> None:
    words = drawn(made.PLAN).words
    assert "red cabbage, 10 trays: sow Wed 25 Nov, cut Wed 9 Dec" in words
    assert "red cabbage, 1 tray: sow Wed 23 Dec, cut 3 to 9 Jan, likely Wed 6 Jan" in words
    assert "radish, 12 trays: standing, cut Thu 3 Dec" in words
    assert "dark spots: fullest Fri 27 Nov, 17 to 22, likely 19 of 20" in words
    assert len(words) == len(made.PLAN.sowings) + sum(not one.sure for one in made.PLAN.deliveries) + 2


def test_sowings_beyond_what_anybody_reads_are_counted_not_drawn() -> None:
    many = only(*(made.sowing(f"crop {number % 3}", number % 2) for number in range(3 * MOST)))
    assert f"{3 * MOST - MOST} more sowings are not drawn." in note_of(many)


def test_where_there_is_not_room_for_all_every_crop_keeps_some_of_its_sowings() -> None:
    many = only(
        *(made.sowing("amaranth", number % 2) for number in range(2 * MOST)),
        made.sowing("pea", 1),
        made.sowing("kale", 1),
    )
    figure = drawn(many).figure
    counts = [text.get_text() for text in figure.axes[0].texts]
    assert {"amaranth", "kale", "pea"} <= set(counts)
    assert counts.count("1") == MOST, "one number of trays before each bar"
    assert "1" in counts[counts.index("pea") :]


def test_mondays_are_named_as_far_as_there_is_room() -> None:
    for wide in WIDES:
        axes = drawn(made.PLAN, wide).figure.axes[-1]
        names = [label.get_text() for label in axes.get_xticklabels()]
        days = [tick for tick, name in zip(axes.get_xticks(), names, strict=True) if name]
        assert names[0] == "Wed\n25 Nov"
        assert all(name.startswith("Mon\n") for name in names[1:] if name)
        assert min(later - day for day, later in pairwise(days)) >= (5 if wide == "desk" else 8)
