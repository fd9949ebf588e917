"""Each operation: it works, who may, what is wrong with what was sent, and what is not there."""

from __future__ import annotations

import uuid
from datetime import timedelta
from typing import Any

import pytest

from tests.web.api.conftest import Program
from tests.web.conftest import MORNING, Clock
from trayward.web.api.document import document
from trayward.web.api.operation import BASE, Operation
from trayward.web.api.routes import OPERATIONS
from trayward.web.guard import MAY, Role

FORM = "application/x-www-form-urlencoded"
LOOKS = [each for each in OPERATIONS if each.method == "GET"]
TELLS = [each for each in OPERATIONS if each.method == "POST"]


def name_of(operation: Operation) -> str:
    return f"{operation.method} {operation.path}"


def first_tray(farm: Program) -> Any:
    return next(tray for tray in farm.told("/trays?outlook=false")["trays"] if tray["stage"] == "light")


def plain_path(operation: Operation) -> str:
    path = operation.path.replace(":path}", "}")
    return path.replace("{name}", "nothing").replace("{id}", "nothing").replace("{recipe}", "nothing")


# Who may --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("operation", OPERATIONS, ids=name_of)
def test_each_role_gets_in_where_it_may_and_a_stranger_nowhere(
    programs: dict[Role | None, Program], operation: Operation
) -> None:
    for role, program in programs.items():
        path = plain_path(operation)
        # Said wrong on purpose: who may gets as far as being told so, and nothing is kept.
        answer = program.get(path) if operation.method == "GET" else program.say(path, nonsense=1)
        if role is None:
            assert answer.status_code == 401
            assert answer.json()["error"]["kind"] == "shut"
        elif operation.may in MAY[role]:
            assert answer.status_code in (200, 404, 422), answer.text[:300]
        else:
            assert answer.status_code == 403
            assert "Ask who keeps the farm" in answer.json()["error"]["sentence"]


def test_a_token_that_is_none_is_a_stranger_s(programs: dict[Role | None, Program]) -> None:
    answer = Program(programs[None].client, "made-up").get("/farm")
    assert answer.status_code == 401


# Looking --------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("operation", [each for each in LOOKS if "{" not in each.path], ids=name_of)
def test_what_is_asked_for_is_told_with_a_mark_and_not_again_while_nothing_moves(
    programs: dict[Role | None, Program], operation: Operation
) -> None:
    reader = programs["owner" if operation.may == "run" else "reader"]
    answer = reader.get(operation.path)
    assert answer.status_code == 200, answer.text[:300]
    assert answer.headers["content-type"] == "application/json"
    assert answer.headers["trayward-version"] in answer.headers["etag"]
    if not operation.path.startswith(("/learn", "/plan")):  # these move as their long work is done
        again = reader.get(operation.path, If_None_Match=answer.headers["etag"])
        while again.headers["trayward-version"] != answer.headers["trayward-version"]:
            # Long work that an earlier test asked for was done in between: that is a move.
            answer = again
            again = reader.get(operation.path, If_None_Match=answer.headers["etag"])
        assert (again.status_code, again.content) == (304, b"")


@pytest.mark.parametrize("operation", [each for each in LOOKS if "{" in each.path], ids=name_of)
def test_what_is_not_there_is_said_to_be_unknown(programs: dict[Role | None, Program], operation: Operation) -> None:
    answer = programs["owner" if operation.may == "run" else "reader"].get(plain_path(operation))
    assert answer.status_code == 404
    assert answer.json()["error"]["kind"] == "not found"


def test_a_query_that_nobody_knows_is_refused_rather_than_passed_over(programs: dict[Role | None, Program]) -> None:
    reader = programs["reader"]
    for query in ("limt=3", "limit=0", "limit=many", "limit=2&limit=3"):
        answer = reader.get(f"/trays?{query}")
        assert answer.status_code == 422, query
        assert answer.json()["error"]["kind"] == "input"


def test_lists_come_in_pages_that_join_without_gap(programs: dict[Role | None, Program]) -> None:
    reader = programs["reader"]
    whole = [tray["tray"] for tray in reader.told("/trays?outlook=false")["trays"]]
    found: list[str] = []
    after = ""
    while True:
        page = reader.told(f"/trays?outlook=false&limit=7&after={after}")
        found += [tray["tray"] for tray in page["trays"]]
        if page["next"] is None:
            break
        after = page["next"]
    assert len(whole) > 7
    assert found == whole


