"""Every command explains itself, answers in JSON, and takes a moment; and help comes at once."""

from __future__ import annotations

import resource
import subprocess
import sys
from collections.abc import Iterator

import click
import pytest
from click.testing import CliRunner

from trayward.cli.lazy import LazyGroup
from trayward.cli.main import COMMANDS, cli


def every_command(group: click.Group, before: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    ctx = click.Context(group)
    for name in group.list_commands(ctx):
        found = group.get_command(ctx, name)
        assert found is not None
        yield (*before, name), found
        if isinstance(found, click.Group):
            yield from every_command(found, (*before, name))


ALL = dict(every_command(cli))


ANSWERS = {words: found for words, found in ALL.items() if not isinstance(found, LazyGroup)}
"""A group that only leads to others answers nothing itself."""


@pytest.mark.parametrize("words", ANSWERS, ids=" ".join)
def test_every_command_takes_json_and_a_moment_and_a_book(words: tuple[str, ...]) -> None:
    options = {name for parameter in ALL[words].params for name in parameter.opts}
    assert {"--json", "--at", "--book"} <= options


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_every_command_has_help_with_an_example_of_itself(words: tuple[str, ...]) -> None:
    result = CliRunner().invoke(cli, [*words, "--help"], prog_name="trayward")
    assert result.exit_code == 0
    assert "Example:" in result.stdout
    assert f"trayward {' '.join(words)}" in result.stdout
    assert max(map(len, result.stdout.splitlines())) <= 80
    # What a command does is listed whole: a line that breaks off explains nothing.
    assert not [line for line in result.stdout.partition("Commands:")[2].splitlines() if line.endswith("...")]


@pytest.mark.parametrize("words", ALL, ids=" ".join)
def test_every_option_says_what_it_is(words: tuple[str, ...]) -> None:
    options = [parameter for parameter in ALL[words].params if isinstance(parameter, click.Option)]
    assert [option.name for option in options if not option.help] == []


def test_the_listed_line_of_a_command_names_a_command_that_is_there() -> None:
    assert {words[0] for words in ALL} == set(COMMANDS)


def test_help_imports_nothing_heavy() -> None:
    heavy = "numpy scipy highspy sqlalchemy alembic rich dateutil python_calamine starlette uvicorn jinja2 babel"
    code = (
        "import sys; from trayward.cli.main import cli\n"
        "try: cli.main(['--help'])\n"
        f"finally: print([name for name in {heavy.split()!r} if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"


def test_help_comes_within_the_time_of_a_blink() -> None:
    """0.3 s is promised. Processor time is measured, the best of three, as others may be busy on the machine."""

    def once() -> float:
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run([sys.executable, "-m", "trayward.cli.main", "--help"], capture_output=True, check=True)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime

    assert min(once() for _ in range(3)) < 0.3
