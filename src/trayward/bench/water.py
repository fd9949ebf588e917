"""Water sums: acid and base to a pH, and two waters in one tank."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trayward.bench.types import Amount, Grid, Sheet
from trayward.bench.water_cautions import ACID_CAUTIONS, CHEMISTRY, MEASURE
from trayward.errors import Finding, InputError
from trayward.farm.settings import FarmWater
from trayward.farm.water import as_if_hard, solution_of
from trayward.science.solution_constants import CACO3_MG_PER_MEQ
from trayward.science.solution_reagents import Product

if TYPE_CHECKING:
    from trayward.science.solution_dose import Dose

ROUGH_SHARE = 0.75
"""How much of a dose goes in before the first look at the meter. Common practice, no source."""
FEW_ML = 0.5
"""Less is not measured well with a syringe. Common practice, no source. [ml]"""
MUCH_PHOSPHORUS, MUCH_NITROGEN, MUCH_SULFUR = 50.0, 100.0, 100.0
"""More than this from acid alone upsets a feed. Common practice, no source. [mg/l]"""
THIN_MEQ = 0.1
"""With less buffering than this the drop that is too much cannot be helped. Our choice. [meq/l]"""
CITRIC_FEEDS = "Citric acid is food for microbes, which eat it and raise the pH again: mix it fresh. Common practice."
SOURCES = ("phreeqc_dat", "minteq_v4", "davies1962", "solution_densities")


def water_amounts(water: FarmWater) -> tuple[Amount, ...]:
    """What was said of the water, for a sheet's inputs."""
    known = [
        Amount(name="water pH", value=water.ph),
        Amount(
            name="alkalinity",
            value=water.alkalinity_meq * CACO3_MG_PER_MEQ,
            unit="mg/l",
            note=f"as calcium carbonate; {water.alkalinity_meq:.3g} meq/l",
        ),
        Amount(name="water temperature", value=water.temp_c, unit="C", kind="temperature"),
    ]
    if water.ec_ds_m:
        known.append(Amount(name="EC", value=water.ec_ds_m, unit="dS/m"))
    if water.calcium_mg:
        known.append(Amount(name="calcium", value=water.calcium_mg, unit="mg/l"))
    if water.magnesium_mg:
        known.append(Amount(name="magnesium", value=water.magnesium_mg, unit="mg/l"))
    return tuple(known)


def dose_sheet(
    water: FarmWater, product: Product, target_ph: float, total_ml: float, *, co2_ppm: float | None = None
) -> Sheet:
    """
    Acid or base that brings water to a pH, and what comes of it.

    Parameters
    ----------
    water : FarmWater
        The water as tested.
    product : Product
        Acid or base at the strength of its label.
    target_ph : float
        pH wanted. [-] Valid from 3 to 10.
    total_ml : float
        Water in all. [ml] Valid above 0.
    co2_ppm : float or None
        None: right after mixing. Else: for water that stands open under air of that much carbon dioxide. [ppm]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range or the target cannot be reached.
    """
    from trayward.science.solution_dose import dose_to_ph

    if not 0 < total_ml < float("inf"):
        raise InputError("water", f"{total_ml:g}", "must be above zero", "Say how much is mixed.", "ml")
    air = _air(co2_ppm)
    dose = dose_to_ph(solution_of(water), product, target_ph, co2_atm=air, air_atm=air)
    litres = total_ml / 1000
    in_all = float(dose.amount) * litres
    word = "acid" if product.reagent.acid else "base"
    return Sheet(
        bench="water",
        task=word,
        title=f"{product.label[:1].upper()}{product.label[1:]} to bring water from pH {water.ph:g} to {target_ph:g}",
        given=(
            *water_amounts(water),
            Amount(name=word, value=product.label, note=_strength_words(product)),
            Amount(name="pH wanted", value=target_ph, note="once it stands open" if air else "right after mixing"),
            Amount(name="water to be mixed", value=total_ml, unit="ml", kind="volume"),
        ),
        found=(
            Amount(name=f"{word} in all", value=in_all, unit=product.unit, note=_measured(in_all, product)),
            Amount(name=f"{word} for each litre", value=float(dose.amount), unit=f"{product.unit}/l"),
            *_where_hard(water, product, target_ph, air),
            *_next_tenth(dose, air),
            *_after(dose, water, open_air=air is not None),
            *(Amount(name=f"{name} it adds", value=float(mg), unit="mg/l") for name, mg in dose.nutrients.items()),
        ),
        grids=(_curve(water, product, dose, air),) if float(dose.amount) > 0 else (),
        steps=dose_steps(product, in_all),
        holds=(MEASURE, *CHEMISTRY, *((CITRIC_FEEDS,) if "citrate" in product.reagent.adds else ())),
        findings=_oddities(water, dose),
        cautions=ACID_CAUTIONS,
        sources=SOURCES,
    )


