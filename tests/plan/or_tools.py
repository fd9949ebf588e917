"""The plain form given to solvers of OR-tools; run as a process of its own (see `with_others`)."""

from __future__ import annotations

import math
import pickle
import sys

from ortools.linear_solver import pywraplp
from ortools.sat.python import cp_model

from tests.plan.plain_model import Found, Plain, takes_of

REST = 0.1
"""What is neither whole nor grams (beyond a limit: spots, minutes) is counted in steps of this for CP-SAT. [-]"""


def scip(model: Plain, *, whole: bool = True, seconds: float = 60.0) -> Found:
    """SCIP through OR-tools' own modelling; without whole numbers, GLOP."""
    solver = pywraplp.Solver.CreateSolver("SCIP" if whole else "GLOP")
    solver.SetTimeLimit(int(seconds * 1000))
    infinite = solver.infinity()
    columns = [
        solver.IntVar(0.0, min(upper, infinite), "") if kind and whole else solver.NumVar(0.0, min(upper, infinite), "")
        for upper, kind in zip(model.upper, model.whole, strict=True)
    ]
    for entries, least, most in model.rows:
        row = solver.RowConstraint(max(least, -infinite), min(most, infinite), "")
        for column, value in entries.items():
            row.SetCoefficient(columns[column], value)
    goal = solver.Objective()
    for column, cost in zip(columns, model.cost, strict=True):
        goal.SetCoefficient(column, cost)
    goal.SetOffset(model.offset)
    goal.SetMinimization()
    ended = solver.Solve()
    if ended not in (pywraplp.Solver.OPTIMAL, pywraplp.Solver.FEASIBLE):
        return Found(math.inf, -math.inf, [], str(ended))
    values = [column.solution_value() for column in columns]
    bound = goal.BestBound() if whole else goal.Value()
    return Found(goal.Value(), bound, takes_of(model, values), "optimal" if ended == 0 else "stopped")


def glop(model: Plain, *, seconds: float = 60.0) -> Found:
    """GLOP, without whole numbers."""
    return scip(model, whole=False, seconds=seconds)


def cp_sat(
    model: Plain, *, seconds: float = 60.0, grain: float = 1.0, fine: int = 100, cents: int = 10_000, threads: int = 2
) -> Found:
    """
    CP-SAT, which knows whole numbers only.

    Parameters
    ----------
    grain : float
        Grams are counted in steps of this, those of a tray rounded to it. [g]
    fine, cents : int
        Other coefficients are rounded to one part in so many; money is too.
    """
    built = cp_model.CpModel()
    step = [1.0 if kind else grain if grams else REST for kind, grams in zip(model.whole, model.grams, strict=True)]
    most = [
        math.floor(upper / size + 1e-9) if math.isfinite(upper) else 10**6
        for upper, size in zip(model.upper, step, strict=True)
    ]
    columns = [built.NewIntVar(0, top, "") for top in most]
    for entries, least, top in model.rows:
        of_grams = any(model.grams[column] for column in entries)
        exact = all(abs(v * step[c] - round(v * step[c])) < 1e-9 for c, v in entries.items())
        scale = 1.0 / grain if of_grams else 1 if exact else fine
        row = sum(round(value * step[column] * scale) * columns[column] for column, value in entries.items())
        low = math.floor(least * scale + 1e-6) if math.isfinite(least) else -(10**12)
        high = math.ceil(top * scale - 1e-6) if math.isfinite(top) else 10**12
        built.AddLinearConstraint(row, low, high)
    built.Minimize(
        sum(round(cost * size * cents) * column for cost, size, column in zip(model.cost, step, columns, strict=True))
    )
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds, solver.parameters.num_workers = seconds, threads
    ended = solver.Solve(built)
    if ended not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Found(math.inf, solver.BestObjectiveBound() / cents + model.offset, [], solver.StatusName(ended))
    values = [solver.Value(column) * size for column, size in zip(columns, step, strict=True)]
    cost = solver.ObjectiveValue() / cents + model.offset
    bound = solver.BestObjectiveBound() / cents + model.offset
    return Found(cost, bound, takes_of(model, values), "optimal" if ended == cp_model.OPTIMAL else "stopped")


if __name__ == "__main__":
    solver, models, words = pickle.load(sys.stdin.buffer)
    solve = {"scip": scip, "glop": glop, "cp_sat": cp_sat}[solver]
    sys.stdout.buffer.write(pickle.dumps([solve(model, **words) for model in models]))
