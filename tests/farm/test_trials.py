"""A trial in the book: what it is, when it cannot be, and that it comes back as it was."""

from __future__ import annotations

import msgspec
import pytest

from tests.farm.told import lantern_loft, sowing
from trayward.farm.codec import decode_entry, decode_state, encode_entry, encode_state
from trayward.farm.entries import TrialSet
from trayward.farm.trials import Trial

DENSER = Trial(
    name="denser radish", recipe="radish on mat", what="density", levels=(2.0, 2.6, 3.4), blocks=3, trays_each=2
)


def changed(**fields: object) -> TrialSet:
    return TrialSet(trial=msgspec.structs.replace(DENSER, **fields))


def test_a_trial_is_kept_by_its_name_and_a_later_word_goes_before():
    told = lantern_loft()
    told.say(TrialSet(trial=DENSER), changed(note="as advised"))
    assert told.state.findings == []
    assert list(told.state.trials) == ["denser radish"]
    assert told.state.trials["denser radish"].note == "as advised"
    assert DENSER.trays == 18


def test_a_trial_that_is_given_up_is_gone_and_its_trays_stay():
    told = lantern_loft()
    told.say(TrialSet(trial=DENSER), sowing("S", "A1.1a", trial="denser radish"))
    told.say(TrialSet(trial=DENSER, dropped=True))
    assert told.state.trials == {}
    assert told.state.trays["S.1"].trial == "denser radish"


def test_a_trial_comes_back_the_same_from_its_bytes_and_from_a_kept_state():
    told = lantern_loft()
    told.say(TrialSet(trial=msgspec.structs.replace(DENSER, orders=((2.6, 2.0, 3.4),) * 3)))
    assert decode_entry(encode_entry(told.entries[-1])) == told.entries[-1]
    assert decode_state(encode_state(told.state)).trials == told.state.trials
    assert told.refold().trials == told.state.trials


def test_a_trial_that_is_struck_was_never_set():
    told = lantern_loft()
    told.say(TrialSet(trial=DENSER))
    assert told.refold(struck=frozenset({told.entries[-1].id})).trials == {}


@pytest.mark.parametrize(
    ("fields", "code"),
    [
        ({"name": " "}, "trial-name"),
        ({"recipe": "pea on coir"}, "recipe-unknown"),
        ({"blocks": 1}, "amount"),
        ({"trays_each": 0}, "amount"),
        ({"levels": (2.0,)}, "trial-levels"),
        ({"levels": (2.0, 2.0, 3.0)}, "trial-levels"),
        ({"levels": (2.0, 0.0)}, "amount"),
        ({"levels": (2.0, 1000.0)}, "amount"),
        ({"what": "blackout", "levels": (-1.0, 2.0)}, "amount"),
        ({"orders": ((2.0, 2.6, 3.4),)}, "trial-orders"),
        ({"orders": ((2.0, 2.6, 2.6),) * 3}, "trial-orders"),
    ],
)
def test_a_trial_that_cannot_be_is_refused_and_changes_nothing(fields: dict[str, object], code: str):
    told = lantern_loft()
    body = changed(**fields)
    assert [(found.severity, found.code) for found in told.check(body)] == [("wrong", code)]
    assert [found.code for found in told.say(body)] == [code]
    assert told.state.trials == {}


def test_no_blackout_at_all_is_a_level_like_any_other():
    assert lantern_loft().check(changed(what="blackout", levels=(0.0, 1.0, 2.0))) == ()


def test_giving_up_a_trial_that_is_not_there_names_those_that_are():
    told = lantern_loft()
    told.say(TrialSet(trial=DENSER))
    (found,) = told.check(TrialSet(trial=msgspec.structs.replace(DENSER, name="darker"), dropped=True))
    assert found.code == "trial-unknown"
    assert "Trials: denser radish" in found.remedy


def test_other_levels_for_a_trial_that_has_begun_deserve_a_look_and_are_kept():
    told = lantern_loft()
    told.say(TrialSet(trial=DENSER))
    assert told.check(changed(levels=(1.0, 2.0))) == ()
    told.say(sowing("S", "A1.1a", trial="denser radish"))
    assert [(f.severity, f.code) for f in told.say(changed(levels=(1.0, 2.0)))] == [("odd", "trial-changed")]
    assert told.state.trials["denser radish"].levels == (1.0, 2.0)
