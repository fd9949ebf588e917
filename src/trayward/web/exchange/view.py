"""What the pages of exchange show."""

from __future__ import annotations

from collections.abc import Sequence
from urllib.parse import urlencode, urlsplit

import msgspec
from markupsafe import Markup

from trayward.exchange.feed import SORTS
from trayward.web.look.square import square_of
from trayward.web.shield import LOOPBACK, host_of


class Subscription(msgspec.Struct, frozen=True, kw_only=True):
    """A calendar's address, shown once."""

    address: str
    """For a program that asks for one."""
    webcal: str
    """The same for a phone's camera: calendars open what begins so (`webcal:` is no standard; common practice)."""
    svg: Markup
    only_here: bool
    """Whether the address is known to this machine alone."""


def subscription(base: str, key: str, without: Sequence[str], language: str = "") -> Subscription:
    """
    The address of a calendar, as a picture too.

    Parameters
    ----------
    base : str
        Scheme and host, as this page was opened.
    key : str
        What opens it.
    without : sequence of str
        Sorts left out.
    language : str
        Of the page it was made on: a phone asks in the language of its maker, whoever carries it. Empty: as it asks.
    """
    wanted = {"without": ",".join(without), "in": language}
    asked = urlencode({name: word for name, word in wanted.items() if word}, safe=",")
    asked = f"?{asked}" if asked else ""
    address = f"{base}/calendar/{key}.ics{asked}"
    webcal = f"webcal{address.removeprefix(urlsplit(address).scheme)}"
    only_here = host_of(urlsplit(address).netloc) in LOOPBACK
    return Subscription(address=address, webcal=webcal, svg=square_of(webcal), only_here=only_here)


def left_out(ticked: Sequence[str]) -> tuple[str, ...]:
    """The sorts that were not ticked."""
    return tuple(sort for sort in SORTS if sort not in ticked)
