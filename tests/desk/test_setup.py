"""The setup file: what a grower writes of the farm, read whole or refused with every mistake and its line."""

from __future__ import annotations

import copy
import math
import re
import tomllib
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta

import msgspec
import pytest

from trayward.desk.setup.barn import barn_setup
from trayward.desk.setup.file import left_out, read_setup, ready_setup, ready_setup_text, setup_changes
from trayward.desk.setup.toml_lines import key_lines
from trayward.errors import InputError, NotFoundError, SetupError
from trayward.farm.density import seed_for_tray
from trayward.farm.due import lines_due, order_findings
from trayward.farm.entries import (
    Body,
    CropFactSet,
    CustomerSet,
    Entry,
    FarmSet,
    KitSet,
    OrderPlaced,
    PlaceSet,
    ProductSet,
    RecipeSet,
    SeedReceived,
    StandingOrderPaused,
    StandingOrderSet,
)
from trayward.farm.fold import fold
from trayward.farm.orders import Pause
from trayward.farm.recipes import Recipe
from trayward.farm.state import FarmState
from trayward.library.advice import recipe_findings
from trayward.library.crops import facts_for

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)
MONDAY = date(2026, 11, 30)
SMALL = """
[farm]
name = "Lantern Nook"
timezone = "Europe/Dublin"
days_off = [2026-12-25]

[farm.rounds]
morning = "7:15"
evening = 19:00:00

[farm.work]
every_day = "1h30"
sun = "off"

[[rack]]
name = "N"
room = "nook"

[[rack.shelf]]
kind = "dark"
spots = 2
stack = 3

[[rack.shelf]]
kind = "lit"
spots = 4
count = 2
lamp = { count = 2, watts = 24, hours = "16 h" }

[[kit]]
name = "mesh tray"
count = 10
dry = "6 h"

[[kit]]
name = "mesh mat"
count = 10
dry = "1 d"

[[kit]]
name = "solid tray"
count = 10

[[kit]]
name = "cover"
count = 5

[[recipe]]
crop = "broccoli"
yield = ["80 g", "95 g", "115 g"]
cut_height = ["1/2 in", "25 mm"]

[recipe.stage.light]
days = [3, 4, 5]

[[product]]
name = "nook mix"
parts = { broccoli = "100 %" }
pack = "50 g"
price = "2,80 per pack"

[[customer]]
name = "home"
home = true

[[seed]]
lot = "B1"
crop = "broccoli"
amount = "0.25 kg"
germination = "92 %"
tsw = "3.2 g"

[[standing]]
name = "home-wed"
customer = "home"
start = 2026-12-02
every = "Wed"
lines = ["95 g broccoli", "2 packs nook mix"]
"""


def farm_of(bodies: tuple[Body, ...], state: FarmState | None = None) -> FarmState:
    begin = state.entries if state is not None else 0
    entries = [
        Entry(id=f"setup-{begin + number:05d}", at=MORNING, recorded=MORNING, by="grower", body=body)
        for number, body in enumerate(bodies)
    ]
    return fold(entries, start=copy.deepcopy(state))  # the fold goes on in place


def problems(text: str) -> tuple[str, ...]:
    with pytest.raises(SetupError, match=r"nook\.toml, line \d+: ") as caught:
        read_setup(text, name="nook.toml")
    return caught.value.problems


def changed(old: str, new: str) -> str:
    assert SMALL.count(old) == 1, "the text to change must stand there once"
    return SMALL.replace(old, new)


@pytest.mark.parametrize(("said", "counted_on"), [("once placed", False), ("as they usually come", True)])
def test_a_farm_says_whether_it_grows_for_spot_orders_before_they_are_placed(said: str, counted_on: bool) -> None:
    text = changed('timezone = "Europe/Dublin"', f'timezone = "Europe/Dublin"\nspot_orders = "{said}"')
    settings = [body.settings for body in read_setup(text, name="nook.toml") if isinstance(body, FarmSet)]
    assert [one.plan_spot_orders for one in settings] == [counted_on]


