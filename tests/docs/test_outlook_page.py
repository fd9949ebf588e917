"""The page on how the outlook thinks names the priors as they are in the code, and what own trays do as they do it."""

from __future__ import annotations

import math
import re
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from tests.outlook.yield_rows import plain_row
from tools.pages import ROOT
from trayward.errors import InputError
from trayward.farm.recipes import Recipe
from trayward.library.crops import crop_names
from trayward.library.recipes import standard_recipe
from trayward.outlook import priors
from trayward.outlook.priors import yield_belief
from trayward.outlook.rows import YieldRow
from trayward.outlook.yields import FIXED_PRIOR, Asked, YieldLaw, YieldLearner

PAGE = (ROOT / "docs" / "how-the-outlook-thinks.md").read_text(encoding="utf-8")
ROW = re.compile(r"^\| (.+) \|$", re.MULTILINE)
MONDAY = datetime(2026, 3, 2, 8, tzinfo=UTC)
BROCCOLI = standard_recipe("broccoli")
HERE = 150.0
"""What trays of the farm in the example weigh in the middle. [g]"""


def cells(heading: str) -> list[list[str]]:
    """The rows of the first table after a heading, without its head."""
    _, found, after = PAGE.partition(f"### {heading}\n")
    assert found, heading
    table = after.partition("\n|")[2].partition("\n\n")[0]
    return [[cell.strip() for cell in row.split("|")] for row in ROW.findall(f"|{table}\n")[1:]]


# Priors ---------------------------------------------------------------------------------------------------------------


def said(cell: str) -> str:
    """What stands in the first backticks of a cell."""
    return cell.split("`")[1]


def test_the_spreads_before_any_tray_are_those_of_the_code() -> None:
    rows = cells("Weights")
    assert len(rows) >= 9
    assert {said(row[2]): float(row[1]) for row in rows} == {
        said(row[2]): pytest.approx(getattr(priors, said(row[2])), abs=0.005) for row in rows
    }


def test_what_is_believed_of_density_light_and_the_like_is_that_of_the_code() -> None:
    rows = {row[0]: tuple(map(float, row[1].replace("−", "-").split(" ± "))) for row in cells("What moves a weight")}
    assert rows == {what: belief for what, belief in FIXED_PRIOR.items() if what != "this farm"}


def test_a_stages_range_is_shared_out_as_the_page_says() -> None:
    rows = cells("Stage times")
    shares = {said(row[2]): float(row[1]) for row in rows}
    assert sum(shares.values()) == pytest.approx(1.0)
    assert shares == {name: pytest.approx(getattr(priors, name) ** 2, abs=0.005) for name in shares}


# What own trays do ----------------------------------------------------------------------------------------------------


def rows_of(trays: int, sowings: int, middle: float, recipe: str = BROCCOLI.name) -> list[YieldRow]:
    """Trays about a middle [g], scattered as farms are believed to scatter, the same every time."""
    rng = np.random.default_rng(11)
    known = standard_recipe(recipe.partition(" on ")[0])
    draws = {term: rng.standard_normal(trays) * prior.median for term, prior in priors.YIELD_SPREADS.items()}
    of = [number * sowings // trays for number in range(trays)]
    off = np.array(
        [
            draws["lot"][sowing // 10] + draws["season"][sowing // 12] + draws["sowing"][sowing] + draws["tray"][number]
            for number, sowing in enumerate(of)
        ]
    )
    logs = math.log(middle / known.tray.area_cm2) + off - off.mean() if trays else off
    return [_row(number, sowing, known, float(logs[number])) for number, sowing in enumerate(of)]


def _row(number: int, sowing: int, recipe: Recipe, log: float) -> YieldRow:
    """One tray; every ten sowings a new lot, every twelve a new season."""
    at = MONDAY + timedelta(days=3 * sowing)
    lot, season = f"L{sowing // 10}", sowing // 12
    return plain_row(f"T{number}", recipe, log, sowing=f"S{sowing}", lot=lot, season=season, at=at)


def law(rows: list[YieldRow]) -> YieldLaw:
    """A tray of a new sowing, of a lot not met yet."""
    return YieldLearner({BROCCOLI.name: BROCCOLI}, rows).with_rows([]).law(Asked(recipe=BROCCOLI))


def test_own_trays_move_the_range_as_the_page_shows() -> None:
    rows = cells("From other people's figures to your own")
    assert len(rows) == 5
    for words, likely, between in rows:
        trays, sowings = (int(number) for number in re.findall(r"\d+", words))
        tray = law(rows_of(trays, sowings, HERE)).tray()
        shown = [float(number) for number in re.findall(r"\d+", f"{likely} {between}")]
        assert shown == pytest.approx([tray.quantile(share) for share in (0.5, 0.1, 0.9)], rel=0.04), words


def test_what_is_published_of_any_crop_counts_as_about_one_own_tray_or_less() -> None:
    crops = [crop for crop in crop_names() if _is_ready_made(crop)]
    assert len(crops) > 25
    for crop in crops:
        recipe = standard_recipe(crop)
        assert YieldLearner({recipe.name: recipe}, []).with_rows([]).prior_trays(recipe) < 1.3, crop


def _is_ready_made(crop: str) -> bool:
    """Whether the library knows enough of a crop for a recipe."""
    try:
        standard_recipe(crop)
    except InputError:
        return False
    return True


@pytest.mark.parametrize("crop", ["radish", "broccoli", "beet"])
def test_one_own_tray_moves_it_more_than_half_of_the_way_and_thirty_nearly_all(crop: str) -> None:
    """The narrowest published figures, middling ones, and wide ones that are borrowed; trays sown apart."""
    assert 0.5 < _share_of_the_way(crop, 1) < 1
    assert _share_of_the_way(crop, 30) > 0.9


def _share_of_the_way(crop: str, trays: int) -> float:
    recipe = standard_recipe(crop)
    middle = math.exp(yield_belief(recipe).mu - 0.5) * recipe.tray.area_cm2
    recipes, asked = {recipe.name: recipe}, Asked(recipe=recipe)
    told: tuple[list[YieldRow], ...] = ([], rows_of(trays, trays, middle, recipe.name))
    before, after = (YieldLearner(recipes, rows).with_rows([]).law(asked).mu for rows in told)
    return (before - after) / 0.5
