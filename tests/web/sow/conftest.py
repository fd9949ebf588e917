"""A small plan to look at, made by hand: two sowings today, one later, one of which a tray goes out live."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from trayward.plan.types import (
    Change,
    CutPlanned,
    Limit,
    LineOutlook,
    Plan,
    PlannedSowing,
    RackUse,
    SeedTaken,
    Serve,
    StageExpected,
)
from trayward.web.guard import MAY, Who

TODAY = date(2026, 11, 25)
MADE = datetime(2026, 11, 25, 6, 10, tzinfo=UTC)


def day(number: int) -> date:
    """So many days from today."""
    return TODAY + timedelta(days=number)


def sowing(crop: str, on: int, trays: int, *, live: int = 0, grams: float = 100.0) -> PlannedSowing:
    """A sowing of trays that are cut ten days later, but for those that go out live."""
    cut = trays - live
    serves = [Serve(line=f"o/{crop}", customer="Corner Cafe", due=day(on + 11), grams=0.8 * grams * cut)] if cut else []
    serves += [Serve(line=f"o/live-{crop}", customer="Quay Kitchen", due=day(on + 10), trays=live)] if live else []
    cuts = [CutPlanned(cut_on=day(on + 10), crop=crop, trays=cut, grams_expected=grams * cut)] if cut else []
    return PlannedSowing(
        sow_on=day(on),
        crop=crop,
        recipe=f"{crop} on mesh mat",
        trays=trays,
        seed_g=20.0 * trays,
        cut_on=day(on + 10),
        cut_between=(day(on + 9), day(on + 12)),
        grams_expected=grams * cut,
        serves=tuple(serves),
        lots=(SeedTaken(lot=f"{crop[:3].upper()}-1", grams=20.0 * trays),),
        stages=(
            StageExpected(stage="germinate", first=day(on), last=day(on + 2)),
            StageExpected(stage="blackout", first=day(on + 3), last=day(on + 4)),
            StageExpected(stage="light", first=day(on + 5), last=day(on + 9)),
            StageExpected(stage="ready", first=day(on + 10), last=day(on + 10)),
        ),
        cuts=tuple(cuts),
        why=f"For whoever wants {crop}.",
    )


@pytest.fixture
def plan() -> Plan:
    """Three sowings, a line that is sure and one that is not, racks that get full, a limit that binds."""
    lines = [
        LineOutlook(line="o/broccoli", customer="Corner Cafe", crop="broccoli", due=day(11), grams=80, met_grams=80,
                    chance=0.9, sure=0.8),
        LineOutlook(line="o/radish", customer="Corner Cafe", crop="radish", due=day(12), grams=160, met_grams=90,
                    chance=0.4, sure=0.8, short=30.0, raised_by="One tray more: 8 in 10 instead of 4 in 10."),
    ]  # fmt: skip
    racks = RackUse(limit="lit spots", has=(8.0,) * 21, likely=(2.0,) * 10 + (7.0,) + (3.0,) * 10,
                    low=(1.0,) * 21, high=(3.0,) * 10 + (9.0,) + (4.0,) * 10)  # fmt: skip
    return Plan(
        made_at=MADE,
        first=TODAY,
        last=day(20),
        sowings=(sowing("broccoli", 0, 1), sowing("radish", 0, 2, live=1), sowing("pea", 9, 3)),
        lines=tuple(lines),
        limits=(
            Limit(limit="lit spots", first=day(10), last=day(10), has=8, short=0, unit="spots", worth=2.5),
            Limit(limit="time", first=day(3), last=day(3), has=0, short=0, unit="", message="Too late for basil."),
        ),
        changes=(Change(what="sowing added", message="New: 1 tray of pea.", day=day(9)),),
        racks=(racks,),
        notes=("Chosen over 32 ways.",),
    )


class ByHeader:
    """People told apart by a header."""

    def anyone(self) -> bool:
        return True

    def who(self, request: Request) -> Who | None:
        role = request.headers.get("x-role", "owner")
        return Who(name="Ada", role=role) if role in MAY else None  # type: ignore[arg-type]

    def stranger(self, request: Request) -> Response | None:
        return RedirectResponse("/login", status_code=303)

    def answered(self, request: Request, response: Response) -> None:
        """Nothing to add."""
