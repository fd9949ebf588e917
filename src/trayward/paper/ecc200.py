"""Data Matrix codes (ECC 200, ISO/IEC 16022), square sizes up to 52 x 52, written here; read in the tests by zxing-cpp.

Text is encoded in the ASCII scheme, two figures in one word; a leading FNC1 makes it a GS1 Data Matrix.

References
----------
ISO/IEC 16022:2006, Data Matrix bar code symbology specification: sizes (table 7), error correction over GF(256) with
the polynomial x^8 + x^5 + x^3 + x^2 + 1 (annex E), placement of the words (annex F), padding (annex B.1). From memory;
that another's reader reads every size is what the tests hold.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from trayward.errors import InputError

GS = "\x1d"
"""Between two fields of a GS1 code of which the first has no fixed length."""
FNC1, PAD, UPPER = 232, 129, 235


class _Size(NamedTuple):
    """A square symbol: its side, its regions a side, words of data and of correction."""

    side: int
    regions: int
    data: int
    checks: int


SIZES = (
    _Size(10, 1, 3, 5), _Size(12, 1, 5, 7), _Size(14, 1, 8, 10), _Size(16, 1, 12, 12), _Size(18, 1, 18, 14),
    _Size(20, 1, 22, 18), _Size(22, 1, 30, 20), _Size(24, 1, 36, 24), _Size(26, 1, 44, 28), _Size(32, 2, 62, 36),
    _Size(36, 2, 86, 42), _Size(40, 2, 114, 48), _Size(44, 2, 144, 56), _Size(48, 2, 174, 68),
)  # fmt: skip
"""Those with one block of error correction."""


def data_matrix(text: str, *, gs1: bool = False) -> list[list[bool]]:
    """
    A Data Matrix code as rows of dark (True) and light squares, without the light edge it needs.

    Parameters
    ----------
    text : str
        Letters of Latin-1. With `gs1` the fields without brackets, `GS` between them.

    Raises
    ------
    InputError
        If the text has other letters, or is too long for the largest size.
    """
    words = _words(text, gs1=gs1)
    size = next((size for size in SIZES if size.data >= len(words)), None)
    if size is None:
        rule = f"a square code of {SIZES[-1].side} holds {SIZES[-1].data} words, this takes {len(words)}"
        raise InputError("code", text[:40], rule, "Shorten what it holds.")
    data = _padded(words, size.data)
    return _framed(_placed([*data, *corrections(data, size.checks)], size), size)


def _words(text: str, *, gs1: bool) -> list[int]:
    words = [FNC1] if gs1 else []
    place = 0
    while place < len(text):
        two = text[place : place + 2]
        if len(two) == 2 and two.isascii() and two.isdigit():
            words.append(130 + int(two))
            place += 2
            continue
        words += _letter(text[place], gs1=gs1)
        place += 1
    return words


def _letter(letter: str, *, gs1: bool) -> list[int]:
    code = ord(letter)
    if gs1 and letter == GS:
        return [FNC1]
    if code < 128:
        return [code + 1]
    if code < 256:
        return [UPPER, code - 127]
    raise InputError("code", letter, "is no letter a Data Matrix of ours can hold", "Use the letters of Latin-1.")


def _padded(words: Sequence[int], length: int) -> list[int]:
    """Filled up: the first pad as it is, those after it stirred by their place, so that no pattern shows."""
    data = list(words)
    if len(data) < length:
        data.append(PAD)
    while len(data) < length:
        stirred = PAD + (149 * (len(data) + 1)) % 253 + 1
        data.append(stirred if stirred <= 254 else stirred - 254)
    return data


# Error correction -----------------------------------------------------------------------------------------------------


@cache
def _field() -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Powers of 2 in GF(256) and their logarithms."""
    powers, value = [], 1
    for _ in range(255):
        powers.append(value)
        value <<= 1
        if value & 256:
            value ^= 0b100101101
    logs = [0] * 256
    for power, each in enumerate(powers):
        logs[each] = power
    return tuple(powers), tuple(logs)


def _times(one: int, other: int) -> int:
    powers, logs = _field()
    return powers[(logs[one] + logs[other]) % 255] if one and other else 0


@cache
def _generator(checks: int) -> tuple[int, ...]:
    """Coefficients below the leading 1 of (x - 2)(x - 4) ... (x - 2^checks), the highest first."""
    powers, _ = _field()
    found = [1]
    for power in range(1, checks + 1):
        longer = [*found, 0]
        for place, each in enumerate(found):
            longer[place + 1] ^= _times(each, powers[power])
        found = longer
    return tuple(found[1:])


