"""Which public rules may apply to the farm: readings with their sources, and no verdict."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.given import Given, command
from trayward.cli.show import answer, wrapped
from trayward.errors import InputError

if TYPE_CHECKING:
    from trayward.desk.ruling import RulesSaid
    from trayward.library.rules import CropAsked, Reading, Threshold

COUNTRIES = ("US", "EU", "GB")


@command("rules", example="trayward rules --country US --produce 18000")
@click.option("--country", type=click.Choice(COUNTRIES), help="Where the farm is. Example: EU.")
@click.option("--medium", type=click.Choice(("soil or substrate", "mat", "water")), help="Of every crop. Example: mat.")
@click.option("--roots", type=click.Choice(("cut off", "with roots")), help='At sale. Example: "cut off".')
@click.option("--stage", type=click.Choice(("before true leaves", "at true leaves")), help="When taken.")
@click.option("--cuts", type=click.Choice(("farm", "customer")), help="Who cuts it. Example: farm.")
@click.option("--crop", "only", multiple=True, metavar="CROP", help="Only this crop. Example: broccoli.")
@click.option("--listed", multiple=True, metavar="CROP=YES/NO:WHY", help='Example: "basil=yes:a fresh herb".')
@click.option("--produce", type=float, help="Produce sold a year, average of 3. [USD] Example: 18000.")
@click.option("--food", type=float, help="All food sold a year, average of 3. [USD] Example: 18000.")
@click.option("--near", multiple=True, metavar="CUSTOMER", help="A consumer, or a restaurant or shop nearby.")
@click.option("--near-share", type=float, help="Their share of food sales, in percent. Example: 80.")
@click.option("--set", "own", multiple=True, metavar="NAME=USD", help="A threshold you looked up yourself.")
@click.option("--anew", is_flag=True, help="Leave aside the answers that were kept. Example: --anew.")
def rules(
    given: Given, country: str | None, medium: str | None, roots: str | None, stage: str | None, cuts: str | None,
    only: Sequence[str], listed: Sequence[str], produce: float | None, food: float | None, near: Sequence[str],
    near_share: float | None, own: Sequence[str], anew: bool,
) -> None:  # fmt: skip
    """Which public rules may apply to a farm like this, why, what each would ask for, and what the farm keeps of it.

    Answers kept on the page of rules count, and what is said here goes before them. It gives no verdict: defer to local
    codes and licensed practice.
    """
    from trayward.desk.ruling import answers_kept, farm_asked, records_kept, sales_known
    from trayward.hygiene.kinds import DEFER
    from trayward.library.rules import readings, thresholds

    said = {"medium": medium, "roots": roots, "stage": stage, "cuts": cuts}
    kept = answers_kept("" if anew else given.settings.rules)
    country = country or kept.country or None
    figures = kept.own | _figures(own)
    limits = thresholds(figures, given.today if figures else None)
    sales = sales_known(given.farm, given.at)
    farm = farm_asked(
        given.farm, given.at, near=near or kept.near, sales=sales, crops=_crops(kept.crop, said, _listed(listed)),
        said={
            **kept.figures,
            **_said(country=country, produce=produce, food=food,
                    near_share=None if near_share is None else near_share / 100),
        },
    )  # fmt: skip
    farm = _only(farm, only)
    found = readings(farm, figures) if country else ()
    counts = records_kept(given.farm, given.at)
    told = {
        "facts": farm, "sales": sales, "readings": found, "thresholds": limits,
        "answers": kept.words,
        "kept": {kind: counts.get(kind, 0) for each in found for kind in each.records}, "defer": DEFER,
    }  # fmt: skip

    def human() -> None:
        if not country:
            click.echo("Say where the farm is: --country US, EU or GB.")
        if kept.words:
            wrapped(f"By the answers kept on the page of rules: {_kept_words(kept)}. Leave them aside: --anew.")
        for each in found:
            _tell(each, counts)
        if country == "US":
            _tell_thresholds(limits)
        wrapped(DEFER)

    answer(given, told, human)


def _said(**said: float | str | None) -> dict[str, float | str]:
    """What was said, without what was not."""
    return {name: value for name, value in said.items() if value is not None}


def _kept_words(kept: RulesSaid) -> str:
    near = f"; near: {', '.join(kept.near)}" if kept.near else ""
    return "; ".join(f"{name} {word}" for name, word in kept.words.items() if name != "near") + near


def _figures(own: Sequence[str]) -> dict[str, float]:
    found = {}
    for words in own:
        name, _, figure = words.partition("=")
        try:
            found[name.strip()] = float(figure.replace(",", ""))
        except ValueError:
            raise InputError("set", words, "no amount", "Say it as us_qualified=600000.") from None
    return found


def _listed(words: Sequence[str]) -> dict[str, tuple[bool, str]]:
    found = {}
    for each in words:
        crop, _, rest = each.partition("=")
        told, _, why = rest.partition(":")
        if told.strip().lower() not in ("yes", "no") or not why.strip():
            raise InputError("listed", each, "says no yes or no with a reason", 'Say it as "basil=yes:a fresh herb".')
        found[crop.strip()] = (told.strip().lower() == "yes", why.strip())
    return found


def _crops(
    kept: Callable[[CropAsked], CropAsked], said: dict[str, str | None], listed: dict[str, tuple[bool, str]]
) -> Any:
    import msgspec

    changed = {name: value for name, value in said.items() if value is not None}

    def change(crop: CropAsked) -> CropAsked:
        more = dict(zip(("listed", "why"), listed[crop.crop], strict=True)) if crop.crop in listed else {}
        return msgspec.structs.replace(kept(crop), **changed, **more)

    return change


def _only(farm: Any, only: Sequence[str]) -> Any:
    import msgspec

    if not only:
        return farm
    known = {crop.crop for crop in farm.crops}
    for name in only:
        if name not in known:
            raise InputError("crop", name, "the farm has no recipe of it", f"Take one of: {', '.join(sorted(known))}.")
    return msgspec.structs.replace(farm, crops=tuple(crop for crop in farm.crops if crop.crop in only))


def _tell(each: Reading, kept: dict[str, int]) -> None:
    from trayward.hygiene.kinds import title_of

    crops = f" ({', '.join(each.crops)})" if each.crops else ""
    wrapped(f"{each.leaning.capitalize()}: {each.title}{crops}", "  ")
    for why in each.because:
        wrapped(f"  {why}", "  ")
    for date in each.dates:
        wrapped(f"  {date.title} {date.value} ({date.source}; checked {date.checked}).", "    ")
    for kind in each.records:
        count = kept.get(kind, 0)
        there = f"{count} in the last year" if count else "none in the last year"
        wrapped(f"  - {title_of(kind)}: {there}", "    ")
    for other in each.others:
        wrapped(f"  - {other}", "    ")
    memory = "" if each.seen else " From memory, confirm before relying on it."
    wrapped(f"  Source: {each.source}.{memory}", "    ")
    click.echo("")


def _tell_thresholds(limits: Sequence[Threshold]) -> None:
    click.echo("Thresholds, as settings (--set NAME=USD):")
    for each in limits:
        memory = "" if each.seen else "; from memory"
        wrapped(
            f"  {each.key} = {each.value:,.0f} {each.unit}, base year {each.base_year}: {each.title}. {each.source}"
            f"{memory}; checked {each.checked}. {each.note.capitalize()}.",
            "    ",
        )
    click.echo("")
