"""Languages: which one a page is in, and whether the catalogues have every word."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path

import pytest

from tests.web.conftest import Pages, words_of
from tools import words as tool
from trayward.web.look.locales import Tongues, accepted_languages, read_catalogue

CATALOGUE = """msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"

msgid "Rack %(name)s"
msgstr "Estante %(name)s"

msgid "%(num)s tray"
msgid_plural "%(num)s trays"
msgstr[0] "%(num)s bandeja"
msgstr[1] "%(num)s bandejas"

msgid "Not translated"
msgstr ""

msgid "%(num)s spot"
msgid_plural "%(num)s spots"
msgstr[0] ""
msgstr[1] ""
"""


@pytest.fixture
def tongues(tmp_path: Path) -> Tongues:
    (tmp_path / "es.po").write_text(CATALOGUE, encoding="utf-8")
    return Tongues(tmp_path)


def test_words_come_from_the_catalogue_and_stay_english_where_it_has_none(tongues: Tongues) -> None:
    spanish = tongues.of("es_ES")
    assert spanish.gettext("Rack %(name)s", name="A") == "Estante A"
    assert spanish.ngettext("%(num)s tray", "%(num)s trays", 1) == "1 bandeja"
    assert spanish.ngettext("%(num)s tray", "%(num)s trays", 4) == "4 bandejas"
    assert spanish.gettext("Not translated") == "Not translated"
    assert spanish.ngettext("%(num)s spot", "%(num)s spots", 4) == "4 spots"


@pytest.mark.parametrize(
    ("chosen", "accepted", "locale"),
    [
        ("", "", "en_GB"), ("", "es-MX,es;q=0.9,en;q=0.8", "es_MX"), ("", "de, en-US;q=0.5", "en_US"),
        ("", "de", "en_GB"),
        ("es", "en-US", "es_ES"), ("es", "en, es-AR;q=0.3", "es_AR"), ("en-US", "es", "en_US"), ("xx", "es", "es_ES"),
        ("", "es;q=0, en", "en_GB"), ("../../etc", "es-419", "es_ES"),
    ],
)  # fmt: skip
def test_a_page_is_in_the_language_that_was_chosen_or_that_the_browser_asks_for(
    tongues: Tongues, chosen: str, accepted: str, locale: str
) -> None:
    assert tongues.choose(chosen, accepted).locale == locale


def test_languages_come_in_the_order_they_are_wanted() -> None:
    assert accepted_languages("en;q=0.5,es,fr;q=0.7,*;q=0.1, <script>") == ("es", "fr", "en")


# Days and times as in the Unicode CLDR that Babel carries; seen with Babel 2.19.
@pytest.mark.parametrize(
    ("locale", "day", "clock", "number"),
    [
        ("en_GB", "Thu 26 Nov", "18:05", "12.5 g"), ("en_US", "Thu, Nov 26", "6:05 PM", "12.5 g"),
        ("es_ES", "jue, 26 nov", "18:05", "12,5 g"), ("es_MX", "jue 26 de nov", "6:05 p.m.", "12.5 g"),
    ],
)  # fmt: skip
def test_days_times_and_numbers_are_written_as_the_region_does(locale: str, day: str, clock: str, number: str) -> None:
    tongue = Tongues().of(locale)
    assert tongue.day(date(2026, 11, 26)) == day
    assert tongue.clock(datetime(2026, 11, 26, 18, 5, 30)).replace("\u00a0", " ") == clock  # noqa: DTZ001
    assert tongue.number("12.5 g") == number


def test_a_language_once_chosen_is_kept_in_a_cookie(pages: Pages) -> None:
    assert '<html lang="en-GB">' in pages.get("/about").text
    assert '<html lang="es-ES">' in pages.get("/about?lang=es").text
    assert '<html lang="es-ES">' in pages.get("/").text


def test_the_page_is_in_the_browsers_language(pages: Pages) -> None:
    assert '<html lang="es-MX">' in pages.get("/about", Accept_Language="es-MX,es;q=0.9").text


def test_words_of_templates_and_code_are_all_found() -> None:
    found = {message.id if isinstance(message.id, str) else message.id[0] for message in tool.used() if message.id}
    assert {"Skip to the page", "Taken back.", "germinate"} <= found


def test_every_word_has_its_spanish() -> None:
    assert [message.id for message in tool.missing("es")] == []


PLACES = re.compile(r"%\(\w+\)[sd]|%%|\{\w*\}|%(?!\(|%)")
"""What is filled in later: `%(name)s` by Python, `%%` for a percent sign, `{name}` by the scripts."""

SAME_IN_SPANISH = {
    # Names, units and lists that have nothing to translate.
    "100 g", "Base", "PIN", "No.", "No", "sensor", "d", "kg", "no", "pH", "%(minutes)s min", "GS1 Data Matrix",
    "{when}, {who}", "%(spot)s, %(tray)s", "%(who)s, %(when)s: %(what)s.",
}  # fmt: skip


def translated() -> Iterator[tuple[str, str]]:
    """Every string of ours with its Spanish; one thing and many each with theirs."""
    for message in tool.kept("es"):
        if message.id and isinstance(message.id, tuple | list):
            yield from zip(message.id, message.string, strict=True)
        elif message.id:
            yield message.id, str(message.string)


def filled_in(words: str) -> list[str]:
    return sorted(PLACES.findall(words))


def test_every_translation_fills_in_what_the_original_does() -> None:
    """Only the one of a count may say it in a word: "one day", "un día"."""
    wrong = [(ours, spanish) for ours, spanish in translated() if filled_in(ours) != filled_in(spanish)]
    may_say_one = [pair for pair in wrong if set(filled_in(pair[0])) ^ set(filled_in(pair[1])) == {"%(num)s"}]
    assert [pair for pair in wrong if pair not in may_say_one] == []
    many = {message.id[1] for message in tool.kept("es") if isinstance(message.id, tuple | list)}
    assert [pair for pair in may_say_one if pair[0] in many] == []


def test_no_translation_is_the_english_left_as_it_is() -> None:
    left = {ours for ours, spanish in translated() if ours == spanish and re.search("[a-z]", PLACES.sub("", ours))}
    assert left - SAME_IN_SPANISH == set()


def test_a_translation_begins_and_ends_as_its_original() -> None:
    """Spaces and full stops join sentences; a lost one shows on the page."""
    ends = [(ours, spanish) for ours, spanish in translated() if _edges(ours) != _edges(spanish)]
    assert ends == []


def _edges(words: str) -> tuple[bool, bool, str]:
    last = words.rstrip()[-1:]
    return words[:1] == " ", words[-1:] == " ", last if last in ".:;," else ""


def test_questions_of_the_spanish_open_and_close() -> None:
    assert [spanish for _, spanish in translated() if spanish.count("?") != spanish.count("¿")] == []
    assert [spanish for _, spanish in translated() if spanish.count("»") != spanish.count("«")] == []


def test_templates_translate_only_words_of_ours() -> None:
    """`_` takes what it is given for our markup and for a format; names from the book go through `name_of`."""
    loose = re.compile(r"(?<![\w.])_\(\s*(?![\"'\s])[^)]*\)")
    found = {path.name: loose.findall(path.read_text(encoding="utf-8")) for path in tool.WEB.rglob("*.html")}
    assert {name: calls for name, calls in found.items() if calls} == {}


def test_a_name_from_the_book_is_shown_as_it_was_given(pages: Pages) -> None:
    for name in ("mat 50 %", "<b>bold"):
        assert pages.post("/setup/kit", {"pool": name, "count": "4"}, page="/setup/kit").status_code == 303
    shown = pages.get("/setup/kit")
    assert "&lt;b&gt;bold" in shown.text
    assert "<b>bold" not in shown.text
    assert "mat 50 %" in words_of(shown)


def test_names_that_the_farm_came_with_are_in_the_pages_language(pages: Pages) -> None:
    assert "esterilla de malla" in words_of(pages.get("/setup/kit?lang=es"))


def test_the_catalogue_reads_as_it_was_written() -> None:
    assert read_catalogue(tool.WORDS / "es.po").gettext("no such words") == "no such words"
    assert read_catalogue(tool.WORDS / "xx.po").gettext("Today") == "Today"
