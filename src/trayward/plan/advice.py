"""What to do with trays that are ready, and what each crop earns of the places it stands in."""

from __future__ import annotations

import numpy as np

from trayward.dates import day_words
from trayward.plan.crop_search import one_tray_moves, seed_suffices
from trayward.plan.limits import LIT
from trayward.plan.plots import CLEARED, Plot
from trayward.plan.told import Told, cut_day, given_by, serves_of, standing_choices, together
from trayward.plan.types import CutAdvice, Earning, Serve
from trayward.plan.uses import CUT, DISCARD, LIVE
from trayward.plan.why import Why
from trayward.plan.words import FEW, whom_words
from trayward.words import listed

ORDER = ("cut", "hold", "clear", "let go")
READY_SHARE = 0.5
"""Trays that are ready today in this share of scenarios count as ready. [-]"""


def cut_advice(told: Told) -> tuple[CutAdvice, ...]:
    """
    Which ready trays to cut today and for whom, which to hold until when, and which to let go.

    Trays, ready or not, whose places the plan gives to others today are to be cleared: it counts on that.
    """
    given = given_by(told)
    found: dict[tuple[str, str, int], tuple[tuple[str, ...], tuple[Serve, ...]]] = {}
    for plot, choice, names in standing_choices(told):
        how, clear = int(plot.choices.how[choice]), _makes_room(plot, choice)
        if not clear and (plot.choices.ready[:, choice] <= 0).mean() < READY_SHARE:
            continue
        lines = given.get((plot.crop, choice), {})
        serves = serves_of(told, lines, live=how == LIVE)
        day = _first_day(told) if clear else cut_day(told, plot, choice)
        key = "clear" if clear else _what_to_do(told, how, day), plot.crop, day
        trays, whom = found.get(key, ((), ()))
        found[key] = trays + names, whom + serves
    return tuple(_advice(told, *key, *found[key]) for key in sorted(found, key=lambda key: (ORDER.index(key[0]), key)))


def _makes_room(plot: Plot, choice: int) -> bool:
    """Whether trays are thrown away at once, not when their time is over: something else has their place."""
    return bool(plot.choices.how[choice] == DISCARD and plot.choices.stand[choice] == CLEARED)


def _first_day(told: Told) -> int:
    """The first working day of the plan."""
    return int(told.days.next_open(np.zeros(1, dtype=np.int64))[0])


def _what_to_do(told: Told, how: int, day: int) -> str:
    return "let go" if how == DISCARD else "cut" if how == CUT and day <= _first_day(told) else "hold"


def _advice(told: Told, do: str, crop: str, day: int, trays: tuple[str, ...], serves: tuple[Serve, ...]) -> CutAdvice:
    until, whom, names = told.days.day(day), whom_words(serves), listed(trays, most=FEW)
    whole = any(serve.trays for serve in serves)
    hold = f"Hold {names} of {crop} until {day_words(until)}"
    if whole:
        hold = f"Keep {names} of {crop} whole{'' if day <= 0 else f' until {day_words(until)}'}"
    words = {
        "cut": f"Cut {names} of {crop} {'today' if day <= 0 else f'on {day_words(until)}'}",
        "hold": hold,
        "clear": f"Clear {names} of {crop} {'today' if day <= 0 else f'on {day_words(until)}'}: no order has a use for "
        f"{'it, and its place is' if len(trays) == 1 else 'them, and their places are'} wanted",
        "let go": f"No order has a use for {names} of {crop}: sell it, eat it or give it away",
    }[do]
    message = f"{words}, for {whom}." if whom and do in ("cut", "hold") else f"{words}."
    return CutAdvice(do=do, crop=crop, trays=trays, until=until, serves=together(serves), message=message)


def earnings(why: Why) -> tuple[Earning, ...]:
    """What each crop earns of a lit floor position a day, and what a tray more or less would be worth."""
    brought, found = _sales(why.told), []
    for number, plot in enumerate(why.decision.plots):
        take = why.decision.takes[number]
        trays = round(float(take[plot.choices.how != DISCARD].sum()))
        if not trays:
            continue
        spots = float(take @ plot.uses[LIT].mean(axis=1).sum(axis=1)) if LIT in plot.uses else 0.0
        margin = brought.get(plot.crop, 0.0) - float(plot.choices.cost @ take)
        more, less = _one_tray(why, number)
        each = margin / spots if spots > 0 else 0.0
        message = _earning_words(plot.crop, each, more, less)
        found.append(
            Earning(
                crop=plot.crop, trays=trays, margin=round(margin, 2), spot_days=round(spots, 1),
                a_spot_day=round(each, 3), one_more=_round(more), one_less=_round(less), message=message,
            )
        )  # fmt: skip
    return tuple(sorted(found, key=lambda one: -one.a_spot_day))


def _round(amount: float) -> float | None:
    return round(amount, 2) if np.isfinite(amount) else None


def _sales(told: Told) -> dict[str, float]:
    """Sales of each crop; those of a mix by the weight of its parts. [farm's currency]"""
    found: dict[str, float] = {}
    for (claim, source), amount in told.decision.served.shares.items():
        want = told.task.wants[told.decision.claims[claim].want]
        found[source.crop] = found.get(source.crop, 0.0) + amount * want.worth
    return found


def _one_tray(why: Why, number: int) -> tuple[float, float]:
    """What the best tray more there is seed for brings, and what the least useful tray less costs. [currency]"""
    model, take = why.search.worths[number].model, why.decision.takes[number]
    moves = one_tray_moves(model, take)
    gains = why.gains(number, moves.off, moves.on)
    less, best = gains[moves.on < 0], -np.inf
    for one in np.argsort(-gains).tolist():
        after = take.copy()
        after[moves.on[one]] += 1
        if moves.on[one] >= 0 and seed_suffices(model, after[None])[0]:
            best = float(gains[one])
            break
    return best, -float(less.max(initial=-np.inf))


def _earning_words(crop: str, each: float, more: float, less: float) -> str:
    words = f"{crop}: {each:.2f} a lit spot and day"
    if not (np.isfinite(more) and np.isfinite(less)):
        return f"{words}."
    if more > 0.005:
        return f"{words}; grow more: the next tray brings {more:.2f}."
    return f"{words}; the next tray would cost {-more:.2f} more than it brings, the last one brings {less:.2f}."
