"""Seed on the scale, in the spoon and on the tray: grams for a density, the density grams give, grams and spoons."""

from __future__ import annotations

from trayward.bench.seed_facts import FILL_IT, SeedFacts, source_keys_of, tray_amount
from trayward.bench.types import Amount, Sheet
from trayward.errors import Finding, InputError
from trayward.farm.crops import CropFacts
from trayward.farm.recipes import TraySize
from trayward.library.recipes import sowing_grams
from trayward.science.seeds import density_of_grams, grams_for_density, grams_of_volume, seeds_in_grams, volume_of_grams
from trayward.units import show_number, show_volume

EATEN = (
    "Sow untreated seed sold for eating fresh: a coat against pests or moulds can reach who eats it.",
    "Food rules differ from place to place: local codes go before this sheet.",
)
DENSE, SMALL_TSW = 12.0, 1.5
"""Seed heavier than that (of a thousand), denser than that, often rots: common practice, no source. [1/cm2], [g]"""
HOLDS_LOT = (
    "A range says where 8 in 10 lots like it lie: how sure the share that sprouts and the seed weight are. How evenly "
    "it is spread is not in it."
)
FEW_LIVE = 0.5
"""Seed of which fewer sprout is better not sown thicker: common practice, no source. [-]"""
HOLDS_CLUSTER = "Beet and chard seed are clusters: one may give two or three plants."


def grams_sheet(facts: CropFacts, seed: SeedFacts, live_seeds_per_cm2: float, tray: TraySize) -> Sheet:
    """
    Seed to weigh out for a tray of a wanted density.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop, for what is published beside it.
    seed : SeedFacts
        The lot's or crop's figures.
    live_seeds_per_cm2 : float
        Live seeds wanted. [1/cm2]
    tray : TraySize
        Its growing area counts.

    Returns
    -------
    Sheet
        The grams rest on the mean share that sprouts; beside them stands what density they may really give.

    Raises
    ------
    InputError
        If the seed weight is not known or a value is out of range.
    """
    tsw, area = seed.thousand(), tray.area_cm2
    grams = grams_for_density(live_seeds_per_cm2, area, tsw, seed.live.mean)
    low, high = seed.live_range(live_seeds_per_cm2)
    wanted = Amount(name="live seeds wanted", value=live_seeds_per_cm2, unit="/cm2", note=_per_inch(live_seeds_per_cm2))
    return Sheet(
        bench="seed",
        task="grams",
        title=f"How much {seed.crop} seed to weigh out for a tray.",
        given=(_crop(seed), wanted, tray_amount(tray), seed.tsw_amount(), seed.live_amount()),
        found=(
            Amount(name="seed for a tray", value=grams, unit="g", kind="mass"),
            *_spoons(seed, grams),
            _to_be_sure(grams, live_seeds_per_cm2, low),
            Amount(name="live seeds it may give", value=live_seeds_per_cm2, unit="/cm2", low=low, high=high),
            Amount(name="all seeds on the tray", value=round(seeds_in_grams(grams, tsw))),
            Amount(name="seeds in a gram", value=1000 / tsw),
            *_published(facts, tray),
        ),
        findings=_odd(seed, live_seeds_per_cm2, grams, facts, tray),
        holds=_holds(seed),
        cautions=EATEN,
        sources=_sources(seed, facts),
    )


def _to_be_sure(grams: float, wanted: float, low: float) -> Amount:
    """What to weigh out where nine lots of ten like it are to reach the density."""
    sure = grams * wanted / low if low > 0 else grams
    return Amount(name="to reach it with 9 lots in 10", value=sure, unit="g", kind="mass", note="a test makes it less")


def density_sheet(facts: CropFacts, seed: SeedFacts, grams: float, tray: TraySize) -> Sheet:
    """Live seeds per cm2 that a weight of seed gives on a tray [g]; else as `grams_sheet`."""
    tsw, area = seed.thousand(), tray.area_cm2
    density = density_of_grams(grams, area, tsw, seed.live.mean)
    low, high = seed.live_range(density)
    return Sheet(
        bench="seed",
        task="density",
        title=f"How dense {seed.crop} seed lies on a tray.",
        given=(
            _crop(seed),
            Amount(name="seed on the tray", value=grams, unit="g", kind="mass"),
            tray_amount(tray),
            seed.tsw_amount(),
            seed.live_amount(),
        ),
        found=(
            Amount(name="live seeds", value=density, unit="/cm2", low=low, high=high, note=_per_inch(density)),
            Amount(name="all seeds", value=density_of_grams(grams, area, tsw), unit="/cm2"),
            Amount(name="all seeds on the tray", value=round(seeds_in_grams(grams, tsw))),
            *_spoons(seed, grams),
            *_published(facts, tray),
        ),
        findings=_odd(seed, density, grams, facts, tray),
        holds=_holds(seed),
        cautions=EATEN,
        sources=_sources(seed, facts),
    )