def _air(co2_ppm: float | None) -> float | None:
    if co2_ppm is None:
        return None
    if not 100 <= co2_ppm <= 50_000:
        rule = "must lie in [100, 50000] ppm"
        raise InputError("carbon dioxide", f"{co2_ppm:g}", rule, "Outdoor air has about 420.", "ppm")
    return co2_ppm * 1e-6


def _strength_words(product: Product) -> str:
    if product.powder:
        return "dry, weighed"
    if product.density is None:
        return f"{product.molar:.3g} mol/l"
    return f"{product.density:.3g} g/ml; {product.molar:.3g} mol/l"


def _measured(amount: float, product: Product) -> str:
    if amount == 0:
        return "the water is there already"
    if amount < FEW_ML and not product.powder:
        return "too little for a syringe: thin it with water first, or mix more"
    if amount < FEW_ML:
        return "too little for a kitchen scale: mix more"
    return ""


def _after(dose: Dose, water: FarmWater, *, open_air: bool) -> tuple[Amount, ...]:
    left = float(dose.alkalinity)
    share = 1 - left / water.alkalinity_meq if water.alkalinity_meq > 0 else 0.0
    note = f"{100 * share:.0f} % of it is gone" if 0 < share <= 1 and dose.product.reagent.acid else ""
    stood = "" if open_air else "as carbon dioxide leaves, over hours to days"
    return (
        Amount(name="alkalinity left", value=left * CACO3_MG_PER_MEQ, unit="mg/l", note=note or "as calcium carbonate"),
        Amount(name="buffering left", value=float(dose.buffer), unit="meq/l", note="moves it by 1 pH"),
        Amount(name="pH once it has stood open", value=round(float(dose.ph_stood), 2), note=stood),
    )


def _where_hard(water: FarmWater, product: Product, target_ph: float, air: float | None) -> tuple[Amount, ...]:
    """Citric acid pairs with calcium and lets its protons go: much less does in hard water. Asked where it matters."""
    from trayward.science.solution_dose import dose_to_ph

    hard = as_if_hard(water, product)
    if hard is None:
        return ()
    less = float(dose_to_ph(solution_of(hard), product, target_ph, co2_atm=air, air_atm=air).amount)
    note = "if its hardness is lime and equals its alkalinity: then begin with this"
    return (Amount(name="in hard water", value=less, unit=f"{product.unit}/l", note=note),)


def _next_tenth(dose: Dose, air: float | None) -> tuple[Amount, ...]:
    """How much more moves the pH on by a tenth: how steep it is just there."""
    from trayward.science.solution_dose import HIGHEST_TARGET, LOWEST_TARGET, dose_to_ph

    product = dose.product
    on = float(dose.ph) + (-0.1 if product.reagent.acid else 0.1)
    if not LOWEST_TARGET <= on <= HIGHEST_TARGET:
        return ()
    try:
        more = float(dose_to_ph(dose.solution, product, on, co2_atm=air, air_atm=air).amount)
    except InputError:
        return ()
    note = "with so little, it is steep: go by drops" if more < 0.05 * float(dose.amount) else ""
    return (Amount(name=f"on to pH {on:.1f}", value=more, unit=f"{product.unit}/l", note=note),)


def _curve(water: FarmWater, product: Product, dose: Dose, air: float | None) -> Grid:
    from trayward.science.solution_dose import titration

    amounts, ph = titration(solution_of(water), product, float(dose.amount) * 1.5, points=7, co2_atm=air)
    rows = tuple((f"{amount:.3g}", f"{each:.2f}") for amount, each in zip(amounts, ph, strict=True))
    return Grid(title="How the pH goes", columns=(f"{product.unit} for each litre", "pH"), rows=rows)


def dose_steps(product: Product, in_all: float) -> tuple[str, ...]:
    """What to do with a dose, in order."""
    if in_all == 0:
        return ("Leave the water as it is.",)
    first = f"{ROUGH_SHARE * in_all:.3g} {product.unit}"
    word = "acid" if product.reagent.acid else "base"
    return (
        "Put on goggles and gloves. Measure the water first; stir in the feed.",
        f"Stir in {first} of the {word}, about three quarters. Wait a minute, measure the pH.",
        "Add the rest a little at a time, measuring after each.",
        "Write down pH and how much went in: next time begin with that.",
    )


