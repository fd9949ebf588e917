"""What a tray went through: places, water and feed, kit and who washed it, people."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from trayward.farm.entries import Entry, Fed, Moved, RoundAnswered, Sanitised, SowingMade, Washed, Watered
from trayward.farm.kit_marks import by_pools, marks_told, pool_of
from trayward.farm.state import Tray
from trayward.farm.transitions.holding import kit_needed
from trayward.farm.transitions.say import show
from trayward.rounds.kit_story import trays_said
from trayward.trace.record import Links
from trayward.trace.types import MarkHeld, TrayLife, Washing

MOST = 24
"""So many trays' lives are told in one trace."""
MOST_USES = 200
"""So many sowings on one mat are followed, the newest of them: more than a mat lasts. Our choice. [-]"""
MOST_BEFORE = 12
"""So many trays before a tray on its mat are told. Our choice. [-]"""
UNDER = ("sowing made", "kit used")
"""What says which mat a tray is on."""


def tray_life(links: Links, name: str) -> TrayLife | None:
    """
    What one tray went through; None where the record does not have it.

    Kit is what its recipe says it holds; which single mat lay in it a farm knows that marks its mats.
    """
    tray = links.state.tray(name)
    if tray is None:
        return None
    said = links.about(f"tray:{name}")
    recipe = links.state.recipes.get(tray.recipe)
    water = [entry.body.ml for entry in said if isinstance(entry.body, Watered)]
    fed = [entry.body for entry in said if isinstance(entry.body, Fed)]
    kit = _kit(links, tray)
    marks = marks_told(links.state, name, said)
    return TrayLife(
        tray=name, crop=tray.crop, recipe=tray.recipe, medium=recipe.medium.name if recipe is not None else "",
        sown_at=tray.sown_at, ended_at=tray.ended_at, fate=tray.fate, places=_places(tray, said), kit=kit,
        marks=tuple(_held(links, mark, tray) for mark in marks),
        watered_ml=sum(water), waterings=len(water), fed_ml=sum(body.ml for body in fed),
        feeds=tuple(dict.fromkeys(_feed_words(body) for body in fed)), problems=_problems(said),
        people=tuple(dict.fromkeys(entry.by for entry in said)),
        washed=tuple(_washed(links, kit, marks, tray)), grams=tray.grams,
    )  # fmt: skip


def _kit(links: Links, tray: Tray) -> dict[str, int]:
    recipe = links.state.recipes.get(tray.recipe)
    if recipe is None:
        return {}
    found: dict[str, int] = {}
    for step in tray.steps:
        for pool, each in kit_needed(recipe, step.stage).items():
            found[pool] = max(each, found.get(pool, 0))
    return found


def _places(tray: Tray, said: Iterable[Entry]) -> tuple[str, ...]:
    spots: list[str] = []
    for entry in said:
        body = entry.body
        placed = body.trays if isinstance(body, SowingMade) else body.moves if isinstance(body, Moved) else ()
        spots += [each.spot for each in placed if each.tray == tray.tray and each.spot is not None]
    together: list[str] = []
    for spot in spots:
        if not together or together[-1] != spot:
            together.append(spot)
    return tuple(together)


def _feed_words(body: Fed) -> str:
    figures = [
        f"pH {show(body.ph)}" if body.ph is not None else "",
        f"{show(body.ec)} dS/m" if body.ec is not None else "",
    ]
    return " ".join([body.feed or "feed", *(figure for figure in figures if figure)])


def _problems(said: Iterable[Entry]) -> tuple[str, ...]:
    words = (entry.body.problem for entry in said if isinstance(entry.body, RoundAnswered) and entry.body.problem)
    return tuple(dict.fromkeys(words))


def _held(links: Links, mark: str, tray: Tray) -> MarkHeld:
    held = pool_of(links.state, mark)
    before = [name for name in trays_on(links, mark, until=tray.sown_at, limit=MOST_BEFORE) if name != tray.tray]
    return MarkHeld(mark=mark, pool=held.pool.name if held is not None else "", before=tuple(reversed(before)))


def trays_on(links: Links, mark: str, *, until: datetime | None = None, limit: int = MOST_USES) -> list[str]:
    """The trays that a marked mat, tray or cover held, the last of them before a moment, in the order of happening."""
    said = links.record.some(f"mark:{mark}", UNDER, since=None, until=until, limit=limit)
    return [name for name in trays_said(mark, reversed(said)) if mark in _marks_of(links, name)]


def _marks_of(links: Links, tray: str) -> tuple[str, ...]:
    """What a tray was on; read aside, for what is late or taken back there is no matter of this trace."""
    said = links.record.some(f"tray:{tray}", UNDER, since=None, until=None, limit=MOST_BEFORE)
    return marks_told(links.state, tray, reversed(said))


def _washed(links: Links, kit: Iterable[str], marks: Iterable[str], tray: Tray) -> Iterable[Washing]:
    """Of marked kit how each was last cleaned, of other kit its pool."""
    mine = by_pools(links.state, marks)
    for pool in kit:
        if pool not in mine:
            yield from _washings(links, f"kit:{pool}", pool, tray)
        for mark in mine.get(pool, ()):
            yield from _washings(links, f"mark:{mark}", f"{pool} {mark}", tray)


def _washings(links: Links, subject: str, pool: str, tray: Tray) -> Iterable[Washing]:
    """The last wash and the last sanitising of some kit before a tray was sown."""
    for kind in ("washed", "sanitised"):
        entry = links.last(subject, kind, tray.sown_at)
        if entry is not None:
            yield Washing(pool=pool, deed=kind, at=entry.at, by=entry.by, words=_wash_words(entry.body))


def _wash_words(body: object) -> str:
    if isinstance(body, Washed):
        figures = [body.soap, f"rinsed at {show(body.rinse_c)} C" if body.rinse_c is not None else ""]
    elif isinstance(body, Sanitised):
        figures = [
            body.agent,
            f"{show(body.strength_ppm)} ppm" if body.strength_ppm is not None else "",
            f"{show(body.contact_min)} min" if body.contact_min is not None else "",
        ]
    else:
        figures = []
    return ", ".join(figure for figure in figures if figure)
