"""The figures of a tray as people type them for the sums of money; the rest the farm or the library says."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import msgspec

from trayward.bench import typed as people
from trayward.errors import InputError
from trayward.web.bench.sums.declared import NUMBER, Given, argument, option, typed_together

if TYPE_CHECKING:
    from trayward.bench.money_told import Told
    from trayward.farm.settings import ShownUnits

TYPED = "typed"
"""Said of a figure somebody typed."""

OPTIONS = (
    argument("crop", required=False, default=""),
    option("--weight", metavar="WEIGHT", help="What a tray weighs when cut. Example: 200 g."),
    option("--seed", metavar="WEIGHT", help="Seed on a tray. Example: 20 g."),
    option("--seed-price", metavar="PRICE", help='By weight; bare: a kg. Example: "18/kg".'),
    option("--medium", type=NUMBER, metavar="MONEY", help="Medium of one tray. Example: 0.55."),
    option("--uses", type=NUMBER, metavar="TIMES", help="Uses of the medium. Example: 40."),
    option("--wear", type=NUMBER, metavar="MONEY", help="Trays and covers, one use. Example: 0.04."),
    option("--water", metavar="VOLUME", help="Water for a tray, in all. Example: 2 l."),
    option("--water-price", type=NUMBER, metavar="MONEY", help="A cubic metre. Example: 4."),
    option("--feed", metavar="VOLUME", help="Feed concentrate for a tray. Example: 4 ml."),
    option("--feed-price", type=NUMBER, metavar="MONEY", help="A litre of it. Example: 12."),
    option("--lamps", metavar="WORDS", help='Over one shelf. Example: "2 x 36 W".'),
    option("--hours", type=NUMBER, metavar="HOURS", help="Of light a day, with --lamps. Example: 16."),
    option("--shelf-trays", type=NUMBER, metavar="COUNT", help="Trays on a shelf. Example: 4."),
    option("--lit-days", type=NUMBER, metavar="DAYS", help="Days under light. Example: 5."),
    option("--kwh-price", type=NUMBER, metavar="MONEY", help="A kilowatt hour. Example: 0.30."),
    option("--rent", metavar="MONEY", help='Of one shelf; bare: a day. Example: "12 a month".'),
    option("--shelf-days", type=NUMBER, metavar="DAYS", help="Days that rent is for. Example: 9."),
    option("--hands", multiple=True, metavar="JOB=MIN", help="Minutes a tray; again for more. Example: cut=8."),
    option("--wage", type=NUMBER, metavar="MONEY", help="An hour of hands. Example: 15."),
    option("--pack-weight", metavar="WEIGHT", help="Net weight of a pack; 0: loose. Example: 50 g."),
    option("--pack-price", type=NUMBER, metavar="MONEY", help="An empty pack. Example: 0.20."),
    option("--trim", metavar="SHARE", help="Of the cut weight, not sold. Example: 5 %."),
    option("--lost", metavar="SHARE", help="Of trays, before the cut. Example: 8 %."),
    option("--price", metavar="PRICE", help='What it sells for; bare: a pack. Example: "4.50/100 g".'),
    option("--currency", metavar="CODE", help="Three letters. Example: EUR."),
)  # fmt: skip
about_a_tray = typed_together(OPTIONS)
"""Give a sum the figures of a tray; it gets them together as `typed`."""
FEE = option("--fee", metavar="SHARE", help="Of the price, to a market or a shop. Example: 15 %.")


def told_of(given: Given, units: ShownUnits, typed: dict[str, Any]) -> Told:
    """What is typed, before what the farm knows, before what the library knows."""
    from trayward.bench.money_told import OUNCE, Portion

    base = _before(given, units, typed)
    base = msgspec.structs.replace(base, portion=OUNCE if units.mass == "oz" else Portion())
    changes = _changes(units, typed)
    jobs, own = _jobs(base, typed["hands"])
    inputs = msgspec.structs.replace(base.inputs, jobs=jobs, **changes)
    origin = base.origin | dict.fromkeys((*changes, *own), TYPED)
    currency = _currency(typed["currency"]) or base.currency
    told = msgspec.structs.replace(base, inputs=inputs, origin=origin, currency=currency)
    if "weight_g" in changes:
        told = msgspec.structs.replace(told, weight_low_g=None, weight_high_g=None)
    return _with_price(told, units, typed["price"])


def _before(given: Given, units: ShownUnits, typed: dict[str, Any]) -> Told:
    from trayward.bench.money_told import library_told, plain_told

    crop = typed["crop"]
    if crop and given.has_farm:
        from trayward.web.bench.sums.money_farm import farm_told, not_grown_told

        return not_grown_told(given, crop) or farm_told(given, crop)
    if crop:
        from trayward.library.crops import library_facts

        return library_told(crop, library_facts(crop))
    if typed["weight"] is None or typed["seed"] is None:
        rule = "without a crop, its seed and its weight must be said"
        raise InputError("tray", "none", rule, "Name a crop, or give --seed 20 g --weight 200 g.")
    return plain_told(people.mass(typed["weight"], units), people.mass(typed["seed"], units, name="seed"))


def _changes(units: ShownUnits, typed: dict[str, Any]) -> dict[str, float]:
    """Fields of the inputs that were typed."""
    found: dict[str, float | None] = {
        "weight_g": _maybe(typed["weight"], lambda text: people.mass(text, units)),
        "seed_g": _maybe(typed["seed"], lambda text: people.mass(text, units, name="seed")),
        "seed_kg": _maybe(typed["seed_price"], lambda text: 1000 * gram_price(text, units, "price of seed")),
        "medium": typed["medium"],
        "medium_uses": _uses(typed),
        "wear": typed["wear"],
        "water_l": _maybe(typed["water"], lambda text: people.volume(text, units) / 1000),
        "water_m3": typed["water_price"],
        "feed_ml": _maybe(typed["feed"], lambda text: people.volume(text, units)),
        "feed_l": typed["feed_price"],
        "shelf_kwh_day": _lamps(typed),
        "shelf_trays": typed["shelf_trays"],
        "lit_days": typed["lit_days"],
        "kwh": typed["kwh_price"],
        "shelf_rent_day": _maybe(typed["rent"], lambda text: a_day(text, "rent")),
        "shelf_days": typed["shelf_days"],
        "wage_h": typed["wage"],
        "pack_g": _maybe(typed["pack_weight"], lambda text: people.mass(text, units, name="pack")),
        "pack": typed["pack_price"],
        "trim": people.share(typed["trim"], "trim"),
        "lost": people.share(typed["lost"], "lost"),
    }
    return {name: value for name, value in found.items() if value is not None}


def _maybe(text: str | None, read: Callable[[str], float]) -> float | None:
    return read(text) if text is not None else None


def _uses(typed: dict[str, Any]) -> float | None:
    """A medium whose price is typed is used once, unless its uses are typed too."""
    if typed["uses"] is not None or typed["medium"] is None:
        return typed["uses"]  # type: ignore[no-any-return]
    return 1.0


def _jobs(base: Told, words: tuple[str, ...]) -> tuple[tuple[Any, ...], list[str]]:
    """The jobs with those that were typed, and the names of these."""
    from trayward.bench.money_told import jobs_of

    typed = {
        name.replace("-", " "): people.number(text.removesuffix("min").strip(), f"minutes to {name}", "min")
        for name, text in people.pairs(words, "cut=8").items()
    }
    minutes = {job.name: job.minutes for job in base.inputs.jobs} | typed
    return jobs_of(minutes), list(typed)


def _currency(code: str | None) -> str:
    if code is None or re.fullmatch(r"[A-Za-z]{3}", code):
        return (code or "").upper()
    raise InputError("currency", code, "must be three letters (ISO 4217)", "For instance EUR.")


def _with_price(told: Told, units: ShownUnits, text: str | None) -> Told:
    if text is None:
        return told
    gram = gram_price(text, units, "price", pack_g=told.inputs.pack_g or told.portion.grams)
    if gram == 0:
        raise InputError("price", text, "must be above 0", "What does it sell for?")
    return msgspec.structs.replace(told, price=gram, price_origin=TYPED)


# Words read -----------------------------------------------------------------------------------------------------------

_RATE = re.compile(r"\s*([\d.,]+)\s*(?:(?:/|per|an?)\s*(.+?))?\s*")
_LAMPS = re.compile(r"\s*(?:(\d+)\s*[x*×]\s*)?([\d.,]+)\s*w?\s*", re.IGNORECASE)
_BOUGHT = re.compile(r"\s*([\d.,]+)\s*(?:(?:to|down to)\s*([\d.,]+)\s*)?over\s+(.+?)\s*")


def gram_price(text: str, units: ShownUnits, name: str, *, pack_g: float | None = None) -> float:
    """A price by weight. A bare number is a kilogram's (a pound's), or a pack's where `pack_g` is said. [currency/g]"""
    found = _RATE.fullmatch(text)
    if found is None:
        raise InputError(name, text, "must be a price and what it is for", 'For instance "18/kg" or "4.50/100 g".')
    amount, what = people.number(found[1], name), found[2]
    if what is None and pack_g is not None:
        return amount / pack_g
    if what is None:
        what = "lb" if units.mass == "oz" else "kg"
    if what in ("pack", "packet", "box") and pack_g:
        return amount / pack_g
    grams = people.mass(what if what[0].isdigit() else f"1 {what}", units, name=name)
    if grams <= 0:
        raise InputError(name, text, "must be for some weight", 'For instance "18/kg".')
    return amount / grams


