"""Orders from the spreadsheets people have: read, map, confirm, import; importing again changes nothing.

What is imported is decided order by order. An order is everything one customer wants on one day (and under one order
number, where the sheet has them). By default nothing is imported while any row is rejected; with `skip_rejected` the
orders all of whose rows can be read are imported, and an order with a rejected row is left out whole, so that no order
is ever half there.

An order that came from a sheet remembers what the sheet said. Reading the sheet again therefore changes an order only
where the sheet itself has changed since: what was changed by hand in between stays, and what was cancelled stays so.
Lines and orders that are no longer in the sheet are reported and left as they are.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable
from datetime import date

import msgspec

from trayward.desk.sheets.mapping import Mapping, guess_mapping, show_mapping
from trayward.desk.sheets.order_words import slug
from trayward.desk.sheets.reading import Sheet, read_sheet
from trayward.desk.sheets.rows import Draft, Rejected, RowReader, Told, Wish, asks_nothing, drafts
from trayward.farm.entries import Body, CustomerSet, OrderChanged, OrderPlaced, StandingOrderSet
from trayward.farm.orders import Customer, LineAsked, Order, StandingOrder
from trayward.farm.repeats import rule_in_words
from trayward.farm.state import FarmState

__all__ = [
    "Mapping",
    "OrderSheet",
    "Rejected",
    "Sheet",
    "guess_mapping",
    "read_orders",
    "read_sheet",
    "show_mapping",
]

_SOURCE = "sheet:"


class OrderSheet(msgspec.Struct, frozen=True, kw_only=True):
    """What an order sheet comes to. `bodies` is what to record: empty while rows are rejected, unless told to skip."""

    orders: tuple[Order, ...] = ()
    """Every order whose rows could all be read."""
    standing: tuple[StandingOrder, ...] = ()
    """The same for orders that repeat."""
    wishes: tuple[Wish, ...] = ()
    """What each row asks for that could be read, also where its order is left out."""
    rejected: tuple[Rejected, ...] = ()
    bodies: tuple[Body, ...] = ()
    placed: tuple[str, ...] = ()
    changed: tuple[str, ...] = ()
    unchanged: tuple[str, ...] = ()
    past: tuple[str, ...] = ()
    """Orders due before the day asked for, passed over."""
    notes: tuple[str, ...] = ()
    """What the grower should know: what is no longer in the sheet, asked twice, added, passed over."""
    held_back: bool = False
    """True: there are rejected rows, so nothing is recorded."""

    def sentence(self) -> str:
        """What was found, in one line."""
        parts = [
            f"{len(self.placed)} new",
            f"{len(self.changed)} changed",
            f"{len(self.unchanged)} as before",
            f"{len(self.rejected)} {'row' if len(self.rejected) == 1 else 'rows'} rejected",
        ]
        verdict = "Nothing is recorded while rows are rejected." if self.held_back else ""
        return f"Orders: {', '.join(parts)}. {verdict}".strip()


def read_orders(
    sheet: Sheet,
    mapping: Mapping,
    state: FarmState,
    *,
    skip_rejected: bool = False,
    new_customers: bool = False,
    not_before: date | None = None,
) -> OrderSheet:
    """
    Read the orders of a sheet as a mapping says, against the farm as it stands.

    Parameters
    ----------
    sheet : Sheet
        The sheet as read.
    mapping : Mapping
        What its columns mean, confirmed.
    state : FarmState
        The farm: its customers, products, and the orders it has already.
    skip_rejected : bool
        True: record the orders that can be read whole. False: record nothing while any row is rejected.
    new_customers : bool
        True: customers the farm does not know are added; False: their rows are rejected.
    not_before : date or None
        Orders due earlier are passed over, so that a sheet with last month in it can be read.

    Returns
    -------
    OrderSheet
        Nothing is recorded here; its `bodies` are what to record.
    """
    rows = _Rows(drafts(sheet, mapping), RowReader(mapping, state, new_customers=new_customers))
    groups = rows.groups
    spoilt = [key for key in groups if (key.customer, key.due, key.order) in rows.spoilt]
    rejected = [*rows.rejected, *(_left_out(wish) for key in spoilt for wish in groups.pop(key))]
    past = [key for key in groups if not_before is not None and not key.rule and key.due < not_before]
    gone = tuple(f"{key.customer} on {key.due}" for key in past)
    kept = {key: group for key, group in groups.items() if key not in past}
    found = _Found(state, rows.notes, _shared_names(kept))
    for key, group in kept.items():
        found.take(key, group)
    found.missing(kept, rows.unread)
    wrong = tuple(sorted(rejected, key=lambda row: (row.row, row.column)))
    return found.result(tuple(rows.wishes), wrong, gone, skip_rejected)


class _Key(msgspec.Struct, frozen=True):
    """What makes rows one order."""

    customer: str
    due: date
    order: str
    rule: str


class _Rows:
    """Every row read: wishes by the order they belong to, and rows that cannot be read."""

    def __init__(self, lines: Iterable[Draft], reader: RowReader) -> None:
        self.groups: dict[_Key, list[Wish]] = {}
        self.wishes: list[Wish] = []
        self.rejected: list[Rejected] = []
        self.spoilt: set[tuple[str, date, str]] = set()
        """Orders with a rejected row, as far as such a row tells whose and for which day it is."""
        self.unread: list[Told] = []
        """What rejected rows tell of the order they are of."""
        nothing: dict[int, None] = {}
        for draft in lines:
            if asks_nothing(draft):
                nothing[draft.row] = None
            else:
                self._take(draft, reader)
        rows = ", ".join(map(str, nothing))
        self.notes = [f"Passed over, for they ask for nothing: row {rows}."] if nothing else []

    def _take(self, draft: Draft, reader: RowReader) -> None:
        read = reader.read(draft)
        if isinstance(read, Wish):
            self.wishes.append(read)
            self.groups.setdefault(_Key(read.customer, read.due, read.order, read.rule), []).append(read)
            return
        self.rejected.append(read)
        told = reader.told(draft)
        self.unread.append(told)
        if told.customer is not None and told.due is not None:
            self.spoilt.add((told.customer, told.due, told.order))


def _left_out(wish: Wish) -> Rejected:
    reason = f"the order of {wish.customer} for {wish.due.isoformat()} has another row that cannot be read"
    return Rejected(
        row=wish.row, column=wish.column, reason=reason, remedy="Put that row right; an order is never taken by halves."
    )


class _Found:
    """Orders as they are found, compared with those the farm has."""

    def __init__(self, state: FarmState, notes: list[str], shared: set[str]) -> None:
        self.state = state
        self.shared = shared
        self.notes = notes
        self.orders: list[Order] = []
        self.standing: list[StandingOrder] = []
        self.bodies: list[Body] = []
        self.names: dict[str, list[str]] = {"placed": [], "changed": [], "unchanged": []}

    def take(self, key: _Key, group: list[Wish]) -> None:
        """One order of the sheet."""
        if key.customer not in self.state.customers and not self._added(key.customer):
            self.bodies.append(CustomerSet(customer=Customer(name=key.customer)))
            self.notes.append(f"Added as a customer: {key.customer}.")
        lines = self._lines(group)
        if key.rule:
            self._take_standing(key, lines)
        else:
            self._take_order(key, lines, "; ".join(dict.fromkeys(wish.note for wish in group if wish.note)))

    def _added(self, customer: str) -> bool:
        return any(isinstance(body, CustomerSet) and body.customer.name == customer for body in self.bodies)

    def _lines(self, group: list[Wish]) -> tuple[LineAsked, ...]:
        """Lines named by their product; the same asked twice makes two lines, and is said."""
        lines: dict[str, LineAsked] = {}
        for wish in group:
            name = slug(wish.product)
            if name in lines:
                twice = [other.row for other in group if other.product == wish.product]
                self.notes.append(f"Rows {', '.join(map(str, twice))} ask for the same; all are kept.")
                name = next(f"{name}-{number}" for number in range(2, 99) if f"{name}-{number}" not in lines)
            amount = wish.amount
            lines[name] = LineAsked(
                line=name, product=wish.product, quantity=amount.quantity, unit=amount.unit, price=wish.price
            )
        return tuple(lines.values())

    # One-off orders ----------------------------------------------------------------------------------------------

    def _take_order(self, key: _Key, lines: tuple[LineAsked, ...], note: str) -> None:
        name = _order_name(key, self.shared, self.state)
        source = f"{_SOURCE}{_digest(key, lines, note)}"
        order = Order(order=name, customer=key.customer, due=key.due, lines=lines, note=note, source=source)
        self.orders.append(order)
        known = self.state.orders.get(name)
        if known is None and name in self.state.cancelled_orders:
            self.notes.append(f"Order {name} was cancelled since it was imported, and stays cancelled.")
            self.names["unchanged"].append(name)
        elif known is None:
            self._say("placed", name, OrderPlaced(order=order))
        else:
            self._compare(known, order)

    def _compare(self, known: Order, order: Order) -> None:
        stay = self._gone_lines(order.order, known.lines, order.lines)
        wanted = msgspec.structs.replace(order, lines=(*order.lines, *stay), note=order.note or known.note)
        same = msgspec.structs.replace(known, source="", lines=()) == msgspec.structs.replace(
            wanted, source="", lines=()
        )
        if known.source == order.source or (same and set(known.lines) == set(wanted.lines)):
            self.names["unchanged"].append(order.order)
        else:
            self._say("changed", order.order, OrderChanged(order=wanted))

    def _gone_lines(
        self, name: str, known: tuple[LineAsked, ...], lines: tuple[LineAsked, ...]
    ) -> tuple[LineAsked, ...]:
        said = {line.line for line in lines}
        stay = tuple(line for line in known if line.line not in said)
        if stay:
            products = ", ".join(line.product for line in stay)
            self.notes.append(f"Order {name} has lines that are not in the sheet, which stay: {products}.")
        return stay

    # Repeating orders --------------------------------------------------------------------------------------------

    def _take_standing(self, key: _Key, lines: tuple[LineAsked, ...]) -> None:
        name = _standing_name(key)
        standing = StandingOrder(standing=name, customer=key.customer, start=key.due, rule=key.rule, lines=lines)
        self.standing.append(standing)
        known = self.state.standing.get(name)
        if known is None:
            self._say("placed", name, StandingOrderSet(standing=standing))
            return
        stay = self._gone_lines(name, known.lines, lines)
        wanted = msgspec.structs.replace(known, lines=(*lines, *stay))
        if set(wanted.lines) == set(known.lines):
            self.names["unchanged"].append(name)
        else:
            self._say("changed", name, StandingOrderSet(standing=wanted))

    def _say(self, what: str, name: str, body: Body) -> None:
        self.names[what].append(name)
        self.bodies.append(body)

    # The whole ---------------------------------------------------------------------------------------------------

    def missing(self, kept: dict[_Key, list[Wish]], unread: list[Told]) -> None:
        """Name the orders that came from a sheet, fall in this one's time, and are not in it, nor may be in a row of it
        that could not be read."""
        days = [key.due for key in kept if not key.rule]
        named = {order.order for order in self.orders}
        for order in self.state.orders.values():
            ours = order.source.startswith(_SOURCE) and order.order not in named
            there = any(_may_be(told, order) for told in unread)
            if ours and not there and days and min(days) <= order.due <= max(days):
                who = f"{order.customer}, {order.due.isoformat()}"
                self.notes.append(f"Order {order.order} ({who}) is not in the sheet. It stays; cancel it if it is off.")

    def result(
        self, wishes: tuple[Wish, ...], rejected: tuple[Rejected, ...], past: tuple[str, ...], skip_rejected: bool
    ) -> OrderSheet:
        held_back = bool(rejected) and not skip_rejected
        return OrderSheet(
            orders=tuple(self.orders),
            standing=tuple(self.standing),
            wishes=wishes,
            rejected=rejected,
            bodies=() if held_back else tuple(self.bodies),
            placed=tuple(self.names["placed"]),
            changed=tuple(self.names["changed"]),
            unchanged=tuple(self.names["unchanged"]),
            past=past,
            notes=tuple(dict.fromkeys(self.notes)),
            held_back=held_back,
        )


def _may_be(told: Told, order: Order) -> bool:
    """Whether a row that could not be read may be of an order, by as much as it tells."""
    if told.order:
        return order.order.startswith(f"sheet-{slug(told.order)}")
    return told.customer in (None, order.customer) and told.due in (None, order.due)


def _base_name(key: _Key) -> str:
    """A name that follows from what the sheet says and not from where it says it; an order number goes first."""
    return f"sheet-{slug(key.order)}" if key.order else f"sheet-{slug(key.customer)}-{key.due:%y%m%d}"


def _shared_names(keys: Iterable[_Key]) -> set[str]:
    """Names that more than one order of the sheet would have, for instance one order number on two days."""
    counts = Counter(_base_name(key) for key in keys if not key.rule)
    return {name for name, count in counts.items() if count > 1}


def _order_name(key: _Key, shared: set[str], state: FarmState) -> str:
    name = _base_name(key)
    known = state.orders.get(name)
    if name in shared or (known is not None and known.customer != key.customer):
        return f"{name}-{key.due:%y%m%d}-{_hash(key.customer)[:4]}"
    return name


def _standing_name(key: _Key) -> str:
    return f"sheet-{slug(key.order or key.customer)}-{slug(rule_in_words(key.rule))}-{key.due:%y%m%d}"


def _digest(key: _Key, lines: tuple[LineAsked, ...], note: str) -> str:
    """What the sheet says of an order, in short, whatever the order of its rows."""
    said = sorted(f"{line.line}|{line.product}|{line.quantity:.6g}|{line.unit}|{line.price}" for line in lines)
    return _hash("\n".join([key.customer, key.due.isoformat(), note, *said]))[:16]


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
