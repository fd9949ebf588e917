"""A season lived through: its money adds up to its book, and what befalls the farm is in it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.farm.calendar import day_start, local_day
from trayward.farm.entries import Cut, Struck
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.study.account import Rates, line_money, price_of_seed, tray_cost
from trayward.study.keeper import Keeper
from trayward.study.ledger import Ledger
from trayward.study.policies import RuleOfThumb
from trayward.study.season import live_season, run_season
from trayward.study.types import RULE, SeasonResult, SeasonTask
from trayward.study.world_file import SeasonWorld, read_world_text, world_named

DAY = timedelta(days=1)


def shorter(name: str, weeks: int) -> SeasonWorld:
    """A shipped world whose counting stops sooner."""
    return SeasonWorld(msgspec.structs.replace(world_named(name).spec, weeks=weeks))


def lived(world: SeasonWorld, *, seed: int = 1, buffer: float = 0.1) -> tuple[Farm, Keeper]:
    """A farm kept through a world's season by the rule of thumb."""
    ledger = Ledger(world.truth(seed), world.settings)
    farm = Farm.create(":memory:", world.setup_bodies(), at=day_start(world.first, world.settings))
    policy = RuleOfThumb(world.settings, buffer)
    keeper = Keeper(farm, world, policy, ledger, world.events(seed), world.orders(seed))
    for number in range(world.days):
        keeper.live(world.first + number * DAY)
    return farm, keeper


def end_of(world: SeasonWorld, farm: Farm) -> FarmState:
    return farm.state(day_start(world.last + DAY, world.settings))


@pytest.fixture(scope="module")
def loft() -> tuple[SeasonWorld, Farm, Keeper]:
    world = shorter("loft medium", 4)
    return (world, *lived(world))


@pytest.fixture(scope="module")
def told() -> SeasonResult:
    task = SeasonTask(world="loft medium", seed=1, policy=RULE, buffer=0.1)
    return live_season(task, shorter("loft medium", 4))


def test_a_season_of_the_home_shelf_is_lived_through() -> None:
    result = run_season(SeasonTask(world="home shelf", seed=2, policy=RULE, buffer=0.2))
    assert result.lines > 40
    assert 0 < result.full_on_time <= result.lines
    assert result.delivered_g <= result.cut_g
    assert len(result.by_day) == 7 * 15
    assert result.by_day[-1] == pytest.approx(result.margin)


class SeesTheWashing(RuleOfThumb):
    """Looks at the kit before the evening's sowing."""

    def __init__(self, settings: FarmSettings) -> None:
        super().__init__(settings, 0.2)
        self.dirty: list[int] = []
        self.just_washed = 0
        """Evenings on which covers had just been washed; they dry for 6 h."""

    def evening_sowings(self, farm: Farm, at: datetime) -> Sequence[tuple[str, int]]:
        """The same, once it has looked."""
        kit = farm.state(at).kit
        self.dirty.append(sum(held.dirty + held.washed for held in kit.values()))
        self.just_washed += sum(1 for batch in kit["cover"].drying if batch.ready_at == at + DAY / 4)
        return super().evening_sowings(farm, at)


def test_what_gets_dirty_in_the_evening_is_washed_in_the_evening() -> None:
    """As a round asks it: covers that came off on the evening's walk are dry in the morning."""
    world = shorter("home shelf", 3)
    sees = SeesTheWashing(world.settings)
    live_season(SeasonTask(world="home shelf", seed=2, policy=RULE), world, lambda _: sees)
    assert max(sees.dirty) == 0
    assert sees.just_washed > 0


def test_the_same_task_gives_the_same_result(told: SeasonResult) -> None:
    again = live_season(told.task, shorter("loft medium", 4))
    assert msgspec.structs.replace(again, seconds=0.0) == msgspec.structs.replace(told, seconds=0.0)


def test_money_adds_up_to_the_book(loft: tuple[SeasonWorld, Farm, Keeper], told: SeasonResult) -> None:
    """Reckoned anew here from the book: lines delivered, trays that left, seed by its lots, crop thrown away."""
    world, farm, keeper = loft
    state, money = end_of(world, farm), world.settings.money
    end = day_start(world.last + DAY, world.settings)
    sales = packaging = shortfall = 0.0
    for line in farm.due(world.first_due, world.last, at=end):
        whole = line.trays if line.live else line.grams
        got = state.delivered_trays.get(line.line, 0) if line.live else state.delivered.get(line.line, 0.0)
        found = line_money(line, min(got / whole, 1.0), money)
        sales, packaging = sales + found.sales, packaging + found.packaging
        shortfall += found.shortfall
    left = [tray for tray in state.ended.values() if tray.ended_at is not None]
    seed = sum(tray.seed_g * price_of_seed(state, tray.lots[0]) for tray in left)
    assert told.parts["sales"] == pytest.approx(sales)
    assert told.parts["packaging"] == pytest.approx(packaging)
    assert told.parts["shortfall"] == pytest.approx(shortfall)
    assert told.parts["seed"] == pytest.approx(seed)
    costs = sum(told.parts[part] for part in ("seed", "medium", "hands", "energy", "packaging", "disposal"))
    assert told.money == pytest.approx(sales - costs)
    assert told.margin == pytest.approx(told.money - shortfall)
    cut = sum(lot.grams for lot in state.harvests.values()) - keeper.phantom_g
    assert told.cut_g == pytest.approx(cut)
    assert told.delivered_g + told.unsold_g <= cut + keeper.spoiled_g + 1e-6


