"""A farm as it might be: a copy of its state that suppositions may change, and what differs on some days only."""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, TypeVar

import msgspec
import numpy as np
from msgspec.structs import replace

from trayward.errors import NotFoundError, PlanError
from trayward.farm.orders import LineAsked, Order, StandingOrder
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.plan.days import Days, Floats

Held = TypeVar("Held")


class Swing(msgspec.Struct, frozen=True, kw_only=True):
    """So much more (or, below zero, less) of a limit on some days only, both included; None: without end."""

    limit: str
    """As the plan names it: `lit spots`, `dark spots`, `hands`, or a kit pool."""
    amount: float
    """[spots], [min] or pieces"""
    first: date | None = None
    last: date | None = None
    weekdays: tuple[int, ...] = ()
    """Only on these, Monday being 0; none named: on all."""


class SupposedState(FarmState, kw_only=True):
    """A copy of a farm's state for wondering about. It is never kept, and no book knows it."""

    swings: list[Swing] = msgspec.field(default_factory=list)

    @property
    def set_up(self) -> FarmSettings:
        """The settings. Raises `PlanError` for a farm that has none."""
        if self.settings is None:
            raise PlanError("The farm has no settings yet, so its days are not known. Set it up first.")
        return self.settings


class Supposition(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that might be different. `words` says it as it was understood, `note` what it leaves out."""

    def words(self) -> str:
        """What is supposed, as a phrase without a full stop."""
        raise NotImplementedError

    def note(self) -> str:
        """What the comparison cannot know of it; empty: nothing."""
        return ""

    def apply(self, state: SupposedState, at: datetime) -> None:
        """Change the copy in place, and only what is supposed."""
        raise NotImplementedError


def copied(state: FarmState) -> SupposedState:
    """
    A copy that shares nothing with the state that a supposition may change.

    Trays that are done with, harvest lots and packs are shared: nothing here touches them, and a farm of some years has
    many.
    """
    made = SupposedState(**{name: _fresh(getattr(state, name)) for name in FarmState.__struct_fields__})
    made.trays, made.kit, made.seed = copy.deepcopy((state.trays, state.kit, state.seed))
    return made


def _fresh(value: Any) -> Any:
    return copy.copy(value) if isinstance(value, dict | list | set) else value


def swing_limits(has: Floats, names: Sequence[str], state: FarmState, days: Days) -> None:
    """Put the swings of a supposed state on the limits (n, days) in place; a real state has none."""
    if not isinstance(state, SupposedState):
        return
    for swing in state.swings:
        on = [number for number in range(days.count) if _swings_on(swing, days.day(number))]
        for row in (row for row, name in zip(has, names, strict=True) if name == swing.limit):
            row[on] = np.maximum(0.0, row[on] + swing.amount)


def _swings_on(swing: Swing, day: date) -> bool:
    begun = swing.first is None or swing.first <= day
    on = begun and (swing.last is None or day <= swing.last)
    return on and (not swing.weekdays or day.weekday() in swing.weekdays)


def held(things: Mapping[str, Held], name: str, kind: str) -> Held:
    """What the farm has under a name. Raises `NotFoundError` with those it has."""
    if name not in things:
        raise NotFoundError(kind, name, tuple(things))
    return things[name]


def change_lines(state: SupposedState, change: Callable[[LineAsked], LineAsked | None]) -> None:
    """Change every line of every order, standing or not; None takes a line off."""
    for name, order in state.orders.items():
        state.orders[name] = replace(order, lines=_changed(order, change))
    for name, standing in state.standing.items():
        state.standing[name] = replace(standing, lines=_changed(standing, change))


def _changed(order: Order | StandingOrder, change: Callable[[LineAsked], LineAsked | None]) -> tuple[LineAsked, ...]:
    lines = (change(line) for line in order.lines)
    return tuple(line for line in lines if line is not None)
