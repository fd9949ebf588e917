"""Commands for clean kit: wash and sanitise."""

from __future__ import annotations

from collections.abc import Sequence

import click

from trayward.cli import people
from trayward.cli.given import Given, command
from trayward.cli.numbers import WHOLE
from trayward.cli.show import written
from trayward.farm.entries import Sanitised, Washed
from trayward.farm.kit_clear import sanitise_missed, steps_missed, wash_missed
from trayward.farm.kit_marks import marks_words, read_marks
from trayward.units import parse_minutes


@command("wash", example='trayward wash "mesh mat" --soap "dish soap"', records=True, doubts=True)
@click.argument("pool")
@click.argument("count", type=WHOLE, required=False)
@click.option("--soap", default="", metavar="NAME", help='With what. Example: "dish soap".')
@click.option("--rinse", metavar="TEMPERATURE", help='Rinse water. Example: "100 F".')
@click.option("--marks", metavar="MARKS", help="Which, where they carry marks. Example: M1-M6.")
@click.option("--left-out", multiple=True, metavar="STEP", help="A step not done; they stay dirty. Example: rinse-hot.")
def wash(
    given: Given,
    pool: str,
    count: int | None,
    soap: str,
    rinse: str | None,
    marks: str | None,
    left_out: Sequence[str],
) -> None:
    """COUNT of the kit POOL washed, all that is dirty if you do not say; it dries from now."""
    steps = given.state.kit[pool].pool.wash_steps if pool in given.state.kit else ()
    receipt = given.farm.wash(
        pool,
        count,
        marks=read_marks(marks or ""),
        soap=soap,
        rinse_c=people.maybe(people.temperature, rinse, given.units),
        left_out=[_step(word, steps) for word in left_out],
        **given.said,
    )
    held = given.state.kit[pool]
    body = receipt.kept[0].entry.body
    assert isinstance(body, Washed)
    after = f"dry in about {held.pool.dry_hours:.0f} h"
    if wash_missed(held.pool, body) or steps_missed(held.pool, body):
        after = "not by the steps of this farm, so still dirty"
    elif held.pool.sanitise:
        after = "to sanitise next"
    elif held.washed:
        after = f"{held.washed} to sanitise next"
    written(given, receipt, f"Washed {_what(body)}, {after}.")


def _step(word: str, steps: Sequence[str]) -> str:
    """A step as the farm names it, also where it was typed with dashes."""
    return next((step for step in steps if word in (step, step.replace(" ", "-"))), word)


@command(
    "sanitise", example='trayward sanitise "mesh mat" --agent "peroxyacetic acid" --ppm 80', records=True, doubts=True
)
@click.argument("pool")
@click.argument("count", type=WHOLE, required=False)
@click.option("--agent", required=True, metavar="NAME", help='What with, by its label. Example: "peroxyacetic acid".')
@click.option("--ppm", metavar="STRENGTH", help="Strength as measured, in ppm. Example: 80.")
@click.option("--contact", metavar="TIME", help='Contact time. Example: "2 min".')
@click.option("--water", metavar="TEMPERATURE", help='Water it was mixed with. Example: "20 C".')
@click.option("--marks", metavar="MARKS", help="Which, where they carry marks. Example: M1-M6.")
def sanitise(
    given: Given,
    pool: str,
    count: int | None,
    agent: str,
    ppm: str | None,
    contact: str | None,
    water: str | None,
    marks: str | None,
) -> None:
    """COUNT of the kit POOL sanitised. Strength, time and protection: follow the label and local codes."""
    receipt = given.farm.sanitise(
        pool,
        agent,
        count,
        marks=read_marks(marks or ""),
        strength_ppm=people.number(ppm, "strength", "ppm") if ppm is not None else None,
        contact_min=parse_minutes(contact, name="contact time") if contact is not None else None,
        water_c=people.maybe(people.temperature, water, given.units),
        **given.said,
    )
    held, body = given.state.kit[pool].pool, receipt.kept[0].entry.body
    assert isinstance(body, Sanitised)
    missed = sanitise_missed(held, body)
    after = "outside the limits of this farm, so not cleared" if missed else f"dry in about {held.dry_hours:.0f} h"
    written(given, receipt, f"Sanitised {_what(body)}, {after}.")


def _what(body: Washed | Sanitised) -> str:
    which = f" ({marks_words(body.marks)})" if body.marks else ""
    return f"{body.count} of {body.pool}{which}"
