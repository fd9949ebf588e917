"""`trayward plan --picture`: the plan that is shown is the plan that is drawn."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

import msgspec
import pytest

from tests.cli.conftest import Typed
from trayward.cli.plan_picture import figures_of
from trayward.plan.types import (
    CutAdvice,
    CutPlanned,
    LineOutlook,
    Plan,
    PlannedSowing,
    RackUse,
    Serve,
    StageExpected,
)

WEEKS = ("--weeks", "3")
AT = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


def day(number: int) -> date:
    return date(2026, 11, number)


def line(name: str, crop: str, due: date, *, chance: float) -> LineOutlook:
    return LineOutlook(line=name, customer="Copper Ladle", crop=crop, due=due, grams=100.0, met_grams=90.0,
                       chance=chance, sure=0.8)  # fmt: skip


def serve(name: str, due: date) -> Serve:
    return Serve(line=name, customer="Copper Ladle", due=due, grams=50.0)


MADE = Plan(
    made_at=AT,
    first=day(25),
    last=date(2026, 12, 15),
    sowings=(
        PlannedSowing(
            sow_on=day(26), crop="pea", recipe="pea", trays=2, seed_g=400.0, cut_on=date(2026, 12, 7),
            cut_between=(date(2026, 12, 6), date(2026, 12, 9)), grams_expected=600.0,
            serves=(serve("mix@7", date(2026, 12, 7)), serve("pea@8", date(2026, 12, 8))),
            stages=(StageExpected(stage="light", first=day(30), last=date(2026, 12, 7)),),
        ),
    ),
    cuts=(CutPlanned(cut_on=day(27), crop="radish", trays=3, grams_expected=500.0, standing=("a", "b", "c")),),
    lines=(
        line("mix@7", "garden mix", date(2026, 12, 7), chance=0.9),
        line("pea@7", "pea", date(2026, 12, 7), chance=0.3),
        line("pea@8", "pea", date(2026, 12, 8), chance=0.9),
        line("radish@27", "radish", day(27), chance=1.0),
        line("kale@27", "kale", day(27), chance=0.0),
    ),
    advice=(
        CutAdvice(do="cut", crop="radish", trays=("a",), until=day(27), serves=(serve("mix@7", date(2026, 12, 7)),)),
    ),
    racks=(RackUse(limit="lit spots", has=(8.0,), likely=(3.0,), low=(2.0,), high=(4.0,)),),
)  # fmt: skip


def test_what_is_sown_and_what_stands_is_drawn_with_its_range() -> None:
    standing, sown = figures_of(MADE).sowings
    assert (standing.crop, standing.trays, standing.sow_on, standing.cut_on) == ("radish", 3, None, day(27))
    assert (sown.crop, sown.trays, sown.sow_on, sown.cut_on) == ("pea", 2, day(26), date(2026, 12, 7))
    assert (sown.low, sown.high) == (date(2026, 12, 6), date(2026, 12, 9))
    assert [span.stage for span in sown.stages] == ["light"]


def test_a_crop_is_due_where_it_serves_a_line_and_where_it_is_asked_for_alone_and_as_sure_as_the_least_sure() -> None:
    """A mix counts for every crop that goes into it; kale is neither sown nor standing, so it has no row."""
    due = {(one.crop, one.due): one.sure for one in figures_of(MADE).deliveries}
    assert due == {
        ("pea", date(2026, 12, 7)): False,
        ("pea", date(2026, 12, 8)): True,
        ("radish", day(27)): True,
        ("radish", date(2026, 12, 7)): True,
    }


def test_racks_are_taken_over_as_the_plan_says_them() -> None:
    (rack,) = figures_of(MADE).racks
    assert (rack.what, rack.has, rack.likely, rack.low, rack.high) == ("lit spots", (8.0,), (3.0,), (2.0,), (4.0,))


@pytest.mark.parametrize("more", [(), ("--phone",)], ids=["desk", "phone"])
def test_a_plan_is_drawn_as_it_is_made_and_again_as_it_was_kept(
    shelf: Typed, tmp_path: Path, more: tuple[str, ...]
) -> None:
    first, again = tmp_path / "plan.svg", tmp_path / "again.svg"
    assert f"Picture saved: {first}" in " ".join(shelf("plan", *WEEKS, "--picture", str(first), *more).split())
    shelf("plan", "--kept", "--picture", str(again), *more)
    assert first.read_text(encoding="utf-8") == again.read_text(encoding="utf-8")
    told = first.read_text(encoding="utf-8")
    assert "Lit spots taken each night" in told
    assert "radish" in told


def test_json_names_the_picture_beside_the_plan(shelf: Typed, tmp_path: Path) -> None:
    file = tmp_path / "plan.png"
    found = shelf.json("plan", *WEEKS, "--look-only", "--picture", str(file))
    assert found.pop("picture") == str(file)
    assert file.read_bytes()[:4] == b"\x89PNG"
    plan = msgspec.convert(found, Plan)
    assert {rack.limit for rack in plan.racks} == {"dark spots", "lit spots"}
    assert all(len(rack.likely) == 21 for rack in plan.racks)


def test_a_picture_of_another_kind_is_refused_before_anything_is_planned_or_kept(shelf: Typed, tmp_path: Path) -> None:
    assert "PNG or SVG" in shelf.refused("plan", *WEEKS, "--picture", str(tmp_path / "plan.gif"), code=2)
    assert "No plan is kept yet" in shelf("plan", "--kept")


@pytest.mark.parametrize("question", [("--mix",), ("--why", "pea"), ("--what-if", "no home-wed")])
def test_the_answer_to_a_question_is_not_drawn_and_says_what_is(shelf: Typed, question: tuple[str, ...]) -> None:
    said = " ".join(shelf.refused("plan", *question, "--picture", "plan.svg", code=2).split())
    assert "Draw the plan by itself: trayward plan --kept --picture plan.svg" in said
