"""Traces and recalls in words, and as rows of a sheet: every face says the same."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from datetime import datetime

from trayward.dates import day_words
from trayward.farm.calendar import local_day, zone
from trayward.farm.cells import plain_cell
from trayward.farm.settings import FarmSettings
from trayward.trace.recall import RecallCustomer, RecallDelivery, RecallPack, RecallSheet
from trayward.trace.types import (
    KIND_WORDS,
    Flow,
    HarvestBalance,
    MarkHeld,
    PackBalance,
    SeedBalance,
    Start,
    Step,
    Trace,
    TrayLife,
    Washing,
)
from trayward.units import show_mass, show_volume
from trayward.words import counted, listed

CAUTION = (
    "Whether and how to call back, and whom to tell, is for local law and the authority: defer to local codes and "
    "licensed practice."
)
TITLES = {
    "lot": "Seed lots", "sowing": "Sowings", "tray": "Trays", "harvest": "Harvest lots", "pack": "Pack lots",
    "delivery": "Deliveries", "customer": "Customers",
}  # fmt: skip


class Words:
    """How a farm says amounts and days."""

    def __init__(self, settings: FarmSettings) -> None:
        self.settings = settings

    def mass(self, grams: float) -> str:
        """A weight as the farm shows it."""
        return show_mass(grams, self.settings.units.mass)

    def volume(self, ml: float) -> str:
        """An amount of water as the farm shows it."""
        return show_volume(ml, self.settings.units.volume)

    def share(self, share: float) -> str:
        """A share, to a tenth of a percent where it is not whole."""
        return f"{f'{share * 100:.1f}'.removesuffix('.0')} %"

    def day(self, at: datetime) -> str:
        """The farm's day of a moment."""
        return day_words(local_day(at, self.settings))

    def clock(self, at: datetime) -> str:
        """Day and time on the farm's clock, for sheets: `2026-11-25 07:30`."""
        return f"{at.astimezone(zone(self.settings)):%Y-%m-%d %H:%M}"

    # Steps --------------------------------------------------------------------------------------------------------

    def start(self, start: Start) -> str:
        """What was asked for."""
        span = start.span
        days = [
            f"from {day_words(span.first)}" if span.first else "",
            f"to {day_words(span.last)}" if span.last else "",
        ]
        return " ".join([KIND_WORDS.get(start.kind, start.kind), start.name, *(day for day in days if day)])

    def step(self, step: Step) -> str:
        """What is told of one thing, without its name."""
        if not step.known:
            return "not in the record"
        told = [step.what, self.day(step.at) if step.at is not None else "", self.amount(step)]
        told += [step.note, f"by {step.by}" if step.by else ""]
        return ", ".join(word for word in told if word)

    def amount(self, step: Step) -> str:
        """How much of it there was."""
        packs = counted(step.packs, "pack") if step.packs else ""
        trays = counted(step.trays, "live tray" if step.kind == "delivery" else "tray") if step.trays else ""
        return ", ".join(word for word in (packs, trays, self.mass(step.grams) if step.grams else "") if word)

    def flow(self, flow: Flow) -> str:
        """What went from one thing to another."""
        source, target = (subject.partition(":")[2] for subject in (flow.source, flow.target))
        packs = counted(flow.packs, "pack") if flow.packs else ""
        amount = ", ".join(word for word in (packs, self.mass(flow.grams) if flow.grams else "") if word)
        goes = f"out, {target}" if flow.target.startswith("out:") else f"to {target}"
        return f"{source} {goes}{f': {amount}' if amount else ''}{' (written down late)' if flow.late else ''}"

    # Balances -----------------------------------------------------------------------------------------------------

    def harvest(self, each: HarvestBalance) -> str:
        """Where the grams of a harvest lot are."""
        mass = self.mass
        parts = [
            (each.packed_g, f"{mass(each.packed_g)} packed"),
            (each.loose_g, f"{mass(each.loose_g)} loose to customers"),
            (each.thrown_g, f"{mass(each.thrown_g)} thrown away"),
            (each.sampled_g, f"{mass(each.sampled_g)} samples"),
            (each.cold_room_g, f"{mass(each.cold_room_g)} in the cold room"),
        ]
        told = [words for grams, words in parts if grams > 0]
        rest = self._rest(each.difference_g)
        return f"{each.harvest}: {self.mass(each.cut_g)} cut = {' + '.join(told) or 'nothing'}{rest}"

    def pack(self, each: PackBalance) -> str:
        """Where the packs of a filling are."""
        parts = [("delivered", each.delivered), ("thrown away", each.thrown), ("here", each.here)]
        told = [f"{number} {words}" for words, number in parts if number]
        short = ""
        if each.difference > 0:
            short = f", {each.difference} missing"
        elif each.difference < 0:
            short = f", {-each.difference} too many"
        over = f"; {self.mass(each.over_g)} more went in than they say" if each.over_g >= 0.5 else ""
        return f"{each.pack}: {counted(each.packs, 'pack')} = {' + '.join(told) or 'nothing'}{short}{over}"

    def seed(self, each: SeedBalance) -> str:
        """Where the seed of a lot is."""
        told = f"{each.lot}: {self.mass(each.received_g)} received = {self.mass(each.sown_g)} sown"
        put_right = (
            f", {self.mass(abs(each.difference_g))} put right by weighing" if abs(each.difference_g) >= 0.5 else ""
        )
        return f"{told} + {self.mass(each.left_g)} left{put_right}"

    def _rest(self, grams: float) -> str:
        if abs(grams) < 0.5:
            return ""
        return f", {self.mass(grams)} missing" if grams > 0 else f", {self.mass(-grams)} too much"

    # A tray's life ------------------------------------------------------------------------------------------------

    def life(self, life: TrayLife) -> str:
        """What a tray went through, as a sentence."""
        kit = listed(f"{count} of {pool}" for pool, count in life.kit.items()) if life.kit else ""
        told = [
            f"{life.tray}: {life.crop} on {life.medium}" if life.medium else f"{life.tray}: {life.crop}",
            f"sown {self.day(life.sown_at)}",
            f"stood on {listed(life.places)}" if life.places else "",
            f"held {kit}" if kit else "",
            *(self.held(each) for each in life.marks),
            f"{self.volume(life.watered_ml)} of water at {counted(life.waterings, 'watering')}"
            if life.waterings
            else "",
            f"{self.volume(life.fed_ml)} of {listed(life.feeds)}" if life.feeds else "",
            f"trouble seen: {listed(life.problems)}" if life.problems else "",
            f"hands: {listed(life.people)}" if life.people else "",
        ]
        return ", ".join(word for word in told if word)

    def held(self, each: MarkHeld) -> str:
        """A marked mat that a tray was on, and the trays before it."""
        before = f" (before it {listed(each.before, most=3)})" if each.before else ""
        return f"on {each.pool} {each.mark}{before}"

    def washing(self, washing: Washing) -> str:
        """When kit was last cleaned before a tray was sown."""
        more = f", {washing.words}" if washing.words else ""
        return f"{washing.pool} last {washing.deed} {self.day(washing.at)} by {washing.by}{more}"

    # Recalls ------------------------------------------------------------------------------------------------------

    def recall_pack(self, pack: RecallPack) -> str:
        """A pack lot to call back."""
        here = f", {pack.here} still here" if pack.here else ""
        mixed = f", {self.mass(pack.affected_g)} of the lot in it" if pack.mixed else ""
        went = f"{pack.delivered} gone out"
        return f"{pack.code or pack.pack}: {counted(pack.packs, 'pack')} of {pack.product}, {went}{here}{mixed}"

    def had(self, each: RecallCustomer | RecallDelivery) -> str:
        """What a customer had, or got with one delivery."""
        if isinstance(each, RecallCustomer):
            packs, trays = each.packs, each.trays
            loose = sum(sum(delivery.loose.values()) for delivery in each.deliveries)
        else:
            packs, loose, trays = sum(each.packs.values()), sum(each.loose.values()), len(each.trays)
        return went_words(packs, loose, trays, self.settings.units.mass)

    def still(self, each: RecallCustomer) -> str:
        """What of it a customer may still have, and until when it is good."""
        good = each.good
        day = day_words(good.until) if good.until is not None else ""
        if not good.any:
            return f"past its last day, {day}" if day else "nothing"
        what = went_words(good.packs, good.loose_g, good.trays, self.settings.units.mass)
        return f"{what}, good until {day}" if day else what

    def account(self, sheet: RecallSheet) -> str:
        """What is accounted for, in a sentence."""
        if not sheet.cut_g:
            return "Nothing was cut of it."
        parts = [
            ("{mass} delivered", sheet.delivered_g), ("{mass} here", sheet.here_g),
            ("{mass} thrown away or sampled", sheet.thrown_g),
        ]  # fmt: skip
        told = [words.format(mass=self.mass(grams)) for words, grams in parts if grams > 0]
        return f"{self.share(sheet.share)} of {self.mass(sheet.cut_g)} cut is accounted for: {listed(told)}."


