"""The way to a first farm, one question a screen: what each step asks, proposes and reads."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date, time
from typing import NamedTuple
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from trayward.desk.setup.first import (
    GROWN_FIRST,
    FirstFarm,
    FirstPlaces,
    FirstSeed,
    crops_offered,
    kit_proposed,
)
from trayward.errors import InputError
from trayward.farm.places import Lamp
from trayward.farm.settings import METRIC, US, ShownUnits
from trayward.web.typed import Typed

MEDIA = ("mesh mat", "coir", "soil", "hemp mat", "paper")
HOME_MINUTES, SELLING_MINUTES = "45 min", "4 h"
"""Hands' work a day that is proposed: our choice."""

Words = Mapping[str, str]


class Guess(NamedTuple):
    """What is proposed because of the browser's language."""

    us: bool = False
    currency: str = "EUR"


class Step(NamedTuple):
    """One screen."""

    name: str
    fields: tuple[str, ...]
    """Names of its fields; one that ends in `_` stands for all that begin so."""
    read: Callable[[Typed], object]
    propose: Callable[[Typed, Guess], Words]

    def owns(self, field: str) -> bool:
        """Whether a field is asked on this screen."""
        return any(field == own or (own.endswith("_") and field.startswith(own)) for own in self.fields)


# Reading --------------------------------------------------------------------------------------------------------------


def _kind(typed: Typed) -> str:
    return typed.choice("kind", ("shelf", "racks"))


def _name(typed: Typed) -> str:
    name = typed.need("name", "Give the farm a name; it can be changed later.")
    if len(name) > 80:
        raise InputError("name", f"{len(name)} letters", "must not be longer than 80 letters", "Take a shorter one.")
    return name


def read_zone(typed: Typed) -> str:
    """A time zone of the IANA data base."""
    name = typed.need("timezone", "Choose the town nearest to you.")
    try:
        ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError) as error:
        rule = "is no zone of the IANA time zone database"
        raise InputError("timezone", name, rule, "For instance Europe/Dublin.") from error
    return name


def read_currency(typed: Typed) -> str:
    """Three capital letters."""
    code = typed.text("currency", "EUR").upper()
    if len(code) != 3 or not code.isascii() or not code.isalpha():
        raise InputError("currency", code, "must be three letters (ISO 4217)", "For instance EUR.")
    return code


def read_units(typed: Typed) -> ShownUnits:
    """Metric, or those of the United States."""
    return US if typed.choice("units", ("metric", "us")) == "us" else METRIC


def _habits(typed: Typed) -> tuple[ShownUnits, str, str, float]:
    energy = typed.number("energy", 0.0, 100.0) if typed.has("energy") else 0.0
    return read_units(typed), read_zone(typed), read_currency(typed), energy


def _places(typed: Typed) -> FirstPlaces:
    return _one_shelf(typed) if _kind(typed) == "shelf" else _racks(typed)


def _one_shelf(typed: Typed) -> FirstPlaces:
    return FirstPlaces(
        lit_spots=typed.whole("trays", 1, 200), dark_spots=typed.whole("dark", 1, 200), lamp=read_lamp(typed)
    )


def _racks(typed: Typed) -> FirstPlaces:
    shelves, dark = typed.whole("shelves", 2, 20), typed.whole("dark_shelves", 1, 19)
    if dark >= shelves:
        raise InputError("dark_shelves", dark, "at least one shelf must have light", "Say fewer dark shelves.")
    spots = typed.whole("spots", 1, 200)
    return FirstPlaces(
        racks=typed.whole("racks", 1, 60),
        dark=dark,
        dark_spots=spots,
        lit=shelves - dark,
        lit_spots=spots,
        stack=typed.whole("stack", 1, 26) if typed.has("stack") else 1,
        lamp=read_lamp(typed),
    )


def read_lamp(typed: Typed) -> Lamp | None:
    """The lamps over a shelf; None for daylight."""
    if typed.choice("lamp", ("yes", "no")) == "no":
        return None
    hours = typed.number("hours", 0.0, 24.0) if typed.has("hours") else 16.0
    return Lamp(
        count=typed.whole("lamps", 1, 100) if typed.has("lamps") else 1,
        watts=typed.number("watts", 0.0, 2000.0) if typed.has("watts") else 0.0,
        umol_s=typed.number("umol_s", 0.0, 10_000.0) if typed.has("umol_s") else None,
        hours=hours,
    )


def _medium(typed: Typed) -> str:
    return typed.choice("medium", MEDIA)


