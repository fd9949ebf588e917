"""Hygiene records through the desk: written, due, beyond a limit, late, struck, reviewed, and packed."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import msgspec
import pytest

from trayward import Farm
from trayward.errors import InputError, NotFoundError, RefusedError
from trayward.farm.codec import decode_entry, encode_entry
from trayward.farm.entries import FarmSet, RecordHabitSet, Sanitised, Struck, Washed
from trayward.farm.records import Habit
from trayward.hygiene.kinds import KINDS
from trayward.hygiene.pack import HEAD, KIT, TAIL, csv_of, kit_record
from trayward.paper.inspection_sheet import inspection_sheet, pack_files
from trayward.paper.tongue import ENGLISH
from trayward.rounds.told import RowSaid, RowTold, told_of
from trayward.rounds.types import RoundRow
from trayward.web.look.locales import Tongues
from trayward.web.look.on_paper import on_paper
from trayward.web.look.own_names import Names

AT = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)  # a Monday
DAY = timedelta(days=1)
MONTH = (date(2026, 11, 1), date(2026, 11, 30))
ROOM = "Cold room 1"
LOFT_ZONE = ZoneInfo("Europe/Dublin")


@pytest.fixture
def farm() -> Iterator[Farm]:
    """Lantern Loft, which reads its cold room every day, at most 5 C, reviewed within 3 days."""
    with Farm.create(":memory:", "loft", at=AT - 20 * DAY) as farm:
        limits = {"temperature": (None, "5 C")}
        farm.set_record_habit("cold room", area=ROOM, every="daily", limits=limits, within_days=3, at=AT)
        yield farm


def written(farm: Farm, degrees: str = "4 C", *, at: datetime = AT, **more: str) -> str:
    said = {"temperature": degrees}
    recorded = datetime.fromisoformat(more.pop("recorded")) if "recorded" in more else None
    return (
        farm.write_record("cold room", said, area=ROOM, at=at, by="Ada Reed", recorded=recorded, **more)
        .kept[0]
        .entry.id
    )


def test_what_is_due_is_due_until_it_is_written_down(farm: Farm) -> None:
    assert [each.area for each in farm.records_due(AT)] == [ROOM]
    written(farm)
    assert farm.records_due(AT) == ()
    due = farm.records_due(AT + 3 * DAY)[0]
    assert (due.since, due.missed) == (date(2026, 11, 24), 2)


def record_row(farm: Farm, at: datetime) -> RoundRow | None:
    """The round's row for the cold room."""
    return next((row for row in farm.round(at).rows if row.record == "cold room"), None)


def test_what_was_not_written_down_is_an_overdue_row_of_the_round(farm: Farm) -> None:
    written(farm)
    assert record_row(farm, AT + timedelta(hours=1)) is None
    row = record_row(farm, AT + 3 * DAY)
    assert row is not None
    assert (row.overdue, row.place, row.words) == (True, ROOM, f"Write down: Cold room temperature, {ROOM}.")
    assert row.why == "Was due Tue 24 Nov. Missed 2 times. Last written down Mon 23 Nov, 08:00."
    assert (row.asks[0].field, row.asks[0].unit, row.asks[0].high, row.asks[0].required) == (
        "temperature",
        "C",
        5.0,
        True,
    )


def test_a_habit_that_ended_is_due_no_more(farm: Farm) -> None:
    farm.set_record_habit("cold room", area="COLD ROOM 1", ended=True, at=AT)
    assert farm.records_due(AT + 3 * DAY) == ()


def test_beyond_a_limit_it_is_asked_what_was_done(farm: Farm) -> None:
    with pytest.raises(InputError, match=r"temperature 9\.2 C lies beyond the limit, at most 5 C\. Say what was done"):
        written(farm, "9.2 C")
    written(farm, "9.2 C", corrective="moved the crates")
    held = farm.reviews_due(AT)[0].held
    assert held.record.outside
    # The limit of that day stays with the record when the farm sets another.
    farm.set_record_habit("cold room", area=ROOM, limits={"temperature": (None, 10.0)}, at=AT)
    assert farm.records(*MONTH, at=AT)[0].outside


