"""Seed in water, in store and on order: soaking, age, and what the coming weeks need."""

from __future__ import annotations

from collections.abc import Sequence

import msgspec

from trayward.bench.seed import EATEN
from trayward.bench.seed_facts import SeedFacts, source_keys_of
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding
from trayward.farm.crops import CropFacts
from trayward.science.either import require_each
from trayward.science.seed_life import COOL_DRY_ROOM, Store, storage_life, store_factor, stores_well
from trayward.science.seeds import volume_of_grams
from trayward.science.viability import LiveShare, aged
from trayward.units import show_mass

WATER_TIMES = 3.0
"""Water to soak in, as a multiple of the seed's own volume: common practice, no source. [-]"""
ML_PER_G = 5.0
"""Water where the seed's volume is not known: three times what light seed fills, our choice. [ml/g]"""
SOAK_CAUTION = (
    "Wet warm seed is where germs grow: clean jar, water fit to drink, cool place, and pour the soak water away.",
)


def soak_sheet(facts: CropFacts, seed: SeedFacts, grams: float) -> Sheet:
    """
    How long to soak seed and in how much water.

    Parameters
    ----------
    facts : CropFacts
        Its hours of soaking.
    seed : SeedFacts
        Its bulk density, for the water.
    grams : float
        Dry seed. [g] Valid above 0.

    Returns
    -------
    Sheet
    """
    require_each("grams", grams, 0, float("inf"), "g", "Say how much dry seed.", above=True)
    low, high = facts.number("soak_h_low"), facts.number("soak_h_high")
    dry = high == 0
    water = WATER_TIMES * volume_of_grams(grams, seed.bulk) if seed.bulk is not None else ML_PER_G * grams
    rests = "3 times the seed's volume" if seed.bulk is not None else "5 ml a gram, its volume is not known"
    return Sheet(
        bench="seed",
        task="soak",
        title=f"Soaking {seed.crop} seed.",
        given=(
            Amount(name="crop", value=seed.crop),
            Amount(name="dry seed", value=grams, unit="g", kind="mass"),
        ),
        found=(_hours(low, high), *(() if dry else _jar(water, rests))),
        steps=() if dry else _soak_steps(low, high),
        holds=(
            "In ten species soaking lowered the yield wherever it did anything: try one tray dry beside a soaked one."
            if not dry
            else "Sown dry by what is on record.",
            "The amount of water is common practice, no source: seed must stay covered when it has swollen.",
        ),
        cautions=(*SOAK_CAUTION, *EATEN),
        sources=_soak_sources(facts),
    )


def _hours(low: float | None, high: float | None) -> Amount:
    if low is None or high is None:
        return Amount(name="soak", value="not on record", note="try a few hours on one tray, and dry on another")
    if high == 0:
        return Amount(name="soak", value="no, sow it dry")
    middle = (low + high) / 2 * 60
    note = f"{low:g} to {high:g} h are in print" if high > low else "the one figure on record"
    return Amount(name="soak", value=middle, unit="min", kind="minutes", note=note)


def _jar(water: float, rests: str) -> tuple[Amount, ...]:
    return (
        Amount(name="water", value=water, unit="ml", kind="volume", note=f"{rests}: common practice"),
        Amount(name="jar of at least", value=water * 5 / 3, unit="ml", kind="volume", note="seed and water, and room"),
    )


def _soak_steps(low: float | None, high: float | None) -> tuple[str, ...]:
    time = f"{low:g} to {high:g} h" if low is not None and high is not None else "the time you try"
    return (
        "Rinse the seed in a sieve.",
        f"Cover it with cool water for {time}; past 12 h change the water.",
        "Drain it, rinse once more, sow at once.",
    )


def _soak_sources(facts: CropFacts) -> tuple[str, ...]:
    fact = facts.facts.get("soak_h_high")
    return tuple(dict.fromkeys((*(source_keys_of(fact.source) if fact else ()), "li2021a", "practice")))


def age_sheet(facts: CropFacts, seed: SeedFacts, years: float, store: Store = COOL_DRY_ROOM) -> Sheet:
    """
    What is left of seed after some years in store.

    Parameters
    ----------
    facts : CropFacts
        Its family, for how long it keeps.
    seed : SeedFacts
        What sprouted when it was new.
    years : float
        Time in store. [a] Valid 0 to 30.
    store : Store
        Where it is kept: temperature and air humidity.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the time or the store is out of range.
    """
    require_each("years", years, 0, 30, "years", "Test how it sprouts instead.")
    life, basis = storage_life(facts.crop, facts.family)
    factor = store_factor(store)
    now = aged(seed.live, years, life, store)
    odd = () if stores_well(store.temp_c, store.rh_pct) else (_damp(store),)
    new = msgspec.structs.replace(seed.live_amount(), name="sprouts at the start")
    return Sheet(
        bench="seed",
        task="age",
        title=f"{seed.crop.capitalize()} seed after {_years(years)} in store.",
        given=(
            Amount(name="crop", value=seed.crop),
            new,
            Amount(name="in store", value=_years(years)),
            Amount(name="kept at", value=store.temp_c, unit="C", kind="temperature"),
            Amount(name="air humidity", value=store.rh_pct / 100, unit="-", kind="share"),
        ),
        found=(
            *_left(seed.live, now),
            _keeps(life * factor, f"{_years(life)} in a cool dry room, by {basis}"),
            Amount(name="keeps so many times as long as there", value=factor),
        ),
        grids=(_ages(seed, life, store),),
        findings=odd,
        holds=(
            "Rules of thumb: each 10 F (5.6 °C) cooler, and each point of seed moisture drier, doubles its life; from "
            "0 to 50 °C and 5 to 14 % moisture. Ten points of air humidity are taken as one of moisture.",
            "It keeps so long is read as 90 % coming to 61 %: our choice. A test of 50 seeds tells more.",
        ),
        cautions=EATEN,
        sources=("justice_bass1978", "knott1997", "practice"),
    )


