"""What no tray sown from now on can serve: too late, or no day left to sow or cut it on."""

from __future__ import annotations

from tests.plan.doubts import certain
from tests.plan.farms import farm, lot, order, recipe
from tests.plan.test_under_doubt import CASES, EXACT, MIX


def test_what_is_too_late_says_by_when_it_had_to_be_sown() -> None:
    made = certain(farm(order(3, 100), recipes=(EXACT,)))
    assert "Too late to sow radish: it takes 5 days, so it had to be sown by Sat 28 Nov." in made.lines[0].why
    (limit,) = [one for one in made.limits if one.limit == "time"]
    assert (limit.has, limit.short, limit.unit, limit.lines) == (3.0, 2.0, "d", ("radish-3/1",))


def test_a_mix_of_which_one_part_is_too_late_names_that_part() -> None:
    """Radish takes 5 days and is there in time; pea takes 8."""
    pea = recipe("pea", light=6.0, window=0, keeps=0)
    made = certain(farm(order(6, 100, product="mix"), recipes=(recipe(window=1, keeps=1), pea),
                        lots=(lot(), lot("pea")), products=(MIX,)))  # fmt: skip
    assert "Too late to sow pea: it takes 8 days" in made.lines[0].why


def test_a_cut_window_too_short_says_how_much_longer_it_would_have_to_be() -> None:
    made = certain(CASES["too short a cut window"][0]())
    words = made.lines[0].why
    assert (
        "Cut window of radish: sown Wed 2 Dec it is ready Mon 7 Dec and has to be cut by Tue 8 Dec, 1 day longer"
        in words
    )


def test_a_cold_room_life_too_short_says_how_much_longer_it_would_have_to_be() -> None:
    made = certain(CASES["too short a cold-room life"][0]())
    words = made.lines[0].why
    assert "Cold-room life of radish: sown Tue 1 Dec it is cut Sun 6 Dec and has to keep till Tue 8 Dec, 1 day" in words
