"""The figures of two plans side by side: money, service, what is sown and what is in the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from trayward.plan.compare_types import Beside, CustomerBeside, LimitBeside
from trayward.plan.types import LineOutlook, Plan

MONEY = ("sales", "seed", "medium", "supplies", "hands", "energy", "packaging", "disposal")
LET_DOWN = "letting down"


# Money ----------------------------------------------------------------------------------------------------------------


def money_beside(before: Plan, after: Plan) -> tuple[Beside, ...]:
    """Sales, each cost, the margin, the price of letting down, and what is left."""
    rows = [_beside(name, getattr(after.money, name), getattr(before.money, name)) for name in MONEY]
    rows.append(_beside("margin", margin_of(after), margin_of(before)))
    rows.append(_beside(LET_DOWN, after.money.shortfall, before.money.shortfall))
    rows.append(_beside("worth", worth_of(after), worth_of(before)))
    return tuple(rows)


def margin_of(plan: Plan) -> float:
    """The margin expected over all that may happen, where the plan says it; else that of the plan as it stands."""
    expected = getattr(plan, "expected_margin", None)
    return plan.money.margin if expected is None else float(expected)


def worth_of(plan: Plan) -> float:
    """The margin less what letting down costs. [currency]"""
    return margin_of(plan) - plan.money.shortfall


def _beside(what: str, with_it: float, as_it_is: float, unit: str = "") -> Beside:
    with_it, as_it_is = round(with_it, 2), round(as_it_is, 2)
    return Beside(
        what=what, with_it=with_it, as_it_is=as_it_is, difference=round(with_it - as_it_is, 2) + 0.0, unit=unit
    )


# Service --------------------------------------------------------------------------------------------------------------


def service_beside(before: Plan, after: Plan) -> tuple[Beside, ...]:
    """Lines due and met, what is cut short, and live trays short."""
    rows = [
        _beside("lines due", len(after.lines), len(before.lines)),
        _beside("lines met in full", lines_met(after), lines_met(before)),
    ]
    expected = lines_likely_met(after), lines_likely_met(before)
    if expected[0] is not None and expected[1] is not None:
        rows.append(_beside("lines likely to be met in full", expected[0], expected[1]))
    rows.append(_beside("cut short", _short_grams(after), _short_grams(before), "g"))
    rows.append(_beside("live trays short", _short_trays(after), _short_trays(before)))
    return tuple(rows)


def lines_met(plan: Plan) -> int:
    """How many lines are met in full."""
    return sum(line.met for line in plan.lines)


def lines_likely_met(plan: Plan) -> float | None:
    """How many lines come out full on average, by each line's chance; None where the plan does not say chances."""
    chances = [getattr(line, "chance", None) for line in plan.lines]
    known = [float(chance) for chance in chances if chance is not None]
    return sum(known) if known and len(known) == len(chances) else None


def _short_grams(plan: Plan) -> float:
    return sum(max(0.0, line.grams - line.met_grams) for line in plan.lines if not line.met)


def _short_trays(plan: Plan) -> int:
    return sum(max(0, line.trays - line.met_trays) for line in plan.lines)


def customers_beside(before: Plan, after: Plan) -> tuple[CustomerBeside, ...]:
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


def lines_turned(before: Plan, after: Plan) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Lines of both plans that are met only with it, and those met only as it is."""
    was = {line.line: line.met for line in before.lines}
    both = [line for line in after.lines if line.line in was]
    met = tuple(line.line for line in both if line.met and not was[line.line])
    return met, tuple(line.line for line in both if not line.met and was[line.line])


# What is sown, and what is in the way ---------------------------------------------------------------------------------


def crops_beside(before: Plan, after: Plan) -> tuple[Beside, ...]:
    """Trays sown, by crop and in all."""
    with_it, as_it_is = _trays(after), _trays(before)
    rows = [_beside(crop, with_it[crop], as_it_is[crop], "trays") for crop in sorted(with_it.keys() | as_it_is.keys())]
    return (*rows, _beside("all crops", with_it.total(), as_it_is.total(), "trays"))


def _trays(plan: Plan) -> Counter[str]:
    found: Counter[str] = Counter()
    for sowing in plan.sowings:
        found[sowing.crop] += sowing.trays
    return found


def limits_beside(before: Plan, after: Plan) -> tuple[LimitBeside, ...]:
    """Each limit in the way of either plan, by name."""
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
