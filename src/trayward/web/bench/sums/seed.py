"""The sums of the seed bench: grams, density, spoons, weight, mesh, soak, age, need, germination, test, spread."""

from __future__ import annotations

from typing import Any

from trayward.bench import typed as people
from trayward.errors import InputError
from trayward.units import parse_mass, parse_share, parse_temperature, parse_volume
from trayward.web.bench.sums import seed_words
from trayward.web.bench.sums.declared import (
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Given,
    answered,
    argument,
    option,
    units_of,
    whole,
)
from trayward.web.bench.sums.seed_words import BULK, TRAY, of_seed

ANSWERS = (
    ("grams", "Seed to weigh out for a density on a tray."),
    ("density", "Live seeds per square centimetre that a weight gives."),
    ("spoons", "Grams in spoons, spoons in grams, seeds in both."),
    ("weight", "What a thousand seeds weigh, counted and weighed."),
    ("mesh", "What falls through a mesh."),
    ("soak", "Hours and water to soak in."),
    ("age", "What is left of seed after some years."),
    ("need", "Seed to buy for the coming weeks."),
    ("germination", "What a germination test by days says."),
    ("test", "How sure a seed test is, and how many seeds a surer one takes."),
    ("spread", "How evenly seed or water is spread."),
)


seed = Bench("seed", "Seed on the scale, in the spoon, on the tray, in water, in store; germination tests.", ANSWERS)


@seed.add("grams", example='trayward bench seed grams broccoli --density 4.4 --sprouted "43 of 50"')
@argument("crop")
@option("--density", required=True, metavar="SEEDS", help='Live seeds wanted. Example: "4.4 /cm2".')
@TRAY
@of_seed
@BULK
@US_OPTION
def grams(given: Given, crop: str, density: str, tray: str | None, us: bool | None, **said: Any) -> Answer:
    """Seed of a CROP to weigh out for a tray, with how sure the density is."""
    from trayward.bench.seed import grams_sheet

    units = units_of(given, us)
    facts, found = seed_words.meant(given, crop, said, units)
    where = seed_words.tray_meant(given, crop, tray, units)
    return answered(grams_sheet(facts, found, seed_words.density(density), where), units)


@seed.add("density", example='trayward bench seed density broccoli "20 g" --germination "92 %"')
@argument("crop")
@argument("amount")
@TRAY
@of_seed
@BULK
@US_OPTION
def density(given: Given, crop: str, amount: str, tray: str | None, us: bool | None, **said: Any) -> Answer:
    """Live seeds on a square centimetre that an AMOUNT of a CROP's seed gives: "20 g", "2 tbsp"."""
    from trayward.bench.seed import density_sheet

    units = units_of(given, us)
    facts, found = seed_words.meant(given, crop, said, units)
    weight = parse_mass(amount, density_g_per_ml=found.bulk, default=units.mass, name="seed")
    where = seed_words.tray_meant(given, crop, tray, units)
    return answered(density_sheet(facts, found, weight, where), units)


@seed.add("spoons", example='trayward bench seed spoons broccoli "2 tbsp"')
@argument("crop")
@argument("amount")
@of_seed
@BULK
@US_OPTION
def spoons(given: Given, crop: str, amount: str, us: bool | None, **said: Any) -> Answer:
    """An AMOUNT of a CROP's seed on the scale and in the spoon: "20 g", "2 tbsp", "1/4 cup"."""
    from trayward.bench.seed import spoons_sheet

    units = units_of(given, us)
    _, found = seed_words.meant(given, crop, said, units)
    if amount.strip().lower().endswith(("spoon", "spoons")) and not seed_words.is_volume(amount):
        raise InputError("seed", amount, "must say which spoon", 'For instance "2 tbsp", "1 tsp" or "20 g".')
    if seed_words.is_volume(amount):
        sheet = spoons_sheet(found, ml=parse_volume(amount, default=units.volume, name="seed"))
    else:
        sheet = spoons_sheet(found, grams=parse_mass(amount, default=units.mass, name="seed"))
    return answered(sheet, units)