def test_a_new_farm_grows_for_spot_orders_only_once_they_are_placed() -> None:
    assert [
        body.settings.plan_spot_orders for body in read_setup(SMALL, name="nook.toml") if isinstance(body, FarmSet)
    ] == [False]


def test_nonsense_about_spot_orders_is_refused_with_the_words_that_are_known() -> None:
    text = changed('timezone = "Europe/Dublin"', 'timezone = "Europe/Dublin"\nspot_orders = "always"')
    with pytest.raises(SetupError, match=r"spot_orders = 'always': must be one of once placed, as they usually come"):
        read_setup(text, name="nook.toml")


@pytest.mark.parametrize(("said", "calm"), [("", 1.0), ("calm = 0", 0.0), ("calm = 2.50", 2.5)])
def test_a_farm_says_for_what_gain_a_plan_may_change_today_and_tomorrow(said: str, calm: float) -> None:
    bodies = read_setup(f"{SMALL}\n[farm.money]\n{said}\n", name="nook.toml")
    (settings,) = (body.settings for body in bodies if isinstance(body, FarmSet))
    assert settings.calm == calm
    assert settings.money.currency == "EUR"


@pytest.mark.parametrize("said", ["calm = -1", 'calm = "a lot"', "calm = true", "calm = inf"])
def test_a_calm_that_is_no_amount_is_refused_with_its_line(said: str) -> None:
    text = f"{SMALL}\n[farm.money]\n{said}\n"
    (problem,) = problems(text)
    assert problem.startswith(f"nook.toml, line {line_of(text, 'calm')}: farm, money, calm = ")


def test_caution_that_is_no_share_between_a_half_and_nearly_all_is_refused() -> None:
    """Below a half more orders would be missed than met; sure of all, no number of spare trays would be enough."""
    for said in ('"40 %"', '"100 %"', "80"):
        text = changed('name = "Lantern Nook"', f'name = "Lantern Nook"\ncaution = {said}')
        assert problems(text)[0].startswith(f"nook.toml, line {line_of(text, 'caution')}: farm, caution = ")


def line_of(text: str, words: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), start=1) if words in line)


def recipe_in(bodies: tuple[Body, ...]) -> Recipe:
    return next(body.recipe for body in bodies if isinstance(body, RecipeSet))


# Reading --------------------------------------------------------------------------------------------------------------


def test_a_setup_file_becomes_entries_in_an_order_the_book_can_take():
    kinds = [type(body) for body in read_setup(SMALL, name="nook.toml")]
    expected = [FarmSet, PlaceSet, KitSet, RecipeSet, ProductSet, CustomerSet, SeedReceived, StandingOrderSet]
    assert list(dict.fromkeys(kinds)) == expected
    assert Counter(kinds)[PlaceSet] == 3


def test_people_s_units_are_understood():
    state = farm_of(read_setup(SMALL, name="nook.toml"))
    assert state.settings is not None
    assert state.settings.work_minutes == (90.0,) * 6 + (0.0,)
    assert [entry.at for entry in state.settings.rounds] == [time(7, 15), time(19, 0)]
    assert state.kit["mesh mat"].pool.dry_hours == 24.0
    assert state.seed["B1"].left_g == 250.0
    assert state.recipes["broccoli on mesh mat"].cut_height_mm == pytest.approx((12.7, 25.0))


def test_shelves_are_named_by_their_rack_in_walking_order():
    shelves = [body.shelf for body in read_setup(SMALL, name="nook.toml") if isinstance(body, PlaceSet)]
    assert [(shelf.name, shelf.order, shelf.kind) for shelf in shelves] == [
        ("N1", 1, "dark"),
        ("N2", 2, "lit"),
        ("N3", 3, "lit"),
    ]
    assert shelves[0].spot_names()[:3] == ("N1.1a", "N1.1b", "N1.1c")


