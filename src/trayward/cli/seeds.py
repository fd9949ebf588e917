"""Commands for seed lots: list, receive, test, weigh, story."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import click

from trayward.cli import people
from trayward.cli.given import Given, group
from trayward.cli.numbers import NUMBER
from trayward.cli.show import Column, Columns, answer, table, wrapped, written
from trayward.cli.stories import tell_story
from trayward.cli.when import day_said, parse_day
from trayward.dates import day_words
from trayward.desk.lookup import facts_of
from trayward.errors import NotFoundError
from trayward.farm.density import bulk_density
from trayward.farm.live_seed import live_seed
from trayward.farm.state import SeedLot
from trayward.science.viability import LiveShare
from trayward.units import parse_minutes, show_mass


@group("seed", example="trayward seed")
def seed(given: Given) -> None:
    """The seed lots: what is left, and what is known of them."""
    show_lots(given)


@seed.add("list", example="trayward seed list")
def list_(given: Given) -> None:
    """Every seed lot that is not used up, or on order."""
    show_lots(given)


def show_lots(given: Given) -> None:
    """The lots as a table, or in JSON."""
    lots = [lot for lot in given.state.seed.values() if lot.left_g > 0.05 or lot.expected_on is not None]
    live = {lot.lot: _live(given, lot) for lot in lots}
    columns: Columns = [
        "Lot",
        "Crop",
        "Variety",
        Column("Left", True, True),
        Column("Sprouts", True),
        Column("1000 seeds", True),
        "Here since",
    ]
    rows = [
        (
            lot.lot,
            lot.crop,
            lot.variety,
            show_mass(lot.left_g if lot.expected_on is None else lot.received_g, given.units.mass),
            _sprouts(live[lot.lot]) + (" assumed" if lot.live_share is None and live[lot.lot] else ""),
            f"{lot.tsw_g:.3g} g" if lot.tsw_g is not None else "",
            _since(given, lot),
        )
        for lot in lots
    ]
    told = {"seed": lots, "sprouts": {lot: _told(share) for lot, share in live.items()}}
    answer(given, told, lambda: _show_lots(columns, rows))


def _show_lots(columns: Columns, rows: Sequence[Sequence[str]]) -> None:
    table(columns, rows)
    if rows:
        wrapped("Sprouts: what is likely today by label, own tests and age; 8 in 10 such lots lie in the brackets.")


def _live(given: Given, lot: SeedLot) -> LiveShare | None:
    return live_seed(lot, facts_of(given.state, lot.crop), given.at)


def _sprouts(share: LiveShare | None) -> str:
    """For instance `91 % (86 to 95)`."""
    if share is None:
        return "not known"
    return f"{share.mean * 100:.0f} % ({share.low * 100:.0f} to {share.high * 100:.0f})"


def _told(share: LiveShare | None) -> dict[str, float | str] | None:
    """A live share for JSON: likely, its 8-in-10 range [-], and what it rests on."""
    if share is None:
        return None
    return {"likely": share.mean, "low": share.low, "high": share.high, "basis": share.basis}


def _since(given: Given, lot: SeedLot) -> str:
    if lot.expected_on is not None:
        return f"on order for {day_words(lot.expected_on)}"
    return day_words(lot.received_at.astimezone(given.zone).date())


@seed.add(
    "receive", example='trayward seed receive B1 broccoli "500 g" --germination "92 %"', records=True, doubts=True
)
@click.argument("lot")
@click.argument("crop")
@click.argument("weight")
@click.option("--variety", default="", metavar="NAME", help="Variety. Example: Green Sprouting.")
@click.option("--supplier", default="", metavar="NAME", help="Who sold it. Example: Hillside Seeds.")
@click.option("--supplier-lot", default="", metavar="LOT", help="The supplier's own lot. Example: 7731.")
@click.option("--germination", metavar="SHARE", help='Share that sprouts, by the label. Example: "92 %".')
@click.option("--tsw", metavar="WEIGHT", help='Weight of a thousand seeds. Example: "3.2 g".')
@click.option("--cost", type=NUMBER, default=0.0, metavar="MONEY", help="What all of it cost. Example: 24.50.")
@click.option("--treated", is_flag=True, help="Treated with anything: not for eating fresh. Example: --treated.")
@click.option("--document", default="", metavar="NUMBER", help="Invoice or delivery note. Example: 5521.")
@click.option("--expected", metavar="DAY", help="On order, comes that day. Example: 2026-12-01.")
def receive(
    given: Given,
    lot: str,
    crop: str,
    weight: str,
    variety: str,
    supplier: str,
    supplier_lot: str,
    germination: str | None,
    tsw: str | None,
    cost: float,
    treated: bool,
    document: str,
    expected: str | None,
) -> None:
    """A delivery of seed: your name for the LOT, its CROP and its WEIGHT. With --expected: on order."""
    _known_crop(given, crop)
    coming: date | None = parse_day(expected, given.today, "expected") if expected else None
    grams = people.mass(weight, given.units, density=bulk_density(facts_of(given.state, crop)))
    receipt = given.farm.receive_seed(
        lot,
        crop,
        grams,
        variety=variety,
        supplier=supplier,
        supplier_lot=supplier_lot,
        germination=people.share(germination, "germination"),
        tsw_g=people.maybe(people.mass, tsw, given.units),
        cost=cost,
        treated=treated,
        document=document,
        expected_on=coming,
        **given.said,
    )
    here = f"on order for {day_said(coming, given.today)}" if coming else "received"
    written(given, receipt, f"Seed lot {lot}: {show_mass(grams, given.units.mass)} of {crop}, {here}.")


def _known_crop(given: Given, crop: str) -> None:
    from trayward.library.crops import crop_names

    known = {recipe.crop for recipe in given.state.recipes.values()} | set(crop_names())
    if crop not in known:
        raise NotFoundError("crop", crop, tuple(sorted(known)), "See them with: trayward crop")


@seed.add("test", example='trayward seed test B1 --sprouted "43 of 50" --days 4', records=True, doubts=True)
@click.argument("lot")
@click.option("--sprouted", metavar="COUNT", help='How many of how many came up. Example: "43 of 50".')
@click.option("--tsw", metavar="WEIGHT", help='Weight of a thousand seeds. Example: "3.2 g".')
@click.option("--days", metavar="TIME", help="How long it took. Example: 4.")
def test(given: Given, lot: str, sprouted: str | None, tsw: str | None, days: str | None) -> None:
    """A seed test of LOT: how many came up, and / or what a thousand seeds weigh. It is counted with the label."""
    _known_lot(given, lot)
    some, whole = people.counted(sprouted) if sprouted is not None else (None, None)
    receipt = given.farm.test_seed(
        lot,
        sprouted=some,
        tested=whole,
        tsw_g=people.maybe(people.mass, tsw, given.units),
        days=parse_minutes(days, default="d", name="days") / 1440 if days is not None else None,
        **given.said,
    )
    tested = given.state.seed[lot]
    live = _live(given, tested)
    share = f", {_sprouts(live)} sprout, {live.basis}" if live is not None else ""
    weight = f", 1000 seeds weigh {tested.tsw_g:.3g} g" if tested.tsw_g is not None else ""
    written(given, receipt, f"Tested {lot}{share}{weight}.")


def _known_lot(given: Given, lot: str) -> SeedLot:
    """A seed lot of the farm. Raises `NotFoundError` with names nearly so."""
    held = given.state.seed
    if lot not in held:
        raise NotFoundError("seed lot", lot, tuple(held), "See them with: trayward seed")
    return held[lot]


@seed.add("weigh", example='trayward seed weigh B1 "310 g"', records=True, doubts=True)
@click.argument("lot")
@click.argument("weight")
@click.option("--reason", default="", metavar="WORDS", help='Why it differs. Example: "spilled some".')
def weigh(given: Given, lot: str, weight: str, reason: str) -> None:
    """What is left of LOT, as the scale says; the record agrees with the scale from now on."""
    held = _known_lot(given, lot)
    grams = people.mass(weight, given.units, density=bulk_density(facts_of(given.state, held.crop)))
    receipt = given.farm.weigh_seed(lot, grams, reason, **given.said)
    written(given, receipt, f"Weighed {lot}: {show_mass(grams, given.units.mass)} left.")


@seed.add("story", example="trayward seed story B1")
@click.argument("lot")
def story(given: Given, lot: str) -> None:
    """Everything that happened to a seed LOT, in plain words."""
    lines = given.farm.lot_story(lot, given.at)
    live = _live(given, given.state.seed[lot])

    def human() -> None:
        tell_story(lines)
        if live is not None:
            wrapped(f"Today {_sprouts(live)} sprout, {live.basis}.")

    answer(given, {"story": lines, "sprouts": _told(live)}, human)
