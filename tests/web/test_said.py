# ruff: noqa: E501 - a sentence and its Spanish stand in one line
"""Sentences of the rooms below in Spanish: every shape has its translation, is found again, and no page is left English."""

from __future__ import annotations

import html
import re
from datetime import UTC, date, datetime, timedelta
from html.parser import HTMLParser
from time import perf_counter
from urllib.parse import urlencode

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.web.conftest import Clock, Pages
from tools import said as tool
from tools import words
from trayward.dates import day_words
from trayward.farm.entries import (
    Body,
    LotGrams,
    OrderPlaced,
    Packed,
    RoundAnswered,
    StageChanged,
    Washed,
    Watered,
)
from trayward.farm.orders import LineAsked, Order
from trayward.farm.settings import METRIC
from trayward.hygiene.kinds import KINDS
from trayward.library.trouble import trouble_guide
from trayward.rounds.entries.words import entry_words
from trayward.web.look.locales import Tongues
from trayward.web.look.own_names import Names
from trayward.web.look.parts import said_by_parts
from trayward.web.look.said import Sayings
from trayward.web.look.shapes import NAMES, read_shapes

SHAPES = read_shapes(words.WORDS / "es-said.po")
DAY = timedelta(days=1)
SLOT = re.compile(r"\{(\w+)(:g)?\}")


@pytest.fixture(scope="module")
def spanish() -> Sayings:
    found = Tongues().of("es_ES").sayings
    assert found is not None
    return found


# The catalogue ------------------------------------------------------------


def test_every_sentence_of_the_rooms_has_its_spanish() -> None:
    assert [message.id for message in words.missing("es-said")] == []


def test_a_translation_has_the_slots_of_its_shape() -> None:
    wrong = [(ours, other) for ours, other in SHAPES.items() if tool.slots_in(ours) != tool.slots_in(other)]
    assert wrong == []


def test_questions_open_and_close() -> None:
    assert [other for other in SHAPES.values() if other.count("?") != other.count("¿")] == []
    assert [other for other in SHAPES.values() if other.count("»") != other.count("«")] == []


@pytest.mark.parametrize(
    ("source", "shapes"),
    [
        ('def f(n):\n    """Docs say things."""\n    return f"{n:g} trays of {self.recipe} sown"', ["{n:g} trays of {recipe} sown"]),
        ('x = f"cut {a}" + (" today" if now else f" on {day_words(d)}")', ["cut {a} today", "cut {a} on {day_words}"]),
        ('x = "First sentence. Second one."', ["First sentence.", "Second one."]),
        ('counted(n, "live tray")', ["{number:g} live tray", "{number:g} live trays", "live tray"]),
        ('raise InputError("share", 3, "must be less")', ["share", "must be less"]),
        ('x = "{} high, {name} low".format(a)', ["{value} high, {name} low"]),
        ('x = f"{a} and {a}"', ["{a} and {a2}"]),
        ('raise TypeError("nobody is told this")\nkey == "not this either"\n_("a page\'s own words")', []),
    ],
)  # fmt: skip
def test_what_is_said_is_found_in_code(source: str, shapes: list[str]) -> None:
    assert [shape for _, shape in tool.of_module(source)] == shapes


def test_the_sentences_of_a_guide_are_found_with_its_names() -> None:
    guide = {
        "note": "Not told.", "cues": [{"name": "thick", "title": "Not told", "text": "Not told either."}],
        "looks": [{"name": "smells", "ask": "Does it smell?"}],
        "causes": [{"name": "rot", "title": "Soft rot", "now": [{"text": "Throw it away. Wash up.", "source": "practice"}]}],
    }  # fmt: skip
    assert list(tool.of_data(guide)) == [
        "Does it smell?", "rot", "Soft rot", "Throw it away.", "Wash up.",
    ]  # fmt: skip


