"""A farm's looks at a stage, each with the warmth of its room."""

from __future__ import annotations

import math
from datetime import timedelta

import pytest

from tests.outlook.grown import BROCCOLI, DAY, MONDAY, ROUND
from trayward.farm.places import Shelf
from trayward.farm.settings import FarmSettings
from trayward.farm.state import FarmState, Reading, StageStep, Tray
from trayward.outlook.learning.warm_looks import warm_looks
from trayward.science.warm_fit import fit_warmth

BASE, THETA = 3.0, 54.0
COOL, WARM = 15.0, 22.0


def farm(*trays: Tray, warm: float = WARM) -> FarmState:
    """Two rooms, one cool and one warm, both logged every six hours for a month."""
    shelves = [
        Shelf(name=name, rack="R", room=room, kind="dark", spots=20)
        for name, room in (("C1", "cellar"), ("L1", "loft"))
    ]
    hours = [MONDAY + timedelta(hours=6 * step) for step in range(4 * 30)]
    readings = [
        Reading(at, "temperature", temp, where) for at in hours for where, temp in (("cellar", COOL), ("L1", warm))
    ]
    return FarmState(
        settings=FarmSettings(name="Lantern Loft"),
        shelves={shelf.name: shelf for shelf in shelves},
        recipes={"broccoli": BROCCOLI},
        readings=readings,
        trays={tray.tray: tray for tray in trays},
    )


def tray(name: str, spot: str, days: float, *, ended: bool = True) -> Tray:
    """A tray whose germination was seen over at the first look after so many days."""
    looks = math.ceil(days / (ROUND / DAY))
    until = MONDAY + looks * ROUND
    steps = [
        StageStep(
            stage="germinate", since=MONDAY, last_not_yet=until - ROUND, until=until if ended else None, spot=spot
        )
    ]
    if ended:
        steps.append(StageStep(stage="blackout", since=until, spot=spot))
    return Tray(
        tray=name,
        sowing=name,
        recipe="broccoli",
        crop="broccoli",
        sown_at=MONDAY,
        seed_g=20.0,
        lots=("L1",),
        steps=steps,
        spot=spot,
    )


def test_a_look_lies_between_the_last_not_yet_and_the_one_that_saw_it() -> None:
    (look,) = warm_looks(farm(tray("a", "C1.1", 4.3)), MONDAY + 20 * DAY, "broccoli", "germinate")
    assert (look.low_d, look.high_d) == pytest.approx((4.0, 4.5))
    assert look.temp_c == pytest.approx(COOL)


def test_a_tray_still_at_it_is_known_to_last_longer() -> None:
    (look,) = warm_looks(farm(tray("a", "L1.1", 3.0, ended=False)), MONDAY + 5 * DAY, "broccoli", "germinate")
    assert (look.low_d, look.high_d) == (pytest.approx(2.5), math.inf)
    assert look.temp_c == pytest.approx(WARM)


def test_warmth_beyond_25_degrees_counts_as_25() -> None:
    (look,) = warm_looks(farm(tray("a", "L1.1", 3.0), warm=29.0), MONDAY + 20 * DAY, "broccoli", "germinate")
    assert look.temp_c == pytest.approx(25.0)


def test_other_crops_other_stages_and_rooms_without_readings_tell_nothing() -> None:
    state, at = farm(tray("a", "C1.1", 4.3)), MONDAY + 20 * DAY
    assert warm_looks(state, at, "pea", "germinate") == []
    assert warm_looks(state, at, "broccoli", "light") == []
    state.readings.clear()
    assert warm_looks(state, at, "broccoli", "germinate") == []


def test_two_rooms_give_the_base_temperature_back() -> None:
    lucks = (0.93, 0.97, 1.0, 1.03, 1.07)
    cool = [tray(f"c{luck}", f"C1.{n}", luck * THETA / (COOL - BASE)) for n, luck in enumerate(lucks, 1)]
    warm = [tray(f"w{luck}", f"L1.{n}", luck * THETA / (WARM - BASE)) for n, luck in enumerate(lucks, 1)]
    found = fit_warmth(warm_looks(farm(*cool, *warm), MONDAY + 20 * DAY, "broccoli", "germinate"))
    assert found.told
    assert found.base.low is not None
    assert found.base.high is not None
    assert found.base.low < BASE < found.base.high
    assert found.days(18.0) == pytest.approx(THETA / 15, abs=0.25)
