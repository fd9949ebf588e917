"""Promises of the book that hold for any sequence of things said at the desk, on a real file.

Two desks on one book take turns, as two phones do. Commands are drawn against the state as it stands, so that most can
be; the others are refused and must change nothing. Some are told late, and some of what was said is struck.
"""

from __future__ import annotations

import tempfile
import threading
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import TypeVar

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from trayward.bootstrap import Farm
from trayward.desk import core
from trayward.errors import TraywardError
from trayward.farm.codec import encode_state
from trayward.farm.entries import LineDelivered, LotGrams
from trayward.farm.fold import fold
from trayward.farm.orders import LineAsked
from trayward.farm.state import FarmState

START = datetime(2026, 11, 23, 8, 0, tzinfo=UTC)
PROPERTY = settings(
    max_examples=8,
    deadline=None,
    derandomize=True,
    database=None,
    suppress_health_check=list(HealthCheck),
    # A run takes a second: add Phase.shrink to make a failing one short.
    phases=(Phase.explicit, Phase.generate),
)
Choice = tuple[int, int, int]
CHOICES = st.lists(st.tuples(st.integers(0, 63), st.integers(0, 31), st.integers(0, 31)), min_size=60, max_size=140)
CROPS = ("radish", "broccoli", "mustard", "daikon", "pea")
Thing = TypeVar("Thing")


def pick(things: Iterable[Thing], number: int) -> Thing | None:
    listed = list(things)
    return listed[number % len(listed)] if listed else None


class Day:
    """What is said on one run: the desk that says it, the moment, when it is told, and what is drawn."""

    def __init__(self, farm: Farm, at: datetime, told: datetime, a: int, b: int) -> None:
        self.farm, self.at, self.a, self.b = farm, at, a, b
        self.state: FarmState = farm.state(at)
        self.said = {"at": at, "recorded": told, "sure": True}

    def tray(self, *fates: str) -> list[str]:
        """One tray of these fates, if there is one; now and then any name at all."""
        if self.b == 31:
            return ["261123A.1"]
        found = pick((tray.tray for tray in self.state.trays.values() if tray.fate in fates), self.a)
        return [found] if found else []


def sow(day: Day) -> None:
    day.farm.sow(CROPS[day.a % len(CROPS)], 1 + day.b % 4, grams_per_tray=10.0 + day.a, **day.said)


def answer(day: Day) -> None:
    cue, moisture = ("ready", "not yet", None)[day.b % 3], ("dry", "moist")[day.a % 2]
    day.farm.answer(day.tray("growing"), cue=cue, moisture=moisture, **day.said)


def go_on(day: Day) -> None:
    day.farm.answer(day.tray("growing"), cue="ready", **day.said)


def finish(day: Day) -> None:
    day.farm.begin(day.tray("growing"), "ready", **day.said)


def water(day: Day) -> None:
    day.farm.water(day.tray("growing"), float(day.b), **day.said)


def move(day: Day) -> None:
    spot = pick((spot for shelf in day.state.shelves.values() for spot in shelf.spot_names()), day.a * 7 + day.b)
    day.farm.move({tray: str(spot) for tray in day.tray("growing")}, **day.said)


def discard(day: Day) -> None:
    day.farm.discard(day.tray("growing"), "mould", **day.said)


def cut(day: Day) -> None:
    ready = [tray for tray in day.state.growing() if tray.stage == "ready"] or day.state.growing()[:1]
    chosen = pick(ready, day.a)
    day.farm.cut({chosen.tray: 100.0 / (1 + day.b)} if chosen else {}, regrow=day.b % 7 == 0, **day.said)


def strip(day: Day) -> None:
    day.farm.strip(day.tray("cut", "discarded"), **day.said)


def wash(day: Day) -> None:
    day.farm.wash(str(pick(day.state.kit, day.a)), day.b if day.b % 2 else None, **day.said)


def sanitise(day: Day) -> None:
    day.farm.sanitise(str(pick(day.state.kit, day.a)), "as on the label", day.b if day.b % 3 == 0 else None, **day.said)


