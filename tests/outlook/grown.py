"""Trays of Lantern Loft, made by hand: cut, standing, and a farm that holds them."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from trayward.farm.recipes import Medium, Recipe, Stage, YieldPrior
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, StageStep, Tray

MONDAY = datetime(2026, 11, 2, 8, 0, tzinfo=UTC)
DAY = timedelta(days=1)
ROUND = timedelta(hours=12)
BROCCOLI = Recipe(
    name="broccoli",
    crop="broccoli",
    medium=Medium(name="mesh mat"),
    live_seeds_per_cm2=5.0,
    stages=(
        Stage(name="germinate", days_low=2.0, days_typical=3.0, days_high=4.0, ground="dark", cue="Shoot?"),
        Stage(name="blackout", days_low=0.8, days_typical=1.0, days_high=1.4, ground="dark", cue="Tall?"),
        Stage(name="light", days_low=3.0, days_typical=4.0, days_high=5.0, ground="lit", cue="Canopy?"),
        Stage(name="ready", days_low=1.0, days_typical=2.0, days_high=3.0, ground="lit"),
    ),
    yield_prior=YieldPrior(low_g=118.0, typical_g=207.0, high_g=340.0, source="a published table"),
)
LENGTHS = (3.0, 1.0, 4.0)


def cut_tray(
    number: int,
    grams: float,
    *,
    sowing: str = "",
    lot: str = "L1",
    sown: datetime | None = None,
    lengths: tuple[float, ...] = LENGTHS,
    density: float | None = None,
) -> Tray:
    """A tray that was seen ready for its next stage to the round, and cut the day it was ready."""
    begun = sown or MONDAY - DAY * 30 + DAY * (hash_free(sowing) if sowing else number)
    marks = [begun]
    for days in lengths:
        marks.append(marks[-1] + DAY * days)
    names = ("germinate", "blackout", "light", "ready")
    steps = [
        StageStep(stage=name, since=since, until=until, last_not_yet=until - ROUND if until else None)
        for name, since, until in zip(names, marks, [*marks[1:], None], strict=True)
    ]
    return Tray(
        tray=f"{sowing or number}.{number}",
        sowing=sowing or str(number),
        recipe="broccoli",
        crop="broccoli",
        sown_at=begun,
        seed_g=20.0,
        lots=(lot,),
        live_seeds_per_cm2=density,
        fate="cut",
        steps=steps,
        ended_at=marks[-1],
        grams=grams,
        stripped=True,
    )


def hash_free(name: str) -> int:
    """A day for a sowing's name, the same in every run."""
    return sum(map(ord, name)) % 25


def standing_tray(
    stage: str, since: datetime, *, not_yet: datetime | None = None, tray: str = "s.1", sowing: str = "s"
) -> Tray:
    """A tray that grows."""
    return Tray(
        tray=tray,
        sowing=sowing,
        recipe="broccoli",
        crop="broccoli",
        sown_at=MONDAY,
        seed_g=20.0,
        lots=("L1",),
        steps=[StageStep(stage=stage, since=since, last_not_yet=not_yet)],
    )


def farm(*ended: Tray, standing: tuple[Tray, ...] = (), recipe: Recipe = BROCCOLI, caution: float = 0.8) -> FarmState:
    """A farm with one recipe and these trays."""
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", caution=caution),
        recipes={recipe.name: recipe},
        ended={tray.tray: tray for tray in ended},
        trays={tray.tray: tray for tray in standing},
    )
