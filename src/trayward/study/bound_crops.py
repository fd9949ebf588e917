"""The best of each crop by itself, at prices of all that ties the crops together; a bound whatever the prices are.

Take prices of the limits, none below 0, and split what each mix earns between its parts so that they earn no less than
the whole. A season that keeps the limits then earns at most: the best of each crop when it pays these prices and each
part is paid for by itself, plus all there is of the limits at their prices (Lagrangian relaxation [1]_).

The best of a crop is proven in two steps. First its grams are priced by due day, too, and every tray of the season is
weighed by itself against these prices: that gives a first bound, and how much it falls if a certain tray is sown, or
leaves a certain way. What would bring it down by more than `close` is left out of the second step, in which trays are
whole; the crop's bound is then the greater of what that step proves and the first bound less `close`.

References
----------
.. [1] A. M. Geoffrion, "Lagrangean relaxation for integer programming", Mathematical Programming Study 2 (1974) 82-114.
   From memory.
"""

from __future__ import annotations

import math
import time
from typing import NamedTuple

import numpy as np

from trayward.errors import PlanError
from trayward.plan.days import Bools, Floats, Ints
from trayward.plan.demand import Want
from trayward.plan.solve import Answer, SolvedAgain, solve
from trayward.plan.uses import LIVE
from trayward.study.bound_model import Book, Growing, Prices

GAP = 0.003
"""The best of a crop is looked for until it is proven this near. [-]"""
CLOSE = 0.02
"""What would bring a crop's first bound down by more than this share of it is left out at first. [-]"""
LEAST = 2.0
"""But never for less than this. [farm's currency]"""
SHARES = (0.25, 0.4, 1.0)
"""How much of the time left each try may take. [-]"""
WIDER = 2.0
"""So many times what a try came down by the next one leaves in. [-]"""
ROUNDS = 8
"""So often trays are added to a crop without whole trays."""
ENOUGH = 1e-3
"""Closer than this the first bound need not be to what the crop comes to without whole trays. [-]"""
SECONDS = 120.0
"""Safety net for a crop without whole trays. [s]"""


class Priced(NamedTuple):
    """Prices, and what every tray and option costs at them."""

    prices: Prices
    trays: Floats
    options: Floats
    offset: float
    """All there is of the limits, at their prices, less what letting everybody down costs."""


class Weighed(NamedTuple):
    """The first bound of a crop, and by how much it falls with each of its trays and options."""

    bound: float
    trays: Ints
    tray_falls: Floats
    options: Ints
    option_falls: Floats
    sown: Ints
    """The trays that are sown at that bound."""


class CropBest(NamedTuple):
    """The bound of one crop at some prices, and the answer that came nearest to it."""

    bound: float
    loose: float
    """Without whole trays."""
    reached: float
    """What the best answer comes to."""
    served: dict[tuple[int, int], float]
    """Grams, or live trays, of each want's part."""
    trays: Ints
    options: Ints
    """What was sown and how it left."""
    proven: bool
    """Whether it is as close as was asked for."""


def priced(book: Book, prices: Prices) -> Priced:
    """What everything costs at some prices."""
    offset = float((prices.limits * book.layout.limits.has).sum()) - book.regret
    return Priced(prices, book.tray_costs(prices.limits), book.option_costs(prices.limits), offset)


def crop_best(book: Book, at: Priced, crop: int, *, whole: bool = True, seconds: float = 10.0) -> CropBest:
    """The best of one crop by itself. `whole`: with whole trays, worked on for so long. [s]"""
    grown, answer, all_ = _first_bound(book, at, crop)
    if not whole:
        return _best(grown, answer, all_.bound, all_.bound)
    ends, close, best = time.perf_counter() + seconds, max(CLOSE * abs(all_.bound), LEAST), _nothing(all_.bound)
    for share in SHARES:
        found, proves = _whole(book, at, crop, all_, close, share * (ends - time.perf_counter()))
        best = min(found, best, key=lambda each: each.bound)
        if best.proven:
            break
        if proves <= all_.bound - close:  # the bound hangs on what was left out: more trays must be looked at
            close = WIDER * (all_.bound - proves)
    return best


