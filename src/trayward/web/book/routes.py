"""The pages of the book."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from contextlib import suppress
from typing import Any
from urllib.parse import quote

from starlette.background import BackgroundTask
from starlette.responses import FileResponse, RedirectResponse, Response, StreamingResponse

from trayward.desk.backups import backups_of
from trayward.desk.looking_up import DEEDS
from trayward.desk.ports import Kept
from trayward.errors import BookError, InputError, NotFoundError
from trayward.farm.entries import Struck
from trayward.store import SqlBook
from trayward.web.ask import Ask
from trayward.web.book.asked import Asked, asked_in, place_in, place_word, wanted_by
from trayward.web.book.copies import lines, sheets, whole
from trayward.web.book.view import Link, backups_shown, days_of, odd_of, story_of, whole_of
from trayward.web.book.work import Checked
from trayward.web.faults import ShutError
from trayward.web.handed import JSON_LINES, ZIP, farm_file, file_headers
from trayward.web.paging import pages_for
from trayward.web.routing import act, page

A_PAGE = 40
"""Entries on a page."""
ODD_ON_A_PAGE = 25
PAGED = {"tray": "/tray/{name}", "lot": "/book/lot/{name:path}", "harvest": "/book/harvest/{name:path}"}
"""Subjects with a page of their own; the others are looked for in the book."""
CHECKS_KEPT = 16


def book(ask: Ask) -> Response:
    """Everything that was said, the newest first, or what is looked for."""
    wrong: InputError | None = None
    asked, before = Asked(), None
    try:
        asked, before = asked_in(ask.query), place_in(ask.query)
    except InputError as error:
        wrong = error
    subjects = _subjects(ask, asked)
    found = ask.farm.book.search(wanted_by(asked, subjects, ask.zone), before=before, limit=A_PAGE)
    return ask.show(
        "book/page.html",
        status=422 if wrong is not None else 200,
        asked=asked,
        wrong=wrong,
        named=_named_words(subjects),
        story=_where(ask, subjects[0]) if subjects else "",
        days=days_of(ask.farm.told(found.kept, ask.at), ask.zone),
        older=asked.address(before=place_word(found.older)) if found.older is not None else "",
        newest=asked.address() if before is not None else "",
        looked_to=found.older.at if found.older is not None and not found.full else None,
        deeds=tuple(DEEDS),
        who=(("", ask._("anybody")), *((name, name) for name in ask.farm.book.people())),
        odd=len(ask.farm.state(ask.at).findings),
        backups=backups_shown(backups_of(ask.farm.book), ask.at),
    )


def _subjects(ask: Ask, asked: Asked) -> tuple[str, ...]:
    """What the name asked for means; none where it is words, or nothing was asked for."""
    if asked.about:
        return ask.farm.subjects_of(asked.about, ask.at) or (asked.about,)
    if asked.find and not asked.in_notes:
        return ask.farm.subjects_of(asked.find, ask.at)
    return ()


def _named_words(subjects: Sequence[str]) -> tuple[str, str]:
    """What is looked for: its kind (empty where things of several kinds are called so) and its name, if any."""
    if not subjects:
        return "", ""
    kind, _, name = subjects[0].partition(":")
    alone = kind == "sowing" or all(subject.startswith(f"{kind}:") for subject in subjects)
    return (kind if alone else ""), name


def _where(ask: Ask, subject: str) -> str:
    """The page of a subject's own, or of all that is said about it."""
    kind, _, name = subject.partition(":")
    own = PAGED.get(kind)
    if own is not None and ask.has(own):
        return own.replace("{name:path}", "{name}").replace("{name}", quote(name, safe=""))
    return Asked(about=subject).address()


# One entry ------------------------------------------------------------------------------------------------------------


def entry(ask: Ask) -> Response:
    """All of one entry, and its mistake struck."""
    kept = _entry(ask)
    (told,) = ask.farm.told([kept], ask.at)
    links = [_link(ask, subject) for subject in dict.fromkeys(kept.entry.body.subjects()) if subject.partition(":")[0]]
    return ask.show(
        "book/entry.html",
        entry=whole_of(told, links),
        own=kept.entry.by == ask.who.name,
        may=_may_strike(ask, kept),
        along=[] if told.taken_back else ask.farm.told(ask.farm.said_with(kept), ask.at),
    )


def _link(ask: Ask, subject: str) -> Link:
    kind, _, name = subject.partition(":")
    where = f"/book/entry/{quote(name, safe='')}" if kind == "entry" else _where(ask, subject)
    return Link(kind=kind, name=name, where=where)


def _entry(ask: Ask) -> Kept:
    found = ask.farm.book.get(ask.path["id"])
    if found is None:
        raise NotFoundError("entry", ask.path["id"], remedy="Look for it in the book.")
    return found


def _may_strike(ask: Ask, kept: Kept) -> bool:
    """Hands strike what they said themselves; who runs the farm anything."""
    return ask.may("run") or (ask.may("answer") and kept.entry.by == ask.who.name)


