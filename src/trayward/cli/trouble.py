"""Commands for trouble on trays: the guide from signs to causes, saying what is seen, clearing what was held back."""

from __future__ import annotations

from collections.abc import Sequence

import click
import msgspec

from trayward.cli import people
from trayward.cli.given import Given, Group, group
from trayward.cli.show import Columns, answer, receipt_json, table, wrapped, written
from trayward.errors import InputError
from trayward.farm.holds import held_trays
from trayward.farm.settings import TemperatureUnit
from trayward.library.trouble import Cause, Sign, Told, find_signs, sign_said, trouble_guide
from trayward.rounds.guide import guide_temperatures
from trayward.rounds.trouble_rank import Ranked
from trayward.sources import PRACTICE, source
from trayward.words import listed

LIKELY = 0.1
"""Causes less likely than this are only named. [-]"""


class _ByWords(Group):
    """A first word that is no command is a tray, whose trouble is said, or everyday words to find a sign by."""

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """The command meant."""
        if self.get_command(ctx, args[0]) is None and not args[0].startswith("-"):
            tray = any(letter.isdigit() for letter in args[0])
            name = "see" if tray else "find"
            return name, self.get_command(ctx, name), args
        return super().resolve_command(ctx, args)


@group("trouble", example='trayward trouble "white fuzz"', kind=_ByWords)
def trouble(given: Given) -> None:
    """Signs of trouble; with words, what they may be; with a tray and a sign, that it was seen."""
    guide = trouble_guide()
    columns: Columns = ["Sign", "What it looks like"]
    rows = [(sign.name, sign.look) for sign in guide.signs]

    def show() -> None:
        table(columns, rows)
        _show_held(given)
        click.echo("More: trayward trouble SIGN. Say it: trayward trouble TRAY SIGN")

    answer(given, {"signs": msgspec.to_builtins(guide.signs), "held": given.farm.held_back(given.at)}, show)


@trouble.add("find", example='trayward trouble find "they fell over"')
@click.argument("words", nargs=-1, required=True)
def find(given: Given, words: Sequence[str]) -> None:
    """Signs that WORDS may mean, each with its likely causes, what to look for and what to do."""
    said = " ".join(words)
    named = sign_said(said)
    found = (named,) if named is not None else find_signs(said)
    if not found:
        known = listed([sign.name for sign in trouble_guide().signs], most=20)
        raise InputError("words", said, "no sign of the guide is like it", f"Signs: {known}.")
    answer(given, {"signs": [_as_data(sign) for sign in found]}, lambda: _show_signs(found, given.units.temperature))


@trouble.add("see", example='trayward trouble see 261125A.1 "white fuzz" --yes "gone when misted"', records=True)
@click.argument("trays", nargs=-1, required=True)
@click.argument("sign")
@click.option("--cause", default="", metavar="CAUSE", help='What it most likely is. Example: "root hairs".')
@click.option("--where", default="", metavar="WORDS", help="edge, middle, patches or all over. Example: edge.")
@click.option("--share", metavar="SHARE", help='How much of the tray. Example: "20 %".')
@click.option("--yes", multiple=True, metavar="LOOK", help='A look that showed it. Example: "gone when misted".')
@click.option("--no", "no", multiple=True, metavar="LOOK", help="A look that did not show it. Example: smells.")
@click.option("--note", default="", metavar="WORDS", help='Anything else. Example: "under the fan".')
def see(
    given: Given,
    trays: Sequence[str],
    sign: str,
    cause: str,
    where: str,
    share: str | None,
    yes: Sequence[str],
    no: Sequence[str],
    note: str,
) -> None:
    """SIGN was seen on TRAYS: kept, and told with what of each tray's own records speaks for each cause."""
    part = people.share(share, "share")
    looks = dict.fromkeys(yes, True) | dict.fromkeys(no, False)
    receipt = given.farm.see_trouble(
        trays, sign, cause=cause, where=where, share=part, looks=looks, note=note, **given.said
    )
    body = receipt.kept[0].entry.body
    names = list(getattr(body, "trays", trays))
    known = sign_said(sign)
    ranked: tuple[Ranked, ...] = ()
    if known is not None:
        ranked = given.farm.likely_causes(names[0], known.name, where=where, share=part, looks=looks, at=given.at)
    held = held_trays(given.state, names)
    told = f"Trouble on {listed(names)}: {getattr(body, 'sign', sign)}."
    if held:
        told += f" Held back, {listed(dict.fromkeys(held.values()))}: not cut, packed or sold until it is cleared."
    if given.json:
        answer(given, {**receipt_json(receipt), "likely": msgspec.to_builtins(ranked)}, lambda: None)
        return
    written(given, receipt, told)
    _show_ranked(ranked, given.units.temperature)