def test_on_the_limit_is_within_it(farm: Farm) -> None:
    written(farm, "41 F")
    assert not farm.records(*MONTH, at=AT)[0].outside


def test_a_record_that_arrives_late_is_kept_with_a_finding_and_marked(farm: Farm) -> None:
    later = AT + 2 * DAY
    written(farm, at=later)
    written(farm, "9 C", at=AT, recorded=(later + DAY).isoformat())
    first = farm.records(*MONTH, at=later)[0]
    assert first.late
    assert first.outside
    assert [finding.code for finding in farm.state(later).findings] == ["record-outside"]


def test_a_struck_record_stays_to_be_seen_and_counts_no_more(farm: Farm) -> None:
    entry = written(farm)
    farm.record(Struck(entry=entry, reason="wrong room"), at=AT + timedelta(minutes=5), by="Bo Hale")
    shown = farm.records(*MONTH, at=AT + DAY)[0]
    assert shown.struck is not None
    assert (shown.struck.by, shown.struck.reason, shown.waits) == ("Bo Hale", "wrong room", False)
    assert farm.records_due(AT)[0].area == ROOM
    assert farm.reviews_due(AT + DAY) == ()
    with pytest.raises(InputError, match="it was struck"):
        farm.review([entry], at=AT + DAY)


def test_a_strike_that_was_struck_itself_takes_nothing_back(farm: Farm) -> None:
    entry = written(farm)
    strike = farm.record(Struck(entry=entry, reason="wrong room"), at=AT, by="Bo Hale").kept[0].entry.id
    farm.record(Struck(entry=strike, reason="it was the right room"), at=AT + timedelta(minutes=5))
    shown = farm.records(*MONTH, at=AT + DAY)[0]
    assert shown.struck is None
    assert shown.waits


def test_a_review_says_who_and_when_and_takes_it_off_the_list(farm: Farm) -> None:
    entry = written(farm)
    assert farm.reviews_due(AT + 4 * DAY)[0].overdue
    assert "Records to review: 1" in " ".join(farm.round(AT + 4 * DAY).notes)
    review = farm.review([entry[:8]], note="talked it over", at=AT + 4 * DAY, by="Bo Hale").kept[0].entry.id
    assert farm.reviews_due(AT + 4 * DAY) == ()
    shown = farm.records(*MONTH, at=AT + 4 * DAY)[0].review
    assert shown is not None
    assert (shown.by, shown.at, shown.note) == ("Bo Hale", AT + 4 * DAY, "talked it over")
    farm.record(Struck(entry=review, reason="not read yet"), at=AT + 5 * DAY)
    assert len(farm.reviews_due(AT + 5 * DAY)) == 1


def test_a_review_of_nothing_or_of_another_entry_is_refused(farm: Farm) -> None:
    with pytest.raises(InputError, match="names at least one"):
        farm.review([], at=AT)
    note = farm.note("hello", at=AT).kept[0].entry.id
    with pytest.raises(InputError, match="it says note"):
        farm.review([note], at=AT)
    with pytest.raises(NotFoundError, match="entry 'no-such-entry'"):
        farm.review(["no-such-entry"], at=AT)


@pytest.mark.parametrize(
    ("kind", "values", "error", "words"),
    [
        ("moon phase", {"x": "1"}, NotFoundError, "record kind 'moon phase'"),
        ("cold room", {"humidity": "80"}, NotFoundError, "field 'humidity'"),
        ("cold room", {}, InputError, "temperature = nothing"),
        ("cold room", {"temperature": "4 kg"}, InputError, "not a temperature"),
        ("cleaning", {"item": "knives", "cleaner": "soap"}, InputError, "area = nothing"),
    ],
)
def test_what_is_no_record_is_refused(
    farm: Farm, kind: str, values: dict[str, str], error: type[Exception], words: str
) -> None:
    with pytest.raises(error, match=words):
        farm.write_record(kind, values, at=AT)
    assert farm.records(*MONTH, at=AT) == ()


