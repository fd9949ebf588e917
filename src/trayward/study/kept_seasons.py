"""Seasons of a study, kept one by one in a folder, so that a study that was broken off goes on where it stopped."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterable
from functools import cache
from pathlib import Path

import msgspec

from trayward.errors import InputError
from trayward.study.types import SeasonResult, SeasonTask

SEASONS, MARK = "seasons.jsonl", "study.json"
PACKAGE = Path(__file__).resolve().parents[1]
BESIDE_THE_POINT = (
    "cli", "pictures", "study/demo.py", "study/figures.py", "study/goals.py", "study/honesty.py",
    "study/kept_seasons.py", "study/reliability.py", "study/report.py", "study/running",
)  # fmt: skip
"""What may change without changing what comes of a season."""


class Mark(msgspec.Struct, frozen=True, kw_only=True):
    """What seasons came from: the world's own file, where it is none of the shipped, and the program."""

    world: str
    program: str


@cache
def program_mark() -> str:
    """A short word that is another as soon as anything is that a season may depend on."""
    found = hashlib.sha256()
    for path in sorted(path for path in PACKAGE.rglob("*") if path.suffix in (".py", ".toml", ".json")):
        name = path.relative_to(PACKAGE).as_posix()
        if not name.startswith(BESIDE_THE_POINT):
            found.update(f"{name}\0".encode() + path.read_bytes() + b"\0")
    return found.hexdigest()[:16]


def mark_of(world: str) -> Mark:
    """
    What a season of a world lived now would come from.

    Raises
    ------
    NotFoundError, SetupError, InputError
        If there is no such world, or its file cannot be used.
    """
    from trayward.study.world_file import world_named

    found = world_named(world)
    if not world.endswith(".toml"):
        return Mark(world=world, program=program_mark())
    told = Path(world).read_bytes() + msgspec.json.encode(found.setup_bodies())
    return Mark(world=hashlib.sha256(told).hexdigest()[:16], program=program_mark())


class KeptSeasons:
    """
    A folder with one line of JSON for each season, written as soon as it is over.

    Parameters
    ----------
    folder : Path
        Made if it is not there.
    mark : Mark
        What the seasons come from.

    Raises
    ------
    InputError
        If the folder holds seasons that came from something else, or nothing can be written there.
    """

    def __init__(self, folder: Path, mark: Mark) -> None:
        self.folder, self.path = folder, folder / SEASONS
        try:
            folder.mkdir(parents=True, exist_ok=True)
            self._require(mark)
            self._end_torn_line()
        except OSError as error:
            rule = f"it cannot be used ({error.strerror})"
            raise InputError("folder", folder, rule, "Name a folder you may write to.") from error

    def _require(self, mark: Mark) -> None:
        """Seasons of two worlds or of two states of the program must never stand in one study."""
        path = self.folder / MARK
        if not path.exists():
            path.write_bytes(msgspec.json.encode(mark))
            return
        if path.read_bytes() != msgspec.json.encode(mark):
            rule = "it holds seasons of another world, or of another state of the program, and they cannot be mixed"
            raise InputError("folder", self.folder, rule, "Name another folder.")

    def _end_torn_line(self) -> None:
        """A line that was being written when the power went is left as it is; the next begins on a line of its own."""
        if self.path.exists() and (content := self.path.read_bytes()) and not content.endswith(b"\n"):
            with self.path.open("ab") as file:
                file.write(b"\n")

    def found(self, tasks: Iterable[SeasonTask]) -> dict[SeasonTask, SeasonResult]:
        """Those of the seasons that are here already."""
        if not self.path.exists():
            return {}
        wanted, found = set(tasks), {}
        for line in self.path.read_bytes().splitlines():
            try:
                result = msgspec.json.decode(line, type=SeasonResult)
            except (msgspec.DecodeError, UnicodeDecodeError):
                continue
            if result.task in wanted:
                found[result.task] = result
        return found

    def keep(self, result: SeasonResult) -> None:
        """Write a season down, and do not go on before it is on the disk."""
        with self.path.open("ab") as file:
            file.write(msgspec.json.encode(result) + b"\n")
            file.flush()
            os.fsync(file.fileno())
