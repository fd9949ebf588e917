"""How a sum of the work table is declared: what it asks, in which words, and what it is given; for terminal and page.

A sum is a function that takes a `Given`, which leads to the farm where there is one, and what was typed; it gives an
`Answer`. Its fields stand above it, written as `option` and `argument`. The command line makes options of them, the
page makes fields of them, so both say the same words.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Literal, Protocol, TypeVar

import msgspec

from trayward.bench.types import Sheet
from trayward.errors import InputError
from trayward.farm.settings import METRIC, US, FarmSettings, ShownUnits

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from trayward.bootstrap import Farm
    from trayward.farm.state import FarmState
    from trayward.pictures.page import Picture
    from trayward.pictures.types import LightFigures

Work = TypeVar("Work", bound=Callable[..., Any])


class Given(Protocol):
    """What a sum may look at besides what was typed."""

    @property
    def has_farm(self) -> bool:
        """Whether there is a farm; a sum does without."""

    @property
    def farm(self) -> Farm:
        """The farm, where there is one."""

    @property
    def state(self) -> FarmState:
        """The farm at the moment meant."""

    @property
    def settings(self) -> FarmSettings:
        """The farm's settings."""

    @property
    def at(self) -> datetime:
        """The moment meant."""

    @property
    def now(self) -> datetime:
        """The present moment."""

    @property
    def zone(self) -> ZoneInfo:
        """The farm's time zone."""

    @property
    def today(self) -> date:
        """The farm's own day of the moment meant."""

    @property
    def units(self) -> ShownUnits:
        """The units the farm reads."""

    def text_in(self, name: str) -> str | None:
        """What a file of that name holds, where words may name one; None where they may not, or there is none."""


class Answer(msgspec.Struct, frozen=True, kw_only=True):
    """What a sum gives."""

    sheet: Sheet
    units: ShownUnits
    """What its values are shown in."""
    more: dict[str, Any] = {}
    """Figures for programs that no sheet holds: a map point by point."""
    figures: LightFigures | None = None
    """A map of light, which a page draws itself."""
    draw: Callable[[Any], Picture] | None = None
    """Draws it for a width: `desk` or `phone`."""


def answered(
    sheet: Sheet,
    units: ShownUnits,
    more: dict[str, Any] | None = None,
    *,
    figures: LightFigures | None = None,
    draw: Callable[[Any], Picture] | None = None,
) -> Answer:
    """An answer made of a sheet."""
    return Answer(sheet=sheet, units=units, more=more or {}, figures=figures, draw=draw)


# Fields ---------------------------------------------------------------------------------------------------------------


class Number(msgspec.Struct, frozen=True, kw_only=True):
    """A number is asked for."""

    whole: bool = False
    low: int | None = None
    high: int | None = None


class Choice(msgspec.Struct, frozen=True):
    """One of a few words is asked for."""

    words: tuple[str, ...]
    case_sensitive: bool = True


class TextFile(msgspec.Struct, frozen=True):
    """A file of text is asked for: its path on the command line, its text on a page."""


NUMBER = Number()
"""Any number."""
FILE = TextFile()


def whole(low: int, high: int | None = None) -> Number:
    """A whole number from `low` on, up to `high` where there is one."""
    return Number(whole=True, low=low, high=high)


class Field(msgspec.Struct, frozen=True, kw_only=True):
    """Something a sum asks for."""

    name: str
    """What the sum knows it by."""
    flags: tuple[str, ...] = ()
    """As typed on the command line: `--density`; none for what is typed bare."""
    type: Number | Choice | TextFile | None = None
    """None: words."""
    help: str = ""
    metavar: str = ""
    required: bool = False
    multiple: bool = False
    """May be said several times; the sum gets them all."""
    is_flag: bool = False
    default: Any = None
    show_default: bool = False

    @property
    def is_picture(self) -> bool:
        """Whether it only says where a picture is saved, which a page shows instead."""
        return self.flags in (("--picture",), ("--phone",))

    @property
    def switches(self) -> tuple[str, str] | None:
        """The two words of a field that is one or the other: `fahrenheit` and `celsius`."""
        on, _, off = (self.flags[0] if self.flags else "").partition("/")
        return (on.removeprefix("--"), off.removeprefix("--")) if off else None


def option(
    *names: str,
    type: Number | Choice | TextFile | None = None,  # noqa: A002
    metavar: str = "",
    help: str = "",  # noqa: A002
    required: bool = False,
    multiple: bool = False,
    is_flag: bool = False,
    default: Any = None,
    show_default: bool = False,
) -> Callable[[Work], Work]:
    """Declare a field with a name of its own: `--density`; a second word is what the sum knows it by."""
    flags = tuple(name for name in names if name.startswith("--"))
    own = next((name for name in names if not name.startswith("--")), "")
    name = own or flags[0].partition("/")[0].removeprefix("--").replace("-", "_").lower()
    return _declaring(
        Field(
            name=name, flags=flags, type=type, metavar=metavar, help=help, required=required, multiple=multiple,
            is_flag=is_flag, default=default, show_default=show_default,
        )
    )  # fmt: skip


