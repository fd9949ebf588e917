"""Answers to rows that somebody saw some time ago: they land at their own time, whatever became of the row since."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.desk.answering import Answered
from trayward.errors import DoubtError, InputError
from trayward.farm.entries import (
    Body,
    Cut,
    Discarded,
    Moved,
    Note,
    RecipeSet,
    RoundAnswered,
    SowingMade,
    StageChanged,
    Watered,
)
from trayward.farm.orders import Customer, LineAsked
from trayward.farm.state import FarmState
from trayward.outlook.memory import Lessons, Memory
from trayward.rounds.told import RowSaid, RowTold, read_told, told_of, write_told

SOWN = datetime(2026, 11, 21, 7, 0, tzinfo=UTC)
WALK = datetime(2026, 11, 24, 7, 30, tzinfo=UTC)
"""Three days later: the question whether the seed is up is asked."""
MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
READY = RowSaid(cue="ready")


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    """A farm with two trays of broccoli and one of radish under their covers."""
    with Farm.create(tmp_path / "home.sqlite", "shelf", at=SOWN - HOUR) as made:
        made.sow("broccoli", 2, at=SOWN)
        yield made


def told(farm: Farm, kind: str, at: datetime) -> RowTold:
    """The row of a kind, as the page of that moment carries it."""
    now = farm.round(at)
    row = next(row for row in now.rows if row.kind == kind)
    return read_told(write_told(told_of(row, now.round, at, farm.settings(at))))


def sent(at: datetime, by: str, recorded: datetime | None = None) -> dict[str, object]:
    """How a phone says it: with an id of its own, and surely."""
    return {"at": at, "by": by, "recorded": recorded or at, "ids": [str(uuid.uuid4())], "sure": True}


def bodies(answered: Answered) -> list[Body]:
    return [kept.entry.body for kept in answered.receipt.kept]


def test_a_row_answered_as_it_was_told_is_answered_as_ever(farm: Farm) -> None:
    answered = farm.answer_told(told(farm, "look", WALK), READY, **sent(WALK, "Ada"))
    assert [type(body) for body in bodies(answered)] == [RoundAnswered, StageChanged]
    assert answered.others == ()
    assert not answered.as_words


def test_two_answer_the_same_row_both_land_and_the_second_is_told_of_the_first(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    farm.answer_told(row, READY, **sent(WALK, "Ada"))
    answered = farm.answer_told(row, RowSaid(cue="not yet", moisture="dry"), **sent(WALK + 3 * MINUTE, "Bo"))
    assert [(other.by, other.at) for other in answered.others] == [("Ada", WALK)]
    assert bodies(answered) == [
        RoundAnswered(trays=row.trays, round=row.round, moisture="dry", note="said of germinate: not yet"),
        Watered(trays=row.trays, ml=30.0, way="mist"),
    ]
    tray = farm.state(WALK + HOUR).trays["261121A.1"]
    assert (tray.stage, tray.steps[-1].last_not_yet) == ("blackout", None)


def test_ready_said_twice_turns_the_trays_once(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    farm.answer_told(row, READY, **sent(WALK, "Ada"))
    answered = farm.answer_told(row, READY, **sent(WALK + MINUTE, "Bo"))
    assert [type(body) for body in bodies(answered)] == [RoundAnswered]
    assert answered.as_words
    assert len(farm.state(WALK + HOUR).trays["261121A.1"].steps) == 2


def test_what_was_said_before_and_comes_after_lands_at_its_own_time_and_moves_nothing_twice(farm: Farm) -> None:
    """Bo says it at 07:25 without signal; Ada at 07:30 with it; Bo's comes in at 10:00."""
    early = WALK - 5 * MINUTE
    row = told(farm, "look", early)
    farm.answer_told(row, READY, **sent(WALK, "Ada"))
    spots = [farm.state(WALK).trays[tray].spot for tray in row.trays]
    answered = farm.answer_told(row, READY, **sent(early, "Bo", recorded=WALK + 2 * HOUR))
    assert [kept.entry.at for kept in answered.receipt.kept] == [early]
    assert bodies(answered) == [RoundAnswered(trays=row.trays, round=row.round, cue="ready")]
    assert [other.by for other in answered.others] == ["Ada"]
    assert answered.receipt.findings == ()
    assert [farm.state(WALK + 3 * HOUR).trays[tray].spot for tray in row.trays] == spots


