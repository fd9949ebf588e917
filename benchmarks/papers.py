"""How long sheets and labels take, and how many pages they have: the round of a Loft and of a Barn, and 200 labels.

The round is made before the clock starts: what is measured is laying it out and writing the PDF. Its peer is the same
rows written as JSON, which is what the app sends anyway.
"""

from __future__ import annotations

import re
import tempfile
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from itertools import islice
from pathlib import Path
from typing import Any, Final

from benchmarks import books
from benchmarks.harness import Figure, apart, measure, progress, run

ENTRIES: Final = {"Loft": 10_000, "Barn": 60_000}
"""Enough for every spot to have been sown."""
SIZES: Final = tuple(ENTRIES)
LABELS: Final = 200
FAR_AHEAD: Final = datetime(2999, 1, 1, tzinfo=UTC)


def figures(sizes: Iterable[str] = SIZES) -> list[Figure]:
    """Time and pages of the round sheet and of labels."""
    found = []
    for size in sizes:
        with tempfile.TemporaryDirectory(prefix="tray-bench-") as folder:
            progress(f"papers: {size}")
            path = _book(size, Path(folder))
            told = apart("papers", str(path))
        where = f"{size}, {told['growing']} trays"
        found += [
            Figure("round sheet, A4", where, told["sheet_ms"], "ms", "the rows as JSON", told["json_ms"]),
            Figure("pages of it", where, told["pages"], "pages", "rows", told["rows"]),
            Figure("its file", where, told["kb"], "kB"),
        ]
    told = apart("papers", "labels")
    found.append(Figure(f"{LABELS} pack labels with QR codes", "3 x 8 on A4", told["labels_ms"], "ms"))
    return found


def _book(size: str, folder: Path) -> Path:
    from trayward.farm.codec import encode_entry
    from trayward.store import open_book
    from trayward.store.pen import Pen, prepare_canonical

    path = folder / "farm.sqlite"
    said = iter(books.entries(ENTRIES[size], spots=books.SIZES[size]))
    with open_book(path, create=True) as book:
        while page := [prepare_canonical(encode_entry(entry)) for entry in islice(said, 10_000)]:
            with book.writing() as connection:
                pen = Pen(connection)
                pen.keep(page)
                pen.flush()
    return path


def part(path: str) -> dict[str, Any]:
    """What the new process measures."""
    return _labels() if path == "labels" else _sheet(path)


def _sheet(path: str) -> dict[str, Any]:
    import msgspec

    from trayward import Farm
    from trayward.paper.paper import paper_of
    from trayward.paper.round_sheet import round_sheet

    with Farm.open(path) as farm:
        at = (farm.book.head().horizon or FAR_AHEAD) + timedelta(minutes=5)
        present, settings = farm.round(at), farm.settings(at)
        growing = len(farm.state(at).growing())
    paper = paper_of(settings, at, "A4")
    pdf = round_sheet(present, paper, "260101-0700")
    (count,) = re.findall(rb"/Count (\d+)", pdf)[:1]
    return {
        "sheet_ms": 1000 * measure(lambda: round_sheet(present, paper, "260101-0700"), repeat=3),
        "json_ms": 1000 * measure(lambda: msgspec.json.encode(present), repeat=3),
        "pages": int(count),
        "rows": len(present.rows),
        "growing": growing,
        "kb": len(pdf) / 1000,
    }


def _labels() -> dict[str, Any]:
    from trayward.paper.label_sheets import SHEETS
    from trayward.paper.labels import PackLabel, labels_pdf
    from trayward.paper.symbols import Symbol

    told = [
        PackLabel(
            product="radish",
            net_g=50.0,
            cut=(date(2026, 11, 27),),
            best_before=date(2026, 12, 4),
            lot=f"P{number}",
            farm="Lantern Loft",
            symbol=Symbol(kind="qr", text=f"P{number}"),
        )
        for number in range(LABELS)
    ]
    return {"labels_ms": 1000 * measure(lambda: labels_pdf(told, SHEETS[0], "Labels"), repeat=3)}


if __name__ == "__main__":
    run(figures, SIZES)
