"""What the coming weeks want of seed: by trays a week, or by the farm's own plan."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from trayward.bench import typed as people
from trayward.bench.seed_keep import SeedWanted
from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.web.bench.sums import seed_words
from trayward.web.bench.sums.declared import Given

if TYPE_CHECKING:
    from trayward.plan.types import PlannedSowing

SHORTEST_PLAN = 3
"""A plan reaches at least so far; for fewer weeks its first sowings are counted. [weeks]"""


def wanted_by_week(
    given: Given, crop: str, trays: float, weeks: int, grams: str | None, have: str | None, units: ShownUnits
) -> SeedWanted:
    """What so many trays a week want; without grams what is commonly sown, without stock what the lots here hold."""
    from trayward.bench.seed import published_grams

    if not 0 < trays < 10_000:
        raise InputError("trays", f"{trays:g}", "must be above 0", "Say how many a week.")
    facts, found = seed_words.meant(given, crop, {}, units)
    if grams is not None:
        each = people.mass(grams, units, density=found.bulk, name="seed for a tray")
    else:
        known = published_grams(facts, seed_words.tray_meant(given, crop, None, units))
        if known is None:
            raise InputError("grams", "blank", f"nobody said how much {crop} seed a tray takes", 'For instance "20 g".')
        each = known[1]
    here = people.mass(have, units, density=found.bulk, name="stock") if have is not None else _in_stock(given, crop)
    a_week = each * trays
    out = f"lasts {here / a_week:.1f} weeks" if here and here < a_week * weeks else ""
    return SeedWanted(crop=crop, trays=round(trays * weeks), wanted_g=a_week * weeks, here_g=here, runs_out=out)


def _in_stock(given: Given, crop: str) -> float:
    if not given.has_farm:
        return 0.0
    from trayward.desk.lookup import lots_for

    return sum(lot.left_g for lot in lots_for(given.state, crop, given.at))


def wanted_by_plan(given: Given, crop: str | None, weeks: int) -> list[SeedWanted]:
    """What the farm's plan sows in the coming weeks, by crop; crops in their order of need."""
    until = given.today + timedelta(weeks=weeks)
    plan = given.farm.plan(given.at, weeks=max(weeks, SHORTEST_PLAN))
    sowings = [sowing for sowing in plan.sowings if sowing.sow_on < until]
    crops = dict.fromkeys(sowing.crop for sowing in sowings if crop in (None, sowing.crop))
    if crop is not None and crop not in crops:
        raise InputError("crop", crop, f"the plan of {weeks} weeks does not sow it", "Say --trays a week instead.")
    return [_of_crop(given, name, [one for one in sowings if one.crop == name]) for name in crops]


def _of_crop(given: Given, crop: str, sowings: list[PlannedSowing]) -> SeedWanted:
    here = _in_stock(given, crop)
    lots = given.state.seed.values()
    coming = sum(lot.left_g for lot in lots if lot.crop == crop and lot.expected_on is not None)
    return SeedWanted(
        crop=crop,
        trays=sum(sowing.trays for sowing in sowings),
        wanted_g=sum(sowing.seed_g for sowing in sowings),
        here_g=here,
        coming_g=coming,
        runs_out=_out_on(sowings, here),
    )


def _out_on(sowings: list[PlannedSowing], here: float) -> str:
    """When what is here no longer reaches, in words."""
    from trayward.dates import day_words

    left = here
    for sowing in sorted(sowings, key=lambda one: one.sow_on):
        left -= sowing.seed_g
        if left < -0.05:
            return f"what is here does not reach for {day_words(sowing.sow_on)}"
    return ""
