"""The racks: looking, looking ahead, and moving a tray."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.spots import find_spot, free_spots, spot_problem, stage_of, walking_shelves
from trayward.farm.state import FarmState, Tray
from trayward.rounds.kept import KeptPlan, kept_plan
from trayward.rounds.place import Place, place_now, place_on
from trayward.rounds.restack import loose
from trayward.web.ask import Ask
from trayward.web.racks.view import (
    ALL_AT_ONCE,
    Wanted,
    crops_in,
    days_ahead,
    night_of,
    part_of,
    racks_of,
    rows_of,
    spots_of,
    stages_in,
)
from trayward.web.racks.work import told_of_standing
from trayward.web.round.view import word_id
from trayward.web.routing import act, page

FURTHEST = timedelta(days=70)
"""How far ahead the place can be looked at: the outlook and the plan know nothing beyond."""
MOST_SPOTS = 200
"""Free spots offered in a list."""


def racks(ask: Ask) -> Response:
    """The place, now or on a day ahead; one rack in detail where there are many."""
    state, settings = ask.farm.state(ask.at), ask.settings
    told = told_of_standing(ask)
    ahead = _day_ahead(ask)
    kept: KeptPlan | None = None
    if ahead is not None:
        kept = ask.kept("racks kept plan", lambda: kept_plan(state))
        shown = place_on(state, settings, ask.at, ahead, told.value or {}, kept)
    else:
        shown = place_now(state, settings, ask.at, told.value or {})
    wanted = Wanted(crop=ask.query.text("crop"), stage=ask.query.text("stage"))
    moving = _moving(ask, state) if ahead is None else None
    suits = _suits(state, moving) if moving is not None else frozenset()
    opened = _opened(ask, state, suits)
    found = racks_of(
        state,
        shown,
        lambda moment: local_day(moment, settings),
        wanted=wanted,
        open_rack=opened,
        page=_number(ask, "part"),
        suits=suits,
    )
    rows = _rows(ask, state, shown, wanted, opened)
    return ask.show(
        "racks/page.html",
        racks=found,
        place=shown,
        told=told,
        on=ahead,
        kept=kept,
        night=night_of(kept.plan, ahead) if kept is not None and ahead is not None else (),
        days=days_ahead(ask.today),
        wanted=wanted,
        crops=crops_in(shown),
        stages=stages_in(shown),
        opened=opened,
        small=opened == "",
        rows=rows,
        listed=part_of(rows, _number(ask, "part")),
        as_list=ask.query.text("as") == "list",
        moving=moving,
        suits=suits,
        loose=ask.kept("racks-loose", lambda: loose(state)) if ahead is None and moving is None else None,
        address=_address(ask),
    )


def _rows(ask: Ask, state: FarmState, shown: Place, wanted: Wanted, opened: str | None) -> Any:
    if ask.query.text("as") != "list":
        return ()
    settings = ask.settings
    spots = spots_of(state, opened) if opened else None
    return rows_of(shown, lambda moment: local_day(moment, settings), wanted, spots)


def _day_ahead(ask: Ask) -> date | None:
    """The day that is looked at; None for now."""
    if not ask.query.has("on"):
        return None
    day = ask.query.day("on")
    if not ask.today <= day <= ask.today + FURTHEST:
        last = ask.tongue.day(ask.today + FURTHEST, year=True)
        raise InputError("on", ask.tongue.day(day, year=True), f"it must lie between today and {last}", "Choose a day.")
    return day


def _opened(ask: Ask, state: FarmState, suits: frozenset[str]) -> str | None:
    """Which rack is shown with its spots: all of a small place, else the one asked for, else none.

    Where a tray is being moved it is the first rack with a spot that suits it.
    """
    if sum(shelf.spots * shelf.stack for shelf in state.shelves.values()) <= ALL_AT_ONCE:
        return ""
    asked = ask.query.text("rack")
    names = dict.fromkeys(shelf.rack for shelf in state.shelves.values())
    if asked and asked not in names:
        raise NotFoundError("rack", asked, tuple(names), "Choose one of the racks.")
    if not asked and suits:
        return next(shelf.rack for shelf in walking_shelves(state) if not suits.isdisjoint(shelf.spot_names()))
    return asked or None


def _number(ask: Ask, name: str) -> int:
    found = ask.query.text(name)
    return int(found) if found.isdecimal() and len(found) < 6 else 1


def _moving(ask: Ask, state: FarmState) -> Tray | None:
    name = ask.query.text("move")
    tray = state.trays.get(name) if name else None
    if name and (tray is None or tray.fate != "growing"):
        raise NotFoundError("tray", name, remedy="It does not grow any more. Choose one that stands.")
    return tray


def _suits(state: FarmState, tray: Tray) -> frozenset[str]:
    """Free spots that suit a tray's stage, its own being left."""
    stage = stage_of(state, tray)
    if stage is None or stage.ground == "bench":
        return frozenset(spot for kind in ("dark", "lit") for spot in free_spots(state, kind, 1))
    return frozenset(free_spots(state, stage.ground, stage.stack))


