"""Marked kit: every mat with its uses, the history of one, marking, retiring, and the farm's own steps of a pool."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime

import msgspec
from starlette.responses import Response

from trayward.errors import InputError, NotFoundError
from trayward.farm.kit import GONE, Clearing, PoolState
from trayward.farm.kit_marks import in_order, read_marks
from trayward.farm.state import FarmState
from trayward.rounds.kit_story import mark_now
from trayward.rounds.words import slug
from trayward.web.ask import Ask
from trayward.web.paging import pages_for
from trayward.web.routing import act, page
from trayward.web.stores.view import WORN

MARKS_ON_A_PAGE = 60
"""Marks of a pool that are listed at once; of those gone, the last so many."""


class MarkShown(msgspec.Struct, frozen=True, kw_only=True):
    """One marked thing in the list of its pool."""

    mark: str
    now: str
    uses: int
    lasts_uses: int
    nearly_worn: bool


class PoolMarks(msgspec.Struct, frozen=True, kw_only=True):
    """A pool with a page of its marked things, and its own steps."""

    pool: str
    slug: str
    count: int
    unsaid: int
    """In use, and nobody said which."""
    marks: tuple[MarkShown, ...]
    page: int
    pages: int
    gone: tuple[MarkShown, ...]
    """The last of those that are used no more."""
    gone_count: int
    clearing: Clearing
    wash_steps: tuple[str, ...]
    sanitise: bool


def kit_page(ask: Ask) -> Response:
    """Every pool's marked things, and what must happen before a next use."""
    state = ask.farm.state(ask.at)
    return ask.show("stores/kit.html", pools=[_pool(state, held, ask) for held in state.kit.values()])


def _pool(state: FarmState, held: PoolState, ask: Ask) -> PoolMarks:
    names = sorted((name for name, mark in held.marks.items() if mark.where not in GONE), key=in_order)
    gone = sorted((name for name, mark in held.marks.items() if mark.where in GONE), key=in_order)
    pages = pages_for(len(names), MARKS_ON_A_PAGE)
    number = _number(ask, held.pool.name, pages)
    here = names[(number - 1) * MARKS_ON_A_PAGE : number * MARKS_ON_A_PAGE]
    under = sum(len(marks) for marks in held.on.values())
    return PoolMarks(
        pool=held.pool.name, slug=slug(held.pool.name), count=held.pool.count,
        unsaid=max(0, held.in_use - under) if held.marks else 0,
        marks=tuple(_shown(state, held, name, ask.at) for name in here), page=number, pages=pages,
        gone=tuple(_shown(state, held, name, ask.at) for name in gone[-MARKS_ON_A_PAGE:]), gone_count=len(gone),
        clearing=held.pool.clearing, wash_steps=held.pool.wash_steps, sanitise=held.pool.sanitise,
    )  # fmt: skip


def _number(ask: Ask, pool: str, pages: int) -> int:
    """Which page of a pool's marks is asked for."""
    if ask.query.text("pool") != pool:
        return 1
    with suppress(InputError):
        return min(ask.query.whole("page", 1), pages)
    return 1


def _shown(state: FarmState, held: PoolState, name: str, at: datetime) -> MarkShown:
    uses, lasts = held.marks[name].uses, held.pool.lasts_uses
    return MarkShown(
        mark=name, now=mark_now(state, held, name, at), uses=uses, lasts_uses=lasts,
        nearly_worn=bool(lasts) and uses >= WORN * lasts,
    )  # fmt: skip


def mark_page(ask: Ask) -> Response:
    """The history of one marked thing."""
    return ask.show("stores/mark.html", told=ask.farm.kit_story(ask.path["mark"], ask.at))


def mark_kit(ask: Ask) -> Response:
    """Things of a pool carry marks from now on."""
    form = ask.form
    marks = read_marks(form.need("marks", "Write them one by one, or from one to another: M1-M40."))
    uses = form.whole("uses", 0, 100_000) if form.has("uses") else 0
    receipt = ask.farm.mark_kit(form.need("pool"), marks, uses=uses, **ask.said)
    return ask.recorded("/stores/kit", ask._("Marked."), receipt)


def use_kit(ask: Ask) -> Response:
    """Which marked thing a standing tray is on."""
    form = ask.form
    marks = read_marks(form.need("marks", "Write the mark of what the tray is on."))
    receipt = ask.farm.use_kit(form.need("tray"), marks, **ask.said)
    return ask.recorded("/stores/kit", ask._("Kept."), receipt)


def retire_kit(ask: Ask) -> Response:
    """A marked thing is used no more, or lost; another may take its place."""
    form, mark = ask.form, ask.form.need("mark")
    receipt = ask.farm.retire_kit(
        [mark], reason=form.text("reason"), lost=form.choice("fate", ("retired", "lost")) == "lost",
        replaced_by=read_marks(form.text("replaced")), **ask.said,
    )  # fmt: skip
    return ask.recorded(f"/stores/kit/{mark}", ask._("Kept."), receipt)


def set_steps(ask: Ask) -> Response:
    """What must happen to a pool's things before their next use."""
    form = ask.form
    held = pool_named(ask.farm.state(ask.at), form.need("pool"))

    def ppm(field: str) -> float | None:
        return form.number(field, 0.0, 100_000.0) if form.has(field) else None

    rule = Clearing(
        steps=tuple(step for part in form.text("steps").split(",") if (step := part.strip())),
        rinse_c=form.maybe(form.temperature, "rinse"),
        ppm_least=ppm("ppm_least"),
        ppm_most=ppm("ppm_most"),
        contact_min=form.maybe(form.minutes, "contact"),
        water_least_c=form.maybe(form.temperature, "water_least"),
        water_most_c=form.maybe(form.temperature, "water_most"),
        after_mould=form.ticked("after_mould"),
        refuse=form.choice("uncleared", ("warn", "refuse")) == "refuse",
    )
    if rule.ppm_least is not None and rule.ppm_most is not None and rule.ppm_least > rule.ppm_most:
        raise InputError("ppm_least", f"{rule.ppm_least:g}", "it is above the most", "Swap the two.", "ppm")
    pool = msgspec.structs.replace(held.pool, clearing=rule, sanitise=form.ticked("sanitise"))
    return ask.recorded("/stores/kit", ask._("Kept."), ask.farm.set_kit(pool, **ask.said))


def pool_named(state: FarmState, name: str) -> PoolState:
    """A pool of kit by its name. Raises NotFoundError."""
    if name not in state.kit:
        raise NotFoundError("kit", name, tuple(state.kit), "See the stores.")
    return state.kit[name]


ROUTES = (
    page("/stores/kit", kit_page, may="look"),
    act("/stores/kit/mark", mark_kit, may="run"),
    act("/stores/kit/use", use_kit, may="answer"),
    act("/stores/kit/retire", retire_kit, may="answer"),
    act("/stores/kit/steps", set_steps, may="run"),
)
MARK_ROUTES = (page("/stores/kit/{mark}", mark_page, may="look"),)
"""After every other address below it."""
