"""What pages are made of: quantities in words, marks that can be read, files that may be kept for ever."""

from __future__ import annotations

import gzip
import re
from datetime import date
from pathlib import Path

import pytest
from jinja2 import Environment

from tests.web.conftest import Pages, words_of
from trayward.farm.settings import METRIC, US, ShownUnits
from trayward.pictures.look import MARKS, contrast
from trayward.rounds.guide import guide_temperatures
from trayward.rounds.measures import in_units
from trayward.web.look.filters import filters_for, in_ten
from trayward.web.look.locales import Tongues
from trayward.web.look.look import WEB, Look
from trayward.web.look.statics import Statics
from trayward.web.typed import Typed

CSS = (WEB / "static" / "look.css").read_text(encoding="utf-8")


def shown(name: str, *values: object, locale: str = "en_GB", units: ShownUnits | None = None) -> str:
    return filters_for(Tongues().of(locale), units or ShownUnits())[name](*values)


@pytest.mark.parametrize(
    ("name", "value", "metric", "us"),
    [
        ("mass", 168.4, "168 g", "5.94 oz"), ("likely", 207.3, "210 g", "7.3 oz"),
        ("volume", 355.0, "355 ml", "1 1/2 cup"), ("distance", 12.7, "12.7 mm", "1/2 in"),
        ("temperature", 21.0, "21 C", "70 F"), ("share", 0.874, "87 %", "87 %"),
    ],
)  # fmt: skip
def test_quantities_are_shown_in_the_units_of_who_reads(name: str, value: float, metric: str, us: str) -> None:
    assert shown(name, value) == metric
    assert shown(name, value, units=US) == us


def test_a_number_does_not_break_at_the_space_between_its_thousands() -> None:
    assert shown("money", 1492.26, "EUR") == "1\u00a0492.26 EUR"
    assert shown("money", 1492.26, "EUR", locale="es_ES") == "1\u00a0492,26 EUR"
    assert shown("said", {}, "It would lose 1 492 EUR on Sat 28 Nov, 120 g.") == (
        "It would lose 1\u00a0492 EUR on Sat 28 Nov, 120 g."
    )


def test_what_one_farms_pages_compiled_is_not_compiled_again_for_another_or_in_another_language(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    Look().environment(Tongues().of("en_GB"), METRIC).get_template("base.html")
    monkeypatch.setattr(Environment, "compile", None)  # whoever compiles, breaks
    assert Look().environment(Tongues().of("es_ES"), US).get_template("base.html") is not None


def test_a_template_that_was_changed_is_compiled_anew(tmp_path: Path) -> None:
    (tmp_path / "templates").mkdir()
    for words in ("Three trays.", "Four trays."):
        (tmp_path / "templates" / "trays.html").write_text(words, encoding="utf-8")
        found = Look(tmp_path).environment(Tongues().of("en_GB"), METRIC).get_template("trays.html")
        assert found.render() == words


def test_figures_are_written_as_the_language_does() -> None:
    assert shown("mass", 12.5, locale="es_ES") == "12,5 g"
    assert shown("money", 1234.5, "EUR", locale="es_ES") == "1\u00a0234,50 EUR"
    assert shown("day", date(2026, 11, 26), locale="es_ES") == "jue, 26 nov"


def test_a_range_is_said_in_the_pages_language_and_its_unit_once() -> None:
    assert Tongues().of("en_GB").span("640 g", "910 g") == "640 to 910 g"
    assert Tongues().of("es_ES").span("640 g", "910 g") == "640 a 910 g"
    assert Tongues().of("es_ES").span("9 oz", "1 lb") == "9 oz a 1 lb"
    assert Tongues().of("es_ES").span("80 g", "80 g") == "80 g"


@pytest.mark.parametrize("locale", ["en_GB", "es_ES"])
@pytest.mark.parametrize("value", [0.0, 1.125, 97.5, 25_000.0, 1_234_567.25, 0.00001])
def test_what_stands_in_a_field_is_read_back_as_what_it_was(value: float, locale: str) -> None:
    typed = Typed([("amount", shown("plain", value, locale=locale))])
    assert typed.number("amount") == value
    assert shown("plain", None, locale=locale) == shown("degrees", None, locale=locale) == ""


@pytest.mark.parametrize("units", [METRIC, US])
def test_a_temperature_in_a_field_is_not_rounded(units: ShownUnits) -> None:
    typed = Typed([("rinse", shown("degrees", 65.3, units=units))], units=units)
    assert typed.temperature("rinse") == pytest.approx(65.3, abs=1e-9)


def test_what_is_not_known_is_a_dash() -> None:
    assert {shown(name, None) for name in ("mass", "volume", "day", "share")} == {"–"}


@pytest.mark.parametrize(("chance", "ten"), [(0.0, 0), (0.02, 1), (0.5, 5), (0.87, 9), (0.97, 9), (1.0, 10)])
def test_only_what_is_certain_is_none_or_ten_in_ten(chance: float, ten: int) -> None:
    assert in_ten(chance) == ten


# Marks and colours ----------------------------------------------------------------------------------------------------


def colours(dark: bool) -> dict[str, str]:
    """The custom properties of the style sheet, in light or dark."""
    blocks = re.findall(r":root \{(.*?)\}", CSS, re.DOTALL)
    found = dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6});", blocks[0]))
    return found | (dict(re.findall(r"--([a-z-]+): (#[0-9A-F]{6});", blocks[1])) if dark else {})


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("ground", ["ground", "raised"])
@pytest.mark.parametrize("ink", ["ink", "soft", "trouble-words"])
def test_words_stand_out_seven_to_one_in_light_and_dark(ink: str, ground: str, dark: bool) -> None:
    # 7:1 is WCAG's "enhanced" contrast (success criterion 1.4.6, from memory), which look.md asks for.
    assert contrast(colours(dark)[ink], colours(dark)[ground]) >= 7


