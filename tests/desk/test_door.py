"""A program that hands a call the wrong kind of value is told so before anything is done with it."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from datetime import UTC, date, datetime
from decimal import Decimal
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from trayward import Farm
from trayward.errors import InputError

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.fixture
def farm() -> Iterator[Any]:
    """A shelf; `Any`, for what is handed in here no type checker would let pass."""
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


@pytest.mark.parametrize(
    ("call", "said"),
    [
        # One tray's name was taken for nine trays, each called by a letter of it.
        (
            lambda f: f.answer("261125A.1", at=MORNING),
            r"trays = '261125A.1': must be several, in a list. Put it in one: ",
        ),
        (lambda f: f.answer([1], at=MORNING), "trays = 1: must be text"),
        (lambda f: f.sow("pea", "2", at=MORNING), "trays = '2': must be a whole number. Give an int"),
        (lambda f: f.sow("pea", 1.5, at=MORNING), "trays = 1.5: must be a whole number"),
        (lambda f: f.sow("pea", True, at=MORNING), "trays = True: must be a whole number"),
        (lambda f: f.sow(None, 1, at=MORNING), "recipe = None: must be text"),
        (
            lambda f: f.sow("pea", 1, grams_per_tray="20 g", at=MORNING),
            "grams_per_tray = '20 g': must be a number. .*units",
        ),
        (lambda f: f.cut({"261125A.1": "95 g"}, at=MORNING), "grams = '95 g': must be a number"),
        (lambda f: f.cut(["261125A.1"], at=MORNING), "grams = .*: must say something of each, in a dict"),
        (lambda f: f.take_reading("temp", 20.0, at=MORNING), "what = 'temp': must be one of temperature, humidity"),
        (lambda f: f.answer([], moisture="wet", at=MORNING), "moisture = 'wet': must be one of moist, dry"),
        (lambda f: f.sow("pea", 1, at="2026-11-25"), "at = '2026-11-25': must be a moment. Give a datetime"),
        (lambda f: f.sow("pea", 1, at=date(2026, 11, 25)), "at = 2026-11-25: must be a moment"),
        (lambda f: f.state(None), "at = None: must be a moment"),
        (lambda f: f.due(MORNING, MORNING, at=MORNING), r"first = 2026-11-25T07.*: must be a day. .*\.date\(\)"),
        (lambda f: f.invoice_paid("1", 3.4, at=MORNING), "amount = 3.4: must be an exact amount. Give a Decimal"),
        (lambda f: f.record("sown", at=MORNING), "bodies = 'sown': must be a Body"),
        (lambda f: f.keep_plan(5, at=MORNING), "plan = 5: must be a Plan"),
        (lambda f: f.plan(MORNING, weeks="4"), "weeks = '4': must be a whole number"),
        (lambda f: f.export(5), "target = 5: must be text or a path"),
        (lambda f: type(f).create(":memory:", "shelf", at=5), "at = 5: must be a moment"),
    ],
)
def test_a_value_of_another_kind_is_told_by_its_name_the_rule_and_the_way_out(farm: Any, call: Any, said: str) -> None:
    before = farm.book.head().seq
    with pytest.raises(InputError, match=said):
        call(farm)
    assert farm.book.head().seq == before


def test_a_call_that_records_asks_when_and_knows_its_names(farm: Any) -> None:
    with pytest.raises(TypeError, match=r"sow\(\) missing 1 required .*'at'. Say when it happened: a datetime"):
        farm.sow("pea", 1)
    with pytest.raises(
        TypeError, match=r"sow\(\) got an unexpected keyword argument 'when'. It takes .*spots.* at, by"
    ):
        farm.sow("pea", 1, at=MORNING, when=MORNING)


def test_numbers_of_numpy_paths_as_text_and_what_is_left_out_are_taken_as_they_are(farm: Any, tmp_path: Path) -> None:
    _, tray = farm.sow("broccoli", np.int64(1), grams_per_tray=np.float64(20.0), lot=None, spots=None, at=MORNING).names
    farm.measure((tray,), "temperature_c", 20, "C", at=MORNING)
    assert list(farm.weights_expected((each for each in [tray]), MORNING)) == [tray]
    written = farm.export(str(tmp_path / "book.jsonl"))
    assert Farm.take_in(str(tmp_path / "copy.sqlite"), str(tmp_path / "book.jsonl")) == (written, 0)


def test_help_shows_each_call_as_it_was_written(farm: Any) -> None:
    """With its own arguments and its own words, and not those of the look before it."""
    for name in dir(Farm):
        call = getattr(Farm, name)
        if name.startswith("_") or not callable(call):
            continue
        assert inspect.getdoc(call), name
        assert "args" not in inspect.signature(call).parameters, name
    assert list(inspect.signature(farm.cut).parameters) == ["grams", "height_mm", "regrow", "harvest", "said"]


def test_every_call_of_a_farm_looks_at_what_it_is_given() -> None:
    """Also one that is written tomorrow, and those that make or open a farm."""
    calls = [getattr(Farm, name) for name in dir(Farm) if not name.startswith("_")]
    assert len(calls) > 150
    assert [call.__name__ for call in calls if inspect.isroutine(call) and not hasattr(call, "looks")] == []


def test_money_is_exact_and_a_day_is_a_day(farm: Any) -> None:
    assert farm.due(date(2026, 11, 25), date(2026, 12, 1), at=MORNING)
    with pytest.raises(Exception, match="invoice '1'") as refused:
        farm.invoice_paid("1", Decimal("3.40"), at=MORNING)
    assert not isinstance(refused.value, InputError)


@pytest.mark.parametrize("year", [1, 1970, 1999, 2200, 9999])
def test_no_farm_is_begun_by_a_clock_that_was_never_set(tmp_path: Path, year: int) -> None:
    """Its seed would have come in 1970: a sowing then asked for 178 kg of it."""
    never_set = datetime(year, 1, 1, tzinfo=UTC)
    with pytest.raises(InputError, match=rf"when = {year:04}-01-01.*: a farm is begun from 2000 to 2199. Set the"):
        Farm.create(tmp_path / "farm.sqlite", "shelf", at=never_set)
    with pytest.raises(InputError, match="Set the machine's clock first"):
        Farm.create(tmp_path / "farm.sqlite", "shelf", at=MORNING, recorded=never_set)
    assert not (tmp_path / "farm.sqlite").exists()
