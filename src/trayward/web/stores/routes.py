"""The stores: looking, weighing, counting, testing; receiving seed and setting how it is kept."""

from __future__ import annotations

import msgspec
from starlette.responses import Response

from trayward.desk.lookup import facts_of
from trayward.errors import InputError, NotFoundError
from trayward.farm.crops import CropFacts
from trayward.farm.density import bulk_density
from trayward.farm.entries import CropFactSet
from trayward.farm.kit_marks import read_marks
from trayward.farm.live_seed import ordinary_live_share
from trayward.farm.state import FarmState, SeedLot
from trayward.plan.done import plan_before
from trayward.plan.seed_reach import LEAD_DAYS, SeedReach, seed_reaches
from trayward.rounds.story import lot_story
from trayward.web.ask import Ask
from trayward.web.round.view import JOBS, word_id
from trayward.web.routing import act, page
from trayward.web.stores.kit import MARK_ROUTES, pool_named
from trayward.web.stores.kit import ROUTES as KIT_ROUTES
from trayward.web.stores.supplies import ROUTES as SUPPLIES
from trayward.web.stores.view import (
    CropShown,
    crops_offered,
    crops_shown,
    free_name,
    lot_shown,
    pools_shown,
    used_up,
)
from trayward.web.tray.view import told_of

LONGEST_LEAD = 365.0
"""Seed that takes longer to come is a slip of the finger. [d]"""
ASKED_OF_A_CROP = {
    "tsw_g_typ": (0.01, 2000.0),
    "germ_pct_usual": (1.0, 100.0),
    "bulk_density_g_per_ml": (0.05, 2.0),
}
"""What a crop may lack for a tray of it to be weighed out, and between what it lies. [g], [%], [g/ml]"""


def stores(ask: Ask) -> Response:
    """Seed by crop and how far it reaches, kit and where it is."""
    state = ask.farm.state(ask.at)
    crops = crops_of(ask, state)
    return ask.show(
        "stores/page.html",
        crops=crops,
        to_order=[one for one in crops if one.order_now],
        to_test=[lot for one in crops for lot in one.lots if lot.care.retest],
        crop_options=[(one.crop, one.crop) for one in crops],
        by_plan=any(one.reach.basis == "plan" for one in crops),
        gone=used_up(state),
        pools=pools_shown(state, ask.at),
        jobs=JOBS,
        row_of=lambda what, slug: word_id("row", f"{what}-{slug}"),
    )


def crops_of(ask: Ask, state: FarmState) -> tuple[CropShown, ...]:
    """Every crop's seed, worked out once a day and version of the book: it does not change within a day."""
    settings = ask.settings

    def reaches() -> dict[str, SeedReach]:
        return seed_reaches(state, settings, plan_before(state), ask.at)

    return ask.kept(("stores", ask.today), lambda: crops_shown(state, settings, reaches(), ask.at))


# Seed -----------------------------------------------------------------------------------------------------------------


def lot(ask: Ask) -> Response:
    """One seed lot: what is left, what is alive, weighing, testing, its story."""
    state = ask.farm.state(ask.at)
    held = _lot_named(state, ask.query.text("lot"))
    entries = ask.farm.said_about(f"lot:{held.lot}", ask.at)
    facts = facts_of(state, held.crop)
    return ask.show(
        "stores/lot.html",
        lot=held,
        shown=lot_shown(state, ask.settings, held, ask.at),
        tests=[(ask.local(when), some, whole) for when, some, whole in reversed(held.tests)],
        reach=next((one.reach for one in crops_of(ask, state) if one.crop == held.crop), None),
        facts=facts,
        lacks=[name for name in ASKED_OF_A_CROP if _lacks(name, held, facts)],
        ordered=held.expected_on is not None,
        story=told_of(
            lot_story(held.lot, entries, state, ask.settings),
            {entry.id: entry for entry in entries},
            ask.who.name,
            run=ask.may("run"),
            answer=ask.may("answer"),
        ),
    )


