"""A trial at the desk: set up, sown day by day, given up."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from trayward.bootstrap import Farm
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.codec import encode_state
from trayward.farm.state import Tray

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
DAY = timedelta(days=1)
LEVELS = (1.5, 2.0, 2.6)


@pytest.fixture
def loft() -> Iterator[Farm]:
    with Farm.create(":memory:", "loft", at=MORNING) as made:
        made.receive_seed("BR-TRIAL", "broccoli", 2000.0, germination=0.9, tsw_g=3.2, cost=60.0, at=MORNING)
        yield made


def set_up(farm: Farm, **changed: object) -> None:
    given: dict[str, object] = {"blocks": 2, "trays_each": 2, "rng": np.random.default_rng(3), **changed}
    farm.set_trial("denser", "broccoli", "density", LEVELS, at=MORNING, **given)


def tray(farm: Farm, name: str, at: datetime) -> Tray:
    found = farm.state(at).tray(name)
    assert found is not None
    return found


def test_a_trial_is_set_up_with_an_order_for_each_day(loft: Farm) -> None:
    set_up(loft)
    trial = loft.state(MORNING).trials["denser"]
    assert trial.recipe == "broccoli on mesh mat"
    assert len(trial.orders) == 2
    assert all(sorted(order) == list(LEVELS) for order in trial.orders)


def test_a_day_of_it_is_sown_in_that_order_from_one_lot_at_the_levels_named(loft: Farm) -> None:
    """Grams follow from the lot, so the density of each tray is the level to the milligram."""
    set_up(loft)
    names = loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING).names
    order = loft.state(MORNING).trials["denser"].orders[0]
    sowings = names[::3]
    assert sowings == ("261125A", "261125B", "261125C")
    for sowing, level in zip(sowings, order, strict=True):
        for number in (1, 2):
            sown = tray(loft, f"{sowing}.{number}", MORNING)
            assert sown.live_seeds_per_cm2 == pytest.approx(level, rel=1e-3)
            assert (sown.trial, sown.lots) == ("denser", ("BR-TRIAL",))
            assert sown.spot is not None
    spots = [tray(loft, f"{sowing}.{number}", MORNING).spot for sowing in sowings for number in (1, 2)]
    assert len(set(spots)) == 6


def test_its_next_day_has_the_next_order_and_then_all_is_sown(loft: Farm) -> None:
    set_up(loft)
    loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING)
    with pytest.raises(InputError, match="the trial was sown today already"):
        loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING + timedelta(hours=3))
    names = loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING + DAY).names
    second = loft.state(MORNING + DAY).trials["denser"].orders[1]
    first_tray = tray(loft, names[1], MORNING + DAY)
    assert first_tray.live_seeds_per_cm2 == pytest.approx(second[0], rel=1e-3)
    with pytest.raises(InputError, match=r"trial denser = 2 days: all its 2 days are sown"):
        loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING + 2 * DAY)


def test_without_a_lot_named_one_that_holds_the_whole_day_is_taken(loft: Farm) -> None:
    set_up(loft)
    names = loft.sow_trial_day("denser", at=MORNING).names
    used = {lot for sowing in names[::3] for lot in loft.state(MORNING).sowings[sowing].lots}
    assert len(used) == 1


def test_no_lot_large_enough_is_said_before_anything_is_sown(loft: Farm) -> None:
    set_up(loft, trays_each=12)
    for name, lot in list(loft.state(MORNING).seed.items()):
        if lot.crop == "broccoli":
            loft.weigh_seed(name, 40.0, at=MORNING)
    before = encode_state(loft.state(MORNING))
    with pytest.raises(InputError, match="lots must not differ in a day"):
        loft.sow_trial_day("denser", at=MORNING)
    assert encode_state(loft.state(MORNING)) == before


def test_a_phone_that_heard_no_answer_says_it_again_and_nothing_is_sown_twice(loft: Farm) -> None:
    set_up(loft)
    first = loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING, ids=["phone-0001"])
    again = loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING, ids=["phone-0001"])
    assert again.names == first.names
    assert sum(one.trial == "denser" for one in loft.state(MORNING).trays.values()) == 6


def test_days_of_blackout_are_tried_at_the_recipes_own_density(loft: Farm) -> None:
    loft.set_trial("darker", "broccoli", "blackout", (0.0, 1.0), blocks=2, at=MORNING)
    names = loft.sow_trial_day("darker", lot="BR-TRIAL", at=MORNING).names
    usual = loft.state(MORNING).recipes["broccoli on mesh mat"].live_seeds_per_cm2
    for sowing in names[::2]:
        assert tray(loft, f"{sowing}.1", MORNING).live_seeds_per_cm2 == pytest.approx(usual, rel=1e-3)


def test_each_tray_is_known_by_the_level_it_was_sown_for(loft: Farm) -> None:
    """Where only the blackout differs nothing of a tray tells its level: the day's order does, also once it is cut."""
    loft.set_trial("darker", "broccoli", "blackout", (0.5, 1.0), blocks=2, rng=np.random.default_rng(3), at=MORNING)
    days = (MORNING, MORNING + DAY)
    sown = [loft.sow_trial_day("darker", lot="BR-TRIAL", at=day).names for day in days]
    meant = {}
    for names, order in zip(sown, loft.state(days[1]).trials["darker"].orders, strict=True):
        meant |= dict(zip(names[1::2], order, strict=True))
    loft.discard([sown[0][1]], "mould", at=days[1])
    assert loft.trial_levels("darker", days[1]) == meant


