"""`trayward plan --why`: the reasons of a plan, of everything or of what is named."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

import click
import msgspec

from trayward.cli.given import Given
from trayward.cli.plan_limits import gathered
from trayward.cli.plan_orders import chance_of
from trayward.cli.plan_shown import NEAR_DAYS, some, sown_name
from trayward.dates import WEEKDAYS, day_words
from trayward.errors import NotFoundError
from trayward.plan.types import CutAdvice, Limit, LineOutlook, Plan, PlannedSowing
from trayward.plan.words import in_ten
from trayward.units import show_mass
from trayward.words import counted, listed

MOST = 8
"""So many of a kind are told unless more are asked for. [-]"""


class Reasons(msgspec.Struct, frozen=True, kw_only=True):
    """What a plan says about something."""

    about: str
    ready: tuple[CutAdvice, ...]
    sowings: tuple[PlannedSowing, ...]
    lines: tuple[LineOutlook, ...]
    limits: tuple[Limit, ...]


def about(made: Plan, what: str, today: date | None = None, limits: Sequence[str] = ()) -> Reasons:
    """
    The parts of a plan that have to do with a crop, recipe, product, customer, day, tray or limit; all of it for "".

    A day may be said in any way; `tomorrow` and `Fri` are counted from `today`, or else from the plan's first day. Of
    one of `limits`, those the farm has, there may be nothing to tell: it has room.
    Raises `NotFoundError` where the plan speaks of no such thing.
    """
    for said in _ways_to_say(what, today or made.first):
        found = _of(made, what, said)
        if tells(found) or not what.strip() or _meant(said, *limits):
            return found
    known = sorted({one.crop for one in made.sowings} | {one.crop for one in made.lines})
    raise NotFoundError("plan, about", what, tuple(known), "Or name a recipe, customer, day, tray or limit.")


def tells(said: Reasons) -> bool:
    """Whether there is anything to tell."""
    return bool(said.ready or said.sowings or said.lines or said.limits)


def limits_of(given: Given) -> tuple[str, ...]:
    """The limits the farm has, as the plan names them."""
    from trayward.plan.limits import DAYS_OFF, SPOTS

    return (*SPOTS.values(), "hands", DAYS_OFF, *given.farm.state(given.at).kit)


def _ways_to_say(what: str, today: date) -> list[str]:
    """What is asked about as it is said; as the weekday or the day that is meant; and as one of several."""
    from trayward.desk.wonder.reading import day_of, singular, weekdays_in

    weekdays, day = weekdays_in(what), day_of(what, today) if what.strip() else None
    found = [what]
    if len(weekdays) == 1:
        found.append(WEEKDAYS[weekdays[0]])
    elif day is not None:
        found.append(day_words(day))
    return [*found, singular(what)]


def _of(made: Plan, what: str, said: str) -> Reasons:
    """The parts in which something is named as it is said."""
    return Reasons(
        about=what,
        ready=tuple(one for one in made.advice if _meant(said, one.crop, day_words(one.until), *one.trays)),
        sowings=tuple(one for one in made.sowings if _meant(said, *_names_of_sowing(one))),
        lines=tuple(one for one in made.lines if _meant(said, *_names_of_line(one))),
        limits=tuple(one for one in made.limits if _meant(said, one.limit, *_wanted_for(made, one))),
    )


def _names_of_sowing(one: PlannedSowing) -> list[str]:
    return [one.crop, one.recipe, day_words(one.sow_on), *(serve.customer for serve in one.serves)]


def _names_of_line(one: LineOutlook) -> list[str]:
    order = one.line.partition("/")[0]
    return [one.crop, one.customer, one.line, order, order.partition("@")[0], day_words(one.due)]


def _wanted_for(made: Plan, limit: Limit) -> list[str]:
    lines = {line.line: line for line in made.lines}
    return [name for line in limit.lines if line in lines for name in (lines[line].customer, lines[line].crop)]


def _meant(what: str, *names: str) -> bool:
    """Whether something is named: by its whole name or by words of it, in capitals or not."""
    said = what.strip().casefold()
    return not said or any(f" {said} " in f" {name.casefold()} " for name in names)


def show_why(given: Given, made: Plan, said: Reasons, *, everything: bool = False) -> None:
    """
    Reasons for ready trays, sowings, order lines and limits.

    Of all of a plan only the near and unsure ones, of what is named all. What is said of a limit over and over is
    gathered, unless everything is asked for.
    """
    spans, everything = everything, everything or bool(said.about.strip())
    last = made.last if everything else made.first + timedelta(days=NEAR_DAYS - 1)
    most = 10**6 if everything else MOST
    _part("Ready", [one.message for one in said.ready], most)
    sown = [one for one in said.sowings if one.sow_on <= last]
    _part("Sow", [sowing_words(given, one) for one in sown], most, len(said.sowings) - len(sown))
    lines = [one for one in said.lines if everything or (one.due <= last and not one.met)]
    _part("Order", [line_words(given, one) for one in lines], most, len(said.lines) - len(lines))
    _limits(given, made, said.limits, spans=spans, most=most)
    if not tells(said):
        room = f"{said.about}: nothing in this plan wants for more of it."
        click.echo(room if said.about.strip() else "The plan sows nothing, and no orders are due in its weeks.")


def _limits(given: Given, made: Plan, limits: Sequence[Limit], *, spans: bool, most: int) -> None:
    """What is said of each limit together, or each span of days by itself."""
    told = [one.message for one in limits]
    if not spans:
        told = list(gathered(made, limits, given.settings.money.currency))
    _part("Limit", told, most)
    if len(told) < len(limits) and len(told) <= most:
        click.echo("Limits, each span of days by itself: --all.")


def _part(heading: str, told: list[str], most: int, hidden: int = 0) -> None:
    if told:
        some(heading, told, most, False, hidden=hidden)
        click.echo()


def sowing_words(given: Given, one: PlannedSowing) -> str:
    """A sowing and its reasons."""
    lots = f" of {listed([lot.lot for lot in one.lots])}" if one.lots else ""
    seed = f", {show_mass(one.seed_g, given.units.mass)} of seed{lots}" if one.seed_g else ""
    return f"{day_words(one.sow_on)}, {sown_name(given, one)}, {counted(one.trays, 'tray')}{seed}. {one.why}".rstrip()


def line_words(given: Given, one: LineOutlook) -> str:
    """An order line, its chance, where it comes from, and what would raise it."""
    amount = f", {counted(one.trays, 'tray')}" if one.trays else f" {show_mass(one.grams, given.units.mass)}"
    parts = [
        f"{day_words(one.due)}, {one.customer}, {one.crop}{amount}: {_chance_words(one)}.",
        one.comes_from,
        one.why,
    ]
    return " ".join(part for part in (*parts, one.raised_by) if part)


def _chance_words(one: LineOutlook) -> str:
    if one.chance is None:
        return "met" if one.met else "short"
    said = in_ten(chance_of(one))
    words = "hardly to be met in full" if said == in_ten(0.0) else f"{said} to be met in full"
    if one.read is None or in_ten(one.read) == said:
        return words
    return f"{words} (before your record is followed: {in_ten(one.read)})"