def _whole(book: Book, at: Priced, crop: int, all_: Weighed, close: float, seconds: float) -> tuple[CropBest, float]:
    """The second step: whole trays, of those that may come within `close` of the first bound; and what it proves."""
    some = Growing(book, [crop], all_.options[all_.option_falls <= close], parts=at.prices.parts, whole=True)
    some.add_trays(all_.trays[all_.tray_falls <= close], at.trays)
    some.add_options(all_.options[all_.option_falls <= close], at.options)
    try:
        found = solve(some.model, gap=GAP, seconds=max(seconds, 0.1))
    except PlanError:  # the time was over before there was any answer
        return _nothing(all_.bound), all_.bound
    proves = whole_bound(found, all_.bound)
    bound = min(all_.bound, max(proves, all_.bound - close))
    best = _best(some, found, bound, all_.bound)
    return best._replace(proven=best.proven and proves >= all_.bound - close), proves


def _nothing(loose: float) -> CropBest:
    """A crop of which no more is known than its first bound."""
    none = np.zeros(0, dtype=np.int64)
    return CropBest(loose, loose, 0.0, {}, none, none, False)


def _first_bound(book: Book, at: Priced, crop: int) -> tuple[Growing, Answer, Weighed]:
    """The crop without whole trays; trays that turn out to pay are added until hardly any does."""
    options = book.cheapest(book.options_of(crop), at.options)
    grown = Growing(book, [crop], options, parts=at.prices.parts)
    again, trays = SolvedAgain(), book.early(crop)
    for _ in range(ROUNDS):
        grown.add_trays(trays, at.trays)
        grown.add_options(options[np.isin(book.layout.options.tray[options], grown.trays)], at.options)
        answer = again.solve(grown.model, seconds=SECONDS)
        all_ = weigh(book, at, crop, options, grown, answer)
        trays = all_.sown
        done = all_.bound < -answer.cost + ENOUGH * (1.0 + abs(answer.cost))
        if done or not len(np.setdiff1d(trays, grown.trays)):
            break
    return grown, answer, all_


def whole_bound(found: Answer, loose: float) -> float:
    """What an answer with whole trays proves: the best cannot be above it. [farm's currency]"""
    if not math.isfinite(found.gap):
        return loose
    # The solver gives its gap as a share of what it found.
    return -found.cost + found.gap * abs(found.cost) + _hair(found.cost)


def _hair(cost: float) -> float:
    """What the solver may be off by, at its tolerances. [farm's currency]"""
    return 1e-6 * (1.0 + abs(cost))


def weigh(book: Book, at: Priced, crop: int, options: Ints, grown: Growing, answer: Answer) -> Weighed:
    """
    The first bound of a crop: every tray weighed by itself, at the prices of grams an answer without whole trays gives.

    Any prices of grams give a bound: what is served earns what it brings beyond them, and of each day of sowing so many
    trays are sown as pay together, each leaving the way it is worth most.
    """
    layout = book.layout
    trays = np.flatnonzero(layout.trays.crop == crop)
    place = np.full(len(layout.trays.sow), -1)
    place[trays] = np.arange(len(trays))
    cut, live = gram_prices(crop, grown, answer)
    worth = option_worth(book, options, at.options, cut, live)
    best = np.zeros(len(trays))
    np.maximum.at(best, place[layout.options.tray[options]], worth)
    whole, falls, pays = _by_day(best - at.trays[trays], layout.trays.number[trays] == 0)
    served = served_beyond(book, at.prices, crop, cut, live)
    # A tray that leaves another way than its best brings the bound down by the difference as well.
    option_falls = falls[place[layout.options.tray[options]]] + best[place[layout.options.tray[options]]] - worth
    return Weighed(served + whole, trays, falls, options, option_falls, trays[pays])


