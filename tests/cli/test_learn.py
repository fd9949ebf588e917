"""What the records say, typed: spread, lots, drift, losses, density, trials, and whether past ranges held."""

from __future__ import annotations

import shutil
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from tests.cli.conftest import Typed
from tests.cli.lived import NOW, POOR, lived_through
from trayward.desk.desk import Desk
from trayward.outlook.learning.worth_trying import Candidate, NextTrial, Worthwhile


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve weeks of Lantern Loft."""
    return lived_through(tmp_path_factory.mktemp("lived") / "farm.sqlite")


@pytest.fixture
def loft(book: Path, tmp_path: Path) -> Typed:
    """A terminal at Lantern Loft after twelve weeks, with a book of its own to write in."""
    typed = Typed(tmp_path)
    shutil.copy(book, typed.book)
    typed.now = NOW
    return typed


def narrow(said: str) -> bool:
    """Whether an answer keeps to 80 columns."""
    return max(map(len, said.splitlines())) <= 80


def test_a_farm_that_has_cut_nothing_is_told_so_in_plain_words(shelf: Typed) -> None:
    said = shelf("learn")
    assert said.startswith("No tray cut so far: nothing can be told apart yet.\n")
    assert "No tray has ended yet." in said
    assert shelf.json("learn")["spread"]["trays"] == 0
    assert "No lot to compare yet." in shelf("learn", "lots")
    assert "Too few weeks or sowings yet" in shelf("learn", "drift")
    assert "nothing can be held against what was foretold" in " ".join(shelf("learn", "calibration").split())
    assert "No order line that a kept plan gave a chance can be judged yet." in shelf("learn", "promises")


def test_three_cut_trays_tell_nothing_apart_yet(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "3", "--name", "N1")
    shelf.now = "2026-12-05T07:30:00+00:00"
    shelf("stage", "N1", "ready")
    shelf("cut", "N1.1=200", "N1.2=210", "N1.3=190")
    assert shelf("learn").startswith("3 trays cut so far: nothing can be told apart yet.\n")


def test_the_overview_tells_spread_what_stands_out_drift_losses_and_the_next_trial(loft: Typed) -> None:
    said = loft("learn")
    assert narrow(said)
    heads = ["What explains the spread", "What stands out", "Drift", "Losses", "Next trial"]
    assert [line for line in said.splitlines() if line in heads] == heads
    told = loft.json("learn")
    assert set(told) == {"at", "spread", "stand_outs", "stages", "drift", "losses", "next_trial"}
    assert sum(part["share"] for part in told["spread"]["shares"]) == pytest.approx(1.0)
    (lost,) = [one for one in told["losses"] if one["lost"]]
    assert (lost["recipe"], lost["ended"], lost["lost"]) == ("kale on mesh mat", 44, 2)
    assert "2 of 88 trays thrown away before the cut." in said


def test_a_poor_lot_stands_out_and_the_good_ones_do_not(loft: Typed) -> None:
    """Its trays were made to weigh 0.67 of the others'; what may be counted on is drawn some way back to the same."""
    told = loft.json("learn", "lots")
    poor = next(one for one in told["lots"] if one["lot"] == POOR)
    assert 0.6 < poor["factor"] < 0.8
    assert poor["high"] < 0.85
    (lots,) = [kind for kind in told["stand_outs"] if kind["kind"] == "lot"]
    assert [one["name"] for one in lots["found"]] == [POOR]
    said = loft("learn", "lots")
    assert narrow(said)
    marked = [line for line in said.splitlines() if line.endswith("stands out")]
    assert [line.split()[0] for line in marked] == [POOR]


def test_seasons_are_told_in_order_with_their_trays(loft: Typed) -> None:
    told = loft.json("learn", "drift")["drift"]
    firsts = [season["first"] for season in told["seasons"]]
    assert firsts == sorted(firsts)
    assert sum(season["trays"] for season in told["seasons"]) == 86
    assert not told["farm"]["seen"]
    assert "no drift seen" in loft("learn", "drift")


def test_density_is_told_from_one_end_of_what_is_known_to_the_other(loft: Typed) -> None:
    told = loft.json("learn", "density", "radish")["density"]
    said = loft("learn", "density", "radish")
    assert narrow(said)
    rows = said.split("──\n")[-1].splitlines()
    ends = (float(rows[0].split()[0]), float(rows[-1].split()[0]))
    assert ends == pytest.approx((told["bounds"]["low"], told["bounds"]["high"]), rel=0.01)
    assert len(rows) == 7
    assert "no crop" not in said
    assert "the farm has none of that name" in loft.refused("learn", "density", "tulip", code=2)


