"""The most that anybody could earn in a season who knew everything from its first day: a bound, not a farm.

Whoever knows every tray's true stage times, weight and loss, and every order, still has shelves, kit, hands, days off,
whole trays and crop that keeps so long. What they could earn at most is bounded from above by a season that differs
from the one `study.keeper` lives through only in ways that can raise the margin (a relaxation): everything a policy
does there can be done here, at no greater cost. Where the two differ:

- **When trays turn.** Here each turns on any walk on which it could (missed walks are missed here, too), or waits for
  room as long as it may, whether or not there is room. There it turns at the first walk on which there is room. What is
  sown in the evening there, for want of room or clean kit, runs late; here it may run as late or as early as it likes.
- **Thrown away.** Here a tray can be thrown away the moment it is sown, for its seed, medium, sowing and washing; there
  it stands, and is looked after, until it is lost or past its window. Lost trays cost no more than that here.
- **Places.** Floor positions count by the night, and in the dark also by day but for the trays sown that day, which may
  be sown in the evening; stacks are packed as if each stage made the best of them. There trays stand in turn, one stage
  to a stack, and what is cut today frees its place only after the morning's walk.
- **Kit and hands.** Only what holds sowings back counts: kit that trays hold from their sowing on, and the minutes of
  sowing itself. Kit that is dry by the evening's sowing counts as clean all day. Kit of live trays comes back the same
  day, nights may be an hour shorter.
- **Orders.** Any order is served by any crop that is good on the day, in any part; there lines come in an order of
  their own, and packs are filled whole. A pack may lack 0.05 g there, which is added here (`pack_slack`).
- **Cold room.** Every harvest keeps as long as the longest-keeping recipe of its crop.
- **Seed** is never short. (There bags are so large that it is not, either.)
- **How many.** On farms as large as the barn no more than `most_a_day` trays of a recipe are looked at on a day; the
  bound holds of seasons that keep to it, and its notes say so.
- **The end.** A tray that may still stand on the last day costs nothing unless it serves an order.
- **Prices of what crops share.** Limits and mixes are put into prices, and each crop is proven by itself
  (`study.bound_crops`): a bound for any prices, the closer the better they are.
- **Proof.** Whole trays are proven within a gap, or as far as the time allows; the bound counts what is not proven.

No policy that `study.season` runs can therefore earn more. How close it is, `Bound.loose` and `Bound.proven` say.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from datetime import date, datetime

import msgspec

from trayward.bootstrap import Farm
from trayward.errors import InputError
from trayward.farm.calendar import day_start, rounds_of
from trayward.farm.density import seed_for_tray
from trayward.farm.gone import LITTLE
from trayward.farm.orders import LineDue
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState, SeedLot
from trayward.library.crops import facts_for
from trayward.plan.days import Floats
from trayward.study.bound_crops import CropBest, Priced, crop_best, priced
from trayward.study.bound_layout import Given, Sown, lay_out
from trayward.study.bound_model import Book, wants_of
from trayward.study.bound_prices import loose_season
from trayward.study.bound_trays import DAY, Season, TrueTrays, looked
from trayward.study.keeper import BEFORE, write_down
from trayward.study.truth import sow_moment
from trayward.study.types import BOUND, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld

PACK_SLACK_G = 0.05
"""A line in packs may lack so much and be full all the same. [g]"""
SEED_ROUNDING_G = 0.0005
"""A sowing's seed is written down to a thousandth of a gram, so a tray may take so much less. [g]"""
TRAYS = 120_000
"""About so many trays are looked at in a season of a world. [trays]"""
LEAST_A_DAY = 20
"""But never fewer than this of a recipe on a day. [trays]"""
PRICES_SHARE = 0.4
"""How much of the time goes into prices, at most. [-]"""


class Bound(msgspec.Struct, frozen=True, kw_only=True):
    """The most a season could earn, and how close that is. [farm's currency]"""

    margin: float
    """Nobody can earn more."""
    loose: float
    """The same without whole trays: what whole trays are worth to the bound is the difference."""
    pack_slack: float
    """How much of it is there only because a pack may lack a little."""
    reached: float
    """What the crops' answers come to at the same prices: were all proven, the bound would be no lower."""
    proven: float
    """The share of it that belongs to crops whose best is proven as near as was asked for. [-]"""
    lines: int
    full: int
    """Lines met in full where most is earned, were trays not whole: what may be hoped for, not proven."""
    delivered_g: float
    by_crop: dict[str, float]
    """The bound of each crop at the prices it pays for what it shares."""
    seconds: float


