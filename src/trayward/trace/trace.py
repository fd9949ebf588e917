"""One question to the record: what leads to a thing, and what came of it."""

from __future__ import annotations

from collections.abc import Iterable

from trayward.trace.balance import harvest_balance, harvest_findings, pack_balance, pack_findings, seed_balance
from trayward.trace.lives import MOST, tray_life
from trayward.trace.record import Links, Record
from trayward.trace.steps import step_of
from trayward.trace.types import CHAIN, Flow, Start, Step, Trace, Way
from trayward.trace.walk import broken, is_late, starts_of, to_customer, walk


def trace(record: Record, start: Start, way: Way = "both") -> Trace:
    """
    Everything that leads to a start, everything that comes of it, or both.

    Parameters
    ----------
    record : Record
        The farm's record at a moment.
    start : Start
        A seed lot, sowing, tray, harvest lot, pack lot or delivery; a customer, a pool of kit, marked kit or a shelf,
        perhaps for some days.
    way : {"back", "forward", "both"}
        Towards the seed, towards the customer, or both.

    Returns
    -------
    Trace
        Steps and flows, the lives of trays where it goes back, balances of all lots on the way, and as findings what
        is named and missing, and what does not add up.

    Notes
    -----
    Forward from a pack goes to its customers alone; where its sisters went is forward from its harvest lots.
    """
    links = Links(record)
    starts = starts_of(links, start)
    steps: dict[str, Step] = {}
    flows: dict[tuple[str, str, str], Flow] = {}
    for forward in (False, True):
        if way == "both" or (way == "forward") == forward:
            more, went = walk(links, starts, forward=forward)
            steps |= more
            flows |= {flow.key: flow for flow in went}
    if start.kind == "customer":
        steps[start.subject] = step_of(links, "customer", start.name)
        flows |= {flow.key: flow for name in starts for flow in to_customer(links, name)}
    return made(links, start, way, steps, flows.values())


def made(links: Links, start: Start, way: Way, steps: dict[str, Step], flows: Iterable[Flow]) -> Trace:
    """The answer, from what was walked."""
    trays = [step.name for step in steps.values() if step.kind == "tray"] if way != "forward" else []
    lives = tuple(life for name in trays[:MOST] if (life := tray_life(links, name)) is not None)
    harvests = tuple(h for name in _names(steps, "harvest") if (h := harvest_balance(links, name)) is not None)
    packs = tuple(p for name in _names(steps, "pack") if (p := pack_balance(links, name)) is not None)
    seed = tuple(s for name in _names(steps, "lot") if (s := seed_balance(links, name)) is not None)
    findings = (*broken(steps), *harvest_findings(links, harvests), *pack_findings(links, packs))
    read = {entry.id: entry for said in links.read.values() for entry in said}
    return Trace(
        start=start, way=way, at=links.record.at, steps=_ordered(steps), flows=tuple(flows), lives=lives,
        more_lives=max(0, len(trays) - MOST), harvests=harvests, packs=packs, seed=seed, findings=findings,
        taken_back=sum(links.record.taken_back(subject) for subject in links.read),
        late=sum(is_late(entry) for entry in read.values()),
    )  # fmt: skip


def _names(steps: dict[str, Step], kind: str) -> list[str]:
    return [step.name for step in steps.values() if step.kind == kind]


def _ordered(steps: dict[str, Step]) -> tuple[Step, ...]:
    def key(step: Step) -> tuple[int, str, str]:
        return CHAIN.index(step.kind), step.at.isoformat() if step.at is not None else "", step.name

    return tuple(sorted(steps.values(), key=key))
