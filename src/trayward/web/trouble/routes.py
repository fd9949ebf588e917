"""The guide to trouble, what was seen, and clearing what was held back."""

from __future__ import annotations

from collections.abc import Iterable
from urllib.parse import urlencode

from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import Look, find_signs, trouble_guide
from trayward.web.ask import Ask
from trayward.web.round.photo import photo_too
from trayward.web.routing import UPLOAD_LIMIT, act, page
from trayward.web.trouble.view import MOST_TRAYS, causes_shown, cited, held_shown, looks_of
from trayward.web.typed import Typed

LOOK = "look-"
YES, NO = "yes", "no"


def signs(ask: Ask) -> Response:
    """Signs to choose from, and the trays that are held back."""
    state, trays = ask.farm.state(ask.at), _asked(ask)
    words = ask.query.text("words", "")
    found = find_signs(words) if words else trouble_guide().signs
    held = held_shown(state, ask.farm.held_back(ask.at))
    return ask.show(
        "trouble/signs.html",
        signs=found or trouble_guide().signs,
        words=words,
        missed=bool(words) and not found,
        trays=trays,
        more=_more(trays),
        held=held[:MOST_TRAYS],
        held_count=len(held),
    )


def sign(ask: Ask) -> Response:
    """One sign: what to look for, what it may be, what to do, and saying it."""
    chosen, state, trays = trouble_guide().sign(ask.path["name"]), ask.farm.state(ask.at), _asked(ask)
    first = _tray(state, trays[0]) if trays else None
    looks = looks_of(chosen)
    answered = _answered(ask.query, looks)
    causes = causes_shown(state, first, chosen, ask.at, looks=answered)
    return ask.show(
        "trouble/sign.html",
        sign=chosen,
        looks=looks,
        answered=answered,
        causes=causes,
        may_be=[("", ask._("not sure")), *((each.cause.name, ask.say(each.cause.title)) for each in causes)],
        trays=trays,
        more=_more(trays),
        cited=cited,
    )


def _answered(typed: Typed, looks: Iterable[Look]) -> dict[str, bool]:
    """What was said to the questions of a close look."""
    said = ((look.name, typed.text(LOOK + look.name)) for look in looks)
    return {name: answer == YES for name, answer in said if answer in (YES, NO)}


def _more(trays: tuple[str, ...]) -> str:
    """What a link adds so that the trays are not forgotten."""
    return f"?{urlencode([('tray', name) for name in trays])}" if trays else ""


def _asked(ask: Ask) -> tuple[str, ...]:
    """The trays a page was opened for."""
    state = ask.farm.state(ask.at)
    return tuple(_tray(state, name).tray for name in dict.fromkeys(ask.query.all("tray")))


def _tray(state: FarmState, name: str) -> Tray:
    tray = state.tray(name)
    if tray is None:
        raise NotFoundError("tray", name, tuple(each.tray for each in state.growing()), "See the racks.")
    return tray


def seen(ask: Ask) -> Response:
    """Trouble seen on trays, with a photo where there is one."""
    form = ask.form
    trays = form.all("tray")
    if not trays:
        raise InputError("tray", "nothing", "trouble is on a tray", "Choose the trays.")
    looks = _answered(form, trouble_guide().looks)
    share = form.maybe(form.share, "share")
    what = form.need("sign", "Choose the sign.")
    photo = photo_too(ask, tuple(f"tray:{name}" for name in trays), what)
    receipt = ask.farm.see_trouble(
        trays, what, cause=form.text("cause"), where=form.text("where"), share=share,
        looks=looks, note=form.text("note"), **ask.said,
    )  # fmt: skip
    undo = [*photo, *(kept.entry.id for kept in receipt.kept)]
    where = f"/tray/{trays[0]}" if ask.has("/tray/{name}") else "/trouble"
    return ask.go(where, ask._("Trouble kept."), findings=receipt.findings, undo=undo)


def clear(ask: Ask) -> Response:
    """A tray that was held back is well: somebody looked close and says what it was."""
    tray = ask.form.need("tray", "Choose the tray.")
    receipt = ask.farm.clear_trouble([tray], ask.form.text("found"), note=ask.form.text("note"), **ask.said)
    return ask.recorded("/trouble", ask._("Cleared: the tray goes on as others do."), receipt)


ROUTES = (
    page("/trouble", signs, may="look"),
    page("/trouble/{name}", sign, may="look"),
    act("/trouble/seen", seen, may="answer", limit=UPLOAD_LIMIT),
    act("/trouble/clear", clear, may="answer"),
)
