"""What each recipe gives on this farm, beside what it began with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from trayward.desk.learning import Loss, RecipeLesson
from trayward.units import parse_mass
from trayward.web.drawing.ranges import Axis, Row
from trayward.web.drawing.scale import around, round_figures
from trayward.web.learn.shown import FEW, Shown, shown
from trayward.web.learn.words import Say

if TYPE_CHECKING:
    from trayward.outlook.types import Range


def weights(lessons: Sequence[RecipeLesson], say: Say) -> Shown:
    """What a tray of each recipe weighs, the heaviest first."""
    _ = say.words
    known = [(one, one.grams) for one in lessons if one.grams is not None]
    known.sort(key=lambda pair: -pair[1].likely)
    drawn = [
        Row(
            name=one.recipe,
            low=grams.low,
            mid=grams.likely,
            high=grams.high,
            faint=not one.cut,
            told=say.grams_between(grams.low, grams.high),
            before=_three(one.began_grams),
        )
        for one, grams in known
    ]
    rows = [
        (
            one.recipe,
            say.grams(grams.likely),
            say.grams_between(grams.low, grams.high),
            _began(one.began_grams, say),
            str(one.cut),
            one.grams_words,
        )
        for one, grams in known
    ]
    heads = (_("Recipe"), _("Likely"), _("8 in 10 trays"), _("Began with"), _("Trays cut"), _("Rests on"))
    return shown(
        _weights_words(lessons, say),
        heads,
        rows,
        drawn,
        Axis(words=_("a tray, in %(unit)s", unit=say.units.mass), figures=_grams_figures(drawn, say)),
    )


def _grams_figures(rows: Sequence[Row], say: Say) -> tuple[tuple[float, str], ...]:
    """Round figures along the edge, in the unit of the page, and where they stand. [g]"""
    held = [value for row in rows for value in (row.low, row.high, *(row.before or ()))]
    one = parse_mass(f"1 {say.units.mass}")
    top = around(held, also=0.0)[1] / one
    return tuple((value * one, say.number(f"{value:.6g}")) for value in round_figures(0.0, top, 4))


def _three(one: Range | None) -> tuple[float, float, float] | None:
    return None if one is None else (one.low, one.likely, one.high)


def _began(one: Range | None, say: Say) -> str:
    return "–" if one is None else say.grams_between(one.low, one.high)


def _weights_words(lessons: Sequence[RecipeLesson], say: Say) -> str:
    """The one sentence: what turned out most unlike its figures."""
    _ = say.words
    told = sum(one.cut for one in lessons)
    if not told:
        return _("No tray was cut yet: these are the figures your recipes began with.")
    apart = [
        (one.recipe, one.grams.likely, one.began_grams.likely)
        for one in lessons
        if one.cut >= FEW
        and one.grams is not None
        and one.began_grams is not None
        and not one.grams.low <= one.began_grams.likely <= one.grams.high
    ]
    if not apart:
        return _("Learned from %(count)s trays: they weigh about what their recipes said.", count=told)
    recipe, now, before = max(apart, key=lambda one: abs(one[1] / one[2] - 1))
    return _(
        "Learned from %(count)s trays: %(recipe)s gives likely %(now)s a tray, not the %(before)s it began with.",
        count=told,
        recipe=recipe,
        now=say.grams(now),
        before=say.grams(before),
    )


def times(lessons: Sequence[RecipeLesson], say: Say) -> Shown:
    """How many days each recipe takes, the quickest first."""
    _ = say.words
    ordered = sorted(lessons, key=lambda one: one.days.likely)
    drawn = [
        Row(
            name=one.recipe,
            low=one.days.low,
            mid=one.days.likely,
            high=one.days.high,
            faint=not one.seen,
            told=say.days_between(one.days.low, one.days.high),
            before=_three(one.began_days),
        )
        for one in ordered
    ]
    rows = [
        (
            one.recipe,
            say.days(one.days.likely),
            say.days_between(one.days.low, one.days.high),
            say.days_between(one.began_days.low, one.began_days.high),
            str(one.seen),
            one.days_words,
        )
        for one in ordered
    ]
    heads = (_("Recipe"), _("Likely days"), _("8 in 10 trays"), _("Began with"), _("Trays seen"), _("Rests on"))
    return shown(
        _times_words(ordered, say), heads, rows, drawn, Axis(words=_("days from sowing to ready"), write=say.number)
    )


def _times_words(ordered: Sequence[RecipeLesson], say: Say) -> str:
    _ = say.words
    if not any(one.seen for one in ordered):
        return _("No tray was seen through yet: these are the days your recipes began with.")
    seen = [one for one in ordered if one.seen]
    return _(
        "%(quick)s is quickest with likely %(few)s days, %(slow)s slowest with %(many)s.",
        quick=say.begun(seen[0].recipe),
        few=say.days(seen[0].days.likely),
        slow=seen[-1].recipe,
        many=say.days(seen[-1].days.likely),
    )


def losses(found: Sequence[Loss], say: Say) -> tuple[str, tuple[tuple[str, str, str, str], ...]]:
    """Trays thrown away: a sentence, and the recipes that lost some or well may."""
    _ = say.words
    ended, lost = sum(one.ended for one in found), sum(one.lost for one in found)
    if not ended:
        return _("No tray has ended yet."), ()
    rows = tuple(
        (one.recipe, str(one.ended), str(one.lost), _("%(some)s of 100", some=round(100 * one.chance)))
        for one in found
        if one.ended
    )
    return _("%(lost)s of %(ended)s trays were thrown away before the cut.", lost=lost, ended=ended), rows
