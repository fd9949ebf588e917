"""Washing and sanitising that do not keep the farm's own limits: asked about first, for it clears nothing."""

from __future__ import annotations

from trayward.desk.doubts import Doubts
from trayward.errors import Doubt
from trayward.farm.entries import Sanitised, Washed
from trayward.farm.kit import Pool
from trayward.farm.kit_clear import Missed, sanitise_missed, steps_missed, wash_missed
from trayward.farm.transitions.say import listed, show


def wash_doubts(pool: Pool, body: Washed) -> Doubts:
    """Steps left out, and a rinse that was not as warm as the farm wants it, or not written down. [C]"""
    left_out = steps_missed(pool, body)
    if left_out:
        said = listed(left_out)
        yield Doubt(
            subject=f"kit {pool.name}", what="left out", value=said, said=said,
            rule="it is a step of this farm, so they stay dirty",
        )  # fmt: skip
    for each in wash_missed(pool, body):
        yield _doubted(pool, each, "so they stay dirty")


def sanitise_doubts(pool: Pool, body: Sanitised) -> Doubts:
    """Strength, contact time and water outside what the farm wants, or not written down. [ppm], [min], [C]"""
    for each in sanitise_missed(pool, body):
        yield _doubted(pool, each, "so they are not cleared")


def _doubted(pool: Pool, each: Missed, so: str) -> Doubt:
    said = "not written down" if each.said is None else f"{show(each.said)} {each.unit}"
    return Doubt(
        subject=f"kit {pool.name}", what=each.what, value=said if each.said is None else each.said, unit=each.unit,
        expected_low=each.low, expected_high=each.high, said=said, rule=f"this farm wants {each.words}, {so}",
    )  # fmt: skip
