"""What the records say: long work, told as the newest there is and whether it is being worked out anew."""

from __future__ import annotations

import zlib
from datetime import datetime
from typing import Annotated, Any, Generic, TypeVar

import msgspec

from trayward.desk.core import Receipt, Said
from trayward.errors import InputError, NotFoundError
from trayward.farm.trials import Lever
from trayward.outlook.learning.density import DensityResponse
from trayward.outlook.learning.drift import Drift
from trayward.outlook.learning.effects import LotEffect
from trayward.outlook.learning.shares import Spread
from trayward.outlook.learning.standouts import StandOuts
from trayward.outlook.learning.trials import TrialSaid
from trayward.outlook.learning.worth_trying import NextTrial
from trayward.outlook.types import Calibration
from trayward.plan.kept_word import KeptWord
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.api.telling import Name, Telling, Words
from trayward.web.ask import Ask
from trayward.web.learn.work import RecipesLearned
from trayward.web.work import Long

T = TypeVar("T")


class StageLearned(msgspec.Struct, frozen=True, kw_only=True):
    """What the rounds say of the days of a stage."""

    spread: Spread
    stand_outs: StandOuts


class ApartLearned(msgspec.Struct, frozen=True, kw_only=True):
    """What makes trays differ."""

    spread: Spread
    stand_outs: tuple[StandOuts, ...]
    stages: tuple[StageLearned, ...]
    lots: tuple[LotEffect, ...]
    drift: Drift


class TrialsLearned(msgspec.Struct, frozen=True, kw_only=True):
    """The trial worth making, and those under way."""

    proposed: NextTrial
    said: tuple[TrialSaid, ...]


class Learned(msgspec.Struct, Generic[T], frozen=True, kw_only=True):
    """The newest there is. With `since`, it is being worked out anew: ask again in some seconds."""

    value: T | None
    as_of: datetime | None
    since: datetime | None
    error: str
    """Why it could not be worked out."""


class BeginTrial(Telling, frozen=True, kw_only=True):
    """A trial: the same recipe at several levels, on the same days."""

    name: Name
    recipe: Name
    what: Lever
    levels: Annotated[
        tuple[Annotated[float, msgspec.Meta(gt=0, le=1000)], ...], msgspec.Meta(min_length=2, max_length=8)
    ]
    """Live seeds a cm2, or days of blackout. [1/cm2], [d]"""
    days: Annotated[int, msgspec.Meta(ge=1, le=30)]
    """Sowing days; each has every level."""
    trays: Annotated[int, msgspec.Meta(ge=1, le=20)] = 1
    """Of each level on a day."""
    note: Words = ""


class NamedTrial(Telling, frozen=True, kw_only=True):
    """A trial that there is."""

    name: Name


def _told(long: Long[Any]) -> Learned[Any]:
    return Learned(value=long.value, as_of=long.as_of, since=long.since, error=long.error)


def _recipes(ask: Ask, _: Nothing) -> Learned[Any]:
    return _told(ask.long("learn-recipes"))


def _apart(ask: Ask, _: Nothing) -> Learned[Any]:
    return _told(ask.long("learn-apart"))


def _promises(ask: Ask, _: Nothing) -> Learned[Any]:
    return _told(ask.long("learn-promises"))


def _kept_word(ask: Ask, _: Nothing) -> KeptWord:
    return ask.kept(("kept-word", ask.today), lambda: ask.farm.kept_word(ask.at))


def _trials(ask: Ask, _: Nothing) -> Learned[Any]:
    return _told(ask.long("learn-trials"))


def _density(ask: Ask, _: Nothing) -> Learned[Any]:
    recipe, recipes = str(ask.path["recipe"]), ask.farm.state(ask.at).recipes
    if recipe not in recipes:
        raise NotFoundError("recipe", recipe, tuple(recipes))
    return _told(ask.long("learn-density", recipe=recipe))


def _begin(ask: Ask, told: BeginTrial, said: Said) -> Receipt:
    if told.name in ask.farm.state(ask.at).trials:
        raise InputError("name", told.name, "there is a trial of that name", "Choose another name.")
    from numpy.random import default_rng

    drawn = default_rng(zlib.crc32(f"{told.name} {said['at'].isoformat()}".encode()))
    return ask.farm.set_trial(
        told.name, told.recipe, told.what, told.levels, blocks=told.days, trays_each=told.trays, rng=drawn,
        note=told.note, **said,
    )  # fmt: skip


def _drop(ask: Ask, told: NamedTrial, said: Said) -> Receipt:
    return ask.farm.drop_trial(told.name, **said)


def _sow(ask: Ask, told: NamedTrial, said: Said) -> Receipt:
    return ask.farm.sow_trial_day(told.name, **said)


OPERATIONS = (
    look("/learn/recipes", _recipes, Learned[RecipesLearned], "learn", "Weights, days and losses by recipe."),
    look("/learn/apart", _apart, Learned[ApartLearned], "learn", "What makes trays differ: causes, lots, seasons."),
    look("/learn/promises", _promises, Learned[Calibration], "learn", "Whether past ranges held what then happened."),
    look("/learn/kept-word", _kept_word, KeptWord, "learn", "How chances told by kept plans came out."),
    look("/learn/trials", _trials, Learned[TrialsLearned], "learn", "The trial worth making, and those under way."),
    look("/learn/density/{recipe:path}", _density, Learned[DensityResponse], "learn",
         "How a recipe's weight answers to density."),
    tell("/learn/trials/begin", _begin, BeginTrial, "learn", "Begin a trial; its days' orders are drawn.", may="run",
         kinds=("trial set",)),
    tell("/learn/trials/drop", _drop, NamedTrial, "learn", "Give a trial up.", may="run", kinds=("trial set",)),
    tell("/learn/trials/sow", _sow, NamedTrial, "learn", "Sow the next day of a trial, every level."),
)  # fmt: skip