def strike(ask: Ask) -> Response:
    """Take an entry back. It stays in the book, struck through."""
    kept = _entry(ask)
    if not _may_strike(ask, kept):
        raise ShutError(f"{kept.entry.by} said this, not you.", "Ask who keeps the farm to strike it.")
    along = ask.farm.said_with(kept) if ask.form.ticked("along") else ()
    reason = ask.form.text("reason")
    # The last said first: what rests on another goes before it.
    names = [one.entry.id for one in sorted((kept, *along), key=lambda one: -one.seq)]
    receipt = ask.farm.record(*(Struck(entry=name, reason=reason) for name in names), **ask.said)
    undo = [one.entry.id for one in receipt.kept]
    where = f"/book/entry/{quote(kept.entry.id, safe='')}"
    return ask.go(
        where, ask._("Struck. It stays in the book and counts no more."), findings=receipt.findings, undo=undo
    )


# Stories --------------------------------------------------------------------------------------------------------------


def seed_lot(ask: Ask) -> Response:
    """The story of a seed lot."""
    name = ask.path["name"]
    story = story_of(name, ask.farm.state(ask.at), ask.farm.lot_story(name, ask.at), harvest=False)
    return ask.show("book/story.html", story=story)


def harvest_lot(ask: Ask) -> Response:
    """The story of a harvest lot."""
    name = ask.path["name"]
    story = story_of(name, ask.farm.state(ask.at), ask.farm.harvest_story(name, ask.at), harvest=True)
    return ask.show("book/story.html", story=story)


# What does not add up -------------------------------------------------------------------------------------------------


def odd(ask: Ask) -> Response:
    """Everything in the record that does not add up, the newest first."""
    found = list(reversed(ask.farm.state(ask.at).findings))
    pages = pages_for(len(found), ODD_ON_A_PAGE)
    number = 1
    with suppress(InputError):
        number = min(pages, ask.query.maybe(lambda name: ask.query.whole(name, 1), "page") or 1)
    shown = found[(number - 1) * ODD_ON_A_PAGE : number * ODD_ON_A_PAGE]
    told = [odd_of(finding, ask.farm.told(_kept(ask, finding.entries), ask.at)) for finding in shown]
    return ask.show("book/odd.html", odd=told, count=len(found), number=number, pages=pages)


def _kept(ask: Ask, ids: Sequence[str]) -> list[Kept]:
    return [kept for name in ids if (kept := ask.farm.book.get(name)) is not None]


# Checking, and copies -------------------------------------------------------------------------------------------------


def copies(ask: Ask) -> Response:
    """Copies to carry away, and the check of the whole book."""
    shown = backups_shown(backups_of(ask.farm.book), ask.at)
    return ask.show("book/copies.html", entries=ask.farm.book.head().seq, backups=shown)


def check(ask: Ask) -> Response:
    """The whole book checked, entry by entry, in another process. `begun` says which check is meant."""
    begun = ask.query.text("begun")
    if not begun:
        return RedirectResponse(f"/book/check?begun={quote(ask.now.isoformat())}", status_code=303)
    # A check that is done stays on its page, although the book goes on: each look anew would check it all again.
    kept_on = ask.request.app.state
    done: dict[str, Any] = getattr(kept_on, "book_checks", {})
    kept_on.book_checks = done
    if begun in done:
        return ask.show("book/check.html", long=None, checked=done[begun][0], as_of=done[begun][1])
    long = ask.long("book-check")
    checked: Checked | None = None
    if long.value is not None and long.as_of is not None and (long.fresh or long.as_of.isoformat() >= begun):
        checked = long.value
        done[begun] = (checked, long.as_of)
        while len(done) > CHECKS_KEPT:
            done.pop(next(iter(done)), None)
    return ask.show("book/check.html", long=long, checked=checked, as_of=long.as_of)


def export_lines(ask: Ask) -> Response:
    """Every entry as a line of JSON, sent while it is read."""
    held = _book(ask)
    return StreamingResponse(lines(held), media_type=JSON_LINES, headers=file_headers(_file_name(ask, "jsonl")))


def export_sheets(ask: Ask) -> Response:
    """Every entry in CSV files, in a ZIP."""
    held = _book(ask)
    plain = {"Content-Encoding": "identity"}  # squeezed already
    return StreamingResponse(sheets(held), media_type=ZIP, headers=file_headers(_file_name(ask, "zip")) | plain)


def backup(ask: Ask) -> Response:
    """The whole book as a file that can be opened again."""
    held, name = _book(ask), _file_name(ask, "book")
    ask.done()  # others go on working while it is copied
    path = whole(held, name)
    gone = BackgroundTask(shutil.rmtree, path.parent, ignore_errors=True)
    return FileResponse(path, filename=name, media_type="application/vnd.sqlite3", background=gone)


def _book(ask: Ask) -> SqlBook:
    held = ask.farm.book
    if not isinstance(held, SqlBook):
        raise BookError("This book cannot be copied from here.")
    return held


def _file_name(ask: Ask, ending: str) -> str:
    return f"{farm_file(ask.settings.name)}-{ask.today.isoformat()}.{ending}"


ROUTES = (
    page("/book", book, may="look"),
    page("/book/entry/{id}", entry, may="look"),
    act("/book/entry/{id}/strike", strike, may="answer", again=entry),
    page("/book/lot/{name:path}", seed_lot, may="look"),
    page("/book/harvest/{name:path}", harvest_lot, may="look"),
    page("/book/odd", odd, may="look"),
    page("/book/copies", copies, may="run"),
    page("/book/check", check, may="run"),
    page("/book/export.jsonl", export_lines, may="run"),
    page("/book/export.zip", export_sheets, may="run"),
    page("/book/backup", backup, may="run"),
)
