"""Write `docs/reference/commands.md` from the commands themselves, so that the page cannot say what is not so.

`python -m tools.make_reference` writes it; with `--check` it only says whether the page is what would be written.
"""

from __future__ import annotations

import argparse
import difflib
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path

import click

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "reference" / "commands.md"
INTRO = """# Commands

Made by `make reference` from the commands themselves; do not edit. A test fails when this page is out of date.
`trayward COMMAND --help` says the same; every command takes `--help`.
"""


def commands(command: click.Command, path: tuple[str, ...], above: click.Context | None) -> Iterator[click.Context]:
    """A command and every command under it, each with the words that call it, in the order of the help."""
    context = click.Context(command, info_name=path[-1], parent=above)
    yield context
    if isinstance(command, click.Group):
        for name in command.list_commands(context):
            below = command.get_command(context, name)
            if below is not None and not below.hidden:
                yield from commands(below, (*path, name), context)


def anchor(path: str) -> str:
    """Where a heading is found from a link."""
    return path.replace(" ", "-")


def said(text: str | None) -> str:
    """A help text as Markdown: whole, unwrapped paragraphs; lists and examples as they were written."""
    paragraphs = inspect.cleandoc(text or "").split("\f")[0].split("\n\n")
    return "\n\n".join(paragraph_text(paragraph) for paragraph in paragraphs).strip()


def paragraph_text(paragraph: str) -> str:
    """One paragraph; what click was told to leave unwrapped becomes a block as typed."""
    if paragraph.startswith("\b"):
        return "```text\n" + paragraph.removeprefix("\b").strip("\n") + "\n```"
    return " ".join(paragraph.split())


def cell(text: str) -> str:
    """Text that stands in a table without breaking it."""
    return " ".join(text.split()).replace("|", "\\|")


def parameter_rows(context: click.Context) -> list[str]:
    """A row for each option, as the help spells it; arguments stand in the line above and in the command's words."""
    records = [parameter.get_help_record(context) for parameter in context.command.get_params(context)]
    shown = [record for record in records if record is not None and not record[0].endswith("--help")]
    return [f"| `{cell(word)}` | {cell(says)} |" for word, says in shown]


def section(context: click.Context) -> str:
    """One command's part of the page."""
    command = context.command
    parts = [f"## {context.command_path}", said(command.help or command.short_help)]
    usage = " ".join([context.command_path, *command.collect_usage_pieces(context)])
    parts.append(f"```text\n{usage}\n```")
    rows = parameter_rows(context)
    if rows:
        parts.append("| word | what it says |\n|---|---|\n" + "\n".join(rows))
    if command.epilog:
        parts.append(said(command.epilog))
    return "\n\n".join(part for part in parts if part) + "\n"


def overview(contexts: list[click.Context]) -> str:
    """The list of all commands, each with its sentence."""
    return "".join(
        f"- [`{context.command_path}`](#{anchor(context.command_path)}): "
        f"{context.command.get_short_help_str(limit=200)}\n"
        for context in contexts
    )


def page(root: click.Command, name: str = "trayward") -> str:
    """The whole page for a command and all under it."""
    contexts = list(commands(root, (name,), None))
    return "\n".join([INTRO, overview(contexts), *(section(context) for context in contexts)])


def difference(wanted: str) -> list[str]:
    """Lines in which the kept page differs from what would be written."""
    kept = PAGE.read_text(encoding="utf-8") if PAGE.is_file() else ""
    return list(difflib.unified_diff(kept.splitlines(), wanted.splitlines(), "kept", "wanted", lineterm="", n=0))


def main() -> int:
    """Write or check the page; 0 when it says what the commands say."""
    from trayward.cli.main import cli

    parser = argparse.ArgumentParser(description="Write docs/reference/commands.md from the commands themselves.")
    parser.add_argument("--check", action="store_true", help="only say whether it is out of date")
    given = parser.parse_args()
    wanted = page(cli)
    if given.check:
        changes = difference(wanted)
        print("\n".join(changes) or f"{PAGE.relative_to(ROOT)} says what the commands say.")
        return 1 if changes else 0
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(wanted, encoding="utf-8")
    print(f"Written: {PAGE.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
