"""The command `learn`: what the records say of spread, lots, drift, losses, density, and past ranges and promises."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import click

from trayward.cli.drawing import Drawing, with_picture
from trayward.cli.given import Given, group
from trayward.cli.numbers import whole
from trayward.cli.show import Column, answer, table, wrapped
from trayward.cli.trialling import trial
from trayward.pictures.forest import percent
from trayward.rounds.words import likely_weight, weights_between
from trayward.words import counted

if TYPE_CHECKING:
    from trayward.desk.learning import Loss, StageLesson
    from trayward.outlook.learning.density import CurvePoint, DensityResponse
    from trayward.outlook.learning.drift import Drift, SeasonEffect
    from trayward.outlook.learning.effects import LotEffect
    from trayward.outlook.learning.shares import Spread
    from trayward.outlook.learning.standouts import StandOuts
    from trayward.outlook.types import Calibration
    from trayward.pictures.types import Factor
    from trayward.plan.kept_word import WordRow

FEW = 5
"""With fewer trays cut than this nothing is told apart; the figures are there in JSON all the same."""
MOST_LOTS = 20
"""So many lots are shown, those farthest from their like first."""
MOST_TOLD = 5
"""So many troubles are told where none stands out."""
CURVE_ROWS = 7
WORTH_LISTING = 0.05
"""A recipe with this chance of loss is listed in the overview, although none was lost yet. [-]"""
CAUSES = {
    "recipe": "recipe",
    "crop": "crop",
    "medium": "medium",
    "lot": "seed lot",
    "season": "season",
    "sowing": "sowing day",
    "density by crop": "a crop's answer to density",
    "tray": "tray to tray",
}
ONLY_LOT = "Only lot: its recipe was sown from no other, so this may be the recipe's doing as well."


@group("learn", example="trayward learn --picture spread.svg")
@with_picture
def learn(given: Given, picture: str | None, phone: bool) -> None:
    """What the records say: what explains the spread, what stands out, drift, losses, and the next trial."""
    drawing = Drawing(picture, phone=phone)
    farm, at = given.farm, given.at
    spread, stand_outs, drift = farm.spread(at), farm.stand_outs(at), farm.drift(at)
    stages, losses, trial = farm.stage_learning(at), farm.losses(at), farm.next_trial(at)
    told: dict[str, Any] = {
        "at": at, "spread": spread, "stand_outs": stand_outs, "drift": drift, "stages": stages, "losses": losses,
        "next_trial": trial,
    }  # fmt: skip
    told |= drawing.save(lambda wide: _spread_picture(spread, wide))

    def human() -> None:
        _overview(spread, stand_outs, drift, stages)
        _show_losses(losses)
        _heading("Next trial")
        wrapped(trial.words)

    answer(given, told, human)
    drawing.tell(given)


def _overview(spread: Spread, stand_outs: Sequence[StandOuts], drift: Drift, stages: Sequence[StageLesson]) -> None:
    if spread.trays < FEW:
        wrapped(_too_few(spread.trays))
        return
    _heading("What explains the spread", first=True)
    known = [stage.spread for stage in stages if stage.spread.trays >= FEW]
    if not spread.shares:
        wrapped(spread.words)
    _show_shares(spread, known)
    if spread.one_lot_each:
        from trayward.outlook.learning.shares import ONE_LOT_EACH

        wrapped(ONE_LOT_EACH.strip())
    _heading("What stands out")
    for kind in stand_outs:
        wrapped(f"Weight: {kind.words}", "  ")
    for stage in stages:
        if stage.stand_outs.found:
            wrapped(f"Days in {stage.spread.stage}: {stage.stand_outs.words}", "  ")
    _heading("Drift")
    wrapped(drift.words)


def _show_shares(spread: Spread, stages: Sequence[Spread]) -> None:
    """Shares of the weights' spread with their ranges, and of each stage's days beside them."""
    whole = [spread, *stages]
    causes = dict.fromkeys(part.what for one in whole for part in one.shares)
    rows = []
    for cause in causes:
        parts = [next((part for part in one.shares if part.what == cause), None) for one in whole]
        first = parts[0]
        span = f"{first.low * 100:.0f} to {_share(first.high)}" if first is not None else ""
        shown = [_share(part.share) if part is not None else "" for part in parts]
        rows.append((CAUSES.get(cause, cause), shown[0], span, *shown[1:]))
    heads = ["Weight", "8 in 10", *(f"Days, {one.stage}" for one in stages)]
    table(["Cause", *(Column(head, right=True) for head in heads)], rows)


def _share(share: float) -> str:
    return f"{share * 100:.0f} %"


def _too_few(trays: int) -> str:
    cut = f"{counted(trays, 'tray')} cut so far" if trays else "No tray cut so far"
    return f"{cut}: nothing can be told apart yet."


def _heading(words: str, *, first: bool = False) -> None:
    if not first:
        click.echo()
    click.echo(words)


def _show_losses(losses: Sequence[Loss]) -> None:
    ended = sum(one.ended for one in losses)
    _heading("Losses")
    if not ended:
        wrapped("No tray has ended yet.")
        return
    lost = sum(one.lost for one in losses)
    wrapped(f"{lost} of {counted(ended, 'tray')} thrown away before the cut.")
    risky = [one for one in losses if one.lost or (one.ended and one.chance >= WORTH_LISTING)]
    rows = [(one.recipe, str(one.ended), str(one.lost), f"{one.chance * 100:.0f} of 100") for one in risky]
    if rows:
        columns = [Column(words, right=True) for words in ("Ended", "Lost", "Likely of the next")]
        table(["Recipe", *columns], rows)


def _spread_picture(spread: Spread, wide: Any) -> Any:
    from trayward.pictures.shares import shares_picture
    from trayward.pictures.types import Part

    parts = [
        Part(what=CAUSES.get(part.what, part.what), share=part.share, low=part.low, high=part.high)
        for part in spread.shares
    ]
    first = max(parts, key=lambda part: part.share, default=None)
    title = (
        f"Of the spread of weights, {_share(first.share)} comes from {_with_article(first.what)}."
        if first is not None and spread.trays >= FEW
        else _too_few(spread.trays)
    )
    if spread.trays >= FEW and not spread.shares:
        title = spread.words
    if spread.one_lot_each and spread.trays >= FEW:
        title += " Lot and recipe cannot be told apart yet."
    return shares_picture(parts, title, heading=f"By {counted(spread.trays, 'tray')} cut", wide=wide)


def _with_article(cause: str) -> str:
    return cause if cause in ("tray to tray",) or cause.startswith("a ") else f"the {cause}"


# Lots -----------------------------------------------------------------------------------------------------------------


@learn.add("lots", example="trayward learn lots --picture lots.svg")
@with_picture
def lots(given: Given, picture: str | None, phone: bool) -> None:
    """Seed lots whose trays are heavier or lighter than their like, and whether that is more than chance gives."""
    drawing = Drawing(picture, phone=phone)
    effects, kinds = given.farm.lot_effects(given.at), given.farm.stand_outs(given.at)
    named = {one.name for kind in kinds if kind.kind == "lot" for one in kind.found}
    words = next((kind.words for kind in kinds if kind.kind == "lot"), "No lot to compare yet.")
    told: dict[str, Any] = {"at": given.at, "lots": effects, "stand_outs": kinds, "words": words}
    told |= drawing.save(lambda wide: _lots_picture(effects, named, words, wide))

    def human() -> None:
        wrapped(words, "  ")
        rows = [
            (
                one.lot,
                percent(one.factor),
                f"{percent(one.low)} to {percent(one.high)}",
                str(one.trays),
                _mark(one, named),
            )
            for one in _farthest(effects, named)
        ]
        if rows:
            click.echo()
            columns = [Column(words, right=True) for words in ("Weight", "8 in 10", "Trays")]
            table(["Lot", *columns, ""], rows)
        if any(one.alone for one in _farthest(effects, named)):
            wrapped(ONLY_LOT, "  ")
        if len(effects) > len(rows):
            click.echo(f"{len(effects) - len(rows)} more lots, nearer to their like; all of them: --json.")

    answer(given, told, human)
    drawing.tell(given)


def _mark(one: LotEffect, named: set[str]) -> str:
    if one.lot in named:
        return "stands out"
    return "only lot" if one.alone else ""


def _farthest(effects: Sequence[LotEffect], named: set[str]) -> list[LotEffect]:
    """Those that stand out, and the farthest of the others; the heaviest first."""
    far = sorted(effects, key=lambda one: (one.lot not in named, -abs(one.factor - 1)))[:MOST_LOTS]
    return sorted(far, key=lambda one: (-one.factor, one.lot))


def _lots_picture(effects: Sequence[LotEffect], named: set[str], words: str, wide: Any) -> Any:
    from trayward.pictures.forest import forest_picture
    from trayward.pictures.types import Factor

    rows = [
        Factor(
            what=f"lot {one.lot}",
            factor=one.factor,
            low=one.low,
            high=one.high,
            trays=one.trays,
            stands_out=one.lot in named,
        )
        for one in _farthest(effects, named)
    ]
    alone = bool(effects) and all(one.alone for one in effects)
    heading = "Weight of a tray: of the lot or of its recipe" if alone else "Weight of a tray, against other lots"
    return forest_picture(rows, words, heading=heading, wide=wide)


# Drift ----------------------------------------------------------------------------------------------------------------


@learn.add("trouble", example="trayward learn trouble")
def trouble(given: Given) -> None:
    """How often each trouble came with a crop, seed lot, shelf, density or damp air, against all other sowings."""
    found = given.farm.trouble_patterns(given.at)
    shown = found.named or found.rows[:MOST_TOLD]
    figures = (Column(name, right=True) for name in ("In", "Likely", "Others"))
    columns: list[Column | str] = ["Trouble", "With", *figures, "Stands out"]
    rows = [
        (
            row.sign, f"{row.kind} {row.name}", f"{row.cases} of {row.sowings}", f"{row.low:.0%} to {row.high:.0%}",
            f"{row.other_cases} of {row.other_sowings}", "yes" if row.stands_out else "no",
        )
        for row in shown
    ]  # fmt: skip

    def human() -> None:
        wrapped(found.words)
        if rows:
            table(columns, rows)

    answer(given, {"at": given.at, "trouble": found}, human)


@learn.add("drift", example="trayward learn drift --picture drift.svg")
@with_picture
def drift(given: Given, picture: str | None, phone: bool) -> None:
    """Whether weights rise or fall over the months, and how the seasons of four weeks compare."""
    drawing = Drawing(picture, phone=phone)
    found = given.farm.drift(given.at)
    told: dict[str, Any] = {"at": given.at, "drift": found} | drawing.save(lambda wide: _drift_picture(found, wide))

    def human() -> None:
        wrapped(found.words, "  ")
        rows = [
            (_season(one), percent(one.factor), f"{percent(one.low)} to {percent(one.high)}", str(one.trays))
            for one in found.seasons
        ]
        if rows:
            click.echo()
            columns = [Column(words, right=True) for words in ("Weight", "8 in 10", "Trays")]
            table([Column("Four weeks", whole=True), *columns], rows)

    answer(given, told, human)
    drawing.tell(given)


def _season(one: SeasonEffect) -> str:
    return f"{one.first:%d %b %Y} to {one.last:%d %b}".lstrip("0").replace(" to 0", " to ")


def _drift_picture(found: Drift, wide: Any) -> Any:
    from trayward.pictures.forest import forest_picture

    return forest_picture(
        _season_factors(found), found.words, heading="Weight of a tray, against the usual", in_time=True, wide=wide
    )


def _season_factors(found: Drift) -> list[Factor]:
    from trayward.pictures.types import Factor

    return [
        Factor(what=f"{one.first:%d %b}".lstrip("0"), factor=one.factor, low=one.low, high=one.high, trays=one.trays)
        for one in found.seasons
    ]


# Density --------------------------------------------------------------------------------------------------------------


@learn.add("density", example="trayward learn density radish --picture density.svg")
@click.argument("crop")
@with_picture
def density(given: Given, crop: str, picture: str | None, phone: bool) -> None:
    """How the weight of a tray of CROP (or a recipe) answers to seed density, and which density pays best."""
    drawing = Drawing(picture, phone=phone)
    found = given.farm.density_response(crop, given.at)
    told: dict[str, Any] = {"at": given.at, "density": found}
    told |= drawing.save(lambda wide: _density_picture(given, found, wide))

    def human() -> None:
        wrapped(found.words, "  ")
        unit = given.units.mass
        rows = [
            (f"{point.level:.3g}", likely_weight(point.grams, unit), weights_between(point.low, point.high, unit))
            for point in _some(found.curve)
        ]
        click.echo()
        columns = [Column(words, right=True) for words in ("Live seeds a cm2", "A tray", "8 in 10")]
        table(columns, rows)

    answer(given, told, human)
    drawing.tell(given)


def _some(curve: Sequence[CurvePoint]) -> list[CurvePoint]:
    """A few points of a curve, its ends among them."""
    last = len(curve) - 1
    places = dict.fromkeys(round(number * last / (CURVE_ROWS - 1)) for number in range(CURVE_ROWS)) if curve else {}
    return [curve[place] for place in places]


def _density_picture(given: Given, found: DensityResponse, wide: Any) -> Any:
    from trayward.pictures.density import density_picture
    from trayward.pictures.types import DensityFigures, OnCurve, Weighed

    recipe = given.state.recipes[found.recipe]
    best = found.best
    figures = DensityFigures(
        crop=found.crop,
        curve=tuple(OnCurve(density=one.level, low=one.low, likely=one.grams, high=one.high) for one in found.curve),
        weighed=tuple(Weighed(density=one.level, grams=one.grams) for one in found.trays),
        present=recipe.live_seeds_per_cm2,
        best=best.level if best is not None else None,
        at_the_end=best is not None and not best.peak,
    )
    title = f"{found.crop[:1].upper()}{found.crop[1:]}: {_density_title(found)}"
    return density_picture(figures, title, unit=given.units.mass, wide=wide)


def _density_title(found: DensityResponse) -> str:
    best = found.best
    if best is None:
        return "how the weight of a tray answers to density."
    if abs(best.level / best.present - 1) < 0.02:
        return f"the present {best.present:.3g} live seeds a cm² pays best, as far as is known."
    return f"{best.level:.3g} live seeds a cm² pays best, likely {best.gain.mean or 0.0:+.2f} a tray."


learn.add_command(trial)


# Calibration ----------------------------------------------------------------------------------------------------------


@learn.add("calibration", example="trayward learn calibration --picture calibration.svg")
@click.option("--weeks", type=whole(1, 104), default=12, show_default=True, help="How far back. Example: 26.")
@with_picture
def calibration(given: Given, weeks: int, picture: str | None, phone: bool) -> None:
    """How often the ranges foretold in past weeks held what then happened."""
    drawing = Drawing(picture, phone=phone)
    found = given.farm.calibration(given.at, weeks=weeks)
    told: dict[str, Any] = {"at": given.at, "calibration": found}
    told |= drawing.save(lambda wide: _calibration_picture(found, wide))

    def human() -> None:
        wrapped(found.words, "  ")
        rows = [
            (
                row.what,
                _share(row.promised),
                _share(row.held),
                f"{row.low * 100:.0f} to {_share(row.high)}",
                str(row.trays),
            )
            for row in found.rows
        ]
        if rows:
            click.echo()
            columns = [Column(words, right=True) for words in ("Promised", "Held", "May truly be", "Trays")]
            table(["Ranges of", *columns], rows)

    answer(given, told, human)
    drawing.tell(given)


def _calibration_picture(found: Calibration, wide: Any) -> Any:
    from trayward.pictures.calibration import calibration_picture

    return calibration_picture(found, found.words, wide=wide)


# Promises -------------------------------------------------------------------------------------------------------------

SO = {
    "held": "as told",
    "more": "more often than told",
    "less": "less often than told",
    "few": "too few to judge",
}


@learn.add("promises", example="trayward learn promises")
def promises(given: Given) -> None:
    """How the plan kept its word: of the order lines told 9 in 10, how many were met in full and on time."""
    found = given.farm.kept_word(given.at)

    def human() -> None:
        for words in found.words:
            wrapped(words, "  ")
        if found.rows:
            click.echo()
            columns = [Column(words, right=True) for words in ("Told", "Met", "May truly be", "Lines")]
            table([Column("Chance told", whole=True), *columns, "So"], [_word_row(row) for row in found.rows])
            click.echo()
            rows = [
                (_days_words(one.days_from, one.days_to), _share(one.promised), _share(one.kept), str(one.promises))
                for one in found.ahead
            ]
            columns = [Column(words, right=True) for words in ("Told", "Met", "Promises")]
            table([Column("Days before", whole=True), *columns], rows)
            wrapped("A line counts once for each day on which a plan was kept.", "  ")

    answer(given, {"at": given.at, "kept_word": found}, human)


def _word_row(row: WordRow) -> tuple[str, ...]:
    span = f"{row.low * 100:.0f} to {_share(row.high)}"
    return row.chance, _share(row.told), _share(row.met), span, str(row.lines), SO[row.so]


def _days_words(first: int, last: int) -> str:
    from trayward.plan.kept_word import FAR_DAYS

    return f"{first} or more" if last > FAR_DAYS else f"{first} to {last}"
