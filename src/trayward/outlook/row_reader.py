"""Reading rows from trays: what each one's record tells, and what of it is left out because it cannot be.

A stage's end is seen only on rounds, so its length is known to lie between two looks; a stage still under way, or cut
short, is known to last longer than its last look.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from datetime import datetime, timedelta
from itertools import pairwise
from statistics import median
from typing import TYPE_CHECKING

from trayward.errors import Finding
from trayward.farm.calendar import local_day
from trayward.farm.live_seed import live_density_doubt
from trayward.farm.places import Shelf, shelf_of
from trayward.farm.recipes import Recipe, Stage
from trayward.farm.state import FarmState, StageStep, Tray
from trayward.library.crops import facts_for
from trayward.outlook.clock import Climate
from trayward.outlook.rows import Birth, LossRow, Rows, StageRow, YieldRow, season_of

if TYPE_CHECKING:
    from trayward.outlook.warmth import Warmth

DAY = timedelta(days=1)
FAR_TOO_LONG = 10.0
"""A stage of so many times the recipe's longest was not seen to; nobody let it grow. Our bound. [-]"""
FAR_TOO_SHORT = 5.0
"""A stage of so small a part of the recipe's shortest was no stage, but answers caught up on. Our bound. [-]"""
LEAST_DAYS = 0.01
"""A quarter of an hour: less is no stage, but two answers given one after the other. [d]"""
LEAST = DAY * LEAST_DAYS
SLOWEST_PACE = 0.05
"""A mean pace below this means a cold probe, not a crop that lived. Our floor. [-]"""
MOL_PER_UMOL_H = 0.0036
"""Seconds in an hour, over umol in a mol."""
SURPLUS = re.compile(
    r"\b(surplus|unsold|not sold|excess|spare|left ?-?over|too (many|much)|no (order|demand|buyer|customer|room)"
    r"|not (needed|wanted|ordered)|unwanted|nobody wants|cancell?ed|over ?-?grown|past (its|the) (window|best)"
    r"|too (old|late)|donated|gave away|given away|home use)\b",
    re.IGNORECASE,
)
"""Reasons for throwing a tray away that say nothing against its crop."""


def rows_of(tray: Tray, state: FarmState, climate: Climate, *, upto: datetime | None = None) -> Rows:
    """What one tray teaches; for many trays, make one `RowReader` and give it each."""
    rows = Rows.none()
    RowReader(state, climate, upto=upto).read(tray, rows)
    return rows


def rows_of_all(trays: Iterable[Tray], state: FarmState, climate: Climate, *, upto: datetime | None = None) -> Rows:
    """What some trays teach."""
    rows, reader = Rows.none(), RowReader(state, climate, upto=upto)
    for tray in trays:
        reader.read(tray, rows)
    return rows


