"""What a tray costs, line by line, and which of its figures moves that most."""

from __future__ import annotations

from collections.abc import Callable

import msgspec

from trayward.errors import InputError, require_between

MINUTES = 60.0
LITRES_M3 = 1000.0
MOST = 1e9
"""No price, amount or time on a work table is larger. Our choice."""


class Job(msgspec.Struct, frozen=True, kw_only=True):
    """One kind of hands' work on a tray. [min]"""

    name: str
    minutes: float
    if_cut: bool = False
    """Only trays that are cut take it: cutting and packing."""


class TrayInputs(msgspec.Struct, frozen=True, kw_only=True):
    """
    What one tray takes and what that costs. Money is in one currency throughout.

    What is 0 costs nothing. A tray that is lost has cost all but the jobs marked `if_cut` and its packs.
    """

    weight_g: float
    """Cut weight of a tray that is not lost. [g]"""
    seed_g: float = 0.0
    seed_kg: float = 0.0
    """Price of a kilogram of seed. [currency/kg]"""
    medium: float = 0.0
    """Price of the medium of one tray. [currency]"""
    medium_uses: float = 1.0
    """How often it is used before it is thrown away. [-]"""
    wear: float = 0.0
    """Wear of trays and covers, one use. [currency]"""
    water_l: float = 0.0
    water_m3: float = 0.0
    """Price of a cubic metre of water. [currency/m3]"""
    feed_ml: float = 0.0
    """Feed concentrate in all that water. [ml]"""
    feed_l: float = 0.0
    """Price of a litre of concentrate. [currency/l]"""
    shelf_kwh_day: float = 0.0
    """What the lamps of one shelf use in a day. [kWh/d]"""
    shelf_trays: float = 1.0
    """Trays side by side on a shelf. [-]"""
    lit_days: float = 0.0
    """Days under light. [d]"""
    kwh: float = 0.0
    """Price of a kilowatt hour. [currency/kWh]"""
    shelf_days: float = 0.0
    """Days it takes up its floor position, a stack sharing one. [d]"""
    shelf_rent_day: float = 0.0
    """Rent of a shelf for a day. [currency/d]"""
    jobs: tuple[Job, ...] = ()
    wage_h: float = 0.0
    """An hour of hands. [currency/h]"""
    pack_g: float = 0.0
    """Net weight of a pack; 0: sold loose. [g]"""
    pack: float = 0.0
    """An empty pack with its label. [currency]"""
    trim: float = 0.0
    """Share of the cut weight that is not sold. [-]"""
    lost: float = 0.0
    """Share of trays that are lost before the cut. [-]"""


class CostLine(msgspec.Struct, frozen=True, kw_only=True):
    """One line of what a tray costs. [currency]"""

    name: str
    amount: float
    if_cut: bool = False


class TrayCosts(msgspec.Struct, frozen=True, kw_only=True):
    """What a tray costs, line by line, and what that makes of what is sold."""

    lines: tuple[CostLine, ...]
    lost: float
    """Share of trays lost. [-]"""
    saleable_g: float
    """Grams of a cut tray that can be sold. [g]"""
    pack_g: float

    @property
    def grown(self) -> float:
        """What a tray costs up to the cut, whether lost or not. [currency]"""
        return sum(line.amount for line in self.lines if not line.if_cut)

    @property
    def bare(self) -> float:
        """A tray that is cut and packed, its own cost alone. [currency]"""
        return sum(line.amount for line in self.lines)

    @property
    def carried(self) -> float:
        """What a tray that is cut has to carry of those that are lost. [currency]"""
        return self.grown * self.lost / (1 - self.lost)

    @property
    def tray(self) -> float:
        """A tray that is cut and packed, with its part of the lost ones. [currency]"""
        return self.bare + self.carried

    @property
    def gram(self) -> float:
        """A gram that can be sold. [currency/g]"""
        return self.tray / self.saleable_g

    @property
    def packs_sown(self) -> float:
        """Packs expected of a tray that is sown; 0 where it is sold loose. [-]"""
        return self.saleable_g * (1 - self.lost) / self.pack_g if self.pack_g else 0.0

    @property
    def one_pack(self) -> float:
        """A pack that can be sold; 0 where it is sold loose. [currency]"""
        return self.gram * self.pack_g


