"""World files: what they say is what happens, and what cannot be is named with its line and a way out."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from trayward.bootstrap import Farm
from trayward.errors import NotFoundError, SetupError
from trayward.farm.calendar import day_start
from trayward.farm.entries import PlaceSet, RecipeSet, SeedReceived, StandingOrderSet
from trayward.farm.orders import LineDue
from trayward.study.world_file import SeasonWorld, read_world_text, scaled_shelves, world_named, world_names

DAY = timedelta(days=1)
SPOT = '[[orders.spot]]\ncustomer = "home"\na_week = 1\nproducts = ["pea"]\ngrams = [1, 2]\non = ["wed"]\n'
LEAST = 'name = "tiny"\nsetup = "shelf"\nfirst = 2026-02-02\nweeks = 4\nwarm_up_weeks = 2\n'


def world(more: str = "") -> SeasonWorld:
    return read_world_text(LEAST + more, name="tiny.toml")


def lines_of(made: SeasonWorld, seed: int, first: date, last: date) -> list[LineDue]:
    """Everything due in a world once all of it is known."""
    start = day_start(made.first, made.settings)
    with Farm.create(":memory:", made.setup_bodies(), at=start) as farm:
        for placed in made.orders(seed):
            if placed.order is not None:
                order = placed.order
                farm.place_order(order.customer, order.due, order.lines, order=order.order, at=start)
            if placed.standing is not None:
                farm.set_standing(placed.standing, at=start)
        return farm.due(first, last, at=start)


@pytest.mark.parametrize("name", world_names())
def test_every_shipped_world_can_be_read_and_is_called_what_its_file_is(name: str) -> None:
    made = world_named(name)
    assert made.name == name
    assert made.first.weekday() == 0
    assert made.setup_bodies()


def test_eight_worlds_are_shipped() -> None:
    lofts = {f"loft {kind}" for kind in ("loose", "loose steady", "medium", "other", "tight", "tight steady")}
    assert set(world_names()) == {"barn", "home shelf", *lofts}


@pytest.mark.parametrize("kind", ["loose", "tight"])
def test_in_a_steady_world_sisters_and_sowings_do_alike(kind: str) -> None:
    """Two trays of a day, and one of the next day: the same weight, and none is lost."""
    world = world_named(f"loft {kind} steady")
    truth = world.truth(3)
    (recipe, *_) = (body.recipe for body in world.setup_bodies() if isinstance(body, RecipeSet))
    day = world.first + timedelta(days=1)
    lot = world.lot_on(recipe.crop, day)
    trays = [truth.tray(recipe, on, number, lot) for on, number in ((day, 0), (day, 7), (day + timedelta(days=1), 0))]
    assert trays[0].grams == trays[1].grams == pytest.approx(trays[2].grams, rel=0.02)  # it is warmer by a day
    assert not any(tray.lost_in for tray in trays)


def test_a_world_nobody_shipped_is_not_found() -> None:
    with pytest.raises(
        NotFoundError,
        match=r"world 'loft tigth': the study has none of that name.*Did you mean loft tight.*path of a world file",
    ):
        world_named("loft tigth")


def test_a_world_file_beside_its_setup_file_is_read(tmp_path: Path) -> None:
    from trayward.desk.setup.file import ready_setup_text

    (tmp_path / "mine.toml").write_text(ready_setup_text("shelf"), encoding="utf-8")
    (tmp_path / "world.toml").write_text(LEAST.replace('"shelf"', '"mine.toml"'), encoding="utf-8")
    assert world_named(str(tmp_path / "world.toml")).settings.name == "Kitchen Shelf"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (LEAST.replace("2026-02-02", "2026-02-04"), r"line 3: first = '2026-02-04': a season begins on a Monday"),
        (LEAST.replace('"shelf"', '"shed"'), r"line 2: setup = 'shed': it cannot be used .*Check the name or the file"),
        (LEAST.replace("weeks = 4\n", "wekes = 4\n", 1), r"line 4: wekes = 4: no such key is known here.*mean weeks\?"),
        (LEAST + "racks = -1\n", r"line 6: racks = -1: must lie in \[0.05, 50\]"),
        (LEAST + "[truth]\nlaw = 'bell'\n", r"line 7: truth, law = 'bell': must be one of log-normal, degree-days"),
        (LEAST + "[truth]\nloss = 0.7\n", r"line 7: truth, loss = 0.7: must lie in \[0, 0.5\]"),
        (LEAST + "[truth]\nlots = 0.7\n", r"line 7: truth, lots = 0.7: no such key is known here. Did you mean lot\?"),
        (
            LEAST + SPOT.replace('"home"', '"hoem"'),
            r'line 7: .*customer = \'hoem\': the setup has no such customer. Did you mean home\?',
        ),
        (
            LEAST + SPOT.replace("pea", "leek"),
            r"line 9: .*products = 'leek': the farm sells no such thing",
        ),
        (
            LEAST + SPOT.replace("[1, 2]", "[9, 2]"),
            r"line 10: .*must be the least and the most, both above 0. Write for instance grams = \[1, 3\]",
        ),
        (
            LEAST + SPOT.replace("wed", "wend"),
            r"line 11: .*on = 'wend': is no day of the week",
        ),
        (
            LEAST + SPOT.replace("grams = [1, 2]\n", ""),
            r"line 6: .*amounts are in one of grams, packs and trays",
        ),
        (
            LEAST + '[[bad_lot]]\ncrop = "pea"\nfirst = 2026-03-09\nlast = 2026-03-02\n',
            r"line 9: .*last = 2026-03-02: it lies before the first day",
        ),
        (LEAST + "[[power_cut]]\nhours = 3\n", r"line 6: power_cut 1, on = nothing: it has to be given"),
        (
            LEAST + "[[power_cut]]\non = 2029-03-18\nhours = 3\n",
            r"line 7: power_cut 1, on = 2029-03-18: it lies outside the season, 2026-02-02 to 2026-03-15",
        ),
        (
            LEAST + '[[orders.grows]]\ncustomer = "home"\non = 2025-03-02\nfactor = 2\n',
            r"line 8: .*on = 2025-03-02: it lies outside the season, .* Give a day within it",
        ),
        ("name = ", r"line 1: "),
    ],
)  # fmt: skip
def test_what_cannot_be_is_named_with_its_line_and_a_way_out(text: str, said: str) -> None:
    with pytest.raises(SetupError, match=f"tiny.toml, {said}"):
        read_world_text(text, name="tiny.toml")


def test_every_mistake_is_told_at_once() -> None:
    with pytest.raises(SetupError, match="racks") as told:
        world("racks = 0\nkit = 0\n[slips]\nmissed = 2\n")
    assert len(told.value.problems) == 3


def test_scaled_racks_lose_nothing_in_rounding() -> None:
    """Lantern Loft: 5 dark shelves of 4, 14 lit ones; 0.8 of them are 16 and 44.8 floor positions."""
    shelves = [body.shelf for body in world_named("loft medium").setup_bodies() if isinstance(body, PlaceSet)]
    scaled = list(scaled_shelves(shelves, 0.64).values())  # 0.64 x 1.25 = 0.8 of the setup
    assert sum(shelf.spots for shelf in scaled if shelf.kind == "dark") == 16
    assert sum(shelf.spots for shelf in scaled if shelf.kind == "lit") == pytest.approx(44.8, abs=1)
    lamps = [shelf.lamp.watts / shelf.spots for shelf in scaled if shelf.lamp is not None and shelf.spots]
    assert max(lamps) == pytest.approx(min(lamps), rel=0.25)  # one rack of the loft has weaker lamps


def test_nothing_is_due_before_the_first_due_day() -> None:
    made = world_named("loft tight")
    assert not lines_of(made, 1, made.first - 30 * DAY, made.first_due - DAY)
    assert lines_of(made, 1, made.first_due, made.first_due + 7 * DAY)


def test_the_doubling_customer_doubles() -> None:
    """Moth & Marrow wants twice as much from 3 April on; the week before and the week after, summed over products."""
    made = world_named("loft tight")
    lines = [line for line in lines_of(made, 1, made.first_due, made.last) if line.customer == "Moth & Marrow"]
    standing = [line for line in lines if "@" in line.line]
    before = sum(line.grams for line in standing if date(2026, 3, 24) <= line.due <= date(2026, 3, 27))
    after = sum(line.grams for line in standing if date(2026, 4, 7) <= line.due <= date(2026, 4, 10))
    assert before == 40 + 40 + 30 + 30 + 60 + 60 + 50 + 40 + 40 + 40 + 80
    assert after == 2 * before
    assert not [line for line in standing if line.due >= date(2026, 4, 3) and "-more@" not in line.line]


def test_standing_orders_end_and_begin_when_the_world_says() -> None:
    made = world_named("loft tight")
    lines = lines_of(made, 1, made.first_due, made.last)
    ended = {line.due for line in lines if line.line.startswith("whistle-fri")}
    begun = {line.due for line in lines if line.line.startswith("ladle-sat")}
    assert max(ended) == date(2026, 4, 10)
    assert min(begun) == date(2026, 4, 11)


def test_changes_are_known_the_days_before_that_the_world_says() -> None:
    made = world_named("loft tight")
    known = {placed.standing.standing: placed.known_on for placed in made.orders(1) if placed.standing is not None}
    assert known["moth-tue-more"] == date(2026, 3, 24)
    assert known["whistle-fri"] == date(2026, 4, 10)
    assert known["ladle-sat"] == date(2026, 4, 1)


def test_spot_orders_come_as_often_as_the_world_says_and_days_ahead() -> None:
    """4.1 a week in the mean over 12 weeks and 30 seasons: within four standard errors of a Poisson count."""
    made = world_named("loft tight")
    placed = [
        (order, each.known_on)
        for seed in range(30)
        for each in made.orders(seed)
        if (order := each.order) is not None and order.due <= made.last
    ]
    expected = 4.1 * 12 * 30
    assert len(placed) == pytest.approx(expected, abs=4 * expected**0.5)
    ahead = {(order.due - known).days for order, known in placed if order.customer == "Upside Ladle"}
    assert ahead == set(range(2, 10))
    assert {order.due.weekday() for order, _ in placed} == {1, 4}
    assert all(10 <= line.quantity <= 260 for order, _ in placed for line in order.lines if line.unit == "g")


def test_orders_are_the_same_for_the_same_number_and_others_for_another() -> None:
    made = world_named("loft tight")
    assert made.orders(3) == world_named("loft tight").orders(3)
    assert made.orders(3) != made.orders(4)


def test_one_bag_of_each_seed_is_in_use_at_a_time_and_the_bad_one_in_its_days() -> None:
    made = world_named("loft tight")
    lots = [made.lot_on("radish", made.first + DAY * day) for day in range(made.days)]
    changes = sum(one != other for one, other in pairwise(lots))
    assert len(set(lots)) == changes + 1
    bad = {made.lot_on("radish", date(2026, 4, 6) + DAY * day) for day in range(19)}
    assert len(bad) == 1
    assert made.lot_on("radish", date(2026, 4, 5)) not in bad
    assert made.lot_on("radish", date(2026, 4, 25)) not in bad
    first = [body for body in made.setup_bodies() if isinstance(body, SeedReceived)]
    assert len({seed.crop for seed in first}) == len(first)


def test_orders_are_scaled_to_whole_packs_and_trays_and_never_to_none() -> None:
    made = world("[orders]\nscale = 0.3\n")
    quantities = [
        line.quantity
        for body in made.setup_bodies()
        if isinstance(body, StandingOrderSet)
        for line in body.standing.lines
    ]
    assert quantities == [30.0, 20.0, 20.0, 45.0, 25.0]  # of 95, 60, 60, 150 and 90 g, to 5 g
