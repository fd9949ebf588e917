"""How the checks are run: in order, some beside what comes next, all stopped by the first that does not hold."""

from __future__ import annotations

import sys
from queue import SimpleQueue

import pytest

from tools.check import Running, Step, all_hold

HOLDS = "print('all well')"
FAILS = "import sys; print('one thing is wrong'); sys.exit(1)"
LONG = "import time; time.sleep(600)"


def begun(ended: SimpleQueue[Running], name: str, program: str) -> Running:
    return Running(Step(name, f"that {name} holds", (sys.executable, "-c", program)), [], ended)


def test_a_check_is_waited_for_while_those_beside_it_go_on(capfd: pytest.CaptureFixture[str]) -> None:
    ended: SimpleQueue[Running] = SimpleQueue()
    going = [begun(ended, "types", LONG), begun(ended, "tests", HOLDS)]
    assert all_hold(going, ended, until=going[-1])
    assert [each.step.name for each in going] == ["types"]
    going[0].stop()
    assert "tests holds: ran no test" in capfd.readouterr().out


def test_what_does_not_hold_stops_the_rest_at_once_and_says_why(capfd: pytest.CaptureFixture[str]) -> None:
    ended: SimpleQueue[Running] = SimpleQueue()
    going = [begun(ended, "types", FAILS), begun(ended, "tests", LONG)]
    assert not all_hold(going, ended, until=going[-1])
    told = capfd.readouterr().out
    assert "one thing is wrong" in told
    assert "DOES NOT HOLD: that types holds" in told
    assert "make types" in told


def test_all_that_go_on_are_waited_for_at_the_end() -> None:
    ended: SimpleQueue[Running] = SimpleQueue()
    going = [begun(ended, "types", HOLDS), begun(ended, "layers", HOLDS)]
    assert all_hold(going, ended)
    assert going == []
