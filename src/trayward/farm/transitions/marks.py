"""Kit gets marks, goes under trays by mark, and is retired or lost."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from trayward.errors import Finding
from trayward.farm.entries import Entry, KitMarked, KitRetired, KitUsed, MarksOn
from trayward.farm.kit import GONE, Mark, PoolState
from trayward.farm.kit_clear import mark_uncleared
from trayward.farm.kit_marks import (
    MARK,
    by_pools,
    in_service,
    marks_words,
    pool_of,
    put_under,
)
from trayward.farm.kit_owners import pass_on
from trayward.farm.state import FarmState
from trayward.farm.transitions.holding import kit_needed
from trayward.farm.transitions.say import Findings, between, growing_problems, grows, odd, twice, wrong


def check_marked(state: FarmState, body: KitMarked, entry: Entry) -> Findings:
    found = _new_marks(state, entry, body.pool, body.marks)
    found += between(entry, f"kit {body.pool}, uses so far", body.uses, 0, 1_000_000)
    if found:
        return found
    held = state.kit[body.pool]
    marked = in_service(held) + len(body.marks)
    if marked <= held.pool.count:
        return []
    message = f"kit {body.pool} = {marked} marks: the pool holds {held.pool.count}."
    return [odd(entry, "marks-many", message, "Count the pool, or retire marks that are gone.")]


def apply_marked(state: FarmState, body: KitMarked, entry: Entry) -> None:
    """They are taken for clean and dry; those under a tray are said so next, those in the wash are washed first."""
    held = state.kit[body.pool]
    for name in body.marks:
        held.marks[name] = Mark(since=entry.at, uses=body.uses)


def _new_marks(state: FarmState, entry: Entry, pool: str, marks: Sequence[str]) -> Findings:
    if pool not in state.kit:
        message = f"kit {pool} = none: the farm has no pool of that name."
        return [wrong(entry, "kit-unknown", message, "Set up the pool first.")]
    if not marks:
        return [wrong(entry, "nothing-named", "marks = none: at least one must be named.", "For instance M1-M40.")]
    found = twice(entry, "mark", list(marks))
    for name in marks:
        if MARK.fullmatch(name) is None:
            message = f"mark = {name!r}: it must be a letter and then letters or digits, 16 at most."
            found.append(wrong(entry, "mark-name", message, "For instance M1."))
        elif (known := pool_of(state, name)) is not None:
            message = f"mark {name} = {known.pool.name}: a mark is used once on a farm."
            found.append(wrong(entry, "mark-twice", message, "Take the next free one."))
    return found


# Under a tray ---------------------------------------------------------------------------------------------------------


def check_used(state: FarmState, body: KitUsed, entry: Entry) -> Findings:
    found = growing_problems(state, entry, (body.tray,), "said to be on marked kit")
    if not body.marks:
        found.append(wrong(entry, "nothing-named", "marks = none: at least one must be named.", "Name them."))
    tray = grows(state, body.tray)
    if found or tray is None:
        return found
    mine = {name for held in state.kit.values() for name in held.on.get(body.tray, ())}
    fresh = tuple(name for name in body.marks if name not in mine)
    return marks_problems(state, entry, (MarksOn(tray=body.tray, marks=fresh),), tray.kit, refuse=False)


def apply_used(state: FarmState, body: KitUsed, entry: Entry) -> None:
    del entry
    tray = grows(state, body.tray)
    if tray is not None:
        put_under(state, tray, body.marks)


def sown_marks(state: FarmState, entry: Entry, given: Sequence[MarksOn], recipe_name: str, stage: str) -> Findings:
    """What is wrong or odd about the marks of a sowing."""
    if not given:
        return []
    recipe = state.recipes[recipe_name]
    return marks_problems(state, entry, given, kit_needed(recipe, stage), refuse=True)


def marks_problems(
    state: FarmState, entry: Entry, given: Sequence[MarksOn], needed: dict[str, int], *, refuse: bool
) -> Findings:
    """Marks that are unknown, gone, named twice, too many for a tray, or not cleared.

    `refuse`: where the farm refuses to sow on what is not cleared, that is wrong and not only odd.
    """
    found = twice(entry, "mark", [name for on in given for name in on.marks])
    for on in given:
        for pool, names in by_pools(state, on.marks).items():
            if len(names) > needed.get(pool, 0):
                message = f"tray {on.tray}, marks = {marks_words(names)}: it holds {needed.get(pool, 0)} of {pool}."
                found.append(odd(entry, "marks-many", message, "Check the marks, or the kit of its recipe."))
        found += [problem for name in on.marks for problem in _mark_problems(state, entry, name, refuse=refuse)]
    return found


def _mark_problems(state: FarmState, entry: Entry, name: str, *, refuse: bool) -> Findings:
    held = pool_of(state, name)
    if held is None:
        return [mark_unknown(entry, name)]
    mark = held.marks[name]
    if mark.where in GONE:
        return [_gone(entry, held, name)]
    lacks = mark_uncleared(state, held, name, entry.at)
    if lacks is None:
        return []
    message = f"{held.pool.name} {name} = not cleared: {lacks[0]}."
    say = wrong if refuse and held.pool.clearing.refuse else odd
    return [say(entry, "kit-uncleared", message, lacks[1])]


def mark_unknown(entry: Entry, name: str) -> Finding:
    """Somebody names a mark that nothing carries."""
    message = f"mark {name} = none: nothing of the farm's carries it."
    return wrong(entry, "mark-unknown", message, "Check the mark, or give it to a thing of a pool first.")


def _gone(entry: Entry, held: PoolState, name: str) -> Finding:
    mark = held.marks[name]
    why = f", {mark.reason}" if mark.reason else ""
    message = f"{held.pool.name} {name} = {mark.where}{why}: it is used no more."
    return wrong(entry, "mark-gone", message, "Check the mark, or strike the entry that says so.")


# Gone -----------------------------------------------------------------------------------------------------------------


def check_retired(state: FarmState, body: KitRetired, entry: Entry) -> Findings:
    if body.pool not in state.kit:
        return _new_marks(state, entry, body.pool, body.marks)
    held, found = state.kit[body.pool], twice(entry, "mark", list(body.marks))
    if not body.marks:
        found.append(wrong(entry, "nothing-named", "marks = none: at least one must be named.", "Name them."))
    for name in body.marks:
        if name not in held.marks:
            found.append(mark_unknown(entry, name))
        elif held.marks[name].where in GONE:
            found.append(_gone(entry, held, name))
        elif held.marks[name].where == "in use":
            message = f"{body.pool} {name} = under tray {held.marks[name].tray}: it is still needed there."
            found.append(wrong(entry, "mark-in-use", message, "Strip the tray first, or say which mark it is on."))
    return found + (_new_marks(state, entry, body.pool, body.replaced_by) if body.replaced_by else [])


def apply_retired(state: FarmState, body: KitRetired, entry: Entry) -> None:
    """The pool holds so many less, out of where each one was; those that take their place are new and clean."""
    held = state.kit[body.pool]
    for name in body.marks:
        _out(held, held.marks[name], entry)
        held.marks[name].where, held.marks[name].reason = body.fate, body.reason
    for number, name in enumerate(body.replaced_by):
        before = body.marks[number] if number < len(body.marks) else ""
        held.marks[name] = Mark(since=entry.at, replaces=before)
    count = max(0, held.pool.count - len(body.marks) + len(body.replaced_by))
    held.pool = replace(held.pool, count=count)


def _out(held: PoolState, mark: Mark, entry: Entry) -> None:
    if mark.where == "dirty":
        held.dirty = max(0, held.dirty - 1)
        pass_on(held, "dirty", 1)
        held.suspect = max(0, held.suspect - mark.suspect)
    elif mark.where == "washed":
        held.washed = max(0, held.washed - 1)
        pass_on(held, "washed", 1)
    elif mark.where == "away":
        held.away = max(0, held.away - 1)
        pass_on(held, "away", 1)
    elif mark.since is not None and mark.since > entry.at:
        _dries_no_more(held, mark)


def _dries_no_more(held: PoolState, mark: Mark) -> None:
    for number, batch in enumerate(held.drying):
        if batch.ready_at == mark.since and batch.count > 0:
            held.drying[number] = replace(batch, count=batch.count - 1)
            return