def test_the_book_is_read_backwards_page_by_page(programs: dict[Role | None, Program]) -> None:
    reader = programs["reader"]
    first = reader.told("/entries?what=cut&limit=5")
    second = reader.told(f"/entries?what=cut&limit=5&before={first['older'].replace('+', '%2B')}")
    seqs = [entry["at"] for entry in (*first["entries"], *second["entries"])]
    assert len(seqs) == 10
    assert seqs == sorted(seqs, reverse=True)
    assert {entry["kind"] for entry in first["entries"]} == {"cut"}


def test_a_tray_is_told_with_stage_spot_outlook_and_story(programs: dict[Role | None, Program]) -> None:
    reader = programs["reader"]
    tray = first_tray(reader)
    one = reader.told(f"/trays/{tray['tray']}")
    assert one["spot"] == tray["spot"]
    assert one["outlook"]["ready"]["low"] <= one["outlook"]["ready"]["high"]
    story = reader.told(f"/story/tray/{tray['tray']}")
    assert "sown" in story["lines"][0]["words"]


def test_a_round_s_rows_carry_what_is_to_be_sent_back(programs: dict[Role | None, Program]) -> None:
    told = programs["reader"].told("/round")
    assert told["rows"]
    assert all(row["told"]["row"] == row["row"]["row"] for row in told["rows"])


# Telling --------------------------------------------------------------------------------------------------------------


def test_an_answer_to_a_row_is_kept_and_the_same_sent_again_gets_the_same_receipt(farm: Program) -> None:
    row = next(each for each in farm.told("/round")["rows"] if each["row"]["kind"] == "look")
    said = {"row": row["told"], "moisture": "moist", "cue": "not yet", "id": str(uuid.uuid4())}
    receipt = farm.kept("/round/answer", **said)
    assert receipt["entries"][0]["id"] == said["id"]
    before = farm.told("/farm")["entries"]
    again = farm.kept("/round/answer", **said)
    assert again["entries"] == receipt["entries"]
    assert again["names"] == receipt["names"]
    assert farm.told("/farm")["entries"] == before


def test_an_id_that_another_entry_has_is_a_conflict_and_nothing_is_lost_silently(farm: Program) -> None:
    tray, name = first_tray(farm)["tray"], str(uuid.uuid4())
    farm.kept("/note", text="Fan cleaned.", id=name)
    answer = farm.say("/water", trays=[tray], ml=300, id=name)
    assert answer.status_code == 409
    assert answer.json()["error"]["kind"] == "conflict"


def test_a_row_may_be_named_and_done_and_cut(farm: Program) -> None:
    rows = farm.told("/round")["rows"]
    wash = next(each["row"] for each in rows if each["row"]["kind"] in ("wash", "strip", "sow"))
    assert farm.kept("/round/do", row=wash["row"])["entries"]
    ready = next(tray for tray in farm.told("/trays")["trays"] if tray["stage"] == "ready")
    expected = ready["outlook"]["grams"]["likely"]
    receipt = farm.kept("/cut", grams={ready["tray"]: round(expected)})
    assert receipt["names"][0].startswith("H")
    assert farm.told(f"/trays/{ready['tray']}")["fate"] == "cut"


def test_a_sowing_its_water_its_move_and_its_end_stand_in_the_book(farm: Program) -> None:
    sowing, tray = farm.kept("/sow", recipe="radish", trays=1)["names"]
    assert tray == f"{sowing}.1"
    for path, fields in {
        "/water": {"trays": [tray], "ml": 30, "way": "mist"},
        "/feed": {"trays": [first_tray(farm)["tray"]], "ml": 300, "ph": 5.8, "ec": 1.2, "sure": True},
        "/measure": {"trays": [tray], "what": "weight_g", "value": 900},
        "/note": {"text": "Uneven seed.", "about": [f"tray:{tray}"]},
        "/answer": {"trays": [tray], "moisture": "moist"},
        "/trouble": {"trays": [tray], "sign": "white fuzz", "where": "edge", "share": 0.2},
        "/trouble/clear": {"trays": [tray], "found": "root hairs"},
        "/discard": {"trays": [tray], "reason": "mould"},
        "/strip": {"trays": [tray]},
        "/kit/wash": {"pool": next(k["pool"]["name"] for k in farm.told("/kit")["kit"] if k["dirty"]), "count": 1},
        "/readings": {"what": "temperature", "value": 20.5, "where": "hall"},
    }.items():
        assert farm.kept(path, **fields)["entries"], path
    words = " ".join(line["words"] for line in farm.told(f"/story/tray/{tray}")["lines"])
    assert "mould" in words


