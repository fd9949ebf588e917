"""The sums of the work table as commands: their fields become options, in the same words as on the pages."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.bench_shown import show_sheet
from trayward.cli.drawing import Drawing
from trayward.cli.given import Given, Group, group
from trayward.cli.numbers import NUMBER, whole
from trayward.cli.show import answer, table, wrapped
from trayward.web.bench.sums.declared import Answer, Bench, Choice, Field, Number, Sum, TextFile

if TYPE_CHECKING:
    from click.types import ParamType


def group_of(bench: Bench, *, example: str, instance: str) -> Group:
    """A bench as a group of commands; called without one of them it says what may be asked, `instance` among it."""

    def listed(given: Given) -> None:
        def human() -> None:
            table(["Ask", "What it answers"], bench.answers)
            wrapped(f"For instance: {instance}")

        answer(given, {"answers": [{"name": name, "what": what} for name, what in bench.answers]}, human)

    listed.__doc__ = bench.says
    found = group(bench.name, example=example)(listed)
    add_sums(found, bench)
    return found


def add_sums(to: Group, bench: Bench) -> None:
    """Put a command for each sum of a bench into a group."""
    for each in bench.sums.values():
        to.add(each.name, example=each.example)(work_of(each))


def work_of(each: Sum) -> Callable[..., None]:
    """A sum as the function of a command: it shows the answer, and saves its picture where one is wanted."""
    drawn = any(field.is_picture for field in each.fields)

    def work(given: Given, **values: Any) -> None:
        # A picture's name is refused before any work is done.
        drawing = Drawing(values.pop("picture"), phone=values.pop("phone")) if drawn else None
        found = each.work(given, **values)
        saved = drawing.save(_drawer(found)) if drawing is not None else {}
        show_sheet(given, found.sheet, found.units, found.more | saved)
        if drawing is not None:
            drawing.tell(given)

    work.__doc__ = each.says
    work.__click_params__ = [param_of(field) for field in reversed(each.fields)]  # type: ignore[attr-defined]
    return work


def _drawer(answer: Answer) -> Callable[[Any], Any]:
    assert answer.draw is not None
    return answer.draw


def param_of(field: Field) -> click.Parameter:
    """A field as an option, or as an argument where its name is not typed."""
    if not field.flags:
        more: dict[str, Any] = {"nargs": -1} if field.multiple else {}
        if field.default is not None:
            more["default"] = field.default
        return click.Argument([field.name], type=_type_of(field), required=field.required, **more)
    more = {"is_flag": True} if field.is_flag else {}
    if field.default is not None or field.switches:
        more["default"] = field.default
    return click.Option(
        [*field.flags, field.name],
        type=_type_of(field),
        help=field.help,
        required=field.required,
        multiple=field.multiple,
        show_default=field.show_default,
        metavar=field.metavar or None,
        **more,
    )


def _type_of(field: Field) -> ParamType[Any] | None:
    match field.type:
        case Number(whole=True, low=low, high=high):
            return whole(low or 0, high)
        case Number():
            return NUMBER
        case Choice(words=words, case_sensitive=sensitive):
            return click.Choice(list(words), case_sensitive=sensitive)
        case TextFile():
            return click.Path(path_type=Path, dir_okay=False)
    return None
