"""Names of sanitisers, limits, and what must never be mixed."""

from __future__ import annotations

import pytest

from trayward.errors import InputError
from trayward.science.never_mix import PAIRS, groups_of, product_words, what_comes_of
from trayward.science.sanitiser import AGENTS, LIMITS, agent_named, check_limit
from trayward.sources import source


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("Bleach", "bleach"),
        ("sodium  hypochlorite", "bleach"),
        ("PAA", "peroxyacetic acid"),
        ("quat", "quaternary ammonium"),
    ],
)
def test_a_sanitiser_goes_by_the_names_growers_use(words: str, name: str) -> None:
    assert agent_named(words).name == name


def test_an_unknown_sanitiser_is_refused_with_those_that_are_known() -> None:
    with pytest.raises(InputError, match=r"sanitiser = rain: is none that is known here. .*bleach, calcium"):
        agent_named("rain")


def test_no_two_sanitisers_share_a_name() -> None:
    names = [name for agent in AGENTS.values() for name in (agent.name, *agent.aliases)]
    assert len(names) == len(set(names))


def test_every_limit_and_every_pair_has_a_source_and_every_limit_a_sanitiser() -> None:
    for limit in LIMITS:
        assert source(limit.source).title
        assert limit.counted_as in {agent.counted_as for agent in AGENTS.values()}
    for pair in PAIRS:
        assert source(pair.source).title


def test_a_touch_above_a_limit_is_odd_and_far_above_it_wrong() -> None:
    just, far = check_limit("surface", "chlorine", 204.3), check_limit("surface", "chlorine", 400)
    assert just is not None
    assert far is not None
    assert (just.severity, far.severity) == ("odd", "wrong")
    assert "just above" in just.message


def test_no_limit_on_record_is_no_finding() -> None:
    assert check_limit("tools", "chlorine", 5250) is None


def test_a_strength_below_zero_is_refused() -> None:
    with pytest.raises(InputError, match="ppm = -1 ppm"):
        check_limit("wash", "chlorine", -1)


@pytest.mark.parametrize(
    ("first", "second", "danger"),
    [
        ("bleach", "vinegar", "gas"),
        ("bleach", "ammonia", "gas"),
        ("bleach", "rubbing alcohol", "gas"),
        ("bleach", "peracetic acid", "gas"),
        ("hydrogen peroxide", "vinegar", "burns"),
        ("calcium hypochlorite", "oil", "fire"),
        ("quat", "dish soap", "spoils"),
        ("ph down", "potassium hydroxide", "burns"),
    ],
)
def test_what_must_never_be_mixed_is_known_whichever_is_named_first(first: str, second: str, danger: str) -> None:
    there, back = what_comes_of(first, second), what_comes_of(second, first)
    assert there == back
    assert there[0].danger == danger


def test_the_worst_that_can_come_stands_first() -> None:
    order = ["gas", "fire", "burns", "spoils"]
    for first in product_words():
        for second in product_words():
            places = [order.index(pair.danger) for pair in what_comes_of(first, second)]
            assert places == sorted(places)


def test_every_pair_can_be_reached_by_the_words_people_type() -> None:
    groups = {group for words in product_words() for group in groups_of(words)}
    assert {name for pair in PAIRS for name in (pair.first, pair.second)} <= groups


def test_chlorine_meets_no_acid_alcohol_ammonia_or_oxidiser_unwarned() -> None:
    for other in ("acid", "ammonia", "alcohol", "peroxide", "peroxyacetic acid", "quat", "soap"):
        for chlorine in ("bleach", "calcium hypochlorite"):
            assert what_comes_of(chlorine, other)


def test_an_unknown_product_is_refused_and_is_to_be_mixed_with_nothing() -> None:
    with pytest.raises(InputError, match=r"product = moonshine: is none that is known here, so mix it with nothing"):
        what_comes_of("bleach", "moonshine")
