"""Errors on the way out: one plain message, the right exit code, and one fixed shape in JSON."""

from __future__ import annotations

import json
import os
import re
import traceback
from collections.abc import Sequence
from typing import Any

import click
import msgspec

from trayward.cli.given import BEFORE, Given
from trayward.cli.show import complained
from trayward.errors import (
    DoubtError,
    InputError,
    NotFoundError,
    SetupError,
    TraywardError,
    kind_of,
    near_names,
    without_password,
)
from trayward.rounds.spoken import spoken

WRONG_USE = 2
REFUSED = 1
OUR_FAULT = 70
"""EX_SOFTWARE of BSD's sysexits: the program itself is at fault."""
STOPPED = 130
TRACE_VARIABLE = "TRAYWARD_TRACE"


def exit_code(error: TraywardError) -> int:
    """2 where something was given wrong, 1 where the farm or its book refuses, or wants to hear it once more."""
    return WRONG_USE if isinstance(error, InputError | NotFoundError | SetupError) else REFUSED


def as_json(error: Exception) -> dict[str, Any]:
    """The error in the one shape that programs may rely on; what looks mistyped is listed beside it as `doubts`."""
    if isinstance(error, DoubtError):
        return _doubted(error)
    value = getattr(error, "value", getattr(error, "name", None) if isinstance(error, NotFoundError) else None)
    name = error.kind if isinstance(error, NotFoundError) else getattr(error, "name", "")
    return {
        "error": {
            "kind": _kind(error),
            "message": _message(error),
            "name": str(name or ""),
            "value": None if value is None else str(value),
            "rule": str(getattr(error, "rule", "")),
            "remedy": str(getattr(error, "remedy", "")),
        }
    }


def _doubted(error: DoubtError) -> dict[str, Any]:
    first = error.doubts[0]
    told = {
        "kind": _kind(error),
        "message": _message(error),
        "name": first.subject,
        "value": str(first.value),
        "rule": first.rule,
        "remedy": error.remedy,
    }
    return {"error": told | {"doubts": [msgspec.to_builtins(doubt) for doubt in error.doubts]}}


def _kind(error: Exception) -> str:
    """What an error's kind is called in JSON; whatever is not foreseen is a fault of ours."""
    return "input" if isinstance(error, click.ClickException) else kind_of(error) or "fault"


def _message(error: Exception) -> str:
    said = error.format_message() if isinstance(error, click.ClickException) else str(error)
    return without_password(spoken(said) if isinstance(error, InputError) else said)


def torn_apart(error: click.UsageError, typed: Sequence[str]) -> InputError | None:
    """An amount typed as two words, `1 lb`, is one word too many for a command; one below zero looks like an option."""
    if isinstance(error, click.NoSuchOption) and error.option_name[1:2].isdigit():
        return _minus(error.option_name, typed)
    extra = ONE_TOO_MANY.search(error.message)
    if extra is None or extra[1] not in typed:
        return None
    before = typed[typed.index(extra[1]) - 1]
    if not before[:1].isdigit() or extra[1][:1].isdigit():
        return None
    return InputError(
        "word", extra[1], "it is one too many", f'Put what belongs together in quotes: "{before} {extra[1]}".'
    )


def _minus(option: str, typed: Sequence[str]) -> InputError:
    word = next((each for each in typed if each.startswith(option)), option)
    remedy = f'Few amounts lie below zero; where one does, as degrees may, put -- before what is measured: -- "{word}".'
    return InputError("word", word, "with its minus it looks like an option", remedy)


ONE_TOO_MANY = re.compile(r"unexpected extra arguments? \((\S+?)(?: .*)?\)")
"""What click says of words that are left over; the first of them."""


def with_example(error: click.UsageError) -> click.UsageError:
    """What click says and the command's example: who got the words wrong wants to see them right."""
    option = _before_nothing(error)
    if option:
        words = f"{option} ..." if BEFORE[option] else option
        return click.UsageError(f"{option} goes with a command. For instance: trayward round {words}", error.ctx)
    other = _other_command(error)
    if other:
        return click.UsageError(other, error.ctx)
    epilog = (error.ctx.command.epilog or "") if error.ctx is not None else ""
    example = next((line.strip() for line in epilog.splitlines() if line.strip().startswith("trayward ")), "")
    if not example or isinstance(error, click.NoSuchOption | click.exceptions.NoArgsIsHelpError):
        return error
    return click.UsageError(f"{error.format_message().rstrip('.')}. For instance: {example}", error.ctx)


def _other_command(error: click.UsageError) -> str:
    """Of a command that is not there: those nearly so, else all of a small group."""
    found = NO_COMMAND.match(error.message)
    if found is None or error.ctx is None or not isinstance(error.ctx.command, click.Group):
        return ""
    names = tuple(error.ctx.command.list_commands(error.ctx))
    near = near_names(found[1], names)
    if near:
        return f"There is no command {found[1]!r} here. Did you mean {' or '.join(near)}?"
    here = f"There are: {', '.join(names)}." if len(names) <= MOST_LISTED else f"See {error.ctx.command_path} --help."
    return f"There is no command {found[1]!r} here. {here}"


NO_COMMAND = re.compile(r"No such command '([^']*)'")
MOST_LISTED = 20


def _before_nothing(error: click.UsageError) -> str:
    """An option of every command that was typed without one."""
    if not isinstance(error, click.NoSuchOption) or error.ctx is None or error.ctx.parent is not None:
        return ""
    return error.option_name if error.option_name in BEFORE else ""


def say(error: TraywardError, *, in_json: bool) -> int:
    """Show an error; the exit code to leave with."""
    if in_json:
        click.echo(json.dumps(as_json(error), ensure_ascii=False))
    complained(_message(error))
    return exit_code(error)


def say_fault(error: Exception, given: Given | None, *, in_json: bool) -> int:
    """Own up to an error nobody foresaw, and say what of the command was kept before it."""
    kept = sum(len(receipt.kept) for receipt in given.receipts) if given is not None else 0
    before = (
        "1 entry was kept before it happened; see it" if kept == 1 else f"{kept} entries were kept before; see them"
    )
    message = (
        f"This is our fault, not yours: {type(error).__name__}: {_message(error)}. "
        + (f"{before} with: trayward book show. " if kept else "Nothing new was kept; the book is as it was. ")
        + f"Set {TRACE_VARIABLE}=1 and run it again to see where."
    )
    if os.environ.get(TRACE_VARIABLE):
        traceback.print_exception(error)
    if in_json:
        click.echo(json.dumps({"error": as_json(error)["error"] | {"message": message}}, ensure_ascii=False))
    complained(message)
    return OUR_FAULT
