"""What a supply, an offer and a sensor are like, trait by trait; read `traits` first."""

from __future__ import annotations

from trayward.dates import day_words
from trayward.farm.sensors import Sensor
from trayward.farm.settings import ShownUnits
from trayward.farm.supplies import Offer, Supply
from trayward.rounds.traits import Traits, traits_made, traits_of
from trayward.rounds.words import amount_of
from trayward.sensors.words import value_words
from trayward.words import listed


@traits_of.register
def _(thing: Supply, units: ShownUnits) -> Traits:
    del units
    takes = (
        f"a {each.of} {amount_of(each.amount, thing.unit)}{f' of {each.name}' if each.name else ''}"
        for each in thing.taken
    )
    return traits_made(
        ("kind", thing.kind, "{}"),
        ("unit", thing.unit, "counted in {}"),
        ("takes", listed(takes, most=12), "taken by {}"),
        ("keep", amount_of(thing.keep, thing.unit) if thing.keep else "", "at least {} to keep"),
        ("surely", f"{thing.surely:.3g}", "lasts until a delivery {} of the time"),
        ("keeps", f"{thing.keeps_days} d" if thing.keeps_days is not None else "", "keeps {}"),
        ("valued", thing.valued, "costs by {}"),
    )


@traits_of.register
def _(thing: Offer, units: ShownUnits) -> Traits:
    del units
    packs = (
        f"{pack.price} for {pack.size:.10g}{f' from {pack.least} packs on' if pack.least > 1 else ''}"
        for pack in thing.packs
    )
    return traits_made(
        ("packs", listed(packs, most=12), "{}"),
        ("lead", f"{thing.lead_days:g} d", "comes within {}"),
        ("delivery", str(thing.delivery) if thing.delivery else "", "{} a delivery"),
    )


@traits_of.register
def _(thing: Sensor, units: ShownUnits) -> Traits:
    def shown(value: float | None) -> str:
        return value_words(thing.what, value, units) if value is not None else ""

    last = thing.corrections[-1] if thing.corrections else None
    return traits_made(
        ("place", thing.place, "at {}"),
        ("what", thing.measure.title, "{}"),
        ("low", shown(thing.low), "at least {}"),
        ("high", shown(thing.high), "at most {}"),
        ("every", f"{thing.every_min:g} min", "tells every {}"),
        ("after", f"{thing.after_min:g} min", "an alarm after {} beyond a limit"),
        ("silent", f"{thing.silent_min:g} min" if thing.silent_min else "", "silent after {}"),
        ("unheard", "" if thing.silence_tells else "its silence is no trouble", "{}"),
        ("correction", f"{last.add:+g} since {day_words(last.since.date())}" if last is not None else "", "{}"),
        ("topic", thing.topic, "heard under {}"),
        ("field", thing.field, "in the field {}"),
    )