def test_the_same_record_sent_twice_is_kept_once(farm: Farm) -> None:
    for _ in range(2):
        farm.write_record("cold room", {"temperature": "4"}, area=ROOM, at=AT, ids=["phone-entry-1"])
    assert len(farm.records(*MONTH, at=AT)) == 1


def test_the_pack_has_the_header_of_the_rules_the_corrections_and_the_washing_of_kit(farm: Farm) -> None:
    """21 CFR 112.161: farm and place, time with zone, actual values, lots, area, who with initials, late, review."""
    farm.receive_seed("SEED-7", "broccoli", 500.0, germination=0.9, tsw_g=3.3, at=AT)
    values = {"supplier": "Seed house", "supplier lot": "77", "document": "C-1", "says": "tested", "treated": "=1+1"}
    farm.write_record("seed certificate", values, about=["lot:SEED-7"], at=AT, by="Ada Reed")
    entry = written(farm, "9 C", corrective="moved the crates")
    farm.review([entry], at=AT + DAY, by="Bo Hale")
    pack = farm.inspection(*MONTH, at=AT + 3 * DAY)
    settings = farm.settings(AT)
    row = next(csv.DictReader(io.StringIO(csv_of(pack, "cold room", settings))))
    assert [*HEAD, "temperature [C]", *TAIL] == list(row)
    assert row["farm"] == "Lantern Loft"
    assert row["happened"] == "2026-11-23 08:00 +00:00"
    assert (row["done by"], row["initials"], row["area"]) == ("Ada Reed", "AR", ROOM)
    assert (row["temperature [C]"], row["corrective action"]) == ("9.0", "moved the crates")
    assert (row["reviewed by"], row["reviewed at"]) == ("Bo Hale", "2026-11-24 08:00 +00:00")
    assert row["keep until"] == "2028-11-23"
    seed = next(csv.DictReader(io.StringIO(csv_of(pack, "seed certificate", settings))))
    assert (seed["lots"], seed["produce"]) == ("SEED-7", "broccoli")
    assert seed["treated"] == "'=1+1"  # a spreadsheet does not reckon it
    assert [each.area for each in pack.missed] == [ROOM]


def test_washing_and_sanitising_of_kit_is_the_cleaning_record_of_trays_and_mats(farm: Farm) -> None:
    farm.receive_seed("SEED-7", "broccoli", 500.0, germination=0.9, tsw_g=3.3, at=AT - 19 * DAY)
    trays = farm.sow("broccoli", 1, grams_per_tray=20.0, lot="SEED-7", at=AT - 10 * DAY).names[1:]
    farm.begin(trays, "ready", at=AT - timedelta(hours=2))
    farm.cut({trays[0]: 130.0}, at=AT - timedelta(hours=1), sure=True)
    farm.strip(trays, at=AT)
    pools = farm.state(AT).kit
    pool = next(name for name, held in pools.items() if held.dirty and held.pool.sanitise)
    farm.wash(pool, soap="dish soap", rinse_c=40.0, at=AT, by="Ada Reed")
    farm.sanitise(pool, "peroxyacetic acid", strength_ppm=80.0, contact_min=2.0, at=AT + timedelta(hours=1))
    found = farm.inspection(*MONTH, at=AT + DAY).of(KIT)
    values = [{value.field: (value.value, value.unit) for value in each.record.values} for each in found]
    assert values[0]["method"] == ("washed, dish soap", "")
    assert values[0]["rinse"] == (40.0, "C")
    assert values[1]["method"] == ("sanitised, peroxyacetic acid", "")
    assert (values[1]["strength"], values[1]["contact"]) == ((80.0, "ppm"), (2.0, "min"))
    assert values[1]["what was cleaned"] == (f"1 x {pool}", "")
    assert farm.records(*MONTH, at=AT + DAY) == ()


