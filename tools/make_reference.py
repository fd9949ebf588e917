"""Write the pages of `docs/reference` from the code itself, so that they cannot say what is not so.

`python -m tools.make_reference` writes them; with `--check` it only says whether they are what would be written. The
page of commands is made here; those of the setup file, the entries and the findings in modules beside this one.
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
FOLDER = ROOT / "docs" / "reference"
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


def pages() -> dict[str, str]:
    """Every page of the reference by its name, as it is to be."""
    from tools import reference_entries, reference_findings, reference_setup
    from trayward.cli.main import cli

    return {
        "commands": page(cli),
        "setup-file": reference_setup.page(),
        "entries": reference_entries.page(),
        "findings": reference_findings.page(),
    }


def gaps() -> list[str]:
    """What the pages leave without words, or have words for although it is gone."""
    from tools import reference_entries, reference_findings, reference_setup

    known = reference_setup.known_keys(reference_setup.EXAMPLE.read_text(encoding="utf-8"))
    return [*reference_setup.gaps(known), *reference_entries.gaps(), *reference_findings.gaps()]


def difference(wanted: str, name: str = "commands") -> list[str]:
    """Lines in which the kept page differs from what would be written."""
    path = FOLDER / f"{name}.md"
    kept = path.read_text(encoding="utf-8") if path.is_file() else ""
    return list(difflib.unified_diff(kept.splitlines(), wanted.splitlines(), "kept", "wanted", lineterm="", n=0))


def check(wanted: dict[str, str]) -> int:
    """Say what is out of date or without words; 0 when nothing is."""
    changes = [line for name, text in wanted.items() for line in difference(text, name)] + gaps()
    print("\n".join(changes) or f"{FOLDER.relative_to(ROOT)} says what the code says.")
    return 1 if changes else 0


def main() -> int:
    """Write or check the pages; 0 when they say what the code says."""
    parser = argparse.ArgumentParser(description="Write the pages of docs/reference from the code itself.")
    parser.add_argument("--check", action="store_true", help="only say whether they are out of date")
    given = parser.parse_args()
    wanted = pages()
    if given.check:
        return check(wanted)
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name, text in wanted.items():
        (FOLDER / f"{name}.md").write_text(text, encoding="utf-8")
    print(f"Written: {', '.join(f'{name}.md' for name in wanted)} in {FOLDER.relative_to(ROOT)}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
