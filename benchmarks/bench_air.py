"""How long the sums of the air take for a million states, beside psychrolib for as many as it can be waited for.

psychrolib takes one state at a time; its time for a sample is scaled up to the million, which its loop does not bend.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import psychrolib

from benchmarks.harness import Figure, measure_beside, progress, run
from trayward.science.air import STANDARD_PA, absolute_humidity, humidity_ratio, vapour_deficit, vapour_pressure
from trayward.science.air_dew import dew_point, wet_bulb
from trayward.science.degree_days import thermal_time_of_log

STATES, SAMPLE = 1_000_000, 1_000
PEER = "psychrolib, scaled up"


def figures() -> list[Figure]:
    """Sums of the air over arrays, and thermal time of a long log."""
    psychrolib.SetUnitSystem(psychrolib.SI)
    rng = np.random.default_rng(20261126)
    temp, wet = rng.uniform(10.0, 35.0, STATES), rng.uniform(30.0, 100.0, STATES)
    found = [_one(name, ours, peer, temp, wet) for name, ours, peer in SUMS]
    return [*found, _log(rng)]


def _ratio(temp: np.ndarray, wet: np.ndarray) -> object:
    return humidity_ratio(vapour_pressure(temp, wet))


SUMS: tuple[tuple[str, Callable[[np.ndarray, np.ndarray], object], Callable[[float, float], object]], ...] = (
    (
        "vapour pressure deficit",
        vapour_deficit,
        lambda temp, share: psychrolib.GetVaporPressureDeficit(
            temp, psychrolib.GetHumRatioFromRelHum(temp, share, STANDARD_PA), STANDARD_PA
        ),
    ),
    ("dew point", dew_point, psychrolib.GetTDewPointFromRelHum),
    (
        "humidity ratio",
        _ratio,
        lambda temp, share: psychrolib.GetHumRatioFromRelHum(temp, share, STANDARD_PA),
    ),
    ("water in a cubic metre", absolute_humidity, psychrolib.GetVapPresFromRelHum),
    ("wet bulb", wet_bulb, lambda temp, share: psychrolib.GetTWetBulbFromRelHum(temp, share, STANDARD_PA)),
)
"""What is worked out, by us and by the peer; for water in a cubic metre its vapour pressure, the dear part of it."""


def _one(
    name: str,
    ours: Callable[[np.ndarray, np.ndarray], object],
    peer: Callable[[float, float], object],
    temp: np.ndarray,
    wet: np.ndarray,
) -> Figure:
    progress(f"air: {name}")
    few = list(zip(temp[:SAMPLE].tolist(), (wet[:SAMPLE] / 100).tolist(), strict=True))
    mine, theirs = measure_beside(lambda: ours(temp, wet), lambda: [peer(*state) for state in few])
    return Figure(name, f"{STATES:,} states", 1000 * mine, "ms", PEER, 1000 * theirs * STATES / SAMPLE)


def _log(rng: np.random.Generator) -> Figure:
    """A log of a million readings at uneven steps, beside the plain sum of a clipped mean by steps."""
    hours = np.cumsum(rng.uniform(0.1, 0.4, STATES))
    temps = 20 + 6 * np.sin(hours * np.pi / 12) + rng.normal(0, 1, STATES)

    def trapezes() -> object:
        above = np.clip(temps, 4.0, 25.0) - 4.0
        return np.trapezoid(above, hours)

    progress("air: thermal time of a log")
    mine, plain = measure_beside(lambda: thermal_time_of_log(hours, temps, 4.0), trapezes)
    size = f"{STATES:,} readings"
    return Figure("thermal time, gaps named", size, 1000 * mine, "ms", "trapezes, no gaps", 1000 * plain)


if __name__ == "__main__":
    run(figures)
