"""The demo: Lantern Loft, an invented farm with a history, its order sheet, its plan and its coming round."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from time import monotonic

import click

from trayward import Farm
from trayward.cli.given import DEFAULT_BOOK, Given, command
from trayward.cli.numbers import whole
from trayward.cli.plan_shown import show_plan
from trayward.cli.round_sheet import show_round
from trayward.cli.serving import HOST, PORT, serve_pages
from trayward.cli.show import answer, wrapped
from trayward.farm.calendar import rounds_of

DEMO_BOOK = "lantern-loft.sqlite"
WEEKS = 6


@command("demo", example="trayward demo --book lantern-loft.sqlite", records=True)
@click.option("--days", type=whole(20, 400), default=60, show_default=True, help="History. Example: 90.")
@click.option("--serve/--no-serve", "serves", default=True, help="Open the pages at the end, or only print.")
@click.option("--port", type=whole(0, 65535), default=PORT, show_default=True, help="Of the pages. Example: 8471.")
def demo(given: Given, days: int, serves: bool, port: int) -> None:
    """Make Lantern Loft, an invented farm with two months of history; take in its orders, plan, and open its pages."""
    if given.book == DEFAULT_BOOK:
        given.book = DEMO_BOOK
    started = monotonic()

    def tell(words: str) -> None:
        click.echo(f"  {monotonic() - started:5.1f} s  {words}", err=True)

    farm = _farm(given, days, tell)
    given.ctx.call_on_close(farm.close)
    given.__dict__["farm"] = farm
    sheet = _take_in_orders(given, tell)
    tell(f"planning {WEEKS} weeks: 96 spots, 14 recipes, 9 customers")
    plan = farm.plan(given.at, weeks=WEEKS)
    farm.keep_plan(plan, **given.said)
    tell("planned")
    coming = farm.round(_coming_round(given))
    told = {"book": given.shown_book, "orders": sheet, "entries": farm.book.head().seq, "plan": plan, "round": coming}

    def human() -> None:
        click.echo()
        show_plan(given, plan)
        click.echo()
        show_round(given, coming)
        _next_steps(given, sheet)

    answer(given, told, human)
    if serves and not given.json:
        click.echo()
        serve_pages(given, HOST, port, or_any_port=True)


def _farm(given: Given, days: int, tell: Callable[[str], None]) -> Farm:
    from trayward.study.demo import make_demo

    if "://" not in given.book and Path(given.book).is_file():
        tell(
            f"Lantern Loft is here already, in {given.shown_book}; what it holds is kept. For a fresh one: --book NAME"
        )
        return Farm.open(given.book)
    tell(f"Lantern Loft, an invented farm, lives {days} days into {given.shown_book}")
    return make_demo(given.book, now=given.now, tell=tell, days=days, careful=True)


def _take_in_orders(given: Given, tell: Callable[[str], None]) -> str:
    """Write the order sheet beside the book, and record what the book does not know yet."""
    from trayward.desk.sheets.demo import demo_order_sheet
    from trayward.study.demo import take_in_orders

    text = demo_order_sheet(given.today)
    path = Path(given.book if "://" not in given.book else DEMO_BOOK).with_name("lantern-loft-orders.csv")
    if path.exists():
        text = path.read_text(encoding="utf-8")
    else:
        path.write_text(text, encoding="utf-8")
    receipt = take_in_orders(given.farm, text, at=given.at)
    orders = len(receipt.kept) if receipt is not None else 0
    tell(f"order sheet {path}: {orders} new orders" if orders else f"order sheet {path}: all known already")
    return str(path)


def _coming_round(given: Given) -> datetime:
    """Now, if there is anything to do now; else when the next walk begins."""
    if given.farm.round(given.at).rows:
        return given.at
    day = given.today
    walks = [*rounds_of(day, given.settings), *rounds_of(day + timedelta(days=1), given.settings)]
    return next(began for began, _ in walks if began > given.at)


def _next_steps(given: Given, sheet: str) -> None:
    book = f" --book {given.shown_book}"
    click.echo()
    wrapped("Lantern Loft, its people and its customers are invented. Type next:")
    for words, what in (
        ("serve", "the pages: round, racks, orders in a browser"),
        ("round", "the present round again; answer with: round answer 1 moist"),
        ("plan --look-only", "the plan, without keeping it"),
        ("tray", "every tray that stands; tray story NAME tells one's life"),
        ("outlook", "when each tray is likely ready, and what it will weigh"),
        ("seed", "the seed on the shelf"),
        ("stores order", "what to order of seed and supplies, by when, of whom"),
        ("sensors", "the cold room and a grow room; sensors show NAME tells their days"),
        (f"order import {sheet}", "read the order sheet again: nothing changes"),
        ("book verify", "check the chain of the book"),
    ):
        click.echo(f"  trayward {words}{book}")
        click.echo(f"      {what}")
