"""What was typed and tapped on a row, read as an answer; and what came of it, in words."""

from __future__ import annotations

from collections.abc import Sequence

from trayward.desk.answering import Answered
from trayward.desk.others import Other
from trayward.errors import Finding, InputError
from trayward.farm.entries import Cut, Moved, RecordWritten, SowingMade, StageChanged, Washed, Watered
from trayward.farm.kit_marks import read_marks
from trayward.farm.settings import ShownUnits
from trayward.hygiene.kinds import known_kind
from trayward.hygiene.words import values_words
from trayward.rounds.entries.words import entry_words
from trayward.rounds.goods import owed_words
from trayward.rounds.told import RowSaid, RowTold
from trayward.rounds.words import sentence
from trayward.web.ask import Ask
from trayward.web.records.view import values_typed
from trayward.web.typed import Typed
from trayward.words import listed

WEIGHT = "grams-"
"""Begins the name of the field with a tray's weight."""

ROOT_HAIRS = "root hairs"
"""What suspected mould was instead, where a row to look close is answered so."""

LOOKS: dict[str, RowSaid] = {
    "ready": RowSaid(cue="ready"),
    "ready, dry": RowSaid(cue="ready", moisture="dry"),
    "not yet": RowSaid(cue="not yet"),
    "not yet, dry": RowSaid(cue="not yet", moisture="dry"),
    "moist": RowSaid(moisture="moist"),
    "dry": RowSaid(moisture="dry"),
    "seen": RowSaid(),
}
"""Answers of one tap about trays."""


def answer_of(form: Typed, told: RowTold, units: ShownUnits) -> RowSaid:
    """
    What a row's form says.

    Raises
    ------
    InputError
        If it says nothing, or a field cannot be read; it names the field.
    """
    tapped = form.choice("answer", (*LOOKS, "done", "cut", "throw", "problem"))
    problem, note = form.text("problem"), form.text("note")
    if tapped == "problem" and not (problem or note):
        raise InputError("problem", "nothing", "say what is wrong", "In a word, for instance: mould, fallen, uneven.")
    seen = LOOKS.get(tapped, RowSaid())
    return RowSaid(
        done=tapped == "done",
        throw=tapped == "throw",
        grams=weights_of(form, told) if tapped == "cut" else {},
        cue=seen.cue,
        moisture="dry" if form.ticked("dry") else seen.moisture,
        share_emerged=form.maybe(form.share, "share_emerged"),
        # At a look it is the height of the stand, not of the cut.
        height_mm=None if tapped == "cut" and told.kind == "look" else form.maybe(form.length, "height"),
        water_ml=form.maybe(form.volume, "water"),
        problem=problem,
        cleared=ROOT_HAIRS if tapped == "seen" and told.kind == "discard" else "",
        note=note,
        only=_only(form, told),
        spots=names_in(form.text("spots")),
        count=form.maybe(lambda name: form.whole(name, 1), "count"),
        grams_per_tray=form.maybe(form.mass, "seed"),
        agent=form.text("agent"),
        strength_ppm=form.maybe(lambda name: form.number(name, 0.0, 1e6), "strength"),
        contact_min=form.maybe(form.minutes, "contact"),
        water_c=form.maybe(form.temperature, "agent_water"),
        marks=read_marks(form.text("marks")),
        soap=form.text("soap"),
        rinse_c=form.maybe(form.temperature, "rinse"),
        values=values_typed(form, kind, units) if (kind := known_kind(told.record)) is not None else {},
        corrective=form.text("corrective"),
    )


def weights_of(form: Typed, told: RowTold) -> dict[str, float]:
    """The weight of each tray that was weighed; those left empty were not cut. [g]"""
    found = {tray: form.mass(f"{WEIGHT}{tray}") for tray in told.trays if form.has(f"{WEIGHT}{tray}")}
    if not found:
        raise InputError(
            "grams", "nothing", "a cut wants the weight of each tray", "Weigh each tray that was cut.", "g"
        )
    return found


