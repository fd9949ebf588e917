"""What a setup file says of the farm's water: what it is like, what brings it to a pH, and what feeds."""

from __future__ import annotations

from trayward.bench.water_words import read_alkalinity, read_ec
from trayward.desk.setup.table import Table
from trayward.errors import InputError
from trayward.farm.settings import FarmWater
from trayward.science.solution_constants import CACO3_MG_PER_MEQ
from trayward.science.solution_reagents import read_product
from trayward.units import parse_temperature

MOST_ALKALINITY, MOST_EC, MOST_MG, WARMEST = 1000.0, 20.0, 2000.0, 50.0


def read_water(farm: Table) -> FarmWater | None:
    """The `[farm.water]` table, where there is one."""
    table = farm.table("water")
    if table is None:
        return None
    span = table.amounts("feed_ec", read_ec, "dS/m", (1, 2))
    water = FarmWater(
        ph=table.number("ph", low=4.5, high=10.5, unit="pH"),
        alkalinity_meq=table.amount("alkalinity", _caco3_mg, "mg/l", high=MOST_ALKALINITY) / CACO3_MG_PER_MEQ,
        ec_ds_m=table.amount("ec", read_ec, "dS/m", 0.0, high=MOST_EC),
        temp_c=table.amount("temperature", parse_temperature, "C", 20.0, high=WARMEST),
        calcium_mg=table.number("calcium", 0.0, high=MOST_MG, unit="mg/l"),
        magnesium_mg=table.number("magnesium", 0.0, high=MOST_MG, unit="mg/l"),
        acid=_acid(table),
        feed=table.text("feed", ""),
        feed_gain_ds_m=table.amount("feed_adds", read_ec, "dS/m", 0.0, high=MOST_EC),
        feed_ec_ds_m=(span[0], span[-1]) if span else None,
    )
    _check(table, water)
    table.finish()
    return water


def _caco3_mg(text: str) -> float:
    return read_alkalinity(text) * CACO3_MG_PER_MEQ


def _acid(table: Table) -> str:
    words = table.text("acid", "")
    if words:
        try:
            read_product(words)
        except InputError as error:
            table.wrong("acid", error.rule, error.remedy)
            return ""
    return words


def _check(table: Table, water: FarmWater) -> None:
    if water.feed_ec_ds_m is not None and not water.feed_gain_ds_m:
        table.missing("feed_adds", "Say what 1 ml of the feed adds to the EC of a litre, for instance 0.35.")
    if not table.has("ph") or not table.has("alkalinity"):
        return
    from trayward.farm.water import solution_of

    try:
        solution_of(water)
    except InputError as error:
        table.wrong("ph", error.rule, error.remedy)
