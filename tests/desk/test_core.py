"""The desk records what is said: refusing what cannot be, keeping what arrives late, striking what was wrong."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from trayward.bootstrap import Farm, setup_bodies
from trayward.desk import core
from trayward.desk.desk import Desk
from trayward.desk.ports import Checkpoint
from trayward.errors import ConflictError, InputError, NotFoundError, RefusedError
from trayward.farm.codec import encode_state
from trayward.farm.entries import Cut, Discarded, Note, SeedReceived, TrayCut, Watered
from trayward.farm.fold import fold

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
HOUR = timedelta(hours=1)


@pytest.fixture
def farm(tmp_path: Path) -> Iterator[Farm]:
    with Farm.create(tmp_path / "home.sqlite", "shelf", at=MORNING) as made:
        yield made


def test_a_second_farm_cannot_be_set_up_in_the_same_book(tmp_path: Path, farm: Farm) -> None:
    with pytest.raises(Exception, match="already"):
        Farm.create(tmp_path / "home.sqlite", "shelf", at=MORNING)


def test_a_setup_that_is_refused_leaves_no_file_and_no_open_book(tmp_path: Path) -> None:
    """Seed cannot weigh less than nothing: the setup is refused after the file was begun."""
    wrong = (*setup_bodies("shelf"), SeedReceived(lot="B9", crop="broccoli", grams=-1.0))
    with pytest.raises(RefusedError, match="B9"):
        Farm.create(tmp_path / "new.sqlite", wrong, at=MORNING)
    assert list(tmp_path.iterdir()) == []


def test_a_setup_that_is_refused_leaves_a_file_that_was_there(tmp_path: Path) -> None:
    (tmp_path / "new.sqlite").touch()
    wrong = (*setup_bodies("shelf"), SeedReceived(lot="B9", crop="broccoli", grams=-1.0))
    with pytest.raises(RefusedError, match="B9"):
        Farm.create(tmp_path / "new.sqlite", wrong, at=MORNING)
    assert (tmp_path / "new.sqlite").exists()


def test_what_is_said_is_there_after_opening_the_book_again(tmp_path: Path, farm: Farm) -> None:
    farm.sow("broccoli", 2, at=MORNING + HOUR)
    with Farm.open(tmp_path / "home.sqlite") as again:
        assert encode_state(again.state(MORNING + HOUR)) == encode_state(farm.state(MORNING + HOUR))


def test_the_state_at_an_earlier_moment_does_not_know_what_came_later(farm: Farm) -> None:
    farm.sow("broccoli", 1, at=MORNING + HOUR)
    assert not farm.state(MORNING).trays
    assert len(farm.state(MORNING + HOUR).trays) == 1


def test_discarding_a_tray_twice_is_refused_and_nothing_is_kept(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    farm.discard([tray], "mould", at=MORNING + HOUR)
    before = farm.book.head()
    with pytest.raises(RefusedError, match=tray):
        farm.discard([tray], "mould", at=MORNING + 2 * HOUR)
    assert farm.book.head() == before


def test_of_several_things_said_together_all_or_none_are_kept(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    before = farm.book.head()
    with pytest.raises(RefusedError):
        farm.record(Note(text="fine so far"), Discarded(trays=("no such tray",), reason="mould"), at=MORNING + HOUR)
    assert farm.book.head() == before
    assert farm.state(MORNING + HOUR).trays[tray].fate == "growing"


def test_a_record_that_arrives_late_lands_on_its_own_time(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    farm.note("evening", at=MORNING + 10 * HOUR)
    farm.discard([tray], "mould", at=MORNING + HOUR, recorded=MORNING + 11 * HOUR)
    gone = farm.state(MORNING + 11 * HOUR).tray(tray)
    assert gone is not None
    assert gone.ended_at == MORNING + HOUR


def test_a_late_record_that_cannot_be_is_kept_as_a_finding(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    farm.discard([tray], "mould", at=MORNING + HOUR)
    farm.note("evening", at=MORNING + 10 * HOUR)
    receipt = farm.cut({tray: 95.0}, at=MORNING + 2 * HOUR, recorded=MORNING + 11 * HOUR)
    assert receipt.kept, "what was said is not lost"
    assert any(finding.severity == "wrong" and tray in finding.message for finding in receipt.findings)


def test_a_struck_entry_is_as_if_it_had_never_been_said_and_stays_in_the_book(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    wrong = farm.discard([tray], "mould", at=MORNING + HOUR).kept[0].entry
    farm.strike(wrong.id, "meant the tray beside it", at=MORNING + 2 * HOUR)
    assert farm.state(MORNING + 2 * HOUR).trays[tray].fate == "growing"
    assert farm.book.get(wrong.id) is not None
    words = [line.words for line in farm.story(tray, MORNING + 2 * HOUR) if line.struck]
    assert len(words) == 1


def test_an_entry_cannot_be_struck_twice_or_without_a_reason(farm: Farm) -> None:
    said = farm.note("hm", at=MORNING + HOUR).kept[0].entry.id
    with pytest.raises(InputError, match="reason"):
        farm.strike(said, " ", at=MORNING + HOUR)
    farm.strike(said, "not true", at=MORNING + HOUR)
    with pytest.raises(InputError, match="struck already"):
        farm.strike(said, "not true", at=MORNING + HOUR)
    with pytest.raises(NotFoundError, match="no-such-entry"):
        farm.strike("no-such-entry", "?", at=MORNING + HOUR)


def test_saying_the_same_with_the_same_ids_changes_nothing(farm: Farm) -> None:
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    first = farm.discard([tray], "mould", at=MORNING + HOUR, ids=["phone-0001"])
    again = farm.discard([tray], "mould", at=MORNING + HOUR, ids=["phone-0001"])
    assert again.kept == first.kept
    assert farm.book.head().seq == first.kept[-1].seq


def test_two_desks_on_one_book_see_what_the_other_said(tmp_path: Path, farm: Farm) -> None:
    with Farm.open(tmp_path / "home.sqlite") as phone:
        tray = phone.sow("broccoli", 1, at=MORNING + HOUR).names[1]
        farm.answer([tray], moisture="moist", at=MORNING + 2 * HOUR)
        phone.answer([tray], moisture="dry", at=MORNING + 3 * HOUR)
        assert encode_state(farm.state(MORNING + 3 * HOUR)) == encode_state(phone.state(MORNING + 3 * HOUR))


def test_writing_against_somebody_who_never_stops_gives_up_with_words(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*args: object, **kwargs: object) -> None:
        raise ConflictError("somebody else wrote")

    monkeypatch.setattr(farm.book, "append", never)
    with pytest.raises(ConflictError, match="try again"):
        farm.note("hello", at=MORNING + HOUR)


def test_a_time_without_offset_or_ahead_of_now_is_refused(farm: Farm) -> None:
    with pytest.raises(InputError, match="offset from UTC"):
        farm.note("hello", at=datetime(2026, 11, 25, 8, 0))  # noqa: DTZ001
    with pytest.raises(InputError, match="ahead of now"):
        farm.note("hello", at=MORNING + timedelta(days=400), recorded=MORNING + HOUR)


def test_a_checkpoint_gives_the_same_state_as_the_whole_book(
    tmp_path: Path, farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(core, "CHECKPOINT_EVERY", 5)
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    for hour in range(1, 12):
        farm.answer([tray], moisture="moist", at=MORNING + hour * HOUR)
    end = MORNING + 12 * HOUR
    assert farm.book.checkpoint() is not None
    with Farm.open(tmp_path / "home.sqlite") as quick:
        from_checkpoint = encode_state(quick.state(end))
    farm.book.rebuild()
    with Farm.open(tmp_path / "home.sqlite") as slow:
        assert encode_state(slow.state(end)) == from_checkpoint


def test_what_others_write_while_the_book_is_read_is_folded_in_once(
    tmp_path: Path, farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The head is read, somebody writes, the book is folded: the fold holds more than the head told of."""
    with Farm.open(tmp_path / "home.sqlite") as reader:
        look_up = reader.book.checkpoint

        def while_somebody_writes(**until: datetime | None) -> object:
            monkeypatch.undo()
            farm.sow("broccoli", 1, at=MORNING)
            return look_up(**until)

        monkeypatch.setattr(reader.book, "checkpoint", while_somebody_writes)
        reader.state(MORNING)
        assert encode_state(reader.state(MORNING)) == encode_state(farm.state(MORNING))