def test_past_ranges_are_held_against_what_happened(loft: Typed) -> None:
    told = loft.json("learn", "calibration")["calibration"]
    assert {(row["what"], row["promised"]) for row in told["rows"]} == {
        (what, share) for what in ("days", "grams") for share in (0.5, 0.8, 0.95)
    }
    assert all(row["low"] <= row["held"] <= row["high"] for row in told["rows"])
    assert all(len(told["pits"][row["what"]]) == row["trays"] for row in told["rows"])
    said = loft("learn", "calibration", "--weeks", "4")
    assert narrow(said)
    assert loft.json("learn", "calibration", "--weeks", "4")["calibration"]["weeks"] == 4
    assert "weeks = 0: must lie in [1, 104]." in loft.refused("learn", "calibration", "--weeks", "0", code=2)


# Trials ---------------------------------------------------------------------------------------------------------------


LEVELS = (1.8, 2.33, 3.0)


@pytest.fixture
def proposing(loft: Typed, monkeypatch: pytest.MonkeyPatch) -> Typed:
    """A farm on which a trial is worth making: which one is the business of the tests of the outlook."""
    candidate = Candidate(levels=LEVELS, blocks=2, trays_each=1)
    best = Worthwhile(
        recipe="radish on mesh mat", what="density", candidate=candidate, gain_a_tray=0.3, trays_later=90.0, cost=1.1,
        net=25.9, words="Try 1.8, 2.33 and 3.",
    )  # fmt: skip
    other = Worthwhile(
        recipe="radish on mesh mat", what="blackout", candidate=Candidate(levels=(1.0, 2.0), blocks=2, trays_each=2),
        gain_a_tray=0.1, trays_later=90.0, cost=2.0, net=7.0,
    )  # fmt: skip
    found = NextTrial(best=best, ranked=(best, other), words="Try 1.8, 2.33 and 3.")
    propose(monkeypatch, found)
    return loft


def propose(monkeypatch: pytest.MonkeyPatch, found: NextTrial) -> None:
    """Let this be the next trial worth making, whatever the records say."""
    monkeypatch.setattr(Desk, "next_trial", lambda *_: found)


def test_a_trial_is_proposed_with_its_rivals_and_how_to_keep_it(proposing: Typed) -> None:
    said = proposing("learn", "trial")
    assert said.startswith("Try 1.8, 2.33 and 3.\nTo keep it: trayward learn trial --keep NAME\n")
    (row,) = [line for line in said.splitlines() if "days of blackout" in line]
    assert row.split()[-3:] == ["8", "2.00", "+7.00"]
    assert proposing.json("learn", "trial")["next_trial"]["best"]["net"] == 25.9


def test_a_kept_trial_is_sown_day_by_day_in_the_order_drawn(proposing: Typed) -> None:
    told = proposing.json("learn", "trial", "--keep", "denser radish")
    orders = told["trial"]["orders"]
    assert [sorted(order) for order in orders] == [list(LEVELS)] * 2
    kept = proposing.json("learn", "trial", "denser radish", "--sow")["kept"]
    assert [entry["says"]["trial"] for entry in kept] == ["denser radish"] * 3
    grams = [sum(lot["grams"] for lot in entry["says"]["lots"]) for entry in kept]
    assert sorted(grams) == [weight for _, weight in sorted(zip(orders[0], grams, strict=True))]
    levels = proposing.json("learn", "trial", "denser radish")["levels"]
    assert [levels[entry["says"]["trays"][0]["tray"]] for entry in kept] == orders[0]
    first = kept[0]["says"]["trays"][0]["tray"]
    said = proposing("learn", "trial", "denser radish")
    assert f"Still growing: {first} ({orders[0][0]:.3g}), " in said
    assert "In brackets: live seeds a cm2." in said
    again = proposing.refused("learn", "trial", "denser radish", "--sow", code=2)
    assert "Sow its next day tomorrow or later." in again
    assert 'Kept: denser radish, radish on mesh mat. See it: trayward learn trial "denser radish"' in " ".join(
        proposing("learn", "trial").split()
    )