def served_beyond(book: Book, prices: Prices, crop: int, cut: Floats, live: Floats) -> float:
    """What all wants of a crop can earn beyond the prices of its grams and live trays. [farm's currency]"""
    dues = book.layout.demand[book.layout.crops[crop]].dues
    return sum(
        max(0.0, earns - float(live[want.day] if want.live else cut[int(np.searchsorted(dues, want.day))])) * most
        for want, earns, most in _wanted(book, prices, crop)
    )


def _wanted(book: Book, prices: Prices, crop: int) -> list[tuple[Want, float, float]]:
    """Each want of a crop, what a unit of its part earns, and how many there are."""
    name = book.layout.crops[crop]
    return [
        (want, float(prices.parts[number][place]), want.amount * (1.0 if want.live else share))
        for number, want in enumerate(book.wants)
        for place, (part, share) in enumerate(want.parts)
        if part == name
    ]


def _by_day(net: Floats, first: Bools) -> tuple[float, Floats, Bools]:
    """
    The most that trays sown in the order of their numbers bring together, how much it falls if each is sown, and which
    are sown for it.

    Examples
    --------
    >>> _by_day(np.array([2.0, -1.0, 3.0, -5.0]), np.array([True, False, False, False]))
    (4.0, array([0., 0., 0., 5.]), array([ True,  True,  True, False]))
    """
    starts, day = np.flatnonzero(first), np.cumsum(first) - 1
    total = np.cumsum(net)
    total = total - (total[starts] - net[starts])[day]
    most = np.maximum(np.maximum.reduceat(total, starts), 0.0) if len(starts) else np.zeros(0)
    # From here on: the most with this tray and any number after it.
    onward, last = total.copy(), np.append(first[1:], True)
    for _ in range(int(np.bincount(day).max(initial=1)) - 1):
        onward = np.maximum(onward, np.where(last, -np.inf, np.append(onward[1:], -np.inf)))
    falls = most[day] - onward
    return float(most.sum()), falls, (falls <= 0) & (most[day] > 0)


def gram_prices(crop: int, grown: Growing, answer: Answer) -> tuple[Floats, Floats]:
    """What a gram of a crop is worth on each of its due days, and a live tray on each day, by an answer."""
    rows = grown.live[crop]
    live: Floats = np.where(rows >= 0, np.maximum(-answer.prices[np.maximum(rows, 0)], 0.0), 0.0)
    cut: Floats = -answer.prices[grown.due[crop]]
    return cut, live


def option_worth(book: Book, options: Ints, costs: Floats, cut: Floats, live: Floats) -> Floats:
    """What options of a crop are worth at prices of grams and live trays, less what they cost. [farm's currency]"""
    all_ = book.layout.options
    first, last = all_.first[options], all_.last[options]
    kept = np.where(all_.good[options], 0.0, book.disposal)
    gram = np.zeros(len(options))
    leaves_cut = all_.how[options] != LIVE
    for step in range(int((last - first)[leaves_cut].max(initial=-1)) + 1):
        due = np.minimum(first + step, max(len(cut) - 1, 0))
        fits = leaves_cut & (first + step <= last)
        gram[fits] = np.maximum(gram[fits], cut[due[fits]] + kept[fits])
    each = np.where(leaves_cut, gram, live[np.minimum(first, len(live) - 1)])
    worth: Floats = all_.gives[options] * each - costs[options]
    return worth


def _best(grown: Growing, answer: Answer, bound: float, loose: float) -> CropBest:
    served = {part: float(answer.values[column]) for part, column in grown.served.items()}
    sown = grown.trays[answer.values[grown.sown] > 0.5]
    taken = grown.options[answer.values[grown.taken] > 0.5]
    return CropBest(bound, loose, min(-answer.cost, bound), served, sown, taken, answer.status == "optimal")