def test_the_sentences_of_the_table_of_rules_are_found_with_slots_for_what_they_are_told_of() -> None:
    table: dict[str, list[dict[str, object]]] = {
        "thresholds": [{"title": "Sales a year up to which a farm is small", "note": "", "source": "a law"}],
        "dates": [],
        "readings": [{
            "title": "The rule", "others": ["each customer: trayward trace"], "source": "a law",
            "because": {"below": "Sales of {sales} are not above {limit}. Ask which it is."},
        }],
    }  # fmt: skip
    assert list(tool.of_rules(table)) == [
        "Sales a year up to which a farm is small", "The rule", "Sales of {sales} are not above {limit}.",
        "Ask which it is.", "each customer: trayward trace",
    ]  # fmt: skip


# Matching ------------------------------------------------------------


NUMBERS = st.floats(0.1, 9999).map(lambda number: f"{number:.4g}").filter(lambda word: "e" not in word)
CODES = st.from_regex(r"[A-Z]{2,4}-[0-9]{2}-[1-9]", fullmatch=True)
OWN_WORDS = [shape for shape in SHAPES if sum(map(str.isalpha, SLOT.sub("", shape))) >= 10 and SLOT.search(shape)]
"""Shapes with enough words of their own to be told from others by them; shorter ones are parts of sentences."""


@settings(max_examples=150, deadline=None)
@given(data=st.data())
def test_values_come_back_unharmed_whatever_stands_in_the_slots(spanish: Sayings, data: st.DataObject) -> None:
    shape = data.draw(st.sampled_from(OWN_WORDS))
    values = {found[1]: data.draw(NUMBERS if found[2] else CODES, label=found[1]) for found in SLOT.finditer(shape)}
    english = SLOT.sub(lambda found: values[found[1]], shape)
    made = spanish.said(english)
    for value in values.values():
        assert value.replace(".", ",") in made or value in made
    assert figures(made) == figures(english)


def figures(text: str) -> list[str]:
    return sorted(re.findall(r"\d+", text))


@pytest.mark.parametrize("shape", [shape for shape in SHAPES if not SLOT.search(shape)][::40])
def test_a_sentence_without_slots_is_said_as_the_catalogue_has_it(spanish: Sayings, shape: str) -> None:
    assert spanish.said(shape) == SHAPES[shape]


@pytest.mark.parametrize(
    ("english", "shown"),
    [
        ("Look: basil", "Revisar: basil"),
        ("Sow: radish, 3 trays.", "Sembrar: radish, 3 bandejas."),
        ("3 of 39 other trays of lot KAL-26-1 had it", "3 de otras 39 bandejas del lote KAL-26-1 lo tenían"),
        ("none of 39 other trays of lot KAL-26-1 had it", "ninguna de otras 39 bandejas del lote KAL-26-1 lo tenía"),
        ("the one other tray on D1 had it", "la otra bandeja en D1 lo tenía"),
        ("Does it smell musty or sour? Yes.", "¿Huele a humedad o agrio? Sí."),
        ("\ue000 on Fri 27 Nov, \ue001 on Sat 28 Nov", "\ue000 el vie, 27 nov, \ue001 el sáb, 28 nov"),
        (
            "\ue000 for \ue001 is short by 100 g, for want of \ue002; \ue003 for \ue001 is short by 180 g",
            "a \ue000 para \ue001 le faltan 100 g, por falta de \ue002; a \ue003 para \ue001 le faltan 180 g",
        ),
        ("Pack: \ue000, 1 pack of 40 g", "Envasar: \ue000, 1 envase de 40 g"),
        ("Canopy right to cut?", "¿Hojas en su punto para cortar?"),
        ("Looked at: moist, “Tall and straight?” not yet.", "Revisada: sustrato húmedo, «¿Alta y derecha?» aún no."),
        ("Without a tray of it the plan would lose 13.5.", "Sin una bandeja de esto el plan perdería 13,5."),
        ("20.5 g of lot RAD-1, on A2.1, covered and weighted", "20,5 g del lote RAD-1, en A2.1, tapada y con peso"),
        ("Ready by Wed 2 Dec. Zebras gallop.", "Lista para el mié, 2 dic. Zebras gallop."),
        ("share = 140 %: must lie in [0, 100] %.", "parte = 140 %: tiene que estar en [0, 100] %."),
        ("For Copper Ladle 120 g on Fri 4 Dec and 2 more.", "Para Copper Ladle 120 g el vie, 4 dic y 2 más."),
    ],
)  # fmt: skip
def test_a_sentence_reads_as_spanish(spanish: Sayings, english: str, shown: str) -> None:
    assert spanish.said(english) == shown