def spoons_sheet(seed: SeedFacts, *, grams: float | None = None, ml: float | None = None) -> Sheet:
    """
    A weight of seed in spoons and cups, or a volume of it on the scale.

    Parameters
    ----------
    seed : SeedFacts
        Its bulk density counts.
    grams, ml : float or None
        One of the two: a weight [g] or a volume [ml].

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the bulk density is not known, or neither or both are given.
    """
    if (grams is None) == (ml is None):
        raise InputError("amount", "unclear", "must be a weight or a volume", 'For instance "20 g" or "2 tbsp".')
    bulk = _bulk(seed)
    if grams is not None:
        given = Amount(name="weight", value=grams, unit="g", kind="mass")
        first: tuple[Amount, ...] = _spoons(seed, grams)
    else:
        asked = ml if ml is not None else 0.0
        grams = grams_of_volume(asked, bulk)
        given = Amount(name="volume", value=asked, unit="ml", kind="volume", note=_spoon_words(asked))
        first = (Amount(name="weight", value=grams, unit="g", kind="mass"),)
    seeds = () if seed.tsw_g is None else _counted(grams, seed.tsw_g)
    bulk_amount = Amount(name="a millilitre weighs", value=bulk, unit="g", note=seed.bulk_basis)
    return Sheet(
        bench="seed",
        task="spoons",
        title=f"{seed.crop.capitalize()} seed on the scale and in the spoon.",
        given=(_crop(seed), given, bulk_amount, *((seed.tsw_amount(),) if seed.tsw_g is not None else ())),
        found=(*first, *seeds),
        holds=("Level spoons, seed dry and not pressed; lots differ by some per cent. A scale is surer than a spoon.",),
        sources=(*seed.sources, "memory"),
    )


def _counted(grams: float, tsw_g: float) -> tuple[Amount, ...]:
    return (
        Amount(name="seeds", value=round(seeds_in_grams(grams, tsw_g))),
        Amount(name="seeds in a gram", value=1000 / tsw_g),
    )


def _bulk(seed: SeedFacts) -> float:
    if seed.bulk is None:
        raise InputError("bulk density", "blank", f"nobody said what a millilitre of {seed.crop} seed weighs", FILL_IT)
    return seed.bulk


def _crop(seed: SeedFacts) -> Amount:
    return Amount(name="crop", value=seed.crop)


def _per_inch(per_cm2: float) -> str:
    return f"{show_number(per_cm2 * 2.54**2, 3)} on a square inch"


def _spoons(seed: SeedFacts, grams: float) -> tuple[Amount, ...]:
    if seed.bulk is None:
        return ()
    ml = volume_of_grams(grams, seed.bulk)
    words = f"{_spoon_words(ml)}; {seed.bulk_basis}"
    return (Amount(name="in the spoon", value=ml, unit="ml", kind="volume", note=words),)


def _spoon_words(ml: float) -> str:
    return f"{show_volume(ml, 'cup')}, US"


def published_grams(facts: CropFacts, tray: TraySize) -> tuple[float, float, float] | None:
    """Lowest, usual and highest published grams for a tray this size; None where nothing is on record. [g]"""
    usual = sowing_grams(facts)
    if usual is None:
        return None
    low, high = facts.number("sow_g_per_1020_low"), facts.number("sow_g_per_1020_high")
    scale = tray.area_cm2 / TraySize().area_cm2
    return (low or usual) * scale, usual * scale, (high or usual) * scale


def _published(facts: CropFacts, tray: TraySize) -> tuple[Amount, ...]:
    known = published_grams(facts, tray)
    if known is None:
        return ()
    low, usual, high = known
    words = "for a tray this size" if high > low else "for a tray this size; the one figure on record"
    ends = (("least in print", low), ("most in print", high)) if high > low else ()
    return (
        Amount(name="commonly sown", value=usual, unit="g", kind="mass", note=words),
        *(Amount(name=name, value=grams, unit="g", kind="mass") for name, grams in ends),
    )


def _odd(
    seed: SeedFacts, density: float, grams: float, facts: CropFacts, tray: TraySize
) -> tuple[Finding, ...]:  # fmt: skip
    found = []
    if seed.live.mean < FEW_LIVE:
        found.append(
            Finding(
                code="sprouts-few",
                severity="odd",
                message=f"sprouts = {100 * seed.live.mean:.0f} %: what does not sprout lies on the mat and rots.",
                remedy="Test it again, and buy new seed rather than sow so much more of this.",
            )
        )
    if density > DENSE and seed.thousand() > SMALL_TSW:
        found.append(
            Finding(
                code="sown-dense",
                severity="odd",
                message=f"live seeds = {show_number(density, 3)} /cm2: "
                "crowded seed of this size often rots before it is cut.",
                remedy="Try less on one tray beside the usual, and weigh both.",
            )
        )
    known = published_grams(facts, tray)
    if known is not None and not known[0] / 2 <= grams <= known[2] * 2:
        far = f"far {'more' if grams > known[2] else 'less'} than is in print for this size"
        found.append(
            Finding(
                code="sown-unlike-print",
                severity="odd",
                message=f"seed for a tray = {show_number(grams, 3)} g: {far}, {known[0]:.3g} to {known[2]:.3g} g.",
                remedy="Check the density's unit, the tray's size and the weight of 1000 seeds.",
            )
        )
    return tuple(found)


def _holds(seed: SeedFacts) -> tuple[str, ...]:
    return (HOLDS_LOT, HOLDS_CLUSTER) if seed.crop in ("beet", "chard") else (HOLDS_LOT,)


def _sources(seed: SeedFacts, facts: CropFacts) -> tuple[str, ...]:
    fact = facts.facts.get("sow_g_per_1020_typ") or facts.facts.get("sow_g_per_1020_low")
    printed = source_keys_of(fact.source) if fact is not None else ()
    return tuple(dict.fromkeys((*seed.sources, *printed, "gelman2013")))
