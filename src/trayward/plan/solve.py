"""The only module that knows the solver: a model goes in, an answer in this package's own words comes out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Literal

import msgspec
import numpy as np

from trayward.errors import PlanError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from trayward.plan.days import Floats, Ints
    from trayward.plan.model import Model

Status = Literal["optimal", "stopped", "infeasible", "unbounded"]
"""Proven within the gap; stopped with an answer before that; no answer can be; no best answer is."""


SMALL = 400
"""Up to so many whole columns the search itself is faster than the side searches meant to shorten it."""
_LEAN = {"mip_lp_age_limit": 30, "mip_pool_soft_limit": 1000}
"""Keep cuts a longer while in the linear model but fewer in store: a quarter faster on models of this form."""
_SIDE_SEARCHES = (
    "mip_allow_restart",
    "mip_heuristic_run_rins",
    "mip_heuristic_run_rens",
    "mip_heuristic_run_root_reduced_cost",
)


class Answer(msgspec.Struct, frozen=True):
    """The values found, what they cost, and the proven distance from the best possible, as a share."""

    status: Status
    values: Floats
    cost: float
    gap: float
    prices: Floats
    """For models without whole numbers: what one more unit of each row's limit would change the cost by."""


def solve(model: Model, *, gap: float = 0.005, least: float = 1e-6, seconds: float = 60.0) -> Answer:
    """
    Minimise a model.

    The same model gives the same answer: fixed seed, one thread, and the gap as the stop. `seconds` is a safety net;
    an answer it cut short says so by its status.

    Parameters
    ----------
    model : Model
        What to minimise.
    gap, least : float
        Stop once the answer is proven to lie within this share, or this amount, of the best possible. [-], [cost]

    Raises
    ------
    PlanError
        If the solver ends without an answer for another reason than that there is none.
    """
    if not model.columns:
        return Answer("optimal", np.zeros(0), model.offset, 0.0, np.zeros(model.rows))
    import highspy

    solver = highspy.Highs()
    quick = dict.fromkeys(_SIDE_SEARCHES, False) if 0 < model.whole.sum() <= SMALL else {}
    options = {"output_flag": False, "random_seed": 1, "threads": 1, "time_limit": seconds, **_LEAN}
    for name, value in {**options, **quick, "mip_rel_gap": gap, "mip_abs_gap": least}.items():
        solver.setOptionValue(name, value)
    solver.passModel(_highs_model(highspy, model))
    solver.run()
    return _answer(highspy, solver, model)


def _highs_model(highspy: Any, model: Model) -> Any:
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = model.columns, model.rows
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = model.cost, model.lower, model.upper
    lp.row_lower_, lp.row_upper_ = model.row_lower, model.row_upper
    lp.offset_ = model.offset
    start, index, value = model.by_row()
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.num_col_, lp.a_matrix_.num_row_ = model.columns, model.rows
    lp.a_matrix_.start_, lp.a_matrix_.index_, lp.a_matrix_.value_ = start, index, value
    if model.whole.any():
        kinds = highspy.HighsVarType.kContinuous, highspy.HighsVarType.kInteger
        lp.integrality_ = [kinds[int(whole)] for whole in model.whole]
    return lp


def _answer(highspy: Any, solver: Any, model: Model) -> Answer:
    ended, statuses = solver.getModelStatus(), highspy.HighsModelStatus
    info, solution = solver.getInfo(), solver.getSolution()
    if ended == statuses.kInfeasible:
        return _none("infeasible", model)
    if ended in (statuses.kUnbounded, statuses.kUnboundedOrInfeasible):
        return _none("unbounded", model)
    stopped = (statuses.kTimeLimit, statuses.kIterationLimit, statuses.kSolutionLimit, statuses.kInterrupt)
    usable = info.primal_solution_status == 2
    if ended not in (statuses.kOptimal, *stopped) or not usable:
        raise PlanError(
            f"no plan was found: the solver ended with {solver.modelStatusToString(ended)!r}. Try fewer weeks."
        )
    whole = bool(model.whole.any())
    return Answer(
        status="optimal" if ended == statuses.kOptimal else "stopped",
        values=np.array(solution.col_value, dtype=float),
        cost=float(info.objective_function_value),
        gap=max(0.0, float(info.mip_gap)) if whole else 0.0,
        prices=np.zeros(model.rows) if whole else np.array(solution.row_dual, dtype=float),
    )


def _none(status: Status, model: Model) -> Answer:
    return Answer(status, np.full(model.columns, np.nan), float("nan"), float("inf"), np.zeros(model.rows))


