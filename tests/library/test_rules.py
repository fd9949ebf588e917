"""Readings of rules from the facts of a farm; each figure beside the text it is from, none of them a verdict."""

from __future__ import annotations

import re
from datetime import date
from typing import Any

import pytest

from trayward.errors import InputError
from trayward.hygiene.kinds import KINDS
from trayward.library.rules import CropAsked, FarmAsked, Leaning, Reading, _table, readings, thresholds

CUT = CropAsked(crop="radish", medium="mat", roots="cut off", stage="at true leaves", cuts="farm")


def one(key: str, **said: Any) -> Reading:
    crops = said.pop("crops", (CUT,))
    country = {"us": "US", "eu": "EU", "gb": "GB"}[key[:2]]
    farm = FarmAsked(country=country, crops=crops, **said)  # type: ignore[arg-type]
    return next(each for each in readings(farm, said.get("own")) if each.key == key)


@pytest.mark.parametrize(
    ("crop", "leaning"),
    [
        # 21 CFR 112.141: harvested without roots from soil or substrate is outside subpart M.
        (CUT, "does not seem to apply"),
        (CropAsked(crop="a", medium="water", roots="cut off", stage="at true leaves", cuts="farm"), "cannot be told"),
        # UNH Extension 2021 on the FDA guidance: discretion where a yearly assurance says that the customer cuts.
        (CropAsked(crop="a", medium="mat", roots="with roots", cuts="customer"), "cannot be told"),
        (CropAsked(crop="a", medium="water", roots="with roots", stage="before true leaves", cuts="farm"), "may apply"),
        (CropAsked(crop="a"), "cannot be told"),
    ],
)  # fmt: skip
def test_whether_it_is_read_as_sprouts(crop: CropAsked, leaning: Leaning) -> None:
    assert one("us_sprouts", crops=(crop,)).leaning == leaning


def test_live_trays_are_told_of_the_yearly_letter() -> None:
    crop = CropAsked(crop="pea", roots="with roots", cuts="customer")
    assert "yearly written assurance" in one("us_sprouts", crops=(crop,)).because[0]


@pytest.mark.parametrize(
    ("produce", "leaning"),
    [
        (24_999.0, "does not seem to apply"),
        (25_000.0, "does not seem to apply"),
        (25_000.01, "may apply"),
        (None, "cannot be told"),
    ],
)
def test_small_farms_by_average_produce_sales(produce: float | None, leaning: Leaning) -> None:
    """112.4(a) as restated by NC State Extension: 25,000 dollars or less."""
    assert one("us_produce", produce=produce).leaning == leaning


@pytest.mark.parametrize(
    ("food", "share", "leaning"),
    [
        (499_999.0, 0.51, "may apply"),
        (500_000.0, 0.51, "does not seem to apply"),
        (499_999.0, 0.5, "does not seem to apply"),
        (None, 0.9, "cannot be told"),
        (10.0, None, "cannot be told"),
    ],
)
def test_the_qualified_exemption_is_strict_on_both_sides(
    food: float | None, share: float | None, leaning: Leaning
) -> None:
    """112.5(a): under 500,000 dollars, and sales to qualified end-users exceed those to all others."""
    assert one("us_qualified", food=food, near_share=share).leaning == leaning


@pytest.mark.parametrize(("produce", "day"), [(200_000.0, date(2027, 4, 5)), (300_000.0, date(2026, 4, 6)),
                                              (600_000.0, date(2025, 4, 7))])  # fmt: skip
def test_water_dates_go_by_size(produce: float, day: date) -> None:
    """89 FR 37448, dates in a Penn State law review of 2024-05-17; the classes of 112.3(b) are from memory."""
    assert [str(each.value) for each in one("us_produce", produce=produce).dates] == [day.isoformat()]


def test_the_traceability_list_is_the_growers_to_set_with_a_reason() -> None:
    assert one("us_trace", produce=60_000.0).leaning == "cannot be told"
    listed = CropAsked(crop="basil", listed=True, why="a fresh herb")
    found = one("us_trace", produce=60_000.0, crops=(listed,))
    assert found.leaning == "may apply"
    assert "a fresh herb" in found.because[0]
    # 1.1305: produce farms of no more than 25,000 dollars, and farms that 112.4(a) leaves out.
    assert one("us_trace", produce=25_000.0, crops=(listed,)).leaning == "does not seem to apply"


def test_microgreens_are_left_out_of_the_sprout_texts_in_europe() -> None:
    """Commission Notice 2017/C 220/03, its scope."""
    for key in ("eu_sprouts", "gb_sprouts"):
        assert one(key).leaning == "does not seem to apply"
        sprouted = CropAsked(crop="a", medium="water", roots="with roots", stage="before true leaves", cuts="farm")
        assert one(key, crops=(sprouted,)).leaning == "may apply"
        assert one(key, crops=(CropAsked(crop="a"),)).leaning == "cannot be told"


def test_at_home_nothing_is_sold() -> None:
    assert one("eu_hygiene", sells=False).leaning == "does not seem to apply"
    assert one("eu_step", sells=True).leaning == "may apply"


def test_crops_of_which_the_same_is_to_be_said_are_said_once() -> None:
    other = CropAsked(crop="broccoli", medium="mat", roots="cut off", stage="at true leaves", cuts="farm")
    found = [each for each in readings(FarmAsked(country="US", crops=(CUT, other))) if each.key == "us_sprouts"]
    assert [each.crops for each in found] == [("radish", "broccoli")]


def test_a_threshold_is_a_setting_with_value_source_and_day() -> None:
    own = {"us_not_covered": 33_000.0}
    changed = next(each for each in thresholds(own, date(2026, 11, 27)) if each.key == "us_not_covered")
    assert (changed.value, changed.source, changed.checked) == (33_000.0, "set by the farm", date(2026, 11, 27))
    farm = FarmAsked(country="US", produce=30_000.0)
    assert [each.leaning for each in readings(farm, own) if each.key == "us_produce"] == ["does not seem to apply"]
    for each in thresholds():
        assert each.source
        assert each.checked == date(2026, 11, 25)
        assert each.base_year in (2011, 2020)
    with pytest.raises(InputError, match="none of that name"):
        thresholds({"moon": 1.0})
    with pytest.raises(InputError, match="above 0"):
        thresholds({"us_small": -1.0})


def test_amounts_that_cannot_be_are_refused() -> None:
    with pytest.raises(InputError, match="must be an amount"):
        readings(FarmAsked(country="US", produce=float("nan")))
    with pytest.raises(InputError, match="must lie in"):
        readings(FarmAsked(country="US", near_share=1.2))


def test_no_reading_speaks_a_verdict_and_each_has_a_source() -> None:
    verdicts = re.compile(
        r"\b(must|exempt|required|applies|illegal|legal|compliant|violat\w+|you are|shall)\b", re.IGNORECASE
    )
    for rule in _table().readings:
        assert rule.source
        for words in rule.because.values():
            assert not verdicts.search(words.replace("they must be more", "")), words


def test_what_a_rule_asks_for_is_a_kind_of_record_that_can_be_kept() -> None:
    known = {kind.name for kind in KINDS}
    for rule in _table().readings:
        assert set(rule.records) <= known
