"""The kinds of hygiene record, each with its fields, and what public rules ask, as data.

A row says where it is from and how far that was checked: nothing here says which law applies to a farm. Defer to local
codes and licensed practice.

References
----------
21 CFR part 112 (Produce Safety Rule), sections as named in each row; a row says "from memory" where its text was not
read. Regulation (EC) 852/2004, Annex I, Part A III, records of primary production (plant list from memory).
"""

from __future__ import annotations

import math
from datetime import date
from typing import Final, Literal

import msgspec

from trayward.errors import InputError, NotFoundError
from trayward.farm.records import Habit
from trayward.units import parse_minutes, parse_temperature, require_one_meaning

Unit = Literal["", "C", "ppm", "min", "in 100 ml"]
CHECKED: Final = date(2026, 11, 25)
"""When the sources of the rows were last checked."""
KEEP_YEARS: Final = 2
"""112.164, from memory: 2 years past creation. Local authorities may ask for more."""
REVIEW_DAYS: Final = 7
"""Where a review is asked for the rule says "within a reasonable time" (112.161(b)); these are our choice. [d]"""
CHEMICALS: Final = (
    "Never mix chlorine with acid or ammonia. Add agent to water, never water to agent; gloves, goggles, fresh air. "
    "The product's label is the law for its user; defer to it, to local codes and to licensed practice."
)
"""The usual caution beside agents (the first sentence and the label: as the digest of rules; the rest common practice,
no source)."""
DEFER: Final = (
    "Which rules apply to a farm of your size and place is not for this tool to say. Defer to local codes and licensed "
    "practice."
)


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """Something a record of a kind says."""

    name: str
    title: str
    unit: Unit = ""
    number: bool = False
    required: bool = False
    high: float | None = None
    """The most by the row's source, until the farm sets its own."""
    steady: bool = False
    """Usually the same from one time to the next, so that it is offered again; never what was found or measured."""


class Kind(msgspec.Struct, frozen=True, kw_only=True):
    """A kind of record."""

    name: str
    title: str
    who: str
    """Who keeps it."""
    when: str
    fields: tuple[Field, ...]
    corrective: str = ""
    """What is usually done where something was not right; empty: nothing is asked."""
    review: bool = False
    """Whether the rule asks that a supervisor reviews, dates and signs it."""
    area: bool = False
    """Whether it has to say where."""
    source: str = ""
    seen: bool = True
    """False: from memory, confirm before relying on it."""
    caution: str = ""
    keep_years: int = KEEP_YEARS

    def field(self, name: str) -> Field:
        """A field by its name or its title. Raises `NotFoundError`."""
        asked = name.strip().casefold()
        for each in self.fields:
            if asked in (each.name, each.title.casefold()):
                return each
        known = tuple(each.name for each in self.fields)
        raise NotFoundError("field", name, known, f"See: trayward record kinds {self.name!r}")


def _words(name: str, title: str, *, required: bool = False) -> Field:
    return Field(name=name, title=title, required=required)


def _steady(name: str, title: str, *, required: bool = False) -> Field:
    return Field(name=name, title=title, required=required, steady=True)


def _figure(name: str, title: str, unit: Unit = "", *, required: bool = False, high: float | None = None) -> Field:
    return Field(name=name, title=title, unit=unit, number=True, required=required, high=high)