def test_days_the_wrong_way_round_are_refused(farm: Farm) -> None:
    with pytest.raises(InputError, match="it comes before the first"):
        farm.records(MONTH[1], MONTH[0], at=AT)


def test_the_pack_is_a_pdf_that_says_what_was_struck_late_reviewed_and_missed(farm: Farm) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    late = written(farm, "9 C", corrective="moved the crates", recorded=(AT + 2 * DAY).isoformat())
    struck = written(farm, at=AT + timedelta(hours=1))
    farm.record(Struck(entry=struck, reason="wrong room"), at=AT + timedelta(hours=2), by="Bo Hale")
    farm.review([late], at=AT + DAY, by="Bo Hale")
    made = inspection_sheet(farm.inspection(*MONTH, at=AT + 4 * DAY), farm.settings(AT))
    document = pdfium.PdfDocument(made)
    words = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in document)
    for said in ("Cold room temperature: 2", "LATE, written down", "STRUCK by Bo Hale", "wrong room", "Ada Reed",
                 "(AR)", "limit: at most 5 C", "Done about it: moved the crates", "not written down since",
                 "Defer to local codes"):  # fmt: skip
        assert said in words, said
    assert inspection_sheet(farm.inspection(*MONTH, at=AT + 4 * DAY), farm.settings(AT)) == made


# More than once a day -------------------------------------------------------------------------------------------------


def twice(farm: Farm) -> None:
    """The cold room is read at 07:00 and 19:00 from Mon 23 Nov on."""
    farm.set_record_habit("cold room", area=ROOM, every="at 7:00 and 19:00", start=date(2026, 11, 23), at=AT)


def on(day: int, hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 11, day, hour, minute, tzinfo=LOFT_ZONE)


def test_a_room_read_twice_a_day_is_due_at_both_times_and_not_between(farm: Farm) -> None:
    twice(farm)
    read = on(24, 6, 10)
    written(farm, at=on(23, 19))
    assert [each.due for each in farm.records_due(read)] == [on(24, 7)]
    assert farm.records_due(on(24, 4, 59)) == ()
    written(farm, at=read)
    # Written down within two hours before its time, it counts for that time.
    assert farm.records_due(on(24, 7, 30)) == ()
    assert farm.records_due(on(24, 16, 59)) == ()
    (due,) = farm.records_due(on(24, 17))
    assert (due.due, due.missed, due.late) == (on(24, 19), 0, False)
    (due,) = farm.records_due(on(24, 20, 1))
    assert (due.due, due.missed, due.late) == (on(24, 19), 0, True)
    (due,) = farm.records_due(on(25, 7))
    assert (due.due, due.missed, due.late, due.since) == (on(24, 19), 1, True, date(2026, 11, 24))
    written(farm, at=on(25, 7, 20))
    assert farm.records_due(on(25, 8)) == ()


def test_a_reading_missed_in_the_evening_stands_on_the_round_with_its_time(farm: Farm) -> None:
    twice(farm)
    written(farm, at=on(24, 7))
    row = record_row(farm, on(24, 21))
    assert row is not None
    assert (row.overdue, row.since, row.why.partition(". ")[0]) == (True, on(24, 19), "Was due Tue 24 Nov, 19:00")
    on_time = record_row(farm, on(24, 19))
    assert on_time is not None
    assert not on_time.overdue


