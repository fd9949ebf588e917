"""Marked mats at the desk: proposed, washed, their history, and traced."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.errors import DoubtError, InputError, NotFoundError, RefusedError
from trayward.farm.entries import MarksOn, Sanitised, Washed
from trayward.farm.kit import Clearing
from trayward.farm.kit_marks import marks_words

MORNING = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
MATS = tuple(f"M{number}" for number in range(1, 11))


@pytest.fixture
def home() -> Iterator[Farm]:
    """Kitchen Shelf, with its ten mats marked. It only washes; a mat dries 24 h."""
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        made.mark_kit("mesh mat", MATS, at=MORNING)
        yield made


def clearing(farm: Farm, rule: Clearing, at: datetime = MORNING) -> None:
    pool = farm.state(at).kit["mesh mat"].pool
    farm.set_kit(msgspec.structs.replace(pool, clearing=rule), at=at)


def on(farm: Farm, at: datetime) -> dict[str, tuple[str, ...]]:
    return farm.state(at).kit["mesh mat"].on


def test_it_works_a_mat_from_sowing_through_the_wash_to_its_history(home: Farm) -> None:
    sown = home.sow("broccoli", 2, at=MORNING)
    name = sown.names[0]
    assert sown.kept[0].entry.body.marks == (
        MarksOn(tray=f"{name}.1", marks=("M1",)), MarksOn(tray=f"{name}.2", marks=("M2",)),
    )  # fmt: skip
    home.discard([f"{name}.1"], "too thin", at=MORNING + DAY, by="Bo")
    home.wash("mesh mat", soap="unscented", rinse_c=60.0, at=MORNING + DAY + HOUR, by="Ada")
    again = home.sow("broccoli", 1, marks=["M1"], at=MORNING + 3 * DAY, by="Bo").names[0]
    story = home.kit_story("M1", MORNING + 3 * DAY)
    assert [line.words for line in story.lines] == [
        "Wed 25 Nov, morning: marked M1, of mesh mat, by grower.",
        f"Wed 25 Nov, morning: sown on: tray {name}.1, broccoli, by grower.",
        f"Thu 26 Nov, morning: tray {name}.1 thrown away: too thin, by Bo.",
        "Thu 26 Nov, morning: washed, with unscented, rinsed at 60 C, by Ada.",
        f"Sat 28 Nov, morning: sown on: tray {again}.1, broccoli, by Bo.",
    ]
    assert (story.uses, story.now) == (2, f"under tray {again}.1")
    assert [use.tray for use in story.trays] == [f"{name}.1", f"{again}.1"]


def test_a_sowing_written_down_late_is_not_guessed_a_mat(home: Farm) -> None:
    home.note("the next day", at=MORNING + DAY)
    home.sow("broccoli", 1, at=MORNING + HOUR, recorded=MORNING + DAY)
    assert on(home, MORNING + DAY) == {}


def test_some_of_the_marked_mats_washed_must_be_named(home: Farm) -> None:
    name = home.sow("broccoli", 2, at=MORNING).names[0]
    home.discard([name], "too thin", at=MORNING)
    with pytest.raises(InputError, match=r"1 of 2 mesh mat were washed, and they carry marks\. Say which of M1, M2"):
        home.wash("mesh mat", 1, at=MORNING)
    body = home.wash("mesh mat", marks=["M2"], at=MORNING).kept[0].entry.body
    assert isinstance(body, Washed)
    assert (body.count, body.marks) == (1, ("M2",))
    rest = home.wash("mesh mat", at=MORNING).kept[0].entry.body
    assert isinstance(rest, Washed)
    assert (rest.count, rest.marks) == (1, ("M1",)), "all that is left"


def test_named_marks_say_how_many_it_was_where_the_count_of_all_was_left_standing(home: Farm) -> None:
    name = home.sow("broccoli", 4, at=MORNING).names[0]
    home.discard([name], "too thin", at=MORNING)
    with pytest.raises(InputError, match=r"3 of 4 mesh mat were washed, and they carry marks\. Say which of M1-M4"):
        home.wash("mesh mat", 3, marks=["M2"], at=MORNING)
    body = home.wash("mesh mat", 4, marks=["M2"], at=MORNING).kept[0].entry.body
    assert isinstance(body, Washed)
    assert (body.count, body.marks) == (1, ("M2",))
    held = home.state(MORNING).kit["mesh mat"]
    assert held.dirty == sum(mark.where == "dirty" for mark in held.marks.values()) == 3


def test_the_farm_that_refuses_sows_on_cleared_mats_only_and_is_told_the_way_out(home: Farm) -> None:
    clearing(home, Clearing(refuse=True))
    name = home.sow("broccoli", 2, at=MORNING).names[0]
    home.discard([name], "too thin", at=MORNING)
    with pytest.raises(RefusedError, match=r"mesh mat M1 = not cleared: dirty.*Wash it, let it dry 24 h; or take"):
        home.sow("broccoli", 1, marks=["M1"], at=MORNING + HOUR)
    home.wash("mesh mat", at=MORNING + HOUR)
    with pytest.raises(RefusedError, match=r"mesh mat M1 = not cleared: not dry before 2026-11-26 08:30"):
        home.sow("broccoli", 1, marks=["M1"], at=MORNING + 2 * HOUR)
    home.sow("broccoli", 1, marks=["M1"], at=MORNING + 26 * HOUR)


def test_the_farm_that_warns_keeps_it_with_a_finding(home: Farm) -> None:
    name = home.sow("broccoli", 2, at=MORNING).names[0]
    home.discard([name], "too thin", at=MORNING)
    receipt = home.sow("broccoli", 1, marks=["M1"], at=MORNING + HOUR)
    assert [(finding.severity, finding.code) for finding in receipt.findings] == [("odd", "kit-uncleared")]


def test_a_weak_agent_is_asked_about_and_clears_nothing(home: Farm) -> None:
    clearing(home, Clearing(ppm_least=80.0, after_mould=True))
    name = home.sow("broccoli", 1, at=MORNING).names[0]
    home.discard([name], "mould", at=MORNING)
    home.wash("mesh mat", at=MORNING)
    with pytest.raises(DoubtError, match=r"kit mesh mat, strength = 40 ppm: this farm wants at least 80 ppm"):
        home.sanitise("mesh mat", "as labelled", strength_ppm=40.0, at=MORNING)
    with pytest.raises(DoubtError, match="strength = not written down"):
        home.sanitise("mesh mat", "as labelled", at=MORNING)
    receipt = home.sanitise("mesh mat", "as labelled", strength_ppm=40.0, at=MORNING, sure=True)
    assert "so they are not cleared" in receipt.findings[0].message
    assert home.state(MORNING).kit["mesh mat"].washed == 1
    body = home.sanitise("mesh mat", "as labelled", strength_ppm=90.0, at=MORNING).kept[0].entry.body
    assert isinstance(body, Sanitised)
    assert body.marks == ("M1",)
    words = [line.words for line in home.kit_story("M1", MORNING).lines]
    assert "Wed 25 Nov, morning: sanitised with as labelled, 40 ppm, outside this farm's limits, by grower." in words


def test_a_step_of_the_farm_left_out_is_asked_about(home: Farm) -> None:
    clearing(home, Clearing(steps=("scrape", "soap")))
    home.discard([home.sow("broccoli", 1, at=MORNING).names[0]], "too thin", at=MORNING)
    with pytest.raises(DoubtError, match="left out = soap: it is a step of this farm, so they stay dirty"):
        home.wash("mesh mat", left_out=["soap"], at=MORNING)
    with pytest.raises(InputError, match="left out = polish: it is no step of this pool"):
        home.wash("mesh mat", left_out=["polish"], at=MORNING)


def test_a_wrong_mat_is_put_right_and_both_histories_say_so(home: Farm) -> None:
    name = home.sow("broccoli", 1, at=MORNING).names[1]
    home.use_kit(name, ["M5"], at=MORNING + HOUR)
    assert on(home, MORNING + HOUR) == {name: ("M5",)}
    first, fifth = (home.kit_story(mark, MORNING + HOUR) for mark in ("M1", "M5"))
    assert first.trays == ()
    assert first.lines[-1].words == f"Wed 25 Nov, morning: put right: tray {name} is on M5, by grower."
    assert [use.tray for use in fifth.trays] == [name]


def test_a_sowing_that_is_struck_leaves_its_mats_free(home: Farm) -> None:
    kept = home.sow("broccoli", 1, at=MORNING).kept[0]
    home.strike(kept.entry.id, "not sown after all", at=MORNING + HOUR)
    mark = home.state(MORNING + HOUR).kit["mesh mat"].marks["M1"]
    assert (mark.where, mark.uses) == ("ready", 0)
    assert [line.struck for line in home.kit_story("M1", MORNING + HOUR).lines] == [False, True, False]


def test_torn_and_lost_mats_leave_the_pool_and_a_new_one_takes_their_place(home: Farm) -> None:
    home.retire_kit(["M1"], reason="torn", replaced_by=["M11"], at=MORNING)
    home.retire_kit(["M2"], lost=True, at=MORNING)
    held = home.state(MORNING).kit["mesh mat"]
    assert (held.pool.count, held.ready(MORNING)) == (9, 9)
    assert home.kit_story("M1", MORNING).now == "retired, torn"
    assert home.kit_story("M11", MORNING).lines[-1].words == "Wed 25 Nov, morning: new, instead of M1, by grower."
    with pytest.raises(NotFoundError, match="mark 'M99': the farm has none of that name"):
        home.retire_kit(["M99"], at=MORNING)
    with pytest.raises(NotFoundError, match="mark 'M99': the farm has none of that name"):
        home.kit_story("M99", MORNING)


def test_the_round_names_the_mats_to_wash_and_doing_the_row_washes_them(home: Farm) -> None:
    name = home.sow("broccoli", 2, at=MORNING).names[0]
    home.discard([name], "mould", at=MORNING)
    row = next(row for row in home.round(MORNING + HOUR).rows if row.row == "wash-mesh-mat")
    assert row.marks == ("M1", "M2")
    assert row.amounts[0].note == "M1, M2"
    assert "M1, M2 held a tray with suspected mould: wash apart and last" in row.why
    body = home.do_row(row, at=MORNING + HOUR).kept[0].entry.body
    assert isinstance(body, Washed)
    assert marks_words(body.marks) == "M1, M2"


def test_a_trace_starts_from_a_mat_and_tells_the_trays_before(home: Farm) -> None:
    first = home.sow("broccoli", 1, at=MORNING).names[1]
    home.discard([first], "mould", at=MORNING + DAY)
    home.wash("mesh mat", soap="unscented", at=MORNING + DAY, by="Ada")
    second = home.sow("broccoli", 1, marks=["M1"], at=MORNING + 3 * DAY).names[1]
    other = home.sow("broccoli", 1, marks=["M7"], at=MORNING + 3 * DAY).names[1]
    found = home.trace("M1", at=MORNING + 3 * DAY)
    assert found.start.subject == "mark:M1"
    assert found.names("tray") == {first, second}
    life = next(life for life in found.lives if life.tray == second)
    assert [(held.mark, held.pool, held.before) for held in life.marks] == [("M1", "mesh mat", (first,))]
    assert ("mesh mat M1", "washed", "Ada", "unscented") in [
        (washing.pool, washing.deed, washing.by, washing.words) for washing in life.washed
    ]
    back = home.trace(other, way="back", at=MORNING + 3 * DAY)
    assert [held.mark for held in back.lives[0].marks] == ["M7"]
    assert not any(washing.pool == "mesh mat M7" for washing in back.lives[0].washed), "M7 was never washed yet"


def test_a_recall_from_a_mat_finds_the_harvest_of_every_tray_that_was_on_it(home: Farm) -> None:
    tray = home.sow("broccoli", 1, at=MORNING).names[1]
    home.begin([tray], "ready", at=MORNING + 9 * DAY, sure=True)
    lot = home.cut({tray: 120.0}, at=MORNING + 9 * DAY, sure=True).names[0]
    sheet = home.recall_sheet("M1", at=MORNING + 9 * DAY)
    assert [step.name for step in sheet.harvests] == [lot]
    early = home.trace("mark:M1", last=MORNING.date() - DAY, at=MORNING + 9 * DAY)
    assert early.names("tray") == set()