@trouble.add("clear", example='trayward trouble clear 261125A.1 --found "root hairs"', records=True)
@click.argument("trays", nargs=-1, required=True)
@click.option("--found", default="", metavar="WORDS", help='What it was instead. Example: "root hairs".')
@click.option("--note", default="", metavar="WORDS", help='How you know. Example: "gone when misted".')
def clear(given: Given, trays: Sequence[str], found: str, note: str) -> None:
    """TRAYS that were held back are well: somebody looked close and says what it was."""
    receipt = given.farm.clear_trouble(trays, found, note=note, **given.said)
    names = getattr(receipt.kept[0].entry.body, "trays", tuple(trays))
    written(given, receipt, f"Cleared {listed(names)}: it was {found}.")


@trouble.add("list", example="trayward trouble list")
def list_(given: Given) -> None:
    """Trays that are held back, growing or cut, as long as any of their crop is here."""
    held = given.farm.held_back(given.at)
    columns: Columns = ["Tray", "Held back for", "It is"]
    state = given.state
    rows = [(name, why, tray.fate if (tray := state.tray(name)) else "") for name, why in held.items()]
    answer(given, {"held": held}, lambda: table(columns, rows, none="No tray is held back."))


def _show_held(given: Given) -> None:
    held = given.farm.held_back(given.at)
    if held:
        click.echo(f"Held back: {listed([f'{name} ({why})' for name, why in held.items()], most=8)}.")


def _as_data(sign: Sign) -> dict[str, object]:
    guide = trouble_guide()
    causes = [msgspec.to_builtins(guide.cause(each.cause)) for each in sign.causes]
    looks = [msgspec.to_builtins(guide.look(name)) for name in sign.looks]
    return {**msgspec.to_builtins(sign), "causes": causes, "looks": looks}


def _show_signs(signs: Sequence[Sign], degrees: TemperatureUnit) -> None:
    for sign in signs:
        _show_sign(sign, degrees)


def _show_sign(sign: Sign, degrees: TemperatureUnit) -> None:
    guide = trouble_guide()
    wrapped(f"{sign.title}: {sign.look}", "  ")
    if sign.hold:
        wrapped(f"Until you know what it is, the tray is held back ({sign.hold}).", "  ")
    wrapped("Look close: " + " ".join(guide.look(name).ask for name in sign.looks), "  ")
    for maybe in sign.causes:
        _show_cause(guide.cause(maybe.cause), degrees)
    click.echo("")


def _show_cause(cause: Cause, degrees: TemperatureUnit) -> None:
    click.echo(f"\n{cause.title}")
    for title, lines in (
        ("speaks for it", cause.speaks_for), ("against it", cause.against), ("now", cause.now),
        ("next time", cause.next_time),
    ):  # fmt: skip
        click.echo(f"  {title}:")
        for line in lines:
            wrapped(f"    {guide_temperatures(line.text, degrees)} [{_cited(line)}]", "      ")
    if cause.caution:
        wrapped(f"  CAUTION: {cause.caution}", "  ")


def _cited(line: Told) -> str:
    return "common practice, no source" if line.source == PRACTICE else source(line.source).citation.rstrip(".")


def _show_ranked(ranked: Sequence[Ranked], degrees: TemperatureUnit) -> None:
    guide = trouble_guide()
    for each in ranked:
        click.echo(f"{round(10 * each.chance)} in 10: {each.title}")
        for evidence in each.evidence if each.chance >= LIKELY else ():
            wrapped(f"  {'+' if evidence.speaks_for else '-'} {evidence.words}", "    ")
    if ranked:
        cause = guide.cause(ranked[0].cause)
        wrapped("Do now: " + " ".join(guide_temperatures(line.text, degrees) for line in cause.now))
        if cause.caution:
            wrapped(f"CAUTION: {cause.caution}")
        wrapped("The weights behind these shares are our judgement, for no source gives numbers; look close.")
