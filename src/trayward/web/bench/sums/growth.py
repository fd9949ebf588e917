"""The sums of the growth bench: emergence, warmer, log, fit."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.web.bench.sums import air_words
from trayward.web.bench.sums.declared import (
    FILE,
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Given,
    answered,
    argument,
    option,
    text_of,
    units_of,
)

if TYPE_CHECKING:
    from trayward.bench.growth_crop import CropWarmth
    from trayward.bench.temperature_log import TemperatureLog
    from trayward.science.degree_days import Days
    from trayward.science.warm_fit import WarmLook

ANSWERS = (
    ("emergence", "When a crop comes up at a temperature, and how long its stages take."),
    ("warmer", "What a warmer or cooler shelf would do."),
    ("log", "What a temperature log adds up to, day by day, its gaps said."),
    ("fit", "Base temperature and thermal time from your own looks."),
)
USUAL_C = 21.0
FILE_GAP_H, BOOK_GAP_H = 6.0, 36.0
"""A logger that missed so long missed a part of the day; who writes readings down does so once or twice a day. [h]"""
LOOKS_REMEDY = (
    "Name a file of looks, with the columns temperature, not yet, seen, trays: fit looks.csv; or go where the farm's "
    "book is and name a crop: fit --crop broccoli."
)
STEPS_C = (-6.0, -3.0, 3.0, 6.0)
"""Shelves that are held against yours where none is named. [°C]"""


growth = Bench(
    "growth", "Warmth and time: when a crop comes up, what another shelf does, what a log adds up to.", ANSWERS
)


SHELF = option("--shelf", metavar="TEMPERATURE", help='At the seed; 21 C if left out. Example: "20 C".')
NIGHT = option("--night", metavar="TEMPERATURE", help='By night, if another. Example: "16 C".')
HOURS = option("--hours", type=NUMBER, metavar="HOURS", help="Of day; 16 if left out. Example: 16.")
BASE = option("--base", metavar="TEMPERATURE", help='Nothing moves below; the crop\'s if left out. Example: "3 C".')


@growth.add("emergence", example='trayward bench growth emergence broccoli --shelf "22 C" --night "17 C"')
@argument("crop")
@SHELF
@NIGHT
@HOURS
@US_OPTION
def emergence(
    given: Given, crop: str, shelf: str | None, night: str | None, hours: float | None, us: bool | None
) -> Answer:
    """When a CROP comes up on a shelf, and how long its stages take there."""
    from trayward.bench.growth import emergence_sheet

    units = units_of(given, us)
    return answered(emergence_sheet(_crop(given, crop), _days(shelf, night, hours, units), units.temperature), units)


@growth.add("warmer", example='trayward bench growth warmer broccoli --shelf "18 C" --to "22 C"')
@argument("crop")
@SHELF
@NIGHT
@HOURS
@option("--to", "to", multiple=True, metavar="TEMPERATURE", help='Another shelf; may be repeated. Example: "24 C".')
@US_OPTION
def warmer(
    given: Given,
    crop: str,
    shelf: str | None,
    night: str | None,
    hours: float | None,
    to: tuple[str, ...],
    us: bool | None,
) -> Answer:
    """What a warmer or cooler shelf would do to a CROP."""
    from trayward.bench.growth import warmer_sheet
    from trayward.science.degree_days import Days

    units = units_of(given, us)
    now = _days(shelf, night, hours, units)
    others = [Days.steady(air_words.temperature(one, units, "to")) for one in to]
    if not others:
        shifts = sorted(STEPS_C, key=lambda step: step != STEPS_C[2])
        others = [Days(day_c=now.day_c + step, night_c=now.night_c + step, day_hours=now.day_hours) for step in shifts]
    return answered(warmer_sheet(_crop(given, crop), now, others, units.temperature), units)


@growth.add("log", example="trayward bench growth log shelf.csv --crop broccoli")
@argument("file", required=False, type=FILE)
@option("--crop", metavar="CROP", help="Its base, and when it came up. Example: broccoli.")
@BASE
@option("--gap", type=NUMBER, metavar="HOURS", help="A longer step is a gap; 6, or 36 in the book. Example: 6.")
@option("--from", "begin", metavar="WHEN", help='Count from then on. Example: "2026-11-25 07:30".')
@option("--until", metavar="WHEN", help='Count up to then. Example: "2026-11-29 07:30".')
@option("--where", metavar="PLACE", help="With a farm and no file: its readings there. Example: A1.")
@option("--fahrenheit/--celsius", "in_f", default=None, help="What the file is in. Example: --fahrenheit.")
@option("--day-first/--month-first", default=None, help="How its dates run. Example: --day-first.")
@US_OPTION
def log(
    given: Given,
    file: Path | None,
    crop: str | None,
    base: str | None,
    gap: float | None,
    begin: str | None,
    until: str | None,
    where: str | None,
    in_f: bool | None,
    day_first: bool | None,
    us: bool | None,
) -> Answer:
    """What a logger's FILE of times and temperatures adds up to; with a farm and no file, its readings of a place."""
    from trayward.bench.growth import log_sheet
    from trayward.bench.growth_crop import require_base
    from trayward.bench.temperature_log import read_log

    units = units_of(given, us)
    known = _crop(given, crop) if crop is not None else None
    if base is None and known is None:
        raise InputError("base", "none", "say a crop, or below which temperature nothing moves", "--crop broccoli.")
    base_c = air_words.temperature(base, units, "base") if base is not None else require_base(known)  # type: ignore[arg-type]
    told = read_log(text_of(file), fahrenheit=in_f, day_first=day_first) if file else _book_log(given, where or "")
    gap_h = gap if gap is not None else FILE_GAP_H if file else BOOK_GAP_H
    sheet = log_sheet(log_between(told, begin, until), base_c, crop=known, gap_h=gap_h, shown=units.temperature)
    return answered(sheet, units)


