"""What is in the way of a plan, said once for all places that show it."""

from __future__ import annotations

from datetime import UTC, date, datetime

import msgspec

from trayward.plan.limit_words import barred, binding
from trayward.plan.types import Limit, LineOutlook, Plan

WED, FRI = date(2026, 11, 25), date(2026, 11, 27)
AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def line(name: str, crop: str, due: date = FRI) -> LineOutlook:
    return LineOutlook(line=name, customer="Copper Ladle", crop=crop, due=due, grams=100.0, met_grams=0.0)


def limit(name: str, message: str, *lines: str, worth: float = 0.0, first: date = FRI) -> Limit:
    return Limit(
        limit=name, first=first, last=first, has=1.0, short=1.0, unit="d", lines=lines, message=message, worth=worth
    )


def test_lines_that_it_is_too_late_for_are_named_once_the_soonest_first() -> None:
    late = [
        limit("time", f"Too late to sow mizuna: it takes 9 days, so it had to be sown by {day}.", *lines)
        for day, *lines in (("Wed 18 Nov", "mix", "plain", "again"), ("Mon 16 Nov", "sooner"))
    ]
    wanted = (line("mix", "soup mix"), line("plain", "mizuna"), line("again", "mizuna"), line("sooner", "mizuna", WED))
    plan = Plan(made_at=AT, first=WED, last=FRI, lines=wanted, limits=tuple(late))
    assert barred(plan) == (
        "Too late to sow mizuna for mizuna of Copper Ladle on Wed 25 Nov, mizuna of Copper Ladle on Fri 27 Nov "
        "(2 lines) and soup mix of Copper Ladle on Fri 27 Nov.",
    )
    alone = msgspec.structs.replace(plan, lines=wanted[1:])
    assert barred(alone) == (
        "Too late to sow mizuna for Copper Ladle on Wed 25 Nov and Copper Ladle on Fri 27 Nov (2 lines).",
    )


def test_a_limit_of_which_one_more_helps_stands_among_those_taken_and_not_in_the_way() -> None:
    limits = (
        limit("mat", "mat: all 4 taken.", worth=2.0, first=FRI),
        limit("mat", "mat: 4 on Fri 27 Nov, 2 more needed.", "plain"),
        limit("cover", "cover: all 6 taken.", worth=1.0, first=WED),
        limit("day off", "Days off leave no day to sow pea or cut it on.", "plain"),
    )
    plan = Plan(made_at=AT, first=WED, last=FRI, lines=(line("plain", "pea"),), limits=limits)
    assert [one.limit for one in binding(plan.limits)] == ["cover", "mat"]
    assert barred(plan) == ("Days off leave no day to sow pea or cut it on.",)
