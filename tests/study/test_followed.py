"""A season planned at once and lived by that alone: farm and plan count the same."""

from __future__ import annotations

import msgspec
import pytest

from tests.study.test_at_once import steady_home
from trayward.study.followed import season_followed
from trayward.study.world_file import SeasonWorld, world_named


def short_loft() -> SeasonWorld:
    """Three weeks of orders of a Loft that is full, with nothing left to luck and no look missed."""
    spec = world_named("loft tight steady").spec
    slips = msgspec.structs.replace(spec.slips, missed=0.0, typed_wrong=0.0)
    return SeasonWorld(msgspec.structs.replace(spec, weeks=3, slips=slips))


@pytest.mark.parametrize("build", [steady_home, short_loft])
def test_a_farm_does_what_the_plan_counts_on(build: object) -> None:
    """Every tray finds its place when it is to be sown, is ready when it is to be cut, and the season earns as planned.

    What is lived may come short by what the keeper does besides: packs are filled whole, part of one is worth nothing;
    and somebody whom the plan meant to let down is given what is ready.
    """
    world: SeasonWorld = build()  # type: ignore[operator]
    followed = season_followed(world, 1)
    assert (followed.unsown, followed.unready) == (0, 0)
    assert followed.gone <= followed.planned.trays // 10
    sales = followed.lived.parts["sales"]
    assert followed.lived.margin == pytest.approx(followed.planned.margin, abs=0.08 * sales)
