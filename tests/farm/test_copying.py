"""A state and its copy go on apart from each other, although they share what is done with."""

from __future__ import annotations

from decimal import Decimal
from typing import Any, get_args, get_type_hints

import msgspec
from hypothesis import given
from hypothesis import strategies as st

from tests.farm.test_fold_properties import CHOICES, PROPERTY, either, play
from tests.farm.test_kit_marks import marked, sown_on
from tests.farm.told import grown
from tests.money.small import DINER, a_week, on
from trayward.farm.bills import Billing, Party
from trayward.farm.codec import encode_state
from trayward.farm.copying import copied
from trayward.farm.entries import (
    Body,
    Cut,
    Discarded,
    Entry,
    KitRetired,
    KitUsed,
    Stripped,
    SupplyCounted,
    SupplyReceived,
    SupplySet,
    SupplyThrownAway,
    SupplyUsed,
    TrayCut,
    TroubleCleared,
    TroubleSeen,
    Washed,
)
from trayward.farm.fold import apply, fold
from trayward.farm.state import FarmState
from trayward.farm.supplies import Supply, TakenBy


def goes_on_apart(state: FarmState, entries: list[Entry]) -> None:
    """Whatever is folded into a copy, the state it was made of stays as it was."""
    for said in entries:
        before, other = encode_state(state), copied(state)
        assert encode_state(other) == before
        apply(other, said)
        assert encode_state(state) == before, f"{said.kind} changed what both share"
        state = other


@PROPERTY
@given(CHOICES, st.integers(0, 60))
def test_whatever_is_said_a_copy_made_before_stays_as_it_was(choices: list[Any], at: int) -> None:
    told = play(choices, either)
    at = min(at, len(told.entries))
    state = fold(told.entries[:at])
    before, other = encode_state(state), copied(state)
    fold(told.entries[at:], start=other)
    assert encode_state(state) == before
    assert encode_state(other) == encode_state(told.state)
    fold(told.entries[at:], start=state)
    assert encode_state(state) == encode_state(other), "and the other way round"


def test_trouble_seen_on_a_tray_that_is_done_with_does_not_show_in_a_state_from_before() -> None:
    told = grown()
    told.say(Cut(harvest="H", crop="radish", trays=(TrayCut(tray="S.1", grams=200.0),)), Stripped(trays=("S.1",)))
    told.say(Discarded(trays=("S.2",), reason="too late"))
    made = len(told.entries)
    seen = TroubleSeen(trays=("S.1", "S.2"), sign="white fuzz", hold="suspected mould")
    told.say(seen, TroubleCleared(trays=("S.1",), found="root hairs"), Stripped(trays=("S.2",)))
    goes_on_apart(fold(told.entries[:made]), told.entries[made:])


def test_marks_that_go_round_do_not_show_in_a_state_from_before() -> None:
    told = marked()
    made = len(told.entries)
    told.say(sown_on("S", "M3", "M7"), KitUsed(tray="S.1", marks=("M4",)), Discarded(trays=("S.1",), reason="mould"))
    told.say(Washed(pool="mat", count=1, marks=("M4",)), KitRetired(pool="mat", marks=("M9",), replaced_by=("M11",)))
    goes_on_apart(fold(told.entries[:made]), told.entries[made:])


def test_supplies_that_are_used_do_not_show_in_a_state_from_before() -> None:
    told = grown()
    coir = Supply(name="coir", kind="medium", unit="g", taken=(TakenBy(of="tray", amount=120.0),))
    made = len(told.entries)
    some: dict[str, Any] = {"supply": "coir", "unit": "g"}
    bodies: list[Body] = [
        SupplySet(supply=coir),
        SupplyReceived(**some, amount=900.0, lot="C1", cost=Decimal("4.50")),
        SupplyReceived(**some, amount=500.0, lot="C2", cost=Decimal("3.10")),
        SupplyUsed(**some, amount=950.0),
        SupplyThrownAway(**some, amount=10.0, reason="wet"),
        SupplyCounted(**some, amount=300.0),
        SupplyCounted(**some, amount=600.0),
    ]
    told.say(*bodies)
    goes_on_apart(fold(told.entries[:made]), told.entries[made:])


def test_what_becomes_of_an_invoice_does_not_show_in_a_state_from_before() -> None:
    farm = a_week()
    farm.set_billing(Billing(seller=Party(name="Lantern Loft")), at=on(9))
    name = farm.invoice(DINER, at=on(10)).names[0]
    made = farm.book.head().seq
    farm.invoice_sent(name, way="by mail", at=on(11))
    farm.invoice_paid(name, Decimal(1), at=on(12))
    farm.credit(name, "wilted", at=on(13))
    said = list(farm.book.timeline())
    goes_on_apart(fold(said[:made]), said[made:])


def test_every_kind_of_value_that_can_change_in_place_is_known_here() -> None:
    """A new one must be copied by `copied`, or the fold never changes it but makes another; then it is named here."""
    copies = {"FarmState", "Tray", "StageStep", "SeedLot", "PoolState", "Mark", "SupplyHeld", "SupplyLot"}
    become_others = {"Trouble", "Sowing", "HarvestLot", "PackLot", "BillHeld"}
    assert {kind.__name__ for kind in changeable(FarmState)} == copies | become_others


def changeable(kind: Any, seen: set[Any] | None = None) -> set[Any]:
    seen = set() if seen is None else seen
    if isinstance(kind, type) and issubclass(kind, msgspec.Struct) and not get_args(kind):
        if kind not in seen:
            seen.add(kind)
            for part in get_type_hints(kind).values():
                changeable(part, seen)
    else:
        for part in get_args(kind):
            changeable(part, seen)
    return {each for each in seen if not each.__struct_config__.frozen}
