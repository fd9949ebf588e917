"""Feed sums: concentrate to an EC, salts to a ppm, a meter's reading, a tank that is too strong."""

from __future__ import annotations

from collections.abc import Mapping

from trayward.bench.types import Amount, Sheet
from trayward.bench.water_cautions import FEED_CAUTIONS, MEASURE, MIXING_ORDER
from trayward.errors import Finding, InputError
from trayward.units import GRAMS_PER_OUNCE, ML_PER_GALLON

STRONG_DS_M = 2.0
"""Stronger feed than this is seldom wanted under microgreens. Common practice, no source. [dS/m]"""
ADDS_UP = "EC is taken to add up by volume: good to a few per cent."


def _require_volume(total_ml: float) -> None:
    if not 0 < total_ml < float("inf"):
        raise InputError("water", f"{total_ml:g}", "must be above zero", "Say how much is mixed.", "ml")


def feed_sheet(
    target_ds_m: float,
    gain_ds_m: float,
    total_ml: float,
    *,
    water_ds_m: float = 0.0,
    dry: bool = False,
    density: float | None = None,
    name: str = "feed",
) -> Sheet:
    """
    How much concentrate brings water to an EC.

    Parameters
    ----------
    target_ds_m, water_ds_m : float
        Wanted, and of the water before. [dS/m at 25 C]
    gain_ds_m : float
        What 1 ml (dry: 1 g) of it adds to a litre. [dS/m]
    total_ml : float
        Feed to be mixed. [ml] Valid above 0.
    dry : bool
        Whether it is a powder.
    density : float or None
        Of a liquid, to weigh it out. [g/ml] Valid from 0.8 to 2.
    name : str
        What it is called.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    from trayward.science.solution_feed import concentrate_for_ec

    _require_volume(total_ml)
    each = concentrate_for_ec(target_ds_m, water_ds_m, gain_ds_m)
    if density is not None and (dry or not 0.8 <= density <= 2.0):
        raise InputError(
            "density", f"{density:g}", "must lie in [0.8, 2] g/ml, for a liquid", "Read the label.", "g/ml"
        )
    in_all, unit = each * total_ml / 1000, "g" if dry else "ml"
    weighed = (Amount(name="or by weight", value=in_all * density, unit="g", kind="mass"),) if density else ()
    return Sheet(
        bench="water",
        task="feed",
        title=f"{name[:1].upper()}{name[1:]} for an EC of {target_ds_m:g} dS/m",
        given=(
            Amount(name="EC wanted", value=target_ds_m, unit="dS/m"),
            Amount(name="EC of the water", value=water_ds_m, unit="dS/m"),
            Amount(name=f"1 {unit} in a litre adds", value=gain_ds_m, unit="dS/m"),
            Amount(name="to be mixed", value=total_ml, unit="ml", kind="volume"),
        ),
        found=(
            Amount(name=f"{name} in all", value=in_all, unit=unit, kind="mass" if dry else "volume"),
            *weighed,
            Amount(name=f"{name} for each litre", value=each, unit=f"{unit}/l"),
            *_scales(target_ds_m),
        ),
        steps=MIXING_ORDER,
        holds=(MEASURE, ADDS_UP),
        findings=_strong(target_ds_m),
        cautions=FEED_CAUTIONS,
        sources=("practice",),
    )


def _scales(ec_ds_m: float) -> tuple[Amount, ...]:
    from trayward.science.solution_feed import PPM_SCALES, ppm_of_ec

    return tuple(
        Amount(name=f"a meter of the {scale} scale shows", value=float(ppm_of_ec(ec_ds_m, scale)), unit="ppm")
        for scale in PPM_SCALES
    )


def _strong(ec_ds_m: float) -> tuple[Finding, ...]:
    if ec_ds_m <= STRONG_DS_M:
        return ()
    message = f"EC wanted = {ec_ds_m:g} dS/m: stronger than microgreens are usually fed."
    return (Finding(code="feed-strong", severity="odd", message=message, remedy="Try half of it on one tray first."),)


def salt_sheet(
    target_ppm: float, element: str, shares: Mapping[str, float], total_ml: float, *, injector: float | None = None
) -> Sheet:
    """
    How much of a fertiliser gives a nutrient at a strength, and what comes with it.

    Parameters
    ----------
    target_ppm : float
        Of the element. [mg/l]
    element : str
        Which.
    shares : mapping of str to float
        Of each element in the fertiliser, by weight. [-]
    total_ml : float
        Feed to be mixed [ml]; with an injector, of stock.
    injector : float or None
        Parts of water to one of stock: 100 for 1:100.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    from trayward.science.solution_feed import salt_for_ppm, stock_strength

    _require_volume(total_ml)
    found = salt_for_ppm(target_ppm, element, shares)
    each = float(found.mg_l) / 1000 if injector is None else stock_strength(float(found.mg_l), injector)
    in_all, what = each * total_ml / 1000, "stock" if injector is not None else "feed"
    per_gallon = each / GRAMS_PER_OUNCE * ML_PER_GALLON / 1000 * 100
    beside = tuple(
        Amount(name=f"{name} it brings", value=float(ppm), unit="ppm", note="as wanted" if name == element else "")
        for name, ppm in found.supplies.items()
    )
    return Sheet(
        bench="water",
        task="salt",
        title=f"Fertiliser for {target_ppm:g} ppm of {element}",
        given=(
            Amount(name=f"{element} wanted", value=target_ppm, unit="ppm"),
            Amount(
                name="fertiliser holds", value=", ".join(f"{name} {100 * part:g} %" for name, part in shares.items())
            ),
            Amount(name=f"{what} to be mixed", value=total_ml, unit="ml", kind="volume"),
            *((Amount(name="injector", value=f"1:{injector:g}"),) if injector is not None else ()),
        ),
        found=(
            Amount(name="to weigh out", value=in_all, unit="g", kind="mass"),
            Amount(name=f"in each litre of {what}", value=each, unit="g/l"),
            Amount(name=f"in 100 US gallons of {what}", value=per_gallon, unit="oz"),
            *beside,
        ),
        steps=MIXING_ORDER,
        holds=(
            MEASURE,
            "The label's P2O5 is 0.4364 of it phosphorus, its K2O 0.8301 potassium: turn them into P and K first.",
            "Calcium salts and sulphates or phosphates do not go into one stock: they fall out as mud.",
        ),
        cautions=FEED_CAUTIONS,
        sources=("mattson2018",),
    )


