"""Languages: which one a page is in, its catalogue, and how it writes days, times and numbers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from functools import lru_cache
from gettext import NullTranslations
from pathlib import Path

import msgspec

from trayward.rounds.words import between
from trayward.web.look.said import Sayings
from trayward.web.look.shapes import PART, plain_words, read_shapes


def later(words: str) -> str:
    """Words that a template translates where it shows them: marked here, so that the catalogues have them."""
    return words


STAGES = (later("soak"), later("germinate"), later("blackout"), later("light"), later("ready"))
"""What the stages of the standard recipes are called; a grower's own are shown as they were named."""

NAMED_BELOW = (
    later("morning"), later("evening"), later("mesh tray"), later("mesh mat"), later("solid tray"), later("cover"),
    later("sowing table"), later("packing table"), later("cold room"), later("wash place"),
    later("dark spots"), later("lit spots"), later("day off"),
)  # fmt: skip
"""Names that rooms below give to rounds, kit, places and limits; templates translate them where they show them."""

WORDS = Path(__file__).parents[1] / "words"
"""The catalogues: `es.po` holds the Spanish."""

NAMES = {"en": "English", "es": "Español"}
"""Languages there are, each called as those who speak it call it."""

REGIONS = {
    "en": ("en_GB", "en_US", "en_CA", "en_AU", "en_NZ", "en_IE"),
    "es": ("es_ES", "es_MX", "es_US", "es_AR", "es_CL", "es_CO"),
}
"""Ways of writing days and numbers, by language; the first where nobody says."""


class Tongue(msgspec.Struct, frozen=True, kw_only=True, dict=True):
    """A language with a region's ways of writing."""

    locale: str
    words: NullTranslations
    sayings: Sayings | None = None
    """What makes sentences of the rooms below this language's; None in English, which they speak."""

    def said(self, sentence: str) -> str:
        """A sentence of the rooms below in this language; as it is where its shape is not known."""
        return sentence if self.sayings is None else self.sayings.said(sentence)

    @property
    def language(self) -> str:
        """As HTML's `lang` wants it: `en`, `es`."""
        return self.locale[:2]

    @property
    def tag(self) -> str:
        """As HTML's `lang` wants it, with the region: `en-GB`."""
        return self.locale.replace("_", "-")

    def gettext(self, words: str, **values: object) -> str:
        """Words of ours in this language, with `%(name)s` filled in."""
        found = self.words.gettext(words)
        return found % values if values else found

    def ngettext(self, one: str, many: str, number: int, **values: object) -> str:
        """Words for a count, which stands in them as `%(num)s`."""
        return self.words.ngettext(one, many, number) % {"num": number, **values}

    def day(self, day: date, *, year: bool = False) -> str:
        """
        A day in few letters: `Thu 26 Nov`.

        Examples
        --------
        >>> from gettext import NullTranslations
        >>> Tongue(locale="en_GB", words=NullTranslations()).day(date(2026, 11, 26))
        'Thu 26 Nov'
        """
        return _day(day, "yMMMEd" if year else "MMMEd", self.locale)

    def month(self, day: date) -> str:
        """The month and year of a day, spelt out."""
        return _day(day, "yMMMM", self.locale)

    def weekday(self, day: date) -> str:
        """The day of the week, spelt out."""
        return _day(day, "EEEE", self.locale)

    def short_weekday(self, day: date) -> str:
        """The day of the week in few letters."""
        return _day(day, "EEE", self.locale)

    def clock(self, local: datetime) -> str:
        """A time of day: `06:10`, `6:10 am`."""
        return _clock(local.replace(second=0, microsecond=0, tzinfo=None), self.locale)

    def number(self, shown: str) -> str:
        """
        Figures as a region writes them: the point of decimals put right in words like `12.5 g`.

        Examples
        --------
        >>> from gettext import NullTranslations
        >>> Tongue(locale="es_ES", words=NullTranslations()).number("12.5 g")
        '12,5 g'
        """
        mark = _decimal_mark(self.locale)
        return shown if mark == "." else re.sub(r"(?<=\d)\.(?=\d)", mark, shown)

    def span(self, low: str, high: str) -> str:
        """A range of two figures with their unit: `640 to 910 g`."""
        _ = self.gettext
        return between(low, high, _("%(low)s to %(high)s"))


