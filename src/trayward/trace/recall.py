"""A recall: of one lot every pack, every customer with how to reach them, and what is accounted for.

It helps to find and to tell; whether and how to call back, and whom else to tell, is for local law and the authority:
defer to local codes and licensed practice.

References
----------
21 CFR 7.42(b)(3), levels of effectiveness checks (from memory). Regulation (EC) 178/2002, article 19: withdraw, and
tell the authority at once, when food may be unsafe.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from typing import Final

import msgspec

from trayward.errors import Finding, InputError
from trayward.farm.calendar import local_day
from trayward.farm.recalls import Contact, Recall, share_accounted
from trayward.farm.settings import FarmSettings
from trayward.trace.record import Links, Record
from trayward.trace.steps import code_of
from trayward.trace.trace import made
from trayward.trace.types import Flow, HarvestBalance, PackBalance, Start, Step, Trace
from trayward.trace.walk import starts_of, walk

LEVELS: Final = {"A": 1.0, "B": None, "C": 0.10, "D": 0.02, "E": 0.0}
"""Share of those who had it that are asked whether the word reached them; B is any share between A and C."""


class RecallPack(msgspec.Struct, frozen=True, kw_only=True):
    """A pack lot to call back."""

    pack: str
    code: str
    product: str
    packs: int
    pack_g: float
    """Net weight of one. [g]"""
    affected_g: float
    """What of the lots called back went into it. [g]"""
    delivered: int
    here: int
    thrown: int
    best_before: str = ""
    mixed: bool = False
    """Whether it holds crop of other lots too."""


class StillGood(msgspec.Struct, frozen=True, kw_only=True):
    """What a customer had and may still have: it is not past its last day."""

    packs: int = 0
    loose_g: float = 0.0
    """[g]"""
    trays: int = 0
    until: date | None = None
    """The last day of what is good longest, or was; None: nobody can say."""
    likely_g: float = 0.0
    """Grams that are likely not eaten yet, live trays by their usual weight. [g]"""

    @property
    def any(self) -> bool:
        """Whether any of it may still be there."""
        return bool(self.packs or self.loose_g > 0 or self.trays)


class RecallDelivery(msgspec.Struct, frozen=True, kw_only=True):
    """What of it went out with one delivery."""

    delivery: str
    at: datetime
    document: str
    packs: dict[str, int]
    """Pack lot -> packs."""
    loose: dict[str, float]
    """Harvest lot -> grams. [g]"""
    trays: tuple[str, ...]
    by: str
    good_until: dict[str, date] = {}
    """Pack lot, harvest lot or tray -> its last day: by its label, else by its crop's days in the cold."""


class RecallCustomer(msgspec.Struct, frozen=True, kw_only=True):
    """A customer to tell."""

    customer: str
    contact: Contact
    deliveries: tuple[RecallDelivery, ...]
    packs: int
    grams: float
    """In packs and loose. [g]"""
    trays: int
    good: StillGood = StillGood()
    known: bool = True

    @property
    def reachable(self) -> bool:
        """Whether the record says how."""
        return bool(self.contact.phone or self.contact.email)


class RecallLot(msgspec.Struct, frozen=True, kw_only=True):
    """Where the grams of one lot called back are; of packs and mixes its part of them. [g]"""

    harvest: str
    code: str
    crop: str
    cut_g: float
    delivered_g: float
    here_g: float
    thrown_g: float
    """Thrown away or sampled. [g]"""

    @property
    def missing_g(self) -> float:
        """Grams of which nobody can say where they are; below zero: more is told than was cut. [g]"""
        return self.cut_g - self.delivered_g - self.here_g - self.thrown_g