class RowReader:
    """
    Turns trays into rows, by one state of the farm and one climate.

    Parameters
    ----------
    state : FarmState
        The farm; its recipes as they are now tell what a stage's cue, cover and temperatures are.
    climate : Climate
        How warm it was.
    upto : datetime, optional
        A moment in the past: only what was known then is told, for checks against what came after.

    Notes
    -----
    A stage that is over surely lasted longer than the last look that said "not yet". Where none did: than the last look
    of an earlier walk that left the cue open, for whoever says "ready" once it shows would have said so. Where no look
    is on record at all: than one gap between rounds before the change, for a farm that has set rounds walks them. The
    last two do not hold where stages were passed over or ended at one go: then the change was caught up on, and only
    that it was over is known. A stage under way is known to last longer than an explicit "not yet" only.
    """

    def __init__(self, state: FarmState, climate: Climate, *, upto: datetime | None = None) -> None:
        self.state, self.upto = state, upto
        self.climate = climate if upto is None else climate.known_by(upto)
        self.now = upto if upto is not None else climate.at
        self.settings = state.settings_or_usual
        self.gap = DAY / max(1, len(self.settings.rounds))
        self._births: dict[tuple[str, str], Birth] = {}
        self._known: dict[str, _Known] = {}
        self._seed_doubts: dict[str, float] = {}
        self._calendar = self.climate.logs_nothing
        self._light = _light_of_shelves(state)
        areas = [recipe.tray.area_cm2 for recipe in state.recipes.values() if recipe.tray.area_cm2 > 0]
        self._log_usual_area = math.log(median(areas)) if areas else 0.0

    def read(self, tray: Tray, rows: Rows) -> None:
        """Add what one tray teaches."""
        recipe = self.state.recipes.get(tray.recipe)
        if recipe is None or recipe.tray.area_cm2 <= 0 or not self._began(tray, rows.findings):
            return
        known = self._known_of(tray)
        assert known is not None, "its recipe is there"
        birth = self.birth(tray)
        lengths = [self._length(step, known) for step in tray.steps]
        self._stages(tray, known, birth, lengths, rows)
        if tray.ended_at is not None and (self.now is None or tray.ended_at <= self.now):
            self._yield(tray, known, birth, lengths, rows)
            lost = tray.fate == "discarded" and not _wanted_by_nobody(tray, recipe)
            rows.losses.append(LossRow(tray.tray, tray.recipe, tray.crop, *birth, lost, tray.ended_at))

    def _known_of(self, tray: Tray) -> _Known | None:
        known = self._known.get(tray.recipe)
        if known is None and tray.recipe in self.state.recipes:
            known = self._known[tray.recipe] = _Known(self.state.recipes[tray.recipe])
        return known

    def _began(self, tray: Tray, findings: list[Finding]) -> bool:
        """Whether it was sown by now; a tray of the future is not there yet in the past, and else a slip."""
        if self.now is None or tray.sown_at <= self.now:
            return True
        if self.upto is None:
            findings.append(_odd_time(tray, "sown", f"{_when(tray.sown_at)}: that is yet to come"))
        return False

    def birth(self, tray: Tray) -> Birth:
        """What a tray shares with its sowing."""
        key = (tray.sowing, tray.recipe)
        found = self._births.get(key)
        if found is None:
            sowing = self.state.sowings.get(tray.sowing)
            lots = sowing.lots if sowing is not None else {}
            lot = max(lots, key=lots.__getitem__) if lots else tray.lots[0] if tray.lots else ""
            day = local_day(tray.sown_at, self.settings)
            group = f"{tray.recipe}|{lot}|{day.isoformat()}"
            found = self._births[key] = Birth(group, lot, season_of(day))
        return found

    # How long stages took --------------------------------------------------------------------------------------------

    def _length(self, step: StageStep, known: _Known) -> float | None:
        """Standard days of a growing stage that is over; None for one that still goes on. [d]"""
        stage, until = known.growing.get(step.stage), step.until
        if stage is None or until is None or (self.now is not None and until > self.now):
            return None
        return self._days(step, known, until)

    def _days(self, step: StageStep, known: _Known, until: datetime) -> float:
        """Standard days from the beginning of a step on. [d]"""
        warmth = self._warmth(step, known)
        if warmth is None:
            return (until - step.since) / DAY
        return warmth.standard(until.timestamp()) - warmth.standard(step.since.timestamp())

    def _warmth(self, step: StageStep, known: _Known) -> Warmth | None:
        """How warm it was where a tray stood in a growing stage; None: the stage runs on calendar time."""
        if self._calendar:
            return None
        key = (step.stage, step.spot)
        if key not in known.warmth:
            stage = known.growing[step.stage]
            room = self.climate.room_of(step.spot)
            known.warmth[key] = self.climate.warmth_of(room, stage.base_c, stage.at_c)
        return known.warmth[key]

    def _stages(self, tray: Tray, known: _Known, birth: Birth, lengths: list[float | None], rows: Rows) -> None:
        for number, step in enumerate(tray.steps):
            if self.now is not None and step.since > self.now:
                if self.upto is None:
                    words = f"begun {_when(step.since)}: that is yet to come"
                    rows.findings.append(_odd_time(tray, step.stage, words))
                return
            stage = known.cued.get(step.stage)
            if stage is not None and stage.cover == "blackout" and self._set_by_a_trial(tray):
                continue
            bounds = self._bounds(tray, number, known, lengths[number]) if stage is not None else None
            if stage is None or bounds is None:
                continue
            low, high, at = bounds
            wrong = _impossible(low, high, stage)
            if wrong:
                rows.findings.append(_odd_time(tray, step.stage, wrong))
            else:
                rows.stages.append(StageRow(tray.tray, step.stage, tray.recipe, *birth, low, high, at))

    def _set_by_a_trial(self, tray: Tray) -> bool:
        """Whether a trial set how long it stands in the dark: that says nothing of when its cue shows."""
        trial = self.state.trials.get(tray.trial) if tray.trial else None
        return trial is not None and trial.what == "blackout"

    def _bounds(
        self, tray: Tray, number: int, known: _Known, length: float | None
    ) -> tuple[float, float, datetime] | None:
        """Between what a stage lasted, and when that was known; None where nothing is. [standard d]"""
        step = tray.steps[number]
        if length is None or step.until is None:
            return self._under_way(step, known)
        if length <= LEAST_DAYS and _passed(step):
            return None  # nobody waited for its cue
        looked = self._looked(tray, number, known)
        low = self._days(step, known, looked) if looked is not None else 0.0
        return max(0.0, min(low, 0.999 * length)), length, step.until

    def _looked(self, tray: Tray, number: int, known: _Known) -> datetime | None:
        """The last moment at which a stage that is over was surely not over yet; None where nobody looked."""
        step, after = tray.steps[number], tray.steps[number + 1] if number + 1 < len(tray.steps) else None
        assert step.until is not None
        if step.last_not_yet is not None and step.since < step.last_not_yet < step.until:
            return step.last_not_yet
        if after is None or after.stage != known.follows.get(step.stage) or _passed(after):
            return None
        silent = step.last_silent
        if silent is not None and step.since < silent < step.until - self.gap / 4:  # nearer: in the same walk
            return silent
        return max(step.since, step.until - self.gap)

    def _under_way(self, step: StageStep, known: _Known) -> tuple[float, float, datetime] | None:
        """Bounds of a stage that goes on, or was cut short; None where nobody said "not yet". [standard d]"""
        seen = step.last_not_yet
        if seen is not None and self.upto is not None and seen > self.upto:
            # Said later, so it would have been said a round before that moment, too: of several only the last is kept.
            seen = self.upto - self.gap
        if seen is None or seen <= step.since:
            return None
        low = self._days(step, known, seen)
        return (low, math.inf, seen) if low > 0 else None

    def looked_before(self, tray: Tray, number: int) -> datetime | None:
        """The last moment at which a tray was surely still in its stage of that number; None where nobody looked."""
        known = self._known_of(tray)
        if known is None or tray.steps[number].until is None:
            return None
        return self._looked(tray, number, known)

    # What is likely of a tray still to be cut ------------------------------------------------------------------------

    def likely_pace(self, recipe: Recipe) -> float:
        """Log pace of a tray sown now, if it stays as warm as the last week was; 0 where warmth is not logged. [-]"""
        now = self.now or self.state.horizon
        if self._calendar or now is None:
            return 0.0
        room, standard, days = self.climate.room_of(None), 0.0, 0.0
        for stage in recipe.growing_stages:
            if self.climate.warmth_of(room, stage.base_c, stage.at_c) is not None:
                pace = self.climate.mean_pace(room, stage.base_c, stage.at_c, now, now + DAY)
                standard += stage.days_typical
                days += stage.days_typical / max(pace, SLOWEST_PACE)
        return math.log(standard / days) if days > 0 else 0.0

    def seed_doubt(self, lot: str) -> float:
        """How far the live seeds of a sowing of a lot may be off, by its label, tests and age; 0: no such lot. [-]"""
        if lot not in self._seed_doubts:
            seed = self.state.seed.get(lot)
            facts = facts_for(seed.crop, self.state.crop_facts) if seed is not None else None
            doubt = live_density_doubt([(seed, 1.0)], facts, self.now or self.state.horizon) if seed and facts else 0.0
            self._seed_doubts[lot] = doubt
        return self._seed_doubts[lot]

    def likely_light(self, tray: Tray) -> float:
        """Log of the light a standing tray has grown in, over the farm's median; 0 where unknown or still dark. [-]"""
        known = self._known_of(tray)
        return self._log_light(tray, known) if known is not None else 0.0

    # What it weighed -------------------------------------------------------------------------------------------------

    def _yield(self, tray: Tray, known: _Known, birth: Birth, lengths: list[float | None], rows: Rows) -> None:
        if tray.fate != "cut" or tray.grams is None or tray.ended_at is None:
            return
        if not 0 < tray.grams < math.inf:
            rows.findings.append(_no_weight(tray))
            return
        rows.yields.append(
            YieldRow(
                tray.tray,
                birth.group,
                tray.recipe,
                tray.crop,
                known.recipe.medium.name,
                birth.lot,
                birth.season,
                math.log(tray.grams) - known.log_area,
                days_waited(tray, known.recipe),
                _log_ratio(tray.live_seeds_per_cm2, known.recipe.live_seeds_per_cm2),
                self._log_pace(tray, known, lengths),
                self._log_light(tray, known),
                _blackout_extra(tray, known, lengths),
                tray.ended_at,
                tray.trial,
            )
        )

    def _log_pace(self, tray: Tray, known: _Known, lengths: list[float | None]) -> float:
        """Log of standard over calendar days of the growing stages whose warmth was logged; 0 where none was."""
        if self._calendar:
            return 0.0
        standard = days = 0.0
        for step, length in zip(tray.steps, lengths, strict=True):
            if length is not None and step.until is not None and self._warmth(step, known) is not None:
                standard += length
                days += (step.until - step.since) / DAY
        return math.log(max(SLOWEST_PACE, standard / days)) if days > 0 else 0.0

    def _log_light(self, tray: Tray, known: _Known) -> float:
        """Log of the light of the shelf it last grew on in the light, over the farm's median; 0 where unknown."""
        if not self._light:
            return 0.0
        lit = [step.spot for step in tray.steps if step.spot is not None and step.stage in known.lit]
        light = self._light.get(shelf_of(lit[-1])) if lit else None
        return math.log(light) - known.log_area + self._log_usual_area if light is not None else 0.0