def test_the_order_is_the_same_when_the_same_is_said_again(proposing: Typed, book: Path) -> None:
    first = proposing.json("learn", "trial", "--keep", "denser")["trial"]["orders"]
    shutil.copy(book, proposing.book)
    assert proposing.json("learn", "trial", "--keep", "denser")["trial"]["orders"] == first


def test_a_trial_says_what_it_said_once_its_trays_are_cut(proposing: Typed) -> None:
    """Weights were typed to rise with density: the densest level is told as the heaviest."""
    proposing("learn", "trial", "--keep", "denser")
    for day, now in enumerate(("2026-11-25T07:30:00+00:00", "2026-11-26T07:30:00+00:00")):
        proposing.now = now
        order = proposing.json("learn", "trial", "denser", "--sow")
        said = [entry["says"] for entry in order["kept"]]
        levels = sorted((sum(lot["grams"] for lot in one["lots"]), one["sowing"]) for one in said)
        proposing.now = now.replace("11-2", "12-0")
        for weight, (_, sowing) in zip((200, 230, 260), levels, strict=True):
            proposing("stage", sowing, "ready")
            proposing("cut", f"{sowing}.1={weight + 3 * day}")
    trial = proposing.json("learn", "trial", "denser")["trial"]
    assert (trial["cut"], trial["planned"]) == (6, 6)
    middles = [level["together"][1] for level in trial["levels"]]
    assert middles == sorted(middles)
    assert narrow(proposing("learn", "trial", "denser", "--picture", str(proposing.folder / "t.svg")))
    assert (proposing.folder / "t.svg").exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["nothing"], "trial 'nothing': the farm has none of that name"),
        (["--sow"], "sow = no trial: it must be said which. Name it: trayward learn trial NAME --sow."),
        (["a", "--keep", "b"], "keep = b: the trial a is named already. Leave one of the two out."),
        (["--picture", "p.svg"], "picture = p.svg: there is nothing to draw before trays are cut."),
    ],
)
def test_words_that_cannot_all_be_meant_are_refused(loft: Typed, words: list[str], message: str) -> None:
    assert loft.refused("learn", "trial", *words, code=2).startswith(message)


def test_a_name_is_kept_once_and_nothing_is_kept_where_nothing_is_worth_it(
    proposing: Typed, monkeypatch: pytest.MonkeyPatch
) -> None:
    proposing("learn", "trial", "--keep", "denser")
    assert "Choose another name." in proposing.refused("learn", "trial", "--keep", "denser", code=2)
    propose(monkeypatch, NextTrial(best=None, words="No trial is worth it."))
    said = proposing.refused("learn", "trial", "--keep", "other", code=2)
    assert said == "keep = other: there is no trial to keep. No trial is worth it."


# Pictures -------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "words",
    [[], ["lots"], ["drift"], ["density", "radish"], ["calibration", "--weeks", "3"]],
    ids=lambda words: " ".join(words),
)
def test_every_answer_can_be_looked_at(loft: Typed, words: list[str]) -> None:
    file = loft.folder / "seen.svg"
    assert "Picture saved:" in loft("learn", *words, "--picture", str(file))
    root = ET.fromstring(file.read_text(encoding="utf-8"))
    title = root.find("{http://www.w3.org/2000/svg}title")
    assert title is not None
    assert (title.text or "").endswith((".", ")"))
    assert loft.json("learn", *words, "--picture", str(file))["picture"] == str(file)


@pytest.mark.parametrize("words", [[], ["lots"], ["drift"], ["density", "broccoli"], ["calibration"]])
def test_a_farm_with_nothing_to_tell_gets_a_picture_that_says_so(shelf: Typed, words: list[str]) -> None:
    file = shelf.folder / "seen.svg"
    shelf("learn", *words, "--picture", str(file))
    assert ET.fromstring(file.read_text(encoding="utf-8")).get("role") == "img"


def test_whether_the_plan_kept_its_word_is_told_line_by_line(shelf: Typed) -> None:
    first = shelf.json("plan", "--weeks", "3")
    promised = [line for line in first["lines"] if line["chance"] is not None and line["due"] < "2026-12-12"]
    assert promised
    shelf.now = "2026-12-12T07:30:00+00:00"
    told = shelf.json("learn", "promises")["kept_word"]
    assert told["lines"] == 0, "nothing that went out is written down"
    assert told["left_out"]["not_written"] == len(promised)
    said = shelf("learn", "promises")
    assert narrow(said)
    assert f"{len(promised)} for customers or of weeks without any delivery written down" in " ".join(said.split())
