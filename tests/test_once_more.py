"""A second try is for tests that drive another program alone, whatever phase failed, and it is never kept quiet."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]

UNSTEADY = """
import pathlib
import pytest

SEEN = pathlib.Path(__file__).parent

def nth(name):
    count = len(list(SEEN.glob(name + ".*"))) + 1
    (SEEN / f"{name}.{count}").touch()
    return count

@pytest.fixture(scope="session")
def shared():
    nth("shared")
    yield

@pytest.fixture
def rough_start():
    assert nth("start") > 1, "no start"

@pytest.fixture
def rough_end():
    yield
    assert nth("end") > 1, "no end"

@pytest.mark.drives
def test_call(shared, tmp_path):
    assert nth("call") > 1, "no call"

@pytest.mark.drives
def test_start(shared, rough_start):
    pass

@pytest.mark.drives
def test_end(shared, rough_end):
    pass

def test_plain(shared):
    assert nth("plain") > 1, "no second try for this"

@pytest.mark.drives
def test_broken(shared):
    nth("broken")
    assert False, "broken for good"

@pytest.mark.drives
def test_steady(shared):
    nth("steady")
"""


@pytest.mark.parametrize("words", [[], ["-n", "1"]], ids=["alone", "on a worker"])
def test_what_drives_a_program_is_tried_twice_and_named_and_nothing_else_is(tmp_path: Path, words: list[str]) -> None:
    (tmp_path / "test_unsteady.py").write_text(UNSTEADY, encoding="utf-8")
    (tmp_path / "pytest.ini").write_text("[pytest]\nmarkers = drives\nfilterwarnings = error\n", encoding="utf-8")
    command = [sys.executable, "-m", "pytest", "-p", "tests.once_more", "-ra", "-p", "no:cacheprovider", *words]
    ran = subprocess.run(
        [*command, f"--rootdir={tmp_path}", str(tmp_path)], cwd=ROOT, capture_output=True, text=True, timeout=120
    )
    told = ran.stdout
    assert ran.returncode == 1, told + ran.stderr
    assert "2 failed, 4 passed, 4 tried again" in told
    again = told.partition("these are unsteady")[2]
    for line in (
        "::test_call (call): AssertionError: no call",
        "::test_start (setup): AssertionError: no start",
        "::test_end (teardown): AssertionError: no end",
        "::test_broken (call): AssertionError: broken for good",
    ):
        assert line in again
    assert "test_plain" not in again.partition("short test summary")[0]
    tries = {each.stem: len(list(tmp_path.glob(f"{each.stem}.*"))) for each in tmp_path.glob("*.1")}
    assert tries == {"call": 2, "start": 2, "end": 2, "plain": 1, "broken": 2, "steady": 1, "shared": 1}
