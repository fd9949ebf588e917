"""To whom alarms are mailed: addresses as they were typed."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final, Literal

from trayward.errors import InputError
from trayward.farm.settings import AlarmMail

ADDRESS: Final = re.compile(r"[^@\s,;:<>()\[\]\"\\]{1,64}@[A-Za-z0-9-]{1,63}(\.[A-Za-z0-9-]{1,63})*")
"""What RFC 5321 calls a mailbox, without its quoted forms (from memory): enough to find a slip of the fingers."""
MOST: Final = 10
"""So many may be told: our choice."""


def alarm_mail_of(addresses: Iterable[str], language: Literal["en", "es"] = "en") -> AlarmMail:
    """
    Who is told of alarms by e-mail; each once.

    Raises
    ------
    InputError
        If one is no e-mail address, or there are too many.

    Examples
    --------
    >>> alarm_mail_of(["ada@lantern-loft.example ", "ada@lantern-loft.example"]).to
    ('ada@lantern-loft.example',)
    """
    found = tuple(dict.fromkeys(each.strip() for each in addresses if each.strip()))
    for each in found:
        if ADDRESS.fullmatch(each) is None:
            raise InputError("mail", each, "it is no e-mail address", "For instance ada@lantern-loft.example.")
    if len(found) > MOST:
        raise InputError(
            "mail", f"{len(found)} addresses", f"at most {MOST} are told", "Name a list of your provider's."
        )
    return AlarmMail(to=found, language=language)
