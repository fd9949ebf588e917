"""Commands of the hygiene bench: dilute, strength, contact, chlorine, solution, mix, hot-water."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.hygiene import hygiene as sums

hygiene = group_of(
    sums,
    example="trayward bench hygiene",
    instance='trayward bench hygiene dilute bleach --label "8.25 %" --to "200 ppm" --make "4 l"',
)
