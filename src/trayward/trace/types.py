"""What tracing tells: steps, what flowed between them, what balances, and what does not."""

from __future__ import annotations

from datetime import date, datetime
from typing import Final, Literal

import msgspec

from trayward.errors import Finding

Kind = Literal["lot", "sowing", "tray", "harvest", "pack", "delivery", "customer"]
Way = Literal["back", "forward", "both"]

CHAIN: Final[tuple[Kind, ...]] = ("lot", "sowing", "tray", "harvest", "pack", "delivery", "customer")
"""The steps in the order the crop takes them."""
STARTS: Final = (*CHAIN, "kit", "mark", "shelf")
"""What one may start from."""
KIND_WORDS: Final = {
    "lot": "seed lot", "sowing": "sowing", "tray": "tray", "harvest": "harvest lot", "pack": "pack lot",
    "delivery": "delivery", "customer": "customer", "kit": "kit", "mark": "marked kit", "shelf": "shelf",
}  # fmt: skip


class Span(msgspec.Struct, frozen=True, kw_only=True):
    """Days from one to another, both included; a blank end is open."""

    first: date | None = None
    last: date | None = None


class Start(msgspec.Struct, frozen=True, kw_only=True):
    """What a trace starts from. `span` narrows customers, kit and shelves to some days."""

    kind: str
    name: str
    span: Span = Span()

    @property
    def subject(self) -> str:
        """As the book files it."""
        return f"{self.kind}:{self.name}"


class Step(msgspec.Struct, frozen=True, kw_only=True):
    """One thing on the way: a seed lot, a sowing, a tray, a harvest lot, a pack lot, a delivery, a customer."""

    kind: Kind
    name: str
    code: str = ""
    """Its name with its check character."""
    what: str = ""
    """The crop or the product."""
    at: datetime | None = None
    """When it came to be: received, sown, cut, packed, delivered."""
    grams: float | None = None
    """Seed received or sown, crop cut, crop in packs, crop delivered. [g]"""
    packs: int | None = None
    trays: int | None = None
    by: str = ""
    """Who did it."""
    note: str = ""
    """The supplier and his lot, the customer's document, what became of a tray."""
    known: bool = True
    """False: something names it, and the record does not have it."""


class Flow(msgspec.Struct, frozen=True, kw_only=True):
    """What went from one step to the next. Names are `kind:name`."""

    source: str
    target: str
    """Empty kind `out`: thrown away or sampled, and why."""
    grams: float | None = None
    """[g]"""
    packs: int | None = None
    at: datetime | None = None
    by: str = ""
    entry: str = ""
    """Id of the entry that says so."""
    late: bool = False
    """Written down more than a day after it happened."""

    @property
    def key(self) -> tuple[str, str, str]:
        """What makes it one: from, to, and the entry that says so."""
        return self.source, self.target, self.entry


class HarvestBalance(msgspec.Struct, frozen=True, kw_only=True):
    """Where the grams of a harvest lot are. `cut_g` = the others and `difference_g`. [g]"""

    harvest: str
    crop: str
    cut_g: float
    packed_g: float
    loose_g: float
    thrown_g: float
    sampled_g: float
    cold_room_g: float
    difference_g: float
    """Above 0: crop that nobody can say of where it went. Below 0: more went out than was cut."""


class PackBalance(msgspec.Struct, frozen=True, kw_only=True):
    """Where the packs of a filling are. `packs` = delivered, thrown, here and `difference`."""

    pack: str
    product: str
    packs: int
    delivered: int
    thrown: int
    here: int
    difference: int
    pack_g: float
    """Net weight of one. [g]"""
    over_g: float
    """What went in beyond the net weight of all; below 0: less. [g]"""
    best_before: date | None = None


class SeedBalance(msgspec.Struct, frozen=True, kw_only=True):
    """Where the seed of a lot is. `received_g` = sown, left and `difference_g`. [g]"""

    lot: str
    received_g: float
    sown_g: float
    left_g: float
    difference_g: float
    """What weighing the bag put right, spilt or tested seed with it."""


class Washing(msgspec.Struct, frozen=True, kw_only=True):
    """The last time a pool of kit, or a marked thing of it, was washed or sanitised before a tray was sown."""

    pool: str
    """Its mark with it, where it carries one: `mesh mat M7`."""
    deed: str
    at: datetime
    by: str
    words: str = ""


class MarkHeld(msgspec.Struct, frozen=True, kw_only=True):
    """A marked mat, tray or cover that a tray was on, and the trays that were on it before."""

    mark: str
    pool: str
    before: tuple[str, ...]
    """The last of them first."""


class TrayLife(msgspec.Struct, frozen=True, kw_only=True):
    """What one tray went through, as far as the record says."""

    tray: str
    crop: str
    recipe: str
    medium: str
    sown_at: datetime
    ended_at: datetime | None
    fate: str
    places: tuple[str, ...]
    """Spots it stood on, in order."""
    kit: dict[str, int]
    """What it held of each pool of kit."""
    marks: tuple[MarkHeld, ...] = ()
    """Of kit that carries marks, which."""
    watered_ml: float
    waterings: int
    fed_ml: float
    feeds: tuple[str, ...]
    """Feeds by name, with pH and EC where they were said."""
    problems: tuple[str, ...]
    people: tuple[str, ...]
    washed: tuple[Washing, ...]
    grams: float | None
    """Cut from it in all. [g]"""


class Trace(msgspec.Struct, frozen=True, kw_only=True):
    """Everything that leads to a start or comes of it."""

    start: Start
    way: Way
    at: datetime
    steps: tuple[Step, ...]
    """In the order of the chain, then of time."""
    flows: tuple[Flow, ...]
    lives: tuple[TrayLife, ...] = ()
    """Of the trays on the way, where it goes back."""
    more_lives: int = 0
    """Trays on the way whose lives are left out, so that it does not take long."""
    harvests: tuple[HarvestBalance, ...] = ()
    packs: tuple[PackBalance, ...] = ()
    seed: tuple[SeedBalance, ...] = ()
    findings: tuple[Finding, ...] = ()
    taken_back: int = 0
    """Entries about these that were struck, and count no more."""
    late: int = 0
    """Entries about these written down more than a day after they happened."""

    def of(self, kind: str) -> tuple[Step, ...]:
        """The steps of one kind."""
        return tuple(step for step in self.steps if step.kind == kind)

    def names(self, kind: str) -> set[str]:
        """The names of the steps of one kind."""
        return {step.name for step in self.of(kind)}
