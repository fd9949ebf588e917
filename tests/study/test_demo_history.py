"""The demo's own history: what was foretold in its past weeks, held against what its hidden world did."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from trayward.bootstrap import Farm, setup_bodies
from trayward.farm.calendar import local_day
from trayward.farm.entries import FarmSet
from trayward.study.demo import PERSON, live_through

NOW = datetime(2026, 11, 26, 6, 0, tzinfo=ZoneInfo("Europe/Dublin"))
DAYS = 60


@pytest.mark.slow
def test_ranges_of_the_demos_held_back_weeks_hold_what_they_promised() -> None:
    """80 in 100, give or take two points and two and a half standard errors, which are reckoned over sowings."""
    bodies = setup_bodies("loft")
    settings = next(body.settings for body in bodies if isinstance(body, FarmSet))
    start = datetime(2026, 9, 27, 5, 0, tzinfo=NOW.tzinfo)
    with Farm.create(":memory:", bodies, at=start, by=PERSON) as farm:
        said: list[str] = []
        live_through(farm, settings, local_day(NOW, settings), days=DAYS, tell=said.append)
        found = farm.calibration(NOW, weeks=7)
    eighty = {row.what: row for row in found.rows if row.promised == 0.8}
    assert set(eighty) == {"days", "grams"}
    for row in eighty.values():
        error = (row.high - row.low) / 4
        assert row.trays > 100
        assert abs(row.held - 0.8) < 0.02 + 2.5 * error, row