def test_the_pack_names_each_time_that_was_missed_also_where_it_was_read_again_afterwards(farm: Farm) -> None:
    twice(farm)
    # Not read: Mon evening, Wed morning. Read late, but before the next time: Tue morning.
    for when in (on(23, 6), on(24, 11), on(24, 19), on(25, 18), on(26, 7), on(26, 19, 5)):
        written(farm, at=when)
    (gap,) = farm.inspection(date(2026, 11, 23), date(2026, 11, 26), at=on(27, 12)).gaps
    assert (gap.area, gap.asked, gap.count) == (ROOM, 8, 2)
    assert gap.times == (on(23, 19), on(25, 7))
    pack = farm.inspection(date(2026, 11, 23), date(2026, 11, 26), at=on(27, 12))
    pdfium = pytest.importorskip("pypdfium2")
    made = pdfium.PdfDocument(inspection_sheet(pack, farm.settings(AT)))
    text = " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in made)
    assert "due 8 times, not written down 2 of them: Mon 23 Nov 19:00, Wed 25 Nov 07:00." in text


def test_of_a_daily_record_the_pack_names_the_days_that_were_missed(farm: Farm) -> None:
    farm.set_record_habit("cold room", area=ROOM, every="daily", start=date(2026, 11, 23), at=AT)
    written(farm, at=on(23, 9))
    written(farm, at=on(26, 9))
    (gap,) = farm.inspection(date(2026, 11, 23), date(2026, 11, 26), at=on(26, 12)).gaps
    assert (gap.days, gap.count, gap.times) == ((date(2026, 11, 24), date(2026, 11, 25)), 2, ())


def test_times_out_of_order_or_without_days_are_refused(farm: Farm) -> None:
    habit = Habit(kind="cold room", area=ROOM, rule="FREQ=DAILY", start=AT.date(), times=(time(19), time(7)))
    with pytest.raises(RefusedError, match="give the times in order"):
        farm.record(RecordHabitSet(habit=habit), at=AT)


def test_a_habit_kept_before_there_were_times_is_read(farm: Farm) -> None:
    farm.set_record_habit("cold room", area=ROOM, every="daily", at=AT, ids=["habit-0001"])
    new = encode_entry(farm.book.get("habit-0001").entry)  # type: ignore[union-attr]
    old = new.replace(b',"times":[]', b"").replace(b'"version":2', b'"version":1')
    assert old != new
    assert decode_entry(old) == decode_entry(new)


def test_what_is_to_be_read_on_this_walk_stands_before_the_jobs(farm: Farm) -> None:
    twice(farm)
    farm.set_record_habit("cleaning", area="packing room", every="daily", start=date(2026, 11, 24), at=AT)
    written(farm, at=on(24, 7))
    rows = farm.round(on(24, 18)).rows
    places = {row.row: row.number for row in rows}
    assert record_row(farm, on(24, 16)) is None
    assert places["record-cold-room-cold-room-1"] == 1
    # What is due some time of the day comes after all else.
    assert places["record-cleaning-packing-room"] == len(rows)
    written(farm, at=on(24, 18))
    assert record_row(farm, on(24, 19)) is None


# Rows of the round ----------------------------------------------------------------------------------------------------


def told(farm: Farm, at: datetime, kind: str = "cold room") -> RowTold:
    """A row as a page or a sheet carries it."""
    present = farm.round(at)
    row = next(row for row in present.rows if row.record == kind)
    return told_of(row, present.round, present.at, farm.settings(at))


def test_a_reading_is_answered_where_it_stands_and_checked_against_its_limit(farm: Farm) -> None:
    row = told(farm, AT)
    with pytest.raises(InputError, match=r"temperature 9 C lies beyond the limit, at most 5 C\. Say what was done"):
        farm.answer_told(row, RowSaid(done=True, values={"temperature": "9 C"}), at=AT)
    with pytest.raises(InputError, match="temperature = nothing"):
        farm.answer_told(row, RowSaid(done=True), at=AT)
    said = RowSaid(done=True, values={"temperature": 9.0}, corrective="moved the crates", note="door stood open")
    answered = farm.answer_told(row, said, at=AT, by="Ada Reed")
    assert not answered.as_words
    shown = farm.records(*MONTH, at=AT)[0]
    assert (shown.record.corrective, shown.record.note, shown.record.area) == (
        "moved the crates",
        "door stood open",
        ROOM,
    )
    assert [kept.entry.kind for kept in answered.receipt.kept] == ["record written"]
    assert record_row(farm, AT) is None


