"""Money: what was earned, price lists, invoices, what is owed."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import TYPE_CHECKING, Unpack

import msgspec

from trayward.desk.core import DeskCore, Receipt, Said, worked_out
from trayward.desk.ports import Place, Wanted
from trayward.errors import InputError
from trayward.farm.bills import Bill, Billing, BillLine, Buyer, ListPrice, Paid, PriceList, Sent
from trayward.farm.calendar import day_start, local_day
from trayward.farm.entries import (
    BillingSet,
    BuyerSet,
    Entry,
    InvoiceCredited,
    InvoiceMade,
    InvoicePaid,
    InvoiceSent,
    PlanKept,
    PriceListSet,
)

if TYPE_CHECKING:
    from trayward.money.grown import KnownCosts
    from trayward.money.invoicing import OpenLines, Owed
    from trayward.money.journal import Posting
    from trayward.money.report import Report
    from trayward.money.takings import Takings
    from trayward.money.terms import Terms
    from trayward.money.types import By, Compared, Earned, Supposed
    from trayward.plan.types import Plan

PAGE = 500
FOUR_WEEKS = timedelta(days=28)
TRAYS_AT_ONCE = 50
"""So many trays' costs are worked out in one part of getting ready: some ten milliseconds."""
PLANS = 20
"""So many plans kept one after the other may have been struck."""


