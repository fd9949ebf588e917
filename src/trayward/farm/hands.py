"""Hands' minutes a tray takes, by the kind of work: what the bench, the study and its bound all count by."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Literal

from trayward.farm.kit import Pool
from trayward.farm.recipes import KitNeed, Recipe

Leaves = Literal["cut", "live", "thrown"]
"""How a tray leaves."""


def minutes_by_job(
    recipe: Recipe, pools: Mapping[str, Pool], *, reached: Sequence[str], days: int, looks: int, how: Leaves
) -> dict[str, float]:
    """
    Minutes of hands one tray takes from its sowing until it has left.

    Parameters
    ----------
    recipe : Recipe
        What it was sown to.
    pools : mapping of str to Pool
        The farm's kit; a pool that is not set up takes no time.
    reached : sequence of str
        The stages it reached, from the first.
    days : int
        From sowing to leaving. [d]
    looks : int
        Walks a day. [-]
    how : "cut", "live" or "thrown"
        How it leaves.

    Returns
    -------
    dict
        Job -> minutes: `sow`, `turn and move`, `look`, `cut`, `wash` (medium and tray, and kit that has a time of its
        own; what goes out live comes back unwashed with nobody's time counted). [min]
    """
    own = {"cut": recipe.minutes_cut, "thrown": 0.0, "live": 0.0}[how]
    wash = 0.0 if how == "live" else recipe.minutes_wash
    return {
        "sow": recipe.minutes_sow,
        "turn and move": sum(stage.minutes for stage in recipe.stages if stage.name in reached),
        "look": recipe.minutes_look * looks * days,
        "cut": own,
        "wash": wash + sum(_washing(need, recipe, reached, pools, how) for need in recipe.kit),
    }


def _washing(need: KitNeed, recipe: Recipe, reached: Sequence[str], pools: Mapping[str, Pool], how: Leaves) -> float:
    """Minutes to wash the kit of one need; none where it was never used or went out with a live tray. [min]"""
    pool = pools.get(need.pool)
    used = [name for name in reached if not need.stages or name in need.stages]
    if pool is None or not used:
        return 0.0
    away = how == "live" and used[-1] == recipe.stages[-1].name
    return 0.0 if away else need.each * pool.minutes_wash
