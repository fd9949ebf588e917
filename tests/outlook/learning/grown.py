"""Made-up farms whose truth is known: rows of cut trays, and the yield model they teach."""

from __future__ import annotations

import math
from datetime import UTC, datetime, time, timedelta

import numpy as np

from trayward.farm.recipes import Medium, Recipe, Stage, YieldPrior
from trayward.outlook.rows import FIRST_MONDAY, SEASON_DAYS, YieldRow
from trayward.outlook.yields import YieldLearner, YieldModel

BEGAN = datetime(2026, 1, 5, 8, tzinfo=UTC)


def recipe(crop: str = "radish", density: float = 1.6, **changed: object) -> Recipe:
    stages = (
        Stage(name="germinate", days_low=2, days_typical=2.5, days_high=3, ground="dark", cue="up?"),
        Stage(name="blackout", days_low=1, days_typical=2, days_high=3, ground="dark", cover="blackout", cue="tall?"),
        Stage(name="light", days_low=3, days_typical=4, days_high=5, ground="lit", cue="green?"),
        Stage(name="ready", days_low=0, days_typical=2, days_high=2, ground="lit"),
    )
    prior = YieldPrior(low_g=150.0, typical_g=250.0, high_g=400.0, source="trade_guide_a")
    given: dict[str, object] = {
        "name": f"{crop} on mat",
        "medium": Medium(name="mesh mat"),
        "stages": stages,
        "live_seeds_per_cm2": density,
        "yield_prior": prior,
        **changed,
    }
    return Recipe(crop=crop, **given)


class Truth:
    """How the trays of a made-up farm really weigh. Sds and effects on the log scale."""

    def __init__(self, rng: np.random.Generator, *, lot_sd: float = 0.0, sowing_sd: float = 0.1) -> None:
        self.rng, self.lot_sd, self.sowing_sd = rng, lot_sd, sowing_sd
        self.tray_sd, self.slope, self.bend, self.per_month = 0.1, 0.3, -0.1, 0.0
        self.lots: dict[str, float] = {}
        self.seasons: dict[int, float] = {}

    def rows(
        self,
        of: Recipe,
        *,
        sowings: int,
        trays: int = 3,
        lots: int = 1,
        every: int = 3,
        log_density: tuple[float, ...] = (0.0,),
    ) -> list[YieldRow]:
        """Trays of a recipe, its lots taking turns, each sowing on a day of its own."""
        found = []
        usual = math.log(250.0 / of.tray.area_cm2)
        for number in range(sowings):
            lot = f"{of.crop} {number % lots + 1}"
            at = BEGAN + timedelta(days=every * number)
            self.lots.setdefault(lot, self.rng.normal(0, self.lot_sd))
            day = self.rng.normal(0, self.sowing_sd) + self.per_month * every * number / 30
            for tray in range(trays):
                x = log_density[(number + tray) % len(log_density)]
                found.append(self._row(of, lot, at, f"{of.crop}{number}.{tray}", x, usual + day + self.lots[lot]))
        return found

    def _row(self, of: Recipe, lot: str, at: datetime, tray: str, x: float, mean: float) -> YieldRow:
        season = (at.date() - FIRST_MONDAY).days // SEASON_DAYS
        log = mean + self.slope * x + self.bend * x**2 + self.seasons.get(season, 0.0)
        return YieldRow(
            tray=tray,
            sowing=f"{of.name}|{lot}|{at.date().isoformat()}",
            recipe=of.name,
            crop=of.crop,
            medium=of.medium.name,
            lot=lot,
            season=season,
            log_grams_per_cm2=log + self.rng.normal(0, self.tray_sd),
            waited_days=0.0,
            log_density=x,
            log_pace=0.0,
            log_light=0.0,
            blackout_extra=0.0,
            at=datetime.combine(at.date() + timedelta(days=9), time(9), UTC),
            trial="",
        )


def taught(recipes: list[Recipe], rows: list[YieldRow]) -> YieldModel:
    return YieldLearner({each.name: each for each in recipes}, rows).with_rows([])
