"""Quantities in words, in the units and the language of who reads: the filters of the templates."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from trayward.farm.settings import ShownUnits
from trayward.rounds.guide import guide_temperatures
from trayward.rounds.measures import in_one
from trayward.rounds.words import likely_weight
from trayward.units import degrees_in, show_length, show_mass, show_money, show_number, show_temperature, show_volume
from trayward.web.look.locales import Tongue
from trayward.web.look.said import filter_of

NOTHING = "–"
"""Where nothing is known."""


def filters_for(tongue: Tongue, units: ShownUnits) -> dict[str, Callable[..., Any]]:
    """
    The filters of one language and set of units.

    `mass` [g], `likely` (two figures) [g], `volume` [ml], `distance` [mm], `temperature` [C], `share` [-], `number`,
    `money`, `day`, `weekday`; each shows a dash for None. Moments take the farm's zone: see `clock` in `Look`.
    `plain`, `degrees` [C]: a number, a temperature as it stands in a field; empty for None.
    `said`: a sentence of the rooms below in this language and these units.
    `warmth`: a sentence of a guide, said, with its temperatures in these units.
    """

    def shown(show: Callable[..., str]) -> Callable[..., str]:
        def filtered(value: Any, *args: Any, **more: Any) -> str:
            return NOTHING if value is None else tongue.number(show(value, *args, **more))

        return filtered

    return {
        "mass": shown(lambda grams, figures=None: show_mass(grams, units.mass, figures=figures)),
        "likely": shown(lambda grams: likely_weight(grams, units.mass)),
        "volume": shown(lambda ml: show_volume(ml, units.volume)),
        "distance": shown(lambda mm: show_length(mm, units.length)),
        "temperature": shown(lambda celsius: show_temperature(celsius, units.temperature)),
        "share": shown(lambda part, figures=2: f"{show_number(100 * part, figures)} %"),
        "number": shown(lambda value, figures=4: show_number(value, figures)),
        "plain": plain,
        "degrees": lambda celsius: plain(_degrees(celsius, units)),
        "money": lambda amount, currency="", places=None: in_one(shown(show_money)(amount, currency, places=places)),
        "day": shown(lambda day, year=False: tongue.day(_date(day), year=year)),
        "weekday": shown(lambda day: tongue.weekday(_date(day))),
        "warmth": lambda words: guide_temperatures(words, units.temperature, tongue.number),
        "said": filter_of(tongue.said if tongue.sayings is not None else None, units),
    }


def plain(value: float | None) -> str:
    """
    A number for a field: all its digits and no mark between thousands, so that it is read back as what it was.

    Examples
    --------
    >>> plain(25000.0), plain(1.125), plain(0.00001), plain(None)
    ('25000', '1.125', '0.00001', '')
    """
    return "" if value is None else f"{Decimal(f'{value:.12g}').normalize() + 0:f}"


def _degrees(celsius: float | None, units: ShownUnits) -> float | None:
    return None if celsius is None else degrees_in(celsius, units.temperature)


def _date(day: date) -> date:
    return day.date() if isinstance(day, datetime) else day


def in_ten(chance: float) -> int:
    """
    A chance as so many in ten; only what is certain is 0 or 10. [-]

    Examples
    --------
    >>> in_ten(0.87), in_ten(0.999), in_ten(0.0), in_ten(0.004)
    (9, 9, 0, 1)
    """
    if chance <= 0 or chance >= 1:
        return 10 if chance >= 1 else 0
    return min(9, max(1, round(10 * chance)))
