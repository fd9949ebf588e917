"""Long work in a process of its own: kept for its version of the book, shown stale while it is worked out anew."""

from __future__ import annotations

import os
from collections.abc import Iterator
from datetime import timedelta
from multiprocessing.process import BaseProcess
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from tests.web import jobs
from tests.web.conftest import MORNING, Pages
from trayward import Farm
from trayward.errors import NotFoundError
from trayward.web.office import Office
from trayward.web.work import JOBS, Long, Work, job

TODAY = MORNING.date()


@pytest.fixture(autouse=True)
def _jobs() -> Iterator[None]:
    before = dict(JOBS)
    for each in (jobs.count, jobs.refuse, jobs.crash, jobs.die, jobs.linger):
        job(f"test {each.__name__}", each)
    yield
    JOBS.clear()
    JOBS.update(before)


@pytest.fixture(autouse=True)
def _started_as_growers_have_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("trayward.web.work.START", "spawn")


@pytest.fixture
def work(book: Path) -> Iterator[Work]:
    office = Office(str(book))
    office.take()
    office.give_back()
    made = Work(office)
    yield made
    made.close()
    office.close()


def ask(work: Work, name: str, version: int = 1, **asked: Any) -> Long[Any]:
    return work.ask(f"test {name}", MORNING, version, TODAY, asked)


def test_work_is_done_elsewhere_and_kept_for_its_version(work: Work) -> None:
    first = ask(work, "count")
    assert (first.value, first.since) == (None, MORNING)
    assert work.wait(60)
    counted, by = ask(work, "count").value
    assert counted > 1000
    assert by != os.getpid()
    assert ask(work, "count").fresh
    assert work.finished == 1


def test_the_newest_there_is_is_shown_while_it_is_worked_out_anew(work: Work) -> None:
    ask(work, "count")
    work.wait(60)
    later = MORNING + timedelta(hours=3)
    stale = work.ask("test count", later, 2, TODAY, {})
    assert stale.value is not None
    assert (stale.as_of, stale.since, stale.fresh) == (MORNING, later, False)
    work.wait(60)
    assert work.ask("test count", later, 2, TODAY, {}).as_of == later


def test_a_new_day_wants_it_anew_though_nothing_was_said(work: Work) -> None:
    ask(work, "count")
    work.wait(60)
    assert not work.ask("test count", MORNING, 1, TODAY + timedelta(days=1), {}).fresh


def test_what_was_asked_tells_results_apart(work: Work) -> None:
    ask(work, "count", add=0)
    ask(work, "count", add=5)
    work.wait(60)
    assert ask(work, "count", add=5).value[0] == ask(work, "count", add=0).value[0] + 5


def test_asking_a_hundred_times_works_it_out_once(work: Work) -> None:
    for _ in range(100):
        ask(work, "count")
    work.wait(60)
    assert work.finished == 1


def test_why_it_could_not_be_done_is_told_in_words(work: Work) -> None:
    ask(work, "refuse")
    ask(work, "crash")
    work.wait(60)
    assert "must be one or more" in ask(work, "refuse").error
    assert "fault is ours" in ask(work, "crash").error


def test_a_process_that_dies_is_begun_anew(work: Work, tmp_path: Path) -> None:
    mark = str(tmp_path / "died")
    ask(work, "die", mark=mark)
    work.wait(60)
    assert "fault is ours" in ask(work, "die", mark=mark).error
    ask(work, "die", version=2, mark=mark)
    work.wait(60)
    assert ask(work, "die", version=2, mark=mark).value == "the second time"


def test_a_process_that_died_is_known_by_its_line(work: Work, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The system may take a moment to say that it is gone."""
    monkeypatch.setattr(BaseProcess, "is_alive", lambda _: True)
    mark = str(tmp_path / "died")
    ask(work, "die", mark=mark)
    work.wait(60)
    ask(work, "die", version=2, mark=mark)
    work.wait(60)
    assert ask(work, "die", version=2, mark=mark).value == "the second time"


def test_closing_ends_the_other_process_whatever_it_is_at(work: Work, tmp_path: Path) -> None:
    mark = tmp_path / "lingers"
    ask(work, "linger", mark=str(mark))
    until = monotonic() + 60
    while not mark.exists() or not mark.read_text():
        assert monotonic() < until
        sleep(0.05)
    pid = int(mark.read_text())
    work.close()
    with pytest.raises(ProcessLookupError, match="No such process"):
        os.kill(pid, 0)


def test_a_book_in_memory_is_worked_on_in_this_process() -> None:
    with Farm.create(":memory:", "shelf", at=MORNING) as farm:
        work = Work(Office(farm))
        ask(work, "count")
        work.wait(30)
        assert ask(work, "count").value[1] == os.getpid()
        work.close()


def test_an_unknown_job_is_not_found(work: Work) -> None:
    with pytest.raises(NotFoundError, match="job"):
        ask(work, "nothing")


def test_two_jobs_may_not_share_a_name() -> None:
    with pytest.raises(ValueError, match="is a job already"):
        job("test count", jobs.crash)


def test_the_version_of_the_pages_moves_when_work_is_done(pages: Pages) -> None:
    house = pages.client.app.state.house  # type: ignore[attr-defined]
    before = house.version
    house.work.ask("test count", MORNING, 1, TODAY, {})
    house.work.wait(60)
    assert house.version != before
