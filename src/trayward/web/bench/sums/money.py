"""The sums of the money bench: what a tray costs, a price, break-even, one gram of seed more, what moves it most."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from trayward.bench import typed as people
from trayward.web.bench.sums.declared import (
    NUMBER,
    US_OPTION,
    Answer,
    Bench,
    Choice,
    Given,
    answered,
    drawn,
    option,
    units_of,
)
from trayward.web.bench.sums.money_given import FEE, a_day, a_week_bought, about_a_tray, told_of

if TYPE_CHECKING:
    from trayward.bench.money_moves import Moves
    from trayward.pictures.look import Wide
    from trayward.pictures.page import Picture

SUMS = (
    ("tray", "What a tray costs, line by line, and 100 g and a pack of it."),
    ("price", "What to ask so that a share of the price is left."),
    ("break-even", "How many trays a week pay the rent and what else always comes."),
    ("density", "What one gram more of seed costs and brings, and how much pays best."),
    ("moves", "Which figure moves the cost, or what is left, most; with a picture."),
)
DAYS_A_WEEK = 7


money = Bench("money", "What a tray costs, what to ask for it, and what moves that.", SUMS)


@money.add("tray", example='trayward bench money tray broccoli --seed-price "28/kg"')
@about_a_tray
@US_OPTION
def tray(given: Given, typed: dict[str, Any], us: bool | None) -> Answer:
    """
    What a tray of CROP costs, and 100 g that can be sold.

    With a farm, its own account: lots, recipe, wages, kit and lamps, and what its trays weigh. What you type counts
    before that. Without one, the library's tray with example prices, marked as such: type yours.
    """
    from trayward.bench.money import tray_sheet

    units = units_of(given, us)
    return answered(tray_sheet(told_of(given, units, typed)), units)


@money.add("price", example='trayward bench money price broccoli --margin "40 %"')
@option("--margin", required=True, metavar="SHARE", help="Of the price, to be left. Example: 40 %.")
@FEE
@about_a_tray
@US_OPTION
def price(given: Given, typed: dict[str, Any], margin: str, fee: str | None, us: bool | None) -> Answer:
    """What to ask for CROP so that a share of the price is left once all is paid."""
    from trayward.bench.money import price_sheet

    units = units_of(given, us)
    shares = people.share(margin, "margin") or 0.0, people.share(fee, "fee") or 0.0
    return answered(price_sheet(told_of(given, units, typed), *shares), units)


@money.add("break-even", example='trayward bench money break-even pea --price 4.50 --fixed "rent=350 a month"')
@option("--fixed", multiple=True, metavar="NAME=MONEY", help='Again for more. Example: "rent=350 a month".')
@option("--bought", multiple=True, metavar="NAME=MONEY", help='Its wear. Example: "rack=480 over 5 years".')
@option("--planned", type=NUMBER, metavar="TRAYS", help="Trays sold a week. Example: 30.")
@FEE
@about_a_tray
@US_OPTION
def break_even(
    given: Given,
    typed: dict[str, Any],
    fixed: tuple[str, ...],
    bought: tuple[str, ...],
    planned: float | None,
    fee: str | None,
    us: bool | None,
) -> Answer:
    """How many trays of CROP a week pay the costs that come whether you sow or not."""
    from trayward.bench.money import break_even_sheet

    units = units_of(given, us)
    weekly = {name: DAYS_A_WEEK * a_day(text, name) for name, text in people.pairs(fixed, "rent=350").items()}
    weekly |= {
        name: a_week_bought(text, name) for name, text in people.pairs(bought, '"rack=480 over 5 years"').items()
    }
    told = told_of(given, units, typed)
    sheet = break_even_sheet(told, weekly, fee=people.share(fee, "fee") or 0.0, planned=planned)
    return answered(sheet, units)


@money.add("density", example="trayward bench money density radish --price 4.50")
@FEE
@about_a_tray
@US_OPTION
def density(given: Given, typed: dict[str, Any], fee: str | None, us: bool | None) -> Answer:
    """
    What one gram more of seed on a tray of CROP costs and brings, and how much seed pays best.

    With a farm whose trays were sown at several densities, by their own answer; else by published trials.
    """
    from trayward.bench.money_density import density_sheet

    units, share = units_of(given, us), people.share(fee, "fee") or 0.0
    told, answering = told_of(given, units, typed), None
    if told.asked:
        from trayward.web.bench.sums.money_farm import farm_answering

        answering = farm_answering(given, told, share)
    return answered(density_sheet(told, answering, share), units)


@money.add("moves", example='trayward bench money moves broccoli --swing "20 %" --picture moves.svg')
@option("--swing", default="20 %", show_default=True, metavar="SHARE", help="Lower and higher. Example: 10 %.")
@option("--of", type=Choice(("cost", "margin")), default="cost", help="The sum. Example: margin.")
@drawn
@about_a_tray
@US_OPTION
def moves(given: Given, typed: dict[str, Any], swing: str, of: Any, us: bool | None) -> Answer:
    """Which figure moves the cost of 100 g of CROP, or what a tray leaves, most when it is lower and higher."""
    from trayward.bench.money_moves import moves as what_moves
    from trayward.bench.money_moves import moves_sheet

    units = units_of(given, us)
    share, told = people.share(swing, "swing") or 0.0, told_of(given, units, typed)
    sheet, found = moves_sheet(told, share, of), what_moves(told, share, of)
    return answered(sheet, units, {"moves": found.rows}, draw=lambda wide: _picture(found, share, told.currency, wide))


def _picture(found: Moves, share: float, currency: str, wide: Wide) -> Picture:
    from trayward.pictures.swings import swings_picture
    from trayward.pictures.types import SwingFigures, Swung

    rows = tuple(Swung(what=row.what, now=row.now, lower=row.lower, higher=row.higher) for row in found.rows)
    figures = SwingFigures(what=found.what, base=found.base, share=share, currency=currency, rows=rows)
    return swings_picture(figures, found.title, wide=wide)
