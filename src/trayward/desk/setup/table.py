"""A table of a setup file that is read key by key and remembers every problem, each with its line.

Reading never stops at the first mistake: a getter that meets one notes it and gives a harmless value back, so the
grower sees all of them at once. `finish` then reports the keys nobody asked for.
"""

from __future__ import annotations

import difflib
import math
import tomllib
from collections.abc import Callable, Mapping
from datetime import date, datetime, time
from typing import TypeVar

from trayward.desk.setup.toml_lines import Path, broken_line, key_lines
from trayward.errors import InputError

T = TypeVar("T")
_LABELS = ("name", "lot", "crop", "customer", "supplier")
"""Keys that tell one table of an array from the next."""


class Document:
    """One setup text with the lines of its keys and the problems met so far."""

    def __init__(self, text: str, name: str) -> None:
        self.name = name
        self.problems: list[tuple[int, str]] = []
        self.lines: dict[Path, int] = {}
        self.values: dict[str, object] = {}
        try:
            self.values = tomllib.loads(text)
        except tomllib.TOMLDecodeError as err:
            self.problems.append(broken_line(text, err))
            return
        self.lines = key_lines(text)

    def root(self) -> Table:
        """The outermost table."""
        return Table(self, self.values, (), "")

    def note(self, path: Path, name: str, value: object, rule: str, remedy: str) -> None:
        """Remember a problem with the value at `path`."""
        self.problems.append((self.line(path), str(InputError(name, _shown(value), rule, remedy))))

    def line(self, path: Path) -> int:
        """The line of the nearest thing on the way to `path` that stands in the text."""
        while path and path not in self.lines:
            path = path[:-1]
        return self.lines.get(path, 1)

    def sentences(self) -> tuple[str, ...]:
        """Every problem in the order of the text, with the file's name and the line."""
        found = sorted(set(self.problems), key=lambda problem: problem[0])
        return tuple(f"{self.name}, line {line}: {message}" for line, message in found)


def _shown(value: object) -> str:
    if isinstance(value, date | time):
        return value.isoformat()
    if isinstance(value, list | dict):
        text = str(value)
        return text if len(text) <= 60 else text[:57] + "..."
    return repr(value) if isinstance(value, str) else str(value).lower() if isinstance(value, bool) else str(value)


