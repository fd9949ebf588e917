"""What every sheet of a farm is given (its name, its paper, its units, its clock), and what comes of it."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from typing import get_args

import msgspec

from trayward.errors import InputError
from trayward.farm.calendar import local_day, zone
from trayward.farm.settings import METRIC, FarmSettings, ShownUnits
from trayward.paper.flow import Flow, Heading
from trayward.paper.page import A4, SIZES, Size, SizeName
from trayward.paper.tongue import ENGLISH, Tongue

MOST_DAYS = 42
"""Days of sowings or deliveries on one sheet. [d]"""


class Paper(msgspec.Struct, frozen=True, kw_only=True):
    """The paper a sheet is for."""

    farm: str
    printed: datetime
    """On the farm's clock."""
    size: Size = A4
    units: ShownUnits = METRIC
    tongue: Tongue = ENGLISH

    def flow(
        self, title: str, about: str = "", *, sheet: str = "", answer: str = "done", unasked: bool = False
    ) -> Flow:
        """A sheet to be filled; `sheet` is the name its row numbers are kept under, to enter it by."""
        command = f"trayward round answer NO {answer} --sheet {sheet}"
        note = self.tongue._("Enter it under Print, or: %(command)s", command=command) if sheet else ""
        heading = Heading(farm=self.farm, title=title, about=about, printed=self.printed, note=note, unasked=unasked)
        return Flow(self.size, heading, self.tongue)


def size_name(word: str, settings: FarmSettings) -> SizeName:
    """
    The paper asked for; where none is, Letter for farms that read ounces or inches, else A4.

    Raises
    ------
    InputError
        If there is no paper of that name.
    """
    asked = word or settings.paper.size
    if not asked:
        return "Letter" if settings.units.mass == "oz" or settings.units.length == "in" else "A4"
    for name in get_args(SizeName):
        if asked.lower() == name.lower():
            return name  # type: ignore[no-any-return]
    raise InputError("size", asked, "there is no such paper", "Say A4 or Letter.")


def paper_of(settings: FarmSettings, at: datetime, size: str = "", tongue: Tongue = ENGLISH) -> Paper:
    """The farm's paper at a moment, in a language."""
    local, measures = at.astimezone(zone(settings)), SIZES[size_name(size, settings)]
    return Paper(farm=settings.name, printed=local, size=measures, units=settings.units, tongue=tongue)


def days_of(at: datetime, days: int, settings: FarmSettings, tongue: Tongue) -> tuple[date, date, str]:
    """
    The first and the last of so many days from today, and both in words.

    Raises
    ------
    InputError
        If a sheet does not hold so many days.
    """
    if not 1 <= days <= MOST_DAYS:
        raise InputError("days", days, f"must lie in [1, {MOST_DAYS}]", "Say how many days the sheet is for.", "d")
    today = local_day(at, settings)
    last = today + timedelta(days=days - 1)
    span = tongue._("%(first)s to %(last)s", first=tongue.day(today), last=tongue.day(last))
    return today, last, span if days > 1 else tongue.day(today)


class Printed(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet, ready for the printer."""

    pdf: bytes
    name: str
    """For a file: `round-261127-0710`."""
    sheet: str = ""
    """Under which its row numbers are kept; empty where it has none."""
