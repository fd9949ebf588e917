"""The commands `bench`: the small sums of the work table, with no farm needed."""

from __future__ import annotations

from trayward.cli.given import HELP_NAMES
from trayward.cli.lazy import LazyGroup, Listed


def _in(module: str, line: str) -> Listed:
    return Listed(f"trayward.cli.bench_{module}", module, line)


BENCHES = {
    "seed": _in("seed", "Grams, spoons, density, mesh, soak, age, germination."),
    "growth": _in("growth", "Warmth and time: when it comes up, how fast it goes on."),
    "light": _in("light", "Lamps over a shelf: map, daily light, hours, energy."),
    "air": _in("air", "Dew point, vapour pressure deficit, moisture to remove."),
    "water": _in("water", "pH and acid, two waters, feed, depth and refill."),
    "hygiene": _in("hygiene", "Sanitiser to a strength, contact time, hot water for seed."),
    "money": _in("money", "Cost of a tray, a price, break-even, one gram more."),
}
"""Every bench, where it lives and the line that lists it."""

bench = LazyGroup(
    "bench",
    BENCHES,
    help="The small sums of the work table: seed, growth, light, air, water, hygiene, money. No farm is needed.",
    epilog="\b\nExample:\n  trayward bench seed grams broccoli --density 10",
    context_settings=dict(HELP_NAMES),
    no_args_is_help=True,
)
