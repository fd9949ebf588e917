"""Words for what grows: crops and orders that are no more, trays lost, seed late, missing or more."""

from __future__ import annotations

import re
from datetime import timedelta

from trayward.desk.lookup import trays_named
from trayward.desk.wonder.reading import (
    COUNT,
    Asked,
    Span,
    count_of,
    crops_of,
    direction,
    find,
    found,
    known_names,
    nearest,
    need_day,
    take_span,
)
from trayward.desk.wonder.selling import orders_times
from trayward.errors import InputError, NotFoundError
from trayward.farm.state import Tray
from trayward.plan.supposed import Supposition
from trayward.plan.what_if import CropGone, MoreSeed, ProductGone, RecipeGone, SeedGone, SeedLate, ShelfGone, TraysLost
from trayward.units import parse_mass

# No more of something -------------------------------------------------------------------------------------------------

_KIND = r"standing order|order|customer|crop|recipe|product|shelf|seed lot|lot|seed of lot|tray"
_NO = re.compile(rf"(?:no more|no|without|drop)\s+(?:(?P<kind>{_KIND})\s+)?(?P<name>.+)", re.IGNORECASE)
_NO_AFTER = re.compile(
    rf"(?:(?P<kind>{_KIND})\s+)?(?P<name>.+?)\s+(?:paused|pauses|ended|ends|dropped|gone|cancelled|is off)",
    re.IGNORECASE,
)
_FOR_GOOD = ("crop", "recipe", "product", "seed lot", "tray")


def read_no(asked: Asked) -> list[Supposition] | None:
    """What is left out: "no thimble-fri", "no Thimble Row Grocer from 2026-12-08", "no basil", "no seed lot B1"."""
    whole = _NO.fullmatch(asked.text)
    if whole is not None and find(whole["name"], _all_names(asked)) is not None:
        rest, span = asked.text, Span()  # a name that ends in days, "pea on coir" and the like
    elif whole is None and not _NO_AFTER.match(asked.text):
        return None
    else:
        rest, span = take_span(asked.text, asked.today)
    matched = _NO.fullmatch(rest) or _NO_AFTER.fullmatch(rest)
    if matched is None:
        return None
    kind, name = _meant(matched["kind"], matched["name"], asked)
    if kind in _FOR_GOOD and span != Span():
        remedy = "Leave the days out, or name the orders that are off in these days."
        raise InputError(kind, name, "it can only be left out for good", remedy)
    return [_gone(kind, name, span, asked)]


def _all_names(asked: Asked) -> list[str]:
    return [name for names in known_names(asked.state).values() for name in names]


def _meant(said: str | None, text: str, asked: Asked) -> tuple[str, str]:
    """The kind and the name of what is meant; of kinds that share a name, the first."""
    names = known_names(asked.state)
    if said:
        kind = {"lot": "seed lot", "seed of lot": "seed lot"}.get(said.casefold(), said.casefold())
        return kind, found(text, names[kind], kind)
    for kind, known in names.items():
        name = find(text, known)
        if name is not None:
            return kind, name
    raise InputError("name", repr(text), "the farm has nothing of that name", nearest(text, _all_names(asked)))


def _gone(kind: str, name: str, span: Span, asked: Asked) -> Supposition:
    match kind:
        case "crop":
            return CropGone(crop=name)
        case "recipe":
            return RecipeGone(recipe=name)
        case "product":
            return ProductGone(product=name)
        case "shelf":
            return ShelfGone(shelf=name, first=span.first, last=span.last)
        case "seed lot":
            return SeedGone(lot=name)
        case "tray":
            return TraysLost(trays=(name,))
    return orders_times(name, 0.0, span, asked)


def read_not_sown(asked: Asked) -> list[Supposition] | None:
    """A crop not sown while its orders stay: "basil not sown"."""
    matched = re.fullmatch(r"(?P<crop>.+?)\s+(?:is\s+)?(?:not|no longer)\s+(?:sown|grown)", asked.text, re.IGNORECASE)
    if matched is None:
        return None
    return [CropGone(crop=found(matched["crop"], crops_of(asked.state), "crop"), asked=True)]


# Trays ----------------------------------------------------------------------------------------------------------------

_LOST = re.compile(
    rf"(?:(?P<count>all|every|the|{COUNT})\s+)?(?P<what>.*?)\s*(?:\bare|\bis)?\s*\b(?:lost|spoilt|thrown away)",
    re.IGNORECASE,
)


