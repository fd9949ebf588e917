"""How long the account of four weeks takes, beside folding a thousand entries of a small one.

The sum has to look at the trays that left and what went out in those weeks, not at the whole book.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from benchmarks import books
from benchmarks.harness import Figure, measure_beside, progress, run
from trayward.farm.codec import normal
from trayward.farm.entries import Entry
from trayward.farm.fold import fold
from trayward.money.earned import earned
from trayward.money.grown import KnownCosts
from trayward.money.terms import KINDS, Terms

LADDER = (("Loft", 10_000), ("Barn", 100_000), ("Barn", 1_000_000))
WEEKS = timedelta(days=27)


def of_size(size: str, count: int) -> list[Figure]:
    """The account told by crop, and by customer, on a book of so many entries."""
    progress(f"money: {size}, {count:,} entries")
    told: list[Entry] = []
    state = fold(_said(size, count, told))
    # The peer is a tenth of the least of the books, so that the long ones are not folded again and again.
    first = list(_said("Loft", 1_000, []))
    assert state.settings is not None
    assert state.horizon is not None
    terms = Terms(state.settings, state, told)
    last, at = state.horizon.date(), state.horizon
    found, of, known = [], f"{size}, {count:,} entries", KnownCosts()
    for by in ("crop", "customer"):
        for words, kept in ((f"four weeks by {by}", None), (f"four weeks by {by}, looked at before", known)):
            earned(state, terms, last - WEEKS, last, by=by, at=at, known=kept)
            mine, peer = measure_beside(
                lambda by=by, kept=kept: earned(  # type: ignore[misc]
                    state, terms, last - WEEKS, last, by=by, at=at, known=kept
                ),
                lambda: fold(first),
                repeat=3,
            )
            found.append(Figure(words, of, mine * 1000, "ms", "fold 1,000 entries", peer * 1000))
    return found


def _said(size: str, count: int, told: list[Entry]) -> Iterator[Entry]:
    """The entries of a book one by one, none of them kept but those that say prices."""
    for entry in books.entries(count, spots=books.SIZES[size]):
        plain = normal(entry)
        if plain.body.KIND in KINDS:
            told.append(plain)
        yield plain


def figures() -> list[Figure]:
    """Four weeks of money on books of growing length."""
    return [figure for size, count in LADDER for figure in of_size(size, count)]


if __name__ == "__main__":
    run(figures)
