"""Sums that ask the outlook or the plan: long work, done in the other process."""

from __future__ import annotations

from datetime import datetime

import msgspec

from trayward.bootstrap import Farm
from trayward.farm.settings import METRIC, US
from trayward.web.bench.fields import values_of
from trayward.web.bench.given import OfJob
from trayward.web.bench.sums.declared import Answer, Sum, bench_named
from trayward.web.typed import Typed
from trayward.web.work import job


def long_sum(
    farm: Farm, at: datetime, *, bench: str, task: str, words: tuple[tuple[str, str], ...], us: bool | None
) -> Answer:
    """A sum of a bench with what was typed; what only the command line shows of it is left out."""
    given = OfJob(farm, at, farm.settings(at).units if us is None else US if us else METRIC)
    each = bench_named(bench).sums[task]
    answer = each.work(given, **values_of(each, Typed(words, units=given.units)))
    return msgspec.structs.replace(answer, draw=None, more={})


job("bench sum", long_sum)


def is_long(bench: str, each: Sum, typed: Typed, *, has_farm: bool) -> bool:
    """Whether a sum asks the farm's outlook, its plan or a fit of its records."""
    if not has_farm:
        return False
    if bench == "money":
        return typed.has("crop")
    if bench == "growth" and each.name == "fit":
        return not typed.has("file") and typed.file("file") is None
    return (bench, each.name) == ("seed", "need") and not typed.has("trays")