def test_what_has_no_shape_stays_english(spanish: Sayings) -> None:
    odd = "Zebras gallop over 12.5 quiet meadows, said nobody."
    assert spanish.said(odd) == odd
    assert spanish.said("") == ""


def test_days_are_those_of_the_english(spanish: Sayings) -> None:
    tongue = Tongues().of("es_ES")
    for day in (date(2026, 12, 5), date(2027, 1, 1), date(2028, 2, 29)):
        assert tongue.day(day) in spanish.said(f"Due on {day_words(day)}")


def test_a_name_of_the_book_is_nobodys_words(spanish: Sayings) -> None:
    names = Names(["Salt and Light", "Ready, Steady", "radish on mesh mat"], crops={"radish"})
    said = names.kept("For Salt and Light 120 g on Fri 4 Dec and Ready, Steady 80 g on Sat 5 Dec.", spanish.said)
    assert said == "Para Salt and Light 120 g el vie, 4 dic y Ready, Steady 80 g el sáb, 5 dic."
    assert "radish on mesh mat" in names.kept("recipe radish on mesh mat is sown no more", spanish.said)


def test_slots_of_names_are_left_alone() -> None:
    assert {"customer", "product", "tray", "lot"} <= NAMES


def test_english_pages_say_what_the_rooms_say() -> None:
    assert Tongues().of("en_GB").said("Sow: radish, 3 trays.") == "Sow: radish, 3 trays."


def test_said_twice_costs_nothing(spanish: Sayings) -> None:
    """The budget of a whole round page is 3 ms over the English one; it has a few hundred sentences."""
    sentences = [f"Day {day}; light likely ends Fri 4 Dec." for day in range(300)]
    for sentence in sentences:
        spanish.said(sentence)
    begun = perf_counter()
    for sentence in sentences:
        spanish.said(sentence)
    assert perf_counter() - begun < 0.003


# Pages ------------------------------------------------------------


PAGES = (
    "/round", "/round/morning", "/racks", "/sow", "/sow/what-if", "/orders", "/orders/standing", "/orders/customers",
    "/harvest", "/stores", "/book", "/book/odd", "/learn", "/setup", "/bench", "/setup/crops", "/setup/kit", "/more",
)  # fmt: skip
BENCH = (
    "/bench/seed/grams?crop=radish&density=4", "/bench/seed/soak?crop=pea&amount=150+g",
    "/bench/water/acid?acid=citric+50+%25&ph=7.8&alkalinity=180&to=5.8", "/bench/hygiene/mix?first=bleach&second=vinegar",
    "/bench/light/daily?ppfd=140&hours=16", "/bench/growth/warmer?crop=broccoli&shelf=18+C&to=22+C",
    "/bench/money/tray?crop=broccoli&seed_price=28%2Fkg", "/bench/air/cover?inside=23+C&room=20+C",
)  # fmt: skip
TROUBLE = ("/trouble", "/learn/trouble", *(f"/trouble/{sign.name}" for sign in trouble_guide().signs))
RECORDS = ("/records", *(f"/records/form?{urlencode({'kind': kind.name, 'area': 'sala 1'})}" for kind in KINDS))
ENGLISH = re.compile(
    r"(?<![\w'@/-])(?:the|of|and|is|are|was|were|from|for|with|without|not|it|its|this|that|these|at|by|than|then|them|"
    r"they|you|your|have|will|would|can|cannot|must|each|every|more|less|most|only|when|where|which|what|how|if|any|"
    r"none|trays?|seeds?|light|dark|days?|water|weight|weeks?|yes|yet|now|about|ready|sown|cut|until|after|before|"
    r"between|spots?|orders?)(?![\w'=/-])",
    re.IGNORECASE,
)


