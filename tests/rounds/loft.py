"""Lantern Loft, small: a dark shelf with stacks, a lit one, kit, seed, and a grower who answers rounds."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

import msgspec

from trayward.farm.codec import normal
from trayward.farm.entries import (
    Body,
    CustomerSet,
    Entry,
    FarmSet,
    KitSet,
    PlaceSet,
    PlanKept,
    RecipeSet,
    SeedReceived,
    SeedUsed,
    SowingMade,
    TraySown,
)
from trayward.farm.fold import apply, check
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer
from trayward.farm.places import Shelf
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState
from trayward.library.recipes import standard_recipe
from trayward.outlook.ahead import look_ahead
from trayward.plan.types import CutAdvice, CutPlanned, Plan, PlannedSowing
from trayward.rounds.answer import answer_row
from trayward.rounds.make import make_round
from trayward.rounds.types import Round, RoundRow

DAY_ONE = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
"""A Wednesday, an hour into the morning round."""

BROCCOLI = standard_recipe("broccoli")
RADISH = standard_recipe("radish")


def on_day(day: int, hour: float) -> datetime:
    """A moment of a day of the replay, day 1 being the Wednesday."""
    return datetime(2026, 11, 24, tzinfo=UTC) + timedelta(days=day, hours=hour)


class Loft:
    """The farm, everything it was told, and the rounds it walks. Refuses what the desk would refuse."""

    def __init__(self, *bodies: Body, at: datetime = DAY_ONE - timedelta(days=1)) -> None:
        self.state = FarmState()
        self.entries: list[Entry] = []
        self.say(at, *bodies)

    def say(self, at: datetime, *bodies: Body) -> list[str]:
        """Keep what is said; give back the codes of what was found odd about it."""
        odd: list[str] = []
        for body in bodies:
            name = f"entry-{len(self.entries):05d}"
            entry = normal(Entry(id=name, at=at, recorded=at, by="Mo", body=body))
            found = check(self.state, entry)
            wrong = [finding.message for finding in found if finding.severity == "wrong"]
            assert not wrong, wrong
            odd += [finding.code for finding in found]
            apply(self.state, entry)
            self.entries.append(entry)
        return odd

    def round(self, at: datetime) -> Round:
        return make_round(self.state, look_ahead(self.state, at), at)

    def rows(self, at: datetime, *kinds: str) -> list[RoundRow]:
        return [row for row in self.round(at).rows if not kinds or row.kind in kinds]

    def row(self, at: datetime, *kinds: str) -> RoundRow:
        """The one row of these kinds."""
        (found,) = self.rows(at, *kinds)
        return found

    def answer(self, at: datetime, *, row: RoundRow | None = None, **said: object) -> list[str]:
        """Answer a row, the only one that looks if none is given."""
        row = row or self.row(at, "look", "turn", "cut", "discard")
        return self.say(at, *answer_row(self.state, row, round_name=self.round(at).round, **said))

    def keep_plan(
        self,
        at: datetime,
        *sowings: PlannedSowing,
        cuts: Sequence[CutPlanned] = (),
        advice: Sequence[CutAdvice] = (),
    ) -> None:
        first, last = at.date(), at.date() + timedelta(days=42)
        plan = Plan(made_at=at, first=first, last=last, sowings=sowings, cuts=tuple(cuts), advice=tuple(advice))
        self.say(at, PlanKept(plan=msgspec.Raw(msgspec.json.encode(plan))))


def lantern_loft(
    *more: Body, dark: int = 3, stack: int = 4, lit: int = 8, settings: FarmSettings | None = None
) -> Loft:
    return Loft(
        FarmSet(settings=settings or FarmSettings(name="Lantern Loft")),
        PlaceSet(shelf=Shelf(name="A1", rack="A", room="loft", kind="dark", spots=dark, stack=stack, order=1)),
        PlaceSet(shelf=Shelf(name="A2", rack="A", room="loft", kind="lit", spots=lit, order=2)),
        *(KitSet(pool=Pool(name=name, count=40)) for name in ("mesh tray", "mesh mat", "solid tray", "cover")),
        RecipeSet(recipe=BROCCOLI),
        RecipeSet(recipe=RADISH),
        SeedReceived(lot="B1", crop="broccoli", grams=400.0, germination=0.92),
        SeedReceived(lot="R1", crop="radish", grams=2000.0, germination=0.9),
        CustomerSet(customer=Customer(name="Kite Cafe")),
        *more,
    )


def sow(name: str, *spots: str | None, crop: str = "broccoli", stage: str = "") -> SowingMade:
    """Trays `name.1`, `name.2`, ... on these spots, 20 g each."""
    lot = {"broccoli": "B1", "radish": "R1"}[crop]
    return SowingMade(
        sowing=name,
        recipe=f"{crop} on mesh mat",
        trays=tuple(TraySown(tray=f"{name}.{number}", spot=spot) for number, spot in enumerate(spots, 1)),
        lots=(SeedUsed(lot=lot, grams=20.0 * len(spots)),),
        stage=stage,
    )