def a_day(text: str, name: str) -> float:
    """What comes to so much a day, a week, a month or a year; a bare number is a day's. [currency/d]"""
    from trayward.bench.money import DAYS_OF

    found = _RATE.fullmatch(text)
    span = (found[2] or "day").removesuffix("s") if found is not None else ""
    if found is None or span not in DAYS_OF:
        raise InputError(name, text, "must be money for a day, week, month or year", 'For instance "350 a month".')
    return people.number(found[1], name) / DAYS_OF[span]


def a_week_bought(text: str, name: str) -> float:
    """What a thing that was bought loses in a week: `480 over 5 years`, `480 to 30 over 5 years`. [currency/week]"""
    from trayward.bench.money import DAYS_OF
    from trayward.science.money import depreciation

    found = _BOUGHT.fullmatch(text)
    years = re.fullmatch(r"([\d.,]+)\s*(year|month)s?", found[3]) if found is not None else None
    if found is None or years is None:
        rule = "must say what it cost and over how long it serves"
        raise InputError(name, text, rule, 'For instance "480 over 5 years" or "480 to 30 over 5 years".')
    served = people.number(years[1], name) * DAYS_OF[years[2]] / DAYS_OF["year"]
    left_over = people.number(found[2], name) if found[2] else 0.0
    return depreciation(people.number(found[1], name), left_over, served) * DAYS_OF["week"] / DAYS_OF["year"]


def _lamps(typed: dict[str, Any]) -> float | None:
    """What the lamps of one shelf use in a day. [kWh/d]"""
    text, hours = typed["lamps"], typed["hours"]
    if text is None and hours is None:
        return None
    found = _LAMPS.fullmatch(text or "")
    if found is None or hours is None:
        rule = "must be said together: watts over one shelf, and hours of light a day"
        raise InputError("lamps and hours", text or "none", rule, 'For instance --lamps "2 x 36 W" --hours 16.')
    if not 0 <= hours <= 24:
        raise InputError("hours", f"{hours:g}", "must lie in [0, 24]", "A day has no more.", "h")
    return int(found[1] or 1) * people.number(found[2], "lamps", "W") * float(hours) / 1000
