"""Seed, kit, places, readings and notes at the desk."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm, setup_bodies
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.entries import LineDelivered, PlaceSet, Sanitised, Washed
from trayward.farm.kit import Pool

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def home() -> Iterator[Farm]:
    """Kitchen Shelf only washes its kit."""
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


@pytest.fixture
def loft() -> Iterator[Farm]:
    """Lantern Loft sanitises its mats and trays after washing."""
    with Farm.create(":memory:", "loft", at=MORNING) as made:
        yield made


def dirty_trays(farm: Farm, count: int, at: datetime = MORNING) -> None:
    """Trays sown and given up: their kit is dirty."""
    farm.discard(farm.sow("broccoli", count, at=at).names[:1], "a trial", at=at)


# Kit ------------------------------------------------------------------------------------------------------------------


def test_washed_kit_is_ready_after_its_drying_time(home: Farm) -> None:
    """A mesh mat dries 24 h, a mesh tray 6 h."""
    dirty_trays(home, 2)
    for pool in ("mesh mat", "mesh tray"):
        home.wash(pool, soap="unscented", at=MORNING + HOUR)
    for pool, total, hours in (("mesh mat", 10, 24), ("mesh tray", 12, 6)):
        dry = MORNING + (1 + hours) * HOUR
        held = home.state(MORNING + HOUR).kit[pool]
        assert (held.dirty, held.ready(dry - timedelta(minutes=1)), held.ready(dry)) == (0, total - 2, total)


def test_all_that_is_dirty_is_washed_where_no_count_is_given(home: Farm) -> None:
    dirty_trays(home, 3)
    body = home.wash("mesh mat", at=MORNING).kept[0].entry.body
    assert isinstance(body, Washed)
    assert body.count == 3
    with pytest.raises(InputError, match=r"mesh mat = 0: there is none to wash"):
        home.wash("mesh mat", at=MORNING)
    with pytest.raises(InputError, match=r"mesh mat = -1: there is none to wash"):
        home.wash("mesh mat", -1, at=MORNING)


def test_more_washed_than_was_dirty_is_odd_and_adds_nothing(home: Farm) -> None:
    dirty_trays(home, 1)
    receipt = home.wash("mesh mat", 4, at=MORNING)
    assert [(found.code, found.severity) for found in receipt.findings] == [("kit-short", "odd")]
    assert home.state(MORNING).kit["mesh mat"].still_drying(MORNING) == 1


def test_a_washing_sent_again_with_its_id_is_one_washing(home: Farm) -> None:
    """The second time nothing is dirty any more; the phone must hear yes all the same."""
    dirty_trays(home, 2)
    first = home.wash("mesh mat", at=MORNING, ids=["phone-0001"])
    assert home.wash("mesh mat", at=MORNING, ids=["phone-0001"]).kept == first.kept
    assert home.state(MORNING).kit["mesh mat"].still_drying(MORNING) == 2


def test_where_kit_is_sanitised_it_dries_only_after_that(loft: Farm) -> None:
    dirty_trays(loft, 2)
    with pytest.raises(InputError, match=r"mesh mat = 0: there is none to sanitise\. Wash some first"):
        loft.sanitise("mesh mat", "as on the label", at=MORNING)
    loft.wash("mesh mat", at=MORNING)
    held = loft.state(MORNING).kit["mesh mat"]
    assert (held.washed, held.ready(MORNING + 3 * DAY)) == (2, 46)
    body = loft.sanitise("mesh mat", "as on the label", strength_ppm=100.0, contact_min=2.0, at=MORNING + HOUR)
    assert isinstance(body.kept[0].entry.body, Sanitised)
    held = loft.state(MORNING + HOUR).kit["mesh mat"]
    assert (held.washed, held.ready(MORNING + 20 * HOUR), held.ready(MORNING + 21 * HOUR)) == (0, 46, 48)


def test_a_sanitising_says_with_what(loft: Farm) -> None:
    dirty_trays(loft, 1)
    loft.wash("mesh mat", at=MORNING)
    with pytest.raises(InputError, match="agent = not said"):
        loft.sanitise("mesh mat", " ", at=MORNING)


def test_a_farm_that_only_washes_may_sanitise_what_is_drying(home: Farm) -> None:
    dirty_trays(home, 2)
    with pytest.raises(InputError, match="there is none to sanitise"):
        home.sanitise("mesh mat", "as on the label", at=MORNING)
    home.wash("mesh mat", at=MORNING)
    body = home.sanitise("mesh mat", "as on the label", at=MORNING).kept[0].entry.body
    assert isinstance(body, Sanitised)
    assert body.count == 2
    assert home.state(MORNING).kit["mesh mat"].ready(MORNING + 24 * HOUR) == 10


def test_kit_comes_back_from_customers_dirty(loft: Farm) -> None:
    tray = loft.sow("radish", 1, at=MORNING).names[1]
    loft.begin([tray], "ready", at=MORNING)
    loft.deliver("Upside Ladle", [LineDelivered(line="by-hand/1", trays=(tray,))], at=MORNING)
    away = {name: pool.away for name, pool in loft.state(MORNING).kit.items() if pool.away}
    assert away
    for pool, count in away.items():
        loft.return_kit(pool, count, at=MORNING + DAY)
        held = loft.state(MORNING + DAY).kit[pool]
        assert (held.away, held.dirty) == (0, count)
    receipt = loft.return_kit("mesh mat", 1, at=MORNING + DAY)
    assert [found.code for found in receipt.findings] == ["kit-short"]


def test_a_pool_is_counted_and_set(home: Farm) -> None:
    home.count_kit("cover", 5, "three cracked", at=MORNING)
    assert home.state(MORNING).kit["cover"].ready(MORNING) == 5
    home.set_kit(Pool(name="lid", count=4), at=MORNING)
    assert home.state(MORNING).kit["lid"].ready(MORNING) == 4
    with pytest.raises(RefusedError, match="cannot be less than 0"):
        home.count_kit("cover", -1, at=MORNING)


def test_an_unknown_pool_is_not_found(home: Farm) -> None:
    for call in (home.wash, home.count_kit, home.return_kit):
        with pytest.raises(NotFoundError, match=r"kit 'spoons'.*Known: mesh tray, mesh mat, solid tray, cover"):
            call("spoons", 1, at=MORNING)
    with pytest.raises(NotFoundError, match="kit 'spoons'"):
        home.sanitise("spoons", "as on the label", 1, at=MORNING)


# Seed -----------------------------------------------------------------------------------------------------------------


def test_seed_is_ordered_received_tested_and_weighed(home: Farm) -> None:
    home.receive_seed("K-BRO-2", "broccoli", 500.0, supplier="by post", expected_on=MORNING.date() + DAY, at=MORNING)
    assert home.state(MORNING).seed["K-BRO-2"].left_g == 0.0
    home.receive_seed("K-BRO-2", "broccoli", 480.0, at=MORNING + DAY)
    home.test_seed("K-BRO-2", sprouted=43, tested=50, tsw_g=3.1, at=MORNING + 4 * DAY)
    home.weigh_seed("K-BRO-2", 479.0, at=MORNING + 4 * DAY)
    lot = home.state(MORNING + 4 * DAY).seed["K-BRO-2"]
    assert (lot.left_g, lot.live_share, lot.tsw_g, lot.supplier) == (479.0, 0.86, 3.1, "by post")


def test_seed_that_cannot_be_is_refused(home: Farm) -> None:
    with pytest.raises(RefusedError, match="a lot is received once"):
        home.receive_seed("K-BRO-1", "broccoli", 500.0, at=MORNING)
    with pytest.raises(RefusedError, match=r"= 0 g: must be more than 0 g"):
        home.receive_seed("K-BRO-2", "broccoli", 0.0, at=MORNING)
    with pytest.raises(RefusedError, match=r"sprouted = 51 seeds: must lie in \[0, 50\]"):
        home.test_seed("K-BRO-1", sprouted=51, tested=50, at=MORNING)
    with pytest.raises(RefusedError, match="it needs both how many sprouted and how many were tested"):
        home.test_seed("K-BRO-1", sprouted=43, at=MORNING)
    with pytest.raises(RefusedError, match="test = nothing"):
        home.test_seed("K-BRO-1", at=MORNING)
    with pytest.raises(RefusedError, match="seed lot K-BRO-9 = none"):
        home.weigh_seed("K-BRO-9", 10.0, at=MORNING)


def test_a_scale_far_from_the_book_is_odd_and_the_scale_counts(home: Farm) -> None:
    receipt = home.weigh_seed("K-BRO-1", 200.0, at=MORNING)
    assert [found.code for found in receipt.findings] == ["seed-stray"]
    assert home.state(MORNING).seed["K-BRO-1"].left_g == 200.0


def test_the_farms_own_figure_goes_before_the_librarys(home: Farm) -> None:
    """Half the seed weight, half the grams for the same number of seeds."""
    home.receive_seed("K-RAD-2", "radish", 500.0, germination=0.94, at=MORNING)
    for tsw in (8.0, 4.0):
        home.set_crop_fact("radish", "tsw_g_typ", tsw, at=MORNING)
        home.sow("radish", 1, lot="K-RAD-2", at=MORNING)
    first, second = home.state(MORNING).growing()
    assert first.seed_g == pytest.approx(2 * second.seed_g, rel=1e-3)


# Places, readings, words ----------------------------------------------------------------------------------------------


def test_a_shelf_is_changed_and_closed_but_not_under_a_tray(home: Farm) -> None:
    shelf = home.state(MORNING).shelves["K3"]
    home.set_shelf(msgspec.structs.replace(shelf, spots=2), at=MORNING)
    home.sow("broccoli", 1, at=MORNING)
    closed = msgspec.structs.replace(shelf, spots=0)
    home.set_shelf(closed, at=MORNING)
    assert "K3" not in home.state(MORNING).shelves
    assert home.changes([PlaceSet(shelf=closed)], MORNING) == (), "it is closed already"
    with pytest.raises(RefusedError, match="K1"):
        home.set_shelf(msgspec.structs.replace(home.state(MORNING).shelves["K1"], spots=0), at=MORNING)


def test_a_reading_is_kept_and_one_that_cannot_be_is_refused(home: Farm) -> None:
    home.take_reading("temperature", 21.5, "kitchen", at=MORNING)
    reading = home.state(MORNING).readings[-1]
    assert (reading.at, reading.what, reading.value, reading.where) == (MORNING, "temperature", 21.5, "kitchen")
    with pytest.raises(RefusedError, match=r"humidity = 140 %: must lie in \[0, 100\]"):
        home.take_reading("humidity", 140.0, at=MORNING)
    receipt = home.take_reading("temperature", 70.0, at=MORNING, sure=True)
    assert "Fahrenheit" in receipt.findings[0].remedy


def test_a_note_is_kept_with_what_it_is_about_and_says_something(home: Farm) -> None:
    kept = home.note("smells sweet", ["tray:261125A.1"], by="Ada", at=MORNING).kept[0]
    assert home.book.about("tray:261125A.1") == [kept]
    assert kept.entry.by == "Ada"
    with pytest.raises(InputError, match="note = nothing"):
        home.note(" \n", at=MORNING)


@pytest.mark.parametrize("setup", ["shelf", "loft", "barn"])
def test_applying_a_setup_to_the_farm_it_made_changes_nothing(setup: str) -> None:
    bodies = setup_bodies(setup)
    with Farm.create(":memory:", bodies, at=MORNING) as made:
        assert made.changes(bodies, MORNING) == ()


def test_applying_a_changed_setup_records_what_differs_once(home: Farm) -> None:
    bodies = setup_bodies("shelf")
    home.count_kit("cover", 5, at=MORNING)
    home.sow("broccoli", 1, at=MORNING)
    changes = home.changes(bodies, MORNING)
    assert [body.subjects() for body in changes] == [("kit:cover",)]
    home.record(*changes, at=MORNING)
    assert home.changes(bodies, MORNING) == ()


@pytest.mark.parametrize(
    ("agent", "ppm", "said"),
    [
        # 40 CFR 180.940: at most 200 ppm chlorine, 500 ppm peroxyacetic acid on what food touches (see sources.json).
        ("bleach", 400.0, "chlorine = 400 ppm: above the 200 ppm that 40 CFR 180.940 names"),
        ("peroxyacetic acid", 600.0, "peroxyacetic acid = 600 ppm: above the 500 ppm"),
        ("bleach", 200.0, ""),
        ("bleach", None, ""),
        ("alcohol", 700000.0, ""),
        ("our shop's own", 400.0, ""),
    ],
)
def test_a_sanitiser_above_the_food_contact_limit_is_odd_and_is_kept(
    loft: Farm, agent: str, ppm: float | None, said: str
) -> None:
    loft.wash("mesh mat", 4, at=MORNING)
    receipt = loft.sanitise("mesh mat", agent, 4, strength_ppm=ppm, at=MORNING)
    assert receipt.kept
    found = [one for one in receipt.findings if one.code == "sanitiser-too-strong"]
    assert [one.severity for one in found] == (["odd"] if said else [])
    if said:
        assert said in found[0].message
        assert "Rinse this kit" in found[0].remedy
