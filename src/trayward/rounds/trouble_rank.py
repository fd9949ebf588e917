"""
Likely causes of trouble on a tray, ranked by what its own records and a close look say for each.

For a cause the odds grow with each cue by how many times as common the cue is with that cause as otherwise, as if cues
came one by one (naive Bayes); a cue that does not show counts against it by as much as that implies. The weights stand
in the guide (`library/data/trouble.json`) and are this project's judgement, for no source gives numbers: the order and
the reasons are worth more than the shares, and a close look is worth more than both.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from datetime import datetime

import msgspec

from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import Cause, Sign, trouble_guide
from trayward.rounds.sisters import Sisters
from trayward.rounds.trouble_cues import Seen, cues_of

MOST_TOLD = 6
"""So many reasons are enough for one cause."""
WORTH_TELLING = 1.15
"""Evidence that changes the odds by less is left out. [-]"""
SURELY = 0.95
"""No cue is taken to be surer than this with any cause: the records may be wrong. [-]"""


class Evidence(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that speaks for or against a cause. `times`: by how much it changes the odds. [-]"""

    cue: str
    shows: bool
    times: float
    words: str

    @property
    def speaks_for(self) -> bool:
        """Whether it makes the cause likelier."""
        return self.times > 1


class Ranked(msgspec.Struct, frozen=True, kw_only=True):
    """A cause, how likely it is among those of the sign, and why. `chance` [-]"""

    cause: str
    title: str
    chance: float
    hold: str
    evidence: tuple[Evidence, ...]
    """The strongest first."""


def rank_causes(
    state: FarmState,
    tray: Tray | None,
    sign: Sign,
    at: datetime,
    *,
    where: str = "",
    share: float | None = None,
    looks: Mapping[str, bool] | None = None,
    sisters: Sisters | None = None,
) -> tuple[Ranked, ...]:
    """
    Causes of a sign, the likeliest first.

    Parameters
    ----------
    state : FarmState
        The farm at that moment.
    tray : Tray, optional
        Whose records are asked; without one only the looks count.
    sign : Sign
        What is seen.
    at : datetime
        When.
    where, share :
        Where on the tray, and on how much of it. [-]
    looks : mapping of str to bool
        Answers of a close look, by the guide's names.
    sisters : Sisters, optional
        Other trays as they were read before, filled on the way.

    Returns
    -------
    tuple of Ranked
        Their chances add up to 1 over the sign's causes: that it is none of them is not counted.
    """
    guide = trouble_guide()
    shown: dict[str, Seen] = {}
    if tray is not None:
        shown |= cues_of(state, tray, sign.name, at, where=where, share=share, sisters=sisters)
    for name, answer in (looks or {}).items():
        shown[name] = Seen(answer, f"{guide.look(name).ask} {'Yes' if answer else 'No'}.")
    usual = {cue.name: cue.usual for cue in guide.cues} | {look.name: look.usual for look in guide.looks}
    weighed = []
    for maybe in sign.causes:
        cause = guide.cause(maybe.cause)
        evidence = weigh(cause, shown, usual)
        odds = math.log(maybe.usual) + sum(math.log(each.times) for each in evidence)
        weighed.append((odds, cause, evidence))
    highest = max(odds for odds, _, _ in weighed)
    total = sum(math.exp(odds - highest) for odds, _, _ in weighed)
    ranked = [
        Ranked(
            cause=cause.name,
            title=cause.title,
            chance=math.exp(odds - highest) / total,
            hold=cause.hold,
            evidence=worth_telling(evidence),
        )
        for odds, cause, evidence in weighed
    ]
    return tuple(sorted(ranked, key=lambda each: -each.chance))


def weigh(cause: Cause, shown: Mapping[str, Seen], usual: Mapping[str, float]) -> list[Evidence]:
    """
    What each cue does to the odds of a cause.

    A cue that shows in a share `p` of trays anyway, and `t` times as often with the cause, changes the odds `t` times
    where it shows, and (1 - t p) / (1 - p) times where it does not.
    """
    found = []
    for name, seen in shown.items():
        times = cause.times.get(name)
        if times is None:
            continue
        with_it = min(times * usual[name], SURELY)
        change = with_it / usual[name] if seen.shows else (1 - with_it) / (1 - usual[name])
        words = seen.words if seen.shows else _not_so(seen.words, name)
        found.append(Evidence(cue=name, shows=seen.shows, times=change, words=words))
    return found


def worth_telling(evidence: list[Evidence]) -> tuple[Evidence, ...]:
    """The strongest reasons for and against, those that hardly count left out."""
    strong = [each for each in evidence if abs(math.log(each.times)) >= math.log(WORTH_TELLING)]
    return tuple(sorted(strong, key=lambda each: -abs(math.log(each.times)))[:MOST_TOLD])


def _not_so(words: str, name: str) -> str:
    """The figures behind a cue that does not show, with what they are not."""
    plain = {
        "covered": "it stands open", "in light": "it stands in no light", "thick": f"not sown thick: {words}",
        "thin": f"not sown thin: {words}", "first days": f"no longer its first days: {words}",
        "past its days": f"within its days: {words}", "damp air": f"the air was not damp: {words}",
        "dry air": f"the air was not dry: {words}", "warm": f"not warm: {words}", "cool": f"not cool: {words}",
        "seen dry": "the last look did not find it dry",
    }  # fmt: skip
    return plain.get(name, words)
