"""Two plans side by side: of the farm as it is, and of the farm as it might be; in money and in service."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date
from math import inf

import msgspec

from trayward.farm.due import lines_due
from trayward.farm.state import FarmState
from trayward.plan.supposed import Supposition
from trayward.plan.types import LineOutlook, Plan
from trayward.plan.words import count_words

MONEY = ("sales", "seed", "medium", "hands", "energy", "packaging", "disposal")
LET_DOWN = "letting down"
TRIFLE = 1e-4
"""A difference of less than this share of all that is asked for is none to a grower. [-]"""
SEARCHED = 2e-3
"""Searches of the same farm end so far apart where each began from the other's trays: nothing to 0.2 % of all that is
asked for at the Loft, over nine changes. Of plans held against each other, less than this is no difference. [-]"""
CENT = 0.005
"""What is less than this is nothing. [currency]"""


class Side(msgspec.Struct, frozen=True):
    """A farm and the plan made for it."""

    state: FarmState
    plan: Plan


class Between(msgspec.Struct, frozen=True, kw_only=True):
    """What a change is worth in the futures both plans were checked by, over the plan's days. [currency]"""

    count: int
    """How many futures."""
    mean: float
    """Worth (margin less the price of letting down), with the change less without it."""
    low: float
    high: float
    """Between these the mean lies, as surely as so many futures can tell: 95 in 100."""
    tenth: float
    ninetieth: float
    """Of ten futures eight lie between these."""
    better: float
    worse: float
    """Share of futures in which it is worth more, and less, with the change. [-]"""
    margin: float
    """The mean difference of the margin alone."""
    own: float
    own_low: float
    own_high: float
    """The same as worth, by what the plans are chosen by: being as sure as the farm wants is paid for, too."""

    @property
    def agrees(self) -> bool:
        """Whether what the plans are chosen by says the same as the money, or surely the contrary."""
        return self.own * self.mean >= 0 or self.unlike

    @property
    def unlike(self) -> bool:
        """Whether there is more money at the cost of being sure, or less for being surer; and that for sure."""
        return self.mean * self.own < 0 and self.own_low * self.own_high > 0


class Beside(msgspec.Struct, frozen=True, kw_only=True):
    """One figure of both plans; `difference` is with it less as it is."""

    what: str
    with_it: float
    as_it_is: float
    difference: float
    unit: str = ""


class CustomerBeside(msgspec.Struct, frozen=True, kw_only=True):
    """How many lines of a customer are due, and how many of them are met in full."""

    customer: str
    lines_with_it: int
    met_with_it: int
    lines_as_it_is: int
    met_as_it_is: int


class LimitBeside(msgspec.Struct, frozen=True, kw_only=True):
    """What a limit lacks at most on one day, and in how many weeks it is in the way; 0: not in the way."""

    limit: str
    unit: str
    short_with_it: float
    weeks_with_it: int
    short_as_it_is: float
    weeks_as_it_is: int


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """What a change would be worth, by two plans of the same days. Money in the farm's currency, weights in g."""

    what_if: tuple[str, ...]
    """What is supposed, as it was understood."""
    verdict: str
    told_apart: bool
    """Whether the plans differ in worth by more than chance and the search can make."""
    worth_a_week: float
    """Margin less what letting down costs, with it less as it is. [currency/week]"""
    margin_a_week: float
    """The margin alone. [currency/week]"""
    doubt_a_week: float
    """How far the worth may lie from what is said; where both plans were not made for the same futures, how far they
    together may lie from their best. [currency/week]"""
    currency: str
    first: date
    last: date
    money: tuple[Beside, ...]
    """Over all the plan's days. [currency]"""
    service: tuple[Beside, ...]
    customers: tuple[CustomerBeside, ...]
    crops: tuple[Beside, ...]
    """Trays sown."""
    limits: tuple[LimitBeside, ...]
    newly_met: tuple[str, ...]
    """Order lines in both plans, short as it is and met in full with it."""
    no_longer_met: tuple[str, ...]
    notes: tuple[str, ...]
    as_it_is: Plan
    with_it: Plan
    between: Between | None = None
    """Future by future, over all the plan's days; None where the plans were not made for the same futures."""