def read_lost(asked: Asked) -> list[Supposition] | None:
    """Trays lost: "tray T12 lost", "all radish trays lost", "3 pea trays lost", "all trays lost"."""
    matched = _LOST.fullmatch(asked.text)
    if matched is None:
        return None
    what = re.sub(r"^(?:trays?|sowing|shelf)\s+|\s*\btrays?$", "", matched["what"].strip(), flags=re.IGNORECASE)
    count = (matched["count"] or "").casefold()
    trays = _trays(what, asked)
    if count and count not in ("all", "every", "the"):
        wanted = count_of(count)
        if wanted > len(trays):
            remedy = f"Say {len(trays)} or fewer."
            raise InputError("trays lost", wanted, f"only {len(trays)} are growing", remedy, "trays")
        trays = trays[:wanted]
    return [TraysLost(trays=tuple(tray.tray for tray in trays))]


def _trays(what: str, asked: Asked) -> list[Tray]:
    """Growing trays of a crop, or named one by one; those sown first come first."""
    growing = asked.state.growing()
    crop = find(what, crops_of(asked.state)) if what else None
    if crop is not None or not what:
        trays = [tray for tray in growing if crop is None or tray.crop == crop]
        if not trays:
            raise InputError("trays", repr(what or "all"), "none of that kind is growing", "Name trays that are.")
        return sorted(trays, key=lambda tray: tray.sown_at)
    names = re.split(r"\s*(?:,|\band\b)\s*", what)
    try:
        trays = [tray for tray in trays_named(asked.state, names) if tray.fate == "growing"]
    except NotFoundError as err:
        if not growing:
            raise InputError("trays", repr(err.name), "no tray is growing", "Ask again once some are sown.") from err
        known = [*(tray.tray for tray in growing), *asked.state.sowings, *(tray.crop for tray in growing)]
        raise InputError("trays", repr(err.name), "no growing tray is called so", nearest(err.name, known)) from err
    if not trays:
        raise InputError("trays", repr(what), "it is not growing any more", "Name one that is.")
    return trays


# Seed -----------------------------------------------------------------------------------------------------------------

_LATE = re.compile(
    r"(?:seed\s+)?(?:lot\s+)?(?P<lot>\S+)\s+(?:is\s+)?(?:late\s+until|comes(?:\s+only)?\s+on|arrives(?:\s+only)?\s+on|late\s+till)"
    r"\s+(?P<day>.+)",
    re.IGNORECASE,
)
_LATE_BY = re.compile(
    rf"(?:seed\s+)?(?:lot\s+)?(?P<lot>\S+)\s+(?:is\s+)?(?P<count>{COUNT})\s+(?P<unit>days?|weeks?)\s+late",
    re.IGNORECASE,
)
_NEVER = re.compile(r"(?:seed\s+)?(?:lot\s+)?(?P<lot>\S+)\s+(?:does not come|never comes|is no good)", re.IGNORECASE)
_MORE_SEED = re.compile(
    r"(?P<mass>\d[\d.,]*\s*[a-z]+)\s+(?:of\s+)?(?:seed\s+of\s+(?P<of>.+?)|(?P<crop>.+?)\s+seeds?)"
    r"(?:,?\s+(?:comes|arrives|coming)?\s*on\s+(?P<day>.+))?",
    re.IGNORECASE,
)


def read_seed(asked: Asked) -> list[Supposition] | None:
    """Seed: "seed lot B1 late until 2026-12-20", "B1 1 week late", "5 kg more pea seed on 2026-12-10"."""
    lots = asked.state.seed
    if matched := _LATE.fullmatch(asked.text):
        return [SeedLate(lot=found(matched["lot"], lots, "seed lot"), comes_on=need_day(matched["day"], asked.today))]
    if matched := _LATE_BY.fullmatch(asked.text):
        return [_later(found(matched["lot"], lots, "seed lot"), matched["count"], matched["unit"], asked)]
    if matched := _NEVER.fullmatch(asked.text):
        return [SeedGone(lot=found(matched["lot"], lots, "seed lot"))]
    plain, sign = direction(asked.text)
    if matched := _MORE_SEED.fullmatch(plain):
        if sign < 0:
            rule = "seed is supposed away by the lot"
            raise InputError("seed less", repr(matched["mass"]), rule, 'Say "no seed lot" and its name.')
        crop = found(matched["of"] or matched["crop"], crops_of(asked.state), "crop")
        day = need_day(matched["day"], asked.today) if matched["day"] else None
        return [MoreSeed(crop=crop, grams=parse_mass(matched["mass"]), comes_on=day)]
    return None


def _later(name: str, count: str, unit: str, asked: Asked) -> Supposition:
    lot = asked.state.seed[name]
    if lot.expected_on is None:
        rule = "it is here already, not on order"
        raise InputError("seed lot", name, rule, f'To go without it: "no seed lot {name}".')
    days = count_of(count) * (7 if unit.casefold().startswith("week") else 1)
    return SeedLate(lot=name, comes_on=lot.expected_on + timedelta(days=days))