def test_a_recipe_keeps_what_the_library_says_where_the_farm_says_nothing():
    recipe = recipe_in(read_setup(SMALL, name="nook.toml"))
    light = recipe.stage("light")
    assert (light.days_low, light.days_typical, light.days_high) == (3.0, 4.0, 5.0)
    assert light.ground == "lit"
    assert recipe.stage("germinate").cue == "More yellow shoot than brown seed?"
    assert (recipe.yield_prior.low_g, recipe.yield_prior.typical_g) == (80.0, 95.0)
    assert recipe.yield_prior.source == "this farm"


def test_a_farm_s_own_crop_figure_makes_a_recipe_that_the_library_cannot():
    text = SMALL + '\n[crop.tatsoi]\nsow_g_per_1020_typ = 12\n\n[[recipe]]\ncrop = "tatsoi"\n'
    bodies = read_setup(text, name="nook.toml")
    assert CropFactSet(crop="tatsoi", name="sow_g_per_1020_typ", value=12.0) in bodies
    assert "tatsoi on mesh mat" in farm_of(bodies).recipes


def test_a_recipe_of_the_farm_s_own_needs_nothing_of_the_library():
    own = """
[[recipe]]
crop = "lantern cress"
from_library = false
density = 4
yield = "90 g"
kit = [{ pool = "mesh tray" }, { pool = "cover", stages = ["germinate"] }]

[recipe.stage.germinate]
days = [2, 3, 4]
ground = "dark"
cover = "weight"
weight = "5 lb"

[recipe.stage.ready]
days = 2
ground = "lit"
"""
    bodies = read_setup(SMALL + own, name="nook.toml")
    recipe = farm_of(bodies).recipes["lantern cress on mesh mat"]
    assert [stage.name for stage in recipe.stages] == ["germinate", "ready"]
    assert recipe.stage("germinate").weight_g == pytest.approx(2268, abs=1)
    assert recipe.kit[1].stages == ("germinate",)


def test_a_stage_of_the_library_can_be_skipped_and_another_put_in_before_ready():
    extra = '[recipe.stage.blackout]\nskip = true\n\n[recipe.stage.harden]\ndays = 1\nground = "lit"\n\n[[product]]'
    recipe = recipe_in(read_setup(changed("[[product]]", extra), name="nook.toml"))
    assert [stage.name for stage in recipe.stages] == ["germinate", "light", "harden", "ready"]
    cover = next(need for need in recipe.kit if need.pool == "cover")
    assert cover.stages == ("germinate",)


def test_every_recipe_says_what_all_recipes_share_and_a_recipe_goes_before_it():
    text = SMALL + '\n[every_recipe]\ncut_window = "3 d"\nyield = "70 g"\n'
    recipe = recipe_in(read_setup(text, name="nook.toml"))
    assert (recipe.cut_window_days, recipe.yield_prior.typical_g) == (3, 95.0)


def test_lines_of_a_standing_order_are_named_by_their_product_so_their_order_does_not_matter():
    def lines(text: str) -> set[str]:
        state = farm_of(read_setup(text, name="nook.toml"))
        return {line.line for line in lines_due(state, date(2026, 12, 2), date(2026, 12, 2))}

    swapped = changed('["95 g broccoli", "2 packs nook mix"]', '["2 packs nook mix", "95 g broccoli"]')
    assert lines(SMALL) == lines(swapped) == {"home-wed@2026-12-02/broccoli", "home-wed@2026-12-02/nook-mix"}


def test_a_single_order_may_stand_in_the_file():
    text = SMALL + '\n[[order]]\nname = "feast"\ncustomer = "home"\ndue = 2026-12-24\nlines = ["8 oz broccoli"]\n'
    (order,) = farm_of(read_setup(text, name="nook.toml")).orders.values()
    assert order.lines[0].quantity == pytest.approx(226.8, abs=0.01)