@seed.add("weight", example='trayward bench seed weight 100 "0.31 g" "0.32 g" "0.33 g"')
@argument("count", type=whole(1))
@argument("samples", nargs=-1, required=True)
@US_OPTION
def weight(given: Given, count: int, samples: tuple[str, ...], us: bool | None) -> Answer:
    """What a thousand seeds weigh: COUNT seeds in each of the weighed SAMPLES."""
    from trayward.bench.seed_counts import weight_sheet

    units = units_of(given, us)
    return answered(weight_sheet(count, [people.mass(text, units, name="sample") for text in samples]), units)


@seed.add("mesh", example='trayward bench seed mesh amaranth "1 mm"')
@argument("crop")
@argument("opening")
@option("--round", "round_holes", is_flag=True, help="Round holes, the opening their diameter. Example: --round.")
@option("--width", metavar="LENGTH", help='Width of the seed, its middle measure. Example: "1.6 mm".')
@option("--differs", metavar="LENGTH", help='Standard deviation of the width. Example: "0.15 mm".')
@option("--thickness", metavar="LENGTH", help='Its smallest measure. Example: "0.9 mm".')
@option("--beside", multiple=True, metavar="OPENING", help='Another opening beside it. Example: "0.8 mm".')
@option("--grams", metavar="WEIGHT", help='Seed on a tray, to see what is lost. Example: "8 g".')
@US_OPTION
def mesh(
    given: Given,
    crop: str,
    opening: str,
    round_holes: bool,
    width: str | None,
    differs: str | None,
    thickness: str | None,
    beside: tuple[str, ...],
    grams: str | None,
    us: bool | None,
) -> Answer:
    """What share of a CROP's dry seed falls through an OPENING: "1 mm", "No. 18", "1/32 in"."""
    from trayward.bench.seed_mesh import mesh_sheet

    units = units_of(given, us)
    facts = seed_words.facts_named(given, crop)
    sheet = mesh_sheet(
        crop,
        seed_words.size_meant(facts, width, differs, thickness),
        seed_words.opening(opening),
        square=not round_holes,
        others_mm=[seed_words.opening(each) for each in beside],
        grams=people.maybe(people.mass, grams, units),
        gels=facts.text("mucilaginous") == "yes",
    )
    return answered(sheet, units)


@seed.add("soak", example='trayward bench seed soak pea "150 g"')
@argument("crop")
@argument("amount")
@BULK
@US_OPTION
def soak(given: Given, crop: str, amount: str, us: bool | None, **said: Any) -> Answer:
    """Hours and water to soak an AMOUNT of a CROP's seed in."""
    from trayward.bench.seed_keep import soak_sheet

    units = units_of(given, us)
    facts, found = seed_words.meant(given, crop, said, units)
    return answered(soak_sheet(facts, found, people.mass(amount, units, density=found.bulk, name="seed")), units)


@seed.add("age", example='trayward bench seed age onion 2 --kept "21 C" --humidity "60 %"')
@argument("crop")
@argument("years", type=NUMBER)
@option("--kept", metavar="TEMPERATURE", help='Where it is kept; 15 C if left out. Example: "21 C".')
@option("--humidity", metavar="SHARE", help='Of the air there; 40 % if left out. Example: "60 %".')
@of_seed
@US_OPTION
def age(
    given: Given, crop: str, years: float, kept: str | None, humidity: str | None, us: bool | None, **said: Any
) -> Answer:
    """What is left of a CROP's seed after YEARS in store, and what a better store would keep."""
    from trayward.bench.seed_keep import age_sheet
    from trayward.science.seed_life import COOL_DRY_ROOM, Store

    units = units_of(given, us)
    facts, found = seed_words.meant(given, crop, said, units)
    store = Store(
        temp_c=parse_temperature(kept, default=units.temperature, name="kept") if kept else COOL_DRY_ROOM.temp_c,
        rh_pct=100 * parse_share(humidity, name="humidity") if humidity else COOL_DRY_ROOM.rh_pct,
    )
    return answered(age_sheet(facts, found, years, store), units)


