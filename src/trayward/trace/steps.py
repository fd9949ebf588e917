"""What is told of each thing on the way."""

from __future__ import annotations

from collections.abc import Callable

from trayward.codes.lot import coded
from trayward.errors import InputError
from trayward.farm.entries import Entry
from trayward.trace.record import Links, loose_in, packs_in
from trayward.trace.types import Kind, Step


def code_of(name: str) -> str:
    """A name with its check character; empty for a name that has nothing to protect."""
    try:
        return coded(name)
    except InputError:
        return ""


def step_of(links: Links, kind: str, name: str) -> Step:
    """What is told of a thing."""
    return _STEPS[kind](links, name)


def _unknown(kind: Kind, name: str) -> Step:
    return Step(kind=kind, name=name, code=code_of(name), known=False)


def _lot(links: Links, name: str) -> Step:
    lot = links.state.seed.get(name)
    if lot is None:
        return _unknown("lot", name)
    sender = " ".join(word for word in (lot.supplier, lot.supplier_lot and f"lot {lot.supplier_lot}") if word)
    note = ", ".join(word for word in (sender, "treated seed" if lot.treated else "") if word)
    return Step(
        kind="lot", name=name, code=code_of(name), what=" ".join(filter(None, (lot.crop, lot.variety))),
        at=lot.received_at, grams=lot.received_g, note=note,
    )  # fmt: skip


def _sowing(links: Links, name: str) -> Step:
    sowing = links.state.sowings.get(name)
    if sowing is None:
        return _unknown("sowing", name)
    return Step(
        kind="sowing", name=name, code=code_of(name), what=sowing.crop, at=sowing.sown_at,
        grams=sum(sowing.lots.values()), trays=len(sowing.trays),
    )  # fmt: skip


def _tray(links: Links, name: str) -> Step:
    tray = links.state.tray(name)
    if tray is None:
        return _unknown("tray", name)
    note = f"{tray.fate}{f': {tray.reason}' if tray.reason else ''}" if tray.fate != "growing" else f"in {tray.stage}"
    return Step(
        kind="tray", name=name, code=code_of(name), what=tray.crop, at=tray.sown_at, grams=tray.grams,
        note=f"{note}{f', {tray.problem} seen' if tray.problem else ''}",
    )  # fmt: skip


def _harvest(links: Links, name: str) -> Step:
    lot, found = links.state.harvests.get(name), links.cut(name)
    if lot is None:
        return _unknown("harvest", name)
    return Step(
        kind="harvest", name=name, code=code_of(name), what=lot.crop, at=lot.cut_at, grams=lot.grams,
        trays=len(lot.trays), by=_by(found[0] if found else None),
    )  # fmt: skip


def _pack(links: Links, name: str) -> Step:
    lot, found = links.state.packs.get(name), links.filling(name)
    if lot is None:
        return _unknown("pack", name)
    note = f"best before {lot.best_before}" if lot.best_before else ""
    return Step(
        kind="pack", name=name, code=code_of(name), what=lot.product, at=lot.packed_at, grams=lot.packs * lot.pack_g,
        packs=lot.packs, by=_by(found[0] if found else None), note=note,
    )  # fmt: skip


def _delivery(links: Links, name: str) -> Step:
    found = links.delivered(f"delivery:{name}")
    if not found:
        return _unknown("delivery", name)
    entry, body = found[0]
    packs, held = packs_in(body), links.state.packs
    grams = sum(number * held[pack].pack_g for pack, number in packs.items() if pack in held)
    grams += sum(loose_in(body).values())
    trays = sum(len(line.trays) for line in body.lines)
    return Step(
        kind="delivery", name=name, code=code_of(name), what=f"to {body.customer}", at=entry.at, grams=grams,
        packs=sum(packs.values()), trays=trays or None, by=entry.by,
        note=f"document {body.document}" if body.document else "",
    )  # fmt: skip


def _customer(links: Links, name: str) -> Step:
    held = links.state.customers.get(name)
    note = "own table" if held is not None and held.home else ""
    return Step(kind="customer", name=name, note=note, known=held is not None)


def _by(entry: Entry | None) -> str:
    return entry.by if entry is not None else ""


_STEPS: dict[str, Callable[[Links, str], Step]] = {
    "lot": _lot, "sowing": _sowing, "tray": _tray, "harvest": _harvest, "pack": _pack, "delivery": _delivery,
    "customer": _customer,
}  # fmt: skip