# Mistakes -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('timezone = "Europe/Dublin"', 'timezone = "Dublin"', "farm, timezone = 'Dublin': is no zone of the IANA"),
        ('morning = "7:15"', 'morning = "25:15"', "farm, rounds, morning = '25:15': must be a time of day"),
        ('every_day = "1h30"', 'every_day = "90 g"', "farm, work, every_day = '90 g': has the unit 'g'"),
        ('kind = "dark"', 'kind = "dim"', "kind = 'dim': must be one of dark, lit"),
        ("spots = 4", "spots = 0", "spots = 0: must lie in [1, 200]. Give a number."),
        ("stack = 3", "stack = 2.5", "stack = 2.5: must be a whole number from 1 to 26"),
        ("count = 5", "count = -5", 'kit "cover", count = -5: must lie in [0, 10000'),
        ('dry = "1 d"', 'dry = "soon"', "dry = 'soon': must be a number with a unit"),
        (
            'crop = "broccoli"\nyield',
            'crop = "brocoli"\nyield',
            "crop = 'brocoli': the library knows no such crop. Did you mean broccoli?",
        ),
        ("days = [3, 4, 5]", "days = [5, 4, 3]", "days = [5, 4, 3]: must run from low to high"),
        ("days = [3, 4, 5]", "days = [3, 5]", "days = [3, 5]: must list 3 or 1 amounts in days"),
        ('{ broccoli = "100 %" }', '{ broccoli = "80 %" }', "parts = '80% in all': the shares of a mix must add up"),
        ('{ broccoli = "100 %" }', '{ pea = "100 %" }', "pea = '100 %': no recipe of this farm grows that crop"),
        ('price = "2,80 per pack"', 'price = "2.80 per tray"', "does not fit how it is sold, which is by the pack"),
        ('germination = "92 %"', "germination = 92", "germination = 92: must lie in [0.01, 1] as a share"),
        ("start = 2026-12-02", 'start = "2 Dec"', "start = '2 Dec': must be a day. Write year-month-day"),
        ('every = "Wed"', 'every = "some days"', "every = 'some days': these words are not understood"),
        ('every = "Wed"', 'rule = "FREQ=HOURLY"', "rule = 'FREQ=HOURLY': FREQ must be one of DAILY"),
        ('"95 g broccoli",', '"95 g broccolli",', "lines = '95 g broccolli': product: the farm sells nothing of that"),
        ('"2 packs nook mix"', '"2 trays nook mix", "1 pack broccoli"', "the product has no pack weight"),
        ('customer = "home"\n', 'customer = "hume"\n', "customer = 'hume': no such customer stands in this file"),
        ("home = true", 'home = "yes"', "home = 'yes': must be true or false, without quotes"),
        ('name = "home-wed"', 'name = "home/wed"', "name = 'home/wed': may not hold blanks, / or @"),
        ('name = "solid tray"', 'name = "cover"', "kit \"cover\", name = 'cover': another one has that name"),
        ('tsw = "3.2 g"', 'tsw = "3.2 g"\ntreated = true', "treated seed is not for eating fresh"),
    ],
)
def test_a_mistake_is_said_with_its_line_key_value_rule_and_way_out(old: str, new: str, message: str):
    text = changed(old, new)
    (problem, *_) = problems(text)
    assert message in problem
    assert problem.endswith((".", "?"))


def test_the_line_named_is_the_line_of_the_mistake():
    text = changed('germination = "92 %"', 'germination = "much"')
    assert problems(text)[0].startswith(f"nook.toml, line {line_of(text, 'much')}: seed \"B1\", germination = 'much'")


def test_a_wrong_line_of_an_order_is_found_inside_its_list():
    text = changed('["95 g broccoli", "2 packs nook mix"]', '[\n  "95 g broccoli",\n  "2 bunches nook mix",\n]')
    assert problems(text)[0].startswith(f"nook.toml, line {line_of(text, 'bunches')}: ")


