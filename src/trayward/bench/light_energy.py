"""What lamps use and what it costs: a day, a month, a tray, 100 g."""

from __future__ import annotations

import msgspec

from trayward.bench.light_layout import MAINS
from trayward.bench.types import Amount, Sheet
from trayward.science.either import require_each
from trayward.science.light_power import kwh_a_day

MONTH = 365.25 / 12
"""Days of a month. [d]"""


class LampUse(msgspec.Struct, frozen=True, kw_only=True):
    """What lamps over a shelf use, and what grows under them."""

    watts: float
    """All lamps of the shelf, at the wall. [W]"""
    hours: float
    trays: float
    """Trays on the shelf. [-]"""
    days: float | None = None
    """Days a tray stands in the light. [d]"""
    days_from: str = ""
    grams: float | None = None
    """What a tray weighs when cut. [g]"""
    grams_from: str = ""
    price: float | None = None
    """A kilowatt hour. [currency]"""
    currency: str = ""
    shelf: str = ""
    sources: tuple[str, ...] = ()


def energy_sheet(use: LampUse) -> Sheet:
    """
    Energy of lamps and what it costs: a day, a tray, 100 g.

    Parameters
    ----------
    use : LampUse
        Lamps, hours, trays, days and weights.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    _require_use(use)
    day = kwh_a_day(use.watts, use.hours)
    tray = day / use.trays * use.days if use.days is not None else None
    gram = 100 * tray / use.grams if tray is not None and use.grams is not None else None
    spans = {"a day": day, "a month": MONTH * day, "a tray": tray, "100 g cut": gram}
    known = {span: kwh for span, kwh in spans.items() if kwh is not None}
    costs = () if use.price is None else tuple(_cost(span, kwh * use.price, use) for span, kwh in known.items())
    return Sheet(
        bench="light",
        task="energy",
        title="What the lamps use" + (", and what it costs." if costs else "."),
        given=_use_given(use),
        found=(*(Amount(name=f"energy {span}", value=kwh, unit="kWh") for span, kwh in known.items()), *costs),
        holds=(
            "Watts at the wall: a lamp's label may leave its driver out, a plug-in meter does not.",
            "A tray bears its share of a full shelf; a half empty shelf costs each tray twice as much.",
            *_unsaid(use),
        ),
        cautions=(MAINS,),
        sources=use.sources,
    )


def _cost(span: str, money: float, use: LampUse) -> Amount:
    return Amount(name=f"cost {span}", value=money, unit=use.currency, kind="money")


def _use_given(use: LampUse) -> tuple[Amount, ...]:
    name = f"lamps of shelf {use.shelf}" if use.shelf else "lamps of the shelf"
    found = [
        Amount(name=name, value=use.watts, unit="W"),
        Amount(name="light a day", value=60 * use.hours, unit="min", kind="minutes"),
        Amount(name="trays on the shelf", value=use.trays),
    ]
    if use.days is not None:
        found.append(Amount(name="days in the light", value=use.days, unit="d", note=use.days_from))
    if use.grams is not None:
        found.append(Amount(name="a tray weighs", value=use.grams, unit="g", kind="mass", note=use.grams_from))
    if use.price is not None:
        found.append(Amount(name="a kilowatt hour", value=use.price, unit=use.currency, kind="money"))
    return tuple(found)


def _unsaid(use: LampUse) -> list[str]:
    unsaid = {"--days": use.days, "--weight": use.grams, "--price": use.price}
    names = [name for name, value in unsaid.items() if value is None]
    return [f"Say {' and '.join(names)} to see more."] if names else []


def _require_use(use: LampUse) -> None:
    require_each("trays", use.trays, 0, 1000, "", "Say how many trays stand on the shelf.", above=True)
    if use.days is not None:
        require_each("days", use.days, 0, 365, "d", "Say how many days a tray stands in the light.", above=True)
    if use.grams is not None:
        require_each("weight", use.grams, 0, 100_000, "g", "Weigh what you cut of a tray.", above=True)
    if use.price is not None:
        require_each("price", use.price, 0, 100_000, use.currency, "Look on your electricity bill for a kilowatt hour.")
