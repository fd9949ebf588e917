"""What the seed bench goes by: a crop's own figures, the lot's, or what is typed, each with what it rests on."""

from __future__ import annotations

import math
from datetime import datetime

import msgspec

from trayward.bench.types import Amount
from trayward.errors import InputError
from trayward.farm.crops import CropFacts
from trayward.farm.density import bulk_density
from trayward.farm.live_seed import EIGHT_IN_TEN, WEIGHED_LOG_SD, live_seed, ordinary_live_share, seed_weight_doubt
from trayward.farm.recipes import TraySize
from trayward.farm.state import SeedLot
from trayward.science.viability import UNKNOWN_SHARE, LiveShare, live_share
from trayward.sources import source_keys

SIZE_SPREAD = 0.08
"""Sizes within a crop differ by this share where no range is on record: our choice. [-]"""
WEIGH_IT = "Count 100 seeds, weigh them, and multiply by 10."
FILL_IT = "Fill a level cup with seed, weigh it, divide by the cup's millilitres."


class Typed(msgspec.Struct, frozen=True, kw_only=True):
    """
    What was typed of the seed, None where nothing.

    `tsw_g` weight of a thousand [g]; `label` share that sprouts by the label [-]; `sprouted` of `tested` in one's own
    test; `bulk` bulk density [g/ml].
    """

    tsw_g: float | None = None
    label: float | None = None
    sprouted: int = 0
    tested: int = 0
    bulk: float | None = None


class Size(msgspec.Struct, frozen=True, kw_only=True):
    """How wide seed is [mm], how much that differs [mm], its thickness [mm] or None, and what it rests on."""

    width_mm: float
    sd_mm: float
    thickness_mm: float | None
    basis: str
    sources: tuple[str, ...] = ()


class SeedFacts(msgspec.Struct, frozen=True, kw_only=True):
    """
    Seed of one crop or lot, as the sums take it.

    Weight of a thousand [g] and its doubt on the logarithm [-], bulk density [g/ml]; None where nobody said. `live` is
    the share that sprouts, with doubt. Each has its words; `sources` are the keys they come from.
    """

    crop: str
    tsw_g: float | None
    tsw_doubt: float
    tsw_basis: str
    bulk: float | None
    bulk_basis: str
    live: LiveShare
    sources: tuple[str, ...]

    def thousand(self) -> float:
        """Weight of a thousand seeds; raises `InputError` where nobody said. [g]"""
        if self.tsw_g is None:
            rule = f"nobody said what a thousand seeds of {self.crop} weigh"
            raise InputError("weight of 1000 seeds", "blank", rule, WEIGH_IT)
        return self.tsw_g

    def tsw_amount(self) -> Amount:
        """The weight of a thousand seeds, with its range."""
        tsw = self.thousand()
        reach = math.exp(EIGHT_IN_TEN / 2 * self.tsw_doubt)
        low, high = (tsw / reach, tsw * reach) if self.tsw_doubt else (None, None)
        return Amount(
            name="1000 seeds weigh", value=tsw, unit="g", kind="mass", low=low, high=high, note=self.tsw_basis
        )

    def live_amount(self) -> Amount:
        """The share that sprouts, with its range."""
        live = self.live
        return Amount(
            name="sprouts", value=live.mean, unit="-", kind="share", low=live.low, high=live.high, note=live.basis
        )

    def live_range(self, value: float) -> tuple[float, float]:
        """
        Eight-in-ten range of a figure that goes with live seeds per gram.

        The doubts of the share and of the seed weight, each as a distance on the logarithm, are added as squares; with
        one of them alone the range is exactly that one's.
        """
        weight = EIGHT_IN_TEN / 2 * self.tsw_doubt
        down = math.hypot(math.log(self.live.mean / max(self.live.low, 1e-9)), weight)
        up = math.hypot(math.log(self.live.high / self.live.mean), weight)
        return value * math.exp(-down), value * math.exp(up)


def seed_facts(
    facts: CropFacts, typed: Typed | None = None, *, lot: SeedLot | None = None, at: datetime | None = None
) -> SeedFacts:
    """
    What to reckon with: what is typed goes before the lot, the lot before the farm's word, that before the library.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop.
    typed : Typed or None
        What was typed.
    lot : SeedLot or None
        The lot to sow from.
    at : datetime or None
        When it is asked: a lot's seed ages.

    Returns
    -------
    SeedFacts
    """
    said = typed or Typed()
    tsw, doubt, tsw_words, tsw_source = _weight(facts, said, lot)
    bulk, bulk_words, bulk_source = _bulk(facts, said)
    return SeedFacts(
        crop=facts.crop,
        tsw_g=tsw,
        tsw_doubt=doubt,
        tsw_basis=tsw_words,
        bulk=bulk,
        bulk_basis=bulk_words,
        live=_live(facts, said, lot, at),
        sources=tuple(dict.fromkeys(key for key in (*tsw_source, *bulk_source) if key)),
    )


