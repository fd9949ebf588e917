"""The state of the farm: settings, places and what stands there, kit, seed, recipes."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Annotated, TypeVar

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.kit import Pool, PoolState
from trayward.farm.kit_marks import in_order
from trayward.farm.orders import Product
from trayward.farm.places import Shelf
from trayward.farm.recipes import Recipe
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, SeedLot, Tray
from trayward.outlook.ahead import Outlook
from trayward.outlook.types import TrayOutlook
from trayward.rounds.kit_story import mark_now
from trayward.web.api.operation import Nothing, look
from trayward.web.api.telling import FindingTold, finding_told
from trayward.web.ask import Ask

MOST = 1000
Limit = Annotated[int, msgspec.Meta(ge=1, le=MOST)]
T = TypeVar("T")


class FarmTold(msgspec.Struct, frozen=True, kw_only=True):
    """The farm as a whole."""

    settings: FarmSettings
    at: datetime
    """The moment this is of."""
    version: str
    """Moves whenever the book does."""
    entries: int
    growing: int
    """Trays. [-]"""
    findings: tuple[FindingTold, ...]
    """What does not add up in the record; the newest hundred."""


class SpotTold(msgspec.Struct, frozen=True, kw_only=True):
    """A spot and the tray on it."""

    spot: str
    tray: str | None


class PlaceTold(msgspec.Struct, frozen=True, kw_only=True):
    """A shelf and its spots."""

    shelf: Shelf
    spots: tuple[SpotTold, ...]


class MarkTold(msgspec.Struct, frozen=True, kw_only=True):
    """A thing of a pool that carries a mark."""

    mark: str
    where: str
    """ready, in use, dirty, washed, away, retired, lost."""
    now: str
    """Where it is and what it lacks, in words."""
    tray: str
    """The tray it is under, or was last."""
    uses: int
    suspect: bool
    """It held a tray with suspected mould, and was not sanitised since."""


class KitTold(msgspec.Struct, frozen=True, kw_only=True):
    """Where the things of one pool are."""

    pool: Pool
    ready: int
    in_use: int
    dirty: int
    washed: int
    drying: int
    away: int
    lost: int
    uses: int
    marks: tuple[MarkTold, ...]
    """Those that carry marks."""


class SeedTold(msgspec.Struct, frozen=True, kw_only=True):
    """A seed lot. [g]"""

    lot: SeedLot
    live_share: float | None
    """Share that sprouts, by the farm's tests, else the label. [-]"""
    here: bool
    """False while it is on order."""


class TrayTold(msgspec.Struct, frozen=True, kw_only=True):
    """A tray: where it is, in which stage, and what is likely."""

    tray: str
    sowing: str
    recipe: str
    crop: str
    fate: str
    """growing, cut, discarded, delivered."""
    stage: str
    stage_since: datetime
    spot: str | None
    sown_at: datetime
    seed_g: float
    lots: tuple[str, ...]
    last_look: datetime | None
    last_water: datetime | None
    moisture: str | None
    share_emerged: float | None
    height_mm: float | None
    problem: str
    grams: float | None
    """What was cut of it. [g]"""
    ended_at: datetime | None
    trial: str
    outlook: TrayOutlook | None
    """When it will be ready and what it will weigh; None once it has ended."""


class TraysAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Which trays, and from where on."""

    after: Annotated[str, msgspec.Meta(max_length=200)] = ""
    """The `next` of the page before."""
    limit: Limit = 200
    crop: Annotated[str, msgspec.Meta(max_length=200)] = ""
    stage: Annotated[str, msgspec.Meta(max_length=200)] = ""
    outlook: bool = True
    """Whether to say what is likely."""


class TrayPage(msgspec.Struct, frozen=True, kw_only=True):
    """Trays that stand, in the order they were sown."""

    trays: tuple[TrayTold, ...]
    next: str | None
    """What `after` is to be for more; None: these were the last."""


class PageAsked(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """From where on."""

    after: Annotated[str, msgspec.Meta(max_length=200)] = ""
    limit: Limit = 200


class SeedPage(msgspec.Struct, frozen=True, kw_only=True):
    """Seed lots with something left or on order, the newest last."""

    lots: tuple[SeedTold, ...]
    next: str | None


class Places(msgspec.Struct, frozen=True, kw_only=True):
    """Shelves in walking order."""

    places: tuple[PlaceTold, ...]


class KitList(msgspec.Struct, frozen=True, kw_only=True):
    """Every pool of kit."""

    kit: tuple[KitTold, ...]


class Recipes(msgspec.Struct, frozen=True, kw_only=True):
    """What is sown here, and what is sold."""

    recipes: tuple[Recipe, ...]
    products: tuple[Product, ...]


def page_of(items: Iterable[tuple[str, T]], after: str, limit: int) -> tuple[list[T], str | None]:
    """
    The items after a name, and where the next page begins.

    A name that is there no more begins anew: what was counted on may have ended meanwhile.

    Examples
    --------
    >>> page_of([("a", 1), ("b", 2), ("c", 3)], "a", 1)
    ([2], 'b')
    >>> page_of([("a", 1), ("b", 2)], "a", 5)
    ([2], None)
    """
    listed = list(items)
    names = [name for name, _ in listed]
    begin = names.index(after) + 1 if after in names else 0
    page = listed[begin : begin + limit]
    more = begin + limit < len(listed)
    return [item for _, item in page], page[-1][0] if more and page else None


def _farm(ask: Ask, _: Nothing) -> FarmTold:
    state = ask.farm.state(ask.at)
    return FarmTold(
        settings=ask.settings, at=ask.at, version=ask.version, entries=state.entries, growing=len(state.growing()),
        findings=tuple(finding_told(each) for each in state.findings[-100:]),
    )  # fmt: skip


def _places(ask: Ask, _: Nothing) -> Places:
    state = ask.farm.state(ask.at)
    shelves = sorted(state.shelves.values(), key=lambda shelf: shelf.order)
    return Places(
        places=tuple(
            PlaceTold(
                shelf=shelf,
                spots=tuple(SpotTold(spot=spot, tray=state.spots.get(spot)) for spot in shelf.spot_names()),
            )
            for shelf in shelves
        )
    )


def _kit(ask: Ask, _: Nothing) -> KitList:
    state = ask.farm.state(ask.at)
    return KitList(kit=tuple(_pool(state, held, ask.at) for held in state.kit.values()))


def _pool(state: FarmState, held: PoolState, at: datetime) -> KitTold:
    return KitTold(
        pool=held.pool, ready=held.ready(at), in_use=held.in_use, dirty=held.dirty, washed=held.washed,
        drying=held.still_drying(at), away=held.away, lost=held.lost, uses=held.uses,
        marks=tuple(_mark(state, held, name, at) for name in sorted(held.marks, key=in_order)),
    )  # fmt: skip


def _mark(state: FarmState, held: PoolState, name: str, at: datetime) -> MarkTold:
    own = held.marks[name]
    return MarkTold(
        mark=name, where=own.where, now=mark_now(state, held, name, at), tray=own.tray, uses=own.uses,
        suspect=own.suspect,
    )  # fmt: skip


def _seed(ask: Ask, asked: PageAsked) -> SeedPage:
    lots = ask.farm.state(ask.at).seed
    there = [(name, lot) for name, lot in lots.items() if lot.left_g > 0 or lot.expected_on is not None]
    page, following = page_of(there, asked.after, asked.limit)
    told = tuple(SeedTold(lot=lot, live_share=lot.live_share, here=lot.expected_on is None) for lot in page)
    return SeedPage(lots=told, next=following)


def _recipes(ask: Ask, _: Nothing) -> Recipes:
    state = ask.farm.state(ask.at)
    return Recipes(recipes=tuple(state.recipes_in_use()), products=tuple(state.products.values()))


def _trays(ask: Ask, asked: TraysAsked) -> TrayPage:
    state = ask.farm.state(ask.at)
    wanted = [
        (tray.tray, tray)
        for tray in state.growing()
        if (not asked.crop or tray.crop == asked.crop) and (not asked.stage or tray.stage == asked.stage)
    ]
    page, following = page_of(wanted, asked.after, asked.limit)
    ahead = ask.farm.outlook_soon(ask.at) if asked.outlook else None
    return TrayPage(trays=tuple(tray_told(tray, ahead) for tray in page), next=following)


def _tray(ask: Ask, _: Nothing) -> TrayTold:
    state, name = ask.farm.state(ask.at), str(ask.path["name"])
    tray = state.tray(name)
    if tray is None:
        raise NotFoundError("tray", name, tuple(each.tray for each in state.growing()))
    return tray_told(tray, ask.farm.outlook_soon(ask.at))


def tray_told(tray: Tray, ahead: Outlook | None) -> TrayTold:
    """A tray as programs are told of it."""
    stands = ahead is not None and tray.fate == "growing" and tray.recipe in ahead.state.recipes
    return TrayTold(
        tray=tray.tray, sowing=tray.sowing, recipe=tray.recipe, crop=tray.crop, fate=tray.fate, stage=tray.stage,
        stage_since=tray.stage_since, spot=tray.spot, sown_at=tray.sown_at, seed_g=tray.seed_g, lots=tray.lots,
        last_look=tray.last_look, last_water=tray.last_water, moisture=tray.moisture,
        share_emerged=tray.share_emerged, height_mm=tray.height_mm, problem=tray.problem, grams=tray.grams,
        ended_at=tray.ended_at, trial=tray.trial,
        outlook=ahead.standing(tray) if stands and ahead is not None else None,
    )  # fmt: skip


OPERATIONS = (
    look("/farm", _farm, FarmTold, "farm", "The farm: its settings, its moment, and what does not add up."),
    look("/places", _places, Places, "farm", "Every shelf and spot, and what stands there.", steady=True),
    look("/kit", _kit, KitList, "farm", "Every pool of kit: in use, dirty, drying, ready."),
    look("/seed", _seed, SeedPage, "farm", "Seed lots with something left or on order.", takes=PageAsked, steady=True),
    look("/recipes", _recipes, Recipes, "farm", "Recipes that are sown, and products.", steady=True),
    look("/trays", _trays, TrayPage, "trays", "Trays that stand, with stage, spot and outlook.", takes=TraysAsked),
    look("/trays/{name:path}", _tray, TrayTold, "trays", "One tray, standing or done with."),
)
