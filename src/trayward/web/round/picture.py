"""A photo from a phone made fit to keep: known for what it is, upright, small, and silent about where it was taken.

What comes is not trusted: neither its name nor its kind, only what Pillow reads. It is drawn anew, so that nothing else
of the file is kept: no place, no camera, no hidden part.
"""

from __future__ import annotations

import io
import warnings
from typing import TYPE_CHECKING

from trayward.errors import InputError

if TYPE_CHECKING:
    from PIL import Image

LONGEST = 1600
"""Pixels of the longer side of a photo as it is kept."""
QUALITY = 82
MOST_PIXELS = 60_000_000
"""More are no phone's photo but a file made to fill the memory. A phone of today makes up to 50 million."""
FORMATS = ("JPEG", "PNG", "WEBP")
"""All that is read; of a JPEG with a second picture behind it, as many phones make, the first is."""
NO_PICTURE = "it is no picture that can be read here"
TAKE_JPEG = "Take a JPEG, PNG or WebP picture."
OF_PHONES = {b"heic": "HEIC", b"heix": "HEIC", b"hevc": "HEIC", b"mif1": "HEIC", b"msf1": "HEIC", b"avif": "AVIF"}
"""Kinds of picture that some phones take (ISO/IEC 23008-12, brands from memory), by the brand behind `ftyp`."""
NOT_HERE = "it is a kind of picture that is not read here"
MOST_COMPATIBLE = "Set the phone's camera to JPEG (most compatible), or send a screenshot of the picture."


def as_kept(content: bytes) -> bytes:
    """
    A picture as it is kept: JPEG, upright, its longer side at most 1600 px, without anything else the file held.

    Parameters
    ----------
    content : bytes
        The file as it came.

    Raises
    ------
    InputError
        If it is no picture, or far too large.
    """
    from PIL import Image, ImageOps, UnidentifiedImageError

    kind = OF_PHONES.get(content[8:12], "") if content[4:8] == b"ftyp" else ""
    if kind:
        raise InputError("photo", kind, NOT_HERE, MOST_COMPATIBLE)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(content), formats=FORMATS) as picture:
                _require_small(picture.size)
                # A JPEG is read at a fraction of its size where that is enough.
                picture.draft("RGB", (LONGEST, LONGEST))
                upright = ImageOps.exif_transpose(picture)
                plain = _on_white(upright)
                plain.thumbnail((LONGEST, LONGEST), Image.Resampling.LANCZOS)
                plain.info.clear()  # Pillow would write comments and the like again
                kept = io.BytesIO()
                plain.save(kept, "JPEG", quality=QUALITY, optimize=True)
    except InputError:
        raise
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError, SyntaxError, EOFError) as error:
        raise InputError("photo", f"{len(content)} bytes", NO_PICTURE, TAKE_JPEG) from error
    return kept.getvalue()


def _require_small(size: tuple[int, int]) -> None:
    width, height = size
    if width * height > MOST_PIXELS or min(width, height) < 1:
        rule = f"it may have {MOST_PIXELS // 1_000_000} million pixels"
        raise InputError("photo", f"{width} x {height}", rule, "Take a smaller picture.", "px")


def _on_white(picture: Image.Image) -> Image.Image:
    """What can be seen through is laid on white paper; JPEG knows no such thing."""
    from PIL import Image

    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        seen = picture.convert("RGBA")
        paper = Image.new("RGB", seen.size, "white")
        paper.paste(seen, mask=seen.getchannel("A"))
        return paper
    return picture.convert("RGB")