@seed.add("need", example='trayward bench seed need broccoli --trays 6 --grams "20 g" --weeks 4')
@argument("crop", required=False)
@option("--trays", type=NUMBER, metavar="TRAYS", help="Trays of it a week. Example: 6.")
@option("--grams", metavar="WEIGHT", help='Seed for one tray. Example: "20 g".')
@option("--weeks", type=whole(1, 26), default=4, metavar="WEEKS", help="For how long. Example: 4.")
@option("--have", metavar="WEIGHT", help='What is in stock. Example: "310 g".')
@option("--spare", default="10 %", metavar="SHARE", help='Kept over. Example: "10 %".')
@US_OPTION
def need(
    given: Given,
    crop: str | None,
    trays: float | None,
    grams: str | None,
    weeks: int,
    have: str | None,
    spare: str,
    us: bool | None,
) -> Answer:
    """Seed to buy for the coming weeks: of a CROP by trays a week; in a farm, without them, by its plan."""
    from trayward.bench.seed_keep import need_sheet

    units, over = units_of(given, us), parse_share(spare, name="spare")
    span = f"the next {weeks} weeks" if weeks > 1 else "the next week"
    if trays is None and given.has_farm:
        from trayward.web.bench.sums.seed_wanted import wanted_by_plan

        sheet = need_sheet(wanted_by_plan(given, crop, weeks), over, span, "by the farm's plan", units.mass)
    else:
        from trayward.web.bench.sums.seed_wanted import wanted_by_week

        if crop is None or trays is None:
            rule = "say the crop and --trays a week; there is no farm here whose plan could be asked"
            raise InputError(
                "need", "nothing to work out", rule, 'For instance: need broccoli --trays 6 --grams "20 g".'
            )
        row = wanted_by_week(given, crop, trays, weeks, grams, have, units)
        sheet = need_sheet([row], over, span, f"{trays:g} trays a week", units.mass)
    return answered(sheet, units)


@seed.add("germination", example="trayward bench seed germination --seeds 50 5:4 6:17 7:10 8:7 9:1 11:1")
@argument("counts", nargs=-1, required=True)
@option("--seeds", type=whole(1), required=True, metavar="SEEDS", help="Seeds in the test. Example: 50.")
@US_OPTION
def germination(given: Given, counts: tuple[str, ...], seeds: int, us: bool | None) -> Answer:
    """What a test by days says: COUNTS are DAY:SEEDS, the seeds newly sprouted at each look."""
    from trayward.bench.seed_counts import germination_sheet

    days, fresh = seed_words.by_day(counts)
    return answered(germination_sheet(days, fresh, seeds), units_of(given, us))


@seed.add("test", example='trayward bench seed test "43 of 50"')
@argument("sprouted", required=False)
@option("--repeats", metavar="COUNTS", help='Of 2 or 4 repeats of 100 seeds. Example: "97 88 90 85".')
@US_OPTION
def test(given: Given, sprouted: str | None, repeats: str | None, us: bool | None) -> Answer:
    """How sure a test is: how many SPROUTED of how many; or --repeats of 100, and whether they agree."""
    from trayward.bench.seed_counts import sprouted_sheet

    each = seed_words.numbers([repeats], "repeat") if repeats else []
    if sprouted is None and not each:
        raise InputError("test", "nothing", "say how many of how many, or --repeats", 'For instance "43 of 50".')
    some, whole_ = people.counted(sprouted) if sprouted else (round(sum(each)), 100 * len(each))
    return answered(sprouted_sheet(some, whole_, each), units_of(given, us))


@seed.add("spread", example="trayward bench seed spread 9 10 11 10 8 12 10 10")
@argument("counts", nargs=-1, required=True)
@US_OPTION
def spread(given: Given, counts: tuple[str, ...], us: bool | None) -> Answer:
    """How evenly it is spread: COUNTS of seed, or water caught, in cells of one size."""
    from trayward.bench.seed_counts import spread_sheet

    return answered(spread_sheet(seed_words.numbers(counts, "count")), units_of(given, us))
