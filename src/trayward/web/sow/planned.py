"""The plan: looked at, made anew, kept, changed by hand, and done."""

from __future__ import annotations

from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any

import msgspec
from markupsafe import Markup
from starlette.responses import Response

from trayward.desk.core import Receipt
from trayward.desk.lookup import facts_of, lots_for
from trayward.errors import Doubt, DoubtError, Finding, InputError, NotFoundError
from trayward.farm.density import seed_for_tray
from trayward.farm.entries import PlanKept
from trayward.farm.kit_marks import read_marks
from trayward.farm.recipes import Recipe
from trayward.outlook.types import TrayOutlook
from trayward.plan.done import sown_against
from trayward.plan.mix_words import mix_words
from trayward.plan.types import Plan, PlannedSowing
from trayward.rounds.kept import UNREADABLE, KeptPlan, kept_plan
from trayward.rounds.words import slug
from trayward.web.ask import Ask
from trayward.web.look.locales import Tongue
from trayward.web.sow.picture import SIZES, crop_rows, fullest, rack_picture, timeline
from trayward.web.sow.room import stacking_of
from trayward.web.sow.view import (
    SowingShown,
    changes_by_day,
    kit_marked,
    plan_shown,
    planned_named,
    sowing_shown,
)
from trayward.web.sow.wishes import (
    MOST_TRAYS,
    by_hand,
    on_day,
    own_sowing,
    plan_mark,
    resized,
    same_plan,
    with_own,
    with_trays,
    without,
)
from trayward.web.sow.work import PLAN, WEEKS
from trayward.web.work import Long

LOOKED_BACK = 200
"""So many of the newest entries are counted that came after a plan; more are "more than"."""


# Looking at it --------------------------------------------------------------------------------------------------------


def kept(ask: Ask) -> KeptPlan:
    """The plan that is kept, with what is left of it."""
    return ask.kept(("plan kept",), lambda: kept_plan(ask.farm.state(ask.at)))


def sow(ask: Ask) -> Response:
    """The kept plan by day, today first."""
    plan = kept(ask).plan
    if plan is None:
        return ask.show("sow/none.html", broken=kept(ask).note == UNREADABLE)
    shown = ask.kept(("sow", ask.today), lambda: plan_shown(plan, ask.farm.state(ask.at), ask.today))
    stacking = ask.kept(("sow-stacking", ask.today), lambda: stacking_of(shown.today, ask.farm.state(ask.at)))
    return ask.show(
        "sow/page.html", plan=shown, mark=plan_mark(plan), since=_since(ask, plan), pressed=ask.at, stacking=stacking
    )


def _since(ask: Ask, plan: Plan) -> int:
    """How many entries the book got since the plan was made, its own keeping left out; counted as far as is shown."""

    def count() -> int:
        newest = ask.farm.book.entries(after=max(0, ask.farm.book.head().seq - LOOKED_BACK))
        return sum(kept.entry.at > plan.made_at and not isinstance(kept.entry.body, PlanKept) for kept in newest)

    return ask.kept(("entries since the plan",), count)


def _plan_of(ask: Ask) -> Plan:
    plan = kept(ask).plan
    if plan is None:
        raise NotFoundError("plan", "kept", (), "Make one first.")
    return plan


def picture(ask: Ask) -> Response:
    """The plan drawn: a timeline by crop, and how full the racks get."""
    plan = _plan_of(ask)
    lines, racks = _drawn(ask.farm.state(ask.at).last_plan, ask.tongue)
    return ask.show(
        "sow/picture.html", plan=plan, lines=lines, racks=racks, rows=crop_rows(plan), fullest=fullest(plan),
        by_hand=by_hand(plan)[0],
    )  # fmt: skip


@lru_cache(8)
def _drawn(last_plan: str, tongue: Tongue) -> tuple[tuple[Markup, ...], tuple[Markup, ...]]:
    """Timeline and racks, for a phone and a desk; they stay the same until another plan is kept."""
    plan = msgspec.json.decode(last_plan, type=Plan)
    lines = tuple(timeline(plan, size, tongue.day) for size in SIZES)
    racks = tuple(rack_picture(plan, size, tongue.day) for size in SIZES) if plan.racks else ()
    return lines, racks


def mix(ask: Ask) -> Response:
    """What each crop earns of the spots it stands on."""
    plan = _plan_of(ask)
    top = max((abs(one.a_spot_day) for one in plan.earnings), default=1.0) or 1.0
    words = mix_words(plan, ask.settings.money.currency)
    return ask.show("sow/mix.html", plan=plan, top=top, words=words, by_hand=by_hand(plan)[0])