def tray_costs(given: TrayInputs) -> TrayCosts:
    """
    What a tray costs, line by line, and a gram or a pack of what can be sold.

    Parameters
    ----------
    given : TrayInputs
        Amounts and prices.

    Returns
    -------
    TrayCosts
        Lines of a tray that is cut; what lost trays add; cost of a tray, a gram and a pack.

    Raises
    ------
    InputError
        If a figure is below 0 or no number, a share is not within 0 to 1, all trays are lost or all is trimmed away,
        the weight or the trays on a shelf are 0, or the medium is used less than once.

    Notes
    -----
    Losses divide: of 100 trays sown with 10 lost, 90 carry what 100 cost, so each carries 1/0.9 of it, not 1.1. Cutting
    and packing are paid for trays that are cut only. A lost tray counts as grown to the end; one thrown away early cost
    a little less. Arithmetic, no source.

    Examples
    --------
    >>> costs = tray_costs(TrayInputs(weight_g=260, seed_g=40, seed_kg=18, medium=0.55, lost=0.1, trim=0.05))
    >>> round(costs.bare, 2), round(costs.tray, 3), round(100 * costs.gram, 3)
    (1.27, 1.411, 0.571)
    """
    check_inputs(given)
    return TrayCosts(
        lines=(*_things(given), *_hands(given), *_packing(given)),
        lost=given.lost,
        saleable_g=given.weight_g * (1 - given.trim),
        pack_g=given.pack_g,
    )


def _things(given: TrayInputs) -> tuple[CostLine, ...]:
    amounts = {
        "seed": given.seed_g * given.seed_kg / 1000,
        "medium": given.medium / given.medium_uses,
        "wear of trays": given.wear,
        "water": given.water_l * given.water_m3 / LITRES_M3,
        "feed": given.feed_ml * given.feed_l / 1000,
        "light": given.shelf_kwh_day / given.shelf_trays * given.lit_days * given.kwh,
        "rent": given.shelf_rent_day / given.shelf_trays * given.shelf_days,
    }
    return tuple(CostLine(name=name, amount=amount) for name, amount in amounts.items())


def _hands(given: TrayInputs) -> tuple[CostLine, ...]:
    return tuple(
        CostLine(name=f"hands: {job.name}", amount=job.minutes * given.wage_h / MINUTES, if_cut=job.if_cut)
        for job in given.jobs
    )


def _packing(given: TrayInputs) -> tuple[CostLine, ...]:
    packs = given.weight_g * (1 - given.trim) / given.pack_g if given.pack_g else 0.0
    return (CostLine(name="packs", amount=packs * given.pack, if_cut=True),)


SHARES = ("trim", "lost")
ABOVE_ZERO = ("weight_g", "shelf_trays")


def check_inputs(given: TrayInputs) -> None:
    """Raise `InputError` for the first figure of a tray that cannot be."""
    for name in given.__struct_fields__:
        if name != "jobs":
            _check_one(name, getattr(given, name))
    for job in given.jobs:
        require_between(f"minutes to {job.name}", job.minutes, 0, MOST, "min")


def _check_one(name: str, value: float) -> None:
    said = SAID.get(name, (name, ""))
    if name in SHARES:
        if not 0 <= value < 1:
            remedy = "Where nothing is left to sell, there is no cost of it."
            raise InputError(said[0], f"{100 * value:g}", "must lie in [0, 100) %", remedy, "%")
    elif name in ABOVE_ZERO:
        if not 0 < value <= MOST:
            raise InputError(said[0], f"{value:g}", "must be above 0", f"Give the {said[0]}.", said[1])
    else:
        require_between(said[0], value, 1.0 if name == "medium_uses" else 0.0, MOST, said[1])