_STRENGTH = _figure("strength", "Strength measured", "ppm")
_CONTACT = _figure("contact", "Contact time", "min")
_PH = _figure("ph", "pH")

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        name="cold room", title="Cold room temperature", who="whoever reads it", when="as often as the farm sets",
        fields=(_figure("temperature", "Temperature", "C", required=True), _steady("thermometer", "Thermometer")),
        corrective="hold or move what is in it; have it mended; read it again", area=False,
        source="common practice, no source; the limit is the farm's own",
    ),
    Kind(
        name="cleaning", title="Cleaning and sanitising", who="whoever does it",
        when="each cleaning of tools used to harvest, pack or hold; rooms as the farm sets",
        fields=(
            _steady("item", "What was cleaned", required=True), _steady("cleaner", "Cleaner", required=True),
            _steady("sanitiser", "Sanitiser"), _STRENGTH, _CONTACT, _figure("water", "Water temperature", "C"),
        ),
        corrective="clean it again; hold affected lots", review=True, area=True,
        source="21 CFR 112.140(b), duties 112.123(d)", caution=CHEMICALS,
    ),
    Kind(
        name="chemical use", title="Chemical use", who="whoever uses it", when="each use",
        fields=(
            _steady("product", "Product", required=True), _steady("registration", "Registration number"),
            _words("product lot", "Lot of the product"), _words("dose", "Dose", required=True),
            _figure("target", "Target strength", "ppm"), _STRENGTH, _PH, _CONTACT,
        ),
        corrective="correct the dose; hold affected lots", area=True,
        source="product label; Reg. (EC) 852/2004 Annex I Part A III", seen=False, caution=CHEMICALS,
    ),
    Kind(
        name="water test", title="Water test", who="sampler and laboratory",
        when="untreated ground water at or after harvest, for hands or contact surfaces: 4 times in the first season "
        "or year, then yearly while clean, 4 again after a failure",
        fields=(
            _steady("point", "Sample point", required=True), _steady("method", "Method", required=True),
            _steady("laboratory", "Laboratory"),
            _steady("water source", "Source of the water"), _steady("use", "Used for"),
            _words("sampled", "Day of sampling"),
            _figure("e. coli", "Generic E. coli found", "in 100 ml", required=True, high=0.0),
        ),
        corrective="stop the use; fix it; test again", review=True,
        source="21 CFR 112.50(b)(5), methods 112.151; limit and times 112.44(a), (b) from memory", seen=False,
    ),
    Kind(
        name="public supply", title="Public water supply", who="grower", when="yearly",
        fields=(
            _steady("supplier", "Supplier", required=True),
            _words("document", "Results or certificate", required=True),
        ),
        source="21 CFR 112.50(b)(6), 112.44(c) from memory",
    ),
    Kind(
        name="water inspection", title="Water system inspection", who="grower", when="start of season, at least yearly",
        fields=(
            _words("source", "Source", required=True), _words("control", "Your control over it", required=True),
            _words("protection", "Protection", required=True), _words("land", "Nearby land", required=True),
            _words("distribution", "Distribution", required=True), _words("findings", "Findings", required=True),
        ),
        corrective="repair and date", source="21 CFR 112.42(a), 112.50(b)(1)",
    ),
    Kind(
        name="water assessment", title="Assessment of water for growing", who="grower", when="yearly and on change",
        fields=(
            _words("factors", "Factors weighed", required=True), _words("outcome", "Outcome", required=True),
            _words("action", "Action", required=True),
        ),
        corrective="mitigation, expedited where needed", review=True, source="21 CFR 112.43, 112.50(b)(2)",
    ),
    Kind(
        name="water action", title="Action about water", who="grower", when="on event",
        fields=(_words("wrong", "What was wrong", required=True), _words("done", "What was done", required=True)),
        corrective="the record itself", review=True, source="21 CFR 112.45, 112.50(b)(7)",
    ),
    Kind(
        name="water treatment", title="Water treatment", who="grower", when="as often as needed",
        fields=(
            _steady("method", "Method", required=True), _figure("free chlorine", "Free chlorine", "ppm"), _PH, _CONTACT,
        ),
        corrective="change of dose", review=True, source="21 CFR 112.46, 112.50(b)(10)-(11), partly seen",
        caution=CHEMICALS,
    ),
    Kind(
        name="amendment", title="Soil amendment of animal origin", who="grower",
        when="on receipt, and at least yearly from a third party",
        fields=(
            _words("product", "Product and supplier", required=True),
            _words("certificate", "Certificate: process valid, monitored, stored apart", required=True),
            _words("made here", "Made on the farm: time, temperature, turnings"),
        ),
        corrective="reject it or compost again", source="21 CFR 112.60(b), intervals 112.56. "
        "Peat, coir and mineral media are none; ask for the fertiliser and compost",
    ),
    Kind(
        name="seed certificate", title="Seed certificate", who="whoever receives seed", when="on receipt",
        fields=(
            _words("supplier", "Supplier", required=True), _words("supplier lot", "Supplier's lot", required=True),
            _words("document", "Document number", required=True), _words("says", "What it says", required=True),
            _words("treated", "Treated with"),
        ),
        corrective="send it back, or keep it from eating crops", source="common practice, no source",
    ),
    Kind(
        name="training", title="Training", who="each person handling produce or surfaces, and supervisors",
        when="on hiring, then at least once a year; again when practice slips",
        fields=(
            _words("persons", "Persons trained", required=True), _words("topics", "Topics covered", required=True),
            _words("trainer", "Trainer"),
        ),
        corrective="retraining and reason", review=True, source="21 CFR 112.21(a), 112.30(b); topics 112.22",
    ),
    Kind(
        name="supervisor", title="Responsible supervisor", who="one named person; one with standardised training",
        when="once, renewed on change",
        fields=(
            _words("name", "Name", required=True), _words("course", "Course"),
            _words("course date", "Date of the course"),
        ),
        source="21 CFR 112.22(c), 112.23", seen=False,
    ),
    Kind(
        name="illness or visitor", title="Illness and visitors", who="all", when="on event",
        fields=(
            _words("who", "Who, by initials", required=True),
            _words("what", "Excluded, returned or visited; no medical detail", required=True),
            _words("returned", "Day of return"),
        ),
        source="21 CFR 112.31-112.33, headings; no record is prescribed: good practice without medical detail",
    ),
    Kind(
        name="pest", title="Pests", who="whoever looks", when="as often as the farm sets",
        fields=(
            _words("found", "What was found", required=True), _words("traps", "Traps looked at"),
            _words("done", "What was done"),
        ),
        corrective="close the way in; clean; hold affected lots", area=True,
        source="21 CFR 112.124-112.134; Reg. (EC) 852/2004 Annex I Part A III", seen=False,
    ),
    Kind(
        name="yearly review", title="Yearly review of eligibility", who="supervisor", when="yearly, by an exempt farm",
        fields=(
            _words("years", "Sales years looked at", required=True),
            _words("sums", "Sums and where they are from", required=True),
            _words("outcome", "Outcome", required=True),
        ),
        review=True, source="21 CFR 112.7(b), reviewed by 112.161(b)", keep_years=4,
    ),
)  # fmt: skip
"""In the order of how often they are kept. Batch records of sprouts (112.142-112.150) are for sprout growers only, and
left out. The yearly review is kept while it supports the status, which reaches over 3 sales years: 4 are our choice."""

