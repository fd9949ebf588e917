"""A farm's own answer to density: from its rows and its prices to what pays and what to try."""

from __future__ import annotations

import math
from datetime import UTC, date, datetime, timedelta

import msgspec
import numpy as np
import pytest

from tests.outlook.learning.grown import BEGAN, Truth, recipe, taught
from trayward.errors import InputError
from trayward.farm.orders import Customer, LineAsked, Order, Part, Product
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot, Sowing, StageStep, Tray
from trayward.farm.trials import Trial
from trayward.outlook.learning.money import gram_worth, money_of, published_densities, seed_worth
from trayward.outlook.learning.of_farm import (
    blackout_days,
    blackout_of,
    density_response,
    pace_of,
    response_of,
    tray_points,
    trial_result,
    trial_worth_making,
)
from trayward.outlook.rows import YieldRow
from trayward.outlook.yields import DENSITY_BY_CROP_SD, FIXED_PRIOR, Asked, YieldModel

RADISH = recipe()
AREA = RADISH.tray.area_cm2
NOW = BEGAN + timedelta(days=120)


def farm(rows: list[YieldRow], *recipes: Recipe, price: float = 3.0, cost: float = 60.0) -> FarmState:
    """The state a farm with these cut trays would be in: 100 g at a price, a kilogram of seed at a cost."""
    state = FarmState(settings=FarmSettings(name="Lantern Loft"), began=BEGAN)
    state.recipes = {each.name: each for each in recipes or (RADISH,)}
    state.products = {"radish": Product(name="radish", parts=(Part(crop="radish"),), price=price)}
    state.seed["R"] = SeedLot(
        lot="R",
        crop="radish",
        received_at=BEGAN,
        received_g=1000.0,
        left_g=500.0,
        germination=0.9,
        tsw_g=10.0,
        cost=cost,
    )
    for row in rows:
        add(state, row)
    return state


def add(state: FarmState, row: YieldRow, fate: str = "cut") -> None:
    of = state.recipes[row.recipe]
    density = of.live_seeds_per_cm2 * math.exp(row.log_density)
    sown = datetime.combine(date.fromisoformat(row.sowing.rpartition("|")[2]), BEGAN.timetz())
    sowing = row.sowing
    known = state.sowings.get(sowing)
    trays = (*(known.trays if known else ()), row.tray)
    state.sowings[sowing] = Sowing(sowing=sowing, recipe=of.name, crop=of.crop, sown_at=sown, trays=trays, lots={})
    blackout = sown + timedelta(days=2.5)
    lit = blackout + timedelta(days=2 + row.blackout_extra)
    state.ended[row.tray] = Tray(
        tray=row.tray, sowing=sowing, recipe=of.name, crop=of.crop, sown_at=sown, seed_g=30.0, lots=(row.lot,),
        live_seeds_per_cm2=density, fate=fate, trial=row.trial, ended_at=row.at,
        grams=math.exp(row.log_grams_per_cm2) * of.tray.area_cm2,
        steps=[
            StageStep(stage="germinate", since=sown, until=blackout),
            StageStep(stage="blackout", since=blackout, until=lit),
            StageStep(stage="light", since=lit),
        ],
    )  # fmt: skip


def at_many_densities(seed: int = 1, sowings: int = 40) -> tuple[list[YieldRow], YieldModel]:
    truth = Truth(np.random.default_rng(seed))
    rows = truth.rows(RADISH, sowings=sowings, lots=3, log_density=(-0.4, 0.0, 0.4))
    return rows, taught([RADISH], rows)


# The curve ------------------------------------------------------------------------------------------------------------


def test_before_any_tray_the_curve_is_the_published_belief() -> None:
    response = response_of(taught([RADISH], []), RADISH)
    assert response.mean[1:] == pytest.approx([FIXED_PRIOR["density"][0], FIXED_PRIOR["density squared"][0]])
    assert math.sqrt(response.cov[1, 1]) == pytest.approx(math.hypot(FIXED_PRIOR["density"][1], DENSITY_BY_CROP_SD))
    assert response.centre == 1.6


