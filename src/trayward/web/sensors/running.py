"""Alarms told by a command of the machine: it is run for each, and never by way of a shell."""

from __future__ import annotations

import json
import os
import shlex
import shutil
import signal
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from trayward.errors import InputError
from trayward.farm.settings import FarmSettings

RUNS_S = 60.0
"""So long a command may take. [s]"""
SAID: Final = ("alarm", "farm", "title", "text", "do", "sensor", "place", "what", "trouble", "since", "until")
"""What is in the command's environment as `TRAYWARD_ALARM_...`; all of it comes as JSON on its standard input."""
SECRETS: Final = ("PASSWORD", "TOKEN", "SECRET")


class Command:
    """
    A command that is run for each alarm, and once more when it is over.

    It is what whoever starts the pages on this machine says, in an option or the environment. It is not in the book and
    no page sets it: whoever may write in a book, or sends one to be opened, could run anything here by it.

    Parameters
    ----------
    words : str
        The command with its arguments, quoted as in a shell; but no shell reads it, so that what a sensor is called or
        a farm's name can never be taken for a part of it.

    Raises
    ------
    InputError
        If there is no such command.
    """

    name, ready = "command", True

    def __init__(self, words: str, *, runs_s: float = RUNS_S) -> None:
        try:
            self._words = shlex.split(words)
        except ValueError as error:
            raise InputError(
                "alarm command", words[:40], f"it cannot be read ({error})", "Close its quotes."
            ) from error
        found = shutil.which(self._words[0]) if self._words else None
        if found is None:
            rule = "there is no such command that may be run here"
            raise InputError("alarm command", self._words[0] if self._words else "none", rule, "Give its whole path.")
        self._words[0], self._runs = found, runs_s

    @property
    def shown(self) -> str:
        """The command without its arguments: they may hold a secret."""
        return Path(self._words[0]).name

    def addressed(self, settings: FarmSettings, say: Callable[[str], Callable[[str], str]]) -> None:
        """It tells whom it tells."""

    def send(self, told: dict[str, Any]) -> str:
        """Run it once; what was wrong, in words, or nothing."""
        ours = {f"TRAYWARD_ALARM_{key.upper()}": str(told.get(key) or "") for key in SAID}
        ours["TRAYWARD_ALARM_OVER"] = "1" if told["over"] else ""
        own = {key: value for key, value in os.environ.items() if not any(word in key.upper() for word in SECRETS)}
        try:
            running = subprocess.Popen(
                self._words, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
                env=own | ours, start_new_session=True,
            )  # fmt: skip
        except OSError as error:
            return f"it could not be run ({error.strerror})"
        try:
            _, said = running.communicate(json.dumps(told).encode(), timeout=self._runs)
        except subprocess.TimeoutExpired:
            _end(running)
            return f"it took longer than {self._runs:g} s"
        if running.returncode == 0:
            return ""
        lines = said.decode(errors="replace").strip().splitlines()
        return f"it ended with {running.returncode}" + (f": {lines[-1][:200]}" if lines else "")


def _end(running: subprocess.Popen[bytes]) -> None:
    """End it with all that it began."""
    try:
        os.killpg(running.pid, signal.SIGKILL)
    except (OSError, AttributeError):
        running.kill()
    running.communicate()
