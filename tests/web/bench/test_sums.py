"""Every sum of the work table on its page: works from its example, says the terminal's words, keeps what was typed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlencode

import pytest
from click.testing import CliRunner
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, MORNING, Clock, Pages, words_of
from trayward.cli.bench import bench as bench_command
from trayward.web.app import create_app
from trayward.web.bench.fields import example_of, fields_shown, parts_of, values_of
from trayward.web.bench.routes import PART
from trayward.web.bench.sums.declared import BENCHES, Sum, bench_named
from trayward.web.bench.sums.shown import amount_words
from trayward.web.bench.words import label_of, page_words
from trayward.web.guard import OnePerson, Who
from trayward.web.typed import Typed, Upload

SUMS = [(name, task) for name in BENCHES for task in bench_named(name).sums]
FILES = (("air", "log"), ("growth", "log"), ("growth", "fit"))
LOG = "time,temperature,humidity\n2026-11-25 07:30,21.4,60\n2026-11-25 09:30,22.0,64\n2026-11-25 11:30,22.5,62\n"


@pytest.fixture
def no_farm(tmp_path: Path, clock: Clock) -> Iterator[Pages]:
    """The bench where there is no farm."""
    book = tmp_path / "none.sqlite"
    with TestClient(create_app(str(book), now=clock), base_url=ADDRESS) as client:
        yield Pages(client, book, clock)


def sum_of(name: str, task: str) -> Sum:
    return bench_named(name).sums[task]


def answer(pages: Pages, name: str, task: str, **typed: str) -> str:
    """The words of the answer part."""
    page = pages.client.get(f"/bench/{name}/{task}?{urlencode(typed)}", headers={PART: "answer"})
    assert page.status_code == 200
    return words_of(page)


def test_there_are_52() -> None:
    # As `trayward bench` lists them: seed 11, water 10, hygiene 7, money 5, light 9, air 6, growth 4.
    assert len(SUMS) == 52


@pytest.mark.parametrize("path", ["/bench", *(f"/bench/{name}" for name in BENCHES)])
def test_it_works(pages: Pages, path: str) -> None:
    page = pages.get(path)
    assert page.status_code == 200
    assert page.text.count("<h1") == 1


@pytest.mark.parametrize(("name", "task"), [each for each in SUMS if each not in FILES])
def test_a_sum_answers_from_its_example_as_the_terminal_does(
    no_farm: Pages, tmp_path: Path, name: str, task: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    each = sum_of(name, task)
    example = example_of(each)
    monkeypatch.setenv("TRAYWARD_BOOK", str(tmp_path / "none.sqlite"))
    monkeypatch.chdir(tmp_path)
    import shlex

    words = [*shlex.split(each.example)[2:], "--json"]
    if "--made" in words:  # by this machine's clock: the page's clock is another
        words[words.index("--made") : words.index("--made") + 2] = ["--age", "1h"]
        example = {field: value for field, value in example.items() if field != "made"} | {"age": "1h"}
    told = json.loads(CliRunner().invoke(bench_command, words, catch_exceptions=False).output)
    first = told["found"][0]
    shown = answer(no_farm, name, task, **example)
    from trayward.bench.types import Amount
    from trayward.farm.settings import ShownUnits

    value = amount_words(Amount(**{key: first[key] for key in ("name", "value", "unit", "kind")}), ShownUnits())
    assert f"{first['name']} {value}" in shown.replace("&#39;", "'").replace("&amp;", "&")


def test_every_sum_is_there_before_anything_is_typed_and_says_nothing_wrong(pages: Pages) -> None:
    for name, task in SUMS:
        page = pages.get(f"/bench/{name}/{task}")
        assert page.status_code == 200, (name, task)
        assert "wrong-words" not in page.text, (name, task)
        for field in sum_of(name, task).fields:
            assert field.is_picture or f'name="{field.name}"' in page.text, (name, task, field.name)


@pytest.mark.parametrize(("name", "task"), FILES)
def test_a_logger_file_is_sent_or_pasted(pages: Pages, name: str, task: str) -> None:
    text = "temperature,not yet,seen,trays\n20,1.5,2,4\n24,1,1.5,3\n18,2,2.5,2\n" if task == "fit" else LOG
    more = {"crop": "broccoli"} if name == "growth" else {}
    key = pages.key(f"/bench/{name}/{task}")
    keys = {"_key": key, "_from": f"/bench/{name}/{task}"}
    pasted = pages.client.post(f"/bench/{name}/{task}", data={**keys, **more, "file": text})
    assert pasted.status_code == 200
    assert 'class="big"' in pasted.text, words_of(pasted)
    sent = pages.client.post(
        f"/bench/{name}/{task}", data={**keys, **more}, files={"file": ("shelf.csv", text.encode(), "text/csv")}
    )
    assert 'class="big"' in sent.text


def test_words_never_name_a_file_of_the_machine(pages: Pages, tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("0=50.1 5=50.2 10=49.9 15=50")
    shown = answer(pages, "hygiene", "hot-water", crop="radish", bath=str(secret))
    assert "each must be a minute" in shown
    shown = answer(pages, "growth", "log", file=str(secret), crop="broccoli")
    assert "50.1" not in shown


@pytest.mark.parametrize(
    ("name", "task", "typed", "field", "said"),
    [
        ("seed", "grams", {"crop": "broccoli", "density": "lots"}, "density", "seeds on an area"),
        ("seed", "grams", {"crop": "broccoli", "density": "4", "bulk": "x"}, "bulk", "must be a number"),
        ("seed", "need", {"crop": "broccoli", "trays": "4", "weeks": "99"}, "weeks", "must lie in [1, 26]"),
        ("seed", "weight", {"count": "0", "samples": "1 g"}, "count", "must be 1 or more"),
        ("light", "map", {"open_": "front"}, "open_", "Say what they throw back: “Walls” 85%"),
        ("water", "acid", {"acid": "lemonade"}, "", "lemonade"),
        ("air", "state", {"temperature": "warm"}, "temperature", "warm"),
        (
            "hygiene",
            "dilute",
            {"sanitiser": "soap", "label": "5 %", "to": "200 ppm"},
            "sanitiser",
            "none that is known",
        ),
    ],
)
def test_what_cannot_be_is_said_beside_its_field_and_stays_there(
    no_farm: Pages, name: str, task: str, typed: dict[str, str], field: str, said: str
) -> None:
    page = no_farm.get(f"/bench/{name}/{task}?{urlencode(typed)}")
    assert page.status_code == 200
    assert said in words_of(page).replace("&#39;", "'")
    if field:
        assert f'id="{field}-wrong"' in page.text
    for name_typed, value in typed.items():
        assert f'value="{value}"' in page.text or name_typed == "sanitiser"


def test_what_is_needed_first_is_named(no_farm: Pages) -> None:
    assert "Fill in: Crop, Live seeds wanted." in answer(no_farm, "seed", "grams")


def test_the_farms_own_stand_in_and_are_shown_as_such(pages: Pages) -> None:
    with pages.farm() as farm:
        import msgspec

        from trayward.farm.entries import FarmSet
        from trayward.farm.settings import FarmWater

        water = FarmWater(ph=7.8, alkalinity_meq=3.6, acid="citric 50 %", temp_c=18)
        settings = msgspec.structs.replace(farm.settings(MORNING), water=water)
        farm.record(FarmSet(settings=settings), at=pages.clock.at)
    page = pages.get("/bench/water/acid")
    assert "The farm's: 7.8" in words_of(page).replace("&#39;", "'")
    assert 'class="big"' in page.text  # enough is known to work it out before anything is typed
    assert "BRO-26-1" in pages.get("/bench/seed/grams").text
    assert "lot BRO-26-1" in answer(pages, "seed", "grams", crop="broccoli", density="4.4")


def test_the_farm_stands_in_only_where_the_sum_takes_it(pages: Pages) -> None:
    with pages.farm() as farm:
        import msgspec

        from trayward.farm.entries import FarmSet
        from trayward.farm.settings import FarmWater

        water = FarmWater(ph=7.8, alkalinity_meq=3.6, temp_c=18, feed_gain_ds_m=0.35, feed_ec_ds_m=(1.2, 1.6))
        settings = msgspec.structs.replace(farm.settings(MORNING), water=water)
        farm.record(FarmSet(settings=settings), at=pages.clock.at)

    def said(path: str) -> str:
        return words_of(pages.get(f"/bench/{path}")).replace("&#39;", "'")

    assert "The farm's: 62 %" in said("air/state")
    assert "The farm's" not in said("air/cover"), "the air under a cover is 95 % where nothing is typed"
    assert "The farm's: 18 C" in said("water/acid")
    assert "The farm's" not in said("water/ec"), "a reading is taken to be of 25 C where nothing is typed"
    assert "The farm's: 1.4 dS/m" in said("water/feed")


def test_what_asks_the_outlook_is_worked_out_beside_the_pages(pages: Pages) -> None:
    shown = answer(pages, "money", "tray", crop="broccoli")
    assert "being worked out" in shown
    assert pages.client.app.state.house.work.wait(60)  # type: ignore[attr-defined]
    shown = answer(pages, "money", "tray", crop="broccoli")
    assert "being worked out" not in shown
    assert "broccoli" in shown
    assert "outlook" in shown


def test_a_mistake_in_what_is_worked_out_beside_the_pages_is_said(pages: Pages) -> None:
    answer(pages, "money", "tray", crop="broccoli", price="dear")
    assert pages.client.app.state.house.work.wait(60)  # type: ignore[attr-defined]
    assert "must be a price" in answer(pages, "money", "tray", crop="broccoli", price="dear")


def test_cautions_are_never_folded_away(pages: Pages) -> None:
    page = pages.get("/bench/hygiene/dilute?" + urlencode(example_of(sum_of("hygiene", "dilute"))))
    before, _, after = page.text.partition('class="caution"')
    assert after
    assert before.count("<details") == before.count("</details")
    assert page.text.index('class="caution"') < page.text.index('class="steps"')


def test_the_map_of_light_is_drawn_with_its_figures_and_a_table(pages: Pages) -> None:
    page = pages.get("/bench/light/map?lamps=3+x+20+W&trays=4")
    assert '<svg class="light-map"' in page.text
    assert 'aria-label="Light on the shelf seen from above' in page.text
    assert page.text.count("map-tray") == 4
    assert "The map in figures" in page.text


def test_a_shelf_of_the_farm_is_offered_and_mapped(pages: Pages) -> None:
    assert '<option value="E1">' in pages.get("/bench/light/map").text
    assert "shelf" in answer(pages, "light", "map", shelf="E1")


@pytest.mark.parametrize("path", ["/bench/moon", "/bench/seed/moon"])
def test_what_is_not_there_is_not_found(pages: Pages, path: str) -> None:
    assert pages.get(path).status_code == 404


def test_a_reader_may_work_things_out(book: Path, clock: Clock) -> None:
    people = OnePerson("Ines")
    people._who = Who(name="Ines", role="reader")
    with TestClient(create_app(str(book), now=clock, people=people), base_url=ADDRESS) as client:
        assert client.get("/bench/seed/grams?crop=broccoli&density=4.4").status_code == 200


def test_nothing_is_kept(pages: Pages) -> None:
    with pages.farm() as farm:
        before = farm.book.head()
    for name, task in SUMS:
        pages.get(f"/bench/{name}/{task}?{urlencode(example_of(sum_of(name, task)))}")
    with pages.farm() as farm:
        assert farm.book.head() == before


def test_american_units_are_those_of_who_looks(book: Path, clock: Clock) -> None:
    app = create_app(str(book), now=clock, people=OnePerson("Ada", units="us"))
    with TestClient(app, base_url=ADDRESS) as client:
        page = client.get("/bench/seed/grams?crop=broccoli&density=4.4")
        assert " oz" in words_of(page)


# Fields ---------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "task", "field", "typed", "read"),
    [
        ("seed", "germination", "counts", "5:4 6:17, 7:10", ["5:4", "6:17", "7:10"]),
        ("seed", "weight", "samples", "0.31 g 0.32 g; 0,33 g", ["0.31 g", "0.32 g", "0,33 g"]),
        ("light", "even", "readings", "180 200\n210", ["180", "200", "210"]),
        (
            "money",
            "break-even",
            "fixed",
            "rent=350 a month; water=20 a month",
            ["rent=350 a month", "water=20 a month"],
        ),
        ("growth", "warmer", "to", "22 C; 24 C", ["22 C", "24 C"]),
    ],
)
def test_lists_are_typed_as_people_write_them(name: str, task: str, field: str, typed: str, read: list[str]) -> None:
    declared = next(each for each in sum_of(name, task).fields if each.name == field)
    assert parts_of(declared, typed) == read


def test_what_is_left_empty_is_as_on_the_terminal() -> None:
    values = values_of(sum_of("light", "daily"), Typed([("ppfd", "140")]))
    assert values == {"ppfd": 140.0, "lux": None, "source": "white LED", "hours": None, "us": None}


def test_one_or_the_other() -> None:
    each = sum_of("growth", "log")
    assert values_of(each, Typed([("in_f", "fahrenheit")]))["in_f"] is True
    assert values_of(each, Typed([("in_f", "celsius")]))["in_f"] is False
    assert values_of(each, Typed([]))["in_f"] is None


def test_a_file_in_an_old_alphabet_is_read() -> None:
    upload = Upload(name="log.csv", kind="text/csv", content="Küche".encode("latin-1"))
    assert values_of(sum_of("air", "log"), Typed([], {"file": upload}))["file"].text == "Küche"


def test_every_field_has_a_label_of_its_own_on_its_page() -> None:
    for name, task in SUMS:
        labels = [label_of(name, field) for field in sum_of(name, task).fields if not field.is_picture]
        assert len(set(labels)) == len(labels), (name, task, labels)


def test_at_most_a_screen_of_fields_is_asked_first() -> None:
    for name, task in SUMS:
        each = sum_of(name, task)
        shown = fields_shown(name, each, Typed([]), {}, {})
        main = [field for field in shown if field.main]
        assert 1 <= len(main) <= 8, (name, task)
        assert {field.name for field in each.fields if field.required} <= {field.name for field in main}, (name, task)


def test_no_word_of_the_terminal_is_left_on_a_page() -> None:
    each = sum_of("light", "height")
    assert page_words("Ask: trayward bench water base", "water", sum_of("water", "acid")) == "See the bench water, base"
    assert page_words("Give --evenness 70%.", "light", each) == "Give “Evenness” 70%."
    for name, task in SUMS:
        for field in fields_shown(name, sum_of(name, task), Typed([]), {}, {}):
            assert "--" not in field.hint + field.label, (name, task, field)