@pytest.mark.parametrize("dark", [False, True])
@pytest.mark.parametrize("line", ["edge", "focus"])
def test_edges_of_fields_and_the_focus_can_be_seen(line: str, dark: bool) -> None:
    # 3:1 for what is no text: WCAG 2.2, success criterion 1.4.11, from memory.
    assert contrast(colours(dark)[line], colours(dark)["ground"]) >= 3


def test_stages_have_the_colours_of_the_pictures() -> None:
    assert {stage: colours(False)[stage] for stage in MARKS} == {stage: mark.colour for stage, mark in MARKS.items()}


# `L` is open: ink on the page's own ground; the others carry their letter on their colour.
@pytest.mark.parametrize("stage", ["soak", "germinate", "blackout", "ready"])
def test_the_letter_of_a_stage_can_be_read_on_its_colour(stage: str) -> None:
    rule = re.search(rf"\.mark-{stage} \{{(.*?)\}}", CSS)
    base = re.search(r"\.mark \{.*?color: (#[0-9A-F]{6})", CSS)
    assert rule is not None
    assert base is not None
    letter = re.search(r"(?<!-)color: (#[0-9A-F]{6})", rule[1])
    assert contrast(letter[1] if letter else base[1], colours(False)[stage]) >= 4.5


def test_no_style_loads_anything_from_elsewhere() -> None:
    for path in (*WEB.rglob("*.css"), *WEB.rglob("*.js")):
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"https?:|@import|url\(", text), path.name


# Macros ---------------------------------------------------------------------------------------------------------------


def made(pages: Pages, words: str) -> str:
    """What a page's macros make of something."""
    from trayward.web.ask import Ask, Sent
    from trayward.web.home.routes import ROUTES

    house = pages.client.app.state.house  # type: ignore[attr-defined]
    from starlette.requests import Request

    scope = {
        "type": "http", "method": "GET", "path": "/x", "query_string": b"", "headers": [], "scheme": "http",
        "server": ("127.0.0.1", 8470),
    }  # fmt: skip
    ask = Ask(house, Request(scope), ROUTES[0], pages.clock.at, None, Sent())
    environment = house.look.environment(ask.tongue, ShownUnits())
    source = '{% import "parts.html" as parts with context %}' + words
    try:
        return str(environment.from_string(source).render(ask=ask, clock=str, when=lambda at: at.strftime("%H:%M")))
    finally:
        ask.done()


def test_a_range_says_its_ends_and_its_middle(pages: Pages) -> None:
    bar = made(pages, "{{ parts.range_bar(642.0, 780.0, 908.0, 1000.0) }}")
    assert words_of(bar) == "640 to 910 g, likely 780 g"
    assert 'x="128.4"' in bar


def test_a_range_beyond_its_scale_stays_on_it(pages: Pages) -> None:
    bar = made(pages, "{{ parts.range_bar(-5.0, 2000.0, 3000.0, 1000.0, show='number') }}")
    assert 'x1="200"' in bar
    assert float(re.search(r'width="([\d.]+)"', bar)[1]) <= 200  # type: ignore[index]


def test_a_stage_is_told_by_letter_and_word_not_by_colour_alone(pages: Pages) -> None:
    mark = made(pages, '{{ parts.stage_mark("germinate") }}')
    assert words_of(mark) == "G germinate"
    assert 'aria-hidden="true">G' in mark


def test_a_stage_of_the_growers_own_has_its_letter(pages: Pages) -> None:
    assert words_of(made(pages, '{{ parts.stage_mark("hardening") }}')) == "H hardening"


def test_a_chance_is_said_as_a_count(pages: Pages) -> None:
    assert words_of(made(pages, "{{ parts.chance(0.87) }}")) == "9 in 10"


def test_a_field_has_a_label_and_what_is_typed_cannot_break_out_of_it(pages: Pages) -> None:
    field = made(pages, """{{ parts.field("words", "Words", value='"><script>x</script>', hint="Short.") }}""")
    assert '<label for="words">Words</label>' in field
    assert 'aria-describedby="words-hint' in field
    assert "<script>" not in field


