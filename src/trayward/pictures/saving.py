"""Saving a picture: PNG or SVG, byte for byte the same for the same figures."""

from __future__ import annotations

import io
from html import escape
from pathlib import Path
from typing import Any

from trayward.errors import InputError
from trayward.pictures.look import GROUND
from trayward.pictures.page import FONT, SETTINGS, Picture

KINDS = (".png", ".svg")
FALLBACK = "Verdana, sans-serif"
"""Faces of about the same width, for screens that lack ours."""


def require_kind(path: Path | str) -> Path:
    """
    The path, if a picture can be saved under such a name; asked before anything is worked out.

    Raises
    ------
    InputError
        If its ending is neither `.png` nor `.svg`.
    """
    target = Path(path)
    if target.suffix.lower() not in KINDS:
        rule = "a picture is saved as PNG or SVG"
        raise InputError("picture", path, rule, f"Let its name end in .png or .svg: {target.stem or 'picture'}.png.")
    return target


def save(picture: Picture, path: Path | str) -> Path:
    """
    Save a picture, over an older one of that name.

    Raises
    ------
    InputError
        If the ending is neither `.png` nor `.svg`, or nothing can be written there.
    """
    target = require_kind(path)
    content = as_png(picture) if target.suffix.lower() == ".png" else as_svg(picture).encode()
    try:
        target.write_bytes(content)
    except OSError as error:
        rule = f"it cannot be written ({error.strerror})"
        raise InputError("picture", path, rule, "Name a file in a folder you may write to.") from error
    return target


def as_png(picture: Picture) -> bytes:
    """A picture in dots."""
    return _written(picture, "png", dpi=picture.size.dpi, metadata={"Software": None, "Title": picture.title})


def as_svg(picture: Picture) -> str:
    """A picture in lines and words, with a title and its figures for those who have it read out."""
    text = _written(picture, "svg", metadata={"Date": None, "Creator": None}).decode()
    text = text.replace(f"'{FONT}'", f"'{FONT}', {FALLBACK}")
    head, _, rest = text[text.index("<svg") :].partition(">")
    told = (
        f'{head} role="img" aria-labelledby="title desc">\n <title id="title">{escape(picture.title)}</title>\n'
        f' <desc id="desc">{escape("; ".join(picture.words))}</desc>'
    )
    return "\n".join(line.rstrip() for line in f"{told}{rest}".splitlines()) + "\n"


def _written(picture: Picture, kind: str, **settings: Any) -> bytes:
    import matplotlib
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    canvas = FigureCanvasSVG if kind == "svg" else FigureCanvasAgg
    target = io.BytesIO()
    with matplotlib.rc_context(SETTINGS):
        canvas(picture.figure)
        picture.figure.savefig(target, format=kind, facecolor=GROUND, **settings)
    return target.getvalue()
