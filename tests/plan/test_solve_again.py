"""A model solved again and again: led astray where it began, the solver begins anew; a proof that fails harms none."""

from __future__ import annotations

from typing import Any

import highspy
import numpy as np
import pytest

from tests.plan.test_mixing import _farm, _proof, _search
from trayward.errors import PlanError
from trayward.plan.model import Model, RowName
from trayward.plan.solve import Again


class Astray:
    """The solver, that knows no answer for the first so many times it is asked whether it has one."""

    def __init__(self, solver: Any, times: int) -> None:
        self._solver, self._times, self.cleared = solver, times, 0

    def getModelStatus(self) -> Any:  # noqa: N802
        self._times -= 1
        return highspy.HighsModelStatus.kUnknown if self._times >= 0 else self._solver.getModelStatus()

    def clearSolver(self) -> Any:  # noqa: N802
        self.cleared += 1
        return self._solver.clearSolver()

    def __getattr__(self, name: str) -> Any:
        return getattr(self._solver, name)


def _at_least(two: float) -> Again:
    """The least x + y with x + y >= 2."""
    model = Model()
    columns = model.add_columns(np.ones(2), 0.0, np.inf)
    rows = model.add_rows(np.array([two]), np.array([np.inf]), [RowName("sum", "", 0)])
    model.add_entries(np.repeat(rows, 2), columns, 1.0)
    return Again(model)


def test_a_solver_led_astray_begins_anew_and_finds_its_way() -> None:
    again = _at_least(2.0)
    again._solver = astray = Astray(again._solver, 1)
    _, cost = again.solve()
    assert cost == pytest.approx(2.0)
    assert astray.cleared == 1


def test_a_solver_that_stays_astray_says_so() -> None:
    again = _at_least(2.0)
    again._solver = Astray(again._solver, 2)
    with pytest.raises(PlanError, match="Try fewer weeks"):
        again.solve()


def test_a_proof_whose_solver_fails_leaves_the_plan_without_a_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise PlanError("no plan was found")

    monkeypatch.setattr("trayward.plan.proof.find_prices", fails)
    farm, models = _farm(1)
    search = _search(farm, models)
    with _proof(farm, search, late=True) as proof:
        search.settle(lambda: False)
    assert proof.of(search.cost()) == -np.inf


def test_rows_may_begin_at_a_later_column() -> None:
    again = _at_least(2.0)
    again.add_rows(np.array([-np.inf]), np.array([0.5]), np.array([[1.0]]), first=1)
    again.set_costs(np.array([0]), np.array([3.0]))
    values, cost = again.solve()
    assert values == pytest.approx([1.5, 0.5])
    assert cost == pytest.approx(5.0)
