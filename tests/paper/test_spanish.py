"""Sheets in Spanish: nothing of ours is left English, nothing is cut off, figures have a comma, typed words stay."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal

import msgspec
import pytest

from tests.money.test_report import two_months
from tests.paper.seen import overflows, text_of
from tests.paper.test_labels import label
from tests.paper.test_recall_sheet import LOFT, kept_of, of
from tests.paper.test_sheets import AT, CUT, HARVEST, NOTE, PICKS, SOWING, WASH, a_round, bill, look
from tests.trace.made import chain
from trayward.farm.bills import Bill
from trayward.farm.entries import ContactSet
from trayward.farm.recalls import Contact
from trayward.farm.settings import METRIC, FarmPaper
from trayward.paper.going_out import storage_words
from trayward.paper.goods_sheets import PickFor, delivery_note, pick_list
from trayward.paper.harvest_sheet import harvest_sheet, wash_list
from trayward.paper.invoice import invoice_of, invoice_sheet
from trayward.paper.label_sheets import label_sheet
from trayward.paper.labels import labels_pdf, net_words, pack_lines
from trayward.paper.money_report import report_sheet
from trayward.paper.page import Page, Text
from trayward.paper.paper import Paper, paper_of
from trayward.paper.recall_sheet import kept_recall_pdf, recall_sheet_pdf
from trayward.paper.round_sheet import round_sheet
from trayward.paper.sowing_sheet import sowing_sheet
from trayward.paper.tongue import ENGLISH, Tongue
from trayward.rounds.types import Amount, FieldAsked, RoundRow
from trayward.web.look.locales import Tongues
from trayward.web.look.on_paper import on_paper
from trayward.web.look.own_names import Names

ENGLISH_WORDS = re.compile(
    r"\b(the|and|with|of|to|from|if|yes|tray|trays|done|not yet|ready|dry|problem|seed|sow|sown|cut|harvest|wash|page"
    r"|printed|best before|lot|lots|price|paid|amount|quantity|look|mist|grams|sold|left|on|is|was"
    r"|delivered|here|thrown|had)\b",
    re.IGNORECASE,
)
"""Words that no Spanish sheet of these says, whatever a farm calls its crops."""
TYPED = re.compile(r"Keep at 1 to 5 C\.|To our account\.|trayward round answer [^-]*|our own mix|radish on coir")
"""What the farm typed, and what has to be typed."""


@pytest.fixture(scope="module")
def spanish() -> Tongue:
    tongue = Tongues().of("es_ES")
    return on_paper(tongue, Names(["Moth & Marrow", "pea", "radish"]).sayer(tongue.sayings, tongue.locale))


MIST = look(1, do="Look: radish, 2 trays", how="Lift cover and weight, mist if dry.", to=("D4.1a",))
FED = look(2, cue="", stage="light", do="Look: radish, 1 tray", how="", spots=("A1.2", "A1.3"))
ROUND = msgspec.structs.replace(
    a_round(MIST, FED, msgspec.structs.replace(CUT, why="For Moth & Marrow.")),
    notes=("The kept plan is of Mon 2 Nov: run plan again and keep it.",),
)
MATS = msgspec.structs.replace(WASH, do="Sanitise: mesh mat, 6", how="")
LITTLE = msgspec.structs.replace(SOWING, seed_g=28.5, spoons=2.5, why="For Moth & Marrow on Fri 4 Dec.")

MADE: dict[str, Callable[[Paper], bytes]] = {
    "round": lambda on: round_sheet(ROUND, on, "261127-0710"),
    "sowing": lambda on: sowing_sheet([LITTLE], on, on.tongue.day(AT.date()), "261127-0710"),
    "harvest": lambda on: harvest_sheet([HARVEST], on, on.tongue.day(AT.date()), "261127-0710"),
    "washing": lambda on: wash_list([MATS], on, on.tongue.day(AT.date()), "261127-0710"),
    "picks": lambda on: pick_list([_picks(on.tongue)], on, on.tongue.day(AT.date())),
    "note": lambda on: delivery_note(NOTE, on),
    "invoice": lambda on: invoice_sheet(invoice_of(bill(), on.tongue), on),
    "credit note": lambda on: invoice_sheet(invoice_of(_credit(), on.tongue), on),
}
EVERY = pytest.mark.parametrize("name", MADE)


def _picks(tongue: Tongue) -> PickFor:
    lines = tuple(msgspec.structs.replace(line, asked="4", short=tongue.counted(1, "pack")) for line in PICKS.lines)
    return msgspec.structs.replace(PICKS, lines=lines)


def _credit() -> Bill:
    return msgspec.structs.replace(bill(), credits="LL-2026-001", reason="our own mix", included=True)


def sheet(tongue: Tongue) -> Paper:
    return Paper(farm="Lantern Loft", printed=AT, tongue=tongue)


def own_words(pdf: bytes) -> str:
    return TYPED.sub("", text_of(pdf).replace("4 packs of 50 g", ""))


@EVERY
def test_nothing_of_ours_is_left_english(name: str, spanish: Tongue) -> None:
    text = own_words(MADE[name](sheet(spanish)))
    assert ENGLISH_WORDS.findall(text) == []
    assert "página 1 de" in text
    # The list would find them: the same sheet in English is full of them.
    assert len(ENGLISH_WORDS.findall(own_words(MADE[name](sheet(ENGLISH))))) > 3


@EVERY
def test_no_word_is_cut_off_and_none_lies_upon_another(name: str, spanish: Tongue, laid_out: list[Page]) -> None:
    MADE[name](sheet(spanish))
    assert overflows(laid_out) == []
    texts = [mark.words for page in laid_out for mark in page.marks if isinstance(mark, Text)]
    assert [words for words in texts if words.endswith("…")] == []
    # A heading is not broken within a word: its last letters would stand on a line of their own.
    assert [words for words in texts if re.fullmatch(r"[a-zñáéíóú]{1,2}", words) and words not in ("g", "a")] == []


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("round", "Ronda 2026-11-27 mañana"), ("round", "Revisar: radish, 2 bandejas"), ("round", "problema"),
        ("round", "Pulverizar 30 ml por bandeja si está seca."), ("round", "En A1.2, A1.3."),
        ("round", "Si es que sí: a D4.1a."),
        ("sowing", "28,5 g por bandeja"), ("sowing", "o 2,5 cucharadas rasas"),
        ("sowing", "4 bandejas: radish on coir"),
        ("harvest", "320 a 470 g"), ("harvest", "Para Moth & Marrow."), ("washing", "no los mezcles nunca"),
        ("picks", "Falta: 1 envase"), ("note", "Keep at 1 to 5 C."), ("note", "4 packs of 50 g"),
        ("note", "vie, 4 dic 2026"), ("invoice", "12 345,60"), ("invoice", "VAT 7 % de 12 345,60"),
        ("invoice", "4 envases"), ("invoice", "A pagar hasta el vie, 11 dic 2026."), ("invoice", "To our account."),
        ("invoice", "precio por 1 envase"), ("credit note", "Nota de abono"),
        ("credit note", "Rectifica LL-2026-001: our own mix"),
    ],
)  # fmt: skip
def test_it_says_so_with_commas_and_leaves_what_was_typed(name: str, words: str, spanish: Tongue) -> None:
    assert words in text_of(MADE[name](sheet(spanish)))


def test_a_label_says_its_fixed_words_in_spanish_and_fits(spanish: Tongue) -> None:
    basis = spanish.ngettext("keeps %(num)s day cold", "keeps %(num)s days cold", 7)
    made = label(basis=basis, net_g=62.5)
    lines = [line.words for line in pack_lines(made, spanish)]
    assert lines[1:5] == [
        "62,5 g", "Consumir preferentemente antes del vie, 4 dic 2026",
        "Corte: vie, 27 nov 2026; en frío aguanta 7 días", f"Lote {made.lot}",
    ]  # fmt: skip
    assert net_words(56.7, ounces=True, tongue=spanish) == "Peso neto 2 oz (56,7 g)"
    text = text_of(labels_pdf([made], label_sheet("63.5 x 33.9"), "Labels", tongue=spanish))
    assert "Keep at 1 to 5 C." in text
    assert "2026" in text


def test_how_to_store_is_said_in_spanish_until_the_farm_types_its_own(spanish: Tongue) -> None:
    assert storage_words(FarmPaper(), spanish) == "Conservar en frío."
    assert storage_words(FarmPaper(), ENGLISH) == FarmPaper().storage
    assert storage_words(FarmPaper(storage="Keep at 1 to 5 C."), spanish) == "Keep at 1 to 5 C."


def test_a_money_report_is_spanish_to_its_last_line(spanish: Tongue, laid_out: list[Page]) -> None:
    from datetime import UTC, datetime

    at = datetime(2027, 2, 3, 9, tzinfo=UTC)
    with two_months() as farm:
        settings = farm.settings(at)
        pdf = report_sheet(farm.money_report("2027-01", at=at), paper_of(settings, at, "", spanish), settings)
    text = text_of(pdf)
    assert ENGLISH_WORDS.findall(text) == []
    for words in ("Dinero, enero de 2027", "todos los costes", "Diferencia", "En qué se apoyan las cifras", "−12,00"):
        assert words in text, words
    assert overflows(laid_out) == []


@pytest.mark.parametrize("kept", [False, True], ids=["to work from", "kept"])
def test_a_recall_is_spanish_whole_and_fits(kept: bool, spanish: Tongue, laid_out: list[Page]) -> None:
    made = chain()
    made.say(ContactSet(contact=Contact(customer="A", phone="0100 1", person="Kim", address="1 Mill Lane")))
    found = of(made, "lot", "S1")
    if kept:
        pdf = kept_recall_pdf(kept_of(found, "A"), LOFT, at=found.at, tongue=spanish)
    else:
        pdf = recall_sheet_pdf(found, LOFT, at=found.at, tongue=spanish)
    text = re.sub(r"yearly exercise", "", text_of(pdf))
    assert ENGLISH_WORDS.findall(text) == []
    for words in ("Simulacro" if kept else "Hoja de retirada", "preguntar por Kim, teléfono 0100 1", "Dónde está todo"):
        assert words.lower() in text.lower(), words
    assert overflows(laid_out) == []
    texts = [mark.words for page in laid_out for mark in page.marks if isinstance(mark, Text)]
    assert [words for words in texts if words.endswith("…")] == []


def test_units_and_days_of_a_region_are_its_own(spanish: Tongue) -> None:
    mexican = Tongues().of("es_MX")
    there = on_paper(mexican, mexican.said)
    assert there.mass(62.5, METRIC.mass) == "62.5 g"
    assert spanish.mass(62.5, METRIC.mass) == "62,5 g"
    assert there.day_in_full(date(2026, 11, 27)) != spanish.day_in_full(date(2026, 11, 27))
    assert spanish.money(Decimal("1234.50")) == "1 234,50"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (
            "Mist 2 tbsp a tray, if dry; weight on the cover 9.92 lb a tray.",
            "Pulverizar 2 tbsp por bandeja, si está seca; peso sobre la tapa 9,92 lb por bandeja.",
        ),
        ("Water below 1 1/2 cup a tray.", "Agua por debajo 1 1/2 cup por bandeja."),
        ("bench", "mesa"),
    ],
)
def test_spoons_and_cups_are_measures_too(words: str, said: str, spanish: Tongue) -> None:
    assert spanish.said(words) == said


def test_jobs_say_in_spanish_what_to_expect_what_was_so_last_time_and_from_which_lots(spanish: Tongue) -> None:
    expected = (Amount(what="expect", value=150.0, unit="g", note="130 to 160 g in 8 of 10"),)
    cut = msgspec.structs.replace(CUT, amounts=expected)
    asks = (FieldAsked(field="item", title="What was cleaned", required=True, usual="From the old tables, knives"),)
    record = RoundRow(row="r", number=4, kind="record", place="A1", crop="", do="Clean: back loft", asks=asks)
    lots = tuple(f"H26112{number}A" for number in range(9))
    out = RoundRow(row="d", number=5, kind="deliver", place="A1", crop="", do="Deliver: Moth & Marrow", lots=lots)
    text = text_of(round_sheet(a_round(cut, record, out), sheet(spanish)))
    assert "Cuenta con 150 g por bandeja, 130 a 160 g en 8 de cada 10." in text
    assert "Como la última vez: Qué se limpió: From the old tables, knives." in text
    assert f"De {', '.join(lots)}." in text