def _blackout_extra(tray: Tray, known: _Known, lengths: list[float | None]) -> float:
    """Standard days under a blackout cover beyond the recipe's; 0 where it has none, or none was seen. [d]"""
    if not known.blackout:
        return 0.0
    seen = 0.0
    for step, length in zip(tray.steps, lengths, strict=True):
        if length is not None and length > LEAST_DAYS and step.stage in known.blackout:
            seen += length
    return seen - known.blackout_days if seen else 0.0


def days_waited(tray: Tray, recipe: Recipe) -> float:
    """Days a tray stood ready before it was cut, never more than the cut window. [d]"""
    if tray.ended_at is None or tray.stage != recipe.stages[-1].name:
        return 0.0
    return recipe.days_waited(tray.stage_since, tray.ended_at)


class _Known:
    """What is asked of one recipe again and again."""

    def __init__(self, recipe: Recipe) -> None:
        names = [stage.name for stage in recipe.stages]
        self.recipe = recipe
        self.growing = {stage.name: stage for stage in recipe.growing_stages}
        self.cued = {name: stage for name, stage in self.growing.items() if stage.cue and stage.days_typical > 0}
        """Stages that eyes end: one that ends by the clock teaches nothing about plants."""
        self.follows = dict(pairwise(names))
        self.lit = {name for name, stage in self.growing.items() if stage.ground == "lit"}
        self.blackout = {name for name, stage in self.growing.items() if stage.cover == "blackout"}
        self.blackout_days = sum(self.growing[name].days_typical for name in self.blackout)
        self.log_area = math.log(recipe.tray.area_cm2)
        self.warmth: dict[tuple[str, str | None], Warmth | None] = {}
        """By stage and spot: found out once."""


