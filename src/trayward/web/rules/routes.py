"""Rules: which may apply, why, and what the farm keeps of what they would ask."""

from __future__ import annotations

from typing import Any
from urllib.parse import parse_qsl

import msgspec
from starlette.responses import RedirectResponse, Response

from trayward.desk.ruling import crops_known, farm_asked, records_kept, said_of, sales_known
from trayward.errors import InputError
from trayward.farm.entries import FarmSet
from trayward.hygiene.kinds import DEFER
from trayward.library.rules import Reading, readings, thresholds
from trayward.web.ask import Ask
from trayward.web.routing import act, page
from trayward.web.rules.view import answers_in, shown_of

COUNTRIES = ("US", "EU", "GB")
LONGEST = 8000
"""Letters of answers that are kept: an address of that length is still taken everywhere."""


def rules_page(ask: Ask) -> Response:
    """The facts asked and what follows from them: the address holds what was said, and opens with what was kept."""
    held = ask.settings.rules
    if held and not ask.query.words:
        return RedirectResponse(f"/rules?{held}", 303)
    crops = crops_known(ask.farm, ask.at)
    sales = ask.kept(("rules-sales", ask.today), lambda: sales_known(ask.farm, ask.at))
    wrong: InputError | None = None
    found: tuple[Reading, ...] = ()
    limits, farm = thresholds(), None
    near = ask.query.all("near")
    try:
        country = ask.query.choice("country", COUNTRIES) if ask.query.has("country") else ""
        own = _own(ask)
        limits = thresholds(own, ask.today if own else None)
        farm = farm_asked(
            ask.farm, ask.at, near=near, sales=sales, crops=lambda crop: _said(ask, crop),
            said={"country": country, **_figures(ask)},
        )  # fmt: skip
        found = readings(farm, own) if country else ()
    except InputError as error:
        wrong = error
    kept: dict[str, int] = {}
    if found:
        kept = ask.kept(("rules-kept", ask.today), lambda: records_kept(ask.farm, ask.at))
    return ask.show(
        "rules/page.html", status=422 if wrong else 200, wrong=wrong, crops=crops, farm=farm, sales=sales, near=near,
        readings=shown_of(found, kept), limits=limits, defer=DEFER, said="" if wrong else answers_in(ask.query.words),
        held=held,
    )  # fmt: skip


def _said(ask: Ask, crop: Any) -> Any:
    words = dict(ask.query.words)
    try:
        return said_of(crop, words)
    except msgspec.ValidationError:
        raise InputError(crop.crop, "a fact", "is none of those asked", "Choose one of the list.") from None


def _figures(ask: Ask) -> dict[str, float | None]:
    figures = {name: ask.query.number(name, 0) if ask.query.has(name) else None for name in ("produce", "food")}
    share = ask.query.number("near_share", 0, 100) / 100 if ask.query.has("near_share") else None
    return {**figures, "near_share": share}


def _own(ask: Ask) -> dict[str, float]:
    return {
        each.key: ask.query.number(f"set-{each.key}", 1) for each in thresholds() if ask.query.has(f"set-{each.key}")
    }


def keep(ask: Ask) -> Response:
    """Keep the answers in the book, so that the page opens with them; none: let those that were kept go."""
    answers = answers_in(parse_qsl(ask.form.text("said")))
    if len(answers) > LONGEST:
        raise InputError(
            "answers", f"{len(answers)} letters", f"at most {LONGEST} are kept", "Answer fewer crops apart."
        )
    where = f"/rules?{answers}" if answers else "/rules?new=1"
    if answers == ask.settings.rules:
        return ask.go(where, ask._("Nothing was changed."))
    settings = msgspec.structs.replace(ask.settings, rules=answers)
    return ask.recorded(where, ask._("Kept."), ask.farm.record(FarmSet(settings=settings), **ask.said))


ROUTES = (page("/rules", rules_page, may="run"), act("/rules/keep", keep, may="run"))
