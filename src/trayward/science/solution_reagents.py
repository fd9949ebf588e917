"""Acids and bases as growers buy them: what a millilitre of a named strength holds, and what it adds to the water."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from trayward.errors import InputError
from trayward.science.solution_constants import K_G, N_G, P_G, S_G

Densities = tuple[tuple[float, float], ...]
"""Strength [% by weight] and density at 20 C [g/ml], rising."""


class Reagent(NamedTuple):
    """An acid or base. `adds` is what a mole puts into the water, in moles of the fields of `Solution`; `nutrients` is
    what a mole puts in of each plant food. [g/mol]"""

    name: str
    formula: str
    molar_g: float
    acid: bool
    protons: int
    adds: Mapping[str, float]
    nutrients: Mapping[str, float]
    densities: Densities
    powder: bool = False
    """Whether it is also sold dry."""


class Product(NamedTuple):
    """A reagent at the strength on its label. A powder is measured in grams, everything else in millilitres."""

    reagent: Reagent
    moles: float
    """What a millilitre, or a gram of powder, holds. [mol]"""
    percent: float | None
    """By weight. [%] None where the label says mol/l."""
    density: float | None
    """[g/ml] None for a powder, or where the label says mol/l."""
    powder: bool
    label: str
    """In words: `citric acid 50 %`."""

    @property
    def unit(self) -> str:
        """What it is measured in: g or ml."""
        return "g" if self.powder else "ml"

    @property
    def molar(self) -> float:
        """Strength of the liquid. [mol/l]"""
        return self.moles * 1000


# Densities: nitric to 40 %, phosphoric to 40 %, sulphuric (but 60 and 80 to 98 %), citric to 30 % seen in a table
# (`source("solution_densities")`); nitric 70 %, phosphoric 75 and 85 %, potassium hydroxide 45 % seen rounded in public
# lists; all others from memory.
NITRIC = Reagent(
    "nitric acid", "HNO3", 63.013, True, 1, {"strong": -1.0, "ions": 1.0}, {"nitrogen": N_G},
    ((0, 0.9982), (5, 1.0257), (10, 1.0543), (20, 1.1150), (30, 1.1801), (40, 1.2466), (50, 1.3100), (60, 1.3667),
     (65, 1.3913), (67, 1.4004), (70, 1.4134)),
)  # fmt: skip
PHOSPHORIC = Reagent(
    "phosphoric acid", "H3PO4", 97.994, True, 3, {"phosphorus": 1.0}, {"phosphorus": P_G},
    ((0, 0.9982), (5, 1.0254), (10, 1.0531), (20, 1.1135), (30, 1.1804), (40, 1.2536), (50, 1.335), (60, 1.426),
     (70, 1.526), (75, 1.579), (80, 1.633), (85, 1.689)),
)  # fmt: skip
SULFURIC = Reagent(
    "sulphuric acid", "H2SO4", 98.072, True, 2, {"sulfur": 1.0}, {"sulfur": S_G},
    ((0, 0.9982), (5, 1.0318), (10, 1.0661), (20, 1.1398), (30, 1.2191), (40, 1.3028), (50, 1.3952), (60, 1.4983),
     (70, 1.6105), (80, 1.7272), (90, 1.8144), (93, 1.8279), (95, 1.8337), (96, 1.8355), (98, 1.8361)),
)  # fmt: skip
CITRIC = Reagent(
    "citric acid", "C6H8O7", 192.124, True, 3, {"citrate": 1.0}, {},
    ((0, 0.9982), (5, 1.0189), (10, 1.0402), (20, 1.0858), (30, 1.1346), (40, 1.186), (50, 1.240), (60, 1.298)),
    powder=True,
)  # fmt: skip
HYDROXIDE = Reagent(
    "potassium hydroxide", "KOH", 56.105, False, 1, {"strong": 1.0, "ions": 1.0}, {"potassium": K_G},
    ((0, 0.9982), (5, 1.0437), (10, 1.0904), (20, 1.1874), (30, 1.2905), (40, 1.3991), (45, 1.456), (50, 1.514)),
    powder=True,
)  # fmt: skip
BICARBONATE = Reagent(
    "potassium bicarbonate", "KHCO3", 100.114, False, 1, {"strong": 1.0, "ions": 1.0, "carbon": 1.0},
    {"potassium": K_G},
    ((0, 0.9982), (5, 1.031), (10, 1.065), (20, 1.137), (24, 1.167)),
    powder=True,
)  # fmt: skip
REAGENTS = (CITRIC, PHOSPHORIC, NITRIC, SULFURIC, HYDROXIDE, BICARBONATE)

_NAMES = {
    "citric": CITRIC, "phosphoric": PHOSPHORIC, "nitric": NITRIC, "sulphuric": SULFURIC, "sulfuric": SULFURIC,
    "potassium hydroxide": HYDROXIDE, "koh": HYDROXIDE, "potassium bicarbonate": BICARBONATE,
    "potassium hydrogen carbonate": BICARBONATE, "khco3": BICARBONATE, "hno3": NITRIC, "h3po4": PHOSPHORIC,
    "h2so4": SULFURIC,
}  # fmt: skip
STRONGEST_MOLAR = 20.0
EXAMPLE = 'For instance "citric 50 %", "phosphoric 75 % 1.58", "nitric 2 mol/l" or "citric powder".'


def density_of(reagent: Reagent, percent: float) -> float:
    """
    Density of an acid or base of a strength, at 20 C. [g/ml]

    Parameters
    ----------
    reagent : Reagent
        One of `REAGENTS`.
    percent : float
        By weight. [%] Valid above 0, up to what is sold of it as a liquid.

    Raises
    ------
    InputError
        If there is no such liquid.

    Notes
    -----
    Straight lines between the rows of the table; within 0.5 % of the measured curves.

    Examples
    --------
    >>> round(density_of(SULFURIC, 93), 3)
    1.828
    """
    rows = reagent.densities
    if not 0 < percent <= rows[-1][0]:
        if 0 < percent <= 100 and reagent.powder:
            remedy = f'Is it dry? Then say "{reagent.name} powder".'
        else:
            remedy = "Read the label again."
        rule = f"must lie above 0 and up to {rows[-1][0]:g} %, the strongest there is as a liquid"
        raise InputError(f"strength of {reagent.name}", f"{percent:g}", rule, remedy, "%")
    for (low, at_low), (high, at_high) in pairwise(rows):
        if percent <= high:
            return at_low + (percent - low) / (high - low) * (at_high - at_low)
    raise AssertionError(percent)


def product_of(
    reagent: Reagent,
    *,
    percent: float | None = None,
    density: float | None = None,
    molar: float | None = None,
    powder: bool = False,
) -> Product:
    """
    A reagent at the strength on its label: per cent by weight, or mol/l, or dry.

    Parameters
    ----------
    reagent : Reagent
        One of `REAGENTS`.
    percent : float or None
        By weight. [%] A powder's purity, 100 if left out.
    density : float or None
        As the label says it. [g/ml] None: from the table.
    molar : float or None
        In place of per cent. [mol/l] Valid above 0 and up to 20.
    powder : bool
        Whether it is dry, and measured in grams.

    Raises
    ------
    InputError
        If the strength is missing, doubled, or cannot be.

    Examples
    --------
    >>> round(product_of(NITRIC, percent=67, density=1.40).molar, 2)
    14.89
    """
    if powder:
        return _powder(reagent, 100.0 if percent is None else percent)
    if molar is not None:
        if not 0 < molar <= STRONGEST_MOLAR or percent is not None:
            rule = f"must lie above 0 and up to {STRONGEST_MOLAR:g} mol/l, and stand alone"
            raise InputError(f"strength of {reagent.name}", f"{molar:g}", rule, EXAMPLE, "mol/l")
        return Product(reagent, molar / 1000, None, None, False, f"{reagent.name} {molar:g} mol/l")
    if percent is None:
        raise InputError(reagent.name, "no strength", "its strength must be said", EXAMPLE)
    table = density_of(reagent, percent)
    if density is not None and not abs(density / table - 1) <= 0.15:
        rule = f"is not the density of {percent:g} % {reagent.name}, which is about {table:.2f} g/ml"
        raise InputError("density", f"{density:g}", rule, "Per cent by weight, not by volume; read the label.", "g/ml")
    weight = table if density is None else density
    return Product(
        reagent, weight * percent / 100 / reagent.molar_g, percent, weight, False, f"{reagent.name} {percent:g} %"
    )


def _powder(reagent: Reagent, percent: float) -> Product:
    if not reagent.powder:
        raise InputError(reagent.name, "powder", "it is sold as a liquid only", EXAMPLE)
    if not 0 < percent <= 100:
        rule = "must lie above 0 and up to 100 %"
        raise InputError(f"purity of {reagent.name}", f"{percent:g}", rule, "Read the label again.", "%")
    purity = "" if percent == 100 else f" {percent:g} %"
    return Product(reagent, percent / 100 / reagent.molar_g, percent, None, True, f"{reagent.name} powder{purity}")


_STRENGTH = re.compile(
    r"(?P<name>[a-z][a-z0-9 ]*?)\s*(?:acid\s*)?(?P<powder>powder|crystals|dry)?\s*"
    r"(?:(?P<percent>[\d.,]+)\s*%\s*(?:(?:at|density|sg)?\s*(?P<density>[\d.,]+)\s*(?:g/ml|kg/l)?)?"
    r"|(?P<molar>[\d.,]+)\s*(?:mol/l|mol|m))?\s*"
)


def read_product(words: str) -> Product:
    """
    An acid or base as its label says it.

    Parameters
    ----------
    words : str
        A name and a strength by weight, with a density where the label has one: `phosphoric 75 % 1.58`; or `nitric
        2 mol/l`; or `citric powder`.

    Raises
    ------
    InputError
        If the words name no known acid or base, or no strength that can be.

    Examples
    --------
    >>> read_product("citric 50 %").label
    'citric acid 50 %'
    >>> read_product("potassium bicarbonate powder").unit
    'g'
    """
    found = _STRENGTH.fullmatch(words.strip().lower())
    reagent = _NAMES.get(found["name"].strip().removesuffix(" acid")) if found else None
    if found is None or reagent is None:
        known = ", ".join(each.name for each in REAGENTS)
        raise InputError("acid or base", repr(words), f"must be one of {known}, with its strength", EXAMPLE)
    number = {part: _number(found[part], words) for part in ("percent", "density", "molar")}
    return product_of(reagent, powder=found["powder"] is not None, **number)


def _number(text: str | None, words: str) -> float | None:
    if text is None:
        return None
    try:
        value = float(text.replace(",", "."))
    except ValueError as error:
        raise InputError("acid or base", repr(words), "has a number that cannot be read", EXAMPLE) from error
    if not math.isfinite(value):
        raise InputError("acid or base", repr(words), "has a number that cannot be read", EXAMPLE)
    return value
