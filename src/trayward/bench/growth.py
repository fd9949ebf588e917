"""Sums of warmth and time: when a crop comes up, what a warmer or cooler shelf does, what a log adds up to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

from trayward.bench.growth_crop import (
    SOWN_MM,
    CropWarmth,
    seen_emergence,
    stage_factor,
    temp_words,
    warmth_findings,
)
from trayward.bench.temperature_log import TemperatureLog
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding, InputError, require_between
from trayward.farm.recipes import Stage
from trayward.farm.settings import TemperatureUnit
from trayward.science.degree_days import Days, LogWarmth, degrees_of_day, mean_of_log, thermal_time_of_log
from trayward.science.growth import LINEAR_TO_C

DAY_MIN = 1440.0
OFF_D = 2.0
"""The straight line lies within so many days of what the trial saw, from 10 to 25 °C; the worst was 1.7. [d]"""
FEW_DAYS = 14
"""Days of a log that are shown one by one. [-]"""
STRAIGHT = f"Pace rises straight above the base up to {LINEAR_TO_C:.0f} °C; warmer counts as {LINEAR_TO_C:.0f} °C."
DEEP = f"Counted for seed {SOWN_MM:.0f} mm deep in soil: on a wet mat a root shows a day or more sooner."
SEED_WARMTH = "It is the warmth at the seed that counts: under a cover it is often a degree above the room's."


# A crop at a warmth ---------------------------------------------------------------------------------------------------


def emergence_sheet(crop: CropWarmth, days: Days, shown: TemperatureUnit = "C") -> Sheet:
    """
    When a crop comes up on a shelf, and how long its stages take there.

    Parameters
    ----------
    crop : CropWarmth
        What warmth does to it.
    days : Days
        The shelf's day and night.
    shown : str
        The unit that words and tables show temperatures in, C or F.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If neither a thermal time nor stages are on record, or a temperature is out of range.
    """
    _require_something(crop)
    grids = [_stages(crop, days)] if crop.stages else []
    if seen := _seen(crop.crop, shown):
        grids.append(seen)
    return Sheet(
        bench="growth",
        task="emergence",
        title=f"When {crop.crop} comes up at {_shelf_words(days, shown)}, and how long its stages take.",
        given=_given(crop, days),
        found=_emerges(crop, days),
        grids=tuple(grids),
        holds=_holds(crop),
        findings=tuple(warmth_findings(crop, days, shown)),
        sources=crop.sources,
    )


def _require_something(crop: CropWarmth) -> None:
    if crop.base_c is None and not crop.stages:
        remedy = "Fit it to your own looks: trayward bench growth fit."
        raise InputError("crop", crop.crop, "neither its base temperature nor its stages are on record", remedy)


def _shelf_words(days: Days, shown: TemperatureUnit) -> str:
    by_day, by_night = temp_words(days.day_c, shown), temp_words(days.night_c, shown)
    return by_day if days.day_c == days.night_c else f"{by_day} by day and {by_night} by night"


def _given(crop: CropWarmth, days: Days) -> tuple[Amount, ...]:
    found = [Amount(name="crop", value=crop.crop), *_shelf(days)]
    if crop.base_c is not None:
        found.append(_temp("nothing moves below", crop.base_c))
    if crop.thermal_time_c_d is not None:
        found.append(Amount(name="warmth it takes to come up", value=crop.thermal_time_c_d, unit="C d"))
    return tuple(found)


def _shelf(days: Days) -> list[Amount]:
    if days.day_c == days.night_c:
        return [_temp("shelf", days.day_c)]
    hours = Amount(name="hours of day", value=60 * days.day_hours, unit="min", kind="minutes")
    return [_temp("shelf by day", days.day_c), _temp("shelf by night", days.night_c), hours]


def _temp(name: str, value: float, note: str = "") -> Amount:
    return Amount(name=name, value=value, unit="C", kind="temperature", note=note)


def _time(name: str, days: float, note: str = "") -> Amount:
    if math.isinf(days):
        return Amount(name=name, value="never: too cold", note=note)
    return Amount(name=name, value=DAY_MIN * days, unit="min", kind="minutes", note=note)


def _emerges(crop: CropWarmth, days: Days) -> tuple[Amount, ...]:
    found = []
    shows = crop.days_to_emergence(days)
    if shows is None:
        found.append(Amount(name="seedlings show", value="not on record", note="see the stages"))
    else:
        found.append(
            _time("seedlings show", shows, f"give or take {OFF_D:.0f} d in the cool" if days.mean_c < 15 else "")
        )
    if crop.base_c is not None:
        found.append(Amount(name="warmth a day", value=degrees_of_day(days, crop.base_c), unit="C d"))
    return tuple(found)


def _stages(crop: CropWarmth, days: Days) -> Grid:
    rows = [_stage_row(stage, stage_factor(stage, days)) for stage in crop.stages]
    return Grid(
        title="Its stages, in days: 8 in 10 trays lie between",
        columns=("Stage", "Likely", "8 in 10 between", "Goes by"),
        rows=tuple(rows),
    )


def _stage_row(stage: Stage, factor: float | None) -> tuple[str, str, str, str]:
    times = 1.0 if factor is None else factor
    if math.isinf(times):
        return stage.name, "never", "", "warmth"
    low, likely, high = (f"{length * times:.1f}" for length in (stage.days_low, stage.days_typical, stage.days_high))
    return stage.name, likely, f"{low} to {high}", "the calendar" if factor is None else "warmth"


def _seen(crop: str, shown: TemperatureUnit) -> Grid | None:
    rows = seen_emergence(crop)
    if not rows:
        return None
    told = [
        (
            temp_words(row.temp_c, shown),
            "none came" if row.none_sprouted or row.days is None else f"{row.days:g}",
            "" if row.normal_pct is None else f"{row.normal_pct:g} %",
        )
        for row in rows
    ]
    return Grid(title="As the published trial saw it", columns=("At", "Days", "Normal seedlings"), rows=tuple(told))


def _holds(crop: CropWarmth) -> tuple[str, ...]:
    found = [STRAIGHT, SEED_WARMTH]
    if crop.thermal_time_c_d is not None:
        found.insert(0, DEEP)
    if any(stage.base_c is None for stage in crop.stages):
        found.append("Stages that go by the calendar take their time at any warmth here: nobody gave their pace.")
    return tuple(found)


# A warmer or cooler shelf ---------------------------------------------------------------------------------------------


def warmer_sheet(crop: CropWarmth, now: Days, others: Sequence[Days], shown: TemperatureUnit = "C") -> Sheet:
    """
    What a warmer or cooler shelf would do.

    Parameters
    ----------
    crop : CropWarmth
        What warmth does to the crop.
    now : Days
        The shelf as it is.
    others : sequence of Days
        Shelves to hold against it; the first is answered in full.
    shown : str
        The unit that words and tables show temperatures in, C or F.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If there is no other shelf, nothing of the crop is on record, or a temperature is out of range.
    """
    _require_something(crop)
    if not others:
        raise InputError("to", "nothing", "a shelf to hold against it must be said", 'For instance --to "24 C".')
    first = others[0]
    return Sheet(
        bench="growth",
        task="warmer",
        title=f"What {crop.crop} does at {_shelf_words(first, shown)} instead of {_shelf_words(now, shown)}.",
        given=(*_given(crop, now), _temp("other shelf", first.mean_c, "mean" if first.day_c != first.night_c else "")),
        found=_sooner(crop, now, first),
        grids=(_side_by_side(crop, [now, *others], shown),),
        holds=(*_holds(crop), "Light, water and seed as before: a cooler tray also grows shorter and keeps longer."),
        findings=tuple(dict.fromkeys(each for days in others for each in warmth_findings(crop, days, shown))),
        sources=crop.sources,
    )


def _sooner(crop: CropWarmth, now: Days, other: Days) -> tuple[Amount, ...]:
    found = []
    shows = crop.days_to_emergence(now), crop.days_to_emergence(other)
    if shows[0] is not None and shows[1] is not None:
        found += _change("seedlings show", shows[0], shows[1])
    for stage in crop.stages:
        factors = stage_factor(stage, now), stage_factor(stage, other)
        if factors[0] is not None and factors[1] is not None:
            found += _change(stage.name, *(factor * stage.days_typical for factor in factors if factor is not None))
    return tuple(found) or (Amount(name="change", value="nothing on record goes by warmth"),)


def _change(name: str, before: float, after: float) -> list[Amount]:
    if math.isinf(before) or math.isinf(after):
        return [_time(name, after, "" if math.isinf(before) else f"{before:.1f} d now")]
    word = "sooner" if after < before else "later"
    return [_time(f"{name} {word} by", abs(before - after), f"{before:.1f} d before, {after:.1f} d then")]


def _side_by_side(crop: CropWarmth, shelves: Sequence[Days], shown: TemperatureUnit) -> Grid:
    by_warmth = [stage for stage in crop.stages if stage.base_c is not None]
    told = [(days, _cell(crop.days_to_emergence(days))) for days in sorted(shelves, key=lambda one: one.mean_c)]
    rows = []
    for days, shows in told:
        factors = [(stage, stage_factor(stage, days)) for stage in by_warmth]
        cells = [_cell(None if factor is None else factor * stage.days_typical) for stage, factor in factors]
        rows.append((_shelf_cell(days, shown), shows, *cells, "now" if days == shelves[0] else ""))
    columns = ("Shelf", "Seedlings show [d]", *(f"{stage.name} [d]" for stage in by_warmth), "")
    return Grid(title="Shelf beside shelf", columns=columns, rows=tuple(rows))


def _shelf_cell(days: Days, shown: TemperatureUnit) -> str:
    by_day, by_night = temp_words(days.day_c, shown), temp_words(days.night_c, shown)
    return by_day if days.day_c == days.night_c else f"{by_day.partition(' ')[0]}/{by_night}"


def _cell(days: float | None) -> str:
    return "-" if days is None else "never" if math.isinf(days) else f"{days:.1f}"


# A log ----------------------------------------------------------------------------------------------------------------


def log_sheet(
    log: TemperatureLog,
    base_c: float,
    *,
    crop: CropWarmth | None = None,
    gap_h: float = 6.0,
    shown: TemperatureUnit = "C",
) -> Sheet:
    """
    What a temperature log adds up to.

    Parameters
    ----------
    log : TemperatureLog
        Readings in the order of time.
    base_c : float
        Temperature below which nothing moves. [°C]
    crop : CropWarmth, optional
        A crop sown at the first reading: when it came up is then said.
    gap_h : float
        A longer step between readings is a gap. [h]
    shown : str
        The unit that tables show temperatures in, C or F.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    require_between("gap", gap_h, 0.05, 1000, "h")
    warm = thermal_time_of_log(log.hours, log.temps_c, base_c, gap_h=gap_h)
    return Sheet(
        bench="growth",
        task="log",
        title=f"What the log from {_when(log.times[0])} to {_when(log.times[-1])} adds up to.",
        given=(
            *((Amount(name="crop", value=crop.crop),) if crop is not None else ()),
            _temp("nothing moves below", base_c),
            Amount(name="readings", value=len(log.times)),
            Amount(name="a gap is longer than", value=60 * gap_h, unit="min", kind="minutes"),
        ),
        found=(*_came_up(log, warm, crop), *_summed(log, warm)),
        grids=tuple(grid for grid in (_by_day(log, warm, shown), _gaps(log, warm)) if grid is not None),
        holds=(
            STRAIGHT,
            SEED_WARMTH,
            "Between readings the temperature is taken to run straight; gaps are not counted.",
        ),
        findings=(*log.findings, *_gap_findings(log, warm)),
        sources=crop.sources if crop is not None else (),
    )


