"""A small farm to tell things to: one dark shelf with stacks, one lit, kit, one recipe, seed, one customer."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from trayward.errors import Finding
from trayward.farm.codec import normal
from trayward.farm.entries import (
    Body,
    CustomerSet,
    Entry,
    FarmSet,
    KitSet,
    Moved,
    PlaceSet,
    RecipeSet,
    SeedReceived,
    SeedUsed,
    SowingMade,
    StageChanged,
    TraySown,
)
from trayward.farm.fold import apply, check, fold
from trayward.farm.kit import Pool
from trayward.farm.orders import Customer
from trayward.farm.places import Shelf
from trayward.farm.recipes import KitNeed, Medium, Recipe, Stage, YieldPrior
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState

START = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


def stage(name: str, ground: str, *, stack: int = 1, days: float = 2.0) -> Stage:
    return Stage(name=name, days_low=days / 2, days_typical=days, days_high=days * 2, ground=ground, stack=stack)


def recipe(name: str = "radish on mat", crop: str = "radish", **changed: object) -> Recipe:
    given: dict[str, object] = {
        "medium": Medium(name="mesh mat", reusable=True),
        "stages": (
            stage("germinate", "dark", stack=3),
            stage("blackout", "dark"),
            stage("light", "lit"),
            stage("ready", "lit"),
        ),
        "live_seeds_per_cm2": 2.0,
        "kit": (
            KitNeed(pool="mat"),
            KitNeed(pool="tray", each=2),
            KitNeed(pool="cover", stages=("germinate", "blackout")),
        ),
        "yield_prior": YieldPrior(low_g=100.0, typical_g=200.0, high_g=300.0),
        **changed,
    }
    return Recipe(name=name, crop=crop, **given)


def setting_up() -> tuple[Body, ...]:
    return (
        FarmSet(settings=FarmSettings(name="Lantern Loft", timezone="Europe/Berlin")),
        PlaceSet(shelf=Shelf(name="A1", rack="A", room="loft", kind="dark", spots=3, stack=3, order=1)),
        PlaceSet(shelf=Shelf(name="A2", rack="A", room="loft", kind="lit", spots=4, order=2)),
        KitSet(pool=Pool(name="mat", count=10, dry_hours=12)),
        KitSet(pool=Pool(name="tray", count=20, dry_hours=6, sanitise=True)),
        KitSet(pool=Pool(name="cover", count=6, dry_hours=1)),
        RecipeSet(recipe=recipe()),
        SeedReceived(lot="RAD-1", crop="radish", grams=500.0, germination=0.9, tsw_g=10.0),
        CustomerSet(customer=Customer(name="Kite Cafe")),
    )


def entry(number: int, body: Body, at: datetime) -> Entry:
    return normal(Entry(id=f"entry-{number:06d}", at=at, recorded=at, by="Mo", body=body))


class Told:
    """A farm and everything it was told. One step of the clock for each thing said, or the hours named."""

    def __init__(self, *bodies: Body) -> None:
        self.state = FarmState()
        self.entries: list[Entry] = []
        self.now = START
        self.say(*bodies)

    def next(self, body: Body) -> Entry:
        return entry(len(self.entries), body, self.now + timedelta(minutes=1))

    def check(self, body: Body) -> tuple[Finding, ...]:
        return check(self.state, self.next(body))

    def say(self, *bodies: Body, hours: float = 0.0) -> tuple[Finding, ...]:
        """Keep what is said, refused or not, and give back what was found about it."""
        before = len(self.state.findings)
        self.now += timedelta(hours=hours)
        for body in bodies:
            fresh = self.next(body)
            apply(self.state, fresh)
            self.entries.append(fresh)
            self.now = fresh.at
        return tuple(self.state.findings[before:])

    def refold(self, struck: frozenset[str] = frozenset()) -> FarmState:
        return fold(sorted(self.entries, key=lambda told: told.at), struck=struck)


def lantern_loft() -> Told:
    told = Told(*setting_up())
    assert told.state.findings == []
    return told


def sowing(name: str, *spots: str | None, grams: float = 30.0, **changed: object) -> SowingMade:
    """`sowing("S", "A1.1a", "A1.1b")`: trays S.1 and S.2 on these spots."""
    trays = tuple(TraySown(tray=f"{name}.{number}", spot=spot) for number, spot in enumerate(spots, 1))
    given = {"recipe": "radish on mat", "lots": (SeedUsed(lot="RAD-1", grams=grams),), **changed}
    return SowingMade(sowing=name, trays=trays, **given)


def grown() -> Told:
    """Two ready trays, S.1 and S.2, on A2.1 and A2.2."""
    told = lantern_loft()
    both = ("S.1", "S.2")
    told.say(sowing("S", "A1.1a", "A1.1b"))
    told.say(StageChanged(trays=both, stage="light"), hours=72)
    told.say(Moved(moves=(TraySown(tray="S.1", spot="A2.1"), TraySown(tray="S.2", spot="A2.2"))))
    told.say(StageChanged(trays=both, stage="ready"), hours=96)
    assert told.state.findings == []
    return told


def codes(found: tuple[Finding, ...] | list[Finding]) -> list[tuple[str, str]]:
    return [(finding.severity, finding.code) for finding in found]
