"""What the harvest page is made of."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from trayward.farm.entries import Cut, Delivered, Entry, LineDelivered, LotGrams, Packed, Struck, ThrownAway, TrayCut
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, HarvestLot
from trayward.outlook.cut_foretold import CutForetold
from trayward.outlook.types import Range
from trayward.web.harvest.view import (
    DAYS_ON_A_PAGE,
    crops_shown,
    days_of_cuts,
    days_shown,
    lots_since,
    page_of,
    verdict_of,
    went_to,
)

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
DAY = timedelta(days=1)
SETTINGS = FarmSettings(name="Lantern Loft", timezone="Pacific/Auckland")
RANGE = Range(low=150.0, likely=200.0, high=260.0)


def lot(name: str, days_ago: int, grams: float = 200.0, trays: int = 1, crop: str = "pea") -> HarvestLot:
    names = tuple(f"{name}.{number}" for number in range(trays))
    return HarvestLot(
        harvest=name, crop=crop, cut_at=NOON - DAY * days_ago, grams=grams, left_g=0.0, trays=names, cold_room_days=5
    )


def state(*lots: HarvestLot) -> FarmState:
    return FarmState(settings=SETTINGS, harvests={each.harvest: each for each in lots})


@pytest.mark.parametrize(
    ("grams", "verdict"), [(149.9, "less"), (150.0, "as expected"), (260.0, "as expected"), (260.1, "more")]
)
def test_a_weight_is_as_expected_within_the_range_of_8_in_10(grams: float, verdict: str) -> None:
    assert verdict_of(grams, RANGE) == verdict
    assert verdict_of(grams, None) == ""


def test_cuts_are_listed_by_the_farms_own_day_the_newest_first() -> None:
    days = days_of_cuts(state(lot("H1", 3), lot("H2", 0), lot("H3", 3)), SETTINGS)
    # Noon in UTC is after midnight in Auckland: the day after.
    assert list(days) == [date(2026, 11, 26), date(2026, 11, 23)]
    assert [each.harvest for each in days[date(2026, 11, 23)]] == ["H3", "H1"]


def test_a_page_holds_some_days_and_every_day_is_on_one_page() -> None:
    days = days_of_cuts(state(*(lot(f"H{number}", number) for number in range(DAYS_ON_A_PAGE + 3))), SETTINGS)
    first, pages = page_of(days, 1)
    second, _ = page_of(days, 2)
    assert (len(first), len(second), pages) == (DAYS_ON_A_PAGE, 3, 2)
    assert {**first, **second} == days
    assert page_of(days, 99)[0] == second
    assert page_of({}, 1) == ({}, 1)


def test_a_lot_shows_what_was_expected_of_it_where_that_is_known() -> None:
    told = CutForetold(total=RANGE, each={})
    (day,) = days_shown({NOON.date(): [lot("H1", 0, 120.0), lot("H2", 0)]}, {"H1": told, "H2": None})
    assert [(each.verdict, each.foretold) for each in day.lots] == [("less", RANGE), ("", None)]
    assert day.grams == 320.0


def test_a_crop_is_told_by_the_mean_of_its_trays() -> None:
    lots = [lot("H1", 1, 300.0, 2), lot("H2", 2, 330.0, 1), lot("H3", 3, 50.0, 1, crop="kale")]
    kale, pea = crops_shown(lots, {"pea": RANGE})
    assert (pea.trays, pea.grams, pea.mean_g, pea.verdict) == (3, 630.0, 210.0, "as expected")
    assert (kale.mean_g, kale.foretold, kale.verdict) == (50.0, None, "")


def test_only_lots_since_a_day_count() -> None:
    found = lots_since(state(lot("H1", 9), lot("H2", 2)), date(2026, 11, 20), SETTINGS)
    assert [each.harvest for each in found] == ["H2"]


def test_a_lot_says_where_it_went_and_what_was_struck_counts_for_nothing() -> None:
    def said(name: str, body: object) -> Entry:
        return Entry(id=name, at=NOON, recorded=NOON, by="Mo", body=body)  # type: ignore[arg-type]

    parts = (LotGrams(harvest="H1", grams=60.0), LotGrams(harvest="H2", grams=40.0))
    loose = LineDelivered(line="O1/1", loose=(LotGrams(harvest="H1", grams=25.0),))
    entries = [
        said("entry-01", Cut(harvest="H1", crop="pea", trays=(TrayCut(tray="S.1", grams=200.0),))),
        said("entry-02", Packed(pack="P1", product="mix", packs=2, pack_g=50.0, parts=parts)),
        said("entry-03", Delivered(delivery="D1", customer="Kite Cafe", lines=(loose,))),
        said("entry-04", ThrownAway(parts=(LotGrams(harvest="H1", grams=10.0),), reason="limp")),
        said("entry-05", ThrownAway(parts=(LotGrams(harvest="H1", grams=90.0),), reason="wrong lot")),
        said("entry-06", Struck(entry="entry-05", reason="wrong lot")),
    ]
    found = went_to(entries, "H1")
    assert (found.packed_g, found.delivered_g, found.thrown_g, found.packs) == (60.0, 25.0, 10.0, ("P1",))
