"""Supplies and sensors of a setup file: read, refused with the line, written back to the same farm."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from trayward import Farm
from trayward.desk.setup.file import left_out, read_setup, ready_setup_text, setup_changes
from trayward.desk.setup.written import setup_text
from trayward.errors import SetupError
from trayward.farm.entries import OfferSet, SensorSet, SupplyReceived, SupplySet
from trayward.farm.sensors import NEVER_SILENT, Correction, Sensor
from trayward.farm.settings import ShownUnits
from trayward.farm.supplies import Offer, PackPrice, Supply, TakenBy
from trayward.rounds.change_words import change_words

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
STORES = """
[[supply]]
name = "coir"
kind = "medium"
unit = "g"
takes = ["tray 120 g of coir", "tray 80"]
keep = "2 kg"
surely = "90 %"
keeps = "2 y"
valued = "lots"

[[supply.lot]]
lot = "coir-2611"
amount = "25 kg"
best_before = 2028-01-31
cost = 31.00
supplier = "Quay Supplies"
supplier_lot = "7731"
document = "5521"

[[supply.lot]]
lot = "coir-2612"
amount = "25 kg"
expected = 2026-12-04

[[supply.offer]]
supplier = "Quay Supplies"
packs = ["5 kg 9.00", "25 kg 31.00 from 2"]
lead = "4 d"
delivery = "4.90"

[[supply]]
name = "box"
kind = "packaging"
takes = ["pack 1"]

[[seed_offer]]
crop = "broccoli"
supplier = "Hillside Seeds"
packs = ["1 kg 24.00"]

[[sensor]]
name = "cold-1"
place = "cold room"
what = "cold room temperature"
every = "5 min"
low = 0
high = "41 F"
after = "30 min"
silent = "20 min"
topic = "loft/7/state"
field = "data.temp"

[[sensor.correction]]
since = 2026-10-01T08:00:00
add = -0.4
note = "held in ice water"

