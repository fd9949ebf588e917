"""A process that starts writers, each a process of its own, that tests then kill or let fight.

Loading Python's libraries takes longer than a writer lives, so this process loads them once and every writer is a fork
of it. Talks over its standard streams, a line of JSON each way: it is told
`{"book", "name", "entries", "size", "pause"}` and says `{"pid"}`; a writer says `{"kept": id}` once an entry is
acknowledged, `{"error"}` if the book raises; when a writer is gone it says `{"gone", "signal"}`.
"""

from __future__ import annotations

import json
import os
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import psycopg
import sqlalchemy.dialects.postgresql
import sqlalchemy.dialects.sqlite

from tests.contract.telling import note
from trayward.errors import BookError
from trayward.store import open_book

LOADED = (psycopg, sqlalchemy.dialects.postgresql, sqlalchemy.dialects.sqlite)
"""What a writer needs on its first connection; loaded here so that no fork loads it again."""


def say(**words: object) -> None:
    """One line, at once, in one piece: several processes write to the same stream."""
    os.write(1, json.dumps(words).encode() + b"\n")


def write(book: str, name: str, entries: int, size: int, pause: float) -> None:
    """Append entries of so many letters one by one, say so after each, and let others at the book for a moment [s]."""
    try:
        with open_book(book) as opened:
            for number in range(entries):
                (kept,) = opened.append([note(f"{name}-{number:05d}", number, f"tray:{number}", text="x" * size)])
                say(kept=kept.entry.id)
                time.sleep(pause)
    except BookError as err:
        say(error=str(err))


def main() -> None:
    for line in sys.stdin:
        told = json.loads(line)
        writers = told if isinstance(told, list) else [told]
        pids = []
        for words in writers:
            pid = os.fork()
            if pid == 0:
                write(**words)
                os._exit(0)
            pids.append(pid)
        for pid in pids:
            say(pid=pid)
        for pid in pids:
            _, status = os.waitpid(pid, 0)
            say(gone=pid, signal=os.WTERMSIG(status) if os.WIFSIGNALED(status) else 0)


if __name__ == "__main__":
    main()