class Visible(HTMLParser):
    """The words of a page that somebody reads; not those of sources and of what people wrote."""

    def __init__(self) -> None:
        super().__init__()
        self.words: list[str] = []
        self._hidden = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in ("script", "style")
        self.words += [value for name, value in attrs if name in ("aria-label", "alt", "title") and value]

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in ("script", "style")

    def handle_data(self, data: str) -> None:
        if not self._hidden and data.strip():
            self.words.append(re.sub(r"\s+", " ", data).strip())


def english_of(html: str, names: re.Pattern[str]) -> list[str]:
    """Texts of a page with an English word in them, once names from the book and quoted sources are taken out."""
    page = Visible()
    body = re.sub(r"<details><summary>\d+ fuentes?</summary>.*?</details>|<cite.*?</cite>", "", html, flags=re.DOTALL)
    page.feed(body)
    return [text for text in page.words if ENGLISH.search(names.sub("", re.split("[Pp]or ejemplo", text)[0]))]


@pytest.fixture
def names(pages: Pages) -> re.Pattern[str]:
    """What people of the farm wrote themselves."""
    with pages.farm() as farm:
        state = farm.state(pages.clock.at)
    own = {
        *state.customers, *state.products, *state.recipes, *state.seed, *state.trays, *state.ended, *state.orders, *state.kit,
        *(customer.note for customer in state.customers.values()), *(order.note for order in state.orders.values()),
        *(lot.variety for lot in state.seed.values()), *(recipe.crop for recipe in state.recipes.values()),
    }  # fmt: skip
    return re.compile("|".join(re.escape(name) for name in sorted(own - {""}, key=len, reverse=True)), re.IGNORECASE)


def test_no_page_of_the_farm_is_left_english(pages: Pages, names: re.Pattern[str]) -> None:
    pages.get("/about?lang=es")
    left: dict[str, list[str]] = {}
    with pages.farm() as farm:
        since = pages.clock.at - 2 * DAY
        farm.set_record_habit("cold room", area="sala 1", every="daily", limits={"temperature": (1.0, 5.0)}, at=since)
        farm.set_record_habit("cleaning", area="sala 1", every="daily", limits={"strength": (None, 200.0)}, at=since)
        said = {"temperature": "9 C"}
        farm.write_record("cold room", said, area="sala 1", corrective="cajas movidas", at=pages.clock.at)
        tray = next(iter(farm.state(pages.clock.at).growing())).tray
        for sign in ("slime", "fallen", "mould"):
            farm.see_trouble([tray], sign, cause="rot" if sign == "slime" else "", at=pages.clock.at)
    looked = f"/trouble/white fuzz?tray={tray}&look-smells=yes&look-coloured=no"
    for path in (*PAGES, *BENCH, *RECORDS, *TROUBLE, looked, f"/tray/{tray}"):
        found = pages.get(path)
        if found.status_code == 404:
            continue
        english = english_of(found.text, names)
        if english:
            left[path] = english[:5]
    assert left == {}


def test_the_detector_knows_english_when_it_sees_it(pages: Pages, names: re.Pattern[str]) -> None:
    pages.get("/about?lang=en")
    assert len(english_of(pages.get("/round").text, names)) > 50


def test_a_refusal_is_spanish_with_what_was_typed(pages: Pages) -> None:
    pages.get("/about?lang=es")
    answer = pages.post("/setup/kit", {"pool": "", "count": "4"}, page="/setup/kit")
    assert answer.status_code == 422
    assert "no puede estar vacío" in answer.text or "Por ejemplo" in answer.text


def test_what_packs_are_made_of_is_no_day_they_begin_on(spanish: Sayings) -> None:
    parts = (LotGrams(harvest="H261126E", grams=38.5),)
    best = date(2026, 12, 1)
    body = Packed(pack="P1", product="fire mix", packs=5, pack_g=40.0, parts=parts, best_before=best)
    said = said_by_parts(entry_words(body, METRIC), spanish, spanish.said)
    assert "40 g cada uno, de 38,5 g de H261126E, consumir antes del mar, 1 dic" in said


