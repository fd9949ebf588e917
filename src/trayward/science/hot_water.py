"""Hot water for seed: the published degrees and minutes, and whether a bath kept to them.

Aimed at plant diseases the seed carries. It is no step against germs that make people ill.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import msgspec

from trayward.errors import InputError
from trayward.science.either import require_each

PREWARM_C, PREWARM_MIN, COOL_MIN = 38.0, 10.0, 5.0
"""Before: 10 minutes at 100 °F; after: 5 minutes in cold tap water. Sources: `udel_wcu`, `hotwater_column2010`."""
BAND_C = 0.5
"""How far the water may be off: common practice, no source. [°C]"""
LONGEST_GAP = 5.0
"""Readings further apart leave open what the water did in between: our choice. [min]"""
OVER_MIN = 1.0
"""So much longer is still taken for the time said: our choice. [min]"""


class Treatment(msgspec.Struct, frozen=True, kw_only=True):
    """What a source gives for a crop: temperature [°C], minutes [min], its key, and what another one says."""

    crop: str
    temp_c: float
    minutes: float
    source: str = "hotwater_column2010"
    elsewhere: str = ""


_F122, _F118 = 50.0, (118 - 32) / 1.8
_WA = "Western Australia's department gives"
TREATMENTS = {
    one.crop: one
    for one in (
        *(Treatment(crop=crop, temp_c=_F122, minutes=25.0) for crop in ("spinach", "brussels sprouts")),
        Treatment(
            crop="red cabbage", temp_c=_F122, minutes=25.0, elsewhere=f"as cabbage; {_WA} 52 °C for 30 min"
        ),
        Treatment(crop="broccoli", temp_c=_F122, minutes=20.0, elsewhere=f"{_WA} the same"),
        Treatment(crop="carrot", temp_c=_F122, minutes=20.0, elsewhere=f"{_WA} the same"),
        *(
            Treatment(crop=crop, temp_c=_F122, minutes=20.0)
            for crop in ("cauliflower", "collards", "kale", "turnip")
        ),
        Treatment(crop="mustard", temp_c=_F122, minutes=15.0),
        Treatment(crop="radish", temp_c=_F122, minutes=15.0),
        Treatment(crop="daikon", temp_c=_F122, minutes=15.0, elsewhere="as radish, of the same species"),
        Treatment(crop="lettuce", temp_c=_F118, minutes=30.0, elsewhere=f"{_WA} none: it can be damaged"),
        Treatment(crop="celery", temp_c=_F118, minutes=30.0, elsewhere=f"{_WA} 50 °C for 30 min"),
    )
}  # fmt: skip
"""By crop of the library. Seen: `hotwater_column2010`, which repeats an extension sheet; `dpird_seed` for Western
Australia. The extension sheets' own tables were not seen."""
NOT_FOR = ("pea", "beet", "chard", "sunflower", "nasturtium", "borage")
"""Large or clustered seed: pea and beet by `dpird_seed`, the others because large seed heats unevenly (from memory)."""


_ALIASES = {"cabbage": "red cabbage", "collard": "collards", "daikon radish": "daikon", "swiss chard": "chard"}


def treatment_for(crop: str) -> Treatment:
    """What the table gives for a crop; raises `InputError` for seed it harms or of which it says nothing."""
    crop = _ALIASES.get(crop.strip().lower(), crop.strip().lower())
    if crop in NOT_FOR:
        rule = "seed this large or clustered is damaged by hot water, or not reached by it"
        raise InputError("crop", crop, rule, "Buy tested seed instead.")
    if crop not in TREATMENTS:
        remedy = f"Ask your extension service, do not guess. On record: {', '.join(TREATMENTS)}."
        raise InputError("crop", crop, "no degrees and minutes are on record here", remedy)
    return TREATMENTS[crop]


class BathCheck(msgspec.Struct, frozen=True, kw_only=True):
    """
    How a bath went.

    Minutes in the band, too hot and too cold [min]; lowest and highest reading [°C]; the longest time between readings
    [min]; `good`: it did what the table says; `words`: why, or why not.
    """

    in_band_min: float
    hot_min: float
    cold_min: float
    lowest_c: float
    highest_c: float
    longest_gap_min: float
    good: bool
    words: str


