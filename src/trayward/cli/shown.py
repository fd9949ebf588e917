"""What row numbers mean: the round as it was last shown here, because numbers shift as rows are answered.

The list is kept in the user's cache, one file a book. It is no record: lost, the numbers mean the round as it is now.
"""

from __future__ import annotations

import hashlib
import json
import os
from pathlib import Path

from trayward.cli.files import write_whole
from trayward.errors import InputError
from trayward.rounds.types import Round, RoundRow


def remember(book: str, shown: Round) -> None:
    """Keep which row each number stood for. Where nothing can be written, nothing is kept."""
    path = _path(book)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        write_whole(path, json.dumps({"round": shown.round, "rows": [row.row for row in shown.rows]}).encode())
    except OSError:
        return


def numbered(book: str, present: Round) -> list[str]:
    """Names of the rows by number, as last shown in this round; as they are now if it was not shown."""
    try:
        kept = json.loads(_path(book).read_text(encoding="utf-8"))
        if kept["round"] == present.round:
            return [str(name) for name in kept["rows"]]
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return [row.row for row in present.rows]


def row_by_name(present: Round, name: str, said: str) -> RoundRow:
    """The open row of a name. Raises `InputError` where it is answered by now, or never was."""
    for row in present.rows:
        if row.row == name:
            return row
    rule = f"{name} is not open in the round of {present.round}; it may be answered already"
    raise InputError("row", said, rule, "See what is left with: trayward round")


def _path(book: str) -> Path:
    where = book if "://" in book else str(Path(book).resolve())
    name = hashlib.sha256(where.encode()).hexdigest()[:16]
    return Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "trayward" / f"round-{name}.json"
