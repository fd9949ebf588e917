"""Commands of the light bench: map, height, even, daily, hours, energy, lux, distance, photon."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.light import light as sums

light = group_of(sums, example="trayward bench light", instance='trayward bench light map --lamps "3 x 20 W" --trays 4')
