"""Lot codes: a name of the farm with a check character, so that a slip of the pen, the ear or the keys shows.

A code is the name as it stands in the book, a dash and one character: `H261125A-D`. The character comes of a totally
anti-symmetric quasigroup of order 32, the field of 32 elements with x * y = 2 (x + y), over an alphabet in which
characters that look alike are one: I, L and 1; O and 0; U and V. Any one character mistaken for another and any two
neighbours that changed places are caught. What separates the parts of a name (`.`, `-`, `/`, blanks) is not counted.

References
----------
H. M. Damm, Totally anti-symmetric quasigroups for all orders n != 2, 6, Discrete Mathematics 307 (2007) 715-729 (from
memory): check characters of this kind find every single substitution and every adjacent transposition. That ours does
is tried out in full in the tests.
The alphabet without I, L, O and U is that of D. Crockford's Base 32 (from memory); folding U into V is ours.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from trayward.errors import InputError

ALPHABET: Final = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
"""The characters that count, by their value; also those a check character is taken from."""
LOOK_ALIKE: Final = {"I": "1", "L": "1", "O": "0", "U": "V"}
"""Characters that count as another, because they look like it."""
DASH: Final = "-"
LONGEST: Final = 80
"""Characters a code may have; what is longer was never one."""
ALSO_READ: Final = "‐‑‒–—−_=:"
"""What people and devices put where we print the dash."""

_VALUE: Final = {letter: value for value, letter in enumerate(ALPHABET)} | {
    mine: ALPHABET.index(theirs) for mine, theirs in LOOK_ALIKE.items()
}
_POLYNOMIAL: Final = 0b100101
"""x^5 + x^2 + 1, which makes the field of 32 elements."""

_CONFUSED: Final = (
    "B8",
    "S5",
    "Z2",
    "G6",
    "MN",
    "DT",
    "BD",
    "BP",
    "PT",
    "FS",
    "CG",
    "QO",
    "VY",
    "39",
    "59",
    "17",
    "27",
    "UV",
    "38",
)
"""Pairs that are taken for one another when read off a wet label or heard aloud; common practice, no source."""

_WORDS: Final = (
    "Alfa Bravo Charlie Delta Echo Foxtrot Golf Hotel India Juliett Kilo Lima Mike November Oscar Papa Quebec Romeo "
    "Sierra Tango Uniform Victor Whiskey X-ray Yankee Zulu zero one two three four five six seven eight nine"
)
"""The spelling words of ICAO Annex 10 volume II and ITU Radio Regulations appendix 14 (from memory)."""
_SPOKEN: Final = dict(zip("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789", _WORDS.split(), strict=True))
_MARKS: Final = {".": "point", "-": "dash", "/": "stroke", " ": "blank", "@": "at", "_": "underline"}


class Slip(NamedTuple):
    """What may have been meant by a code that does not check, and how it came about."""

    name: str
    words: str


def check_character(name: str) -> str:
    """
    The character that protects a name.

    Parameters
    ----------
    name : str
        As it stands in the book. Small letters count as capital ones, marked letters as plain ones.

    Raises
    ------
    InputError
        If the name has no letter and no figure at all.

    Examples
    --------
    >>> check_character("H261125A") == check_character("h26I125a")
    True
    """
    return ALPHABET[_sum(_counted(name))]


def coded(name: str) -> str:
    """
    A name as it is printed: with its check character behind a dash.

    Examples
    --------
    >>> read(coded("H261125A"))
    'H261125A'
    """
    return f"{name}{DASH}{check_character(name)}"


def is_code(text: str) -> bool:
    """Whether a text is a name with its check character, and the two fit."""
    parts = _parts(text)
    return parts is not None and _fits(*parts)


def read(text: str, known: Callable[[str], bool] | None = None) -> str:
    """
    The name in a code that was scanned, typed or read aloud.

    Parameters
    ----------
    text : str
        The code; blanks around it, small letters and a missing dash are forgiven.
    known : callable, optional
        Whether the farm has something of a name. Then only such names are offered for a code that does not check.

    Returns
    -------
    str
        The name, in the letters it was typed in.

    Raises
    ------
    InputError
        If it is no code, or a character is wrong; what likely slipped is named.
    """
    parts = _parts(text)
    if parts is None:
        rule = "a lot code is a name, a dash and a check character"
        raise InputError("code", text.strip()[:LONGEST], rule, "Read it off the label again, all of it.")
    if _fits(*parts):
        return parts[0]
    name, last = parts
    likely = [slip for slip in slips(text) if known is None or known(slip.name)]
    right = check_character(name) if _holds(name) else "?"
    rule = f"its check character {last} does not fit the rest"
    remedy = f"{likely[0].words}." if likely else f"Read it off the label again; {name} alone would end in {right}."
    raise InputError("code", text.strip(), rule, remedy)


def slips(text: str) -> Iterator[Slip]:
    """Names that may have been meant by a code that does not check, the likeliest slip first."""
    parts = _parts(text)
    if parts is None or _fits(*parts):
        return
    whole = parts[0] + parts[1]
    seen = set()
    for made, words in (*_swapped(whole), *_mistaken(whole)):
        name, last = made[:-1], made[-1]
        if name not in seen and _holds(name) and _fits(name, last):
            seen.add(name)
            yield Slip(name, f"{words}: {coded(name)}")


def spoken(code: str) -> str:
    """
    A code or name spelt for the telephone, by the letters' words of ICAO and ITU.

    Examples
    --------
    >>> spoken("H26.1")
    'Hotel two six point one'
    """
    return " ".join(_SPOKEN.get(letter) or _MARKS.get(letter, letter) for letter in _plain(code))


# The sum --------------------------------------------------------------------------------------------------------------


def _plain(name: str) -> str:
    """A name in capital letters without marks."""
    taken_apart = unicodedata.normalize("NFKD", name.strip())
    return "".join(letter for letter in taken_apart if not unicodedata.combining(letter)).upper()


def _holds(name: str) -> bool:
    return any(letter in _VALUE for letter in _plain(name))


def _counted(name: str) -> list[int]:
    values = [_VALUE[letter] for letter in _plain(name) if letter in _VALUE]
    if not values:
        rule = "it has no letter and no figure that a check character could protect"
        raise InputError("name", name, rule, "Give it a name with letters A to Z or figures.")
    return values


def _sum(values: list[int]) -> int:
    state = 0
    for value in values:
        state = _twice(state ^ value)
    return state


def _twice(value: int) -> int:
    """Twice a value in the field of 32 elements."""
    doubled = value << 1
    return doubled ^ _POLYNOMIAL if doubled & 0b100000 else doubled


# What was typed -------------------------------------------------------------------------------------------------------


def _parts(text: str) -> tuple[str, str] | None:
    """The name and the check character of a text; None where it cannot be a code."""
    typed = text.strip()
    for mark in ALSO_READ:
        typed = typed.replace(mark, DASH)
    if not 2 <= len(typed) <= LONGEST:
        return None
    name, last = typed[:-1].rstrip(), _plain(typed[-1])
    name = name.removesuffix(DASH).rstrip()
    return (name, last) if name and last in _VALUE and _holds(name) else None


def _fits(name: str, last: str) -> bool:
    return _sum(_counted(name)) == _VALUE[_plain(last)]


def _swapped(whole: str) -> Iterator[tuple[str, str]]:
    """Every way to put two neighbours back."""
    for place in range(len(whole) - 1):
        one, other = whole[place], whole[place + 1]
        if one != other:
            made = f"{whole[:place]}{other}{one}{whole[place + 2 :]}"
            yield made, f"{one} and {other} likely changed places"


def _mistaken(whole: str) -> Iterator[tuple[str, str]]:
    """Every way to put back one character that was taken for another like it."""
    for place, letter in enumerate(whole):
        for pair in _CONFUSED:
            if letter.upper() in pair:
                meant = pair[1 - pair.index(letter.upper())]
                yield f"{whole[:place]}{meant}{whole[place + 1 :]}", f"{letter} was likely {meant}"
