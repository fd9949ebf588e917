"""How often an order repeats: choices and the rule of RFC 5545 (section 3.3.10) they come to."""

from __future__ import annotations

import pytest

from trayward.errors import InputError
from trayward.web.orders.repeats import read_rule, shown_rule
from trayward.web.typed import Typed

CASES = [
    ([("how", "weekly"), ("every", "1"), ("days", "FR"), ("days", "TU")], "FREQ=WEEKLY;BYDAY=TU,FR"),
    ([("how", "weekly"), ("every", "2"), ("days", "TH")], "FREQ=WEEKLY;INTERVAL=2;BYDAY=TH"),
    ([("how", "nth"), ("nth", "-1"), ("days", "MO")], "FREQ=MONTHLY;BYDAY=-1MO"),
    ([("how", "monthday"), ("monthday", "15")], "FREQ=MONTHLY;BYMONTHDAY=15"),
    ([("how", "daily"), ("last", "2027-03-31")], "FREQ=DAILY;UNTIL=20270331"),
    ([("how", "rule"), ("rule", "rrule:freq=yearly;bymonth=12;bymonthday=24")], "FREQ=YEARLY;BYMONTH=12;BYMONTHDAY=24"),
]  # fmt: skip


@pytest.mark.parametrize(("words", "rule"), CASES)
def test_choices_come_to_a_rule_and_back(words: list[tuple[str, str]], rule: str) -> None:
    assert read_rule(Typed(words)) == rule
    shown = shown_rule(rule)
    again = [("how", shown.how), ("every", shown.every), ("nth", shown.nth), ("monthday", shown.monthday)]
    again += [("rule", shown.rule), *(("days", day) for day in shown.days)]
    again += [("last", shown.last.isoformat())] if shown.last else []
    assert read_rule(Typed(again)) == rule


@pytest.mark.parametrize(
    ("words", "field"),
    [
        ([("how", "weekly"), ("every", "1")], "days"),
        ([("how", "monthday"), ("monthday", "32")], "monthday"),
        ([("how", "rule"), ("rule", "FREQ=HOURLY")], "rule"),
        ([("how", "rule"), ("rule", "FREQ=DAILY;COUNT=3"), ("last", "2027-01-01")], "last"),
        ([("how", "sometimes")], "how"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(words: list[tuple[str, str]], field: str) -> None:
    with pytest.raises(InputError, match=" = ") as raised:
        read_rule(Typed(words))
    assert raised.value.name == field