class Tongues:
    """Every language there is, read when first asked for."""

    def __init__(self, folder: Path = WORDS) -> None:
        self._folder = folder
        self._known: dict[str, Tongue] = {}
        self._catalogues: dict[str, NullTranslations] = {}

    def of(self, locale: str) -> Tongue:
        """The language of a locale."""
        if locale not in self._known:
            plain = Tongue(locale=locale, words=self._words(locale[:2]))
            self._known[locale] = msgspec.structs.replace(plain, sayings=self._sayings(plain))
        return self._known[locale]

    def _sayings(self, tongue: Tongue) -> Sayings | None:
        """What the rooms below say, in a language that is not theirs."""
        if tongue.language == "en":
            return None
        shapes = read_shapes(self._folder / f"{tongue.language}-said.po")
        words = plain_words(self._folder / f"{tongue.language}.po")
        parts = read_shapes(self._folder / f"{tongue.language}-said.po", PART)
        weekday = tongue.short_weekday
        return Sayings(shapes, words, number=tongue.number, day=tongue.day, weekday=weekday, parts=parts)

    def choose(self, chosen: str, accepted: str) -> Tongue:
        """
        What a person chose, or what the browser asks for, or English.

        Parameters
        ----------
        chosen : str
            A language or locale: `es`, `en-US`; unknown ones are passed over.
        accepted : str
            An Accept-Language header (RFC 9110, section 12.5.4).
        """
        wanted = accepted_languages(accepted)
        first = _locale_of(chosen)
        if first is None:
            return self.of(next(filter(None, map(_locale_of, wanted)), REGIONS["en"][0]))
        if len(chosen) > 2:
            return self.of(first)
        # A bare language says nothing of the region: the browser's, where it is one of the same language.
        ours = (found for found in map(_locale_of, wanted) if found and found[:2] == chosen)
        return self.of(next(ours, first))

    def _words(self, language: str) -> NullTranslations:
        if language not in self._catalogues:
            self._catalogues[language] = read_catalogue(self._folder / f"{language}.po")
        return self._catalogues[language]


def read_catalogue(path: Path) -> NullTranslations:
    """A catalogue of translated words, from its source, with no step of building. What it lacks stays English."""
    if not path.is_file():
        return NullTranslations()
    from io import BytesIO

    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po
    from babel.support import Translations

    with path.open("rb") as file:
        catalogue = read_po(file, locale=path.stem)
    made = BytesIO()
    write_mo(made, catalogue)
    made.seek(0)
    return Translations(made)


def accepted_languages(header: str) -> Sequence[str]:
    """
    Languages of an Accept-Language header, the most wanted first.

    Examples
    --------
    >>> accepted_languages("en;q=0.8, es-MX, *;q=0.1")
    ('es-MX', 'en')
    """
    found: list[tuple[float, int, str]] = []
    for place, part in enumerate(header.split(",")[:20]):
        name, _, rest = part.strip().partition(";")
        quality = re.fullmatch(r"\s*q=([01](?:\.\d{0,3})?)\s*", rest)
        weight = float(quality[1]) if quality else 1.0
        if weight > 0 and re.fullmatch(r"[A-Za-z]{2,3}(?:-[A-Za-z0-9]{2,8})*", name.strip()):
            found.append((-weight, place, name.strip()))
    return tuple(name for _, _, name in sorted(found))


def _locale_of(wanted: str) -> str | None:
    language, _, region = wanted.replace("_", "-").partition("-")
    known: Iterable[str] = REGIONS.get(language.lower(), ())
    full = f"{language.lower()}_{region.upper()}"
    return full if full in known else next(iter(known), None)


@lru_cache(4096)
def _day(day: date, skeleton: str, locale: str) -> str:
    from babel.dates import format_date, format_skeleton

    if skeleton in ("EEEE", "EEE"):
        return format_date(day, skeleton, locale=locale)
    return format_skeleton(skeleton, day, locale=locale)


@lru_cache(4096)
def _clock(local: datetime, locale: str) -> str:
    from babel.dates import format_time

    # Babel puts a narrow no-break space before "am"; it is not in every system's font.
    return format_time(local, "short", locale=locale).replace("\u202f", "\u00a0")


@lru_cache(64)
def _decimal_mark(locale: str) -> str:
    from babel.numbers import get_decimal_symbol

    return get_decimal_symbol(locale)
