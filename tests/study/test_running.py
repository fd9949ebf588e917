"""Many seasons: side by side, gone on with, on a Dask engine; nothing lost, and the same figures wherever they ran."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.resources import files
from pathlib import Path

import msgspec
import pytest

from tests.study import fake_seasons as fake
from trayward.errors import InputError, NotFoundError
from trayward.study import running_dask
from trayward.study.kept_seasons import KeptSeasons, Mark, mark_of, program_mark
from trayward.study.report import study_report
from trayward.study.running import BUFFERS, Progress, Study, left_words, run_all, season_tasks
from trayward.study.types import BOUND, KNOWN, LAW, LEARNING, RULE, SeasonTask

ROOT = Path(__file__).resolve().parents[2]
TASKS = season_tasks("loft", range(1, 4))
MARK = Mark(world="loft", program="p")


@pytest.fixture
def marks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder in which seasons leave a mark when they begin."""
    folder = tmp_path / "marks"
    folder.mkdir()
    monkeypatch.setenv(fake.MARKS, str(folder))
    return folder


def begun(marks: Path) -> int:
    """How often a season was begun."""
    return sum(len(path.read_text().splitlines()) for path in marks.iterdir())


def figures(study: Study) -> bytes:
    """All that is said of a study, to the last digit."""
    return msgspec.json.encode(study_report(study.results, world="loft", failed=study.failed))


# Tasks ----------------------------------------------------------------------------------------------------------------


def test_every_policy_lives_through_every_seed_and_the_rule_with_every_buffer() -> None:
    assert len(TASKS) == 3 * (9 + 6)
    assert [task.seed for task in TASKS] == [1] * 15 + [2] * 15 + [3] * 15
    assert {task.buffer for task in TASKS if task.policy == RULE} == set(BUFFERS)
    assert len(set(TASKS)) == len(TASKS)


def test_a_policy_nobody_knows_is_refused_with_those_there_are() -> None:
    with pytest.raises(InputError, match=r"policy = luck: there is none of that name. There are: rule of thumb, "):
        season_tasks("loft", [1], policies=["luck"])


def test_fewer_than_one_worker_is_refused() -> None:
    with pytest.raises(InputError, match="workers = 0: must be 1 or more"):
        run_all(TASKS, run=fake.season, workers=0)


# Side by side ---------------------------------------------------------------------------------------------------------


def test_two_processes_give_the_same_as_one() -> None:
    alone, together = run_all(TASKS, run=fake.season), run_all(TASKS, run=fake.season, workers=2)
    assert [one.task for one in alone.results] == TASKS
    assert together == alone
    assert figures(together) == figures(alone)


def test_seasons_really_run_in_other_processes(marks: Path) -> None:
    run_all(TASKS[:6], run=fake.slow, workers=2)
    processes = {line for path in marks.iterdir() for line in path.read_text().splitlines()}
    assert len(processes) == 2
    assert str(os.getpid()) not in processes


def test_a_season_whose_process_is_killed_is_lived_again_and_nothing_is_lost(marks: Path) -> None:
    study = run_all(TASKS, run=fake.dying_once, workers=2)
    assert study == run_all(TASKS, run=fake.season)
    assert begun(marks) == len(TASKS) + 1


def test_a_season_that_always_kills_its_process_is_given_up_and_named() -> None:
    study = run_all(TASKS, run=fake.dying, workers=2)
    (failed,) = study.failed
    assert failed.sentence == (
        "known biology, seed 2 of loft: its process ended 3 times before the season did (killed by SIGKILL)"
    )
    assert len(study.results) == len(TASKS) - 1


@pytest.mark.parametrize("workers", [1, 2])
def test_a_season_that_fails_is_named_with_its_error_and_the_others_go_on(workers: int) -> None:
    study = run_all(TASKS, run=fake.failing, workers=workers)
    (failed,) = study.failed
    assert failed.sentence == "learning, seed 2 of loft: ValueError: the scales broke"
    assert "fake_seasons.py" in failed.trace
    assert [one.task for one in study.results] == [task for task in TASKS if task != failed.task]


