"""The rule of the book: how each entry is chained to the one before it, and how times are kept.

    hash = SHA-256( previous hash + LF + number + LF + canonical JSON ), in lower-case hexadecimal

The previous hash is the 64 characters kept with entry number - 1, or nothing for entry 1. The number is written in
decimal digits, and the canonical JSON is the bytes that are kept (`farm.codec.encode_entry`), in UTF-8. So anyone can
check an exported book with a few lines of any language, and no entry can be changed, left out, put in or moved without
every later hash being wrong.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from hashlib import sha256

EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)


def link(previous: str, seq: int, canonical: bytes) -> str:
    """
    The hash that chains an entry to the one before it.

    Parameters
    ----------
    previous : str
        Hash kept with entry `seq` - 1; empty for the first.
    seq : int
        The entry's number in the book, from 1.
    canonical : bytes
        The entry's canonical JSON, exactly as kept.

    Examples
    --------
    >>> link("", 1, b"{}")[:16]
    '09122c33344a3f1c'
    """
    return sha256(b"%s\n%d\n%s" % (previous.encode(), seq, canonical)).hexdigest()


def to_microseconds(at: datetime) -> int:
    """A moment as whole microseconds since 1970 in UTC: sorts the same on every database."""
    return (at - EPOCH) // MICROSECOND


def from_microseconds(microseconds: int) -> datetime:
    """The moment, in UTC, that `to_microseconds` turned into a number."""
    return EPOCH + microseconds * MICROSECOND
