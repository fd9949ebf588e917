"""A season planned at once and followed to the letter: does a farm do what the plan counts on?

Where nothing is left to luck, trays must find the place they were planned for, be ready on the day they are to be cut,
and weigh what was said. What is lived short of what was planned is what the plan does not know of the farm.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.bootstrap import Farm
from trayward.farm.calendar import local_day, rounds_of
from trayward.farm.settings import FarmSettings
from trayward.farm.state import Tray
from trayward.plan.uses import CUT
from trayward.study.at_once import AtOnce, Decided, plan_at_once
from trayward.study.season import live_season
from trayward.study.types import KNOWN, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld


class Followed(msgspec.Struct, frozen=True, kw_only=True):
    """A season planned at once, and what came of it."""

    planned: AtOnce
    lived: SeasonResult
    unsown: int
    """Trays that found no place, kit or hands on the day, and at the hour, they were planned for."""
    unready: int
    """Trays that were not ready on the morning they were to be cut."""
    gone: int
    """Trays that were gone by then: cut or sold live for somebody whom the plan meant to let down."""


class Leaving(NamedTuple):
    """Trays of a sowing, and how they leave."""

    recipe: str
    sown_on: date
    evening: bool
    on: date
    cut: bool
    trays: int


def season_followed(world: SeasonWorld, seed: int, *, seconds: float = 600.0) -> Followed:
    """
    Plan all of a season on its first day, as `season_at_once` does by the account's prices, and live by that alone.

    Raises
    ------
    InputError
        If single trays of the world have luck of their own.
    """
    decided = plan_at_once(world, seed, seconds=seconds)
    follows = Follows(world.settings, leaving_of(decided))
    lived = live_season(SeasonTask(world=world.name, seed=seed, policy=KNOWN), world, lambda _: follows)
    return Followed(
        planned=decided.told, lived=lived, unsown=follows.unsown, unready=follows.unready, gone=follows.gone
    )


def leaving_of(decided: Decided) -> list[Leaving]:
    """What was decided to sow, and how it leaves."""
    return [
        Leaving(
            recipe=decided.ways[int(plot.choices.way[one])].recipe.name,
            sown_on=decided.days.day(int(plot.choices.sow[one])),
            evening=bool(plot.choices.evening[one]),
            on=decided.days.day(int(plot.choices.leave[0, one])),
            cut=bool(plot.choices.how[one] == CUT),
            trays=round(float(take[one])),
        )
        for plot, take in zip(decided.decision.checked, decided.decision.takes, strict=True)
        for one in np.flatnonzero((take > 0) & (plot.choices.way >= 0)).tolist()
    ]


class Follows:
    """The policy of somebody who has decided everything, and goes by it whatever happens."""

    def __init__(self, settings: FarmSettings, leaving: Sequence[Leaving]) -> None:
        self.settings, self.leaving = settings, leaving
        self.unsown = self.unready = self.gone = 0
        self._asked: date | None = None
        """The day whose evening is to be looked back on."""

    def cuts(self, farm: Farm, at: datetime) -> Sequence[str]:
        """Ready trays of the sowings that are to be cut today."""
        day, growing, found = local_day(at, self.settings), farm.state(at).growing(), list[str]()
        if self._asked is not None:
            self.unsown += self._lacking(farm, at, self._asked, evening=True)
        for one in self.leaving:
            if one.cut and one.on == day:
                own = [tray for tray in growing if tray.tray not in found and self._is_of(tray, one)]
                ready = [tray.tray for tray in own if tray.stage == "ready"][: one.trays]
                self.unready += min(one.trays, len(own)) - len(ready)
                self.gone += max(0, one.trays - len(own))
                found += ready
        return found

    def clears(self, farm: Farm, at: datetime) -> Sequence[str]:  # noqa: ARG002
        """Nothing: whatever was sown has its use."""
        return ()

    def sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:  # noqa: ARG002
        """What is to be sown this morning."""
        return list(self._wanted(local_day(at, self.settings), evening=False).items())

    def evening_sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:
        """What is to be sown this evening."""
        self._asked = local_day(at, self.settings)
        self.unsown += self._lacking(farm, at, self._asked, evening=False)
        return list(self._wanted(self._asked, evening=True).items())

    def _wanted(self, day: date, *, evening: bool) -> dict[str, int]:
        found: dict[str, int] = defaultdict(int)
        for one in self.leaving:
            if (one.sown_on, one.evening) == (day, evening):
                found[one.recipe] += one.trays
        return found

    def _lacking(self, farm: Farm, at: datetime, day: date, *, evening: bool) -> int:
        """Trays that were to be sown on the morning or evening of a day, and were not."""
        sown: dict[str, int] = defaultdict(int)
        for sowing in farm.state(at).sowings.values():
            if (local_day(sowing.sown_at, self.settings), self._is_late(sowing.sown_at)) == (day, evening):
                sown[sowing.recipe] += len(sowing.trays)
        wanted = self._wanted(day, evening=evening)
        return sum(max(0, trays - sown[recipe]) for recipe, trays in wanted.items())

    def _is_of(self, tray: Tray, leaving: Leaving) -> bool:
        sown = local_day(tray.sown_at, self.settings), self._is_late(tray.sown_at)
        return tray.recipe == leaving.recipe and sown == (leaving.sown_on, leaving.evening)

    def _is_late(self, at: datetime) -> bool:
        """Whether a moment lies after the last walk of its day begins."""
        return at >= rounds_of(local_day(at, self.settings), self.settings)[-1][0]