def test_the_curve_is_what_the_model_predicts_at_each_density() -> None:
    """The three sums and their covariance against the model's own law at 0.7, 1 and 1.5 times the recipe's density."""
    _, model = at_many_densities()
    response = response_of(model, RADISH)
    for times in (0.7, 1.0, 1.5):
        basis = response.basis(np.array([1.6 * times]))[0]
        law = model.law(Asked(recipe=RADISH, log_density=math.log(times)))
        assert basis @ response.mean == pytest.approx(law.mu)
        assert math.sqrt(basis @ response.cov @ basis) == pytest.approx(law.known_sd)


def test_a_farm_that_sowed_at_many_densities_has_the_true_slope_in_its_range() -> None:
    """True slope 0.3, 120 trays at three densities."""
    _, model = at_many_densities()
    draws = response_of(model, RADISH).draws()[:, 1]
    low, high = np.quantile(draws, (0.1, 0.9))
    assert low < 0.3 < high
    assert high - low < 2 * 1.2816 * 0.15  # narrower than what was published


def test_the_points_lie_about_the_curve_as_trays_of_their_days_do() -> None:
    """Spread about the curve: hypot of 0.1 (day) and 0.1 (tray), 120 points."""
    rows, model = at_many_densities()
    points = tray_points(model, farm(rows), RADISH)
    response = response_of(model, RADISH)
    off = [math.log(point.grams) - response.basis(np.array([point.level]))[0] @ response.mean for point in points]
    assert len(points) == 120
    assert np.std(off) == pytest.approx(math.hypot(0.1, 0.1), abs=0.03)
    assert np.mean(off) == pytest.approx(0.0, abs=0.05)


def test_trays_without_a_known_density_are_no_points() -> None:
    rows, model = at_many_densities(sowings=4)
    state = farm(rows)
    state.ended[rows[0].tray].live_seeds_per_cm2 = None
    assert len(tray_points(model, state, RADISH)) == len(rows) - 1
    assert tray_points(taught([RADISH], []), state, RADISH) == ()


# Money ----------------------------------------------------------------------------------------------------------------


def test_a_gram_is_worth_what_orders_pay_by_weight_and_a_mix_by_its_share() -> None:
    """300 g at 3 a 100 g and 200 g of a half mix at 5 a 100 g: (9 + 5) / (300 + 100) = 0.035 a gram."""
    state = farm([])
    state.customers["Kite Cafe"] = Customer(name="Kite Cafe")
    half = (Part(crop="radish", share=0.5), Part(crop="pea", share=0.5))
    state.products["mix"] = Product(name="mix", parts=half, price=5.0)
    lines = (
        LineAsked(line="1", product="radish", quantity=300.0),
        LineAsked(line="2", product="mix", quantity=200.0),
    )
    state.orders["O"] = Order(order="O", customer="Kite Cafe", due=NOW.date(), lines=lines)
    gram, words = gram_worth(state, "radish", NOW.date())
    assert gram == pytest.approx(0.035)
    assert words == "100 g brings 3.50, by the orders of four weeks either way"
    later, words = gram_worth(state, "radish", NOW.date() + timedelta(days=60))
    assert later == pytest.approx((0.03 + 0.05) / 2)
    assert "its product's price" in words


def test_seed_costs_what_the_last_delivery_with_a_price_did() -> None:
    """One live seed a cm2 on 1,290 cm2 at 10 g a thousand of which 90 % live: 14.3 g at 0.06."""
    state = farm([])
    state.seed["free"] = msgspec.structs.replace(state.seed["R"], lot="free", cost=0.0, received_at=NOW)
    cost, words = seed_worth(state, RADISH, BEGAN)
    assert cost == pytest.approx(AREA * 10.0 / 1000 / 0.9 * 0.06)
    assert words == "seed costs 6.00 for 100 g, by lot R"


