"""The command `outlook`: when trays are likely ready and what they bring, all of them, by recipe, or one in full."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime, timedelta
from typing import Any

import click
import msgspec

from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.given import Given, command
from trayward.cli.show import Column, answer, looks, range_words, stage_letter, stage_words, table, when_words, wrapped
from trayward.dates import day_words
from trayward.desk.lookup import lots_for, recipe_named, trays_named
from trayward.errors import Finding
from trayward.farm.recipes import Recipe
from trayward.farm.state import Tray
from trayward.outlook.ahead import Outlook
from trayward.outlook.types import Range, Reason, TrayOutlook, When
from trayward.pictures.types import TrayGroup
from trayward.rounds.words import between, likely_weight
from trayward.words import counted, listed

CROPS = "crops"
"""The word that asks for every recipe instead of trays."""
WORTH_SAYING = 0.05
"""A chance of loss above this is said. [-]"""
FEW_CROPS = 2
"""Of so many crops it is said what their weights rest on; of more, `outlook crops` says it in a table."""
DAY = timedelta(days=1)


@command("outlook", example="trayward outlook broccoli --picture broccoli.svg")
@click.argument("names", nargs=-1)
@click.option("--proposed", metavar="RECIPE", help="A tray of it, were it sown now. Example: broccoli.")
@with_picture
def outlook(given: Given, names: tuple[str, ...], proposed: str | None, picture: str | None, phone: bool) -> None:
    """
    When standing trays are likely ready, and what they bring: all, or NAMES (trays, sowings, shelves, crops).

    One tray is told in full: each stage, its weight, and why. For a crop or a recipe of which no tray grows: a tray
    sown now. The word crops alone: a tray of every recipe, sown now, and how far the farm's own trays bear it out.
    """
    drawing = Drawing(picture, phone=phone)
    ahead = given.farm.outlook(given.at)
    if names == (CROPS,) and proposed is None:
        return _by_recipe(given, ahead, drawing)
    standing, asked = _meant(given, names, proposed)
    found = [
        *(ahead.standing(tray) for tray in standing),
        *(sown_now(given, ahead, recipe) for recipe in asked),
    ]
    if len(found) == 1 and (names or proposed is not None):
        return _one(given, ahead, found[0], standing, drawing)
    return _many(given, found, drawing)


def _meant(given: Given, names: Sequence[str], proposed: str | None) -> tuple[list[Tray], list[Recipe]]:
    """Standing trays, and recipes to be sown now, that the words ask for."""
    if proposed is not None:
        return [], [recipe_named(given.state, proposed)]
    if not names:
        return given.state.growing(), []
    asked = [name for name in names if _may_be_sown(given, name)]
    trays: dict[str, Tray] = {}
    for name in names:
        if name not in asked:
            meant = _grown(given, name) or trays_named(given.state, [name], also=_crops(given))
            trays |= {tray.tray: tray for tray in meant if tray.fate == "growing"}
    return list(trays.values()), [recipe_named(given.state, name) for name in asked]


def sown_now(given: Given, ahead: Outlook, recipe: Recipe) -> TrayOutlook:
    """A tray sown now, of the lot that is next."""
    lots = lots_for(given.state, recipe.crop, given.at)
    return ahead.proposed(recipe, given.at, lots[0].lot if lots else "")


def _may_be_sown(given: Given, name: str) -> bool:
    """Whether a name is a crop or a recipe of which no tray grows."""
    known = any(name in (recipe.name, recipe.crop) for recipe in given.state.recipes.values())
    return known and not _grown(given, name)


def _crops(given: Given) -> list[str]:
    """Every crop and recipe that may be named."""
    recipes = given.state.recipes.values()
    return list(dict.fromkeys([*(recipe.crop for recipe in recipes), *(recipe.name for recipe in recipes)]))


def _grown(given: Given, name: str) -> list[Tray]:
    """Growing trays of a crop or a recipe."""
    return [tray for tray in given.state.growing() if name in (tray.crop, tray.recipe)]


# Many -----------------------------------------------------------------------------------------------------------------


def _many(given: Given, found: list[TrayOutlook], drawing: Drawing) -> None:
    groups = _alike(given, found)
    odd = given.farm.outlook_findings(given.at)
    told: dict[str, Any] = {"at": given.at, "trays": found, "findings": odd}
    told |= drawing.save(lambda wide: _picture(given, [group for group, _ in groups], wide))

    def human() -> None:
        _show_many(given, found, groups)
        looks(_with_ids(odd))

    answer(given, told, human)
    drawing.tell(given)


def _with_ids(odd: Iterable[Finding]) -> Iterator[Finding]:
    """What does not add up, each with the names of its entries, by which they can be struck."""
    for finding in odd:
        ids = listed([entry[:8] for entry in finding.entries], most=3)
        named = f"It was said in entry {ids}. {finding.remedy}".strip() if ids else finding.remedy
        yield msgspec.structs.replace(finding, remedy=named)


def _picture(given: Given, groups: list[TrayGroup], wide: Any) -> Any:
    from trayward.pictures.standing import standing_picture

    return standing_picture(groups, given.at, given.zone, unit=given.units.mass, wide=wide)


Group = tuple[TrayGroup, list[TrayOutlook]]


def _alike(given: Given, found: list[TrayOutlook]) -> list[Group]:
    """Trays whose outlook reads the same, the soonest ready first."""
    alike: dict[tuple[str, ...], list[TrayOutlook]] = {}
    for one in found:
        said = (when_words(one.ready, given.zone), range_words(one.grams, given.units), _lost_words(one.loss))
        alike.setdefault((one.crop, _stage_of(one), "" if one.tray else "now", *said), []).append(one)
    groups = [(_group(trays), trays) for trays in alike.values()]
    return sorted(groups, key=lambda group: (group[0].ready.likely, group[0].crop, group[1][0].tray))


def _group(trays: list[TrayOutlook]) -> TrayGroup:
    first = trays[0]
    return TrayGroup(
        crop=first.crop,
        stage=_stage_of(first),
        trays=sum(bool(one.tray) for one in trays),
        ready=first.ready,
        grams=first.grams,
        loss=first.loss,
    )


def _stage_of(one: TrayOutlook) -> str:
    return one.stages[0].stage if one.stages else "ready"


def _show_many(given: Given, found: list[TrayOutlook], groups: list[Group]) -> None:
    if not found:
        crop = next((recipe.crop for recipe in given.state.recipes.values()), "broccoli")
        quoted = f'"{crop}"' if " " in crop else crop
        wrapped(f"No trays are growing. A tray sown now: trayward outlook --proposed {quoted}", "  ")
        return
    rows, before = [], ""
    for group, trays in groups:
        likely, span = _ready_words(given, group)
        rows.append(("" if likely == before else likely, span, *_row(given, group, trays)))
        before = likely
    table(
        [
            Column("Ready", whole=True),
            Column("8 in 10", whole=True),
            "Crop",
            Column("Trays", whole=True),
            Column("A tray", right=True, whole=True),
            Column("8 in 10", right=True, whole=True),
            Column("Lost", right=True, whole=True),
        ],
        rows,
    )
    _explain_marks(groups)
    if len({one.crop for one in found}) <= FEW_CROPS:
        for words in dict.fromkeys(f"{one.crop}: {one.grams_basis.words}" for one in found):
            wrapped(words, "  ")


def _row(given: Given, group: TrayGroup, trays: list[TrayOutlook]) -> tuple[str, ...]:
    crop = f"{stage_letter(group.stage)} {group.crop}"
    likely, _, eight, _ = _weights(given, group.grams) if group.grams else ("not known", "", "", "")
    unit = likely.rpartition(" ")[2]
    return crop, _names(trays), likely, eight.removesuffix(f" {unit}"), _lost_words(group.loss)


def _explain_marks(groups: list[Group]) -> None:
    stages = dict.fromkeys(group.stage for group, _ in groups)
    words = f"{', '.join(stage_words(stage) for stage in stages)}."
    if any(_lost_words(group.loss) for group, _ in groups):
        words += " Lost: how many of 100 such trays are thrown away before the cut."
    wrapped(words, "  ")


def _ready_words(given: Given, group: TrayGroup) -> tuple[str, str]:
    """The likely day and the days that hold eight in ten; `now` for trays that stand ready."""
    if group.stage == "ready":
        return "now", ""
    span, _, likely = when_words(group.ready, given.zone).rpartition(", likely ")
    return likely, span


def _names(trays: list[TrayOutlook]) -> str:
    """Trays by name: `261116A.1-3` reads as a sowing's first to third, `261116A +2` as one of it and two more."""
    sowings: dict[str, list[str]] = {}
    for one in trays:
        sowing, _, number = one.tray.rpartition(".")
        sowings.setdefault(sowing, []).append(number)
    first, *others = sowings
    return f"{first} +{len(trays) - 1}" if others else _numbers(first, sowings[first])