def sowing(ask: Ask) -> Response:
    """One planned sowing, with all that is known of it, to be done or changed."""
    plan, number = _plan_of(ask), ask.path["number"]
    planned = planned_named(plan, int(number)) if number.isdecimal() else None
    if planned is None:
        raise NotFoundError("sowing", number, (), "Open the plan anew.")
    shown = _shown(ask, plan, int(number))
    told = _told(ask, planned)
    state = ask.farm.state(ask.at)
    return ask.show(
        "sow/sowing.html", one=shown, told=told, mark=plan_mark(plan), first=max(ask.today, plan.first), last=plan.last,
        kit=kit_marked(state, state.recipes.get(planned.recipe), shown.left, ask.at),
    )  # fmt: skip


def _shown(ask: Ask, plan: Plan, number: int) -> SowingShown:
    done, _ = sown_against(plan, ask.farm.state(ask.at))
    planned = plan.sowings[number]
    return next(sowing_shown(one, number, ask.today) for one in done if one.planned is planned)


def _told(ask: Ask, planned: PlannedSowing) -> TrayOutlook | None:
    """What the outlook says of such a tray, sown on that day; None where the recipe is gone."""
    recipe = ask.farm.state(ask.at).recipes.get(planned.recipe)
    return None if recipe is None else _proposed(ask, recipe, planned.sow_on)


def _proposed(ask: Ask, recipe: Recipe, day: date) -> TrayOutlook:
    local = ask.local(ask.at)
    at = ask.at if day <= ask.today else datetime.combine(day, local.timetz()).astimezone(UTC)
    key = ("proposed", recipe.name, day, ask.today)
    return ask.kept(key, lambda: ask.farm.outlook(ask.at).proposed(recipe, at))


# A new one ------------------------------------------------------------------------------------------------------------


def anew(ask: Ask) -> Response:
    """A plan made anew, beside the one kept: what changed, and whether to keep it."""
    weeks = ask.query.whole("weeks", 3, 8) if ask.query.has("weeks") else WEEKS
    made: Long[Plan] = pressed_for(ask, PLAN, weeks=weeks)
    fresh = made.value
    changes = changes_by_day(fresh.changes, fresh.first) if fresh is not None else ()
    shown = plan_shown(fresh, ask.farm.state(ask.at), ask.today) if fresh is not None else None
    return ask.show(
        "sow/anew.html", made=made, plan=shown, fresh=fresh, changes=changes, weeks=weeks, before=kept(ask).plan,
        pressed=ask.at, mark=plan_mark(fresh) if fresh is not None else "",
    )  # fmt: skip


def pressed_for(ask: Ask, job: str, **asked: object) -> Long[Any]:
    """
    Long work as of the moment somebody asked for it, which stands in the address as `from`.

    What was made since then stays on the page although the book goes on: else whoever reads a plan while others answer
    rounds would never get to its end.
    """
    made: Long[Any] = ask.newest(job, **asked)
    pressed = ask.query.maybe(ask.query.moment, "from") if ask.query.has("from") else None
    if pressed is None or (made.as_of is not None and made.as_of >= min(pressed, ask.at)):
        return made
    return ask.long(job, **asked)


def keep(ask: Ask) -> Response:
    """Keep the plan that was looked at: rounds ask for its sowings from now on."""
    weeks = ask.form.whole("weeks", 3, 8)
    made: Long[Plan] = ask.newest(PLAN, weeks=weeks)
    plan = same_plan(made.value, ask.form.text("plan"))
    receipt = ask.farm.keep_plan(plan, **ask.said)
    return ask.recorded("/sow", ask._("This plan is kept: the rounds ask for its sowings."), receipt)


# Done -----------------------------------------------------------------------------------------------------------------


def accept(ask: Ask) -> Response:
    """A planned sowing was done: by the round's own row where it has one, else as the recipe says."""
    form = ask.form
    recipe, trays = form.need("recipe"), form.whole("trays", 1, MOST_TRAYS)
    each, day = form.maybe(form.mass, "seed"), form.maybe(form.day, "day")
    marks = read_marks(form.text("marks")) or None
    beyond = _beyond(ask, recipe, trays, day)
    if beyond is not None and not ask.said.get("sure"):
        raise DoubtError((beyond,))
    receipt = _sown(ask, recipe, trays, each, day, marks)
    say = ask.ngettext("%(num)s tray of %(recipe)s sown.", "%(num)s trays of %(recipe)s sown.", trays, recipe=recipe)
    if beyond is not None:
        odd = Finding(code="sown-beyond-plan", severity="odd", message=beyond.sentence())
        receipt = receipt.with_findings((odd,))
    return ask.recorded("/sow", say, receipt)


def _beyond(ask: Ask, recipe: str, trays: int, day: date | None) -> Doubt | None:
    """More trays than the plan still asks for of that sowing: somebody else may have sown them."""
    plan = kept(ask).plan
    if plan is None or day is None:
        return None
    done, _ = sown_against(plan, ask.farm.state(ask.at))
    own = [one for one in done if one.planned.recipe == recipe and one.planned.sow_on == day]
    left = sum(one.left for one in own)
    if not own or trays <= left:
        return None
    sown = sum(len(one.trays) for one in own)
    rule = f"the plan asks for {left} more of it that day" + (f"; {sown} are sown" if sown else "")
    return Doubt(subject=recipe, what="trays", value=trays, unit="trays", said=f"{trays} trays", rule=rule)


