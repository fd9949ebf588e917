"""A month and a year: against the time before and the plan, as a spreadsheet, on paper and as typed prices."""

from __future__ import annotations

import io
from datetime import UTC, date, datetime
from decimal import Decimal

import msgspec
import pypdfium2
import pytest
import python_calamine

from tests.money.small import CAFE, MONDAY, farm_made, grown, on, ordered
from trayward import Farm
from trayward.errors import InputError
from trayward.farm.bills import ListPrice, PriceStep
from trayward.farm.calendar import zone
from trayward.farm.entries import LineDelivered, LotGrams
from trayward.money.grown import KnownCosts
from trayward.money.listed import listed_price, listed_words, steps_of
from trayward.money.report import period_of
from trayward.money.report_words import plan_lines, report_lines, report_title
from trayward.money.sheet import report_xlsx
from trayward.paper.money_report import report_sheet
from trayward.paper.paper import paper_of
from trayward.plan.types import LineOutlook, Plan


def sold(farm: Farm, product: str, harvest: str, grams: float, day: int) -> str:
    """So many grams asked for, and delivered on a day; the order line."""
    line = f"{ordered(farm, CAFE, product, grams, due=day)}/1"
    out = LineDelivered(line=line, loose=(LotGrams(harvest=harvest, grams=grams),))
    farm.deliver(CAFE, [out], at=on(day, 10), sure=True)
    return line


def two_months() -> Farm:
    """Pea sold in November, twice as much in December; radish in December only."""
    farm = farm_made()
    lot = grown(farm, "pea", 2, 300.0)
    sold(farm, "pea", lot, 200.0, 8)
    later = grown(farm, "pea", 2, 600.0, cut_on=37, sown_on=30)
    sold(farm, "pea", later, 400.0, 38)
    return farm


END = datetime(2027, 1, 2, 9, tzinfo=UTC)


def test_a_month_is_held_against_the_one_before() -> None:
    """400 g at 3.00 for 100 g are 12.00 in December; January has none of it."""
    with two_months() as farm:
        january = farm.money_report("2027-01", at=datetime(2027, 2, 3, 9, tzinfo=UTC))
    assert january.over
    assert january.before is not None
    assert january.before.last == date(2026, 12, 31)
    found = {each.what: each for each in january.changes}
    assert (found["sold"].now, found["sold"].before) == (0, Decimal("12.00"))
    assert found["left"].difference == found["sold"].difference - found["all costs"].difference


def test_where_the_book_begins_within_the_month_before_there_is_nothing_to_hold_it_against() -> None:
    """The book begins on 2 November: November is not whole, and December stands alone."""
    with two_months() as farm:
        assert farm.money_report("2026-11", at=END).before is None
        december = farm.money_report("2026-12", at=END)
    assert december.before is None
    assert december.total.parts.sales == sum(row.parts.sales for row in december.customers.rows) == Decimal("12.00")


def test_a_month_that_is_not_over_is_held_against_as_many_days() -> None:
    with two_months() as farm:
        sold_before = farm.money_report("2026-12", at=END).total.parts.sales
        grown_late = grown(farm, "pea", 1, 300.0, cut_on=62, sown_on=56)
        sold(farm, "pea", grown_late, 100.0, 62)
        january = farm.money_report("2027-01", at=on(63, 20))
    assert not january.over
    assert january.last == date(2027, 1, 4)
    assert january.before is not None
    assert (january.before.first, january.before.last) == (date(2026, 12, 1), date(2026, 12, 4))
    assert january.before.total.parts.sales == 0  # December's sale was on the 10th
    assert sold_before > 0
    assert next(each for each in january.changes if each.what == "sold").difference == january.total.parts.sales


def test_what_the_plan_expected_stands_beside_what_came() -> None:
    """The plan saw all of one line and half of another: 400 g and 100 g, 15.00 at 3.00 for 100 g; 12.00 was sold."""
    with two_months() as farm:
        due = date(2026, 12, 12)
        second = f"{ordered(farm, CAFE, 'pea', 200.0, due=40)}/1"
        first = farm.due(date(2026, 12, 10), date(2026, 12, 10), at=END)[0].line
        lines = [
            LineOutlook(line=first, customer=CAFE, crop="pea", due=date(2026, 12, 10), grams=400.0, met_grams=400.0),
            LineOutlook(line=second, customer=CAFE, crop="pea", due=due, grams=200.0, met_grams=100.0),
        ]
        plan = Plan(made_at=on(26), first=date(2026, 11, 28), last=date(2027, 1, 8), lines=tuple(lines))
        farm.keep_plan(plan, at=on(26))
        planned = farm.money_report("2026-12", at=END).planned
    assert planned is not None
    assert (planned.sales, planned.sold) == (Decimal("15.00"), Decimal("12.00"))
    assert (planned.lines, planned.sure, planned.met) == (2, 1, 1)
    assert "It called 1 of 2 order lines met; 1 were." in plan_lines(planned, "EUR")