def test_not_yet_said_before_ready_narrows_when_the_stage_ended(farm: Farm) -> None:
    early = WALK - 5 * MINUTE
    row = told(farm, "look", early)
    farm.answer_told(row, READY, **sent(WALK, "Ada"))
    farm.answer_told(row, RowSaid(cue="not yet"), **sent(early, "Bo", recorded=WALK + HOUR))
    assert farm.state(WALK + 2 * HOUR).trays["261121A.1"].steps[0].last_not_yet == early


def test_the_same_sending_twice_is_kept_once(farm: Farm) -> None:
    row, said = told(farm, "look", WALK), sent(WALK, "Ada")
    first = farm.answer_told(row, READY, **said)
    again = farm.answer_told(row, READY, **said)
    assert again == first
    assert farm.book.head().seq == first.receipt.kept[-1].seq


def test_an_answer_about_trays_that_were_thrown_away_is_kept_as_a_note_about_them(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    farm.answer_told(row, RowSaid(throw=True, problem="mould"), **sent(WALK, "Ada"))
    answered = farm.answer_told(row, RowSaid(cue="not yet", height_mm=12.0, note="pale"), **sent(WALK + MINUTE, "Bo"))
    (note,) = bodies(answered)
    assert isinstance(note, Note)
    assert note.text == "Answered, too. Look: broccoli, 2 trays, in germinate. Not yet, 12 mm tall. Pale."
    assert note.about == ("tray:261121A.1", "tray:261121A.2")
    assert [type(body) for other in answered.others for body in other.bodies] == [Discarded]


def test_trays_that_somebody_saw_mould_on_are_not_called_ready_by_another(farm: Farm) -> None:
    """And who saw no mould does not make it go away: the row that looks close stays."""
    row = told(farm, "look", WALK)
    farm.answer_told(row, RowSaid(problem="mould"), **sent(WALK, "Ada"))
    answered = farm.answer_told(row, READY, **sent(WALK + MINUTE, "Bo"))
    assert bodies(answered) == [RoundAnswered(trays=row.trays, round=row.round, cue="ready", problem="mould")]
    assert {tray.stage for tray in farm.state(WALK + HOUR).growing()} == {"germinate"}
    assert [row.kind for row in farm.round(WALK + HOUR).rows if row.trays] == ["discard"]


def test_only_the_trays_that_have_not_gone_on_go_on(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    farm.answer_told(row, RowSaid(cue="ready", only=("261121A.1",)), **sent(WALK, "Ada"))
    answered = farm.answer_told(row, READY, **sent(WALK + MINUTE, "Bo"))
    changed = [body for body in bodies(answered) if isinstance(body, StageChanged)]
    assert [body.trays for body in changed] == [("261121A.2",)]
    assert {tray.stage for tray in farm.state(WALK + HOUR).growing()} == {"blackout"}


def ripe(farm: Farm) -> datetime:
    """A moment at which both trays are to be cut."""
    at = SOWN + 9 * DAY
    farm.begin(["261121A"], "ready", at=at)
    return at + HOUR


def test_trays_cut_by_another_are_not_cut_again_and_the_weights_stay_as_a_note(farm: Farm) -> None:
    at = ripe(farm)
    row = told(farm, "cut", at)
    farm.answer_told(row, RowSaid(grams={"261121A.1": 95.0, "261121A.2": 101.0}), **sent(at, "Ada"))
    answered = farm.answer_told(row, RowSaid(grams={"261121A.1": 96.0, "261121A.2": 100.0}), **sent(at + MINUTE, "Bo"))
    (note,) = bodies(answered)
    assert isinstance(note, Note)
    assert note.text == "Answered, too. Cut: broccoli, 2 trays, in ready. Cut 261121A.1 96 g and 261121A.2 100 g."
    assert answered.as_words
    assert [lot.grams for lot in farm.state(at + HOUR).harvests.values()] == [196.0]


def test_of_two_who_cut_each_tray_is_cut_once(farm: Farm) -> None:
    at = ripe(farm)
    row = told(farm, "cut", at)
    farm.answer_told(row, RowSaid(grams={"261121A.1": 95.0}), **sent(at, "Ada"))
    answered = farm.answer_told(row, RowSaid(grams={"261121A.1": 96.0, "261121A.2": 100.0}), **sent(at + MINUTE, "Bo"))
    cut, note = bodies(answered)
    assert isinstance(cut, Cut)
    assert isinstance(note, Note)
    assert [tray.tray for tray in cut.trays] == ["261121A.2"]
    assert note.about == ("tray:261121A.1",)


def test_a_weight_that_looks_mistyped_is_asked_about_unless_a_phone_sends_it(farm: Farm) -> None:
    at = ripe(farm)
    row = told(farm, "cut", at)
    with pytest.raises(DoubtError, match="Did you mean"):
        farm.answer_told(row, RowSaid(grams={"261121A.1": 2000.0}), at=at)
    assert farm.answer_told(row, RowSaid(grams={"261121A.1": 2000.0}), **sent(at, "Ada")).receipt.names


def test_words_with_a_cut_are_kept_once_though_it_was_asked_about(farm: Farm) -> None:
    at = ripe(farm)
    row, said = told(farm, "cut", at), RowSaid(grams={"261121A.1": 2000.0}, note="knife was blunt")
    with pytest.raises(DoubtError):
        farm.answer_told(row, said, at=at)
    farm.answer_told(row, said, at=at, sure=True)
    notes = [kept.entry.body for kept in farm.book.about("tray:261121A.1") if isinstance(kept.entry.body, Note)]
    assert [note.text for note in notes] == ["Knife was blunt."]


def planned(farm: Farm) -> datetime:
    """A moment at which the kept plan has something to sow."""
    farm.keep_plan(farm.plan(WALK), at=WALK)
    days = [WALK + number * DAY for number in range(1, 21)]
    return next(day for day in days if any(row.kind == "sow" for row in farm.round(day).rows))


def test_a_sowing_said_twice_is_sown_once(farm: Farm) -> None:
    at = planned(farm)
    row = told(farm, "sow", at)
    farm.answer_told(row, RowSaid(done=True), **sent(at, "Ada"))
    answered = farm.answer_told(row, RowSaid(done=True), **sent(at + MINUTE, "Bo"))
    (note,) = bodies(answered)
    assert isinstance(note, Note)
    assert note.about == (f"recipe:{row.recipe}",)
    assert [other.by for other in answered.others] == ["Ada"]


def test_a_sowing_whose_spots_were_taken_meanwhile_goes_to_free_ones_and_says_so(farm: Farm) -> None:
    at = planned(farm)
    row = told(farm, "sow", at)
    mover = farm.state(at).growing()[0].tray
    farm.move({mover: row.spots[0]}, at=at)
    answered = farm.answer_told(row, RowSaid(done=True), **sent(at + MINUTE, "Bo"))
    sown = next(body for body in bodies(answered) if isinstance(body, SowingMade))
    assert sown.trays[0].spot != row.spots[0]
    assert [finding.code for finding in answered.receipt.findings] == ["spot-taken-since"]


def dirty(farm: Farm) -> tuple[datetime, RowTold]:
    """A moment with kit to wash, and its row."""
    farm.discard(["261121A"], "dropped", at=WALK)
    return WALK + HOUR, told(farm, "wash", WALK + HOUR)


def test_kit_washed_by_another_is_noted_and_not_washed_twice(farm: Farm) -> None:
    at, row = dirty(farm)
    farm.answer_told(row, RowSaid(done=True), **sent(at, "Ada"))
    answered = farm.answer_told(row, RowSaid(done=True), **sent(at + MINUTE, "Bo"))
    (note,) = bodies(answered)
    assert isinstance(note, Note)
    assert (note.about, answered.as_words) == ((f"kit:{row.pool}",), True)
    assert farm.state(at + HOUR).kit[row.pool].dirty == 0
    assert farm.state(at + HOUR).findings == []


def test_a_sowing_without_seed_for_it_is_refused_where_nobody_else_sowed(farm: Farm) -> None:
    at = planned(farm)
    with pytest.raises(InputError, match="this sowing needs"):
        farm.answer_told(told(farm, "sow", at), RowSaid(done=True, grams_per_tray=50_000.0), **sent(at, "Ada"))


def test_an_answer_in_the_next_round_to_a_page_of_the_last_is_of_the_round_it_is_said_in(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    evening = WALK + 11 * HOUR
    answered = farm.answer_told(row, RowSaid(cue="not yet"), at=evening, by="Ada")
    (said,) = bodies(answered)
    assert isinstance(said, RoundAnswered)
    assert said.round == farm.round(evening).round != row.round


def test_an_answer_of_yesterday_is_no_other_answer(farm: Farm) -> None:
    farm.answer_told(told(farm, "look", WALK), RowSaid(cue="not yet"), **sent(WALK, "Ada"))
    answered = farm.answer_told(told(farm, "look", WALK + DAY), RowSaid(cue="not yet"), **sent(WALK + DAY, "Bo"))
    assert answered.others == ()


def test_an_answer_that_was_taken_back_is_no_other_answer(farm: Farm) -> None:
    row = told(farm, "look", WALK)
    first = farm.answer_told(row, RowSaid(cue="not yet"), **sent(WALK, "Ada"))
    farm.strike(first.receipt.kept[0].entry.id, "mistyped", at=WALK)
    assert farm.answer_told(row, READY, **sent(WALK + MINUTE, "Bo")).others == ()


def test_other_spots_than_proposed_are_taken_as_said(farm: Farm) -> None:
    farm.begin(["261121A"], "blackout", at=WALK)
    at = WALK + 2 * DAY
    row = told(farm, "look", at)
    lit = [spot for shelf in farm.state(at).shelves.values() if shelf.kind == "lit" for spot in shelf.spot_names()]
    others = tuple(spot for spot in lit if spot not in row.to)[:2]
    answered = farm.answer_told(row, RowSaid(cue="ready", spots=others), at=at)
    moved = [body for body in bodies(answered) if isinstance(body, Moved)]
    assert tuple(move.spot for body in moved for move in body.moves) == others


def test_what_is_no_row_is_refused_in_plain_words() -> None:
    with pytest.raises(InputError, match="must be a row of the round as its page gives it"):
        read_told("{}")


def test_the_round_made_soon_is_the_round(farm: Farm) -> None:
    """Nothing but the outlook may be older, and that is the same at the same moment."""
    assert farm.round_soon(WALK) == farm.round(WALK)
    row = told(farm, "look", WALK)
    farm.answer_told(row, RowSaid(cue="not yet"), at=WALK + MINUTE)
    soon, now = farm.round_soon(WALK + 2 * MINUTE), farm.round(WALK + 2 * MINUTE)
    assert [row.row for row in soon.rows] == [row.row for row in now.rows]
    assert soon.done == now.done


def test_rounds_made_one_after_the_other_have_the_rows_of_rounds_made_alone(farm: Farm) -> None:
    """Looks are taken over from the round before where nothing they rest on changed; a problem, a move, a turn do."""
    at = WALK
    trays = [tray for tray in farm.state(at).growing() if tray.spot]
    farm.round_soon(at)
    said = (
        lambda one: farm.answer([one.tray], moisture="dry", at=at),
        lambda one: farm.answer([one.tray], problem="fallen over", at=at),
        lambda one: farm.answer([one.tray], cue="not yet", at=at),
        lambda one: farm.note("a word about it", about=[f"tray:{one.tray}"], at=at),
    )
    for number, tray in enumerate(trays[:12]):
        at += MINUTE
        said[number % len(said)](tray)
        farm.outlook_soon(at)
        soon, alone = farm.round_soon(at), farm.round(at)
        mine = [msgspec.structs.replace(row, why="") for row in soon.rows]
        assert mine == [msgspec.structs.replace(row, why="") for row in alone.rows]
    seen_before = [row for row in farm.round_soon(at).rows if "Seen before: fallen over" in row.why]
    assert len(seen_before) == len([row for row in farm.round(at).rows if "Seen before: fallen over" in row.why])


@pytest.fixture
def learned(monkeypatch: pytest.MonkeyPatch) -> list[FarmState]:
    """The states of which everything was learned, one after the other."""
    seen: list[FarmState] = []
    lessons = Memory.lessons

    def counted(memory: Memory, state: FarmState) -> Lessons:
        seen.append(state)
        return lessons(memory, state)

    monkeypatch.setattr(Memory, "lessons", counted)
    return seen


def test_a_late_answer_does_not_make_the_next_round_learn_everything_again(
    farm: Farm, learned: list[FarmState]
) -> None:
    farm.note("the last word", at=WALK + 5 * MINUTE)
    farm.round_soon(WALK + 5 * MINUTE)
    assert len(learned) == 1
    farm.answer(["261121A.1"], cue="ready", at=WALK)
    soon = farm.round_soon(WALK + 6 * MINUTE)
    assert len(learned) == 1
    assert farm.outlook_soon(WALK + 6 * MINUTE).state is farm.state(WALK + 6 * MINUTE), "who stands where is as said"
    now = farm.round(WALK + 6 * MINUTE)
    assert len(learned) == 2, "the round proper rests on all that the book says"
    assert [row.row for row in soon.rows] == [row.row for row in now.rows]
    farm.outlook(WALK + 6 * MINUTE).standing(farm.state(WALK + 6 * MINUTE).trays["261121A.1"])
    assert len(learned) == 3, "so does the outlook proper"


def test_what_was_learned_is_dropped_after_a_quarter_of_an_hour_and_where_a_recipe_was_changed(
    farm: Farm, learned: list[FarmState]
) -> None:
    farm.note("the last word", at=WALK + 5 * MINUTE)
    farm.round_soon(WALK + 5 * MINUTE)
    farm.note("late", at=WALK)
    farm.round_soon(WALK + 20 * MINUTE)
    assert len(learned) == 2, "a quarter of an hour old"
    recipe = next(iter(farm.state(WALK).recipes.values()))
    thicker = msgspec.structs.replace(recipe, live_seeds_per_cm2=recipe.live_seeds_per_cm2 * 1.5)
    farm.note("the last word", at=WALK + 21 * MINUTE)
    farm.round_soon(WALK + 21 * MINUTE)
    assert len(learned) == 2
    farm.record(RecipeSet(recipe=thicker), at=WALK)
    farm.round_soon(WALK + 21 * MINUTE)
    assert len(learned) == 3, "another recipe"


def test_what_was_made_ready_in_parts_is_the_round(farm: Farm, learned: list[FarmState]) -> None:
    assert sum(1 for _ in farm.get_ready(WALK)) > 5, "in many parts"
    assert len(learned) == 1
    ready = farm.round_soon(WALK + MINUTE)
    assert len(learned) == 1
    assert [row.row for row in ready.rows] == [row.row for row in farm.round(WALK + MINUTE).rows]


def test_making_ready_ends_where_something_is_said_late_or_the_round_was_asked_for(farm: Farm) -> None:
    farm.note("the last word", at=WALK)
    parts = farm.get_ready(WALK)
    next(parts), next(parts)
    farm.answer(["261121A.1"], cue="ready", at=WALK - MINUTE)
    assert list(parts) == []
    parts = farm.get_ready(WALK)
    next(parts), next(parts)
    assert farm.round_soon(WALK) == farm.round(WALK)
    assert list(parts) == []


def test_what_is_said_while_it_is_made_ready_counts(farm: Farm) -> None:
    for part, _ in enumerate(farm.get_ready(WALK)):
        farm.note(f"part {part}", at=WALK)
    row = told(farm, "look", WALK)
    farm.answer_told(row, READY, at=WALK)
    assert farm.round_soon(WALK).rows == farm.round(WALK).rows


def test_a_delivery_said_in_the_evening_and_late_of_the_morning_goes_out_once(farm: Farm) -> None:
    """Bo's phone had no signal since the morning; there is crop enough for twice what was asked."""
    farm.set_customer(Customer(name="Upside Ladle"), at=SOWN)
    farm.place_order(
        "Upside Ladle", date(2026, 11, 25), [LineAsked(line="1", product="broccoli", quantity=100)], at=SOWN
    )
    farm.begin(["261121A.1"], "ready", at=WALK)
    farm.cut({"261121A.1": 400.0}, at=WALK, sure=True)
    morning = WALK + DAY
    row = next(row for row in farm.round(morning).rows if row.customer == "Upside Ladle")
    carried = told_of(row, farm.round(morning).round, morning, farm.settings(morning))
    farm.answer_told(carried, RowSaid(done=True), **sent(morning + 10 * HOUR, "Ada"))
    late = farm.answer_told(carried, RowSaid(done=True), **sent(morning, "Bo", recorded=morning + 11 * HOUR))
    assert [other.by for other in late.others] == ["Ada"]
    assert late.as_words
    assert [type(body) for body in bodies(late)] == [Note]
    assert farm.state(morning + 12 * HOUR).delivered == {f"{row.lines[0]}": 100.0}


def test_what_went_out_later_is_not_due_again_for_a_delivery_written_down_late(farm: Farm) -> None:
    farm.set_customer(Customer(name="Upside Ladle"), at=SOWN)
    farm.place_order(
        "Upside Ladle", date(2026, 11, 25), [LineAsked(line="1", product="broccoli", quantity=100)], at=SOWN
    )
    farm.begin(["261121A.1"], "ready", at=WALK)
    farm.cut({"261121A.1": 400.0}, at=WALK, sure=True)
    farm.deliver_due("Upside Ladle", date(2026, 11, 25), at=WALK + DAY + 10 * HOUR)
    with pytest.raises(InputError, match="all of it has been delivered"):
        farm.deliver_due("Upside Ladle", date(2026, 11, 25), at=WALK + DAY, recorded=WALK + DAY + 11 * HOUR)
