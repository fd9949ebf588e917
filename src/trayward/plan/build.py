"""The options, wants and limits put into a mixed-integer model.

Supply and demand of a crop meet in running totals, day by day: what was cut up to a day covers what is served up to it,
and what would be too old by the next delivery is served or written off. This dense form solves far faster than stock
carried from day to day.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import msgspec
import numpy as np

from trayward.plan.days import Bools, Days, Floats, Ints
from trayward.plan.demand import CropDemand, Want
from trayward.plan.limits import DARK, HANDS, LIT, OFF, Limits
from trayward.plan.model import Model, RowName
from trayward.plan.options import Board
from trayward.plan.seed import SeedStock, seed_by_then
from trayward.plan.standing import Standing
from trayward.plan.uses import CUT, LIVE


class Stock(msgspec.Struct, frozen=True, kw_only=True):
    """Cut crop in the cold room and the last day it is good."""

    harvest: str
    crop: str
    grams: float
    last: int


class Task(NamedTuple):
    """All that a plan is made from."""

    days: Days
    wants: list[Want]
    prices: Floats
    """What letting down one gram or live tray of each want costs the model, beyond the sale."""
    demand: dict[str, CropDemand]
    limits: Limits
    standing: list[Standing]
    seed: dict[str, SeedStock]
    stock: list[Stock]
    disposal: float
    """Throwing away a gram. [currency/g]"""
    press: Floats
    """How far the standing trays overdraw each limit (rows) on each day (columns), whatever is decided."""


class Strain(NamedTuple):
    """What going beyond each limit weighs, when asking which limits clash."""

    limit: Callable[[int], float]
    seed: float = 0.1
    keep: float = 0.05
    window: float = 5.0
    unmet: float = 1.0
    unmet_tray: float = 200.0
    tray: float = 1e-3


def strain_of(limit: int) -> float:
    """One spot, one piece of kit, five minutes of hands or four minutes of a day off weigh the same."""
    return {DARK: 1.0, LIT: 1.0, HANDS: 0.2, OFF: 0.25}.get(limit, 1.0)


STRAIN = Strain(strain_of)


class Built(NamedTuple):
    """A model and which of its columns are which."""

    model: Model
    take: Ints
    """How many trays of each option."""
    met: Ints
    """How much of each want."""
    slack: dict[int, int]
    """Row -> the column that says how far it is overdrawn; only in a relaxed model."""


def build(task: Task, board: Board, *, relaxed: bool = False, reach: Bools | None = None) -> Built:
    """
    The model of a task: sales less costs, or, `relaxed`, all wants in `reach` met at the least strain on the limits.
    """
    model, options = Model(), board.options
    strain: Floats = (options.stretch * STRAIN.window + STRAIN.tray).astype(float)
    take = model.add_columns(strain if relaxed else options.cost, 0.0, options.upper, whole=True)
    amounts = np.array([want.amount for want in task.wants])
    gain = (
        _strain_gain(task.wants) * (1.0 if reach is None else reach)
        if relaxed
        else np.array([want.worth for want in task.wants]) + task.prices
    )
    met = model.add_columns(-gain, 0.0, amounts)
    model.offset = float(((gain if relaxed else task.prices) * amounts).sum())
    built = Built(model, take, met, {})
    _limit_rows(task, board, built, relaxed)
    _seed_rows(task, board, built, relaxed)
    _standing_rows(task, board, built)
    for number, crop in enumerate(board.crops):
        _supply_rows(task, board, built, number, crop, relaxed)
        _live_rows(task, board, built, number, crop)
    return built


def _strain_gain(wants: Sequence[Want]) -> Floats:
    return np.array([STRAIN.unmet_tray if want.live else STRAIN.unmet for want in wants])


def _slack(built: Built, rows: Ints, price: Floats, sign: float = -1.0) -> None:
    """Let rows be overdrawn, at a price."""
    columns = built.model.add_columns(price, 0.0, np.inf)
    built.model.add_entries(rows, columns, sign)
    built.slack.update(zip(rows.tolist(), columns.tolist(), strict=True))


def _limit_rows(task: Task, board: Board, built: Built, relaxed: bool) -> None:
    count = task.days.count
    limit, day, column, amount = board.uses.by_day(count)
    has, place = (task.limits.has + task.press).ravel(), limit * count + day
    counts = np.isfinite(has[place]) & (amount > 0)
    places, row = np.unique(place[counts], return_inverse=True)
    rows = built.model.add_rows(np.full(len(places), -np.inf), has[places], _limit_names(task, places))
    built.model.add_entries(rows[row], built.take[column[counts]], amount[counts])
    if relaxed:
        _slack(built, rows, np.array([STRAIN.limit(int(place // count)) for place in places]))
        return
    new = counts & (task.press.ravel()[place] > 0) & (board.options.way[column] >= 0)
    places, row = np.unique(place[new], return_inverse=True)
    # A limit gives way to the trays that stand only: what they overdraw is not there for sowings.
    rows = built.model.add_rows(np.full(len(places), -np.inf), np.zeros(len(places)), _limit_names(task, places))
    built.model.add_entries(rows[row], built.take[column[new]], amount[new])


def _limit_names(task: Task, places: Ints) -> list[RowName]:
    count = task.days.count
    return [RowName("limit", task.limits.names[place // count], int(place % count)) for place in places]


def _seed_rows(task: Task, board: Board, built: Built, relaxed: bool) -> None:
    """Up to each arrival of seed no more is sown than had come before it."""
    options = board.options
    for number, crop in enumerate(board.crops):
        for end, here in seed_by_then(task.seed.get(crop), task.days.count):
            used = np.flatnonzero((options.crop == number) & (options.way >= 0) & (options.sow < end))
            row = built.model.add_rows(np.array([-np.inf]), np.array([here]), [RowName("seed", crop, end - 1)])
            built.model.add_entries(row[0], built.take[used], options.seed_g[used])
            if relaxed:
                _slack(built, row, np.array([STRAIN.seed]))


def _standing_rows(task: Task, board: Board, built: Built) -> None:
    """Every standing tray leaves in one way."""
    for number, group in enumerate(task.standing):
        size = np.array([float(len(group.trays))])
        row = built.model.add_rows(size, size, [RowName("standing", group.recipe.name, number)])
        built.model.add_entries(row[0], built.take[board.options.standing == number], 1.0)


def _supply_rows(task: Task, board: Board, built: Built, number: int, crop: str, relaxed: bool) -> None:
    """Served up to each due day: no more than was cut by then, and all that would be too old by the next."""
    dues, options, model = task.demand[crop].days, board.options, built.model
    if not len(dues):
        return
    cut = np.flatnonzero((options.crop == number) & (options.how == CUT))
    stock, lost = _stock_of(task, crop)
    names = [RowName("supply", crop, int(day)) for day in dues]
    supply = model.add_rows(-np.cumsum(stock), np.full(len(dues), np.inf), names)
    names = [RowName("keep", crop, -1), *(RowName("keep", crop, int(day)) for day in dues)]
    keep = model.add_rows(np.full(len(dues) + 1, -np.inf), -np.cumsum(lost), names)
    first, last, grams = options.first_due[cut], options.last_due[cut], options.grams[cut]
    _running(model, supply, first, built.take[cut], grams)
    _running(model, keep, last + 1, built.take[cut], grams)
    for due, column, share in _shares(task.wants, dues, built.met, crop):
        model.add_entries(supply[due:], column, -share)
        model.add_entries(keep[due + 1 :], column, -share)
    _waste(task, built, supply, keep, first, last, lost)
    if relaxed:
        _slack(built, keep, np.full(len(keep), STRAIN.keep))


def _running(model: Model, rows: Ints, first: Ints, columns: Ints, value: Floats) -> None:
    """Add `value` in every row from the one numbered `first` on."""
    length = len(rows) - first
    spread = np.repeat(np.arange(len(first)), length)
    row = np.arange(length.sum()) - np.repeat(np.cumsum(length) - length, length) + first[spread]
    model.add_entries(rows[row], columns[spread], value[spread])


def _shares(wants: Sequence[Want], dues: Ints, met: Ints, crop: str) -> list[tuple[int, Ints, float]]:
    found = []
    for number, want in enumerate(wants):
        for part, share in want.parts:
            if part == crop and not want.live:
                found.append((int(np.searchsorted(dues, want.day)), met[number : number + 1], share))
    return found


def _stock_of(task: Task, crop: str) -> tuple[Floats, Floats]:
    """Grams in the cold room, by the due day they first serve (the first), and by the last they are good for."""
    dues = task.demand[crop].days
    come, lost = np.zeros(len(dues)), np.zeros(len(dues) + 1)
    for item in task.stock:
        if item.crop == crop:
            come[0] += item.grams
            lost[int(np.searchsorted(dues, item.last, side="right"))] += item.grams
    return come, lost


def _waste(task: Task, built: Built, supply: Ints, keep: Ints, first: Ints, last: Ints, lost: Floats) -> None:
    """Crop that is written off, one column for each first and last due day it could have served."""
    kinds = set(zip(first.tolist(), last.tolist(), strict=True))
    kinds |= {(0, int(number) - 1) for number in np.flatnonzero(lost)}
    if not kinds:
        return
    pairs = np.array(sorted(kinds), dtype=np.int64)
    columns = built.model.add_columns(np.full(len(pairs), task.disposal + 1e-6), 0.0, np.inf)
    _running(built.model, supply, pairs[:, 0], columns, np.full(len(pairs), -1.0))
    _running(built.model, keep, pairs[:, 1] + 1, columns, np.full(len(pairs), -1.0))


def _live_rows(task: Task, board: Board, built: Built, number: int, crop: str) -> None:
    """Live trays of a due day: as many leave as are met."""
    options = board.options
    for due in task.demand[crop].live:
        row = built.model.add_rows(np.zeros(1), np.zeros(1), [RowName("live", crop, due)])
        leaving = (options.crop == number) & (options.how == LIVE) & (options.first_due == due)
        built.model.add_entries(row[0], built.take[leaving], 1.0)
        for count, want in enumerate(task.wants):
            if want.live and want.day == due and want.parts[0][0] == crop:
                built.model.add_entries(row[0], built.met[count : count + 1], -1.0)
