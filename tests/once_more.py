"""
Tests that drive another program get a second try, and every one that needed it is named at the end.

A browser, a broker or a process of our own is at the mercy of the machine that it shares: such tests carry the mark
`drives`. If one fails, in whatever phase, all it set up is taken down and it is run once more; the second try counts.
Tests without the mark have one try.
"""

from __future__ import annotations

import pytest
from _pytest.runner import runtestprotocol

MARK = "drives"
AGAIN = "tried again"


@pytest.hookimpl(tryfirst=True)
def pytest_runtest_protocol(item: pytest.Item, nextitem: pytest.Item | None) -> bool | None:
    """Run a marked test, and once more if it failed; all others run as pytest runs them."""
    if item.get_closest_marker(MARK) is None or item.config.getoption("usepdb"):
        return None
    item.ihook.pytest_runtest_logstart(nodeid=item.nodeid, location=item.location)
    reports = runtestprotocol(item, nextitem=nextitem, log=False)
    failed = [report for report in reports if report.failed]
    if failed:
        # The words of the first failure go along: whoever reads the summary wants to know what it was.
        first = failed[0]
        first.outcome = AGAIN  # type: ignore[assignment]
        item.ihook.pytest_runtest_logreport(report=first)
        reports = runtestprotocol(item, nextitem=nextitem, log=False)
    for report in reports:
        item.ihook.pytest_runtest_logreport(report=report)
    item.ihook.pytest_runtest_logfinish(nodeid=item.nodeid, location=item.location)
    return True


def pytest_report_teststatus(report: pytest.TestReport) -> tuple[str, str, tuple[str, dict[str, bool]]] | None:
    """How a first try that failed is counted and shown."""
    return (AGAIN, "A", ("TRIED AGAIN", {"yellow": True})) if report.outcome == AGAIN else None


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name every test that needed a second try, and what went wrong in the first."""
    needed = terminalreporter.stats.get(AGAIN, [])
    if needed:
        terminalreporter.section("tried again: these are unsteady, find out why", yellow=True)
    for report in needed:
        terminalreporter.write_line(f"{report.nodeid} ({report.when}): {_told(report)}")


def _told(report: pytest.TestReport) -> str:
    crash = getattr(report.longrepr, "reprcrash", None)
    words = crash.message if crash is not None else report.longreprtext
    return words.strip().partition("\n")[0][:200]