def _oddities(water: FarmWater, dose: Dose) -> tuple[Finding, ...]:
    found = []
    limits = {"phosphorus": MUCH_PHOSPHORUS, "nitrogen": MUCH_NITROGEN, "sulfur": MUCH_SULFUR}
    for name, most in limits.items():
        added = float(dose.nutrients.get(name, 0.0))
        if added > most:
            message = f"{name} from the acid = {added:.0f} mg/l: more than {most:g} mg/l upsets a feed."
            remedy = "Take citric acid, mix acids, or blend the water with reverse-osmosis water first."
            found.append(Finding(code="acid-nutrient", severity="odd", message=message, remedy=remedy))
    if float(dose.buffer) < THIN_MEQ and float(dose.amount) > 0:
        message = f"buffering left = {float(dose.buffer):.2g} meq/l: next to nothing holds the pH where it is."
        remedy = "A drop too much overshoots far: go by the meter, or aim at the pH right after mixing."
        found.append(Finding(code="buffer-thin", severity="odd", message=message, remedy=remedy))
    if water.alkalinity_meq > 5:
        caco3 = water.alkalinity_meq * CACO3_MG_PER_MEQ
        message = f"alkalinity = {caco3:.0f} mg/l: hard to hold at a pH with acid alone."
        remedy = "Blend with rain or reverse-osmosis water: trayward bench water blend."
        found.append(Finding(code="alkalinity-high", severity="odd", message=message, remedy=remedy))
    return tuple(found)


def blend_sheet(
    tap: FarmWater,
    other: FarmWater,
    total_ml: float,
    *,
    tap_share: float | None = None,
    target_meq: float | None = None,
) -> Sheet:
    """
    Two waters in one tank: by shares, or to an alkalinity.

    Parameters
    ----------
    tap, other : FarmWater
        Both waters, say tap and reverse osmosis.
    total_ml : float
        Wanted in all. [ml] Valid above 0.
    tap_share : float or None
        How much of it is tap water. [-] Valid from 0 to 1.
    target_meq : float or None
        Or the alkalinity wanted. [meq/l]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If neither or both of share and alkalinity are said, or a value is out of range.
    """
    from trayward.science.solution import OUTDOOR_CO2_ATM, alkalinity_left, settle
    from trayward.science.solution_feed import blend, counted_mg, share_for_alkalinity

    if not 0 < total_ml < float("inf"):
        raise InputError("water", f"{total_ml:g}", "must be above zero", "Say how much is mixed.", "ml")
    if (tap_share is None) == (target_meq is None):
        rule = "must be said either as a share or as an alkalinity"
        raise InputError("blend", "both" if tap_share is not None else "nothing", rule, "Say one of the two.")
    share = (
        share_for_alkalinity(tap.alkalinity_meq, other.alkalinity_meq, target_meq)
        if target_meq is not None
        else float(tap_share or 0.0)
    )
    mixed = blend(solution_of(tap), solution_of(other), share)
    rest, stood = settle(mixed), settle(mixed, co2_atm=OUTDOOR_CO2_ATM)
    ions = {name: float(mg) for name, mg in counted_mg(mixed).items() if float(mg) > 0.05}
    return Sheet(
        bench="water",
        task="blend",
        title="Two waters in one tank",
        given=(*_of("tap", tap), *_of("other", other), Amount(name="in all", value=total_ml, unit="ml", kind="volume")),
        found=(
            Amount(name="tap water", value=share * total_ml, unit="ml", kind="volume", note=f"{100 * share:.0f} %"),
            Amount(name="other water", value=(1 - share) * total_ml, unit="ml", kind="volume"),
            Amount(
                name="alkalinity",
                value=float(alkalinity_left(rest)) * CACO3_MG_PER_MEQ,
                unit="mg/l",
                note=f"as calcium carbonate; {float(alkalinity_left(rest)):.2f} meq/l",
            ),
            Amount(name="pH", value=round(float(rest.ph), 2), note=f"{float(stood.ph):.2f} once it has stood open"),
            *_blended_ec(tap, other, share),
            *(Amount(name=name, value=mg, unit="mg/l") for name, mg in ions.items()),
        ),
        holds=("EC is taken to add up by volume: good to a few per cent.", *CHEMISTRY),
        sources=SOURCES[:3],
    )


def _of(name: str, water: FarmWater) -> tuple[Amount, ...]:
    return tuple(
        Amount(name=f"{name}: {each.name}", value=each.value, unit=each.unit, kind=each.kind, note=each.note)
        for each in water_amounts(water)
    )


def _blended_ec(tap: FarmWater, other: FarmWater, share: float) -> tuple[Amount, ...]:
    if not tap.ec_ds_m:
        return ()
    ec = share * tap.ec_ds_m + (1 - share) * other.ec_ds_m
    return (Amount(name="EC", value=ec, unit="dS/m", note="" if other.ec_ds_m else "the other water counted as none"),)