def test_hands_and_light_are_those_of_the_trays_that_left(
    loft: tuple[SeasonWorld, Farm, Keeper], told: SeasonResult
) -> None:
    world, farm, _ = loft
    state = end_of(world, farm)
    rates = Rates(state, world.settings, world.first)
    hands = energy = 0.0
    for tray in state.ended.values():
        assert tray.ended_at is not None
        sown = local_day(tray.sown_at, world.settings)
        starts = [(local_day(step.since, world.settings) - sown).days for step in tray.steps]
        leave = (local_day(tray.ended_at, world.settings) - sown).days
        how = {"cut": "cut", "delivered": "live", "discarded": "thrown"}[tray.fate]
        cost = tray_cost(state.recipe_of(tray), rates, starts=starts, leave=leave, how=how)  # type: ignore[arg-type]
        hands, energy = hands + cost.hands, energy + cost.energy
    assert told.parts["hands"] == pytest.approx(hands)
    assert told.parts["energy"] == pytest.approx(energy)


def test_trays_keep_to_their_hidden_truth(loft: tuple[SeasonWorld, Farm, Keeper]) -> None:
    """The book has each stage as long as the truth, up to the wait for a walk; a missed walk or no room adds some."""
    world, farm, keeper = loft
    state = end_of(world, farm)
    over = []
    for tray in state.ended.values():
        truth = keeper.ledger.of(tray.tray)
        for step, after in zip(tray.steps, tray.steps[1:], strict=False):
            hours = (after.since - step.since) / timedelta(hours=1) - 24 * truth.stage_days[step.stage]
            assert hours > -0.01, (tray.tray, step.stage)
            over.append(hours)
    assert len(over) > 200
    assert sum(hours <= 13 for hours in over) > 0.85 * len(over)


def test_no_tray_is_cut_before_it_is_ready_or_after_its_window(loft: tuple[SeasonWorld, Farm, Keeper]) -> None:
    world, farm, _ = loft
    for tray in end_of(world, farm).ended.values():
        if tray.fate == "cut":
            assert tray.stage == "ready"
            assert tray.ended_at is not None
            ready, cut = (local_day(at, world.settings) for at in (tray.stage_since, tray.ended_at))
            assert 0 <= (cut - ready).days <= end_of(world, farm).recipe_of(tray).cut_window_days


def test_nothing_in_the_book_is_wrong(loft: tuple[SeasonWorld, Farm, Keeper]) -> None:
    """Nobody delivers what is not there or stands where somebody stands: no finding of the book is worse than odd."""
    world, farm, _ = loft
    assert not [finding for finding in end_of(world, farm).findings if finding.severity == "wrong"]


def test_weights_typed_wrong_are_in_the_book_and_those_seen_are_struck() -> None:
    world = SeasonWorld(
        msgspec.structs.replace(
            shorter("home shelf", 5).spec,
            slips=msgspec.structs.replace(shorter("home shelf", 5).spec.slips, typed_wrong=0.4),
        )
    )
    farm, keeper = lived(world, buffer=0.5)
    wrong = 0
    for kept in farm.book.entries():
        if isinstance(kept.entry.body, Cut):
            for cut in kept.entry.body.trays:
                truth = keeper.ledger.of(cut.tray).grams
                wrong += cut.grams > 5 * truth or cut.grams < 0.5 * truth
    struck = [kept for kept in farm.book.entries() if isinstance(kept.entry.body, Struck)]
    left = [
        tray for tray in end_of(world, farm).ended.values()
        if tray.grams is not None and tray.grams > 5 * keeper.ledger.of(tray.tray).grams
    ]  # fmt: skip
    assert wrong > 2
    assert struck
    assert left, "some are never seen"
    assert keeper.phantom_g == pytest.approx(sum(0.9 * (tray.grams or 0.0) for tray in left))


def test_a_power_cut_sets_the_season_back() -> None:
    """The same season with and without: nothing differs before it, and less is cut and earned in the weeks after."""
    spec = shorter("home shelf", 5).spec
    cut = msgspec.structs.replace(spec.power_cuts[0], on=date(2026, 3, 4), days_later=3.0, grams=0.4)
    task = SeasonTask(world="home shelf", seed=3, policy=RULE, buffer=0.1)
    without = live_season(task, SeasonWorld(msgspec.structs.replace(spec, power_cuts=())))
    struck = live_season(task, SeasonWorld(msgspec.structs.replace(spec, power_cuts=(cut,))))
    before = (cut.on - spec.first).days
    assert struck.by_day[:before] == without.by_day[:before]
    assert struck.cut_g < without.cut_g
    assert struck.margin < without.margin


def test_a_world_file_of_ones_own_is_lived_through(tmp_path: object) -> None:
    text = 'name = "tiny"\nsetup = "shelf"\nfirst = 2026-02-02\nweeks = 2\nwarm_up_weeks = 3\nlogs_temperature = true\n'
    world = read_world_text(text, name="tiny.toml")
    farm, _ = lived(world)
    readings = [reading for reading in end_of(world, farm).readings if reading.what == "temperature"]
    assert len(readings) == world.days
