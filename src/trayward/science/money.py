"""Prices and worth: the price that leaves a margin, break-even, wear, worth over years, the density that pays."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from trayward.errors import InputError, require_between
from trayward.science.costs import MOST

NEARLY_WHOLE = 1e-9
"""A count this little above a whole number is that number. [-]"""


# Prices ---------------------------------------------------------------------------------------------------------------


def price_for_margin(cost: float, margin: float, fee: float = 0.0) -> float:
    """
    The price that leaves a share of itself once all is paid.

    Parameters
    ----------
    cost : float
        What a thing costs. [currency] Valid from 0.
    margin : float
        Share of the price that is to be left. [-] Valid from 0 to below 1, with the fee.
    fee : float
        Share of the price that goes to a market, a shop or a card. [-]

    Returns
    -------
    float
        cost / (1 - margin - fee). [currency]

    Raises
    ------
    InputError
        If a figure is below 0, or margin and fee leave nothing for the cost.

    Notes
    -----
    A margin is a share of the price, a markup one of the cost: 50 % margin is 100 % markup.

    Examples
    --------
    >>> price_for_margin(2.0, 0.5), round(price_for_margin(2.0, 0.4, 0.1), 2)
    (4.0, 4.0)
    """
    require_between("cost", cost, 0, MOST, "")
    for name, share in (("margin", margin), ("fee", fee)):
        if not 0 <= share < 1:
            raise InputError(name, f"{100 * share:g}", "must lie in [0, 100) % of the price", "", "%")
    if margin + fee >= 1:
        remedy = "A margin is a share of the price; for a share on top of the cost, say the price itself."
        raise InputError(
            "margin and fee", f"{100 * (margin + fee):g}", "must leave something for the cost", remedy, "%"
        )
    return cost / (1 - margin - fee)


def margin_of_price(price: float, cost: float, fee: float = 0.0) -> float:
    """
    The share of a price that is left once cost and fee are paid; below 0 where it loses. [-]

    Examples
    --------
    >>> margin_of_price(4.0, 2.0)
    0.5
    """
    require_between("cost", cost, 0, MOST, "")
    if not 0 < price <= MOST:
        raise InputError("price", f"{price:g}", "must be above 0", "Give what it sells for.")
    return 1 - fee - cost / price


# Break-even -----------------------------------------------------------------------------------------------------------


class BreakEven(msgspec.Struct, frozen=True, kw_only=True):
    """How many must be sold before fixed costs are paid. [-], [currency]"""

    units: float
    whole: int
    """The same in whole ones, rounded up."""
    sales: float
    """What those units bring, before rounding up."""
    contribution: float
    """What one leaves towards fixed costs."""
    ratio: float
    """The same as a share of its price."""


def break_even(fixed: float, price: float, variable: float) -> BreakEven:
    """
    How many must be sold for what they leave to pay the fixed costs.

    Parameters
    ----------
    fixed : float
        Costs that come whether one sells or not, over some time. [currency]
    price, variable : float
        What one brings and what one costs. [currency]

    Returns
    -------
    BreakEven
        fixed / (price - variable) units over the same time.

    Raises
    ------
    InputError
        If one costs as much as it brings or more: no number of them then pays anything.

    References
    ----------
    .. [1] OpenStax, Principles of Accounting, volume 2: Managerial Accounting, section 3.2. (Section seen by those who
       gathered our checks, figures from memory.)

    Examples
    --------
    >>> found = break_even(18_000, 100, 20)
    >>> found.whole, found.sales, found.ratio
    (225, 22500.0, 0.8)
    """
    require_between("fixed costs", fixed, 0, MOST, "")
    require_between("variable cost", variable, 0, MOST, "")
    if not variable < price <= MOST:
        rule = f"must be above what one costs, {variable:.2f}, or no number of them pays the fixed costs"
        raise InputError("price", f"{price:.2f}", rule, "Ask more, or make it cheaper.")
    left = price - variable
    units = fixed / left
    return BreakEven(
        units=units, whole=math.ceil(units - NEARLY_WHOLE * max(1.0, units)), sales=units * price, contribution=left,
        ratio=left / price,
    )  # fmt: skip


def margin_of_safety(planned: float, least: float) -> float:
    """
    By which share what is planned may fall before it no longer pays; below 0 where it does not. [-]

    References
    ----------
    .. [1] OpenStax, Principles of Accounting, volume 2: Managerial Accounting. (As for `break_even`.)

    Examples
    --------
    >>> margin_of_safety(300, 225)
    0.25
    """
    if not 0 < planned <= MOST:
        raise InputError("planned", f"{planned:g}", "must be above 0", "Say how many you mean to sell.")
    require_between("break-even", least, 0, MOST, "")
    return (planned - least) / planned


# Over time ------------------------------------------------------------------------------------------------------------


def depreciation(price: float, left_over: float, years: float) -> float:
    """
    What a thing loses a year, in equal parts. [currency/yr]

    Parameters
    ----------
    price, left_over : float
        What it cost and what it still brings at the end. [currency]
    years : float
        How long it serves. [yr] Valid above 0.

    Raises
    ------
    InputError
        If it is worth more at the end than at the start, or serves no time.

    Examples
    --------
    >>> depreciation(480, 30, 5)
    90.0
    """
    require_between("price", price, 0, MOST, "")
    if not 0 <= left_over <= price:
        raise InputError("left over", f"{left_over:g}", f"must lie in [0, {price:g}]", "What is it worth in the end?")
    if not 0 < years <= MOST:
        raise InputError("years", f"{years:g}", "must be above 0", "How long does it serve?", "yr")
    return (price - left_over) / years


def book_value(price: float, left_over: float, years: float, after: float) -> float:
    """
    What a thing is still worth after some years, losing equal parts. [currency]

    Examples
    --------
    >>> book_value(480, 30, 5, 2)
    300.0
    """
    require_between("after", after, 0, years, "yr", "After that it is worth what is left over.")
    return price - depreciation(price, left_over, years) * after


def net_present_value(rate: float, flows: Sequence[float]) -> float:
    """
    What payments over years are worth today. [currency]

    Parameters
    ----------
    rate : float
        What money earns a year elsewhere, as a share. [1/yr] Valid above -1.
    flows : sequence of float
        Paid now, after one year, after two, ...; what is spent is below 0. [currency]

    Raises
    ------
    InputError
        If the rate is -100 % or less, or a payment is no number.

    Notes
    -----
    sum of flow_t / (1 + rate)^t, by definition.

    Examples
    --------
    >>> round(net_present_value(0.08, [-1000, 400, 400, 400]), 2)
    30.84
    """
    if not -1 < rate <= MOST:
        raise InputError("rate", f"{100 * rate:g}", "must be above -100 %", "For instance 5 %.", "%")
    for flow in flows:
        require_between("payment", flow, -MOST, MOST, "")
    return sum(flow / (1 + rate) ** year for year, flow in enumerate(flows))


# Density --------------------------------------------------------------------------------------------------------------


def paying_density(a: float, b: float, gram: float, unit: float) -> float | None:
    """
    The density beyond which more seed costs more than its crop brings, where weight follows the reciprocal law.

    Parameters
    ----------
    a, b : float
        Of `science.response.ReciprocalLaw`: a tray weighs x / (a + b x) at density x. [1/g], [cm2/g]
    gram : float
        What a gram of the crop brings. [currency/g] Valid above 0.
    unit : float
        What the seed for one live seed a cm2 costs a tray. [currency cm2] Valid from 0.

    Returns
    -------
    float or None
        Density [1/cm2]; 0 where not even the first seed pays; None where more always pays, because seed is free or
        weight rises in step with it.

    Raises
    ------
    InputError
        If a price is no number or the law is none.

    Notes
    -----
    gram a / (a + b x)^2 = unit, what the last seed brings and costs. Whether so thick a stand stays healthy the law
    does not say.

    Examples
    --------
    >>> round(paying_density(0.02, 0.004, 0.05, 0.05), 2)
    30.36
    """
    for name, value in (("a", a), ("gram", gram)):
        if not 0 < value <= MOST:
            raise InputError(name, f"{value:g}", "must be above 0")
    require_between("b", b, 0, MOST, "")
    require_between("unit", unit, 0, MOST, "")
    if unit == 0 or (b == 0 and gram / a > unit):
        return None
    if gram / a <= unit:
        return 0.0
    return (math.sqrt(gram * a / unit) - a) / b


# Shown ----------------------------------------------------------------------------------------------------------------


def adding_up(amounts: Sequence[float], places: int = 2) -> list[float]:
    """
    Amounts rounded so that they add up to their rounded sum, as on a bill.

    Each is rounded down to so many places; what is then missing goes, a smallest coin each, to those cut off most.

    Examples
    --------
    >>> adding_up([0.333, 0.333, 0.334]), adding_up([1.005, 2.005])
    ([0.33, 0.33, 0.34], [1.01, 2.0])
    """
    from decimal import ROUND_FLOOR, ROUND_HALF_UP, Decimal

    coin = Decimal(1).scaleb(-places)
    exact = [Decimal(repr(round(amount, 9))) for amount in amounts]
    floors = [amount.quantize(coin, ROUND_FLOOR) for amount in exact]
    short = int((sum(exact, Decimal(0)).quantize(coin, ROUND_HALF_UP) - sum(floors, Decimal(0))) / coin)
    most = sorted(range(len(exact)), key=lambda number: (floors[number] - exact[number], number))[:short]
    return [float(floor + coin * (number in most)) for number, floor in enumerate(floors)]
