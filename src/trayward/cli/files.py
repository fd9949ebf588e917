"""Saving what a command made to a file: one rule for all of them.

A file of that name is replaced, whole or not at all, if its name ends as its kind does: what was printed this morning
makes room for what is printed now, and a slip never lands on the book. A folder must be a new one, so that nothing of
another day lies among what is in it; so must a file for other programs, which is handed on as it is.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path

from trayward.errors import InputError

OVER = "over an older one"
"""How the help of an option says it."""


def file_named(file: str | Path, *kinds: str, name: str = "file") -> Path:
    """
    Where something of a kind is to be saved; asked before it is worked out.

    Parameters
    ----------
    file : str or Path
        As it was typed.
    *kinds : str
        Endings it may have: `.pdf`, `.csv`.
    name : str
        The option's.

    Raises
    ------
    InputError
        If it ends otherwise.
    """
    path = Path(file)
    if path.suffix.lower() not in kinds:
        rule = f"its name must end in {' or '.join(kinds)}"
        raise InputError(name, str(file), rule, f"For instance {path.stem or 'saved'}{kinds[0]}.")
    return path


def save(path: Path, content: bytes, *, name: str = "file") -> None:
    """Write a file over an older one of that name, whole or not at all."""
    try:
        write_whole(path, content)
    except OSError as error:
        raise _cannot(name, path, error) from error


def write_whole(path: Path, content: bytes) -> None:
    """The same for what nobody named: a disk that refuses is the caller's matter."""
    part = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        part.write_bytes(content)
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def save_new(path: Path, pieces: Iterable[bytes], *, name: str = "out") -> int:
    """Write a new file, a piece at a time, and say its size; an old one is left alone, half a one is taken away. [B]"""
    try:
        with path.open("xb") as out:
            try:
                return sum(out.write(piece) for piece in pieces)
            except BaseException:
                path.unlink(missing_ok=True)
                raise
    except FileExistsError as error:
        raise _there_already(name, path, "Choose another name.") from error
    except OSError as error:
        raise _cannot(name, path, error) from error


def save_folder(folder: str | Path, files: Mapping[str, bytes], *, name: str = "out") -> None:
    """Write files into a new folder."""
    path = Path(folder)
    try:
        path.mkdir(parents=True)
        for each, content in files.items():
            (path / each).write_bytes(content)
    except FileExistsError as error:
        raise _there_already(name, path, "Name a new folder.") from error
    except OSError as error:
        raise _cannot(name, path, error) from error


def _there_already(name: str, path: Path, remedy: str) -> InputError:
    return InputError(name, str(path), "there is one of that name already", remedy)


def _cannot(name: str, path: Path, error: OSError) -> InputError:
    return InputError(name, str(path), f"it cannot be written ({error.strerror})", "Choose another place.")
