"""The forms of a what-if: each comes to words that a what-if understands as what was meant."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import pytest

from trayward import Farm
from trayward.desk.wonder.words import read_what_if
from trayward.errors import InputError
from trayward.farm.state import FarmState
from trayward.web.sow.supposing import SAID, forms_of, words_of
from trayward.web.typed import Typed

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)

CASES = [
    ("shelves", {"count": "2", "way": "more", "light": "lit", "spots": "4"}, "2 more lit shelves of 4 spots"),
    ("shelves", {"count": "1", "way": "less", "light": "dark", "first": "2026-12-08"}, "shelf"),
    ("shelf", {"shelf": "F2", "first": "2026-12-08", "last": "2026-12-20"}, "shelf F2 out of use, from Tue 8 Dec"),
    ("kit", {"count": "10", "way": "less", "pool": "cover"}, "10 covers fewer"),
    ("off", {"first": "2026-12-08"}, "closed on Tue 8 Dec"),
    ("off", {"first": "2026-12-08", "last": "2026-12-10"}, "closed from Tue 8 Dec to Thu 10 Dec"),
    ("off", {"days": "Mon"}, "every Monday off"),
    ("hands", {"time": "2 h", "way": "more", "days": "Tue"}, "2 h more every Tuesday"),
    ("hands", {"time": "30 min", "way": "less"}, "30 min less every working day"),
    (
        "repeats",
        {"product": "pea", "amount": "0.2 kg", "price": "4.50", "customer": "Thimble & Sons", "days": "Tue"},
        "200 g pea at 4.50 per 100 g every Tuesday, from Thu 26 Nov, for Thimble & Sons",
    ),
    ("order", {"product": "garden mix", "amount": "6 packs", "day": "2026-12-08"}, "6 packs of garden mix on Tue"),
    ("times", {"order": "Moth & Marrow", "size": "twice"}, "twice everything of Moth & Marrow"),
    ("times", {"order": "thimble-tue", "size": "off", "first": "2026-12-08"}, "thimble-tue paused, from Tue 8 Dec"),
    ("unsold", {"product": "garden mix"}, "garden mix no longer sold"),
    ("drop", {"crop": "basil", "then": "gone"}, "basil no longer sown and no longer sold"),
    ("drop", {"crop": "basil", "then": "asked"}, "basil no longer sown"),
    ("lost", {"crop": "radish"}, "lost"),
    ("seed", {"crop": "pea", "mass": "2 kg", "day": "2026-12-10"}, "2000 g more seed of pea, coming on Thu 10 Dec"),
    ("price", {"product": "basil", "price": "11", "per": "100 g"}, "basil at 11.00 per 100 g"),
    ("percent", {"product": "everything", "percent": "10", "way": "dearer"}, "everything 10 % dearer"),
    ("cost", {"cost": "wage", "amount": "18"}, "wage 18.00 an hour"),
]  # fmt: skip


@pytest.fixture
def state(book: Path) -> FarmState:
    with Farm.open(str(book)) as farm:
        return farm.state(AT)


@pytest.mark.parametrize(("kind", "fields", "understood"), CASES)
def test_a_form_is_understood_as_it_was_meant(
    state: FarmState, kind: str, fields: dict[str, str], understood: str
) -> None:
    told = "; ".join(one.words() for one in read_what_if(words_of(kind, Typed(fields.items())), state, AT))
    assert understood in told


def test_every_form_that_is_offered_can_be_said(state: FarmState) -> None:
    offered = {form.kind for form in forms_of(state, str)}
    assert offered <= SAID.keys()
    assert SAID.keys() - offered <= {"late"}  # no seed is on order


@pytest.mark.parametrize(
    ("kind", "fields", "field"),
    [
        ("off", {}, "first"),
        ("repeats", {"product": "pea", "amount": "200 g"}, "days"),
        ("repeats", {"product": "pea", "amount": "lots", "days": "Tue"}, "quantity"),
        ("shelves", {"count": "two", "way": "more", "light": "lit"}, "count"),
        ("shelf", {"shelf": "F2", "first": "2026-12-20", "last": "2026-12-08"}, "last"),
        ("words", {}, "words"),
        ("nonsense", {}, "kind"),
    ],
)
def test_what_is_missing_or_wrong_is_named(kind: str, fields: dict[str, str], field: str) -> None:
    with pytest.raises(InputError, match=" = ") as raised:
        words_of(kind, Typed(fields.items()))
    assert raised.value.name == field
