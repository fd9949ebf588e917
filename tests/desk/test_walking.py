"""Going through the round at the desk: rows answered, jobs done as proposed, trays cut."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from trayward.bootstrap import Farm
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import Cut, RoundAnswered, SowingMade, StageChanged
from trayward.rounds.types import RoundRow

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    with Farm.create(tmp_path / "home.sqlite", "shelf", at=MORNING) as made:
        yield made


def row_of(farm: Farm, kind: str, at: datetime) -> RoundRow:
    return next(row for row in farm.round(at).rows if row.kind == kind)


def test_ready_begins_the_next_stage_where_the_row_proposes(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING)
    for at in (MORNING + 3 * DAY, MORNING + 4 * DAY):
        row = row_of(farm, "look", at)
        farm.answer_row(row, cue="ready", at=at)
    tray = farm.state(MORNING + 4 * DAY).trays["261125A.1"]
    assert (tray.stage, (tray.spot,)) == ("light", row.to)


def test_an_answer_to_a_row_that_went_on_since_is_refused(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING)
    at = MORNING + 3 * DAY
    row = row_of(farm, "look", at)
    farm.answer_row(row, cue="ready", at=at)
    with pytest.raises(InputError, match=r"is in blackout by now, the row is about germinate"):
        farm.answer_row(row, cue="ready", at=at)


def test_who_cuts_a_tray_has_found_it_ready(farm: Farm) -> None:
    """Cutting off a row that still asks the question answers it too, so that the stage's length is learnt."""
    farm.sow("broccoli", 2, at=MORNING)
    farm.begin(["261125A"], "light", at=MORNING + 4 * DAY)
    at = MORNING + 9 * DAY
    row = row_of(farm, "look", at)
    receipt = farm.cut_row(row, [95.0, 101.0], at=at)
    assert [type(kept.entry.body) for kept in receipt.kept] == [RoundAnswered, StageChanged, Cut]
    assert receipt.findings == ()
    assert farm.state(at).harvests[receipt.names[0]].grams == 196.0


def test_a_cut_wants_one_weight_a_tray(farm: Farm) -> None:
    farm.sow("broccoli", 2, at=MORNING)
    farm.begin(["261125A"], "ready", at=MORNING + 8 * DAY)
    at = MORNING + 9 * DAY
    row = row_of(farm, "cut", at)
    with pytest.raises(InputError, match=r"has 2 trays\. Give one weight each, in this order: 261125A\.1, 261125A\.2"):
        farm.cut_row(row, [95.0], at=at)
    assert farm.cut_row(row, [95.0], only=["261125A.2"], at=at).names
    assert farm.state(at).trays["261125A.1"].fate == "growing"


def test_a_planned_sowing_is_done_as_proposed_or_in_part(farm: Farm) -> None:
    farm.keep_plan(farm.plan(MORNING), at=MORNING)
    planned = min((sowing for sowing in farm.plan(MORNING).sowings if sowing.crop == "radish"), key=lambda s: s.sow_on)
    at = datetime.combine(planned.sow_on, MORNING.timetz())
    row = next(row for row in farm.round(at).rows if row.kind == "sow" and row.crop == "radish")
    body = farm.do_row(row, grams_per_tray=30.0, at=at).kept[0].entry.body
    assert isinstance(body, SowingMade)
    assert [tray.spot for tray in body.trays] == list(row.spots)
    assert sum(used.grams for used in body.lots) == pytest.approx(30.0 * row.count)


def test_a_sowing_with_room_for_some_of_its_trays_says_how_many_places_are_free(farm: Farm) -> None:
    """Not how many spots the row has: nobody named any."""
    farm.sow("broccoli", 3, grams_per_tray=20.0, at=MORNING)
    recipe = "radish on mesh mat"
    row = RoundRow(
        row="sow", number=1, kind="sow", place="sowing table", crop="radish", recipe=recipe, do="Sow.", count=2,
        spots=("K1.4",),
    )  # fmt: skip
    with pytest.raises(InputError, match=r"free dark spots = 1: 2 trays need one each\. Move, cut or discard"):
        farm.do_row(row, grams_per_tray=30.0, at=MORNING)
    assert len(farm.do_row(row, trays=1, grams_per_tray=30.0, at=MORNING).names) == 2


def test_kit_is_stripped_and_washed_row_by_row(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING)
    farm.begin(["261125A"], "ready", at=MORNING + 8 * DAY)
    at = MORNING + 9 * DAY
    farm.cut({"261125A.1": 95.0}, at=at)
    farm.do_row(row_of(farm, "strip", at), at=at)
    row = row_of(farm, "wash", at + HOUR)
    farm.do_row(row, at=at + HOUR)
    assert farm.state(at + HOUR).kit[row.pool].dirty == 0


def test_a_look_is_no_job_and_a_cut_no_done(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING)
    with pytest.raises(InputError, match=r"it is a look, not a job"):
        farm.do_row(row_of(farm, "look", MORNING + DAY), at=MORNING + DAY)
    farm.begin(["261125A"], "ready", at=MORNING + 8 * DAY)
    with pytest.raises(InputError, match=r"a cut wants the grams of each tray"):
        farm.do_row(row_of(farm, "cut", MORNING + 8 * DAY + HOUR), at=MORNING + 8 * DAY + HOUR)


def test_a_sanitised_row_says_with_what(farm: Farm) -> None:
    row = RoundRow(
        row="sanitise-mesh-mat", number=1, kind="sanitise", place="", crop="", do="", pool="mesh mat", count=1
    )
    with pytest.raises(InputError, match=r"a sanitised row says with what"):
        farm.do_row(row, at=MORNING)


def test_a_stage_begun_by_name_takes_trays_to_spots_that_suit_it(farm: Farm) -> None:
    farm.sow("broccoli", 2, at=MORNING)
    farm.begin(["261125A.1"], "light", at=MORNING + HOUR)
    tray = farm.state(MORNING + HOUR).trays["261125A.1"]
    assert tray.spot is not None
    assert farm.state(MORNING + HOUR).shelves[tray.spot.partition(".")[0]].kind == "lit"
    with pytest.raises(NotFoundError, match=r"Known: germinate, blackout, light, ready"):
        farm.begin(["261125A.2"], "flower", at=MORNING + HOUR)


def test_an_entry_is_named_by_the_first_letters_of_its_id(farm: Farm) -> None:
    farm.note("one", at=MORNING, ids=["abcd1111"])
    farm.note("two", at=MORNING, ids=["abcd2222"])
    assert farm.entry_named("abcd1").entry.id == "abcd1111"
    with pytest.raises(InputError, match=r"several begin so: abcd1111, abcd2222"):
        farm.entry_named("abcd")
    with pytest.raises(NotFoundError, match=r"entry 'zz'"):
        farm.entry_named("zz")


def test_a_standing_order_comes_to_its_end(farm: Farm) -> None:
    first = MORNING.date()
    assert any(line.line.startswith("home-wed@") for line in farm.due(first, first + 14 * DAY, at=MORNING))
    farm.end_standing("home-wed", at=MORNING)
    assert not any(line.line.startswith("home-wed@") for line in farm.due(first, first + 14 * DAY, at=MORNING))
    with pytest.raises(NotFoundError, match=r"standing order 'nobody'"):
        farm.end_standing("nobody", at=MORNING)
