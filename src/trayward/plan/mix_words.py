"""What the earnings of a plan say: what to grow more of, less of, and whose orders to look for."""

from __future__ import annotations

from collections.abc import Sequence

from trayward.plan.types import Earning, Plan
from trayward.plan.words import FEW
from trayward.units import show_money
from trayward.words import listed

MOST = 3
"""So many crops are named at either end. [-]"""
MOST_NAMED = 5
"""So many crops are named of those to grow more or less of. [-]"""
LITTLE = 1.0
"""A tray is hardly missed if the plan loses less than this without it. [farm's currency]"""
CENT = 0.01


def mix_words(plan: Plan, currency: str = "") -> tuple[str, ...]:
    """What to grow more of, less of, what does not earn its costs, and whose orders to take first."""
    if not plan.earnings:
        return ()
    return (*_more_words(plan.earnings, currency), *_losing_words(plan.earnings), *_room_words(plan))


def losing(crops: Sequence[Earning]) -> list[str]:
    """Crops that bring less than they cost, the worst last."""
    return [one.crop for one in crops if one.margin <= -CENT]


def _more_words(crops: Sequence[Earning], currency: str) -> list[str]:
    """What a tray more of each crop would bring, where it would bring anything, and what is hardly missed."""
    more = [(one.one_more, one.crop) for one in crops if one.one_more is not None and one.one_more >= CENT]
    more.sort(key=lambda one: (-one[0], one[1]))
    less = sorted([(one.one_less, one.crop) for one in crops if one.one_less is not None and one.one_less < LITTLE])
    saving = [(-amount, crop) for amount, crop in less if amount <= -CENT]
    missed = [(max(0.0, amount), crop) for amount, crop in less if amount > -CENT]
    said = ["No tray more would bring what it costs and takes up, of any crop."]
    if more:
        said = [f"Grow more: a tray more brings {_each(more, currency)}."]
    if saving:
        said.append(f"Grow less: a tray less saves {_each(saving, currency)}.")
    if missed:
        each = _each(missed, currency)
        first = f"Grow less of these first; a tray less loses {each}."
        said.append(f"Hardly missed, too; a tray less loses {each}." if saving else first)
    return said


def _each(amounts: Sequence[tuple[float, str]], currency: str) -> str:
    return listed([f"{show_money(amount, currency)} ({crop})" for amount, crop in amounts], most=MOST_NAMED)


def _losing_words(crops: Sequence[Earning]) -> list[str]:
    """Crops that do not earn their costs, and what could be done about them."""
    names = losing(crops)
    if not names:
        return []
    return [
        f"Brings less than it costs: {listed(names, most=FEW)}; grown so as not to let customers down, or because it "
        "stands already. Ask more for it, or see what it would be to drop it."
    ]


def _room_words(plan: Plan) -> list[str]:
    """Which orders to look for first: those that bring most for the room they take."""
    crops = [one.crop for one in plan.earnings if one.spot_days]
    if len(crops) < 2:
        return []
    most = listed(crops[:MOST], most=FEW)
    said = f"Most for the spots they take bring {most}: look for orders of these."
    if any(limit.worth > 0 and limit.unit == "spots" for limit in plan.limits):
        said = f"Most for the spots they take bring {most}: spots are short, so take their orders first."
    worst = listed([crop for crop in crops[: -MOST - 1 : -1] if crop not in crops[:MOST]], most=FEW)
    return [said, f"They bring least: {worst}."] if worst else [said]
