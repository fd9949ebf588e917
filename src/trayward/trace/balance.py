"""What balances: grams cut against where they went, packs filled against where they are, seed against its sowings.

The record holds what left a lot, and what is left of it; tracing adds up the entries on its own, so a difference shows
where more was said to go out than was there, where something was struck, or where somebody forgot to say.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import timedelta

from trayward.errors import Finding
from trayward.farm.calendar import local_day
from trayward.farm.transitions.say import ROUNDING_G, show
from trayward.trace.record import Links, grams_by_lot, loose_in, packs_by_lot, packs_in
from trayward.trace.types import HarvestBalance, PackBalance, SeedBalance

SAMPLED = ("sample", "taste", "tasting", "test", "lab")
"""Reasons for throwing away that say it was looked into, not lost."""
CLOSE_G = 0.5
"""Differences up to this are the scale's. Our choice. [g]"""


def is_sample(reason: str) -> bool:
    """Whether crop went out of the record as a sample."""
    return any(word in reason.lower() for word in SAMPLED)


def harvest_balance(links: Links, name: str) -> HarvestBalance | None:
    """Where the grams of a harvest lot are; None where the record does not have it. [g]"""
    lot, found = links.state.harvests.get(name), links.cut(name)
    if lot is None or found is None:
        return None
    cut_g = sum(max(0.0, cut.grams) for cut in found[1].trays if cut.tray in lot.trays)
    packed = sum(grams_by_lot(body.parts).get(name, 0.0) for _, body in links.packed(name))
    loose = sum(loose_in(body).get(name, 0.0) for _, body in links.delivered(f"harvest:{name}"))
    gone = [(body.reason, grams_by_lot(body.parts).get(name, 0.0)) for _, body in links.thrown(f"harvest:{name}")]
    sampled = sum(grams for reason, grams in gone if is_sample(reason))
    thrown = sum(grams for reason, grams in gone if not is_sample(reason))
    difference = cut_g - packed - loose - thrown - sampled - lot.left_g
    return HarvestBalance(
        harvest=name, crop=lot.crop, cut_g=cut_g, packed_g=packed, loose_g=loose, thrown_g=thrown, sampled_g=sampled,
        cold_room_g=lot.left_g, difference_g=0.0 if abs(difference) < ROUNDING_G else difference,
    )  # fmt: skip


def pack_balance(links: Links, name: str) -> PackBalance | None:
    """Where the packs of a filling are; None where the record does not have it."""
    lot = links.state.packs.get(name)
    if lot is None:
        return None
    delivered = sum(packs_in(body).get(name, 0) for _, body in links.delivered(f"pack:{name}"))
    thrown = sum(packs_by_lot(body.packs).get(name, 0) for _, body in links.thrown(f"pack:{name}"))
    return PackBalance(
        pack=name, product=lot.product, packs=lot.packs, delivered=delivered, thrown=thrown, here=lot.left,
        difference=lot.packs - delivered - thrown - lot.left, pack_g=lot.pack_g,
        over_g=sum(lot.parts.values()) - lot.packs * lot.pack_g, best_before=lot.best_before,
    )  # fmt: skip


def seed_balance(links: Links, name: str) -> SeedBalance | None:
    """Where the seed of a lot is; None where the record does not have it, or it has not come yet. [g]"""
    lot = links.state.seed.get(name)
    if lot is None or lot.expected_on is not None:
        return None
    sown = sum(sowing.lots[name] for sowing in links.sown.get(name, ()))
    difference = lot.received_g - sown - lot.left_g
    return SeedBalance(
        lot=name, received_g=lot.received_g, sown_g=sown, left_g=lot.left_g,
        difference_g=0.0 if abs(difference) < ROUNDING_G else difference,
    )  # fmt: skip


# What does not balance ------------------------------------------------------------------------------------------------


def harvest_findings(links: Links, balances: Iterable[HarvestBalance]) -> list[Finding]:
    """Harvest lots whose grams do not add up, or that the record keeps in the cold room past their days."""
    found = []
    for each in balances:
        about, lot = f"harvest:{each.harvest}", links.state.harvests[each.harvest]
        if each.difference_g < -CLOSE_G:
            over = show(-each.difference_g)
            message = f"harvest lot {each.harvest} = {show(each.cut_g)} g cut: {over} g more went out than was cut."
            found.append(_wrong("trace-more-out", message, "Look for a lot or a weight that was mistyped.", about))
        elif each.difference_g > CLOSE_G:
            message = (
                f"harvest lot {each.harvest} = {show(each.cut_g)} g cut: nobody says where {show(each.difference_g)} g "
                "went."
            )
            found.append(_wrong("trace-missing", message, "Look for what was struck, or say where it went.", about))
        last = lot.cut_at + timedelta(days=lot.cold_room_days + 1)
        if each.cold_room_g > CLOSE_G and links.record.at > last:
            message = (
                f"harvest lot {each.harvest} = {show(each.cold_room_g)} g in the cold room by the record: it keeps "
                f"{lot.cold_room_days} d, and they are over."
            )
            remedy = "Weigh what is there; throw it away and say so, or say where it went."
            found.append(Finding(code="trace-stale", severity="odd", message=message, remedy=remedy, about=about))
    return found


def pack_findings(links: Links, balances: Iterable[PackBalance]) -> list[Finding]:
    """Pack lots whose packs do not add up, or that stand here past their day."""
    found = []
    today = local_day(links.record.at, links.settings)
    for each in balances:
        about = f"pack:{each.pack}"
        if each.difference < 0:
            message = f"pack lot {each.pack} = {each.packs} packs filled: {-each.difference} more went out."
            found.append(_wrong("trace-more-packs", message, "Look for a lot or a count that was mistyped.", about))
        elif each.difference > 0:
            message = f"pack lot {each.pack} = {each.packs} packs filled: nobody says where {each.difference} went."
            found.append(_wrong("trace-missing-packs", message, "Count what is here, or say where they went.", about))
        if each.here and each.best_before is not None and today > each.best_before:
            message = f"pack lot {each.pack} = {each.here} packs here by the record: best before {each.best_before}."
            remedy = "Count them; throw them away and say so, or say where they went."
            found.append(Finding(code="trace-stale", severity="odd", message=message, remedy=remedy, about=about))
    return found


def _wrong(code: str, message: str, remedy: str, about: str) -> Finding:
    return Finding(code=code, severity="wrong", message=message, remedy=remedy, about=about)
