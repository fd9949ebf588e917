"""Supplies on the pages: set up, received, counted with what is expected hidden, what to order and why."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from trayward.errors import InputError
from trayward.farm.supplies import Offer, PackPrice, SupplyHeld

ONE = "/stores/supply?name=coir"
NEW = {
    "supply": "coir", "kind": "medium", "unit": "g", "of_0": "tray", "amount_0": "100 g", "name_0": "", "keep": "500 g",
    "surely": "95 %", "_form": "new",
}  # fmt: skip


@pytest.fixture
def people() -> Anybody:
    return Anybody()


@pytest.fixture
def coir(pages: Pages) -> Pages:
    """5 kg of coir, 100 g of it a tray."""
    assert pages.post("/stores/supply/set", NEW, page="/stores/supplies").status_code == 303
    came = {
        "supply": "coir",
        "amount": "5 kg",
        "cost": "6.50",
        "best_before": "2027-06-01",
        "supplier": "Quay Supplies",
    }
    assert pages.post("/stores/supply/receive", came, page=ONE).status_code == 303
    return pages


def held(pages: Pages) -> SupplyHeld:
    with pages.farm() as farm:
        return farm.state(pages.clock.at).supplies["coir"]


def test_it_works(coir: Pages) -> None:
    words = words_of(coir.get("/stores/supplies"))
    assert "5 kg" in words
    assert "lasts" in words
    assert "To order within a week" in words
    one = words_of(coir.get(ONE))
    assert "best before" in one
    assert "Quay Supplies" in one
    assert "/stores/supplies" in coir.get("/stores").text


def test_a_farm_without_supplies_is_told_what_they_are_for(pages: Pages) -> None:
    assert "No supply is set up." in words_of(pages.get("/stores/supplies"))
    assert "No supply is set up." in words_of(pages.get("/stores/count"))
    assert pages.get("/stores/supply?name=none").status_code == 404


def test_what_was_set_up_takes_its_part_of_each_tray(coir: Pages) -> None:
    assert held(coir).amount_for("tray", "any") == 100
    with coir.farm() as farm:
        crop = next(iter(farm.state(coir.clock.at).recipes))
        farm.sow(crop, 1, grams_per_tray=10.0, at=coir.clock.at)
    assert held(coir).stock == 4900


def test_a_form_of_large_amounts_is_sent_back_as_it_was_filled(coir: Pages) -> None:
    large = {**NEW, "keep": "25 kg", "amount_0": "12345.5", "surely": "97.5 %", "_form": "setting"}
    assert coir.post("/stores/supply/set", large, page=ONE).status_code == 303
    kept = held(coir).supply
    fields = dict(re.findall(r'<input id="setting-[^"]*" name="([^"]+)"[^>]* value="([^"]*)"', coir.get(ONE).text))
    assert (fields["keep"], fields["amount_0"], fields["surely"]) == ("25000", "12345.5", "97.5 %")
    assert coir.post("/stores/supply/set", {**large, **fields, "_form": "setting"}, page=ONE).status_code == 303
    assert held(coir).supply == kept


def test_the_count_sheet_hides_what_is_expected_until_it_is_counted(coir: Pages) -> None:
    sheet = coir.get("/stores/count")
    assert "coir" in words_of(sheet)
    assert "5 kg" not in words_of(sheet)
    found = coir.post("/stores/count", {"supply_0": "coir", "count_0": "4.6 kg"}, page="/stores/count")
    assert found.status_code == 303
    after = words_of(coir.get("/stores/count"))
    assert "expected 5 kg" in after
    assert "400 g unexplained" in after
    assert held(coir).stock == 4600


def test_a_count_with_a_figure_too_many_is_asked_about(coir: Pages) -> None:
    form = {"supply_0": "coir", "count_0": "50 kg", "_form": "count"}
    refused = coir.post("/stores/count", form, page="/stores/count")
    assert refused.status_code == 422
    assert "Is this right?" in refused.text
    assert 'value="50 kg"' in refused.text
    assert held(coir).stock == 5000


def test_nothing_counted_is_refused(coir: Pages) -> None:
    refused = coir.post("/stores/count", {"supply_0": "coir", "count_0": "", "_form": "count"}, page="/stores/count")
    assert refused.status_code == 422
    assert "at least one is counted" in refused.text


def test_used_and_thrown_away_are_taken_off(coir: Pages) -> None:
    used = {"supply": "coir", "used": "200 g", "reason": "potting up"}
    assert coir.post("/stores/supply/use", used, page=ONE).status_code == 303
    thrown = {"supply": "coir", "thrown": "300 g", "reason": "got wet"}
    assert coir.post("/stores/supply/throw", thrown, page=ONE).status_code == 303
    assert held(coir).stock == 4500
    refused = coir.post("/stores/supply/throw", {**thrown, "reason": "", "_form": "thrown"}, page=ONE)
    assert refused.status_code == 422
    assert 'value="300 g"' in refused.text


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("amount", "some", "amount"),
        ("cost", "cheap", "must be a number"),
        ("expected", "2020-01-01", "that day is over"),
    ],
)
def test_a_delivery_mistyped_keeps_what_was_typed(coir: Pages, field: str, typed: str, said: str) -> None:
    form = {"supply": "coir", "amount": "1 kg", "_form": "came"} | {field: typed}
    refused = coir.post("/stores/supply/receive", form, page=ONE)
    assert refused.status_code == 422
    assert said in refused.text
    assert f'value="{typed}"' in refused.text


def test_what_is_short_is_ordered_with_reasons(coir: Pages) -> None:
    offer = {"thing": "coir", "supplier": "Quay Supplies", "packs": "5 kg 6.00\n25 kg 21.00", "lead": "6"}
    assert coir.post("/stores/offer", offer, page=ONE).status_code == 303
    used = {"supply": "coir", "used": "4.9 kg"}
    assert coir.post("/stores/supply/use", used, page=ONE).status_code == 303
    words = words_of(coir.get("/stores/supplies"))
    assert "Order now: it takes 6 days to come." in words
    assert "of Quay Supplies" in words
    assert "dearer over two years" in words_of(coir.get(ONE))
    with coir.farm() as farm:
        key = next(iter(farm.state(coir.clock.at).offers))
    assert coir.post("/stores/offer/drop", {"offer": key}, page=ONE).status_code == 303
    assert "Say what a supplier asks" in words_of(coir.get("/stores/supplies"))


def test_seed_is_offered_too_and_an_unknown_crop_is_not(coir: Pages) -> None:
    offer = {"thing": "seed radish", "supplier": "Hillside Seeds", "packs": "1 kg 14.00", "lead": "7", "_form": "offer"}
    assert coir.post("/stores/offer", offer, page="/stores/supplies").status_code == 303
    assert coir.post("/stores/offer", {**offer, "thing": "seed turnip"}, page="/stores/supplies").status_code == 422
    refused = coir.post("/stores/offer", {**offer, "packs": "one kilo"}, page="/stores/supplies")
    assert refused.status_code == 422
    assert "what a pack holds and its price" in refused.text


def test_a_supply_may_be_called_seed_something(coir: Pages) -> None:
    paper = {"supply": "seed paper", "kind": "other", "unit": "pieces", "_form": "new"}
    assert coir.post("/stores/supply/set", paper, page="/stores/supplies").status_code == 303
    offer = {"thing": "seed paper", "supplier": "Quay Supplies", "packs": "100 9.00", "_form": "offer"}
    assert coir.post("/stores/offer", offer, page="/stores/supplies").status_code == 303
    with coir.farm() as farm:
        kept = farm.state(coir.clock.at).offers["seed paper @ Quay Supplies"]
    assert (kept.seed, kept.packs[0].size) == (False, 100.0)


def test_a_program_is_refused_an_offer_of_seed_that_is_not_grown(coir: Pages) -> None:
    packs = (PackPrice(size=1000.0, price=Decimal("9.00")),)
    with coir.farm() as farm, pytest.raises(InputError, match="the farm grows nothing of that name"):
        farm.set_offer(Offer(thing="turnip", seed=True, supplier="Hillside Seeds", packs=packs), at=coir.clock.at)


def test_a_hand_counts_but_sets_nothing_up_and_a_reader_only_looks(coir: Pages, people: Anybody) -> None:
    people.is_now("Tomas", "hand")
    assert coir.post("/stores/supply/use", {"supply": "coir", "used": "1 g"}, page=ONE).status_code == 303
    assert coir.post("/stores/supply/set", NEW, page=ONE).status_code == 403
    people.is_now("Ines", "reader")
    assert "coir" in words_of(coir.get("/stores/supplies"))
    assert coir.get("/stores/count").status_code == 403
    assert coir.post("/stores/supply/use", {"supply": "coir", "used": "1 g"}, page=ONE).status_code == 403