@pytest.mark.parametrize("struck", [False, True])
def test_what_others_say_late_or_strike_as_a_checkpoint_is_read_is_not_missed(
    tmp_path: Path, farm: Farm, monkeypatch: pytest.MonkeyPatch, struck: bool
) -> None:
    """The checkpoint is read, somebody says what makes it untrue, the rest is read: it is begun further back."""
    monkeypatch.setattr(core, "CHECKPOINT_EVERY", 5)
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    watered = farm.water([tray], 30.0, at=MORNING + HOUR).kept[0].entry.id
    for hour in range(2, 12):
        farm.answer([tray], moisture="moist", at=MORNING + hour * HOUR)
    end = MORNING + 12 * HOUR
    with Farm.open(tmp_path / "home.sqlite") as reader:
        look_up = reader.book.checkpoint

        def while_somebody_speaks(**until: datetime | None) -> Checkpoint | None:
            found = look_up(**until)
            assert found is not None
            assert found.horizon > MORNING + HOUR
            monkeypatch.undo()
            if struck:
                farm.strike(watered, "it was another tray", at=end)
            else:
                farm.water([tray], 40.0, at=MORNING + HOUR)
            return found

        monkeypatch.setattr(reader.book, "checkpoint", while_somebody_speaks)
        read = encode_state(reader.state(end))
    assert read == encode_state(fold(farm.book.timeline(), struck=farm.book.struck()))