def about_of(form: Typed, told: RowTold) -> tuple[str, ...]:
    """What a photo taken at a row shows: its trays, or what the job is about."""
    return tuple(f"tray:{tray}" for tray in _only(form, told) or told.trays) or told.job


def _only(form: Typed, told: RowTold) -> tuple[str, ...]:
    """The trays ticked, where that is not all of them."""
    ticked = form.all("only")
    return () if set(ticked) >= set(told.trays) else ticked


def names_in(text: str) -> tuple[str, ...]:
    """
    Names written with commas or spaces between them.

    Examples
    --------
    >>> names_in("E4.1, E4.4")
    ('E4.1', 'E4.4')
    """
    return tuple(part for part in text.replace(",", " ").split() if part)


# What came of it ------------------------------------------------------------------------------------------------------


def came_of(ask: Ask, told: RowTold, answered: Answered) -> str:
    """What was kept, in a short sentence."""
    receipt = answered.receipt
    if answered.as_words:
        return ask._("%(what)s: kept as a note, it was done already.", what=ask.say(told.do))
    if told.kind == "deliver" and told.due is not None:
        # The row names all that is due; what went out is what there was.
        owed = owed_words(ask.farm.state(ask.at), told.customer, told.due, ask.settings.units.mass)
        if owed:
            customer, owed = told.customer, ask.say(owed)
            return ask._("Kept what went out to %(customer)s. Still owed: %(owed)s.", customer=customer, owed=owed)
    if told.kind == "wash" and receipt.kept and all(isinstance(kept.entry.body, Washed) for kept in receipt.kept):
        # How many were washed may be others than were to be.
        return " ".join(ask.told(sentence(entry_words(kept.entry.body, ask.units))) for kept in receipt.kept)
    parts = [ask.say(told.do)]
    for kept in receipt.kept:
        body = kept.entry.body
        if isinstance(body, SowingMade):
            spots = listed([tray.spot for tray in body.trays if tray.spot] or ["the bench"], most=4)
            parts.append(ask._("sown as %(name)s on %(spots)s", name=body.sowing, spots=ask.say(spots)))
        elif isinstance(body, Cut):
            parts.append(ask.say(entry_words(body, ask.units)))
        elif isinstance(body, RecordWritten):
            parts.append(ask.say(values_words(body.record, ask.units)))
        elif isinstance(body, StageChanged):
            parts.append(ask._("now %(stage)s", stage=ask._(body.stage)))
        elif isinstance(body, Moved):
            spots = listed([move.spot for move in body.moves if move.spot], most=4)
            parts.append(ask._("to %(spots)s", spots=ask.say(spots)))
        elif isinstance(body, Watered):
            parts.append(ask._("water given"))
    return sentence(", ".join(parts)) if len(parts) > 1 else ask._("%(what)s: kept.", what=ask.say(told.do))


def others_findings(ask: Ask, others: Sequence[Other]) -> tuple[Finding, ...]:
    """That somebody else answered the row, too: who, when, what they said; and all of it, for who may take it back."""
    return tuple(
        Finding(code="answered-too", severity="odd", message=other_words(ask, other), remedy="",
                entries=_to_take_back(ask, other))
        for other in others
    )  # fmt: skip


def _to_take_back(ask: Ask, other: Other) -> tuple[str, ...]:
    """Entries of another answer with what it brought along; none where who asks may not take them back."""
    if not ask.may("run") and other.by != ask.who.name:
        return ()
    kept = ask.farm.book.get(other.ids[0])
    along = ask.farm.said_with(kept) if kept is not None else ()
    return tuple(dict.fromkeys((*other.ids, *(one.entry.id for one in along))))


def other_words(ask: Ask, other: Other) -> str:
    """Somebody else's answer: `Ada answered this row at 07:12, too: ...`."""
    said = "; ".join(ask.told_of(entry_words(body, ask.units), body) for body in other.bodies)
    time = ask.tongue.clock(ask.local(other.at))
    if other.by == ask.who.name:
        return ask._("You answered this row at %(time)s, too: %(said)s.", time=time, said=said)
    return ask._("%(who)s answered this row at %(time)s, too: %(said)s.", who=other.by, time=time, said=said)
