"""What a new plan says is different from the one kept: the day it is about, and chances that changed by a step."""

from __future__ import annotations

from datetime import timedelta

import msgspec
import pytest

from tests.plan.farms import NOW, day, farm
from trayward.plan.changes import find_changes
from trayward.plan.types import Change, LineOutlook, Plan, PlannedSowing


def line(chance: float | None, met_grams: float = 100.0) -> LineOutlook:
    return LineOutlook(
        line="radish-8/1", customer="Copper Ladle", crop="radish", due=day(8), grams=100.0, met_grams=met_grams,
        chance=chance, sure=0.8,
    )  # fmt: skip


def sown(on: int, trays: int = 1) -> PlannedSowing:
    return PlannedSowing(
        sow_on=day(on),
        crop="radish",
        recipe="radish",
        trays=trays,
        seed_g=10.0,
        cut_on=day(on + 5),
        grams_expected=100.0,
    )


def plan(*sowings: PlannedSowing, lines: tuple[LineOutlook, ...] = ()) -> Plan:
    return Plan(made_at=NOW, first=day(0), last=day(41), sowings=sowings, lines=lines)


def changes(before: Plan, after: Plan) -> tuple[Change, ...]:
    later = msgspec.structs.replace(after, made_at=NOW + timedelta(hours=1))
    return find_changes(before, later, farm())


def of_line(before: float | None, after: float | None, **more: float) -> list[str]:
    found = changes(plan(lines=(line(before),)), plan(lines=(line(after, **more),)))
    assert all(change.day == day(8) for change in found)
    return [change.message for change in found]


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (0.5, 0.9, ["Likelier: Copper Ladle, radish on Tue 8 Dec, 9 in 10 instead of 5 in 10."]),
        (0.9, 0.5, ["Less likely: Copper Ladle, radish on Tue 8 Dec, 5 in 10 instead of 9 in 10."]),
        (0.78, 0.84, []),
        (0.84, 0.78, []),
        (0.2, 0.6, []),
    ],
)
def test_a_chance_is_a_change_where_it_crosses_what_the_farm_wants_by_a_step(
    before: float, after: float, said: list[str]
) -> None:
    """8 in 10 are wanted. 0.78 and 0.84 lie nearer than 96 scenarios can tell: one standard error is 0.04."""
    assert of_line(before, after) == said


def test_against_a_plan_that_said_no_chances_met_and_short_are_told() -> None:
    assert of_line(None, 0.3, met_grams=40.0) == ["No longer met: Copper Ladle, radish on Tue 8 Dec, 60 g short."]
    short = plan(lines=(line(None, met_grams=40.0),))
    assert [one.message for one in changes(short, plan(lines=(line(0.9),)))] == [
        "Now met: Copper Ladle, radish on Tue 8 Dec."
    ]


def test_every_change_of_a_sowing_carries_its_day_the_earlier_one_where_it_moved() -> None:
    before, after = plan(sown(3), sown(10, 2), sown(20)), plan(sown(5), sown(10, 3), sown(21, 2))
    assert [(change.what, change.day) for change in changes(before, after)] == [
        ("sowing moved", day(3)),
        ("sowing added", day(21)),
        ("sowing gone", day(20)),
        ("trays changed", day(10)),
    ]
