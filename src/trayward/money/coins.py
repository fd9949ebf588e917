"""Decimal money: coins, where half of one goes, and sharing an amount out so that nothing is lost.

Inside, amounts are whole millionths of the currency, so that sums are exact whatever they are summed by. What is shown
or asked for is in coins: the smallest amount a currency has (ISO 4217 calls its digits the minor unit).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal, InvalidOperation

from trayward.errors import InputError
from trayward.farm.bills import Rounding
from trayward.units import money_places, require_one_meaning

MICRO = 1_000_000
"""Millionths in one of the currency."""
_RULES = {"half up": ROUND_HALF_UP, "half even": ROUND_HALF_EVEN}


def coin(currency: str) -> Decimal:
    """
    The smallest amount of a currency.

    Examples
    --------
    >>> coin("EUR"), coin("JPY"), coin("KWD")
    (Decimal('0.01'), Decimal('1'), Decimal('0.001'))
    """
    return Decimal(1).scaleb(-money_places(currency))


def exact(value: float | Decimal) -> Decimal:
    """
    A price as it was typed, without what binary fractions add.

    Examples
    --------
    >>> exact(0.1) + exact(0.2)
    Decimal('0.3')
    """
    return value if isinstance(value, Decimal) else Decimal(repr(value))


def parsed(text: str) -> Decimal | None:
    """
    An amount as it was typed, to the last digit; a comma may mark its decimals. None where it is no number.

    Examples
    --------
    >>> parsed("16,05"), parsed("3.20"), parsed("1,234.5"), parsed("inf")
    (Decimal('16.05'), Decimal('3.20'), None, None)
    """
    try:
        found = Decimal(text.replace(",", ".") if "." not in text else text)
    except InvalidOperation:
        return None
    return found if found.is_finite() else None


def money_of(text: str, name: str, low: Decimal = Decimal(0)) -> Decimal:
    """
    An amount as it was typed, not below `low`.

    Raises
    ------
    InputError
        If it is no number, can be read two ways (`1,500`), or is too low.

    Examples
    --------
    >>> money_of(" 3,20 ", "price"), money_of("1500", "price")
    (Decimal('3.20'), Decimal('1500'))
    """
    plain = text.strip().replace(" ", "")
    require_one_meaning(plain, name=name)
    found = parsed(plain)
    if found is None:
        raise InputError(name, text.strip() or "nothing", "must be a number", "For instance 3.20.")
    if found < low:
        raise InputError(name, plain, f"must be {low} or more", "Check what was typed.")
    return found


def price_words(price: Decimal, currency: str) -> str:
    """
    A price with all its digits, at least as many as a coin has.

    Examples
    --------
    >>> price_words(Decimal("3"), "EUR"), price_words(Decimal("0.0125"), "EUR")
    ('3.00', '0.0125')
    """
    least = coin(currency)
    return str(price.quantize(least) if price == price.quantize(least) else price)


def rounded(amount: Decimal, currency: str, rule: Rounding = "half up") -> Decimal:
    """
    An amount in whole coins; half a coin goes away from zero, or to the even neighbour.

    Examples
    --------
    >>> rounded(Decimal("2.675"), "EUR"), rounded(Decimal("2.665"), "EUR", "half even"), rounded(Decimal("-0.5"), "JPY")
    (Decimal('2.68'), Decimal('2.66'), Decimal('-1'))
    """
    return amount.quantize(coin(currency), _RULES[rule])


def to_micro(amount: Decimal | float) -> int:
    """An amount in millionths of the currency, half to even."""
    if isinstance(amount, Decimal):
        return int((amount * MICRO).to_integral_value(ROUND_HALF_EVEN))
    return round(amount * MICRO)


def from_micro(micro: int) -> Decimal:
    """Millionths as an amount. [currency]"""
    return Decimal(micro) / MICRO


def share_out(total: int, weights: Sequence[float]) -> list[int]:
    """
    A whole number shared out by weights so that the parts add up to it: the largest remainders get what is left over.

    Parameters
    ----------
    total : int
        What is shared out; below zero where it is taken back.
    weights : sequence of float
        Not below zero, one above it.

    Returns
    -------
    list of int
        As many as there are weights.

    References
    ----------
    The method of largest remainders, as seats are shared out by votes. Balinski, M. L. and Young, H. P. (1982). Fair
    Representation: Meeting the Ideal of One Man, One Vote. Yale University Press. (From memory.)

    Examples
    --------
    >>> share_out(100, [1, 1, 1]), share_out(-5, [3, 1]), share_out(10, [0, 2])
    ([34, 33, 33], [-4, -1], [0, 10])
    """
    if total < 0:
        return [-part for part in share_out(-total, weights)]
    whole = sum(weights)
    if len(weights) == 1:
        return [total]
    quotas = [total * weight / whole for weight in weights]
    parts = [int(quota) for quota in quotas]
    # Quotas of large totals carry rounding: a part too many is taken back where one too few is given.
    short = total - sum(parts)
    if short:
        order = sorted(range(len(parts)), key=lambda place: (parts[place] - quotas[place], place))
        step = 1 if short > 0 else -1
        order = order if short > 0 else [place for place in reversed(order) if parts[place] > 0]
        for number in range(abs(short)):
            parts[order[number % len(order)]] += step
    return parts


def in_coins(parts: Sequence[int], currency: str) -> list[Decimal]:
    """Millionths shown in coins, so that they add up to their sum in coins."""
    unit = to_micro(coin(currency))
    total = sum(parts)
    whole = int(rounded(from_micro(total), currency) / coin(currency))
    floors = [part // unit for part in parts]
    short = whole - sum(floors)
    order = sorted(range(len(parts)), key=lambda place: (floors[place] * unit - parts[place], place))
    for place in order[:short]:
        floors[place] += 1
    return [coin(currency) * floor for floor in floors]


def summed(amounts: Iterable[Decimal]) -> Decimal:
    """The sum of amounts; of none, 0."""
    return sum(amounts, Decimal(0))