def corrections(data: Sequence[int], checks: int) -> list[int]:
    """
    Reed-Solomon words for data words.

    Examples
    --------
    >>> corrections([142, 164, 186], 5)
    [114, 25, 5, 88, 102]
    """
    generator = _generator(checks)
    rest = [0] * checks
    for word in data:
        lead = word ^ rest[0]
        rest = [*rest[1:], 0]
        rest = [each ^ _times(lead, factor) for each, factor in zip(rest, generator, strict=True)]
    return rest


# Placement ------------------------------------------------------------------------------------------------------------

_SHAPE = ((-2, -2), (-2, -1), (-1, -2), (-1, -1), (-1, 0), (0, -2), (0, -1), (0, 0))
"""Where the bits of a word lie about its last one, the highest first."""


class _Grid:
    """The squares words are placed in, all regions joined."""

    def __init__(self, side: int) -> None:
        self.side = side
        self.word: dict[tuple[int, int], tuple[int, int]] = {}
        """Row, column -> which word and which of its bits."""

    def put(self, row: int, column: int, word: int, bit: int) -> None:
        """A bit, carried over to the other side where it leaves the grid."""
        if row < 0:
            row, column = row + self.side, column + 4 - (self.side + 4) % 8
        if column < 0:
            row, column = row + 4 - (self.side + 4) % 8, column + self.side
        self.word[row, column] = (word, bit)

    def usual(self, row: int, column: int, word: int) -> None:
        """A word in its usual shape."""
        for bit, (down, right) in enumerate(_SHAPE):
            self.put(row + down, column + right, word, bit)

    def corner(self, number: int, word: int) -> None:
        """A word in one of the shapes that corners take."""
        end = self.side
        places = {
            1: ((-1, 0), (-1, 1), (-1, 2), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
            2: ((-3, 0), (-2, 0), (-1, 0), (0, -4), (0, -3), (0, -2), (0, -1), (1, -1)),
            3: ((-3, 0), (-2, 0), (-1, 0), (0, -2), (0, -1), (1, -1), (2, -1), (3, -1)),
            4: ((-1, 0), (-1, -1), (0, -3), (0, -2), (0, -1), (1, -3), (1, -2), (1, -1)),
        }[number]
        for bit, (row, column) in enumerate(places):
            self.word[row % end, column % end] = (word, bit)


@cache
def _layout(side: int) -> dict[tuple[int, int], tuple[int, int]]:
    """Which bit of which word lies where, on the way up and down the diagonals."""
    grid, word, row, column = _Grid(side), 0, 4, 0
    while row < side or column < side:
        for number in (1, 2, 3, 4):
            if _is_corner(number, row, column, side):
                grid.corner(number, word)
                word += 1
        while row >= 0 and column < side:
            if row < side and column >= 0 and (row, column) not in grid.word:
                grid.usual(row, column, word)
                word += 1
            row, column = row - 2, column + 2
        row, column = row + 1, column + 3
        while row < side and column >= 0:
            if row >= 0 and column < side and (row, column) not in grid.word:
                grid.usual(row, column, word)
                word += 1
            row, column = row + 2, column - 2
        row, column = row + 3, column + 1
    return grid.word


def _is_corner(number: int, row: int, column: int, side: int) -> bool:
    if number == 4:
        return row == side + 4 and column == 2 and side % 8 == 0
    at = {1: side, 2: side - 2, 3: side - 2}[number]
    fits = {1: True, 2: side % 4 != 0, 3: side % 8 == 4}[number]
    return row == at and column == 0 and fits


def _placed(words: Sequence[int], size: _Size) -> list[list[bool]]:
    side = size.side - 2 * size.regions
    layout = _layout(side)
    rows = [[False] * side for _ in range(side)]
    for (row, column), (word, bit) in layout.items():
        rows[row][column] = bool(words[word] >> (7 - bit) & 1)
    if (side - 1, side - 1) not in layout:
        rows[side - 1][side - 1] = rows[side - 2][side - 2] = True
    return rows


def _framed(inner: list[list[bool]], size: _Size) -> list[list[bool]]:
    """Every region with its solid left and lower edge and its dotted upper and right one."""
    held = len(inner) // size.regions
    rows = [[False] * size.side for _ in range(size.side)]
    step = held + 2
    for row in range(size.side):
        for column in range(size.side):
            down, right = row % step, column % step
            if right == 0 or down == step - 1:
                dark = True
            elif down == 0:
                dark = right % 2 == 0
            elif right == step - 1:
                dark = down % 2 == 1
            else:
                dark = inner[row // step * held + down - 1][column // step * held + right - 1]
            rows[row][column] = dark
    return rows
