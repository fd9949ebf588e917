"""A farm begun from plain answers, and a farm written as a setup file."""

from __future__ import annotations

from datetime import UTC, date, datetime, time

import pytest

from trayward import Farm
from trayward.desk.naming import letters
from trayward.desk.setup.changes import setup_changes
from trayward.desk.setup.file import read_setup
from trayward.desk.setup.first import (
    FirstFarm,
    FirstPlaces,
    FirstSeed,
    crops_offered,
    first_setup,
    first_shelves,
    kit_proposed,
)
from trayward.desk.setup.written import setup_text
from trayward.errors import InputError
from trayward.farm.places import Lamp
from trayward.farm.settings import FarmWater

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
SHELF = FirstPlaces(dark_spots=4, lit_spots=4, lamp=Lamp(count=2, watts=24))
KITCHEN = FirstFarm(
    name="Kitchen shelf",
    places=SHELF,
    kit=kit_proposed(SHELF, "mesh mat"),
    crops=("broccoli", "red cabbage"),
    seed=(FirstSeed(crop="broccoli", grams=250.0, germination=0.92),),
)


# Begun ----------------------------------------------------------------------------------------------------------------


def test_one_shelf_and_a_bag_of_seed_are_enough_to_sow() -> None:
    with Farm.create(":memory:", first_setup(KITCHEN), at=MORNING) as farm:
        receipt = farm.sow("broccoli", 2, at=MORNING)
        assert [farm.state(MORNING).tray(name).spot for name in receipt.names[1:]] == ["A1.1", "A1.2"]  # type: ignore[union-attr]


def test_racks_are_numbered_with_the_dark_shelves_first() -> None:
    racks = FirstPlaces(racks=2, dark=1, dark_spots=3, lit=2, lit_spots=4, stack=2)
    shelves = first_shelves(racks)
    assert [shelf.name for shelf in shelves] == ["A1", "A2", "A3", "B1", "B2", "B3"]
    assert [shelf.kind for shelf in shelves] == ["dark", "lit", "lit"] * 2
    assert [shelf.stack for shelf in shelves] == [2, 1, 1] * 2
    assert [shelf.order for shelf in shelves] == [1, 2, 3, 4, 5, 6]


def test_racks_go_on_after_the_alphabet() -> None:
    assert [letters(number) for number in (0, 25, 26, 51, 52)] == ["A", "Z", "AA", "AZ", "BA"]


def test_kit_fills_the_spots_with_some_in_the_wash() -> None:
    # 4 dark + 4 lit spots, a fifth more: 9.6, so 10; covers only for the dark: 4.8, so 5.
    assert dict(kit_proposed(SHELF, "mesh mat")) == {"mesh tray": 10, "mesh mat": 10, "solid tray": 10, "cover": 5}
    assert "mesh mat" not in dict(kit_proposed(SHELF, "coir"))


def test_crops_are_offered_the_soonest_first_and_only_where_the_library_can_grow_them() -> None:
    offered = crops_offered("mesh mat")
    names = [each.crop for each in offered]
    assert "tatsoi" not in names  # the library has no grams a tray of it
    assert [each.days for each in offered] == sorted(each.days for each in offered)
    broccoli = next(each for each in offered if each.crop == "broccoli")
    assert (broccoli.days, broccoli.pace, broccoli.soak_h, broccoli.gels) == (8.0, "quick", 0.0, False)
    assert next(each for each in offered if each.crop == "cilantro").pace == "slow"


def test_a_day_off_is_a_day_without_work() -> None:
    with Farm.create(
        ":memory:",
        first_setup(
            FirstFarm(name="K", places=SHELF, kit=(), crops=("kale",), days_off=(5, 6), work_minutes=45, evening=None)
        ),
        at=MORNING,
    ) as farm:
        settings = farm.settings(MORNING)
        assert settings.work_minutes == (45, 45, 45, 45, 45, 0, 0)
        assert [walk.at for walk in settings.rounds] == [time(7, 0)]