def ec_sheet(reading_ds_m: float, *, temp_c: float = 25.0, per_degree: float | None = None) -> Sheet:
    """
    What a meter's reading is at 25 C, and on the scales that meters show.

    Parameters
    ----------
    reading_ds_m : float
        As read by a meter without compensation. [dS/m]
    temp_c : float
        Of the water. [C]
    per_degree : float or None
        Gain for each degree [1/C]; 0.0191 if left out.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    from trayward.science.solution_feed import PER_DEGREE, ec25

    gain = PER_DEGREE if per_degree is None else per_degree
    at_25 = float(ec25(reading_ds_m, temp_c, gain))
    return Sheet(
        bench="water",
        task="ec",
        title="A reading of EC, at 25 C and in ppm",
        given=(
            Amount(name="reading", value=reading_ds_m, unit="dS/m", note="not compensated"),
            Amount(name="water temperature", value=temp_c, unit="C", kind="temperature"),
            Amount(name="gain for each degree", value=100 * gain, unit="%"),
        ),
        found=(
            Amount(name="EC at 25 C", value=at_25, unit="dS/m", note="= mS/cm"),
            Amount(name="in uS/cm", value=1000 * at_25, unit="uS/cm"),
            *_scales(at_25),
        ),
        holds=(
            "Most meters compensate by themselves: then their reading is at 25 C already, whatever the water has.",
            "ppm of a meter is a convention: always name its scale.",
        ),
        sources=("iso_7888", "practice"),
    )


def dilute_sheet(volume_ml: float, ec_ds_m: float, target_ds_m: float, water_ds_m: float) -> Sheet:
    """
    How much water brings a tank that is too strong down to an EC.

    Parameters
    ----------
    volume_ml : float
        In the tank. [ml]
    ec_ds_m, target_ds_m, water_ds_m : float
        Of the tank, wanted, of the water. [dS/m at 25 C]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    from trayward.science.solution_feed import dilution

    _require_volume(volume_ml)
    added = dilution(volume_ml, ec_ds_m, target_ds_m, water_ds_m)
    replaced = volume_ml * added / (volume_ml + added)
    return Sheet(
        bench="water",
        task="dilute",
        title=f"A tank from EC {ec_ds_m:g} down to {target_ds_m:g} dS/m",
        given=(
            Amount(name="in the tank", value=volume_ml, unit="ml", kind="volume"),
            Amount(name="its EC", value=ec_ds_m, unit="dS/m"),
            Amount(name="EC wanted", value=target_ds_m, unit="dS/m"),
            Amount(name="EC of the water", value=water_ds_m, unit="dS/m"),
        ),
        found=(
            Amount(name="water to add", value=added, unit="ml", kind="volume"),
            Amount(name="in the tank then", value=volume_ml + added, unit="ml", kind="volume"),
            Amount(name="or drain and replace", value=replaced, unit="ml", kind="volume", note="with a full tank"),
        ),
        steps=("Add the water, stir, read the EC.", "Then the pH: it moves with the water's alkalinity."),
        holds=(MEASURE, ADDS_UP),
        sources=("computed",),
    )