def _address(ask: Ask) -> Any:
    """Make this page's address with some things asked for otherwise: `address(rack="A")`; None leaves one out."""
    now = {name: ask.query.text(name) for name in ("rack", "crop", "stage", "on", "as") if ask.query.has(name)}

    def address(**other: str | int | date | None) -> str:
        words: Mapping[str, Any] = {**now, **other}
        said = urlencode([(name, str(word)) for name, word in words.items() if word not in (None, "")])
        return f"/racks?{said}" if said else "/racks"

    return address


# Moving ---------------------------------------------------------------------------------------------------------------


def move(ask: Ask) -> Response:
    """A tray goes to another spot. What cannot be is refused with the house's sentence; an odd place is said."""
    if len(ask.form.all("tray")) > 1:
        return _move_all(ask)
    name, spot = ask.form.need("tray", "Choose the tray."), ask.form.need("spot", "Choose where it goes.")
    state = ask.farm.state(ask.at)
    if find_spot(state, spot) is None:
        problem = None if ask.send is not None else spot_problem(state, spot, _any_stage(state, name), tray=name)
        if problem is not None:
            raise InputError("spot", spot, "the farm has no spot of that name", problem.remedy)
    receipt = ask.farm.move({name: spot}, **ask.said)
    tray = ask.farm.state(ask.at).tray(name)
    say = ask._("%(crop)s %(tray)s stands on %(spot)s now.", crop=tray.crop if tray else "", tray=name, spot=spot)
    return ask.recorded(_back(ask), say, receipt)


def _move_all(ask: Ask) -> Response:
    """Several trays go to other spots at once: a spot for each tray, in their order."""
    trays, spots = ask.form.all("tray"), ask.form.all("spot")
    if len(trays) != len(spots) or len(set(trays)) != len(trays):
        rule = f"each of the {len(trays)} trays goes to a spot of its own"
        raise InputError("spot", len(spots), rule, "Look at the page again.")
    receipt = ask.farm.move(dict(zip(trays, spots, strict=True)), **ask.said)
    moves = ", ".join(f"{tray} \N{RIGHTWARDS ARROW} {spot}" for tray, spot in zip(trays, spots, strict=True))
    say = ask.ngettext("%(num)s tray moved: %(moves)s.", "%(num)s trays moved: %(moves)s.", len(trays), moves=moves)
    return ask.recorded(_back(ask), say, receipt)


def _any_stage(state: FarmState, name: str) -> Any:
    tray = state.tray(name)
    if tray is None:
        raise NotFoundError("tray", name, tuple(state.trays))
    stage = stage_of(state, tray)
    return stage if stage is not None else state.recipe_of(tray).stages[0]


def _back(ask: Ask) -> str:
    """Where the form stood, without the tray that was being moved; `at`: what part of the page it was about."""
    came = ask.form.text("_from", "/racks")
    if not came.startswith("/") or came.startswith("//"):
        return "/racks"
    path, _, query = came.partition("?")
    kept = "&".join(part for part in query.split("&") if part and not part.startswith("move="))
    at = f"#{word_id(ask.form.text('at'))}" if ask.form.has("at") else ""
    return (f"{path}?{kept}" if kept else path) + at


ROUTES = (
    page("/racks", racks, may="look"),
    act("/racks/move", move, may="answer"),
)
