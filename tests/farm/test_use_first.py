"""One rule says which lot to take: what goes off first, then what came first."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from trayward.desk.lookup import lots_for
from trayward.farm.crops import CropFacts, Fact
from trayward.farm.in_line import place_in_line
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.use_first import seed_in_line

NOW = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
LOFT = FarmSettings(name="Lantern Loft")
ONION = CropFacts(crop="onion", family="Amaryllidaceae", facts={"germ_pct_fsa_min": Fact(value=70.0)})


def lot(name: str, months: int, germination: float | None) -> SeedLot:
    came = NOW - timedelta(days=30 * months)
    return SeedLot(lot=name, crop="onion", received_at=came, received_g=500.0, left_g=500.0, germination=germination)


def names(*lots: SeedLot) -> list[str]:
    return [each.lot for each in seed_in_line(lots, ONION, NOW, LOFT)]


def test_what_goes_off_first_is_used_first_although_it_came_later() -> None:
    """A bag at 75 % falls below the least, 70 %, long before an older one at 97 %."""
    assert names(lot("strong", 10, 0.97), lot("weak", 2, 0.75)) == ["weak", "strong"]


def test_of_two_that_keep_alike_the_older_is_used_first() -> None:
    assert names(lot("younger", 0, 0.95), lot("older", 12, 0.95)) == ["older", "younger"]


def test_of_one_delivery_the_name_decides_whatever_order_they_are_told_in() -> None:
    one, other = lot("B", 3, 0.95), lot("A", 3, 0.95)
    assert names(one, other) == names(other, one) == ["A", "B"]


def test_a_lot_nobody_knows_the_share_of_waits_behind_those_that_go_off() -> None:
    nothing_known = CropFacts(crop="onion")
    lots = [lot("unknown", 20, None), lot("known", 1, 0.95)]
    assert [each.lot for each in seed_in_line(lots, nothing_known, NOW, LOFT)] == ["known", "unknown"]


def test_the_order_holds_all_day() -> None:
    lots = [lot("strong", 10, 0.97), lot("weak", 2, 0.75)]
    morning, night = (NOW.replace(hour=hour, minute=59) for hour in (0, 23))
    assert seed_in_line(lots, ONION, morning, LOFT) == seed_in_line(lots, ONION, night, LOFT)


def test_a_supply_with_a_best_before_day_goes_before_one_without() -> None:
    assert place_in_line(date(2030, 1, 1), NOW, "dated") < place_in_line(None, NOW - timedelta(days=900), "old")


def test_without_a_farms_settings_the_day_is_that_of_the_moment() -> None:
    assert [each.lot for each in seed_in_line([lot("b", 1, 0.9), lot("a", 1, 0.9)], ONION, NOW, None)] == ["a", "b"]


def test_sowing_by_hand_takes_the_same_lot() -> None:
    state = FarmState(settings=LOFT, seed={each.lot: each for each in (lot("strong", 10, 0.97), lot("weak", 2, 0.75))})
    assert [each.lot for each in lots_for(state, "onion", NOW)] == ["weak", "strong"]
