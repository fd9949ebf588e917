"""Made-up figures to draw, of no farm."""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from trayward.outlook.types import Basis, Calibration, Held, Range, Reason, StageEnd, TrayOutlook, When
from trayward.pictures.types import (
    Closed,
    Course,
    Delivery,
    DensityFigures,
    Earned,
    EarnedBar,
    EarnedFigures,
    Factor,
    LightFigures,
    OnCurve,
    Part,
    PlanFigures,
    PromisesKept,
    RackFigures,
    SowingBar,
    StageSpan,
    StudyFigures,
    SwingFigures,
    Swung,
    TrayGroup,
    Weighed,
)

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
ZONE = ZoneInfo("Europe/Berlin")
BASIS = Basis(own_trays=3, prior_trays=2.0, words="Three own trays.")


def ready(low: float, likely: float, high: float, *, known: bool = True) -> When:
    """A moment so many days from now; with the narrower and the wider range, or without. [d]"""

    def pair(share: float) -> tuple[datetime, datetime]:
        return moment(likely - (likely - low) * share), moment(likely + (high - likely) * share)

    half, most = (pair(0.53), pair(1.53)) if known else (None, None)
    return When(low=moment(low), likely=moment(likely), high=moment(high), half=half, most=most)


def moment(days: float) -> datetime:
    """So many days from now. [d]"""
    return AT + timedelta(days=days)


def grams(low: float, likely: float, high: float) -> Range:
    """A weight with its ranges. [g]"""
    half = (likely - (likely - low) * 0.53, likely + (high - likely) * 0.53)
    return Range(low=low, likely=likely, high=high, half=half, most=(low * 0.8, high * 1.3))


