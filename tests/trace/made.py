"""A small record for the tests of tracing, told without a book."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime, timedelta

from trayward.farm import entries as said
from trayward.farm.entries import Body, Entry
from trayward.farm.fold import fold
from trayward.farm.orders import Customer
from trayward.farm.recalls import Contact
from trayward.farm.recipes import Medium, Recipe, Stage
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState

START = datetime(2026, 11, 1, 7, 0, tzinfo=UTC)
PEA = Recipe(
    name="pea", crop="pea", medium=Medium(name="mesh mat", reusable=True), live_seeds_per_cm2=1.0,
    stages=(
        Stage(name="light", days_low=1, days_typical=2, days_high=3, ground="bench"),
        Stage(name="ready", days_low=1, days_typical=2, days_high=3, ground="bench"),
    ),
)  # fmt: skip


class Made:
    """A record that grows as one speaks; every entry an hour after the one before."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.struck: set[str] = set()
        self.say(said.FarmSet(settings=FarmSettings(name="Lantern Loft")))
        self.say(said.RecipeSet(recipe=PEA))
        for name in ("A", "B", "C"):
            self.say(said.CustomerSet(customer=Customer(name=name)))

    @property
    def at(self) -> datetime:
        """Just after the last of it."""
        return max(entry.at for entry in self.entries) + timedelta(minutes=5)

    @property
    def state(self) -> FarmState:
        """The farm then."""
        return fold(sorted(self.entries, key=lambda entry: entry.at), struck=frozenset(self.struck))

    def say(self, body: Body, *, late: timedelta = timedelta(0), by: str = "Ada", days: float = 0.0) -> str:
        """Say something; `late`: written down so long after. Gives its id."""
        name = f"entry-{len(self.entries):04d}"
        at = START + timedelta(hours=len(self.entries), days=days)
        self.entries.append(Entry(id=name, at=at, recorded=at + late, by=by, body=body))
        return name

    def strike(self, entry: str) -> None:
        """Take something back."""
        self.struck.add(entry)

    def about(self, subject: str) -> Sequence[Entry]:
        """As the protocol says."""
        return [entry for entry in self.entries if subject in entry.body.subjects() and entry.id not in self.struck]

    def some(
        self, subject: str, kinds: Sequence[str], *, since: datetime | None, until: datetime | None, limit: int
    ) -> Sequence[Entry]:
        """As the protocol says."""
        found = [
            entry
            for entry in self.about(subject)
            if entry.kind in kinds and (since is None or entry.at >= since) and (until is None or entry.at < until)
        ]
        return found[::-1][:limit]

    def taken_back(self, subject: str) -> int:
        """As the protocol says."""
        return sum(entry.id in self.struck for entry in self.entries if subject in entry.body.subjects())


def sown(made: Made, sowing: str, trays: Sequence[str], lots: dict[str, float]) -> str:
    """Sow trays of seed lots that are received where they are new."""
    for lot in lots:
        if not made.about(f"lot:{lot}"):
            made.say(said.SeedReceived(lot=lot, crop="pea", grams=1000.0, supplier="Hollow Seeds", supplier_lot="77"))
    used = tuple(said.SeedUsed(lot=lot, grams=grams) for lot, grams in lots.items())
    return made.say(
        said.SowingMade(sowing=sowing, recipe="pea", trays=tuple(said.TraySown(tray=t) for t in trays), lots=used)
    )


def cut(made: Made, harvest: str, grams: dict[str, float]) -> str:
    """Cut trays into a harvest lot."""
    for tray in grams:
        made.say(said.StageChanged(trays=(tray,), stage="ready"))
    trays = tuple(said.TrayCut(tray=tray, grams=weight) for tray, weight in grams.items())
    return made.say(said.Cut(harvest=harvest, crop="pea", trays=trays))


def packed(made: Made, pack: str, packs: int, parts: dict[str, float], pack_g: float = 50.0) -> str:
    """Fill packs."""
    lots = tuple(said.LotGrams(harvest=harvest, grams=grams) for harvest, grams in parts.items())
    return made.say(said.Packed(pack=pack, product="pea", packs=packs, pack_g=pack_g, parts=lots))


def delivered(
    made: Made,
    delivery: str,
    customer: str,
    *,
    packs: dict[str, int] | None = None,
    loose: dict[str, float] | None = None,
    trays: Sequence[str] = (),
) -> str:
    """Deliver packs, loose grams or live trays."""
    line = said.LineDelivered(
        line=f"O-{delivery}/1",
        packs=tuple(said.PackCount(pack=pack, packs=count) for pack, count in (packs or {}).items()),
        loose=tuple(said.LotGrams(harvest=harvest, grams=grams) for harvest, grams in (loose or {}).items()),
        trays=tuple(trays),
    )
    return made.say(said.Delivered(delivery=delivery, customer=customer, lines=(line,), document=f"note {delivery}"))


def chain() -> Made:
    """TRAC-12 of the checks: S1 -> T1, T2; S2 -> T3; H1 = T1 + T3, H2 = T2; H1 -> A, B; H2 -> C."""
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 40.0})
    sown(made, "W2", ("T3",), {"S2": 20.0})
    cut(made, "H1", {"T1": 300.0, "T3": 200.0})
    cut(made, "H2", {"T2": 250.0})
    packed(made, "P1", 6, {"H1": 300.0})
    delivered(made, "D1", "A", packs={"P1": 4})
    delivered(made, "D2", "B", packs={"P1": 2}, loose={"H1": 100.0})
    delivered(made, "D3", "C", loose={"H2": 250.0})
    return made


def contact(made: Made, customer: str) -> str:
    """Say how a customer is reached."""
    return made.say(said.ContactSet(contact=Contact(customer=customer, phone="0100 1", person="Kim")))