def compare(as_it_is: Side, with_it: Side, what: Sequence[Supposition], between: Between | None = None) -> Comparison:
    """
    Hold the plan of a farm as it might be against the plan of the farm as it is.

    Parameters
    ----------
    as_it_is, with_it : Side
        Each farm with its plan, both made at the same moment for the same days.
    what : sequence of Supposition
        What is different between them.
    between : Between, optional
        What lies between them future by future, where they were planned beside each other.

    Returns
    -------
    Comparison
        Planned beside each other, the plans are told apart where the range of their mean difference in worth (margin
        less the price of letting down) does not hold zero. Else only where it is larger than what both searches left
        open, in the plans' own objective and in money alike.
    """
    before, after = as_it_is.plan, with_it.plan
    weeks = ((before.last - before.first).days + 1) / 7
    money, service = _money(before, after), _service(before, after)
    worth, margin = _worth(after) - _worth(before), _margin(after) - _margin(before)
    settings = as_it_is.state.settings
    currency = settings.money.currency if settings else ""
    if between is None:
        doubt = _left_open(as_it_is) + _left_open(with_it)
        told = abs(worth) > max(doubt, TRIFLE * _asked(as_it_is)) and abs(after.objective - before.objective) > doubt
        told = told and (worth > 0) == (after.objective > before.objective)
        first = _first_words(told, (worth / weeks, margin / weeks, doubt / weeks), currency)
    else:
        worth, margin, doubt = between.mean, between.margin, (between.high - between.low) / 2
        told = between.low * between.high > 0 and abs(worth) > SEARCHED * _asked(as_it_is) and between.agrees
        first = between_words(between, weeks, currency, told=told)
    met, unmet = _turned(before, after)
    return Comparison(
        what_if=tuple(one.words() for one in what),
        verdict=f"{first} {_lines_words(before, after)}",
        told_apart=told,
        worth_a_week=round(worth / weeks, 2),
        margin_a_week=round(margin / weeks, 2),
        doubt_a_week=round(doubt / weeks, 2),
        currency=currency,
        first=before.first,
        last=before.last,
        money=money,
        service=service,
        customers=_customers(before, after),
        crops=_crops(before, after),
        limits=_limits(before, after),
        newly_met=met,
        no_longer_met=unmet,
        notes=tuple(dict.fromkeys(note for note in (one.note() for one in what) if note)),
        as_it_is=before,
        with_it=after,
        between=between,
    )


# Money ----------------------------------------------------------------------------------------------------------------


def _money(before: Plan, after: Plan) -> tuple[Beside, ...]:
    """Sales, each cost, the margin, the price of letting down, and what is left."""
    rows = [_beside(name, getattr(after.money, name), getattr(before.money, name)) for name in MONEY]
    rows.append(_beside("margin", _margin(after), _margin(before)))
    rows.append(_beside(LET_DOWN, after.money.shortfall, before.money.shortfall))
    rows.append(_beside("worth", _worth(after), _worth(before)))
    return tuple(rows)


def _margin(plan: Plan) -> float:
    """The margin expected over all that may happen, where the plan says it; else that of the plan as it stands."""
    expected = getattr(plan, "expected_margin", None)
    return plan.money.margin if expected is None else float(expected)


def _worth(plan: Plan) -> float:
    return _margin(plan) - plan.money.shortfall


def _left_open(side: Side) -> float:
    """How much better than its plan the best plan of a farm may be. [currency]

    The plan states it as a share of its objective, or of all that is asked for where that is more; where it was not
    looked into, nobody knows.
    """
    return inf if side.plan.gap is None else side.plan.gap * max(abs(side.plan.objective), _asked(side))


def _asked(side: Side) -> float:
    """What all lines due would bring. [currency]"""
    return sum(line.value for line in lines_due(side.state, side.plan.first, side.plan.last))


def _beside(what: str, with_it: float, as_it_is: float, unit: str = "") -> Beside:
    with_it, as_it_is = round(with_it, 2), round(as_it_is, 2)
    return Beside(
        what=what, with_it=with_it, as_it_is=as_it_is, difference=round(with_it - as_it_is, 2) + 0.0, unit=unit
    )


# Service --------------------------------------------------------------------------------------------------------------


def _service(before: Plan, after: Plan) -> tuple[Beside, ...]:
    rows = [
        _beside("lines due", len(after.lines), len(before.lines)),
        _beside("lines met in full", _met(after), _met(before)),
    ]
    expected = _expected_met(after), _expected_met(before)
    if expected[0] is not None and expected[1] is not None:
        rows.append(_beside("lines likely to be met in full", expected[0], expected[1]))
    rows.append(_beside("cut short", _short_grams(after), _short_grams(before), "g"))
    rows.append(_beside("live trays short", _short_trays(after), _short_trays(before)))
    return tuple(rows)