class Again:
    """A model without whole numbers that is solved again and again: with other costs, and with rows added to it."""

    def __init__(self, model: Model) -> None:
        import highspy

        self.columns, self._offset = model.columns, model.offset
        self._solver = highspy.Highs()
        for name, value in {"output_flag": False, "random_seed": 1, "threads": 1}.items():
            self._solver.setOptionValue(name, value)
        lp = _highs_model(highspy, model)
        lp.integrality_ = []
        self._solver.passModel(lp)

    def set_costs(self, columns: Ints, costs: Floats) -> None:
        """Give some columns other costs."""
        self._solver.changeColsCost(len(columns), columns.astype(np.int32), costs)

    def set_bounds(self, columns: Ints, lower: Floats, upper: Floats) -> None:
        """Give some columns other bounds."""
        self._solver.changeColsBounds(len(columns), columns.astype(np.int32), lower, upper)

    def set_row_tops(self, rows: Ints, upper: Floats) -> None:
        """Give some rows, which have no least value, other greatest ones."""
        lower = np.full(len(rows), -np.inf)
        self._solver.changeRowsBounds(len(rows), rows.astype(np.int32), lower, upper)

    def set_row_bounds(self, rows: Ints, lower: Floats, upper: Floats) -> None:
        """Give some rows other least and greatest values."""
        self._solver.changeRowsBounds(len(rows), rows.astype(np.int32), lower, upper)

    @property
    def rows(self) -> int:
        """Rows there are, those added included."""
        return int(self._solver.getNumRow())

    def row_prices(self) -> Floats:
        """What one more unit of each row's limit would change the cost by, at the last answer."""
        return np.array(self._solver.getSolution().row_dual, dtype=float)

    def begin_where(self, parts: Sequence[tuple[Again, int, Ints]]) -> None:
        """
        Begin the next solution where other models ended that are parts of this one.

        Nothing is begun where one of them has not been solved yet.

        Parameters
        ----------
        parts : sequence of (Again, int, array)
            The model, the number its first column has here, and the number each of its rows has here. Rows of none of
            them bind nothing at first.
        """
        import highspy

        columns = [highspy.HighsBasisStatus.kLower] * self.columns
        rows = [highspy.HighsBasisStatus.kBasic] * self.rows
        for part, first, places in parts:
            ended = part._solver.getBasis()
            if not ended.valid:
                return
            columns[first : first + part.columns] = ended.col_status
            for place, status in zip(places.tolist(), ended.row_status, strict=True):
                rows[place] = status
        basis = highspy.HighsBasis()
        basis.col_status, basis.row_status, basis.valid, basis.alien = columns, rows, True, False
        self._solver.setBasis(basis)

    def add_rows(self, lower: Floats, upper: Floats, entries: Floats, first: int = 0) -> None:
        """Add rows; `entries` (rows, columns) are dense, from the column `first` on, and all others are zero."""
        row, column = np.nonzero(entries)
        start = np.searchsorted(row, np.arange(len(lower))).astype(np.int32)
        values = entries[row, column].astype(float)
        self._solver.addRows(len(lower), lower, upper, len(row), start, (column + first).astype(np.int32), values)

    def add_columns(self, costs: Floats, entries: Floats) -> None:
        """Add columns from nothing up; `entries` (rows, new columns) are dense."""
        column, row = np.nonzero(entries.T)
        start, count = np.searchsorted(column, np.arange(len(costs))).astype(np.int32), len(costs)
        self._solver.addCols(
            count, costs, np.zeros(count), np.full(count, np.inf), len(row), start, row.astype(np.int32),
            entries[row, column].astype(float),
        )  # fmt: skip

    def solve(self) -> tuple[Floats, float]:
        """
        The best values and what they cost.

        Raises
        ------
        PlanError
            If there is no best answer.
        """
        answer = self.solve_if_any()
        if answer is None:
            raise PlanError("no plan was found: the limits contradict each other. Try fewer weeks.")
        return answer

    def solve_if_any(self) -> tuple[Floats, float] | None:
        """
        The best values and what they cost; None where rows and bounds contradict each other.

        Raises
        ------
        PlanError
            If the solver ends for another reason.
        """
        import highspy

        self._solver.run()
        # The small untruths that help a first answer along cost more than they spare where one is there already.
        self._solver.setOptionValue("dual_simplex_cost_perturbation_multiplier", 0.0)
        ended = self._solver.getModelStatus()
        if ended not in (highspy.HighsModelStatus.kOptimal, highspy.HighsModelStatus.kInfeasible):
            # Where it began led it astray; from the very beginning it finds its way.
            self._solver.clearSolver()
            self._solver.run()
            ended = self._solver.getModelStatus()
        if ended == highspy.HighsModelStatus.kInfeasible:
            return None
        if ended != highspy.HighsModelStatus.kOptimal:
            words = self._solver.modelStatusToString(ended)
            raise PlanError(f"no plan was found: the solver ended with {words!r}. Try fewer weeks.")
        values = np.array(self._solver.getSolution().col_value, dtype=float)
        return values, float(self._solver.getInfo().objective_function_value)


class SolvedAgain:
    """A model without whole numbers that grows between solutions, each of which begins from the one before.

    Columns and rows are added to the model, and entries only where a column or row is new.
    """

    def __init__(self) -> None:
        import highspy

        self._solver, self._columns, self._rows = highspy.Highs(), 0, 0
        for name, value in {"output_flag": False, "random_seed": 1, "threads": 1}.items():
            self._solver.setOptionValue(name, value)

    def solve(self, model: Model, *, seconds: float = 60.0) -> Answer:
        """Minimise the model as it is by now; see `solve`."""
        import highspy

        start, column, value = model.by_row()
        row = np.repeat(np.arange(model.rows, dtype=np.int32), np.diff(start))
        new = (row < self._rows) & (column >= self._columns)
        order = np.argsort(column[new], kind="stable")
        starts = np.searchsorted(column[new][order], np.arange(self._columns, model.columns)).astype(np.int32)
        more, after = slice(self._columns, None), slice(self._rows, None)
        self._solver.addCols(
            model.columns - self._columns, model.cost[more], model.lower[more], model.upper[more],
            len(order), starts, row[new][order], value[new][order],
        )  # fmt: skip
        low, high, first = model.row_lower[after], model.row_upper[after], start[self._rows]
        begins = (start[self._rows : -1] - first).astype(np.int32)
        entries = len(column) - int(first), begins, column[first:], value[first:]
        self._solver.addRows(model.rows - self._rows, low, high, *entries)
        self._columns, self._rows = model.columns, model.rows
        self._solver.changeObjectiveOffset(model.offset)
        self._solver.setOptionValue("time_limit", self._solver.getRunTime() + seconds)
        self._solver.run()
        return _answer(highspy, self._solver, model)
