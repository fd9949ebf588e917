"""A recipe: one crop on one medium in one kind of tray, with its stages as data."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from typing import Literal

import msgspec

from trayward.farm.kit import Pool

Cover = Literal["none", "weight", "blackout"]
Ground = Literal["bench", "dark", "lit"]
"""What kind of place a stage needs: `bench` takes no shelf (a jar while soaking)."""
WaterCare = Literal["none", "soak", "mist", "below"]


class Stage(msgspec.Struct, frozen=True, kw_only=True):
    """One stage of a tray's life, from the moment it begins to the cue that ends it.

    `days_*` is the length of the stage: low and high enclose about 8 of 10 trays, typical is the middle. [d]
    `base_c` is the temperature below which nothing moves [°C], and `at_c` the temperature the lengths hold at [°C];
    None where unknown: the stage then runs on calendar time.
    `stack` is how many trays may stand on each other in this stage (1: not stacked).
    `cue` is a question eyes can answer; answering yes ends the stage. An empty cue ends the stage by the clock.
    `water_ml` is the usual amount a tray takes at one watering of this kind. [ml]
    `minutes` is the work, a tray, of beginning this stage. [min]
    """

    name: str
    days_low: float
    days_typical: float
    days_high: float
    ground: Ground
    cue: str = ""
    do: str = ""
    cover: Cover = "none"
    weight_g: float = 0.0
    stack: int = 1
    water: WaterCare = "none"
    water_ml: float = 0.0
    minutes: float = 0.0
    base_c: float | None = None
    at_c: float | None = None


class Medium(msgspec.Struct, frozen=True, kw_only=True):
    """What the crop grows on. `aperture_mm` is the clear opening of a mesh [mm]; None where there is none."""

    name: str
    reusable: bool = False
    aperture_mm: float | None = None
    square_holes: bool = True
    cost: float = 0.0
    """Cost a tray, or wear a use where reusable. [farm's currency]"""
    top_mm: float | None = None
    """How high its top lies above the bottom that the water stands on [mm]; None where nobody measured."""


class TraySize(msgspec.Struct, frozen=True, kw_only=True):
    """A tray's real inside growing area. [mm], area in cm2"""

    name: str = "1020"
    length_mm: float = 508.0
    width_mm: float = 254.0
    depth_mm: float = 30.0

    @property
    def area_cm2(self) -> float:
        """Growing area. [cm2]"""
        return self.length_mm * self.width_mm / 100.0


class KitNeed(msgspec.Struct, frozen=True, kw_only=True):
    """How many of a kit pool one tray holds, and in which stages; no stages named means all until it is stripped."""

    pool: str
    each: int = 1
    stages: tuple[str, ...] = ()


def wear_of(needs: Iterable[KitNeed], pools: Mapping[str, Pool]) -> float:
    """What one tray's use of its kit costs; a pool that is not set up costs nothing. [farm's currency]"""
    return sum(need.each * pools[need.pool].wear for need in needs if need.pool in pools)


class YieldPrior(msgspec.Struct, frozen=True, kw_only=True):
    """Published or farm-given yield of one tray of the recipe's size. [g]

    low and high enclose what sources print; `source` names them. All None: nobody said, so the tool asks.
    """

    low_g: float | None = None
    typical_g: float | None = None
    high_g: float | None = None
    source: str = ""


class Recipe(msgspec.Struct, frozen=True, kw_only=True):
    """How this farm raises one crop.

    Densities are live seeds per cm2 of growing area; grams follow from the lot. [1/cm2]
    `cut_window_days` is how long a ready tray may stand before it is past selling. [d]
    `growth_a_day` is the share of weight gained for each day it waits in that window. [1/d]
    `cold_room_days` is how long the cut crop keeps cold. [d]
    Minutes are hands' work a tray. [min]
    """

    name: str
    crop: str
    medium: Medium
    stages: tuple[Stage, ...]
    live_seeds_per_cm2: float
    tray: TraySize = TraySize()
    soak_h: float = 0.0
    kit: tuple[KitNeed, ...] = ()
    yield_prior: YieldPrior = YieldPrior()
    cut_window_days: int = 2
    growth_a_day: float = 0.0
    cold_room_days: int = 5
    cut_height_mm: tuple[float, float] = (13.0, 25.0)
    feed_ph: tuple[float, float] = (5.5, 6.0)
    minutes_sow: float = 6.0
    minutes_look: float = 0.3
    minutes_cut: float = 10.0
    minutes_wash: float = 4.0
    note: str = ""

    def stage(self, name: str) -> Stage:
        """The stage called `name`. Raises KeyError if the recipe has none."""
        for stage in self.stages:
            if stage.name == name:
                return stage
        raise KeyError(name)

    def next_stage(self, name: str) -> Stage | None:
        """The stage after `name`, or None after the last."""
        names = [stage.name for stage in self.stages]
        follows = names.index(name) + 1
        return self.stages[follows] if follows < len(names) else None

    def days_waited(self, ready_at: datetime, until: datetime) -> float:
        """Days a tray that was ready has waited, never more than the cut window. [d]"""
        return min(max((until - ready_at) / timedelta(days=1), 0.0), float(self.cut_window_days))

    @property
    def growing_stages(self) -> tuple[Stage, ...]:
        """All stages before the last; the last one is `ready`, in which the tray waits to be cut."""
        return self.stages[:-1]

    @property
    def days_to_ready(self) -> float:
        """Typical days from sowing to ready. [d]"""
        return sum(stage.days_typical for stage in self.growing_stages)


def stage_called(recipe: Recipe | None, name: str) -> Stage | None:
    """A recipe's stage of that name; None where it has none, or there is no recipe."""
    return next((stage for stage in recipe.stages if stage.name == name), None) if recipe is not None else None
