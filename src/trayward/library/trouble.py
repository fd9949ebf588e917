"""The guide from signs of trouble to likely causes and what to do, as data (`data/trouble.json`), read on first use.

Every sentence carries its source; what growers do and nobody wrote down says so. The weights are this project's
judgement: no source gives numbers. They are kept beside the words, so that whoever knows better can change them.
"""

from __future__ import annotations

import re
from functools import cache, lru_cache
from pathlib import Path
from typing import TypeVar

import msgspec

from trayward.errors import NotFoundError
from trayward.farm.holds import SUSPECTED_MOULD, suspects_mould

_DATA = Path(__file__).with_name("data")

THICK, THIN = 1.15, 0.85
"""Density against the recipe's from which a tray counts as sown thicker or thinner. Our choice. [-]"""
DAMP_PCT = 75.0
"""Relative humidity from which air counts as damp. Our choice. [%]"""


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """A sentence and where it comes from."""

    text: str
    source: str


class Cue(msgspec.Struct, frozen=True, kw_only=True):
    """Something the tray's own records show, or that is said of where on the tray it is. `usual` [-]"""

    name: str
    words: str
    usual: float
    """How often a tray with trouble shows it whatever the cause. Our judgement. [-]"""


class Look(msgspec.Struct, frozen=True, kw_only=True):
    """A question that a close look answers with yes or no. `usual` [-]"""

    name: str
    ask: str
    usual: float
    """How often the answer is yes whatever the cause. Our judgement. [-]"""


class Cause(msgspec.Struct, frozen=True, kw_only=True):
    """What may be behind a sign."""

    name: str
    title: str
    hold: str
    """Why trays are held back for which it is likely; empty: it does not spoil the crop."""
    speaks_for: tuple[Told, ...] = msgspec.field(name="for")
    against: tuple[Told, ...]
    now: tuple[Told, ...]
    next_time: tuple[Told, ...]
    caution: str
    times: dict[str, float]
    """By cue or look: how many times as common it is with this cause as otherwise. Our judgement. [-]"""


class MayBe(msgspec.Struct, frozen=True, kw_only=True):
    """A cause of a sign, and how common it is among trays that show the sign, against the others. [-]"""

    cause: str
    usual: float


class Sign(msgspec.Struct, frozen=True, kw_only=True):
    """What eyes, nose or fingers tell."""

    name: str
    title: str
    words: tuple[str, ...]
    """Everyday words it is found by."""
    look: str
    """What it looks like, in a sentence."""
    shape: str
    """Which drawing shows it."""
    hold: str
    """Why trays with it are held back as long as nobody says what it is; empty: they are not."""
    causes: tuple[MayBe, ...]
    looks: tuple[str, ...]
    """What to look for, the most telling first."""


Entry = TypeVar("Entry", Sign, Cause, Look)


class Guide(msgspec.Struct, frozen=True, kw_only=True):
    """All of it."""

    note: str
    cues: tuple[Cue, ...]
    looks: tuple[Look, ...]
    signs: tuple[Sign, ...]
    causes: tuple[Cause, ...]

    def sign(self, name: str) -> Sign:
        """The sign of that name; raises `NotFoundError`."""
        return _named("sign of trouble", name, self.signs)

    def cause(self, name: str) -> Cause:
        """The cause of that name; raises `NotFoundError`."""
        return _named("cause of trouble", name, self.causes)

    def look(self, name: str) -> Look:
        """The question of that name; raises `NotFoundError`."""
        return _named("look", name, self.looks)


def _named(kind: str, name: str, among: tuple[Entry, ...]) -> Entry:
    wanted = _plain(name)
    for each in among:
        if each.name == wanted:
            return each
    raise NotFoundError(kind, name, tuple(each.name for each in among), "See them with: trayward trouble")


def _plain(words: str) -> str:
    return " ".join(words.casefold().split())


@cache
def trouble_guide() -> Guide:
    """The shipped guide."""
    return msgspec.json.decode((_DATA / "trouble.json").read_bytes(), type=Guide)


@lru_cache(1024)
def find_signs(words: str) -> tuple[Sign, ...]:
    """
    Signs that everyday words may mean, the nearest first.

    Examples
    --------
    >>> [sign.name for sign in find_signs("musty web")]
    ['white fuzz', 'mould', 'smell']
    >>> [sign.name for sign in find_signs("they all fell over")]
    ['fallen']
    """
    plain = words.casefold().replace("fungus gnat", "gnat")
    said = [word for word in re.findall(r"[\w']+", plain) if len(word) > _SHORT]
    scored = [(_alike(sign, words.casefold(), said), sign) for sign in trouble_guide().signs]
    return tuple(sign for score, sign in sorted(scored, key=lambda each: -each[0]) if score > 0)


_SHORT = 2
_STEM = 4
"""Letters that are enough to take two words for one: `yellow` and `yellowing`."""


def _alike(sign: Sign, words: str, said: list[str]) -> float:
    score = 10.0 if words.strip() in (sign.name, sign.title.casefold()) else 0.0
    for word in said:
        if word in sign.words or word in sign.name.split():
            score += 2.0
        elif len(word) >= _STEM and any(_same_stem(word, known) for known in sign.words):
            score += 1.0
    return score


def _same_stem(word: str, known: str) -> bool:
    return len(known) >= _STEM and (word.startswith(known) or known.startswith(word))


def sign_said(words: str) -> Sign | None:
    """The one sign that words name, where they name one; None where they are somebody's own."""
    found = find_signs(words)
    if not found:
        return None
    name = _plain(words)
    exact = [sign for sign in found if name in (sign.name, sign.title.casefold())]
    return exact[0] if exact else found[0] if len(found) == 1 else None


def hold_for(sign: str, cause: str) -> str:
    """
    Why trays are held back on which a sign was seen; empty where they are not.

    A cause of the guide decides; where none is named, the sign does, and what may be mould is held.

    Examples
    --------
    >>> hold_for("white fuzz", ""), hold_for("white fuzz", "root hairs"), hold_for("yellow", "")
    ('suspected mould', '', '')
    >>> hold_for("yellow", "Rot")
    'suspected rot'
    """
    guide = trouble_guide()
    known = {each.name: each for each in guide.causes}.get(_plain(cause))
    if known is not None:
        return known.hold
    if suspects_mould(cause):
        return SUSPECTED_MOULD
    found = {each.name: each for each in guide.signs}.get(_plain(sign))
    return found.hold if found is not None else SUSPECTED_MOULD if suspects_mould(sign) else ""