def test_an_unknown_key_is_an_error_that_names_the_nearest_known_one():
    assert problems(changed('dry = "1 d"', 'drying = "1 d"'))[0].endswith(
        "kit \"mesh mat\", drying = '1 d': no such key is known here. Did you mean dry?"
    )
    assert "colour = 'green': no such key is known here. Known here: crop," in problems(
        changed('pack = "50 g"', 'pack = "50 g"\ncolour = "green"')
    )[0].replace("crop, live", "crop, live")


def test_a_table_nobody_knows_is_an_error_too():
    assert "kits" in problems(SMALL + "\n[kits]\nname = 1\n")[0]
    assert "Did you mean kit?" in problems(SMALL + "\n[kits]\nname = 1\n")[0]


def test_what_is_missing_is_said_at_the_table_it_is_missing_from():
    text = changed("spots = 2\n", "")
    assert problems(text) == (
        f'nook.toml, line {line_of(text, "[[rack.shelf]]")}: rack "N", shelf 1, spots = nothing: '
        "it has to be given. Give a number.",
    )


def test_every_problem_is_listed_at_once_in_the_order_of_the_text():
    text = changed('kind = "dark"', 'kind = "dim"').replace("count = 5", "count = -5").replace('every = "Wed"', "")
    lines = [int(re.search(r"line (\d+)", problem)[1]) for problem in problems(text)]  # type: ignore[index]
    assert len(lines) == 3
    assert lines == sorted(lines)


def test_text_that_is_not_toml_is_refused_with_its_line():
    assert "nook.toml, line 3: " in problems('[farm]\nname = "x"\nthis is not it\n')[0]


def test_kit_a_recipe_needs_and_the_farm_lacks_is_named():
    text = changed('[[kit]]\nname = "cover"\ncount = 5\n', "")
    assert "kit = 'cover': the farm has no such kit pool" in problems(text)[0]


def test_a_dark_shelf_with_a_lamp_and_a_lit_one_with_a_stack_are_refused():
    assert "a dark shelf has no lamp" in problems(changed("stack = 3", "lamp = { watts = 5 }"))[0]
    assert "a lit shelf takes no stacks" in problems(changed("spots = 4", "spots = 4\nstack = 2"))[0]


# Lines of a TOML text -------------------------------------------------------------------------------------------------

AWKWARD = '''# not a [header]
title = "a # in quotes" # and one out
[a.b]
"quoted key" = 1
c.d = [1,
  2, # two
  "three ] }",
]
[[rack]]
name = """
[[rack]]
two lines \\""" of it"""
[[rack.shelf]]
x = {a = 1, b = [ {c = 2} , {c = 3}]}
[[ rack . shelf ]]
at = 07:00:00
[[rack]]
name = '[lit]'
[rack.deep]
z = 1_000
[[rack.shelf]]
q = true
'''