class RecallSheet(msgspec.Struct, frozen=True, kw_only=True):
    """All that a recall needs to know, worked out at one moment."""

    start: Start
    at: datetime
    harvests: tuple[Step, ...]
    lots: tuple[RecallLot, ...]
    """The same lots with where their grams are."""
    packs: tuple[RecallPack, ...]
    customers: tuple[RecallCustomer, ...]
    """Whoever likely has most of it uneaten first."""
    growing: tuple[str, ...]
    """Trays of it that still stand."""
    cold_room: dict[str, float]
    """Harvest lot -> grams still loose in the cold room. [g]"""
    cut_g: float
    delivered_g: float
    here_g: float
    """Loose in the cold room and in packs here. [g]"""
    thrown_g: float
    """Thrown away or sampled. [g]"""
    findings: tuple[Finding, ...]
    trace: Trace

    @property
    def accounted_g(self) -> float:
        """Grams of which the record says where they are. [g]"""
        return self.delivered_g + self.here_g + self.thrown_g

    @property
    def share(self) -> float:
        """Share of what was cut that is accounted for; never more than all. [-]"""
        return share_accounted(self.accounted_g, self.cut_g)


class KeptRecall(msgspec.Struct, frozen=True, kw_only=True):
    """A recall that was kept, and the same asked again of today's book for the moment it ended."""

    recall: Recall
    by: str
    """Who kept it."""
    written: datetime
    sheet: RecallSheet

    @property
    def changed(self) -> bool:
        """Whether the book was put right since, so that it would come out otherwise."""
        then, now = self.recall, self.sheet
        grams = abs(then.cut_g - now.cut_g) + abs(then.accounted_g - now.accounted_g)
        return grams >= 0.5 or {each.customer for each in then.told} != {each.customer for each in now.customers}


def recall_sheet(record: Record, start: Start) -> RecallSheet:
    """
    What to call back, and whom to tell.

    Parameters
    ----------
    record : Record
        The farm's record at a moment.
    start : Start
        What is suspected. A seed lot, sowing, tray, kit or shelf: all that was cut of it. A pack lot or a delivery: all
        harvest lots in it, with their sisters that went elsewhere.

    Returns
    -------
    RecallSheet
        Grams are those of the suspected harvest lots alone: of a mix only their part.
    """
    links = Links(record)
    roots = _roots(links, start)
    steps, flows = walk(links, roots, forward=True)
    whole = made(links, start, "forward", steps, flows)
    lots = {each.harvest: each for each in whole.harvests}
    filled = {each.pack: each for each in whole.packs}
    packs = tuple(_pack(links, filled[step.name], lots) for step in whole.of("pack") if step.known)
    into: dict[str, list[Flow]] = {}
    for flow in whole.flows:
        into.setdefault(flow.target, []).append(flow)
    customers = tuple(sorted((_customer(links, step, into) for step in whole.of("customer")), key=_less_urgent))
    balances = tuple(_where(links, balance, filled) for balance in lots.values())
    trays = [links.state.tray(step.name) for step in whole.of("tray")]
    return RecallSheet(
        start=start, at=record.at, harvests=whole.of("harvest"), lots=balances, packs=packs, customers=customers,
        growing=tuple(tray.tray for tray in trays if tray is not None and tray.fate == "growing"),
        cold_room={name: each.cold_room_g for name, each in lots.items() if each.cold_room_g > 0},
        cut_g=sum(each.cut_g for each in balances), delivered_g=sum(each.delivered_g for each in balances),
        here_g=sum(each.here_g for each in balances), thrown_g=sum(each.thrown_g for each in balances),
        findings=(*whole.findings, *_unreachable(customers)), trace=whole,
    )  # fmt: skip


def checks_needed(level: str, customers: int) -> int:
    """
    Of how many customers to ask whether the word of a recall reached them.

    Parameters
    ----------
    level : {"A", "C", "D", "E"}
        How thorough the check is; B is a share of one's own choice.
    customers : int
        How many had it. [-]

    Examples
    --------
    >>> [checks_needed(level, 200) for level in "ACD"]
    [200, 20, 4]
    """
    share = LEVELS.get(level)
    if share is None:
        raise InputError("level", level, "must be A, C, D or E; B is a share of your own choice", "Choose one.")
    return math.ceil(round(share * customers, 9))