def _sown(
    ask: Ask, recipe: str, trays: int, each: float | None, day: date | None, marks: tuple[str, ...] | None
) -> Receipt:
    """On the marks that were said, else on those that the round proposes or that rested longest."""
    said = ask.said
    if day is not None:
        name = f"sow-{slug(recipe)}-{day:%m%d}"
        row = next((row for row in ask.farm.round(said["at"]).rows if row.row == name), None)
        if row is not None and trays <= row.count:
            return ask.farm.do_row(row, trays=trays, grams_per_tray=each, marks=marks, **said)
    return ask.farm.sow(recipe, trays, grams_per_tray=each, marks=marks, **said)


# Changed by hand ------------------------------------------------------------------------------------------------------


def change(ask: Ask) -> Response:
    """A planned sowing with other trays, on another day, or both."""
    plan, number, form = same_plan(kept(ask).plan, ask.form.text("plan")), ask.form.whole("number"), ask.form
    trays, day = form.whole("trays", 0, MOST_TRAYS), form.day("day")
    receipt = ask.farm.keep_plan(changed_in(ask, plan, number, trays, day), **ask.said)
    return ask.recorded("/sow", ask._("The plan is changed. The rounds ask for it so."), receipt)


def changed_in(ask: Ask, plan: Plan, number: int, trays: int, day: date) -> Plan:
    """A plan with one of its sowings of other trays, on another day, or both."""
    before = _shown(ask, plan, number) if 0 <= number < len(plan.sowings) else None
    if before is None:
        raise InputError("sowing", number, "the plan has none of that number", "Open the plan anew.")
    if trays == before.trays and day == before.day:
        raise InputError("trays", trays, "nothing is different", "Give other trays or another day.")
    changed = with_trays(plan, number, trays, len(before.sown)) if trays != before.trays else plan
    if day != before.day:
        if before.sown:
            raise InputError(
                "day", day.isoformat(), "some of it is sown already", "Change its trays, and add the rest."
            )
        changed = on_day(changed, _found(changed, plan, number, trays), day, ask.today)
    return changed


def _found(changed: Plan, plan: Plan, number: int, trays: int) -> int:
    """Where the sowing stands now: changing its trays keeps the order of the plan but for alike ones."""
    wanted = resized(plan.sowings[number], trays) if trays != plan.sowings[number].trays else plan.sowings[number]
    return changed.sowings.index(wanted)


def leave_out(ask: Ask) -> Response:
    """A planned sowing that will not be sown."""
    plan = same_plan(kept(ask).plan, ask.form.text("plan"))
    receipt = ask.farm.keep_plan(without(plan, ask.form.whole("number")), **ask.said)
    return ask.recorded("/sow", ask._("Left out. The rounds do not ask for it."), receipt)


def add_page(ask: Ask) -> Response:
    """A form for a sowing of one's own."""
    state, plan = ask.farm.state(ask.at), _plan_of(ask)
    recipes = tuple((name, name) for name in sorted(recipe.name for recipe in state.recipes_in_use()))
    return ask.show("sow/add.html", recipes=recipes, plan=plan, mark=plan_mark(plan), first=max(ask.today, plan.first))


def add(ask: Ask) -> Response:
    """One more sowing in the plan, as the outlook expects it."""
    plan, form = same_plan(kept(ask).plan, ask.form.text("plan")), ask.form
    name = form.need("recipe", "Choose one.")
    trays, day = form.whole("trays", 1, MOST_TRAYS), form.day("day")
    receipt = ask.farm.keep_plan(with_one_more(ask, plan, name, trays, day), **ask.said)
    return ask.recorded("/sow", ask._("It is in the plan. The rounds ask for it."), receipt)


def with_one_more(ask: Ask, plan: Plan, name: str, trays: int, day: date) -> Plan:
    """A plan with one more sowing of a recipe, as the outlook expects it."""
    recipes = ask.farm.state(ask.at).recipes
    recipe = recipes.get(name)
    if recipe is None:
        raise NotFoundError("recipe", name, tuple(recipes))
    own = own_sowing(recipe, trays, day, _each(ask, recipe), _proposed(ask, recipe, day), ask.settings)
    return with_own(plan, own, ask.today)


def _each(ask: Ask, recipe: Recipe) -> float:
    """Seed on a tray, by the recipe's density and the lot to use first; 0 where nobody knows. [g]"""
    state = ask.farm.state(ask.at)
    lots = lots_for(state, recipe.crop, ask.at)
    return seed_for_tray(recipe, facts_of(state, recipe.crop), lots[0] if lots else None, ask.at).grams or 0.0