def every_path(value: object, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    if path:
        yield path
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield from every_path(inner, (*path, key))


def test_every_key_of_an_awkward_toml_text_has_its_line():
    lines = key_lines(AWKWARD)
    assert set(lines) == set(every_path(tomllib.loads(AWKWARD)))
    assert lines["a", "b", "c", "d", 2] == 7
    assert lines["rack", 0, "shelf", 0, "x", "b", 1, "c"] == 14
    assert lines["rack", 0, "shelf", 1] == 15
    assert (lines["rack", 1, "name"], lines["rack", 1, "deep", "z"], lines["rack", 1, "shelf", 0, "q"]) == (18, 20, 22)


@pytest.mark.parametrize("name", ["shelf", "loft"])
def test_every_key_of_a_ready_setup_has_the_line_it_stands_on(name: str):
    text = ready_setup_text(name)
    lines = key_lines(text)
    assert set(lines) == set(every_path(tomllib.loads(text)))
    rows = text.splitlines()
    wrong = [path for path, line in lines.items() if isinstance(path[-1], str) and path[-1] not in rows[line - 1]]
    assert wrong == []


def test_a_text_with_windows_line_ends_has_the_same_lines():
    assert key_lines(AWKWARD.replace("\n", "\r\n")) == key_lines(AWKWARD)


# Applying again -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", ["shelf", "loft", "barn"])
def test_applying_the_same_setup_again_changes_nothing(name: str):
    bodies = ready_setup(name)
    state = farm_of(bodies)
    assert state.findings == []
    assert setup_changes(state, bodies) == ()
    assert left_out(state, bodies) == ()


def test_only_what_was_edited_is_recorded():
    state = farm_of(read_setup(SMALL, name="nook.toml"))
    edited = changed("count = 5", "count = 7").replace('"95 g broccoli"', '"120 g broccoli"')
    changes = setup_changes(state, read_setup(edited, name="nook.toml"))
    assert [type(body) for body in changes] == [KitSet, StandingOrderSet]
    after = farm_of(changes, state)
    assert after.kit["cover"].pool.count == 7
    assert setup_changes(after, read_setup(edited, name="nook.toml")) == ()


def test_seed_already_here_is_left_alone_and_seed_on_order_that_has_come_is_not():
    state = farm_of(read_setup(SMALL, name="nook.toml"))
    more = changed('amount = "0.25 kg"', 'amount = "1 kg"')
    assert setup_changes(state, read_setup(more, name="nook.toml")) == ()
    ordered = SMALL.replace('lot = "B1"', 'lot = "B2"\nexpected = 2026-12-01')
    state = farm_of(read_setup(ordered, name="nook.toml"))
    (come,) = setup_changes(state, read_setup(ordered.replace("expected = 2026-12-01", ""), name="nook.toml"))
    assert isinstance(come, SeedReceived)
    assert come.expected_on is None


def test_a_pause_recorded_since_is_kept_when_the_order_is_edited():
    pause = Pause(first=date(2026, 12, 9), last=date(2026, 12, 9))
    state = farm_of(read_setup(SMALL, name="nook.toml"))
    state = farm_of((StandingOrderPaused(standing="home-wed", pause=pause),), state)
    assert setup_changes(state, read_setup(SMALL, name="nook.toml")) == ()
    edited = changed('"95 g broccoli"', '"120 g broccoli"')
    (body,) = setup_changes(state, read_setup(edited, name="nook.toml"))
    assert isinstance(body, StandingOrderSet)
    assert body.standing.pauses == (pause,)


def test_what_the_file_no_longer_mentions_is_named_and_stays():
    state = farm_of(read_setup(SMALL, name="nook.toml"))
    fewer = SMALL[: SMALL.index("[[standing]]")]
    bodies = read_setup(fewer, name="nook.toml")
    assert setup_changes(state, bodies) == ()
    assert left_out(state, bodies) == ("order:home-wed",)


def test_a_cancelled_order_of_the_file_stays_cancelled():
    text = SMALL + '\n[[order]]\nname = "feast"\ncustomer = "home"\ndue = 2026-12-24\nlines = ["90 g broccoli"]\n'
    state = farm_of(read_setup(text, name="nook.toml"))
    state.orders.clear()
    state.cancelled_orders.add("feast")
    assert not any(isinstance(body, OrderPlaced) for body in setup_changes(state, read_setup(text, name="nook.toml")))


# Ready setups ---------------------------------------------------------------------------------------------------------


def spots(state: FarmState) -> int:
    return sum(len(shelf.spot_names()) for shelf in state.shelves.values())


def lines_a_week(state: FarmState) -> float:
    return len(lines_due(state, MONDAY, MONDAY + timedelta(days=13))) / 2


@pytest.mark.parametrize(
    ("name", "spot_count", "recipes", "customers", "lines"),
    [("shelf", 12, 4, 1, (4, 4)), ("loft", 96, 14, 9, (54, 60)), ("barn", 1200, 40, 120, (800, 800))],
)
def test_a_ready_setup_is_of_the_size_it_is_for(
    name: str, spot_count: int, recipes: int, customers: int, lines: tuple[int, int]
):
    state = farm_of(ready_setup(name))
    assert (spots(state), len(state.recipes), len(state.customers)) == (spot_count, recipes, customers)
    assert lines[0] <= lines_a_week(state) <= lines[1]


@pytest.mark.parametrize("name", ["shelf", "loft", "barn"])
def test_a_ready_setup_lacks_nothing_a_plan_needs(name: str):
    state = farm_of(ready_setup(name))
    assert order_findings(state, MONDAY, MONDAY + timedelta(days=41)) == []
    for recipe in state.recipes.values():
        lot = next(lot for lot in state.seed.values() if lot.crop == recipe.crop)
        assert recipe.yield_prior.typical_g is not None, recipe.name
        assert seed_for_tray(recipe, facts_for(recipe.crop, state.crop_facts), lot).grams is not None, recipe.name


def test_the_loft_s_orders_fill_most_of_its_lit_spots_and_leave_some_free():
    """A rough count, with one batch of each crop a week: whole trays at 0.87 of the likely weight, lit for a day more
    than the light stage lasts. The loft is meant to be busy and workable, 60 to 80 % of its lit spots."""
    state = farm_of(ready_setup("loft"))
    recipes = {recipe.crop: recipe for recipe in state.recipes.values()}
    grams: Counter[tuple[str, int]] = Counter()
    lit_days = 0.0
    for line in lines_due(state, MONDAY, MONDAY + timedelta(days=13)):
        for part in line.parts:
            grams[part.crop, (line.due - MONDAY).days // 7] += line.grams * part.share  # type: ignore[assignment]
            lit_days += line.trays * (recipes[part.crop].stage("light").days_typical + 1)
    for (crop, _), weight in grams.items():
        trays = math.ceil(weight / (0.87 * (recipes[crop].yield_prior.typical_g or 1)))
        lit_days += trays * (recipes[crop].stage("light").days_typical + 1)
    lit = sum(shelf.spots for shelf in state.shelves.values() if shelf.kind == "lit")
    assert 0.6 <= lit_days / 14 / lit <= 0.8


@pytest.mark.parametrize("name", ["shelf", "loft"])
def test_no_recipe_of_a_ready_setup_is_wrong_by_the_library_s_advice(name: str):
    state = farm_of(ready_setup(name))
    found = [
        finding
        for recipe in state.recipes.values()
        for finding in recipe_findings(recipe, facts_for(recipe.crop, state.crop_facts))
    ]
    assert [finding.message for finding in found if finding.severity == "wrong"] == []


def test_the_shelf_is_for_the_grower_s_own_table():
    state = farm_of(ready_setup("shelf"))
    assert state.settings is not None
    assert not state.settings.sells
    lines = lines_due(state, MONDAY, MONDAY + timedelta(days=6))
    assert sum(line.grams for line in lines if line.product == "broccoli") == 95.0


def test_the_loft_sells_mixes_packs_and_a_live_tray_and_feeds_its_grower():
    lines = lines_due(farm_of(ready_setup("loft")), MONDAY, MONDAY + timedelta(days=6))
    assert any(len(line.parts) > 1 and line.packs for line in lines)
    assert any(line.live for line in lines)
    assert {line.due.strftime("%a") for line in lines} == {"Tue", "Fri", "Sat"}
    assert any(line.customer == "our own table" for line in lines)


def test_the_barn_is_the_same_for_the_same_number_and_another_for_another():
    assert msgspec.json.encode(barn_setup(7)) == msgspec.json.encode(barn_setup(7))
    assert msgspec.json.encode(barn_setup(7)) != msgspec.json.encode(barn_setup(8))


def test_a_ready_setup_of_another_name_is_not_known():
    with pytest.raises(NotFoundError, match="ready setup 'attic'"):
        ready_setup("attic")


def test_what_follows_from_a_crop_that_is_not_known_is_not_a_mistake_of_its_own():
    """One letter wrong in the recipe, and the product and the standing order are right."""
    (found,) = problems(changed('[[recipe]]\ncrop = "broccoli"', '[[recipe]]\ncrop = "brocoli"'))
    assert "crop = 'brocoli': the library knows no such crop. Did you mean broccoli?" in found


@pytest.mark.parametrize(
    ("kind", "key"),
    [
        ("kit", "name"), ("recipe", "crop"), ("product", "name"), ("customer", "name"), ("seed", "lot"),
        ("standing", "name"), ("standing", "start"), ("standing", "every"), ("standing", "lines"),
    ],
)  # fmt: skip
def test_a_needed_key_with_two_letters_swapped_is_one_mistake_however_much_rests_on_it(kind: str, key: str):
    """Neither the lack of the key nor what names the table from elsewhere is a mistake of its own."""
    typed = key[0] + key[2] + key[1] + key[3:]
    text = re.sub(
        rf"(\[\[{kind}\]\]\n(?:[^\[\n][^\n]*\n)*?){key} =", rf"\1{typed} =", ready_setup_text("loft"), count=1
    )
    (problem,) = problems(text)
    assert f", line {line_of(text, f'{typed} =')}: {kind} " in problem
    assert problem.endswith(f"no such key is known here. Did you mean {key}?")


def test_what_names_a_table_without_a_name_is_not_a_mistake_of_its_own():
    for table, line in (("[[customer]]", 'name = "home"\n'), ("[[product]]", 'name = "nook mix"\n')):
        (problem,) = problems(changed(f"{table}\n{line}", f"{table}\n"))
        assert ", name = nothing: it has to be given." in problem


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('name = "Lantern Nook"', 'name = "Lantern Nook', "from column 21: the quotes are not closed on this line."),
        ('morning = "7:15"', 'morning "7:15"', "from column 9: expected '=' after a key in a key/value pair."),
        ('morning = "7:15"', 'morning = "7:15"\nmorning = "7:16"', "from column 17: this key stands there twice."),
    ],
)
def test_what_is_not_toml_is_said_with_the_text_of_its_line_and_the_line_once(old: str, new: str, message: str):
    text = changed(old, new)
    (problem,) = problems(text)
    shown = new.splitlines()[-1]
    start = f"nook.toml, line {line_of(text, shown)}: {shown}: this is not TOML "
    assert problem == f"{start}{message} Mind quotes, brackets and = signs."