def field_of(prefix: str, name: str) -> str:
    """
    The field of a thing with a name of its own.

    Examples
    --------
    >>> field_of("seed", "red cabbage")
    'seed_red_cabbage'
    """
    return f"{prefix}_{name.replace(' ', '_')}"


def _kit(typed: Typed) -> tuple[tuple[str, int], ...]:
    pools = [pool for pool, _ in kit_proposed(_places(typed), _medium(typed))]
    return tuple((pool, typed.whole(field_of("kit", pool), 0, 100_000)) for pool in pools)


def _crops(typed: Typed) -> tuple[str, ...]:
    known = tuple(offered.crop for offered in crops_offered(_medium(typed)))
    chosen = typed.all("crop")
    for crop in chosen:
        if crop not in known:
            raise InputError("crop", crop, "is not one of those offered", "Choose from the list.")
    if not chosen:
        raise InputError("crop", "none", "a farm grows something", "Choose at least one; more can come later.")
    return chosen


def _seed(typed: Typed) -> tuple[FirstSeed, ...]:
    bought = [crop for crop in _crops(typed) if typed.has(field_of("seed", crop))]
    return tuple(_lot(typed, crop) for crop in bought)


def _lot(typed: Typed, crop: str) -> FirstSeed:
    comes, germination, tsw = (field_of(name, crop) for name in ("comes", "germ", "tsw"))
    grams = typed.mass(field_of("seed", crop))
    if not 0 < grams < 1e7:
        raise InputError(field_of("seed", crop), f"{grams:g}", "must be more than 0", "Weigh it.", "g")
    return FirstSeed(
        crop=crop,
        grams=grams,
        germination=read_live(typed, germination) if typed.has(germination) else None,
        tsw_g=typed.mass(tsw) if typed.has(tsw) else None,
        comes=typed.day(comes) if typed.has(comes) else None,
    )


def read_live(typed: Typed, field: str) -> float:
    """A share that sprouts: `92 %`, `92`, `46 of 50`. [-]"""
    words = typed.text(field)
    bare = words.replace(".", "", 1).isdecimal() and float(words) > 1
    share = Typed([(field, f"{words} %")]).share(field) if bare else typed.share(field)
    if not 0 < share <= 1:
        raise InputError(field, words, "must lie between 1 % and 100 %", "It is on the bag, or test it.")
    return share


def read_clock(typed: Typed, field: str) -> time:
    """A time of day, as a time field sends it: `07:30`."""
    words = typed.need(field, "For instance 07:00.")
    try:
        return time.fromisoformat(words.zfill(5)).replace(second=0, microsecond=0, tzinfo=None)
    except ValueError as error:
        raise InputError(field, words, "must be a time of day", "For instance 07:00.") from error


def read_days_off(typed: Typed) -> tuple[int, ...]:
    """Weekdays off, Monday is 0."""
    return tuple(int(day) for day in typed.all("off") if day in tuple("0123456"))


def _day(typed: Typed) -> tuple[time, time | None, float, tuple[int, ...]]:
    morning = read_clock(typed, "morning")
    evening = read_clock(typed, "evening") if typed.has("evening") else None
    if evening is not None and evening <= morning:
        raise InputError("evening", f"{evening:%H:%M}", "comes before the morning's", "Say a later time.")
    work = typed.minutes("work")
    if not 0 < work <= 24 * 60:
        raise InputError("work", f"{work:g}", "must lie between 1 min and 24 h", "Say one day's work.", "min")
    return morning, evening, work, read_days_off(typed)


def _who(typed: Typed) -> tuple[bool, str]:
    sells = typed.choice("who", ("home", "sell")) == "sell"
    return sells, typed.text("customer") if sells else ""


# Proposing ------------------------------------------------------------------------------------------------------------


