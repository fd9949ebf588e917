"""What a tray weighed: right after its last watering, and since."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import NamedTuple

from trayward.farm.entries import Entry, Fed, Measured, Struck, Watered

WEIGHT = "weight_g"


class TrayWeights(NamedTuple):
    """Weights of a tray. [g] None where nobody weighed it."""

    full_g: float | None
    """The first since the last watering."""
    now_g: float | None
    """The last after that one."""
    watered: datetime | None
    """When it was watered last."""


def tray_weights(tray: str, entries: Iterable[Entry]) -> TrayWeights:
    """
    A tray's weight right after its last watering, and the last one since.

    Parameters
    ----------
    tray : str
        Its name.
    entries : iterable of Entry
        What was said of it and struck of that, in the order of happening.

    Returns
    -------
    TrayWeights
        Weights. [g]
    """
    told = list(entries)
    struck = {entry.body.entry for entry in told if isinstance(entry.body, Struck)}
    watered: datetime | None = None
    weights: list[float] = []
    for entry in told:
        body = entry.body
        if entry.id in struck or not isinstance(body, Watered | Fed | Measured) or tray not in body.trays:
            continue
        if isinstance(body, Watered | Fed):
            watered, weights = entry.at, []
        elif body.what == WEIGHT:
            weights.append(body.value)
    full = weights[0] if weights and watered is not None else None
    return TrayWeights(full, weights[-1] if full is not None and len(weights) > 1 else None, watered)
