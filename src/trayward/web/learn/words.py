"""Figures of what was learned, in plain words: no more digits than are known, and a range before its middle."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

import msgspec

from trayward.farm.settings import ShownUnits
from trayward.rounds.words import between, likely_weight


class Say(msgspec.Struct, frozen=True, kw_only=True):
    """How a page says things: its language, its way to write figures, and its units."""

    words: Callable[..., str]
    """`say.words("%(name)s", name=...)`: words of ours in the page's language."""
    number: Callable[[str], str]
    """A figure as the page's language writes it."""
    units: ShownUnits
    day: Callable[[date], str] = date.isoformat
    """A day as the page's language writes it."""

    def grams(self, grams: float) -> str:
        """A likely weight. [g]"""
        return self.number(likely_weight(grams, self.units.mass))

    def grams_between(self, low: float, high: float) -> str:
        """A range of weights. [g]"""
        _ = self.words
        return between(self.grams(low), self.grams(high), _("%(low)s to %(high)s"))

    def days(self, days: float) -> str:
        """A length of time to the half day. [d]"""
        return self.number(f"{round(days * 2) / 2:g}")

    def days_between(self, low: float, high: float) -> str:
        """A range of days. [d]"""
        _, first, last = self.words, self.days(low), self.days(high)
        if first == last:
            return _("%(days)s days", days=first)
        return _("%(low)s to %(high)s days", low=first, high=last)

    def more(self, factor: float) -> str:
        """
        How much more than usual, as a share. [-]

        Examples
        --------
        >>> Say(words=lambda words, **more: words % more, number=str, units=ShownUnits()).more(0.93)
        '−7 %'
        """
        share = round(100 * (factor - 1))
        sign = "+" if share > 0 else "−" if share < 0 else ""
        return self.number(f"{sign}{abs(share)} %")

    def more_between(self, low: float, high: float) -> str:
        """A range of such shares."""
        _ = self.words
        return _("%(low)s to %(high)s", low=self.more(low), high=self.more(high))

    def share(self, share: float) -> str:
        """A share of a whole. [-]"""
        return self.number(f"{round(100 * share)} %")

    def share_between(self, low: float, high: float) -> str:
        """A range of shares of a whole. [-]"""
        _ = self.words
        return _("%(low)s to %(high)s", low=round(100 * low), high=self.share(high))

    def level(self, level: float) -> str:
        """A level of density or of days, as a trial has it."""
        return self.number(f"{level:.3g}")

    def begun(self, name: str) -> str:
        """A name at the beginning of a sentence."""
        return name[:1].upper() + name[1:]

    def chosen(self, what: str, table: Mapping[str, str]) -> str:
        """A word of a table, or itself."""
        return table.get(what, what)


def causes(say: Say) -> dict[str, str]:
    """What makes trays differ, as a list names it."""
    _ = say.words
    return {
        "recipe": _("Recipe"), "crop": _("Crop"), "medium": _("Mat or soil"), "lot": _("Seed lot"),
        "season": _("Time of the year"), "sowing": _("Sowing day"), "density by crop": _("A crop's answer to density"),
        "tray": _("Tray to tray"),
    }  # fmt: skip


def levers(say: Say) -> dict[str, str]:
    """What a trial changes."""
    _ = say.words
    return {"density": _("live seeds a cm²"), "blackout": _("days of blackout")}