def test_seed_is_received_tested_and_weighed(farm: Program) -> None:
    farm.kept("/seed/receive", lot="N7", crop="radish", grams=1000, germination=0.95, tsw_g=11.0, sure=True)
    farm.kept("/seed/test", lot="N7", sprouted=46, tested=50)
    farm.kept("/seed/weigh", lot="N7", grams=990)
    lot = next(each for each in farm.told("/seed")["lots"] if each["lot"]["lot"] == "N7")
    assert (lot["lot"]["left_g"], lot["live_share"]) == (990, 0.92)


def test_orders_are_placed_changed_cancelled_and_those_that_repeat_set_paused_ended(farm: Program) -> None:
    customer = farm.told("/customers")["customers"][0]["name"]
    line = {"line": "radish", "product": "radish", "quantity": 200}
    order = farm.kept("/orders/place", customer=customer, due="2026-12-05", lines=[line])["names"][0]
    lines = farm.told("/lines?first=2026-12-05&last=2026-12-05")["lines"]
    assert any(each["line"]["line"] == f"{order}/radish" for each in lines)
    changed = {**line, "quantity": 300}
    farm.kept("/orders/change", order=order, customer=customer, due="2026-12-05", lines=[changed])
    assert (
        next(each for each in farm.told("/orders")["orders"] if each["order"] == order)["lines"][0]["quantity"] == 300
    )
    farm.kept("/orders/cancel", order=order)
    assert all(each["order"] != order for each in farm.told("/orders")["orders"])
    rule = "FREQ=WEEKLY;BYDAY=TU"
    farm.kept("/standing/set", standing="tue", customer=customer, start="2026-12-01", rule=rule, lines=[line])
    farm.kept("/standing/pause", standing="tue", first="2026-12-08", last="2026-12-08")
    held = next(each for each in farm.told("/standing")["standing"] if each["standing"] == "tue")
    assert held["pauses"] == [{"first": "2026-12-08", "last": "2026-12-08"}]
    farm.kept("/standing/end", standing="tue")
    farm.kept("/customers/set", name="Moth Lane Market", weight=2)


def test_crop_is_packed_delivered_and_thrown_away(farm: Program) -> None:
    lot = max(farm.told("/harvests")["harvests"], key=lambda each: each["left_g"])
    packed = farm.kept("/pack", product=lot["crop"], packs=1, pack_g=50, parts={lot["harvest"]: 50})
    farm.kept("/throw-away", packs={packed["names"][0]: 1}, reason="dropped")
    customer = farm.told("/customers")["customers"][0]["name"]
    line = {"line": "by hand/radish", "loose": [{"harvest": lot["harvest"], "grams": 10}]}
    assert farm.kept("/deliver", customer=customer, lines=[line])["names"][0].startswith("D")
    answer = farm.say("/deliver/due", customer=customer, day="2031-01-01")
    assert answer.status_code == 422


def test_a_plan_is_made_as_long_work_looked_at_and_kept(farm: Program) -> None:
    answer = farm.say("/plan/make", weeks=3)
    assert answer.status_code == 202
    where, since = answer.json()["where"], answer.json()["since"]
    assert farm.client.app.state.house.work.wait(240)  # type: ignore[attr-defined]
    made = farm.told(where.removeprefix(BASE))
    assert made["error"] == ""
    assert made["as_of"] >= since
    farm.kept("/plan/keep", mark=made["mark"], weeks=3)
    assert farm.told("/plan")["plan"]["made_at"] == made["plan"]["made_at"]
    a_planned_sowing_is_added_changed_and_left_out(farm)


def a_planned_sowing_is_added_changed_and_left_out(farm: Program) -> None:
    held = farm.told("/plan")
    before = len(held["plan"]["sowings"])
    recipe = held["plan"]["sowings"][0]["recipe"]
    farm.kept(
        "/plan/sowings/add",
        mark=held["mark"],
        recipe=recipe,
        trays=1,
        day=(MORNING + timedelta(days=1)).date().isoformat(),
    )
    assert farm.say("/plan/sowings/leave-out", mark=held["mark"], number=0).status_code == 422
    held = farm.told("/plan")
    assert len(held["plan"]["sowings"]) == before + 1
    number = len(held["plan"]["sowings"]) - 1
    trays = held["plan"]["sowings"][number]["trays"]
    farm.kept("/plan/sowings/change", mark=held["mark"], number=number, trays=trays + 1)
    held = farm.told("/plan")
    farm.kept("/plan/sowings/leave-out", mark=held["mark"], number=number)
    assert len(farm.told("/plan")["plan"]["sowings"]) == before