def test_a_margin_that_is_no_number_is_a_season_that_failed() -> None:
    study = run_all(TASKS[:2], run=fake.no_number)
    assert [one.error for one in study.failed] == ["its margin is not a number"] * 2


def test_no_process_is_left_when_the_study_is_broken_off(marks: Path) -> None:
    def stop(progress: Progress) -> None:
        if progress.done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        run_all(TASKS, run=fake.slow, workers=2, tell=stop)
    processes = {int(line) for path in marks.iterdir() for line in path.read_text().splitlines()}
    assert len(processes) == 2
    assert [number for number in processes if alive(number)] == []


def alive(process: int) -> bool:
    """Whether there is a process of that number."""
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    return True


# Gone on with ---------------------------------------------------------------------------------------------------------


def test_a_study_goes_on_where_it_was_broken_off(marks: Path, tmp_path: Path) -> None:
    folder = tmp_path / "study"

    def stop(progress: Progress) -> None:
        if progress.done == 7:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt, match=r"^$"):
        run_all(TASKS, run=fake.marked, keep=KeptSeasons(folder, MARK), tell=stop)
    assert begun(marks) == 7
    told: list[Progress] = []
    study = run_all(TASKS, run=fake.marked, keep=KeptSeasons(folder, MARK), tell=told.append)
    assert begun(marks) == len(TASKS)
    assert (told[0].done, told[0].kept_before, told[-1].done) == (7, 7, len(TASKS))
    assert figures(study) == figures(run_all(TASKS, run=fake.season))


def test_more_seeds_take_only_the_seasons_that_are_new(marks: Path, tmp_path: Path) -> None:
    run_all(TASKS, run=fake.marked, keep=KeptSeasons(tmp_path / "study", MARK))
    more = season_tasks("loft", range(1, 6))
    study = run_all(more, run=fake.marked, keep=KeptSeasons(tmp_path / "study", MARK))
    assert begun(marks) == len(more)
    assert [one.task for one in study.results] == more


def test_a_line_torn_by_a_power_cut_costs_that_season_only(marks: Path, tmp_path: Path) -> None:
    keep = KeptSeasons(tmp_path / "study", MARK)
    run_all(TASKS[:5], run=fake.season, keep=keep)
    keep.path.write_bytes(keep.path.read_bytes()[:-40])
    study = run_all(TASKS[:6], run=fake.marked, keep=KeptSeasons(tmp_path / "study", MARK))
    assert begun(marks) == 2
    assert study == run_all(TASKS[:6], run=fake.season)
    assert len(KeptSeasons(tmp_path / "study", MARK).found(TASKS)) == 6


def test_a_season_that_failed_is_tried_again_the_next_time(tmp_path: Path) -> None:
    assert run_all(TASKS, run=fake.failing, keep=KeptSeasons(tmp_path, MARK)).failed
    assert not run_all(TASKS, run=fake.season, keep=KeptSeasons(tmp_path, MARK)).failed


def test_seasons_are_kept_one_to_a_line_for_other_programs(tmp_path: Path) -> None:
    run_all(TASKS[:3], run=fake.season, keep=KeptSeasons(tmp_path, MARK))
    lines = [json.loads(line) for line in (tmp_path / "seasons.jsonl").read_text().splitlines()]
    assert [line["task"]["buffer"] for line in lines] == [-0.5, -0.4, -0.3]
    assert lines[0]["margin"] == fake.season(TASKS[0]).margin


@pytest.mark.parametrize("other", [Mark(world="barn", program="p"), Mark(world="loft", program="q")])
def test_seasons_of_another_world_or_program_are_never_mixed_in(other: Mark, tmp_path: Path) -> None:
    KeptSeasons(tmp_path, MARK)
    with pytest.raises(InputError, match=r"they cannot be mixed. Name another folder"):
        KeptSeasons(tmp_path, other)