def test_a_reading_that_had_no_signal_lands_at_its_time_and_both_are_kept(farm: Farm) -> None:
    row, minute = told(farm, AT), timedelta(minutes=1)
    written(farm, "4 C", at=AT + 10 * minute)
    # The phone comes back after somebody else wrote it down: a reading too warm is kept, with a finding for the keeper.
    late = farm.answer_told(row, RowSaid(done=True, values={"temperature": 9.0}), at=AT, by="Bo Hale",
                            recorded=AT + 60 * minute)  # fmt: skip
    assert [other.by for other in late.others] == ["Ada Reed"]
    assert not late.as_words
    assert [(each.at, each.outside) for each in farm.records(*MONTH, at=AT + DAY)] == [
        (AT, True),
        (AT + 10 * minute, False),
    ]


def test_two_readings_of_a_round_that_are_due_at_times_of_their_own_do_not_answer_each_other(farm: Farm) -> None:
    farm.set_record_habit("cold room", area=ROOM, every="at 8:00 and 12:00", at=AT)
    written(farm, at=on(23, 8))
    answered = farm.answer_told(told(farm, on(23, 12)), RowSaid(values={"temperature": 4.0}), at=on(23, 12), by="Bo")
    assert answered.others == ()


def test_a_cleaning_is_ticked_once_it_was_written_down_in_full(farm: Farm) -> None:
    farm.set_record_habit("cleaning", area="packing room", every="daily", at=AT)
    with pytest.raises(InputError, match="item = nothing"):
        farm.answer_told(told(farm, AT, "cleaning"), RowSaid(done=True), at=AT)
    values = {"item": "tables, knives", "cleaner": "dish soap", "sanitiser": "as labelled", "strength": 80.0}
    farm.answer_told(told(farm, AT, "cleaning"), RowSaid(values=values), at=AT)
    row = told(farm, AT + DAY, "cleaning")
    assert row.usual == {"item": "tables, knives", "cleaner": "dish soap", "sanitiser": "as labelled"}
    entry = farm.answer_told(row, RowSaid(done=True), at=AT + DAY, by="Ada Reed").receipt.kept[0].entry
    # What was measured is measured anew: the strength of yesterday is not copied.
    assert {value.field for value in entry.body.record.values} == {"item", "cleaner", "sanitiser"}  # type: ignore[attr-defined]
    # What was struck is no model for the next time.
    farm.record(Struck(entry=entry.id, reason="it was not cleaned"), at=AT + DAY)
    assert told(farm, AT + DAY, "cleaning").usual == row.usual


def test_what_was_found_is_never_offered_again(farm: Farm) -> None:
    for kind in KINDS:
        for field in kind.fields:
            found = field.number or field.name in ("findings", "outcome", "found", "done", "says", "document", "topics")
            assert not (found and field.steady), (kind.name, field.name)


@pytest.mark.parametrize("kind", [kind.name for kind in KINDS])
def test_every_kind_can_be_answered_from_its_row(farm: Farm, kind: str) -> None:
    farm.set_record_habit(kind, area="here", every="daily", at=AT)
    present = farm.round(AT)
    row = next(row for row in present.rows if row.record == kind and row.area == "here")
    values: dict[str, float | str] = {each.field: 0.0 if each.number else "so" for each in row.asks if each.required}
    farm.answer_told(told_of(row, present.round, present.at, farm.settings(AT)), RowSaid(values=values), at=AT)
    assert row.row not in {each.row for each in farm.round(AT).rows}


# The pack's other files -----------------------------------------------------------------------------------------------


