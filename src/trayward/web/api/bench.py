"""The bench: its sums, what each is asked, and what it answers. Values are said as a grower types them."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

import msgspec

from trayward.bench.types import Sheet
from trayward.desk.core import Said
from trayward.errors import InputError, NotFoundError
from trayward.farm.settings import METRIC
from trayward.web.api.operation import Nothing, look, tell
from trayward.web.ask import Ask
from trayward.web.bench.fields import lacking, values_of
from trayward.web.bench.given import OfPage
from trayward.web.bench.sums.declared import BENCHES, Sum, bench_named
from trayward.web.bench.work import is_long
from trayward.web.typed import Typed

Word = Annotated[str, msgspec.Meta(min_length=1, max_length=40)]
AsTyped = Annotated[str, msgspec.Meta(max_length=20_000, pattern=r"^[^\x00]*$")]
Values = Annotated[dict[Word, AsTyped], msgspec.Meta(max_length=60)]


class SumTold(msgspec.Struct, frozen=True, kw_only=True):
    """A sum of a bench."""

    bench: str
    sum: str
    fields: tuple[str, ...]
    needs: tuple[str, ...]
    """What it cannot do without."""
    example: str
    """The same on a terminal."""


class Sums(msgspec.Struct, frozen=True, kw_only=True):
    """Every sum there is."""

    sums: tuple[SumTold, ...]


class WorkSum(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Values to work out a sum of."""

    bench: Word
    sum: Word
    values: Values = {}
    """Field -> as it would be typed: `20 C`, `0.7 oz`, `43 of 50`."""


class Worked(msgspec.Struct, frozen=True, kw_only=True):
    """What came of it. A sum that asks the farm's outlook or plan takes a while: ask again until `sheet` is there."""

    sheet: Sheet | None
    as_of: datetime | None
    since: datetime | None
    """Since when it is being worked out; None: it is not."""
    error: str


def _sums(ask: Ask, _: Nothing) -> Sums:  # noqa: ARG001
    return Sums(
        sums=tuple(
            SumTold(
                bench=bench, sum=name, fields=tuple(field.name for field in each.fields),
                needs=tuple(lacking(each, Typed((), units=METRIC))), example=each.example,
            )
            for bench in BENCHES
            for name, each in bench_named(bench).sums.items()
        )
    )  # fmt: skip


def _sum(told: WorkSum) -> Sum:
    if told.bench not in BENCHES:
        raise NotFoundError("bench", told.bench, BENCHES)
    sums = bench_named(told.bench).sums
    if told.sum not in sums:
        raise NotFoundError("sum", told.sum, tuple(sums))
    known = {field.name for field in sums[told.sum].fields}
    other = next((name for name in told.values if name not in known), None)
    if other is not None:
        raise InputError(other, told.values[other], "the sum has no field of that name", f"Known: {', '.join(known)}.")
    return sums[told.sum]


def _work(ask: Ask, told: WorkSum, _: Said) -> Worked:
    each = _sum(told)
    words = tuple((name, word) for name, word in told.values.items() if word.strip())
    typed = Typed(words, units=METRIC)
    lacks = lacking(each, typed)
    if lacks:
        raise InputError(lacks[0], "nothing", "must not be empty", f"For instance: {each.example}")
    if is_long(told.bench, each, typed, has_farm=ask.has_farm):
        long: Any = ask.long("bench sum", bench=told.bench, task=told.sum, words=words, us=False)
        sheet = long.value.sheet if long.value is not None else None
        return Worked(sheet=sheet, as_of=long.as_of, since=long.since, error=long.error)
    answer = each.work(OfPage(ask), **values_of(each, typed))
    return Worked(sheet=answer.sheet, as_of=ask.at, since=None, error="")


OPERATIONS = (
    look("/bench", _sums, Sums, "bench", "The sums of the work table.", steady=True),
    tell("/bench", _work, WorkSum, "bench", "Work out a sum.", gives=Worked, may="look"),
)
