"""Entries about prices and invoices."""

from __future__ import annotations

from trayward.farm.bills import Bill, Billing, Buyer, Paid, PriceList, Sent
from trayward.farm.entries.body import Body


class PriceListSet(Body, frozen=True, kw_only=True):
    """A customer's own prices from a day on; a list of the same day is replaced whole."""

    KIND = "price list set"
    VERSION = 2
    prices: PriceList

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.prices.customer}", *(f"product:{each.product}" for each in self.prices.prices))


class BillingSet(Body, frozen=True, kw_only=True):
    """How the farm writes its invoices from now on."""

    KIND = "billing set"
    billing: Billing


class BuyerSet(Body, frozen=True, kw_only=True):
    """Whom a customer's invoices are written to from now on."""

    KIND = "buyer set"
    buyer: Buyer

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.buyer.customer}",)


class InvoiceMade(Body, frozen=True, kw_only=True):
    """An invoice. It is never struck: a credit note corrects it."""

    KIND = "invoice made"
    bill: Bill

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.bill.name}", f"customer:{self.bill.customer}")


class InvoiceCredited(Body, frozen=True, kw_only=True):
    """A credit note, for some lines of an invoice or all. `again`: what it takes away may be asked for anew."""

    KIND = "invoice credited"
    bill: Bill
    again: bool = False

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.bill.name}", f"invoice:{self.bill.credits}", f"customer:{self.bill.customer}")


class InvoiceSent(Body, frozen=True, kw_only=True):
    """An invoice or a credit note went to the customer."""

    KIND = "invoice sent"
    invoice: str
    sent: Sent

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.invoice}",)


class InvoicePaid(Body, frozen=True, kw_only=True):
    """Money came for an invoice."""

    KIND = "invoice paid"
    invoice: str
    paid: Paid

    def subjects(self) -> tuple[str, ...]:
        return (f"invoice:{self.invoice}",)
