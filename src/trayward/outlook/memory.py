"""What the farm's own trays have taught so far, without learning all of it again for every look ahead.

Spreads (how much lots, seasons, sowings and trays differ) move slowly and take a search to find. They are sought again
only when the farm's ended trays have grown by a quarter; which of these the search looks at depends on the book alone,
so that two readers of one book, whenever they came to it, see the same outlook. What single recipes, lots and sowings
do follows every tray.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

import msgspec

from trayward.errors import Finding
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.outlook.clock import Climate
from trayward.outlook.losses import LossLearner, LossModel
from trayward.outlook.rows import LossRow, RowReader, Rows, StageRow, YieldRow
from trayward.outlook.stages import StageLearner, StageModel
from trayward.outlook.yields import YieldLearner, YieldModel

GROWTH = 1.25
"""The spreads are sought again when there is this many times as much to learn from. [-]"""


def base_of(count: int) -> int:
    """How many of `count` rows the spreads are sought in: the last of 0, 1, 2, 3, 4, 5, 7, 9, 12, ... not above it."""
    base = 0
    while (following := max(base + 1, int(base * GROWTH + 0.5))) <= count:
        base = following
    return base


class Lessons(msgspec.Struct, frozen=True):
    """What a farm's trays teach, at one moment."""

    yields: YieldModel
    stages: dict[str, StageModel]
    losses: LossModel
    climate: Climate
    reader: RowReader
    findings: tuple[Finding, ...]


class Memory:
    """
    Lessons kept from one look ahead to the next.

    A tray that is done with does not change any more, and a state that is folded on only gains such trays. So as long
    as it is asked about the same state, each of them is read once. Recipes, shelves or rounds set anew put the old
    trays in another light: then all are read again.
    """

    def __init__(self) -> None:
        self._state: FarmState | None = None
        self._light: tuple[Any, ...] = ()
        self._rows = _Sorted()
        self._read = 0
        self._readings = -1
        self._climate: Climate | None = None
        self._kept: dict[str, tuple[int, Any]] = {}
        self._models: dict[str, tuple[Any, list[Any], Any]] = {}

    def lessons(self, state: FarmState) -> Lessons:
        """What all trays of a state teach, those still growing included."""
        climate = self._climate_of(state)
        reader = RowReader(state, climate)
        self._read_ended(state, reader)
        standing = _Sorted()
        standing.read(reader, state.trays.values())
        stages = {
            name: self._stage(name, state.recipes, standing)
            for name in dict.fromkeys(
                stage.name for recipe in state.recipes.values() for stage in recipe.growing_stages
            )
        }
        yields, losses = self._yields(state.recipes, standing), self._losses(state.recipes, standing)
        findings = (*climate.findings, *self._rows.findings, *standing.findings, *yields.findings)
        return Lessons(yields, stages, losses, climate, reader, findings)

    def _climate_of(self, state: FarmState) -> Climate:
        if self._climate is None or self._state is not state or self._readings != len(state.readings):
            self._climate, self._readings = Climate(state), len(state.readings)
        return self._climate

    def _read_ended(self, state: FarmState, reader: RowReader) -> None:
        light = (dict(state.recipes), dict(state.shelves), state.settings and state.settings.rounds)
        if self._state is not state or self._light != light:
            self._state, self._light = state, light
            self._rows, self._read, self._kept = _Sorted(), 0, {}
        ended = list(state.ended.values())
        self._rows.read(reader, ended[self._read :])
        self._read = len(ended)

    def _yields(self, recipes: Mapping[str, Recipe], standing: _Sorted) -> YieldModel:
        rows = self._rows.yields
        learner = self._learner("yields", len(rows), lambda base: YieldLearner(recipes, rows[:base]))
        return self._model("yields", learner, [*rows[base_of(len(rows)) :], *standing.yields])  # type: ignore[no-any-return]

    def _stage(self, name: str, recipes: Mapping[str, Recipe], standing: _Sorted) -> StageModel:
        rows = self._rows.stages.get(name, [])
        learner = self._learner(f"stage {name}", len(rows), lambda base: StageLearner(name, recipes, rows[:base]))
        more = [*rows[base_of(len(rows)) :], *standing.stages.get(name, [])]
        return self._model(f"stage {name}", learner, more)  # type: ignore[no-any-return]

    def _losses(self, recipes: Mapping[str, Recipe], standing: _Sorted) -> LossModel:
        rows = self._rows.losses
        learner = self._learner("losses", len(rows), lambda base: LossLearner(recipes, rows[:base]))
        return self._model("losses", learner, [*rows[base_of(len(rows)) :], *standing.losses])  # type: ignore[no-any-return]

    def _model(self, what: str, learner: Any, more: list[Any]) -> Any:
        """Most entries (a look, water) teach nothing of most things: then the model is the one of before."""
        kept = self._models.get(what)
        if kept is None or kept[0] is not learner or kept[1] != more:
            kept = self._models[what] = (learner, more, learner.with_rows(more))
        return kept[2]

    def _learner(self, what: str, count: int, make: Any) -> Any:
        base = base_of(count)
        kept = self._kept.get(what)
        if kept is None or kept[0] != base:
            kept = self._kept[what] = (base, make(base))
        return kept[1]


class _Sorted:
    """Rows by what they teach."""

    def __init__(self) -> None:
        self.yields: list[YieldRow] = []
        self.stages: dict[str, list[StageRow]] = {}
        self.losses: list[LossRow] = []
        self.findings: list[Finding] = []

    def read(self, reader: RowReader, trays: Any) -> None:
        """Read more trays."""
        rows = Rows.none()
        for tray in trays:
            reader.read(tray, rows)
        self.yields += rows.yields
        self.losses += rows.losses
        self.findings += rows.findings
        for row in rows.stages:
            self.stages.setdefault(row.stage, []).append(row)


def lessons_upto(state: FarmState, upto: datetime) -> Lessons:
    """What was known at a moment in the past, read from a state of today: for checks against what came after."""
    climate = Climate(state).known_by(upto)
    reader = RowReader(state, climate, upto=upto)
    known = _Sorted()
    known.read(reader, [tray for tray in (*state.ended.values(), *state.trays.values()) if tray.sown_at <= upto])
    recipes = state.recipes
    names = dict.fromkeys(stage.name for recipe in recipes.values() for stage in recipe.growing_stages)
    return Lessons(
        YieldLearner(recipes, known.yields).with_rows([]),
        {name: StageLearner(name, recipes, known.stages.get(name, [])).with_rows([]) for name in names},
        LossLearner(recipes, known.losses).with_rows([]),
        climate,
        reader,
        tuple(known.findings),
    )
