"""How much seed a tray takes: from live seeds per cm2, the lot's own figures and the tray's real area."""

from __future__ import annotations

from datetime import datetime

import msgspec

from trayward.farm.crops import CropFacts
from trayward.farm.live_seed import live_seed, ordinary_live_share
from trayward.farm.recipes import Recipe
from trayward.farm.state import SeedLot
from trayward.science.seeds import grams_for_density, seeds_in_grams, volume_of_grams
from trayward.units import ML_PER_TABLESPOON


class SeedAmount(msgspec.Struct, frozen=True, kw_only=True):
    """What to weigh out for one tray.

    grams [g], ml [ml], tablespoons (US) and seeds [-] are None where a blank makes them impossible. `basis` says in
    words what the figure rests on; `missing` what to ask the grower.
    """

    grams: float | None = None
    ml: float | None = None
    tablespoons: float | None = None
    seeds: float | None = None
    basis: str = ""
    missing: tuple[str, ...] = ()


def bulk_density(facts: CropFacts) -> float | None:
    """Bulk density of the crop's seed: the typical figure, else the middle of low and high, else None. [g/ml]"""
    typical = facts.number("bulk_density_g_per_ml")
    low, high = facts.number("bulk_density_g_per_ml_low"), facts.number("bulk_density_g_per_ml_high")
    if typical is None and low is not None and high is not None:
        return (low + high) / 2
    return typical


def live_density(
    grams: float, recipe: Recipe, facts: CropFacts, lot: SeedLot | None, at: datetime | None = None
) -> float | None:
    """
    Live seeds per cm2 that a weighed amount gives on the recipe's tray.

    Parameters
    ----------
    grams : float
        Seed on one tray. [g] Valid from 0.
    recipe, facts, lot, at
        The recipe, what is known of its crop, the lot used, and when; see `farm.live_seed` for the last.

    Returns
    -------
    float or None
        Live seeds [1/cm2]; None where the seed weight is blank or the lot's germination is not known.
    """
    tsw, _, _ = _seed_weight(facts, lot)
    if tsw is None or lot is None or lot.live_share is None:
        return None
    share = live_seed(lot, facts, at)
    return seeds_in_grams(grams, tsw) * share.mean / recipe.tray.area_cm2 if share is not None else None


def seed_for_tray(recipe: Recipe, facts: CropFacts, lot: SeedLot | None, at: datetime | None = None) -> SeedAmount:
    """
    Seed to weigh out for one tray of a recipe.

    Parameters
    ----------
    recipe : Recipe
        Its density and tray size count.
    facts : CropFacts
        What the library and the farm say of the crop.
    lot : SeedLot or None
        The lot to sow from; its own seed weight, label and tests go before the crop's. None: not chosen yet.
    at : datetime or None
        When it is sown: seed ages in store. None: as when it was last looked at.

    Returns
    -------
    SeedAmount
        Grams, and volume where the bulk density is known; they rest on the mean share of live seed. Without the lot's
        germination the grams rest on an ordinary lot where there is a sourced figure, and `missing` still asks for the
        lot's own.
    """
    tsw, tsw_basis, missing = _seed_weight(facts, lot)
    share, share_basis, share_missing = _live_share(facts, lot, at)
    missing += share_missing
    if tsw is None or share is None or share <= 0:
        return SeedAmount(missing=missing, basis="no amount without " + " and ".join(missing))
    grams = grams_for_density(recipe.live_seeds_per_cm2, recipe.tray.area_cm2, tsw, share)
    density = bulk_density(facts)
    ml = volume_of_grams(grams, density) if density is not None else None
    return SeedAmount(
        grams=grams,
        ml=ml,
        tablespoons=ml / ML_PER_TABLESPOON if ml is not None else None,
        seeds=seeds_in_grams(grams, tsw),
        basis=f"{recipe.live_seeds_per_cm2:.2g} live seeds per cm2 on {recipe.tray.area_cm2:.0f} cm2; "
        f"{tsw_basis}; {share_basis}",
        missing=missing,
    )


def missing_for_tray(facts: CropFacts, lot: SeedLot | None) -> tuple[str, ...]:
    """What `seed_for_tray` would say is missing, without working the amount out."""
    return (*_seed_weight(facts, lot)[2], *_germination_missing(facts, lot))


def _seed_weight(facts: CropFacts, lot: SeedLot | None) -> tuple[float | None, str, tuple[str, ...]]:
    if lot is not None and lot.tsw_g is not None:
        return lot.tsw_g, f"1000 seeds of lot {lot.lot} weigh {lot.tsw_g:.3g} g", ()
    typical = facts.number("tsw_g_typ")
    if typical is None:
        return None, "", (f"the weight of 1000 seeds of {facts.crop}",)
    said_by = "this farm" if facts.facts["tsw_g_typ"].trust == "farm" else "the library"
    return typical, f"1000 seeds weigh {typical:.3g} g by {said_by}", ()


def _live_share(
    facts: CropFacts, lot: SeedLot | None, at: datetime | None
) -> tuple[float | None, str, tuple[str, ...]]:
    missing = _germination_missing(facts, lot)
    if lot is not None and lot.tested and not lot.sprouted:
        return None, "", missing
    if lot is not None and not missing:
        share = live_seed(lot, facts, at)
        assert share is not None, "a label or a test says something"
        return share.mean, f"{share.mean * 100:.0f} % of lot {lot.lot} sprout, {share.basis}", ()
    ordinary = ordinary_live_share(facts)
    if ordinary is None:
        return None, "", missing
    return ordinary, f"an ordinary lot is assumed, of which {ordinary * 100:.0f} % sprout", missing


def _germination_missing(facts: CropFacts, lot: SeedLot | None) -> tuple[str, ...]:
    if lot is None:
        return (f"the germination of the {facts.crop} seed",)
    if lot.tested and not lot.sprouted:
        return (f"another lot: no seed of lot {lot.lot} sprouts",)
    return () if lot.live_share is not None else (f"the germination of lot {lot.lot}",)
