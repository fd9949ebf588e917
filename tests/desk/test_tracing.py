"""Tracing through the desk: what a code means, recalls that are kept, and how customers are reached."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from trayward import Farm
from trayward.codes import gs1
from trayward.codes.lot import check_character, coded
from trayward.desk.tracing import lot_in, spellings
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.codec import decode_entry, encode_entry
from trayward.farm.entries import LineDelivered, LotGrams, PackCount, RecallKept
from trayward.farm.orders import Customer, LineAsked
from trayward.farm.recalls import Contact

AT = datetime(2026, 11, 24, 8, 0, tzinfo=UTC)
LATER = AT + timedelta(hours=6)


@pytest.fixture
def farm() -> Iterator[Farm]:
    """Lantern Loft with a tray cut, packed and delivered to two customers."""
    with Farm.create(":memory:", "loft", at=AT - timedelta(days=20)) as farm:
        farm.receive_seed("SEED-7", "broccoli", 500.0, germination=0.9, tsw_g=3.3, at=AT - timedelta(days=19))
        for name in ("Corner Cafe", "Kite Cafe"):
            farm.set_customer(Customer(name=name), at=AT - timedelta(days=19))
        trays = farm.sow("broccoli", 2, grams_per_tray=20.0, lot="SEED-7", at=AT - timedelta(days=10)).names[1:]
        farm.begin(trays, "ready", at=AT - timedelta(hours=2))
        harvest = farm.cut({trays[0]: 130.0, trays[1]: 120.0}, at=AT - timedelta(hours=1), sure=True).names[0]
        pack = farm.pack("broccoli", 3, pack_g=50.0, parts={harvest: 150.0}, at=AT).names[0]
        for number, customer in enumerate(("Corner Cafe", "Kite Cafe")):
            line = LineAsked(line="1", product="broccoli", quantity=50.0)
            order = farm.place_order(customer, AT.date(), [line], at=AT).names[0]
            out = LineDelivered(line=f"{order}/1", packs=(PackCount(pack=pack, packs=1 + number),))
            farm.deliver(customer, [out], at=AT + timedelta(minutes=number))
        yield farm


def pack_of(farm: Farm) -> str:
    return next(iter(farm.state(LATER).packs))


def test_a_pack_is_traced_from_its_code_to_the_seed_and_to_both_customers(farm: Farm) -> None:
    found = farm.trace(coded(pack_of(farm)), at=LATER)
    assert found.names("lot") == {"SEED-7"}
    assert found.names("customer") == {"Corner Cafe", "Kite Cafe"}
    assert found.findings == ()
    assert found.harvests[0].difference_g == 0.0


def test_a_code_may_come_from_a_gs1_code_an_address_or_a_name_in_small_letters(farm: Farm) -> None:
    pack = pack_of(farm)
    item = ("01", gs1.gtin14(gs1.gtin13("9521234", "17")))
    link = gs1.digital_link([item, ("10", coded(pack))], "https://loft.example")
    for word in (pack, pack.lower(), f" {coded(pack).lower()} ", link, gs1.element_string([item, ("10", coded(pack))]),
                 f"]d2{gs1.element_string([item, ('10', pack)])}", f"(10){coded(pack)}",
                 f"https://loft.example/lot/{coded(pack)}", f"pack:{pack}"):  # fmt: skip
        assert farm.trace_start(word, at=LATER).subject == f"pack:{pack}", word


def test_a_wrong_check_character_is_refused_with_the_slip_that_leads_to_something_here(farm: Farm) -> None:
    pack = pack_of(farm)
    wrong = f"{pack[:-2]}{pack[-1]}{pack[-2]}-{check_character(pack)}"
    with pytest.raises(InputError, match=f"likely changed places: {coded(pack)}"):
        farm.trace(wrong, at=LATER)


def test_a_lot_that_is_not_here_is_said_so(farm: Farm) -> None:
    with pytest.raises(NotFoundError, match="H991231A"):
        farm.trace("H991231A", at=LATER)
    with pytest.raises(NotFoundError, match="Trace a pack"):
        farm.trace(coded("H991231A"), at=LATER)
    with pytest.raises(InputError, match="something must be named"):
        farm.trace("  ", at=LATER)
    with pytest.raises(InputError, match="leads nowhere"):
        farm.trace(f"recipe:{next(iter(farm.state(LATER).recipes))}", at=LATER)


def test_days_the_wrong_way_round_are_refused(farm: Farm) -> None:
    with pytest.raises(InputError, match="comes before the first"):
        farm.trace("Kite Cafe", at=LATER, first=AT.date(), last=AT.date() - timedelta(days=1))


def test_from_a_customer_kit_or_shelf_of_some_days(farm: Farm) -> None:
    pack, day = pack_of(farm), AT.date()
    assert farm.trace("Kite Cafe", at=LATER, first=day, last=day).names("pack") == {pack}
    assert farm.trace("Kite Cafe", at=LATER, last=day - timedelta(days=1)).names("pack") == set()
    pool = next(name for name, held in farm.state(LATER).kit.items() if held.uses or held.dirty or held.in_use)
    assert farm.trace(f"kit:{pool}", at=LATER).names("customer") == {"Corner Cafe", "Kite Cafe"}
    assert farm.trace(f"kit:{pool}", at=LATER, last=day - timedelta(days=15)).names("tray") == set()


def test_tracing_at_a_moment_knows_only_what_was_so_then(farm: Farm) -> None:
    found = farm.trace(pack_of(farm), at=AT + timedelta(seconds=30))
    assert found.names("customer") == {"Corner Cafe"}


def test_a_struck_delivery_is_left_out_and_counted(farm: Farm) -> None:
    pack = pack_of(farm)
    entry = farm.book.about("customer:Kite Cafe")[-1].entry.id
    farm.strike(entry, "went elsewhere", at=LATER)
    found = farm.trace(pack, at=LATER)
    assert found.names("customer") == {"Corner Cafe"}
    assert found.taken_back >= 1


def test_a_loose_delivery_written_down_days_late_is_traced_on_its_own_time(farm: Farm) -> None:
    harvest = next(iter(farm.state(LATER).harvests))
    out = LineDelivered(line="O261124A/1", loose=(LotGrams(harvest=harvest, grams=40.0),))
    farm.record(farm.state(LATER) and _delivery(out), at=AT + timedelta(hours=1), recorded=AT + timedelta(days=3))
    found = farm.trace(harvest, at=AT + timedelta(days=3))
    assert found.late == 1
    assert found.harvests[0].loose_g == 40.0


def _delivery(line: LineDelivered):  # type: ignore[no-untyped-def]
    from trayward.farm.entries import Delivered

    return Delivered(delivery="D-late", customer="Corner Cafe", lines=(line,))


# Recalls --------------------------------------------------------------------------------------------------------------


def test_a_recall_is_kept_with_the_minutes_it_took_and_who_was_reached(farm: Farm) -> None:
    farm.set_contact(Contact(customer="Kite Cafe", phone="0100 1"), at=AT)
    sheet = farm.recall_sheet("SEED-7", at=LATER)
    assert [(each.customer, each.packs, each.reachable) for each in sheet.customers] == [
        ("Kite Cafe", 2, True), ("Corner Cafe", 1, False),
    ]  # fmt: skip
    receipt = farm.keep_recall(
        "SEED-7", reason="yearly exercise", began=LATER, reached=["Kite Cafe"], at=LATER + timedelta(minutes=12)
    )
    (name,) = receipt.names
    kept = farm.state(LATER + timedelta(hours=1)).recalls[name]
    assert (name[0], kept.minutes, kept.share, kept.exercise) == ("R", 12.0, 1.0, True)
    assert {told.customer: told.reached for told in kept.told} == {"Corner Cafe": False, "Kite Cafe": True}
    assert any("Corner Cafe" in words for words in kept.findings)


def test_a_recall_survives_export_and_import_and_its_sending_twice(farm: Farm, tmp_path) -> None:  # type: ignore[no-untyped-def]
    said = {"reason": "exercise", "began": LATER, "at": LATER, "ids": ["recall-01"]}
    first, again = farm.keep_recall("SEED-7", **said), farm.keep_recall("SEED-7", **said)
    assert first.names == again.names
    farm.export(tmp_path / "book.jsonl")
    Farm.take_in(tmp_path / "copy.sqlite", tmp_path / "book.jsonl")
    with Farm.open(tmp_path / "copy.sqlite") as copy:
        assert copy.state(LATER).recalls == farm.state(LATER).recalls
        assert isinstance(copy.book.get("recall-01").entry.body, RecallKept)  # type: ignore[union-attr]


def test_a_kept_recall_is_told_again_with_who_kept_it_and_the_days_it_was_asked_for(farm: Farm) -> None:
    day = AT.date()
    receipt = farm.keep_recall("Kite Cafe", reason="x", began=LATER, at=LATER, by="Ada", first=day, last=day)
    kept = farm.kept_recall(receipt.names[0].lower(), at=LATER + timedelta(days=1))
    assert (kept.by, kept.recall.first, kept.recall.last, kept.changed) == ("Ada", day, day, False)
    assert kept.sheet.start.span.first == day
    with pytest.raises(NotFoundError, match="See them with: trayward recall"):
        farm.kept_recall("R999999Z", at=LATER)


def test_a_recall_kept_before_days_were_kept_is_read(farm: Farm) -> None:
    farm.keep_recall("SEED-7", reason="x", began=LATER, at=LATER, ids=["recall-01"])
    new = encode_entry(farm.book.get("recall-01").entry)  # type: ignore[union-attr]
    old = new.replace(b'"first":null,', b"").replace(b'"last":null,', b"").replace(b'"version":2', b'"version":1')
    assert old != new
    assert decode_entry(old) == decode_entry(new)


def test_what_a_kept_recall_cannot_be_is_refused(farm: Farm) -> None:
    with pytest.raises(InputError, match="needs one"):
        farm.keep_recall("SEED-7", reason=" ", began=LATER, at=LATER)
    with pytest.raises(InputError, match="it lies more than 60 days before the end"):
        farm.keep_recall("SEED-7", reason="x", began=LATER - timedelta(days=61), at=LATER)
    with pytest.raises(InputError, match="cannot come after the end"):
        farm.keep_recall("SEED-7", reason="x", began=LATER + timedelta(minutes=1), at=LATER)
    with pytest.raises(NotFoundError, match="Nobody"):
        farm.keep_recall("SEED-7", reason="x", began=LATER, at=LATER, reached=["Nobody"])
    with pytest.raises(NotFoundError, match="Nobody"):
        farm.set_contact(Contact(customer="Nobody"), at=LATER)


def test_a_recalls_name_is_used_once(farm: Farm) -> None:
    farm.keep_recall("SEED-7", reason="x", began=LATER, at=LATER, recall="R1")
    with pytest.raises(RefusedError, match="a name is used once"):
        farm.keep_recall("SEED-7", reason="x", began=LATER, at=LATER, recall="R1")


def test_recalls_tell_their_words_in_the_book_and_in_the_lots_story(farm: Farm) -> None:
    receipt = farm.keep_recall("SEED-7", reason="yearly", began=LATER, at=LATER + timedelta(minutes=3))
    (told,) = farm.told(receipt.kept, LATER + timedelta(hours=1))
    assert "0 of 2 customers reached" in told.words
    assert "3 min" in told.words
    harvest = next(iter(farm.state(LATER).harvests))
    assert any("recall tried out" in line.words for line in farm.harvest_story(harvest, LATER + timedelta(hours=1)))


# Words that are scanned -----------------------------------------------------------------------------------------------


def test_characters_that_look_alike_lead_to_the_name_that_is_here() -> None:
    assert "H261125O" in set(spellings("H2611250"))
    assert "H26112SI" in set(spellings("H26112S1"))
    assert next(spellings("P1")) == "P1"


def test_what_is_scanned_may_be_an_address_without_a_lot() -> None:
    assert lot_in("https://loft.example/lot/P%201/") == "P 1"
    assert lot_in("P1") == "P1"
