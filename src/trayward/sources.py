"""Where a figure comes from: a key stands for one citation, and says whether anyone saw it or it is from memory."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import msgspec

from trayward.errors import NotFoundError

PRACTICE = "practice"
"""The key of what growers commonly do and nobody wrote down: "common practice, no source"."""
MEMORY = "memory"
"""The key of what was remembered and not seen in a source."""
COMPUTED = "computed"
"""The key of what this project worked out from other values of the same table."""


class Source(msgspec.Struct, frozen=True, kw_only=True):
    """One source. `seen` says how much of it was read; `from_memory` that its figures are to be confirmed."""

    key: str
    title: str
    authors: str = ""
    year: str = ""
    where: str = ""
    link: str = ""
    seen: str = ""
    from_memory: bool = False

    @property
    def citation(self) -> str:
        """Authors, title, year, where and link, as one sentence."""
        parts = (self.authors.rstrip("."), self.title, self.year, self.where, self.link)
        ending = " (from memory)" if self.from_memory and self.key != MEMORY else ""
        return ". ".join(part for part in parts if part) + ending + "."


@cache
def _all_sources() -> dict[str, Source]:
    path = Path(__file__).with_name("sources.json")
    listed = msgspec.json.decode(path.read_bytes(), type=list[Source])
    return {source.key: source for source in listed}


def source_keys() -> tuple[str, ...]:
    """Every key, in alphabetical order."""
    return tuple(_all_sources())


def source(key: str) -> Source:
    """The source that `key` stands for; raises `NotFoundError` for a key nobody listed."""
    try:
        return _all_sources()[key]
    except KeyError:
        raise NotFoundError("source", key, source_keys()) from None
