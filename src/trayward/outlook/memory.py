"""What the farm's own trays have taught so far, without learning all of it again for every look ahead.

Spreads (how much lots, seasons, sowings and trays differ) move slowly and take a search to find. They are sought again
only when the farm's ended trays have grown by a quarter; which of these the search looks at depends on the book alone,
so that two readers of one book, whenever they came to it, see the same outlook. What single recipes, lots and sowings
do follows every tray.
"""

from __future__ import annotations

import math
import struct
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from operator import attrgetter
from typing import Any, TypeVar
from zlib import crc32

import msgspec
import numpy as np
from msgspec.structs import astuple

from trayward.errors import Finding
from trayward.farm.fresh import begins_with
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, Reading, Tray
from trayward.outlook.clock import Climate
from trayward.outlook.kept import Found, Kept, KeptRows, Sorted, mark_of, uncollected
from trayward.outlook.latent import Spreads as LatentSpreads
from trayward.outlook.losses import LossLearner, LossModel
from trayward.outlook.mixed import Spreads as YieldSpreads
from trayward.outlook.row_reader import RowReader
from trayward.outlook.rows import Rows
from trayward.outlook.stages import StageLearner, StageModel
from trayward.outlook.terms import Floats
from trayward.outlook.yields import YieldLearner, YieldModel

Seeker = TypeVar("Seeker", StageLearner, LossLearner)

GROWTH = 1.25
"""The spreads are sought again when there is this many times as much to learn from. [-]"""
STEPS = 40
"""Between two searches what ended trays teach is put behind in so many steps: each look has few to take in."""
LEAST_STEP = 16
MANY = 200
"""So many trays are worth keeping the rows of: fewer are read again in no time."""


def base_of(count: int) -> int:
    """How many of `count` rows the spreads are sought in: the last of 0, 1, ... 6, 8, 10, 13, 16, ... not above it."""
    base = 0
    while (following := max(base + 1, int(base * GROWTH + 0.5))) <= count:
        base = following
    return base


