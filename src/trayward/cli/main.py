"""The command `trayward`: a farm's plan, round and book from the terminal."""

from __future__ import annotations

import errno
import json
import os
from typing import Any

import click

from trayward import __version__
from trayward.cli import faults
from trayward.cli.given import HELP_NAMES, Given, after_the_command
from trayward.cli.lazy import LazyGroup, Listed
from trayward.errors import TraywardError


def _in(module: str, line: str, attribute: str) -> Listed:
    return Listed(f"trayward.cli.{module}", attribute, line)


COMMANDS = {
    "init": _in("starting", "Make a farm's book.", "init"),
    "demo": _in("demonstrating", "Make the invented demo farm, Lantern Loft.", "demo"),
    "serve": _in("serving", "Open the pages, on this machine or on phones.", "serve"),
    "people": _in("persons", "Who may use the pages: let in, change, log out.", "people"),
    "setup": _in("starting", "Apply an edited setup file to the farm.", "setup"),
    "plan": _in("planning", "Plan the sowings of the coming weeks.", "plan"),
    "round": _in("walking", "What to do now, in walking order; and answering it.", "round_"),
    "outlook": _in("outlook", "When trays are likely ready, and how much they bring.", "outlook"),
    "learn": _in("learning", "What the records say: spread, lots, drift, density, trials.", "learn"),
    "bench": _in("bench", "Small sums: seed, growth, light, air, water, hygiene, money.", "bench"),
    "study": _in("study", "What planning and learning are worth over whole seasons.", "study"),
    "sow": _in("growing", "Sow trays.", "sow"),
    "look": _in("growing", "What you saw of some trays.", "look"),
    "water": _in("growing", "Water given.", "water"),
    "feed": _in("growing", "Feed given, from below.", "feed"),
    "move": _in("growing", "Trays to other spots.", "move"),
    "turn": _in("growing", "Trays begin their next stage.", "turn"),
    "stage": _in("growing", "Trays begin a stage you name.", "stage"),
    "measure": _in("growing", "A measure taken of trays.", "measure"),
    "note": _in("saying", "Words, about anything.", "note"),
    "reading": _in("saying", "A reading of an instrument.", "reading"),
    "trouble": _in("trouble", "Trouble on trays: what it may be, what to do; say it, clear it.", "trouble"),
    "discard": _in("growing", "Throw trays away.", "discard"),
    "cut": _in("harvest", "Cut trays, with the grams of each.", "cut"),
    "strip": _in("harvest", "Scrape cut trays clean.", "strip"),
    "pack": _in("harvest", "Fill packs from what was cut.", "pack"),
    "deliver": _in("harvest", "Deliver to a customer.", "deliver"),
    "throw": _in("harvest", "Throw away cut crop that will not be sold.", "throw"),
    "wash": _in("hygiene", "Kit washed.", "wash"),
    "sanitise": _in("hygiene", "Kit sanitised.", "sanitise"),
    "tray": _in("trays", "Trays: list, story, where.", "tray"),
    "seed": _in("seeds", "Seed lots: list, receive, test, weigh, story.", "seed"),
    "order": _in("orders", "Orders: list, add, change, standing, import, ...", "order"),
    "place": _in("places", "Racks and shelves: map, list, set.", "place"),
    "kit": _in("kits", "Kit: list, set, mark, story, use, retire, ...", "kit"),
    "stores": _in("stores", "Seed and supplies: left, order, receive, count, ...", "stores"),
    "crop": _in("crops", "What is known of a crop, with sources; set a fact.", "crop"),
    "recipe": _in("crops", "Recipes: list, show, check.", "recipe"),
    "paper": _in("papers", "Sheets for the wall, labels, notes and invoices as PDF.", "paper"),
    "trace": _in("tracing", "Where crop came from and where it went.", "trace"),
    "recall": _in("tracing", "Every pack and customer that had of a lot.", "recall"),
    "exchange": _in("exchanging", "Tracing events for other programs, as EPCIS 2.0.", "exchange"),
    "calendar": _in("exchanging", "The farm's calendar, as phones read it.", "calendar"),
    "contact": _in("tracing", "How a customer is reached at once.", "contact"),
    "record": _in("recording", "Hygiene records: write, due, review, inspection pack.", "record"),
    "rules": _in("rules", "Which public rules may apply, why, and what is kept of it.", "rules"),
    "sensors": _in("sensors", "Sensors: how they stand, alarms, set up, import, listen.", "sensors"),
    "money": _in("earning", "What was earned, what if, invoices, what is owed.", "money"),
    "book": _in("books", "The book: show, verify, strike, export, backup, ...", "book"),
}
"""Every command, where it lives and the line that lists it."""


class Trayward(LazyGroup):
    """The root of all commands; the one place where errors become words and exit codes."""

    def make_context(
        self, info_name: str | None, args: list[str], parent: click.Context | None = None, **extra: Any
    ) -> click.Context:
        """Remember the words: whether the answer is JSON must be known even if they cannot be parsed."""
        typed = after_the_command(args)
        try:
            ctx = super().make_context(info_name, list(typed), parent, **extra)
        except click.NoSuchOption as error:
            raise faults.with_example(error) from error
        ctx.meta["typed"] = typed
        return ctx

    def invoke(self, ctx: click.Context) -> Any:
        """Run a command; every error leaves here as a message and an exit code."""
        in_json = "--json" in ctx.meta.get("typed", [])
        try:
            return super().invoke(ctx)
        except click.UsageError as error:
            torn = faults.torn_apart(error, ctx.meta.get("typed", []))
            if torn is not None:
                ctx.exit(faults.say(torn, in_json=in_json))
            told = faults.with_example(error)
            if in_json:
                click.echo(json.dumps(faults.as_json(told), ensure_ascii=False))
            if told is error:
                raise
            raise told from error
        except (KeyboardInterrupt, click.Abort):
            ctx.exit(faults.STOPPED)
        except TraywardError as error:
            ctx.exit(faults.say(error, in_json=in_json))
        except (click.exceptions.Exit, click.ClickException):
            raise
        except Exception as error:
            if isinstance(error, OSError) and error.errno == errno.EPIPE:
                raise
            given = ctx.obj if isinstance(ctx.obj, Given) else None
            ctx.exit(faults.say_fault(error, given, in_json=in_json))


cli = Trayward(
    "trayward",
    COMMANDS,
    help="The planner, round sheet and memory of a microgreens grower.",
    epilog="\b\nBegin with:\n  trayward init --setup shelf\n  trayward round",
    context_settings=dict(HELP_NAMES),
    no_args_is_help=True,
)
cli = click.version_option(__version__, prog_name="trayward")(cli)


def main() -> None:
    """Run the command line."""
    # The outlook's matrices are small: threads that wait for one another cost it more than they help.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    cli.main(prog_name="trayward")


if __name__ == "__main__":
    main()