HEADER: Final = (
    "farm name and location", "date and time of the activity", "actual values and observations",
    "description of produce", "growing or other area", "person who did it", "made at the time",
    "accurate, legible, indelible", "supervisor review",
)  # fmt: skip
"""What every record shows (21 CFR 112.161)."""


def kind_named(name: str) -> Kind:
    """A kind by its name or its title. Raises `NotFoundError`."""
    asked = " ".join(name.replace("-", " ").split()).casefold()
    for each in KINDS:
        if asked in (each.name, each.title.casefold()):
            return each
    raise NotFoundError("record kind", name, tuple(each.name for each in KINDS), "See: trayward record kinds")


def known_kind(name: str) -> Kind | None:
    """A kind by its name exactly, as the book has it; None for one that this table does not have (any more)."""
    return next((each for each in KINDS if each.name == name), None)


def title_of(kind: str) -> str:
    """A kind's title; of one that is not known, its name."""
    known = known_kind(kind)
    return known.title if known is not None else kind


def limits_of(field: Field, habit: Habit | None) -> tuple[float | None, float | None]:
    """The least and the most that is within the limits: the farm's own where it set any, else those of the source."""
    own = next((limit for limit in habit.limits if limit.field == field.name), None) if habit is not None else None
    return (own.low, own.high) if own is not None else (None, field.high)


def read_value(field: Field, said: str | float, *, temperature: str = "C") -> float | str:
    """
    What was said for a field, in its own unit.

    Raises
    ------
    InputError
        If a figure is wanted and none is there, or it carries another unit.

    Examples
    --------
    >>> read_value(Field(name="temperature", title="Temperature", unit="C", number=True), "41 F")
    5.0
    """
    if not field.number:
        return " ".join(str(said).split())
    if isinstance(said, str) and field.unit == "C":
        return _possible(field, round(parse_temperature(said, default=temperature, name=field.name), 2))
    if isinstance(said, str) and field.unit == "min":
        return parse_minutes(said, name=field.name)
    return _possible(field, _number(field, said))


COLDEST_C, HOTTEST_C = -60.0, 120.0
"""Of any room, water or oven that a record is about; beyond it a figure is mistyped. Our choice. [C]"""


def _possible(field: Field, value: float) -> float:
    low, high = COLDEST_C, HOTTEST_C
    if field.unit == "C" and not low <= value <= high:
        rule = f"must lie in [{low:g}, {high:g}] {field.unit}"
        raise InputError(field.name, f"{value:g}", rule, "Check what was typed.", field.unit)
    return value


def _number(field: Field, said: str | float) -> float:
    require_one_meaning(str(said), name=field.name)
    words = str(said).strip().replace(",", ".")
    if field.unit and words.casefold().endswith(field.unit.casefold()):
        words = words[: -len(field.unit)].strip()
    try:
        value = float(words)
    except ValueError as error:
        rule = f"must be a number{f' in {field.unit}' if field.unit else ''}"
        raise InputError(field.name, said, rule, f"For instance 2{f' {field.unit}' if field.unit else ''}.") from error
    low_ok = field.unit == "C" or value >= 0
    if not math.isfinite(value) or not low_ok or (field.name == "ph" and value > 14):
        raise InputError(field.name, said, "cannot be", "Measure it again.", field.unit)
    return value
