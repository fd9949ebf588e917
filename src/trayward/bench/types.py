"""What a bench hands out: a sheet of named values with units, what they rest on, how far they hold, and cautions."""

from __future__ import annotations

from typing import Literal

import msgspec

from trayward.errors import Finding

Kind = Literal["plain", "mass", "volume", "length", "temperature", "degrees", "minutes", "share", "money"]
"""How people read a value: `mass`, `volume`, `length`, `temperature` and `degrees` (of difference between temperatures)
are shown in the farm's own units, `minutes` as hours or days where that reads better, `share` as percent, `money` with
two decimals; `plain` with the unit it has."""


class Amount(msgspec.Struct, frozen=True, kw_only=True):
    """One named value of a sheet."""

    name: str
    """In the trade's words, lower case: `seed for a tray`."""
    value: float | int | str | bool
    unit: str = ""
    """The unit inside: g, ml, mm, C, min, umol/m2/s; a share has "-"; words have none."""
    kind: Kind = "plain"
    low: float | None = None
    high: float | None = None
    """Where doubt is known: 8 in 10 lie between, in the same unit."""
    note: str = ""
    """A few words beside it: `not counted: the lid`."""


class Grid(msgspec.Struct, frozen=True, kw_only=True):
    """A small table of a sheet: a mixing order, a schedule, shelves side by side."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """The answer of a bench."""

    bench: str
    """Which bench: seed, growth, light, air, water, hygiene, money."""
    task: str
    """Which sum of it, as its command is called: `dose`."""
    title: str
    """A sentence that says what was worked out."""
    given: tuple[Amount, ...]
    """What was put in, defaults included."""
    found: tuple[Amount, ...]
    """What came out; what is asked for first."""
    grids: tuple[Grid, ...] = ()
    steps: tuple[str, ...] = ()
    """What to do, in order, verb first."""
    holds: tuple[str, ...] = ()
    """How far the figures hold: ranges and what is left out, a sentence each."""
    findings: tuple[Finding, ...] = ()
    """What looks odd in what was put in, with the way out."""
    cautions: tuple[str, ...] = ()
    """Where work can hurt someone."""
    sources: tuple[str, ...] = ()
    """Keys of `trayward.sources`."""