def _impossible(low: float, high: float, stage: Stage) -> str:
    """What is wrong with a stage that cannot have lasted so long; empty where nothing is."""
    if high < 0:
        return "ended before it began"
    if high <= LEAST_DAYS:
        return "over without any warmth: by the readings nothing can have grown"
    lasted = high if high < math.inf else low
    if lasted > FAR_TOO_LONG * stage.days_high or high < stage.days_low / FAR_TOO_SHORT:
        return f"{lasted:.3g} days at the usual warmth: the recipe reckons with {stage.days_typical:g}"
    return ""


def _passed(step: StageStep) -> bool:
    """Whether a stage was ended as soon as it was begun: it was passed over, or caught up on."""
    return step.until is not None and timedelta(0) <= step.until - step.since <= LEAST


def _wanted_by_nobody(tray: Tray, recipe: Recipe) -> bool:
    """Whether a tray was thrown away though nothing was wrong with it: the reason says so, or its window was over."""
    if SURPLUS.search(tray.reason):
        return True
    if tray.stage != recipe.stages[-1].name or tray.ended_at is None:
        return False
    return (tray.ended_at - tray.stage_since) / DAY > recipe.cut_window_days


def _light_of_shelves(state: FarmState) -> dict[str, float]:
    """Daily light on a spot of each lit shelf whose lamp's light is known, over that of the farm's median shelf. [-]"""
    light = {shelf.name: moles for shelf in state.shelves.values() if (moles := _moles_a_spot(shelf))}
    usual = median(light.values()) if light else 1.0
    return {name: moles / usual for name, moles in light.items()}


def _moles_a_spot(shelf: Shelf) -> float | None:
    """Light that falls on one floor position of a shelf in a day [mol/d]; None where its lamp's light is not known."""
    lamp = shelf.lamp
    if shelf.kind != "lit" or lamp is None or not lamp.umol_s or shelf.spots <= 0:
        return None
    moles = lamp.count * lamp.umol_s * lamp.hours * MOL_PER_UMOL_H / shelf.spots
    return moles if moles > 0 else None


def _log_ratio(value: float | None, usual: float) -> float:
    return math.log(value / usual) if value is not None and 0 < value < math.inf and usual > 0 else 0.0


def _odd_time(tray: Tray, what: str, words: str) -> Finding:
    return Finding(
        code="stage-time-odd",
        severity="odd",
        message=f"tray {tray.tray}, {what} = {words}. The outlook leaves it out.",
        remedy="If a clock was set wrong or the answer came late, strike the entry and say it with its time.",
        about=f"tray:{tray.tray}",
    )


def _no_weight(tray: Tray) -> Finding:
    return Finding(
        code="weight-zero",
        severity="odd",
        message=f"tray {tray.tray}, weight = {tray.grams:g} g: a cut tray weighs more than nothing. "
        "The outlook leaves it out.",
        remedy="Strike the cut and say it with its weight; a tray that gave nothing is discarded, not cut.",
        about=f"tray:{tray.tray}",
    )


def _when(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M %Z}"
