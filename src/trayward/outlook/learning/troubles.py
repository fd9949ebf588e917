"""
Patterns of trouble: how often each sign comes with a crop, seed lot, shelf, density or damp air, against the rest.

What is counted is sowings, not trays: trouble comes by the sowing, and its trays are not witnesses of their own.
Whether two shares differ is Fisher's exact test, ranges are Clopper and Pearson's, and of the many pairs looked at
those are named of which at most a tenth is named by chance (Benjamini and Hochberg).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from itertools import chain

import msgspec
import numpy as np

from trayward.farm.last_air import AirRead
from trayward.farm.places import shelf_of
from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import DAMP_PCT, THICK, THIN, find_signs
from trayward.outlook.learning.standouts import false_discoveries_held
from trayward.science.exact_shares import clopper_pearson, fisher_exact

EIGHTY = 0.8
LEAST_SOWINGS = 2
"""A group of fewer sowings shows no pattern. Our choice."""
SINCE = timedelta(days=365)
"""Sowings of the last year count: kit, rooms and seed change."""
DRY_PCT = 55.0
"""Mean humidity of a sowing's first days below which they count as dry here. Our choice. [%]"""
FIRST = timedelta(days=8)


class Pattern(msgspec.Struct, frozen=True, kw_only=True):
    """How often a sign came with one of a kind, against all other sowings. Shares [-]"""

    sign: str
    kind: str
    """crop, seed lot, shelf, density or air."""
    name: str
    cases: int
    sowings: int
    other_cases: int
    other_sowings: int
    low: float
    high: float
    """Where its share may truly lie, 8 in 10."""
    chance: float
    """How often chance alone would set it apart this far. [-]"""
    stands_out: bool
    words: str


class Patterns(msgspec.Struct, frozen=True, kw_only=True):
    """All that was looked at, those that stand out first."""

    sowings: int
    with_trouble: int
    signs: dict[str, int]
    """Sign -> sowings that had it."""
    looked_at: int
    rows: tuple[Pattern, ...]
    words: str

    @property
    def named(self) -> tuple[Pattern, ...]:
        """Those that stand out."""
        return tuple(row for row in self.rows if row.stands_out)


def trouble_patterns(state: FarmState, at: datetime) -> Patterns:
    """What trouble comes with, over the sowings of the last year."""
    sowings = _by_sowing(state, at)
    damp = AirRead(state, "humidity", at - SINCE, at + FIRST)
    groups: dict[tuple[str, str], set[str]] = defaultdict(set)
    seen: dict[str, set[str]] = defaultdict(set)
    for name, trays in sowings.items():
        for kind_and_name in _groups_of(state, trays, damp):
            groups[kind_and_name].add(name)
        for sign in dict.fromkeys(sign for tray in trays for sign in signs_of(tray)):
            seen[sign].add(name)
    found = [
        (sign, kind, name, members, having)
        for sign, having in seen.items()
        for (kind, name), members in groups.items()
        if LEAST_SOWINGS <= len(members) < len(sowings)
    ]
    rows = _judged([_counted(*each, everyone=len(sowings)) for each in found])
    troubled = len(set().union(*seen.values())) if seen else 0
    return Patterns(
        sowings=len(sowings),
        with_trouble=troubled,
        signs={sign: len(having) for sign, having in sorted(seen.items(), key=lambda each: -len(each[1]))},
        looked_at=len(rows),
        rows=rows,
        words=_words(len(sowings), troubled, rows),
    )


def signs_of(tray: Tray) -> Iterator[str]:
    """Signs seen on a tray and not cleared, words of one's own by the guide's name where they mean one.

    What it was thrown away for counts where the guide knows it.
    """
    for each in tray.troubles:
        if each.cleared_at is None:
            yield _by_guide(each.sign) or each.sign
    if tray.fate == "discarded" and (known := _by_guide(tray.reason)):
        yield known


def _by_guide(words: str) -> str:
    """The guide's name for a sign; empty where it knows none like it."""
    near = find_signs(words)
    return near[0].name if near else ""


def _by_sowing(state: FarmState, at: datetime) -> dict[str, list[Tray]]:
    found: dict[str, list[Tray]] = defaultdict(list)
    since = at - SINCE
    for tray in chain(state.ended.values(), state.trays.values()):
        if tray.sown_at >= since:
            found[tray.sowing].append(tray)
    return dict(found)


def _groups_of(state: FarmState, trays: list[Tray], read: AirRead) -> Iterator[tuple[str, str]]:
    first = trays[0]
    yield "crop", first.crop
    for lot in {lot for tray in trays for lot in tray.lots}:
        yield "seed lot", lot
    spots = {step.spot for tray in trays for step in tray.steps}
    for shelf in {shelf_of(spot) for spot in spots if spot}:
        yield "shelf", shelf
    recipe = state.recipes.get(first.recipe)
    if recipe is not None and first.live_seeds_per_cm2 and recipe.live_seeds_per_cm2 > 0:
        yield "density", _band(first.live_seeds_per_cm2 / recipe.live_seeds_per_cm2, THIN, THICK, DENSITIES)
    damp = read.near(first, first.sown_at, first.sown_at + FIRST)
    if damp is not None:
        yield "air", _band(damp, DRY_PCT, DAMP_PCT, AIRS)


DENSITIES = ("thinner than the recipe", "as the recipe says", "thicker than the recipe")
AIRS = ("dry, below 55 %", "between 55 and 75 %", "damp, 75 % and more")


def _band(value: float, low: float, high: float, names: tuple[str, str, str]) -> str:
    return names[0] if value < low else names[1] if value < high else names[2]


def _counted(sign: str, kind: str, name: str, members: set[str], having: set[str], *, everyone: int) -> Pattern:
    cases, rest = len(members & having), everyone - len(members)
    other = len(having) - cases
    low, high = clopper_pearson(cases, len(members), EIGHTY)
    return Pattern(
        sign=sign, kind=kind, name=name, cases=cases, sowings=len(members), other_cases=other,
        other_sowings=rest, low=low, high=high,
        chance=fisher_exact(cases, len(members), other, rest), stands_out=False,
        words=f"{sign} in {cases} of {len(members)} sowings of {kind} {name}, in {other} of {rest} others",
    )  # fmt: skip


def _judged(rows: Iterable[Pattern]) -> tuple[Pattern, ...]:
    """Those that differ by more than chance are marked, and come first."""
    listed = list(rows)
    if not listed:
        return ()
    named = false_discoveries_held(np.array([row.chance for row in listed]))
    marked = [msgspec.structs.replace(row, stands_out=bool(is_it)) for row, is_it in zip(listed, named, strict=True)]
    return tuple(sorted(marked, key=lambda row: (not row.stands_out, row.chance, row.sign, row.kind, row.name)))


def _words(sowings: int, troubled: int, rows: tuple[Pattern, ...]) -> str:
    if not sowings:
        return "No sowing of the last year to look at yet."
    if not troubled:
        return f"No trouble was written down in {sowings} sowings of the last year."
    first = f"Trouble was written down in {troubled} of {sowings} sowings of the last year."
    named = [row for row in rows if row.stands_out]
    if not named:
        return f"{first} Nothing it came with stands out from what chance gives."
    return f"{first} {len(named)} of {len(rows)} pairs stand out; of such at most 1 in 10 is chance."