class Earning(DeskCore):
    """What the farm earned and is owed; `money` works it out."""

    _known_costs: KnownCosts | None = None
    _takings: Takings | None = None
    _open: OpenLines | None = None

    def _costs(self) -> KnownCosts:
        """What trays cost that was worked out before: an entry more does not make a month be reckoned anew."""
        from trayward.money.grown import KnownCosts

        if self._known_costs is None:
            self._known_costs = KnownCosts()
        return self._known_costs

    def earned(self, first: date, last: date, *, by: By = "crop", at: datetime) -> Earned:
        """What the farm earned from one day to another, both included, told by crop, customer, week, ..."""
        from trayward.money.earned import earned

        return earned(self.state(at), self.terms(at), first, last, by=by, at=at, known=self._costs())

    def costs_ready(self, at: datetime) -> Iterator[None]:
        """
        Work out, a part at a time, what the trays of the last four weeks cost, where something is sold here.

        Between two parts the farm may be used. The first look at the money then need not wait for it.
        """
        from trayward.money.grown import TrayCoster

        state = self.state(at)
        if not any(product.price > 0 for product in state.products.values()):
            return
        settings = self.settings(at)
        coster = TrayCoster(state, self.terms(at), known=self._costs())
        yield
        since = day_start(local_day(at, settings) - FOUR_WEEKS, settings)
        left = [*coster.trays_left.since(state, since), *(tray for tray in state.trays.values() if tray.ended_at)]
        for begin in range(0, len(left), TRAYS_AT_ONCE):
            yield
            if state is not self._state:
                return
            for tray in left[begin : begin + TRAYS_AT_ONCE]:
                coster.cost(tray)

    def sold_to(self, first: date, last: date, *, at: datetime) -> dict[str, Decimal]:
        """What each customer was sold from one day to another, both included, without tax. [farm's currency]"""
        from trayward.money.takings import Takings

        if self._takings is None:
            self._takings = Takings()
        return self._takings.between(self.state(at), self.settings(at).money.currency, first, last)

    def earned_if(
        self, first: date, last: date, supposed: Supposed, *, by: By = "crop", at: datetime, now: Earned | None = None
    ) -> Compared:
        """The same record at other prices, side by side; `now`: the record as it was, where it was told before."""
        from trayward.money.suppose import compared

        return compared(self.state(at), self.terms(at), first, last, supposed, by=by, at=at, now=now)

    def money_report(self, period: str, *, at: datetime) -> Report:
        """A month (`2026-11`) or a year (`2026`) of the farm, against the time before and the plan."""
        from trayward.money.report import period_of, report

        asked = period_of(period)
        return report(
            self.state(at),
            self.terms(at),
            asked,
            at=at,
            plans=self._plans_before(asked.months, at),
            known=self._costs(),
        )

    def _plans_before(self, months: Sequence[date], at: datetime) -> list[Plan]:
        """The plan kept last before each of some days, each plan once."""
        from trayward.plan.types import Plan

        struck, found = self.book.struck(), dict[str, Plan]()
        for day in months:
            until = min(day_start(day, self.settings(at)), at)
            for kept in self.book.search(Wanted(kinds=(PlanKept.KIND,), until=until), limit=PLANS).kept:
                body = kept.entry.body
                if kept.entry.id not in struck and isinstance(body, PlanKept):
                    found.setdefault(kept.entry.id, msgspec.json.decode(body.plan, type=Plan))
                    break
        return list(found.values())

    def terms(self, at: datetime) -> Terms:
        """What prices, recipes, kit and lamps were when, up to a moment."""
        from trayward.money.terms import KINDS, Terms

        struck = self.book.struck()
        found: list[Entry] = []
        before: Place | None = None
        while True:
            page = self.book.search(Wanted(kinds=KINDS), before=before, limit=PAGE)
            found += [kept.entry for kept in page.kept if kept.entry.at <= at and kept.entry.id not in struck]
            if page.older is None:
                break
            before = page.older
        return Terms(self.settings(at), self.state(at), reversed(found))

    def journal(self, first: date, last: date, *, at: datetime) -> tuple[Posting, ...]:
        """Rows for a bookkeeper: invoices, credit notes and payments of some days, and costs month by month."""
        from trayward.money.journal import bills_journal, costs_journal

        state = self.state(at)
        costs = costs_journal(self.earned(first, last, by="month", at=at), state.billing)
        return (*bills_journal(state, first, last), *costs)

    # Prices and habits -----------------------------------------------------------------------------------------------

    def set_prices(self, customer: str, prices: Sequence[ListPrice], valid_from: date, **said: Unpack[Said]) -> Receipt:
        """A customer's own prices from a day on; what went out before keeps its price."""
        body = PriceListSet(prices=PriceList(customer=customer, valid_from=valid_from, prices=tuple(prices)))
        return self.record(body, **said, names=(customer,))

    def set_billing(self, billing: Billing, **said: Unpack[Said]) -> Receipt:
        """How invoices are written from now on. For rates and words defer to a licensed bookkeeper and local rules."""
        return self.record(BillingSet(billing=billing), **said)

    def set_buyer(self, buyer: Buyer, **said: Unpack[Said]) -> Receipt:
        """Whom a customer's invoices are written to from now on."""
        return self.record(BuyerSet(buyer=buyer), **said, names=(buyer.customer,))

    # Invoices --------------------------------------------------------------------------------------------------------

    def invoice_preview(self, customer: str, up_to: date | None = None, *, at: datetime) -> Bill:
        """The invoice as it would be made now; nothing is recorded."""
        from trayward.money.invoicing import invoice_for

        today = local_day(at, self.settings(at))
        return invoice_for(self.state(at), customer, up_to or today, today)

    @worked_out(InvoiceMade)
    def invoice(
        self, customer: str, up_to: date | None = None, *, lines: Collection[str] = (), **said: Unpack[Said]
    ) -> Receipt:
        """
        Make the next invoice of a customer: what went out until a day and stands on no invoice yet.

        Numbers have no gaps and are never used again, so it is made now, after every one before it, and is corrected by
        a credit note alone.

        Returns
        -------
        Receipt
            `names` holds the invoice.
        """
        from trayward.money.invoicing import invoice_for

        self._after_the_last(said["at"])
        today = local_day(said["at"], self.settings(said["at"]))
        bill = invoice_for(self.state(said["at"]), customer, up_to or today, today, lines)
        return self.record(InvoiceMade(bill=bill), **said, names=(bill.name,))

    @worked_out(InvoiceCredited)
    def credit(
        self, invoice: str, reason: str, *, lines: Collection[str] = (), again: bool = False, **said: Unpack[Said]
    ) -> Receipt:
        """Make a credit note for some lines of an invoice, or all that is left; `again`: to be asked for anew."""
        from trayward.money.invoicing import credit_for

        if not reason.strip():
            raise InputError("reason", "nothing", "a credit note needs one", "Say in a few words what was wrong.")
        self._after_the_last(said["at"])
        today = local_day(said["at"], self.settings(said["at"]))
        bill = credit_for(self.state(said["at"]), invoice, today, reason.strip(), lines)
        return self.record(InvoiceCredited(bill=bill, again=again), **said, names=(bill.name,))

    def invoice_sent(
        self, invoice: str, *, day: date | None = None, way: str = "", to: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """An invoice or a credit note went to the customer."""
        sent = Sent(day=self._day_come(day, said["at"]), way=way.strip(), to=to.strip())
        return self.record(InvoiceSent(invoice=invoice, sent=sent), **said, names=(invoice,))

    def invoice_paid(
        self, invoice: str, amount: Decimal, *, day: date | None = None, way: str = "", **said: Unpack[Said]
    ) -> Receipt:
        """Money came for an invoice."""
        from trayward.money.coins import rounded
        from trayward.money.invoicing import invoice_named

        bill = invoice_named(self.state(said["at"]), invoice).bill
        if not amount.is_finite() or amount != rounded(amount, bill.currency):
            raise InputError("amount", amount, f"{bill.currency} has no smaller coins", "Check what was typed.")
        paid = Paid(day=self._day_come(day, said["at"]), amount=amount, way=way)
        return self.record(InvoicePaid(invoice=invoice, paid=paid), **said, names=(invoice,))

    def _day_come(self, day: date | None, at: datetime) -> date:
        """The day something happened: today if not said. Raises `InputError` where it lies ahead."""
        today = local_day(at, self.settings(at))
        if day is not None and day > today:
            raise InputError("day", day, f"it has not come yet; today is {today}", "Say the day it happened.")
        return day or today

    def open_lines(self, up_to: date, *, at: datetime) -> dict[str, list[BillLine]]:
        """Customer -> what went out until a day, has a price and stands on no invoice; who has none is not named."""
        from trayward.money.invoicing import OpenLines

        if self._open is None:
            self._open = OpenLines()
        return self._open.of(self.state(at), up_to, self.settings(at).money.currency)

    def owed(self, *, at: datetime) -> tuple[Owed, ...]:
        """What each customer owes, and what of it is overdue."""
        from trayward.money.invoicing import owed

        return owed(self.state(at), local_day(at, self.settings(at)))

    def _after_the_last(self, at: datetime) -> None:
        """Documents follow each other in time as in number: none is made for a moment that others came after."""
        horizon = self.book.head().horizon
        bills = self.state(max(at, horizon) if horizon is not None else at).bills
        days = [held.bill.day for held in bills.values()]
        today = local_day(at, self.settings(at))
        if len(bills) != len(self.state(at).bills) or (days and max(days) > today):
            rule = "an invoice with a lower number was made later than that"
            raise InputError("when", at.isoformat(), rule, "Make it now: its number comes after theirs.")
