"""The pages of tracing: start from any code or name; a recall sheet; recalls that were kept."""

from __future__ import annotations

from datetime import date
from typing import cast
from urllib.parse import urlencode

import msgspec
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.recalls import Contact
from trayward.paper.recall_sheet import kept_recall_pdf, recall_sheet_pdf
from trayward.trace.recall import RecallSheet
from trayward.trace.sortable import key_data_workbook
from trayward.trace.types import Trace, Way
from trayward.trace.words import CAUTION, RECALL_HEAD, Words, as_csv, recall_rows, trace_csv
from trayward.web.ask import Ask
from trayward.web.handed import CSV, PDF, XLSX, handed
from trayward.web.routing import act, page
from trayward.web.trace.view import sheet_of, shown_of

WAYS: tuple[Way, ...] = ("both", "back", "forward")


class Asked(msgspec.Struct, frozen=True, kw_only=True):
    """What a page of tracing is asked."""

    word: str
    way: Way
    first: date | None
    last: date | None

    def query(self, **more: str) -> str:
        """As it stands behind the `?`."""
        held = {"word": self.word, "way": self.way, "from": self.first, "to": self.last, **more}
        return urlencode({name: str(value) for name, value in held.items() if value})


def _asked(ask: Ask) -> Asked:
    query = ask.query
    way = cast("Way", query.choice("way", WAYS) if query.has("way") else "both")
    return Asked(
        word=query.text("word").strip()[:200], way=way, first=query.maybe(query.day, "from"),
        last=query.maybe(query.day, "to"),
    )  # fmt: skip


def _words(ask: Ask) -> Words:
    return Words(msgspec.structs.replace(ask.settings, units=ask.units))


def trace_page(ask: Ask) -> Response:
    """Where something came from and where it went."""
    asked, wrong, shown = Asked(word=ask.query.text("word"), way="both", first=None, last=None), None, None
    try:
        asked = _asked(ask)
        shown = shown_of(_trace(ask, asked), _words(ask)) if asked.word else None
    except (InputError, NotFoundError) as error:
        wrong = error
    kept = sorted(ask.farm.state(ask.at).recalls.values(), key=lambda each: each.began, reverse=True)
    return ask.show(
        "trace/page.html", status=422 if wrong is not None else 200, asked=asked, wrong=wrong, shown=shown,
        kept=kept[:5],
    )  # fmt: skip


def _trace(ask: Ask, asked: Asked) -> Trace:
    key = ("trace", asked, ask.today)
    return ask.kept(
        key, lambda: ask.farm.trace(asked.word, at=ask.at, way=asked.way, first=asked.first, last=asked.last)
    )


def _sheet(ask: Ask, asked: Asked) -> RecallSheet:
    key = ("recall", asked, ask.today)
    return ask.kept(key, lambda: ask.farm.recall_sheet(asked.word, at=ask.at, first=asked.first, last=asked.last))


def recall_page(ask: Ask) -> Response:
    """Every pack and customer that had of it, to telephone by."""
    asked = _asked(ask)
    began = ask.query.text("began") or ask.at.isoformat()
    sheet = sheet_of(_sheet(ask, asked), _words(ask))
    trays = ask.farm.state(ask.at).trays
    stands = {name: trays[name].spot if name in trays else None for name in sheet.growing}
    return ask.show("trace/recall.html", asked=asked, sheet=sheet, stands=stands, began=began, caution=CAUTION)


def keep(ask: Ask) -> Response:
    """Keep a recall as it went."""
    form = ask.form
    receipt = ask.farm.keep_recall(
        form.need("word"), reason=form.need("reason", ask._("Say in a few words why.")), began=form.moment("began"),
        exercise=not form.ticked("real"), reached=form.all("reached"), first=form.maybe(form.day, "from"),
        last=form.maybe(form.day, "to"), **ask.said,
    )  # fmt: skip
    undo = [one.entry.id for one in receipt.kept]
    say = ask._("Kept as %(name)s.", name=receipt.names[0])
    return ask.go("/trace", say, findings=receipt.findings, undo=undo)


def contact(ask: Ask) -> Response:
    """How a customer is reached at once."""
    form = ask.form
    told = Contact(
        customer=form.need("customer"), person=form.text("person"), phone=form.text("phone"), email=form.text("email"),
        address=form.text("address"),
    )  # fmt: skip
    receipt = ask.farm.set_contact(told, **ask.said)
    back = form.text("back")
    where = f"/trace/recall?{back}" if back else "/trace"
    return ask.go(where, ask._("Kept: %(who)s.", who=told.customer), findings=receipt.findings)


def trace_sheet(ask: Ask) -> Response:
    """The trace as a sheet."""
    return _csv(trace_csv(_trace(ask, _asked(ask)), _words(ask)), "trace")


def recall_sheet(ask: Ask) -> Response:
    """The recall as a sheet to telephone by."""
    return _csv(as_csv(RECALL_HEAD, recall_rows(_sheet(ask, _asked(ask)), _words(ask))), "recall")


def recall_pdf(ask: Ask) -> Response:
    """The recall on paper: to work from, or one that was kept as it went."""
    query = ask.query
    if query.has("recall"):
        kept = ask.farm.kept_recall(query.text("recall"), at=ask.at)
        made = kept_recall_pdf(kept, ask.settings, at=ask.at, tongue=ask.on_paper())
        return handed(made, PDF, f"recall-{kept.recall.recall}.pdf", shown=True)
    began = query.maybe(query.moment, "began")
    made = recall_sheet_pdf(_sheet(ask, _asked(ask)), ask.settings, at=ask.at, began=began, tongue=ask.on_paper())
    return handed(made, PDF, "recall-sheet.pdf", shown=True)


def record_sheet(ask: Ask) -> Response:
    """The traceability record as a workbook."""
    asked = _asked(ask)
    rows = ask.farm.key_data(asked.word, at=ask.at, first=asked.first, last=asked.last)
    return handed(key_data_workbook(rows), XLSX, "traceability.xlsx")


def _csv(text: str, name: str) -> Response:
    # The mark in front tells a spreadsheet that it is UTF-8.
    return handed(text.encode("utf-8-sig"), CSV, f"{name}.csv")


ROUTES = (
    page("/trace", trace_page, may="look"),
    page("/trace/trace.csv", trace_sheet, may="look"),
    page("/trace/record.xlsx", record_sheet, may="run"),
    page("/trace/recall", recall_page, may="run"),
    page("/trace/recall.pdf", recall_pdf, may="run"),
    page("/trace/recall.csv", recall_sheet, may="run"),
    act("/trace/keep", keep, may="run"),
    act("/trace/contact", contact, may="run"),
)
