"""Tracing events: the shape that GS1's schema asks for, ids that the same event always has, and what was taken back."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest

import trayward
from tests.exchange.epcis_schema import problems
from tests.trace.made import START, Made, chain
from trayward.errors import InputError
from trayward.exchange.event_hash import event_id, event_time, ni_address
from trayward.farm import entries as said
from trayward.farm.orders import Customer
from trayward.farm.recalls import Recall
from trayward.farm.settings import FarmPaper, FarmSettings, GS1Item

PAPER = FarmPaper(gs1_prefix="4012345", gs1_items=(GS1Item(product="pea", item="11111"),))
"""A prefix of GS1's own examples."""


def farm_of(made: Made) -> trayward.Farm:
    """A book that says what was made."""
    first, *rest = made.entries
    farm = trayward.Farm.create(":memory:", [first.body], at=first.at)
    for entry in rest:
        farm.record(entry.body, at=entry.at, by=entry.by, recorded=entry.recorded, ids=[entry.id])
    return farm


@pytest.fixture
def made() -> Made:
    return chain()


@pytest.fixture
def farm(made: Made) -> Iterator[trayward.Farm]:
    with farm_of(made) as farm:
        yield farm


def document(farm: trayward.Farm, at: datetime, **days: date) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(b"".join(farm.tracing_document(at=at, **days)))
    return found


def events(farm: trayward.Farm, at: datetime, **days: date) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = document(farm, at, **days)["epcisBody"]["eventList"]
    return found


def test_what_was_sown_cut_packed_and_shipped_fits_the_schema(farm: trayward.Farm, made: Made) -> None:
    whole = document(farm, made.at)
    assert problems(whole) == []
    steps = [event["bizStep"] for event in whole["epcisBody"]["eventList"]]
    assert set(steps) == {"receiving", "commissioning", "creating_class_instance", "shipping"}
    assert whole["schemaVersion"] == "2.0"


def test_the_schema_finds_an_event_that_lacks_something(farm: trayward.Farm, made: Made) -> None:
    whole = document(farm, made.at)
    shipped = next(event for event in whole["epcisBody"]["eventList"] if event["bizStep"] == "shipping")
    shipped["quantityList"] = [{"epcClass": "no uri", "quantity": "4"}]
    shipped["bizStep"] = "posting"
    assert problems(whole)


def test_grams_go_from_the_trays_through_the_lots_to_the_customers(farm: trayward.Farm, made: Made) -> None:
    told = events(farm, made.at)
    names = {
        each["id"]: each["attributes"][0]["attribute"]
        for sort in document(farm, made.at)["epcisHeader"]["epcisMasterData"]["vocabularyList"]
        for each in sort["vocabularyElementList"]
    }
    cuts = [event for event in told if "inputEPCList" in event]
    cut = {names[each["epcClass"]][:14]: each["quantity"] for event in cuts for each in event["outputQuantityList"]}
    assert cut == {"harvest lot H1": 500, "harvest lot H2": 250}
    packing = next(event for event in told if event.get("outputQuantityList", [{}])[0].get("uom") is None
                   and "inputQuantityList" in event and "outputQuantityList" in event)  # fmt: skip
    assert [(names[each["epcClass"]][:14], each["quantity"], each["uom"]) for each in packing["inputQuantityList"]] == [
        ("harvest lot H1", 300, "GRM")
    ]
    assert packing["outputQuantityList"][0]["quantity"] == 6
    customers = {names[event["destinationList"][0]["destination"]] for event in told if event["bizStep"] == "shipping"}
    assert customers == {"A", "B", "C"}


