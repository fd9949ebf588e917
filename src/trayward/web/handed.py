"""Files that a page hands out: a sheet to look at and print, a table or an archive to take along."""

from __future__ import annotations

import re

from starlette.responses import Response

PDF = "application/pdf"
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
CSV = "text/csv; charset=utf-8"
ZIP = "application/zip"
JSON_LINES = "application/x-ndjson"
TOML = "application/toml"


def file_headers(name: str, *, shown: bool = False) -> dict[str, str]:
    """
    What is said of a file along with it. It is not kept by a browser or on its way: the book moves on.

    Parameters
    ----------
    name : str
        Under what name it is saved; signs that do not belong in a file's name become hyphens.
    shown : bool
        Whether the browser shows it, instead of saving it at once.
    """
    how = "inline" if shown else "attachment"
    return {"Content-Disposition": f'{how}; filename="{file_name(name)}"', "Cache-Control": "no-store"}


def handed(content: bytes | str, kind: str, name: str, *, shown: bool = False) -> Response:
    """A whole file; words as UTF-8. See `file_headers`."""
    return Response(content, media_type=kind, headers=file_headers(name, shown=shown))


def file_name(name: str) -> str:
    """
    A name that any machine can save a file under: letters and figures of ASCII, full stops, hyphens, underscores.

    Examples
    --------
    >>> file_name("Salt & Copper, 3 trays.pdf")
    'Salt-Copper-3-trays.pdf'
    """
    return re.sub(r"[^A-Za-z0-9._-]+", "-", name)


def farm_file(farm: str) -> str:
    """A farm's name as the beginning of a file's name; `farm` where nothing of it can stand in one."""
    return re.sub(r"[^a-z0-9]", "-", farm.lower()).strip("-") or "farm"
