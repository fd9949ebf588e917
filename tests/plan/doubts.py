"""Plans over scenarios of the small farms of `farms.py`: with doubt, or by somebody who knows."""

from __future__ import annotations

from datetime import date, datetime

import msgspec
import numpy as np

from tests.plan.farms import NOW, TRAY
from trayward.farm.calendar import local_day
from trayward.farm.recipes import Medium, Recipe, Stage, YieldPrior
from trayward.farm.state import FarmState, Tray
from trayward.outlook.ahead import look_ahead
from trayward.plan.days import Days, Floats
from trayward.plan.decide import Decision, Effort
from trayward.plan.demand import open_lines
from trayward.plan.futures import Biology, Future
from trayward.plan.make import make_plan
from trayward.plan.plots import Choices, Plot
from trayward.plan.told import Told
from trayward.plan.types import Plan
from trayward.plan.under_doubt import weighed
from trayward.plan.uses import CUT

QUICK = Effort(scenarios=8, checked=16, proof_seconds=0)
"""Few scenarios and no proof: enough where there is nearly no doubt."""


SOONER = 0.15
"""What takes whole days from eight or ten in the morning; so much sooner, the first walk sees it. [d]"""


def by_the_first_walk(days: tuple[float, ...]) -> tuple[float, ...]:
    """Stages that take whole days from a morning on, each seen to be over on the first walk of its day."""
    return (days[0] - SOONER, *days[1:]) if days else ()


def sooner(stage: Stage) -> Stage:
    """A stage that is over well before the first walk of its day."""
    days = [days - 0.4 for days in (stage.days_low, stage.days_typical, stage.days_high)]
    return msgspec.structs.replace(stage, days_low=days[0], days_typical=days[1], days_high=days[2])


class Typical:
    """Somebody who knows that every tray does what its recipe calls typical: no doubt is left."""

    certain, foresees = True, True

    def __init__(self, recipes: dict[str, Recipe]) -> None:
        self.recipes = recipes

    def sees(self, state: FarmState, at: datetime) -> None:
        """Whatever the farm is like."""

    def sown(self, recipe: Recipe, day: date, scenario: int, *, evening: bool = False) -> Future:
        """Typical days and weight."""
        days = tuple(stage.days_typical for stage in recipe.growing_stages)
        return Future(stage_days=by_the_first_walk(days), grams=recipe.yield_prior.typical_g or 0.0)

    def standing(self, tray: Tray, scenario: int) -> Future:
        """Typical days of the stage under way, from its beginning, and of those to come."""
        recipe = self.recipes[tray.recipe]
        names = [stage.name for stage in recipe.growing_stages]
        left = recipe.growing_stages[names.index(tray.stage) :] if tray.stage in names else ()
        return Future(
            stage_days=by_the_first_walk(tuple(s.days_typical for s in left)), grams=recipe.yield_prior.typical_g or 0.0
        )


def doubtful(state: FarmState, *, weeks: int = 3, at: datetime = NOW, effort: Effort = QUICK) -> Plan:
    """The plan over scenarios of the outlook."""
    return make_plan(state, look_ahead(state, at), at, weeks=weeks, effort=effort)


def certain(state: FarmState, *, weeks: int = 3, at: datetime = NOW, effort: Effort = QUICK) -> Plan:
    """The plan of somebody who knows that all is typical."""
    outlook = look_ahead(state, at)
    return make_plan(state, outlook, at, weeks=weeks, effort=effort, biology=Typical(state.recipes))


def told(
    state: FarmState,
    *,
    weeks: int = 3,
    at: datetime = NOW,
    effort: Effort = QUICK,
    biology: Biology | None = None,
) -> Told:
    """What the door decides, before it is put into words."""
    assert state.settings is not None
    days = Days(state.settings, local_day(at, state.settings), weeks * 7)
    return weighed(state, look_ahead(state, at), at, days, open_lines(state, days), effort, biology)[0]


def cost_of(decision: Decision, takes: list[Floats]) -> float:
    """What some trays cost by the plan's own objective: the search of the decision with those trays put in."""
    search = decision.search
    return type(search)(search.shared, search.worths, takes).cost()


def sow(state_told: Told, trays: dict[tuple[str, int], int], *, stand: int = 0) -> list[Floats]:
    """Takes that sow so many trays of a recipe on a day, the standing trays left as they were decided."""
    takes = []
    for plot, before in zip(state_told.decision.plots, state_told.decision.takes, strict=True):
        choices = plot.choices
        take = np.where(choices.way < 0, before, 0.0)
        for (name, day), count in trays.items():
            way = next(n for n, one in enumerate(state_told.ways.ways) if one.recipe.name == name)
            own = (choices.way == way) & (choices.sow == day) & (choices.how == CUT)
            fits = np.flatnonzero(own)
            if len(fits):
                best = fits[np.argmin(np.abs(choices.stand[fits] - stand))]
                take[best] += min(count, choices.upper[best])
        takes.append(take)
    return takes


def simple_plot(
    crop: str, grams: Floats, first: Floats, last: Floats, dues: list[int], *, how: int = CUT, live: int = -1
) -> Plot:
    """A plot made by hand: choices (n) in scenarios (s), each sown on day 0; dues are days of the plan."""
    from trayward.plan.demand import CropDemand

    scenarios, count = grams.shape
    zero, none = np.zeros(count, dtype=np.int64), np.full(count, -1, dtype=np.int64)
    wide = np.zeros((scenarios, count), dtype=np.int64)
    choices = Choices(
        way=zero, group=none, evening=np.zeros(count, dtype=bool), sow=zero, stand=zero,
        how=np.full(count, how), due=np.full(count, live),
        upper=np.full(count, 1e6), cost=np.zeros(count), seed_g=np.zeros(count), grams=grams,
        first=first.astype(np.int64), last=last.astype(np.int64), leave=wide, ready=wide,
    )  # fmt: skip
    demand = CropDemand(days=np.array(dues, dtype=np.int64), grams=np.ones(len(dues)),
                        live=dict.fromkeys(dues, 1.0) if live >= 0 else {})  # fmt: skip
    return Plot(crop, demand, choices, [], [], None, {})


def unsure_recipe(
    crop: str = "radish",
    *,
    low: float = 60.0,
    high: float = 160.0,
    window: int = 2,
    keeps: int = 3,
    medium: float = 1.0,
) -> Recipe:
    """A recipe of real doubt: days and weight lie between low and high in 8 of 10 cases."""
    stages = (
        Stage(name="germinate", days_low=2.0, days_typical=2.5, days_high=3.5, ground="dark"),
        Stage(name="light", days_low=3.0, days_typical=4.0, days_high=5.0, ground="lit"),
        Stage(name="ready", days_low=1.0, days_typical=1.0, days_high=1.0, ground="lit"),
    )
    return Recipe(
        name=crop,
        crop=crop,
        medium=Medium(name="mesh mat", cost=medium),
        stages=stages,
        live_seeds_per_cm2=1.0,
        tray=TRAY,
        yield_prior=YieldPrior(low_g=low, typical_g=(low * high) ** 0.5, high_g=high),
        cut_window_days=window,
        cold_room_days=keeps,
        minutes_sow=5.0,
        minutes_cut=8.0,
    )


def set_farm(state: FarmState, **more: object) -> FarmState:
    """The same farm with other settings."""
    assert state.settings is not None
    state.settings = msgspec.structs.replace(state.settings, **more)
    return state
