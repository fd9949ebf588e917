"""What the stores show, without a page: lots in order, names that are free, pools that add up."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from trayward.farm.kit import Drying, Pool, PoolState
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.plan.seed_reach import SeedReach
from trayward.web.stores.view import CropShown, crops_shown, free_name, pool_shown, used_up

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
TODAY = AT.date()
SETTINGS = FarmSettings(name="Lantern Loft")


def lot(
    name: str, *, days: float = 10.0, left: float = 300.0, germination: float | None = 0.95, **more: object
) -> SeedLot:
    plain = SeedLot(lot=name, crop="pea", received_at=AT - timedelta(days=days), received_g=500.0, left_g=left)
    return msgspec.structs.replace(plain, germination=germination, **more)


def reach(crop: str = "pea", **more: object) -> SeedReach:
    return msgspec.structs.replace(SeedReach(crop=crop, basis="plan", here_g=300.0), **more)


def shown(*lots: SeedLot, reaches: dict[str, SeedReach] | None = None) -> tuple[CropShown, ...]:
    state = FarmState(settings=SETTINGS, seed={each.lot: each for each in lots})
    return crops_shown(state, SETTINGS, reaches if reaches is not None else {"pea": reach()}, AT)


def test_seed_that_goes_off_first_is_used_first() -> None:
    """An older lot, and a fresh one that sprouts so little that it is weak sooner."""
    (pea,) = shown(lot("OLD", days=200.0, germination=0.95), lot("POOR", germination=0.83))
    assert [(each.lot, each.first) for each in pea.lots] == [("POOR", True), ("OLD", False)]


def test_a_lot_alone_needs_no_order_and_what_cannot_be_sown_stands_behind() -> None:
    (pea,) = shown(
        lot("TREATED", days=99.0, treated=True),
        lot("COMING", left=0.0, expected_on=TODAY + timedelta(days=3)),
        lot("B"),
    )
    assert [(each.lot, each.first) for each in pea.lots] == [("B", False), ("COMING", False), ("TREATED", False)]


def test_seed_that_should_have_come_is_late() -> None:
    (pea,) = shown(lot("A", left=0.0, expected_on=TODAY - timedelta(days=1)), lot("B", left=0.0, expected_on=TODAY))
    assert {each.lot: each.late for each in pea.lots} == {"A": True, "B": False}


@pytest.mark.parametrize(
    ("order_by", "runs_out", "now"),
    [(7, 30, True), (8, 30, False), (-2, 3, True), (None, 28, True), (None, 29, False), (None, None, False)],
)
def test_what_is_to_be_ordered_within_a_week_stands_at_the_top(
    order_by: int | None, runs_out: int | None, now: bool
) -> None:
    def on(days: int | None) -> date | None:
        return TODAY + timedelta(days=days) if days is not None else None

    reaches = {"amaranth": reach("amaranth"), "pea": reach(order_by=on(order_by), runs_out=on(runs_out))}
    found = shown(lot("A"), reaches=reaches)
    assert [one.crop for one in found] == (["pea", "amaranth"] if now else ["amaranth", "pea"])
    assert found[0].order_now is now


def test_used_up_lots_are_listed_newest_first_and_take_no_name_again() -> None:
    state = FarmState(
        seed={name: lot(name, left=0.0, days=days) for name, days in (("pea-2611", 3.0), ("pea-2611b", 1.0))}
    )
    assert [each.lot for each in used_up(state)] == ["pea-2611b", "pea-2611"]
    assert free_name(state, "pea", TODAY) == "pea-2611c"
    assert free_name(state, "red cabbage", TODAY) == "red-cabbage-2611"
    assert free_name(state, "", TODAY) == ""


def pool(**more: object) -> PoolState:
    return msgspec.structs.replace(PoolState(pool=Pool(name="mesh mat", count=20, wear=0.05, sanitise=True)), **more)


def test_every_piece_of_a_pool_is_somewhere() -> None:
    batch = [Drying(AT + timedelta(hours=3), 4), Drying(AT - timedelta(hours=1), 2), Drying(AT + timedelta(hours=1), 1)]
    found = pool_shown(pool(in_use=6, dirty=2, washed=1, away=1, drying=batch), AT)
    assert (found.drying, found.dry_at) == (5, AT + timedelta(hours=3))
    parts = (found.ready, found.drying, found.washed, found.dirty, found.in_use, found.away, found.lost)
    assert sum(parts) == found.count


def test_a_record_that_has_more_than_there_are_says_how_many() -> None:
    found = pool_shown(pool(in_use=18, dirty=5), AT)
    assert (found.ready, found.short) == (0, 3)


def test_wear_is_the_mean_of_all_pieces_against_what_they_last() -> None:
    """400 uses of 20 mats are 20 each; at 0.05 a use 20 of the farm's currency."""
    found = pool_shown(pool(uses=400), AT)
    assert (found.uses_each, found.worn, found.nearly_worn, found.wear) == (20.0, None, False, pytest.approx(20.0))
    lasting = msgspec.structs.replace(pool().pool, lasts_uses=22)
    assert pool_shown(pool(uses=400, pool=lasting), AT).nearly_worn
