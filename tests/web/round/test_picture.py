"""A photo made fit to keep: upright, small, and silent about where it was taken."""

from __future__ import annotations

import io
import struct
import zlib

import pytest
from PIL import Image

from trayward.errors import InputError
from trayward.web.round.picture import LONGEST, MOST_PIXELS, as_kept

ORIENTATION = 0x0112
"""The EXIF tag for how a picture was held (Exif 2.3, table 4)."""


def written(picture: Image.Image, kind: str = "JPEG", **more: object) -> bytes:
    made = io.BytesIO()
    picture.save(made, kind, **more)
    return made.getvalue()


def read(kept: bytes) -> Image.Image:
    return Image.open(io.BytesIO(kept))


def half_and_half(width: int, height: int) -> Image.Image:
    """Red on the left, blue on the right."""
    made = Image.new("RGB", (width, height), (220, 20, 20))
    made.paste((20, 20, 220), (width // 2, 0, width, height))
    return made


def test_a_large_photo_is_made_small_and_keeps_its_shape() -> None:
    kept = read(as_kept(written(half_and_half(4000, 3000))))
    assert (kept.format, kept.size) == ("JPEG", (LONGEST, 1200))


def test_a_small_one_stays_as_large_as_it_is() -> None:
    assert read(as_kept(written(half_and_half(300, 400)))).size == (300, 400)


def test_a_photo_held_sideways_is_turned_upright() -> None:
    """Orientation 6: the phone was turned; what is left in the file is on top."""
    exif = Image.Exif()
    exif[ORIENTATION] = 6
    kept = read(as_kept(written(half_and_half(400, 200), exif=exif)))
    assert kept.size == (200, 400)
    top, bottom = kept.getpixel((100, 50)), kept.getpixel((100, 350))
    assert isinstance(top, tuple)
    assert isinstance(bottom, tuple)
    assert top[0] > 150 > top[2]
    assert bottom[2] > 150 > bottom[0]


def test_nothing_else_of_the_file_is_kept() -> None:
    exif = Image.Exif()
    exif[0x010F] = "Camera of Ada"  # the maker of the camera
    exif.get_ifd(0x8825)[2] = (52.0, 30.0, 0.0)  # where it stood: GPS latitude
    content = written(half_and_half(400, 200), exif=exif, comment=b"hidden") + b"<script>alert(1)</script>"
    kept = as_kept(content)
    assert b"Camera" not in kept
    assert b"hidden" not in kept
    assert b"script" not in kept
    assert dict(read(kept).getexif()) == {}


@pytest.mark.parametrize("kind", ["PNG", "WEBP"])
def test_other_pictures_of_a_phone_become_jpeg(kind: str) -> None:
    assert read(as_kept(written(half_and_half(60, 40), kind))).format == "JPEG"


@pytest.mark.parametrize("mode", ["RGBA", "LA", "P", "L", "1", "CMYK", "I;16"])
def test_every_way_to_hold_colours_is_read(mode: str) -> None:
    kind = "JPEG" if mode == "CMYK" else "PNG"
    assert read(as_kept(written(Image.new(mode, (30, 20)), kind))).mode == "RGB"


def test_what_can_be_seen_through_is_laid_on_white() -> None:
    pixel = read(as_kept(written(Image.new("RGBA", (30, 20), (0, 0, 0, 0)), "PNG"))).getpixel((5, 5))
    assert isinstance(pixel, tuple)
    assert min(pixel) > 250


@pytest.mark.parametrize(
    "content",
    [b"", b"hello", b"\xff\xd8\xff", b"GIF89a" + bytes(60), b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"%PDF-1.7"],
)
def test_what_is_no_picture_is_refused(content: bytes) -> None:
    with pytest.raises(InputError, match="it is no picture that can be read here"):
        as_kept(content)


def test_a_picture_cut_short_is_refused() -> None:
    whole = written(half_and_half(2000, 1000))
    with pytest.raises(InputError, match="it is no picture that can be read here"):
        as_kept(whole[: len(whole) // 2])


@pytest.mark.parametrize(("side", "told"), [(9_000, "60 million pixels"), (30_000, "no picture that can be read")])
def test_a_file_made_to_fill_the_memory_is_refused_before_it_is_read(side: int, told: str) -> None:
    """A PNG of 65 bytes that says how many pixels it has; beyond twice its own bound Pillow refuses by itself."""

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", side, side, 8, 2, 0, 0, 0)
    bomb = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(b"")) + chunk(b"IEND", b"")
    assert side**2 > MOST_PIXELS
    with pytest.raises(InputError, match=told):
        as_kept(bomb)