def _met(plan: Plan) -> int:
    return sum(line.met for line in plan.lines)


def _expected_met(plan: Plan) -> float | None:
    """How many lines come out full on average, by each line's chance; None where the plan does not say chances."""
    chances = [getattr(line, "chance", None) for line in plan.lines]
    known = [float(chance) for chance in chances if chance is not None]
    return sum(known) if known and len(known) == len(chances) else None


def _short_grams(plan: Plan) -> float:
    return sum(max(0.0, line.grams - line.met_grams) for line in plan.lines if not line.met)


def _short_trays(plan: Plan) -> int:
    return sum(max(0, line.trays - line.met_trays) for line in plan.lines)


def _customers(before: Plan, after: Plan) -> tuple[CustomerBeside, ...]:
    """By customer, in the order of their first line."""
    with_it, as_it_is = _by_customer(after.lines), _by_customer(before.lines)
    return tuple(
        CustomerBeside(
            customer=customer,
            lines_with_it=with_it.get(customer, (0, 0))[0],
            met_with_it=with_it.get(customer, (0, 0))[1],
            lines_as_it_is=as_it_is.get(customer, (0, 0))[0],
            met_as_it_is=as_it_is.get(customer, (0, 0))[1],
        )
        for customer in dict.fromkeys((*as_it_is, *with_it))
    )


def _by_customer(lines: Sequence[LineOutlook]) -> dict[str, tuple[int, int]]:
    """Customer -> lines due, and those met in full."""
    due = Counter(line.customer for line in lines)
    met = Counter(line.customer for line in lines if line.met)
    return {customer: (count, met[customer]) for customer, count in due.items()}


def _turned(before: Plan, after: Plan) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Lines of both plans that are met only with it, and those met only as it is."""
    was = {line.line: line.met for line in before.lines}
    both = [line for line in after.lines if line.line in was]
    met = tuple(line.line for line in both if line.met and not was[line.line])
    return met, tuple(line.line for line in both if not line.met and was[line.line])


# What is sown, and what is in the way ---------------------------------------------------------------------------------


def _crops(before: Plan, after: Plan) -> tuple[Beside, ...]:
    with_it, as_it_is = _trays(after), _trays(before)
    rows = [_beside(crop, with_it[crop], as_it_is[crop], "trays") for crop in sorted(with_it.keys() | as_it_is.keys())]
    return (*rows, _beside("all crops", with_it.total(), as_it_is.total(), "trays"))


def _trays(plan: Plan) -> Counter[str]:
    found: Counter[str] = Counter()
    for sowing in plan.sowings:
        found[sowing.crop] += sowing.trays
    return found


def _limits(before: Plan, after: Plan) -> tuple[LimitBeside, ...]:
    with_it, as_it_is = _in_the_way(after), _in_the_way(before)
    none = ("", 0.0, 0)
    return tuple(
        LimitBeside(
            limit=name,
            unit=with_it.get(name, as_it_is.get(name, none))[0],
            short_with_it=with_it.get(name, none)[1],
            weeks_with_it=with_it.get(name, none)[2],
            short_as_it_is=as_it_is.get(name, none)[1],
            weeks_as_it_is=as_it_is.get(name, none)[2],
        )
        for name in sorted(with_it.keys() | as_it_is.keys())
    )


def _in_the_way(plan: Plan) -> Mapping[str, tuple[str, float, int]]:
    """Limit -> unit, the most it is short of, and how many of the plan's weeks it touches."""
    found: dict[str, tuple[str, float, set[int]]] = {}
    for limit in plan.limits:
        unit, short, weeks = found.get(limit.limit, (limit.unit, 0.0, set()))
        touched = range((limit.first - plan.first).days // 7, (limit.last - plan.first).days // 7 + 1)
        found[limit.limit] = (unit, max(short, limit.short), weeks | set(touched))
    return {name: (unit, round(short, 2), len(weeks)) for name, (unit, short, weeks) in found.items()}


# The verdict ----------------------------------------------------------------------------------------------------------


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


def _first_words(told: bool, a_week: tuple[float, float, float], currency: str) -> str:
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


def _lines_words(before: Plan, after: Plan) -> str:
    expected = _expected_met(after), _expected_met(before)
    if expected[0] is not None and expected[1] is not None:
        return _likely_words((round(expected[0]), len(after.lines)), (round(expected[1]), len(before.lines)))
    now, was = (_met(after), len(after.lines)), (_met(before), len(before.lines))
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