GROUPS = [
    TrayGroup(crop="broccoli", stage="germinate", trays=4, ready=ready(6.5, 8, 9.6), grams=grams(110, 210, 390)),
    TrayGroup(crop="pea", stage="blackout", trays=2, ready=ready(3.1, 4.5, 6), grams=grams(250, 330, 420), loss=0.06),
    TrayGroup(crop="radish", stage="light", trays=6, ready=ready(0.4, 1.2, 2.2), grams=grams(140, 180, 230)),
    TrayGroup(crop="sunflower", stage="soak", trays=3, ready=ready(8.2, 9.9, 12.1), grams=grams(310, 420, 560)),
    TrayGroup(crop="kale", stage="ready", trays=1, ready=ready(-0.5, -0.5, -0.5), grams=grams(90, 120, 170)),
    TrayGroup(crop="red cabbage", stage="stretch", trays=2, ready=ready(2.4, 3.4, 5.2, known=False)),
]
TRAY = TrayOutlook(
    recipe="broccoli on mesh mat",
    crop="broccoli",
    tray="N1.2",
    stages=(
        StageEnd(stage="germinate", ends=ready(0.2, 1.1, 1.9)),
        StageEnd(stage="blackout", ends=ready(1.2, 2.4, 3.4)),
        StageEnd(stage="light", ends=ready(6.5, 8, 9.6)),
    ),
    ready=ready(6.5, 8, 9.6),
    grams=grams(110, 210, 390),
    time_basis=BASIS,
    grams_basis=BASIS,
    loss=0.03,
)
REASONS = (
    Reason(about="grams", what="this farm", factor=0.88, low=0.8, high=0.97, trays=40),
    Reason(about="grams", what="lot B2", factor=1.05, low=0.97, high=1.14, trays=12),
    Reason(about="days", what="this farm", stage="germinate", factor=1.2, low=1.08, high=1.33, trays=30),
)
LOTS = (
    Factor(what="lot B2", factor=1.05, low=0.97, high=1.14, trays=12),
    Factor(what="lot K-BRO-1", factor=0.72, low=0.62, high=0.83, trays=25, stands_out=True),
    Factor(what="lot S9", factor=0.99, low=0.85, high=1.16, trays=4),
)
SEASONS = tuple(
    Factor(what=name, factor=factor, low=factor * 0.9, high=factor * 1.1, trays=20)
    for name, factor in (("Sep 26", 1.02), ("Oct 26", 0.93), ("Nov 26", 0.86))
)
PARTS = (
    Part(what="the sowing day", share=0.3, low=0.2, high=0.42),
    Part(what="the seed lot", share=0.5, low=0.22, high=0.6),
    Part(what="tray to tray", share=0.2, low=0.15, high=0.28),
)
DENSITIES = tuple(1 + 0.25 * number for number in range(13))
DENSITY = DensityFigures(
    crop="radish",
    curve=tuple(OnCurve(density=at, low=102 * at**0.3, likely=120 * at**0.3, high=141 * at**0.3) for at in DENSITIES),
    weighed=tuple(Weighed(density=at, grams=weight) for at, weight in ((1.5, 131.0), (2.0, 152.0), (3.0, 160.0))),
    present=2.0,
    best=2.7,
)
UNTRIED = DensityFigures(
    crop="broccoli",
    curve=tuple(OnCurve(density=at, low=64 * at**0.4, likely=115 * at**0.4, high=196 * at**0.4) for at in (3, 4.3, 6)),
    present=4.3,
    best=6.0,
    at_the_end=True,
)
"""A new farm's curve: no tray was cut yet, and the best is the end of what is known."""
WHATS: tuple[Literal["days", "grams"], ...] = ("days", "grams")
PROMISES = Calibration(
    rows=tuple(
        Held(what=what, promised=share, held=share - 0.02, low=share - 0.05, high=share + 0.01, trays=200, sowings=60)
        for what in WHATS
        for share in (0.5, 0.8, 0.95)
    ),
    pits={what: tuple(random.Random(what).random() for _ in range(200)) for what in WHATS},
    weeks=12,
    words="The ranges held.",
)
GAINS = {"published priors": 9100, "learning": 10_900, "known biology": 11_400}
EARNED = EarnedFigures(
    currency="EUR",
    bars=(
        EarnedBar(name="pea", sales=189.17, costs=85.85, left=103.32),
        EarnedBar(name="kale", sales=114.53, costs=199.11, left=-84.58),
        EarnedBar(name="cut, thrown away", sales=0.0, costs=46.2, left=-46.2, nobody=True),
    ),
)
STUDY = StudyFigures(
    earned=(
        Earned(what="rule of thumb", margin=8200),
        *(Earned(what=what, margin=margin, low=margin - 260, high=margin + 260) for what, margin in GAINS.items()),
        Earned(what="all-knowing", margin=12_300),
    ),
    closed=(
        Closed(what="against knowing all", share=0.66, low=0.6, high=0.72, goal=0.75),
        Closed(what="against the known law", share=0.9, low=0.84, high=0.96, goal=None),
        Closed(what="against known biology", share=0.84, low=0.78, high=0.91, goal=0.9),
    ),
    promises=tuple(
        PromisesKept(promised=at, kept=at - 0.02, low=at - 0.07, high=min(1.0, at + 0.02), promises=900, few=at < 0.6)
        for at in (0.52, 0.66, 0.76, 0.86, 0.93, 0.97, 0.995)
    ),
    courses=tuple(
        Course(what=what, by_day=tuple(margin * (day / 83) ** 1.3 - 700 * (1 - day / 83) for day in range(84)))
        for what, margin in {"rule of thumb": 8200, **GAINS}.items()
    ),
)
PLAIN_STUDY = StudyFigures(earned=(Earned(what="rule of thumb", margin=-120.0),))
"""A study of the rule alone, which loses money."""


# What moves a sum of money --------------------------------------------------------------------------------------------

