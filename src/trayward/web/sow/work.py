"""Long work of the sowing pages: a plan made anew, and two plans held side by side. Neither records anything."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from trayward.bootstrap import Farm
from trayward.plan.types import Plan
from trayward.web.work import job

if TYPE_CHECKING:
    from trayward.plan.compare_types import Comparison

PLAN, WHAT_IF = "plan", "what if"
WEEKS = 6
"""How far a plan looks where nobody says. [weeks]"""


def plan(farm: Farm, at: datetime, *, weeks: int) -> Plan:
    """A plan of the farm as it is; it says what changed since the one kept."""
    return farm.plan(at, weeks=weeks)


def what_if(farm: Farm, at: datetime, *, changes: tuple[str, ...], weeks: int) -> Comparison:
    """The farm as it might be beside the farm as it is."""
    return farm.what_if(*changes, at=at, weeks=weeks)


job(PLAN, plan)
job(WHAT_IF, what_if)
