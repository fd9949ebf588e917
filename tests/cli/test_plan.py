"""`trayward plan` on a terminal: what to do, how likely the orders are, what would help, why, and what crops earn."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from typing import Any

import msgspec
import pytest

from tests.cli.conftest import Typed
from trayward import Farm
from trayward.plan.types import (
    Change,
    CutAdvice,
    CutPlanned,
    Earning,
    Limit,
    LineOutlook,
    Plan,
    PlanMoney,
    PlannedSowing,
    Serve,
)

AT = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
WED = date(2026, 11, 25)
LADLE, HALL = "Copper Ladle", "The Most Exceedingly Long Named Lantern Supper Society"


def on(days: int) -> date:
    return WED + timedelta(days=days)


def serve(customer: str, due: int, grams: float = 0.0, trays: int = 0) -> Serve:
    return Serve(line=f"{customer}-{due}", customer=customer, due=on(due), grams=grams, trays=trays)


def line(crop: str, due: int, chance: float | None, customer: str = LADLE, **more: Any) -> LineOutlook:
    return LineOutlook(
        line=f"{customer}-{crop}-{due}/1",
        customer=customer,
        crop=crop,
        due=on(due),
        grams=100.0,
        met_grams=100.0 * (chance or 0.0),
        chance=chance,
        sure=0.8,
        **more,
    )


def sown(
    crop: str, day: int, trays: int = 1, why: str = "", serves: tuple[Serve, ...] = (), grams: float = 200.0
) -> Any:
    return PlannedSowing(
        sow_on=on(day), crop=crop, recipe=f"{crop} on mesh mat", trays=trays, seed_g=20.0 * trays, cut_on=on(day + 10),
        grams_expected=grams * trays, serves=serves, why=why,
    )  # fmt: skip


def advice(do: str, crop: str, tray: str, until: date, message: str, *serves: Serve) -> CutAdvice:
    return CutAdvice(do=do, crop=crop, trays=(tray,), until=until, serves=serves, message=message)


def taken(limit: str, first: int, last: int, has: float, unit: str, worth: float, message: str) -> Limit:
    return Limit(
        limit=limit, first=on(first), last=on(last), has=has, short=0.0, unit=unit, worth=worth, message=message
    )


ONE_MORE = "One tray more of pea, sown Tue 8 Dec, would make it 9 in 10 instead of 6 in 10"
COSTS = "and cost 2.10 more than it brings."
PLAN = Plan(
    made_at=AT,
    first=WED,
    last=on(41),
    sowings=(
        sown("radish", 0, why="For Copper Ladle 90 g on Fri 4 Dec. Likely ready Wed 2 Dec.",
             serves=(serve(LADLE, 9, 90.0), serve(HALL, 10, 110.0))),
        sown("pea", 1, trays=2, why="Without a tray of it the plan would lose 4.20."),
        sown("pea", 20),
    ),
    cuts=(
        CutPlanned(cut_on=WED, crop="kale", trays=1, grams_expected=150.0, standing=("K.1",)),
        CutPlanned(cut_on=on(3), crop="pea", trays=2, grams_expected=700.0, standing=("P.1", "P.2")),
    ),
    advice=(
        advice("cut", "kale", "K.1", WED, "Cut K.1.", serve(LADLE, 2, 80.0)),
        advice("hold", "kale", "K.2", on(2), "Hold K.2.", serve(HALL, 2, 80.0)),
        advice("hold", "pea", "P.3", on(2), "Keep P.3.", serve(LADLE, 2, trays=1)),
        advice("let go", "basil", "B.1", on(1), "No use for B.1."),
    ),
    lines=(
        line("radish", 2, 1.0),
        line("pea", 2, 0.6, raised_by=f"{ONE_MORE}, {COSTS}", why="Expected to be 30 g short."),
        line("pea", 2, 0.3, HALL),
        line("mizuna", 2, 0.0, why="Too late to sow mizuna."),
        line("kale", 9, 0.5, raised_by=f"{ONE_MORE}."),
        line("kale", 10, 0.01),
        line("kale", 10, 0.02, HALL),
    ),
    limits=(
        taken("cover", 5, 10, 28.0, "", 3.48, "cover: all 28."),
        taken("hands", 3, 3, 180.0, "min", 0.02, "hands."),
        Limit(limit="time", first=on(2), last=on(2), has=2.0, short=9.0, unit="d", lines=(f"{LADLE}-mizuna-2/1",),
              message="Too late to sow mizuna: it takes 11 days. Wanted for Copper Ladle (mizuna)."),
        Limit(limit="dark spots", first=on(4), last=on(5), has=20.0, short=1.0, unit="spots",
              lines=(f"{LADLE}-kale-9/1",), message="dark spots: all 20 spots taken. Wanted for Copper Ladle (kale)."),
    ),
    changes=(
        Change(what="trays changed", message="far thing changed.", day=on(12)),
        Change(what="sowing added", message="near thing changed.", day=on(1)),
    ),
    money=PlanMoney(sales=100.0, seed=10.0, hands=30.5, shortfall=12.5),
    gap=0.062,
    earnings=(
        Earning(crop="radish", trays=4, margin=12.0, spot_days=10.0, a_spot_day=1.2, one_more=0.4, one_less=3.0),
        Earning(crop="pea", trays=3, margin=4.0, spot_days=20.0, a_spot_day=0.2, one_more=-2.0, one_less=0.3),
        Earning(crop="basil", trays=1, margin=-3.0, spot_days=15.0, a_spot_day=-0.2, one_more=None, one_less=None),
    ),
    scenarios=32,
    notes=("Chosen over 32 ways the coming weeks may go; chances are read off 96 others.",),
)  # fmt: skip


@pytest.fixture
def kept(shelf: Typed) -> Typed:
    """A terminal at the shelf whose book keeps a plan written by hand."""
    return keep(shelf, PLAN)


def keep(typed: Typed, plan: Plan) -> Typed:
    with Farm.open(str(typed.book)) as farm:
        farm.keep_plan(plan, at=AT)
    return typed


def held(typed: Typed) -> int:
    return int(typed.json("book")["held"])


def one_line(said: str) -> str:
    """What was said, without the breaks of lines."""
    return " ".join(said.split())


# What to do -----------------------------------------------------------------------------------------------------------


def test_ready_trays_are_told_to_be_cut_held_or_let_go_and_for_whom(kept: Typed) -> None:
    rows = [
        row for row in kept("plan", "--kept").splitlines() if row.split()[1:2] in (["K.1"], ["K.2"], ["P.3"], ["B.1"])
    ]
    assert [row.split(maxsplit=2)[2].split("  ")[0] for row in rows] == [
        "cut today", "hold until Fri 27 Nov", "keep whole until Fri 27 Nov", "no order needs it",
    ]  # fmt: skip
    assert rows[0].endswith(LADLE)
    assert "The Most Exceeding…" in rows[1]


def test_a_sowing_names_first_who_gets_most_of_it(kept: Typed) -> None:
    row = next(row for row in kept("plan", "--kept").splitlines() if row.startswith("Wed 25 Nov  radish"))
    assert row.endswith("The Most Exceed… +1")


def test_trays_told_of_as_ready_are_not_told_of_twice(kept: Typed) -> None:
    said = kept("plan", "--kept")
    assert said.count("K.1") == 1
    assert "P.1 and P.2" in said


def test_sowings_far_ahead_wait_for_all(kept: Typed) -> None:
    assert "After Tue 8 Dec: 1 tray more; all of it: --all." in kept("plan", "--kept")
    assert "Tue 15 Dec  pea" in kept("plan", "--kept", "--all")


# How likely the orders are --------------------------------------------------------------------------------------------


def test_each_day_says_how_many_lines_are_likely_full_and_which_are_at_risk(kept: Typed) -> None:
    """On Friday 1.0 + 0.6 + 0.3 + 0.0 of four lines: about 2."""
    said = one_line(kept("plan", "--kept"))
    assert "Fri 27 Nov 2 of 4 no mizuna and pea 3 in 10 (2 lines)" in said
    assert "Sat 5 Dec 0 of 2 nothing can be had by then" in said


def test_how_many_lines_are_likely_full_in_all_stands_beside_how_many_are_sure(kept: Typed) -> None:
    """1 + 0.6 + 0.3 + 0 + 0.5 + 0.01 + 0.02 of 7; one of them has 8 in 10 or more."""
    said = one_line(kept("plan", "--kept"))
    assert "About 2 of 7 order lines will be met in full; 1 is as sure as you want it, 8 in 10 or better." in said


def test_what_would_raise_a_line_is_said_with_what_it_costs_or_what_has_no_room_for_it(kept: Typed) -> None:
    said = one_line(kept("plan", "--kept"))
    assert f"Would help: pea for Copper Ladle, Fri 27 Nov. {ONE_MORE}, {COSTS}" in said
    assert f"Would help: kale for Copper Ladle, Fri 4 Dec. {ONE_MORE}. There is no room for it: dark spots." in said


def test_a_plan_kept_before_chances_were_said_is_shown_by_met_and_short(shelf: Typed) -> None:
    old = (line("radish", 2, None), msgspec.structs.replace(line("kale", 2, None), met_grams=100.0))
    said = one_line(keep(shelf, msgspec.structs.replace(PLAN, lines=old, scenarios=0))("plan", "--kept"))
    assert "Fri 27 Nov 1 of 2 radish 100 g" in said
    assert "1 of 2 order lines met." in said


# Limits, changes, money, proof ----------------------------------------------------------------------------------------


def test_a_limit_that_is_taken_up_says_what_one_more_would_bring(kept: Typed) -> None:
    said = [" ".join(row.split()) for row in kept("plan", "--kept").splitlines()]
    assert "cover, 28 Mon 30 Nov to Sat 5 Dec 3.48" in said
    assert "hands, 180 min Sat 28 Nov 0.02 an hour a day" in said


def test_what_it_is_too_late_for_is_said_once_with_its_lines(kept: Typed) -> None:
    said = one_line(kept("plan", "--kept"))
    assert "In the way: Too late to sow mizuna for Copper Ladle on Fri 27 Nov." in said
    assert "In the way: dark spots: all 20 spots taken." in said


def test_changes_of_the_next_days_are_told_and_those_far_off_only_counted(kept: Typed) -> None:
    said = kept("plan", "--kept")
    assert "Changed: near thing changed." in said
    assert "far thing" not in said
    assert "Changed: 1 more; all of it: --all." in said
    assert "Changed: far thing changed." in kept("plan", "--kept", "--all")


def test_money_expected_adds_up_and_letting_down_stays_out_of_it(kept: Typed) -> None:
    """100.00 - 10.00 - 30.50 = 59.50."""
    assert (
        "Money expected: sales 100.00, less 40.50 of costs (seed 10.00 and hands 30.50), leaves 59.50 EUR. "
        "Letting orders down counts 12.50 besides, by the farm's price of it; nobody pays that."
    ) in one_line(kept("plan", "--kept"))


@pytest.mark.parametrize(
    ("gap", "said"),
    [
        (None, "How much better another plan could be was not looked into."),
        (0.0, "Proven: as good as the best plan there is, to within 0.1 % of all that is asked for."),
        (0.005, "Proven: as good as the best plan there is, to within 0.5 % of all that is asked for."),
        (0.062, "Proven: no other plan is worth more than this one by over 6.2 % of all that is asked for."),
    ],
)
def test_how_good_the_plan_is_proven_to_be_is_said_plainly(shelf: Typed, gap: float | None, said: str) -> None:
    assert said in one_line(keep(shelf, msgspec.structs.replace(PLAN, gap=gap))("plan", "--kept"))


@pytest.mark.parametrize(
    ("served", "said"),
    [
        (0.031, "by over 6.2 % of all that is asked for, or 3.1 % with both served as well as can be."),
        (0.0617, "by over 6.2 % of all that is asked for."),
    ],
)
def test_how_much_of_it_is_the_rule_by_which_orders_are_served_is_said_too(
    shelf: Typed, served: float, said: str
) -> None:
    assert said in one_line(keep(shelf, msgspec.structs.replace(PLAN, gap_served=served))("plan", "--kept"))


@pytest.mark.parametrize("words", [(), ("--all",), ("--why",), ("--why", "pea"), ("--mix",)], ids=" ".join)
def test_all_it_says_fits_eighty_columns_whatever_the_names(kept: Typed, words: tuple[str, ...]) -> None:
    said = kept("plan", *words, *(() if "--why" in words or "--mix" in words else ("--kept",)))
    assert max(map(len, said.splitlines())) <= 80


# The plan kept, and questions about it --------------------------------------------------------------------------------


def test_the_plan_kept_is_shown_again_as_it_was_and_nothing_is_written(kept: Typed) -> None:
    before = held(kept)
    said = kept("plan", "--kept")
    assert said.startswith("Kept Wed 25 Nov, 07:30.\nPlan from Wed 25 Nov to Tue 5 Jan\n")
    assert msgspec.json.decode(msgspec.json.encode(kept.json("plan", "--kept")), type=Plan) == PLAN
    assert held(kept) == before


def test_where_no_plan_is_kept_it_says_how_to_make_one(shelf: Typed) -> None:
    assert shelf("plan", "--kept").strip() == "No plan is kept yet. Make one: trayward plan."


def test_why_tells_the_reasons_of_near_sowings_unsure_orders_and_limits(kept: Typed) -> None:
    before = held(kept)
    said = one_line(kept("plan", "--why"))
    assert "Ready: Hold K.2." in said
    assert "Sow: Wed 25 Nov, radish, 1 tray, 20 g of seed. For Copper Ladle 90 g on Fri 4 Dec. Likely ready" in said
    assert "Order: Fri 27 Nov, Copper Ladle, pea 100 g: 6 in 10 to be met in full. Expected to be 30 g short." in said
    assert "Limit: dark spots: all 20 spots taken." in said
    assert "radish 100 g" not in said, "it is sure"
    assert held(kept) == before, "a question keeps nothing"


@pytest.mark.parametrize(
    ("what", "there", "absent"),
    [
        ("mizuna", "Too late to sow mizuna: it takes 11 days.", "radish"),
        ("PEA", "Without a tray of it the plan would lose 4.20.", "mizuna"),
        ("Copper Ladle", "as good as sure to be met in full", "Supper Society, kale"),
        ("Fri 27 Nov", "Copper Ladle, mizuna 100 g: hardly to be met in full.", "Fri 4 Dec, Copper Ladle"),
        ("cover", "Limit: cover: all 28.", "Sow:"),
        ("B.1", "Ready: No use for B.1.", "Sow:"),
        ("covers", "Limit: cover: all 28.", "Sow:"),
        ("2026-11-27", "Copper Ladle, mizuna 100 g: hardly to be met in full.", "Fri 4 Dec, Copper Ladle"),
        ("fridays", "Copper Ladle, mizuna 100 g: hardly to be met in full.", "Sow: Wed"),
        ("today", "Sow: Wed 25 Nov, radish", "Thu 26 Nov"),
        ("lit", "lit: nothing in this plan wants for more of it.", "Sow:"),
    ],
)
def test_why_of_something_tells_all_of_it_and_no_more(kept: Typed, what: str, there: str, absent: str) -> None:
    said = one_line(kept("plan", "--why", what))
    assert there in said
    assert absent not in said


def test_why_of_a_limit_gathers_its_days_and_all_tells_each_span(shelf: Typed) -> None:
    spans = [
        taken("cover", first, last, 28.0, "", 1.25, f"cover: all 28 taken on part {first}.")
        for first, last in ((0, 2), (5, 6))
    ]
    typed = keep(shelf, msgspec.structs.replace(PLAN, limits=tuple(spans)))
    said = one_line(typed("plan", "--why", "cover"))
    assert "Limit: cover: all 28 taken on 5 of 42 days, between Wed 25 Nov and Tue 1 Dec. One more would" in said
    assert "bring 2.50 EUR" in said
    assert "part 5" not in said
    apart = one_line(typed("plan", "--why", "cover", "--all"))
    assert "part 0" in apart
    assert "part 5" in apart
    assert "of 42 days" not in apart


def test_why_of_what_the_plan_does_not_know_is_refused_with_what_it_does(kept: Typed) -> None:
    said = kept.refused("plan", "--why", "moonwort", code=2)
    assert "'moonwort'" in said
    assert "Known: kale, mizuna, pea, radish." in said


def test_questions_are_answered_one_at_a_time(kept: Typed) -> None:
    said = kept.refused("plan", "--mix", "--why", "pea", code=2)
    assert "--why and --mix: one at a time is answered" in said
    assert "with --kept" in kept.refused("plan", "--kept", "--what-if", "no pea", code=2)


def test_the_mix_says_what_a_lit_spot_earns_and_what_to_grow_more_and_less_of(kept: Typed) -> None:
    said = kept("plan", "--mix")
    assert ["radish", "4", "12.00", "10", "1.20", "+0.40", "-3.00"] in [row.split() for row in said.splitlines()]
    assert ["basil", "1", "-3.00", "15", "-0.20"] in [row.split() for row in said.splitlines()]
    words = one_line(said)
    assert "Grow more: a tray more brings 0.40 EUR (radish)." in words
    assert "Grow less of these first; a tray less loses 0.30 EUR (pea)." in words
    assert "saves" not in words
    assert "Brings less than it costs: basil; grown so as not to let customers down, or because it stands" in words
    assert 'trayward plan --what-if "no basil"' in words
    assert "Most for the spots they take bring radish, pea and basil: look for orders of these." in words


def test_a_tray_less_that_would_bring_money_saves_and_does_not_lose_less_than_nothing(shelf: Typed) -> None:
    kale = Earning(
        crop="kale", trays=2, margin=1.0, spot_days=9.0, a_spot_day=0.1, one_more=None, one_less=-14.31
    )  # fmt: skip
    made = msgspec.structs.replace(PLAN, earnings=(*PLAN.earnings, kale))
    said = one_line(keep(shelf, made)("plan", "--mix"))
    assert (
        "Grow less: a tray less saves 14.31 EUR (kale). Hardly missed, too; a tray less loses 0.30 EUR (pea)." in said
    )


def test_where_spots_are_short_the_mix_says_whose_orders_come_first(shelf: Typed) -> None:
    short = Limit(limit="lit spots", first=WED, last=on(3), has=8.0, short=0.0, unit="spots", worth=1.0)
    said = one_line(keep(shelf, msgspec.structs.replace(PLAN, limits=(short,)))("plan", "--mix"))
    assert "spots are short, so take their orders first" in said
    assert "lit spots, 8 spots" in said


def test_the_mix_in_json_has_the_crops_and_the_limits_that_bind(kept: Typed) -> None:
    found = kept.json("plan", "--mix")
    assert [one["crop"] for one in found["crops"]] == ["radish", "pea", "basil"]
    assert [one["limit"] for one in found["limits"]] == ["hands", "cover"]
    assert (found["first"], found["last"], found["currency"]) == ("2026-11-25", "2027-01-05", "EUR")
    assert "Grow more: a tray more brings 0.40 EUR (radish)." in found["words"]


def test_why_in_json_has_the_parts_of_the_plan_that_are_meant(kept: Typed) -> None:
    found = kept.json("plan", "--why", "mizuna")
    assert [one["crop"] for one in found["lines"]] == ["mizuna"]
    assert [one["limit"] for one in found["limits"]] == ["time"]
    assert found["sowings"] == []


# A plan really made ---------------------------------------------------------------------------------------------------


def test_a_plan_made_says_chances_reasons_money_and_its_proof_and_answers_questions_without_being_made_anew(
    shelf: Typed,
) -> None:
    made = shelf.json("plan", "--weeks", "3")
    assert made["scenarios"] == 32
    assert all(0.0 <= one["chance"] <= 1.0 and one["sure"] == 0.8 for one in made["lines"])
    assert made["full"] == pytest.approx(sum(one["chance"] for one in made["lines"]), abs=0.01)
    assert all("Without a tray of it the plan would lose" in one["why"] for one in made["sowings"])
    assert made["gap"] is not None
    assert 0.0 <= made["gap_served"] <= made["gap"]
    crops = {one["crop"] for one in made["sowings"]}
    assert {one["crop"] for one in made["earnings"]} == crops
    shelf.now = "2026-11-26T07:30:00+00:00"
    assert shelf.json("plan", "--mix")["crops"] == made["earnings"], "the plan kept yesterday answers"
    assert shelf.json("plan", "--why")["sowings"] == made["sowings"]


def test_a_question_makes_a_plan_and_keeps_none_where_none_is_kept_or_it_is_over(shelf: Typed) -> None:
    before = held(shelf)
    assert shelf("plan", "--mix", "--weeks", "3").startswith("What crops earn, Wed 25 Nov to Tue 15 Dec, EUR")
    assert held(shelf) == before
    keep(shelf, msgspec.structs.replace(PLAN, last=on(-1)))
    assert "Copper Ladle" not in shelf("plan", "--why", "--weeks", "3")
