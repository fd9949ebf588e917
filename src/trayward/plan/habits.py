"""What chances turn out to be on a farm, learned from how the plan kept its word, and followed by those it tells.

A chance is read off courses in which nobody thinks again, yet the grower plans anew every day, and things go wrong that
no course knows. So of what falls short in the courses a part is met all the same (`lift`), and of what is met there a
part is not (`slip`). Only what is told follows them; nothing is decided by them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date

import msgspec

from trayward.farm.state import FarmState
from trayward.plan.came_out import Came, came_out
from trayward.plan.words import count_words

BANDS = ((3, 13), (14, 400))
"""From so many to so many days ahead chances follow the record, each span its own. Nearer than that there is no time
for second thoughts: in the season study next to nothing told to be hopeless on its day was met. [d]"""
LIFT, SLIP = 0.0875, 0.0107
"""What lift and slip are before there is a record: those of 18 simulated seasons of a plan that learns, 20,000 promises
3 to 10 days ahead, in the worlds loft tight, medium and loose and home shelf (own simulation, November 2026). [-]"""
AS_LINES = 100.0
"""As many lines of the farm's own weigh as much as those. [-]"""
HALF = 50.0
"""After so many lines of the farm's own half of it is followed, without any nothing. [-]"""
MOST = 0.45
"""Neither is ever more, so that of two lines the likelier stays the likelier. [-]"""


class Habit(msgspec.Struct, frozen=True, kw_only=True):
    """What chances told some days ahead turn out to be. [-]"""

    days_from: int
    days_to: int
    lift: float = 0.0
    """Of what falls short in the courses, the share that is met all the same."""
    slip: float = 0.0
    """Of what is met in the courses, the share that is not."""
    lines: int = 0
    """Lines that teach it."""

    def told(self, read: float) -> float:
        """
        The chance to tell, from that read off the courses.

        Examples
        --------
        >>> habit = Habit(days_from=3, days_to=13, lift=0.1, slip=0.02)
        >>> [round(habit.told(read), 3) for read in (0.0, 0.5, 1.0)]
        [0.1, 0.54, 0.98]
        """
        return read + self.lift * (1 - read) - self.slip * read


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
    A line of which `p` was read off is met with the chance `p (1 - slip) + (1 - p) lift`. Both shares are the most
    likely ones given the record and `AS_LINES` lines as they came out in the season study; a line counts as one,
    however often it was promised. What is told follows them as far as `lines / (lines + HALF)`.
    """
    return Habits(habits=learned(came_out(state, today)[0]) if state.promised else ())


def habit_notes(habits: Habits) -> list[str]:
    """That chances follow the farm's record, in words; nothing where there is none."""
    if not habits.lines:
        return []
    return [f"Chances follow how {count_words(habits.lines, 'earlier order line')} came out."]


def learned(came: Iterable[Came]) -> tuple[Habit, ...]:
    """What lines whose day is over teach of chances, span by span; spans without any teach nothing."""
    came = list(came)
    return tuple(habit for first, last in BANDS if (habit := _habit(came, first, last)).lines)


def _habit(came: Sequence[Came], first: int, last: int) -> Habit:
    tally: dict[float, list[float]] = defaultdict(lambda: [0.0, 0.0])
    lines = 0
    for one in came:
        reads = [said.read for said in one.promises if first <= said.ahead <= last]
        lines += bool(reads)
        for read in reads:
            tally[read][one.met] += 1 / len(reads)
    lift, slip = likeliest({read: (short, met) for read, (short, met) in tally.items()})
    follow = lines / (lines + HALF)
    return Habit(days_from=first, days_to=last, lift=follow * lift, slip=follow * slip, lines=lines)


def likeliest(tally: Mapping[float, tuple[float, float]]) -> tuple[float, float]:
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
    >>> lift, slip = likeliest({})
    >>> (lift, slip) == (LIFT, SLIP)
    True
    """
    lift, slip = LIFT, SLIP
    for _ in range(500):
        lifted, sunk, slipped, stood = LIFT * AS_LINES, (1 - LIFT) * AS_LINES, SLIP * AS_LINES, (1 - SLIP) * AS_LINES
        for read, (short, met) in tally.items():
            chance = read * (1 - slip) + (1 - read) * lift
            lifted += met * (1 - read) * lift / chance
            stood += met * read * (1 - slip) / chance
            slipped += short * read * slip / (1 - chance)
            sunk += short * (1 - read) * (1 - lift) / (1 - chance)
        before, lift, slip = (lift, slip), lifted / (lifted + sunk), slipped / (slipped + stood)
        if abs(lift - before[0]) + abs(slip - before[1]) < 1e-6:
            break
    return min(lift, MOST), min(slip, MOST)
