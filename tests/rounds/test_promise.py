"""The round's promise on random farms: nothing is missed, nothing is asked twice."""

from __future__ import annotations

from datetime import datetime, timedelta

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.rounds.loft import BROCCOLI, DAY_ONE, Loft, lantern_loft
from trayward.errors import InputError
from trayward.farm.calendar import present_round
from trayward.farm.entries import (
    Discarded,
    RecipeSet,
    RoundAnswered,
    SeedReceived,
    SeedUsed,
    SowingMade,
    StageChanged,
    TraySown,
)
from trayward.farm.settings import FarmSettings
from trayward.farm.spots import free_spots
from trayward.library.recipes import standard_recipe
from trayward.plan.types import CutPlanned
from trayward.rounds.answer import answer_row
from trayward.rounds.done import cut_from_row
from trayward.rounds.types import Round, RoundRow

FARM = FarmSettings(name="Lantern Loft")
OF_TRAYS = ("look", "turn", "cut", "discard")
PEA = standard_recipe("pea")

hours = st.integers(1, 40)
steps = st.lists(
    st.one_of(
        st.tuples(st.just("sow"), st.integers(1, 4), hours),
        st.tuples(st.just("stage"), st.integers(0, 99), hours),
        st.tuples(st.just("look"), st.integers(0, 99), hours),
        st.tuples(st.just("mould"), st.integers(0, 99), hours),
        st.tuples(st.just("discard"), st.integers(0, 99), hours),
        st.tuples(st.just("plan"), st.integers(0, 99), hours),
    ),
    min_size=1,
    max_size=14,
)


def lived(told: list[tuple[str, int, int]]) -> tuple[Loft, datetime]:
    """A farm after some random doings, and the moment after them."""
    pea = SeedReceived(lot="P1", crop="pea", grams=500.0, germination=0.9)
    loft, at = lantern_loft(RecipeSet(recipe=PEA), pea, dark=4, lit=12), DAY_ONE
    for number, (what, figure, passed) in enumerate(told):
        at += timedelta(hours=passed)
        growing = loft.state.growing()
        if what == "sow":
            recipe, spots = (PEA, [None]) if figure == 4 else (BROCCOLI, free_spots(loft.state, "dark", 4)[:figure])
            trays = tuple(TraySown(tray=f"S{number}.{index}", spot=spot) for index, spot in enumerate(spots, 1))
            used = (SeedUsed(lot="P1" if recipe is PEA else "B1", grams=1.0),)
            if trays:
                loft.say(at, SowingMade(sowing=f"S{number}", recipe=recipe.name, trays=trays, lots=used))
        elif growing:
            tray = growing[figure % len(growing)]
            if what == "stage":
                after = loft.state.recipe_of(tray).next_stage(tray.stage)
                loft.say(at, *([StageChanged(trays=(tray.tray,), stage=after.name)] if after else []))
            elif what in ("look", "mould"):
                problem = "mould" if what == "mould" else ""
                name = present_round(FARM, at)[0]
                loft.say(at, RoundAnswered(trays=(tray.tray,), round=name, problem=problem))
            elif what == "discard":
                loft.say(at, Discarded(trays=(tray.tray,), reason="dropped"))
            else:
                days = timedelta(days=figure % 5 - 2)
                cut = CutPlanned(cut_on=(at + days).date(), crop="broccoli", trays=1, grams_expected=1.0)
                loft.keep_plan(at, cuts=[CutPlanned(**{**_fields(cut), "standing": (tray.tray,)})])
    return loft, at + timedelta(minutes=1)


def _fields(cut: CutPlanned) -> dict[str, object]:
    return {name: getattr(cut, name) for name in cut.__struct_fields__}


def trays_in_rows(present: Round, *kinds: str) -> list[str]:
    return [tray for row in present.rows if row.kind in kinds for tray in row.trays]