def check_bath(
    minutes: Sequence[float], temps_c: Sequence[float], treatment: Treatment, band_c: float = BAND_C
) -> BathCheck:
    """
    Whether a bath kept its temperature for its time, by readings of a thermometer.

    Parameters
    ----------
    minutes : sequence of float, length n
        When each was read, from when the seed went in. [min] Rising, at least 2.
    temps_c : sequence of float, length n
        Readings. [°C] Valid 0 to 100.
    treatment : Treatment
        What the table gives.
    band_c : float
        How far it may be off. [°C] Valid above 0, up to 5.

    Returns
    -------
    BathCheck
        Minutes in the band, and the verdict in words.

    Raises
    ------
    InputError
        If readings are too few, out of order or out of range.

    Notes
    -----
    A straight line is drawn between readings, so a bath that leaves the band between two is counted to the moment. The
    bath is good where it stayed in the band from the first reading to the last, for the table's minutes and no more
    than a minute longer, with no two readings more than 5 minutes apart.

    Examples
    --------
    >>> check_bath([0, 5, 10, 15], [50.0, 50.2, 49.9, 50.1], treatment_for("radish")).words
    'It stayed between 49.5 and 50.5 °C for 15 of 15 minutes: as the table says.'
    """
    times, readings = _checked(minutes, temps_c)
    require_each("band_c", band_c, 0, 5, "°C", "0.5 is usual.", above=True)
    low, high = treatment.temp_c - band_c, treatment.temp_c + band_c
    segments = list(pairwise(zip(times, readings, strict=True)))
    cold = sum(_time_below(before, after, low) for before, after in segments)
    hot = sum(_time_below(_upside_down(before), _upside_down(after), -high) for before, after in segments)
    whole = times[-1] - times[0]
    found = BathCheck(
        in_band_min=whole - cold - hot, hot_min=hot, cold_min=cold, lowest_c=min(readings), highest_c=max(readings),
        longest_gap_min=max(after[0] - before[0] for before, after in segments), good=False, words="",
    )  # fmt: skip
    fault = _fault(found, whole, treatment, low, high)
    kept = f"It stayed between {low:.1f} and {high:.1f} °C for {_m(found.in_band_min)} of {_m(whole)} minutes"
    return msgspec.structs.replace(found, good=not fault, words=f"{kept}: {fault or 'as the table says'}.")


def _checked(minutes: Sequence[float], temps_c: Sequence[float]) -> tuple[list[float], list[float]]:
    if len(minutes) != len(temps_c) or len(minutes) < 2:
        raise InputError("readings", len(minutes), "at least two are needed, each with its minute", "Read it again.")
    for name, values, low, high, unit in (("minute", minutes, 0, 600, "min"), ("reading", temps_c, 0, 100, "°C")):
        for value in values:
            require_each(
                name, float(value), low, high, unit, "Fahrenheit is written with an F." if unit == "°C" else ""
            )
    if any(later <= earlier for earlier, later in pairwise(minutes)):
        raise InputError("readings", "out of order", "minutes must rise", "Write them in the order they were taken.")
    return [float(value) for value in minutes], [float(value) for value in temps_c]


def _time_below(before: tuple[float, float], after: tuple[float, float], limit: float) -> float:
    """Minutes of a straight stretch that lie below a temperature; on it is not below. [min]"""
    (start, first), (end, last) = before, after
    if min(first, last) >= limit:
        return 0.0
    if max(first, last) <= limit:
        return end - start
    return (end - start) * (limit - min(first, last)) / abs(last - first)


def _upside_down(reading: tuple[float, float]) -> tuple[float, float]:
    return reading[0], -reading[1]


def _fault(found: BathCheck, whole: float, treatment: Treatment, low: float, high: float) -> str:
    near = 1e-9
    if found.highest_c > high + near:
        return f"too hot, up to {found.highest_c:.1f} °C, so the seed may be dead; test how it sprouts before you sow"
    if found.lowest_c < low - near:
        return f"too cold, down to {found.lowest_c:.1f} °C, so it may not have worked; do not trust it"
    if found.longest_gap_min > LONGEST_GAP + near:
        return f"{_m(found.longest_gap_min)} minutes went by without a reading, so nobody knows; read every few minutes"
    if whole < treatment.minutes - near:
        return f"too short, the table says {_m(treatment.minutes)}, so it may not have worked"
    if whole > treatment.minutes + OVER_MIN:
        return f"too long, the table says {_m(treatment.minutes)}, so the seed may be harmed; test how it sprouts"
    return ""


def _m(minutes: float) -> str:
    return f"{math.floor(minutes * 10 + 0.5) / 10:g}"