def test_the_note_of_an_order_stays_as_it_was_typed(pages: Pages) -> None:
    with pages.farm() as farm:
        customer = next(iter(farm.state(pages.clock.at).customers))
        line = LineAsked(line="1", product="pea", quantity=60.0)
        due = pages.clock.at.date() + timedelta(days=9)
        order = Order(order="O1", customer=customer, due=due, lines=(line,), note="for the counter")
        farm.record(OrderPlaced(order=order), at=pages.clock.at, by="Ada")
    pages.get("/about?lang=es")
    assert "nota: for the counter" in pages.get("/book").text


def test_a_note_in_a_setup_file_stays_as_it_was_typed_before_it_is_kept(pages: Pages) -> None:
    pages.get("/about?lang=es")
    more = '[[customer]]\nname = "Harbour Hall"\nnote = "Our own table at the market; the menu names our greens."\n'
    text = f"{pages.get('/setup/farm.toml').text}\n{more}"
    shown = html.unescape(pages.post("/setup/file", {"text": text}, page="/setup/file").text)
    assert "nota: Our own table at the market; the menu names our greens." in shown


TRAYS = tuple(f"260929A.{number}" for number in range(1, 10))


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (RoundAnswered(trays=TRAYS[:1], moisture="moist"), "revisión de 260929A.1: sustrato húmedo"),
        (RoundAnswered(trays=TRAYS[:2], moisture="moist"), "revisión de 260929A.1 y 260929A.2: sustrato húmedo"),
        (RoundAnswered(trays=TRAYS[:1], cue="ready"), "revisión de 260929A.1: lista"),
        (RoundAnswered(trays=TRAYS[:2], cue="ready"), "revisión de 260929A.1 y 260929A.2: listas"),
        (Watered(trays=TRAYS, ml=30.0, way="mist"), "260929A.7, 260929A.8 y 1 más: 30 ml cada una"),
        (Washed(pool="cover", count=3), "lavado: 3 x tapa"),
        (StageChanged(trays=TRAYS[1:3], stage="light"), "fase de 260929A.2 y 260929A.3 ahora: luz"),
    ],
)
def test_one_and_several_are_said_alike_in_spanish(spanish: Sayings, body: Body, said: str) -> None:
    assert said in said_by_parts(entry_words(body, METRIC), spanish, spanish.said)


def test_markup_in_a_name_stays_escaped_in_spanish(pages: Pages) -> None:
    pages.get("/about?lang=es")
    pages.post("/setup/kit", {"pool": "<b>bold", "count": "4"}, page="/setup/kit")
    found = pages.get("/book")
    assert "&lt;b&gt;bold" in found.text
    assert "<b>bold" not in found.text


def test_the_clock_of_these_tests_stands_in_a_round() -> None:
    assert Clock().at == datetime(2026, 11, 25, 7, 30, tzinfo=UTC)


def test_why_a_line_is_short_is_spanish_from_end_to_end(spanish: Sayings) -> None:
    told = (
        "Expected to be 95 g short. cover: all 28 taken from Sat 28 Nov to Mon 30 Nov if trays are slow; "
        "one tray more has no room.",
        "Too late to sow pea: it takes 14 days, so it had to be sown by Tue 17 Nov.",
        "Expected to be 2 g short. hands: all 180 min taken on Sat 5 Dec; one tray more has no room.",
        "One tray more of pea, sown Mon 21 Dec, would make it 8 in 10 instead of 7 in 10, and cost 6.34 EUR more than it "
        "brings.",
        "From harvest lots H261125B and H261126E, tray 261118A.1 (cut Mon 30 Nov) and pea sown Fri 4 Dec (if ready in "
        "time).",
    )
    left = re.compile(
        r"\b(the|too|to|all|taken|trays|short|sown|from|has|room|would|in|instead|cut|if|more|lots)\b", re.IGNORECASE
    )
    for sentence in told:
        assert not left.search(spanish.said(sentence)), spanish.said(sentence)


def test_a_day_of_the_week_has_no_capital_in_spanish(spanish: Sayings) -> None:
    assert spanish.said("every Friday") == "cada viernes"
    assert spanish.said("minutes of work Mon 270, Sun 0") == "minutos de trabajo lun 270, dom 0"