def _roots(links: Links, start: Start) -> list[str]:
    """Where to walk from: a pack or a delivery stands for the harvest lots in it."""
    starts = starts_of(links, start)
    if start.kind not in ("pack", "delivery", "customer"):
        return starts
    steps, _ = walk(links, starts, forward=False)
    lots = [subject for subject, step in steps.items() if step.kind == "harvest"]
    live = [subject for subject, step in steps.items() if step.kind == "tray" and _went_live(links, step.name)]
    astray = [subject for subject, step in steps.items() if not step.known]
    return list(dict.fromkeys((*lots, *live, *astray))) or starts


def _went_live(links: Links, tray: str) -> bool:
    held = links.state.tray(tray)
    return held is not None and held.fate == "delivered"


def _pack(links: Links, balance: PackBalance, lots: dict[str, HarvestBalance]) -> RecallPack:
    lot = links.state.packs[balance.pack]
    return RecallPack(
        pack=lot.pack, code=code_of(lot.pack), product=lot.product, packs=lot.packs, pack_g=lot.pack_g,
        affected_g=sum(grams for name, grams in lot.parts.items() if name in lots), delivered=balance.delivered,
        here=balance.here, thrown=balance.thrown, best_before=str(lot.best_before or ""),
        mixed=any(name not in lots for name in lot.parts),
    )  # fmt: skip


def _where(links: Links, balance: HarvestBalance, filled: dict[str, PackBalance]) -> RecallLot:
    """Grams of one harvest lot that were delivered, are here, and were thrown away; of packs its part of them. [g]"""
    out, here, gone = balance.loose_g, balance.cold_room_g, balance.thrown_g + balance.sampled_g
    for lot in links.packs(balance.harvest):
        packs = filled[lot.pack]
        if packs.packs > 0:
            each = lot.parts.get(balance.harvest, 0.0) / packs.packs
            out, here, gone = out + each * packs.delivered, here + each * packs.here, gone + each * packs.thrown
    return RecallLot(
        harvest=balance.harvest, code=code_of(balance.harvest), crop=balance.crop, cut_g=balance.cut_g, delivered_g=out,
        here_g=here, thrown_g=gone,
    )  # fmt: skip


def _customer(links: Links, step: Step, into: dict[str, list[Flow]]) -> RecallCustomer:
    wanted = dict.fromkeys(flow.source for flow in into.get(f"customer:{step.name}", ()))
    made = (_delivery(links, name, into.get(name, ())) for name in wanted)
    # In the order they went out, as the customer's own papers lie, whichever way of tracing came to them first.
    deliveries = tuple(sorted(made, key=lambda each: (each.at, each.delivery)))
    named = dict.fromkeys(pack for each in deliveries for pack in each.packs)
    weights = {name: links.state.packs[name].pack_g for name in named if name in links.state.packs}
    good = still_good(deliveries, weights, links.record.at, links.settings)
    packed = sum(
        number * links.state.packs[pack].pack_g
        for each in deliveries
        for pack, number in each.packs.items()
        if pack in links.state.packs
    )
    return RecallCustomer(
        customer=step.name, contact=links.state.contacts.get(step.name) or Contact(customer=step.name),
        deliveries=deliveries, packs=sum(sum(each.packs.values()) for each in deliveries),
        grams=packed + sum(sum(each.loose.values()) for each in deliveries),
        trays=sum(len(each.trays) for each in deliveries), good=good, known=step.known,
    )  # fmt: skip


