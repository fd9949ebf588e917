"""What moves a tray's outlook away from the published figures, and by how much."""

from __future__ import annotations

import math
from collections import Counter

import numpy as np

from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.outlook.laws import EIGHTY
from trayward.outlook.memory import Lessons
from trayward.outlook.rows import Birth
from trayward.outlook.stages import StageAsked, StageModel
from trayward.outlook.terms import NEW, Floats
from trayward.outlook.types import Reason
from trayward.outlook.wording import moved, moved_between
from trayward.outlook.yields import DENSITY, DENSITY_SQUARED, HOUSE, LIGHT, WARMTH, Asked, YieldModel, asked_of

LEAST = 0.005
"""A factor this near to one is not worth a word. [log]"""


def reasons(tray: Tray, recipe: Recipe, lessons: Lessons) -> tuple[Reason, ...]:
    """What moves a tray's weight and times, the weight first, and of each the most first."""
    birth = lessons.reader.birth(tray)
    asked = asked_of(recipe, birth.lot, str(birth.season), birth.group, tray, lessons.reader)
    found = [*_of_grams(asked, lessons.yields), *_of_days(recipe, birth, lessons)]
    told = [one for one in found if abs(math.log(one.factor)) >= LEAST]
    return tuple(sorted(told, key=lambda one: (one.about != "grams", -abs(math.log(one.factor)))))


def _of_grams(asked: Asked, model: YieldModel) -> list[Reason]:
    if model.fit is None:
        return []
    counts = _counts(model, asked)
    found = [_reason("grams", f"{asked.recipe.name} on this farm", "", *_here(asked, model), counts["recipe"])]
    fixed, levels, _ = model.design([asked])
    for what, names in (("density", (DENSITY, DENSITY_SQUARED)), ("warmth", (WARMTH,)), ("light", (LIGHT,))):
        weights = np.array([fixed[0, at] if name in names else 0.0 for at, name in enumerate(model.fixed_names)])
        found.append(_reason("grams", what, "", *_fixed_part(model, weights)))
    named = {"lot": f"lot {asked.lot}", "season": "these weeks", "sowing": "its sowing"}
    for term, words in named.items():
        level = int(levels[term][0])
        if level != NEW:
            effect = float(np.ravel(model.fit.effects[term][level])[0])
            error = float(np.ravel(model.fit.effect_se[term][level])[0])
            found.append(_reason("grams", words, "", effect, error, counts[term]))
    return found


def _here(asked: Asked, model: YieldModel) -> tuple[float, float]:
    """What this farm, its crop, recipe and medium make together, which trays cannot tell apart; and its error."""
    assert model.fit is not None
    fixed, levels, columns = model.design([asked])
    only = np.array(
        [[value if name == HOUSE else 0.0 for name, value in zip(model.fixed_names, fixed[0], strict=True)]]
    )
    unknown = {
        term: np.full(1, NEW) if term in ("lot", "season", "sowing") else level for term, level in levels.items()
    }
    told = model.fit.predict(only, unknown, {**columns, "density by crop": np.zeros((1, 1))})
    return float(told.mean[0]), float(told.known_sd[0])


def _fixed_part(model: YieldModel, weights: Floats) -> tuple[float, float]:
    assert model.fit is not None
    spread = float(weights @ model.fit.fixed_covariance @ weights)
    return float(weights @ model.fit.fixed), math.sqrt(max(spread, 0.0))


def _counts(model: YieldModel, asked: Asked) -> Counter[str]:
    """How many own trays each effect rests on."""
    counts: Counter[str] = Counter()
    for row in model.rows:
        counts["recipe"] += row.recipe == asked.recipe.name
        counts["lot"] += row.lot == asked.lot
        counts["season"] += str(row.season) == asked.season
        counts["sowing"] += row.sowing == asked.sowing
    return counts


def _of_days(recipe: Recipe, birth: Birth, lessons: Lessons) -> list[Reason]:
    found = []
    for stage in recipe.growing_stages:
        model = lessons.stages.get(stage.name)
        if model is not None and model.fit is not None and recipe.name in model.scales.beliefs:
            found += _of_stage(recipe, birth, model)
    return found


def _of_stage(recipe: Recipe, birth: Birth, model: StageModel) -> list[Reason]:
    assert model.fit is not None
    scale = model.scales.sds[recipe.name]
    told = model.fit.predict(
        np.zeros(1), np.ones((1, 1)), {"recipe": model.coded([StageAsked(recipe=recipe)])["recipe"]}
    )
    here = (float(told.mean[0]) * scale, float(told.known_sd[0]) * scale, model.own_trays(recipe))
    found = [_reason("days", f"{recipe.name} on this farm", model.stage, *here)]
    for term, name, words in (("lot", birth.lot, f"lot {birth.lot}"), ("season", str(birth.season), "these weeks")):
        level = model.names[term].get(name)
        if level is not None:
            effect, error = float(model.fit.effects[term][level]), float(model.fit.effect_se[term][level])
            found.append(_reason("days", words, model.stage, effect * scale, error * scale))
    return found


def _reason(about: str, what: str, stage: str, effect: float, error: float, trays: int = 0) -> Reason:
    factor = math.exp(effect)
    low, high = math.exp(effect - EIGHTY * error), math.exp(effect + EIGHTY * error)
    sides = ("heavier", "lighter") if about == "grams" else ("longer", "shorter")
    rests = f", by {trays} own {'tray' if trays == 1 else 'trays'}" if trays else ""
    words = f"{what}: {moved(factor, sides)} ({moved_between(low, high, sides)}){rests}"
    return Reason(
        about="grams" if about == "grams" else "days",
        what=what,
        stage=stage,
        factor=factor,
        low=low,
        high=high,
        trays=trays,
        words=f"{stage}, {words}" if stage else words,
    )