def _nothing(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {}


def _habits_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {"units": "us" if guess.us else "metric", "timezone": "UTC", "currency": guess.currency}


def _places_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    light = {"lamp": "yes", "lamps": "2", "watts": "", "hours": "16"}
    if typed.text("kind") == "shelf":
        return {"trays": "4", "dark": "4", **light}
    return {"racks": "1", "shelves": "5", "dark_shelves": "1", "spots": "4", "stack": "3", **light}


def _kit_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {field_of("kit", pool): str(count) for pool, count in kit_proposed(_places(typed), _medium(typed))}


def _day_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    work = HOME_MINUTES if typed.text("kind") == "shelf" else SELLING_MINUTES
    return {"morning": "07:00", "evening": "19:00", "work": work}


def _medium_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {"medium": MEDIA[0]}


def _crops_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {"crop": "\n".join(GROWN_FIRST)}


def _who_proposed(typed: Typed, guess: Guess) -> Words:  # noqa: ARG001
    return {"who": "home" if typed.text("kind") == "shelf" else "sell"}


LIGHT = ("lamp", "lamps", "watts", "umol_s", "hours")
STEPS = (
    Step("kind", ("kind",), _kind, _nothing),
    Step("name", ("name",), _name, _nothing),
    Step("habits", ("units", "timezone", "currency", "energy"), _habits, _habits_proposed),
    Step(
        "places",
        ("trays", "dark", "racks", "shelves", "dark_shelves", "spots", "stack", *LIGHT),
        _places,
        _places_proposed,
    ),
    Step("medium", ("medium",), _medium, _medium_proposed),
    Step("kit", ("kit_",), _kit, _kit_proposed),
    Step("crops", ("crop",), _crops, _crops_proposed),
    Step("seed", ("seed_", "germ_", "tsw_", "comes_"), _seed, _nothing),
    Step("day", ("morning", "evening", "work", "off"), _day, _day_proposed),
    Step("who", ("who", "customer"), _who, _who_proposed),
    Step("check", (), lambda typed: first_farm(typed), _nothing),
)
"""In the order in which they are asked."""
NAMES = tuple(step.name for step in STEPS)
ABOUT = ("step", "go", "then", "was", "_key", "_from", "_form", "lang")
"""Fields that say where one is, not what the farm is like."""


def step_named(name: str) -> Step:
    """A step; the first one where there is none of that name."""
    return STEPS[NAMES.index(name)] if name in NAMES else STEPS[0]


def first_farm(typed: Typed) -> FirstFarm:
    """Everything that was asked, read. Raises `InputError` for the first field that cannot be read."""
    units, timezone, currency, energy = _habits(typed)
    morning, evening, work, off = _day(typed)
    sells, customer = _who(typed)
    return FirstFarm(
        name=_name(typed), timezone=timezone, units=units, currency=currency, energy_kwh=energy,
        places=_places(typed), medium=_medium(typed), kit=_kit(typed), crops=_crops(typed), seed=_seed(typed),
        morning=morning, evening=evening, work_minutes=work, days_off=off, sells=sells, customer=customer,
    )  # fmt: skip


def in_own_units(typed: Typed) -> Typed:
    """The same words, bare numbers read in the units chosen on the way."""
    return Typed(typed.words, units=US if typed.text("units") == "us" else METRIC)


class Screen(NamedTuple):
    """The step to show."""

    step: Step
    error: InputError | None
    """What was wrong with what was typed into it."""


def screen_for(typed: Typed) -> Screen:
    """
    The step that is asked for, or the first one before it that cannot be read yet.

    `step` names the screen that was filled in, `go` where to: next, back, or nowhere; `then=check` leads back to the
    summary from a step that is mended there.
    """
    at = NAMES.index(step_named(typed.text("step")).name)
    aim = _aim(typed, at)
    for step in STEPS[:aim]:
        try:
            step.read(typed)
        except InputError as error:
            sent = step.name in typed.all("was") or (typed.text("go") == "next" and step.name == NAMES[at])
            return Screen(step, error if sent else None)
    return Screen(STEPS[aim], None)


def _aim(typed: Typed, at: int) -> int:
    if typed.text("go") == "back":
        return max(0, at - 1)
    if typed.text("go") == "next":
        return len(STEPS) - 1 if typed.text("then") == "check" else min(at + 1, len(STEPS) - 1)
    return at


def words_shown(step: Step, typed: Typed, guess: Guess) -> dict[str, tuple[str, ...]]:
    """What the step's fields hold: what was typed, else what is proposed."""
    if step.name in typed.all("was"):
        own = {name: typed.all(name) for name, _ in typed if step.owns(name)}
        if own or step.name == "crops":
            return own
    return {name: tuple(words.split("\n")) for name, words in step.propose(typed, guess).items()}


def words_carried(step: Step, typed: Typed) -> list[tuple[str, str]]:
    """What the other steps hold, to be sent along."""
    kept = [(name, word) for name, word in typed if not step.owns(name) and name not in ABOUT and word.strip()]
    was = dict.fromkeys((*typed.all("was"), step.name))
    return [*kept, *(("was", name) for name in was)]


def guess_for(locale: str, today: date) -> Guess:
    """Units and money of the place that a locale names, as in `en_IE`."""
    from babel.numbers import get_territory_currencies

    territory = locale.partition("_")[2]
    if not territory:
        return Guess()
    money: Iterable[str] = get_territory_currencies(territory, start_date=today)
    return Guess(us=territory == "US", currency=next(iter(money), "EUR"))
