"""Tracing: exact sets both ways, quantities that balance, and what is found where they do not."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.trace.made import Made, chain, cut, delivered, packed, sown
from trayward.farm import entries as said
from trayward.farm.settings import FarmSettings
from trayward.trace.trace import trace
from trayward.trace.types import Span, Start, Trace


def codes(found: Trace) -> set[str]:
    return {finding.code for finding in found.findings}


def test_a_seed_lot_reaches_all_that_came_of_it_and_nothing_else() -> None:
    # TRAC-12 of the published checks: Regulation (EC) 178/2002 art. 18 and 21 CFR 1 subpart S, the principle.
    found = trace(chain(), Start(kind="lot", name="S1"), "forward")
    assert found.names("harvest") == {"H1", "H2"}
    assert found.names("customer") == {"A", "B", "C"}
    assert found.names("tray") == {"T1", "T2"}
    assert found.names("lot") == {"S1"}


def test_from_a_customer_all_that_led_there_and_nothing_else() -> None:
    # TRAC-12: back from B gives H1, T1, T3, S1, S2.
    found = trace(chain(), Start(kind="customer", name="B"), "back")
    assert found.names("harvest") == {"H1"}
    assert found.names("tray") == {"T1", "T3"}
    assert found.names("lot") == {"S1", "S2"}
    assert found.names("customer") == {"B"}
    assert found.names("delivery") == {"D2"}


def test_the_other_seed_lot_reaches_only_what_it_was_in() -> None:
    found = trace(chain(), Start(kind="lot", name="S2"), "forward")
    assert (found.names("harvest"), found.names("customer")) == ({"H1"}, {"A", "B"})


def test_from_every_start_both_ways_the_same_chain() -> None:
    made = chain()
    starts = {"lot": "S2", "sowing": "W2", "tray": "T3", "pack": "P1", "harvest": "H1", "delivery": "D1"}
    for kind, name in starts.items():
        found = trace(made, Start(kind=kind, name=name))
        assert "A" in found.names("customer"), kind
        assert "S2" in found.names("lot"), kind
        assert found.findings == (), kind


def test_quantities_balance_and_each_flow_is_told_once() -> None:
    found = trace(chain(), Start(kind="harvest", name="H1"))
    (balance,) = found.harvests
    assert (balance.cut_g, balance.packed_g, balance.loose_g, balance.cold_room_g) == (500.0, 300.0, 100.0, 100.0)
    assert balance.difference_g == 0.0
    (packs,) = found.packs
    assert (packs.packs, packs.delivered, packs.here, packs.difference, packs.over_g) == (6, 6, 0, 0, 0.0)
    assert len({(flow.source, flow.target, flow.entry) for flow in found.flows}) == len(found.flows)
    assert sum(flow.grams or 0 for flow in found.flows if flow.target == "harvest:H1") == 500.0
    assert sum(flow.grams or 0 for flow in found.flows if flow.source == "harvest:H1") == 400.0


def test_seed_balances_with_what_was_sown_and_what_is_left() -> None:
    made = chain()
    made.say(said.SeedWeighed(lot="S1", grams=950.0))
    (balance,) = trace(made, Start(kind="lot", name="S1"), "forward").seed
    assert (balance.received_g, balance.sown_g, balance.left_g, balance.difference_g) == (1000.0, 40.0, 950.0, 10.0)


def test_a_pack_split_over_customers_goes_to_each_with_its_count() -> None:
    found = trace(chain(), Start(kind="pack", name="P1"), "forward")
    went = {flow.target: (flow.packs, flow.grams) for flow in found.flows if flow.source == "pack:P1"}
    assert went == {"delivery:D1": (4, 200.0), "delivery:D2": (2, 100.0)}


def test_a_mix_of_several_harvest_lots_goes_back_to_all_of_them_with_their_grams() -> None:
    made = chain()
    packed(made, "P2", 3, {"H1": 60.0, "H2": 90.0})
    found = trace(made, Start(kind="pack", name="P2"), "back")
    parts = {flow.source: flow.grams for flow in found.flows if flow.target == "pack:P2"}
    assert parts == {"harvest:H1": 60.0, "harvest:H2": 90.0}
    assert found.names("lot") == {"S1", "S2"}


def test_a_tray_cut_twice_leads_to_both_lots() -> None:
    made = Made()
    sown(made, "W1", ("T1",), {"S1": 20.0})
    made.say(said.StageChanged(trays=("T1",), stage="ready"))
    made.say(said.Cut(harvest="H1", crop="pea", trays=(said.TrayCut(tray="T1", grams=90.0),), regrow=True))
    made.say(said.Cut(harvest="H2", crop="pea", trays=(said.TrayCut(tray="T1", grams=40.0),)))
    assert trace(made, Start(kind="tray", name="T1")).names("harvest") == {"H1", "H2"}


def test_a_live_tray_is_traced_to_its_customer() -> None:
    made = Made()
    sown(made, "W1", ("T1", "T2"), {"S1": 20.0})
    delivered(made, "D1", "A", trays=("T1",))
    assert trace(made, Start(kind="lot", name="S1")).names("customer") == {"A"}
    assert trace(made, Start(kind="delivery", name="D1")).names("lot") == {"S1"}


def test_more_gone_out_than_was_cut_is_found_with_the_amount() -> None:
    # Two phones: the same 300 g were packed and went out loose; the fold takes no more than there is.
    made = chain()
    delivered(made, "D4", "C", loose={"H2": 30.0})
    found = trace(made, Start(kind="harvest", name="H2"))
    assert [finding.message for finding in found.findings] == [
        "harvest lot H2 = 250 g cut: 30 g more went out than was cut."
    ]
    assert found.harvests[0].difference_g == pytest.approx(-30.0)


def test_more_packs_gone_out_than_were_filled_is_found() -> None:
    made = chain()
    delivered(made, "D4", "C", packs={"P1": 1})
    assert "trace-more-packs" in codes(trace(made, Start(kind="pack", name="P1")))


def test_a_cut_that_was_struck_breaks_the_chain_and_says_where() -> None:
    made = chain()
    made.strike(next(entry.id for entry in made.entries if isinstance(entry.body, said.Cut)))
    found = trace(made, Start(kind="pack", name="P1"))
    assert "harvest lot H1 = none: something names it, and the record does not have it." in [
        finding.message for finding in found.findings
    ]
    assert found.taken_back >= 1


def test_a_delivery_that_was_struck_is_not_traced() -> None:
    made = chain()
    entry = next(entry.id for entry in made.entries if isinstance(entry.body, said.Delivered))
    made.strike(entry)
    found = trace(made, Start(kind="lot", name="S1"), "forward")
    assert found.names("customer") == {"B", "C"}
    assert found.packs[0].here == 4


def test_what_was_written_down_late_is_counted_and_marked() -> None:
    made = Made()
    sown(made, "W1", ("T1",), {"S1": 20.0})
    cut(made, "H1", {"T1": 100.0})
    part = (said.LotGrams(harvest="H1", grams=100.0),)
    made.say(said.Packed(pack="P1", product="pea", packs=2, pack_g=50.0, parts=part), late=timedelta(days=3))
    found = trace(made, Start(kind="harvest", name="H1"))
    assert found.late == 1
    assert [flow.late for flow in found.flows if flow.target == "pack:P1"] == [True]


def test_a_missing_start_is_told_and_nothing_made_up() -> None:
    found = trace(chain(), Start(kind="harvest", name="H9"))
    assert [(step.name, step.known) for step in found.steps] == [("H9", False)]
    assert codes(found) == {"trace-broken"}


def test_what_is_in_the_cold_room_past_its_days_is_found() -> None:
    made = chain()
    made.say(said.Note(text="later"), days=30)
    found = trace(made, Start(kind="harvest", name="H1"))
    assert "trace-stale" in codes(found)
    assert found.harvests[0].difference_g == 0.0


@pytest.mark.parametrize(("timezone", "past"), [("UTC", False), ("Pacific/Auckland", True)])
def test_the_day_packs_are_best_before_is_the_farms_own(timezone: str, past: bool) -> None:
    """In the afternoon of UTC it is the day after in Auckland."""
    made = Made()
    made.say(said.FarmSet(settings=FarmSettings(name="Lantern Loft", timezone=timezone)))
    sown(made, "W1", ("T1",), {"S1": 20.0})
    cut(made, "H1", {"T1": 100.0})
    part = (said.LotGrams(harvest="H1", grams=100.0),)
    day = made.at.date()
    made.say(said.Packed(pack="P1", product="pea", packs=2, pack_g=50.0, parts=part, best_before=day))
    assert made.at.date() == day
    found = trace(made, Start(kind="pack", name="P1"))
    assert ("trace-stale" in codes(found)) is past


def test_samples_and_what_was_thrown_away_are_kept_apart() -> None:
    made = chain()
    made.say(said.ThrownAway(parts=(said.LotGrams(harvest="H1", grams=20.0),), reason="lab sample"))
    made.say(said.ThrownAway(parts=(said.LotGrams(harvest="H1", grams=30.0),), reason="limp"))
    (balance,) = trace(made, Start(kind="harvest", name="H1")).harvests
    assert (balance.sampled_g, balance.thrown_g, balance.cold_room_g) == (20.0, 30.0, 50.0)


def test_a_customer_is_narrowed_to_some_days() -> None:
    made = chain()
    day = next(entry.at.date() for entry in made.entries if isinstance(entry.body, said.Delivered))
    inside = Start(kind="customer", name="B", span=Span(first=day, last=day))
    before = Start(kind="customer", name="B", span=Span(last=day - timedelta(days=1)))
    assert trace(made, inside, "back").names("delivery") == {"D2"}
    assert trace(made, before, "back").names("delivery") == set()


def test_the_life_of_a_tray_tells_water_feed_places_and_people() -> None:
    made = Made()
    sown(made, "W1", ("T1",), {"S1": 20.0})
    made.say(said.Watered(trays=("T1",), ml=30.0, way="mist"), by="Ben")
    made.say(said.Watered(trays=("T1",), ml=200.0))
    made.say(said.Fed(trays=("T1",), ml=150.0, ph=5.8, ec=1.2, feed="leaf feed"))
    made.say(said.RoundAnswered(trays=("T1",), problem="mould"))
    (life,) = trace(made, Start(kind="tray", name="T1")).lives
    assert (life.watered_ml, life.waterings, life.fed_ml) == (230.0, 2, 150.0)
    assert life.feeds == ("leaf feed pH 5.8 1.2 dS/m",)
    assert life.problems == ("mould",)
    assert life.people == ("Ada", "Ben")
    assert life.medium == "mesh mat"
