"""A plan on the terminal: what to sow and cut, how likely the orders are met, what would help, and what it is worth."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from itertools import groupby

import click

from trayward.cli.given import Given
from trayward.cli.plan_orders import helps, show_deliveries
from trayward.cli.show import Column, Columns, table, wrapped
from trayward.dates import day_words
from trayward.plan.limit_words import barred, binding
from trayward.plan.types import CutAdvice, CutPlanned, Limit, Plan, PlannedSowing, Serve
from trayward.plan.words import FEW, amount_words, days_words, weights_in
from trayward.rounds.lacking import lacking
from trayward.rounds.words import likely_weight
from trayward.units import show_mass
from trayward.words import counted, listed

NEAR_DAYS = 14
"""Days of sowings and cuts that are shown one by one unless all are asked for. [d]"""
CHANGED_DAYS = 3
"""Changes of so many days are shown unless all are asked for: what is farther off will change again. [d]"""
MOST_WAYS = 6
MOST_CHANGES = 8
FOR_WIDTH = 19
"""Room for whom a sowing is for, so that it keeps to one line of 80 columns."""
EVENING = "*"
"""Behind the trays of a sowing of which some find a place in the evening only."""
AS_GOOD = 0.005
"""A plan proven to lie this near to the best is as good as the best. [-]"""
TELLING = 0.001
"""What serving better than by the rule would bring is told from this share on. [-]"""
LEAST_SHARE = 0.001
"""The least share that one decimal of a percent can tell. [-]"""
COSTS = ("seed", "medium", "supplies", "hands", "energy", "packaging", "disposal")


def show_plan(given: Given, made: Plan, *, everything: bool = False) -> None:
    """Ready trays, sowings and cuts by day, the orders, what would help, what changed, and what the plan is worth."""
    last = made.last if everything else min(made.last, made.first + timedelta(days=NEAR_DAYS - 1))
    click.echo(f"Plan from {day_words(made.first)} to {day_words(made.last)}")
    click.echo()
    _show_ready(made)
    _show_sowings(given, made.sowings, last)
    _show_lacks(given, made)
    _show_cuts(given, made, last)
    show_deliveries(given, made, last, everything=everything)
    _show_limits(given, made, everything)
    _show_changes(made, everything)
    _show_worth(given, made)
    for note in made.notes:
        wrapped(f"Note: {note}", "  ")


# What to do with ready trays ------------------------------------------------------------------------------------------


def _show_ready(made: Plan) -> None:
    if not made.advice:
        return
    rows = [
        (one.crop, listed(one.trays, most=2), _what_to_do(one, made.first), for_whom(one.serves)) for one in made.advice
    ]
    table([Column("Standing", whole=True), "Trays", Column("Do", whole=True), Column("For", whole=True)], rows)
    click.echo()


def _what_to_do(advice: CutAdvice, today: date) -> str:
    if advice.do == "let go":
        return "no order needs it"
    if advice.do == "clear":
        return "clear: place wanted"
    if advice.do == "cut":
        return "cut today" if advice.until == today else f"cut {day_words(advice.until)}"
    live = any(serve.trays for serve in advice.serves)
    if live and advice.until <= today:
        return "out whole today"
    return f"{'keep whole' if live else 'hold'} until {day_words(advice.until)}"


def for_whom(serves: Iterable[Serve]) -> str:
    """The customer who gets most, if there is room for the name, and how many more there are."""
    most = sorted(serves, key=lambda serve: (-serve.trays, -serve.grams, serve.due))
    customers = list(dict.fromkeys(serve.customer for serve in most))
    if not customers:
        return ""
    more = f" +{len(customers) - 1}" if len(customers) > 1 else ""
    room = FOR_WIDTH - len(more)
    first = customers[0]
    return (first if len(first) <= room else first[: room - 1].rstrip() + "…") + more


# Sowings and cuts -----------------------------------------------------------------------------------------------------


def _show_sowings(given: Given, sowings: Sequence[PlannedSowing], last: date) -> None:
    near = [sowing for sowing in sowings if sowing.sow_on <= last]
    later = sum(sowing.trays for sowing in sowings if sowing.sow_on > last)
    rows = []
    for day, group in groupby(near, key=lambda sowing: sowing.sow_on):
        rows += [_sowing_row(given, "" if number else day_words(day), sowing) for number, sowing in enumerate(group)]
    if rows:
        columns: Columns = [
            Column("Sow", whole=True),
            Column("What", whole=True),
            Column("Trays", right=True, whole=True),
            Column("Seed", right=True, whole=True),
            Column("Cut", whole=True),
            Column("Likely", right=True, whole=True),
            Column("For", whole=True),
        ]
        table(columns, rows)
        _show_evenings(given, near)
    if later:
        click.echo(f"After {day_words(last)}: {counted(later, 'tray')} more; all of it: --all.")
    if not sowings:
        click.echo("Nothing to sow in these weeks.")
    click.echo()


def _show_lacks(given: Given, made: Plan) -> None:
    """What the farm has none of, where that is why nothing is sown."""
    found = lacking(given.state, made)
    for lack in found:
        wrapped(lack.sentence(), "  ")
    if found:
        click.echo()


def _show_evenings(given: Given, sowings: Sequence[PlannedSowing]) -> None:
    """Which of the trays are sown in the evening, day by day."""
    late = [sowing for sowing in sowings if sowing.evening]
    days = [
        f"{day_words(day)} {listed([f'{sown_name(given, one)} {one.evening}' for one in group], most=FEW)}"
        for day, group in groupby(late, key=lambda one: one.sow_on)
    ]
    if days:
        wrapped(f"{EVENING} In the evening, once others have gone on: {'; '.join(days)}.")


def _sowing_row(given: Given, day: str, sowing: PlannedSowing) -> tuple[str, ...]:
    grams = likely_weight(sowing.grams_expected, given.units.mass) if sowing.grams_expected else "live"
    seed = show_mass(sowing.seed_g, given.units.mass)
    what, cut = sown_name(given, sowing), day_words(sowing.cut_on)
    return day, what, f"{sowing.trays}{EVENING if sowing.evening else ''}", seed, cut, grams, for_whom(sowing.serves)


def sown_name(given: Given, sowing: PlannedSowing) -> str:
    """The crop, where that is enough to sow by; else the recipe."""
    alike = sum(recipe.crop == sowing.crop for recipe in given.state.recipes.values())
    return sowing.crop if alike == 1 else sowing.recipe


def _show_cuts(given: Given, made: Plan, last: date) -> None:
    """Cuts of trays that stand and are not ready yet, by day; those that are ready stand at the top."""
    ready = {tray for one in made.advice for tray in one.trays}
    cuts = [cut for cut in made.cuts if not set(cut.standing) <= ready or not cut.standing]
    near = [cut for cut in cuts if cut.cut_on <= last]
    rows = []
    for day, group in groupby(near, key=lambda cut: cut.cut_on):
        rows += [_cut_row(given, "" if number else day_words(day), cut) for number, cut in enumerate(group)]
    if rows:
        likely = Column("Likely", right=True, whole=True)
        table([Column("Cut", whole=True), Column("What", whole=True), "Trays that stand now", likely], rows)
    later = sum(cut.trays for cut in cuts if cut.cut_on > last)
    if later:
        click.echo(f"After {day_words(last)}: {counted(later, 'standing tray')} more; all of it: --all.")
    if cuts:
        click.echo()


def _cut_row(given: Given, day: str, cut: CutPlanned) -> tuple[str, ...]:
    trays = listed(cut.standing, most=4) or counted(cut.trays, "tray")
    grams = likely_weight(cut.grams_expected, given.units.mass) if cut.grams_expected else "live"
    return day, cut.crop, trays, grams


# What is in the way ---------------------------------------------------------------------------------------------------


def _show_limits(given: Given, made: Plan, everything: bool) -> None:
    """What would help, the limits that bind with what one more would bring, and what cannot be helped any more."""
    some("Would help", helps(made, everything=everything), MOST_WAYS, everything)
    taken = binding(made.limits)
    if taken:
        click.echo()
        show_binding(given, taken)
        click.echo()
    some("In the way", barred(made), MOST_WAYS, everything)


def show_binding(given: Given, limits: Sequence[Limit]) -> None:
    """Each limit that is taken up, week by week, and what one more of it would bring then."""
    rows = [
        (
            f"{limit.limit}, {_has_words(given, limit)}".rstrip(", "),
            days_words(limit.first, limit.last).partition(" ")[2],
            f"{limit.worth:.2f}" + (" an hour a day" if limit.unit == "min" else ""),
        )
        for limit in limits
    ]
    more = f"One more brings, {given.settings.money.currency}".rstrip(", ")
    table([Column("All taken", whole=True), Column("When", whole=True), Column(more, right=True, whole=True)], rows)


def _has_words(given: Given, limit: Limit) -> str:
    with weights_in(given.units.mass):
        return amount_words(limit.has, limit.unit) if limit.has else "none"


def _show_changes(made: Plan, everything: bool) -> None:
    """What is different from the plan before, the next days first."""
    last = made.first + timedelta(days=CHANGED_DAYS - 1)
    dated = sorted(made.changes, key=lambda change: change.day or made.first)
    near = [change.message for change in dated if everything or (change.day or made.first) <= last]
    some("Changed", near, MOST_CHANGES, everything, hidden=len(dated) - len(near))


def some(heading: str, told: Sequence[str], most: int, everything: bool, *, hidden: int = 0) -> None:
    """Sentences under a heading, as many as fit a calm answer, and how many more there are."""
    shown = told if everything else told[:most]
    for words in shown:
        wrapped(f"{heading}: {words}", "  ")
    left = len(told) - len(shown) + hidden
    if left:
        click.echo(f"{heading}: {left} more; all of it: --all.")


# What it is worth -----------------------------------------------------------------------------------------------------


def _show_worth(given: Given, made: Plan) -> None:
    """Money expected, and how much better another plan could be at most."""
    if not (made.sowings or made.lines):
        return
    click.echo()
    wrapped(money_words(given, made), "  ")
    wrapped(proof_words(made), "  ")


def money_words(given: Given, made: Plan) -> str:
    """What the plan is expected to bring and to cost; the price of letting down is not money, and said apart."""
    money, currency = made.money, given.settings.money.currency
    costs = [f"{name} {getattr(money, name):.2f}" for name in COSTS if getattr(money, name) >= 0.005]
    spent = money.sales - money.margin
    less = f", less {spent:.2f} of costs ({listed(costs, most=len(COSTS))})" if costs else ""
    words = f"Money expected: sales {money.sales:.2f}{less}, leaves {money.margin:.2f} {currency}".rstrip() + "."
    if money.shortfall >= 0.005:
        words += (
            f" Letting orders down counts {money.shortfall:.2f} besides, by the farm's price of it; nobody pays that."
        )
    return words


def proof_words(made: Plan) -> str:
    """How far the plan may lie from the best, in plain words."""
    if made.gap is None:
        return "How much better another plan could be was not looked into."
    if made.gap <= AS_GOOD:
        within = _share_words(made.gap)
        return f"Proven: as good as the best plan there is, to within {within} of all that is asked for."
    words = (
        f"Proven: no other plan is worth more than this one by over {_share_words(made.gap)} of all that is asked for"
    )
    if made.gap_served is not None and made.gap - made.gap_served >= TELLING:
        return f"{words}, or {_share_words(made.gap_served)} with both served as well as can be."
    return f"{words}."


def _share_words(share: float) -> str:
    """A share of all that is asked for; never as if nothing at all were left."""
    return f"{max(share, LEAST_SHARE) * 100:.1f} %"
