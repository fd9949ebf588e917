"""Words as a sentence joins them: a count with its noun, some names in a row."""

from __future__ import annotations

from collections.abc import Iterable


def counted(number: float, one: str, many: str = "") -> str:
    """
    A count with its noun.

    Examples
    --------
    >>> counted(1, "tray"), counted(4, "tray"), counted(2, "box", "boxes")
    ('1 tray', '4 trays', '2 boxes')
    """
    return f"{number:.10g} {one if number == 1 else many or one + 's'}"


def listed(words: Iterable[str], *, most: int = 6) -> str:
    """
    Words joined as a sentence joins them, long lists cut short.

    Examples
    --------
    >>> listed(["A1", "A2", "B1"])
    'A1, A2 and B1'
    >>> listed(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    all_words = list(words)
    shown = all_words[:most]
    if len(all_words) > most:
        return f"{', '.join(shown)} and {len(all_words) - most} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)
