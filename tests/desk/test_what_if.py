"""Wondering at the desk: words are read as a grower says them, mistakes are told, and nothing is ever recorded."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.desk.wonder.reading import Asked, day_of, take_span, weekdays_in
from trayward.desk.wonder.words import FORMS, read_what_if
from trayward.errors import InputError
from trayward.farm.codec import encode_state
from trayward.plan.what_if import (
    Cost,
    CropGone,
    DaysOff,
    MoreHands,
    MoreKit,
    MoreSeed,
    MoreShelves,
    NewOrder,
    NewStanding,
    OrdersTimes,
    Price,
    PricesTimes,
    ProductGone,
    RecipeGone,
    SeedGone,
    SeedLate,
    ShelfGone,
    Supposition,
    TraysLost,
)

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
TODAY = date(2026, 11, 25)
"""A Wednesday."""
DEC_8, DEC_20 = date(2026, 12, 8), date(2026, 12, 20)


@pytest.fixture(scope="module")
def loft() -> Iterator[Farm]:
    """Lantern Loft with five trays standing and pea seed on order; these tests only look at it."""
    with Farm.create(":memory:", "loft", at=MORNING) as made:
        made.sow("radish", 2, at=MORNING)
        made.sow("pea", 3, at=MORNING)
        made.receive_seed("PEA-27", "pea", 5000.0, expected_on=date(2026, 12, 5), at=MORNING)
        yield made


@pytest.fixture
def shelf() -> Iterator[Farm]:
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


def read(farm: Farm, text: str) -> list[Supposition]:
    return read_what_if(text, farm.state(MORNING), MORNING)


def one(farm: Farm, text: str) -> Supposition:
    (found,) = read(farm, text)
    return found


# Understood -----------------------------------------------------------------------------------------------------------

UNDERSTOOD: list[tuple[str, Supposition]] = [
    ("2 more lit shelves of 4 spots", MoreShelves(count=2, kind="lit", spots=4)),
    ("Two extra lit shelves", MoreShelves(count=2, kind="lit", spots=4)),
    ("a lit shelf more", MoreShelves(count=1, kind="lit", spots=4)),
    ("another dark shelf", MoreShelves(count=1, kind="dark", spots=4, stack=2)),
    ("1 more dark shelf of 6 spots stacked 3", MoreShelves(count=1, kind="dark", spots=6, stack=3)),
    ("1 more dark shelf of 6 spots, 3 high", MoreShelves(count=1, kind="dark", spots=6, stack=3)),
    ("1 more lit shelf from 2026-12-08", MoreShelves(count=1, kind="lit", spots=4, first=DEC_8)),
    ("1 lit shelf less", ShelfGone(shelf="H2")),
    ("1 fewer lit shelf from 8 Dec until 20 Dec", ShelfGone(shelf="H2", first=DEC_8, last=DEC_20)),
    ("shelf F2 out of use until 2026-12-20", ShelfGone(shelf="F2", last=DEC_20)),
    ("no shelf f2", ShelfGone(shelf="F2")),
    ("no F2 from 2026-12-08", ShelfGone(shelf="F2", first=DEC_8)),
    ("10 more mesh mats", MoreKit(pool="mesh mat", count=10)),
    ("4 covers less from 2026-12-08", MoreKit(pool="cover", count=-4, first=DEC_8)),
    ("2 h more on Tue", MoreHands(minutes=120.0, weekdays=(1,))),
    ("2 more hours every Tue and Fri", MoreHands(minutes=120.0, weekdays=(1, 4))),
    ("1h30 more on Saturdays", MoreHands(minutes=90.0, weekdays=(5,))),
    ("1,5 h more a day", MoreHands(minutes=90.0)),
    ("30 min less every day", MoreHands(minutes=-30.0)),
    ("2 h more on 2026-12-08", MoreHands(minutes=120.0, first=DEC_8, last=DEC_8)),
    ("1 h more a day from 8 Dec to 20 Dec", MoreHands(minutes=60.0, first=DEC_8, last=DEC_20)),
    ("1 h more every Tue from 8 Dec to 20 Dec", MoreHands(minutes=60.0, weekdays=(1,), first=DEC_8, last=DEC_20)),
    ("day off on 2026-12-08", DaysOff(first=DEC_8, last=DEC_8)),
    ("a day off tomorrow", DaysOff(first=date(2026, 11, 26), last=date(2026, 11, 26))),
    ("8 Dec off", DaysOff(first=DEC_8, last=DEC_8)),
    ("closed on Tue", DaysOff(first=date(2026, 12, 1), last=date(2026, 12, 1))),
    ("closed from 2026-12-08 to 2026-12-20", DaysOff(first=DEC_8, last=DEC_20)),
    ("closed every Mon", DaysOff(weekdays=(0,))),
    ("day off next Tuesday", DaysOff(first=date(2026, 12, 1), last=date(2026, 12, 1))),
    ("closed next week", DaysOff(first=date(2026, 11, 30), last=date(2026, 12, 6))),
    ("holidays from 2026-12-08 to 2026-12-20", DaysOff(first=DEC_8, last=DEC_20)),
    ("two more lit shelves of six spots", MoreShelves(count=2, kind="lit", spots=6)),
    ("all radish trays lost", TraysLost(trays=("261125A.1", "261125A.2"))),
    ("tray 261125A.2 lost", TraysLost(trays=("261125A.2",))),
    ("trays 261125A.2 and 261125B.1 lost", TraysLost(trays=("261125A.2", "261125B.1"))),
    ("2 pea trays lost", TraysLost(trays=("261125B.1", "261125B.2"))),
    ("sowing 261125B lost", TraysLost(trays=("261125B.1", "261125B.2", "261125B.3"))),
    ("no thimble-fri", OrdersTimes(names=("thimble-fri",), factor=0.0)),
    ("thimble-fri paused until 2026-12-20", OrdersTimes(names=("thimble-fri",), factor=0.0, last=DEC_20)),
    ("no thimble-fri from 2026-12-08 to 2026-12-20",
     OrdersTimes(names=("thimble-fri",), factor=0.0, first=DEC_8, last=DEC_20)),
    ("no Upside Ladle", OrdersTimes(names=("ladle-tue", "ladle-fri"), factor=0.0, whose="Upside Ladle")),
    ("twice thimble-tue", OrdersTimes(names=("thimble-tue",), factor=2.0)),
    ("thimble-tue doubled", OrdersTimes(names=("thimble-tue",), factor=2.0)),
    ("half of upside ladle from 2026-12-08",
     OrdersTimes(names=("ladle-tue", "ladle-fri"), factor=0.5, first=DEC_8, whose="Upside Ladle")),
    ("1.5 times stall", OrdersTimes(names=("stall",), factor=1.5)),
    ("no basil", CropGone(crop="basil")),
    ("basil not sown", CropGone(crop="basil", asked=True)),
    ("no pea on coir", RecipeGone(recipe="pea on coir")),
    ("no garden mix", ProductGone(product="garden mix")),
    ("basil at 11 per 100 g", Price(product="basil", price=11.0, per="100 g")),
    ("basil at €110 per kg", Price(product="basil", price=11.0, per="100 g")),
    ("garden mix at 4,20 EUR a pack", Price(product="garden mix", price=4.2, per="pack")),
    ("basil 10 % dearer", PricesTimes(factor=1.1, products=("basil",))),
    ("all prices 5% down", PricesTimes(factor=0.95)),
    ("wage 18 an hour", Cost(what="wage_h", amount=18.0)),
    ("energy at 0.40 a kWh", Cost(what="energy_kwh", amount=0.4)),
    ("seed lot PEA-27 late until 2026-12-20", SeedLate(lot="PEA-27", comes_on=DEC_20)),
    ("PEA-27 2 weeks late", SeedLate(lot="PEA-27", comes_on=date(2026, 12, 19))),
    ("PEA-27 does not come", SeedGone(lot="PEA-27")),
    ("no seed lot bas-26-1", SeedGone(lot="BAS-26-1")),
    ("500 g more basil seed", MoreSeed(crop="basil", grams=500.0)),
    ("5 kg more seed of pea on 2026-12-08", MoreSeed(crop="pea", grams=5000.0, comes_on=DEC_8)),
]  # fmt: skip


@pytest.mark.parametrize(("text", "meant"), UNDERSTOOD, ids=[text for text, _ in UNDERSTOOD])
def test_what_a_grower_says_is_understood(loft: Farm, text: str, meant: Supposition) -> None:
    assert one(loft, text) == meant


def test_every_example_the_forms_give_is_understood_by_its_own_form(loft: Farm) -> None:
    for form in FORMS:
        text = form.example.replace("PEA-26-2", "PEA-27")
        first = next(other for other in FORMS if other.read(asked(loft, text)))
        assert first is form, text


def asked(farm: Farm, text: str) -> Asked:
    return Asked(text, farm.state(MORNING), MORNING)


def test_a_new_customers_standing_order_has_its_price_its_days_and_its_end(loft: Farm) -> None:
    text = "200 g pea every Tue at 4.50 per 100 g for Thimble Corner from 2026-12-08 until 2027-02-01"
    found = one(loft, text)
    assert isinstance(found, NewStanding)
    assert found.standing.customer == "Thimble Corner"
    assert found.standing.rule == "FREQ=WEEKLY;BYDAY=TU;UNTIL=20270201"
    assert found.standing.start == DEC_8
    (line,) = found.standing.lines
    assert (line.product, line.quantity, line.unit) == ("pea", 200.0, "g")
    assert line.price == pytest.approx(0.045)


@pytest.mark.parametrize(
    "text",
    [
        "6 packs garden mix at 3.50 and 2 trays live pea every other Fri for Table for Two",
        '6 packs garden mix at 3.50, 2 trays live pea every other Fri for "Table for Two"',
        "6 packs garden mix at 3,50 and 2 live pea trays every other Friday for Table for Two",
    ],
)
def test_an_order_may_have_several_lines_and_a_customer_any_name(loft: Farm, text: str) -> None:
    found = one(loft, text)
    assert isinstance(found, NewStanding)
    assert found.standing.customer == "Table for Two"
    assert found.standing.rule == "FREQ=WEEKLY;INTERVAL=2;BYDAY=FR"
    assert [(line.product, line.quantity, line.unit, line.price) for line in found.standing.lines] == [
        ("garden mix", 6.0, "packs", 3.5),
        ("live pea tray", 2.0, "trays", None),
    ]


def test_live_trays_may_be_said_either_way(loft: Farm) -> None:
    for text in ("2 live pea trays on 8 Dec", "2 trays live pea on 8 Dec", "2 live trays pea on 8 Dec"):
        found = one(loft, text)
        assert isinstance(found, NewOrder)
        assert [(line.quantity, line.unit) for line in found.order.lines] == [(2.0, "trays")]


def test_an_order_for_one_day_may_be_for_a_customer_the_farm_has(loft: Farm) -> None:
    found = one(loft, "300 g broccoli on 8 Dec for moth & marrow")
    assert isinstance(found, NewOrder)
    assert (found.order.customer, found.order.due) == ("Moth & Marrow", DEC_8)


def test_several_changes_are_parted_by_semicolons_and_new_orders_keep_names_of_their_own(loft: Farm) -> None:
    found = read(loft, "100 g pea every Tue; no basil; 100 g pea every Fri for Thimble Corner.")
    assert [type(change) for change in found] == [NewStanding, CropGone, NewStanding]
    names = [change.standing.standing for change in found if isinstance(change, NewStanding)]
    assert len(set(names)) == 2


def test_a_shelf_less_is_the_emptiest_one(loft: Farm) -> None:
    taken = {spot.partition(".")[0] for spot in loft.state(MORNING).spots}
    gone = {change.shelf for change in read(loft, "4 dark shelves less") if isinstance(change, ShelfGone)}
    assert len(gone) == 4
    assert not gone & taken


# Days -----------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("2026-12-08", DEC_8), ("8 Dec", DEC_8), ("Dec 8", DEC_8), ("8 December 2026", DEC_8), ("Tue 8 Dec", DEC_8),
        ("8.12.2026", DEC_8), ("today", TODAY), ("tomorrow", TODAY + timedelta(days=1)),
        ("wed", TODAY + timedelta(days=7)), ("Thurs", TODAY + timedelta(days=1)), ("3 Jan", date(2027, 1, 3)),
        ("soon", None), ("coir", None), ("12", None),
    ],
)  # fmt: skip
def test_a_day_is_the_next_one_meant_by_its_words(text: str, day: date | None) -> None:
    assert day_of(text, TODAY) == day


def test_an_on_that_says_no_day_stays_with_the_name() -> None:
    assert take_span("no pea on coir", TODAY) == ("no pea on coir", (None, None))
    assert take_span("no pea on coir from 8 Dec", TODAY) == ("no pea on coir", (DEC_8, None))


def test_weekdays_are_told_from_other_words() -> None:
    assert weekdays_in("Mon, Wed & Sundays") == (0, 2, 6)
    assert weekdays_in("Tue 8 Dec") == ()
    assert weekdays_in("") == ()


# Not understood -------------------------------------------------------------------------------------------------------

REFUSED = [
    ("", r"what-if = nothing: it says no change\. Say for instance \"2 more lit shelves"),
    ("bye", r"'bye': these words are not understood\. Known forms: \"2 more lit shelves of 4 spots\""),
    ("dearer things", r"not understood\. Did you mean something like \"basil 10 % dearer\""),
    ("2 more purple shelves", r"understood as shelves, but .*: a shelf more or less is a dark or a lit one\. Say"),
    ("2 lit shelves", r"it is not said whether more or less"),
    ("100 lit shelves less", r"lit shelves less = 100: the farm has only 14"),
    ("0 more lit shelves", r"shelves = 0 shelves: must lie in \[1, 1000\]"),
    ("shelf F9 out of use", r"shelf = 'F9': the farm has none of that name\. Did you mean F"),
    ("10 more mesh matts", r"understood as kit, but kit = 'mesh matts': .* Did you mean mesh mat"),
    ("no thimbel-fri", r"name = 'thimbel-fri': the farm has nothing of that name\. Did you mean thimble-fri"),
    ("twice thimble", r"order or customer = 'thimble': .* Did you mean thimble-tue or thimble-fri"),
    ("200 times stall", r"times = 200 times: must lie in \[0.01, 100\]"),
    ("no basil from 2026-12-08", r"crop = basil: it can only be left out for good"),
    ("200 g pee every Tue", r"understood as an order, but product = 'pee': .* Did you mean pea"),
    ("200 g pea", r"it is not said when\. Add \"every Tue\""),
    ("200 g pea every blue moon", r"understood as an order, but repeat = .*these words are not understood"),
    ("200 g pea on 2026-12-08 every Tue", r"it is for one day and repeats"),
    ("6 packs broccoli every Tue", r"the product has no pack weight"),
    ("200 g less pea every Tue", r"an order can only be added"),
    ("day off", r"it has to be said when"),
    ("day off on 2025-01-01", r"day = 2025-01-01: it is over; today is 2026-11-25"),
    ("closed from 2026-12-20 to 2026-12-08", r"last day = 2026-12-08: it comes before the first"),
    ("2 h more on Blursday", r"when = 'on Blursday': it is not a day, a weekday or every day"),
    ("50 radish trays lost", r"trays lost = 50 trays: only 2 are growing"),
    ("all basil trays lost", r"trays = 'basil': none of that kind is growing"),
    ("tray 261125C.1 lost", r"trays = '261125C\.1': no growing tray is called so\. Did you mean 261125"),
    ("garden mix at 4 per gram", r"not understood"),
    ("leek at 4 per kg", r"product = 'leek': the farm sells nothing of that name"),
    ("basil 120 % cheaper", r"price change = 120 %: must lie in \[0.01, 100\]"),
    ("wage -5 an hour", r"understood as a cost, but wage = -5: must lie in \[0, "),
    ("energy −0.40 a kWh", r"energy = -0\.4: must lie in \[0, "),
    ("basil at -11 per 100 g", r"understood as a price, but price = -11: must lie in \[0, "),
    ("basil at -€11 per 100 g", r"price = -11"),
    ("200 g pea every Tue at -4.50 per 100 g", r"price"),
    ("5 kg less pea seed", r"seed less = '5 kg': seed is supposed away by the lot\. Say \"no seed lot\""),
    ("wage 18 a pack", r"wage = per pack: it is paid by an hour"),
    ("seed lot PEA-99 late until 2026-12-20", r"seed lot = 'PEA-99': .* Did you mean PEA-"),
    ("PEA-26-1 2 weeks late", r"seed lot = PEA-26-1: it is here already, not on order"),
    ("x" * 301, r"it is too long for one change"),
]


@pytest.mark.parametrize(("text", "words"), REFUSED, ids=[text[:40] for text, _ in REFUSED])
def test_what_is_not_understood_says_what_it_was_taken_for_and_the_way_out(loft: Farm, text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        read(loft, text)


def test_where_no_tray_grows_none_is_named_as_one_that_does(shelf: Farm) -> None:
    with pytest.raises(InputError, match=r"trays = '261125A\.1': no tray is growing\. Ask again"):
        read(shelf, "tray 261125A.1 lost")


# Asked of the farm ----------------------------------------------------------------------------------------------------


def test_wondering_records_nothing_and_leaves_the_farm_in_memory_as_it_was(shelf: Farm) -> None:
    shelf.sow("radish", 1, at=MORNING)
    head, state = shelf.book.head(), encode_state(shelf.state(MORNING))
    told = shelf.what_if(
        "all radish trays lost", "1 more lit shelf; 2 mesh mats less", "no home-pea", at=MORNING, weeks=3
    )
    assert len(told.what_if) == 4
    assert shelf.book.head() == head
    assert encode_state(shelf.state(MORNING)) == state
    assert shelf.kept_plan(MORNING) is None


def test_the_farm_as_it_is_is_planned_as_ever(shelf: Farm) -> None:
    told = shelf.what_if("wage 18 an hour", at=MORNING, weeks=3)
    plain = shelf.plan(MORNING, weeks=3)
    bare = tuple(
        msgspec.structs.replace(sowing, why="") for sowing in plain.sowings
    )  # reasons are left out to save time
    assert (told.as_it_is.money, told.as_it_is.sowings) == (plain.money, bare)
    assert told.with_it.made_at == MORNING


def test_an_order_taken_off_is_in_the_one_plan_and_not_in_the_other(shelf: Farm) -> None:
    told = shelf.what_if("no home-wed", at=MORNING, weeks=3)
    gone = {line.line for line in told.as_it_is.lines} - {line.line for line in told.with_it.lines}
    assert gone
    assert all(name.startswith("home-wed@") for name in gone)


def test_words_and_values_may_be_mixed(shelf: Farm) -> None:
    told = shelf.what_if("no home-wed", MoreKit(pool="cover", count=2), at=MORNING, weeks=3)
    assert told.what_if == ("home-wed off", "2 covers more")


def test_asking_nothing_is_refused(shelf: Farm) -> None:
    with pytest.raises(InputError, match="it says no change"):
        shelf.what_if(at=MORNING)


def test_seed_on_order_is_counted_as_the_book_keeps_it_until_it_comes(shelf: Farm) -> None:
    lots = [lot for lot in shelf.state(MORNING).seed.values() if lot.crop == "radish"]
    for lot in lots:
        shelf.weigh_seed(lot.lot, 0.0, at=MORNING, sure=True)
    shelf.receive_seed(
        "RAD-27", "radish", 500.0, germination=0.9, tsw_g=10.0, expected_on=date(2026, 12, 1), at=MORNING
    )
    told = shelf.what_if("RAD-27 does not come", at=MORNING, weeks=4)

    radish = [sowing for sowing in told.as_it_is.sowings if sowing.crop == "radish"]
    assert radish
    assert min(sowing.sow_on for sowing in radish) >= date(2026, 12, 1)
    assert {taken.lot for sowing in radish for taken in sowing.lots} == {"RAD-27"}
    assert not [sowing for sowing in told.with_it.sowings if sowing.crop == "radish"]
