"""What a setup file says of the farm's sheets and labels: paper, address, wording, GS1 numbers."""

from __future__ import annotations

from typing import Literal, cast

from trayward.desk.setup.table import Table
from trayward.errors import InputError
from trayward.farm.settings import FarmPaper, GS1Item

SIZES = ("A4", "Letter")


def read_paper(farm: Table) -> FarmPaper:
    """The `[farm.paper]` table, where there is one."""
    table = farm.table("paper")
    if table is None:
        return FarmPaper()
    size = table.choice("size", SIZES, "A4") if table.has("size") else ""
    paper = FarmPaper(
        size=cast("Literal['', 'A4', 'Letter']", size),
        address=table.texts("address"),
        storage=table.text("storage", "Keep cold."),
        words=table.text("words", ""),
        web=_web(table),
        gs1_prefix=_prefix(table),
        gs1_items=_items(table),
    )
    table.finish()
    return paper


def _web(table: Table) -> str:
    address = table.text("web", "").rstrip("/")
    if address and not address.startswith(("https://", "http://")):
        table.wrong("web", "must be a web address", "Begin with https:// and the name of the place.")
        return ""
    return address


def _prefix(table: Table) -> str:
    prefix = table.text("gs1_prefix", "").replace(" ", "")
    if not prefix:
        return ""
    from trayward.codes.gs1.keys import require_prefix

    try:
        require_prefix(prefix)
    except InputError as error:
        table.wrong("gs1_prefix", error.rule, error.remedy)
        return ""
    return prefix


def _items(table: Table) -> tuple[GS1Item, ...]:
    """Products and their item references, each tried out with the prefix."""
    own = table.table("gs1_items")
    if own is None:
        return ()
    from trayward.codes.gs1.keys import gtin13

    prefix = str(table.values.get("gs1_prefix", "")).replace(" ", "")
    found = []
    for product in own.values:
        item = own.text(product, "").replace(" ", "")
        try:
            gtin13(prefix, item)
        except InputError as error:
            own.wrong(product, error.rule, error.remedy)
            continue
        found.append(GS1Item(product=product, item=item))
    own.finish()
    return tuple(found)
