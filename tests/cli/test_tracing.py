"""Tracing and recalls typed at a terminal."""

from __future__ import annotations

import csv
import io

import pytest

from tests.cli.conftest import Typed
from tests.paper.seen import text_of
from trayward.codes.lot import coded


@pytest.fixture
def sold(bare: Typed) -> Typed:
    """A farm whose tray was cut and went to a customer, loose."""
    bare("init", "--setup", "loft", "--at", "2026-11-01 07:00")
    bare(
        "seed",
        "receive",
        "SEED-7",
        "broccoli",
        "500 g",
        "--germination",
        "92 %",
        "--tsw",
        "3.3 g",
        "--at",
        "2026-11-01 08:00",
    )
    bare("order", "customer", "Corner Cafe", "--at", "2026-11-01 08:00")
    bare("sow", "broccoli", "--trays", "1", "--lot", "SEED-7", "--at", "2026-11-12 08:00", "--sure")
    bare("stage", "261112A", "ready", "--at", "2026-11-24 08:00", "--sure")
    bare("cut", "261112A.1=200g", "--at", "2026-11-24 09:00", "--sure")
    bare("order", "add", "Corner Cafe", "2026-11-25", "150 g broccoli", "--at", "2026-11-24 09:30")
    bare("deliver", "Corner Cafe", "--at", "2026-11-25 07:00", "--sure")
    return bare


def test_trace_tells_the_way_from_seed_to_customer(sold: Typed) -> None:
    said = sold("trace", coded("H261124A"))
    for word in (
        "Seed lots: 1",
        "Corner Cafe",
        "200 g cut = 150 g loose to customers + 50 g in the cold room",
        "Everything adds up.",
    ):
        assert word in said
    found = sold.json("trace", "H261124A", "--back")
    assert [step["kind"] for step in found["steps"]] == ["lot", "sowing", "tray", "harvest"]


def test_a_trace_is_saved_as_a_sheet_and_never_under_a_name_of_another_kind(sold: Typed) -> None:
    target = sold.folder / "trace.csv"
    sold("trace", "SEED-7", "--csv", str(target))
    rows = list(csv.reader(io.StringIO(target.read_text("utf-8-sig"))))
    assert ["harvest lot", "H261124A", coded("H261124A")] in [row[:3] for row in rows]
    book = sold.folder / "lantern-loft.sqlite"
    assert "must end in .csv" in sold.refused("trace", "SEED-7", "--csv", str(book), code=2)


def test_a_slip_in_a_code_is_named(sold: Typed) -> None:
    check = coded("H261124A")[-1]
    said = sold.refused("trace", f"H261142A-{check}", code=2)
    assert f"likely changed places: H261124A-{check}" in " ".join(said.split())


def test_a_recall_names_the_customer_and_the_way_to_reach_them_and_is_kept(sold: Typed) -> None:
    sold("contact", "Corner Cafe", "--phone", "+1 0100 123", "--person", "Kim")
    sheet = sold.folder / "call.csv"
    said = sold("recall", "H261124A", "--csv", str(sheet))
    assert "+1 0100 123" in said
    assert "100 % of 200 g cut is accounted for" in said
    assert "defer to local codes" in " ".join(said.split())
    (row,) = list(csv.DictReader(io.StringIO(sheet.read_text("utf-8-sig"))))
    assert (row["customer"], row["telephone"], row["grams"]) == ("Corner Cafe", "+1 0100 123", "150")
    kept = sold(
        "recall",
        "H261124A",
        "--keep",
        "--began",
        "2026-11-25 07:20",
        "--reason",
        "exercise",
        "--reached",
        "Corner Cafe",
    )
    assert "1 of 1 customer reached" in " ".join(kept.split())
    assert "10 min" in " ".join(kept.split())
    assert "exercise R261125A" in " ".join(sold("recall").split())


def test_a_recall_is_saved_for_the_printer_before_and_after_it_was_kept(sold: Typed) -> None:
    target = sold.folder / "recall.pdf"
    said = sold("recall", "H261124A", "--pdf", str(target), "--began", "2026-11-25 07:20")
    assert "recall.pdf" in said
    text = text_of(target.read_bytes())
    assert "Corner Cafe" in text
    assert "2026-11-25 07:20" in text
    told = ("--keep", "--began", "2026-11-25 07:20", "--reason", "exercise", "--reached", "Corner Cafe")
    sold("recall", "H261124A", *told, "--pdf", str(target))
    text = text_of(target.read_bytes())
    assert "It took 10 minutes" in text
    assert "Reached 1 of 1 customer" in text
    again = sold.folder / "again.pdf"
    assert "exercise R261125A" in " ".join(sold("recall", "r261125a", "--pdf", str(again)).split())
    assert "It took 10 minutes" in text_of(again.read_bytes())
    assert sold.json("recall", "R261125A")["reason"] == "exercise"
    assert "must end in .pdf" in sold.refused("recall", "H261124A", "--pdf", "recall.doc", code=2)


def test_a_recall_is_kept_only_with_when_it_began(sold: Typed) -> None:
    assert "Say it with --began" in sold.refused("recall", "SEED-7", "--keep", "--reason", "x", code=2)


def test_before_any_recall_was_kept_the_list_says_how_to_try_one(sold: Typed) -> None:
    assert "No recall was kept yet" in sold("recall")
    assert sold.json("recall") == {"recalls": []}


def test_the_traceability_record_is_written_and_what_it_lacks_is_said(sold: Typed) -> None:
    for name in ("record.xlsx", "record.csv"):
        said = " ".join(sold("trace", "SEED-7", "--record", str(sold.folder / name)).split())
        assert "the recipient's address is missing in 1 of 1 rows" in said
    assert (sold.folder / "record.xlsx").read_bytes()[:2] == b"PK"
    rows = list(csv.DictReader(io.StringIO((sold.folder / "record.csv").read_text("utf-8-sig"))))
    assert [row["event"] for row in rows] == ["harvesting", "shipping"]
    assert "must end in .xlsx or .csv" in sold.refused("trace", "SEED-7", "--record", "record.doc", code=2)
