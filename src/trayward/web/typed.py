"""What was typed into a form or an address, read as what it means; the words themselves are kept for showing again."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, date, datetime
from typing import TypeVar
from zoneinfo import ZoneInfo

import msgspec

from trayward.errors import InputError
from trayward.farm.settings import ShownUnits
from trayward.units import (
    parse_length,
    parse_mass,
    parse_minutes,
    parse_share,
    parse_temperature,
    parse_volume,
    require_one_meaning,
)

T = TypeVar("T")

LONGEST = 20_000
"""Letters one field may hold."""


class Upload(msgspec.Struct, frozen=True, kw_only=True):
    """A file that came with a form. Neither its name nor its kind is to be trusted."""

    name: str
    kind: str
    """What the browser calls it: `image/jpeg`."""
    content: bytes


class Typed:
    """Words by field name, read on demand; every reader raises `InputError` that names the field.

    Parameters
    ----------
    words : iterable of (str, str)
        Field names and what was typed, in order; a name may come several times.
    files : mapping
        Files by field name.
    units : ShownUnits
        The unit of a bare number.
    zone : ZoneInfo
        The farm's time zone, for days and moments.
    """

    def __init__(
        self,
        words: Iterable[tuple[str, str]] = (),
        files: Mapping[str, Upload] | None = None,
        *,
        units: ShownUnits | None = None,
        zone: ZoneInfo | None = None,
    ) -> None:
        self.words = tuple((name, word[:LONGEST]) for name, word in words)
        self.files = dict(files or {})
        self._units = units or ShownUnits()
        self._zone = zone or ZoneInfo("UTC")

    def __contains__(self, name: object) -> bool:
        return any(one == name for one, _ in self.words)

    def __iter__(self) -> Iterator[tuple[str, str]]:
        return iter(self.words)

    def has(self, name: str) -> bool:
        """Whether anything was typed there."""
        return bool(self.text(name))

    def text(self, name: str, default: str = "") -> str:
        """What was typed, without spaces around it; `default` if nothing."""
        return next((word.strip() for one, word in self.words if one == name and word.strip()), default)

    def all(self, name: str) -> tuple[str, ...]:
        """Everything chosen under one name, in order: the ticked boxes of a list."""
        return tuple(word.strip() for one, word in self.words if one == name and word.strip())

    def ticked(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.text(name) not in ("", "0", "off", "no", "false")

    def file(self, name: str) -> Upload | None:
        """A file that came along; None where none was chosen."""
        return self.files.get(name)

    def maybe(self, read: Callable[[str], T], name: str) -> T | None:
        """Read a field that may be left empty: `form.maybe(form.mass, "weight")`."""
        return read(name) if self.has(name) else None

    def need(self, name: str, remedy: str = "Fill it in.") -> str:
        """What was typed; `InputError` if nothing."""
        found = self.text(name)
        if not found:
            raise InputError(name, "nothing", "must not be empty", remedy)
        return found

    def choice(self, name: str, options: Sequence[str]) -> str:
        """One of the words offered."""
        found = self.need(name, "Choose one.")
        if found not in options:
            raise InputError(name, found, "is not one of those offered", f"Choose {', '.join(options[:8])}.")
        return found

    def mass(self, name: str, *, density: float | None = None) -> float:
        """A weight; spoons need the seed's bulk density. [g]"""
        return parse_mass(self.need(name), density_g_per_ml=density, default=self._units.mass, name=name)

    def volume(self, name: str) -> float:
        """A volume. [ml]"""
        return parse_volume(self.need(name), default=self._units.volume, name=name)

    def length(self, name: str) -> float:
        """A length. [mm]"""
        return parse_length(self.need(name), default=self._units.length, name=name)

    def temperature(self, name: str) -> float:
        """A temperature. [C]"""
        return parse_temperature(self.need(name), default=self._units.temperature, name=name)

    def minutes(self, name: str) -> float:
        """A length of time. [min]"""
        return parse_minutes(self.need(name), name=name)

    def share(self, name: str) -> float:
        """A share of a whole: `80 %`, `43 of 50`. [-]"""
        return parse_share(self.need(name), name=name)

    def number(self, name: str, low: float = -math.inf, high: float = math.inf) -> float:
        """A bare number, with a decimal point or comma. [-]"""
        found = self.need(name)
        require_one_meaning(found, name=name)
        try:
            value = float(found.replace(",", "."))
        except ValueError as error:
            raise InputError(name, found, "must be a number", "For instance 5.8.") from error
        if not low <= value <= high or math.isinf(value):
            raise InputError(name, found, f"must lie in [{low:g}, {high:g}]", "Check the figure.")
        return value

    def whole(self, name: str, low: int = 0, high: int = 1_000_000) -> int:
        """A count of things. [-]"""
        found = self.need(name)
        if not found.removeprefix("-").isdecimal() or len(found) > 18:
            raise InputError(name, found, "must be a whole number", "For instance 2.")
        if not low <= int(found) <= high:
            raise InputError(name, found, f"must lie in [{low}, {high}]", "Check the figure.")
        return int(found)

    def day(self, name: str) -> date:
        """A day, as a date field sends it: `2026-11-25`."""
        found = self.need(name)
        try:
            return date.fromisoformat(found)
        except ValueError as error:
            raise InputError(name, found, "must be a day", "For instance 2026-11-25.") from error

    def moment(self, name: str) -> datetime:
        """A moment on the farm's wall clock, as a date-and-time field sends it: `2026-11-25T07:00`. In UTC."""
        found = self.need(name)
        try:
            read = datetime.fromisoformat(found)
        except ValueError as error:
            raise InputError(name, found, "must be a day and a time", "For instance 2026-11-25T07:00.") from error
        return (read if read.utcoffset() is not None else read.replace(tzinfo=self._zone)).astimezone(UTC)
