"""The short word that goes from an act to the next page: what was done, what looked odd, what can be taken back."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote, unquote

from trayward.errors import Finding

SAY_COOKIE = "trayward-say"
LETTERS = 300
ODD = 3
UNDONE = 12
"""A cookie holds about 4,000 letters."""


def word_for(say: str, findings: Sequence[Finding], undo: Sequence[str]) -> str:
    """The word, as a cookie may hold it."""
    odd = [finding.sentence()[:LETTERS] for finding in findings[:ODD]]
    return quote(json.dumps({"say": say[:LETTERS], "odd": odd, "undo": list(undo)[:UNDONE]}))


def kept_word(cookies: Mapping[str, str]) -> dict[str, Any]:
    """The word that waits in a cookie; nothing where it is none of ours."""
    if SAY_COOKIE not in cookies:
        return {}
    try:
        found = json.loads(unquote(cookies[SAY_COOKIE]))
    except ValueError:
        return {}
    good = isinstance(found, dict) and isinstance(found.get("say", ""), str)
    if not good or not all(isinstance(found.get(name, []), list) for name in ("odd", "undo")):
        return {}
    whole: dict[str, Any] = {"say": "", "odd": [], "undo": []} | found
    return whole
