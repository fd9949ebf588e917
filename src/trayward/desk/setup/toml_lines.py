"""Where things stand in a TOML text: the line of every key, which the standard library's reader does not tell.

The scanner expects text that `tomllib` has read without complaint; it only walks over it.
"""

from __future__ import annotations

import re
import tomllib
from datetime import date

Path = tuple[str | int, ...]
"""The way to a value: keys, and numbers (from 0) into arrays."""

_BARE_KEY = re.compile(r"[A-Za-z0-9_-]+")
_BARE_VALUE = re.compile(r"[^,\]}#\n]+")
_STRINGS = re.compile(
    r'"""(?:\\.|[^\\])*?"""+|' r"'''.*?'''+|" r'"(?:\\.|[^"\\\n])*"|' r"'[^'\n]*'",
    re.DOTALL,
)


_PLACE = re.compile(r" \(at (?:line (\d+), column (\d+)|end of document)\)$")
_DAY = re.compile(r"\d{4}-\d{1,2}-\d{1,2}")
_SHOWN = 60
"""So many letters of a broken line are shown."""
_RULES = {
    "Illegal character '\\n'": "the quotes are not closed on this line",
    "Cannot overwrite a value": "this key stands there twice",
}
"""What the standard library's reader says, where plainer words can be found."""


def broken_line(text: str, err: tomllib.TOMLDecodeError) -> tuple[int, str]:
    """The line on which a text stops being TOML, and what is wrong there, with the line's own words."""
    lines = text.splitlines() or [""]
    found = _PLACE.search(str(err))
    number = int(found[1]) if found and found[1] else len(lines)
    column = int(found[2]) if found and found[2] else 1
    line = lines[min(number, len(lines)) - 1]
    shown = line.strip() if len(line.strip()) <= _SHOWN else f"{line.strip()[: _SHOWN - 3]}..."
    if day := _impossible_day(line, column):
        return number, f"{shown}: {day} is no day. Write year-month-day, for instance 2026-12-25."
    said = _PLACE.sub("", str(err))
    rule = _RULES.get(said, said[:1].lower() + said[1:])
    where = f"from column {column}" if found and found[2] else "at the end of the file"
    return number, f"{shown}: this is not TOML {where}: {rule}. Mind quotes, brackets and = signs."


def _impossible_day(line: str, column: int) -> str:
    """What stands at a column (from 1) and looks like a day but is none; empty: nothing of that kind."""
    for found in _DAY.finditer(line):
        if found.start() < column <= found.end() + 1:
            try:
                date.fromisoformat(found[0])
            except ValueError:
                return found[0]
    return ""


def key_lines(text: str) -> dict[Path, int]:
    """
    The line, from 1, on which each key, table and array item of a valid TOML text stands.

    Examples
    --------
    >>> key_lines('[[kit]]\\nname = "mat"\\n[[kit]]\\nname = "lid"\\n')[("kit", 1, "name")]
    4
    """
    return _Scanner(text.replace("\r\n", "\n")).scan()


class _Scanner:
    """Walks once over the text, keeping its place and the table it is in."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        """How many tables each array of tables has so far."""
        self._seen_place = 0
        self._seen_line = 1

    def scan(self) -> dict[Path, int]:
        table: Path = ()
        self._skip(lines=True)
        while self.place < len(self.text):
            table = self._header() if self._at("[") else self._pair(table)
            self._skip(lines=True)
        return self.lines

    def _line(self) -> int:
        self._seen_line += self.text.count("\n", self._seen_place, self.place)
        self._seen_place = self.place
        return self._seen_line

    def _at(self, sign: str) -> bool:
        return self.text.startswith(sign, self.place)

    def _skip(self, *, lines: bool) -> None:
        """Over blanks; with `lines`, also over comments and line ends."""
        pattern = r"(?:[ \t\n]|#[^\n]*)*" if lines else r"[ \t]*"
        found = re.compile(pattern).match(self.text, self.place)
        self.place = found.end() if found else self.place

    def _note(self, path: Path) -> None:
        self.lines.setdefault(path, self._line())

    def _header(self) -> Path:
        many = self._at("[[")
        self.place += 2 if many else 1
        keys = self._keys()
        path = self._into(keys[:-1]) + keys[-1:]
        if many:
            number = self.counts.get(path, 0)
            self.counts[path] = number + 1
            self._note(path)
            path = (*path, number)
        self._note(path)
        self._skip(lines=False)
        self.place += 2 if many else 1
        return path

    def _into(self, keys: Path) -> Path:
        """The path of a header's outer keys: through an array of tables it means that array's last table."""
        path: Path = ()
        for key in keys:
            path = (*path, key)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
            self._note(path)
        return path

    def _keys(self) -> Path:
        keys = [self._key()]
        self._skip(lines=False)
        while self._at("."):
            self.place += 1
            keys.append(self._key())
            self._skip(lines=False)
        return tuple(keys)

    def _key(self) -> str:
        self._skip(lines=False)
        found = _STRINGS.match(self.text, self.place) or _BARE_KEY.match(self.text, self.place)
        assert found is not None, "the text was read before, so a key must stand here"
        self.place = found.end()
        return str(next(iter(tomllib.loads(f"{found[0]} = 0"))))

    def _pair(self, table: Path) -> Path:
        """A key with its value; gives back the table it stands in, which has not changed."""
        path = table
        start = self.place
        for key in self._keys():
            path = (*path, key)
            self.lines.setdefault(path, self._line_at(start))
        self._skip(lines=False)
        self.place += 1  # the equals sign
        self._skip(lines=False)
        self._value(path)
        return table

    def _line_at(self, place: int) -> int:
        return self._line() - self.text.count("\n", place, self.place)

    def _value(self, path: Path) -> None:
        if self._at("["):
            self._array(path)
        elif self._at("{"):
            self._inline_table(path)
        else:
            found = _STRINGS.match(self.text, self.place) or _BARE_VALUE.match(self.text, self.place)
            self.place = found.end() if found else len(self.text)

    def _array(self, path: Path) -> None:
        self.place += 1
        number = 0
        self._skip(lines=True)
        while not self._at("]"):
            self._note((*path, number))
            self._value((*path, number))
            number += 1
            self._skip(lines=True)
            self.place += 1 if self._at(",") else 0
            self._skip(lines=True)
        self.place += 1

    def _inline_table(self, path: Path) -> None:
        self.place += 1
        self._skip(lines=True)
        while not self._at("}"):
            self._pair(path)
            self._skip(lines=True)
            self.place += 1 if self._at(",") else 0
            self._skip(lines=True)
        self.place += 1
