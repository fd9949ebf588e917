"""The command that plans, and answers what the plan kept says."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence

import click
from msgspec import structs

from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.given import Given, command
from trayward.cli.numbers import whole
from trayward.cli.plan_shown import show_plan
from trayward.cli.show import answer, looks, wrapped
from trayward.dates import day_words
from trayward.desk.doubts import AHEAD
from trayward.errors import InputError
from trayward.plan.types import Plan

WEEKS = 6
ALL_OF_IT = "all"
"""What `--why` asks about where nothing is named."""

WHAT_IF_HELP = 'Compare with another farm; nothing is kept. Again for more. Example: --what-if "1 more lit shelf".'
WHY_HELP = "Why the plan is as it is: of a crop, recipe, customer, day or limit. Example: --why pea."
MIX_HELP = "What each crop earns of its spots, and what to grow more or less of. Example: --mix."


@command("plan", example="trayward plan --weeks 6", records=True)
@click.option("--weeks", type=whole(3, 8), help=f"How far ahead; {WEEKS} if left out. Example: 4.")
@click.option("--look-only", is_flag=True, help="Show a new plan, and do not keep it. Example: --look-only.")
@click.option("--kept", is_flag=True, help="Show the plan kept before, and make none. Example: --kept.")
@click.option("--all", "everything", is_flag=True, help="Show every week, line and change. Example: --all.")
@click.option("--why", metavar="[WHAT]", is_flag=False, flag_value=ALL_OF_IT, help=WHY_HELP)
@click.option("--mix", is_flag=True, help=MIX_HELP)
@click.option("--what-if", "changes", multiple=True, metavar="WORDS", help=WHAT_IF_HELP)
@with_picture
def plan(
    given: Given,
    weeks: int | None,
    look_only: bool,
    kept: bool,
    everything: bool,
    why: str | None,
    mix: bool,
    changes: Sequence[str],
    picture: str | None,
    phone: bool,
) -> None:
    """
    Plan the sowings of the coming weeks, and keep the plan: rounds then ask for what it says.

    It says what to sow and cut, how likely each order is to be met in full, and what would help. Questions about it
    (--why, --mix) are answered by the plan kept, if there is one; they keep nothing.
    """
    _one_question(why, mix, changes, kept=kept)
    drawing = _drawing(picture, phone=phone, asked=why is not None or mix or bool(changes))
    if changes:
        from trayward.cli.what_if import wonder

        wonder(given, changes, weeks or WEEKS, everything=everything)
        return
    if why is not None or mix:
        _explain(given, _in_question(given, weeks, anew=look_only or weeks is not None, mix=mix), why, everything)
        return
    if kept:
        _show_kept(given, drawing, everything=everything)
        return
    _plan_and_keep(given, weeks or WEEKS, drawing, look_only=look_only, everything=everything)


def _drawing(picture: str | None, *, phone: bool, asked: bool) -> Drawing:
    if picture is not None and asked:
        remedy = "Draw the plan by itself: trayward plan --kept --picture plan.svg"
        raise InputError("--picture", picture, "a picture shows a whole plan, not the answer to a question", remedy)
    return Drawing(picture, phone=phone)


def _tell(given: Given, made: Plan, drawing: Drawing, human: Callable[[], None]) -> None:
    """A plan as JSON or in words, and its picture where one is wanted."""
    from trayward.cli.plan_picture import draw_plan

    drawn = drawing.save(lambda wide: draw_plan(made, wide))
    answer(given, {**structs.asdict(made), **drawn} if drawn else made, human)
    drawing.tell(given)


def _one_question(why: str | None, mix: bool, changes: Sequence[str], *, kept: bool) -> None:
    asked = [name for name, said in (("--why", why is not None), ("--mix", mix), ("--what-if", changes)) if said]
    if len(asked) > 1:
        raise InputError("question", " and ".join(asked), "one at a time is answered", "Ask them one after the other.")
    if kept and changes:
        raise InputError("--what-if", "with --kept", "it makes two plans of its own", "Leave --kept out.")


def _plan_and_keep(given: Given, weeks: int, drawing: Drawing, *, look_only: bool, everything: bool) -> None:
    made = _made(given, weeks)
    ahead = given.at > given.now + AHEAD
    receipt = None if look_only or ahead else given.farm.keep_plan(made, **given.said)
    _tell(given, made, drawing, lambda: show_plan(given, made, everything=everything))
    if given.json:
        return
    if receipt is not None:
        click.echo(f"Kept as entry {receipt.kept[0].entry.id[:8]}. To look without keeping: --look-only.")
        looks(receipt.findings)
    elif ahead:
        click.echo("Not kept: it looks from a moment that is still to come.")


def _made(given: Given, weeks: int) -> Plan:
    """A plan made now; it takes a while, so whoever waits at a terminal is told."""
    if sys.stderr.isatty():
        click.echo(f"Planning {weeks} weeks over many ways they may go ...", err=True)
    return given.farm.plan(given.at, weeks=weeks)


def _show_kept(given: Given, drawing: Drawing, *, everything: bool) -> None:
    made = given.farm.kept_plan(given.at)
    if made is None:
        wrapped("No plan is kept yet. Make one: trayward plan.")
        return

    def human() -> None:
        click.echo(_kept_words(given, made))
        show_plan(given, made, everything=everything)

    _tell(given, made, drawing, human)


def _kept_words(given: Given, made: Plan) -> str:
    at = made.made_at.astimezone(given.zone)
    return f"Kept {day_words(at.date())}, {at:%H:%M}."


def _in_question(given: Given, weeks: int | None, *, anew: bool, mix: bool) -> Plan:
    """The plan a question is about: the one kept, as far as it can answer, else one made for it and not kept."""
    kept = None if anew else given.farm.kept_plan(given.at)
    can_tell = kept is not None and kept.last >= given.today and (bool(kept.earnings) or not mix)
    if kept is not None and can_tell:
        if not given.json:
            click.echo(_kept_words(given, kept))
        return kept
    return _made(given, weeks or WEEKS)


def _explain(given: Given, made: Plan, why: str | None, everything: bool) -> None:
    if why is None:
        from trayward.cli.plan_mix import mix_json, show_mix

        answer(given, mix_json(given, made), lambda: show_mix(given, made))
        return
    from trayward.cli.plan_why import about, limits_of, show_why

    said = about(made, "" if why == ALL_OF_IT else why, given.today, limits_of(given))
    answer(given, said, lambda: show_why(given, made, said, everything=everything))
