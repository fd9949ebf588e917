"""The guide to trouble hangs together: signs, causes, looks and cues name each other, and every sentence a source."""

from __future__ import annotations

import doctest

import pytest

from trayward.library import trouble
from trayward.library.trouble import Cause, Sign, find_signs, hold_for, sign_said, trouble_guide
from trayward.sources import source

GUIDE = trouble_guide()


def test_the_examples_in_the_docstrings_hold() -> None:
    result = doctest.testmod(trouble)
    assert result.attempted > 0
    assert result.failed == 0


@pytest.mark.parametrize("sign", GUIDE.signs, ids=lambda sign: sign.name)
def test_a_sign_has_causes_and_looks_that_tell_them_apart(sign: Sign) -> None:
    causes = [GUIDE.cause(each.cause) for each in sign.causes]
    assert len(causes) > 1
    assert all(each.usual > 0 for each in sign.causes)
    for look in sign.looks:
        assert any(GUIDE.look(look).name in cause.times for cause in causes)


@pytest.mark.parametrize("cause", GUIDE.causes, ids=lambda cause: cause.name)
def test_a_cause_says_what_speaks_for_it_and_what_to_do_with_the_source_of_each_sentence(cause: Cause) -> None:
    for told in (cause.speaks_for, cause.against, cause.now, cause.next_time):
        assert told
        assert all(line.text.strip() and source(line.source).citation for line in told)


@pytest.mark.parametrize("cause", GUIDE.causes, ids=lambda cause: cause.name)
def test_what_may_be_unfit_to_eat_carries_a_caution_that_defers(cause: Cause) -> None:
    if cause.hold:
        assert "local codes and licensed practice" in cause.caution


def test_whatever_weighs_with_a_cause_is_a_cue_or_a_look_and_each_weighs_with_some() -> None:
    known = {cue.name for cue in GUIDE.cues} | {look.name for look in GUIDE.looks}
    assert {name for cause in GUIDE.causes for name in cause.times} == known
    assert all(times > 0 for cause in GUIDE.causes for times in cause.times.values())
    assert all(0 < usual < 1 for usual in (*(cue.usual for cue in GUIDE.cues), *(look.usual for look in GUIDE.looks)))


def test_every_sign_is_found_by_its_name_its_title_and_in_any_case() -> None:
    for sign in GUIDE.signs:
        assert find_signs(sign.name)[0] == find_signs(sign.title)[0] == sign
        assert sign_said(f" {sign.name.upper()} ") == sign


def test_words_of_ones_own_are_held_where_they_mean_mould_and_not_where_they_mean_flies() -> None:
    assert hold_for("grey mildew at the rim", "") == "suspected mould"
    assert hold_for("fungus gnats", "") == ""
    assert hold_for("WHITE FUZZ", "Root Hairs") == ""