def _delivery(links: Links, subject: str, flows: Sequence[Flow]) -> RecallDelivery:
    """What of the lots called back went out with a delivery; what else was in it is left out."""
    entry, body = links.delivered(subject)[0]

    def named(kind: str) -> list[tuple[str, int | None, float | None]]:
        parts = [(flow.source.partition(":"), flow) for flow in flows]
        return [(name, flow.packs, flow.grams) for (found, _, name), flow in parts if found == kind]

    packs = {name: number or 0 for name, number, _ in named("pack")}
    loose = {name: grams or 0.0 for name, _, grams in named("harvest")}
    trays = tuple(name for name, _, _ in named("tray"))
    days = {name: _pack_until(links, name) for name in packs} | {name: _lot_until(links, name) for name in loose}
    days |= dict.fromkeys(trays, local_day(entry.at, links.settings) + timedelta(days=LIVE_DAYS))
    return RecallDelivery(
        delivery=body.delivery,
        at=entry.at,
        document=body.document,
        by=entry.by,
        packs=packs,
        loose=loose,
        trays=trays,
        good_until={name: day for name, day in days.items() if day is not None},
    )


# What may still be there ----------------------------------------------------------------------------------------------

LIVE_DAYS = 7
"""A live tray is used up within so many days: our choice, no source. [d]"""
LIVE_G = 100.0
"""A live tray counts as so much crop where customers are put in order: our choice. [g]"""


def _lot_until(links: Links, harvest: str) -> date | None:
    lot = links.state.harvests.get(harvest)
    return None if lot is None else local_day(lot.cut_at, links.settings) + timedelta(days=lot.cold_room_days)


def _pack_until(links: Links, pack: str) -> date | None:
    lot = links.state.packs.get(pack)
    if lot is None or lot.best_before is not None:
        return None if lot is None else lot.best_before
    return min((day for name in lot.parts if (day := _lot_until(links, name)) is not None), default=None)


def still_good(
    deliveries: Sequence[RecallDelivery], pack_g: Mapping[str, float], at: datetime, settings: FarmSettings
) -> StillGood:
    """
    What of some deliveries may still be there, and how much of it is likely not eaten yet.

    Parameters
    ----------
    pack_g : mapping
        Pack lot -> net weight of a pack. [g]
    at : datetime
        The moment asked for.

    Notes
    -----
    Of what is good for n days from its delivery, the same share is taken to be eaten each day: our choice, no source.
    What has no last day in the book counts as still there, and as half eaten.
    """
    today = local_day(at, settings)
    packs, loose, trays, likely = 0, 0.0, 0, 0.0
    for each in deliveries:
        out = local_day(each.at, settings)
        shares = {
            name: _left(out, each.good_until.get(name), today) for name in (*each.packs, *each.loose, *each.trays)
        }
        packs += sum(number for name, number in each.packs.items() if shares[name] > 0)
        loose += sum(grams for name, grams in each.loose.items() if shares[name] > 0)
        trays += sum(shares[name] > 0 for name in each.trays)
        likely += sum(number * pack_g.get(name, 0.0) * shares[name] for name, number in each.packs.items())
        likely += sum(grams * shares[name] for name, grams in each.loose.items())
        likely += sum(LIVE_G * shares[name] for name in each.trays)
    until = max((day for each in deliveries for day in each.good_until.values()), default=None)
    return StillGood(packs=packs, loose_g=loose, trays=trays, until=until, likely_g=likely)


def _left(out: date, until: date | None, today: date) -> float:
    """The share that is likely left on a day of what went out on another and is good until a third. [-]"""
    if until is None:
        return 0.5
    return min(max((until - today).days + 1, 0) / max((until - out).days + 1, 1), 1.0)


def _less_urgent(each: RecallCustomer) -> tuple[float, float, str]:
    """Whoever likely has most of it uneaten is told first; then whoever had it last."""
    last = max((delivery.at.timestamp() for delivery in each.deliveries), default=0.0)
    return (-round(each.good.likely_g, 6), -last, each.customer)


def _unreachable(customers: tuple[RecallCustomer, ...]) -> list[Finding]:
    return [
        Finding(
            code="contact-missing",
            severity="odd",
            message=f"customer {each.customer} = no telephone and no e-mail: nobody could reach them.",
            remedy="Ask them, and write it down.",
            about=f"customer:{each.customer}",
        )
        for each in customers
        if not each.reachable and each.grams + each.trays > 0
    ]