SAID: dict[str, tuple[str, str]] = {
    "weight_g": ("weight of a tray", "g"),
    "seed_g": ("seed for a tray", "g"),
    "seed_kg": ("price of seed", "a kg"),
    "medium": ("price of the medium", "a tray"),
    "medium_uses": ("uses of the medium", ""),
    "wear": ("wear of trays", "a use"),
    "water_l": ("water for a tray", "l"),
    "water_m3": ("price of water", "a m3"),
    "feed_ml": ("feed for a tray", "ml"),
    "feed_l": ("price of feed", "a l"),
    "shelf_kwh_day": ("energy of a shelf", "kWh/d"),
    "shelf_trays": ("trays on a shelf", ""),
    "lit_days": ("days under light", "d"),
    "kwh": ("price of energy", "a kWh"),
    "shelf_days": ("days on a shelf", "d"),
    "shelf_rent_day": ("rent of a shelf", "a day"),
    "wage_h": ("wage", "an hour"),
    "pack_g": ("weight of a pack", "g"),
    "pack": ("price of a pack", "each"),
    "trim": ("share trimmed away", ""),
    "lost": ("share of trays lost", ""),
}
"""Every figure of a tray in the trade's words, with its unit."""


# What moves it --------------------------------------------------------------------------------------------------------


class Swing(msgspec.Struct, frozen=True, kw_only=True):
    """What a sum comes to with one figure of it lower and higher. [the sum's unit]"""

    name: str
    """The field of `TrayInputs`, or `hands: JOB`."""
    present: float
    lower: float
    higher: float
    """The figure as it is, and what the sum comes to with it lower and higher."""

    @property
    def width(self) -> float:
        """How far apart the two are."""
        return abs(self.higher - self.lower)


def swings(given: TrayInputs, share: float, worth: Callable[[TrayInputs], float]) -> tuple[Swing, ...]:
    """
    What a sum comes to as each of its figures is lowered and raised by a share of itself, the rest as it is.

    Parameters
    ----------
    given : TrayInputs
        The figures.
    share : float
        Raised and lowered by so much. [-] Valid above 0, below 1.
    worth : callable
        The sum: cost of a gram, margin of a tray.

    Returns
    -------
    tuple of Swing
        The widest first; figures that are 0 or move nothing are left out. One figure stands for those that only count
        multiplied with it: seed for its grams and its price, energy for kWh, days and price.

    Raises
    ------
    InputError
        If the share is not between 0 and 1, or a raised figure is impossible (a loss of 60 % raised by 70 %).

    Examples
    --------
    >>> given = TrayInputs(weight_g=200, seed_g=20, seed_kg=30, medium=0.5)
    >>> found = swings(given, 0.2, lambda moved: tray_costs(moved).tray)
    >>> [(one.name, round(one.lower, 2), round(one.higher, 2)) for one in found]
    [('seed_kg', 0.98, 1.22), ('medium', 1.0, 1.2)]
    """
    if not 0 < share < 1:
        raise InputError("share", f"{100 * share:g}", "must lie between 0 and 100 %", "For instance 20 %.", "%")
    check_inputs(given)
    found = [_swing(given, name, share, worth) for name in MOVED if getattr(given, name)]
    found += [_swing_job(given, number, share, worth) for number, job in enumerate(given.jobs) if job.minutes]
    return tuple(sorted((one for one in found if one.width > 0), key=lambda one: (-one.width, one.name)))


MOVED = (
    "weight_g", "seed_kg", "medium", "wear", "water_m3", "feed_l", "kwh", "shelf_rent_day", "wage_h", "pack", "trim",
    "lost", "shelf_trays",
)  # fmt: skip
"""Figures that are moved one at a time, besides the minutes of each job."""


def _swing(given: TrayInputs, name: str, share: float, worth: Callable[[TrayInputs], float]) -> Swing:
    present = float(getattr(given, name))

    def at(factor: float) -> float:
        return worth(msgspec.structs.replace(given, **{name: present * factor}))

    return Swing(name=name, present=present, lower=at(1 - share), higher=at(1 + share))


def _swing_job(given: TrayInputs, number: int, share: float, worth: Callable[[TrayInputs], float]) -> Swing:
    job = given.jobs[number]

    def at(factor: float) -> float:
        moved = msgspec.structs.replace(job, minutes=job.minutes * factor)
        return worth(msgspec.structs.replace(given, jobs=(*given.jobs[:number], moved, *given.jobs[number + 1 :])))

    return Swing(name=f"hands: {job.name}", present=job.minutes, lower=at(1 - share), higher=at(1 + share))