def test_the_pack_says_which_rules_may_apply_by_the_answers_kept(farm: Farm) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    written(farm)

    def said() -> tuple[dict[str, bytes], str]:
        pack = farm.inspection(*MONTH, at=AT + DAY)
        files = pack_files(pack, farm.settings(AT))
        pages = pdfium.PdfDocument(files["records.pdf"])
        return files, " ".join(" ".join(page.get_textpage().get_text_bounded().split()) for page in pages)

    files, text = said()
    assert "rules.csv" not in files
    assert "Which rules may apply: no answers are kept." in text
    settings = msgspec.structs.replace(farm.settings(AT), rules="country=US&produce=900000")
    farm.record(FarmSet(settings=settings), at=AT)
    files, text = said()
    assert "May apply Produce Safety Rule" in text
    assert "Training: 0 in the last year" in text
    assert "Defer to local codes and licensed practice." in text
    rows = {row["rule"]: row for row in csv.DictReader(io.StringIO(files["rules.csv"].decode("utf-8-sig")))}
    produce = next(row for rule, row in rows.items() if rule.startswith("Produce Safety Rule"))
    assert (produce["leaning"], "900 000 USD" in produce["because"]) == ("may apply", True)
    assert "Training" in produce["records asked for"]


def test_a_text_in_the_pack_says_what_every_column_holds_in_the_farms_language(farm: Farm) -> None:
    for kind in KINDS:
        values = {each.name: 0.0 if each.number else "so" for each in kind.fields}
        farm.write_record(kind.name, values, area="here", at=AT)
    settings = msgspec.structs.replace(farm.settings(AT), rules="country=EU")
    farm.record(FarmSet(settings=settings), at=AT)
    washed = Washed(pool="mesh mat", count=2, soap="dish soap", rinse_c=40.0, left_out=("rinse hot",))
    sanitised = Sanitised(
        pool="mesh mat", count=2, agent="as labelled", strength_ppm=80.0, contact_min=2.0, water_c=20.0
    )
    seen = farm.inspection(*MONTH, at=AT + DAY)
    kit = [msgspec.structs.replace(seen.records[0], kind=KIT, record=kit_record(body)) for body in (washed, sanitised)]
    pack = msgspec.structs.replace(seen, records=(*seen.records, *kit))
    spanish = Tongues().of("es_ES")
    tongue = on_paper(spanish, Names([]).sayer(spanish.sayings, spanish.locale))
    for speaks, name in ((ENGLISH, "read-me.txt"), (tongue, "leeme.txt")):
        files = pack_files(pack, farm.settings(AT), tongue=speaks)
        text = files[name].decode("utf-8-sig")
        assert ("all records to read" in text) is (speaks is ENGLISH)
        for sheet in (each for each in files if each.endswith(".csv")):
            part = text.partition(f"\n{sheet}: ")[2].partition("\r\n\r\n")[0]
            for column in next(csv.reader(io.StringIO(files[sheet].decode("utf-8-sig")))):
                words = part.partition(f"\n  {column}: ")[2].partition("\r\n")[0]
                assert words, (name, sheet, column)
                # A name of a column alone explains nothing, and English is no Spanish.
                assert speaks is ENGLISH or words != column.partition(" [")[0], (sheet, column)


@pytest.mark.parametrize(
    ("noted", "said"),
    [
        ("Alarm cold-1.high.20261122T1315.", "Alarm of cold-1, 2026-11-22 13:15 +00:00"),
        ("Alarm bell rang.", "Alarm bell rang."),
    ],
)
def test_an_alarm_in_a_pack_is_told_by_its_sensor_and_moment(farm: Farm, noted: str, said: str) -> None:
    pdfium = pytest.importorskip("pypdfium2")
    farm.write_record("cold room", {"temperature": 4.0}, note=noted, at=AT)
    sheet = inspection_sheet(farm.inspection(*MONTH, at=AT + DAY), farm.settings(AT))
    assert said in " ".join(pdfium.PdfDocument(sheet)[0].get_textpage().get_text_bounded().split())
