"""One tray: its page, and what can be said of it and done with it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from starlette.responses import Response

from trayward.desk.core import Receipt
from trayward.desk.lookup import stage_named
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.places import shelf_of
from trayward.farm.spots import stage_of
from trayward.farm.state import FarmState, Tray
from trayward.rounds.kept import kept_plan
from trayward.web.ask import Ask
from trayward.web.racks.work import told_of_standing
from trayward.web.round.picture import as_kept
from trayward.web.routing import UPLOAD_LIMIT, act, page
from trayward.web.tray.view import spots_for, stages_to_come, told_of, tray_shown


def tray_page(ask: Ask) -> Response:
    """Everything about one tray."""
    name = ask.path["name"]
    state, settings = ask.farm.state(ask.at), ask.settings
    tray = _tray(state, name)
    told = told_of_standing(ask) if tray.fate == "growing" else None
    kept = ask.kept("racks kept plan", lambda: kept_plan(state))
    shown = tray_shown(
        state,
        settings,
        tray,
        ask.at,
        lambda moment: local_day(moment, settings),
        (told.value if told is not None else None) or {},
        kept,
    )
    said = {each.entry.id: each.entry for each in ask.farm.book.about(f"tray:{tray.tray}")}
    story = told_of(ask.farm.story(tray.tray, ask.at), said, ask.who.name, run=ask.may("run"), answer=ask.may("answer"))
    growing = shown.growing
    return ask.show(
        "tray/page.html",
        tray=shown,
        told=told,
        story=story,
        spots=spots_for(state, stage_of(state, tray)) if growing else (),
        stages=stages_to_come(state, tray) if growing else (),
        onto=_onto(state, tray) if growing else "",
        here=f"/tray/{tray.tray}",
    )


def _onto(state: FarmState, tray: Tray) -> str:
    """Where the tray would go if it went on now; empty where it can stay, or nothing is free."""
    stages = stages_to_come(state, tray)
    found = spots_for(state, stages[0]) if stages and stages[0].ground != _ground(state, tray) else ()
    return found[0] if found else ""


def _ground(state: FarmState, tray: Tray) -> str:
    shelf = state.shelves.get(shelf_of(tray.spot)) if tray.spot else None
    return shelf.kind if shelf is not None else "bench"


def _tray(state: FarmState, name: str) -> Tray:
    tray = state.tray(name)
    if tray is None:
        raise NotFoundError("tray", name, tuple(each.tray for each in state.growing()), "See the racks.")
    return tray


def _form_tray(ask: Ask) -> str:
    """The tray a form is about."""
    return _tray(ask.farm.state(ask.at), ask.form.need("tray", "Choose the tray.")).tray


def _done(ask: Ask, tray: str, say: str, receipt: Receipt) -> Response:
    return ask.recorded(f"/tray/{tray}", say, receipt)


# Saying something -----------------------------------------------------------------------------------------------------


def say(ask: Ask) -> Response:
    """What was seen, measured or given: one entry or a few that belong together."""
    tray, form = _form_tray(ask), ask.form
    seen: dict[str, Any] = {
        "height_mm": form.maybe(form.length, "height"),
        "share_emerged": form.maybe(form.share, "share"),
        "problem": form.text("problem"),
        "moisture": form.choice("moisture", ("moist", "dry")) if form.has("moisture") else None,
    }
    water, note = form.maybe(form.volume, "water"), form.text("note")
    receipt = _kept(ask, tray, {name: value for name, value in seen.items() if value not in (None, "")}, water, note)
    return _done(ask, tray, ask._("Kept."), receipt)


def _kept(ask: Ask, tray: str, seen: dict[str, Any], water: float | None, note: str) -> Receipt:
    growing = ask.farm.state(ask.at).tray(tray)
    if growing is not None and growing.fate == "growing" and (seen or (water is not None and note)):
        return ask.farm.answer([tray], **seen, note=note, water_ml=water, **ask.said)
    if water is not None:
        return ask.farm.water([tray], water, **ask.said)
    if seen:
        raise InputError("tray", tray, "it grows no more: only a note can be added", "Write it as a note.")
    if not note:
        raise InputError("note", "nothing", "there is nothing to keep", "Say at least one thing.")
    return ask.farm.note(note, about=(f"tray:{tray}",), **ask.said)


def photo(ask: Ask) -> Response:
    """A photo of the tray."""
    tray, file = _form_tray(ask), ask.form.file("photo")
    if file is None:
        raise InputError("photo", "nothing", "there is no photo to keep", "Take one, or choose one.")
    about = (f"tray:{tray}",)
    receipt = ask.farm.keep_photo(as_kept(file.content), about, ask.form.text("note"), **ask.said)
    return _done(ask, tray, ask._("Photo kept."), receipt)


def feed(ask: Ask) -> Response:
    """Feed given to the tray, from below."""
    tray, form = _form_tray(ask), ask.form
    receipt = ask.farm.feed(
        [tray],
        form.volume("ml"),
        ph=form.number("ph", 0, 14) if form.has("ph") else None,
        ec=form.number("ec", 0, 50) if form.has("ec") else None,
        feed=form.text("feed"),
        **ask.said,
    )
    return _done(ask, tray, ask._("Feed kept."), receipt)


# Doing something ------------------------------------------------------------------------------------------------------


def begin(ask: Ask) -> Response:
    """The tray begins a stage, and goes where that can be."""
    tray, stage = _form_tray(ask), ask.form.need("stage", "Choose the stage.")
    state = ask.farm.state(ask.at)
    stage_named(state.recipe_of(_tray(state, tray)), stage)
    spots: Sequence[str] | None = [ask.form.text("spot")] if ask.form.has("spot") else None
    receipt = ask.farm.begin([tray], stage, spots=spots, **ask.said)
    after = ask.farm.state(ask.at).tray(tray)
    where = (after.spot or "") if after is not None else ""
    words = ask._("It is in %(stage)s now, on %(spot)s.", stage=ask._(stage), spot=where or ask._("the bench"))
    return _done(ask, tray, words, receipt)


def discard(ask: Ask) -> Response:
    """The tray is thrown away, with a reason."""
    tray = _form_tray(ask)
    receipt = ask.farm.discard([tray], ask.form.text("reason"), **ask.said)
    return _done(ask, tray, ask._("Thrown away."), receipt)


def strike(ask: Ask) -> Response:
    """A line of the story is taken back; hands take back their own."""
    entry, reason = ask.form.need("entry"), ask.form.text("reason")
    kept = ask.farm.entry_named(entry)
    if not ask.may("run") and kept.entry.by != ask.who.name:
        raise InputError("entry", entry, "somebody else said it", "Ask who keeps the farm to strike it.")
    receipt = ask.farm.strike(kept.entry.id, reason, **ask.said)
    back = ask.form.text("_from", "/racks")
    where = back if back.startswith("/") and not back.startswith("//") else "/racks"
    return ask.go(where, ask._("Struck. It stays in the book and counts no more."), findings=receipt.findings)


ROUTES = (
    page("/tray/{name}", tray_page, may="look"),
    act("/tray/say", say, may="answer"),
    act("/tray/photo", photo, may="answer", limit=UPLOAD_LIMIT),
    act("/tray/feed", feed, may="answer"),
    act("/tray/begin", begin, may="answer"),
    act("/tray/discard", discard, may="answer"),
    act("/tray/strike", strike, may="answer"),
)
