"""Time zones as people choose them: by town, the ones of the IANA database that are in use."""

from __future__ import annotations

from zoneinfo import available_timezones

REGIONS = ("Africa", "America", "Antarctica", "Arctic", "Asia", "Atlantic", "Australia", "Europe", "Indian", "Pacific")

ZONES: tuple[str, ...] = (
    "UTC",
    *sorted(name for name in available_timezones() if name.partition("/")[0] in REGIONS and "/" in name),
)
"""UTC, then every town."""
