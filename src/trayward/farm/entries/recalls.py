"""Entries about recalls and whom to reach in one."""

from __future__ import annotations

from trayward.farm.entries.body import Body
from trayward.farm.recalls import Contact, Recall


class ContactSet(Body, frozen=True, kw_only=True):
    """How a customer is reached at once, from now on."""

    KIND = "contact set"
    contact: Contact

    def subjects(self) -> tuple[str, ...]:
        return (f"customer:{self.contact.customer}",)


class RecallKept(Body, frozen=True, kw_only=True):
    """A recall that was tried out, or had to be: what was called back, who was reached, and how long it took."""

    KIND = "recall kept"
    VERSION = 2
    recall: Recall

    def subjects(self) -> tuple[str, ...]:
        told = self.recall
        lots = (*(f"harvest:{name}" for name in told.harvests), *(f"pack:{name}" for name in told.packs))
        customers = (f"customer:{each.customer}" for each in told.told)
        return tuple(dict.fromkeys((f"recall:{told.recall}", told.about, *lots, *customers)))
