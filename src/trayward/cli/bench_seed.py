"""Commands of the seed bench: grams, density, spoons, weight, mesh, soak, age, need, germination, test, spread."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.seed import seed as sums

seed = group_of(
    sums,
    example="trayward bench seed",
    instance='trayward bench seed grams broccoli --density 4.4 --sprouted "43 of 50"',
)