def _when(at: datetime) -> str:
    return f"{at:%Y-%m-%d %H:%M}"


def _summed(log: TemperatureLog, warm: LogWarmth) -> list[Amount]:
    logged = warm.logged_h / 24
    return [
        Amount(name="thermal time", value=warm.total_c_d, unit="C d"),
        Amount(name="a day", value=warm.total_c_d / logged if logged > 0 else 0.0, unit="C d"),
        _time("logged", logged),
        _temp("mean", mean_of_log(log.hours, log.temps_c), "over all of it, gaps drawn straight"),
        _temp("coldest", min(log.temps_c)),
        _temp("warmest", max(log.temps_c)),
    ]


def _came_up(log: TemperatureLog, warm: LogWarmth, crop: CropWarmth | None) -> list[Amount]:
    """When seed sown at the first reading came up, by the thermal time it takes."""
    if crop is None or crop.thermal_time_c_d is None:
        return []
    reached = warm.reached_h(crop.thermal_time_c_d)
    if math.isinf(reached):
        share = warm.total_c_d / crop.thermal_time_c_d
        return [Amount(name="of the warmth it takes to come up", value=share, unit="-", kind="share")]
    at = log.times[0] + timedelta(hours=reached)
    note = f"{reached / 24:.1f} d after the first reading"
    if _gap_before(warm, reached):
        note += "; sooner, for gaps lie before"
    return [Amount(name="seed sown at the first reading shows", value=_when(at), note=note)]


