"""Commands from the knife to the customer: cut, strip, pack, deliver, throw."""

from __future__ import annotations

from collections.abc import Sequence

import click

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.numbers import WHOLE
from trayward.cli.show import written
from trayward.cli.when import day_said, parse_day
from trayward.errors import InputError
from trayward.farm.entries import Delivered, LineDelivered, LotGrams, PackCount, Packed
from trayward.units import show_mass
from trayward.words import counted, listed


@command("cut", example='trayward cut 261125A.1=95g 261125A.2="3.4 oz" --height "1/2 in"', records=True, doubts=True)
@click.argument("weights", nargs=-1, required=True, metavar="TRAY=GRAMS...")
@click.option("--height", metavar="LENGTH", help='Cut that high above the medium. Example: "1/2 in".')
@click.option("--regrow", is_flag=True, help="The trays stay for another cut. Example: --regrow.")
@click.option("--harvest", default="", metavar="LOT", help="Harvest lot; made up if left out. Example: H261204A.")
def cut(given: Given, weights: Sequence[str], height: str | None, regrow: bool, harvest: str) -> None:
    """Cut trays into one harvest lot, with the grams of each; a sowing's name shares its grams over its trays."""
    grams = people.grams_of(weights, given.units, "261125A.1=95g")
    high = people.maybe(people.length, height, given.units)
    receipt = given.farm.cut(grams, height_mm=high, regrow=regrow, harvest=harvest, **given.said)
    total = show_mass(sum(grams.values()), given.units.mass)
    written(given, receipt, f"Cut {listed(list(grams))}: {total}, harvest lot {receipt.names[0]}.")


@command("strip", example="trayward strip 261125A", records=True, doubts=True)
@click.argument("trays", nargs=-1, required=True)
def strip(given: Given, trays: Sequence[str]) -> None:
    """Cut or discarded TRAYS scraped clean; their kit is dirty now, and waits to be washed."""
    receipt = given.farm.strip(trays, **given.said)
    written(given, receipt, f"Stripped {listed(trays)}. Next: wash.")


@command("pack", example='trayward pack broccoli 4 --each "50 g"', records=True, doubts=True)
@click.argument("product")
@click.argument("packs", type=WHOLE)
@click.option("--each", metavar="WEIGHT", help='Net weight of a pack; the product\'s if left out. Example: "50 g".')
@click.option("--from", "parts", multiple=True, metavar="LOT=GRAMS", help="From a harvest lot. Example: H261204A=200g.")
@click.option("--best-before", metavar="DAY", help="Last good day; worked out if left out. Example: 2026-12-09.")
def pack(
    given: Given, product: str, packs: int, each: str | None, parts: Sequence[str], best_before: str | None
) -> None:
    """Fill PACKS packs of PRODUCT from what was cut, oldest first unless you say from which lots."""
    receipt = given.farm.pack(
        product,
        packs,
        pack_g=people.maybe(people.mass, each, given.units),
        parts=people.grams_of(parts, given.units, "H261204A=200g") if parts else None,
        best_before=parse_day(best_before, given.today, "best before") if best_before else None,
        **given.said,
    )
    body = receipt.kept[0].entry.body
    assert isinstance(body, Packed)
    good = f", best before {day_said(body.best_before, given.today)}" if body.best_before else ""
    size = show_mass(body.pack_g, given.units.mass)
    written(given, receipt, f"Packed {body.pack}: {counted(packs, 'pack')} of {product}, {size} each{good}.")


@command("deliver", example='trayward deliver "Corner Cafe"', records=True, doubts=True)
@click.argument("customer")
@click.option("--day", metavar="DAY", help="Lines due that day; today if left out. Example: friday.")
@click.option("--trays", metavar="TRAYS", help="Live trays that go out, with commas. Example: 261125A.1.")
@click.option(
    "--line", metavar="LINE", help="Only this order line, as you say with the options below. Example: O261127A/1."
)
@click.option("--packs", multiple=True, metavar="PACK=COUNT", help="Packs for --line. Example: P261204A=2.")
@click.option("--loose", multiple=True, metavar="LOT=GRAMS", help="Loose grams for --line. Example: H261204A=95g.")
@click.option("--document", default="", metavar="NUMBER", help="Delivery note's number. Example: 1042.")
def deliver(
    given: Given,
    customer: str,
    day: str | None,
    trays: str | None,
    line: str | None,
    packs: Sequence[str],
    loose: Sequence[str],
    document: str,
) -> None:
    """Deliver to CUSTOMER what is due, packs first, then loose grams, oldest first; or one line as you say."""
    if line is None and (packs or loose):
        raise InputError("line", "not said", "--packs and --loose are for one order line", "Say which with --line.")
    if line is not None:
        told = _line(given, line, people.names(trays) or [], packs, loose)
        receipt = given.farm.deliver(customer, [told], document=document, **given.said)
    else:
        due = parse_day(day, given.today) if day else given.today
        receipt = given.farm.deliver_due(
            customer, due, trays=people.names(trays) or (), document=document, **given.said
        )
    body = receipt.kept[0].entry.body
    assert isinstance(body, Delivered)
    written(given, receipt, f"Delivered {body.delivery} to {customer}: {_went_out(given, body)}.")


def _line(given: Given, line: str, trays: Sequence[str], packs: Sequence[str], loose: Sequence[str]) -> LineDelivered:
    counts = {name: people.whole(text, f"packs of {name}") for name, text in people.pairs(packs, "P261204A=2").items()}
    grams = people.grams_of(loose, given.units, "H261204A=95g")
    return LineDelivered(
        line=line,
        packs=tuple(PackCount(pack=name, packs=count) for name, count in counts.items()),
        loose=tuple(LotGrams(harvest=name, grams=weight) for name, weight in grams.items()),
        trays=tuple(trays),
    )


def _went_out(given: Given, body: Delivered) -> str:
    from trayward.trace.words import went_words

    packs = sum(count.packs for line in body.lines for count in line.packs)
    grams = sum(part.grams for line in body.lines for part in line.loose)
    trays = sum(len(line.trays) for line in body.lines)
    return f"{counted(len(body.lines), 'line')}, {went_words(packs, grams, trays, given.units.mass)}"


@command("throw", example='trayward throw H261204A=40g P261204A=2 --reason "past its day"', records=True, doubts=True)
@click.argument("amounts", nargs=-1, required=True, metavar="LOT=AMOUNT...")
@click.option("--reason", required=True, metavar="WORDS", help='Why. Example: "past its day".')
def throw(given: Given, amounts: Sequence[str], reason: str) -> None:
    """Throw away cut crop that will not be sold: grams of each harvest lot, packs of each pack lot."""
    said = people.pairs(amounts, "H261204A=40g or P261204A=2")
    packed = {lot: text for lot, text in said.items() if lot in given.state.packs}
    packs = {lot: people.whole(text.removesuffix("packs"), f"packs of {lot}") for lot, text in packed.items()}
    grams = {lot: people.mass(text, given.units, name=lot) for lot, text in said.items() if lot not in packed}
    receipt = given.farm.throw_away(grams, reason, packs=packs, **given.said)
    total = show_mass(sum(grams.values()), given.units.mass) if grams else ""
    told = ", ".join(part for part in (total, counted(sum(packs.values()), "pack") if packs else "") if part)
    written(given, receipt, f"Thrown away: {told} of {listed(list(said))}, {reason}.")
