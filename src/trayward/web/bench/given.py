"""What a sum on a page is given, and what the farm says where nothing is typed."""

from __future__ import annotations

from collections.abc import Container
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from trayward.farm.settings import FarmSettings, FarmWater, ShownUnits
from trayward.farm.state import FarmState
from trayward.science.solution_constants import CACO3_MG_PER_MEQ
from trayward.units import show_temperature
from trayward.web.ask import Ask
from trayward.web.bench.sums.declared import Sum

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from trayward.bootstrap import Farm


class OfPage:
    """The farm of the pages, for a sum; it never reads a file of the machine."""

    def __init__(self, ask: Ask) -> None:
        self._ask = ask
        self.now: datetime = ask.now

    @property
    def has_farm(self) -> bool:
        """Whether there is a farm."""
        return self._ask.has_farm

    @property
    def farm(self) -> Farm:
        """The farm."""
        return self._ask.farm

    @cached_property
    def state(self) -> FarmState:
        """The farm as it is."""
        return self._ask.farm.state(self._ask.at)

    @property
    def settings(self) -> FarmSettings:
        """The farm's settings."""
        return self._ask.settings

    @property
    def at(self) -> datetime:
        """The page's moment."""
        return self._ask.at

    @property
    def zone(self) -> ZoneInfo:
        """The farm's time zone."""
        return self._ask.zone

    @property
    def today(self) -> date:
        """The farm's own day."""
        return self._ask.today

    @property
    def units(self) -> ShownUnits:
        """The units of who looks."""
        return self._ask.units

    def text_in(self, name: str) -> str | None:  # noqa: ARG002
        """Nothing: what is typed into a page names no file of the machine."""
        return None


class OfJob(OfPage):
    """The same in the process of long work, which has no request."""

    def __init__(self, farm: Farm, at: datetime, units: ShownUnits) -> None:
        self._farm, self._at, self._units, self.now = farm, at, units, at

    @property
    def has_farm(self) -> bool:
        """There is one: long work is done for a farm."""
        return True

    @property
    def farm(self) -> Farm:
        """The farm."""
        return self._farm

    @cached_property
    def state(self) -> FarmState:
        """The farm as it is."""
        return self._farm.state(self._at)

    @cached_property
    def settings(self) -> FarmSettings:
        """The farm's settings."""
        return self._farm.settings(self._at)

    @property
    def at(self) -> datetime:
        """The moment meant."""
        return self._at

    @property
    def zone(self) -> ZoneInfo:
        """The farm's time zone."""
        from trayward.farm.calendar import zone

        return zone(self.settings)

    @property
    def today(self) -> date:
        """The farm's own day."""
        return self._at.astimezone(self.zone).date()

    @property
    def units(self) -> ShownUnits:
        """The units of who looks."""
        return self._units


def farm_says(bench: str, each: Sum, given: OfPage) -> dict[str, str]:
    """What stands in by field of a sum where nothing is typed, in words that could be typed."""
    if not given.has_farm:
        return {}
    settings, asked = given.settings, {field.name for field in each.fields}
    if bench == "water" and settings.water is not None:
        return _water_says(settings.water, given.units, asked)
    if bench == "money":
        money = settings.money
        said = {"wage": money.wage_h, "kwh_price": money.energy_kwh, "pack_price": money.packaging}
        return {name: f"{value:g}" for name, value in said.items() if value} | {"currency": money.currency}
    if bench == "light":
        price = settings.money.energy_kwh
        return ({"price": f"{price:g}"} if price else {}) | {"currency": settings.money.currency}
    # The air under a cover is not that of the readings.
    if bench == "air" and "where" in asked:
        return _air_says(given)
    return {}


def _water_says(water: FarmWater, units: ShownUnits, asked: Container[str]) -> dict[str, str]:
    span = water.feed_ec_ds_m if "adds" in asked else None
    said = {
        "ph": f"{water.ph:g}",
        "alkalinity": f"{water.alkalinity_meq * CACO3_MG_PER_MEQ:.4g} mg/l",
        "ec": f"{water.ec_ds_m:g} dS/m" if water.ec_ds_m else "",
        "water_ec": f"{water.ec_ds_m:g} dS/m" if water.ec_ds_m else "",
        # A reading of some tank has a temperature of its own.
        "temperature": show_temperature(water.temp_c, units.temperature) if "alkalinity" in asked else "",
        "calcium": f"{water.calcium_mg:g}" if water.calcium_mg else "",
        "magnesium": f"{water.magnesium_mg:g}" if water.magnesium_mg else "",
        "acid": water.acid,
        "adds": f"{water.feed_gain_ds_m:g}" if water.feed_gain_ds_m else "",
        "to": f"{sum(span) / 2:g} dS/m" if span is not None else "",
    }
    return {name: words for name, words in said.items() if words}


def _air_says(given: OfPage) -> dict[str, str]:
    from trayward.farm.last_air import last_air

    found = last_air(given.state, given.at, "")
    if found is None:
        return {}
    return {
        "temperature": show_temperature(found.temp_c, given.units.temperature),
        "humidity": f"{found.humidity_pct:.3g} %",
    }
