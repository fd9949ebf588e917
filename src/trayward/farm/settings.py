"""What holds for the farm as a whole: its name, its day, its money and its habits."""

from __future__ import annotations

from datetime import date, time
from typing import Literal

import msgspec

MassUnit = Literal["g", "oz"]
VolumeUnit = Literal["ml", "cup"]
TemperatureUnit = Literal["C", "F"]
LengthUnit = Literal["mm", "in"]


class ShownUnits(msgspec.Struct, frozen=True, kw_only=True):
    """The units this farm reads; inside there is one unit per quantity."""

    mass: MassUnit = "g"
    volume: VolumeUnit = "ml"
    temperature: TemperatureUnit = "C"
    length: LengthUnit = "mm"


METRIC = ShownUnits()
US = ShownUnits(mass="oz", volume="cup", temperature="F", length="in")


class RoundTime(msgspec.Struct, frozen=True, kw_only=True):
    """One walk of the day and when it begins, on the farm's own clock."""

    name: str
    at: time


class Overhead(msgspec.Struct, frozen=True, kw_only=True):
    """A cost that comes every month whether one sows or not: rent, water, insurance. [farm's currency]"""

    name: str
    month: float
    """A month. [currency]"""


class Money(msgspec.Struct, frozen=True, kw_only=True):
    """What things cost and bring. [farm's currency]"""

    currency: str = "EUR"
    wage_h: float = 0.0
    """An hour of hands. [currency/h]"""
    energy_kwh: float = 0.0
    """A kilowatt hour. [currency/kWh]"""
    packaging: float = 0.0
    """A pack. [currency]"""
    disposal_kg: float = 0.0
    """Throwing away a kilogram. [currency/kg]"""
    shortfall: float = 1.0
    """Price of a gram not delivered, as a multiple of its sale value, on top of the sale lost. [-]"""
    worth_home_100g: float = 1.0
    """What 100 g on the grower's own table is worth. [currency]"""
    overheads: tuple[Overhead, ...] = ()
    """What comes every month; spread over the trays by the days they stand on a spot."""


class FarmWater(msgspec.Struct, frozen=True, kw_only=True):
    """The water a farm waters with, the acid or base that brings it to a pH, and the feed that goes in."""

    ph: float
    """Of the plain water. [-]"""
    alkalinity_meq: float
    """What it holds against acid. [meq/l]"""
    ec_ds_m: float = 0.0
    """At 25 C. [dS/m] 0: not known."""
    temp_c: float = 20.0
    """As it is mixed. [C]"""
    calcium_mg: float = 0.0
    """Calcium. [mg/l] 0: not known."""
    magnesium_mg: float = 0.0
    """Magnesium. [mg/l] 0: not known."""
    acid: str = ""
    """Acid or base as its label says: `citric 50 %`."""
    feed: str = ""
    """What the feed is called."""
    feed_gain_ds_m: float = 0.0
    """What 1 ml of it adds to a litre. [dS/m]"""
    feed_ec_ds_m: tuple[float, float] | None = None
    """From and to; what the feed mix is to have. [dS/m]"""


class GS1Item(msgspec.Struct, frozen=True, kw_only=True):
    """A product's item reference, which with the company prefix makes its GTIN."""

    product: str
    item: str


class FarmPaper(msgspec.Struct, frozen=True, kw_only=True):
    """What stands on the farm's sheets and labels, in the farm's own words."""

    size: Literal["", "A4", "Letter"] = ""
    """Of its paper; empty: as its units suggest."""
    address: tuple[str, ...] = ()
    """Lines under the farm's name, on labels and on papers for customers."""
    storage: str = "Keep cold."
    """How a pack is to be stored."""
    words: str = ""
    """The farm's own wording on pack labels."""
    web: str = ""
    """Address of the farm's pages, as a label's code is to lead to; empty: the code holds the lot code alone."""
    gs1_prefix: str = ""
    """GS1 company prefix; empty: the farm has none, and labels carry no GS1 code."""
    gs1_items: tuple[GS1Item, ...] = ()


class AlarmMail(msgspec.Struct, frozen=True, kw_only=True):
    """Who is told of alarms by e-mail. By which server, and its password, is for the machine to say, not the book."""

    to: tuple[str, ...] = ()
    """E-mail addresses; empty: nobody."""
    language: Literal["en", "es"] = "en"
    """The mails' language."""


class FarmSettings(msgspec.Struct, frozen=True, kw_only=True):
    """A farm's settings. `work_minutes` runs Monday to Sunday. [min]"""

    name: str
    timezone: str = "UTC"
    sells: bool = True
    units: ShownUnits = ShownUnits()
    rounds: tuple[RoundTime, ...] = (
        RoundTime(name="morning", at=time(7, 0)),
        RoundTime(name="evening", at=time(19, 0)),
    )
    work_minutes: tuple[float, float, float, float, float, float, float] = (240.0,) * 7
    days_off: tuple[date, ...] = ()
    """Single days with no sowing, cutting, washing or delivery. A weekday off has 0 work minutes."""
    money: Money = Money()
    caution: float = 0.8
    """How often the plan wants to meet an order in full: in this share of cases, where there is room for it. [-]"""
    calm: float = 1.0
    """Today's and tomorrow's planned sowings change only for a gain worth more than this, a tray. [farm's currency]"""
    plan_spot_orders: bool = False
    """True: the plan also counts on spot orders that usually come and are not placed yet."""
    water: FarmWater | None = None
    """The water, its acid and its feed; None: not said, and rounds work no feed out."""
    rules: str = ""
    """What was answered on the page of rules, as its address has it: `country=US&roots=cut+off`; empty: nothing."""
    paper: FarmPaper = FarmPaper()
    alarm_mail: AlarmMail = AlarmMail()


USUAL_SETTINGS = FarmSettings(name="")
"""What holds on a farm that has not said anything of itself yet."""
