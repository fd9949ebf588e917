"""What a trial says so far, level by level."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trayward.web.drawing.ranges import Row
from trayward.web.learn.shown import Shown, factor_axis, shown
from trayward.web.learn.words import Say, levers

if TYPE_CHECKING:
    from trayward.outlook.learning.trials import TrialSaid


def trial_levels(found: TrialSaid, say: Say) -> Shown:
    """The levels of a trial against the present one."""
    _ = say.words
    lever = levers(say)[found.what]
    drawn = [
        Row(
            name=f"{say.level(one.level)} {lever}",
            low=one.together[0],
            mid=one.together[1],
            high=one.together[2],
            told=say.more_between(one.together[0], one.together[2]),
            stands_out=found.standing == "settled" and one.level == found.best,
        )
        for one in found.levels
    ]
    rows = [
        (
            say.level(one.level),
            str(one.trays),
            say.more(one.together[1]),
            say.more_between(one.together[0], one.together[2]),
            say.more(one.alone[1]) if one.alone is not None else "–",
            _("%(some)s in 10", some=round(10 * one.chance)),
        )
        for one in found.levels
    ]
    heads = (lever.capitalize(), _("Trays"), _("Weight, all told"), _("8 in 10"), _("This trial alone"), _("Best"))
    return shown(found.words, heads, rows, drawn, factor_axis(drawn, say))