def all_knowing(world: SeasonWorld, seed: int, *, seconds: float = 60.0) -> SeasonResult:
    """
    The bound of one season of a world, in the form of a season's result.

    Parameters
    ----------
    world : SeasonWorld
        The world.
    seed : int
        Its seed number.
    seconds : float
        How long to work on it; it holds whenever it is stopped, and only gets closer. [s]

    Returns
    -------
    SeasonResult
        `margin` is the bound; `money` the same, for it does not say what of it is whose.
    """
    found, asked_g, most = bound_of(world, seed, seconds=seconds)
    return SeasonResult(
        task=SeasonTask(world=world.name, seed=seed, policy=BOUND),
        margin=found.margin,
        money=found.margin,
        lines=found.lines,
        full_on_time=found.full,
        asked_g=asked_g,
        delivered_g=found.delivered_g,
        seconds=found.seconds,
        notes=(
            f"Nobody could earn more than {found.margin:.2f}; were trays not whole, {found.loose:.2f}.",
            f"Proven as near as was asked for: {found.proven:.0%} of it.",
            f"Holds of seasons in which nobody sows more than {most} trays of a recipe on a day.",
        ),
    )


def bound_of(
    world: SeasonWorld, seed: int, *, seconds: float, charge: Callable[[Given, Book], Floats] | None = None
) -> tuple[Bound, float, int]:
    """
    The bound of one season of a world, the grams asked for, and how many trays of a recipe are looked at on a day.

    Parameters
    ----------
    charge : callable, optional
        See `clairvoyant`.
    """
    state, lines = season_laid_open(world, seed)
    most = most_a_day(world, state, lines)
    found = clairvoyant(
        state, lines, world.truth(seed), world.first, world.days, seed=seed_of(world, state),
        missed=world.events(seed).missed, seconds=seconds, most=most, charge=charge,
    )  # fmt: skip
    return found, sum(line.grams for line in lines), most


def clairvoyant(
    state: FarmState,
    lines: Sequence[LineDue],
    truth: TrueTrays,
    first: date,
    days: int,
    *,
    seed: Callable[[Recipe, date], Sown | None],
    missed: Callable[[datetime], bool] = looked,
    seconds: float = 60.0,
    whole: bool = True,
    waits: bool = True,
    most: int = 10_000,
    charge: Callable[[Given, Book], Floats] | None = None,
) -> Bound:
    """
    The most that whoever knows everything could earn in a season; see the module.

    Parameters
    ----------
    state : FarmState
        The farm: its settings, places, kit and recipes. Nothing grows and nothing lies cut.
    lines : sequence of LineDue
        Every line that counts.
    truth
        What each tray will really do.
    first, days
        The first day, and how many. [d]
    seed : callable
        The lot and price of a recipe's seed on a tray sown on a day; None where it cannot be sown.
    missed : callable
        Whether nobody looks on the walk of a moment.
    seconds : float
        How long to work on it, once all trays are laid out. [s]
    whole, waits : bool
        Whether trays are whole, and whether they may wait for room: for seeing what each is worth.
    most : int
        How many trays of a recipe anybody sows on a day; the bound holds of seasons that keep to it. [trays]
    charge : callable, optional
        What each tray of the season laid out costs besides, if it is sown (`study.ceiling`). [farm's currency]
    """
    settings = state.settings
    if settings is None:
        raise InputError("settings", "none", "a season needs a farm's settings", "Set the farm up.")
    began = time.perf_counter()
    season = Season(settings, first, days, missed)
    given = Given(state, lines, truth, season, lambda recipe, day: seed(recipe, season.days.day(day)), most)
    wants = wants_of(lines, season, settings.money)
    book = Book(
        layout=lay_out(given, waits=waits), wants=wants, season=season, disposal=settings.money.disposal_kg / 1000
    )
    if charge is not None:
        book = charged(book, charge(given, book))
    ends = time.perf_counter() + seconds
    loose = loose_season(book, until=time.perf_counter() + PRICES_SHARE * seconds)
    at = priced(book, loose.prices)
    best = _all_crops(book, at, ends, whole=whole)
    slack = _pack_slack(lines, settings.money.shortfall)
    crops = book.layout.crops
    # Plain numbers: the result is written down, and a number of numpy's cannot be.
    bounds = float(sum(each.bound for each in best))
    full, grams = _met(book, lines, loose.met)
    return Bound(
        margin=at.offset + bounds + slack,
        loose=at.offset + float(sum(each.loose for each in best)) + slack,
        pack_slack=slack,
        reached=at.offset + float(sum(each.reached for each in best)) + slack,
        proven=float(sum(each.bound for each in best if each.proven)) / bounds if bounds else 1.0,
        lines=len(lines),
        full=full,
        delivered_g=grams,
        by_crop={crop: float(each.bound) for crop, each in zip(crops, best, strict=True)},
        seconds=time.perf_counter() - began,
    )