@growth.add("fit", example="trayward bench growth fit --crop broccoli --stage germinate")
@argument("file", required=False, type=FILE)
@option("--crop", metavar="CROP", help="Whose; with a farm and no file its own looks. Example: broccoli.")
@option("--stage", default="germinate", metavar="STAGE", help="Which stage of it. Example: germinate.")
@BASE
@option("--fahrenheit", "in_f", is_flag=True, help="The file is in Fahrenheit. Example: --fahrenheit.")
@US_OPTION
def fit(
    given: Given,
    file: Path | None,
    crop: str | None,
    stage: str,
    base: str | None,
    in_f: bool,
    us: bool | None,
) -> Answer:
    """Base temperature and thermal time from your own looks: a FILE of them, or those in the book.

    The file has columns: temperature, not yet, seen, trays. The two in the middle are days since the start: the last
    look that said not yet, and the one that saw it; blank where nobody saw it end."""
    from trayward.bench.growth_fit import fit_sheet, read_looks

    units = units_of(given, us)
    known = _crop(given, crop) if crop is not None else None
    looks = read_looks(text_of(file), fahrenheit=in_f) if file else _book_looks(given, crop, stage)
    base_c = air_words.temperature(base, units, "base") if base is not None else _base_on_record(known)
    what = f"{stage} of {known.crop}" if known is not None else "the stage"
    sources = known.sources if known is not None and base is None else ()
    return answered(fit_sheet(looks, what=what, known_base_c=base_c, sources=sources, shown=units.temperature), units)


def _base_on_record(known: CropWarmth | None) -> float | None:
    return known.base_c if known is not None else None


# What was typed, read -------------------------------------------------------------------------------------------------