def test_the_hash_of_the_published_example_comes_out() -> None:
    # TRAC-10: epcis-event-hash-generator, tests/examples, github.com/RalphTro/epcis-event-hash-generator at 5d2f1c3.
    ns = "{https://ns.example.com/epcis/}"
    text = (
        "eventType=ObjectEventeventTime=2020-03-04T10:00:30.000ZeventTimeZoneOffset=+01:00"
        "epcListepc=https://id.gs1.org/00/040123450000001112epc=https://id.gs1.org/00/040123450000002225"
        "epc=https://id.gs1.org/00/040123450000003338action=OBSERVE"
        "bizStep=https://ref.gs1.org/cbv/BizStep-departing"
        "readPointid=https://id.gs1.org/414/4012345000115/254/987"
        f"{ns}myField1{ns}mySubField1=2{ns}mySubField2=5{ns}myField2=0{ns}myField3{ns}mySubField3=1{ns}mySubField3=3"
    )
    assert ni_address(text) == (
        "ni:///sha-256;6ae96341e0acc6d7a261364751f60e68278a81cdf51da0abb6b4e617014e39d7?ver=CBV2.0"
    )


def test_a_moment_is_told_in_utc_with_the_walls_offset_beside_it() -> None:
    # TRAC-11: the same examples; 11:00:30 at +01:00 is 10:00:30 in UTC.
    at = datetime.fromisoformat("2020-03-04T11:00:30.000+01:00")
    assert event_time(at) == "2020-03-04T10:00:30.000Z"
    settings = FarmSettings(name="Lantern Loft", timezone="Europe/Berlin")
    with trayward.Farm.create(":memory:", [said.FarmSet(settings=settings)], at=at) as farm:
        got = said.SeedReceived(lot="S1", crop="pea", grams=500.0)
        farm.record(got, at=at)
        farm.record(got.__class__(lot="S2", crop="pea", grams=500.0), at=at + timedelta(days=120))
        told = events(farm, at + timedelta(days=200))
    assert [(event["eventTime"], event["eventTimeZoneOffset"]) for event in told] == [
        ("2020-03-04T10:00:30.000Z", "+01:00"),
        ("2020-07-02T10:00:30.000Z", "+02:00"),
    ]


def test_the_same_record_gives_the_same_ids_in_every_export(farm: trayward.Farm, made: Made) -> None:
    first, later = events(farm, made.at), events(farm, made.at + timedelta(days=3))
    assert [event["eventID"] for event in first] == [event["eventID"] for event in later]
    assert len({event["eventID"] for event in first}) == len(first)
    assert all(event["eventID"].startswith("ni:///sha-256;") for event in first)


def test_an_id_hangs_on_all_that_is_said_and_not_on_when_it_was_recorded_or_declared_wrong() -> None:
    event = {
        "type": "ObjectEvent", "eventTime": "2026-11-25T07:30:00.000Z", "eventTimeZoneOffset": "+00:00",
        "action": "OBSERVE", "bizStep": "shipping", "disposition": "in_transit",
        "quantityList": [
            {"epcClass": "urn:a:1", "quantity": 4.0}, {"epcClass": "urn:a:2", "quantity": 95.5, "uom": "GRM"},
        ],
    }  # fmt: skip
    same = event | {"recordTime": "2026-11-26T07:30:00.000Z", "errorDeclaration": {"declarationTime": "x"}}
    turned = event | {"quantityList": list(reversed(event["quantityList"]))}  # type: ignore[arg-type]
    assert event_id(event) == event_id(same) == event_id(turned)
    assert event_id(event) != event_id(event | {"disposition": "in_progress"})
    assert event_id(event) != event_id(event | {"quantityList": [{"epcClass": "urn:a:1", "quantity": 5}]})


def test_a_pack_is_called_by_gtin_and_lot_where_the_farm_has_a_prefix(made: Made) -> None:
    made.entries[0] = _set(made, PAPER)
    with farm_of(made) as farm:
        whole = document(farm, made.at)
    filled = [
        each["epcClass"]
        for event in whole["epcisBody"]["eventList"]
        for each in event.get("outputQuantityList", [])
        if "uom" not in each
    ]
    # GS1 General Specifications 7.9: 4012345 11111 has the check digit 8 (weights 3, 1 from the right: 42, to 50).
    assert filled == ["https://id.gs1.org/01/04012345111118/10/P1-" + filled[0][-1]]
    assert problems(whole) == []


