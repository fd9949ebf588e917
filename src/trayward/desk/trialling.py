"""Trials at the desk: set one up, sow its next day, and see what it has said so far."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Unpack

import msgspec

from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.growing import CRUMB_G, seed_to_use
from trayward.desk.lookup import facts_of, lots_for, recipe_named
from trayward.desk.naming import Taken, next_name, tray_names
from trayward.desk.walking import Walking
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.density import seed_for_tray
from trayward.farm.entries import SowingMade, TraySown, TrialSet
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot
from trayward.farm.transitions.say import show
from trayward.farm.trial_levels import trial_levels
from trayward.farm.trials import Lever, Trial

if TYPE_CHECKING:
    import numpy as np

    from trayward.outlook.learning.trials import TrialSaid
    from trayward.outlook.learning.worth_trying import NextTrial


class Trialling(Walking):
    """Trials: the same recipe at several levels on the same days."""

    def set_trial(
        self,
        name: str,
        recipe: str,
        what: Lever,
        levels: Sequence[float],
        *,
        blocks: int,
        trays_each: int = 1,
        rng: np.random.Generator | None = None,
        note: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """Set up a trial, or change it.

        Parameters
        ----------
        name : str
            What its sowings are marked with.
        recipe : str
            The recipe's name, or its crop where there is just one.
        what : {"density", "blackout"}
            What differs.
        levels : sequence of float
            Live seeds a cm2, or days of blackout. [1/cm2], [d]
        blocks : int
            On how many sowing days; each has every level.
        trays_each : int
            Trays of each level on a day.
        rng : numpy.random.Generator, optional
            Draws the order of the levels on each day; as named, every day, if left out.
        """
        chosen = recipe_named(self.state(said["at"]), recipe)
        trial = Trial(
            name=name,
            recipe=chosen.name,
            what=what,
            levels=tuple(float(level) for level in levels),
            blocks=blocks,
            trays_each=trays_each,
            orders=_orders(levels, blocks, rng),
            note=note,
        )
        return self.record(TrialSet(trial=trial), **said)

    def drop_trial(self, name: str, **said: Unpack[Said]) -> Receipt:
        """Give a trial up; its trays stay what they are."""
        trial = trial_named(self.state(said["at"]), name)
        return self.record(TrialSet(trial=trial, dropped=True), **said)

    @worked_out(SowingMade)
    def sow_trial_day(self, name: str, *, lot: str | None = None, **said: Unpack[Said]) -> Receipt:
        """Sow the next day of a trial: every level, from one seed lot, on the first free spots in the day's order.

        Returns
        -------
        Receipt
            `names` holds each sowing, one a level in the day's order, followed by its trays.

        Raises
        ------
        InputError
            If all its days are sown, today's is, or no one lot holds enough.
        """
        settings = self.settings(said["at"])
        state = self._at_hand(said["at"])
        trial = trial_named(state, name)
        recipe, day = state.recipes[trial.recipe], local_day(said["at"], settings)
        order = _next_order(trial, trial_days(state, name, settings), day)
        lot = lot or self._one_lot(state, recipe, trial, said["at"])
        begin = recipe.stages[0]
        places = self._spots_for(state, begin.ground, begin.stack, len(order) * trial.trays_each, None)
        bodies: list[SowingMade] = []
        for number, level in enumerate(order):
            first = number * trial.trays_each
            made = {body.sowing for body in bodies}
            sowing = next_name(day, Taken(self.book, "sowing", {*state.sowings, *made}))
            names = tray_names(sowing, trial.trays_each)
            spots = places[first : first + trial.trays_each]
            bodies.append(
                SowingMade(
                    sowing=sowing,
                    recipe=recipe.name,
                    trays=tuple(TraySown(tray=tray, spot=spot) for tray, spot in zip(names, spots, strict=True)),
                    lots=seed_to_use(state, at_level(recipe, trial, level), len(names), said["at"], None, lot),
                    trial=trial.name,
                )
            )
        told = tuple(name for body in bodies for name in (body.sowing, *(tray.tray for tray in body.trays)))
        return self.record(*bodies, **said, names=told)

    def trial_levels(self, name: str, at: datetime) -> dict[str, float]:
        """The level that each tray of a trial was sown for, by the order drawn for its day. [1/cm2], [d]

        A day on which some of the trial's trays were sown by hand has no such order; its trays are left out.
        """
        state = self.state(at)
        return trial_levels(state, trial_named(state, name), self.settings(at))

    @staticmethod
    def _one_lot(state: FarmState, recipe: Recipe, trial: Trial, at: datetime) -> str:
        """The first lot in line that holds a whole day of the trial: levels of several lots could not be told apart."""
        lots = lots_for(state, recipe.crop, at)
        for lot in lots:
            wanted = _grams_a_day(state, recipe, trial, lot, at)
            if wanted is not None and lot.left_g >= wanted - CRUMB_G:
                return lot.lot
        held = max((lot.left_g for lot in lots), default=0.0)
        rule = "no one lot of known weight and germination holds a day of the trial, and lots must not differ in a day"
        remedy = "Receive or test seed, name the lot, or take fewer trays of each level."
        raise InputError(f"seed of {recipe.crop}", show(held), rule, remedy, "g")

    def trial_said(self, name: str, at: datetime) -> TrialSaid:
        """What a trial has said so far, and which of its trays still grow."""
        from trayward.outlook.learning.of_farm import trial_result

        state = self.state(at)
        trial_named(state, name)
        return trial_result(self._look_ahead(state, at).yields, state, name, at)

    def next_trial(self, at: datetime) -> NextTrial:
        """The next trial worth making on this farm, or that none is."""
        from trayward.outlook.learning.of_farm import trial_worth_making

        state = self.state(at)
        return trial_worth_making(self._look_ahead(state, at).yields, state, at)


def _orders(levels: Sequence[float], blocks: int, rng: np.random.Generator | None) -> tuple[tuple[float, ...], ...]:
    if rng is None:
        return ()
    from trayward.outlook.learning.worth_trying import shuffled

    return shuffled(levels, blocks, rng)


def trial_named(state: FarmState, name: str) -> Trial:
    """A trial by its name."""
    if name not in state.trials:
        raise NotFoundError("trial", name, tuple(state.trials), "Propose one: trayward learn trial")
    return state.trials[name]


def trial_days(state: FarmState, name: str, settings: FarmSettings) -> list[date]:
    """The days on which a trial was sown so far."""
    trays = [tray for tray in (*state.trays.values(), *state.ended.values()) if tray.trial == name]
    return sorted({local_day(tray.sown_at, settings) for tray in trays})


def at_level(recipe: Recipe, trial: Trial, level: float) -> Recipe:
    """The recipe as a level of a trial sows it: another density, or as it is where only the blackout differs."""
    return msgspec.structs.replace(recipe, live_seeds_per_cm2=level) if trial.what == "density" else recipe


def _next_order(trial: Trial, sown: Sequence[date], day: date) -> tuple[float, ...]:
    """The order of the levels on the trial's next day."""
    if day in sown:
        rule = "the trial was sown today already; its days must differ to be told from its levels"
        raise InputError(f"trial {trial.name}", day.isoformat(), rule, "Sow its next day tomorrow or later.")
    if len(sown) >= trial.blocks:
        rule = f"all its {trial.blocks} days are sown"
        raise InputError(f"trial {trial.name}", len(sown), rule, "Set it up anew with more days to go on.", "days")
    return trial.orders[len(sown)] if trial.orders else trial.levels


def _grams_a_day(state: FarmState, recipe: Recipe, trial: Trial, lot: SeedLot, at: datetime) -> float | None:
    """Seed of a lot that one day of a trial takes [g]; None where the lot's figures are blank."""
    facts = facts_of(state, recipe.crop)
    each = [seed_for_tray(at_level(recipe, trial, level), facts, lot, at).grams for level in trial.levels]
    return trial.trays_each * sum(grams for grams in each if grams is not None) if None not in each else None