def _years(years: float) -> str:
    return f"{years:g} year{'' if years == 1 else 's'}"


HARDLY = 0.02
"""Below this share nobody sows seed: our choice. [-]"""


def _left(new: LiveShare, now: LiveShare) -> tuple[Amount, ...]:
    if now.mean < HARDLY:
        return (Amount(name="sprouts now", value="hardly any", note="buy new seed, or test a hundred"),)
    more = new.mean / now.mean
    return (
        Amount(name="sprouts now", value=now.mean, unit="-", kind="share", low=now.low, high=now.high),
        Amount(name="sow so many times as much", value=more, note="for the same live seeds"),
    )


def _keeps(years: float, note: str) -> Amount:
    if years < 1:
        return Amount(name="keeps here", value=12 * years, unit="months", note=note)
    return Amount(name="keeps here", value=years, unit="years", note=note)


def _ages(seed: SeedFacts, life: float, store: Store) -> Grid:
    stores = {"here": store, "cool dry room": COOL_DRY_ROOM, "fridge, dry jar": Store(temp_c=5.0, rh_pct=30.0)}
    rows = tuple(
        (name, *(f"{100 * aged(seed.live, float(year), life, where).mean:.0f} %" for year in _YEARS))
        for name, where in stores.items()
    )
    return Grid(title="Sprouts after", columns=("Kept", *(f"{year} y" for year in _YEARS)), rows=rows)


_YEARS = (0, 1, 2, 3, 4, 5)


def _damp(store: Store) -> Finding:
    total = f"degrees F and per cent add up to {store.temp_c * 1.8 + 32 + store.rh_pct:.0f}, over 100"
    return Finding(
        code="seed-store-damp",
        severity="odd",
        message=f"store = {store.temp_c:g} °C and {store.rh_pct:g} %: {total}.",
        remedy="Keep it cooler or drier: a closed jar with a drying agent, in a fridge.",
    )


class SeedWanted(msgspec.Struct, frozen=True, kw_only=True):
    """
    What the coming weeks want of one crop's seed.

    `wanted_g` [g]; `trays` sown; `here_g` in stock and `coming_g` on order [g]; `runs_out` in words: when what is here
    does not reach, "" where it does.
    """

    crop: str
    trays: int
    wanted_g: float
    here_g: float = 0.0
    coming_g: float = 0.0
    runs_out: str = ""


def need_sheet(wanted: Sequence[SeedWanted], spare: float, span: str, basis: str, mass_unit: str = "g") -> Sheet:
    """
    Seed to buy for the coming weeks.

    Parameters
    ----------
    wanted : sequence of SeedWanted
        A row a crop.
    spare : float
        Kept over, as a share of what is wanted. [-] Valid 0 to 2.
    span : str
        Which weeks, in words.
    basis : str
        Where the trays come from, in words.
    mass_unit : str
        What the table shows weights in: `g` or `oz`.

    Returns
    -------
    Sheet
    """
    require_each("spare", spare, 0, 2, "", "Give 0.1 for 10 % over.")
    rows = [(one, max(one.wanted_g * (1 + spare) - one.here_g - one.coming_g, 0.0)) for one in wanted]
    short = [(one, buy) for one, buy in rows if buy > 0]
    return Sheet(
        bench="seed",
        task="need",
        title=f"Seed for {span}.",
        given=(
            Amount(name="trays", value=sum(one.trays for one in wanted), note=basis),
            Amount(name="kept over", value=spare, unit="-", kind="share"),
        ),
        found=tuple(
            Amount(name=f"buy {one.crop}", value=buy, unit="g", kind="mass", note=one.runs_out) for one, buy in short
        )
        or (Amount(name="to buy", value="nothing", note="what is here and on order is enough"),),
        grids=(_need_grid(rows, mass_unit),),
        holds=("Seed loses a little strength in store: buy for weeks, not for years.",),
        cautions=EATEN,
        sources=("practice",),
    )


def _need_grid(rows: Sequence[tuple[SeedWanted, float]], unit: str) -> Grid:
    return Grid(
        title="By crop",
        columns=("Crop", "Trays", "Wanted", "Here", "On order", "To buy"),
        rows=tuple(
            (
                one.crop,
                str(one.trays),
                *(_to_buy(grams, unit) for grams in (one.wanted_g, one.here_g, one.coming_g, buy)),
            )
            for one, buy in rows
        ),
    )


def _to_buy(grams: float, unit: str) -> str:
    """Whole grams: nobody buys seed nearer."""
    return f"{grams:.0f} g" if unit == "g" else show_mass(grams, unit)