def test_without_a_plan_that_is_said() -> None:
    with two_months() as farm:
        found = farm.money_report("2026-12", at=END)
    assert found.planned is None
    assert any("No plan was kept" in line for line in report_lines(found, "g"))


def test_a_year_is_told_by_month_and_adds_up() -> None:
    with two_months() as farm:
        year = farm.money_report("2026", at=END)
    assert [row.name for row in year.times.rows] == ["2026-11", "2026-12"]
    assert sum(row.left for row in year.times.rows) == year.total.left
    assert report_title(year).startswith("2026: ")


@pytest.mark.parametrize("text", ["", "november", "2026-13", "26-11", "2026-1", "1999"])
def test_a_period_is_a_month_or_a_year(text: str) -> None:
    with pytest.raises(InputError, match=r"must be a month or a year\. For instance 2026-11 or 2026"):
        period_of(text)


def test_a_period_that_lies_ahead_is_refused() -> None:
    with farm_made() as farm, pytest.raises(InputError, match="it has not begun"):
        farm.money_report("2027-03", at=END)


def test_the_spreadsheet_says_the_same_read_by_another_program() -> None:
    """Written by xlsxwriter, read by calamine, a reader in Rust, which shares no code with it."""
    with two_months() as farm:
        found = farm.money_report("2026-12", at=END)
    book = python_calamine.load_workbook(io.BytesIO(report_xlsx(found)))
    assert book.sheet_names == ["in short", "by crop", "by customer", "by week"]
    rows = book.get_sheet_by_name("in short").to_python()
    told = {row[0]: row[1] for row in rows[2 : 2 + len(found.changes)]}
    assert told == {each.what: float(each.now) for each in found.changes}
    crops = book.get_sheet_by_name("by crop").to_python()
    assert [row[0] for row in crops[2:-1]] == [row.name for row in found.crops.rows]


def test_the_paper_says_what_was_earned_and_stays_in_its_margins() -> None:
    with two_months() as farm:
        found, settings = farm.money_report("2026-12", at=END), farm.settings(END)
    pdf = report_sheet(found, paper_of(settings, END.astimezone(zone(settings)), "A4"), settings)
    document = pypdfium2.PdfDocument(pdf)
    words = "".join(page.get_textpage().get_text_range() for page in document)
    for told in ("Money, December 2026", "By crop", "By customer", "By week", CAFE, f"{found.total.parts.sales}"):
        assert told in words


# Kept costs -----------------------------------------------------------------------------------------------------------


def test_what_a_tray_cost_is_looked_up_and_the_account_is_the_same() -> None:
    known = KnownCosts()
    with two_months() as farm:
        state, terms = farm.state(END), farm.terms(END)
        from trayward.money.earned import earned

        days = date(2026, 11, 1), date(2026, 12, 31)
        anew = earned(state, terms, *days, by="shelf", at=END)
        for _ in range(2):
            assert earned(state, terms, *days, by="shelf", at=END, known=known) == anew


def test_another_wage_makes_costs_be_worked_out_anew() -> None:
    with two_months() as farm:
        before = farm.earned(date(2026, 12, 1), date(2026, 12, 31), at=END)
        settings = farm.settings(END)
        money = msgspec.structs.replace(settings.money, wage_h=24.0)
        from trayward.farm.entries import FarmSet

        farm.record(FarmSet(settings=msgspec.structs.replace(settings, money=money)), at=on(35))
        after = farm.earned(date(2026, 12, 1), date(2026, 12, 31), at=END)
    assert after.total.parts.hands > before.total.parts.hands


# Steps ----------------------------------------------------------------------------------------------------------------


def test_a_larger_order_pays_the_price_of_its_step() -> None:
    """From 300 g on 2.50: 200 g cost what the list says, 400 g all of it the lower price."""
    with farm_made() as farm:
        listed = ListPrice(
            product="pea", price=Decimal("2.80"), steps=(PriceStep(least=Decimal(300), price=Decimal("2.50")),)
        )
        farm.set_prices(CAFE, [listed], MONDAY, at=on(1))
        lot = grown(farm, "pea", 4, 900.0)
        sold(farm, "pea", lot, 200.0, 8)
        sold(farm, "pea", lot, 400.0, 9)
        prices = [line.price for delivery in farm.state(on(10)).deliveries for line in delivery.lines]
    assert prices == [2.8, 2.5]


def test_steps_are_typed_as_they_are_said() -> None:
    found = listed_price("pea punnet", "3.40 from 10 at 3 from 50 at 2,80")
    assert listed_words(found, "EUR") == "3.40 from 10 at 3.00 from 50 at 2.80"
    assert steps_of("pea", "10 at 3\n50 at 2.80") == listed_price("pea", "1 from 10 at 3 from 50 at 2.80").steps
    with pytest.raises(InputError, match="pea = ten: a step is an amount and its price"):
        steps_of("pea", "ten")
    with pytest.raises(InputError, match="can be read as 1500"):
        steps_of("pea", "1,500 at 3")
