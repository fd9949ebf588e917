"""Whom to reach at a customer's, and recalls that were tried out or had to be."""

from __future__ import annotations

from datetime import date, datetime

import msgspec


class Contact(msgspec.Struct, frozen=True, kw_only=True):
    """How a customer is reached at once: by whom one asks for, telephone, e-mail, and where they are."""

    customer: str
    person: str = ""
    phone: str = ""
    email: str = ""
    address: str = ""
    """Street, place and country, as it stands on papers."""

    @property
    def ways(self) -> tuple[str, ...]:
        """What is known of these, for a sentence."""
        return tuple(way for way in (self.person, self.phone, self.email, self.address) if way)


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """One customer in a recall: what they had of it, and whether they were reached."""

    customer: str
    grams: float = 0.0
    """[g]"""
    packs: int = 0
    trays: int = 0
    """Live trays."""
    reached: bool = False
    note: str = ""


class Recall(msgspec.Struct, frozen=True, kw_only=True):
    """A recall, or the exercise of one, as it went."""

    recall: str
    """Its name: `R261127A`."""
    about: str
    """What was called back, as the book files it: `harvest:H261125A`."""
    reason: str
    exercise: bool
    """True: only tried out. False: crop was truly called back."""
    began: datetime
    ended: datetime
    harvests: tuple[str, ...]
    packs: tuple[str, ...]
    told: tuple[Told, ...]
    cut_g: float
    """Grams of the lots called back. [g]"""
    accounted_g: float
    """Of these, grams of which the record says where they are. [g]"""
    findings: tuple[str, ...] = ()
    """What did not add up, in words."""
    first: date | None = None
    """Of a customer, kit or a shelf only from this day."""
    last: date | None = None
    """And up to this one."""

    @property
    def minutes(self) -> float:
        """How long it took. [min]"""
        return (self.ended - self.began).total_seconds() / 60.0

    @property
    def share(self) -> float:
        """Share accounted for; never more than all. [-]"""
        return share_accounted(self.accounted_g, self.cut_g)


def share_accounted(accounted_g: float, cut_g: float) -> float:
    """Share of what was cut of which the record says where it is; never more than all. [-]"""
    return min(1.0, accounted_g / cut_g) if cut_g > 0 else 1.0