def test_what_is_lacking_is_asked_for() -> None:
    state = farm([])
    state.products.clear()
    state.seed.clear()
    money = money_of(state, RADISH, NOW)
    assert money.worth("density") is None
    said = density_response(taught([RADISH], []), state, RADISH, NOW)
    assert said.best is None
    assert said.words.endswith(
        "To say what pays best, give a price of radish and what the radish seed cost and weighs."
    )


def test_published_densities_come_from_the_librarys_grams() -> None:
    """Broccoli, by the library: 15 to 28 g a tray, 3.15 g a thousand, 75 % at least sprout: middle 87.5 %."""
    low, high = published_densities(FarmState(), "broccoli") or (0.0, 0.0)
    assert (low, high) == pytest.approx((15 / 3.15 * 1000 * 0.875 / 1290.32, 28 / 3.15 * 1000 * 0.875 / 1290.32))
    assert published_densities(FarmState(), "moonwort") is None


# What pays ------------------------------------------------------------------------------------------------------------


def test_a_farm_hears_which_density_pays_within_what_is_published_or_tried() -> None:
    rows, model = at_many_densities()
    said = density_response(model, farm(rows), RADISH, NOW)
    assert said.best is not None
    assert said.own_trays == 120
    assert said.bounds.low <= said.best.level <= said.bounds.high
    assert said.bounds.low <= 1.6 * math.exp(-0.4) + 1e-9
    assert said.words.endswith(
        "That holds where every gram is sold (100 g brings 3.00, by its product's price; seed costs 6.00 for 100 g, "
        "by lot R)."
    )


def test_with_a_known_curve_the_density_that_pays_is_the_true_one() -> None:
    """1,200 trays: profit at the density told is within 1 % of the best there is, by the truth."""
    rows, model = at_many_densities(seed=5, sowings=400)
    state = farm(rows)
    said = density_response(model, state, RADISH, NOW)
    assert said.best is not None
    levels = said.bounds.grid("density", said.best.level)
    x = np.log(levels / 1.6)
    worth = money_of(state, RADISH, NOW).worth("density")
    assert worth is not None
    true = worth.gram * 250 * np.exp(0.3 * x - 0.1 * x**2) - worth.unit * levels
    assert true[levels == said.best.level][0] >= 0.99 * true.max()


# The next trial -------------------------------------------------------------------------------------------------------


def test_the_pace_is_that_of_the_last_eight_weeks() -> None:
    """A sowing of 3 trays every third day: 7 trays a week on 2.33 days."""
    rows, _ = at_many_densities()
    pace = pace_of(farm(rows), RADISH, NOW)
    assert pace is not None
    assert pace.trays_a_week == pytest.approx(7.0, abs=0.4)
    assert pace.days_a_week == pytest.approx(7 / 3, abs=0.15)
    assert pace.days_to_cut == pytest.approx(8.5)
    assert pace_of(farm([]), RADISH, NOW) is None


def test_a_farm_that_always_sowed_alike_hears_of_a_trial_and_its_planted_best_density_is_found() -> None:
    """
    True slope 0.75: denser pays, nobody knows. The trial told has a denser level; sown and cut, it is found.

    A dear crop and cheap seed: by the truth 2 live seeds a cm2 and more bring several per cent more than 1.6.
    """
    truth = Truth(np.random.default_rng(21))
    truth.slope, truth.bend = 0.75, 0.0
    rows = truth.rows(RADISH, sowings=40, trays=6, lots=2)
    state, model = farm(rows, price=6.0, cost=20.0), taught([RADISH], rows)
    told = trial_worth_making(model, state, NOW)
    assert told.best is not None
    assert (told.best.recipe, told.best.what) == ("radish on mat", "density")
    candidate = told.best.candidate
    assert max(candidate.levels) > 1.6
    made = Trial(name="denser", recipe=RADISH.name, what="density", levels=candidate.levels, blocks=6, trays_each=3)
    state.trials[made.name] = made
    cut = sown_trial(truth, made)
    for row in cut:
        add(state, row)
    said = trial_result(taught([RADISH], rows + cut), state, "denser", NOW + timedelta(days=40))
    assert said.cut == made.trays
    assert said.best == max(candidate.levels)
    top = said.levels[-1]
    assert top.alone is not None
    assert top.alone[0] < (max(candidate.levels) / 1.6) ** 0.75 < top.alone[2]