def argument(
    name: str,
    *,
    type: Number | Choice | TextFile | None = None,  # noqa: A002
    nargs: int = 1,
    required: bool = True,
    default: Any = None,
) -> Callable[[Work], Work]:
    """Declare a field whose name is not typed on the command line. `nargs=-1`: as many as there are."""
    return _declaring(Field(name=name, type=type, required=required, multiple=nargs == -1, default=default))


def _declaring(field: Field) -> Callable[[Work], Work]:
    def declared(work: Work) -> Work:
        # Decorators run from the last to the first: each one's field goes before those there are.
        work.declared = [field, *getattr(work, "declared", [])]  # type: ignore[attr-defined]
        return work

    return declared


def fields_of(work: Callable[..., Any]) -> tuple[Field, ...]:
    """The fields declared above a function, in the order they are written."""
    return tuple(getattr(work, "declared", ()))


def typed_together(
    options: Sequence[Callable[[Any], Any]], what: str = "typed"
) -> Callable[[Callable[..., Answer]], Callable[..., Answer]]:
    """Give sums the same fields, in that order; each sum gets what was typed for them together."""

    def made(work: Callable[..., Answer]) -> Callable[..., Answer]:
        def call(given: Given, **values: Any) -> Answer:
            return work(given, **{what: {name: values.pop(name) for name in names}}, **values)

        own = list(fields_of(work))
        call.__doc__ = work.__doc__
        call.declared = own  # type: ignore[attr-defined]
        for declare in reversed(options):
            declare(call)
        names = [field.name for field in fields_of(call)[: len(fields_of(call)) - len(own)]]
        return call

    return made


US_OPTION = option("--us/--metric", "us", help="Ounces, cups, inches, F; the farm's units if left out. Example: --us.")
"""Every sum takes it."""
PICTURE = option(
    "--picture", metavar="FILE", help="Save a picture too, over an older one: PNG or SVG. Example: picture.svg."
)
PHONE = option("--phone", is_flag=True, help="Make the picture narrow, for a phone. Example: --phone.")


def drawn(work: Work) -> Work:
    """Say of a sum that its answer can be drawn."""
    return PICTURE(PHONE(work))


# Sums and benches -----------------------------------------------------------------------------------------------------


class Sum(msgspec.Struct, frozen=True, kw_only=True):
    """One sum of a bench."""

    name: str
    work: Callable[..., Answer]
    example: str
    """As typed on the command line."""
    fields: tuple[Field, ...]
    says: str
    """What it does, as its help says it."""


class Bench:
    """The sums of one subject.

    Parameters
    ----------
    name, says : str
        `seed`, and what it is for in a sentence.
    answers : sequence of (str, str)
        Each sum's name and what it answers, in the order of the work.
    """

    def __init__(self, name: str, says: str, answers: Sequence[tuple[str, str]]) -> None:
        self.name, self.says, self.answers = name, says, tuple(answers)
        self.sums: dict[str, Sum] = {}

    def add(self, name: str, *, example: str) -> Callable[[Callable[..., Answer]], Callable[..., Answer]]:
        """Make a sum of a function and put it on the bench."""

        def made(work: Callable[..., Answer]) -> Callable[..., Answer]:
            says = work.__doc__ or ""
            self.sums[name] = Sum(name=name, work=work, example=example, fields=fields_of(work), says=says)
            return work

        return made


# What a sum asks of what it is given ----------------------------------------------------------------------------------


def units_of(given: Given, us: bool | None) -> ShownUnits:
    """The units asked for; else the farm's where there is one; else metric ones."""
    if us is not None:
        return US if us else METRIC
    return given.units if given.has_farm else METRIC


class Pasted(msgspec.Struct, frozen=True):
    """The text of a file that was sent, in place of its path."""

    text: str


def text_of(file: Any) -> str:
    """The text of a file: of its path, or as it was sent. Raises `InputError` where it cannot be read."""
    if isinstance(file, Pasted):
        return file.text
    try:
        return str(file.read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError:
        return str(file.read_text(encoding="latin-1"))
    except OSError as error:
        raise InputError("file", str(file), "it cannot be read", error.strerror or "") from error


BENCHES: tuple[Literal["seed", "water", "hygiene", "money", "light", "air", "growth"], ...] = (
    "seed", "water", "hygiene", "money", "light", "air", "growth",
)  # fmt: skip
"""Every bench, the ones used most first."""


def bench_named(name: str) -> Bench:
    """A bench by its name; its module is read only then. Raises `KeyError` where there is none."""
    from importlib import import_module

    if name not in BENCHES:
        raise KeyError(name)
    found = getattr(import_module(f"trayward.web.bench.sums.{name}"), name)
    assert isinstance(found, Bench)
    return found
