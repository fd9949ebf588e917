"""What is said of a plan's limits over and over is gathered."""

from __future__ import annotations

from datetime import date

import msgspec

from tests.plan.test_limit_words import AT, FRI, WED, limit, line
from trayward.cli.plan_limits import gathered
from trayward.plan.types import Limit, Plan


def span(name: str, first: int, last: int, *lines: str, said: str = "all 28 taken then", worth: float = 0.0) -> Limit:
    """A limit from one day of December to another."""
    slow = f"cover: {said}. Wanted for somebody." if lines else f"cover: {said}; one more would bring it."
    return Limit(
        limit=name, first=date(2026, 12, first), last=date(2026, 12, last), has=28.0, short=0.0, unit="", lines=lines,
        message=slow, worth=worth,
    )  # fmt: skip


def test_what_is_said_of_a_limit_over_and_over_is_gathered() -> None:
    """Days 1 to 9 and 14; on 8, 9 and 14 nobody says it without trays being slow: 10 of 31 days, 3 of them."""
    if_slow = "all 28 taken if trays are slow"
    spans = (
        span("cover", 1, 7, "a", "b"), span("cover", 5, 9, "b", "c", said=if_slow),
        span("cover", 14, 14, "d", said=if_slow),
        span("cover", 2, 3, worth=1.5), span("cover", 4, 7, worth=2.25),
    )  # fmt: skip
    wanted = tuple(line(name, "pea", date(2026, 12, 20)) for name in "abc")
    stall = msgspec.structs.replace(line("d", "pea"), customer="Tin Spoon")
    month = Plan(made_at=AT, first=date(2026, 12, 1), last=date(2026, 12, 31), lines=(*wanted, stall), limits=spans)
    assert gathered(month, spans, "EUR") == (
        "cover: all 28 taken on 10 of 31 days, between Tue 1 Dec and Mon 14 Dec, 3 of them only if trays are slow. "
        "One more would bring 3.75 EUR, most from Fri 4 Dec to Mon 7 Dec. "
        "In the way of 4 order lines: Copper Ladle (3) and Tin Spoon (1).",
    )
    assert gathered(month, spans[:1], "EUR") == ("cover: all 28 taken then. Wanted for somebody.",)


def test_other_limits_are_said_once_with_how_often_it_is_so() -> None:
    seed = [
        limit(
            "seed of pea", f"Seed of pea: 4 g to sow by {day}; a tray more needs 9 g. Wanted for x.", "a", first=first
        )
        for day, first in (("Wed 25 Nov", WED), ("Fri 27 Nov", FRI))
    ]
    lacking = limit("cover", "cover: 28 on Fri 27 Nov, 3 more needed.")
    plan = Plan(made_at=AT, first=WED, last=FRI, lines=(line("a", "pea"),), limits=(*seed, lacking))
    assert gathered(plan, plan.limits) == (
        "Seed of pea: 4 g to sow by Wed 25 Nov; a tray more needs 9 g. So, too, on 1 day more until Fri 27 Nov. "
        "In the way of 1 order line: Copper Ladle (1).",
        "cover: 28 on Fri 27 Nov, 3 more needed.",
    )