[[sensor]]
name = "tank-1"
place = "tank"
what = "ec"
silent = "never"
high = "1800 uS/cm"
""".replace('"2 y"', '"730 d"')


def setup(old: str = "", new: str = "") -> str:
    assert old in STORES
    return ready_setup_text("shelf") + STORES.replace(old, new, 1)


def bodies(text: str) -> tuple[object, ...]:
    kinds = (SupplySet, OfferSet, SupplyReceived, SensorSet)
    return tuple(each for each in read_setup(text, name="nook.toml") if isinstance(each, kinds))


def test_supplies_their_lots_and_what_suppliers_ask_are_read() -> None:
    read = bodies(setup())
    coir, box = (each for each in read if isinstance(each, SupplySet))
    coir_offer, seed_last = (each for each in read if isinstance(each, OfferSet))
    here, coming = (each for each in read if isinstance(each, SupplyReceived))
    assert coir == SupplySet(supply=Supply(
        name="coir", kind="medium", unit="g", keep=2000.0, surely=0.9, keeps_days=730, valued="lots",
        taken=(TakenBy(of="tray", amount=120.0, name="coir"), TakenBy(of="tray", amount=80.0)),
    ))  # fmt: skip
    assert box == SupplySet(
        supply=Supply(name="box", kind="packaging", taken=(TakenBy(of="pack", amount=1.0),))
    )  # fmt: skip
    packs = (
        PackPrice(size=5000.0, price=Decimal("9.00")),
        PackPrice(size=25_000.0, price=Decimal("31.00"), least=2),
    )
    assert coir_offer == OfferSet(
        offer=Offer(thing="coir", supplier="Quay Supplies", packs=packs, lead_days=4.0, delivery=Decimal("4.90"))
    )
    pack = PackPrice(size=1000.0, price=Decimal("24.00"))
    assert seed_last == OfferSet(offer=Offer(thing="broccoli", seed=True, supplier="Hillside Seeds", packs=(pack,)))
    assert here == SupplyReceived(
        supply="coir", unit="g", lot="coir-2611", amount=25_000.0, best_before=date(2028, 1, 31),
        cost=Decimal("31.0"), supplier="Quay Supplies", supplier_lot="7731", document="5521",
    )  # fmt: skip
    assert coming == SupplyReceived(
        supply="coir", unit="g", lot="coir-2612", amount=25_000.0, expected_on=date(2026, 12, 4)
    )


def test_sensors_are_read_in_the_unit_of_what_they_measure_and_on_the_farms_clock() -> None:
    """41 F is 5 C; eight in the morning of 1 October in Dublin is seven UTC."""
    cold, tank = (each.sensor for each in bodies(setup()) if isinstance(each, SensorSet))
    assert cold.high == pytest.approx(5.0, abs=1e-12)
    (correction,) = cold.corrections
    assert correction == Correction(since=datetime(2026, 10, 1, 7, tzinfo=UTC), add=-0.4, note="held in ice water")
    assert (cold.low, cold.silent_min, cold.topic, cold.field) == (0.0, 20.0, "loft/7/state", "data.temp")
    assert tank == Sensor(name="tank-1", place="tank", what="ec", high=1.8, silent_min=NEVER_SILENT)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"tray 80"', '"trays 80"', "takes = 'trays 80': begins with one of tray, pack"),
        ('"tray 80"', '"tray 0"', "takes = 'tray 0': must take more than nothing"),
        ('"tray 120 g of coir"', '"tray 120 ml"', "takes = 'tray 120 ml': is a volume"),
        ('keep = "2 kg"', 'keep = "2 l"', "keep = '2 l': is a volume"),
        ('keeps = "730 d"', 'keeps = "36 h"', "must be whole days"),
        ('unit = "g"', 'unit = "kg"', "unit = 'kg': must be one of pieces, g, ml"),
        ('amount = "25 kg"', "amount = 0", "amount = 0: must be more than 0"),
        ("cost = 31.00", 'cost = "1,500"', "can be read as 1500 or as a decimal number"),
        ("cost = 31.00", "cost = true", "cost = true: must be an amount of money"),
        ("cost = 31.00", "cost = -3", "cost = -3: must be 0 or more"),
        ('lot = "coir-2612"', 'lot = "coir-2611"', "another one has that name"),
        ('["1 kg 24.00"]', '["1 kg"]', "packs = '1 kg': must be what a pack holds and its price"),
        ('["1 kg 24.00"]', '["0 kg 24.00"]', "must hold more than nothing"),
        ('packs = ["1 kg 24.00"]', "", 'seed_offer "broccoli", packs = nothing: it has to be given'),
        ('packs = ["1 kg 24.00"]', "packs = []", "an offer has a pack and a price"),
        ('crop = "broccoli"', 'crop = "pea shoot"', "no recipe of this farm grows that crop"),
        ('name = "box"', 'name = "coir"', "another one has that name"),
        ('name = "cold-1"', 'name = "cold room"', "is made of letters, figures, dots and dashes"),
        ('place = "cold room"\n', "", 'sensor "cold-1", place = nothing: it has to be given'),
        ('what = "ec"', 'what = "acid"', "what = 'acid': must be one of air temperature"),
        ('high = "41 F"', "high = 70", "high = 70: must lie in [-40, 60] C"),
        ('"1800 uS/cm"', '"1800 ppm"', "it is no unit of EC"),
        ("low = 0", "low = 6", "must be less than high, 5 C"),
        ('every = "5 min"', "every = 0", "every = 0: must lie in [0.05, 10080] minutes"),
        ("since = 2026-10-01T08:00:00", "since = 2026-10-01", "must be a day and a time"),
        ("add = -0.4", 'add = "-0.4 C"', "must be a plain number"),
        ('silent = "20 min"', 'silence = "20 min"', "no such key is known here. Did you mean silent?"),
    ],
)
def test_what_cannot_be_is_said_with_its_line(old: str, new: str, said: str) -> None:
    text = setup(old, new)
    with pytest.raises(SetupError, match=re.escape(said)) as caught:
        read_setup(text, name="nook.toml")
    (problem,) = caught.value.problems
    assert re.match(r"nook\.toml, line \d+: s", problem)


def test_a_farm_with_supplies_and_sensors_written_as_a_file_is_the_same_again() -> None:
    with Farm.create(":memory:", read_setup(setup(), name="nook.toml"), at=MORNING) as farm:
        state = farm.state(MORNING)
        assert state.findings == []
        again = read_setup(setup_text(state), name="written")
        assert setup_changes(state, again) == ()
        assert left_out(state, again) == ()
        with Farm.create(":memory:", again, at=MORNING) as second:
            other = second.state(MORNING)
            assert (other.supplies, other.offers, other.sensors) == (state.supplies, state.offers, state.sensors)


def test_what_is_left_of_a_delivery_is_written_with_its_part_of_the_cost_and_what_has_ended_is_not() -> None:
    later = MORNING + timedelta(hours=1)
    with Farm.create(":memory:", read_setup(setup(), name="nook.toml"), at=MORNING) as farm:
        farm.use_supply("coir", 5000.0, at=later)
        farm.set_supply(farm.state(later).supplies["box"].supply, dropped=True, at=later)
        tank = farm.sensor_named("tank-1", later)
        farm.set_sensor(Sensor(name=tank.name, place=tank.place, what=tank.what, high=1.8, ended=True), at=later)
        again = read_setup(setup_text(farm.state(later)), name="written")
        assert setup_changes(farm.state(later), again) == ()
    lot = next(each for each in again if isinstance(each, SupplyReceived) and each.lot == "coir-2611")
    assert (lot.amount, lot.cost) == (20_000.0, Decimal("24.8"))  # 31.00 for 25 kg
    assert [each.supply.name for each in again if isinstance(each, SupplySet)] == ["coir"]
    assert [each.sensor.name for each in again if isinstance(each, SensorSet)] == ["cold-1"]


def test_an_edited_file_records_only_what_differs_and_says_it() -> None:
    with Farm.create(":memory:", read_setup(setup(), name="nook.toml"), at=MORNING) as farm:
        state = farm.state(MORNING)
        text = setup("\nexpected = 2026-12-04", "").replace('keep = "2 kg"', 'keep = "3 kg"')
        text = text.replace('high = "41 F"', "high = 4").replace('"4 d"', '"3 d"')
        changes = setup_changes(state, read_setup(text, name="nook.toml"))
        words = [change_words(state, each, ShownUnits()) for each in changes]
    assert words == [
        "Supply coir: at least 3 kg to keep instead of 2 kg.",
        "Offer of coir @ Quay Supplies: comes within 3 d instead of 4 d.",
        "Lot coir-2612 has come: 25 kg of coir received, lot coir-2612.",
        "Sensor cold-1: at most 4 C instead of 5 C.",
    ]


def test_what_the_file_does_not_mention_is_named_and_stays() -> None:
    with Farm.create(":memory:", read_setup(setup(), name="nook.toml"), at=MORNING) as farm:
        bare = read_setup(ready_setup_text("shelf"), name="nook.toml")
        assert setup_changes(farm.state(MORNING), bare) == ()
        assert left_out(farm.state(MORNING), bare) == ("supply:coir", "supply:box", "sensor:cold-1", "sensor:tank-1")
