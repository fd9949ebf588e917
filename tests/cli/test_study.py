"""The season study typed: figures in words, JSON and a picture; broken off and gone on with; refusals."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from tests.study import fake_seasons as fake
from trayward.study import running_dask
from trayward.study.types import BOUND, CEILING, KNOWN, LAW, LEARNING, PRIORS, RULE

ROOT = Path(__file__).resolve().parents[2]
WORLD = "loft tight"


@pytest.fixture
def typed(bare: Typed, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """A terminal in a folder of its own, where seasons take no time."""
    monkeypatch.chdir(bare.folder)
    monkeypatch.setattr("trayward.cli.study.live", fake.season)
    return bare


def words(said: str) -> str:
    """What was said as one line."""
    return " ".join(said.split())


def asked(*more: str) -> tuple[str, ...]:
    """The command, in this process."""
    return ("study", "--world", WORLD, "--seeds", "6", "--workers", "1", *more)


def test_a_study_says_its_headline_its_policies_and_its_goals(typed: Typed) -> None:
    said = typed(*asked())
    assert max(map(len, said.splitlines())) <= 80
    told = words(said)
    assert "Of what could be earned beyond the best rule of thumb, the plan that learns earned " in told
    assert "over 6 seasons." in told
    head = next(line for line in said.splitlines() if line.startswith("Policy"))
    assert " ".join(head.split()) == "Policy Margin Beyond the rule 19 in 20 In full Not sold kg"
    rows = [line for line in said.splitlines() if line.startswith((RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND))]
    assert len(rows) == 7
    assert "Of what could be learned, the plan that learns earned " in told
    assert "Nobody who does not know the luck of trays before they are sown could close more than " in told
    assert "Rule of thumb: best with 20 % more than is due, of -50 %" in told
    assert [verdict in told for verdict in ("75 %", "90 %", "98 %", "met")] == [True] * 4
    assert "Learning pays from day 15 after the first sowing" in told
    assert "the seeds are drawn anew 10,000 times by fixed chance" in told


def test_in_json_it_says_what_programs_rely_on_and_nothing_else_on_that_stream(typed: Typed) -> None:
    told = typed.json(*asked())
    assert (told["world"], told["seeds"], told["folder"]) == (WORLD, 6, "study-loft-tight")
    assert list(told["policies"]) == [RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND]
    assert set(told["share_closed"]) >= {"mean", "low", "high"}
    assert set(told["share_closed_known_biology"]) >= {"mean", "low", "high"}
    assert set(told["share_closed_known_law"]) >= {"mean", "low", "high"}
    assert sum(one["promises"] for one in told["calibration"]) == 6 * 200


def test_it_says_on_the_error_stream_how_far_it_is(typed: Typed) -> None:
    said = typed.run(*asked()).stderr.splitlines()
    assert said[0] == "0 of 90 seasons done, time left not known yet"
    assert said[-1] == "90 of 90 seasons done"
    assert 15 <= len(said) <= 30


def test_seasons_are_kept_and_not_lived_again(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    first = typed.json(*asked())
    monkeypatch.setattr("trayward.cli.study.live", fake.no_number)
    assert typed.json(*asked()) == first
    assert len((typed.folder / "study-loft-tight" / "seasons.jsonl").read_text().splitlines()) == 90


def test_some_policies_and_buffers_can_be_chosen(typed: Typed) -> None:
    told = typed.json(*asked("--policy", "rule-of-thumb", "--policy", "learning", "--buffers", "15, 25 %"))
    assert list(told["policies"]) == [RULE, LEARNING]
    assert [rule["buffer"] for rule in told["rules"]] == [0.15, 0.25]
    assert told["share_closed"]["mean"] is None
    assert told["share_closed"]["why_not"] == "there is no season of all-knowing"


def test_a_best_buffer_at_the_end_is_pointed_out(typed: Typed) -> None:
    said = words(typed(*asked("--buffers", "0,10")))
    assert "best with 10 % more than is due" in said
    assert "try others with --buffers" in said


def test_the_best_buffer_and_what_promises_rest_on_are_said_in_words(typed: Typed) -> None:
    said = typed(*asked("--buffers", "0,20"))
    assert "best with 20 % more than is due" in words(said)
    assert "Rows of fewer than 100 promises are not judged by." in words(said)
    assert "best with just what is due, of -30 % (" in words(typed(*asked("--buffers", "0,-30"), "--folder", "less"))


@pytest.mark.parametrize("wide", [(), ("--phone",)])
def test_a_study_is_drawn(typed: Typed, wide: tuple[str, ...]) -> None:
    said = typed(*asked("--picture", "study.svg", *wide))
    assert "Picture saved: study.svg" in said
    drawn = (typed.folder / "study.svg").read_text()
    assert "Margin so far, day by day" in drawn
    assert "against known biology" in drawn
    assert "against the known law" in drawn


def test_a_season_that_failed_is_named_with_what_lacks_it_and_the_exit_code_says_so(
    typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("trayward.cli.study.live", fake.failing)
    result = typed.run(*asked())
    assert result.exit_code == 1
    assert f"failed: learning, seed 2 of {WORLD}: ValueError: the scales broke" in result.stderr
    assert "90 of 90 seasons done, 1 failed" in result.stderr
    told = words(result.stdout)
    assert f"Failed: learning, seed 2 of {WORLD}: ValueError: the scales broke" in told
    assert "Without seed 2 of learning: its own figures, all shares of the gap" in told
    assert json.loads(typed.run(*asked("--json")).stdout)["share_closed"]["seeds"] == 5


def test_a_world_a_policy_and_buffers_nobody_can_use_are_refused(typed: Typed) -> None:
    assert "Or give the path of a world file." in typed.refused("study", "--world", "moon base", code=2)
    assert "There are: rule of thumb, published priors" in typed.refused(*asked("--policy", "luck"), code=2)
    assert "must be numbers, in percent" in typed.refused(*asked("--buffers", "ten"), code=2)
    assert "each must lie in [-90, 500] %" in typed.refused(*asked("--buffers", "nan"), code=2)
    assert "saved as PNG or SVG" in typed.refused(*asked("--picture", "study.gif"), code=2)
    assert not any(typed.folder.glob("study*"))


def test_a_scheduler_that_does_not_answer_is_refused_with_the_way_out(
    typed: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(running_dask.on_scheduler.__kwdefaults__, "patience", 0.5)
    said = typed.refused(*asked("--scheduler", "tcp://127.0.0.1:9"), code=2)
    assert "no Dask scheduler answers there" in said
    assert "Start one with `dask scheduler`" in said


TYPED_WITH_FAKES = """
import sys
import trayward.cli.study as typed
from tests.study import fake_seasons
from trayward.cli.main import cli
from trayward.study.kept_seasons import Mark
typed.live = fake_seasons.slow
typed.mark_of = lambda world: Mark(world=world, program="fake")
if __name__ == "__main__":
    cli.main(sys.argv[1:], prog_name="trayward")
