"""How a feature lists its pages: each way in has a path, a view and the right that it takes."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Literal

import msgspec

from trayward.web.guard import Right

if TYPE_CHECKING:
    from starlette.responses import Response

    from trayward.web.ask import Ask

View = Callable[["Ask"], "Response"]
"""A page or an act: a plain function, run in a worker thread."""

May = Right | Literal["anyone"]
"""`anyone`: strangers too, as the log-in must; its `ask.who` may be None."""

FORM_LIMIT = 256 * 1024
"""What a form without a picture may weigh. [byte]"""
UPLOAD_LIMIT = 12 * 1024 * 1024
"""What a form with a picture or a sheet may weigh. [byte]"""


class Way(msgspec.Struct, frozen=True, kw_only=True):
    """One way in. Made by `page` and `act`."""

    path: str
    view: View
    may: May
    method: Literal["GET", "POST", "PUT", "PATCH", "DELETE"] = "GET"
    again: View | None = None
    """The page that shows the form once more when it is refused; None: the page the form says it stands on."""
    limit: int = FORM_LIMIT
    """What a request may weigh. [byte]"""
    farmless: bool = False
    """Whether it works before there is a farm in the book."""
    asking: Literal["page", "json"] = "page"
    """json: answers programs, so all that goes wrong is said in JSON."""
    warm: bool = False
    """Whether it asks so much of a farm just opened that it waits until that was made ready; others go before it."""


def page(path: str, view: View, *, may: May, farmless: bool = False, warm: bool = False) -> Way:
    """A page to look at: `GET path`. `path` may have parts, as in `/tray/{name}`; they stand in `ask.path`."""
    return Way(path=path, view=view, may=may, farmless=farmless, warm=warm)


def act(
    path: str,
    view: View,
    *,
    may: May,
    again: View | None = None,
    limit: int = FORM_LIMIT,
    farmless: bool = False,
) -> Way:
    """Something done by a form: `POST path`. Its view records, and sends on with `ask.go`."""
    return Way(path=path, view=view, may=may, method="POST", again=again, limit=limit, farmless=farmless)


def api(
    method: Literal["GET", "POST", "PUT", "PATCH", "DELETE"],
    path: str,
    view: View,
    *,
    may: May,
    limit: int = FORM_LIMIT,
) -> Way:
    """A way in for programs: what is sent is in `ask.body`, and what goes wrong is said in JSON."""
    return Way(path=path, view=view, may=may, method=method, limit=limit, asking="json")