def _numbers(sowing: str, numbers: list[str]) -> str:
    if not sowing:
        return numbers[0] or "sown now"
    whole = sorted(int(number) for number in numbers if number.isdigit())
    if len(whole) == len(numbers) > 1 and whole[-1] - whole[0] == len(whole) - 1:
        return f"{sowing}.{whole[0]}-{whole[-1]}"
    return f"{sowing}.{','.join(numbers)}"


def _lost_words(loss: float) -> str:
    return f"{loss * 100:.0f}" if loss > WORTH_SAYING else ""


# By recipe ------------------------------------------------------------------------------------------------------------


def _by_recipe(given: Given, ahead: Outlook, drawing: Drawing) -> None:
    state = given.state
    found = [sown_now(given, ahead, recipe) for recipe in state.recipes_in_use()]
    told: dict[str, Any] = {"at": given.at, "recipes": found}
    several = {crop for crop in (one.crop for one in found) if sum(one.crop == crop for one in found) > 1}
    groups = [_named_group(one, one.recipe if one.crop in several else one.crop) for one in found]
    told |= drawing.save(lambda wide: _picture(given, groups, wide))

    def human() -> None:
        rows = [_recipe_row(given, one, group.crop) for one, group in zip(found, groups, strict=True)]
        table(
            [
                "Sown now",
                Column("Days, 8 in 10", whole=True),
                Column("A tray, 8 in 10", whole=True),
                Column("Own", right=True),
                Column("Prior", right=True),
                Column("Lost", right=True),
            ],
            rows,
            none="The farm has no recipes yet. Add some to its setup file.",
        )
        if rows:
            wrapped("Own: trays cut here. Prior: how many trays the figures from elsewhere still count as.", "  ")
            if any(row[-1] for row in rows):
                wrapped("Lost: how many of 100 such trays are thrown away before the cut.", "  ")

    answer(given, told, human)
    drawing.tell(given)


