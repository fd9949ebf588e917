"""Two asks never wait for each other over a value that each works out for itself."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from trayward.web.ask import Ask
from trayward.web.once import once


class Counted:
    """Works a value out, when told that it may."""

    def __init__(self, go: Event, begun: Event) -> None:
        self.go, self.begun, self.made = go, begun, 0

    @once
    def value(self) -> int:
        """How often it was worked out."""
        self.begun.set()
        assert self.go.wait(5), "nobody let it go on"
        self.made += 1
        return self.made


def test_one_that_waits_does_not_hold_up_another_of_its_kind() -> None:
    """As an ask that waits for the farm, and one that has it: Python 3.11's cached_property would wait for ever."""
    late, ready = Event(), Event()
    ready.set()
    begun = Event()
    first, second = Counted(late, begun), Counted(ready, Event())
    with ThreadPoolExecutor(2) as pool:
        waiting = pool.submit(lambda: first.value)
        assert begun.wait(5)
        assert pool.submit(lambda: second.value).result(5) == 1
        late.set()
        assert waiting.result(5) == 1


def test_it_is_worked_out_once() -> None:
    ready = Event()
    ready.set()
    one = Counted(ready, Event())
    assert [one.value, one.value] == [1, 1]
    assert Counted.value.__doc__ == "How often it was worked out."


@pytest.mark.parametrize("name", ["at", "zone", "today", "units", "form", "query", "tongue", "key"])
def test_what_an_ask_keeps_is_kept_that_way(name: str) -> None:
    assert isinstance(Ask.__dict__[name], once)