"""


@pytest.mark.drives
@pytest.mark.slow
def test_ctrl_c_stops_at_once_says_what_is_kept_and_the_same_command_goes_on(tmp_path: Path) -> None:
    """Typed into a process group of its own, to which the interrupt goes as from a terminal: to all its processes."""
    marks = tmp_path / "marks"
    marks.mkdir()
    program = tmp_path / "typed.py"
    program.write_text(TYPED_WITH_FAKES)
    words = [sys.executable, str(program), "study", "--world", WORLD, "--seeds", "2", "--workers", "2", "--json"]
    env = {**os.environ, "PYTHONPATH": str(ROOT), fake.MARKS: str(marks)}
    pipe = subprocess.PIPE
    with subprocess.Popen(
        words, cwd=tmp_path, env=env, stdout=pipe, stderr=pipe, text=True, start_new_session=True
    ) as first:
        kept = tmp_path / "study-loft-tight" / "seasons.jsonl"
        wait_for(lambda: kept.exists() and len(kept.read_text().splitlines()) >= 4)
        os.killpg(first.pid, signal.SIGINT)
        out, said = first.communicate(timeout=30)
    number = len(kept.read_text().splitlines())
    assert first.returncode == 130
    assert out == ""
    assert "Traceback" not in said
    assert said.splitlines()[-1] == (
        f"Stopped. {number} of 30 seasons are kept in study-loft-tight; the same command goes on from there."
    )
    processes = {int(line) for path in marks.iterdir() for line in path.read_text().splitlines()}
    wait_for(lambda: not any(Path(f"/proc/{process}").exists() for process in processes))
    second = subprocess.run(words, cwd=tmp_path, env=env, capture_output=True, text=True, check=True)
    assert second.stderr.splitlines()[0].startswith(f"{number} of 30 seasons done")
    assert set(json.loads(second.stdout)["policies"]) == {RULE, PRIORS, LEARNING, LAW, KNOWN, CEILING, BOUND}
    assert len(kept.read_text().splitlines()) == 30


def wait_for(true: object) -> None:
    """Wait until it is so, for half a minute at most."""
    assert callable(true)
    for _ in range(300):
        if true():
            return
        time.sleep(0.1)
    raise AssertionError("it did not come to pass")