def test_a_text_that_ends_too_early_is_said_with_its_last_line():
    (problem,) = problems(f"{SMALL}x = [")
    assert problem.startswith(f"nook.toml, line {len(SMALL.splitlines()) + 1}: x = [: this is not TOML at the end")


@pytest.mark.parametrize("day", ["2026-02-30", "2026-13-01", "2026-1-5"])
def test_a_day_that_cannot_be_is_named(day: str):
    text = changed("days_off = [2026-12-25]", f"days_off = [2026-12-24, {day}]")
    assert problems(text) == (
        f"nook.toml, line {line_of(text, day)}: days_off = [2026-12-24, {day}]: {day} is no day. "
        "Write year-month-day, for instance 2026-12-25.",
    )


def test_the_barn_has_no_text_to_show_because_it_is_made_from_a_number():
    with pytest.raises(
        InputError, match=r"setup = barn: it is generated from a number .*--setup loft --show, or shelf"
    ):
        ready_setup_text("barn")


def test_a_mistake_of_its_own_is_reported_beside_one_in_a_recipe():
    """A product name is nearer to another product than to the crop that is lost."""
    text = changed('[[recipe]]\ncrop = "broccoli"', '[[recipe]]\ncrop = "brocoli"')
    found = problems(text.replace("2 packs nook mix", "2 packs nok mix"))
    assert len(found) == 2
    assert "the farm sells nothing of that name. Did you mean nook mix?" in found[1]
