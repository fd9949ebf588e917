"""What people type of sanitisers, read: the strength on a label, a strength wanted, strips, readings of a bath."""

from __future__ import annotations

import re
from collections.abc import Sequence

from trayward.bench.hygiene_label import Label
from trayward.errors import InputError
from trayward.science.dilution import PPM_PER_PERCENT
from trayward.science.sanitiser import Agent
from trayward.units import parse_minutes, parse_temperature

_LABEL = re.compile(r"\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>%|percent|ppm|mg/l)\s*(?P<rest>.*?)\s*", re.IGNORECASE)
_BY = {
    "": "", "w/w": "weight", "wt": "weight", "by weight": "weight", "w/v": "volume", "by volume": "volume",
    "v/v": "volume", "weight": "weight", "volume": "volume",
}  # fmt: skip
_LABEL_REMEDY = 'For instance "8.25 %", "5.6 % by weight", "12.5 % available chlorine" or "52500 ppm".'


def label(text: str, density: float | None = None) -> Label:
    """The strength on a label: `8.25 %`, `5.6 % by weight`, `65 % available chlorine`, `52500 ppm`."""
    found = _LABEL.fullmatch(text)
    if found is None:
        raise InputError("label", text, "it must be a number with % or ppm", _LABEL_REMEDY)
    rest = found["rest"].lower()
    available = "available" in rest
    plain = " ".join(rest.replace("available chlorine", "").replace("available", "").split())
    number = float(found["number"].replace(",", "."))
    if found["unit"].lower() in ("ppm", "mg/l"):
        return Label(ppm=number)
    if plain not in _BY:
        raise InputError("label", text, f"{plain!r} is not what a label's per cent is of", _LABEL_REMEDY)
    return Label(percent=number, by=_BY[plain], available=available, density=density)


def strength(text: str, agent: Agent) -> float:
    """A strength wanted: `200 ppm`, `200`, `0.5 %`; of alcohol per cent by volume. [mg/l]"""
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(ppm|mg/l|%|percent)?\s*(?:by volume)?\s*", text, re.IGNORECASE)
    if found is None:
        raise InputError("strength", text, "it must be a number with ppm or %", 'For instance "200 ppm".')
    number, unit = float(found[1].replace(",", ".")), (found[2] or "").lower()
    percent = unit in ("%", "percent")
    if agent.form == "spirit" and not percent:
        raise InputError("strength", text, "alcohol is told in per cent by volume", 'For instance "70 %".')
    if percent and number > 100:
        raise InputError("strength", f"{number:g}", "must lie in [0, 100] %", 'For instance "70 %".', "%")
    return number * PPM_PER_PERCENT if percent else number


_CLOCK = re.compile(r"\s*([01]?\d|2[0-3]):([0-5]\d)\s*")
DAY = 1440.0


def clock(text: str, name: str) -> float:
    """A time of day: `7:30`, `19:05`. [min since midnight]"""
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise InputError(name, text, "it must be a time of day", 'For instance "7:30".')
    return 60.0 * int(found[1]) + int(found[2])


def age_at(moment: float, made: float) -> float:
    """How old what was made at one time of day is at another; a day is never full. [min], times [min since midnight]"""
    return (moment - made) % DAY


def strips(texts: Sequence[str], made: float | None = None) -> list[tuple[float, float]]:
    """
    Strips read: `1h30=150`, age and what it said; where it is known when it was made, `9:00=150` too. [min], [mg/l]

    Examples
    --------
    >>> strips(["1h30=150"]), strips(["9:00=150 ppm"], made=450.0)
    ([(90.0, 150.0)], [(90.0, 150.0)])
    """
    return [_strip(text, made) for text in texts]


def _strip(text: str, made: float | None) -> tuple[float, float]:
    when, _, value = text.partition("=")
    ppm = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*(?:ppm|mg/l)?\s*", value, re.IGNORECASE)
    if not when.strip() or ppm is None:
        raise InputError("strip", text, "it must be its age or time, =, and what it said", 'For instance "1h30=150".')
    return _age(when, made), float(ppm[1].replace(",", "."))


def _age(when: str, made: float | None) -> float:
    if not _CLOCK.fullmatch(when):
        return parse_minutes(when, name="age of the strip")
    if made is None:
        raise InputError(
            "strip", when, "a time of day needs to know when it was made", 'Say --made, for instance "7:30".'
        )
    return age_at(clock(when, "strip"), made)


def bath(text: str, unit: str) -> tuple[list[float], list[float]]:
    """Readings of a bath: `0=50.1 5=50.3 10=50.0`, or a minute and a temperature on each line."""
    minutes, temps = [], []
    for part in re.split(r"[\n;]|\s{1,}(?=\d+(?:[.,]\d+)?\s*[=:])", text.strip()):
        when, value = _reading(part)
        minutes.append(when)
        temps.append(parse_temperature(value, default=unit, name=f"reading at {when:g} min"))
    return minutes, temps


def _reading(part: str) -> tuple[float, str]:
    found = re.fullmatch(r"\s*([\d.,]+)\s*(?:min)?\s*(?:[=:\t]|,\s|\s)\s*(.+?)\s*", part)
    try:
        return (float(found[1].replace(",", ".")), found[2]) if found else _unread(part)
    except ValueError:
        return _unread(part)


def _unread(part: str) -> tuple[float, str]:
    remedy = 'For instance "0=50.1 5=50.3", or a file with "0 50.1" on each line.'
    raise InputError("readings", part, "each must be a minute, = and a temperature", remedy)
