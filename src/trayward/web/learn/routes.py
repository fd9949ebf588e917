"""The pages of Learn."""

from __future__ import annotations

import zlib
from urllib.parse import quote

from starlette.responses import Response

from trayward.desk.trialling import trial_days
from trayward.errors import InputError
from trayward.farm.trials import Lever
from trayward.web.ask import Ask
from trayward.web.learn.dense import density as density_shown
from trayward.web.learn.differences import lots, seasons, spread
from trayward.web.learn.kept_word import word_shown
from trayward.web.learn.promised import promises as promises_shown
from trayward.web.learn.recipes import losses, times, weights
from trayward.web.learn.trialled import trial_levels
from trayward.web.learn.words import Say, levers
from trayward.web.learn.work import WEEKS
from trayward.web.routing import act, page

LEVERS: tuple[Lever, ...] = ("density", "blackout")
MOST_LEVELS = 8
MOST_DAYS = 30
MOST_TRAYS = 20

MOST_PATTERNS = 12
"""Where nothing stands out, so many pairs are shown, the likeliest to differ first."""


def _say(ask: Ask) -> Say:
    return Say(words=ask._, number=ask.tongue.number, units=ask.units, day=ask.tongue.day)


def by_recipe(ask: Ask) -> Response:
    """Weights and days of each recipe against what it began with; losses."""
    long, say = ask.long("learn-recipes"), _say(ask)
    found = long.value
    shown = {
        "weights": weights(found.lessons, say),
        "times": times(found.lessons, say),
        "losses": losses(found.losses, say),
        "left_out": found.left_out,
    } if found is not None else {}  # fmt: skip
    return ask.show("learn/recipes.html", long=long, shown=shown)


def apart(ask: Ask) -> Response:
    """What makes trays differ: causes, lots, weeks."""
    long, say = ask.long("learn-apart"), _say(ask)
    found = long.value
    if found is None:
        return ask.show("learn/apart.html", long=long, found=None)
    of_lots = next((each for each in found.stand_outs if each.kind == "lot"), None)
    named = frozenset(one.name for one in of_lots.found) if of_lots is not None else frozenset[str]()
    lot_words = of_lots.words if of_lots is not None else ask._("No lot to compare yet.")
    stages = [(each, spread(each.spread, say, days=True)) for each in found.stages]
    return ask.show(
        "learn/apart.html",
        long=long,
        found=found,
        spread=spread(found.spread, say),
        stages=[(each, shown) for each, shown in stages if shown is not None],
        lots=lots(found.lots, named, lot_words, say),
        seasons=seasons(found.drift.seasons, found.drift.words, say),
        others=[each for each in found.stand_outs if each.kind != "lot"],
    )


def density(ask: Ask) -> Response:
    """How a crop's weight answers to density."""
    state = ask.farm.state(ask.at)
    names = [recipe.name for recipe in state.recipes_in_use()]
    asked = ask.query.text("recipe")
    chosen = asked if asked in names else _most_sown(ask, names)
    wrong = ask._("There is no recipe %(name)s here.", name=asked) if asked and asked not in names else ""
    if not chosen:
        return ask.show("learn/density.html", names=names, options=(), chosen="", wrong=wrong, long=None, shown=None)
    long = ask.long("learn-density", recipe=chosen)
    present = state.recipes[chosen].live_seeds_per_cm2
    shown = density_shown(long.value, present, _say(ask)) if long.value is not None else None
    options = [(name, name) for name in names]
    return ask.show(
        "learn/density.html", names=names, options=options, chosen=chosen, wrong=wrong, long=long, shown=shown
    )


def _most_sown(ask: Ask, names: list[str]) -> str:
    """The recipe with most sowings: what a grower most likely asks of."""
    sown = dict.fromkeys(names, 0)
    for sowing in ask.farm.state(ask.at).sowings.values():
        if sowing.recipe in sown:
            sown[sowing.recipe] += 1
    return max(names, key=lambda name: sown[name], default="")


def promises(ask: Ask) -> Response:
    """Whether the plan kept its word, and whether the ranges that were given held what then happened."""
    long, say = ask.long("learn-promises"), _say(ask)
    shown = promises_shown(long.value.rows, say) if long.value is not None else ()
    found = ask.kept(("kept-word", ask.today), lambda: ask.farm.kept_word(ask.at))
    return ask.show("learn/promises.html", long=long, shown=shown, weeks=WEEKS, plan_word=word_shown(found, say))