def test_without_prefix_and_product_number_things_have_a_uuid_and_with_a_web_address_that(made: Made) -> None:
    with farm_of(made) as farm:
        bare = events(farm, made.at)
    assert all(each["readPoint"]["id"].startswith("urn:uuid:") for each in bare)
    made.entries[0] = _set(made, FarmPaper(web="https://loft.example"))
    with farm_of(made) as farm:
        own = events(farm, made.at)
    assert {each["readPoint"]["id"] for each in own} == {"https://loft.example/loc/farm"}
    cut = next(event for event in own if "inputEPCList" in event)
    assert cut["inputEPCList"][0].startswith("https://loft.example/obj/tray/")


def test_two_farms_never_call_two_things_the_same(made: Made) -> None:
    with farm_of(made) as one, farm_of(made) as other:
        mine, theirs = events(one, made.at), events(other, made.at)
    assert {event["eventID"] for event in mine}.isdisjoint(event["eventID"] for event in theirs)


def test_what_was_taken_back_is_declared_wrong_once(farm: trayward.Farm, made: Made) -> None:
    wrong = next(entry for entry in made.entries if isinstance(entry.body, said.Packed))
    before = {event["eventID"] for event in events(farm, made.at)}
    farm.strike(wrong.id, "never packed", at=made.at, by="Ada")
    whole = document(farm, made.at + timedelta(hours=1))
    struck = [event for event in whole["epcisBody"]["eventList"] if "errorDeclaration" in event]
    assert problems(whole) == []
    assert [event["errorDeclaration"]["reason"] for event in struck] == ["did_not_occur"]
    assert struck[0]["eventID"] in before
    assert struck[0]["errorDeclaration"]["declarationTime"] == event_time(made.at)


def test_what_was_said_right_afterwards_is_named_as_the_correction(farm: trayward.Farm, made: Made) -> None:
    wrong = next(entry for entry in made.entries if isinstance(entry.body, said.Cut) and entry.body.harvest == "H2")
    assert isinstance(wrong.body, said.Cut)
    tray = wrong.body.trays[0].tray
    farm.strike(wrong.id, "weighed with the tray", at=made.at, by="Ada")
    right = said.Cut(harvest="H2", crop="pea", trays=(said.TrayCut(tray=tray, grams=240.0),))
    farm.record(right, at=wrong.at, recorded=made.at)
    told = [event for event in events(farm, made.at + timedelta(hours=1)) if "inputEPCList" in event]
    struck = next(event for event in told if "errorDeclaration" in event)
    good = next(event for event in told if event["outputQuantityList"][0]["quantity"] == 240)
    assert struck["errorDeclaration"]["reason"] == "incorrect_data"
    assert struck["errorDeclaration"]["correctiveEventIDs"] == [good["eventID"]]


def test_the_very_same_said_again_is_not_declared_wrong(farm: trayward.Farm, made: Made) -> None:
    wrong = next(entry for entry in made.entries if isinstance(entry.body, said.Packed))
    farm.strike(wrong.id, "by mistake", at=made.at, by="Ada")
    farm.record(wrong.body, at=wrong.at, recorded=made.at)
    told = events(farm, made.at + timedelta(hours=1))
    assert not [event for event in told if "errorDeclaration" in event]
    assert len({event["eventID"] for event in told}) == len(told)


