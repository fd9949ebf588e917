"""The harvest: looking back at cuts, the cold room, cutting what no round asks for, throwing away."""

from __future__ import annotations

from typing import Any

from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.state import FarmState
from trayward.rounds.cold_room import cold_room
from trayward.rounds.scene import make_scene
from trayward.rounds.story import harvest_story
from trayward.web.ask import Ask
from trayward.web.harvest.view import (
    LOOK_BACK,
    crops_shown,
    days_of_cuts,
    days_shown,
    held_ready,
    lot_shown,
    lots_since,
    page_of,
    ready_groups,
    ready_trays,
    verdict_of,
    went_to,
)
from trayward.web.harvest.work import foretold_of, season_of
from trayward.web.racks.work import told_of_standing
from trayward.web.routing import act, page
from trayward.web.tray.view import told_of

WEIGHT = "g:"
"""Begins the name of the field that holds a tray's grams."""


def harvest(ask: Ask) -> Response:
    """The cold room, what can be cut, what was cut, and how the weeks went."""
    state, settings, today = ask.farm.state(ask.at), ask.settings, ask.today
    days = ask.kept("harvest days", lambda: days_of_cuts(state, settings))
    number = ask.query.text("page")
    chosen, pages = page_of(days, int(number) if number.isdecimal() and len(number) < 6 else 1)
    told = foretold_of(ask, [lot.harvest for lots in chosen.values() for lot in lots])
    first = today - LOOK_BACK
    season = season_of(ask, first)
    lots = ask.kept(("harvest lots since", first), lambda: lots_since(state, first, settings))
    # Which trays the round asks to cut needs no outlook, so none is worked out here.
    scene = ask.kept(("harvest scene", today), lambda: make_scene(state, NoOutlook(), ask.at))
    standing = told_of_standing(ask)
    ready = ready_groups(state, scene, standing.value or {}, ask.query.text("cut"))
    tops = [tray.weight.expected.high for group in ready for tray in group.trays if tray.weight is not None]
    return ask.show(
        "harvest/page.html",
        cold=ask.kept(("cold room", today), lambda: cold_room(state, settings, today)),
        days=days_shown(chosen, told.value or {}),
        told=told,
        page=min(max(1, int(number) if number.isdecimal() and len(number) < 6 else 1), pages),
        pages=pages,
        crops=crops_shown(lots, {crop: one.each for crop, one in (season.value or {}).items()}),
        season=season,
        first=first,
        ready=ready,
        pad_top=1.15 * max(tops, default=1.0),
        ready_count=len(ready_trays(state)),
        held=held_ready(state),
        weight=WEIGHT,
    )


class NoOutlook:
    """Stands where a scene wants an outlook that is never asked."""

    def standing(self, tray: Any) -> Any:
        """Never asked: who cuts is told by the plan and the cut window."""
        raise AssertionError(tray)


def lot(ask: Ask) -> Response:
    """One harvest lot: tray by tray against what was expected, where it went, its story."""
    state, settings = ask.farm.state(ask.at), ask.settings
    name = ask.path["name"]
    found = state.harvests.get(name)
    if found is None:
        raise NotFoundError("harvest lot", name, tuple(state.harvests), "See the harvest page.")
    told = foretold_of(ask, [name])
    entries = ask.farm.said_about(f"harvest:{name}", ask.at)
    own = (told.value or {}).get(name)
    cold = cold_room(state, settings, ask.today)
    return ask.show(
        "harvest/lot.html",
        lot=found,
        shown=lot_shown(found, told.value or {}),
        cold=next((each for each in cold.lots if each.harvest == name), None),
        trays=_trays(state, found.trays, own.each if own is not None else {}),
        told=told,
        went=went_to(entries, name),
        cut_on=local_day(found.cut_at, settings),
        story=told_of(
            harvest_story(name, entries, state, settings),
            {entry.id: entry for entry in entries},
            ask.who.name,
            run=ask.may("run"),
            answer=ask.may("answer"),
        ),
    )


def _trays(state: FarmState, names: tuple[str, ...], each: Any) -> list[dict[str, Any]]:
    """A lot's trays with their grams; only one cut counts where a tray was cut once."""
    found = []
    for name in names:
        tray = state.tray(name)
        grams = tray.grams if tray is not None and tray.cuts == 1 else None
        known = each.get(name)
        found.append(
            {
                "tray": name,
                "grams": grams,
                "foretold": known,
                "verdict": verdict_of(grams, known) if grams is not None else "",
            }
        )
    return found


# Doing ----------------------------------------------------------------------------------------------------------------


def cut(ask: Ask) -> Response:
    """Cut trays into one harvest lot, with the grams of each that has some."""
    form = ask.form
    fields = [name for name, word in form.words if name.startswith(WEIGHT) and word.strip()]
    if not fields:
        raise InputError("weight", "nothing", "at least one tray is weighed", "Weigh each tray, in grams.")
    grams = {name.removeprefix(WEIGHT): form.mass(name) for name in dict.fromkeys(fields)}
    receipt = ask.farm.cut(grams, height_mm=form.maybe(form.length, "height"), regrow=form.ticked("regrow"), **ask.said)
    name = receipt.names[0] if receipt.names else ""
    say = ask.ngettext(
        "%(num)s tray cut into lot %(lot)s.", "%(num)s trays cut into lot %(lot)s.", len(grams), lot=name
    )
    return ask.recorded("/harvest", say, receipt)


def throw(ask: Ask) -> Response:
    """Throw away loose grams of a lot, or packs."""
    form, reason = ask.form, ask.form.need("reason", "Say in a word, for instance: past its days.")
    if form.has("pack"):
        packs = {form.text("pack"): form.whole("packs", 1)}
        receipt = ask.farm.throw_away({}, reason, packs=packs, **ask.said)
    else:
        name = form.need("harvest", "Choose the lot.")
        receipt = ask.farm.throw_away({name: _left(ask, name)}, reason, **ask.said)
    back = form.text("_from", "/harvest")
    where = back if back.startswith("/harvest") else "/harvest"
    return ask.recorded(where, ask._("Thrown away."), receipt)


def _left(ask: Ask, name: str) -> float:
    """The grams typed; all that is left where nothing was. What rounding put above that is all of it. [g]"""
    held = ask.farm.state(ask.at).harvests.get(name)
    if held is None:
        raise NotFoundError("harvest lot", name, remedy="See the harvest page.")
    if not ask.form.has("grams"):
        return held.left_g
    grams = ask.form.mass("grams")
    return held.left_g if 0 < grams - held.left_g < 0.5 else grams


ROUTES = (
    page("/harvest", harvest, may="look"),
    page("/harvest/lot/{name}", lot, may="look"),
    act("/harvest/cut", cut, may="answer"),
    act("/harvest/throw", throw, may="answer"),
)
