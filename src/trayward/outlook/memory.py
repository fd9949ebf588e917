"""What the farm's own trays have taught so far, without learning all of it again for every look ahead.

Spreads (how much lots, seasons, sowings and trays differ) move slowly and take a search to find. They are sought again
only when the farm's ended trays have grown by a quarter; which of these the search looks at depends on the book alone,
so that two readers of one book, whenever they came to it, see the same outlook. What single recipes, lots and sowings
do follows every tray.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any, TypeVar
from zlib import crc32

import msgspec
import numpy as np

from trayward.errors import Finding
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.outlook.clock import Climate
from trayward.outlook.latent import Spreads as LatentSpreads
from trayward.outlook.losses import LossLearner, LossModel
from trayward.outlook.mixed import Spreads as YieldSpreads
from trayward.outlook.rows import LossRow, RowReader, Rows, StageRow, YieldRow
from trayward.outlook.stages import StageLearner, StageModel
from trayward.outlook.yields import YieldLearner, YieldModel

Seeker = TypeVar("Seeker", StageLearner, LossLearner)

GROWTH = 1.25
"""The spreads are sought again when there is this many times as much to learn from. [-]"""


def base_of(count: int) -> int:
    """How many of `count` rows the spreads are sought in: the last of 0, 1, 2, 3, 4, 5, 7, 9, 12, ... not above it."""
    base = 0
    while (following := max(base + 1, int(base * GROWTH + 0.5))) <= count:
        base = following
    return base


class Found(msgspec.Struct, frozen=True):
    """Spreads as a search found them, and in which rows: so many of them, and a number that tells them from others."""

    base: int
    mark: int
    inner: list[float]
    terms: dict[str, float]


MODEL = 1
"""Grows when spreads mean something else than before: those kept by an older model are then sought anew."""


def found_out(found: dict[str, Found]) -> bytes:
    """What searches found, to be kept."""
    return msgspec.json.encode((MODEL, found))


def found_in(kept: bytes | None) -> dict[str, Found]:
    """What an earlier process kept; nothing where there is none, or another version of the models made it."""
    try:
        model, found = msgspec.json.decode(kept or b"", type=tuple[int, dict[str, Found]])
    except msgspec.DecodeError:
        return {}
    return found if model == MODEL else {}


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

    Parameters
    ----------
    found : dict, optional
        What searches of an earlier process found, by what was sought. Taken for what it is only where the same rows and
        recipes stand in the book.
    keep : callable
        Told all that was found, whenever something was sought anew.
    """

    def __init__(
        self, found: dict[str, Found] | None = None, keep: Callable[[dict[str, Found]], None] | None = None
    ) -> None:
        self._state: FarmState | None = None
        self._light: tuple[Any, ...] = ()
        self._rows = _Sorted()
        self._read = 0
        self._readings = -1
        self._climate: Climate | None = None
        self._kept: dict[str, tuple[int, Any]] = {}
        self._mark = 0
        self._found: dict[str, Found] = dict(found or {})
        self._tell, self._searched = keep, False
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
        if self._searched:
            self._searched = False
            if self._tell is not None:
                self._tell(self._found)
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
            self._mark = crc32(msgspec.json.encode(list(state.recipes.values())))
        ended = list(state.ended.values())
        self._rows.read(reader, ended[self._read :])
        self._read = len(ended)

    def _yields(self, recipes: Mapping[str, Recipe], standing: _Sorted) -> YieldModel:
        rows = self._rows.yields

        def make(base: int) -> YieldLearner:
            mark = self._marked(math.fsum(row.log_grams_per_cm2 for row in rows[:base]))
            known = self._known("yields", base, mark)
            spreads = YieldSpreads(known.inner[0], dict(known.terms)) if known else None
            learner = YieldLearner(recipes, rows[:base], spreads=spreads)
            if known is None and learner.spreads is not None:
                terms = {name: float(sd) for name, sd in learner.spreads.terms.items()}
                self._keep("yields", Found(base, mark, [learner.spreads.residual], terms))
            return learner

        learner = self._learner("yields", len(rows), make)
        return self._model("yields", learner, [*rows[base_of(len(rows)) :], *standing.yields])  # type: ignore[no-any-return]

    def _stage(self, name: str, recipes: Mapping[str, Recipe], standing: _Sorted) -> StageModel:
        rows, what = self._rows.stages.get(name, []), f"stage {name}"

        def make(base: int) -> StageLearner:
            mark = self._marked(math.fsum(row.low + (row.high if row.high < math.inf else 0.0) for row in rows[:base]))
            return self._sought(what, base, mark, lambda known: StageLearner(name, recipes, rows[:base], spreads=known))

        learner = self._learner(what, len(rows), make)
        more = [*rows[base_of(len(rows)) :], *standing.stages.get(name, [])]
        return self._model(what, learner, more)  # type: ignore[no-any-return]

    def _losses(self, recipes: Mapping[str, Recipe], standing: _Sorted) -> LossModel:
        rows = self._rows.losses

        def make(base: int) -> LossLearner:
            mark = self._marked(float(sum(row.lost for row in rows[:base])))
            return self._sought("losses", base, mark, lambda known: LossLearner(recipes, rows[:base], spreads=known))

        learner = self._learner("losses", len(rows), make)
        return self._model("losses", learner, [*rows[base_of(len(rows)) :], *standing.losses])  # type: ignore[no-any-return]

    def _sought(self, what: str, base: int, mark: int, make: Callable[[LatentSpreads | None], Seeker]) -> Seeker:
        """A learner at the spreads found before in the same rows, or at those it finds itself."""
        known = self._known(what, base, mark)
        spreads = LatentSpreads(np.array(known.inner), dict(known.terms)) if known else None
        learner = make(spreads)
        if known is None and learner.spreads is not None:
            terms = {name: float(sd) for name, sd in learner.spreads.terms.items()}
            self._keep(what, Found(base, mark, learner.spreads.inner.tolist(), terms))
        return learner

    def _marked(self, total: float) -> int:
        """A number that other recipes or rows would hardly have."""
        return crc32(struct.pack("<d", total), self._mark)

    def _known(self, what: str, base: int, mark: int) -> Found | None:
        found = self._found.get(what)
        return found if found is not None and (found.base, found.mark) == (base, mark) else None

    def _keep(self, what: str, found: Found) -> None:
        self._found[what], self._searched = found, True

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
