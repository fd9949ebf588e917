"""A recall: every pack and customer, how to reach them, and the share accounted for."""

from __future__ import annotations

from datetime import UTC, date, datetime
from typing import Any

import pytest

from tests.trace.made import Made, chain, contact, cut, delivered, packed, sown
from trayward.errors import InputError
from trayward.farm import entries as said
from trayward.farm.settings import FarmSettings
from trayward.trace.recall import LIVE_G, RecallDelivery, checks_needed, recall_sheet, still_good
from trayward.trace.types import Start


def test_a_recall_of_a_seed_lot_names_every_pack_and_customer() -> None:
    made = chain()
    contact(made, "A")
    sheet = recall_sheet(made, Start(kind="lot", name="S1"))
    assert [pack.pack for pack in sheet.packs] == ["P1"]
    assert {each.customer: (each.packs, each.grams) for each in sheet.customers} == {
        "A": (4, 200.0), "B": (2, 200.0), "C": (0, 250.0),
    }  # fmt: skip
    assert {each.customer: each.reachable for each in sheet.customers} == {"A": True, "B": False, "C": False}


def test_all_grams_of_the_lots_are_accounted_for() -> None:
    sheet = recall_sheet(chain(), Start(kind="lot", name="S1"))
    assert (sheet.cut_g, sheet.delivered_g, sheet.here_g, sheet.thrown_g) == (750.0, 650.0, 100.0, 0.0)
    assert sheet.share == 1.0
    assert sheet.cold_room == {"H1": 100.0}


def test_packs_whose_filling_was_struck_still_lead_to_all_who_had_them_and_are_found() -> None:
    made = chain()
    made.strike(next(entry.id for entry in made.entries if isinstance(entry.body, said.Packed)))
    sheet = recall_sheet(made, Start(kind="delivery", name="D1"))
    assert {each.customer for each in sheet.customers} == {"A", "B"}
    assert "trace-broken" in {finding.code for finding in sheet.findings}
    # The crop of the struck filling lies in the cold room again, by the record.
    assert recall_sheet(made, Start(kind="harvest", name="H1")).cold_room == {"H1": 400.0}


def test_of_a_mix_only_the_part_of_the_suspected_lot_counts() -> None:
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 20.0})
    cut(made, "H1", {"T1": 100.0})
    cut(made, "H2", {"T2": 300.0})
    packed(made, "P1", 4, {"H1": 50.0, "H2": 150.0})
    delivered(made, "D1", "A", packs={"P1": 2})
    made.say(said.ThrownAway(packs=(said.PackCount(pack="P1", packs=1),), reason="torn"))
    sheet = recall_sheet(made, Start(kind="harvest", name="H1"))
    assert (sheet.cut_g, sheet.delivered_g, sheet.thrown_g, sheet.here_g) == (100.0, 25.0, 12.5, 62.5)
    assert [(pack.affected_g, pack.mixed) for pack in sheet.packs] == [(50.0, True)]


def test_a_pack_calls_back_its_sisters_too() -> None:
    made = chain()
    packed(made, "P2", 1, {"H1": 50.0})
    delivered(made, "D4", "C", packs={"P2": 1})
    sheet = recall_sheet(made, Start(kind="pack", name="P1"))
    assert {pack.pack for pack in sheet.packs} == {"P1", "P2"}
    assert {each.customer for each in sheet.customers} == {"A", "B", "C"}


def test_trays_that_still_stand_and_live_ones_that_went_out_are_named() -> None:
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 20.0})
    delivered(made, "D1", "A", trays=("T1",))
    sheet = recall_sheet(made, Start(kind="lot", name="S1"))
    assert sheet.growing == ("T2",)
    assert [(each.customer, each.trays) for each in sheet.customers] == [("A", 1)]
    assert sheet.share == 1.0


def test_more_gone_out_than_cut_is_never_more_than_all_and_is_found() -> None:
    made = chain()
    delivered(made, "D4", "B", loose={"H2": 30.0})
    sheet = recall_sheet(made, Start(kind="harvest", name="H2"))
    assert sheet.share == 1.0
    assert sheet.accounted_g == pytest.approx(280.0)
    assert "trace-more-out" in {finding.code for finding in sheet.findings}


def test_what_went_to_a_customer_stands_in_the_order_it_went_out() -> None:
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 20.0})
    for number in (1, 2):
        cut(made, f"H{number}", {f"T{number}": 300.0})
        packed(made, f"P{number}", 4, {f"H{number}": 200.0})
    delivered(made, "D1", "A", packs={"P2": 1})
    delivered(made, "D2", "A", packs={"P1": 1})
    delivered(made, "D3", "A", packs={"P2": 1})
    (customer,) = recall_sheet(made, Start(kind="lot", name="S1")).customers
    assert [each.delivery for each in customer.deliveries] == ["D1", "D2", "D3"]


def test_who_had_nothing_known_to_reach_them_is_found() -> None:
    found = [f.about for f in recall_sheet(chain(), Start(kind="harvest", name="H2")).findings]
    assert found == ["customer:C"]


def test_a_lot_nobody_cut_calls_nothing_back() -> None:
    sheet = recall_sheet(chain(), Start(kind="harvest", name="H9"))
    assert (sheet.packs, sheet.customers, sheet.cut_g) == ((), (), 0.0)


def test_how_many_to_ask_whether_the_word_reached_them() -> None:
    # TRAC-15: 21 CFR 7.42(b)(3), levels A 100 %, C 10 %, D 2 % (from memory).
    assert [checks_needed(level, 200) for level in "ACD"] == [200, 20, 4]
    assert checks_needed("C", 3) == 1
    assert checks_needed("E", 50) == 0
    with pytest.raises(InputError, match="must be A, C, D or E"):
        checks_needed("B", 10)


# Who is called first --------------------------------------------------------------------------------------------------

OUT = datetime(2026, 11, 1, 9, 0, tzinfo=UTC)


def went(**more: Any) -> RecallDelivery:
    told = {"packs": {}, "loose": {}, "trays": ()} | more
    return RecallDelivery(delivery="D1", at=OUT, document="", by="Ada", **told)


@pytest.mark.parametrize(
    ("day", "packs", "likely_g"),
    # Good for 10 days from 1 to 10 Nov, a tenth of it eaten each day: on the 6th 5 of 10 days are left.
    [(1, 4, 200.0), (6, 4, 100.0), (10, 4, 20.0), (11, 0, 0.0)],
)
def test_what_is_left_shrinks_by_the_day_until_its_last(day: int, packs: int, likely_g: float) -> None:
    each = went(packs={"P1": 4}, good_until={"P1": date(2026, 11, 10)})
    good = still_good([each], {"P1": 50.0}, OUT.replace(day=day), FarmSettings(name="Loft"))
    assert (good.packs, good.any, good.until) == (packs, packs > 0, date(2026, 11, 10))
    assert good.likely_g == pytest.approx(likely_g)


def test_what_has_no_last_day_counts_as_half_there_and_a_live_tray_as_crop() -> None:
    each = went(loose={"H1": 80.0}, trays=("T1",), good_until={"T1": date(2026, 11, 1)})
    good = still_good([each], {}, OUT, FarmSettings(name="Loft"))
    assert (good.loose_g, good.trays) == (80.0, 1)
    assert good.likely_g == pytest.approx(0.5 * 80.0 + LIVE_G)
