"""The calendar a phone subscribes to, the page where its address is made, and tracing events as a file."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from pathlib import Path

import icalendar
import pytest
import zxingcpp
from argon2.profiles import CHEAPEST
from httpx2 import Response
from starlette.testclient import TestClient

from tests.exchange.epcis_schema import problems
from tests.web.anybody import Anybody
from tests.web.conftest import ADDRESS, Clock, Pages, words_of
from trayward.exchange.feed import SORTS
from trayward.store.people import Hasher
from trayward.web.app import create_app
from trayward.web.exchange.view import left_out, subscription
from trayward.web.people.keeper import FarmPeople

ALL = dict.fromkeys(SORTS, "1")


@pytest.fixture
def subscriber(pages: Pages) -> Iterator[Pages]:
    """The pages with the farm's own people: none yet, so everything is open to this machine."""
    keeper = FarmPeople(str(pages.book))
    app = create_app(str(pages.book), now=pages.clock, people=keeper)
    with TestClient(app, base_url=ADDRESS) as client:
        yield Pages(client, pages.book, pages.clock)
    keeper.close()


def made(pages: Pages, **form: str) -> str:
    """Make a calendar and give its path."""
    answer = pages.post("/calendar/make", form or ALL, page="/calendar")
    assert answer.status_code == 200, answer.text[:500]
    found = re.search(r"http://127\.0\.0\.1:8470(/calendar/[\w.-]+\.ics(\?[\w=,]+)?)", answer.text)
    assert found is not None
    return found[1]


def test_it_works(subscriber: Pages) -> None:
    page = subscriber.get("/calendar")
    assert page.status_code == 200
    assert "Make my calendar" in words_of(page)
    answer = subscriber.get(made(subscriber))
    assert answer.headers["content-type"] == "text/calendar; charset=utf-8"
    whole = icalendar.Calendar.from_ical(answer.content)
    assert str(whole["NAME"]) == "Lantern Loft"
    assert {event["CATEGORIES"].to_ical() for event in whole.walk("VEVENT")} >= {b"Cut", b"Deliver", b"Round"}


def test_the_address_is_shown_once_and_its_square_leads_to_it(subscriber: Pages) -> None:
    answer = subscriber.post("/calendar/make", ALL, page="/calendar")
    assert answer.headers["cache-control"] == "no-store"
    assert subscriber.get("/calendar/make").url.path == "/calendar"
    assert "You have one" in words_of(subscriber.get("/calendar"))
    assert ".ics" not in subscriber.get("/calendar").text


def test_a_phone_reads_the_square() -> None:
    import io

    import segno
    from PIL import Image

    told = subscription("https://loft.example", "k" * 43, ["round"])
    # The same code drawn as a picture: the reader is zxing-cpp, which knows nothing of what drew it.
    kept = io.BytesIO()
    segno.make(told.webcal, error="m", micro=False).save(kept, kind="png", scale=4, border=4)
    kept.seek(0)
    assert zxingcpp.read_barcode(Image.open(kept)).text == told.webcal
    assert told.webcal == f"webcal://loft.example/calendar/{'k' * 43}.ics?without=round"
    assert not told.only_here
    assert subscription("http://127.0.0.1:8470", "k", ()).only_here


def test_a_phone_that_asks_again_is_told_that_nothing_changed(subscriber: Pages) -> None:
    path = made(subscriber)
    first = subscriber.get(path)
    again = subscriber.get(path, If_None_Match=first.headers["etag"])
    assert (again.status_code, again.content) == (304, b"")
    assert "max-age=" in first.headers["cache-control"]
    assert "private" in first.headers["cache-control"]
    with subscriber.farm() as farm:
        trays = [tray.tray for tray in farm.state(subscriber.clock.at).growing()]
        farm.discard(trays, "frost", at=subscriber.clock.at, sure=True)
    changed = subscriber.get(path, If_None_Match=first.headers["etag"])
    assert changed.status_code == 200
    assert changed.headers["etag"] != first.headers["etag"]


def test_what_was_not_ticked_is_left_out(subscriber: Pages) -> None:
    path = made(subscriber, deliver="1")
    assert path.endswith("?without=sow,cut,turn,wash,record,round")
    found = icalendar.Calendar.from_ical(subscriber.get(path).content).walk("VEVENT")
    assert {event["CATEGORIES"].to_ical() for event in found} == {b"Deliver"}
    assert left_out(SORTS) == ()


def test_a_new_address_ends_the_one_before_and_ending_it_ends_it(subscriber: Pages) -> None:
    first, second = made(subscriber), made(subscriber)
    assert subscriber.get(first).status_code == 404
    assert subscriber.get(second).status_code == 200
    ended = subscriber.post("/calendar/end", page="/calendar")
    assert ended.status_code == 303
    assert subscriber.get(second).status_code == 404


