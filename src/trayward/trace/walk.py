"""Walking the chain forward and back: what went from each step to the next."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta

from trayward.errors import Finding
from trayward.farm.calendar import day_start
from trayward.farm.entries import Delivered, Entry, SowingMade
from trayward.farm.places import shelf_of
from trayward.farm.state import Tray
from trayward.farm.transitions.holding import kit_needed
from trayward.trace.lives import trays_on
from trayward.trace.record import Links, grams_by_lot, loose_in, packs_by_lot, packs_in
from trayward.trace.steps import step_of
from trayward.trace.types import KIND_WORDS, Flow, Start, Step

LATE = timedelta(days=1)
"""An entry written down this long after it happened is said to be late. Our choice; the rules ask for "at the time"."""
MOST_DELIVERIES = 2_000
"""So many deliveries of one customer are followed."""


def walk(links: Links, starts: list[str], *, forward: bool) -> tuple[dict[str, Step], list[Flow]]:
    """
    Every step that comes of some starts, or leads to them.

    Parameters
    ----------
    links : Links
        The record.
    starts : list of str
        `kind:name`.
    forward : bool
        Towards the customer, or towards the seed.

    Returns
    -------
    steps : dict of str to Step
        By `kind:name`, the starts among them.
    flows : list of Flow
        Each once, from the seed's side to the customer's.
    """
    steps: dict[str, Step] = {}
    flows: dict[tuple[str, str, str], Flow] = {}
    waiting = deque(starts)
    onward = _FORWARD if forward else _BACK
    while waiting:
        subject = waiting.popleft()
        if subject in steps:
            continue
        kind, _, name = subject.partition(":")
        steps[subject] = step_of(links, kind, name)
        for flow in onward[kind](links, name) if kind in onward else ():
            flows.setdefault(flow.key, flow)
            following = flow.target if forward else flow.source
            if not following.startswith("out:"):
                waiting.append(following)
    return steps, list(flows.values())


def starts_of(links: Links, start: Start) -> list[str]:
    """The steps that a start means: itself, or the trays that held some kit, or the deliveries of a customer."""
    if start.kind == "kit":
        return [f"tray:{tray.tray}" for tray in _trays_with(links, start, _held(links, start.name))]
    if start.kind == "mark":
        return [f"tray:{tray.tray}" for tray in _trays_on(links, start)]
    if start.kind == "shelf":
        return [f"tray:{tray.tray}" for tray in _trays_with(links, start, _stood(start.name))]
    if start.kind == "customer":
        return [f"delivery:{body.delivery}" for _, body in deliveries_to(links, start)]
    return [start.subject]


def deliveries_to(links: Links, start: Start) -> list[tuple[Entry, Delivered]]:
    """What went to a customer in some days, the oldest first."""
    since, until = _moments(links, start)
    found = links.record.some(start.subject, ("delivered",), since=since, until=until, limit=MOST_DELIVERIES)
    return [(entry, entry.body) for entry in reversed(found) if isinstance(entry.body, Delivered)]


def to_customer(links: Links, delivery: str) -> Iterator[Flow]:
    """What a delivery (`delivery:name`) brought to whom."""
    return _from_delivery(links, delivery.partition(":")[2])


def _moments(links: Links, start: Start) -> tuple[datetime | None, datetime | None]:
    first, last = start.span.first, start.span.last
    since = day_start(first, links.settings) if first is not None else None
    until = day_start(last + timedelta(days=1), links.settings) if last is not None else None
    return since, until


# Kit and shelves ------------------------------------------------------------------------------------------------------


def _held(links: Links, pool: str) -> Callable[[Tray, int], bool]:
    state = links.state

    def held(tray: Tray, number: int) -> bool:
        recipe = state.recipes.get(tray.recipe)
        return recipe is not None and pool in kit_needed(recipe, tray.steps[number].stage)

    return held


def _trays_on(links: Links, start: Start) -> list[Tray]:
    """Trays that were on a marked thing within the days."""
    since, until = _moments(links, start)
    trays = [links.state.tray(name) for name in trays_on(links, start.name)]
    return [
        tray
        for tray in trays
        if tray is not None
        and (until is None or tray.sown_at < until)
        and (since is None or tray.ended_at is None or tray.ended_at >= since)
    ]


def _stood(shelf: str) -> Callable[[Tray, int], bool]:
    return lambda tray, number: (spot := tray.steps[number].spot) is not None and shelf_of(spot) == shelf


def _trays_with(links: Links, start: Start, fits: Callable[[Tray, int], bool]) -> list[Tray]:
    """Trays of which a stage fits within the days."""
    since, until = _moments(links, start)
    found = []
    for tray in (*links.state.ended.values(), *links.state.trays.values()):
        for number, step in enumerate(tray.steps):
            end = step.until or tray.ended_at
            inside = (until is None or step.since < until) and (since is None or end is None or end >= since)
            if inside and fits(tray, number):
                found.append(tray)
                break
    return found


# Forward --------------------------------------------------------------------------------------------------------------


def _from_lot(links: Links, name: str) -> Iterator[Flow]:
    for sowing in links.sown.get(name, ()):
        yield _sown_flow(links, name, sowing.sowing, sowing.lots[name])


def _sown_flow(links: Links, lot: str, sowing: str, grams: float | None) -> Flow:
    entry = _sowing_entry(links, sowing)
    return _flow(f"lot:{lot}", f"sowing:{sowing}", entry, grams=grams)


def _sowing_entry(links: Links, sowing: str) -> Entry | None:
    return next((each for each in links.about(f"sowing:{sowing}") if isinstance(each.body, SowingMade)), None)


def _from_sowing(links: Links, name: str) -> Iterator[Flow]:
    sowing = links.state.sowings.get(name)
    for tray in sowing.trays if sowing is not None else ():
        held = links.state.tray(tray)
        yield _flow(f"sowing:{name}", f"tray:{tray}", None, grams=held.seed_g if held is not None else None)


def _from_tray(links: Links, name: str) -> Iterator[Flow]:
    for harvest in links.harvests.get(name, ()):
        yield from (flow for flow in _into_harvest(links, harvest) if flow.source == f"tray:{name}")
    tray = links.state.tray(name)
    if tray is not None and tray.fate == "delivered":
        for entry, body in links.delivered(f"tray:{name}"):
            yield _flow(f"tray:{name}", f"delivery:{body.delivery}", entry)


def _from_harvest(links: Links, name: str) -> Iterator[Flow]:
    for entry, body in links.packed(name):
        yield _flow(f"harvest:{name}", f"pack:{body.pack}", entry, grams=grams_by_lot(body.parts).get(name, 0.0))
    for entry, out in links.delivered(f"harvest:{name}"):
        if grams := loose_in(out).get(name):
            yield _flow(f"harvest:{name}", f"delivery:{out.delivery}", entry, grams=grams)
    for entry, gone in links.thrown(f"harvest:{name}"):
        if grams := grams_by_lot(gone.parts).get(name):
            yield _flow(f"harvest:{name}", f"out:{gone.reason}", entry, grams=grams)


def _from_pack(links: Links, name: str) -> Iterator[Flow]:
    lot = links.state.packs.get(name)
    each = lot.pack_g if lot is not None else None
    for entry, out in links.delivered(f"pack:{name}"):
        if packs := packs_in(out).get(name):
            yield _flow(f"pack:{name}", f"delivery:{out.delivery}", entry, packs=packs, grams=_times(packs, each))
    for entry, gone in links.thrown(f"pack:{name}"):
        if packs := packs_by_lot(gone.packs).get(name):
            yield _flow(f"pack:{name}", f"out:{gone.reason}", entry, packs=packs, grams=_times(packs, each))


def _from_delivery(links: Links, name: str) -> Iterator[Flow]:
    for entry, body in links.delivered(f"delivery:{name}"):
        yield _flow(f"delivery:{name}", f"customer:{body.customer}", entry)


# Back -----------------------------------------------------------------------------------------------------------------


def _into_delivery(links: Links, name: str) -> Iterator[Flow]:
    for entry, body in links.delivered(f"delivery:{name}"):
        yield from _contents(links, entry, body)


def _contents(links: Links, entry: Entry, body: Delivered) -> Iterator[Flow]:
    target = f"delivery:{body.delivery}"
    for line in body.lines:
        for tray in line.trays:
            yield _flow(f"tray:{tray}", target, entry)
    for pack, number in packs_in(body).items():
        lot = links.state.packs.get(pack)
        grams = _times(number, lot.pack_g if lot is not None else None)
        yield _flow(f"pack:{pack}", target, entry, packs=number, grams=grams)
    for harvest, grams in loose_in(body).items():
        yield _flow(f"harvest:{harvest}", target, entry, grams=grams)


def _into_pack(links: Links, name: str) -> Iterator[Flow]:
    found = links.filling(name)
    if found is None:
        return
    for harvest, grams in grams_by_lot(found[1].parts).items():
        yield _flow(f"harvest:{harvest}", f"pack:{name}", found[0], grams=grams)


def _into_harvest(links: Links, name: str) -> Iterator[Flow]:
    found = links.cut(name)
    if found is None:
        return
    for cut in found[1].trays:
        yield _flow(f"tray:{cut.tray}", f"harvest:{name}", found[0], grams=cut.grams)


def _into_tray(links: Links, name: str) -> Iterator[Flow]:
    tray = links.state.tray(name)
    if tray is not None:
        yield _flow(f"sowing:{tray.sowing}", f"tray:{name}", None, grams=tray.seed_g)


def _into_sowing(links: Links, name: str) -> Iterator[Flow]:
    sowing = links.state.sowings.get(name)
    for lot, grams in sowing.lots.items() if sowing is not None else ():
        yield _sown_flow(links, lot, name, grams)


def _flow(
    source: str, target: str, entry: Entry | None, *, grams: float | None = None, packs: int | None = None
) -> Flow:
    if entry is None:
        return Flow(source=source, target=target, grams=grams, packs=packs)
    return Flow(
        source=source, target=target, grams=grams, packs=packs, at=entry.at, by=entry.by, entry=entry.id,
        late=is_late(entry),
    )  # fmt: skip


def is_late(entry: Entry) -> bool:
    """Whether it was written down more than a day after it happened."""
    return entry.recorded - entry.at > LATE


def _times(number: int, each: float | None) -> float | None:
    return None if each is None else number * each


Onward = Callable[[Links, str], Iterator[Flow]]
_FORWARD: dict[str, Onward] = {
    "lot": _from_lot, "sowing": _from_sowing, "tray": _from_tray, "harvest": _from_harvest, "pack": _from_pack,
    "delivery": _from_delivery,
}  # fmt: skip
_BACK: dict[str, Onward] = {
    "delivery": _into_delivery, "pack": _into_pack, "harvest": _into_harvest, "tray": _into_tray,
    "sowing": _into_sowing,
}  # fmt: skip


def broken(steps: dict[str, Step]) -> list[Finding]:
    """What is named on the way and not in the record: there the trace ends."""
    return [
        Finding(
            code="trace-broken",
            severity="wrong",
            message=f"{KIND_WORDS[step.kind]} {step.name} = none: something names it, and the record does not have it.",
            remedy="It was struck or never said: look in the book, and say it again.",
            about=subject,
        )
        for subject, step in steps.items()
        if not step.known
    ]