def test_days_narrow_it_and_a_strike_within_them_comes_along(farm: trayward.Farm, made: Made) -> None:
    first = START.date()
    assert events(farm, made.at, last=first - timedelta(days=1)) == []
    early, whole = events(farm, made.at, last=first), events(farm, made.at)
    late = events(farm, made.at, first=first + timedelta(days=1))
    assert [event["eventID"] for event in (*early, *late)] == [event["eventID"] for event in whole]
    assert early
    assert late
    gone = made.entries[next(n for n, entry in enumerate(made.entries) if isinstance(entry.body, said.SeedReceived))]
    assert gone.at.date() == first
    farm.strike(gone.id, "never came", at=made.at, by="Ada")
    later = events(farm, made.at + timedelta(hours=1), first=first + timedelta(days=1))
    assert later[0]["errorDeclaration"]["reason"] == "did_not_occur"
    assert len(later) == len(late) + 1
    with pytest.raises(InputError, match="comes before the first"):
        farm.tracing_document(at=made.at, first=first, last=first - timedelta(days=1))


def test_the_pieces_need_the_book_alone_once_the_document_was_asked_for(
    farm: trayward.Farm, made: Made, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Pages send them after they gave the farm back: another thread may then be bringing its state up to date.
    wrong = next(entry for entry in made.entries if isinstance(entry.body, said.Packed))
    farm.strike(wrong.id, "never packed", at=made.at, by="Ada")
    later = made.at + timedelta(hours=1)
    whole, pieces = document(farm, later), farm.tracing_document(at=later)
    monkeypatch.setattr(farm, "state", lambda at: pytest.fail(f"the farm was asked for its state at {at}"))
    assert json.loads(b"".join(pieces)) == whole


def test_crop_thrown_away_is_destroyed_and_a_sample_is_sampled(farm: trayward.Farm, made: Made) -> None:
    part = (said.LotGrams(harvest="H1", grams=5.0),)
    farm.record(said.ThrownAway(parts=part, reason="wilted"), at=made.at)
    farm.record(said.ThrownAway(parts=part, reason="lab sample"), at=made.at)
    whole = document(farm, made.at)
    gone = [event for event in whole["epcisBody"]["eventList"] if event.get("action") == "DELETE"]
    assert [event["bizStep"] for event in gone] == ["destroying", "sampling"]
    assert all("bizLocation" not in event for event in gone)
    assert problems(whole) == []


def test_ones_own_table_is_no_shipping(made: Made) -> None:
    made.say(said.CustomerSet(customer=Customer(name="Home", home=True)))
    part = (said.LotGrams(harvest="H1", grams=5.0),)
    line = said.LineDelivered(line="O7/1", loose=part)
    made.say(said.Delivered(delivery="D7", customer="Home", lines=(line,)))
    with farm_of(made) as farm:
        last = events(farm, made.at)[-1]
    assert (last["bizStep"], last["action"]) == ("decommissioning", "DELETE")
    assert "destinationList" not in last


def test_a_recall_in_earnest_is_told_and_one_tried_out_is_not(farm: trayward.Farm, made: Made) -> None:
    recall = Recall(
        recall="R1", about="harvest:H1", reason="smell", exercise=True, began=made.at, ended=made.at,
        harvests=("H1",), packs=("P1",), told=(), cut_g=500.0, accounted_g=500.0, findings=(),
    )  # fmt: skip
    farm.record(said.RecallKept(recall=recall), at=made.at)
    assert not [event for event in events(farm, made.at) if event["disposition"] == "recalled"]
    from msgspec.structs import replace

    farm.record(said.RecallKept(recall=replace(recall, recall="R2", exercise=False)), at=made.at)
    told = [event for event in events(farm, made.at) if event["disposition"] == "recalled"]
    assert [each["quantity"] for each in told[0]["quantityList"]] == [6, 500]


def test_an_empty_farm_gives_an_empty_document() -> None:
    at = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
    with trayward.Farm.create(":memory:", [said.FarmSet(settings=FarmSettings(name="Lantern Loft"))], at=at) as farm:
        whole = document(farm, at)
    assert whole["epcisBody"]["eventList"] == []
    assert problems(whole) == []


def _set(made: Made, paper: FarmPaper) -> said.Entry:
    from msgspec.structs import replace

    first = made.entries[0]
    return replace(first, body=said.FarmSet(settings=FarmSettings(name="Lantern Loft", paper=paper)))
