"""The command `study`: what the plan earns over whole seasons, between a rule of thumb and knowing all."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.given import Given, command
from trayward.cli.numbers import whole
from trayward.cli.show import Column, Columns, answer, table, wrapped
from trayward.errors import InputError
from trayward.study.kept_seasons import KeptSeasons, mark_of
from trayward.study.running import BUFFERS, POLICIES, Progress, live, run_all, season_tasks
from trayward.study.types import CEILING, RULE

if TYPE_CHECKING:
    from trayward.pictures.types import Earned, PromisesKept, StudyFigures
    from trayward.study.figures import Estimate
    from trayward.study.report import StudyReport
    from trayward.study.types import SeasonTask

NBSP = "\N{NO-BREAK SPACE}"
FAILED = 1
"""Exit code where a season failed: figures lack it, and a program that reads them should know."""


@command("study", example='trayward study --world "loft tight" --seeds 20 --picture study.svg')
@click.option("--world", required=True, metavar="NAME", help='A shipped world or a world file. Example: "loft tight".')
@click.option("--seeds", type=whole(1, 10_000), default=20, show_default=True, help="How many. Example: 40.")
@click.option(
    "--policy", "policies", multiple=True, metavar="NAME", help="Only this one; again for more. Example: learning."
)
@click.option("--buffers", metavar="LIST", help='Of the rule of thumb, in percent. Example: "0,15,30".')
@click.option("--workers", type=whole(1, 1024), help="Processes; every core if left out. Example: 2.")
@click.option("--scheduler", metavar="ADDRESS", default="", help="A Dask scheduler. Example: tcp://loft.lan:8786.")
@click.option("--folder", metavar="DIR", help="Where seasons are kept; study-NAME if left out. Example: june.")
@with_picture
def study(
    given: Given,
    world: str,
    seeds: int,
    policies: tuple[str, ...],
    buffers: str | None,
    workers: int | None,
    scheduler: str,
    folder: str | None,
    picture: str | None,
    phone: bool,
) -> None:
    """
    Live through seasons of an invented farm, and say what planning and learning are worth.

    Each seed is one hidden truth: true yields and times, lots, orders, mishaps. The rule of thumb, the plan with
    published figures, the plan that learns, and the plan told the true law or the true biology live through all of
    them; beside them stands the most that anybody could earn, knowing the luck of trays beforehand (all-knowing) or
    not (ceiling). Seasons are kept as they end: broken off, the same command goes on.
    """
    from trayward.study.report import study_report

    drawing = Drawing(picture, phone=phone)
    tasks = season_tasks(world, range(1, seeds + 1), policies=_named(policies), buffers=_shares(buffers))
    mark = mark_of(world)
    keep = KeptSeasons(Path(folder or _folder_of(world)), mark)
    with _telling(keep, tasks) as tell:
        lived = run_all(
            tasks, run=live, keep=keep, workers=workers or os.cpu_count() or 1, scheduler=scheduler, tell=tell
        )
    found = study_report(lived.results, world=world, failed=lived.failed)
    told = _as_json(found, keep) | drawing.save(lambda wide: _picture(found, wide))
    answer(given, told, lambda: _show(found))
    drawing.tell(given)
    if found.failed:
        given.ctx.exit(FAILED)


def _named(policies: tuple[str, ...]) -> tuple[str, ...]:
    """Policies as they are called; blanks may be written as dashes."""
    called = {name.replace(" ", "-"): name for name in POLICIES}
    return tuple(called.get(name.strip().replace(" ", "-"), name) for name in policies) or POLICIES


def _shares(buffers: str | None) -> tuple[float, ...]:
    """Buffers in percent, read as shares."""
    if buffers is None:
        return BUFFERS
    try:
        found = tuple(float(word.strip().removesuffix("%")) / 100 for word in buffers.split(","))
    except ValueError as error:
        rule = "must be numbers, in percent, with commas between them"
        raise InputError("buffers", buffers, rule, "For instance 0,15,30.") from error
    if not all(-0.9 <= share <= 5 for share in found):
        raise InputError("buffers", buffers, "each must lie in [-90, 500] %", "For instance 0,15,30.")
    return found


def _folder_of(world: str) -> str:
    return f"study-{Path(world).stem.replace(' ', '-')}"


# While it runs --------------------------------------------------------------------------------------------------------


@contextmanager
def _telling(keep: KeptSeasons, tasks: Sequence[SeasonTask]) -> Iterator[Callable[[Progress], None]]:
    """
    Say how far it is on the error stream; broken off, say how to go on.

    What is kept is counted where it is kept: a break may fall between the keeping of a season and the telling of it.
    """
    from rich.console import Console

    console = Console(stderr=True, highlight=False, markup=False, emoji=False, soft_wrap=True)
    with console.status("beginning") as line:

        def tell(progress: Progress) -> None:
            if progress.last is not None:
                console.print(f"failed: {progress.last.sentence}")
            line.update(progress.words)
            if not console.is_terminal and worth_a_line(progress):
                console.print(progress.words)

        try:
            yield tell
        except KeyboardInterrupt:
            line.stop()
            done = f"{len(keep.found(tasks))} of {len(set(tasks))}"
            console.print(f"Stopped. {done} seasons are kept in {keep.folder}; the same command goes on from there.")
            raise


def worth_a_line(progress: Progress) -> bool:
    """Where lines are kept, as in a log, about twenty of them are enough."""
    step = max(1, progress.asked // 20)
    return progress.done % step == 0 or progress.done in (progress.kept_before, progress.asked)


# What it says ---------------------------------------------------------------------------------------------------------


def _as_json(found: StudyReport, keep: KeptSeasons) -> dict[str, Any]:
    import msgspec

    told: dict[str, Any] = msgspec.to_builtins(found)
    return told | {"folder": str(keep.folder)}


def _show(found: StudyReport) -> None:
    from trayward.study.report import pays_words

    seasons = "1 season" if found.seeds == 1 else f"{found.seeds} seasons"
    wrapped(f"Season study of {found.world}: {seasons}, the same for every policy.")
    click.echo()
    wrapped(found.headline, "  ")
    click.echo()
    _show_policies(found)
    for line in _rule_words(found):
        wrapped(line, "  ")
    click.echo()
    _show_goals(found)
    for line in (*_law_words(found), *_ceiling_words(found)):
        wrapped(line, "  ")
    click.echo()
    wrapped(pays_words(found.learning_pays), "  ")
    if found.calibration:
        click.echo()
        _show_promises(found)
    if found.failed:
        click.echo()
        for line in (*(f"Failed: {sentence}" for sentence in found.failed), *found.lacks):
            wrapped(line, "  ")
    click.echo()
    wrapped(found.how)


def _show_policies(found: StudyReport) -> None:
    right = ("Margin", "Beyond the rule", "19 in 20", "In full", "Not sold", "kg")
    columns: Columns = ["Policy", *(Column(words, right=True) for words in right)]
    rows = [
        (
            name,
            _money(one.margin),
            _money(one.over_best_rule.mean) if name != RULE else "",
            _range(one.over_best_rule) if name != RULE else "",
            _percent(one.full_on_time, 1),
            _percent(one.unsold_share),
            f"{one.unsold_g / 1000:.1f}" if one.unsold_share is not None else "",
        )
        for name, one in found.policies.items()
    ]
    table(columns, rows, none="No season was lived to its end.")
    if rows:
        wrapped("Margin: sales less all costs and less the price of letting customers down, mean of a season. "
                "In full: lines met in full and on time. Not sold, kg: grown and not sold, of a season.")  # fmt: skip


def _rule_words(found: StudyReport) -> list[str]:
    if found.best_buffer is None:
        return []
    tried = ", ".join(f"{rule.buffer * 100:g}{NBSP}%{NBSP}({_money(rule.margin)})" for rule in found.rules)
    end = " It lies at the end of those tried: try others with --buffers." if found.best_buffer_at_end else ""
    return [f"Rule of thumb: best with {_buffer_words(found.best_buffer)}, of {tried}.{end}"]


def _buffer_words(buffer: float) -> str:
    if buffer == 0:
        return "just what is due"
    return f"{abs(buffer) * 100:g} % {'less' if buffer < 0 else 'more'} than is due"


def _law_words(found: StudyReport) -> list[str]:
    from trayward.study.report import percent_words

    share = found.share_closed_known_law
    if share.mean is None:
        return []
    return [
        f"Of what could be learned, the plan that learns earned {percent_words(share)}: of the way from the best rule "
        "of thumb to the same plan told the true law (known law)."
    ]


def _ceiling_words(found: StudyReport) -> list[str]:
    from trayward.study.report import percent_words

    share, most = found.share_closed_ceiling, found.shares_closed.get(CEILING)
    if share.mean is None or most is None or most.mean is None:
        return []
    return [
        f"Nobody who does not know the luck of trays before they are sown could close more than {percent_words(most)} "
        f"of the gap, on average over seasons. Of that, the plan that learns closed {percent_words(share)}."
    ]


def _show_goals(found: StudyReport) -> None:
    rows = []
    for goal in found.goals:
        points = goal.wanted > 1
        got = "" if goal.found is None else f"{goal.found:.1f}" if points else _percent(goal.found, 1)
        rows.append((goal.what, f"{goal.wanted:g}" if points else _percent(goal.wanted), got, goal.words))
    table(["Goal", Column("Wanted", right=True), Column("Found", right=True), "So it is"], rows)


def _show_promises(found: StudyReport) -> None:
    from trayward.study.reliability import ENOUGH

    right = ("Chance promised", "Kept", "May truly be", "Promises")
    rows = [
        (
            _percent(one.promised, 1),
            _percent(one.kept, 1),
            f"{100 * one.kept_low:.0f} to {100 * one.kept_high:.0f} %",
            f"{one.promises}",
        )
        for one in found.calibration
    ]
    table([Column(words, right=True) for words in right], rows)
    wrapped(
        "Chances of being met in full that the plan that learns promised order lines, and how many of them were. May "
        f"truly be: what chance leaves open, 19 in 20. Rows of fewer than {ENOUGH} promises are not judged by."
    )


def _money(amount: float | None) -> str:
    return "" if amount is None else f"{amount:,.0f}"


def _range(share: Estimate) -> str:
    return "" if share.low is None or share.high is None else f"{share.low:,.0f} to {share.high:,.0f}"


def _percent(share: float | None, places: int = 0) -> str:
    return "" if share is None else f"{100 * share:.{places}f} %"


# The picture ----------------------------------------------------------------------------------------------------------


def _picture(found: StudyReport, wide: Any) -> Any:
    from trayward.pictures.study import study_picture

    return study_picture(figures_of(found), found.headline, wide=wide)


def figures_of(found: StudyReport) -> StudyFigures:
    """What of a study is drawn."""
    from trayward.pictures.types import Closed, Course, StudyFigures
    from trayward.study.goals import POINTS, SHARE, SHARE_KNOWN

    shares = (
        ("against knowing all", found.share_closed, SHARE),
        ("against the ceiling", found.share_closed_ceiling, None),
        ("against the known law", found.share_closed_known_law, None),
        ("against known biology", found.share_closed_known_biology, SHARE_KNOWN),
    )
    return StudyFigures(
        earned=_earned(found),
        closed=tuple(
            Closed(what=what, share=share.mean, low=share.low, high=share.high, goal=goal)
            for what, share, goal in shares
            if share.mean is not None
        ),
        promises=_promises(found),
        courses=tuple(Course(what=name, by_day=course) for name, course in found.margin_by_day.items()),
        points=POINTS,
    )


def _earned(found: StudyReport) -> tuple[Earned, ...]:
    """Margins; their ranges are those of what they bring beyond the best rule."""
    from trayward.pictures.types import Earned

    rule = found.policies[RULE].margin if RULE in found.policies else None
    made = []
    for name, one in found.policies.items():
        low, high = one.over_best_rule.low, one.over_best_rule.high
        if rule is None or name == RULE or low is None or high is None:
            made.append(Earned(what=name, margin=one.margin))
        else:
            made.append(Earned(what=name, margin=one.margin, low=rule + low, high=rule + high))
    return tuple(made)


def _promises(found: StudyReport) -> tuple[PromisesKept, ...]:
    from trayward.pictures.types import PromisesKept
    from trayward.study.reliability import ENOUGH

    return tuple(
        PromisesKept(
            promised=one.promised,
            kept=one.kept,
            low=one.kept_low,
            high=one.kept_high,
            promises=one.promises,
            few=one.promises < ENOUGH,
        )
        for one in found.calibration
    )