def sown_trial(truth: Truth, made: Trial) -> list[YieldRow]:
    """The rows of a trial, each day with every level."""
    found: list[YieldRow] = []
    for day in range(made.blocks):
        logs = tuple(math.log(level / 1.6) for level in made.levels for _ in range(made.trays_each))
        rows = truth.rows(RADISH, sowings=1, trays=len(logs), lots=1, log_density=logs)
        sown = (NOW + timedelta(days=2 * day)).date().isoformat()
        found += [
            row._replace(tray=f"T{day}.{n}", trial=made.name, sowing=f"{RADISH.name}|radish 1|{sown}")
            for n, row in enumerate(rows)
        ]
    return found


def test_a_farm_that_knows_its_answer_hears_of_no_density_trial() -> None:
    """1,200 trays at three densities have settled it; blackouts are left out by a recipe without one."""
    plain = recipe(stages=tuple(stage for stage in RADISH.stages if stage.name != "blackout"))
    truth = Truth(np.random.default_rng(2))
    rows = truth.rows(plain, sowings=400, lots=3, log_density=(-0.4, 0.0, 0.4))
    later = BEGAN + timedelta(days=1200)
    said = trial_worth_making(taught([plain], rows), farm(rows, plain), later)
    assert said.ranked
    assert said.best is None


def test_a_farm_without_prices_or_sowings_cannot_weigh_a_trial() -> None:
    said = trial_worth_making(taught([RADISH], []), farm([]), NOW)
    assert said.best is None
    assert said.words.startswith("No trial can be weighed yet")


# A trial's trays ------------------------------------------------------------------------------------------------------


def test_a_trial_names_what_grows_what_was_lost_and_what_got_none_of_its_levels() -> None:
    rows, _ = at_many_densities(sowings=6)
    marked = [row._replace(trial="denser") for row in rows]
    state = farm(marked)
    levels = (1.6 * math.exp(-0.4), 1.6)
    state.trials["denser"] = Trial(name="denser", recipe=RADISH.name, what="density", levels=levels, blocks=6)
    first, second = list(state.ended)[:2]
    state.trays[first] = msgspec.structs.replace(state.ended.pop(first), fate="growing")
    state.ended[second].fate = "discarded"
    told = [row for row in marked if row.tray not in (first, second)]
    said = trial_result(taught([RADISH], told), state, "denser", NOW)
    assert (said.growing, said.lost) == ((first,), (second,))
    assert set(said.off) == {row.tray for row in told if row.log_density == 0.4}
    assert said.cut == len(told) - len(said.off)
    assert f", {len(said.off)} at none of its levels" in said.words


def test_days_of_blackout_are_those_the_tray_spent_under_its_cover() -> None:
    row = at_many_densities(sowings=1)[0][0]._replace(blackout_extra=1.0)
    state = farm([row])
    assert blackout_days(state.ended[row.tray], RADISH) == pytest.approx(3.0)
    assert blackout_of(RADISH) == 2.0


def test_a_trial_nobody_set_is_named_with_those_there_are() -> None:
    with pytest.raises(InputError, match=r"trial = darker: the farm has no trial of that name\. Trials: none"):
        trial_result(taught([RADISH], []), farm([]), "darker", datetime(2026, 11, 25, tzinfo=UTC))
