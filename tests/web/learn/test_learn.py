"""Learn on a page: what was worked out elsewhere is told with its range; trials are kept, sown and given up."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from msgspec.structs import replace
from starlette.responses import Response

from tests.web.anybody import Anybody
from tests.web.conftest import Pages, words_of
from trayward import Farm
from trayward.desk.learning import Loss, RecipeLesson
from trayward.farm.settings import ShownUnits
from trayward.outlook.learning.drift import SeasonEffect
from trayward.outlook.learning.effects import LotEffect
from trayward.outlook.learning.shares import Share, Spread
from trayward.outlook.types import Held, Range
from trayward.plan.came_out import LeftOut
from trayward.plan.held import AheadBin
from trayward.plan.kept_word import KeptWord, WordRow
from trayward.web.learn.differences import lots, seasons, spread
from trayward.web.learn.kept_word import word_shown
from trayward.web.learn.promised import promises
from trayward.web.learn.recipes import losses, times, weights
from trayward.web.learn.words import Say
from trayward.web.look.locales import Tongues

SAY = Say(words=lambda words, **more: words % more if more else words, number=str, units=ShownUnits())
PAGES = ("/learn", "/learn/apart", "/learn/density", "/learn/promises", "/learn/trials")


@pytest.fixture
def people() -> Anybody:
    return Anybody()


def done(pages: Pages, path: str) -> Response:
    """A page once its work is done."""
    pages.get(path)
    assert pages.client.app.state.house.work.wait(180)  # type: ignore[attr-defined]
    return pages.get(path)  # type: ignore[return-value]


# Pages ----------------------------------------------------------------------------------------------------------------


def test_it_works(pages: Pages, farm: Farm) -> None:
    first = pages.get("/learn")
    assert first.status_code == 200
    assert "being worked out since" in words_of(first)
    page: Any = done(pages, "/learn")
    words = words_of(page)
    assert "being worked out" not in words
    lessons = farm.recipes_learned(pages.clock.at)
    for lesson in lessons:
        assert lesson.recipe in words
    assert f"Learned from {sum(one.cut for one in lessons)} trays" in words
    assert page.text.count("<svg") == 4, "weights and days, each for a phone and for a desk"


@pytest.mark.parametrize("path", PAGES)
def test_every_page_says_what_is_being_worked_out_and_then_what_it_is(pages: Pages, path: str) -> None:
    assert "being worked out since" in words_of(pages.get(path))
    page: Any = done(pages, path)
    assert page.status_code == 200
    assert "being worked out" not in words_of(page)
    assert page.text.count("<h1>") == 1


def test_the_table_behind_has_what_the_chart_shows(pages: Pages, farm: Farm) -> None:
    page: Any = done(pages, "/learn")
    table = page.text.split('id="weights-table"')[1].split("</details>")[0]
    rows = re.findall(r'<th scope="row">([^<]+)</th>', table)
    known = [one for one in farm.recipes_learned(pages.clock.at) if one.grams is not None]
    assert sorted(rows) == sorted(one.recipe for one in known)


def test_density_is_asked_by_recipe(pages: Pages, farm: Farm) -> None:
    name = next(name for name in farm.state(pages.clock.at).recipes if name.startswith("radish"))
    words = words_of(done(pages, f"/learn/density?recipe={name}"))  # type: ignore[arg-type]
    found = farm.density_response(name, pages.clock.at)
    assert words_of(found.words.replace("'", "&#39;")) in words
    assert "live seeds a cm²" in words


def test_a_recipe_nobody_has_is_said(pages: Pages) -> None:
    words = words_of(pages.get("/learn/density?recipe=cabbages+and+kings"))
    assert "There is no recipe cabbages and kings here." in words


def test_promises_are_told_in_tens(pages: Pages, farm: Farm) -> None:
    words = words_of(done(pages, "/learn/promises"))  # type: ignore[arg-type]
    held = {(row.what, row.promised): row.held for row in farm.calibration(pages.clock.at).rows}
    assert f"within the range, {round(10 * held['days', 0.8])} were; 8 were promised" in words
    assert f"within the range, {round(10 * held['grams', 0.8])} did; 8 were promised" in words


def test_whether_the_plan_kept_its_word_is_told_at_once(pages: Pages, farm: Farm) -> None:
    words = words_of(pages.get("/learn/promises"))
    assert "No order line that a kept plan gave a chance can be judged yet." in words
    assert "Keep a plan on the days you look at it" in words


def test_chances_told_stand_beside_what_came_of_them() -> None:
    row = WordRow(
        chance_from=0.85, chance_to=0.95, chance="9 in 10", told=0.9, met=0.81, low=0.68, high=0.89, promises=90,
        lines=40, so="less",
    )  # fmt: skip
    ahead = AheadBin(days_from=14, days_to=400, promised=0.78, kept=0.73, promises=90)
    found = KeptWord(
        lines=40, met=30, expected=36.0, promises=90, rows=(row, replace(row, lines=3, so="few")), ahead=(ahead,),
        left_out=LeftOut(), habits=(), words=("so it was",),
    )  # fmt: skip
    shown = word_shown(found, SAY)
    assert [(one.told, one.met, one.may_be, one.so) for one in shown.rows] == [
        ("90 %", "81 %", "68 to 89 %", "met less often"),
        ("90 %", "81 %", "68 to 89 %", "too few to judge"),
    ]
    assert [(one.days, one.told, one.met) for one in shown.before] == [("14 days or more", "78 %", "73 %")]


# Trials ---------------------------------------------------------------------------------------------------------------

TRIAL = {"_form": "own", "name": "denser radish", "what": "density", "levels": "3; 3.5", "days": "2", "trays": "1"}


def radish(farm: Farm, pages: Pages) -> str:
    return next(name for name in farm.state(pages.clock.at).recipes if name.startswith("radish"))


def begin(pages: Pages, farm: Farm, **other: str) -> Any:
    return pages.post("/learn/trials/begin", {**TRIAL, "recipe": radish(farm, pages), **other}, page="/learn/trials")


def test_a_trial_is_kept_sown_and_given_up(pages: Pages, farm: Farm) -> None:
    assert begin(pages, farm).status_code == 303
    kept = farm.state(pages.clock.at).trials["denser radish"]
    assert (kept.levels, kept.blocks, kept.trays_each) == ((3.0, 3.5), 2, 1)
    assert "0 of 2 days sown" in words_of(pages.get("/learn/trials"))

    free_a_shelf(pages, farm)
    pages.clock.forward(minutes=1)
    sown = pages.post("/learn/trials/sow", {"trial": "denser radish"}, page="/learn/trials")
    assert sown.status_code == 303, words_of(sown)
    levels = farm.trial_levels("denser radish", pages.clock.at)
    assert sorted(levels.values()) == [3.0, 3.5]
    page = words_of(pages.get("/learn/trials"))
    assert "1 of 2 days sown" in page
    assert "trays are sown. Sow the next day" in page
    again = pages.post("/learn/trials/sow", {"trial": "denser radish"}, page="/learn/trials")
    assert again.status_code == 422
    assert "was sown today already" in words_of(again)

    told = words_of(done(pages, "/learn/trials"))  # type: ignore[arg-type]
    assert "Still growing:" in told
    assert all(tray in told for tray in levels)

    assert pages.post("/learn/trials/drop", {"trial": "denser radish"}, page="/learn/trials").status_code == 303
    assert "denser radish" not in farm.state(pages.clock.at).trials


def free_a_shelf(pages: Pages, farm: Farm) -> None:
    """Room and seed for a day of the trial, whatever Lantern Loft has left that morning."""
    at = pages.clock.at
    farm.receive_seed("RAD-TEST", "radish", 500.0, germination=0.95, at=at, by="Maren", sure=True)
    farm.test_seed("RAD-TEST", sprouted=95, tested=100, tsw_g=12.0, at=at, by="Maren", sure=True)
    growing = farm.state(at).growing()
    farm.discard([tray.tray for tray in growing[:6]], "mould", at=at, by="Maren", sure=True)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        ("name", "", "name = nothing"),
        ("levels", "many; more", "levels = many; more: must be numbers"),
        ("levels", "3", "levels = 3: must be 2 to 8 of them"),
        ("days", "none", "days = none: must be a whole number"),
        ("days", "99", "must lie in [1, 30]"),
        ("trays", "0", "must lie in [1, 20]"),
        ("what", "moonlight", "is not one of those offered"),
        ("recipe", "moon cress", "moon cress"),
    ],
)
def test_what_cannot_be_tried_is_said_beside_what_was_typed(
    pages: Pages, farm: Farm, field: str, typed: str, said: str
) -> None:
    answer = begin(pages, farm, **{field: typed})
    assert answer.status_code == 422
    assert said in words_of(answer)
    assert farm.state(pages.clock.at).trials == {}
    for name, value in (TRIAL | {field: typed}).items():
        if name in ("name", "levels", "days", "trays") and value:
            assert f'value="{value}"' in answer.text, "what was typed stays"


def test_levels_with_commas_are_read_as_people_write_them(pages: Pages, farm: Farm) -> None:
    assert begin(pages, farm, levels="3,2; 4,1").status_code == 303
    assert begin(pages, farm, name="other", levels="3.2, 4.1").status_code == 303
    trials = farm.state(pages.clock.at).trials
    assert trials["denser radish"].levels == trials["other"].levels == (3.2, 4.1)


def test_a_name_is_for_one_trial(pages: Pages, farm: Farm) -> None:
    begin(pages, farm)
    again = begin(pages, farm, levels="2; 4")
    assert again.status_code == 422
    assert "there is a trial of that name" in words_of(again)


def test_hands_sow_and_readers_read(pages: Pages, farm: Farm, people: Anybody) -> None:
    begin(pages, farm)
    people.is_now("Ida", "hand")
    page = pages.get("/learn/trials").text
    assert "/learn/trials/sow" in page
    assert "/learn/trials/begin" not in page
    for act in ("begin", "drop"):
        assert pages.post(f"/learn/trials/{act}", {"trial": "denser radish"}, page="/learn/trials").status_code == 403
    people.is_now("Noor", "reader")
    assert "/learn/trials/sow" not in pages.get("/learn/trials").text
    assert pages.post("/learn/trials/sow", {"trial": "denser radish"}, page="/learn/trials").status_code == 403
    for path in PAGES:
        assert pages.get(path).status_code == 200


# What the pages are made of -------------------------------------------------------------------------------------------


def lesson(recipe: str, likely: float, began: float, cut: int, days: float = 10.0) -> RecipeLesson:
    def around(middle: float) -> Range:
        return Range(low=0.8 * middle, likely=middle, high=1.2 * middle)

    return RecipeLesson(
        recipe=recipe,
        crop=recipe,
        grams=around(likely),
        began_grams=around(began),
        days=around(days),
        began_days=around(days),
        cut=cut,
        seen=cut,
        grams_words="",
        days_words="",
    )


def test_the_sentence_names_what_turned_out_most_unlike_its_figures() -> None:
    found = weights([lesson("pea", 300, 310, 20), lesson("kale", 100, 150, 9), lesson("beet", 100, 300, 2)], SAY)
    assert found.words == "Learned from 31 trays: kale gives likely 100 g a tray, not the 150 g it began with."
    assert [row[0] for row in found.rows] == ["pea", "kale", "beet"], "the heaviest first"


def spanish() -> Say:
    tongue = Tongues().of("es_ES")
    return Say(words=tongue.gettext, number=tongue.number, units=ShownUnits(), day=tongue.day)


def test_ranges_in_a_chart_are_in_the_pages_language() -> None:
    found = weights([lesson("pea", 300, 310, 20)], spanish())
    assert found.rows[0][2] == "240 a 360 g"
    assert found.chart is not None
    assert "240 a 360 g" in found.chart.phone
    assert " to " not in found.chart.phone


def test_figures_along_an_edge_are_written_as_the_language_does() -> None:
    found = times([lesson("pea", 1, 1, 5, days=8.0)], spanish())
    assert found.chart is not None
    assert ">2,5<" in found.chart.phone


def test_the_edge_of_a_chart_in_ounces_counts_on_beyond_a_pound() -> None:
    found = weights([lesson("pea", 500, 500, 20)], replace(SAY, units=ShownUnits(mass="oz")))
    assert found.chart is not None
    assert ">10<" in found.chart.phone
    assert ">20<" in found.chart.phone, "20 oz, and not the 1.25 of the same in pounds"


def test_without_a_tray_the_figures_are_what_was_begun_with() -> None:
    assert weights([lesson("pea", 300, 300, 0)], SAY).words.startswith("No tray was cut yet")
    assert times([lesson("pea", 300, 300, 0)], SAY).words.startswith("No tray was seen through yet")
    assert weights([], SAY).chart is None


def test_the_quickest_and_the_slowest_are_named() -> None:
    found = times([lesson("pea", 1, 1, 5, days=12.3), lesson("kale", 1, 1, 5, days=8.0)], SAY)
    assert found.words == "Kale is quickest with likely 8 days, pea slowest with 12.5."
    assert found.rows[0][2] == "6.5 to 9.5 days"


def test_losses_are_counted() -> None:
    found = losses(
        [Loss(recipe="pea", ended=20, lost=1, chance=0.034), Loss(recipe="kale", ended=0, lost=0, chance=0.02)], SAY
    )
    assert found == ("1 of 20 trays were thrown away before the cut.", (("pea", "20", "1", "3 of 100"),))
    assert losses([], SAY)[0] == "No tray has ended yet."


def test_causes_are_told_largest_first_and_not_of_a_few_trays() -> None:
    shares = (
        Share(what="lot", sd=0.2, share=0.6, low=0.4, high=0.8, levels=3),
        Share(what="tray", sd=0.1, share=0.4, low=0.2, high=0.6),
    )
    found = spread(Spread(about="grams", trays=40, shares=shares), SAY)
    assert found is not None
    assert found.words == "Seed lot explains the largest part of how the weights differ: about 60 %."
    assert found.rows[0] == ("Seed lot", "60 %", "40 to 80 %", "3")
    assert spread(Spread(about="grams", trays=4, shares=shares), SAY) is None


def test_lots_are_held_against_the_usual() -> None:
    found = lots(
        [
            LotEffect(lot="A", factor=1.12, low=1.05, high=1.2, trays=9),
            LotEffect(lot="B", factor=0.9, low=0.8, high=1.0, trays=4, alone=True),
        ],
        frozenset({"A"}),
        "Lot A stands out.",
        SAY,
    )
    assert found.rows == (
        ("A", "+12 %", "+5 % to +20 %", "9", "stands out"),
        ("B", "−10 %", "−20 % to 0 %", "4", "its recipe's only lot"),
    )
    assert found.left_out == 0


def test_weeks_are_told_in_order() -> None:
    first = date(2026, 9, 7)
    found = seasons(
        [
            SeasonEffect(
                first=first + timedelta(days=28 * number),
                last=first + timedelta(days=28 * number + 27),
                factor=1 + number / 100,
                low=0.95,
                high=1.05,
                trays=5,
            )
            for number in range(3)
        ],
        "Nothing changes.",
        SAY,
    )
    assert [row[:2] for row in found.rows] == [("2026-09-07", "0 %"), ("2026-10-05", "+1 %"), ("2026-11-02", "+2 %")]


@pytest.mark.parametrize(
    ("held", "low", "high", "so"),
    [(0.78, 0.7, 0.86, "as promised"), (0.6, 0.5, 0.7, "held less often"), (0.95, 0.9, 1.0, "held more often")],
)
def test_a_promise_is_kept_or_not_so_few_trays_being_what_they_are(
    held: float, low: float, high: float, so: str
) -> None:
    rows = [Held(what="days", promised=0.8, held=held, low=low, high=high, trays=40, sowings=20)]
    (found,) = promises(rows, SAY)
    assert found.rows[0].so == so
    assert (
        found.words == f"Of 10 trays that were to be ready within the range, {round(10 * held)} were; 8 were promised."
    )


def test_an_empty_farm_says_that_there_is_nothing_yet(tmp_path: Any) -> None:
    from starlette.testclient import TestClient

    from trayward.web.app import create_app

    at = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
    Farm.create(str(tmp_path / "new.book"), "shelf", at=at).close()
    with TestClient(create_app(str(tmp_path / "new.book"), now=lambda: at), base_url="http://127.0.0.1:8470") as client:
        for path in PAGES:
            client.get(path)
            assert client.app.state.house.work.wait(120)  # type: ignore[attr-defined]
            page = client.get(path)
            assert page.status_code == 200, path
        assert "No tray was cut yet" in words_of(client.get("/learn").text)
        assert "nothing can be told apart yet" in words_of(client.get("/learn/apart").text)
        assert "Whatever is said" not in words_of(client.get("/book").text), "the setup itself is in the book"
        assert client.get("/book").status_code == client.get("/book/odd").status_code == 200
