"""The language of a sheet: the same words, numbers and days as the pages have, given to the paper from above.

Paper knows no catalogue. Who has one hands over a `Tongue`; without one a sheet is in English. What a farm's people
typed (names, notes, addresses, wording) is never put through it.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from gettext import NullTranslations

import msgspec

from trayward.dates import day_words
from trayward.farm.repeats import MONTH_NAMES
from trayward.rounds.words import between, likely_weight
from trayward.units import show_mass
from trayward.words import counted

ON_PAPER = "paper"
"""The context of a sheet's words in the catalogues: `From` heads a party there, and begins a span of days on a page."""


def _same(words: str) -> str:
    return words


def later(words: str) -> str:
    """Words that are translated where they are put on the sheet: marked here, so that the catalogues have them."""
    return words


def day_in_full(day: date) -> str:
    """
    A day on papers that are kept for years.

    Examples
    --------
    >>> day_in_full(date(2026, 11, 27))
    'Fri 27 Nov 2026'
    """
    return f"{day_words(day)} {day.year}"


def money_words(amount: Decimal) -> str:
    """
    An amount as it stands in a column, thousands set apart.

    Examples
    --------
    >>> money_words(Decimal("12345.60"))
    '12 345.60'
    """
    return f"{amount:,}".replace(",", " ")


def _month(day: date) -> str:
    return f"{MONTH_NAMES[day.month - 1]} {day.year}"


def _clock(local: datetime) -> str:
    return f"{local:%H:%M}"


class Tongue(msgspec.Struct, frozen=True, kw_only=True):
    """
    How a sheet says things.

    Examples
    --------
    >>> ENGLISH._("page %(number)s of %(pages)s", number=1, pages=2), ENGLISH.day(date(2026, 11, 27))
    ('page 1 of 2', 'Fri 27 Nov')
    """

    words: NullTranslations = NullTranslations()
    """The catalogue of our own words."""
    said: Callable[[str], str] = _same
    """A sentence of the rooms below in this language, the farm's own names left as they are."""
    number: Callable[[str], str] = _same
    """Figures in words such as `12.5 g`, with the region's mark of decimals."""
    day: Callable[[date], str] = day_words
    day_in_full: Callable[[date], str] = day_in_full
    plain_day: Callable[[date], str] = date.isoformat
    """A day in figures."""
    month: Callable[[date], str] = _month
    """The month and year of a day: `November 2026`."""
    clock: Callable[[datetime], str] = _clock
    """The time of day of a moment on the farm's clock."""
    moment: Callable[[datetime], str] = "{:%Y-%m-%d %H:%M}".format
    """A moment on the farm's clock with its day and year."""

    def _(self, words: str, **values: object) -> str:
        """Words of ours, with `%(name)s` filled in."""
        found = self.words.pgettext(ON_PAPER, words)
        return found % values if values else found

    def ngettext(self, one: str, many: str, number: int, **values: object) -> str:
        """Words for a count, which stands in them as `%(num)s`."""
        return self.words.npgettext(ON_PAPER, one, many, number) % {"num": number, **values}

    def counted(self, number: int, noun: str) -> str:
        """A count with its noun, one of the rooms' own: `4 trays`."""
        return self.said(counted(number, noun))

    def mass(self, grams: float, unit: str) -> str:
        """A weight [g] in a unit."""
        return self.number(show_mass(grams, unit))

    def weights_between(self, low_g: float, high_g: float, unit: str) -> str:
        """A range of likely weights [g] in a unit."""
        low, high = likely_weight(low_g, unit), likely_weight(high_g, unit)
        return self.number(between(low, high, self._("%(low)s to %(high)s")))

    def money(self, amount: Decimal) -> str:
        """An amount as it stands in a column."""
        return self.number(money_words(amount))


ENGLISH = Tongue()
"""What the rooms speak."""