def charged(book: Book, charge: Floats) -> Book:
    """The same season, each of whose trays costs so much more, or less, if it is sown. [farm's currency]"""
    trays = book.layout.trays
    layout = book.layout._replace(trays=trays._replace(cost=trays.cost + charge))
    return msgspec.structs.replace(book, layout=layout)


def _all_crops(book: Book, at: Priced, ends: float, *, whole: bool) -> list[CropBest]:
    """The best of each crop; what time is left over goes to those that are not proven."""
    count = len(book.layout.crops)
    best: list[CropBest] = []
    for crop in range(count):
        left = max(0.8 * (ends - time.perf_counter()), 0.0) / (count - crop)
        best.append(crop_best(book, at, crop, whole=whole and left > 0, seconds=left))
    open_ = [crop for crop in range(count) if whole and not best[crop].proven]
    for number, crop in enumerate(open_):
        left = (ends - time.perf_counter()) / (len(open_) - number)
        if left > 1.0:
            again = crop_best(book, at, crop, seconds=left)
            best[crop] = min(again, best[crop], key=lambda each: each.bound)
    return best


def _pack_slack(lines: Sequence[LineDue], shortfall: float) -> float:
    """What could be earned with grams that packs may lack. [farm's currency]"""
    packs = [line for line in lines if line.pack_g is not None and line.grams > 0]
    return sum(PACK_SLACK_G / line.grams * line.value * (1.0 + shortfall * line.weight) for line in packs)


def _met(book: Book, lines: Sequence[LineDue], share: Floats) -> tuple[int, float]:
    """Lines met in full, small ones first, and grams delivered, when these shares of the wants are met."""
    full, grams = 0, 0.0
    for want, met in zip(book.wants, share, strict=True):
        grams += 0.0 if want.live else float(met) * want.amount
        left = met * want.amount * (1.0 + LITTLE)
        for amount in sorted(lines[line].trays if want.live else lines[line].grams for line in want.lines):
            left -= amount
            full += int(left >= -LITTLE * amount)
    return full, grams


# A world's season -----------------------------------------------------------------------------------------------------


def season_laid_open(world: SeasonWorld, seed: int) -> tuple[FarmState, list[LineDue]]:
    """The farm of a world, and every line that counts, as the book would have them at the season's end."""
    settings = world.settings
    end = day_start(world.last + DAY, settings)
    with Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, settings), by="keeper") as farm:
        for placed in world.orders(seed):
            day = max(placed.known_on, world.first)
            if day > world.last:
                continue
            at = rounds_of(day, settings)[0][0] - BEFORE
            write_down(farm, placed, at, "keeper")
        return farm.state(end), farm.due(world.first_due, world.last, at=end)


def most_a_day(world: SeasonWorld, state: FarmState, lines: Sequence[LineDue]) -> int:
    """
    How many trays of a recipe on a day are looked at: on small farms more than there is room for, on large ones fewer.
    """
    crops = {part.crop for line in lines for part in line.parts}
    recipes = sum(recipe.crop in crops for recipe in state.recipes.values())
    return max(LEAST_A_DAY, TRAYS // max(recipes * world.days, 1))


def seed_of(world: SeasonWorld, state: FarmState) -> Callable[[Recipe, date], Sown | None]:
    """What seed a tray of a world takes: the lot in use on the day, weighed out as the farm would."""
    bags = {bag.seed.lot: bag for each in world.seed.values() for bag in each}

    def seed(recipe: Recipe, day: date) -> Sown | None:
        if recipe.crop not in world.seed:
            return None
        bag = bags[world.lot_on(recipe.crop, day)]
        came = day_start(world.first, world.settings)
        if bag.before:
            came = rounds_of(bag.on, world.settings)[0][0] - BEFORE
        lot = SeedLot(
            lot=bag.seed.lot,
            crop=recipe.crop,
            received_at=came,
            received_g=bag.seed.grams,
            left_g=bag.seed.grams,
            germination=bag.seed.germination,
            tsw_g=bag.seed.tsw_g,
            cost=bag.seed.cost,
        )
        facts = facts_for(recipe.crop, state.crop_facts)
        grams = seed_for_tray(recipe, facts, lot, sow_moment(day, world.settings)).grams
        return Sown(lot.lot, max(grams - SEED_ROUNDING_G, 0.0) * lot.cost / lot.received_g) if grams else None

    return seed
