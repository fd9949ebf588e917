"""A form that arrives when nobody is logged in any more: it goes through the log-in along, and is shown again after it.

A session may end, or a shared phone lock itself, while somebody fills in a form. What was typed does not go into the
book, for nobody is known who said it; nor is it kept here. It stands in the log-in page itself, in a hidden field, and
comes back with name and password. Then its page is shown with all of it, to be looked over and sent once more.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import msgspec

from trayward.web.faults import Fault, ShutError
from trayward.web.send import is_send
from trayward.web.shield import KEY_COOKIE, KEY_FIELD, require_own_page

if TYPE_CHECKING:
    from trayward.web.routing import Way

HELD = "held"
"""Name of the hidden field."""
MOST_HELD = 60_000
"""A longer form is not carried: what is sent with a log-in has its own limit. [characters]"""
SECRETS = ("password", "again", "current", "pin", "held")
"""Fields that are never written into a page."""
NOT_OURS = (KEY_FIELD, "sure")
"""The key is the browser's own; what was sure is asked again."""

STILL_HERE = Fault(
    kind="shut",
    rule="You were logged out when this was sent",
    remedy="Look it over, then send it again.",
    sentence="You were logged out when this was sent. Look it over, then send it again.",
)
"""What is said above the form once somebody is logged in again."""


class Held(msgspec.Struct, frozen=True, kw_only=True):
    """An act that nobody was known to ask for."""

    action: str
    """Its address on these pages."""
    words: tuple[tuple[str, str], ...] = ()
    """Its fields, without secrets."""

    @property
    def page(self) -> str:
        """The page its form stands on, as the form says; empty where it does not."""
        return next((word for name, word in self.words if name == "_from"), "")


def worth_reading(way: Way, headers: Mapping[str, str], cookies: Mapping[str, str]) -> bool:
    """Whether a form of somebody unknown is read at all: one of our pages, without files, from a browser we know."""
    kind = headers.get("content-type", "")
    return (
        way.asking == "page"
        and KEY_COOKIE in cookies
        and not is_send(headers)
        and kind.startswith("application/x-www-form-urlencoded")
    )


def held_of(
    action: str, words: Sequence[tuple[str, str]], headers: Mapping[str, str], cookies: Mapping[str, str]
) -> Held | None:
    """The form to carry; None where nothing was typed, it stands on no page, or another site's may have sent it."""
    key = next((word for name, word in words if name == KEY_FIELD), "")
    try:
        require_own_page(headers, cookies, key)
    except ShutError:
        return None
    kept = tuple((name, word) for name, word in words if name not in NOT_OURS and name not in SECRETS)
    found = Held(action=action, words=kept)
    typed = any(word for name, word in kept if not name.startswith("_"))
    return found if typed and found.page and len(packed(found)) <= MOST_HELD else None


def packed(held: Held) -> str:
    """A form as the words of a hidden field."""
    return msgspec.json.encode(held).decode()


def unpacked(text: str) -> Held | None:
    """The form in a hidden field; None where there is none, or it is not as we wrote it."""
    if not text:
        return None
    try:
        return msgspec.json.decode(text, type=Held)
    except (msgspec.DecodeError, UnicodeDecodeError):
        return None
