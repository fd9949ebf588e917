"""A working day at the home shelf, from the plan to the delivery, typed into a terminal."""

from __future__ import annotations

from typing import Any

from tests.cli.conftest import Typed


def rows(typed: Typed, kind: str) -> list[dict[str, Any]]:
    return [row for row in typed.json("round")["rows"] if row["row"].startswith(kind)]


def test_the_plan_in_json_has_the_form_that_was_promised(shelf: Typed) -> None:
    made = shelf.json("plan", "--look-only")
    assert {"sow_on", "crop", "recipe", "trays", "seed_g", "cut_on", "grams_expected", "serves"} <= set(
        made["sowings"][0]
    )
    assert {"line", "customer", "crop", "due", "grams", "met_grams", "why"} <= set(made["lines"][0])
    assert isinstance(made["limits"], list)
    assert made["sowings"][0]["sow_on"] >= "2026-11-25"


def test_the_round_in_json_has_the_form_that_was_promised(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf.now = "2026-11-25T19:30:00+00:00"
    now = shelf.json("round")
    assert now["round"] == "2026-11-25 evening"
    assert {"row", "place", "crop", "stage", "do", "cue", "amounts", "trays"} <= set(now["rows"][0])


def test_a_plan_is_kept_unless_it_is_only_looked_at(shelf: Typed) -> None:
    held = shelf.json("book")["held"]
    shelf("plan", "--look-only")
    assert shelf.json("book")["held"] == held
    assert "Kept as entry" in shelf("plan", "--weeks", "4")
    assert shelf.json("book")["held"] == held + 1


def test_a_plan_from_a_moment_still_to_come_is_only_looked_at(shelf: Typed) -> None:
    held = shelf.json("book")["held"]
    said = shelf("plan", "--weeks", "3", "--at", "2026-12-24 07:30")
    assert said.startswith("Plan from Thu 24 Dec")
    assert "Not kept: it looks from a moment that is still to come." in said
    assert shelf.json("book")["held"] == held


def test_options_before_a_subcommand_hold_for_it(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    other = str(shelf.folder / "other.sqlite")
    shelf("init", "--setup", "shelf", "--book", other)
    assert shelf.json("tray", "--book", other, "list")["trays"] == []
    assert len(shelf.json("tray", "list")["trays"]) == 1
    assert shelf.json("tray", "--book", other, "list", "--book", str(shelf.book))["trays"] != []


def test_what_the_plan_says_to_sow_is_on_the_round_and_done_with_one_word(shelf: Typed) -> None:
    planned = shelf.json("plan")["sowings"]
    first = min(sowing["sow_on"] for sowing in planned)
    shelf.now = f"{first}T07:30:00+00:00"
    due = [sowing for sowing in planned if sowing["sow_on"] == first]
    to_sow = rows(shelf, "sow-")
    assert {row["crop"] for row in to_sow} == {sowing["crop"] for sowing in due}
    radish = min(sowing["sow_on"] for sowing in planned if sowing["crop"] == "radish")
    shelf.now = f"{radish}T07:30:00+00:00"
    row = next(row for row in rows(shelf, "sow-") if row["crop"] == "radish")
    seed = {amount["what"]: amount["value"] for amount in row["amounts"]}["seed"]
    [answered] = shelf.json("round", "answer", row["row"], "done")["answers"]
    says = answered["kept"][0]["says"]
    assert [tray["spot"] for tray in says["trays"]] == row["spots"]
    assert sum(used["grams"] for used in says["lots"]) == round(seed * len(says["trays"]), 1)
    assert row["row"] not in {left["row"] for left in shelf.json("round")["rows"]}


def grown(shelf: Typed) -> None:
    """A sowing of three trays, ready to cut on 3 December."""
    shelf("sow", "broccoli", "--trays", "3")
    for moment, stage in (
        ("2026-11-28T19:30", "blackout"),
        ("2026-11-29T19:30", "light"),
        ("2026-12-03T07:30", "ready"),
    ):
        shelf.now = f"{moment}:00+00:00"
        assert f"now {stage}" in shelf("turn", "261125A")


def test_trays_are_cut_packed_and_delivered(shelf: Typed) -> None:
    grown(shelf)
    [cut_row] = rows(shelf, "cut-")
    said = shelf("round", "answer", cut_row["row"], "cut", "95", "101", "3.4 oz")
    assert "H261203A" in said
    packed = shelf("pack", "broccoli", "2", "--each", "95 g")
    assert "Packed P261203A: 2 packs of broccoli, 95 g each, best before" in packed
    shelf("order", "add", "home", "today", "95 g broccoli", "--name", "O1")
    assert "Delivered D261203A to home: 1 line, 1 pack." in shelf("deliver", "home")
    [line] = [line for line in shelf.json("order", "list", "--days", "1")["lines"] if line["line"].startswith("O1/")]
    assert line["done_g"] == 95.0
    assert "Thrown away: 20 g, 1 pack of H261203A and P261203A, past its day." in " ".join(
        shelf("throw", "H261203A=20g", "P261203A=1", "--reason", "past its day").split()
    )
    assert "it must be a whole number" in shelf.refused("throw", "P261203A=half", "--reason", "x", code=2)


def test_some_trays_of_a_row_may_go_their_own_way(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "3")
    shelf.now = "2026-11-28T07:30:00+00:00"
    [row] = rows(shelf, "look-")
    shelf("round", "answer", row["row"], "ready", "--only", "261125A.2")
    stages = {tray["tray"]: tray["steps"][-1]["stage"] for tray in shelf.json("tray")["trays"]}
    assert stages == {"261125A.1": "germinate", "261125A.2": "blackout", "261125A.3": "germinate"}


def test_numbers_mean_the_round_as_it_was_last_shown(shelf: Typed) -> None:
    """Answering a row must not let the next number, read off the screen before, hit another row."""
    shelf("sow", "broccoli")
    shelf("sow", "radish")
    shelf("sow", "kale")
    shelf.now = "2026-11-25T19:30:00+00:00"
    shown = [row["row"] for row in shelf.json("round")["rows"]]
    first, second = (number for number, row in enumerate(shown, 1) if row in (f"look-261125{x}-K1" for x in "AB"))
    assert shelf("round", "answer", str(first), "moist").startswith(f"{first}  Look: broccoli")
    assert shelf("round", "answer", str(second), "moist").startswith(f"{second}  Look: radish")
    moisture = {tray["tray"]: tray["moisture"] for tray in shelf.json("tray")["trays"]}
    assert moisture == {"261125A.1": "moist", "261125B.1": "moist", "261125C.1": None}


def test_a_row_answered_before_is_not_answered_again(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf.now = "2026-11-25T19:30:00+00:00"
    number = next(n for n, row in enumerate(shelf.json("round")["rows"], 1) if row["row"] == "look-261125A-K1")
    shelf("round", "answer", str(number), "moist")
    said = shelf.refused("round", "answer", str(number), "moist", code=2)
    assert said == (
        f"row = {number}: look-261125A-K1 is not open in the round of 2026-11-25 evening; "
        "it may be answered already. See what is left with: trayward round"
    )


def test_several_rows_are_answered_at_once(shelf: Typed) -> None:
    for crop in ("broccoli", "radish", "kale"):
        shelf("sow", crop)
    shelf.now = "2026-11-25T19:30:00+00:00"
    looks = [row["row"] for row in rows(shelf, "look-")]
    done = shelf.json("round", "answer", ",".join(looks), "moist", "--note", "all even")["answers"]
    assert [one["row"] for one in done] == looks
    assert rows(shelf, "look-") == []


def test_rows_before_one_that_cannot_be_are_kept_and_said(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    shelf("cut", "261125A.2=90g")
    shelf.now = "2026-11-25T19:30:00+00:00"
    job = rows(shelf, "strip-")[0]["row"]
    result = shelf.run("round", "answer", f"look-261125A-K1,{job}", "moist")
    assert result.exit_code == 2
    assert "1 row before it was kept." in result.stderr
    assert rows(shelf, "look-") == []


def test_a_mouldy_tray_is_looked_at_close_and_thrown_away(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    shelf.now = "2026-11-25T19:30:00+00:00"
    shelf("round", "answer", "look-261125A-K1", "moist", "problem", "mould", "--only", "261125A.2")
    [row] = rows(shelf, "discard-")
    assert row["do"].startswith("Look close: broccoli")
    shelf("round", "answer", row["row"], "done")
    tray = {tray["tray"]: tray for tray in shelf.json("tray", "list", "--done")["trays"]}["261125A.2"]
    assert (tray["fate"], tray["reason"]) == ("discarded", "mould")


def test_a_look_that_is_asked_wants_an_answer(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf.now = "2026-11-25T19:30:00+00:00"
    assert "it is a look, not a job" in shelf.refused("round", "answer", "look-261125A-K1", "done", code=2)
    said = shelf.refused("round", "answer", "look-261125A-K1", code=2)
    assert "Answer fine, moist, dry, ready, not-yet, problem WORD, done, or cut WEIGHTS." in said


def test_what_happened_earlier_is_said_when_it_happened(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf.now = "2026-11-27T07:30:00+00:00"
    [kept] = shelf.json("water", "261125A", "30 ml", "--mist", "--at", "yesterday 19:00")["kept"]
    assert (kept["at"], kept["recorded"], kept["by"]) == ("2026-11-26T19:00:00Z", "2026-11-27T07:30:00Z", "Ada")


def test_the_farm_can_be_looked_at_as_it_was_or_will_be(shelf: Typed) -> None:
    shelf.now = "2026-11-26T07:30:00+00:00"
    shelf("sow", "broccoli")
    assert shelf.json("tray", "--at", "2026-11-25 12:00")["trays"] == []
    assert shelf.json("round", "--at", "2026-11-29 07:30")["round"] == "2026-11-29 morning"


def test_a_noted_thing_is_found_again_in_its_story(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf("note", "front corner thin", "--about", "261125A.1")
    words = [line["words"] for line in shelf.json("tray", "story", "261125A.1")["story"]]
    assert any("front corner thin" in line for line in words)


def test_trays_swap_spots_at_once(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2", "--spots", "K1.1,K1.2")
    shelf("move", "261125A.1=K1.2", "261125A.2=K1.1")
    where = {tray["tray"]: tray["spot"] for tray in shelf.json("tray", "where", "261125A")["trays"]}
    assert where == {"261125A.1": "K1.2", "261125A.2": "K1.1"}


def test_what_is_odd_is_kept_and_said(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    said = shelf("cut", "261125A.1=95g")
    assert "look: " in said
    assert shelf.json("tray", "list", "261125A.1")["trays"][0]["fate"] == "cut"


def test_every_table_fits_eighty_columns(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "3")
    shelf.now = "2026-11-27T07:30:00+00:00"
    shelf("plan")
    looks = [
        ["plan", "--look-only"], ["round"], ["outlook"], ["tray"], ["tray", "story", "261125A.1"], ["place"],
        ["place", "list"], ["kit"], ["seed"], ["order"], ["order", "list", "--standing"], ["recipe"],
        ["recipe", "show", "broccoli"], ["crop"], ["crop", "facts", "broccoli"], ["book"],
    ]  # fmt: skip
    for words in looks:
        wide = [line for line in shelf(*words).splitlines() if len(line) > 80 and "https://" not in line]
        assert wide == [], words


def test_a_stage_may_be_begun_by_name_and_trays_move_to_suit_it(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    assert shelf("stage", "261125A.1", "light").startswith("261125A.1: now light, on K2.1.")
    assert shelf("stage", "261125A.2", "light", "--spots", "K2.4").startswith("261125A.2: now light, on K2.4.")


def test_feed_is_kept_with_its_acidity_and_strength(shelf: Typed) -> None:
    shelf("sow", "broccoli")
    shelf("stage", "261125A", "light")
    says = shelf.json("feed", "261125A", "1 cup", "--ph", "5,8", "--ec", "1.2", "--feed", "leaf mix")["kept"][0]["says"]
    assert (round(says["ml"]), says["ph"], says["ec"], says["feed"]) == (237, 5.8, 1.2, "leaf mix")


def test_water_goes_the_way_of_the_stage_unless_it_is_said(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--trays", "2")
    shelf("stage", "261125A.2", "light")
    assert "misted with 30 ml each" in shelf("water", "261125A.1", "30 ml")
    assert "given 250 ml each below" in shelf("water", "261125A.2", "250 ml")
    said = shelf.refused("water", "261125A", "30 ml", code=2)
    assert said == (
        "way = not said: these trays are not all watered one way in their stage. Say --mist, --below or --soak."
    )


def test_a_live_tray_is_delivered_and_its_kit_comes_back(shelf: Typed) -> None:
    mine = shelf.folder / "mine.toml"
    text = shelf("init", "--setup", "shelf", "--show", "--book", "elsewhere.sqlite")
    product = (
        '[[product]]\nname = "live broccoli"\ncrop = "broccoli"\nlive = true\nprice = "9 per tray"\n\n[[customer]]'
    )
    mine.write_text(text.replace("[[customer]]", product, 1), encoding="utf-8")
    shelf("setup", str(mine), "--yes")
    grown(shelf)
    shelf("order", "customer", "Corner Cafe")
    shelf("order", "add", "Corner Cafe", "today", "2 trays live broccoli")
    said = shelf("deliver", "Corner Cafe", "--trays", "261125A.1,261125A.2", "--document", "1042")
    assert "1 line, 2 live trays." in said

    def away() -> dict[str, int]:
        return {pool["pool"]: pool["away"] for pool in shelf.json("kit")["kit"]}

    assert away()["solid tray"] == 2
    shelf("kit", "return", "solid tray", "2")
    assert away()["solid tray"] == 0


def test_what_goes_out_for_one_line_can_be_said_outright(shelf: Typed) -> None:
    grown(shelf)
    shelf("cut", "261125A=285g")
    shelf("order", "add", "home", "today", "95 g broccoli", "--name", "O1")
    said = shelf("deliver", "home", "--line", "O1/broccoli", "--loose", "H261203A=95g")
    assert "1 line, 95 g loose." in said
    refused = shelf.refused("deliver", "home", "--loose", "H261203A=95g", code=2)
    assert refused == "line = not said: --packs and --loose are for one order line. Say which with --line."


def test_the_round_ends_with_an_answer_that_can_be_typed(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf.now = "2026-11-25T19:30:00+00:00"
    said = " ".join(shelf("round").split())
    assert "Answer a look: trayward round answer 1 fine (or moist, dry, not-yet, problem mould)" in said
    shelf("round", "answer", "1", "fine")
    assert "trayward round answer" not in shelf("round")


def test_all_says_which_jobs_it_passed_over(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf("sow", "radish", "--name", "N2")
    shelf("discard", "N2", "--reason", "tipped over")
    shelf("strip", "N2")
    shelf.now = "2026-11-25T19:30:00+00:00"
    said = " ".join(shelf("round", "answer", "all", "moist").split())
    assert "Look: broccoli, 1 tray: moist" in said
    assert "Passed over, because jobs are done or not done: " in said
    assert "Wash: mesh tray" in said
    passed = shelf.refused("round", "answer", "all", "moist", code=2)
    assert passed == "rows = all: the round has no look left. Answer jobs one by one, with done."


def test_a_cut_row_says_once_how_high(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    shelf("stage", "N1", "light", "--spots", "K2.1")
    shelf("stage", "N1", "ready")
    shelf.now = "2026-12-03T07:30:00+00:00"
    said = " ".join(shelf("round").split())
    assert said.count("13 to 25 mm above the mat") == 1
    assert "Expect 210 g a tray, 110 to 390 g in 8 of 10." in said
    (cut,) = [row for row in shelf.json("round")["rows"] if row["kind"] == "cut"]
    (height,) = [amount for amount in cut["amounts"] if amount["what"] == "cut"]
    assert (height["value"], height["unit"], height["note"]) == (13.0, "mm", "13 to 25 mm above the mat")


def test_water_for_ten_trays_on_one_is_pointed_out(shelf: Typed) -> None:
    shelf("sow", "broccoli", "--name", "N1")
    said = " ".join(shelf("water", "N1", "300 ml").split())
    assert "look: tray N1.1, water = 300 ml: more than 5 times the 30 ml that germinate usually takes." in said


def test_a_farm_that_reads_ounces_and_cups_is_answered_in_them(bare: Typed) -> None:
    text = bare("init", "--setup", "shelf", "--show")
    mine = bare.folder / "mine.toml"
    for metric, us in (
        ('"g"', '"oz"'),
        ('"ml"', '"cup"'),
        ('temperature = "C"', 'temperature = "F"'),
        ('"mm"', '"in"'),
    ):
        assert text.count(metric) == 1
        text = text.replace(metric, us)
    mine.write_text(text, encoding="utf-8")
    bare("init", "--setup", str(mine))
    bare("sow", "broccoli", "--name", "N1")
    assert bare("reading", "temperature", "21 C", "--where", "K1").startswith("Read temperature at K1: 70 F.")
    assert bare("measure", "N1.1", "height", "2").startswith("Measured N1.1: height 2 in.")
    assert bare("measure", "N1.1", "height", "51 mm").startswith("Measured N1.1: height 2 in.")
    assert bare("measure", "N1.1", "leaves", "2").startswith("Measured N1.1: leaves 2.")
    assert bare("water", "N1", "60 ml").startswith("Watered N1: misted with 1/4 cup each.")
    bare.now = "2026-11-25T19:30:00+00:00"
    assert "weight on the cover 5.07 lb a tray." in " ".join(bare("round", "show", "1").split())


def test_the_outlook_of_a_farm_with_nothing_on_it_says_how_to_ask(shelf: Typed) -> None:
    assert shelf("outlook") == "No trays are growing. A tray sown now: trayward outlook --proposed broccoli\n"
    assert shelf.json("outlook")["trays"] == []
    (pea,) = shelf.json("outlook", "pea")["trays"]
    assert (pea["crop"], pea["tray"]) == ("pea", "")
    shelf("sow", "broccoli", "--name", "N1")
    told = shelf.json("outlook", "broccoli", "pea")["trays"]
    assert [(one["crop"], one["tray"]) for one in told] == [("broccoli", "N1.1"), ("pea", "")]


def test_a_farm_without_trays_says_so(shelf: Typed) -> None:
    assert shelf("tray").startswith("No trays stand here. Sow some: trayward sow")