def test_who_writes_against_another_sowing_takes_the_next_name_and_spot(
    tmp_path: Path, farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Both phones read the same book and would sow 261125A on K1.1; the second is worked out anew."""
    with Farm.open(tmp_path / "home.sqlite") as phone:
        append = phone.book.append

        def after_the_other(*args: Any, **kwargs: Any) -> object:
            monkeypatch.undo()
            farm.sow("broccoli", 1, at=MORNING)
            return append(*args, **kwargs)

        monkeypatch.setattr(phone.book, "append", after_the_other)
        assert phone.sow("broccoli", 1, at=MORNING).names == ("261125B", "261125B.1")
        state = farm.state(MORNING)
        assert {name: tray.spot for name, tray in state.trays.items()} == {"261125A.1": "K1.1", "261125B.1": "K1.2"}
        assert state.findings == []


def test_a_call_of_which_one_id_is_known_keeps_only_the_rest(farm: Farm) -> None:
    """And the state in memory does not count the known one twice."""
    tray = farm.sow("broccoli", 1, at=MORNING).names[1]
    first = Watered(trays=(tray,), ml=100.0)
    cut = Cut(harvest="H1", crop="broccoli", trays=(TrayCut(tray=tray, grams=95.0),), regrow=True)
    farm.record(cut, at=MORNING, ids=["phone-0001"])
    farm.record(cut, first, at=MORNING, ids=["phone-0001", "phone-0002"])
    assert farm.state(MORNING).trays[tray].grams == 95.0
    assert farm.state(MORNING).entries == farm.book.head().seq


@pytest.mark.parametrize("state", [b"not a state", b'{"fold": 0}'])
def test_a_checkpoint_of_another_fold_is_let_go_and_made_anew(
    farm: Farm, monkeypatch: pytest.MonkeyPatch, state: bytes
) -> None:
    farm.sow("broccoli", 1, at=MORNING + HOUR)
    true = encode_state(farm.state(MORNING + HOUR))
    head = farm.book.head()
    assert head.horizon is not None
    farm.book.save_checkpoint(Checkpoint(seq=head.seq, horizon=head.horizon, state=state))
    monkeypatch.setattr(core, "CHECKPOINT_EVERY", 1)
    with Farm.open(farm.book.name) as again:
        assert encode_state(again.state(MORNING + HOUR)) == true
    kept = farm.book.checkpoint()
    assert kept is not None
    assert kept.state == true


def test_a_moment_before_the_farm_was_set_up_is_said_to_be_that(farm: Farm) -> None:
    with pytest.raises(InputError, match=r"when = 2026-11-25T06.*: this farm was set up only at 2026-11-25T07"):
        farm.sow("broccoli", 1, at=MORNING - HOUR)


def test_a_desk_waits_a_little_longer_each_time_others_got_in_first(
    farm: Farm, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Twice somebody writes in between; the pauses are given to the one who may wait, and there is none before that."""
    waits: list[float] = []
    desk = Desk(farm.book, pause=waits.append)
    append, in_between = farm.book.append, [ConflictError("others"), ConflictError("others")]

    def busy(*args: Any, **kwargs: Any) -> object:
        if in_between:
            raise in_between.pop()
        return append(*args, **kwargs)

    monkeypatch.setattr(farm.book, "append", busy)
    desk.note("fan off", at=MORNING)
    assert waits == [core.PAUSE_S, 2 * core.PAUSE_S]
