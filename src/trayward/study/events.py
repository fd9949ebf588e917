"""What befalls a season: a power cut, a bag of bad seed, weights typed wrong, looks that are missed."""

from __future__ import annotations

from datetime import date, datetime

import msgspec

from trayward.study.chance import Chance


class PowerCut(msgspec.Struct, frozen=True, kw_only=True):
    """The lamps are off for some hours: trays in the light are set back and stay lighter."""

    on: date
    hours: float
    """How long. [h]"""
    days_later: float
    """How much longer the stage takes that a tray is in. [d]"""
    grams: float
    """What such a tray weighs, as a share of what it would have. [-]"""


class BadLot(msgspec.Struct, frozen=True, kw_only=True):
    """A bag of seed that does worse than its label says, in use from one day to another."""

    crop: str
    first: date
    last: date
    grams: float
    """What its trays weigh, as a share of what they would have. [-]"""
    slower: float
    """How much longer their stages take, as a factor. [-]"""
    loss: float
    """The share of its trays that mould takes, on top of others. [-]"""


class Slips(msgspec.Struct, frozen=True, kw_only=True):
    """How often the grower errs."""

    typed_wrong: float = 0.0
    """Share of weights with the point one place off. [-]"""
    noticed: float = 0.5
    """Share of these that are seen and struck the same day. [-]"""
    missed: float = 0.0
    """Share of rounds on which nobody looks. [-]"""


class Typed(msgspec.Struct, frozen=True):
    """A weight as it is written down, and whether a slip in it is seen the same day. [g]"""

    grams: float
    noticed: bool


class Events:
    """The slips of a season, by name like all of its luck."""

    def __init__(self, slips: Slips, seed: int) -> None:
        self.slips = slips
        self._luck = Chance(seed)

    def missed(self, at: datetime) -> bool:
        """Whether nobody looks on the round of that moment."""
        return self._luck.uniform("missed look", at.isoformat()) < self.slips.missed

    def typed(self, recipe: str, sown_on: date, number: int, grams: float) -> Typed:
        """What is written down for a weight. [g]"""
        key = (recipe, sown_on, number)
        if self._luck.uniform("typed wrong", *key) >= self.slips.typed_wrong:
            return Typed(grams, noticed=False)
        wrong = round(grams * (10.0 if self._luck.uniform("which way", *key) < 0.5 else 0.1), 1)
        # A tenth of the weight cannot be delivered from: whoever packs it sees at once that more lies there.
        seen = wrong < grams or self._luck.uniform("noticed", *key) < self.slips.noticed
        return Typed(wrong, noticed=seen)
