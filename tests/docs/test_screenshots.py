"""The README's pictures: small, all there, and shown with words for who does not see them."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from PIL import Image

from tools.screenshots import FOLDER, MOST_BYTES, SHARP, SIZES, main, missing, names, small_png

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize("name", names())
def test_every_picture_is_there_small_and_of_its_size(name: str) -> None:
    path = FOLDER / name
    assert path.stat().st_size <= MOST_BYTES
    wide = name.removesuffix(".png").rpartition("-")[2]
    with Image.open(path) as picture:
        assert picture.mode == "P"
        assert picture.size == tuple(SHARP[wide] * each for each in SIZES[wide])


def test_no_picture_is_left_that_nobody_makes() -> None:
    assert {path.name for path in FOLDER.iterdir()} == set(names())


def test_the_readme_shows_pictures_with_words() -> None:
    shown = re.findall(r"!\[([^\]]*)\]\(docs/pictures/([^)]+)\)", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(shown) == 4
    assert all(len(words) > 40 and name in names() for words, name in shown)


def photo() -> bytes:
    """Colours enough to weigh something: each pixel of its own."""
    picture = Image.new("RGB", (200, 200))
    picture.putdata([(x, y, (x * y) % 256) for y in range(200) for x in range(200)])
    kept = io.BytesIO()
    picture.save(kept, "PNG")
    return kept.getvalue()


def test_a_picture_gets_fewer_colours_until_it_fits() -> None:
    many = small_png(photo())
    few = small_png(photo(), len(many) - 1)
    assert len(few) < len(many)
    colours = [len(Image.open(io.BytesIO(png)).getcolors() or ()) for png in (many, few)]
    assert colours[1] < colours[0] <= 128


def test_a_picture_that_never_fits_is_refused() -> None:
    with pytest.raises(ValueError, match=r"with 16 colours: at most 100\. Show less of the page"):
        small_png(photo(), 100)


def test_to_check_says_whether_they_can_be_made_and_makes_none(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["--check", "--folder", str(tmp_path / "none")]) == (1 if missing() else 0)
    said = capsys.readouterr().out
    assert "Chromium" in said or "10 pictures can be made" in said
    assert not (tmp_path / "none").exists()