def _gap_before(warm: LogWarmth, hours: float) -> bool:
    return bool((warm.gaps[:, 0] < hours).any())


def _by_day(log: TemperatureLog, warm: LogWarmth, shown: TemperatureUnit) -> Grid | None:
    """The last days of a log, each with its coldest, warmest and thermal time."""
    rows: dict[str, list[float]] = {}
    for place, (at, temp) in enumerate(zip(log.times, log.temps_c, strict=True)):
        step = float(warm.piled[place] - warm.piled[place - 1]) if place else 0.0
        seen = rows.setdefault(f"{at:%Y-%m-%d}", [temp, temp, 0.0])
        rows[f"{at:%Y-%m-%d}"] = [min(seen[0], temp), max(seen[1], temp), seen[2] + step]
    told = [
        (day, temp_words(low, shown), temp_words(high, shown), f"{brought:.1f}")
        for day, (low, high, brought) in rows.items()
    ]
    left = len(told) - FEW_DAYS
    title = f"Day by day, the last {FEW_DAYS} of {len(told)}" if left > 0 else "Day by day"
    return Grid(title=title, columns=("Day", "Coldest", "Warmest", "Brought [C d]"), rows=tuple(told[-FEW_DAYS:]))


def _gaps(log: TemperatureLog, warm: LogWarmth) -> Grid | None:
    if not len(warm.gaps):
        return None
    rows = [
        (
            _when(log.times[0] + timedelta(hours=float(begin))),
            _when(log.times[0] + timedelta(hours=float(end))),
            f"{end - begin:.1f}",
        )
        for begin, end in warm.gaps[:FEW_DAYS]
    ]
    return Grid(title="Gaps, not counted", columns=("From", "To", "Hours"), rows=tuple(rows))


def _gap_findings(log: TemperatureLog, warm: LogWarmth) -> list[Finding]:
    if not len(warm.gaps):
        return []
    hours = float((warm.gaps[:, 1] - warm.gaps[:, 0]).sum())
    share = hours / (log.hours[-1] or 1.0)
    many = len(warm.gaps)
    message = f"log = {many} gap{'s' if many > 1 else ''}, {hours:.0f} h in all ({100 * share:.0f} %): not counted."
    remedy = f"Drawn straight between their ends they would add {warm.gap_c_d:.0f} C d."
    return [Finding(code="log-gaps", severity="odd", message=message, remedy=remedy)]
