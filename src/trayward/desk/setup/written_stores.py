"""Supplies, offers, sensors and hygiene records as a setup file writes them; read `written` first."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

from trayward.desk.setup.toml_text import Value, block, or_none
from trayward.farm.often import clock_words
from trayward.farm.sensors import Correction, Sensor
from trayward.farm.state import FarmState
from trayward.farm.supplies import Offer, PackPrice, Supply, SupplyLot, TakenBy, exact

COINS = Decimal("0.000001")
"""What is left of a delivery costs its part of it, to a millionth."""


def supply_blocks(state: FarmState) -> Iterable[str]:
    """Supplies in use with what is left of them, each with its offers; then offers of seed of crops that are grown."""
    offers = list(state.offers.values())
    for held in state.supplies.values():
        if not held.dropped:
            yield _supply(held.supply)
            yield from (_lot(lot, held.supply.unit) for lot in (*held.here, *held.coming))
            asked = (offer for offer in offers if not offer.seed and offer.thing == held.supply.name)
            yield from (_offer("[[supply.offer]]", {}, offer, held.supply.unit) for offer in asked)
    crops = state.crops_in_use()
    for offer in offers:
        if offer.seed and offer.thing in crops:
            yield _offer("[[seed_offer]]", {"crop": offer.thing}, offer, "g")


def _supply(supply: Supply) -> str:
    return block("[[supply]]", {
        "name": supply.name,
        "kind": supply.kind,
        "unit": supply.unit,
        "takes": [_taken(each, supply.unit) for each in supply.taken] or None,
        "keep": or_none(supply.keep, 0.0),
        "surely": supply.surely,
        "keeps": f"{supply.keeps_days} d" if supply.keeps_days is not None else None,
        "valued": or_none(supply.valued, "average"),
    })  # fmt: skip


def _taken(taken: TakenBy, unit: str) -> str:
    return f"{taken.of} {taken.amount!r} {unit}{f' of {taken.name}' if taken.name else ''}"


def _lot(lot: SupplyLot, unit: str) -> str:
    coming = lot.expected_on is not None
    left = lot.amount if coming else lot.left
    cost = lot.cost
    if cost is not None and left != lot.amount and lot.amount > 0:
        cost = (cost * exact(left) / exact(lot.amount)).quantize(COINS).normalize()
    return block("[[supply.lot]]", {
        "lot": lot.lot,
        "amount": f"{left!r} {unit}",
        "best_before": lot.best_before,
        "cost": f"{cost:f}" if cost is not None else None,
        "supplier": lot.supplier or None,
        "supplier_lot": lot.supplier_lot or None,
        "document": lot.document or None,
        "expected": lot.expected_on,
    })  # fmt: skip


def _offer(head: str, of: dict[str, Value | None], offer: Offer, unit: str) -> str:
    return block(head, {
        **of,
        "supplier": offer.supplier,
        "packs": [_pack(each, unit) for each in offer.packs],
        "lead": offer.lead_days,
        "delivery": f"{offer.delivery:f}" if offer.delivery else None,
    })  # fmt: skip


def _pack(pack: PackPrice, unit: str) -> str:
    return f"{pack.size!r} {unit} {pack.price:f}{f' from {pack.least}' if pack.least > 1 else ''}"


def sensor_blocks(state: FarmState) -> Iterable[str]:
    """Sensors that have not ended, each with its corrections."""
    for sensor in state.sensors.values():
        if not sensor.ended:
            yield _sensor(sensor)
            yield from (_correction(each) for each in sensor.corrections)


def _sensor(sensor: Sensor) -> str:
    """Limits and times as plain numbers: they come back to the last figure."""
    return block("[[sensor]]", {
        "name": sensor.name,
        "place": sensor.place,
        "what": sensor.what,
        "every": sensor.every_min,
        "low": sensor.low,
        "high": sensor.high,
        "after": sensor.after_min,
        "silent": sensor.silent_min if sensor.silence_tells else "never",
        "topic": sensor.topic or None,
        "field": sensor.field or None,
    })  # fmt: skip


def _correction(correction: Correction) -> str:
    return block("[[sensor.correction]]", {
        "since": correction.since, "add": correction.add, "note": correction.note or None,
    })  # fmt: skip


def habit_blocks(state: FarmState) -> Iterable[str]:
    """How often hygiene records are written down, each with its limits; those no longer asked for are left out."""
    for habit in state.record_habits.values():
        if not habit.ended:
            often = f"{habit.rule} at {clock_words(habit.times)}" if habit.times else habit.rule
            yield block("[[record]]", {
                "kind": habit.kind, "area": habit.area or None, "every": often or None, "start": habit.start,
                "review_within": habit.review_days,
            })  # fmt: skip
            for limit in habit.limits:
                yield block("[[record.limit]]", {"field": limit.field, "low": limit.low, "high": limit.high})