def went_words(packs: int, loose_g: float, trays: int, unit: str) -> str:
    """
    What went out, in the farm's unit of weight.

    Examples
    --------
    >>> went_words(12, 95.0, 1, "g"), went_words(0, 0.0, 0, "g")
    ('12 packs, 95 g loose, 1 live tray', 'nothing')
    """
    told = [
        counted(packs, "pack") if packs else "",
        f"{show_mass(loose_g, unit)} loose" if loose_g else "",
        counted(trays, "live tray") if trays else "",
    ]
    return ", ".join(part for part in told if part) or "nothing"


# Sheets ---------------------------------------------------------------------------------------------------------------

TRACE_HEAD = ("kind", "name", "code", "what", "when", "packs", "grams", "by", "note", "in the record")
FLOW_HEAD = ("from", "to", "packs", "grams", "when", "by", "entry", "written down late")
RECALL_HEAD = (
    "customer", "ask for", "telephone", "e-mail", "address", "delivery", "when", "document", "lot", "code", "packs",
    "grams", "live trays", "told when", "by whom", "what they said",
)  # fmt: skip


def trace_rows(trace: Trace, words: Words) -> list[tuple[str, ...]]:
    """The steps of a trace, a row each."""
    return [
        (
            KIND_WORDS[step.kind], step.name, step.code, step.what, words.clock(step.at) if step.at else "",
            _figure(step.packs), _figure(step.grams), step.by, step.note, "yes" if step.known else "no",
        )
        for step in trace.steps
    ]  # fmt: skip


