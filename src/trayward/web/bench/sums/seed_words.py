"""What people type of seed, read: density, tray, amounts, counts by day; and the crop and lot they mean."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

from trayward.bench import typed as people
from trayward.bench.seed_facts import SIZE_SPREAD, SeedFacts, Size, Typed, seed_facts, seed_size
from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import CropFacts
from trayward.farm.recipes import TraySize
from trayward.farm.settings import ShownUnits
from trayward.units import parse_length
from trayward.web.bench.sums.declared import NUMBER, Given, option

if TYPE_CHECKING:
    from trayward.farm.state import SeedLot

Work = TypeVar("Work", bound=Callable[..., Any])
PER_SQUARE_INCH = 2.54**-2
PER_SQUARE_METRE = 1e-4
SMALLEST_SIDE = 30.0
"""Anything shorter is a slip of the unit: `10 x 20` in inches, read as millimetres. [mm]"""
_DENSITY = re.compile(
    r"\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?:/|per)?\s*(?P<unit>cm2|cm²|in2|in²|sq\s*in|sq\s*cm|m2|m²)?\s*", re.I
)

_OPTIONS = (
    option("--lot", metavar="LOT", help="Seed lot of the farm to go by. Example: B1."),
    option("--tsw", metavar="WEIGHT", help='Weight of a thousand seeds. Example: "3.2 g".'),
    option("--germination", metavar="SHARE", help='Share that sprouts, by the label. Example: "92 %".'),
    option("--sprouted", metavar="COUNT", help='How many of how many in a test. Example: "43 of 50".'),
)
BULK = option("--bulk", type=NUMBER, metavar="G/ML", help="What a millilitre of seed weighs. Example: 0.68.")
TRAY = option("--tray", metavar="SIZE", help='Inside of the tray; a nominal 1020 else. Example: "25 x 50 cm".')


def of_seed(work: Work) -> Work:
    """The options that say which seed: a lot, its weight, its label, one's own test."""
    for declare in reversed(_OPTIONS):
        work = declare(work)
    return work


def density(text: str) -> float:
    """
    Live seeds on an area: `10`, `10 /cm2`, `65 per in2`, `100000 /m2`; a bare number is on a square centimetre. [1/cm2]

    Examples
    --------
    >>> density("10"), round(density("65 per in2"), 2)
    (10.0, 10.08)
    """
    found = _DENSITY.fullmatch(text)
    if found is None:
        raise InputError("density", text, "it must be seeds on an area", 'For instance "10 /cm2" or "65 per in2".')
    unit = re.sub(r"\s+", "", (found["unit"] or "cm2").lower())
    number = float(found["number"].replace(",", "."))
    if not number > 0:
        raise InputError("density", text, "must be above 0", 'For instance "10 /cm2" or "65 per in2".')
    return number * (PER_SQUARE_METRE if unit.startswith("m") else PER_SQUARE_INCH if "in" in unit else 1.0)


def tray(text: str | None, units: ShownUnits) -> TraySize | None:
    """
    A tray's inside: `25 x 50 cm`, `10 x 20 in`, `1020` (nominal); None where nothing was typed.

    Examples
    --------
    >>> tray("50 x 25 cm", ShownUnits()).area_cm2
    1250.0
    """
    if text is None:
        return None
    if re.sub(r"[\s\"]", "", text.lower()) in ("1020", "1020tray"):
        return TraySize()
    sides = re.split(r"\s*(?:x|×|by)\s*", text.strip(), flags=re.IGNORECASE)
    if len(sides) != 2:
        raise InputError("tray", text, "it must be length x width", 'For instance "25 x 50 cm" or "10 x 20 in".')
    unit = re.sub(r"[\d.,/\s½¼¾]", "", sides[1])
    first = sides[0] if re.search(r"[a-z\"']", sides[0], re.IGNORECASE) else f"{sides[0]} {unit}"
    lengths = [parse_length(side, default=units.length, name="tray") for side in (first, sides[1])]
    if min(lengths) < SMALLEST_SIDE:
        rule = f"a side of {min(lengths):g} mm is no tray"
        raise InputError("tray", text, rule, 'Say the unit, for instance "25 x 50 cm" or "10 x 20 in".')
    return TraySize(name=text, length_mm=max(lengths), width_mm=min(lengths))


def by_day(texts: Sequence[str]) -> tuple[list[float], list[float]]:
    """Counts by day: `3:12 4:20`, the day and the seeds newly sprouted. [d], [-]"""
    words = " ".join(texts).replace(",", " ").split()
    found = [re.fullmatch(r"(\d+(?:\.\d+)?)[:=](\d+)", word) for word in words]
    wrong = [word for word, match in zip(words, found, strict=True) if match is None]
    if wrong or not words:
        raise InputError("counts", wrong[0] if wrong else "none", "each must be day:count", 'For instance "3:12 4:20".')
    kept = [match for match in found if match is not None]
    return [float(match[1]) for match in kept], [float(match[2]) for match in kept]


def numbers(texts: Sequence[str], name: str) -> list[float]:
    """Numbers one after the other, with blanks or commas between them."""
    words = " ".join(texts).replace(";", " ").replace(", ", " ").split()
    words = [part for word in words for part in (word.split(",") if word.count(",") > 1 else [word])]
    return [people.number(word, name) for word in words if word]