def said_in(answer: Response) -> str:
    """All that a calendar says to people, without what the farm's own people typed."""
    found = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    told = " ".join(f"{event['CATEGORIES'].to_ical().decode()} {event['SUMMARY']} {event.get('DESCRIPTION', '')}"
                    for event in found)  # fmt: skip
    return re.sub(r"live \w+ tray|our own table", "", told)


ENGLISH = re.compile(
    r"\b(sow|cut|turn|deliver|wash|record|round|tray|trays|likely|from|of|the|order|dirty|and)\b", re.I
)


def test_an_address_made_on_a_spanish_page_says_all_of_it_in_spanish(subscriber: Pages) -> None:
    subscriber.client.headers["Accept-Language"] = "es"
    answer = subscriber.post("/calendar/make", ALL, page="/calendar")
    found = re.search(r"(/calendar/[\w.-]+\.ics\?in=es)", answer.text)
    assert found is not None
    subscriber.client.headers["Accept-Language"] = "de"  # a phone asks as it likes
    told = said_in(subscriber.get(found[1]))
    assert ENGLISH.findall(told) == []
    for words in ("Cortar", "Entregar a Moth & Marrow", "Ronda: mañana", "8 de cada 10", "Lavar", "probable"):
        assert words in told, words
    assert len(ENGLISH.findall(said_in(subscriber.get(found[1].partition("?")[0])))) > 100


def test_a_calendar_speaks_the_language_its_person_chose_whatever_their_phone_asks(
    book: Path, clock: Clock, subscriber: Pages
) -> None:
    keeper = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    people = keeper.needed
    ida = people.persons.add("ida", "owner", password="seven wet trays drip", at=clock.at, by="tests")
    path = f"/calendar/{people.calendars.make(ida.id, at=clock.at, by='ida')}.ics"
    assert "Deliver to Moth & Marrow" in said_in(subscriber.get(path))
    people.persons.set_taste(ida.id, language="es", units="")
    assert "Entregar a Moth & Marrow" in said_in(subscriber.get(path, Accept_Language="en"))
    people.persons.set_taste(ida.id, language="en", units="")
    assert "Deliver to Moth & Marrow" in said_in(subscriber.get(f"{path}?in=es", Accept_Language="es"))
    keeper.close()


def test_nobody_guesses_an_address(subscriber: Pages) -> None:
    path = made(subscriber).partition("?")[0]
    key = path.removeprefix("/calendar/").removesuffix(".ics")
    assert len(key) == 43  # 256 bits in base64
    assert subscriber.get(path.replace(key[-1] + ".ics", ("A" if key[-1] != "A" else "B") + ".ics")).status_code == 404
    assert subscriber.get("/calendar/nothing.ics").status_code == 404


def test_a_calendar_only_looks(subscriber: Pages) -> None:
    path = made(subscriber)
    assert subscriber.client.post(path).status_code == 405
    assert subscriber.get(path, Accept="application/json").status_code == 200


def test_a_wrong_word_is_refused(subscriber: Pages) -> None:
    path = made(subscriber).partition("?")[0]
    assert subscriber.get(f"{path}?without=walks").status_code == 422


def test_tracing_events_are_a_file_that_fits_the_schema(subscriber: Pages) -> None:
    page = subscriber.get("/exchange")
    assert "Save the file" in words_of(page)
    answer = subscriber.get("/exchange/events.jsonld?from=2026-11-20&to=2026-11-25")
    assert answer.headers["content-type"] == "application/ld+json"
    assert 'filename="events-2026-11-20-2026-11-25.jsonld"' in answer.headers["content-disposition"]
    told = json.loads(answer.content)
    assert problems(told) == []
    days = {event["eventTime"][:10] for event in told["epcisBody"]["eventList"]}
    assert days
    assert min(days) >= "2026-11-20"
    assert max(days) <= "2026-11-25"
    assert subscriber.get("/exchange/events.jsonld?from=2026-11-25&to=2026-11-20").status_code == 422


def test_tracing_events_are_of_four_weeks_where_no_day_is_said(subscriber: Pages) -> None:
    """The book of the pages is four weeks old and a bit: its first days are in the whole alone."""
    first = {}
    for asked in ("", "?all=1"):
        answer = subscriber.get(f"/exchange/events.jsonld{asked}")
        days = [event["eventTime"][:10] for event in json.loads(answer.content)["epcisBody"]["eventList"]]
        first[asked] = min(days)
    assert first[""] >= "2026-10-29", "27 days before 25 November"
    assert first["?all=1"] < "2026-10-29"


class TestOthers:
    """Who may have a calendar, and who may take events along."""

    @pytest.fixture
    def people(self) -> Anybody:
        return Anybody()

    def test_a_reader_may_not_take_events(self, pages: Pages, people: Anybody) -> None:
        people.is_now("Rik", "reader")
        assert pages.get("/exchange/events.jsonld").status_code == 403
        assert pages.get("/exchange").status_code == 403
