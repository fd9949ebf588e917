"""Later changes of the farm itself: its name, days, money and water. Each is one entry of the book."""

from __future__ import annotations

from datetime import date
from typing import Any

import msgspec
from starlette.responses import Response

from trayward.bench.water_words import read_alkalinity, read_ec
from trayward.errors import InputError
from trayward.farm.entries import FarmSet
from trayward.farm.settings import METRIC, US, FarmWater, Money, RoundTime
from trayward.science.solution_constants import CACO3_MG_PER_MEQ
from trayward.web.ask import Ask
from trayward.web.setup import steps
from trayward.web.setup.zones import ZONES
from trayward.web.typed import Typed

DAYS_OFF_SHOWN = 60


def _kept(ask: Ask, where: str, **changes: Any) -> Response:
    """Record the settings with these changes, unless they are as they were."""
    settings = msgspec.structs.replace(ask.settings, **changes)
    if settings == ask.settings:
        return ask.go(where, ask._("Nothing was changed."))
    receipt = ask.farm.record(FarmSet(settings=settings), **ask.said)
    return ask.recorded(where, ask._("Kept."), receipt)


# The farm -------------------------------------------------------------------------------------------------------------


def farm(ask: Ask) -> Response:
    """Name, units, time zone, whom for."""
    zones = [(zone, zone.replace("_", " ")) for zone in dict.fromkeys((ask.settings.timezone, *ZONES))]
    return ask.show("setup/farm.html", farm=ask.settings, zones=zones, shown_metric=METRIC, shown_us=US)


def set_farm(ask: Ask) -> Response:
    """Keep name, units, time zone, whom for."""
    form = ask.form
    units = ask.settings.units
    if form.choice("units", ("metric", "us", "own")) != "own":
        units = steps.read_units(form)
    return _kept(
        ask, "/setup/farm", name=form.need("name", "A farm has a name."), timezone=steps.read_zone(form), units=units,
        sells=form.choice("who", ("home", "sell")) == "sell",
    )  # fmt: skip


# Days -----------------------------------------------------------------------------------------------------------------


def day(ask: Ask) -> Response:
    """When somebody looks, how long hands work, days off."""
    settings = ask.settings
    work = [work_words(minutes) if minutes else "" for minutes in settings.work_minutes]
    off = sorted(each for each in settings.days_off if each >= ask.today)
    return ask.show("setup/day.html", farm=settings, work=work, off=off[:DAYS_OFF_SHOWN])


def work_words(minutes: float) -> str:
    """
    Minutes as they may be typed again.

    Examples
    --------
    >>> work_words(45), work_words(240), work_words(90)
    ('45 min', '4 h', '90 min')
    """
    return f"{minutes / 60:g} h" if minutes >= 120 and minutes % 30 == 0 else f"{minutes:g} min"


def set_day(ask: Ask) -> Response:
    """Keep the rounds and the hours of work."""
    rounds = read_rounds(ask.form, ask.settings.rounds)
    mon, tue, wed, thu, fri, sat, sun = (_work(ask.form, f"work_{number}") for number in range(7))
    if not any((mon, tue, wed, thu, fri, sat, sun)):
        raise InputError("work_0", "nothing", "hands work on some day", "Say at least one day's work.")
    return _kept(ask, "/setup/day", rounds=rounds, work_minutes=(mon, tue, wed, thu, fri, sat, sun))


def read_rounds(form: Typed, known: tuple[RoundTime, ...]) -> tuple[RoundTime, ...]:
    """The times of the rounds; one left empty is walked no more."""
    times = {walk.name: steps.read_clock(form, f"round_{number}") for number, walk in enumerate(known)
             if form.has(f"round_{number}")}  # fmt: skip
    if form.has("round_new"):
        name = form.need("round_new_name", "Call the new round something, for instance noon.")
        if name in times:
            raise InputError("round_new_name", name, "there is a round of that name", "Take another name.")
        times[name] = steps.read_clock(form, "round_new")
    if not times:
        raise InputError("round_0", "nothing", "there is at least one look a day", "Say when.")
    return tuple(sorted((RoundTime(name=name, at=at) for name, at in times.items()), key=lambda walk: walk.at))


def _work(form: Typed, field: str) -> float:
    minutes = form.minutes(field) if form.has(field) else 0.0
    if not 0 <= minutes <= 7 * 24 * 60:
        raise InputError(field, f"{minutes:g}", "must lie between 0 and 168 h of work", "Add up all hands.", "min")
    return minutes


