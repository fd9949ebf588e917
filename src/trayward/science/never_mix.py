"""What must never be mixed on a work table, pair by pair, as data with sources."""

from __future__ import annotations

from typing import Literal

import msgspec

from trayward.errors import InputError

Danger = Literal["gas", "fire", "burns", "spoils"]
"""`gas`: poison gas; `fire`: fire, bursting or great heat; `burns`: eats skin, eyes and lungs; `spoils`: neither works
any more."""


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    """Two groups of products that must not meet, what comes of it, and the key of its source."""

    first: str
    second: str
    danger: Danger
    what: str
    source: str


PAIRS = (
    Pair(first="chlorine", second="acid", danger="gas", what="chlorine gas", source="nfpa_mixing"),
    Pair(first="chlorine", second="ammonia", danger="gas", what="chloramine gas", source="nfpa_mixing"),
    Pair(first="chlorine", second="alcohol", danger="gas", what="chloroform and other vapours", source="nfpa_mixing"),
    Pair(
        first="chlorine",
        second="peroxyacetic acid",
        danger="gas",
        what="chlorine gas and great heat: it is an acid too",
        source="memory",
    ),
    Pair(
        first="chlorine",
        second="peroxide",
        danger="fire",
        what="gas that froths and can burst a closed bottle; both are spent",
        source="memory",
    ),
    Pair(
        first="chlorine",
        second="quaternary ammonium",
        danger="gas",
        what="chloramine gas can come off; both are spent",
        source="memory",
    ),
    Pair(
        first="chlorine",
        second="soap",
        danger="gas",
        what="some soaps hold ammonia or acid: chloramine or chlorine gas. Rinse between the two",
        source="memory",
    ),
    Pair(
        first="chlorine powder",
        second="oil, sugar, paper or other dry stuff that burns",
        danger="fire",
        what="it can catch fire by itself, damp above all",
        source="memory",
    ),
    Pair(
        first="chlorine powder",
        second="another kind of pool chlorine",
        danger="fire",
        what="fire, bursting and gas, even from a dirty scoop",
        source="memory",
    ),
    Pair(
        first="peroxide",
        second="acid",
        danger="burns",
        what="with vinegar peroxyacetic acid, which burns eyes, skin and lungs",
        source="nfpa_mixing",
    ),
    Pair(
        first="peroxyacetic acid",
        second="alkali",
        danger="fire",
        what="it breaks up with heat and gas that bursts a closed bottle",
        source="memory",
    ),
    Pair(
        first="peroxyacetic acid",
        second="alcohol",
        danger="fire",
        what="a strong oxidiser with a fuel",
        source="memory",
    ),
    Pair(first="peroxide", second="alcohol", danger="fire", what="a strong oxidiser with a fuel", source="memory"),
    Pair(
        first="peroxide",
        second="alkali",
        danger="fire",
        what="it breaks up with heat and gas that bursts a closed bottle",
        source="memory",
    ),
    Pair(first="acid", second="alkali", danger="burns", what="great heat and splashing", source="memory"),
    Pair(
        first="quaternary ammonium",
        second="soap",
        danger="spoils",
        what="most soaps undo it: rinse before you sanitise",
        source="memory",
    ),
)
"""What comes of each pair; strong products above all, but thin ones are no reason to try."""

_GROUPS = {
    "chlorine": (
        "bleach", "sodium hypochlorite", "hypochlorite", "chlorine", "calcium hypochlorite", "hypochlorite powder",
        "pool shock",
    ),
    "acid": (
        "acid", "vinegar", "acetic acid", "citric acid", "lemon juice", "phosphoric acid", "nitric acid",
        "sulphuric acid", "sulfuric acid", "hydrochloric acid", "muriatic acid", "ph down", "descaler",
        "lime scale remover", "toilet cleaner",
    ),
    "ammonia": ("ammonia", "glass cleaner", "ammonium fertiliser", "ammonium fertilizer", "fertiliser", "fertilizer"),
    "alcohol": ("alcohol", "ethanol", "isopropyl alcohol", "isopropanol", "rubbing alcohol", "hand sanitiser"),
    "peroxide": ("hydrogen peroxide", "peroxide", "h2o2"),
    "peroxyacetic acid": ("peroxyacetic acid", "peracetic acid", "paa"),
    "quaternary ammonium": ("quaternary ammonium", "quat", "quats", "benzalkonium chloride"),
    "soap": ("soap", "dish soap", "detergent", "washing up liquid"),
    "alkali": ("alkali", "lye", "potassium hydroxide", "sodium hydroxide", "caustic soda", "ph up", "oven cleaner"),
}  # fmt: skip
_DRY = "oil, sugar, paper or other dry stuff that burns"
_ALSO = {
    "calcium hypochlorite": "chlorine powder",
    "hypochlorite powder": "chlorine powder",
    "pool shock": "chlorine powder",
}
_OTHER = {"oil": _DRY, "sugar": _DRY, "paper": _DRY, "pool chlorine": "another kind of pool chlorine"}


def groups_of(words: str) -> tuple[str, ...]:
    """The groups a product belongs to; raises `InputError` for words nobody listed."""
    meant = " ".join(words.lower().replace("-", " ").split())
    found = tuple(name for name, members in _GROUPS.items() if meant == name or meant in members)
    found += tuple(table[meant] for table in (_ALSO, _OTHER) if meant in table)
    if not found:
        remedy = f"Say what its label calls active, for instance {', '.join(product_words()[:9])}."
        raise InputError("product", words, "is none that is known here, so mix it with nothing", remedy)
    return found


def product_words() -> tuple[str, ...]:
    """What products may be called, the first of each group before the others."""
    firsts = [members[0] for members in _GROUPS.values()]
    return (*firsts, *_OTHER, *(word for members in _GROUPS.values() for word in members[1:]))


def what_comes_of(first: str, second: str) -> tuple[Pair, ...]:
    """
    What comes of two products that meet, the worst first.

    Parameters
    ----------
    first, second : str
        Products by their usual names, in any order: `bleach`, `vinegar`, `quat`.

    Returns
    -------
    tuple of Pair
        Empty where no danger is on record here, which is no permission: never mix what a label does not say to mix.

    Raises
    ------
    InputError
        If nobody listed one of them.

    Examples
    --------
    >>> [pair.what for pair in what_comes_of("vinegar", "bleach")]
    ['chlorine gas']
    """
    one, other = groups_of(first), groups_of(second)
    order = ("gas", "fire", "burns", "spoils")
    found = [
        pair
        for pair in PAIRS
        if (pair.first in one and pair.second in other) or (pair.first in other and pair.second in one)
    ]
    return tuple(sorted(found, key=lambda pair: order.index(pair.danger)))
