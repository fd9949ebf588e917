"""What a tray may yield before the farm has cut its own: the table's word, or a wide guess borrowed from like crops."""

from __future__ import annotations

import math

from trayward.farm.crops import CropFacts
from trayward.farm.recipes import YieldPrior
from trayward.library.crops import crop_names, library_facts

FAMILY_REACH, SEED_REACH = 8.0, 4.0
"""How many times heavier or lighter the seed of a lender may be, inside the family and outside it."""
BORROWED_LOW, BORROWED_HIGH = 0.7, 1.4
"""A borrowed range is drawn wider than the lenders' own by these shares: our estimate."""

BORROWED = "borrowed from "
"""How the source of a borrowed yield begins; the crops that lend it follow."""

_ENDS = ("low", "typ", "high")


def yield_prior(facts: CropFacts) -> YieldPrior:
    """
    What is on record of a tray's yield.

    Parameters
    ----------
    facts : CropFacts
        What is known of the crop.

    Returns
    -------
    YieldPrior
        Low, typical and high for a nominal 1020 tray [g]; blank where the table is blank. Where sources give low and
        high only, the typical is their geometric middle and `source` says so.
    """
    low, typical, high = (facts.number(f"yield_g_per_1020_{end}") for end in _ENDS)
    keys = [facts.facts[name].source for end in _ENDS if (name := f"yield_g_per_1020_{end}") in facts.facts]
    source = ", ".join(dict.fromkeys(key or "this farm" for key in keys))
    if typical is None and low is not None and high is not None:
        typical = round(math.sqrt(low * high))
        source += "; typical is the middle of low and high"
    return YieldPrior(low_g=low, typical_g=typical, high_g=high, source=source)


def family_yield_prior(crop: str) -> YieldPrior:
    """
    A wide guess at a crop's yield, borrowed from crops like it.

    Parameters
    ----------
    crop : str
        A crop of the library.

    Returns
    -------
    YieldPrior
        For a nominal 1020 tray [g]. `source` says that it is borrowed and from which crops; blank where no crop is like
        it.

    Raises
    ------
    NotFoundError
        If the library does not know the crop.

    Notes
    -----
    Lenders are crops of the same family whose seed weighs up to eight times more or less; failing that, crops of any
    family up to four times. Typical is the geometric mean of theirs; the range is theirs, drawn wider.
    """
    facts = library_facts(crop)
    lenders = _lenders(facts)
    if not lenders:
        return YieldPrior()
    priors = [yield_prior(lender) for lender in lenders]
    typical = [prior.typical_g for prior in priors if prior.typical_g is not None]
    every = [grams for prior in priors for grams in (prior.low_g, prior.typical_g, prior.high_g) if grams is not None]
    return YieldPrior(
        low_g=round(min(every) * BORROWED_LOW),
        typical_g=round(math.exp(sum(map(math.log, typical)) / len(typical))),
        high_g=round(max(every) * BORROWED_HIGH),
        source=BORROWED + ", ".join(lender.crop for lender in lenders),
    )


def _lenders(facts: CropFacts) -> list[CropFacts]:
    others = [library_facts(name) for name in crop_names() if name != facts.crop]
    known = [other for other in others if yield_prior(other).typical_g is not None]
    family = [other for other in known if other.family == facts.family and _alike(facts, other, FAMILY_REACH)]
    return family or [other for other in known if _alike(facts, other, SEED_REACH)]


def _alike(one: CropFacts, other: CropFacts, reach: float) -> bool:
    mine, theirs = one.number("tsw_g_typ"), other.number("tsw_g_typ")
    return mine is not None and theirs is not None and 1 / reach <= theirs / mine <= reach