# Trials ---------------------------------------------------------------------------------------------------------------


def trials(ask: Ask) -> Response:
    """The trial worth making, and what those under way say so far."""
    long, say, state = ask.long("learn-trials"), _say(ask), ask.farm.state(ask.at)
    said = {each.trial: each for each in long.value.said} if long.value is not None else {}
    recipes = [recipe.name for recipe in state.recipes_in_use()]
    under_way = [
        {
            "trial": trial,
            "said": said.get(name),
            "shown": trial_levels(said[name], say) if name in said else None,
            "days": (days := trial_days(state, name, ask.settings)),
            "today": ask.today in days,
            "order": (trial.orders[len(days)] if trial.orders else trial.levels) if len(days) < trial.blocks else (),
        }
        for name, trial in state.trials.items()
    ]
    return ask.show(
        "learn/trials.html",
        long=long,
        under_way=under_way,
        proposed=long.value.proposed if long.value is not None else None,
        levers=levers(say),
        recipes=recipes,
        recipe_options=[(name, name) for name in recipes],
    )


def begin(ask: Ask) -> Response:
    """Keep a trial; the order of its levels on each day is drawn, the same for the same name and moment."""
    from numpy.random import default_rng

    name, said = ask.form.need("name", "Give the trial a name."), ask.said
    if name in ask.farm.state(ask.at).trials:
        raise InputError("name", name, "there is a trial of that name", "Choose another name.")
    ask.farm.set_trial(
        name,
        ask.form.need("recipe", "Choose one."),
        "density" if ask.form.choice("what", LEVERS) == "density" else "blackout",
        _levels(ask),
        blocks=ask.form.whole("days", 1, MOST_DAYS),
        trays_each=ask.form.whole("trays", 1, MOST_TRAYS),
        rng=default_rng(zlib.crc32(f"{name} {said['at'].isoformat()}".encode())),
        **said,
    )
    return ask.go(f"/learn/trials#{quote(name)}", ask._("Kept trial %(name)s. Sow its first day below.", name=name))


def _levels(ask: Ask) -> tuple[float, ...]:
    """Levels as typed: `4.3, 5.2`, or `4,3; 5,2`."""
    typed = ask.form.need("levels", "For instance 4.3; 5.2.")
    parts = typed.replace(";", " ").split() if ";" in typed else typed.replace(", ", " ").split()
    try:
        found = tuple(float(part.strip(",").replace(",", ".")) for part in parts)
    except ValueError as error:
        raise InputError("levels", typed, "must be numbers", "For instance 4.3; 5.2.") from error
    if not 2 <= len(found) <= MOST_LEVELS:
        raise InputError("levels", typed, f"must be 2 to {MOST_LEVELS} of them", "For instance 4.3; 5.2.")
    return found


def drop(ask: Ask) -> Response:
    """Give a trial up."""
    name = ask.form.need("trial")
    receipt = ask.farm.drop_trial(name, **ask.said)
    undo = [kept.entry.id for kept in receipt.kept]
    return ask.go(
        "/learn/trials", ask._("Trial %(name)s is given up; its trays stay what they are.", name=name), undo=undo
    )


def sow(ask: Ask) -> Response:
    """Sow the next day of a trial, every level."""
    name = ask.form.need("trial")
    receipt = ask.farm.sow_trial_day(name, **ask.said)
    words = ask._("Sown: %(trays)s. Label them with their level.", trays=", ".join(receipt.names))
    return ask.recorded("/learn/trials", words, receipt)


def trouble(ask: Ask) -> Response:
    """What trouble comes with: crops, lots, shelves, density and air."""
    found = ask.kept(("trouble patterns", ask.today), lambda: ask.farm.trouble_patterns(ask.at))
    return ask.show("learn/trouble.html", found=found, shown=found.named or found.rows[:MOST_PATTERNS])


ROUTES = (
    page("/learn", by_recipe, may="look"),
    page("/learn/apart", apart, may="look"),
    page("/learn/trouble", trouble, may="look"),
    page("/learn/density", density, may="look"),
    page("/learn/promises", promises, may="look"),
    page("/learn/trials", trials, may="look"),
    act("/learn/trials/begin", begin, may="run", again=trials),
    act("/learn/trials/drop", drop, may="run", again=trials),
    act("/learn/trials/sow", sow, may="answer", again=trials),
)
