"""Run every benchmark and write what they measured into `docs/benchmarks.md`.

`python -m tools.bench_table` runs them all; names after it run those alone and leave the others' rows as they are.
"""

from __future__ import annotations

import argparse
import json
import os
import platform
import re
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from benchmarks.harness import show_number

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "benchmarks.md"
SHARED = {"__init__", "harness", "books", "farms", "filled", "databases", "shaken"}
KEYS = ("name", "size", "value", "unit", "peer", "peer_value", "ratio")
HEAD = "| what | size | value | unit | beside | its value | ratio |\n|---|---|---:|---|---|---:|---:|\n"
INTRO = """# Benchmarks

Written by `make bench`; every figure is measured in the same run as the one beside it, on the same machine.
`ratio` is value / its value. One of them alone, readable: `python -m benchmarks.NAME`; as JSON: with `--json`.
"""


def benchmark_names() -> list[str]:
    """Every benchmark there is, by name."""
    return sorted(path.stem for path in (ROOT / "benchmarks").glob("*.py") if path.stem not in SHARED)


def measured(name: str) -> list[dict[str, Any]]:
    """Run one benchmark and give its figures; its progress goes to the terminal."""
    done = subprocess.run(
        [sys.executable, "-m", f"benchmarks.{name}", "--json"], cwd=ROOT, stdout=subprocess.PIPE, text=True, check=True
    )
    figures = json.loads(done.stdout)
    if not figures or any(set(figure) != set(KEYS) for figure in figures):
        raise ValueError(f"benchmarks.{name} gives no list of figures with the keys {', '.join(KEYS)}.")
    return list(figures)


def memory_gib() -> float:
    """Memory of this machine. [GiB]"""
    return float(os.sysconf("SC_PAGE_SIZE")) * os.sysconf("SC_PHYS_PAGES") / 2**30


def machine() -> str:
    """This machine in general words; never its name."""
    return (
        f"{os.cpu_count()} cores ({platform.machine()}), {memory_gib():.0f} GiB of memory, {platform.system()}, "
        f"Python {platform.python_version()}"
    )


def cell(text: str) -> str:
    """Text that stands in a table without breaking it."""
    return text.replace("|", "\\|").replace("\n", " ")


def row(figure: dict[str, Any]) -> str:
    """One figure as a row."""
    cells = [
        cell(figure["name"]), cell(str(figure["size"])), show_number(figure["value"]), cell(figure["unit"]),
        cell(figure["peer"]) or "-", show_number(figure["peer_value"]), show_number(figure["ratio"]),
    ]  # fmt: skip
    return "| " + " | ".join(cells) + " |"


def section(name: str, figures: list[dict[str, Any]], on: str) -> str:
    """One benchmark's part of the page."""
    rows = "\n".join(row(figure) for figure in figures)
    return f"## {name}\n\nMeasured {on}, {machine()}.\n\n{HEAD}{rows}\n"


def kept_sections() -> dict[str, str]:
    """The parts of the page as it stands, by benchmark."""
    if not PAGE.is_file():
        return {}
    parts = re.split(r"^(?=## )", PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]
    return {part.splitlines()[0].removeprefix("## "): part.rstrip() + "\n" for part in parts}


def write_page(sections: dict[str, str]) -> None:
    """The whole page, benchmarks in order; parts of benchmarks that are gone are left out."""
    names = [name for name in benchmark_names() if name in sections]
    PAGE.parent.mkdir(exist_ok=True)
    PAGE.write_text("\n".join([INTRO, *(sections[name] for name in names)]), encoding="utf-8")


def main() -> int:
    """Run the benchmarks named, or all, and write the page; 0 when every one of them ran."""
    names = benchmark_names()
    parser = argparse.ArgumentParser(description="Run benchmarks and write docs/benchmarks.md.")
    parser.add_argument("only", nargs="*", choices=[[], *names], help="these alone")
    chosen = parser.parse_args().only or names
    sections = kept_sections()
    failed = []
    for number, name in enumerate(chosen, 1):
        began = time.monotonic()
        print(f"{number}/{len(chosen)} {name}", flush=True)
        try:
            sections[name] = section(name, measured(name), datetime.now(UTC).date().isoformat())
        except (subprocess.CalledProcessError, ValueError) as trouble:
            print(f"    {trouble}", flush=True)
            failed.append(name)
        print(f"    {'failed' if name in failed else 'done'} in {time.monotonic() - began:.1f} s", flush=True)
    write_page(sections)
    print(f"Written to {PAGE.relative_to(ROOT)}." + (f" Failed: {', '.join(failed)}." if failed else ""))
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