def test_an_entry_is_struck_once_by_who_said_it(farm: Program) -> None:
    entry = farm.kept("/note", text="Said of the wrong tray.")["entries"][0]["id"]
    farm.kept(f"/entries/{entry}/strike", reason="wrong tray")
    assert farm.told(f"/entries/{entry}")["taken_back"]["reason"] == "wrong tray"
    assert farm.say(f"/entries/{entry}/strike", reason="again").status_code == 422


def test_a_hand_strikes_what_it_said_itself_and_nothing_else(programs: dict[Role | None, Program]) -> None:
    hand = programs["hand"]
    own = hand.kept("/note", text="Mine.")["entries"][0]["id"]
    other = next(e["id"] for e in hand.told("/entries?what=watered&limit=1")["entries"])
    assert hand.say(f"/entries/{other}/strike", reason="not mine").status_code == 403
    hand.kept(f"/entries/{own}/strike", reason="mine")


def test_what_is_said_stands_under_the_token_s_name(programs: dict[Role | None, Program]) -> None:
    receipt = programs["hand"].kept("/readings", what="humidity", value=55)
    assert receipt["entries"][0]["by"] == "program hand"


# What is wrong --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("operation", TELLS, ids=name_of)
def test_what_is_no_json_or_of_another_shape_is_refused_in_the_one_shape(
    programs: dict[Role | None, Program], operation: Operation
) -> None:
    owner, where = programs["owner"], BASE + plain_path(operation)
    post = owner.client.post
    told = {**owner.headers, "Content-Type": "application/json"}
    for body, headers, status in (
        (b"{not json", told, 400),
        (b"\xff\xfe", told, 400),
        (b'{"nonsense": 1}', told, 422),
        (b"[]", told, 422),
        (b"{}", {**owner.headers, "Content-Type": "text/plain"}, 415),
        (b" " * (operation.limit + 40_000), told, 413),
    ):
        answer = post(where, content=body, headers=headers)
        assert answer.status_code == status, (body[:20], answer.text[:300])
        error = answer.json()["error"]
        assert set(error) == {"kind", "thing", "value", "unit", "rule", "remedy", "sentence", "doubts"}
        assert error["sentence"]


def test_the_field_that_is_wrong_is_named(farm: Program) -> None:
    error = farm.say("/water", trays=["x"], ml="much").json()["error"]
    assert (error["kind"], error["thing"], error["value"]) == ("input", "ml", '"much"')
    assert error["sentence"] == 'ml = "much": must be a number from 0 to 1000000 ml. Send it without quotes, in ml.'