def test_the_round_says_how_long_a_trial_wants_a_tray_in_the_dark(loft: Farm) -> None:
    loft.set_trial("darker", "broccoli", "blackout", (0.5, 1.0), blocks=2, rng=np.random.default_rng(3), at=MORNING)
    sown = loft.sow_trial_day("darker", lot="BR-TRIAL", at=MORNING).names
    order = loft.state(MORNING).trials["darker"].orders[0]
    turned = MORNING + 3 * DAY
    names = sown[1::2]
    loft.begin(names, "blackout", at=turned)
    rows = loft.round(turned + DAY / 2).rows
    for name, level in zip(names, order, strict=True):
        row = next(row for row in rows if name in row.trays)
        assert f"rial darker: {level:g} d of blackout" in row.why


def test_a_day_with_trays_sown_by_hand_has_no_levels(loft: Farm) -> None:
    loft.set_trial("darker", "broccoli", "blackout", (0.5, 1.0), blocks=2, at=MORNING)
    loft.sow_trial_day("darker", lot="BR-TRIAL", at=MORNING)
    loft.sow("broccoli", 1, trial="darker", at=MORNING)
    assert loft.trial_levels("darker", MORNING) == {}


def test_a_trial_that_cannot_be_is_refused(loft: Farm) -> None:
    with pytest.raises(RefusedError, match="trial denser, blocks = 1"):
        set_up(loft, blocks=1, rng=None)
    with pytest.raises(NotFoundError, match="trial 'denser'"):
        loft.sow_trial_day("denser", at=MORNING)


def test_a_trial_given_up_can_no_longer_be_sown_and_the_book_says_so(loft: Farm) -> None:
    set_up(loft)
    loft.drop_trial("denser", at=MORNING)
    with pytest.raises(NotFoundError, match="trial 'denser'"):
        loft.sow_trial_day("denser", at=MORNING)


def test_a_trial_that_grows_says_what_is_still_to_come(loft: Farm) -> None:
    set_up(loft)
    loft.sow_trial_day("denser", lot="BR-TRIAL", at=MORNING)
    said = loft.trial_said("denser", MORNING)
    assert said.standing == "growing"
    assert len(said.growing) == 6
    assert said.words == "Trial denser: 6 trays growing, none cut yet."


def test_a_new_farm_is_told_that_no_trial_can_be_weighed_yet(loft: Farm) -> None:
    assert loft.next_trial(MORNING).best is None


def test_a_trial_that_is_cut_says_what_its_levels_gave_and_what_would_settle_it(loft: Farm) -> None:
    """Weights made up: 190, 205, 230 g at the three levels, one day 10 % better than the other."""
    set_up(loft, blocks=3)
    grams = dict(zip(LEVELS, (190.0, 205.0, 230.0), strict=True))
    for day, luck in ((0, 1.0), (1, 1.1)):
        at = MORNING + day * DAY
        names = loft.sow_trial_day("denser", lot="BR-TRIAL", at=at).names
        ripe = at + 8 * DAY
        cut = {}
        for sowing, level in zip(names[::3], loft.state(at).trials["denser"].orders[day], strict=True):
            cut |= {f"{sowing}.{n}": grams[level] * luck * (1.01 if n == 1 else 0.99) for n in (1, 2)}
        loft.begin(list(cut), "ready", at=ripe - timedelta(hours=1))
        loft.cut(cut, at=ripe)
    said = loft.trial_said("denser", MORNING + 10 * DAY)
    assert (said.cut, said.planned, said.growing, said.off) == (12, 18, (), ())
    assert said.alone is not None
    assert (said.alone.blocks, said.alone.freedom) == (2, 8)
    by_level = {level.level: level for level in said.levels}
    reference = said.reference
    assert reference is not None
    for level, told in by_level.items():
        if level != reference:
            assert told.alone is not None
            assert told.alone[1] == pytest.approx(grams[level] / grams[reference], rel=1e-6)
    assert said.words.startswith("Trial denser, 12 of 18 trays cut: ")
    assert said.standing in ("settled", "not settled")
