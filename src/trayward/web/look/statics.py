"""Files that browsers load beside the pages: each in an address that changes with them, so it may be kept for ever."""

from __future__ import annotations

import gzip
import hashlib
import posixpath
import re
from functools import cache, lru_cache
from pathlib import Path

import msgspec
from starlette.requests import Request
from starlette.responses import Response

KINDS = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webmanifest": "application/manifest+json",
    ".txt": "text/plain; charset=utf-8",
}
SQUEEZED = frozenset((".css", ".js", ".svg", ".webmanifest", ".txt"))
IMPORTS = re.compile(r'^import\b[^"]*"(\.[^"]+)";', re.MULTILINE)
"""What a module imports of ours: at the beginning of a line, by a relative path."""
FOR_EVER = "public, max-age=31536000, immutable"
ASK_FIRST = "no-cache"


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """A file in memory, as it is and squeezed."""

    kind: str
    plain: bytes
    squeezed: bytes | None


class Statics:
    """
    Every static file, read once.

    They stand together under one address that changes when any of them does, `/static/HASH/round/round.js`: a script
    may import its neighbours by relative paths.

    Parameters
    ----------
    folders : sequence of Path
        `web/static` and each feature's.
    """

    def __init__(self, folders: tuple[Path, ...]) -> None:
        self.files = dict(sorted(_read(folders).items()))
        whole = hashlib.sha256()
        for name, kept in self.files.items():
            whole.update(name.encode() + b"\0" + kept.plain + b"\0")
        self.hash = whole.hexdigest()[:12]

    def address(self, name: str) -> str:
        """Where a file is: `look.css`, `round/round.js`. Raises `KeyError` for one that is not there."""
        if name not in self.files:
            raise KeyError(f"There is no static file {name}")
        return f"/static/{self.hash}/{name}"

    @cache  # noqa: B019 - there is one for the life of the pages
    def needs(self, name: str) -> tuple[str, ...]:
        """Every module that a script imports, and they in turn, in the order they are met; without itself."""
        found: dict[str, None] = {}
        waiting = [name]
        while waiting:
            one = waiting.pop(0)
            for said in IMPORTS.findall(self.files[one].plain.decode()):
                there = posixpath.normpath(posixpath.join(posixpath.dirname(one), said))
                if there not in found and there != name:
                    found[there] = None
                    waiting.append(there)
        return tuple(found)

    def answer(self, request: Request, name: str, *, lasting: str) -> Response | None:
        """The file; None where there is none."""
        kept = self.files.get(name)
        if kept is None:
            return None
        headers = {"Content-Type": kept.kind, "Cache-Control": lasting, "Vary": "Accept-Encoding"}
        if kept.squeezed is not None and "gzip" in request.headers.get("accept-encoding", ""):
            return Response(kept.squeezed, headers=headers | {"Content-Encoding": "gzip"})
        return Response(kept.plain, headers=headers)


def _read(folders: tuple[Path, ...]) -> dict[str, Kept]:
    found: dict[str, Kept] = {}
    for folder in folders:
        for path in sorted(folder.rglob("*")):
            if path.suffix in KINDS and path.is_file():
                plain = path.read_bytes()
                squeezed = _squeezed(plain) if path.suffix in SQUEEZED else None
                found[path.relative_to(folder).as_posix()] = Kept(
                    kind=KINDS[path.suffix], plain=plain, squeezed=squeezed
                )
    return found


@lru_cache(maxsize=256)
def _squeezed(plain: bytes) -> bytes:
    """Squeezed as small as it gets, once for all pages of a process."""
    return gzip.compress(plain, 9, mtime=0)