def test_who_sells_has_a_customer_and_who_does_not_has_home() -> None:
    sells = FirstFarm(name="K", places=SHELF, kit=(), crops=("kale",), sells=True, customer="Copper Ladle")
    with Farm.create(":memory:", first_setup(sells), at=MORNING) as farm:
        assert [(each.name, each.home) for each in farm.state(MORNING).customers.values()] == [("Copper Ladle", False)]
    with Farm.create(":memory:", first_setup(KITCHEN), at=MORNING) as farm:
        assert [(each.name, each.home) for each in farm.state(MORNING).customers.values()] == [("home", True)]


def test_seed_on_order_comes_on_its_day() -> None:
    awaited = FirstSeed(crop="kale", grams=100, comes=date(2026, 12, 1))
    bodies = first_setup(FirstFarm(name="K", places=SHELF, kit=(), crops=("kale",), seed=(awaited,)))
    with Farm.create(":memory:", bodies, at=MORNING) as farm:
        assert farm.state(MORNING).seed["kale 1"].expected_on == date(2026, 12, 1)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"crops": ()}, "a farm grows something"),
        ({"seed": (FirstSeed(crop="pea", grams=1),)}, "this farm does not grow it"),
        ({"morning": time(19, 0), "evening": time(7, 0)}, "comes before the morning"),
    ],
)
def test_what_cannot_be_is_refused(changes: dict[str, object], said: str) -> None:
    import msgspec

    with pytest.raises(InputError, match=said):
        first_setup(msgspec.structs.replace(KITCHEN, **changes))


# Written --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["shelf", "loft"])
def test_a_farm_written_as_a_file_and_applied_again_changes_nothing(name: str) -> None:
    with Farm.create(":memory:", name, at=MORNING) as farm:
        state = farm.state(MORNING)
        assert setup_changes(state, read_setup(setup_text(state), name="written")) == ()


def test_a_farm_begun_from_the_file_of_another_is_the_same() -> None:
    with Farm.create(":memory:", "loft", at=MORNING) as first:
        state = first.state(MORNING)
        with Farm.create(":memory:", read_setup(setup_text(state), name="written"), at=MORNING) as second:
            other = second.state(MORNING)
            for part in ("settings", "shelves", "recipes", "products", "customers", "standing", "seed"):
                assert getattr(other, part) == getattr(state, part), part


def test_odd_names_water_and_a_dropped_stage_survive_the_file() -> None:
    import msgspec

    from trayward.farm.entries import CustomerSet, FarmSet, RecipeSet
    from trayward.farm.orders import Customer

    with Farm.create(":memory:", "shelf", at=MORNING) as farm:
        water = FarmWater(ph=7.8, alkalinity_meq=3.6, acid="citric 50 %", feed="feed", feed_gain_ds_m=0.35,
                          feed_ec_ds_m=(1.0, 1.4))  # fmt: skip
        settings = msgspec.structs.replace(farm.settings(MORNING), name='Ada\'s "loft" \\ one\ttwo', water=water)
        broccoli = farm.state(MORNING).recipes["broccoli on mesh mat"]
        kept = tuple(stage for stage in broccoli.stages if stage.name != "blackout")
        needs = tuple(
            msgspec.structs.replace(need, stages=tuple(name for name in need.stages if name != "blackout"))
            for need in broccoli.kit
        )
        farm.record(
            FarmSet(settings=settings),
            CustomerSet(customer=Customer(name="Copper ä Ladle\x7f", note="line\nline")),
            RecipeSet(recipe=msgspec.structs.replace(broccoli, stages=kept, kit=needs)),
            at=MORNING,
        )
        state = farm.state(MORNING)
        again = read_setup(setup_text(state), name="written")
        changed = setup_changes(state, again)
        # Alkalinity is written in mg/l and read back; all else is the same to the last figure.
        assert all(isinstance(body, FarmSet) for body in changed)
        for body in changed:
            assert isinstance(body, FarmSet)
            assert body.settings.name == settings.name
            assert body.settings.water is not None
            assert body.settings.water.alkalinity_meq == pytest.approx(3.6)
