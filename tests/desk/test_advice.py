"""A recipe that cannot work is refused as it is set, and what would lose the seed is said again at sowing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime

import msgspec
import pytest

from trayward.bootstrap import Farm
from trayward.errors import RefusedError
from trayward.farm.entries import RecipeSet
from trayward.library.recipes import standard_recipe

MORNING = datetime(2026, 11, 25, 7, 0, tzinfo=UTC)


@pytest.fixture
def farm() -> Iterator[Farm]:
    with Farm.create(":memory:", "shelf", at=MORNING) as made:
        yield made


def test_seed_that_falls_through_the_mat_is_refused_with_the_way_out(farm: Farm) -> None:
    """Celery seed passes 0.8 mm squares, the library's figure from seed mass."""
    on_mat = msgspec.structs.replace(standard_recipe("broccoli"), crop="celery", name="celery on mesh mat")
    with pytest.raises(RefusedError, match=r"falls through square holes.*coir, hemp or paper"):
        farm.record(RecipeSet(recipe=on_mat), at=MORNING)


def test_gel_coated_seed_is_not_soaked(farm: Farm) -> None:
    soaked = msgspec.structs.replace(standard_recipe("basil", "coir"), soak_h=4.0)
    with pytest.raises(RefusedError, match="basil"):
        farm.record(RecipeSet(recipe=soaked), at=MORNING)


def test_amaranth_on_a_mat_of_one_millimetre_is_warned_about_and_broccoli_is_not(farm: Farm) -> None:
    """Amaranth falls through such a mat: common practice, no source."""
    slim = farm.record(RecipeSet(recipe=standard_recipe("amaranth", "mesh mat")), at=MORNING)
    assert any("mesh" in finding.code for finding in slim.findings)
    stays = farm.record(RecipeSet(recipe=standard_recipe("broccoli", "mesh mat")), at=MORNING)
    assert stays.findings == ()


def test_the_warning_comes_again_when_the_seed_is_in_the_hand(farm: Farm) -> None:
    farm.record(RecipeSet(recipe=standard_recipe("amaranth", "mesh mat")), at=MORNING)
    farm.receive_seed("AM1", "amaranth", 100.0, germination=0.9, at=MORNING)
    sown = farm.sow("amaranth", 1, at=MORNING)
    assert [finding.severity for finding in sown.findings] == ["odd"]
    assert sown.findings[0].entries == (sown.kept[0].entry.id,)
    assert farm.sow("broccoli", 1, at=MORNING).findings == ()
