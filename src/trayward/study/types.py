"""What a season of the study is, and what came of it."""

from __future__ import annotations

from datetime import date

import msgspec

RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND = (
    "rule of thumb",
    "published priors",
    "learning",
    "known law",
    "known biology",
    "ceiling",
    "all-knowing",
)
"""The policies: what a spreadsheet would do, our plan by published figures only, our plan as it learns, our plan told
the true law of yields and times, that and what each standing tray will do, the most that anybody could earn on average
who does not know the luck of trays before they are sown, and the most that anybody could earn."""


class SeasonTask(msgspec.Struct, frozen=True, kw_only=True):
    """One season to live through. The same task gives the same result, wherever it runs."""

    world: str
    """The name of a shipped world, or the path of a world file."""
    seed: int
    policy: str
    buffer: float = 0.0
    """Of the rule of thumb: the share sown beyond what is due. [-]"""


class Promise(msgspec.Struct, frozen=True, kw_only=True):
    """The chance a plan gave a line to be met in full, and whether it was."""

    line: str
    due: date
    days_ahead: int
    chance: float
    kept: bool


class SeasonResult(msgspec.Struct, frozen=True, kw_only=True):
    """What came of one season. [farm's currency], [g]"""

    task: SeasonTask
    margin: float
    """Sales less all costs, less the price of letting customers down: what policies are compared by."""
    money: float
    """Sales less all costs."""
    parts: dict[str, float] = {}
    """Sales, seed, medium, hands, energy, packaging, disposal and shortfall, each above 0."""
    lines: int = 0
    full_on_time: int = 0
    asked_g: float = 0.0
    delivered_g: float = 0.0
    cut_g: float = 0.0
    unsold_g: float = 0.0
    """Cut and thrown away, or grown and never cut."""
    by_day: tuple[float, ...] = ()
    """The margin so far at the end of each day."""
    first_sown: int = 0
    """Days from the world's first day to the first sowing. [d]"""
    promises: tuple[Promise, ...] = ()
    seconds: float = 0.0
    notes: tuple[str, ...] = ()
