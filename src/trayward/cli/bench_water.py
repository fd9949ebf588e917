"""The commands `bench water`: acid and base, two waters, feed, EC, depth, refill and tanks."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.water import ACID_EXAMPLE
from trayward.web.bench.sums.water import water as sums

water = group_of(sums, example=ACID_EXAMPLE, instance=ACID_EXAMPLE)
