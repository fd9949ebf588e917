"""What stands out: lots, recipes or sowings that differ from their like by more than chance makes some differ."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError
from trayward.outlook.learning.points import EIGHTY
from trayward.outlook.terms import Floats
from trayward.outlook.wording import moved, moved_between
from trayward.outlook.yields import YieldModel

PROMISE = 0.10
"""Of those named, at most this share is named by chance, in the long run. [-]"""
NO_LIKE = {"lot": "No lot to compare yet: that takes a recipe sown from two lots."}
Bools = NDArray[np.bool_]


class StandOut(msgspec.Struct, frozen=True, kw_only=True):
    """
    One that stands out. `factor` is how many times the weight (or time) of its like, as far as its trays bear it out,
    with its 80 % range `low` to `high`. [-] `chance` is how often chance alone sets one apart this far. [-]
    """

    kind: str
    name: str
    about: Literal["grams", "days"] = "grams"
    stage: str = ""
    factor: float
    low: float
    high: float
    chance: float
    trays: int = 0
    words: str = ""


class StandOuts(msgspec.Struct, frozen=True, kw_only=True):
    """Those that stand out among `looked_at` of a kind, the strongest first."""

    kind: str
    looked_at: int
    found: tuple[StandOut, ...] = ()
    words: str = ""


def false_discoveries_held(chances: Floats, share: float = PROMISE) -> Bools:
    """
    Which of many to name, so that at most a share of those named is named by chance (Benjamini and Hochberg).

    Parameters
    ----------
    chances : array (n,)
        For each, how often chance alone would set it apart as far (p value). [-] In [0, 1].
    share : float
        The promise. [-]

    Returns
    -------
    array of bool (n,)

    References
    ----------
    Y. Benjamini and Y. Hochberg (1995), Controlling the false discovery rate: a practical and powerful approach to
    multiple testing, Journal of the Royal Statistical Society B 57(1), 289-300.
    """
    if not np.all((chances >= 0) & (chances <= 1)):
        raise InputError("chances", "outside", "each must lie in [0, 1]", "Check what they were worked out from.")
    count = len(chances)
    order = np.argsort(chances, kind="stable")
    passes = np.flatnonzero(chances[order] <= share * np.arange(1, count + 1) / max(count, 1))
    named = np.zeros(count, dtype=bool)
    if len(passes):
        named[order[: passes[-1] + 1]] = True
    return named


def distance(effect: Floats, sd: Floats, prior_sd: float | Floats) -> Floats:
    """
    How many of its own errors each lies from its like, by its own trays alone.

    Parameters
    ----------
    effect, sd : arrays (n,)
        Shrunken effects and what is still unknown of them (posterior mean and sd). [log]
    prior_sd : float or array (n,)
        How far levels lie apart: the sd the effects were shrunk with. [log]

    Returns
    -------
    array (n,)
        Standard normal where a level does not differ from its like. [-] 0 where its trays say nothing.

    Notes
    -----
    In a Gaussian model the posterior of one effect is its prior times what its trays say. Dividing the prior of this
    one level out again leaves a likelihood of precision 1/sd^2 - 1/prior_sd^2 and mean effect/sd^2 over that: the
    estimate without shrinkage of this level, all others still shrunk. That asks "does it differ at all", and stays a
    fair question where the lots' spread is estimated as next to nothing. Comparing the shrunken effect with its own
    spread, sqrt(prior_sd^2 - sd^2), would ask instead whether a lot is odd among lots that all differ; one bad lot
    among few widens that spread and hides itself.
    """
    before = np.broadcast_to(np.asarray(prior_sd, dtype=float), np.shape(effect))
    # A level whose trays added less than rounding to what was known says nothing.
    known = (sd > 0) & (before > 0) & (1.0 - (sd / np.where(before > 0, before, np.inf)) ** 2 > 1e-9)
    narrow, wide = np.where(known, sd, 1.0), np.where(known, before, 2.0)
    z = effect / narrow**2 / np.sqrt(1.0 / narrow**2 - 1.0 / wide**2)
    return np.where(known, z, 0.0)


def oddness(effect: Floats, sd: Floats, prior_sd: float | Floats) -> Floats:
    """
    How odd each is among its like, which all differ: the shrunken effect over the spread such effects have.

    For sowings, which always differ a little and are many: that a day differs is no news, that it is odd among days is.
    Arguments as for `distance`. Standard normal where the day is one of its like. (n) [-]
    """
    gap = np.asarray(prior_sd, dtype=float) ** 2 - sd**2
    # A level whose trays added less than rounding to what was known says nothing.
    told = gap > 1e-9 * np.asarray(prior_sd, dtype=float) ** 2
    return np.where(told, effect / np.sqrt(np.where(told, gap, 1.0)), 0.0)


def two_sided(z: Floats, freedom: float) -> Floats:
    """How often chance alone gives a distance as large, either way, with so many degrees of freedom in the error."""
    from scipy.special import stdtr

    found: Floats = 2.0 * stdtr(max(freedom, 1.0), -np.abs(z))
    return found


def stand_outs(
    kind: str,
    names: Sequence[str],
    effect: Floats,
    sd: Floats,
    prior_sd: float | Floats,
    freedom: float,
    trays: Sequence[int] = (),
    *,
    about: Literal["grams", "days"] = "grams",
    stage: str = "",
    share: float = PROMISE,
    apart: Callable[[Floats, Floats, float | Floats], Floats] = distance,
) -> StandOuts:
    """
    Name those that differ from their like, holding false alarms to a share of those named.

    Parameters
    ----------
    kind : str
        What they are: `lot`, `recipe`, `sowing`.
    names : sequence of str
        Their names. (n)
    effect, sd, prior_sd
        As for `distance`. [log]
    freedom : float
        Degrees of freedom of the error they are held against: for lots, sowings less lots. [-]
    trays : sequence of int, optional
        Trays each rests on.
    apart : callable
        `distance` asks whether a level differs at all, `oddness` whether it is odd among levels that all differ.

    Returns
    -------
    StandOuts
        The effects shown are the shrunken ones: what may be counted on for its next tray.
    """
    if not len(names):
        return StandOuts(kind=kind, looked_at=0, words=NO_LIKE.get(kind, f"No {kind} to compare yet."))
    chances = two_sided(apart(effect, sd, prior_sd), freedom)
    named = np.flatnonzero(false_discoveries_held(chances, share))
    found = [
        _stand_out(kind, names[k], float(effect[k]), float(sd[k]), float(chances[k]), trays[k] if trays else 0)
        for k in named[np.argsort(chances[named], kind="stable")]
    ]
    told = tuple(
        msgspec.structs.replace(one, about=about, stage=stage, words=_words(one, about, stage)) for one in found
    )
    return StandOuts(kind=kind, looked_at=len(names), found=told, words=_all_words(kind, len(names), told))


def _stand_out(kind: str, name: str, effect: float, sd: float, chance: float, trays: int) -> StandOut:
    low, middle, high = (float(np.exp(effect + step * EIGHTY * sd)) for step in (-1, 0, 1))
    return StandOut(kind=kind, name=name, factor=middle, low=low, high=high, chance=chance, trays=trays)


def _words(one: StandOut, about: str, stage: str) -> str:
    sides = ("heavier", "lighter") if about == "grams" else ("longer", "shorter")
    likely = f"about {moved(one.factor, sides)} ({moved_between(one.low, one.high, sides)})"
    rests = f", by {one.trays} tray{'' if one.trays == 1 else 's'}" if one.trays else ""
    if about == "days":
        return f"{one.kind.capitalize()} {one.name} takes {likely} in {stage or 'all'} than its like{rests}."
    like = "the figures of its crop say for this farm" if one.kind == "recipe" else "its like"
    return f"{one.kind.capitalize()} {one.name} is {likely} than {like}{rests}."


def _all_words(kind: str, looked_at: int, found: tuple[StandOut, ...]) -> str:
    if not found:
        if looked_at == 1:
            return f"Only one {kind} yet: nothing to hold it against."
        return f"None of {looked_at} {kind}s differs from the others by more than chance gives."
    names = ", ".join(one.name for one in found)
    caution = "at most 1 in 10 of those named is named by chance"
    return f"{len(found)} of {looked_at} {kind}s {'stands' if len(found) == 1 else 'stand'} out: {names} ({caution})."


def yield_stand_outs(model: YieldModel) -> tuple[StandOuts, ...]:
    """
    Lots, recipes and sowing days whose trays are heavier or lighter than their like, each kind by itself.

    A lot's like are other lots of its recipe: where a recipe had one lot only, the two cannot be told apart and the lot
    is left out. A recipe is held against what is published of its crop, this farm's own level counted.
    """
    if model.fit is None:
        return ()
    counts = {kind: _counted(getattr(row, kind) for row in model.rows) for kind in ("recipe", "lot", "sowing")}
    levels = {kind: len(names) for kind, names in counts.items()}
    paired = with_a_like((row.recipe, row.lot) for row in model.rows)
    counts["lot"] = {name: count for name, count in counts["lot"].items() if name in paired}
    # The belief about a spread is worth about one degree of freedom more.
    freedom = {
        "recipe": levels["lot"] - levels["recipe"] + 1,
        "lot": levels["sowing"] - levels["lot"] + 1,
        "sowing": levels["sowing"] - levels["lot"] + 1,
    }
    return tuple(_of_kind(model, kind, counts[kind], freedom[kind]) for kind in counts)


def with_a_like(pairs: Iterable[tuple[str, str]]) -> set[str]:
    """Of (recipe, lot) pairs, the lots whose recipe was sown from another lot too."""
    lots: dict[str, set[str]] = {}
    for recipe, lot in pairs:
        lots.setdefault(recipe, set()).add(lot)
    return {lot for mine in lots.values() if len(mine) > 1 for lot in mine}


def _of_kind(model: YieldModel, kind: str, counts: dict[str, int], freedom: int) -> StandOuts:
    assert model.fit is not None
    effects, errors = model.fit.effects[kind][:, 0], model.fit.effect_se[kind][:, 0]
    at = {name: place for name, place in model.names[kind].items() if name in counts and name and place < len(effects)}
    places = list(at.values())
    return stand_outs(
        kind,
        [_shown(kind, name) for name in at],
        effects[places],
        errors[places],
        float(np.ravel(model.fit.spreads.terms[kind])[0]),
        freedom,
        [counts[name] for name in at],
        apart=oddness if kind == "sowing" else distance,
    )


def _counted(names: Iterable[str]) -> dict[str, int]:
    return dict(Counter(names))


def _shown(kind: str, name: str) -> str:
    """A sowing's group as people read it: its recipe and day."""
    if kind != "sowing":
        return name
    return f"{name.partition('|')[0]} of {name.rpartition('|')[2]}"
