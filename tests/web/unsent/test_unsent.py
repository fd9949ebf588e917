"""The page of what a device keeps, the page for pages that need a signal, and what a phone's first screen wants."""

from __future__ import annotations

import json
import re
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image

from tests.web.conftest import Pages, words_of
from tools.icons import STATIC, icon
from trayward.web.guard import OnePerson, People


class Nobody(OnePerson):
    """A farm with people, and a stranger who asks."""

    def anyone(self) -> bool:
        return True

    def who(self, request: object) -> None:
        return None


@pytest.fixture
def people(request: pytest.FixtureRequest) -> People | None:
    return Nobody() if "stranger" in request.node.name else None


def test_the_page_of_what_is_kept_has_its_parts(pages: Pages) -> None:
    words = words_of(pages.get("/unsent"))
    for part in ("On this device", "Not sent yet", "Not accepted", "Sent today", "Taken back and dropped"):
        assert part in words


def test_the_page_for_pages_that_need_a_signal_names_nobody(pages: Pages) -> None:
    found = pages.get("/unsent/away")
    assert "This page needs a signal" in words_of(found)
    assert "grower" not in found.text
    assert 'data-who=""' in found.text


def test_a_stranger_sees_only_the_page_that_names_nobody(pages: Pages) -> None:
    assert pages.get("/unsent").status_code == 401
    assert pages.get("/unsent/away").status_code == 200
    assert pages.get("/manifest.webmanifest").status_code == 200


def test_the_manifest_leads_to_icons_of_the_sizes_it_says(pages: Pages) -> None:
    told = pages.get("/manifest.webmanifest")
    assert told.headers["content-type"] == "application/manifest+json"
    manifest = json.loads(told.text)
    assert (manifest["start_url"], manifest["scope"], manifest["display"]) == ("/", "/", "standalone")
    uses = set()
    for drawn in manifest["icons"]:
        found = pages.get(drawn["src"])
        assert found.headers["content-type"] == drawn["type"]
        uses.add(drawn["purpose"])
        if drawn["type"] == "image/png":
            width, height = Image.open(BytesIO(found.content)).size
            assert drawn["sizes"] == f"{width}x{height}"
    assert uses == {"any", "maskable"}


def test_every_page_leads_to_the_manifest_and_has_the_words_of_the_scripts(pages: Pages) -> None:
    for path in ("/", "/about", "/unsent"):
        shown = pages.get(path).text
        assert 'rel="manifest"' in shown
        assert 'id="kept-words"' in shown


def test_the_words_have_their_gaps_for_the_scripts_to_fill(pages: Pages) -> None:
    shown = pages.get("/about").text
    for name, gap in (
        ("unsent", "{n}"),
        ("refused", "{n}"),
        ("waits-for", "{who}"),
        ("as-of", "{time}"),
        ("slow", "{time}"),
    ):
        found = re.search(f'data-{name}="([^"]*)"', shown)
        assert found is not None
        assert gap in found[1], name


def test_scripts_ask_for_no_word_that_is_not_there(pages: Pages) -> None:
    shown = pages.get("/about").text
    there = set(re.findall(r'data-([\w-]+)="', shown[shown.index('id="kept-words"') :]))
    asked: set[str] = set()
    for path in Path(STATIC).glob("*.js"):
        script = path.read_text(encoding="utf-8")
        asked |= set(re.findall(r'\bwords\("([\w-]+)"', script))
        asked |= {f"{name}-{many}" for name in re.findall(r'\bcounted\("([\w-]+)"', script) for many in ("one", "many")}
    assert asked
    assert asked <= there


def test_the_worker_is_told_its_files_and_may_keep_every_page(pages: Pages) -> None:
    told = pages.get("/sw.js")
    first = told.text.split("\n", 1)[0]
    files = json.loads(first.removeprefix("const TRAYWARD = ").removesuffix(";"))
    for name in ("kept.js", "moments.js", "send.js", "queue.js", "unsent/unsent.js"):
        assert name in files["files"]
    assert told.headers["cache-control"] == "no-cache"


@pytest.mark.parametrize("name", ["180", "192", "512", "mask"])
def test_the_icons_are_the_ones_that_the_tool_draws(name: str) -> None:
    kept = Image.open(STATIC / f"icon-{name}.png").convert("RGB")
    share = {"180": 0.82, "mask": 0.62}.get(name, 0.9)
    drawn = icon(kept.width, share=share)
    pairs = zip(kept.resize((32, 32)).tobytes(), drawn.resize((32, 32)).tobytes(), strict=True)
    assert max(abs(one - other) for one, other in pairs) <= 16, "draw them anew: python tools/icons.py"


def test_a_maskable_icon_keeps_its_drawing_within_the_circle_that_phones_cut() -> None:
    image = icon(256, share=0.62)
    paper = image.getpixel((0, 0))
    outside = [
        (x, y)
        for x in range(256)
        for y in range(256)
        if (x - 127.5) ** 2 + (y - 127.5) ** 2 > (0.4 * 256) ** 2 and image.getpixel((x, y)) != paper
    ]
    assert not outside
