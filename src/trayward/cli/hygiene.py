"""Commands for clean kit: wash and sanitise."""

from __future__ import annotations

import click

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.numbers import WHOLE
from trayward.cli.show import written
from trayward.farm.entries import KitBody
from trayward.units import parse_minutes


@command("wash", example='trayward wash "mesh mat" --soap "dish soap"', records=True)
@click.argument("pool")
@click.argument("count", type=WHOLE, required=False)
@click.option("--soap", default="", metavar="NAME", help='With what. Example: "dish soap".')
@click.option("--rinse", metavar="TEMPERATURE", help='Rinse water. Example: "100 F".')
def wash(given: Given, pool: str, count: int | None, soap: str, rinse: str | None) -> None:
    """COUNT of the kit POOL washed, all that is dirty if you do not say; it dries from now."""
    warm = people.maybe(people.temperature, rinse, given.units)
    receipt = given.farm.wash(pool, count, soap=soap, rinse_c=warm, **given.said)
    held = given.state.kit[pool].pool
    after = "to sanitise next" if held.sanitise else f"dry in about {held.dry_hours:.0f} h"
    written(given, receipt, f"Washed {_count(receipt.kept[0].entry.body)} of {pool}, {after}.")


@command("sanitise", example='trayward sanitise "mesh mat" --agent "peroxyacetic acid" --ppm 80', records=True)
@click.argument("pool")
@click.argument("count", type=WHOLE, required=False)
@click.option("--agent", required=True, metavar="NAME", help='What with, by its label. Example: "peroxyacetic acid".')
@click.option("--ppm", metavar="STRENGTH", help="Strength as measured, in ppm. Example: 80.")
@click.option("--contact", metavar="TIME", help='Contact time. Example: "2 min".')
@click.option("--water", metavar="TEMPERATURE", help='Water it was mixed with. Example: "20 C".')
def sanitise(
    given: Given,
    pool: str,
    count: int | None,
    agent: str,
    ppm: str | None,
    contact: str | None,
    water: str | None,
) -> None:
    """COUNT of the kit POOL sanitised. Strength, time and protection: follow the label and local codes."""
    receipt = given.farm.sanitise(
        pool,
        agent,
        count,
        strength_ppm=people.number(ppm, "strength", "ppm") if ppm is not None else None,
        contact_min=parse_minutes(contact, name="contact time") if contact is not None else None,
        water_c=people.maybe(people.temperature, water, given.units),
        **given.said,
    )
    hours = given.state.kit[pool].pool.dry_hours
    written(given, receipt, f"Sanitised {_count(receipt.kept[0].entry.body)} of {pool}, dry in about {hours:.0f} h.")


def _count(body: object) -> int:
    assert isinstance(body, KitBody)
    return body.count
