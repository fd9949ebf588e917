"""The verdict on a change in words: what it is worth a week, how sure that is, and how many lines are met."""

from __future__ import annotations

from math import inf

from trayward.plan.compare_figures import lines_likely_met, lines_met
from trayward.plan.compare_types import CENT, Between
from trayward.plan.types import Plan
from trayward.plan.words import count_words


def between_words(between: Between, weeks: float, currency: str, *, told: bool) -> str:
    """What a change comes to over the futures both plans were checked by, a week."""
    worth, low, high = (amount / weeks for amount in (between.mean, between.low, between.high))
    certain = between.ninetieth - between.tenth < 2 * CENT
    if abs(between.mean) < CENT and certain:
        return "No difference in money."
    if told:
        first = f"{'Better' if worth > 0 else 'Worse'} by {_money_words(worth, currency)} a week"
        near, far = sorted((abs(low), abs(high)))
        if not certain:
            first += f" on average ({_span_words(near, far)})"
        first += f": {_parts_words(worth, between.margin / weeks, currency)}."
        first = first if certain else f"{first} {_futures_words(between, weeks, currency)}"
        return f"{first} {_sure_words(worth)}" if between.unlike else first
    if between.low * between.high > 0:
        return f"No difference in money worth the name: {_more_words(worth, currency)} a week."
    first = f"No difference in money that can be told: on average {_more_words(worth, currency)} a week, but anything "
    first += f"from {_more_words(low, currency)} to {_more_words(high, currency)} would fit."
    return f"{first} {_futures_words(between, weeks, currency)}"


def _futures_words(between: Between, weeks: float, currency: str) -> str:
    """In how many futures it is better or worse, and by how much mostly."""
    down = between.mean < 0
    share = between.worse if down else between.better
    tenth, ninetieth = between.tenth / weeks, between.ninetieth / weeks
    if down:
        tenth, ninetieth = -ninetieth, -tenth
    way, other = ("worse", "better") if down else ("better", "worse")
    said = f"It is {way} in {_of_ten(share)} futures; 8 of 10 lie between "
    if tenth >= CENT:
        return f"{said}{_plain_money(tenth)} and {_money_words(ninetieth, currency)} {way}."
    least = f"{_money_words(tenth, currency)} {other}" if tenth <= -CENT else "the same"
    return f"{said}{least} and {_money_words(ninetieth, currency)} {way if ninetieth > 0 else other}."


def _sure_words(worth: float) -> str:
    """Where money and being sure part."""
    if worth > 0:
        return "But orders are less sure than you want them, and the plan counts that for more."
    return "But orders are surer, and the plan counts that for more."


def _of_ten(share: float) -> str:
    """`9 of 10`, or `nearly all`, or `all`."""
    if share >= 1:
        return "all"
    if share > 0.95:
        return "nearly all"
    return f"{round(share * 10)} of 10" if share >= 0.05 else "hardly any"


def _span_words(near: float, far: float) -> str:
    """`28 to 34`; one of them where both say the same."""
    one, other = _plain_money(near), _plain_money(far)
    return f"{one} to {other}" if one != other else one


def _plain_money(amount: float) -> str:
    return _money_words(amount, "")


def _parts_words(worth: float, margin: float, currency: str) -> str:
    """What of a difference is margin, and what the price of letting down."""
    parts, saved = [f"the margin is {_more_words(margin, currency)}"], margin - worth
    if abs(saved) >= CENT:
        parts.append(f"letting customers down costs {_more_words(saved, currency)}")
    return " and ".join(parts)


def first_words(told: bool, a_week: tuple[float, float, float], currency: str) -> str:
    """What the change comes to by two plans that were not made for the same futures."""
    worth, margin, doubt = a_week
    if told:
        sooner = f"{'Better' if worth > 0 else 'Worse'} by {_money_words(worth, currency)} a week"
        return f"{sooner}: {_parts_words(worth, margin, currency)}."
    if abs(worth) < CENT:
        return "No difference in money."
    if abs(worth) >= doubt:
        return f"No difference in money worth the name: {_money_words(worth, currency)} a week."
    if doubt == inf:
        return f"By these two plans {_more_words(worth, currency)} a week; how good either is was not looked into."
    first = f"No difference in money that can be told for sure: {_more_words(worth, currency)} a week by these two "
    return f"{first}plans, which together may lie {_money_words(doubt, currency)} a week from their best."


def _money_words(amount: float, currency: str) -> str:
    """As many digits as anybody would count: whole from 10 up, else with cents."""
    size = abs(amount)
    return f"{size:.0f} {currency}".strip() if size >= 10 else f"{size:.2f} {currency}".strip()


def _more_words(amount: float, currency: str) -> str:
    if abs(amount) < CENT:
        return "the same"
    return f"{_money_words(amount, currency)} {'more' if amount > 0 else 'less'}"


def lines_words(before: Plan, after: Plan) -> str:
    """How many order lines are met in full, with it and as it is."""
    expected = lines_likely_met(after), lines_likely_met(before)
    if expected[0] is not None and expected[1] is not None:
        return _likely_words((round(expected[0]), len(after.lines)), (round(expected[1]), len(before.lines)))
    now, was = (lines_met(after), len(after.lines)), (lines_met(before), len(before.lines))
    if now == was:
        return f"{now[0]} of {count_words(now[1], 'order line')} met in full either way."
    as_it_is = f"{was[0]}" if now[1] == was[1] else f"{was[0]} of {was[1]}"
    return f"{now[0]} of {count_words(now[1], 'order line')} met in full instead of {as_it_is}."


def _likely_words(now: tuple[int, int], was: tuple[int, int]) -> str:
    """How many lines are likely met in full, of how many."""
    if now == was:
        return f"About {now[0]} of {count_words(now[1], 'order line')} likely met in full either way."
    as_it_is = f"{was[0]}" if now[1] == was[1] else f"{was[0]} of {was[1]}"
    return f"About {now[0]} of {count_words(now[1], 'order line')} likely met in full instead of {as_it_is}."
