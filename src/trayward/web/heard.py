"""What programs said under which id, so that another thing under the same id is not taken for the same sent again."""

from __future__ import annotations

from collections import OrderedDict
from hashlib import sha256

MOST = 10_000
"""So many of the newest tellings are remembered, until the pages stop. What is older is taken for the same."""


class Heard:
    """Ids with a digest of what was said under each."""

    def __init__(self, most: int = MOST) -> None:
        self._most = most
        self._said: OrderedDict[str, bytes] = OrderedDict()

    def note(self, name: str, said: bytes) -> None:
        """Remember what was kept under an id."""
        self._said[name] = sha256(said).digest()
        while len(self._said) > self._most:
            self._said.popitem(last=False)

    def alike(self, name: str, said: bytes) -> bool:
        """Whether this may be what was said under that id."""
        known = self._said.get(name)
        return known is None or known == sha256(said).digest()
