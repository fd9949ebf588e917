"""The command `learn trial`: the next trial worth making, kept, sown day by day, and what it has said so far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.given import Given, command
from trayward.cli.show import Column, answer, looks, receipt_json, table, wrapped
from trayward.errors import InputError
from trayward.farm.entries import SowingMade
from trayward.pictures.forest import percent
from trayward.units import show_mass
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.outlook.learning.trials import LevelSaid, TrialSaid
    from trayward.outlook.learning.worth_trying import NextTrial

MOST_RANKED = 5
"""So many trials are told, the best before the others."""
LEVERS = {"density": "live seeds a cm2", "blackout": "days of blackout"}


@command("trial", example='trayward learn trial --keep "denser radish"', records=True)
@click.argument("name", required=False)
@click.option("--keep", metavar="NAME", help='Keep the proposed trial under this name. Example: "denser radish".')
@click.option("--sow", "sowing", is_flag=True, help="Sow the next day of the trial NAME. Example: --sow.")
@with_picture
def trial(given: Given, name: str | None, keep: str | None, sowing: bool, picture: str | None, phone: bool) -> None:
    """The next trial worth making; or what the trial NAME has said so far."""
    drawing = Drawing(picture, phone=phone)
    _one_wish(name, keep, sowing=sowing, drawing=drawing)
    if name is not None:
        return _sow_day(given, name) if sowing else _show_trial(given, name, drawing)
    proposed = given.farm.next_trial(given.at)
    return _propose(given, proposed) if keep is None else _keep(given, proposed, keep)


def _one_wish(name: str | None, keep: str | None, *, sowing: bool, drawing: Drawing) -> None:
    """Raise `InputError` where the words cannot all be meant."""
    if name is not None and keep is not None:
        raise InputError("keep", keep, f"the trial {name} is named already", "Leave one of the two out.")
    if sowing and name is None:
        raise InputError("sow", "no trial", "it must be said which", "Name it: trayward learn trial NAME --sow.")
    if drawing.file is not None and (name is None or sowing):
        rule = "there is nothing to draw before trays are cut"
        raise InputError("picture", drawing.file, rule, "Name a kept trial: trayward learn trial NAME.")


def _propose(given: Given, proposed: NextTrial) -> None:
    told = {"at": given.at, "next_trial": proposed, "kept": list(given.state.trials.values())}

    def human() -> None:
        wrapped(proposed.words, "  ")
        if proposed.best is not None:
            wrapped("To keep it: trayward learn trial --keep NAME")
        rest = [one for one in proposed.ranked if one is not proposed.best][: MOST_RANKED - 1]
        if proposed.best is not None and rest:
            click.echo()
            rows = [_ranked_row(one) for one in rest]
            columns = [Column(words, right=True) for words in ("Trays", "Cost", "Likely net")]
            table(["Also", "Levels", *columns], rows)
        for kept in given.state.trials.values():
            wrapped(f"Kept: {kept.name}, {kept.recipe}. See it: {_see_trial(kept.name)}", "  ")

    answer(given, told, human)


def _ranked_row(one: Any) -> tuple[str, ...]:
    levels = ", ".join(f"{level:.3g}" for level in one.candidate.levels)
    return one.recipe, f"{levels} {LEVERS[one.what]}", str(one.candidate.trays), f"{one.cost:.2f}", f"{one.net:+.2f}"


def _see_trial(name: str) -> str:
    return f"trayward learn trial {_quoted(name)}"


def _quoted(name: str) -> str:
    return f'"{name}"' if " " in name else name


def _keep(given: Given, proposed: NextTrial, name: str) -> None:
    """Keep the best trial proposed; the order of its levels is drawn by lot, the same for the same name and moment."""
    import zlib

    from numpy.random import default_rng

    best = proposed.best
    if best is None:
        raise InputError("keep", name, "there is no trial to keep", proposed.words)
    if name in given.state.trials:
        raise InputError("keep", name, "there is a trial of that name", "Choose another name.")
    chosen = best.candidate
    receipt = given.farm.set_trial(
        name,
        best.recipe,
        best.what,
        chosen.levels,
        blocks=chosen.blocks,
        trays_each=chosen.trays_each,
        rng=default_rng(zlib.crc32(f"{name} {given.at.isoformat()}".encode())),
        **given.said,
    )
    kept = given.state.trials[name]

    def human() -> None:
        wrapped(f"Kept trial {name}: {counted(kept.trays, 'tray')} of {kept.recipe}, in this order.", "  ")
        rows = [
            (str(day), ", ".join(f"{level:.3g}" for level in order), counted(kept.trays_each, "tray"))
            for day, order in enumerate(kept.orders, start=1)
        ]
        table([Column("Sowing day", right=True), LEVERS[kept.what].capitalize(), "Of each"], rows)
        wrapped(f"On each sowing day: trayward learn trial {_quoted(name)} --sow", "  ")
        looks(receipt.findings)

    answer(given, receipt_json(receipt) | {"trial": kept}, human)


def _sow_day(given: Given, name: str) -> None:
    receipt = given.farm.sow_trial_day(name, **given.said)
    kept, levels = given.state.trials[name], given.farm.trial_levels(name, given.at)

    def human() -> None:
        for entry in receipt.kept:
            body = entry.entry.body
            assert isinstance(body, SowingMade)
            grams = sum(used.grams for used in body.lots) / len(body.trays)
            places = ", ".join(f"{one.tray} on {one.spot}" if one.spot else one.tray for one in body.trays)
            seed = f"{show_mass(grams, given.units.mass)} of {', '.join(used.lot for used in body.lots)} each"
            level = levels.get(body.trays[0].tray)
            unit = "day of blackout" if kept.what == "blackout" and level == 1 else LEVERS[kept.what]
            meant = f"{level:.3g} {unit}, " if level is not None else ""
            wrapped(f"Sown {places}: {meant}{seed}.", "  ")
        if kept.what == "blackout":
            wrapped(f"Label them, and turn each to light after its own days. Again: {_see_trial(name)}", "  ")
        looks(receipt.findings)

    answer(given, receipt_json(receipt), human)


def _show_trial(given: Given, name: str, drawing: Drawing) -> None:
    said, levels = given.farm.trial_said(name, given.at), given.farm.trial_levels(name, given.at)
    told: dict[str, Any] = {"at": given.at, "trial": said, "levels": levels} | drawing.save(
        lambda wide: _trial_picture(said, wide)
    )

    def human() -> None:
        wrapped(said.words, "  ")
        if said.levels:
            click.echo()
            columns = [Column(words, right=True) for words in ("Trays", "All told", "8 in 10", "Trial alone", "Best")]
            table(
                [Column(LEVERS[said.what].capitalize(), right=True), *columns], [_level_row(one) for one in said.levels]
            )
            wrapped(f"Weight against {said.reference:.3g}. Best: in how many of 10 cases it is the best.", "  ")
        for trays, what in (
            (said.growing, "Still growing"),
            (said.lost, "Thrown away"),
            (said.off, "At none of its levels"),
        ):
            if trays:
                named = [f"{tray} ({levels[tray]:.3g})" if tray in levels else tray for tray in trays]
                wrapped(f"{what}: {', '.join(named)}.", "  ")
        if said.growing and levels:
            wrapped(f"In brackets: {LEVERS[said.what]}.", "  ")

    answer(given, told, human)
    drawing.tell(given)


def _level_row(one: LevelSaid) -> tuple[str, ...]:
    low, middle, high = one.together
    alone = percent(one.alone[1]) if one.alone is not None else "-"
    return (
        f"{one.level:.3g}", str(one.trays), percent(middle), f"{percent(low)} to {percent(high)}", alone,
        f"{one.chance * 10:.0f}",
    )  # fmt: skip


def _trial_picture(said: TrialSaid, wide: Any) -> Any:
    from trayward.pictures.forest import forest_picture
    from trayward.pictures.types import Factor

    rows = [
        Factor(
            what=f"{one.level:.3g} {LEVERS[said.what]}",
            factor=one.together[1],
            low=one.together[0],
            high=one.together[2],
            trays=one.trays,
        )
        for one in said.levels
    ]
    heading = f"Weight of a tray, against {said.reference:.3g}" if said.reference is not None else ""
    return forest_picture(rows, said.words, heading=heading, wide=wide)
