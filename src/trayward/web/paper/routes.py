"""Sheets and labels: the page that lists them, each as a PDF, and what a code on a label leads to."""

from __future__ import annotations

from typing import Any, cast, get_args
from urllib.parse import quote

from starlette.responses import RedirectResponse, Response

from trayward.codes.lot import is_code, read
from trayward.desk.ports import Wanted
from trayward.errors import InputError, NotFoundError
from trayward.farm.entries import Delivered
from trayward.paper.farm_labels import MOST_LABELS, SYMBOLS, TagsOf, labels_paper, tags_paper
from trayward.paper.farm_sheets import harvest_paper, round_paper, sowing_paper, wash_paper
from trayward.paper.going_out import invoice_paper, note_paper, pick_paper
from trayward.paper.kept_rows import sheet_questions, sheet_rows
from trayward.paper.label_sheets import FARTHEST
from trayward.paper.paper import MOST_DAYS, Printed
from trayward.web.ask import Ask
from trayward.web.handed import PDF, handed
from trayward.web.paper.view import NEWEST, gone_of, lots_of, sheet_rows_of, sheets_for
from trayward.web.routing import page


def paper_page(ask: Ask) -> Response:
    """Everything there is to print."""
    state = ask.farm.state(ask.at)
    struck = ask.farm.book.struck()
    kept = ask.farm.book.search(Wanted(kinds=(Delivered.KIND,)), limit=NEWEST).kept
    gone = gone_of((each.entry for each in kept if each.entry.id not in struck), ask.settings)
    bills = [held.bill for held in state.bills.values()][-NEWEST:][::-1]
    return ask.show(
        "paper/page.html", gone=gone, bills=bills, lots=lots_of(state), sheets=sheets_for(ask.settings),
        symbols=_symbols(ask), chosen=ask.query.all("lot"),
    )  # fmt: skip


def _symbols(ask: Ask) -> list[tuple[str, str]]:
    """Codes the farm can print: those that need a number or an address only where it has them."""
    words = {
        "code": ask._("QR code of the lot code"),
        "web": ask._("QR code that leads to our pages"),
        "gs1 matrix": ask._("GS1 Data Matrix"),
        "gs1 bars": ask._("GS1-128 bars"),
        "gs1 link": ask._("QR code of a GS1 Digital Link"),
        "none": ask._("no code"),
    }
    paper = ask.settings.paper
    left_out = {"web"} if not paper.web else set()
    left_out |= {"gs1 matrix", "gs1 bars", "gs1 link"} if not (paper.gs1_prefix and paper.gs1_items) else set()
    return [(word, words[word]) for word in SYMBOLS if word not in left_out]


def _sent(printed: Printed) -> Response:
    """The PDF, to be looked at in the browser and printed from there."""
    return handed(printed.pdf, PDF, f"{printed.name}.pdf", shown=True)


def _how(ask: Ask) -> dict[str, Any]:
    """On which paper, and in which language: the page's, where `in` in the address says no other."""
    return {"size": ask.query.text("size"), "tongue": ask.on_paper(ask.query.text("in"))}


def _days(ask: Ask, usual: int) -> int:
    return ask.query.whole("days", 1, MOST_DAYS) if ask.query.has("days") else usual


def round_pdf(ask: Ask) -> Response:
    """The present round for the wall."""
    return _sent(round_paper(ask.farm, ask.at, racks=ask.query.all("only"), **_how(ask)))


def sheet_page(ask: Ask) -> Response:
    """A printed sheet by its name, to enter what was ticked on it."""
    name = ask.query.need("name", "It stands at the foot of the sheet.").strip()
    rows, asks = sheet_rows(ask.farm, name), sheet_questions(ask.farm, name)
    still = {row.row for row in ask.farm.round_soon(ask.at).rows}
    shown = sheet_rows_of(rows, asks, still, ask.farm.state(ask.at), ask.units)
    return ask.show(
        "paper/sheet.html", name=name, of=rows[0].round if rows else "",
        open_rows=[row for row in shown if row.open], others=[row for row in shown if not row.open],
    )  # fmt: skip


def sowing_pdf(ask: Ask) -> Response:
    """Sowings of the coming days."""
    return _sent(sowing_paper(ask.farm, ask.at, days=_days(ask, 7), **_how(ask)))


