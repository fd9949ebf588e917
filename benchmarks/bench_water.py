"""How long an acid dose takes, beside PHREEQC asked the same through phreeqpython, where that is installed."""

from __future__ import annotations

import importlib.util
from collections.abc import Callable
from typing import Any

import numpy as np

from benchmarks.harness import Figure, measure, measure_beside, progress, run
from trayward.science.solution import settle, water_of
from trayward.science.solution_dose import dose_to_ph, titration
from trayward.science.solution_reagents import read_product

TARGET, TEMP_C, MEQ, PH = 5.8, 18.0, 2.398, 7.8
REPEAT = 9
HALVINGS = 30
"""Of 6 mmol/l: to about what a syringe could ever tell, 0.00001 ml."""
MANY = 1_000


def ours(words: str) -> Callable[[], object]:
    """From the water as tested to the dose, its curve left out."""
    product = read_product(words)
    return lambda: dose_to_ph(water_of(PH, MEQ, temp_c=TEMP_C, calcium_mg=40.0), product, TARGET)


def theirs() -> Callable[[], float] | None:
    """PHREEQC looks for no dose by itself, so it is found by halving, as with a meter; None where it is not there."""
    if importlib.util.find_spec("phreeqpython") is None:
        return None
    phreeqpython: Any = __import__("phreeqpython")
    engine = phreeqpython.PhreeqPython(database="phreeqc.dat")
    asked = {"units": "mmol/kgw", "pH": PH, "temp": TEMP_C, "Alkalinity": MEQ, "Ca": 0.998, "Na": "0.4 charge"}

    def dose() -> float:
        low, high = 0.0, 6.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            found = engine.add_solution(asked)
            found.add("HNO3", middle, "mmol")
            ph = found.pH
            found.forget()
            low, high = (middle, high) if ph > TARGET else (low, middle)
        return (low + high) / 2

    return dose


def figures() -> list[Figure]:
    """One dose, a curve, and many waters at once."""
    progress("water: a dose")
    found, act, peer = [], ours("nitric 38 %"), theirs()
    if peer is not None:
        product = read_product("nitric 38 %")
        mine = float(dose_to_ph(water_of(PH, MEQ, temp_c=TEMP_C, calcium_mg=40.0), product, TARGET).mmol)
        assert abs(mine / peer() - 1) < 2e-3
        took, other = measure_beside(act, peer, repeat=REPEAT)
        name = f"PHREEQC, {HALVINGS} halvings"
        found.append(Figure("nitric acid to a pH", "one water", took * 1000, "ms", name, other * 1000))
    else:
        found.append(Figure("nitric acid to a pH", "one water", measure(act, repeat=REPEAT) * 1000, "ms"))
    found.append(Figure("citric acid to a pH", "one water", measure(ours("citric 50 %"), repeat=REPEAT) * 1000, "ms"))
    water, citric = water_of(PH, MEQ, temp_c=TEMP_C, calcium_mg=40.0), read_product("citric 50 %")
    curve = measure(lambda: titration(water, citric, 1.0, points=101), repeat=REPEAT)
    found.append(Figure("titration curve", "101 points", curve * 1000, "ms"))
    progress("water: many waters")
    several = water_of(np.linspace(6.0, 8.5, MANY), np.linspace(0.5, 6.0, MANY), temp_c=TEMP_C)
    found.append(Figure("pH of many waters", f"{MANY:,}", measure(lambda: settle(several), repeat=3) * 1000, "ms"))
    return found


if __name__ == "__main__":
    run(figures)