def _days(shelf: str | None, night: str | None, hours: float | None, units: ShownUnits) -> Days:
    from trayward.science.degree_days import Days

    by_day = air_words.temperature(shelf, units, "shelf") if shelf is not None else USUAL_C
    by_night = air_words.temperature(night, units, "night") if night is not None else by_day
    return (
        Days(day_c=by_day, night_c=by_night) if hours is None else Days(day_c=by_day, night_c=by_night, day_hours=hours)
    )


def _crop(given: Given, name: str) -> CropWarmth:
    """What warmth does to a crop: by the farm's word and recipe where there is a farm, else by the library's."""
    from trayward.bench.growth_crop import crop_warmth
    from trayward.library.crops import library_facts

    if not given.has_farm:
        return crop_warmth(library_facts(name))
    from trayward.library.crops import crop_names, facts_for

    farm = given.state
    recipes = [recipe for recipe in farm.recipes_in_use() if recipe.crop == name]
    if not recipes and name not in farm.crop_facts and name not in crop_names():
        return crop_warmth(library_facts(name))  # which says that nobody knows it
    return crop_warmth(facts_for(name, farm.crop_facts), recipes[0] if recipes else None)


def _book_log(given: Given, where: str) -> TemperatureLog:
    """The farm's own readings of temperature at a place, on its own clock."""
    from trayward.bench.temperature_log import TemperatureLog

    if not given.has_farm:
        raise InputError(
            "file", "none", "a logger's file must be named", "For instance: trayward bench growth log shelf.csv"
        )
    mine = {}
    for reading in given.state.readings:
        at_place = not where or reading.where.casefold() == where.casefold()
        if reading.what == "temperature" and at_place and reading.at <= given.at:
            mine[reading.at.astimezone(given.zone).replace(tzinfo=None)] = reading.value
    if len(mine) < 2:
        place = f" at {where}" if where else ""
        raise InputError(
            "readings", len(mine), f"the book has fewer than two temperatures{place}", "Name a logger's file."
        )
    times = sorted(mine)
    return TemperatureLog(times=tuple(times), temps_c=tuple(mine[at] for at in times))


def log_between(log: TemperatureLog, begin: str | None, until: str | None) -> TemperatureLog:
    import msgspec

    first, last = _moment("from", begin), _moment("until", until)
    kept = [
        place for place, at in enumerate(log.times) if (first is None or at >= first) and (last is None or at <= last)
    ]
    if len(kept) < 2:
        span = f"{log.times[0]:%Y-%m-%d %H:%M} to {log.times[-1]:%Y-%m-%d %H:%M}"
        raise InputError("from", begin or until, "fewer than two readings lie between", f"The log runs from {span}.")
    part = slice(kept[0], kept[-1] + 1)
    return msgspec.structs.replace(
        log, times=log.times[part], temps_c=log.temps_c[part], humidity_pct=log.humidity_pct[part]
    )


def _moment(name: str, text: str | None) -> datetime | None:
    """A moment on the log's own clock."""
    if text is None:
        return None
    try:
        found = datetime.fromisoformat(text.strip())
    except ValueError as error:
        raise InputError(
            name, text, "it must be a date, with a time or without", 'For instance "2026-11-25 07:30".'
        ) from error
    return found.replace(tzinfo=None)


def _book_looks(given: Given, crop: str | None, stage: str) -> list[WarmLook]:
    """The farm's own looks at a stage of a crop, where its room's temperature was logged."""
    if crop is None or not given.has_farm:
        rule = "there is no farm here whose looks could be taken" if crop else "it must be said whose looks to fit"
        raise InputError("file", "none", rule, LOOKS_REMEDY)
    from trayward.outlook.learning.warm_looks import warm_looks

    looks = warm_looks(given.state, given.at, crop, stage)
    if not looks:
        rule = "the book has no tray of it seen through that stage with its temperature logged"
        remedy = "Say readings with: trayward reading temperature 21C --where A1. Or name a file."
        raise InputError("crop", f"{crop}, {stage}", rule, remedy)
    return looks