def _lacks(name: str, held: SeedLot, facts: CropFacts) -> bool:
    """Whether neither the lot nor its crop has a figure."""
    if name == "bulk_density_g_per_ml":
        return bulk_density(facts) is None
    if name == "tsw_g_typ":
        return held.tsw_g is None and facts.number(name) is None
    return held.live_share is None and ordinary_live_share(facts) is None


def _lot_named(state: FarmState, name: str) -> SeedLot:
    if name not in state.seed:
        raise NotFoundError("seed lot", name, tuple(state.seed), "See the stores.")
    return state.seed[name]


def _address(lot: str) -> str:
    from urllib.parse import urlencode

    return f"/stores/lot?{urlencode({'lot': lot})}"


def weigh(ask: Ask) -> Response:
    """What the scale says of a lot; the record agrees with it from now on."""
    held = _lot_named(ask.farm.state(ask.at), ask.form.need("lot"))
    density = bulk_density(facts_of(ask.farm.state(ask.at), held.crop))
    grams = ask.form.mass("grams", density=density)
    receipt = ask.farm.weigh_seed(held.lot, grams, ask.form.text("reason"), **ask.said)
    say = ask._("Weighed: %(lot)s.", lot=held.lot)
    return ask.recorded(_address(held.lot), say, receipt)


def test(ask: Ask) -> Response:
    """How many of how many seeds came up, and / or what a thousand weigh."""
    form, held = ask.form, _lot_named(ask.farm.state(ask.at), ask.form.need("lot"))
    counted = form.has("sprouted") or form.has("tested")
    if not counted and not form.has("tsw"):
        raise InputError("sprouted", "nothing", "a test must say a result", "Say how many came up, of how many.")
    receipt = ask.farm.test_seed(
        held.lot,
        sprouted=form.whole("sprouted", 0, 100_000) if counted else None,
        tested=form.whole("tested", 1, 100_000) if counted else None,
        tsw_g=form.maybe(form.mass, "tsw"),
        days=form.number("days", 0.0, 365.0) if form.has("days") else None,
        **ask.said,
    )
    say = ask._("Kept: the test of %(lot)s.", lot=held.lot)
    return ask.recorded(_address(held.lot), say, receipt)


def receive_page(ask: Ask) -> Response:
    """A delivery, or an order, of seed."""
    from trayward.library.crops import crop_names

    state, crop = ask.farm.state(ask.at), ask.query.text("crop")
    held = state.seed.get(ask.query.text("lot"))
    ordered = held if held is not None and held.expected_on is not None else None
    return ask.show(
        "stores/receive.html",
        crop_options=[(each, each) for each in crops_offered(state, crop_names())],
        crop=ordered.crop if ordered is not None else crop,
        ordered=ordered,
        name=ordered.lot if ordered is not None else free_name(state, crop, ask.today),
        to_order=ask.query.ticked("order"),
    )


def receive(ask: Ask) -> Response:
    """Seed that came, or that was ordered for a day."""
    from trayward.library.crops import crop_names

    form, state = ask.form, ask.farm.state(ask.at)
    crop = form.choice("crop", crops_offered(state, crop_names()))
    name = form.need("lot", "Give the bag a name of your own, for instance RAD-2.")
    coming = form.day("expected") if form.has("expected") else None
    receipt = ask.farm.receive_seed(
        name,
        crop,
        form.mass("grams", density=bulk_density(facts_of(state, crop))),
        variety=form.text("variety"),
        supplier=form.text("supplier"),
        supplier_lot=form.text("supplier_lot"),
        germination=form.maybe(form.share, "germination"),
        tsw_g=form.maybe(form.mass, "tsw"),
        cost=form.number("cost", 0.0, 1e7) if form.has("cost") else 0.0,
        treated=form.ticked("treated"),
        document=form.text("document"),
        expected_on=coming,
        **ask.said,
    )
    say = ask._("On order: %(lot)s.", lot=name) if coming is not None else ask._("Received: %(lot)s.", lot=name)
    return ask.recorded(_address(name), say, receipt)