SWINGS = SwingFigures(
    what="cost of 100 g",
    base=4.57,
    share=0.2,
    currency="EUR",
    rows=(
        Swung(what="weight of a tray", now="165 g", lower=5.72, higher=3.81),
        Swung(what="wage, or all minutes", now="15.00 EUR/h", lower=3.8, higher=5.35),
        Swung(what="minutes to turn and move", now="3.5 min", lower=4.46, higher=4.68),
        Swung(what="light: kWh, days or price", now="0.48 EUR a tray", lower=4.51, higher=4.63),
        Swung(what="trays on a shelf", now="4", lower=4.65, higher=4.52),
        *(
            Swung(what=f"trifle {n}", now="0.01 EUR", lower=4.57 - 0.01 / n, higher=4.57 + 0.01 / n)
            for n in range(1, 9)
        ),
    ),
)
LOSS = SwingFigures(
    what="what a tray leaves",
    base=-0.2,
    share=0.5,
    rows=(
        Swung(what="price of 100 g", now="2.00", lower=-1.2, higher=0.8),
        Swung(what="trays lost", now="5 %", lower=-0.18, higher=-0.22),
    ),
)
LIGHT = LightFigures(
    length_mm=1016.0,
    width_mm=508.0,
    height_mm=250.0,
    ppfd=tuple(
        tuple(60 + 115 * (1 - ((x - 11.5) / 12) ** 2) * (1 - 0.6 * ((y - 5.5) / 6) ** 2) for x in range(24))
        for y in range(12)
    ),
    lamps=tuple((0.0, y, 1016.0, y, 0.0) for y in (85.0, 254.0, 423.0)),
    trays=tuple((254.0 * number, 0.0, 254.0, 508.0) for number in range(4)),
    share_on_shelf=0.52,
)
WALLED_LIGHT = LightFigures(
    length_mm=254.0,
    width_mm=508.0,
    height_mm=300.0,
    ppfd=tuple(tuple(80 + 3.0 * x + 2.0 * y for x in range(8)) for y in range(16)),
    lamps=((80.0, 100.0, 180.0, 100.0, 120.0), (200.0, 450.0, 200.0, 450.0, 0.0)),
    walls=("left", "back"),
    share_on_shelf=0.3,
)
"""A panel and a point over one tray, brightest in a corner."""

# A plan ---------------------------------------------------------------------------------------------------------------

FIRST = date(2026, 11, 25)


def on(number: int) -> date:
    """A day of the made-up plan, counted from its first."""
    return FIRST + timedelta(days=number)


def sowing(
    crop: str, sow: int, *, trays: int = 1, dark: int = 5, light: int = 6, late: int = 0, soak: int = 0
) -> SowingBar:
    """Trays that soak, germinate, stand in blackout for two days and in the light, and are cut on the last of it."""
    begins = (("soak", 0), ("germinate", soak), ("blackout", dark - 2), ("light", dark), ("ready", dark + light - 1))
    spans = [(name, sow + begin) for name, begin in begins if name != "soak" or soak]
    cut = sow + dark + light
    ends = [begin - 1 for _, begin in spans[1:]] + [cut]
    return SowingBar(
        crop=crop, trays=trays, sow_on=on(sow), cut_on=on(cut), low=on(cut - late), high=on(cut + late),
        stages=tuple(StageSpan(stage=name, first=on(begin), last=on(max(begin, end)))
                     for (name, begin), end in zip(spans, ends, strict=True)),
    )  # fmt: skip


def rack(what: str, has: float, *, taken: float) -> RackFigures:
    """Spots of a kind over six weeks, taken in waves."""
    likely = tuple(taken * (0.7 + 0.3 * ((night * 5) % 11) / 10) for night in range(42))
    return RackFigures(what=what, has=(has,) * 42, likely=likely, low=tuple(0.9 * one for one in likely),
                       high=tuple(1.15 * one for one in likely))  # fmt: skip


PLAN = PlanFigures(
    first=FIRST,
    last=on(41),
    sowings=(
        SowingBar(crop="radish", trays=2, sow_on=None, cut_on=on(1)),
        SowingBar(crop="radish", trays=12, sow_on=None, cut_on=on(8)),
        *(sowing("radish", number, trays=1 + number % 3, light=4, late=1) for number in range(0, 28, 3)),
        *(sowing("pea", number, trays=3, soak=1, late=2) for number in range(1, 30, 2)),
        sowing("red cabbage", 0, trays=10, light=9),
        sowing("red cabbage", 28, light=9, late=3),
    ),
    deliveries=tuple(
        Delivery(crop=crop, due=on(number), sure=(number * 7) % 4 > 0)
        for crop in ("radish", "pea", "red cabbage", "kale")
        for number in range(2, 42, 5)
    ),
    racks=(rack("dark spots", 20.0, taken=19.0), rack("lit spots", 56.0, taken=44.0)),
)
BARE_PLAN = PlanFigures(first=FIRST, last=on(20), sowings=(SowingBar(crop="pea", trays=1, sow_on=None, cut_on=on(0)),))
