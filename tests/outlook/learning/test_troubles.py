"""What trouble comes with, by sowing; chance is not named as a pattern."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from trayward.farm.state import FarmState, StageStep, Tray, Trouble
from trayward.outlook.learning.troubles import Patterns, trouble_patterns

AT = datetime(2026, 11, 27, 8, 0, tzinfo=UTC)
DAY = timedelta(days=1)


def farm(bad: dict[str, int], sowings: int = 12, trays: int = 3, cleared: bool = False) -> FarmState:
    """A state with so many sowings of each lot, the first few of each having mould on every tray."""
    state = FarmState()
    for lot, troubled in bad.items():
        for number in range(sowings):
            for tray in range(trays):
                name, sown = f"{lot}{number}.{tray}", AT - (20 + number) * DAY
                seen = Trouble(at=sown + DAY, by="Ada", entry="entry-1", sign="mould", hold="suspected mould")
                if cleared:
                    seen.cleared_at = sown + 2 * DAY
                state.ended[name] = Tray(
                    tray=name, sowing=f"{lot}{number}", recipe="radish on mat", crop="radish", sown_at=sown,
                    seed_g=20.0, lots=(lot,), fate="cut", steps=[StageStep(stage="light", since=sown, spot="A1.1")],
                    troubles=[seen] if number < troubled else [],
                )  # fmt: skip
    return state


def named(found: Patterns) -> set[tuple[str, str]]:
    return {(row.kind, row.name) for row in found.named}


def test_a_lot_that_moulds_time_and_again_stands_out_and_its_share_has_a_range() -> None:
    found = trouble_patterns(farm({"B1": 9, "B2": 1, "B3": 0}), AT)
    assert named(found) >= {("seed lot", "B1")}
    row = next(row for row in found.rows if row.name == "B1")
    assert (row.cases, row.sowings, row.other_cases, row.other_sowings) == (9, 12, 1, 24)
    # Clopper and Pearson, 9 of 12, 80 %: scipy.stats.binomtest(9, 12).proportion_ci(0.8, "exact")
    assert (round(row.low, 3), round(row.high, 3)) == (0.525, 0.904)
    assert found.words.startswith("Trouble was written down in 10 of 36 sowings")


def test_what_chance_gives_is_not_named() -> None:
    found = trouble_patterns(farm({"B1": 2, "B2": 2, "B3": 1}), AT)
    assert not found.named
    assert "Nothing it came with stands out" in found.words


def test_sowings_are_counted_and_not_their_trays() -> None:
    few, many = (trouble_patterns(farm({"B1": 3, "B2": 1}, trays=trays), AT) for trays in (1, 9))
    assert [row.chance for row in few.rows] == [row.chance for row in many.rows]


def test_what_turned_out_to_be_root_hairs_does_not_count() -> None:
    assert trouble_patterns(farm({"B1": 9, "B2": 0}, cleared=True), AT).with_trouble == 0


def test_what_a_tray_was_thrown_away_for_counts_where_the_guide_knows_it() -> None:
    state = farm({"B1": 0, "B2": 0})
    state.ended["B10.0"].fate, state.ended["B10.0"].reason = "discarded", "fell over"
    state.ended["B11.0"].fate, state.ended["B11.0"].reason = "discarded", "dropped"
    assert trouble_patterns(state, AT).signs == {"fallen": 1}


def test_an_empty_farm_says_so() -> None:
    assert trouble_patterns(FarmState(), AT).words == "No sowing of the last year to look at yet."
