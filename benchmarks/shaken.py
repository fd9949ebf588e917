"""Out of a plan that no change of a tray or two betters: take a few trays out by chance, and search anew.

References
----------
Schrimpf, G., Schneider, J., Stamm-Wilbrandt, H. and Dueck, G. (2000). Record breaking optimization results using the
ruin and recreate principle. Journal of Computational Physics 159:139-171. doi 10.1006/jcph.1999.6413. (From memory.)
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.random import Generator

from trayward.plan.farm_search import BETTER, FarmSearch, Sticky

FEWEST, MOST = 2, 6
"""So many trays are taken out at a time. [-]"""
WITHIN = 7
"""Every other time they were sown within so many days of one of them. [d]"""


def shake(
    search: FarmSearch, rng: Generator, tries: int, late: Callable[[], bool], sticky: Sticky | None = None
) -> None:
    """
    Better a plan by chance.

    Parameters
    ----------
    search : FarmSearch
        After its run; it ends with the best plan found, which is never worse than the one it came with.
    tries : int
        So often trays are taken out at most.
    late : callable
        Whether time is up.
    """
    best, kept = search.cost() + search.stuck, search.state()
    for turn in range(tries):
        if late():
            break
        _take_out(search, rng, sticky, near=turn % 2 == 0)
        search.run(late, sticky)
        now = search.cost() + search.stuck
        if now < best - BETTER:
            best, kept = now, search.state()
        else:
            search.back_to(kept)


def _take_out(search: FarmSearch, rng: Generator, sticky: Sticky | None, *, near: bool) -> None:
    trays = [
        (number, one, int(worth.choices.sow[one]))
        for number, (worth, take) in enumerate(zip(search.worths, search.takes, strict=True))
        for one in np.flatnonzero((take > 0) & (worth.choices.way >= 0)).tolist()
    ]
    if near and trays:
        about = trays[rng.integers(len(trays))][2]
        trays = [tray for tray in trays if abs(tray[2] - about) < WITHIN]
    for at in rng.permutation(len(trays))[: rng.integers(FEWEST, MOST + 1)]:
        search.make(trays[at][0], trays[at][1], -1, sticky)
