"""A reader whose commands come from a process that has loaded Trayward: each a quarter of a second sooner."""

from __future__ import annotations

import os
import shlex
import sys
from pathlib import Path

from tests.forked import from_one_that_has_loaded
from tools.pages import REFUSED, Reader

SHELL = frozenset("|&;<>()$`*?~#")
"""What is the shell's to understand."""


class QuickReader(Reader):
    """
    A reader that starts a new process for each command, as a shell does, but from one where all modules are loaded.

    What a command reads of its surroundings, where it stands and where its words go is as in a shell. The first command
    of a page, and whatever is not `trayward` alone, is typed into a real shell all the same.
    """

    def __init__(self, folder: Path, **said: str) -> None:
        super().__init__(folder, **said)
        self._begun = False

    def type(self, command: str) -> tuple[bool, str] | None:
        """As a reader in a shell would find it."""
        plain = command.removesuffix(REFUSED)
        words = shlex.split(plain)
        if not self._begun or words[0] != "trayward" or SHELL & set(plain):
            self._begun = self._begun or words[0] == "trayward"
            return super().type(command)
        answer = self.folder.parent / f"{self.folder.name}.answer"
        process = from_one_that_has_loaded().Process(
            target=_typed, args=(words, str(self.folder), self.around, str(answer))
        )
        process.start()
        process.join()
        return (process.exitcode != 0) == command.endswith(REFUSED), answer.read_text(encoding="utf-8")


def _typed(words: list[str], folder: str, around: dict[str, str], answer: str) -> None:
    """One command, in a process of its own."""
    os.environ.clear()
    os.environ.update(around)
    os.chdir(folder)
    with Path(answer).open("wb", buffering=0) as file:
        os.dup2(file.fileno(), 1)
        os.dup2(file.fileno(), 2)
    # Anew, as an interpreter that begins would have them before a pipe.
    sys.stdout = open(1, "w", encoding="utf-8", closefd=False)  # noqa: SIM115 - for the life of the process
    sys.stderr = open(2, "w", encoding="utf-8", closefd=False, buffering=1)  # noqa: SIM115
    sys.argv = words

    from trayward.cli.main import main

    main()
