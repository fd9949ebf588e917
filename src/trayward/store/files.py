"""New files that are whole or not there at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from trayward.errors import BookError


@contextmanager
def new_file(target: Path) -> Iterator[Path]:
    """A file to write into, that becomes `target` when all went well. Refuses a target that is there already."""
    try:
        target.open("xb").close()
    except FileExistsError:
        raise BookError(f"{target}: there is something already. Name a file that does not exist.") from None
    except OSError as err:
        raise BookError(
            f"{target}: cannot be made ({err.strerror}). Name a file in a folder you may write to."
        ) from err
    handle, name = tempfile.mkstemp(dir=target.parent, prefix=target.name, suffix=".part")
    os.close(handle)
    part = Path(name)
    part.chmod(target.stat().st_mode)
    try:
        yield part
        part.replace(target)
        sync(target.parent)
    except BaseException as err:
        for left in (target, part, *(part.with_name(part.name + more) for more in ("-wal", "-shm", "-journal"))):
            left.unlink(missing_ok=True)
        if isinstance(err, OSError):
            raise BookError(f"{target}: cannot be written ({err.strerror}). Make room, or name another.") from err
        raise


def sync(path: Path) -> None:
    """Wait until the disk has it."""
    handle = os.open(path, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