def _named_group(one: TrayOutlook, name: str) -> TrayGroup:
    return TrayGroup(crop=name, stage=_stage_of(one), trays=0, ready=one.ready, grams=one.grams, loss=one.loss)


def _recipe_row(given: Given, one: TrayOutlook, name: str) -> tuple[str, ...]:
    basis = one.grams_basis
    prior = f"{basis.prior_trays:.1f}" if basis.prior_trays else "-"
    own = str(basis.own_trays)
    return name, _days(one.ready, given.at), range_words(one.grams, given.units), own, prior, _lost_words(one.loss)


def _days(ready: When, at: datetime) -> str:
    """Days from now in words: `9 to 12, likely 10`."""
    low, likely, high = (f"{(moment - at) / DAY:.0f}" for moment in (ready.low, ready.likely, ready.high))
    return f"{low} to {high}, likely {likely}" if low != high else likely


# One tray -------------------------------------------------------------------------------------------------------------


def _one(given: Given, ahead: Outlook, one: TrayOutlook, standing: list[Tray], drawing: Drawing) -> None:
    reasons = ahead.explain(standing[0]) if standing else ()
    told: dict[str, Any] = {"at": given.at, "trays": [one], "reasons": reasons}

    def draw(wide: Any) -> Any:
        from trayward.pictures.tray import tray_picture

        return tray_picture(one, reasons, given.at, given.zone, unit=given.units.mass, wide=wide)

    told |= drawing.save(draw)
    answer(given, told, lambda: _show_one(given, one, standing, reasons))
    drawing.tell(given)


