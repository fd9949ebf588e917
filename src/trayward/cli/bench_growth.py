"""Commands of the growth bench: emergence, warmer, log, fit."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.growth import growth as sums

growth = group_of(
    sums, example="trayward bench growth", instance='trayward bench growth emergence broccoli --shelf "20 C"'
)
