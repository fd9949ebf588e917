"""The typeface on paper: DejaVu Sans, free to embed, which comes with the package that draws the pictures.

The typefaces every reader of PDF has of its own know neither the Polish ł nor the Turkish ğ; DejaVu has the letters of
all languages written in Latin, Greek and Cyrillic, and is put into the file.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence
from functools import cache, lru_cache
from importlib.util import find_spec
from pathlib import Path

from trayward.errors import InputError

PLAIN, BOLD = "DejaVuSans", "DejaVuSans-Bold"
MM_A_POINT = 25.4 / 72
"""Millimetres of a printer's point. [mm]"""
FIGURE = re.compile(r"[-−+(]?\d[\d.,:/]*")
UNIT_LETTERS = 5
"""A short word after a figure stays on its line: `60 ml`, `1 Dec`, `4 packs`."""
HAIR = 1e-6
"""Words made as large as their room are not too wide for it by the last digit of a sum. [mm]"""


@cache
def ready_fonts() -> None:
    """Have both faces known to the writer of PDF; costs nothing the second time."""
    from reportlab.pdfbase.pdfmetrics import registerFont
    from reportlab.pdfbase.ttfonts import TTFont

    for face in (PLAIN, BOLD):
        registerFont(TTFont(face, str(_folder() / f"{face}.ttf")))


def _folder() -> Path:
    # Asked for without importing matplotlib, which takes longer than the sheet.
    found = find_spec("matplotlib")
    if found is None or not found.submodule_search_locations:
        raise InputError("typeface", PLAIN, "it is not there", "Install Trayward's packages again.")
    return Path(found.submodule_search_locations[0]) / "mpl-data" / "fonts" / "ttf"


@cache
def _widths(bold: bool) -> tuple[dict[int, float], float]:
    from reportlab.pdfbase.pdfmetrics import getFont

    ready_fonts()
    face = getFont(BOLD if bold else PLAIN).face
    return face.charWidths, face.defaultWidth


def width(words: str, size: float, *, bold: bool = False) -> float:
    """How wide words are in a size [pt]. [mm]"""
    return _thousandths(words, bold) * size / 1000 * MM_A_POINT


@lru_cache(maxsize=20_000)
def _thousandths(words: str, bold: bool) -> float:
    """How wide words are, in thousandths of their size: a sheet says the same words again and again."""
    known, other = _widths(bold)
    return sum(known.get(ord(letter), other) for letter in words)


def printable(words: str) -> str:
    """Words without what has no shape on paper: line ends and other control characters become blanks."""
    if words.isascii() and words.isprintable():
        return words
    plain = unicodedata.normalize("NFC", words)
    return "".join(" " if unicodedata.category(letter) in ("Cc", "Cf", "Zl", "Zp") else letter for letter in plain)


def wrapped(words: str, room: float, size: float, *, bold: bool = False, most: int = 0) -> list[str]:
    """
    Words in lines that fit a room [mm]; a word longer than a line is broken.

    With `most`, what is beyond so many lines is cut off with three dots.
    """
    lines = list(_lines_of(words, room, size, bold))
    if most and len(lines) > most:
        return [*lines[: most - 1], shortened(" ".join(lines[most - 1 :]), room, size, bold=bold)]
    return lines


@lru_cache(maxsize=5_000)
def _lines_of(words: str, room: float, size: float, bold: bool) -> tuple[str, ...]:
    """All lines; asked for twice of every cell, once for how high it is."""
    lines: list[str] = []
    line, wide = "", 0.0
    blank, most = _thousandths(" ", bold), room / (size / 1000 * MM_A_POINT)
    for word in _pieces(printable(words), room, size, bold=bold):
        own = _thousandths(word, bold)
        if line and wide + blank + own > most:
            lines.append(line)
            line, wide = word, own
        else:
            line, wide = (f"{line} {word}", wide + blank + own) if line else (word, own)
    return (*lines, line) if line else tuple(lines)


def _pieces(words: str, room: float, size: float, *, bold: bool) -> list[str]:
    """Words, those that fit no line in parts of it."""
    found: list[str] = []
    for word in _figures_whole(words.split(), room, size, bold=bold):
        part = ""
        for letter in word if width(word, size, bold=bold) > room else ():
            if part and width(part + letter, size, bold=bold) > room:
                found.append(part)
                part = ""
            part += letter
        found.append(part or word)
    return found


def _figures_whole(words: Sequence[str], room: float, size: float, *, bold: bool) -> Iterator[str]:
    """Words, a figure in one with its unit: nobody measures out 60 of what stands on the next line."""
    held = ""
    for word in words:
        pair = f"{held} {word}"
        unit = len(word.strip("().,;:")) <= UNIT_LETTERS and not FIGURE.fullmatch(word)
        if held and unit and width(pair, size, bold=bold) <= room:
            yield pair
            held = ""
            continue
        if held:
            yield held
        held = word if FIGURE.fullmatch(word) else ""
        if not held:
            yield word
    if held:
        yield held


def shortened(words: str, room: float, size: float, *, bold: bool = False) -> str:
    """Words as they are if they fit a room [mm], else as much of them as does, and three dots."""
    plain = printable(words)
    if width(plain, size, bold=bold) <= room + HAIR:
        return plain
    while plain and width(f"{plain}…", size, bold=bold) > room:
        plain = plain[:-1]
    return f"{plain.rstrip()}…"


def fitting(words: str, room: float, size: float, least: float, *, bold: bool = False) -> float:
    """The largest size, from `size` down to `least`, in which words fit a room [mm] in one line. [pt]"""
    wide = width(printable(words), size, bold=bold)
    return max(least, min(size, size * room / wide)) if wide > 0 else size
