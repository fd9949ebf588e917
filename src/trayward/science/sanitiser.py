"""Sanitisers as growers meet them: what a label's per cent means, how strong a rule lets them be, what must not meet.

Figures for arithmetic. A product's label is the law for who uses it, and local codes and licensed practice go before
anything here.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from trayward.errors import Finding, InputError
from trayward.science.dilution import CHLORINE_PER_HYPOCHLORITE
from trayward.science.either import require_each
from trayward.units import show_number

Form = Literal["liquid", "powder", "spirit"]
"""`liquid`: millilitres, strength in ppm; `powder`: grams; `spirit`: per cent by volume."""
Use = Literal["surface", "wash", "crop", "tools"]
"""What it touches: `surface` food touches and that is not rinsed; `wash` water for greens; `crop` as it grows; `tools`
and trays that are rinsed after."""


class Agent(msgspec.Struct, frozen=True, kw_only=True):
    """
    One kind of sanitiser.

    `density_slope`: density of the product rises from 1 by this times its share by weight [g/ml], from memory, good to
    some per cent. `counted`: share of what the label counts that is counted in ppm [-]. `per_weight`: whether its per
    cent is usually one of weight.
    """

    name: str
    form: Form
    aliases: tuple[str, ...] = ()
    counted_as: str = ""
    density_slope: float = 0.0
    counted_by_weight: float = 1.0
    per_weight: bool = False

    def density(self, percent: float) -> float:
        """Density of a product of this strength by weight. [g/ml]"""
        return 1 + self.density_slope * percent / 100


AGENTS = {
    agent.name: agent
    for agent in (
        Agent(
            name="bleach",
            form="liquid",
            aliases=("sodium hypochlorite", "hypochlorite", "chlorine"),
            counted_as="chlorine",
            density_slope=1.4,
            counted_by_weight=CHLORINE_PER_HYPOCHLORITE,
        ),
        Agent(
            name="calcium hypochlorite",
            form="powder",
            aliases=("hypochlorite powder", "pool shock"),
            counted_as="chlorine",
            per_weight=True,
        ),
        Agent(
            name="peroxyacetic acid",
            form="liquid",
            aliases=("peracetic acid", "paa"),
            counted_as="peroxyacetic acid",
            density_slope=2.0,
            per_weight=True,
        ),
        Agent(
            name="hydrogen peroxide",
            form="liquid",
            aliases=("peroxide", "h2o2"),
            counted_as="hydrogen peroxide",
            density_slope=0.37,
            per_weight=True,
        ),
        Agent(
            name="quaternary ammonium",
            form="liquid",
            aliases=("quat", "quats", "benzalkonium chloride"),
            counted_as="quaternary ammonium",
            per_weight=True,
        ),
        Agent(
            name="alcohol",
            form="spirit",
            aliases=("ethanol", "isopropyl alcohol", "isopropanol", "rubbing alcohol"),
            counted_as="alcohol",
        ),
    )
}
"""Every sanitiser by its name. Densities, from memory: bleach of 5.25 % 1.07, peroxyacetic acid of 5 % 1.1, peroxide of
35 % 1.13 g/ml."""


def agent_named(words: str) -> Agent:
    """The sanitiser that words mean; raises `InputError` for one nobody listed."""
    meant = " ".join(words.lower().replace("-", " ").split())
    for agent in AGENTS.values():
        if meant == agent.name or meant in agent.aliases:
            return agent
    raise InputError(
        "sanitiser", words, "is none that is known here", f"Say what its label calls active: {', '.join(AGENTS)}."
    )


# How strong a rule lets it be -----------------------------------------------------------------------------------------


class Limit(msgspec.Struct, frozen=True, kw_only=True):
    """The most that a rule names for one use. `ppm` [mg/l]; `source` its key."""

    counted_as: str
    use: Use
    ppm: float
    rule: str
    source: str


LIMITS = (
    Limit(counted_as="chlorine", use="surface", ppm=200.0, rule="40 CFR 180.940", source="cfr_40_180_940"),
    Limit(counted_as="peroxyacetic acid", use="surface", ppm=500.0, rule="40 CFR 180.940", source="cfr_40_180_940"),
    Limit(counted_as="quaternary ammonium", use="surface", ppm=200.0, rule="40 CFR 180.940", source="cfr_40_180_940"),
    Limit(counted_as="peroxyacetic acid", use="wash", ppm=80.0, rule="21 CFR 173.315", source="cfr_21_173_315"),
    Limit(counted_as="peroxyacetic acid", use="crop", ppm=100.0, rule="40 CFR 180.1196", source="cfr_40_180_1196"),
)
"""United States rules, none seen in the original (`sources.json` says how each was seen); other places have others.
Quaternary ammonium: 200 ppm from memory, some kinds up to 400 by their label."""

JUST_ABOVE = 1.05
"""Within so many times a limit it is pointed out as odd: spoons and strips are no finer. Our choice. [-]"""

USE_WORDS: dict[Use, str] = {
    "surface": "a surface food touches, not rinsed",
    "wash": "water that washes greens",
    "crop": "a growing crop",
    "tools": "trays and tools that are rinsed after",
}


def limit_for(counted_as: str, use: Use) -> Limit | None:
    """The limit on record for a use; None: none is on record here, which permits nothing, the label decides."""
    return next((one for one in LIMITS if one.counted_as == counted_as and one.use == use), None)


def check_limit(use: Use, counted_as: str, ppm: float) -> Finding | None:
    """
    Point out a strength above what a food-contact rule names.

    Parameters
    ----------
    use : {"surface", "wash", "crop", "tools"}
        What it touches.
    counted_as : str
        What the ppm count: chlorine, peroxyacetic acid, hydrogen peroxide, quaternary ammonium.
    ppm : float
        Strength planned. [mg/l] Valid from 0.

    Returns
    -------
    Finding or None
        What is wrong, with the rule; None where it is not above a limit on record. None is no permission.

    Raises
    ------
    InputError
        If the strength is below zero.

    Examples
    --------
    >>> check_limit("wash", "peroxyacetic acid", 80.0) is None
    True
    >>> check_limit("surface", "chlorine", 250.0).message
    'chlorine = 250 ppm: above the 200 ppm that 40 CFR 180.940 names for a surface food touches, not rinsed.'
    """
    require_each("ppm", ppm, 0, float("inf"), "ppm")
    limit = limit_for(counted_as, use)
    if limit is None or ppm <= limit.ppm:
        return None
    near = ppm <= limit.ppm * JUST_ABOVE
    named = f"{'just ' if near else ''}above the {limit.ppm:g} ppm that {limit.rule} names for {USE_WORDS[use]}"
    return Finding(
        code="sanitiser-too-strong",
        severity="odd" if near else "wrong",
        message=f"{counted_as} = {show_number(ppm)} ppm: {named}.",
        remedy="Mix it weaker, or do what the label says for this strength (often a rinse with clean water).",
        about=f"limit:{limit.source}",
    )