def set_lead(ask: Ask) -> Response:
    """How long ordered seed takes to come: of one crop, or of every crop that nobody said it of."""
    form, days = ask.form, ask.form.number("days", 0.0, LONGEST_LEAD)
    leads = {one.crop: one.reach.lead_days for one in crops_of(ask, ask.farm.state(ask.at))}
    unsaid = [crop for crop, known in leads.items() if known is None]
    crops = [form.choice("crop", tuple(leads))] if form.has("crop") else unsaid
    if not crops:
        raise InputError("days", f"{days:g}", "every crop has its days already", "Change them crop by crop.")
    bodies = [CropFactSet(crop=each, name=LEAD_DAYS, value=days) for each in crops]
    receipt = ask.farm.record(*bodies, **ask.said)
    say = ask.ngettext("Kept for %(num)s crop.", "Kept for %(num)s crops.", len(crops))
    return ask.recorded("/stores", say, receipt)


def set_fact(ask: Ask) -> Response:
    """A figure that a crop lacks: from now on the farm's own word."""
    form = ask.form
    held = _lot_named(ask.farm.state(ask.at), form.need("lot"))
    name = form.choice("name", tuple(ASKED_OF_A_CROP))
    value = form.mass("value") if name == "tsw_g_typ" else form.number("value", *ASKED_OF_A_CROP[name])
    low, high = ASKED_OF_A_CROP[name]
    if not low <= value <= high:
        raise InputError("value", f"{value:g}", f"must lie in [{low:g}, {high:g}]", "Check the figure.")
    receipt = ask.farm.set_crop_fact(held.crop, name, value, form.text("note"), **ask.said)
    return ask.recorded(_address(held.lot), ask._("Kept."), receipt)


# Kit ------------------------------------------------------------------------------------------------------------------


def count_kit(ask: Ask) -> Response:
    """So many of a pool there are in all."""
    form = ask.form
    receipt = ask.farm.count_kit(form.need("pool"), form.whole("count", 0, 100_000), form.text("reason"), **ask.said)
    return ask.recorded("/stores", ask._("Counted."), receipt)


def return_kit(ask: Ask) -> Response:
    """Kit came back from customers; it is dirty."""
    form = ask.form
    back, marks = form.whole("back", 1, 100_000), read_marks(form.text("marks"))
    receipt = ask.farm.return_kit(form.need("pool"), back, marks=marks, **ask.said)
    return ask.recorded("/stores", ask._("Back, and to wash."), receipt)


def wash_kit(ask: Ask) -> Response:
    """Kit washed, on a day without a round or beside it."""
    form = ask.form
    receipt = ask.farm.wash(
        form.need("pool"), form.whole("washed", 1, 100_000), marks=read_marks(form.text("marks")),
        soap=form.text("soap"), rinse_c=form.maybe(form.temperature, "rinse"), **ask.said,
    )  # fmt: skip
    return ask.recorded("/stores", ask._("Washed."), receipt)


def set_life(ask: Ask) -> Response:
    """How many uses one piece is expected to last."""
    form = ask.form
    held = pool_named(ask.farm.state(ask.at), form.need("pool"))
    pool = msgspec.structs.replace(held.pool, lasts_uses=form.whole("lasts", 0, 100_000))
    receipt = ask.farm.set_kit(pool, **ask.said)
    return ask.recorded("/stores", ask._("Kept."), receipt)


ROUTES = (
    page("/stores", stores, may="look"),
    page("/stores/lot", lot, may="look"),
    page("/stores/receive", receive_page, may="run"),
    act("/stores/receive", receive, may="run"),
    act("/stores/weigh", weigh, may="answer"),
    act("/stores/test", test, may="answer"),
    act("/stores/lead", set_lead, may="run"),
    act("/stores/fact", set_fact, may="run"),
    act("/stores/kit/count", count_kit, may="answer"),
    act("/stores/kit/return", return_kit, may="answer"),
    act("/stores/kit/wash", wash_kit, may="answer"),
    act("/stores/kit/life", set_life, may="run"),
    *SUPPLIES,
    *KIT_ROUTES,
    *MARK_ROUTES,
)