@settings(max_examples=120, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(told=steps, later=st.integers(0, 30))
def test_every_tray_not_seen_in_this_round_is_in_exactly_one_row_and_no_tray_in_two(
    told: list[tuple[str, int, int]], later: int
):
    loft, at = lived(told)
    at += timedelta(hours=later)
    present = loft.round(at)
    name, began = present_round(FARM, at)
    asked = trays_in_rows(present, *OF_TRAYS)
    unseen = {
        tray.tray
        for tray in loft.state.growing()
        if tray.last_round != name and max(tray.sown_at, tray.stage_since, tray.last_look or tray.sown_at) < began
    }
    assert len(asked) == len(set(asked))
    assert unseen <= set(asked)
    assert set(trays_in_rows(present, "look")) <= unseen
    assert all(tray.fate == "growing" for tray in (loft.state.trays[tray] for tray in asked))


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(told=steps, later=st.integers(0, 30))
def test_a_round_is_numbered_named_once_and_in_walking_order_overdue_first(
    told: list[tuple[str, int, int]], later: int
):
    loft, at = lived(told)
    rows = loft.round(at + timedelta(hours=later)).rows
    assert [row.number for row in rows] == list(range(1, len(rows) + 1))
    assert len({row.row for row in rows}) == len(rows)
    assert [row.overdue for row in rows] == sorted((row.overdue for row in rows), reverse=True)
    assert all((row.since is not None) == row.overdue for row in rows)
    for late in (True, False):
        shelves = [row.place for row in rows if row.kind in OF_TRAYS and row.overdue == late and row.place != "bench"]
        assert shelves == sorted(shelves)
    promised = [spot for row in rows if row.kind in OF_TRAYS for spot in row.to if spot]
    assert len(promised) == len(set(promised))
    assert not set(promised) & set(loft.state.spots)


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
@given(told=steps, later=st.integers(0, 30), data=st.data())
def test_answering_row_by_row_empties_the_round_and_names_stay_as_they_were(
    told: list[tuple[str, int, int]], later: int, data: st.DataObject
):
    """Whatever is answered, in whatever order: a row answered is gone, the others keep their names and trays."""
    loft, at = lived(told)
    at += timedelta(hours=later)
    for _ in range(60):
        rows = {row.row: row for row in loft.round(at).rows if row.kind in OF_TRAYS}
        if not rows:
            return
        row = rows[data.draw(st.sampled_from(sorted(rows)))]
        _settle(loft, at, row, data)
        rest = {row.row: row.trays for row in loft.round(at).rows if row.kind in OF_TRAYS}
        kept = {name: trays for name, trays in rest.items() if name in rows and name != row.row}
        assert kept == {name: rows[name].trays for name in kept}
        assert row.row not in rest
        assert set(rows) - {row.row} <= set(rest)
        gained = {tray for name, trays in rest.items() if name not in rows for tray in trays}
        assert gained <= set(row.trays)  # only what was just answered brings a new job, to cut it
    raise AssertionError("the round has no end")


def _settle(loft: Loft, at: datetime, row: RoundRow, data: st.DataObject) -> None:
    if row.kind == "discard":
        loft.say(at, Discarded(trays=row.trays, reason="mould"))
        return
    if row.kind == "cut" and not row.cue:
        loft.say(at, *cut_from_row(loft.state, row, harvest=f"H{len(loft.entries)}", grams=100.0))
        return
    cue = data.draw(st.sampled_from(("ready", "not yet", None))) if row.cue or row.kind == "turn" else None
    if row.kind in ("turn", "cut"):
        cue = cue or "not yet"
    name = present_round(FARM, at)[0]
    try:
        bodies = answer_row(loft.state, row, round_name=name, cue=cue, moisture="moist")
    except InputError as refusal:
        if "spots" not in refusal.name:
            raise
        bodies = answer_row(loft.state, row, round_name=name, cue="not yet", moisture="moist")  # no room
    loft.say(at, *bodies)