def order(day: Day) -> None:
    unit = ("g", "trays", "g")[day.b % 3]
    lines = [LineAsked(line="1", product=CROPS[day.a % len(CROPS)], quantity=1 + day.b // 3, unit=unit)]
    day.farm.place_order("Upside Ladle", day.at.date() + timedelta(days=day.a % 2), lines, **day.said)


def cancel(day: Day) -> None:
    day.farm.cancel_order(str(pick(day.state.orders, day.a)), **day.said)


def pack(day: Day) -> None:
    lot = pick((lot for lot in day.state.harvests.values() if lot.left_g > 0), day.a)
    product = lot.crop if lot and day.b % 4 else "fire mix"
    day.farm.pack(product, 1 + day.b % 3, pack_g=(lot.left_g if lot else 100.0) / 3, **day.said)


def deliver(day: Day) -> None:
    due = day.farm.due(day.at.date(), day.at.date() + timedelta(days=1), at=day.at)
    line = pick((line for line in due if line.customer == "Upside Ladle"), day.b)
    trays = day.tray("growing") if line is not None and line.live else []
    day.farm.deliver_due("Upside Ladle", line.due if line else date(2026, 1, 1), trays=trays, **day.said)


def hand_over(day: Day) -> None:
    lot = pick(day.state.harvests.values(), day.a)
    loose = (LotGrams(harvest=lot.harvest, grams=lot.left_g / 3),) if lot else ()
    line = LineDelivered(line=f"{pick(day.state.orders, day.b)}/1", loose=loose, trays=tuple(day.tray("growing")))
    day.farm.deliver("Upside Ladle", [line], **day.said)


def throw(day: Day) -> None:
    lot = pick(day.state.harvests.values(), day.a)
    day.farm.throw_away({lot.harvest: lot.left_g / (1 + day.b % 3)} if lot else {}, "wilted", **day.said)


def weigh(day: Day) -> None:
    lot = pick(day.state.seed.values(), day.a)
    day.farm.weigh_seed(lot.lot if lot else "none", 30.0006 + 17.3 * day.b, **day.said)


def strike(day: Day) -> None:
    said = [kept.entry.id for kept in day.farm.book.entries() if kept.entry.at > START]
    day.farm.strike(str(pick(said, day.a * 31 + day.b)), "it was another tray", **day.said)


COMMANDS: tuple[Callable[[Day], None], ...] = (
    *(sow, sow, sow, answer, go_on, go_on, go_on, finish, finish, finish, water, move, move, discard, cut, cut, cut),
    *(strip, strip, wash, wash, sanitise, order, order, cancel, pack, pack, deliver, deliver, hand_over, throw, weigh),
    strike,
)


def holds_together(state: FarmState) -> None:
    """What may never be, whatever was said."""
    trays = [*state.trays.values(), *state.ended.values()]
    standing = [(tray.spot, tray.tray) for tray in trays if tray.spot is not None]
    assert len({spot for spot, _ in standing}) == len(standing), "no spot holds two trays"
    assert dict(standing) == state.spots, "the spots mirror the trays"
    held: Counter[str] = Counter()
    for tray in trays:
        held.update(tray.kit)
    for name, pool in state.kit.items():
        assert pool.in_use == held[name], "kit in use is what the trays hold"
        assert min(pool.in_use, pool.dirty, pool.away, pool.washed, *(batch.count for batch in pool.drying), 0) == 0
    short = {finding.code for finding in state.findings} & {"seed-short", "lot-on-order"}
    assert short or all(lot.left_g >= 0 for lot in state.seed.values()), "no seed below zero without a finding"
    assert all(0 <= lot.left_g <= lot.grams + 1e-6 for lot in state.harvests.values())
    assert all(0 <= lot.left <= lot.packs for lot in state.packs.values())


class Season:
    """Two desks on one book, and what came of each command."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "farm.book"
        self.desks = (Farm.create(self.path, "loft", at=START), Farm.open(self.path))
        self.now = START + timedelta(minutes=1)
        self.seen: Counter[str] = Counter()

    def say(self, choice: Choice) -> None:
        which, a, b = choice
        farm = self.desks[(which + b) % 2]
        self.now += timedelta(minutes=13 * b)
        late = timedelta(hours=1 + b) if a % 9 == 0 else timedelta(0)
        at = max(START + timedelta(minutes=1), self.now - late)
        command = COMMANDS[which % len(COMMANDS)]
        before, head = encode_state(farm.state(self.now)), farm.book.head()
        try:
            command(Day(farm, at, self.now, a, b))
            self.seen[command.__name__] += 1
            self.seen["late"] += at < self.now
        except TraywardError:
            self.seen["refused"] += 1
            assert farm.book.head() == head, "a refused command keeps nothing"
            assert encode_state(farm.state(self.now)) == before, "a refused command changes nothing"
        holds_together(farm.state(self.now))

    def close(self) -> None:
        for farm in self.desks:
            farm.close()


def state_in(path: Path, at: datetime) -> bytes:
    with Farm.open(path) as again:
        return encode_state(again.state(at))


def live(folder: Path, choices: list[Choice]) -> Counter[str]:
    """Say it all, then hold the book to its promises."""
    season = Season(folder)
    for choice in choices:
        season.say(choice)
    farm, other = season.desks
    for number in range(core.CHECKPOINT_EVERY):
        farm.note(f"evening {number}", at=season.now)
    end = encode_state(farm.state(season.now))
    assert encode_state(other.state(season.now)) == end, "both desks see the same farm"
    assert encode_state(fold(farm.book.timeline(), struck=farm.book.struck())) == end, "from scratch"

    assert farm.book.checkpoint() is not None
    assert state_in(season.path, season.now) == end, "opened again, from a checkpoint"
    then = START + (season.now - START) / 2
    past = encode_state(fold(farm.book.timeline(until=then), struck=farm.book.struck()))
    assert state_in(season.path, then) == past, "as it was half-way, by what is known today"

    farm.export(folder / "book.jsonl")
    farm.export(folder / "sheets", csv=True)
    for number, source in enumerate(("book.jsonl", "sheets")):
        copy = folder / f"copy-{number}.book"
        kept, already = Farm.take_in(copy, folder / source)
        assert (kept, already) == (farm.book.head().seq, 0)
        assert state_in(copy, season.now) == end, f"out to {source} and in again"

    assert farm.book.verify() == []
    farm.book.rebuild()
    assert farm.book.checkpoint() is None
    assert state_in(season.path, season.now) == end, "rebuilt"
    season.close()
    return season.seen


@PROPERTY
@given(CHOICES)
def test_whatever_is_said_the_book_gives_the_same_farm_every_way_it_is_read(choices: list[Choice]) -> None:
    with tempfile.TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.setattr(core, "CHECKPOINT_EVERY", 7)
        live(Path(folder), choices)


def test_a_long_season_reaches_every_corner(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The property above would say little about a farm where nothing ever grew."""
    monkeypatch.setattr(core, "CHECKPOINT_EVERY", 7)
    number, choices = 7, []
    for _ in range(400):
        number = (number * 1103515245 + 12345) % 2**31
        choices.append(((number >> 16) % 64, (number >> 10) % 32, (number >> 5) % 32))
    seen = live(tmp_path, choices)
    rare = {command.__name__: seen[command.__name__] for command in COMMANDS if seen[command.__name__] < 2}
    assert rare == {}, seen
    assert seen["late"] >= 10, seen
    assert seen["refused"] >= 20, seen


# Two at once ----------------------------------------------------------------------------------------------------------


def test_two_phones_that_answer_at_once_lose_nothing_and_agree(tmp_path: Path) -> None:
    path = tmp_path / "farm.book"
    with Farm.create(path, "shelf", at=START) as farm:
        trays = farm.sow("broccoli", 2, at=START).names[1:]
    said: list[list[str]] = [[], []]
    states: list[bytes] = [b"", b""]
    begin, done = threading.Barrier(2), threading.Barrier(2)

    def walk(phone: int) -> None:
        with Farm.open(path) as mine:
            begin.wait(timeout=5)
            for number in range(25):
                # Now and then one clock is behind the other, so that some of it arrives late.
                at = START + timedelta(minutes=number + 3 * phone)
                receipt = mine.answer([trays[phone]], moisture="dry", water_ml=10.0 + number, at=at)
                said[phone] += [kept.entry.id for kept in receipt.kept]
            done.wait(timeout=20)
            states[phone] = encode_state(mine.state(START + timedelta(hours=1)))

    phones = [threading.Thread(target=walk, args=(phone,)) for phone in (0, 1)]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join(timeout=30)
    with Farm.open(path) as farm:
        assert [len(ids) for ids in said] == [50, 50], "an answer and its water, 25 times each"
        assert all(farm.book.get(name) for ids in said for name in ids)
        assert states == [encode_state(farm.state(START + timedelta(hours=1)))] * 2
        assert farm.book.verify() == []
        assert farm.state(START + timedelta(hours=1)).findings == []


def test_two_phones_that_sow_at_once_take_names_and_spots_of_their_own(tmp_path: Path) -> None:
    path = tmp_path / "farm.book"
    Farm.create(path, "loft", at=START).close()
    begin = threading.Barrier(2)
    names: list[str] = []

    def walk(crop: str) -> None:
        with Farm.open(path) as mine:
            begin.wait(timeout=5)
            names.extend(mine.sow(crop, 2, at=START).names[0] for _ in range(6))

    phones = [threading.Thread(target=walk, args=(crop,)) for crop in ("radish", "broccoli")]
    for phone in phones:
        phone.start()
    for phone in phones:
        phone.join(timeout=30)
    with Farm.open(path) as farm:
        state = farm.state(START)
        assert sorted(names) == sorted(state.sowings)
        assert (len(names), len(state.spots)) == (12, 24)
        assert [found for found in state.findings if found.severity == "wrong"] == []
