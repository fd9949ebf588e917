"""What would be, were the farm a little different: two plans side by side, worked out in another process."""

from __future__ import annotations

from typing import TYPE_CHECKING
from urllib.parse import urlencode

from starlette.responses import Response

from trayward.desk.wonder.words import read_what_if
from trayward.errors import InputError
from trayward.web.ask import Ask
from trayward.web.sow.planned import pressed_for
from trayward.web.sow.supposing import MOST_CHANGES, forms_of, words_of
from trayward.web.sow.work import WEEKS, WHAT_IF

if TYPE_CHECKING:
    from trayward.plan.compare_types import Comparison
    from trayward.web.work import Long

PATH = "/sow/what-if"


def wonder(ask: Ask) -> Response:
    """The changes said so far, the forms to say more, and what they come to once it was asked."""
    changes = tuple(dict.fromkeys(ask.query.all("c")))[:MOST_CHANGES]
    weeks = ask.query.whole("weeks", 3, 8) if ask.query.has("weeks") else WEEKS
    understood = [(change, understood_as(ask, change), _less(changes, change)) for change in changes]
    asked = bool(changes) and ask.query.has("from")
    long: Long[Comparison] | None = pressed_for(ask, WHAT_IF, changes=changes, weeks=weeks) if asked else None
    return ask.show(
        "sow/what-if.html", changes=understood, said=changes, weeks=weeks, long=long, pressed=ask.at,
        told=long.value if long is not None else None, more=len(changes) < MOST_CHANGES,
        forms=forms_of(ask.farm.state(ask.at), ask._),
    )  # fmt: skip


def understood_as(ask: Ask, change: str) -> str:
    """How a change is understood; empty where it is not any more, the farm having gone on."""
    try:
        return "; ".join(one.words() for one in read_what_if(change, ask.farm.state(ask.at), ask.at))
    except InputError:
        return ""


def _less(changes: tuple[str, ...], left_out: str) -> str:
    return address(tuple(change for change in changes if change != left_out))


def address(changes: tuple[str, ...]) -> str:
    """The page of some changes."""
    return f"{PATH}?{urlencode([('c', change) for change in changes])}" if changes else PATH


def suppose(ask: Ask) -> Response:
    """One change more, if it is understood."""
    changes = ask.form.all("c")[:MOST_CHANGES]
    words = words_of(ask.form.text("kind", "words"), ask.form)
    if len(changes) >= MOST_CHANGES:
        raise InputError("words", words, f"{MOST_CHANGES} changes at once are enough", "Leave one out first.")
    read_what_if(words, ask.farm.state(ask.at), ask.at, len(changes))
    return ask.go(address((*changes, words)))