def test_a_folder_nobody_may_write_to_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match=r"folder = .*: it cannot be used .* Name a folder you may write to"):
        KeptSeasons(tmp_path / "file" / "study", MARK)


def test_a_world_of_ones_own_is_marked_by_what_stands_in_it(tmp_path: Path) -> None:
    shipped = (files("trayward.study") / "worlds_shipped" / "loft-tight.toml").read_text(encoding="utf-8")
    path = tmp_path / "own.toml"
    path.write_text(shipped)
    first = mark_of(str(path))
    assert mark_of(str(path)) == first
    path.write_text(f"{shipped}\n# wider\n")
    assert mark_of(str(path)) != first
    assert mark_of("loft tight") == Mark(world="loft tight", program=program_mark())


def test_a_world_nobody_knows_is_refused_before_anything_is_kept() -> None:
    with pytest.raises(NotFoundError, match="Or give the path of a world file"):
        mark_of("moon base")


# How far it is --------------------------------------------------------------------------------------------------------


def test_it_says_how_many_seasons_are_done_and_about_how_long_the_rest_takes(marks: Path) -> None:
    told: list[Progress] = []
    run_all(TASKS[:8], run=fake.slow, workers=2, tell=told.append)
    assert told[0].words == "0 of 8 seasons done, time left not known yet"
    assert told[1].words == "1 of 8 seasons done, less than a minute left"
    assert told[-1].words == "8 of 8 seasons done"
    # 6 seasons are left of which each takes 0.25 s, two at a time; starting the processes is spread over those done.
    assert told[2].seconds_left is not None
    assert 0.6 < told[2].seconds_left < 15


def test_a_season_that_failed_is_told_as_it_ends() -> None:
    told: list[Progress] = []
    run_all(TASKS, run=fake.failing, tell=told.append)
    (last,) = [progress.last for progress in told if progress.last is not None]
    assert last.error == "ValueError: the scales broke"
    assert told[-1].words == "45 of 45 seasons done, 1 failed"


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (29, "less than a minute left"),
        (60, "about 1 min left"),
        (3599, "about 1 h left"),
        (5400, "about 1 h 30 min left"),
        (37_000, "about 10 h left"),
        (100_000, "about 28 h left"),
    ],
)
def test_time_left_is_said_in_plain_words(seconds: float, words: str) -> None:
    assert left_words(seconds) == words


# On a Dask engine -----------------------------------------------------------------------------------------------------