class Table:
    """One table, read key by key."""

    def __init__(self, document: Document, values: Mapping[str, object], path: Path, label: str) -> None:
        self.document = document
        self.values = values
        self.path = path
        self.label = label
        self.asked: set[str] = set()
        self._meant: dict[str, tuple[str, tuple[int, str]]] = {}
        """Of a key that may be misspelt: the needed one that is lacking, and the problem noted of that."""

    # What is there -----------------------------------------------------------------------------------------------

    def has(self, key: str) -> bool:
        """Whether the key is given."""
        self.asked.add(key)
        return key in self.values

    def raw(self, key: str) -> object:
        """The value as TOML has it, or None."""
        self.asked.add(key)
        return self.values.get(key)

    def wrong(self, key: str, rule: str, remedy: str, value: object = None) -> None:
        """Remember that the value of `key` breaks a rule."""
        shown = self.values.get(key) if value is None else value
        self.document.note((*self.path, key), self._named(key), shown, rule, remedy)

    def missing(self, key: str, remedy: str) -> object:
        """Remember that `key` is not there and has to be; gives the value of a key that may be it misspelt, or None."""
        message = str(InputError(self._named(key), "nothing", "it has to be given", remedy))
        problem = (self.document.line(self.path), message)
        self.document.problems.append(problem)
        strays = [stray for stray in self.values if stray not in self.asked and stray not in self._meant]
        near = difflib.get_close_matches(key, strays, n=1, cutoff=0.6)
        if not near:
            return None
        self._meant[near[0]] = (key, problem)
        return self.values[near[0]]

    def _named(self, key: str) -> str:
        return f"{self.label}, {key}" if self.label else key

    def finish(self) -> None:
        """Report the keys that mean nothing here, each with the nearest one that does."""
        for key in self.values:
            if key not in self.asked and key in self._meant:
                meant, problem = self._meant[key]
                # One mistake is said once: what is lacking stands there under this name.
                self.document.problems.remove(problem)
                self.wrong(key, "no such key is known here", f"Did you mean {meant}?")
            elif key not in self.asked:
                near = difflib.get_close_matches(key, sorted(self.asked), n=1, cutoff=0.5)
                hint = f"Did you mean {near[0]}?" if near else f"Known here: {', '.join(sorted(self.asked))}."
                self.wrong(key, "no such key is known here", hint)

    # Plain values ------------------------------------------------------------------------------------------------

    def text(self, key: str, default: str | None = "", *, remedy: str = "Give it as text.") -> str:
        """Words; `default=None` makes the key needed."""
        if not self.has(key):
            stray = self.missing(key, remedy) if default is None else default
            return stray.strip() if isinstance(stray, str) else ""
        value = self.values[key]
        if not isinstance(value, str) or (default is None and not value.strip()):
            self.wrong(key, "must be words in quotes", remedy)
            return default or ""
        return value.strip()

    def flag(self, key: str, default: bool) -> bool:
        """True or false."""
        value = self.raw(key)
        if value is None or isinstance(value, bool):
            return default if value is None else value
        self.wrong(key, "must be true or false, without quotes", "Write true or false.")
        return default

    def choice(self, key: str, choices: tuple[str, ...], default: str | None) -> str:
        """One word of several; `default=None` makes the key needed."""
        value = self.text(key, default, remedy=f"Choose one of: {', '.join(choices)}.")
        if value in choices or not value:
            return value or choices[0]
        self.wrong(key, f"must be one of {', '.join(choices)}", nearest(value, choices))
        return default or choices[0]

    def number(
        self, key: str, default: float | None = None, *, low: float = 0.0, high: float = math.inf, unit: str = ""
    ) -> float:
        """A number from `low` to `high`; without a `default` the key is needed."""
        return self.amount(key, _no_words, unit, default, low=low, high=high)

    def whole(self, key: str, default: int | None = None, *, low: int = 0, high: int = 10_000) -> int:
        """A whole number from `low` to `high`; without a `default` the key is needed."""
        number = self.amount(key, _no_words, "", default, low=low, high=high)
        if number == round(number):
            return round(number)
        self.wrong(key, f"must be a whole number from {low} to {high}", "Leave the fraction out.")
        return low

    def amount(
        self,
        key: str,
        parse: Callable[[str], float],
        unit: str,
        default: float | None = None,
        *,
        low: float = 0.0,
        high: float = math.inf,
    ) -> float:
        """An amount: a plain number in `unit`, or words such as "20 g" that `parse` turns into it."""
        if not self.has(key):
            if default is None:
                self.missing(key, f"Give it in {unit}." if unit else "Give a number.")
            return low if default is None else float(default)
        return self._amount_of(key, self.values[key], parse, unit, low, high)

    def _amount_of(
        self, key: str, value: object, parse: Callable[[str], float], unit: str, low: float, high: float
    ) -> float:
        rule = f"must lie in [{low:g}, {high:g}] {unit}".strip() if high < math.inf else _at_least(low, unit)
        try:
            number = _as_number(value, parse)
        except InputError as err:
            self.wrong(key, err.rule, err.remedy, value)
            return low
        if number is None or not low <= number <= high:
            self.wrong(key, rule, f"Give a number{f' in {unit}' if unit else ''}.", value)
            return low
        return number

    def amounts(
        self, key: str, parse: Callable[[str], float], unit: str, count: tuple[int, ...], *, low: float = 0.0
    ) -> tuple[float, ...]:
        """A list of amounts, as many as one of `count`; a single value is a list of one. Empty: not given."""
        if not self.has(key):
            return ()
        value = self.values[key]
        items = value if isinstance(value, list) else [value]
        if len(items) not in count:
            numbers = " or ".join(str(number) for number in count)
            self.wrong(key, f"must list {numbers} amounts in {unit}", "From low to high.")
            return (low,) * count[0]
        found = tuple(self._amount_of(key, item, parse, unit, low, math.inf) for item in items)
        if list(found) != sorted(found):
            self.wrong(key, "must run from low to high", "Swap them round.")
        return found

    # Days, texts, tables -----------------------------------------------------------------------------------------

    def day(self, key: str, *, needed: bool = True) -> date | None:
        """A day, as a TOML date or as text."""
        if not self.has(key):
            if needed:
                self.missing(key, "Give a day, for instance 2026-12-25.")
            return None
        return self._day_of(key, self.values[key])

    def _day_of(self, key: str, value: object) -> date | None:
        if isinstance(value, date) and not isinstance(value, datetime):
            return value
        if isinstance(value, str):
            try:
                return date.fromisoformat(value.strip())
            except ValueError:
                pass
        self.wrong(key, "must be a day", "Write year-month-day, for instance 2026-12-25.", value)
        return None

    def days(self, key: str) -> tuple[date, ...]:
        """A list of days."""
        found = [self._day_of(key, value) for value in self._list(key)]
        return tuple(day for day in found if day is not None)

    def texts(self, key: str) -> tuple[str, ...]:
        """A list of words."""
        values = self._list(key)
        for value in values:
            if not isinstance(value, str):
                self.wrong(key, "must be a list of words in quotes", 'Write for instance ["light"].', value)
        return tuple(value.strip() for value in values if isinstance(value, str))

    def _list(self, key: str) -> list[object]:
        value = self.raw(key)
        if value is None or isinstance(value, list):
            return list(value or [])
        self.wrong(key, "must be a list in square brackets", "Write [ ... ] round it.")
        return []

    def table(self, key: str) -> Table | None:
        """A table inside this one, or None where it is not given."""
        value = self.raw(key)
        if value is None or isinstance(value, dict):
            label = f"{self.label}, {key}" if self.label else key
            return None if value is None else Table(self.document, value, (*self.path, key), label)
        self.wrong(key, "must be a table", f"Write [{key}] and its keys below.")
        return None

    def tables(self, key: str) -> list[Table]:
        """An array of tables inside this one."""
        found = []
        for number, value in enumerate(self._list(key)):
            if not isinstance(value, dict):
                self.wrong(key, "must be tables", f"Write [[{key}]] and its keys below.", value)
                continue
            found.append(Table(self.document, value, (*self.path, key, number), self._label(key, number, value)))
        return found

    def _label(self, key: str, number: int, value: Mapping[str, object]) -> str:
        named = next((str(value[label]) for label in _LABELS if isinstance(value.get(label), str)), "")
        own = f'{key} "{named}"' if named else f"{key} {number + 1}"
        return f"{self.label}, {own}" if self.label else own


def _as_number(value: object, parse: Callable[[str], float]) -> float | None:
    if isinstance(value, str):
        return parse(value)
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _no_words(text: str) -> float:
    raise InputError("number", text, "must be a plain number, without quotes", "Leave the quotes and the unit out.")


def _at_least(low: float, unit: str) -> str:
    return f"must be {low:g} or more {unit}".strip()


def nearest(value: str, known: tuple[str, ...]) -> str:
    """A hint at the known words nearest to one that is not known."""
    near = difflib.get_close_matches(value, known, n=1, cutoff=0.5)
    return f"Did you mean {near[0]}?" if near else f"Known: {', '.join(known)}."