@pytest.mark.parametrize(
    ("path", "sent", "thing", "value", "unit", "said"),
    [
        (
            "/sow",
            {"trays": "1"},
            "trays",
            '"1"',
            "",
            "must be a whole number from 1 to 100000. Send it without quotes.",
        ),
        ("/sow", {"trays": 1.5}, "trays", "1.5", "", "must be a whole number from 1 to 100000. Check the figure."),
        ("/sow", {"trays": 0}, "trays", "0", "", "must be a whole number from 1 to 100000. Check the figure."),
        ("/sow", {"grams_per_tray": -3}, "grams_per_tray", "-3", "g", "-3 g: must be a number from 0 to 10000000 g."),
        ("/sow", {"grams_per_tray": "20 g"}, "grams_per_tray", '"20 g"', "", "Send it without quotes, in g."),
        ("/sow", {"recipe": None}, "recipe", "null", "", "must be text of 1 to 200 letters."),
        ("/sow", {"recipe": ...}, "recipe", "nothing", "", "nothing: must be text of 1 to 200 letters."),
        ("/sow", {"tray": 1}, "tray", "1", "", "there is no such field. Did you mean trays?"),
        (
            "/sow",
            {"zzz": 1},
            "zzz",
            "1",
            "",
            "there is no such field. Fields: id, at, sure, recipe, trays, grams_per_tray",
        ),
        ("/sow", {"spots": "A1"}, "spots", '"A1"', "", "must be a list. Send it in square brackets."),
        ("/sow", {"spots": ["A1", 2]}, "spots[1]", "2", "", "must be text of 1 to 200 letters."),
        ("/sow", {"lots": {"B1": "3 g"}}, "lots", '"3 g"', "", "must be a number from 0 to 10000000"),
        (
            "/sow",
            {"at": "2026-11-25T08:00"},
            "at",
            '"2026-11-25T08:00"',
            "",
            "must be a moment with its offset. Send it as",
        ),
        ("/sow", {"id": "1"}, "id", '"1"', "", "must be a UUID. Make a new one for each thing you say."),
        ("/sow", {"sure": 1}, "sure", "1", "", "must be true or false."),
        ("/readings", {"what": "temp"}, "what", '"temp"', "", "must be one of ec, humidity, ph, ppfd, temperature."),
        ("/orders/place", {"due": "9.12.2026"}, "due", '"9.12.2026"', "", "must be a day. Send it as 2026-11-25."),
        ("/orders/place", {"lines": []}, "lines", "[]", "", "must be a list of"),
        ("/orders/place", {"lines": [{"product": 5}]}, "lines[0].product", "5", "", "must be text"),
        ("/orders/place", {"lines": [{"size": 5}]}, "lines[0].size", "5", "", "there is no such field. Fields: "),
    ],
)
def test_what_is_of_another_shape_is_told_by_its_value_the_rule_and_the_way_out(
    farm: Program, path: str, sent: dict[str, Any], thing: str, value: str, unit: str, said: str
) -> None:
    whole: dict[str, Any] = {
        "/sow": {"recipe": "pea", "trays": 1},
        "/readings": {"what": "ph", "value": 7},
        "/orders/place": {"customer": "x", "due": "2026-12-09", "lines": [{"product": "pea", "quantity": 5.0}]},
    }[path]
    told = {name: held for name, held in (whole | sent).items() if held is not ...}
    answer = farm.say(path, **told)
    error = answer.json()["error"]
    assert (answer.status_code, error["thing"], error["value"], error["unit"]) == (422, thing, value, unit)
    assert said in error["sentence"]


def test_json_of_brackets_without_end_is_no_fault_of_ours(farm: Program) -> None:
    deep = b'{"text":' + b"[" * 100_000 + b"]" * 100_000 + b"}"
    answer = farm.client.post(
        BASE + "/note", content=deep, headers={**farm.headers, "Content-Type": "application/json"}
    )
    assert (answer.status_code, answer.json()["error"]["thing"]) == (400, "body")


def test_a_program_is_told_of_a_wrong_address_and_method_as_of_anything_else(farm: Program) -> None:
    error = farm.get("/nope").json()["error"]
    assert (error["kind"], error["thing"], error["value"]) == ("not found", "address", "/api/1/nope")
    assert error["sentence"].endswith("there is no such address. Those there are stand on the page /api.")
    answer = farm.client.request("DELETE", BASE + "/sow", headers=farm.headers)
    assert (answer.status_code, answer.headers["allow"], answer.json()["error"]["thing"]) == (405, "POST", "address")


def test_what_a_program_sends_as_a_form_is_asked_for_as_json_also_without_people(farm: Program) -> None:
    """`curl -d` says that it sends a form; it was told of cookies."""
    answer = farm.client.post(BASE + "/note", content=b'{"text": "x"}', headers={"Content-Type": FORM})
    assert (answer.status_code, answer.json()["error"]["thing"]) == (415, "content type")
    assert not [each for each in farm.told("/entries?limit=3")["entries"] if each["kind"] == "note"]


def test_another_thing_under_the_same_id_is_not_lost_for_the_first(farm: Program) -> None:
    """A program that makes its id once and for all would have had its second reading taken for the first."""
    name = str(uuid.uuid4())
    first = farm.kept("/readings", what="humidity", value=55, id=name)
    assert farm.kept("/readings", what="humidity", value=55, id=name, sure=True)["entries"] == first["entries"]
    answer = farm.say("/readings", what="humidity", value=60, id=name)
    assert answer.status_code == 409
    assert "another entry has it. Nothing was kept; make a new one." in answer.json()["error"]["sentence"]


