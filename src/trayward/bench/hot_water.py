"""Hot water for seed: what the table gives for a crop, and whether a bath kept to it."""

from __future__ import annotations

from collections.abc import Sequence

from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding
from trayward.science.hot_water import (
    BAND_C,
    COOL_MIN,
    PREWARM_C,
    PREWARM_MIN,
    TREATMENTS,
    BathCheck,
    Treatment,
    check_bath,
    treatment_for,
)

CAUTIONS = (
    "Hot water scalds, and mains near water kills: a proper bath, dry hands, no makeshift heater.",
    "It is aimed at plant diseases in the seed. It is no step against germs that make people ill.",
    "Your extension service's own sheet goes before this table; so do local codes and licensed practice.",
)
HOLDS = (
    "Not for pelleted, primed, treated, large, cracked or old seed, and never twice.",
    "Half a degree either way is common practice, no source: too hot kills seed, too cold leaves the disease.",
)
SOURCES = ("hotwater_column2010", "udel_wcu", "uwisc_hotwater", "ohioline_hyg5818", "dpird_seed", "practice")


def table_sheet() -> Sheet:
    """Every crop of the table, its degrees and minutes."""
    rows = tuple(
        (one.crop, f"{one.temp_c:.1f} °C ({one.temp_c * 1.8 + 32:.0f} F)", f"{one.minutes:g} min", one.elsewhere)
        for one in TREATMENTS.values()
    )
    return Sheet(
        bench="hygiene",
        task="hot-water",
        title="Hot water for seed, by crop.",
        given=(),
        found=(Amount(name="crops on record", value=len(rows)),),
        grids=(Grid(title="The bath", columns=("Crop", "Water", "Time", "Elsewhere"), rows=rows),),
        holds=HOLDS,
        cautions=CAUTIONS,
        sources=SOURCES,
    )


def hot_water_sheet(
    crop: str, minutes: Sequence[float] = (), temps_c: Sequence[float] = (), band_c: float = BAND_C
) -> Sheet:
    """
    The bath for a crop's seed, and with readings whether it kept to it.

    Parameters
    ----------
    crop : str
        Its name in the table.
    minutes, temps_c : sequence of float, length n
        Readings of the bath, from when the seed went in. [min], [°C] Empty: the table alone.
    band_c : float
        How far it may be off. [°C]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the seed must not be treated, the table is blank, or the readings cannot be.
    """
    treatment = treatment_for(crop)
    check = check_bath(minutes, temps_c, treatment, band_c) if minutes else None
    bath = (
        Amount(name="water", value=treatment.temp_c, unit="C", kind="temperature", note=_exactly(treatment, band_c)),
        Amount(name="time", value=treatment.minutes, unit="min", kind="minutes", note=treatment.elsewhere),
    )
    return Sheet(
        bench="hygiene",
        task="hot-water",
        title=f"Hot water for {crop} seed." if check is None else f"Did the bath for {crop} seed do its work?",
        given=(Amount(name="crop", value=crop), *(bath if check else ())),
        found=_found(check) if check else bath,
        findings=() if check is None or check.good else (_finding(check),),
        steps=() if check else _steps(treatment, band_c),
        holds=HOLDS,
        cautions=CAUTIONS,
        sources=SOURCES,
    )


def _exactly(treatment: Treatment, band_c: float) -> str:
    low, high = treatment.temp_c - band_c, treatment.temp_c + band_c
    return f"{low:.1f} to {high:.1f} °C ({low * 1.8 + 32:.1f} to {high * 1.8 + 32:.1f} F) all the time"


def _found(check: BathCheck) -> tuple[Amount, ...]:
    return (
        Amount(name="did its work", value=check.good, note=check.words),
        Amount(name="in the band", value=check.in_band_min, unit="min", kind="minutes"),
        Amount(name="too hot", value=check.hot_min, unit="min", kind="minutes"),
        Amount(name="too cold", value=check.cold_min, unit="min", kind="minutes"),
        Amount(name="lowest", value=check.lowest_c, unit="C", kind="temperature"),
        Amount(name="highest", value=check.highest_c, unit="C", kind="temperature"),
    )


def _finding(check: BathCheck) -> Finding:
    remedy = "The table's source decides: do not sow it for the disease's sake as if it were treated."
    return Finding(code="bath-off", severity="wrong", message=check.words, remedy=remedy)


def _steps(treatment: Treatment, band_c: float) -> tuple[str, ...]:
    return (
        "Treat a pinch first and test how it sprouts; treat only what will be sown now.",
        f"Warm the seed in a loose bag for {PREWARM_MIN:g} minutes at {PREWARM_C:g} °C (100 F).",
        f"Put the bag into the bath for {treatment.minutes:g} minutes at {_exactly(treatment, band_c)}. Stir; read the "
        "thermometer every few minutes.",
        f"Cool it {COOL_MIN:g} minutes in cold tap water.",
        "Spread it in one layer and dry it in moving air. Sow soon.",
    )
