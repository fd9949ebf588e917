"""Commands of the air bench: state, dew, cover, log, room, pressure."""

from __future__ import annotations

from trayward.cli.bench_made import group_of
from trayward.web.bench.sums.air import air as sums

air = group_of(sums, example="trayward bench air", instance='trayward bench air state "22 C" "60 %"')
