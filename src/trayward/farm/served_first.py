"""Who is served first of what is cut, when there is too little for all: the one rule of round, plan and season study.

Whoever brings and spares most by the gram comes first: what is paid for it, and what letting the customer down costs.
Among equals it is who must not be let down, then small lines, so that most are met in full. What the grower eats at
home comes last.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from trayward.farm.orders import LineDue
from trayward.farm.settings import Money
from trayward.farm.state import FarmState


def money_for_one(line: LineDue, money: Money) -> tuple[float, float]:
    """What a gram, or a live tray, of a line brings, and what letting it down costs beyond that. [farm's currency]"""
    whole = _whole(line)
    if whole <= 0:
        return 0.0, 0.0
    packaging = money.packaging * line.packs / whole
    return line.value / whole - packaging, money.shortfall * line.value / whole * line.weight


def gains(lines: Sequence[LineDue], state: FarmState) -> list[float]:
    """
    What a gram, or a live tray, of each line brings and spares. [farm's currency]

    A line nobody has put a price on counts as what the others bring in the mean: no price is no reason to let anybody
    down. What is eaten at home counts nothing.
    """
    money = _money(state)
    priced = [line for line in lines if line.value > 0 and _whole(line) > 0]
    usual = {live: _usual([line for line in priced if line.live == live]) for live in (False, True)}
    found = []
    for line in lines:
        gain = sum(money_for_one(line, money))
        if line.value <= 0:
            gain = usual[line.live] * (1 + money.shortfall * line.weight)
        found.append(0.0 if eaten_at_home(state, line) else gain)
    return found


class Turns:
    """
    Who is served before whom, and why.

    Parameters
    ----------
    lines : iterable of LineDue
        Of one day or of several.
    state : FarmState
        For prices of letting down, and who eats at home.
    """

    def __init__(self, lines: Iterable[LineDue], state: FarmState) -> None:
        self.lines, self.state = list(lines), state
        self.money = _money(state)
        found = zip(self.lines, gains(self.lines, state), strict=True)
        self.gain = {line.line: round(gain, 6) for line, gain in found}
        """What a gram, or a live tray, of each brings and spares, by its name. [farm's currency]"""

    def in_order(self) -> list[LineDue]:
        """Lines by their day, and on each day in the order they are served."""
        return sorted(
            self.lines, key=lambda line: (line.due, -self.gain[line.line], -line.weight, _whole(line), line.line)
        )

    def why_before(self, first: LineDue, second: LineDue) -> str:
        """Why one line of a day is served before another, in a few words."""
        if self.gain[first.line] <= self.gain[second.line]:
            return _why_among_equals(first, second)
        if eaten_at_home(self.state, second):
            return "sold, not eaten at home"
        if round(self._brings(first) - self._brings(second), 6) <= 0:
            return "costs more to let down"
        return "brings more by the tray" if first.live else "brings more by the gram"

    def _brings(self, line: LineDue) -> float:
        """What a gram, or a live tray, brings alone; without a price, what it is reckoned to. [farm's currency]"""
        if line.value > 0:
            return money_for_one(line, self.money)[0]
        return self.gain[line.line] / (1 + self.money.shortfall * line.weight)


def served_first(lines: Iterable[LineDue], state: FarmState) -> list[LineDue]:
    """Lines by their day, and on each day in the order they are served."""
    return Turns(lines, state).in_order()


def _why_among_equals(first: LineDue, second: LineDue) -> str:
    if first.weight != second.weight:
        return "matters more"
    return "smaller line" if _whole(first) != _whole(second) else "alike, by the order's name"


def _money(state: FarmState) -> Money:
    return state.settings.money if state.settings is not None else Money()


def _whole(line: LineDue) -> float:
    return float(line.trays) if line.live else line.grams


def _usual(lines: Sequence[LineDue]) -> float:
    """What a gram, or a live tray, brings in the mean over some lines. [farm's currency]"""
    total = sum(_whole(line) for line in lines)
    return sum(line.value for line in lines) / total if total > 0 else 0.0


def eaten_at_home(state: FarmState, line: LineDue) -> bool:
    """Whether a line is for the grower's own table."""
    customer = state.customers.get(line.customer)
    return customer is not None and customer.home
