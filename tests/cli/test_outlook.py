"""The outlook typed: all trays, every recipe, one tray in full, and pictures of them."""

from __future__ import annotations

import re
import subprocess
import sys
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from tests.cli.lived import NOW, lived_through


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve weeks of Lantern Loft. Tests here only look."""
    return lived_through(tmp_path_factory.mktemp("lived") / "farm.sqlite")


@pytest.fixture
def loft(book: Path, tmp_path: Path) -> Typed:
    """A terminal at Lantern Loft after twelve weeks."""
    typed = Typed(tmp_path)
    typed.book, typed.now = book, NOW
    return typed


def rows_of(said: str) -> list[str]:
    """The rows of a table, between its rule and the first line that is none."""
    lines = said.splitlines()
    start = next(number for number, line in enumerate(lines) if line.startswith("──"))
    return lines[start + 1 :]


# All trays ------------------------------------------------------------------------------------------------------------


def test_trays_alike_share_a_row_with_their_stage_ready_day_and_weight(loft: Typed) -> None:
    said = loft("outlook")
    assert max(map(len, said.splitlines())) <= 80
    head = said.splitlines()[0]
    assert head.split() == ["Ready", "8", "in", "10", "Crop", "Trays", "A", "tray", "8", "in", "10"]
    told = loft.json("outlook")["trays"]
    assert {one["tray"] for one in told} == {"R22.1", "R22.2", "K22.1", "K22.2", "R23.1", "R23.2", "K23.1", "K23.2"}
    radish = next(row for row in rows_of(said) if "R22" in row)
    assert "L radish" in radish
    assert "R22.1-2" in radish


def test_rows_run_from_the_soonest_ready_to_the_last(loft: Typed) -> None:
    told = loft.json("outlook")["trays"]
    likely = {one["tray"]: one["ready"]["likely"] for one in told}
    named = re.findall(r"\b([RK]\d\d)\.1-2", loft("outlook"))
    assert named == sorted(named, key=lambda sowing: likely[f"{sowing}.1"])
    assert len(named) == 4


def test_what_weights_rest_on_is_said_for_few_crops(loft: Typed) -> None:
    said = " ".join(loft("outlook").split())
    assert "radish: 44 own trays cut in 22 sowings" in said
    assert "L light." in said


def test_a_loss_worth_saying_has_a_column_with_its_meaning(shelf: Typed) -> None:
    for name in ("M1", "M2"):
        shelf("sow", "broccoli", "--name", name)
        shelf("discard", f"{name}.1", "--reason", "mould")
    shelf("sow", "broccoli", "--name", "N1")
    (told,) = shelf.json("outlook")["trays"]
    assert told["loss"] > 0.05
    said = shelf("outlook")
    assert f"{told['loss'] * 100:.0f}" == rows_of(said)[0].split()[-1]
    assert "Lost: how many of 100 such trays are thrown away before the cut." in " ".join(said.split())


def test_a_sowing_asks_of_its_trays_only(loft: Typed) -> None:
    assert [one["tray"] for one in loft.json("outlook", "K23")["trays"]] == ["K23.1", "K23.2"]


# Every recipe ---------------------------------------------------------------------------------------------------------


def test_every_recipe_is_told_with_own_trays_against_the_priors_worth(loft: Typed) -> None:
    told = {one["crop"]: one for one in loft.json("outlook", "crops")["recipes"]}
    assert len(told) == 14
    assert told["radish"]["grams_basis"]["own_trays"] == 44
    assert told["basil"]["grams_basis"]["own_trays"] == 0
    row = next(row for row in rows_of(loft("outlook", "crops")) if row.startswith("radish"))
    own, prior = re.findall(r"\s(\d+)\s+(\d+\.\d)", row)[0]
    assert (own, prior) == ("44", f"{told['radish']['grams_basis']['prior_trays']:.1f}")
    basil = next(row for row in rows_of(loft("outlook", "crops")) if row.startswith("basil"))
    assert re.search(r"\s0\s+\d+\.\d", basil)


# One tray -------------------------------------------------------------------------------------------------------------


def test_one_tray_is_told_in_full_with_what_moves_it(loft: Typed) -> None:
    said = loft("outlook", "K23.1")
    assert said.startswith("Tray K23.1, kale on mesh mat: L light, sown Thu 19 Nov")
    assert max(map(len, said.splitlines())) <= 80
    head = next(line for line in said.splitlines() if line.startswith("Ends"))
    assert head.split() == ["Ends", "Likely", "Half", "8", "in", "10", "19", "of", "20"]
    told = loft.json("outlook", "K23.1")
    assert [one["tray"] for one in told["trays"]] == ["K23.1"]
    assert {"grams", "days"} == {reason["about"] for reason in told["reasons"]}
    plain = " ".join(said.split())
    assert all(" ".join(reason["words"].split()) in plain for reason in told["reasons"] if reason["words"])


def test_wider_ranges_hold_the_narrower_ones(loft: Typed) -> None:
    (told,) = loft.json("outlook", "K23.1")["trays"]
    for spread in (told["grams"], told["ready"]):
        ends = [*spread["most"], spread["low"], spread["high"], *spread["half"], spread["likely"]]
        low_most, high_most, low, high, low_half, high_half, likely = ends
        assert low_most <= low <= low_half <= likely <= high_half <= high <= high_most


def test_a_tray_that_is_ready_says_so_and_shows_no_days(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf("stage", "N1", "ready")
    assert "it is ready to cut." in " ".join(shelf("outlook", "N1").split())
    assert rows_of(shelf("outlook"))[0].startswith("now ")


def test_a_tray_only_proposed_is_told_in_full_from_the_lot_that_is_next(loft: Typed) -> None:
    assert loft("outlook", "--proposed", "kale").startswith("A tray of kale on mesh mat, sown now.")
    assert loft.json("outlook", "--proposed", "kale")["reasons"] == []


def test_a_name_nobody_knows_is_refused_with_the_way_out(loft: Typed) -> None:
    assert "See what stands with: trayward tray" in loft.refused("outlook", "Z9", code=2)
    assert "the farm has none of that name" in loft.refused("outlook", "--proposed", "tulip", code=2)


# Pictures -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("words", [[], ["crops"], ["K23.1"], ["K23"], ["--proposed", "kale"]], ids=" ".join)
def test_every_answer_can_be_looked_at(loft: Typed, words: list[str]) -> None:
    file = loft.folder / "seen.svg"
    said = loft("outlook", *words, "--picture", str(file), "--phone")
    assert said.splitlines()[-1].startswith("Picture saved:") or str(file) in said
    root = ET.fromstring(file.read_text(encoding="utf-8"))
    assert root.get("role") == "img"
    assert float((root.get("width") or "").removesuffix("pt")) == pytest.approx(390 * 72 / 96)
    assert loft.json("outlook", *words, "--picture", str(file))["picture"] == str(file)


def test_a_picture_of_another_kind_is_refused_before_the_book_is_opened(bare: Typed) -> None:
    said = bare.refused("outlook", "--picture", "seen.pdf", code=2)
    assert said == ("picture = seen.pdf: a picture is saved as PNG or SVG. Let its name end in .png or .svg: seen.png.")


def test_a_folder_that_is_not_there_is_refused(loft: Typed) -> None:
    said = loft.refused("outlook", "--picture", str(loft.folder / "nowhere" / "seen.png"), code=2)
    assert "Name a file in a folder you may write to." in said


def test_no_drawing_library_is_loaded_where_no_picture_is_wanted(loft: Typed) -> None:
    code = (
        "import sys; from trayward.cli.main import cli\n"
        f"cli.main(['outlook', '--book', {str(loft.book)!r}, '--at', {NOW!r}], standalone_mode=False)\n"
        "print([name for name in ('matplotlib', 'scipy') if name in sys.modules], file=sys.stderr)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stderr.strip() == "[]"
