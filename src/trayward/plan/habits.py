"""What chances turn out to be on a farm, learned from how the plan kept its word, and followed by those it tells.

A chance is read off courses in which nobody thinks again, yet the grower plans anew every day, and things go wrong that
no course knows. So of what falls short in the courses a part is met all the same (`lift`), and of what is met there a
part is not (`slip`). Only what is told follows them; nothing is decided by them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.came_out import Came, came_out
from trayward.words import counted


class Span(NamedTuple):
    """Days ahead that learn together, and what is believed of them before there is a record. [d], [-]"""

    first: int
    last: int
    lift: float
    slip: float


SPANS = (
    Span(3, 6, 0.05, 0.009),
    Span(7, 13, 0.17, 0.019),
    Span(14, 20, 0.31, 0.036),
    Span(21, 400, 0.45, 0.043),
)
"""Chances follow the record from three days ahead on, each span of days its own: the more days are left, the more
second thoughts. The figures lie between those of two worlds, loft tight (2 seasons) and loft loose (3), with a plan
that learns and 25 promises of each line (own simulation, November 2026). Nearer days were not looked
into far enough."""
AS_LINES = 30.0
"""As many lines of the farm's own weigh as much as those. [-]"""
HALF = 50.0
"""After so many lines of the farm's own half of it is followed, without any nothing. [-]"""
HOPELESS = 0.5
"""What no course meets is met all the same so much more seldom than what half of them meet. [-]"""
MOST = 0.9
"""Lift and slip are together no more, so that of two lines the likelier stays the likelier. [-]"""


class Habit(msgspec.Struct, frozen=True, kw_only=True):
    """What chances told some days ahead turn out to be. [-]"""

    days_from: int
    days_to: int
    lift: float = 0.0
    """Of what falls short in the courses, the share that is met all the same; of what is nearly hopeless half of it."""
    slip: float = 0.0
    """Of what is met in the courses, the share that is not."""
    lines: int = 0
    """Lines that teach it."""

    def told(self, read: float) -> float:
        """
        The chance to tell, from that read off the courses.

        Examples
        --------
        >>> habit = Habit(days_from=3, days_to=6, lift=0.1, slip=0.02)
        >>> [round(habit.told(read), 3) for read in (0.0, 0.5, 1.0)]
        [0.05, 0.54, 0.98]
        """
        return read + self.lift * (1 - read) * within_reach(read) - self.slip * read


def within_reach(read: float) -> float:
    """How much of the lift a line gets: all of it where half of the courses meet it, less where fewer do. [-]"""
    return HOPELESS + (1 - HOPELESS) * min(1.0, 2 * read)


class Habits(msgspec.Struct, frozen=True, kw_only=True):
    """What chances turn out to be, by how long before they are told; none where there is no record."""

    habits: tuple[Habit, ...] = ()

    @property
    def lines(self) -> int:
        """Lines that teach the best known of them."""
        return max((one.lines for one in self.habits), default=0)

    def told(self, read: float, ahead: int) -> float:
        """The chance to tell of a line due so many days ahead, from that read off the courses."""
        for one in self.habits:
            if one.days_from <= ahead <= one.days_to:
                return one.told(read)
        return read


def habits_of(state: FarmState, today: date) -> Habits:
    """
    What chances turn out to be on this farm.

    Parameters
    ----------
    state : FarmState
        The farm.
    today : date
        Lines due before it teach; nothing is known of others yet.

    Notes
    -----
    A line of which `p` was read off is met with the chance `p (1 - slip) + (1 - p) lift within_reach(p)`. Both shares
    are the most likely ones given the record and `AS_LINES` lines as they came out in the season study; a line counts
    as one, however often it was promised. What is told follows them as far as `lines / (lines + HALF)`.
    """
    return Habits(habits=learned(came_out(state, today)[0]) if state.promised else ())


def habit_notes(habits: Habits) -> list[str]:
    """That chances follow the farm's record, in words; nothing where there is none."""
    if not habits.lines:
        return []
    return [f"Chances follow how {counted(habits.lines, 'earlier order line')} came out."]


def learned(came: Iterable[Came]) -> tuple[Habit, ...]:
    """What lines whose day is over teach of chances, span by span; spans without any teach nothing."""
    came = list(came)
    return tuple(habit for span in SPANS if (habit := _habit(came, span)).lines)


def _habit(came: Sequence[Came], span: Span) -> Habit:
    tally: dict[float, list[float]] = defaultdict(lambda: [0.0, 0.0])
    lines = 0
    for one in came:
        reads = [said.read for said in one.promises if span.first <= said.ahead <= span.last]
        lines += bool(reads)
        for read in reads:
            tally[read][one.met] += 1 / len(reads)
    lift, slip = likeliest({read: (short, met) for read, (short, met) in tally.items()}, span)
    follow = lines / (lines + HALF)
    return Habit(days_from=span.first, days_to=span.last, lift=follow * lift, slip=follow * slip, lines=lines)


def likeliest(tally: Mapping[float, tuple[float, float]], span: Span) -> tuple[float, float]:
    """
    The likeliest lift and slip, given how many lines of each chance read off fell short and were met.

    Notes
    -----
    Whether a line that was met was short in the course that came true is not seen, so it is shared out by what is
    believed of lift and slip, and those are counted anew, until they stay (the EM algorithm). What is known before is
    counted in as lines.

    References
    ----------
    A. P. Dempster, N. M. Laird and D. B. Rubin, "Maximum likelihood from incomplete data via the EM algorithm", Journal
    of the Royal Statistical Society B 39 (1977) 1-38. (From memory.)

    Examples
    --------
    >>> lift, slip = likeliest({}, Span(3, 6, 0.05, 0.01))
    >>> round(lift, 4), round(slip, 4)
    (0.05, 0.01)
    """
    lift, slip = span.lift, span.slip
    for _ in range(300):
        lifted, sunk = span.lift * AS_LINES, (1 - span.lift) * AS_LINES
        slipped, stood = span.slip * AS_LINES, (1 - span.slip) * AS_LINES
        for read, (short, met) in tally.items():
            open_ = (1 - read) * within_reach(read)
            chance = read * (1 - slip) + open_ * lift
            lifted += met * open_ * lift / chance
            stood += met * read * (1 - slip) / chance
            slipped += short * read * slip / (1 - chance)
            sunk += short * open_ * (1 - lift) / (1 - chance)
        before, lift, slip = (lift, slip), lifted / (lifted + sunk), slipped / (slipped + stood)
        if abs(lift - before[0]) + abs(slip - before[1]) < 1e-6:
            break
    return lift * min(1.0, MOST / (lift + slip)), slip * min(1.0, MOST / (lift + slip))
