"""What the book says, in Spanish from end to end: each part by itself, names and what people typed as they were."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random

import pytest

from tests.contract.telling import every_kind
from trayward import Farm
from trayward.farm.entries import CustomerSet, FarmSet, ProductSet, StandingOrderSet, Struck
from trayward.farm.orders import Customer, LineAsked, Part, Pause, Product, StandingOrder
from trayward.farm.repeats import rule_in_words
from trayward.farm.settings import METRIC, FarmSettings
from trayward.rounds.entries.typed import typed_in
from trayward.rounds.entries.words import entry_words
from trayward.rounds.words import sentence
from trayward.web.look.locales import Tongues
from trayward.web.look.own_names import as_typed
from trayward.web.look.parts import said_by_parts
from trayward.web.look.said import Sayings
from trayward.words import Filled, Own

WELL_KNOWN = 4.0
"""Less than this of a part is unknown where all its words were found. [letters]"""


@pytest.fixture(scope="module")
def spanish() -> Sayings:
    found = Tongues().of("es_ES").sayings
    assert found is not None
    return found


def said(body: object, spanish: Sayings) -> str:
    return said_by_parts(sentence(entry_words(body, METRIC)), spanish, spanish.said)  # type: ignore[arg-type]


def parts_of(words: str) -> Iterator[str]:
    """The parts that are said, down to the smallest; those that are names are left out."""
    if isinstance(words, Own):
        return
    if isinstance(words, Filled):
        for name, value in words.values.items():
            if not name.startswith("joint"):
                yield from parts_of(value)
    else:
        yield words


def shapes_of(words: str) -> Iterator[str]:
    if isinstance(words, Filled):
        yield words.shape
        for value in words.values.values():
            yield from shapes_of(value)


def test_every_shape_that_an_entry_is_told_in_has_its_spanish(spanish: Sayings) -> None:
    lacking = {
        (entry.kind, shape)
        for seed in (7, 11)
        for entry in every_kind(Random(seed), times=20)
        for shape in shapes_of(sentence(entry_words(entry.body, METRIC)))
        if spanish.template(shape) is None
    }
    assert lacking == set()


def test_words_are_the_same_text_whether_they_know_their_parts_or_not() -> None:
    for entry in every_kind(Random(3), times=5):
        words = sentence(entry_words(entry.body, METRIC))
        assert isinstance(words, Filled) or entry.kind == "plan kept"
        if isinstance(words, Filled):
            assert said_by_parts(words, _Echo(), str) == str(words)  # type: ignore[arg-type]


class _Echo:
    """A language that says all as it is."""

    def template(self, shape: str) -> str:
        return shape

    def joint(self, between: str, after: str) -> str:
        del after
        return between


def test_no_line_of_lantern_lofts_book_is_left_english(lantern_loft: Path, spanish: Sayings) -> None:
    lacking: set[tuple[str, str]] = set()
    with Farm.open(str(lantern_loft)) as farm:
        at = datetime.now(UTC)
        state = farm.state(at)
        names = {*state.kit, *(shelf.room for shelf in state.shelves.values())}
        for told in farm.told(farm.book.entries(), at):
            body = told.kept.entry.body
            bodies = [body]
            if isinstance(body, Struck):
                struck = farm.book.get(body.entry)
                assert struck is not None
                bodies.append(struck.entry.body)
            typed = {words for each in bodies for words in typed_in(each)}
            for part in parts_of(told.words):
                ours = re.sub(r"\(\w+_\w+\)", "(common practice, no source)", part)  # the key of a source is no word
                if part not in typed and part not in names and spanish.unknown_in(ours) >= WELL_KNOWN:
                    lacking.add((told.kept.entry.kind, part))
    assert lacking == set()


# Lines that were put together wrongly --------------------------------------------------------------------------------


def test_a_long_repeating_order_keeps_its_days_apart_from_its_lines(spanish: Sayings) -> None:
    lines = tuple(
        LineAsked(line=each, product=each, quantity=40.0)
        for each in ("red cabbage", "mustard", "amaranth", "basil", "cilantro")
    )
    standing = StandingOrder(
        standing="moth-fri", customer="Moth & Marrow", rule="FREQ=WEEKLY;BYDAY=FR", start=date(2026, 1, 9), lines=lines,
        except_on=(date(2026, 12, 25), date(2027, 1, 1)), also_on=(date(2026, 12, 24),),
        pauses=(Pause(first=date(2026, 8, 3), last=date(2026, 8, 14)),),
    )  # fmt: skip
    assert said(StandingOrderSet(standing=standing), spanish) == (
        "Pedido repetido moth-fri: Moth & Marrow, cada viernes, desde el vie, 9 ene, 40 g de red cabbage, "
        "40 g de mustard, 40 g de amaranth, 40 g de basil, 40 g de cilantro, salvo vie, 25 dic y vie, 1 ene, "
        "también el jue, 24 dic, pausas: del lun, 3 ago al vie, 14 ago."
    )


@pytest.mark.parametrize(
    ("rule", "words"),
    [
        ("FREQ=WEEKLY;BYDAY=TU,FR", "cada martes y viernes"),
        ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO", "cada dos semanas, lunes"),
        ("FREQ=MONTHLY;BYDAY=1FR", "cada mes en el 1.º viernes"),
        ("FREQ=MONTHLY;BYMONTHDAY=-1", "cada mes en el último día"),
        ("FREQ=DAILY;INTERVAL=10", "cada 10 días"),
        ("FREQ=WEEKLY;BYDAY=FR;COUNT=6", "cada viernes 6 veces"),
        ("FREQ=WEEKLY;BYDAY=TU,SA;BYMONTH=6,7", "cada martes y sábado en junio y julio"),
    ],
)
def test_how_an_order_repeats_is_said_whole(rule: str, words: str, spanish: Sayings) -> None:
    assert said_by_parts(rule_in_words(rule), spanish, spanish.said) == words


def test_a_farms_days_off_and_hours_are_said_whole(spanish: Sayings) -> None:
    farm = FarmSettings(
        name="Lantern Loft", timezone="Europe/Dublin", days_off=(date(2026, 12, 25), date(2026, 12, 26)),
        work_minutes=(270.0, 360.0, 270.0, 270.0, 360.0, 180.0, 0.0),
    )  # fmt: skip
    told = said(FarmSet(settings=farm), spanish)
    assert "libre: vie, 25 dic y sáb, 26 dic" in told
    assert "minutos de trabajo lun 270, mar 360, mié 270, jue 270, vie 360, sáb 180 y dom 0" in told


def test_a_customer_called_home_is_not_put_into_spanish(spanish: Sayings) -> None:
    assert said(CustomerSet(customer=Customer(name="home")), spanish).startswith("Cliente home: ")
    mixed = Product(name="ready", parts=(Part(crop="light", share=0.5), Part(crop="cover", share=0.5)))
    assert said(ProductSet(product=mixed), spanish).startswith("Producto ready: 50% de light y 50% de cover")


@pytest.mark.parametrize("words", ["40 g on Fri 4 Dec, for home", "Pea on coir, from Mon 7 Dec, for home"])
def test_what_is_for_a_customer_called_home_is_for_them(words: str, spanish: Sayings) -> None:
    assert spanish.said(words).endswith("para home")


def test_what_was_typed_is_neither_said_anew_nor_counted_anew(spanish: Sayings) -> None:
    words = entry_words(CustomerSet(customer=Customer(name="tray", note="20 mm of the mat")), METRIC)
    told = as_typed(words, ["20 mm of the mat"], spanish, spanish.said, lambda text: text.replace("20 mm", "3/4 in"))
    assert "nota: 20 mm of the mat" in told
