"""What is known of a crop: facts with their sources, and blanks that stay blank."""

from __future__ import annotations

from typing import Literal

import msgspec

Trust = Literal["seen", "derived", "memory", "practice", "farm"]
"""Seen in a source; derived from a seen figure; from memory; common practice, no source; said by this farm."""


class Fact(msgspec.Struct, frozen=True, kw_only=True):
    """One value of one crop, with where it comes from and how far to trust it."""

    value: float | str
    unit: str = ""
    source: str = ""
    trust: Trust = "seen"
    note: str = ""


class CropFacts(msgspec.Struct, frozen=True, kw_only=True):
    """Everything the library, overlaid by the farm, says of one crop.

    `facts` maps a column name of the crop table (for instance `tsw_g_typ`, `bulk_density_g_per_ml`) to its fact.
    A name that is missing is a blank: callers ask the grower, they do not guess.
    """

    crop: str
    latin_name: str = ""
    family: str = ""
    facts: dict[str, Fact] = {}

    def number(self, name: str) -> float | None:
        """The number under `name`, or None where the table is blank."""
        fact = self.facts.get(name)
        return fact.value if fact is not None and isinstance(fact.value, float) else None

    def text(self, name: str) -> str | None:
        """The word under `name`, or None where the table is blank."""
        fact = self.facts.get(name)
        return fact.value if fact is not None and isinstance(fact.value, str) else None
