"""Records: what is due, write one down, review, how often, and the pack for an inspection."""

from __future__ import annotations

import io
import zipfile
from datetime import date
from urllib.parse import urlencode

from starlette.responses import Response

from trayward.hygiene.kinds import CHECKED, KINDS, kind_named
from trayward.hygiene.pack import RECENT, outside_first
from trayward.hygiene.words import basis_words, habit_words
from trayward.paper.inspection_sheet import inspection_sheet, pack_files
from trayward.rounds.records import asks_of
from trayward.web.ask import Ask
from trayward.web.handed import PDF, ZIP, handed
from trayward.web.records.view import fields_of, found_of, to_review, values_typed
from trayward.web.routing import act, page

MOST = 100
"""So many records stand on the page; the pack has all."""


def records_page(ask: Ask) -> Response:
    """What is due now, what waits for a review, and what was found."""
    first, last = _days(ask)
    found = outside_first(ask.farm.records(first, last, at=ask.at))
    habits = [habit for habit in ask.farm.state(ask.at).record_habits.values() if not habit.ended]
    return ask.show(
        "records/page.html", due=ask.farm.records_due(ask.at), first=first, last=last, kinds=KINDS,
        habits=[habit_words(habit, ask.units) for habit in habits],
        reviews=to_review(ask.farm.reviews_due(ask.at), ask.units), found=found_of(found[:MOST], ask.units),
        more=max(0, len(found) - MOST), checked=CHECKED,
        span=urlencode({"from": first.isoformat(), "to": last.isoformat()}),
    )  # fmt: skip


def _days(ask: Ask) -> tuple[date, date]:
    query = ask.query
    last = query.day("to") if query.has("to") else ask.today
    return query.day("from") if query.has("from") else last - RECENT, last


def form_page(ask: Ask) -> Response:
    """The form of one kind, made from its fields."""
    kind, area = kind_named(ask.query.need("kind", "Choose a kind.")), ask.query.text("area")
    asks = asks_of(ask.farm.state(ask.at), kind, area)
    return ask.show(
        "records/form.html", kind=kind, area=area, fields=fields_of(asks, ask.units), basis=basis_words(kind)
    )


def write(ask: Ask) -> Response:
    """Write a record down."""
    form = ask.form
    kind = kind_named(form.need("kind"))
    values = values_typed(form, kind, ask.units)
    receipt = ask.farm.write_record(
        kind.name, values, area=form.text("area"), about=form.text("about").split(","),
        corrective=form.text("corrective"), note=form.text("note"), **ask.said,
    )  # fmt: skip
    return ask.recorded("/records", ask._("Written down."), receipt)


def review(ask: Ask) -> Response:
    """Whoever keeps the farm looked at records."""
    receipt = ask.farm.review(ask.form.all("entry"), note=ask.form.text("note"), **ask.said)
    return ask.recorded("/records", ask._("Reviewed."), receipt)


def set_habit(ask: Ask) -> Response:
    """How often a kind of record is kept somewhere, and its limits."""
    form = ask.form
    kind = kind_named(form.need("kind"))
    figure = next((each for each in kind.fields if each.number), None)
    limits: dict[str, tuple[float | str | None, float | str | None]] = {}
    if figure is not None and (form.has("low") or form.has("high")):
        read = form.temperature if figure.unit == "C" else form.number
        limits[figure.name] = (form.maybe(read, "low"), form.maybe(read, "high"))
    receipt = ask.farm.set_record_habit(
        kind.name, area=form.text("area"), every=form.text("every"), limits=limits, ended=form.ticked("ended"),
        within_days=form.whole("within", 0, 3650) if form.has("within") else None, **ask.said,
    )  # fmt: skip
    return ask.recorded("/records", ask._("Kept."), receipt)


def pack_pdf(ask: Ask) -> Response:
    """The inspection pack as one PDF."""
    first, last = _days(ask)
    made = inspection_sheet(ask.farm.inspection(first, last, at=ask.at), ask.settings, tongue=ask.on_paper())
    return handed(made, PDF, "records.pdf", shown=True)


def pack_zip(ask: Ask) -> Response:
    """The inspection pack whole: the PDF and a CSV for each kind."""
    pack = ask.farm.inspection(*_days(ask), at=ask.at)
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as out:
        for name, content in pack_files(pack, ask.settings, tongue=ask.on_paper()).items():
            out.writestr(name, content)
    return handed(held.getvalue(), ZIP, "records.zip")


ROUTES = (
    page("/records", records_page, may="look"),
    page("/records/form", form_page, may="answer"),
    page("/records/pack.pdf", pack_pdf, may="run"),
    page("/records/pack.zip", pack_zip, may="run"),
    act("/records/write", write, may="answer"),
    act("/records/review", review, may="run"),
    act("/records/habit", set_habit, may="run"),
)