def set_off(ask: Ask) -> Response:
    """Single days off: one more, or those ticked no more."""
    days = set(ask.settings.days_off)
    if ask.form.has("first"):
        first = ask.form.day("first")
        last = ask.form.day("last") if ask.form.has("last") else first
        if not first <= last <= date.fromordinal(first.toordinal() + 366):
            raise InputError("last", last, "must come after the first, within a year", "Check the two days.")
        days |= {date.fromordinal(number) for number in range(first.toordinal(), last.toordinal() + 1)}
    else:
        days -= {date.fromisoformat(ask.form.need("again"))}
    return _kept(ask, "/setup/day", days_off=tuple(sorted(days)))


# Money ----------------------------------------------------------------------------------------------------------------


def money(ask: Ask) -> Response:
    """Prices, how often one may fall short, how calm the plan is."""
    return ask.show("setup/money.html", farm=ask.settings, money=ask.settings.money)


def set_money(ask: Ask) -> Response:
    """Keep prices and care."""
    form = ask.form
    known = ask.settings.money

    def price(name: str, usual: float) -> float:
        return form.number(name, 0.0, 1e6) if form.has(name) else usual

    money = Money(
        currency=steps.read_currency(form),
        wage_h=price("wage_h", 0.0),
        energy_kwh=price("energy_kwh", 0.0),
        packaging=price("packaging", 0.0),
        disposal_kg=price("disposal_kg", 0.0),
        shortfall=price("shortfall", known.shortfall),
        worth_home_100g=price("worth_home_100g", known.worth_home_100g),
        overheads=known.overheads,
    )
    caution = form.number("caution", 5.0, 9.9) / 10
    calm = form.number("calm", 0.0, 10_000.0) if form.has("calm") else ask.settings.calm
    return _kept(ask, "/setup/money", money=money, caution=round(caution, 4), calm=calm,
                 plan_spot_orders=form.ticked("spot_orders"))  # fmt: skip


# Water ----------------------------------------------------------------------------------------------------------------


def water(ask: Ask) -> Response:
    """The farm's water, its acid and feed."""
    known = ask.settings.water
    alkalinity = f"{known.alkalinity_meq * CACO3_MG_PER_MEQ:.4g} mg/l" if known is not None else ""
    return ask.show("setup/water.html", water=known, alkalinity=alkalinity)


def set_water(ask: Ask) -> Response:
    """Keep what the water is like."""
    return _kept(ask, "/setup/water", water=read_water(ask.form))


def forget_water(ask: Ask) -> Response:
    """The farm's water is not known any more."""
    return _kept(ask, "/setup/water", water=None)


def read_water(form: Typed) -> FarmWater:
    """
    The water as typed.

    Raises
    ------
    InputError
        If a figure cannot be read, no such water can be, or the acid is not known.
    """
    from trayward.farm.water import solution_of
    from trayward.science.solution_reagents import read_product

    acid = form.text("acid")
    if acid:
        try:
            read_product(acid)
        except InputError as error:
            raise InputError("acid", acid, error.rule, error.remedy) from error
    found = FarmWater(
        ph=form.number("ph", 4.5, 10.5),
        alkalinity_meq=_within("alkalinity", read_alkalinity(form.need("alkalinity")), 20.0, "meq/l"),
        ec_ds_m=_ec(form, "ec") if form.has("ec") else 0.0,
        temp_c=_within("temperature", form.temperature("temperature"), 50.0, "C") if form.has("temperature") else 20.0,
        calcium_mg=form.number("calcium", 0.0, 2000.0) if form.has("calcium") else 0.0,
        magnesium_mg=form.number("magnesium", 0.0, 2000.0) if form.has("magnesium") else 0.0,
        acid=acid,
        feed=form.text("feed"),
        feed_gain_ds_m=_ec(form, "feed_adds") if form.has("feed_adds") else 0.0,
        feed_ec_ds_m=_span(form),
    )
    try:
        solution_of(found)
    except InputError as error:
        raise InputError("ph", form.text("ph"), error.rule, error.remedy) from error
    return found


def _ec(form: Typed, name: str) -> float:
    try:
        return _within(name, read_ec(form.need(name)), 20.0, "dS/m")
    except InputError as error:
        raise InputError(name, form.text(name), error.rule, error.remedy) from error


def _within(name: str, value: float, high: float, unit: str) -> float:
    if not 0 <= value <= high:
        raise InputError(name, f"{value:g}", f"must lie in [0, {high:g}]", "Check the figure and its unit.", unit)
    return value


def _span(form: Typed) -> tuple[float, float] | None:
    if not form.has("feed_low"):
        return None
    low = _ec(form, "feed_low")
    high = _ec(form, "feed_high") if form.has("feed_high") else low
    if high < low:
        raise InputError("feed_high", form.text("feed_high"), "comes before the lower one", "Swap the two.")
    if not form.has("feed_adds"):
        raise InputError("feed_adds", "nothing", "is needed for a feed mix", "What 1 ml adds to a litre, as 0.35.")
    return low, high
