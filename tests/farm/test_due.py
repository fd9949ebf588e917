"""Orders and standing orders, put into grams and live trays."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from trayward.errors import InputError
from trayward.farm.due import check_standing, line_problem, lines_due, order_findings, product_named, standing_days
from trayward.farm.orders import Customer, LineAsked, Order, Part, Pause, Product, StandingOrder
from trayward.farm.repeats import check_rule, occurrences, rule_from_words, rule_in_words
from trayward.farm.settings import FarmSettings, Money
from trayward.farm.state import FarmState

TUESDAY, FRIDAY = date(2026, 12, 1), date(2026, 12, 4)
MIX = Product(
    name="garden mix",
    parts=(Part(crop="broccoli", share=0.6), Part(crop="radish", share=0.4)),
    pack_g=50.0,
    price=4.0,
    price_per="pack",
)
LIVE = Product(name="live pea", parts=(Part(crop="pea"),), live=True, price=15.0, price_per="tray")
LOOSE = Product(name="radish loose", parts=(Part(crop="radish"),), price=5.0)


def ask(product: str, quantity: float, unit: str = "g", price: float | None = None, line: str = "1") -> LineAsked:
    return LineAsked(line=line, product=product, quantity=quantity, unit=unit, price=price)  # type: ignore[arg-type]


def farm(*orders: Order, standing: tuple[StandingOrder, ...] = (), sells: bool = True) -> FarmState:
    return FarmState(
        settings=FarmSettings(name="Lantern Loft", sells=sells, money=Money(worth_home_100g=2.0)),
        products={product.name: product for product in (MIX, LIVE, LOOSE)},
        customers={
            "Copper Ladle": Customer(name="Copper Ladle", weight=3.0),
            "our table": Customer(name="our table", home=True),
        },
        orders={order.order: order for order in orders},
        standing={order.standing: order for order in standing},
    )


def order(*lines: LineAsked, customer: str = "Copper Ladle", due: date = FRIDAY) -> Order:
    return Order(order="o1", customer=customer, due=due, lines=lines)


def standing(**changes: object) -> StandingOrder:
    given_ = {
        "standing": "s1",
        "customer": "Copper Ladle",
        "start": TUESDAY,
        "rule": "FREQ=WEEKLY;BYDAY=TU,FR",
        "lines": (ask("radish", 200),),
        **changes,
    }
    return StandingOrder(**given_)  # type: ignore[arg-type]


def test_packs_of_a_mix_become_grams_with_its_shares_and_the_price_of_the_packs():
    (line,) = lines_due(farm(order(ask("garden mix", 6, "packs"))), TUESDAY, FRIDAY)
    assert (line.line, line.grams, line.packs, line.pack_g, line.value) == ("o1/1", 300.0, 6, 50.0, 24.0)
    assert [(part.crop, part.share) for part in line.parts] == [("broccoli", 0.6), ("radish", 0.4)]
    assert line.weight == 3.0


def test_grams_of_a_product_priced_by_the_pack_are_valued_by_their_share_of_a_pack():
    (line,) = lines_due(farm(order(ask("garden mix", 125))), TUESDAY, FRIDAY)
    assert line.value == pytest.approx(10.0)  # 125 g are 2.5 packs of 50 g at 4
    assert (line.packs, line.pack_g) == (0.0, None)


def test_live_trays_are_counted_in_trays_and_have_no_grams():
    (line,) = lines_due(farm(order(ask("live pea", 2, "trays"))), TUESDAY, FRIDAY)
    assert (line.live, line.trays, line.grams, line.value) == (True, 2, 0.0, 30.0)


def test_a_crops_own_name_is_a_product_and_takes_the_price_of_the_product_made_of_it_alone():
    (line,) = lines_due(farm(order(ask("radish", 200))), TUESDAY, FRIDAY)
    assert (line.parts, line.grams) == ((Part(crop="radish"),), 200.0)
    assert line.value == pytest.approx(10.0)  # 200 g at 5 for 100 g


def test_a_lines_own_price_goes_before_the_products():
    (line,) = lines_due(farm(order(ask("garden mix", 6, "packs", price=3.5))), TUESDAY, FRIDAY)
    assert line.value == pytest.approx(21.0)


def test_the_home_table_is_valued_at_what_the_grower_says_it_is_worth():
    (line,) = lines_due(farm(order(ask("radish", 95), customer="our table")), TUESDAY, FRIDAY)
    assert line.value == pytest.approx(1.9)
    (line,) = lines_due(farm(order(ask("radish", 95)), sells=False), TUESDAY, FRIDAY)
    assert line.value == pytest.approx(1.9)


def test_what_was_delivered_is_taken_from_the_state():
    state = farm(order(ask("radish", 200), ask("live pea", 2, "trays", line="2")))
    state.delivered["o1/1"] = 120.0
    state.delivered_trays["o1/2"] = 1
    assert [(line.done_g, line.done_trays) for line in lines_due(state, TUESDAY, FRIDAY)] == [(120.0, 0), (0.0, 1)]


def test_only_lines_due_between_the_two_days_are_given_and_both_days_count():
    state = farm(order(ask("radish", 1), due=FRIDAY))
    assert [line.due for line in lines_due(state, FRIDAY, FRIDAY)] == [FRIDAY]
    assert lines_due(state, TUESDAY, date(2026, 12, 3)) == []


def test_a_standing_order_names_each_line_by_its_day():
    lines = lines_due(farm(standing=(standing(),)), TUESDAY, date(2026, 12, 8))
    assert [line.line for line in lines] == ["s1@2026-12-01/1", "s1@2026-12-04/1", "s1@2026-12-08/1"]


def test_lines_come_by_day_and_then_by_name():
    state = farm(order(ask("radish", 1), due=date(2026, 12, 5)), standing=(standing(),))
    assert [line.line for line in lines_due(state, TUESDAY, date(2026, 12, 5))] == [
        "s1@2026-12-01/1",
        "s1@2026-12-04/1",
        "o1/1",
    ]


def test_exceptions_extra_days_and_pauses_change_the_days_of_a_standing_order():
    given_ = standing(
        except_on=(date(2026, 12, 4),),
        also_on=(date(2026, 12, 10), date(2026, 12, 26), date(2026, 12, 4)),
        pauses=(Pause(first=date(2026, 12, 24), last=date(2026, 12, 29)),),
    )
    days = standing_days(given_, TUESDAY, date(2027, 1, 1))
    assert [day.day for day in days] == [1, 8, 10, 11, 15, 18, 22, 1]


def test_an_ended_standing_order_gives_nothing():
    assert standing_days(standing(ended=True), TUESDAY, FRIDAY) == []


def test_no_day_lies_before_the_start():
    assert standing_days(standing(), date(2026, 11, 1), FRIDAY) == [TUESDAY, FRIDAY]


@pytest.mark.parametrize(
    ("line", "message"),
    [
        (ask("radish", 2, "packs"), "line 1 of radish = 2 packs: the product has no pack weight"),
        (ask("live pea", 200), "line 1 of live pea = 200 g: the product is a live tray. Order it in trays"),
        (ask("garden mix", 1, "trays"), "a mix grows on no one tray"),
        (ask("live pea", 1.5, "trays"), "1.5 trays: live trays come whole"),
        (ask("radish", 0), "0 g: must be more than 0"),
        (ask("radish", float("nan")), "nan g: must be more than 0"),
    ],
)
def test_a_line_whose_amount_cannot_be_known_is_left_out_and_named(line: LineAsked, message: str):
    state = farm(order(line))
    assert message in str(line_problem(product_named(state, line.product), line))
    assert lines_due(state, TUESDAY, FRIDAY) == []
    (finding,) = order_findings(state, TUESDAY, FRIDAY)
    assert finding.severity == "wrong"
    assert message in finding.message


def test_a_line_without_any_price_is_said_to_be_odd():
    (finding,) = order_findings(farm(order(ask("kale", 100))), TUESDAY, FRIDAY)
    assert (finding.severity, finding.code) == ("odd", "line-price")


def test_a_standing_order_with_a_pause_the_wrong_way_round_is_refused():
    with pytest.raises(InputError, match="ends before 2026-12-20"):
        check_standing(standing(pauses=(Pause(first=date(2026, 12, 20), last=date(2026, 12, 2)),)))


@pytest.mark.parametrize(
    ("rule", "message"),
    [
        ("every Friday", "'every Friday'.*is not KEY=VALUE.*FREQ=WEEKLY;BYDAY=TU,FR"),
        ("FREQ=HOURLY", "FREQ must be one of DAILY, WEEKLY"),
        ("BYDAY=TU", "FREQ must be one of"),
        ("FREQ=WEEKLY;BYDAY=TUE", "BYDAY has 'TUE': days are MO, TU"),
        ("FREQ=WEEKLY;BYDAY=2FR", "a numbered day such as 1MO needs FREQ=MONTHLY"),
        ("FREQ=WEEKLY;BYHOUR=9", "a delivery day is a whole day. Leave BYHOUR out"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20270101", "COUNT and UNTIL may not both be given"),
        ("FREQ=DAILY;UNTIL=20270101T090000Z", "UNTIL must be a day like the start"),
        ("FREQ=DAILY;INTERVAL=0", "INTERVAL must be a whole number of 1 or more, not '0'"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "BYMONTHDAY must list whole numbers from 1 to 31"),
        ("FREQ=WEEKLY;BYMONTHDAY=3", "BYMONTHDAY may not stand with FREQ=WEEKLY"),
        ("FREQ=WEEKLY;FREQ=DAILY", "FREQ is given twice"),
        ("FREQ=WEEKLY;FROM=MO", "FROM is no part of an RFC 5545 rule"),
        ("FREQ=MONTHLY;BYSETPOS=1", "BYSETPOS picks among days"),
    ],
)
def test_a_rule_that_is_no_good_is_shown_with_what_is_wrong(rule: str, message: str):
    with pytest.raises(InputError, match=message):
        check_rule(rule)


def test_a_rule_is_brought_to_one_plain_form():
    assert check_rule(" rrule:freq=weekly; byday=tu,fr; ") == "FREQ=WEEKLY;BYDAY=TU,FR"


def test_a_rule_that_never_comes_true_ends_its_search():
    assert occurrences("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30;COUNT=2", TUESDAY, TUESDAY, date(2036, 1, 1)) == []


@given(
    interval=st.integers(1, 4),
    days=st.lists(st.sampled_from(["MO", "TU", "WE", "TH", "FR", "SA", "SU"]), min_size=1, unique=True),
    week_start=st.sampled_from(["MO", "SU", "WE"]),
    later=st.integers(0, 200),
)
def test_looking_far_ahead_gives_the_same_days_as_counting_from_the_start(
    interval: int, days: list[str], week_start: str, later: int
):
    """Old weekly orders are counted from a nearer start; that must not shift a day."""
    rule = f"FREQ=WEEKLY;INTERVAL={interval};BYDAY={','.join(days)};WKST={week_start}"
    first = date.fromordinal(TUESDAY.toordinal() + later)
    last = date.fromordinal(first.toordinal() + 40)
    whole = [day for day in occurrences(rule, TUESDAY, TUESDAY, last) if day >= first]
    assert occurrences(rule, TUESDAY, first, last) == whole


@pytest.mark.parametrize(
    ("words", "rule"),
    [
        ("every Tue and Fri", "FREQ=WEEKLY;BYDAY=TU,FR"),
        ("Fridays, Tuesdays", "FREQ=WEEKLY;BYDAY=TU,FR"),
        ("weekly on Friday", "FREQ=WEEKLY;BYDAY=FR"),
        ("every other Thursday", "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH"),
        ("fortnightly on Wed", "FREQ=WEEKLY;INTERVAL=2;BYDAY=WE"),
        ("every 3 weeks on Monday", "FREQ=WEEKLY;INTERVAL=3;BYDAY=MO"),
        ("first Monday of the month", "FREQ=MONTHLY;BYDAY=1MO"),
        ("last friday of every month", "FREQ=MONTHLY;BYDAY=-1FR"),
        ("monthly on the 15th", "FREQ=MONTHLY;BYMONTHDAY=15"),
        ("every weekday", "FREQ=WEEKLY;BYDAY=MO,TU,WE,TH,FR"),
        ("daily", "FREQ=DAILY"),
        ("every 2nd day", "FREQ=DAILY;INTERVAL=2"),
        ("every Saturday until 2027-03-31", "FREQ=WEEKLY;BYDAY=SA;UNTIL=20270331"),
        ("every friday 10 times", "FREQ=WEEKLY;BYDAY=FR;COUNT=10"),
        ("FREQ=WEEKLY;BYDAY=TU", "FREQ=WEEKLY;BYDAY=TU"),
    ],
)
def test_plain_words_become_a_rule_whose_own_words_say_the_same(words: str, rule: str):
    assert rule_from_words(words) == rule
    if "WEEKLY;BYDAY=MO,TU,WE" not in rule:
        assert rule_from_words(rule_in_words(rule)) == rule


@pytest.mark.parametrize("words", ["", "sometimes", "every", "every blue moon on Friday", "every Tue in March"])
def test_words_that_are_not_understood_are_refused_with_examples(words: str):
    with pytest.raises(InputError, match=r'not understood.*"every Tue and Fri"'):
        rule_from_words(words)


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=WEEKLY;BYDAY=TU,FR", "every Tuesday and Friday"),
        ("FREQ=MONTHLY;BYDAY=2TU,-1FR", "every month on the 2nd Tuesday and the last Friday"),
        ("FREQ=YEARLY;BYMONTH=6,7;BYDAY=TH", "every year on Thursday in June and July"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "every month on the last day"),
        ("FREQ=WEEKLY;INTERVAL=3", "every 3 weeks"),
    ],
)
def test_a_rule_is_said_in_plain_words(rule: str, words: str):
    assert rule_in_words(rule) == words


def test_days_of_a_repeat_are_the_same_asked_for_at_once_or_week_by_week() -> None:
    """Days are worked out in blocks and kept; over four years, with every kind of rule a grower has."""
    start, end = date(2026, 1, 6), date(2029, 12, 30)
    for rule in (
        "FREQ=WEEKLY;BYDAY=TU,FR",
        "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH;UNTIL=20270331",
        "FREQ=WEEKLY;INTERVAL=3;BYDAY=MO;COUNT=17",
        "FREQ=MONTHLY;BYDAY=-1FR",
        "FREQ=MONTHLY;BYMONTHDAY=15",
        "FREQ=DAILY;INTERVAL=5",
    ):
        whole = occurrences(rule, start, start, end)  # longer than what is kept in blocks
        weeks = [start + timedelta(days=7 * week) for week in range((end - start).days // 7 + 1)]
        pieces = [day for week in weeks for day in occurrences(rule, start, week, min(week + timedelta(days=6), end))]
        assert pieces == whole