def source_keys_of(text: str) -> tuple[str, ...]:
    """Keys of a fact; a farm's own word has none that is listed."""
    known = source_keys()
    return tuple(key for key in text.replace(",", " ").replace(";", " ").split() if key in known)


def _weight(facts: CropFacts, said: Typed, lot: SeedLot | None) -> tuple[float | None, float, str, tuple[str, ...]]:
    if said.tsw_g is not None:
        return said.tsw_g, WEIGHED_LOG_SD, "as you weighed it", ()
    if lot is not None and lot.tsw_g is not None:
        return lot.tsw_g, WEIGHED_LOG_SD, f"lot {lot.lot}, weighed", ()
    fact = facts.facts.get("tsw_g_typ")
    if fact is None or not isinstance(fact.value, float):
        return None, 0.0, "", ()
    words = "by this farm" if fact.trust == "farm" else "by the library; lots differ"
    return fact.value, seed_weight_doubt(facts), words, source_keys_of(fact.source)


def _bulk(facts: CropFacts, said: Typed) -> tuple[float | None, str, tuple[str, ...]]:
    if said.bulk is not None:
        return said.bulk, "as you said", ()
    bulk = bulk_density(facts)
    if bulk is None:
        return None, "", ()
    fact = facts.facts.get("bulk_density_g_per_ml") or facts.facts["bulk_density_g_per_ml_low"]
    words = {"farm": "by this farm", "practice": "common practice, no source"}.get(fact.trust, "by the library")
    return bulk, words, source_keys_of(fact.source)


def _live(facts: CropFacts, said: Typed, lot: SeedLot | None, at: datetime | None) -> LiveShare:
    if said.label is not None or said.tested:
        share = live_share(said.label, said.sprouted, said.tested, ordinary=ordinary_live_share(facts))
        return msgspec.structs.replace(share, basis=_typed_words(said))
    if lot is not None:
        found = live_seed(lot, facts, at)
        if found is not None and found.mean > 0:
            return msgspec.structs.replace(found, basis=f"lot {lot.lot}, {found.basis}")
    ordinary = ordinary_live_share(facts)
    words = "as ordinary lots do; yours is not known"
    if ordinary is None:
        words = f"nothing is known of it: {100 * UNKNOWN_SHARE:.0f} % assumed"
    return msgspec.structs.replace(live_share(None, ordinary=ordinary), basis=words)


def _typed_words(said: Typed) -> str:
    own = f"{said.sprouted} of {said.tested} in your test"
    if said.label is None:
        return f"by {own}"
    return f"by the label and {own}" if said.tested else "by the label"


def seed_size(facts: CropFacts) -> Size | None:
    """
    How wide and how thick a crop's seed is, from the library.

    A published range is taken as eight in ten; with no width on record the smallest hole it passes stands in, as if it
    were round. None where nothing is on record.
    """
    low, high = facts.number("seed_width_mm_low"), facts.number("seed_width_mm_high")
    typical = facts.number("seed_width_mm_typ")
    thick = facts.number("seed_thickness_mm_typ")
    if thick is None:
        thin, fat = facts.number("seed_thickness_mm_low"), facts.number("seed_thickness_mm_high")
        thick = (thin + fat) / 2 if thin is not None and fat is not None else None
    if low is not None and high is not None:
        width = typical if typical is not None else (low + high) / 2
        basis = "measured width by the library, its range taken as 8 in 10"
        sd = (high - low) / EIGHT_IN_TEN
        sources = source_keys_of(facts.facts["seed_width_mm_low"].source)
    else:
        alone = typical if typical is not None else facts.number("square_mesh_pass_mm")
        if alone is None:
            return None
        width, sd = alone, SIZE_SPREAD * alone
        named = "seed_width_mm_typ" if typical is not None else "square_mesh_pass_mm"
        thick = thick if typical is not None else None
        basis = "width by the library" if typical is not None else "as a ball of its weight: slim seed is thinner"
        basis += f"; taken to differ by {100 * SIZE_SPREAD:.0f} %"
        sources = source_keys_of(facts.facts[named].source)
    return Size(
        width_mm=width, sd_mm=sd, thickness_mm=min(thick, width) if thick else None, basis=basis, sources=sources
    )


def tray_amount(tray: TraySize) -> Amount:
    """The tray's growing area, and what it was taken for."""
    nominal = tray == TraySize()
    size = f"{tray.length_mm / 10:.4g} x {tray.width_mm / 10:.4g} cm"
    note = f"{size}{'; a nominal 1020, measure yours' if nominal else ''}"
    return Amount(name="growing area", value=tray.area_cm2, unit="cm2", note=note)