class Engine:
    """A scheduler and two workers, each a process of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.processes: list[subprocess.Popen[bytes]] = []
        self._start("scheduler", "--host", "127.0.0.1", "--port", "0", "--no-dashboard")
        # The scheduler takes a port and says which: one chosen for it could be a worker's by then.
        self.address = self._said(0, rb"Scheduler at:\s+(tcp://[\d.]+:\d+)")

    def worker(self) -> subprocess.Popen[bytes]:
        """Start a worker, without a nanny that would start it again, and wait until the scheduler has it."""
        words = ("--no-nanny", "--no-dashboard", "--nthreads", "1", "--local-directory", str(self.folder))
        process = self._start("worker", self.address, *words)
        self._said(len(self.processes) - 1, rb"(Registered to)")
        return process

    def _said(self, number: int, words: bytes) -> str:
        """Wait until a process has said something; what of it was asked for."""
        log = self.folder / f"{number}.log"
        for _ in range(600):
            if found := re.search(words, log.read_bytes()):
                return found[1].decode()
            time.sleep(0.1)
        raise AssertionError(log.read_text())

    def _start(self, *words: str) -> subprocess.Popen[bytes]:
        log = (self.folder / f"{len(self.processes)}.log").open("wb")
        env = {**os.environ, "PYTHONPATH": str(ROOT), "DASK_DISTRIBUTED__SCHEDULER__WORKER_TTL": "10s"}
        command = [sys.executable, "-m", "dask", *words]
        with log:
            process = subprocess.Popen(command, cwd=ROOT, env=env, stdout=log, stderr=log)
        self.processes.append(process)
        return process

    def stop(self) -> None:
        """End what was started, the workers first."""
        for process in reversed(self.processes):
            process.kill()
            process.wait()


@contextmanager
def engine(folder: Path) -> Iterator[Engine]:
    """An engine that ends with the test. The program is looked at anew: somebody may be at work on it meanwhile."""
    folder.mkdir()
    program_mark.cache_clear()
    made = Engine(folder)
    try:
        yield made
    finally:
        made.stop()


@pytest.mark.drives
@pytest.mark.slow
def test_a_study_on_an_engine_of_which_a_worker_is_killed_gives_the_same_and_loses_nothing(
    marks: Path, tmp_path: Path
) -> None:
    with engine(tmp_path / "engine") as dask:
        first, _ = dask.worker(), dask.worker()
        told: list[Progress] = []

        def kill_in_the_middle(progress: Progress) -> None:
            told.append(progress)
            if progress.done == 8:
                os.kill(first.pid, signal.SIGKILL)

        keep = KeptSeasons(tmp_path / "study", MARK)
        study = run_all(TASKS, run=fake.slow, scheduler=dask.address, keep=keep, tell=kill_in_the_middle)
        assert first.wait(5) == -signal.SIGKILL
        workers = {int(line) for path in marks.iterdir() for line in path.read_text().splitlines()}
    assert study.failed == ()
    assert study == run_all(TASKS, run=fake.season)
    assert figures(study) == figures(run_all(TASKS, run=fake.season))
    assert first.pid in workers
    assert len(workers) == 2
    assert begun(marks) > len(TASKS), "no season was under way when its worker was killed"
    assert told[-1].done == len(TASKS)
    assert len(keep.found(TASKS)) == len(TASKS)


@pytest.mark.drives
@pytest.mark.slow
def test_a_season_that_fails_on_an_engine_is_named_and_the_others_go_on(tmp_path: Path) -> None:
    with engine(tmp_path / "engine") as dask:
        dask.worker()
        study = run_all(TASKS[:30], run=fake.failing, scheduler=dask.address)
    assert [one.sentence for one in study.failed] == ["learning, seed 2 of loft: ValueError: the scales broke"]
    assert len(study.results) == 29


@pytest.mark.drives
@pytest.mark.slow
def test_a_scheduler_without_a_worker_is_refused_with_the_way_out(tmp_path: Path) -> None:
    with engine(tmp_path / "engine") as dask:
        time.sleep(1)
        ends = running_dask.on_scheduler(TASKS, fake.season, dask.address, patience=4)
        with pytest.raises(InputError, match=r"the scheduler has no worker. Start one with: dask worker tcp://127"):
            next(ends)


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nonsense://loft:1"])
def test_a_scheduler_that_nobody_answers_for_is_refused_with_the_way_out(address: str) -> None:
    """Port 9 is the discard service of RFC 863, which machines no longer run."""
    ends = running_dask.on_scheduler(TASKS, fake.season, address, patience=0.5)
    with pytest.raises(
        InputError, match=rf"scheduler = {address}: no Dask scheduler answers there within 0.5 s. Start"
    ):
        next(ends)


def test_without_the_extra_it_is_said_how_to_install_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(InputError, match=r"not installed here. Install it with: pip install 'trayward\[study\]'"):
        run_all(TASKS, run=fake.season, scheduler="tcp://127.0.0.1:9")


def test_a_study_that_is_all_kept_asks_no_scheduler(tmp_path: Path) -> None:
    run_all(TASKS, run=fake.season, keep=KeptSeasons(tmp_path, MARK))
    study = run_all(TASKS, run=fake.season, keep=KeptSeasons(tmp_path, MARK), scheduler="tcp://127.0.0.1:9")
    assert len(study.results) == len(TASKS)


def test_all_five_policies_are_there() -> None:
    assert {task.policy for task in TASKS} >= {RULE, LEARNING, LAW, KNOWN, BOUND}
    assert SeasonTask(world="loft", seed=1, policy=BOUND) in TASKS