def is_volume(text: str) -> bool:
    """Whether an amount is told in spoons, cups or millilitres."""
    return (
        re.search(r"(tsp|tbsp|tbs|teaspoon|tablespoon|cup|ml|milli?lit|\bl\b|fl\.?\s*oz|pint|quart|gal)", text, re.I)
        is not None
    )


def _germination(text: str | None) -> float | None:
    """By the label; seed of which none sprouts is not sown at all. [-]"""
    share = people.share(text, "germination")
    if share == 0:
        raise InputError(
            "germination", text, "must be above 0 %", 'Seed that is dead is not sown. For instance "92 %".'
        )
    return share


# The crop and the lot that are meant ----------------------------------------------------------------------------------


def facts_named(given: Given, crop: str) -> CropFacts:
    """What is known of a crop: by the farm where there is one, else by the library."""
    from trayward.library.crops import crop_names, library_facts

    if given.has_farm:
        from trayward.desk.lookup import facts_of

        known = {recipe.crop for recipe in given.state.recipes.values()} | set(given.state.crop_facts)
        if crop in known | set(crop_names()):
            return facts_of(given.state, crop)
        raise NotFoundError("crop", crop, tuple(sorted(known)), "See them with: trayward crop")
    crop = crop if crop in crop_names() else crop.strip().lower()
    if crop not in crop_names():
        import difflib

        near = ", ".join(difflib.get_close_matches(crop, crop_names(), 3, 0.5) or crop_names()[:8])
        raise InputError("crop", crop, "the library does not know it", f"Did you mean: {near}?")
    return library_facts(crop)


def lot_named(given: Given, crop: str, name: str | None) -> SeedLot | None:
    """The lot that was named; else the crop's only lot that is here; None where there is no farm or no such lot."""
    if not given.has_farm:
        if name is not None:
            raise InputError("lot", name, "there is no farm here whose lots could be looked up", "Leave --lot out.")
        return None
    from trayward.desk.lookup import lots_for

    if name is None:
        here = lots_for(given.state, crop, given.at)
        return here[0] if len(here) == 1 else None
    lot = given.state.seed.get(name)
    if lot is None:
        raise NotFoundError("seed lot", name, tuple(given.state.seed), "See them with: trayward seed")
    if lot.crop != crop:
        raise InputError("lot", name, f"it is {lot.crop}, not {crop}", "Name a lot of the crop.")
    return lot


def meant(given: Given, crop: str, said: Mapping[str, Any], units: ShownUnits) -> tuple[CropFacts, SeedFacts]:
    """The crop's figures and the seed's: what was typed first, then the lot, then the farm, then the library."""
    facts = facts_named(given, crop)
    some, whole = people.counted(said["sprouted"]) if said.get("sprouted") else (0, 0)
    typed = Typed(
        tsw_g=people.mass(said["tsw"], units, name="weight of 1000 seeds") if said.get("tsw") else None,
        label=_germination(said.get("germination")),
        sprouted=some,
        tested=whole,
        bulk=said.get("bulk"),
    )
    lot = lot_named(given, crop, said.get("lot"))
    return facts, seed_facts(facts, typed, lot=lot, at=given.at if lot is not None else None)


def tray_meant(given: Given, crop: str, text: str | None, units: ShownUnits) -> TraySize:
    """The tray that was typed; else that of the farm's recipe for the crop; else a nominal 1020."""
    typed = tray(text, units)
    if typed is not None or not given.has_farm:
        return typed or TraySize()
    recipes = [recipe for recipe in given.state.recipes.values() if recipe.crop == crop]
    return recipes[0].tray if recipes else TraySize()


def opening(text: str) -> float:
    """
    A mesh's opening: `1 mm`, `1/32 in`, or a test sieve's number, `No. 18`. [mm]

    Examples
    --------
    >>> opening("No. 18"), opening("1.2")
    (1.0, 1.2)
    """
    from trayward.science.mesh import sieve_opening

    sieve = re.fullmatch(r"\s*(?:no\.?|number|#)\s*(\d+)\s*", text, re.IGNORECASE)
    return sieve_opening(int(sieve[1])) if sieve else parse_length(text, default="mm", name="opening")


def size_meant(facts: CropFacts, width: str | None, differs: str | None, thickness: str | None) -> Size:
    """How wide the seed is: as typed, else by the library. A typed width without its spread differs by 8 %."""
    known = seed_size(facts)
    thick = parse_length(thickness, default="mm", name="thickness") if thickness is not None else None
    sd = parse_length(differs, default="mm", name="standard deviation") if differs is not None else None
    if width is not None:
        wide = parse_length(width, default="mm", name="width")
        return Size(
            width_mm=wide, sd_mm=SIZE_SPREAD * wide if sd is None else sd, thickness_mm=thick, basis="as you measured"
        )
    if known is None:
        rule = f"nobody said how wide {facts.crop} seed is"
        raise InputError("width", "blank", rule, "Lay ten seeds side by side, measure, divide by ten: --width.")
    return Size(
        width_mm=known.width_mm,
        sd_mm=known.sd_mm if sd is None else sd,
        thickness_mm=known.thickness_mm if thick is None else thick,
        basis=known.basis,
        sources=known.sources,
    )
