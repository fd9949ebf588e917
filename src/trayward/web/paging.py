"""Long lists in pages."""

from __future__ import annotations


def pages_for(count: int, on_a_page: int) -> int:
    """How many pages a list takes; a list of nothing has one too."""
    return max(1, -(-count // on_a_page))
