"""What cuts were expected to bring before they were made: the outlook of an earlier day, asked about each lot."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime

import msgspec

from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, HarvestLot, Tray
from trayward.outlook.laws import Blurred, blurred
from trayward.outlook.memory import Lessons
from trayward.outlook.types import Range
from trayward.outlook.yields import YieldLaw, asked_of


class CutForetold(msgspec.Struct, frozen=True, kw_only=True):
    """What a harvest lot was expected to bring. [g]"""

    total: Range
    """All its trays together."""
    each: dict[str, Range]
    """Tray by tray."""


def cut_foretold(state: FarmState, lot: HarvestLot, lessons: Lessons) -> CutForetold | None:
    """
    What a harvest lot was expected to bring, by what was known at an earlier moment.

    Parameters
    ----------
    state : FarmState
        The farm now, in which the lot's trays have ended.
    lot : HarvestLot
        What was cut together.
    lessons : Lessons
        What was known before the cut (`memory.lessons_upto`).

    Returns
    -------
    CutForetold or None
        None where a tray is not known any more, or nobody could say what its recipe brings.

    Notes
    -----
    Trays of a recipe and seed lot share all that is not known of these; each sowing and each tray has its own luck,
    which evens out over several (`mean_law`). Parts of other recipes or seed lots are added as if they went alike,
    which makes the range rather too wide than too narrow. A tray is taken as on the day it was cut: it has gained what
    its recipe says for each day it waited.
    """
    trays = [tray for name in lot.trays if (tray := state.tray(name)) is not None]
    known = [state.recipes.get(tray.recipe) for tray in trays]
    if not trays or any(recipe is None or not lessons.yields.knows(recipe) for recipe in known):
        return None
    each: dict[str, Range] = {}
    parts: dict[tuple[str, str], list[tuple[Tray, YieldLaw, float]]] = {}
    for tray in trays:
        recipe = state.recipes[tray.recipe]
        birth = lessons.reader.birth(tray)
        law = lessons.yields.law(asked_of(recipe, birth.lot, str(birth.season), "", tray, lessons.reader))
        more = _grown(tray, recipe, lot.cut_at)
        each[tray.tray] = _range(law.tray(), more)
        parts.setdefault((tray.recipe, birth.lot), []).append((tray, law, more))
    return CutForetold(total=_added(_part(part) for part in parts.values()), each=each)


def _part(part: Sequence[tuple[Tray, YieldLaw, float]]) -> Range:
    """Trays of one recipe and seed lot together."""
    count = len(part)
    sowings = [number / count for number in Counter(tray.sowing for tray, _, _ in part).values()]
    middle = math.fsum(law.mu + math.log(more) for _, law, more in part) / count
    law = msgspec.structs.replace(part[0][1], mu=middle)
    return _range(mean_law(law, sowings, count), float(count))


def mean_law(law: YieldLaw, sowings: Sequence[float], trays: int) -> Blurred:
    """
    The law of the mean weight of several trays of one recipe and seed lot.

    Parameters
    ----------
    law : YieldLaw
        Of one of them.
    sowings : sequence of float
        Which share of the trays each sowing has; they sum to 1. [-]
    trays : int
        How many trays. [-]

    Notes
    -----
    The mean of lognormals is taken as lognormal: luck of its own evens out, and half the variance that is lost that way
    goes to the middle, as a mean lies above the median of its parts. Exact for one tray.
    """
    own, shared = law.tray_sd**2, law.sowing_sd**2
    left = math.fsum(share**2 for share in sowings)
    lost = own * (1 - 1 / trays) + shared * (1 - left)
    sds = (law.lot_sd, law.season_sd, law.sowing_sd * math.sqrt(left), law.tray_sd / math.sqrt(trays))
    return blurred(law.mu + lost / 2, law.known_sd, list(zip(sds, law.unsure, strict=True)))


def _range(law: Blurred, times: float) -> Range:
    low, likely, high = (law.quantile(share) * times for share in (0.1, 0.5, 0.9))
    return Range(low=low, likely=likely, high=high, mean=law.mean * times)


def _added(parts: Iterable[Range]) -> Range:
    found = list(parts)
    return Range(
        low=math.fsum(part.low for part in found),
        likely=math.fsum(part.likely for part in found),
        high=math.fsum(part.high for part in found),
        mean=math.fsum(part.mean or 0.0 for part in found),
    )


def _grown(tray: Tray, recipe: Recipe, cut_at: datetime) -> float:
    """What a tray gained while it waited for the cut, as a factor. [-]"""
    last = recipe.stages[-1].name
    since = next((step.since for step in tray.steps if step.stage == last), None)
    if since is None:
        return 1.0
    grown: float = (1 + recipe.growth_a_day) ** recipe.days_waited(since, cut_at)
    return grown
