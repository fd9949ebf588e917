"""What accounts keep of a long book: followed entry by entry it is what a book read anew says."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from msgspec.structs import replace

from tests.money.small import CAFE, DINER, MONDAY, a_week, grown, on, ordered
from trayward import Farm
from trayward.farm.bills import Billing, Party, TaxRate
from trayward.farm.entries import BillingSet, FarmSet, Struck
from trayward.money.earned import earned
from trayward.money.grown import TrayCoster

LAST = MONDAY + timedelta(days=20)
AT = on(21)


def delivered(farm: Farm, customer: str, day: int, hour: float = 12) -> str:
    """Deliver what is due on a day; the entry."""
    kept = farm.deliver_due(customer, MONDAY + timedelta(days=day), at=on(day, hour), sure=True).kept
    return kept[0].entry.id


def same(farm: Farm) -> dict[str, Decimal]:
    """What each customer was sold, as it is followed: the same as an account of a book that nothing was read of."""
    found = farm.sold_to(MONDAY, LAST, at=AT)
    account = earned(farm.state(AT), farm.terms(AT), MONDAY, LAST, by="customer", at=AT)
    assert found == {row.name: row.parts.sales for row in account.rows if row.parts.sales}
    kept = farm.earned(MONDAY, LAST, by="customer", at=AT)
    assert kept == account
    return found


def test_sales_are_followed_as_deliveries_are_made_struck_and_said_late() -> None:
    farm = a_week()
    first = same(farm)
    assert first == {CAFE: Decimal("9.00"), DINER: Decimal("15.00")}
    ordered(farm, CAFE, "pea", 50.0, due=9)
    entry = delivered(farm, CAFE, 9)
    assert same(farm)[CAFE] > first[CAFE]
    farm.record(Struck(entry=entry, reason="not gone"), at=on(10))
    assert same(farm) == first
    ordered(farm, DINER, "pea", 40.0, due=8)
    farm.note("nothing else", at=on(12))
    delivered(farm, DINER, 8, 15)
    assert same(farm)[DINER] > first[DINER]


def test_prices_that_hold_the_tax_from_now_on_are_told_without_it() -> None:
    farm = a_week()
    gross = same(farm)[CAFE]
    billing = Billing(
        seller=Party(name="Lantern Loft"), rates=(TaxRate(name="usual", percent=Decimal(20)),), included=True
    )
    farm.record(BillingSet(billing=billing), at=on(10))
    assert same(farm)[CAFE] == (gross / Decimal("1.2")).quantize(Decimal("0.01"))


def test_days_on_both_ends_count_and_others_do_not() -> None:
    farm = a_week()
    day = MONDAY + timedelta(days=7)
    assert farm.sold_to(day, day, at=AT) == same(farm)
    assert farm.sold_to(MONDAY, day - timedelta(days=1), at=AT) == {}
    assert farm.sold_to(day + timedelta(days=1), LAST, at=AT) == {}


def test_trays_that_left_are_followed_as_they_are_stripped_late_and_struck() -> None:
    farm = a_week()
    same(farm)
    farm.strip(list(farm.state(on(9)).trays), at=on(9))
    same(farm)
    lot = grown(farm, "pea", 2, 400.0, sown_on=9, cut_on=16)
    same(farm)
    cut = next(kept for kept in farm.book.entries() if getattr(kept.entry.body, "harvest", "") == lot)
    farm.record(Struck(entry=cut.entry.id, reason="another tray"), at=on(17))
    same(farm)
    standing = [tray.tray for tray in farm.state(on(17)).growing()]
    farm.discard(standing[:1], "mould", at=on(15))
    same(farm)
    account = farm.earned(MONDAY + timedelta(days=14), LAST, at=AT)
    assert account.lost.trays == 1


def test_an_invoiced_delivery_struck_later_is_said_although_it_was_read_of_before() -> None:
    farm = a_week()
    farm.set_billing(Billing(seller=Party(name="Lantern Loft")), at=on(9))
    farm.invoice(DINER, at=on(10))
    assert farm.earned(MONDAY, LAST, at=AT).findings == ()
    gone = next(each for each in farm.state(AT).deliveries if each.customer == DINER)
    farm.strike(gone.entry, "never went", at=on(11))
    assert [each.code for each in farm.earned(MONDAY, LAST, at=AT).findings] == ["invoice-struck"]


def test_costs_made_ready_are_those_of_the_account_and_not_worked_out_again(monkeypatch: pytest.MonkeyPatch) -> None:
    farm = a_week()
    expected = same(a_week())
    parts = list(farm.costs_ready(AT))
    assert len(parts) >= 2, "the farm is free in between"
    monkeypatch.setattr(TrayCoster, "_cost", lambda _, tray: pytest.fail(f"{tray.tray} was worked out again"))
    account = farm.earned(MONDAY, LAST, by="customer", at=AT)
    assert {row.name: row.parts.sales for row in account.rows if row.parts.sales} == expected


def test_new_wages_let_costs_made_ready_go() -> None:
    farm = a_week()
    list(farm.costs_ready(AT))
    before = farm.earned(MONDAY, LAST, at=AT)
    settings = farm.settings(AT)
    dearer = replace(settings, money=replace(settings.money, wage_h=24.0))
    farm.record(FarmSet(settings=dearer), at=on(10))
    grown(farm, "pea", 1, 200.0, sown_on=10, cut_on=18)
    after = farm.earned(MONDAY, LAST, at=AT)
    assert after == earned(farm.state(AT), farm.terms(AT), MONDAY, LAST, at=AT)
    assert after.total.parts.hands > before.total.parts.hands + before.total.parts.hands / 3
