"""Entries about seed: what came, what was tested, what is left."""

from __future__ import annotations

from datetime import date

from trayward.farm.entries.body import Body


class SeedReceived(Body, frozen=True, kw_only=True):
    """A delivery of seed. `germination` is the label's share that sprouts (0 to 1); None where it does not say."""

    KIND = "seed received"
    lot: str
    crop: str
    grams: float
    variety: str = ""
    supplier: str = ""
    supplier_lot: str = ""
    germination: float | None = None
    tsw_g: float | None = None
    """Weight of a thousand seeds. [g]"""
    cost: float = 0.0
    """What the whole delivery cost. [farm's currency]"""
    treated: bool = False
    """True: the seed is treated with anything. Defer to the label: treated seed is not for eating fresh."""
    document: str = ""
    expected_on: date | None = None
    """Set: the seed is on order and arrives that day; recording it again without this field receives it."""

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}", f"crop:{self.crop}")


class SeedTested(Body, frozen=True, kw_only=True):
    """A seed test: `sprouted` of `tested` seeds came up, and / or the weight of a thousand seeds."""

    KIND = "seed tested"
    lot: str
    sprouted: int | None = None
    tested: int | None = None
    tsw_g: float | None = None
    days: float | None = None

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}",)


class SeedWeighed(Body, frozen=True, kw_only=True):
    """Seed left in a lot, as the scale says; the record must agree with it from now on."""

    KIND = "seed weighed"
    lot: str
    grams: float
    reason: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"lot:{self.lot}",)