@pytest.mark.parametrize("kind", ["text", "number", "date", "select", "textarea", "checkbox", "file", "password"])
def test_every_kind_of_field_has_its_label(pages: Pages, kind: str) -> None:
    field = made(pages, f"{{{{ parts.field('x', 'Name', kind='{kind}', options=[('a', 'A')], form='f') }}}}")
    assert 'for="f-x"' in field
    assert 'id="f-x"' in field
    assert 'name="x"' in field


def test_a_page_that_names_what_it_was_not_given_fails(pages: Pages) -> None:
    with pytest.raises(Exception, match="nonesuch"):
        made(pages, "{{ nonesuch }}")


# Files ----------------------------------------------------------------------------------------------------------------


def test_a_static_file_may_be_kept_for_ever_under_an_address_that_changes_with_it(pages: Pages) -> None:
    address = re.search(r'href="(/static/[0-9a-f]+/look\.css)"', pages.get("/about").text)
    assert address is not None
    found = pages.get(address[1])
    assert found.headers["cache-control"] == "public, max-age=31536000, immutable"
    assert found.headers["content-encoding"] == "gzip"
    assert pages.get("/static/0123456789ab/look.css").headers["cache-control"] == "no-cache"


@pytest.mark.parametrize("name", ["nothing.css", "../app.py", "..%2fapp.py", "%2e%2e/look.css.map"])
def test_nothing_else_is_given_out(pages: Pages, name: str) -> None:
    assert pages.get(f"/static/x/{name}").status_code == 404


def test_the_address_changes_when_any_file_does(tmp_path: Path) -> None:
    (tmp_path / "a.css").write_text("one")
    before = Statics((tmp_path,)).hash
    (tmp_path / "a.css").write_text("two")
    assert Statics((tmp_path,)).hash != before


def test_the_first_page_is_light(pages: Pages) -> None:
    # The bound is 150 kB compressed for the first page with all it loads; what every page loads is a part of it.
    files = Look().statics.files
    always = sum(len(files[name].squeezed or b"") for name in ("look.css", "app.js", "live.js", "icon.svg"))
    assert always + len(gzip.compress(pages.get("/").content, 5)) < 60_000


def test_a_page_names_every_module_that_its_script_needs() -> None:
    """Followed by hand: app.js imports four, queue.js four more, and marks.js and steady.js are met twice."""
    files = Look().statics
    needed = files.needs("app.js")
    assert sorted(needed) == [
        "kept.js",
        "live.js",
        "marks.js",
        "moments.js",
        "nosignal.js",
        "queue.js",
        "send.js",
        "steady.js",
    ]
    assert needed[0] == "live.js"
    written = b"".join(files.files[name].plain for name in ("app.js", *needed))
    assert written.count(b"\nimport ") == written.count(b'from "./') + written.count(b'import "./')


def test_a_recipe_s_grams_and_millilitres_are_told_in_the_units_of_who_reads_them() -> None:
    told = "Close it under a tray with 2.3 kg on top. Only if it feels dry: 60 ml (1/4 cup) of water, at 21 C."
    assert (
        in_units(told, US)
        == "Close it under a tray with 5.07 lb on top. Only if it feels dry: 1/4 cup of water, at 21 C."
    )
    assert in_units(told, METRIC) == told


@pytest.mark.parametrize(
    "told",
    [
        "a tray of 52 x 27 x 3 cm",
        "feed of 5 ml/l",
        "6.20 EUR per 100 g",
        "0.6 g a thousand seeds",
        "1/2 in (13 mm)",
        "lot B-12 g",
    ],
)
def test_what_is_a_rate_a_price_or_a_size_is_left_as_it_is(told: str) -> None:
    assert in_units(told, US) == told


def test_a_guide_speaks_of_temperatures_in_the_unit_of_who_reads_it() -> None:
    """25 C = 77 F, 30 C = 86 F, 15 C = 59 F, by 9/5 and 32; the sentence of the library, on its page too."""
    told = "99 of 100 at 25 °C and 12 of 100 at 30 °C; spinach from 82 at 15 °C. Keep it at 21 to 24 °C."
    read = "99 of 100 at 77 °F and 12 of 100 at 86 °F; spinach from 82 at 59 °F. Keep it at 70 to 75 °F."
    assert guide_temperatures(told, "F") == read
    assert guide_temperatures(told, "C") == told
    line = '{{ "On mats, disease rises above 24 °C." | warmth }}'
    shown = [Look().environment(Tongues().of("en_GB"), units).from_string(line).render() for units in (US, METRIC)]
    assert shown == ["On mats, disease rises above 75 °F.", "On mats, disease rises above 24 °C."]


def test_measures_are_told_in_ounces_in_spanish_too_with_its_own_decimal_mark() -> None:
    said = (
        "Ciérrala bajo una bandeja con 2,3 kg encima; 190 a 270 g, 60 ml (1/4 de taza) de agua; 0,6 g las mil semillas."
    )
    spanish = Tongues().of("es_ES")
    assert in_units(said, US, spanish.number) == (
        "Ciérrala bajo una bandeja con 5,07 lb encima; 6,7 a 9,52 oz, 1/4 cup de agua; 0,6 g las mil semillas."
    )