def test_a_weight_that_looks_mistyped_is_doubted_and_kept_when_it_is_sure(farm: Program) -> None:
    ready = next(tray for tray in farm.told("/trays")["trays"] if tray["stage"] == "ready")
    grams = {ready["tray"]: 10 * round(ready["outlook"]["grams"]["likely"])}
    answer = farm.say("/cut", grams=grams)
    assert answer.status_code == 422
    error = answer.json()["error"]
    assert error["kind"] == "doubt"
    assert error["doubts"][0]["sentence"]
    farm.kept("/cut", grams=grams, sure=True)


def test_a_moment_that_cannot_be_meant_is_refused(farm: Program, clock: Clock) -> None:
    for at in ("1812-06-24T06:00:00Z", (MORNING + timedelta(hours=3)).isoformat(), "2026-11-25T06:00:00"):
        assert farm.say("/note", text="Late.", at=at).status_code == 422, at
    receipt = farm.kept("/note", text="An hour ago.", at=(clock.at - timedelta(hours=1)).isoformat())
    assert receipt["entries"][0]["at"] == "2026-11-25T06:30:00Z"


def test_what_cannot_be_done_at_a_path_says_what_can(farm: Program) -> None:
    answer = farm.client.put(f"{BASE}/farm")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET, HEAD")
    assert farm.client.get(f"{BASE}/no-such-thing").json()["error"]["kind"] == "not found"


def test_another_site_s_page_cannot_send(farm: Program) -> None:
    answer = farm.client.post(
        f"{BASE}/note",
        json={"text": "hello"},
        headers={"Origin": "https://elsewhere.example", "Sec-Fetch-Site": "cross-site"},
    )
    assert answer.status_code == 403
    plain = farm.client.post(f"{BASE}/note", content=b'{"text": "hello"}', headers={"Content-Type": "text/plain"})
    assert plain.status_code == 415
    assert "hello" not in farm.get("/entries?limit=2").text


# Whose language -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "told", "sentence"),
    [
        (
            "/water",
            {"trays": ["x"], "ml": "much"},
            "ml = “much”: debe ser un número de 0 a 1000000 ml. Envíalo sin comillas, en ml.",
        ),
        ("/note", {"text": "Late.", "at": "1812-06-24T06:00:00Z"}, "está antes de que hubiera granjas así"),
        ("/note", {"text": ""}, ""),
        ("/sow", {"recipe": "moss", "trays": 1}, "receta"),
        (
            "/nothing/of/that/name",
            {},
            "/nothing/of/that/name: no hay tal dirección. Las que hay están en la página /api.",
        ),
    ],
)
def test_what_went_wrong_is_said_in_spanish_where_it_is_asked_for_and_the_rest_stays(
    farm: Program, path: str, told: dict[str, object], sentence: str
) -> None:
    english = farm.say(path, **told)
    farm.headers["Accept-Language"] = "es-MX, en;q=0.5"
    spanish = farm.say(path, **told)
    ours, theirs = english.json()["error"], spanish.json()["error"]
    assert spanish.status_code == english.status_code >= 400
    assert {**ours, "sentence": "", "doubts": ""} == {**theirs, "sentence": "", "doubts": ""}
    assert sentence in theirs["sentence"]
    assert theirs["sentence"] != ours["sentence"]
    assert (english.headers["content-language"], spanish.headers["content-language"]) == ("en-GB", "es-MX")


def test_a_stranger_and_a_path_that_is_not_there_are_answered_in_their_language_too(
    programs: dict[Role | None, Program],
) -> None:
    stranger = programs[None].get("/farm", Accept_Language="es")
    assert stranger.status_code == 401
    assert stranger.json()["error"]["sentence"] == "No ha entrado nadie. Entra primero."
    assert "Accept-Language" in document(OPERATIONS)["info"]["description"]


def test_what_is_of_another_shape_is_told_in_spanish_where_that_is_asked_for(farm: Program) -> None:
    sent = {"recipe": "pea", "trays": 1, "grams_per_tray": "20 g"}
    post, told = farm.client.post, {**farm.headers, "Accept-Language": "es"}
    error = post(BASE + "/sow", json=sent, headers=told).json()["error"]
    assert error["sentence"].endswith("debe ser un número de 0 a 10000000 g. Envíalo sin comillas, en g.")
    error = post(BASE + "/sow", json={"recipe": "pea", "trays": 1, "tray": 2}, headers=told).json()["error"]
    assert "no hay tal campo. ¿Querías decir " in error["sentence"]