def _show_one(given: Given, one: TrayOutlook, standing: list[Tray], reasons: Sequence[Reason]) -> None:
    wrapped(_heading(given, one, standing), "  ")
    rows = [(stage_words(end.stage), *_moments(given, end.ends)) for end in one.stages]
    if one.grams is not None:
        rows.append(("weight", *_weights(given, one.grams)))
    if rows:
        click.echo()
        table(["Ends", *(Column(words, whole=True) for words in ("Likely", "Half", "8 in 10", "19 of 20"))], rows)
        click.echo()
    if one.loss > WORTH_SAYING:
        wrapped(f"{_lost_words(one.loss)} of 100 such trays are thrown away before the cut.", "  ")
    for reason in reasons:
        wrapped(f"- {_reason_words(reason)}", "  ")
    wrapped(f"Days: {one.time_basis.words}", "  ")
    wrapped(f"Weight: {one.grams_basis.words}", "  ")


def _heading(given: Given, one: TrayOutlook, standing: list[Tray]) -> str:
    if not standing:
        return f"A tray of {one.recipe}, sown now."
    tray = standing[0]
    sown = day_words(tray.sown_at.astimezone(given.zone).date())
    spot = f", on {tray.spot}" if tray.spot else ""
    ready = "; it is ready to cut" if not one.stages else ""
    return f"Tray {tray.tray}, {one.recipe}: {stage_words(tray.stage)}, sown {sown}{spot}{ready}."


def _moments(given: Given, ends: When) -> tuple[str, str, str, str]:
    """The likely day, and the days that hold half, eight in ten and nineteen of twenty."""
    likely = day_words(ends.likely.astimezone(given.zone).date())
    pairs = (ends.half, (ends.low, ends.high), ends.most)
    half, eight, most = (_span(given, pair) if pair else "" for pair in pairs)
    return likely, half, eight, most


def _span(given: Given, pair: tuple[datetime, datetime]) -> str:
    low, high = pair
    words = when_words(When(low=low, likely=low, high=high), given.zone)
    return words.partition(", likely")[0]


def _weights(given: Given, grams: Range) -> tuple[str, str, str, str]:
    unit = given.units.mass
    pairs = (grams.half, (grams.low, grams.high), grams.most)
    half, eight, most = (
        between(likely_weight(pair[0], unit), likely_weight(pair[1], unit)) if pair else "" for pair in pairs
    )
    return likely_weight(grams.likely, unit), half, eight, most


def _reason_words(reason: Reason) -> str:
    """What the reason says of itself; else what it does, in figures."""
    if reason.words:
        return reason.words
    size = abs(reason.factor - 1) * 100
    of = "weight" if reason.about == "grams" else f"days of {reason.stage}" if reason.stage else "days"
    way = "as usual" if size < 0.5 else f"{size:.0f} % {'more' if reason.factor > 1 else 'less'}"
    rests = f", by {counted(reason.trays, 'tray')}" if reason.trays else ""
    return f"{reason.what}: {of} {way}{rests}."
