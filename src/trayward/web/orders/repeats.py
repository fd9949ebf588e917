"""How often an order repeats: plain choices on a form, and the rule of RFC 5545 they come to."""

from __future__ import annotations

import re
from datetime import date

import msgspec

from trayward.errors import InputError
from trayward.farm.repeats import WEEKDAY_CODES, check_rule, parse_rule
from trayward.web.typed import Typed

EVERY = ("1", "2", "3", "4")
"""Weeks between deliveries that can be chosen; others are said as a rule."""
NTH = ("1", "2", "3", "4", "-1")
"""Which weekday of a month: the first to the fourth, or the last."""


class Repeat(msgspec.Struct, frozen=True, kw_only=True):
    """A repeat as the form shows it."""

    how: str = "weekly"
    """weekly, monthly on a weekday (`nth`), monthly on a day (`monthday`), daily, or a rule."""
    every: str = "1"
    days: tuple[str, ...] = ()
    nth: str = "1"
    monthday: str = ""
    rule: str = ""
    last: date | None = None
    """The last day; None: no end."""


HOWS = ("weekly", "nth", "monthday", "daily", "rule")


def read_rule(form: Typed) -> str:
    """
    The rule that a form's choices come to, with its last day.

    Raises
    ------
    InputError
        If a choice is missing, or a rule typed is no good.
    """
    how = form.choice("how", HOWS)
    if how == "rule":
        rule = _typed(form)
    elif how == "daily":
        rule = "FREQ=DAILY"
    elif how == "monthday":
        rule = f"FREQ=MONTHLY;BYMONTHDAY={form.whole('monthday', 1, 31)}"
    else:
        rule = _by_weekday(form, how)
    return check_rule(rule + _end(form, rule))


def _by_weekday(form: Typed, how: str) -> str:
    days = [day for day in WEEKDAY_CODES if day in form.all("days")]
    if not days:
        raise InputError("days", "none", "it has to be said on which days", "Tick one or more.")
    if how == "nth":
        nth = form.choice("nth", NTH)
        return f"FREQ=MONTHLY;BYDAY={','.join(nth + day for day in days)}"
    every = form.choice("every", EVERY)
    interval = f";INTERVAL={every}" if every != "1" else ""
    return f"FREQ=WEEKLY{interval};BYDAY={','.join(days)}"


def _typed(form: Typed) -> str:
    try:
        return check_rule(form.need("rule", "Give a rule, or take a choice above."))
    except InputError as error:
        raise InputError("rule", form.text("rule"), error.rule, error.remedy) from error


def _end(form: Typed, rule: str) -> str:
    """The last day said beside the rule; one that stands in the rule is not said twice."""
    last = form.maybe(form.day, "last")
    if last is None:
        return ""
    parsed = parse_rule(rule)
    if parsed.count is not None or parsed.until is not None:
        raise InputError("last", last.isoformat(), "the rule says its end itself", "Take one of the two out.")
    return f";UNTIL={last:%Y%m%d}"


def shown_rule(rule: str) -> Repeat:
    """
    A rule as the form's choices; one that they cannot say stands as it is.

    Examples
    --------
    >>> shown_rule("FREQ=WEEKLY;BYDAY=TU,FR").days
    ('TU', 'FR')
    >>> shown_rule("FREQ=YEARLY;BYMONTH=12").how
    'rule'
    """
    bare, last = _without_end(rule)
    if found := re.fullmatch(r"FREQ=WEEKLY(?:;INTERVAL=([1-4]))?;BYDAY=((?:MO|TU|WE|TH|FR|SA|SU)(?:,\w\w)*)", bare):
        return Repeat(how="weekly", every=found[1] or "1", days=tuple(found[2].split(",")), last=last)
    if bare == "FREQ=DAILY":
        return Repeat(how="daily", last=last)
    if found := re.fullmatch(r"FREQ=MONTHLY;BYMONTHDAY=(\d+)", bare):
        return Repeat(how="monthday", monthday=found[1], last=last)
    if found := re.fullmatch(r"FREQ=MONTHLY;BYDAY=((?:[1-4]|-1)(?:MO|TU|WE|TH|FR|SA|SU)(?:,-?\d\w\w)*)", bare):
        days = found[1].split(",")
        if len({day[:-2] for day in days}) == 1:
            return Repeat(how="nth", nth=days[0][:-2], days=tuple(day[-2:] for day in days), last=last)
    return Repeat(how="rule", rule=rule)


def _without_end(rule: str) -> tuple[str, date | None]:
    found = re.search(r";UNTIL=(\d{8})", rule)
    if found is None:
        return rule, None
    return rule.replace(found[0], ""), parse_rule(rule).until
