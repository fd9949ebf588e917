"""The verdict on a change in words: what it is worth a week, how sure that is, and how many lines are met."""

from __future__ import annotations

from math import inf

from trayward.plan.compare_figures import lines_likely_met, lines_met
from trayward.plan.compare_types import CENT, Between
from trayward.plan.types import Plan
from trayward.words import counted


def between_words(between: Between, weeks: float, currency: str, *, told: bool) -> str:
    """What a change comes to over the futures both plans were checked by, a week."""
    worth, low, high = (amount / weeks for amount in (between.mean, between.low, between.high))
    certain = between.ninetieth - between.tenth < 2 * CENT
    if abs(between.mean) < CENT and certain:
        return "No difference in money."
    if told:
        parts = _parts_words(worth, between.margin / weeks, currency)
        if certain:
            first = _by_words(worth, parts, currency)
        else:
            first = _on_average_words(worth, _span_words(*sorted((abs(low), abs(high)))), parts, currency)
            first = f"{first} {_futures_words(between, weeks, currency)}"
        return f"{first} {_sure_words(worth)}" if between.unlike else first
    if between.low * between.high > 0:
        return f"No difference in money worth the name: {_more_words(worth, currency)} a week."
    mean, least, most = (_more_words(amount, currency) for amount in (worth, low, high))
    first = (
        f"No difference in money that can be told: on average {mean} a week, but anything from {least} to {most} "
        "would fit."
    )
    return f"{first} {_futures_words(between, weeks, currency)}"


def _by_words(worth: float, parts: str, currency: str) -> str:
    """What a change comes to a week, and of what."""
    money = _money_words(worth, currency)
    return f"Better by {money} a week: {parts}." if worth > 0 else f"Worse by {money} a week: {parts}."


def _on_average_words(worth: float, span: str, parts: str, currency: str) -> str:
    """The same where the weeks may go in more than one way."""
    money = _money_words(worth, currency)
    if worth > 0:
        return f"Better by {money} a week on average ({span}): {parts}."
    return f"Worse by {money} a week on average ({span}): {parts}."


def _futures_words(between: Between, weeks: float, currency: str) -> str:
    """In how many futures it is better or worse, and by how much mostly."""
    down = between.mean < 0
    share = between.worse if down else between.better
    near, far = between.tenth / weeks, between.ninetieth / weeks
    if down:
        near, far = far, near
    alike = near * far > 0 and abs(near) >= CENT
    least, most = _plain_money(near) if alike else _way_words(near, currency), _way_words(far, currency)
    of_ten = _of_ten(share)
    if down:
        return f"It is worse in {of_ten} futures; 8 of 10 lie between {least} and {most}."
    return f"It is better in {of_ten} futures; 8 of 10 lie between {least} and {most}."


def _way_words(amount: float, currency: str) -> str:
    """So much better or worse, or the same."""
    money = _money_words(amount, currency)
    if abs(amount) < CENT:
        return "the same"
    return f"{money} better" if amount > 0 else f"{money} worse"


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
        return _by_words(worth, _parts_words(worth, margin, currency), currency)
    if abs(worth) < CENT:
        return "No difference in money."
    if abs(worth) >= doubt:
        return f"No difference in money worth the name: {_money_words(worth, currency)} a week."
    if doubt == inf:
        return f"By these two plans {_more_words(worth, currency)} a week; how good either is was not looked into."
    more, from_best = _more_words(worth, currency), _money_words(doubt, currency)
    return (
        f"No difference in money that can be told for sure: {more} a week by these two plans, which together may lie "
        f"{from_best} a week from their best."
    )


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
        return f"{now[0]} of {counted(now[1], 'order line')} met in full either way."
    as_it_is = f"{was[0]}" if now[1] == was[1] else f"{was[0]} of {was[1]}"
    return f"{now[0]} of {counted(now[1], 'order line')} met in full instead of {as_it_is}."


def _likely_words(now: tuple[int, int], was: tuple[int, int]) -> str:
    """How many lines are likely met in full, of how many."""
    if now == was:
        return f"About {now[0]} of {counted(now[1], 'order line')} likely met in full either way."
    as_it_is = f"{was[0]}" if now[1] == was[1] else f"{was[0]} of {was[1]}"
    return f"About {now[0]} of {counted(now[1], 'order line')} likely met in full instead of {as_it_is}."