def harvest_pdf(ask: Ask) -> Response:
    """Trays to cut."""
    return _sent(harvest_paper(ask.farm, ask.at, **_how(ask)))


def washing_pdf(ask: Ask) -> Response:
    """What to strip, wash and sanitise."""
    return _sent(wash_paper(ask.farm, ask.at, **_how(ask)))


def picks_pdf(ask: Ask) -> Response:
    """What goes out today and tomorrow."""
    return _sent(pick_paper(ask.farm, ask.at, days=_days(ask, 2), **_how(ask)))


def note_pdf(ask: Ask) -> Response:
    """The note of a delivery."""
    return _sent(note_paper(ask.farm, ask.query.need("delivery"), ask.at, **_how(ask)))


def invoice_pdf(ask: Ask) -> Response:
    """An invoice."""
    return _sent(invoice_paper(ask.farm, ask.query.need("name"), ask.at, **_how(ask)))


def labels_pdf(ask: Ask) -> Response:
    """Labels for packs and harvest lots."""
    lots = ask.query.all("lot")
    if not lots:
        raise InputError("lot", "none", "labels are for packs or lots", "Tick at least one.")
    copies = ask.query.whole("copies", 1, MOST_LABELS) if ask.query.has("copies") else 0
    code = ask.query.text("code", "code")
    return _sent(labels_paper(ask.farm, lots, ask.at, copies=copies, code=code, **_on(ask)))


def tags_pdf(ask: Ask) -> Response:
    """Tags for shelves, spots or trays."""
    what = cast(TagsOf, ask.query.choice("of", get_args(TagsOf)))
    return _sent(tags_paper(ask.farm, what, ask.at, only=ask.query.all("name"), **_on(ask)))


def _on(ask: Ask) -> dict[str, Any]:
    """Which labels, from which on, and moved how far."""
    moved = {
        name: ask.query.number(name, -FARTHEST, FARTHEST) if ask.query.has(name) else 0.0 for name in ("right", "down")
    }
    return {
        "on": (ask.query.text("roll") and f"roll {ask.query.text('roll')}") or ask.query.need("on"),
        "start": ask.query.whole("start", 1, 400) if ask.query.has("start") else 1,
        "outlines": ask.query.ticked("outlines"),
        "tongue": ask.on_paper(ask.query.text("in")),
        **moved,
    }


def code(ask: Ask) -> Response:
    """What a code on a label leads to: the tray, the shelf, the seed, or the harvest its crop came from."""
    typed = ask.path["code"]
    state = ask.farm.state(ask.at)
    name = read(typed) if is_code(typed) else typed
    for known, where in (
        (name in state.packs or name in state.harvests, f"/trace?word={quote(name)}" if ask.has("/trace") else ""),
        (name in state.harvests, f"/harvest/lot/{name}"),
        (name in state.packs, "/harvest"),
        (state.tray(name) is not None, f"/tray/{name}"),
        (name in state.seed, f"/stores/lot?lot={quote(name)}"),
        (name in state.shelves or name.partition(".")[0] in state.shelves, "/racks"),
    ):
        if known and where:
            return RedirectResponse(where, 303)
    if ask.farm.book.about(f"pack:{name}") or ask.farm.book.about(f"harvest:{name}"):
        return RedirectResponse(f"/book?about={name}", 303)
    raise NotFoundError("code", typed, ())


ROUTES = (
    page("/paper", paper_page, may="look"),
    page("/round/sheet", sheet_page, may="look"),
    page("/paper/round.pdf", round_pdf, may="look"),
    page("/paper/sowing.pdf", sowing_pdf, may="look"),
    page("/paper/harvest.pdf", harvest_pdf, may="look"),
    page("/paper/washing.pdf", washing_pdf, may="look"),
    page("/paper/picks.pdf", picks_pdf, may="look"),
    page("/paper/note.pdf", note_pdf, may="look"),
    page("/paper/invoice.pdf", invoice_pdf, may="look"),
    page("/paper/labels.pdf", labels_pdf, may="look"),
    page("/paper/tags.pdf", tags_pdf, may="look"),
    page("/code/{code}", code, may="look"),
)
