"""What the outlook leaves out is told with the entry that said it."""

from __future__ import annotations

from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from trayward.bootstrap import Farm, setup_bodies

SUNDAY = datetime(2026, 11, 1, 7, 0, tzinfo=ZoneInfo("Europe/Dublin"))


def test_a_weight_ten_times_too_large_that_was_insisted_on_is_named_with_its_entry() -> None:
    with Farm.create(":memory:", setup_bodies("shelf"), at=SUNDAY, by="Maren") as farm:
        said = {"by": "Maren"}
        recipe = next(name for name, one in farm.state(SUNDAY).recipes.items() if one.crop == "broccoli")
        farm.receive_seed("B1", "broccoli", 500.0, germination=0.95, tsw_g=3.2, cost=9.0, at=SUNDAY, **said)
        sown = farm.sow(recipe, 1, at=SUNDAY + timedelta(hours=1), **said)
        tray, at = sown.names[1], SUNDAY + timedelta(hours=2)
        while farm.state(at).trays[tray].stage != "ready":
            at += timedelta(days=2)
            farm.answer([tray], cue="ready", at=at, **said)
        cut = farm.cut({tray: 2500.0}, at=at + timedelta(hours=1), sure=True, **said)
        (finding,) = farm.outlook_findings(at + timedelta(hours=2))
        assert finding.code == "weight-wild"
        assert finding.entries == (cut.kept[0].entry.id,)
        farm.strike(cut.kept[0].entry.id, "typed a nought too many", at=at + timedelta(hours=3), **said)
        assert farm.outlook_findings(at + timedelta(hours=4)) == ()
