"""The round: its page, answers to its rows, and taking them back."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Literal, NamedTuple

from starlette.responses import Response

from trayward.desk.ports import Wanted
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import next_round, present_round
from trayward.farm.entries import Struck
from trayward.outlook.doubt import Bounds
from trayward.rounds.entries.words import ON_THE_ROUND
from trayward.rounds.restack import Restack
from trayward.rounds.scene import is_last, round_after
from trayward.rounds.told import RowTold, read_told
from trayward.rounds.types import Round, RoundRow, RowKind
from trayward.web.ask import Ask
from trayward.web.paging import pages_for
from trayward.web.round.done import JOBS, KINDS, NEWEST, DoneRow, done_rows
from trayward.web.round.photo import photo_too
from trayward.web.round.picture import as_kept
from trayward.web.round.room import stacking_of
from trayward.web.round.said import about_of, answer_of, came_of, others_findings
from trayward.web.round.view import Group, Layout, Part, Walk, feed_once, rest_of, row_shown, walks_of, word_id
from trayward.web.routing import UPLOAD_LIMIT, act, page

SAID_AT_ONCE = 40
"""So many answers are shown at once, or the page would grow with every answer of the round. [-]"""
TWICE_AT_ONCE = 20
"""So many rows answered twice are shown at once. [-]"""


class SaidSoFar(NamedTuple):
    """Answers of the round so far, a page of them."""

    rows: tuple[DoneRow, ...]
    whole: int
    number: int
    pages: int
    turned: bool
    """Whether somebody turned to a page of them, so that the list is open."""
    twice: tuple[DoneRow, ...]
    twice_whole: int


class Page(NamedTuple):
    """What the template of the round is given."""

    walk: str
    walks: tuple[Walk, ...]
    parts: tuple[Part, ...]
    part: str
    groups: tuple[Group, ...]
    number: int
    pages: int
    left: int
    done: int
    minutes: float
    notes: tuple[str, ...]
    said: SaidSoFar
    weights: dict[str, Bounds]
    stacking: Mapping[str, Restack]
    """Of rows whose trays find no room, the moves of others that would make some."""
    next_walk: datetime
    """For when the next walk is set; it may begin a little earlier."""


def round_page(ask: Ask) -> Response:
    """The present round; with `walk`, another of the day."""
    present = _round(ask)
    state = ask.farm.state(ask.at)
    layout = Layout(state, present.rows)
    part, number = layout.chosen(ask.query.text("part")), _number(ask)
    chosen = layout.groups(part, number)
    rows_done = _done(ask)
    shown = Page(
        walk=present.round.partition(" ")[2],
        walks=walks_of(ask.settings, ask.at),
        parts=layout.parts,
        part=part,
        groups=tuple(_group(ask, title, rows, present) for title, rows in chosen),
        number=number,
        pages=layout.pages(part),
        left=len(present.rows),
        done=present.done + _jobs_done(rows_done),
        minutes=present.minutes,
        notes=present.notes,
        said=_so_far(ask, rows_done),
        weights=_weights(ask, chosen),
        stacking=_stacking(ask, chosen),
        next_walk=round_after(ask.settings, ask.at),
    )
    tops = [weight.expected.high for weight in shown.weights.values()]
    return ask.show("round/page.html", round=shown, round_weights=shown.weights, pad_top=1.15 * max(tops, default=1.0))


EARLY: tuple[RowKind, ...] = ("sow", "pack", "deliver", "strip", "wash", "sanitise")
"""Jobs of a round to come that may be done before it: looks and cuts count when they are made."""


def walk_page(ask: Ask) -> Response:
    """Another round of the day: what was said on it, or what it would ask."""
    name = ask.query.need("of", "Go to the round.")
    walk = next((each for each in walks_of(ask.settings, ask.at) if each.round == name), None)
    if walk is None:
        raise NotFoundError("round", name, tuple(each.round for each in walks_of(ask.settings, ask.at)))
    if walk.when == "now":
        return ask.go("/round")
    if walk.when == "over":
        return ask.show("round/walk.html", walk=walk, rows_done=_done_on(ask, walk.at), early=(), looks=(), **NO_PAD)
    ahead = ask.kept(("round", walk.round, ask.today), lambda: ask.farm.round(walk.at))
    now = {row.row for row in _round(ask).rows}
    state = ask.farm.state(ask.at)
    rows = [(row.kind, row_shown(row, ahead, state, ask.units)) for row in ahead.rows]
    early = tuple(row for kind, row in rows if kind in EARLY and row.name not in now)
    looks = tuple(row for kind, row in rows if kind not in EARLY)
    return ask.show("round/walk.html", walk=walk, rows_done=(), early=early, looks=looks, **NO_PAD)


NO_PAD: dict[str, Any] = {"round_weights": {}, "pad_top": 1.0}


def _number(ask: Ask, name: str = "page") -> int:
    return ask.query.whole(name, 1) if ask.query.has(name) else 1


def _so_far(ask: Ask, rows: tuple[DoneRow, ...]) -> SaidSoFar:
    pages = pages_for(len(rows), SAID_AT_ONCE)
    number = min(_number(ask, "said"), pages)
    twice = tuple(row for row in rows if row.twice)
    return SaidSoFar(
        rows=rows[(number - 1) * SAID_AT_ONCE : number * SAID_AT_ONCE],
        whole=len(rows),
        number=number,
        pages=pages,
        turned=ask.query.has("said"),
        twice=twice[:TWICE_AT_ONCE],
        twice_whole=len(twice),
    )


def _round(ask: Ask) -> Round:
    """The round of now: it changes with the book, and with the minute."""
    minute = ask.at.replace(second=0, microsecond=0)
    return ask.kept(("round", minute), lambda: ask.farm.round_soon(ask.at))


def _group(ask: Ask, title: str, rows: list[RoundRow], present: Round) -> Group:
    state = ask.farm.state(ask.at)
    feed, shown = feed_once([row_shown(row, present, state, ask.units) for row in rows])
    return Group(id=word_id("group", title), title=title, rows=shown, rest=rest_of(shown), feed=feed)


def _weights(ask: Ask, chosen: list[tuple[str, list[RoundRow]]]) -> dict[str, Bounds]:
    recipes = ask.farm.state(ask.at).recipes
    weighed = (
        row
        for _, rows in chosen
        for row in rows
        if row.kind == "cut" or (row.kind == "look" and is_last(recipes.get(row.recipe), row.stage))
    )
    trays = tuple(tray for row in weighed for tray in row.trays)
    if not trays:
        return {}
    return ask.kept(("weights", trays, ask.today), lambda: ask.farm.weights_expected(trays, ask.at))


def _stacking(ask: Ask, chosen: list[tuple[str, list[RoundRow]]]) -> Mapping[str, Restack]:
    rows = [row for _, rows in chosen for row in rows if row.kind in ("look", "turn", "sow")]
    key = ("stacking", tuple((row.row, row.to, row.spots) for row in rows))
    return ask.kept(key, lambda: stacking_of(rows, ask.farm.state(ask.at)))


def _done(ask: Ask) -> tuple[DoneRow, ...]:
    return _done_on(ask, ask.at)


def _done_on(ask: Ask, at: datetime) -> tuple[DoneRow, ...]:
    """What was said on the round that was on at a moment."""
    name, began = present_round(ask.settings, at)

    def made() -> tuple[DoneRow, ...]:
        wanted = Wanted(kinds=KINDS, since=began, until=next_round(ask.settings, at)[1])
        found = ask.farm.book.search(wanted, limit=NEWEST).kept
        return done_rows(found, ask.farm.book.struck(), ask.units)

    return ask.kept(("round done", name, ask.units), made)


def _jobs_done(rows: tuple[DoneRow, ...]) -> int:
    """Jobs that are about no tray that stands: those are counted by the round itself."""
    kinds = {body.KIND for body in JOBS} - {"cut", "discarded"}
    return sum(row.kind in kinds and not row.struck for row in rows)


def answer(ask: Ask) -> Response:
    """An answer to a row, of now or of hours ago."""
    told = read_told(ask.form.need("row"))
    if ask.form.text("answer") == "photo":
        return _photo_alone(ask, told)
    said = answer_of(ask.form, told, ask.units)
    photo = photo_too(ask, about_of(ask.form, told), f"{told.round} {told.row}")
    answered = ask.farm.answer_told(told, said, **ask.said)
    findings = (*others_findings(ask, answered.others), *answered.receipt.findings)
    undo = [*photo, *(kept.entry.id for kept in answered.receipt.kept)]
    return ask.go(_back(ask), came_of(ask, told, answered), findings=findings, undo=undo)


def answer_rest(ask: Ask) -> Response:
    """All looks that are left of a rack: none is ready, all are moist, or dry and watered."""
    waiting, others = ([name for name in ask.form.text(field).split(",") if name] for field in ("waiting", "others"))
    said = ask.form.choice("answer", ("moist", "dry", "seen"))
    moisture: Literal["moist", "dry"] | None = "moist" if said == "moist" else "dry" if said == "dry" else None
    receipt = ask.farm.look_over(waiting, others, moisture=moisture, **ask.said)
    count = len(waiting) + len(others)
    say = ask.ngettext("%(num)s tray looked at, none ready.", "%(num)s trays looked at, none ready.", count)
    return ask.recorded(_back(ask), say, receipt)


def _photo_alone(ask: Ask, told: RowTold) -> Response:
    """A photo and a note, without an answer."""
    file = ask.form.file("photo")
    if file is None:
        raise InputError("photo", "nothing", "there is no photo to keep", "Take one, or choose one.")
    receipt = ask.farm.keep_photo(as_kept(file.content), about_of(ask.form, told), ask.form.text("note"), **ask.said)
    return ask.go(_back(ask), ask._("Photo kept."), undo=[kept.entry.id for kept in receipt.kept])


def photo(ask: Ask) -> Response:
    """A photo, by the hash it is kept under."""
    name = str(ask.path["name"])
    found = ask.farm.photo(name)
    if found is None:
        raise NotFoundError("photo", name[:12])
    return Response(found, media_type="image/jpeg", headers={"Cache-Control": "private, max-age=31536000, immutable"})


def _back(ask: Ask) -> str:
    """The page the form stood on, at the row after the one that was answered."""
    came_from, after = ask.form.text("_from", "/round"), ask.form.text("next")
    path = came_from if came_from.startswith("/round") else "/round"
    return f"{path}#{word_id(after)}" if after else path


def take_back(ask: Ask) -> Response:
    """An answer taken back: all that came with it is struck, the last first."""
    names = ask.form.all("entry")
    if not names:
        raise InputError("entry", "nothing", "there is nothing to take back", "Strike it in the book.")
    kept = [ask.farm.entry_named(name).entry for name in names]
    if not ask.may("run") and any(entry.by != ask.who.name for entry in kept):
        raise InputError("entry", names[0], "somebody else said it", "Ask who keeps the farm to strike it.")
    ask.farm.record(*(Struck(entry=name, reason=ON_THE_ROUND) for name in reversed(names)), **ask.said)
    return ask.go("/round", ask._("Taken back."))


ROUTES = (
    page("/round", round_page, may="look", warm=True),
    page("/round/walk", walk_page, may="look"),
    page("/photo/{name}", photo, may="look"),
    act("/round/answer", answer, may="answer", limit=UPLOAD_LIMIT),
    act("/round/rest", answer_rest, may="answer"),
    act("/round/take-back", take_back, may="answer"),
)