def middle_of(count: int) -> int:
    """How many of `count` rows are put behind at the spreads found in the base: they depend on the book alone, too."""
    base = base_of(count)
    step = max(LEAST_STEP, int(base * (GROWTH - 1) / STEPS))
    return base + (count - base) // step * step


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
    as it is asked about the same state, or one that begins with the same trays, each of them is read once. Recipes,
    shelves or rounds set anew put the old trays in another light: then all are read again.

    Parameters
    ----------
    kept : Kept, optional
        What an earlier process kept. Taken for what it is only where the same trays and recipes stand in the book.
    keep : callable, optional
        Told what is worth keeping, whenever something was sought anew or many trays were read.
    """

    def __init__(self, kept: Kept | None = None, keep: Callable[[Kept], None] | None = None) -> None:
        self._state: FarmState | None = None
        self._light: tuple[Any, ...] = ()
        self._rows = Sorted()
        self._read = 0
        self._seen: tuple[list[Tray], list[Reading]] = [], []
        """The ended trays that were read, and the readings there were then: another state may begin with the same."""
        self._standing: dict[str, tuple[object, Rows]] = {}
        """Of each tray that stands, what it was like when it was read, and what it told."""
        self._readings = -1
        self._climate: Climate | None = None
        self._learners: dict[str, tuple[int, Any]] = {}
        self._models: dict[str, tuple[Any, list[Any], Any]] = {}
        self._mark = 0
        self._kept, self._tell = kept or Kept(), keep
        self._found = dict(self._kept.found)
        self._searched = False
        self._told = 0
        """How many ended trays' rows were kept last."""

    def lessons(self, state: FarmState) -> Lessons:
        """What all trays of a state teach, those still growing included."""
        climate = self._climate_of(state)
        reader = RowReader(state, climate)
        self._read_ended(state, reader)
        standing = self._read_standing(state, reader)
        stages = {name: self._stage(name, state.recipes, standing) for name in _stage_names(state)}
        yields, losses = self._yields(state.recipes, standing), self._losses(state.recipes, standing)
        self._tell_what_is_new(state)
        findings = (*climate.findings, *self._rows.findings, *standing.findings, *yields.findings)
        return Lessons(yields, stages, losses, climate, reader, findings)

    def learn(self, state: FarmState) -> Iterator[None]:
        """What `lessons` learns, a part at a time; between two of them the farm may go on, or be asked about."""
        self._all_read(state)
        yield
        for name in _stage_names(state):
            self._stage(name, state.recipes, self._all_read(state))
            yield
        self._yields(state.recipes, self._all_read(state))
        yield
        self._losses(state.recipes, self._all_read(state))
        yield

    def _all_read(self, state: FarmState) -> Sorted:
        """Read what is new of a state; gives the rows of the trays that stand."""
        reader = RowReader(state, self._climate_of(state))
        self._read_ended(state, reader)
        return self._read_standing(state, reader)

    def _climate_of(self, state: FarmState) -> Climate:
        if self._climate is None or self._state is not state or self._readings != len(state.readings):
            self._climate, self._readings = Climate(state), len(state.readings)
            self._standing = {}
        return self._climate

    def _read_ended(self, state: FarmState, reader: RowReader) -> None:
        light = (dict(state.recipes), dict(state.shelves), state.settings and state.settings.rounds)
        if self._light != light or not self._goes_on(state):
            self._light = light
            self._learners, self._models, self._standing = {}, {}, {}
            self._mark = crc32(msgspec.json.encode(list(state.recipes.values())))
            self._rows, self._read = self._begun(state)
        self._state = state
        ended = list(state.ended.values())
        _read(self._rows, reader, ended[self._read :])
        self._read, self._seen = len(ended), (ended, list(state.readings))

    def _goes_on(self, state: FarmState) -> bool:
        """Whether a state has all that was read: it is the same one, or one with something said late further on."""
        trays, readings = self._seen
        if self._state is state:
            return True
        return begins_with(state.ended, trays) and (not readings or begins_with(state.readings, readings))

    def _read_standing(self, state: FarmState, reader: RowReader) -> Sorted:
        """Rows of the trays that stand; one that nothing was said of since is not read again."""
        before, self._standing = self._standing, {}
        found = Sorted()
        for tray in state.trays.values():
            looks = (reader.birth(tray), astuple(tray), [astuple(step) for step in tray.steps])
            seen = before.get(tray.tray)
            if seen is None or seen[0] != looks:
                seen = looks, Rows.none()
                reader.read(tray, seen[1])
            self._standing[tray.tray] = seen
            _sort_in(found, seen[1])
        return found

    def _begun(self, state: FarmState) -> tuple[Sorted, int]:
        """Rows to go on from, and how many ended trays they are of: those kept, where they are of this state."""
        kept, self._told = self._kept.rows, 0
        if kept is None or kept.ended > len(state.ended) or kept.readings > len(state.readings):
            return Sorted(), 0
        if kept.mark != mark_of(state, kept.ended, kept.readings):
            return Sorted(), 0
        self._told = kept.ended
        return kept.rows.copy(), kept.ended

    def _tell_what_is_new(self, state: FarmState) -> None:
        fresh = self._read - self._told
        if self._tell is None or not (self._searched or fresh > max(MANY, self._told // 10)):
            return
        mark = mark_of(state, self._read, len(state.readings))
        rows = KeptRows(self._read, len(state.readings), mark, self._rows) if self._read >= MANY else None
        self._tell(Kept(found=self._found, rows=rows))
        self._searched, self._told = False, self._read

    def _yields(self, recipes: Mapping[str, Recipe], standing: Sorted) -> YieldModel:
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

        return self._taught("yields", rows, standing.yields, make)  # type: ignore[no-any-return]

    def _stage(self, name: str, recipes: Mapping[str, Recipe], standing: Sorted) -> StageModel:
        rows, what = self._rows.stages.get(name, []), f"stage {name}"

        def make(base: int) -> StageLearner:
            mark = self._marked(math.fsum(row.low + (row.high if row.high < math.inf else 0.0) for row in rows[:base]))
            return self._sought(
                what, base, mark, lambda known, at: StageLearner(name, recipes, rows[:base], spreads=known, start=at)
            )

        return self._taught(what, rows, standing.stages.get(name, []), make)  # type: ignore[no-any-return]

    def _losses(self, recipes: Mapping[str, Recipe], standing: Sorted) -> LossModel:
        rows = self._rows.losses

        def make(base: int) -> LossLearner:
            mark = self._marked(float(sum(row.lost for row in rows[:base])))
            return self._sought(
                "losses", base, mark, lambda known, at: LossLearner(recipes, rows[:base], spreads=known, start=at)
            )

        return self._taught("losses", rows, standing.losses, make)  # type: ignore[no-any-return]

    def _sought(
        self, what: str, base: int, mark: int, make: Callable[[LatentSpreads | None, Floats | None], Seeker]
    ) -> Seeker:
        """A learner at the spreads found before in the same rows, or at those it finds itself."""
        known = self._known(what, base, mark)
        spreads = LatentSpreads(np.array(known.inner), dict(known.terms)) if known else None
        learner = make(spreads, np.array(known.at) if known else None)
        if known is None and learner.fit is not None:
            terms = {name: float(sd) for name, sd in learner.fit.spreads.terms.items()}
            at = learner.fit.mode.coefficients.tolist()
            self._keep(what, Found(base, mark, learner.fit.spreads.inner.tolist(), terms, at))
        return learner

    def _marked(self, total: float) -> int:
        """A number that other recipes or rows would hardly have."""
        return crc32(struct.pack("<d", total), self._mark)

    def _known(self, what: str, base: int, mark: int) -> Found | None:
        found = self._found.get(what)
        return found if found is not None and (found.base, found.mark) == (base, mark) else None

    def _keep(self, what: str, found: Found) -> None:
        self._found[what], self._searched = found, True

    def _taught(self, what: str, rows: list[Any], standing: list[Any], make: Callable[[int], Any]) -> Any:
        """What all rows teach: the base first, then what was put behind since, then the last few and those standing."""
        base, middle = base_of(len(rows)), middle_of(len(rows))
        learner = self._learner(what, base, lambda: make(base))
        if middle > base:
            learner = self._learner(f"{what}, more", middle, lambda: learner.advanced(rows[base:middle]))
        # A tray that is cut moves from those standing to those ended: in one order, that changes nothing of its stages.
        return self._model(what, learner, sorted([*rows[middle:], *standing], key=attrgetter("tray")))

    def _learner(self, what: str, count: int, make: Callable[[], Any]) -> Any:
        kept = self._learners.get(what)
        if kept is None or kept[0] != count:
            kept = self._learners[what] = (count, make())
        return kept[1]

    def _model(self, what: str, learner: Any, more: list[Any]) -> Any:
        """Most entries (a look, water) teach nothing of most things: then the model is the one of before."""
        kept = self._models.get(what)
        if kept is None or kept[0] is not learner or kept[1] != more:
            kept = self._models[what] = (learner, more, learner.with_rows(more))
        return kept[2]


def _stage_names(state: FarmState) -> list[str]:
    """The stages in which any recipe's trays grow, in the order they are met."""
    return list(dict.fromkeys(stage.name for recipe in state.recipes.values() for stage in recipe.growing_stages))


def _read(rows: Sorted, reader: RowReader, trays: Iterable[Tray]) -> None:
    """Read more trays."""
    fresh = Rows.none()
    with uncollected():
        for tray in trays:
            reader.read(tray, fresh)
    _sort_in(rows, fresh)


def _sort_in(rows: Sorted, fresh: Rows) -> None:
    rows.yields += fresh.yields
    rows.losses += fresh.losses
    rows.findings += fresh.findings
    for row in fresh.stages:
        rows.stages.setdefault(row.stage, []).append(row)


def lessons_upto(state: FarmState, upto: datetime) -> Lessons:
    """What was known at a moment in the past, read from a state of today: for checks against what came after."""
    climate = Climate(state).known_by(upto)
    reader = RowReader(state, climate, upto=upto)
    known = Sorted()
    _read(known, reader, (tray for tray in (*state.ended.values(), *state.trays.values()) if tray.sown_at <= upto))
    recipes = state.recipes
    return Lessons(
        YieldLearner(recipes, known.yields).with_rows([]),
        {name: StageLearner(name, recipes, known.stages.get(name, [])).with_rows([]) for name in _stage_names(state)},
        LossLearner(recipes, known.losses).with_rows([]),
        climate,
        reader,
        tuple(known.findings),
    )