def flow_rows(trace: Trace, words: Words) -> list[tuple[str, ...]]:
    """What went from one to the next, a row each."""
    return [
        (
            flow.source, flow.target, _figure(flow.packs), _figure(flow.grams), words.clock(flow.at) if flow.at else "",
            flow.by, flow.entry, "yes" if flow.late else "",
        )
        for flow in trace.flows
    ]  # fmt: skip


def recall_rows(sheet: RecallSheet, words: Words) -> list[tuple[str, ...]]:
    """The sheet to telephone by: a row for each lot that a delivery brought; the last three are to be filled in."""
    codes = {pack.pack: pack.code for pack in sheet.packs} | {step.name: step.code for step in sheet.harvests}
    rows: list[tuple[str, ...]] = []
    for each in sheet.customers:
        contact = each.contact
        who = (each.customer, contact.person, contact.phone, contact.email, contact.address)
        for out in each.deliveries:
            when = (out.delivery, words.clock(out.at), out.document)
            parts = [(name, str(packs), "", "") for name, packs in out.packs.items()]
            parts += [(name, "", _figure(grams), "") for name, grams in out.loose.items()]
            parts += [(tray, "", "", "1") for tray in out.trays]
            for name, packs, grams, trays in parts:
                rows.append((*who, *when, name, codes.get(name, ""), packs, grams, trays, "", "", ""))
    return rows


def trace_csv(trace: Trace, words: Words) -> str:
    """A trace as CSV: its steps, an empty line, and what went from one to the next."""
    return f"{as_csv(TRACE_HEAD, trace_rows(trace, words))}\r\n{as_csv(FLOW_HEAD, flow_rows(trace, words))}"


def as_csv(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """Rows as CSV (RFC 4180); cells that a spreadsheet would take for a formula are made plain words."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(head)
    writer.writerows([[plain_cell(cell) for cell in row] for row in rows])
    return out.getvalue()


def _figure(value: float | None) -> str:
    return "" if value is None else f"{round(value, 1):.10g}"
