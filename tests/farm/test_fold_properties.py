"""Promises that hold for any sequence of entries, generated against the state as it stands.

`valid` commands are what a grower could do now: none of them may be found wrong. `wild` ones name anything at all, as
late and mistaken records do: they may be found wrong, and the promises still hold. Numbers drawn by hypothesis choose
among what there is, so that a failing sequence shrinks to a short one.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from datetime import date, timedelta

import msgspec
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.farm.told import START, Told, entry, lantern_loft
from trayward.farm.codec import decode_entry, decode_state, encode_entry, encode_state
from trayward.farm.entries import (
    Body,
    Cut,
    Delivered,
    Discarded,
    Entry,
    Fed,
    KitCounted,
    KitReturned,
    LineDelivered,
    LotGrams,
    Moved,
    OrderCancelled,
    OrderPlaced,
    PackCount,
    Packed,
    PlaceSet,
    RoundAnswered,
    Sanitised,
    SeedReceived,
    SeedTested,
    SeedUsed,
    SeedWeighed,
    SowingMade,
    StageChanged,
    Stripped,
    ThrownAway,
    TrayCut,
    TraySown,
    TroubleCleared,
    TroubleSeen,
    Washed,
    Watered,
)
from trayward.farm.fold import apply, check, fold
from trayward.farm.holds import hold_of, lot_held, pack_held
from trayward.farm.orders import LineAsked, Order
from trayward.farm.spots import free_spots, stage_of
from trayward.farm.state import FarmState, Tray

PROPERTY = settings(
    max_examples=60, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow], database=None
)
Choice = tuple[int, int, int]
CHOICES = st.lists(st.tuples(st.integers(0, 63), st.integers(0, 31), st.integers(0, 31)), min_size=30, max_size=90)


def pick(things, number: int):
    things = list(things)
    return things[number % len(things)] if things else None


# Valid commands: built from what there is -----------------------------------------------------------------------------


def sow(state: FarmState, a: int, b: int) -> Body | None:
    spots = free_spots(state, "dark", 3)[: 1 + a % 3]
    lot = pick((lot for lot in state.seed.values() if lot.left_g >= 10 and lot.expected_on is None), b)
    if not spots or lot is None:
        return None
    name = f"S{len(state.sowings)}"
    trays = tuple(TraySown(tray=f"{name}.{number}", spot=spot) for number, spot in enumerate(spots, 1))
    grams = min(lot.left_g, 7.0 + b)
    return SowingMade(sowing=name, recipe="radish on mat", trays=trays, lots=(SeedUsed(lot=lot.lot, grams=grams),))


def answer(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick(state.growing(), a)
    cue, moisture = pick(("ready", "not yet", None), b), pick(("dry", "moist", None), b // 3)
    return tray and RoundAnswered(trays=(tray.tray,), cue=cue, moisture=moisture, share_emerged=b / 31)


def water(state: FarmState, a: int, b: int) -> Body | None:
    trays = tuple(tray.tray for tray in state.growing()[: 1 + a % 4])
    return Watered(trays=trays, ml=30 + b) if trays else None


def feed(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick(state.growing(), a)
    return tray and Fed(trays=(tray.tray,), ml=300.0, ph=5.5 + b / 60, ec=1.2)


def go_on(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick(state.growing(), a)
    coming = tray and state.recipe_of(tray).next_stage(tray.stage)
    return StageChanged(trays=(tray.tray,), stage=coming.name) if tray and coming else None


def move(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick(state.growing(), a)
    if tray is None:
        return None
    stage = stage_of(state, tray)
    assert stage is not None
    spot = pick(free_spots(state, stage.ground, stage.stack), b)
    return spot and Moved(moves=(TraySown(tray=tray.tray, spot=spot),))


def swap(state: FarmState, a: int, b: int) -> Body | None:
    lit = [tray for tray in state.growing() if tray.stage in ("light", "ready") and str(tray.spot).startswith("A2")]
    one, two = pick(lit, a), pick(lit, b)
    if one is None or two is None or one is two:
        return None
    return Moved(moves=(TraySown(tray=one.tray, spot=two.spot), TraySown(tray=two.tray, spot=one.spot)))


def cut(state: FarmState, a: int, b: int) -> Body | None:
    ready = [tray for tray in state.growing() if tray.stage == "ready"][: 1 + a % 2]
    trays = tuple(TrayCut(tray=tray.tray, grams=120 + b) for tray in ready)
    name = f"H{len(state.harvests)}"
    return Cut(harvest=name, crop="radish", trays=trays, regrow=b % 5 == 0) if trays else None


def strip(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick((tray for tray in state.trays.values() if tray.fate == "cut"), a)
    return tray and Stripped(trays=(tray.tray,))


def discard(state: FarmState, a: int, b: int) -> Body | None:
    tray = pick(state.growing(), a)
    return tray and Discarded(trays=(tray.tray,), reason="mould")


def pack(state: FarmState, a: int, b: int) -> Body | None:
    lot = pick((lot for lot in state.harvests.values() if lot.left_g >= 50 and not lot_held(state, lot)), a)
    if lot is None:
        return None
    packs = 1 + b % int(lot.left_g // 50)
    parts = (LotGrams(harvest=lot.harvest, grams=packs * 50.0),)
    return Packed(pack=f"P{len(state.packs)}", product="radish", packs=packs, pack_g=50.0, parts=parts)


def order(state: FarmState, a: int, b: int) -> Body | None:
    name = f"O{len(state.orders) + len(state.cancelled_orders)}"
    lines = (LineAsked(line="1", product="radish", quantity=1 + a),)
    return OrderPlaced(order=Order(order=name, customer="Kite Cafe", due=date(2026, 12, 4), lines=lines))


def cancel(state: FarmState, a: int, b: int) -> Body | None:
    name = pick(state.orders, a)
    return name and OrderCancelled(order=name)


def deliver(state: FarmState, a: int, b: int) -> Body | None:
    line = f"{pick(state.orders, a) or 'O9'}/1"
    packs = pick((lot for lot in state.packs.values() if lot.left and not pack_held(state, lot.parts)), b)
    loose = pick((lot for lot in state.harvests.values() if lot.left_g > 0.1 and not lot_held(state, lot)), b)
    live = pick((tray for tray in state.growing() if not hold_of(tray)), b)
    went = (
        LineDelivered(line=line, packs=(PackCount(pack=packs.pack, packs=1 + b % packs.left),)) if packs else None,
        LineDelivered(line=line, loose=(LotGrams(harvest=loose.harvest, grams=loose.left_g / 3),)) if loose else None,
        LineDelivered(line=line, trays=(live.tray,)) if live else None,
    )
    chosen = went[a % 3]
    return chosen and Delivered(delivery="D", customer="Kite Cafe", lines=(chosen,))


def throw(state: FarmState, a: int, b: int) -> Body | None:
    lot = pick((lot for lot in state.harvests.values() if lot.left_g > 0.1), a)
    return lot and ThrownAway(parts=(LotGrams(harvest=lot.harvest, grams=lot.left_g / (1 + b % 3)),), reason="wilted")


def wash(state: FarmState, a: int, b: int) -> Body | None:
    pool = pick(state.kit.values(), a)
    kind = pick((Washed, KitReturned, KitCounted), b)
    return pool and kind(pool=pool.pool.name, count=1 + b)


def sanitise(state: FarmState, a: int, b: int) -> Body | None:
    return Sanitised(pool="tray", count=1 + a % 4, agent="as the label says")


def buy(state: FarmState, a: int, b: int) -> Body | None:
    coming = pick((lot for lot in state.seed.values() if lot.expected_on), a)
    if coming is not None and b % 2:
        return SeedReceived(lot=coming.lot, crop="radish", grams=50.5 + a)
    expected = date(2026, 12, 1) if b % 2 else None
    return SeedReceived(lot=f"L{len(state.seed)}", crop="radish", grams=40.0 + a, tsw_g=9.5, expected_on=expected)


def look_at_seed(state: FarmState, a: int, b: int) -> Body | None:
    lot = pick((lot for lot in state.seed.values() if lot.expected_on is None), a)
    if lot is None:
        return None
    if b % 2:
        return SeedTested(lot=lot.lot, sprouted=b, tested=32)
    return SeedWeighed(lot=lot.lot, grams=max(0.0, lot.left_g) * (1 - b / 100))


def suspect(state: FarmState, a: int, b: int) -> Body | None:
    """Mould seen on a tray now and then; half of what is held back is cleared again."""
    held = pick((tray for tray in (*state.trays.values(), *state.ended.values()) if hold_of(tray)), a)
    if held is not None and b % 2:
        return TroubleCleared(trays=(held.tray,), found="root hairs")
    tray = pick((tray for tray in state.growing() if not tray.cuts), a)
    return tray and TroubleSeen(trays=(tray.tray,), sign="white fuzz", share=b / 32, hold="suspected mould")


def widen(state: FarmState, a: int, b: int) -> Body | None:
    shelf = pick(state.shelves.values(), a)
    return shelf and PlaceSet(shelf=msgspec.structs.replace(shelf, spots=min(6, shelf.spots + 1)))


VALID: tuple[Callable[[FarmState, int, int], Body | None], ...] = (
    *(sow, sow, answer, water, feed, go_on, go_on, go_on, move, move, swap, cut, cut, strip, discard, pack, order),
    *(cancel, deliver, deliver, throw, wash, wash, sanitise, buy, look_at_seed, widen, suspect),
)


def valid(state: FarmState, choice: Choice) -> Body | None:
    which, a, b = choice
    return pick(VALID, which)(state, a, b)


# Wild commands: any name, any amount ----------------------------------------------------------------------------------


def wild(state: FarmState, choice: Choice) -> Body | None:
    """A record that got something wrong: a tray, spot, stage, lot or amount that does not fit the moment."""
    which, a, b = choice
    tray = pick((*state.trays, *state.ended, "nobody"), a)
    other = pick((*state.trays, *state.ended, "nobody"), b)
    spot = pick((*state.spots, "A1.1a", "A1.2b", "A2.1", "Z9", None), b)
    lot, harvest = pick((*state.seed, "no lot"), a), pick((*state.harvests, "no harvest"), a)
    amount = (b - 10) * 11.1
    sown = TraySown(tray=f"W{a}.{b}", spot=spot), TraySown(tray=tray, spot=spot)
    bodies = (
        SowingMade(sowing=f"W{a}", recipe="radish on mat", trays=sown, lots=(SeedUsed(lot=lot, grams=amount),)),
        SowingMade(sowing=f"W{b}", recipe=pick(("radish on mat", "none"), a), trays=sown[:1], lots=()),
        Moved(moves=(TraySown(tray=tray, spot=spot), TraySown(tray=other, spot=spot))),
        StageChanged(trays=(tray, other, tray), stage=pick(("germinate", "light", "ready", "fly"), b)),
        Discarded(trays=(tray, tray), reason="?"),
        Cut(
            harvest=harvest,
            crop=pick(("radish", "pea"), b),
            trays=(TrayCut(tray=tray, grams=amount),) * 2,
            regrow=b % 3 == 0,
        ),
        Stripped(trays=(tray, other)),
        Delivered(
            delivery="D",
            customer="Nobody",
            lines=(
                LineDelivered(line="O0/1", trays=(tray, other)),
                LineDelivered(line="?", loose=(LotGrams(harvest=harvest, grams=amount),)),
            ),
        ),
        Packed(pack="P0", product="?", packs=b - 5, pack_g=amount, parts=(LotGrams(harvest=harvest, grams=amount),)),
        ThrownAway(parts=(LotGrams(harvest=harvest, grams=amount),) * 2, reason="?"),
        Washed(pool=pick(("mat", "tray", "spoons"), a), count=b - 3),
        KitReturned(pool="tray", count=b),
        KitCounted(pool="mat", count=b - 3),
        SeedWeighed(lot=lot, grams=amount),
        SeedReceived(lot=lot, crop="radish", grams=amount),
        PlaceSet(shelf=msgspec.structs.replace(lantern_shelf(state, a), spots=b % 4, stack=1 + a % 3)),
        RoundAnswered(trays=(tray, other), cue="not yet", height_mm=amount),
        Watered(trays=(tray,), ml=amount),
    )
    return pick(bodies, which)


def lantern_shelf(state: FarmState, number: int):
    return pick(state.shelves.values(), number) or lantern_loft().state.shelves["A1"]


# Playing --------------------------------------------------------------------------------------------------------------


def play(choices: list[Choice], make: Callable[[FarmState, Choice], Body | None]) -> Told:
    told = lantern_loft()
    for choice in choices:
        body = make(told.state, choice)
        if body is not None:
            told.say(body, hours=choice[2] / 2)
    return told


def either(state: FarmState, choice: Choice) -> Body | None:
    which, a, _ = choice
    return wild(state, choice) if (which + a) % 3 == 0 else valid(state, choice)


def trays_of(state: FarmState) -> list[Tray]:
    return [*state.trays.values(), *state.ended.values()]


def holds_together(state: FarmState) -> None:
    """What no record, however late or mistaken, may break."""
    standing = [(tray.spot, tray.tray) for tray in trays_of(state) if tray.spot is not None]
    assert len({spot for spot, _ in standing}) == len(standing), "no spot holds two trays"
    assert dict(standing) == state.spots, "the spots mirror the trays"
    assert not set(state.trays) & set(state.ended), "a tray is here or done with"
    assert set(state.spots) <= {spot for shelf in state.shelves.values() for spot in shelf.spot_names()}
    held: Counter[str] = Counter()
    for tray in trays_of(state):
        held.update(tray.kit)
    for name, pool in state.kit.items():
        assert pool.in_use == held[name], "kit in use is what the trays hold"
        assert min(pool.in_use, pool.dirty, pool.away, pool.washed, *(b.count for b in pool.drying), 0) == 0
    assert all(not tray.kit and tray.spot is None for tray in state.ended.values())
    assert all(tray.spot is None for tray in state.trays.values() if tray.fate != "growing")
    short = {finding.code for finding in state.findings} & {"seed-short", "lot-on-order"}
    assert short or all(lot.left_g >= 0 for lot in state.seed.values()), "no seed below zero without a finding"
    assert all(0 <= lot.left_g <= lot.grams + 1e-6 for lot in state.harvests.values())
    off_trays = sum(tray.grams or 0.0 for tray in trays_of(state))
    assert sum(lot.grams for lot in state.harvests.values()) <= off_trays + 1e-6, "no crop that no tray gave"
    assert all(0 <= lot.left <= lot.packs for lot in state.packs.values())


@PROPERTY
@given(CHOICES)
def test_valid_commands_are_never_found_wrong(choices):
    told = play(choices, valid)
    assert [finding for finding in told.state.findings if finding.severity == "wrong"] == []
    holds_together(told.state)
    assert all(lot.left_g >= 0 for lot in told.state.seed.values())


@PROPERTY
@given(CHOICES)
def test_whatever_is_said_the_promises_hold_after_every_entry(choices):
    told = lantern_loft()
    for choice in choices:
        body = either(told.state, choice)
        if body is None:
            continue
        found = told.check(body)
        assert told.say(body) == found, "what check says is what apply keeps"
        holds_together(told.state)


@PROPERTY
@given(CHOICES)
def test_every_entry_written_and_read_again_folds_to_the_same_bytes(choices):
    told = play(choices, either)
    again = [decode_entry(encode_entry(said)) for said in told.entries]
    assert again == told.entries
    assert encode_state(fold(again)) == encode_state(told.state)


@PROPERTY
@given(CHOICES, st.integers(0, 60))
def test_a_checkpoint_anywhere_changes_nothing(choices, at):
    told = play(choices, either)
    cut_here = min(at, len(told.entries))
    start = decode_state(encode_state(fold(told.entries[:cut_here])))
    state = fold(told.entries[cut_here:], start=start)
    assert state == told.state
    assert [tray.tray for tray in state.growing()] == [tray.tray for tray in told.state.growing()]
    assert encode_state(state) == encode_state(told.state)


@PROPERTY
@given(CHOICES, st.lists(st.integers(0, 60), max_size=6))
def test_entries_that_arrive_late_or_are_struck_never_break_the_promises(choices, places):
    """Some entries are moved to another moment, as clocks that were wrong do, and some are struck."""
    told = play(choices, either)
    setup, grown = told.entries[:9], told.entries[9:]
    moved = [shifted(said, grown, place) for said, place in zip(grown, places, strict=False)]
    late = sorted([*moved, *grown[len(moved) :]], key=lambda said: said.at)
    struck = frozenset(said.id for number, said in enumerate(grown) if number in places)
    state = FarmState()
    for said in (*setup, *late):
        if said.id not in struck:
            apply(state, said)
            holds_together(state)
    assert fold([*setup, *late], struck=struck).findings == state.findings


def shifted(said: Entry, among: list[Entry], place: int) -> Entry:
    number = int(said.id.rpartition("-")[2])
    return entry(number, said.body, among[place % len(among)].at + timedelta(seconds=number % 50))


def test_the_generated_seasons_reach_every_corner():
    """The properties above would say little about a farm where nothing ever grew."""
    seen: Counter[str] = Counter()
    told = lantern_loft()
    number = 7
    for _ in range(4000):
        number = (number * 1103515245 + 12345) % 2**31
        choice = (number >> 16) % 64, (number >> 10) % 32, (number >> 5) % 32
        body = valid(told.state, choice)
        if body is not None:
            seen[body.KIND] += 1
            seen.update(finding.severity for finding in check(told.state, told.next(body)))
            told.say(body, hours=choice[2] / 2)
    assert seen["wrong"] == 0
    kinds = {"sowing made", "cut", "stripped", "packed", "delivered", "washed", "sanitised", "moved", "kit returned"}
    assert all(seen[kind] >= 10 for kind in kinds), seen
    fates = Counter(tray.fate for tray in told.state.ended.values())
    assert all(fates[fate] >= 10 for fate in ("cut", "discarded", "delivered")), fates
    assert told.state.horizon is not None
    assert told.state.horizon > START
    holds_together(told.state)
