"""Units at the edges: what people type is read into one unit per quantity, and shown back in the farm's own.

Inside there is gram, millilitre, millimetre, degree Celsius, minute and a share from 0 to 1. A comma between digits is
a decimal comma (`12,5 g` is twelve and a half); `1,500` could be read two ways and is refused. Several amounts add up
(`1 lb 4 oz`), fractions may be written as `1/4`, `1 1/2` or `½`.

US customary spoons and cups: 1 US gallon = 231 cubic inches, 1 in = 25.4 mm, 1 lb = 453.59237 g (NIST Handbook 44,
Appendix C, from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from itertools import pairwise
from typing import TYPE_CHECKING

from trayward.errors import InputError

if TYPE_CHECKING:
    from decimal import Decimal

GRAMS_PER_POUND = 453.59237
GRAMS_PER_OUNCE = GRAMS_PER_POUND / 16
ML_PER_GALLON = 231 * 2.54**3
ML_PER_CUP = ML_PER_GALLON / 16
ML_PER_TABLESPOON = ML_PER_CUP / 16
ML_PER_TEASPOON = ML_PER_TABLESPOON / 3
MM_PER_INCH = 25.4

_NUMBER = re.compile(
    r"\s*(?P<sign>[-−+]?)\s*"
    r"(?:(?:(?P<whole>\d+)[ ]+)?(?P<top>\d+)\s*[/⁄]\s*(?P<bottom>\d+)"
    r"|(?P<glyphwhole>\d+)?\s*(?P<glyph>[½¼¾⅓⅔⅛])"
    r"|(?P<plain>\d+(?:[.,]\d+)?|[.,]\d+))"
)
_UNIT = re.compile(r"\s*(?P<unit>[°A-Za-zµ\"'%″]+\.?)?")
_TWO_WAYS = re.compile(r"(?<![\d.,])[1-9]\d{0,2}(?:,\d{3})+(?!\d)")
"""`1,500`: a thousand and a half, or one and a half? Asking costs less than a tray."""
OF = r"(?:(?:out\s+)?of|de)"
"""The word between some and the whole they are of, in English and Spanish; as a pattern."""
_LONGEST = 60
_GLYPHS = {"½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3, "⅛": 1 / 8}


def _named(*groups: tuple[str, float]) -> dict[str, float]:
    return {name: factor for names, factor in groups for name in names.split()}


_MASS = _named(
    ("g gram grams gr", 1.0),
    ("mg milligram milligrams", 0.001),
    ("kg kilo kilos kilogram kilograms", 1000.0),
    ("oz ounce ounces", GRAMS_PER_OUNCE),
    ("lb lbs pound pounds", GRAMS_PER_POUND),
)
_VOLUME = _named(
    ("ml millilitre millilitres milliliter milliliters cc", 1.0),
    ("cl", 10.0),
    ("dl", 100.0),
    ("l litre litres liter liters", 1000.0),
    ("tsp teaspoon teaspoons", ML_PER_TEASPOON),
    ("tbsp tbs tablespoon tablespoons", ML_PER_TABLESPOON),
    ("floz", ML_PER_CUP / 8),
    ("cup cups", ML_PER_CUP),
    ("pt pint pints", ML_PER_CUP * 2),
    ("qt quart quarts", ML_PER_CUP * 4),
    ("gal gallon gallons", ML_PER_GALLON),
)
_LENGTH = _named(
    ("mm millimetre millimetres millimeter millimeters", 1.0),
    ("cm centimetre centimetres centimeter centimeters", 10.0),
    ("m metre metres meter meters", 1000.0),
    ('in inch inches " ″', MM_PER_INCH),
    ("ft foot feet '", MM_PER_INCH * 12),
)
_TIME = _named(
    ("min mins minute minutes m", 1.0),
    ("h hr hrs hour hours", 60.0),
    ("d day days", 1440.0),
    ("s sec second seconds", 1 / 60),
)
_TEMPERATURE = _named(("c °c celsius degc", 1.0), ("f °f fahrenheit degf", 2.0))

_SHOWN_MASS = "g, kg, oz or lb"
_SHOWN_VOLUME = "ml, l, tsp, tbsp, fl oz, cup, pint, quart or gal"
_SHOWN_LENGTH = "mm, cm, m, in or ft"
_SHOWN_TIME = "min, h or d"


def _number(found: re.Match[str]) -> float:
    """The amount a number match stands for, sign included; NaN when a fraction divides by nothing."""
    if found["top"]:
        bottom = int(found["bottom"])
        amount = int(found["whole"] or 0) + int(found["top"]) / bottom if bottom else math.nan
    elif found["glyph"]:
        amount = int(found["glyphwhole"] or 0) + _GLYPHS[found["glyph"]]
    else:
        amount = float(found["plain"].replace(",", "."))
    return -amount if found["sign"] in {"-", "−"} else amount


def _parts(text: str) -> list[tuple[float, str]] | None:
    """Amounts with their units, in the order written; None when any of it cannot be read."""
    parts: list[tuple[float, str]] = []
    at = 0
    while at < len(text):
        found = _NUMBER.match(text, at)
        if found is None or math.isnan(amount := _number(found)):
            return None
        unit = _UNIT.match(text, found.end())
        assert unit is not None  # the unit pattern matches an empty string too
        parts.append((amount, (unit["unit"] or "").rstrip(".").lower()))
        at = unit.end()
    return parts or None


def _refuse(name: str, text: str, rule: str, remedy: str) -> InputError:
    return InputError(name, repr(text), rule, remedy)


def _read(name: str, text: str, remedy: str) -> list[tuple[float, str]] | None:
    """The parts of `text`, after refusing what is too long to be an amount or can be read two ways."""
    if len(text) > _LONGEST:
        raise _refuse(name, f"{text[:_LONGEST]}...", "is too long to be an amount", remedy)
    require_one_meaning(text, name=name, remedy=remedy)
    return _parts(re.sub(r"\bfl\.?\s*oz", "floz", text.strip(), flags=re.IGNORECASE))


def require_one_meaning(text: str, *, name: str, remedy: str = "") -> None:
    """Raise `InputError` for figures that can be read two ways: `1,500`."""
    if found := _TWO_WAYS.search(text):
        plain = found[0].replace(",", "")
        rule = f"can be read as {plain} or as a decimal number"
        raise _refuse(name, text, rule, f"Write {plain} without a mark, or a decimal point. {remedy}".rstrip())


def _sum(name: str, text: str, units: Mapping[str, float], default: str, accepted: str, example: str) -> float:
    """The amounts in `text` added up in the base unit; a bare number is in the `default` unit."""
    remedy = f"Accepted: {accepted}; for instance {example}. A bare number is {default}."
    parts = _read(name, text, remedy)
    if parts is None:
        raise _refuse(name, text, "must be a number with a unit", remedy)
    if any(amount < 0 for amount, _ in parts):
        raise _refuse(name, text, "must not be below zero", remedy)
    if len(parts) > 1 and not all(unit for _, unit in parts):
        raise _refuse(name, text, "has a number without its unit", remedy)
    sizes = [units.get(unit or default) for _, unit in parts]
    if None in sizes:
        unit = parts[sizes.index(None)][1]
        raise _refuse(name, text, f"has the unit {unit!r}, which is not one of this quantity", remedy)
    return _falling(name, text, [amount for amount, _ in parts], [size or 0.0 for size in sizes], remedy)


def _falling(name: str, text: str, amounts: list[float], sizes: list[float], remedy: str) -> float:
    """Add amounts whose units get smaller (`1 lb 4 oz`); any other order is a slip of the pen."""
    if any(later >= earlier for earlier, later in pairwise(sizes)):
        raise _refuse(name, text, "names its units out of order", remedy)
    total = sum(amount * size for amount, size in zip(amounts, sizes, strict=True))
    if not math.isfinite(total):
        raise _refuse(name, text, "is too large to be an amount", remedy)
    return total


def parse_volume(text: str, *, default: str = "ml", name: str = "volume") -> float:
    """
    Read a volume as people type it.

    Parameters
    ----------
    text : str
        For instance `450 ml`, `1/4 cup`, `1 1/2 tsp`, `2 tbsp`. US customary spoons, cups and gallons.
    default : str
        The unit of a bare number.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Volume. [ml]

    Raises
    ------
    InputError
        If it is not a number with a unit of volume, or is below zero.

    Examples
    --------
    >>> round(parse_volume("1/4 cup"), 2)
    59.15
    """
    return _sum(name, text, _VOLUME, default, _SHOWN_VOLUME, "`450 ml` or `1/4 cup`")


def parse_mass(text: str, *, density_g_per_ml: float | None = None, default: str = "g", name: str = "weight") -> float:
    """
    Read a weight as people type it; spoons and cups need the bulk density of the seed.

    Parameters
    ----------
    text : str
        For instance `20 g`, `0.75 oz`, `1 lb 4 oz`, `12,5 g`, `2 tbsp`.
    density_g_per_ml : float or None
        Bulk density of what is in the spoon; None: not known. [g/ml]
    default : str
        The unit of a bare number.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Mass. [g]

    Raises
    ------
    InputError
        If it is not a number with a unit of weight, is below zero, or is a volume and the density is not known.

    Examples
    --------
    >>> parse_mass("12,5 g")
    12.5
    >>> round(parse_mass("1 lb 4 oz"), 1)
    567.0
    """
    parts = _read(name, text, f"Accepted: {_SHOWN_MASS}, or a volume.") or []
    if not any(unit in _VOLUME for _, unit in parts):
        return _sum(name, text, _MASS, default, _SHOWN_MASS, "`20 g` or `1 lb 4 oz`")
    if density_g_per_ml is None:
        rule = "is a volume, and no bulk density is known to turn it into a weight"
        raise _refuse(name, text, rule, f"Weigh it ({_SHOWN_MASS}), or set the crop's bulk density in g/ml.")
    return parse_volume(text, name=name) * density_g_per_ml


def parse_length(text: str, *, default: str = "mm", name: str = "length") -> float:
    """
    Read a length as people type it.

    Parameters
    ----------
    text : str
        For instance `13 mm`, `2,5 cm`, `1/2 in`, `1 ft 3 in`.
    default : str
        The unit of a bare number.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Length. [mm]

    Raises
    ------
    InputError
        If it is not a number with a unit of length, or is below zero.

    Examples
    --------
    >>> parse_length("1/2 in")
    12.7
    """
    return _sum(name, text, _LENGTH, default, _SHOWN_LENGTH, "`13 mm` or `1/2 in`")


def parse_temperature(text: str, *, default: str = "C", name: str = "temperature") -> float:
    """
    Read a temperature as people type it.

    Parameters
    ----------
    text : str
        For instance `21 C`, `70 F`, `-3 °C`.
    default : str
        The unit of a bare number, `C` or `F`.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Temperature. [°C]

    Raises
    ------
    InputError
        If it is not one number with C or F, or lies below absolute zero.

    Examples
    --------
    >>> round(parse_temperature("70 F"), 2)
    21.11
    """
    remedy = f"Accepted: C or F; for instance `21 C` or `70 F`. A bare number is {default}."
    parts = _read(name, re.sub(r"°\s+|\bdeg(?:rees?)?\s*(?=[CcFf]\b)", "°", text), remedy)
    if parts is None or len(parts) != 1:
        raise _refuse(name, text, "must be one number with C or F", remedy)
    amount, unit = parts[0]
    scale = _TEMPERATURE.get(unit or default.lower())
    if scale is None:
        raise _refuse(name, text, f"has the unit {unit!r}, which is not a temperature", remedy)
    celsius = amount if scale == 1.0 else (amount - 32) * 5 / 9
    if not -273.15 <= celsius < math.inf:
        raise _refuse(name, text, "lies below absolute zero or is not a number", remedy)
    return celsius


def parse_minutes(text: str, *, default: str = "min", name: str = "time") -> float:
    """
    Read a length of time as people type it.

    Parameters
    ----------
    text : str
        For instance `90 min`, `3 h`, `1h30`, `1 h 30 min`, `2 d`.
    default : str
        The unit of a bare number.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Time. [min]

    Raises
    ------
    InputError
        If it is not a number with a unit of time, or is below zero.

    Examples
    --------
    >>> parse_minutes("1h30")
    90.0
    """
    short = re.fullmatch(r"\s*(\d{1,4})\s*h\s*([0-5]?\d)\s*", text, re.IGNORECASE)
    if short:
        return float(int(short[1]) * 60 + int(short[2]))
    return _sum(name, text, _TIME, default, _SHOWN_TIME, "`90 min` or `1h30`")


def parse_share(text: str, *, name: str = "share") -> float:
    """
    Read a share of a whole as people type it.

    Parameters
    ----------
    text : str
        For instance `80 %`, `0.8`, `43/50` or `43 of 50`.
    name : str
        What is asked for, for the error.

    Returns
    -------
    float
        Share, 0 to 1. [-]

    Raises
    ------
    InputError
        If it is none of these, or lies outside 0 to 1; a bare `80` is refused: it may be 80 % or 80 of something.

    Examples
    --------
    >>> parse_share("43 of 50")
    0.86
    """
    remedy = "Accepted: `80 %`, `0.8`, `43/50` or `43 of 50`."
    parts = _read(name, re.sub(rf"\s*\b{OF}\b\s*", "/", text, flags=re.IGNORECASE), remedy)
    if parts is None or len(parts) != 1 or parts[0][1] not in {"", "%", "percent"}:
        raise _refuse(name, text, "must be a share", remedy)
    share = parts[0][0] / (100 if parts[0][1] else 1)
    if not 0 <= share <= 1:
        rule = "must lie between 0 and 1, or between 0 % and 100 %"
        raise _refuse(name, text, rule, remedy)
    return share


def _digits(value: float, figures: int = 3) -> str:
    """A number with as many figures as a kitchen scale or a ruler gives, without an exponent."""
    if value == 0:
        return "0"
    places = figures - 1 - math.floor(math.log10(abs(value)))
    rounded = round(value, places)
    shown = f"{rounded:.{max(places, 0)}f}"
    shown = shown.rstrip("0").rstrip(".") if "." in shown else shown
    return "0" if shown in {"-0", ""} else shown


def show_number(value: float, figures: int = 4) -> str:
    """
    A number with so many figures, without an exponent.

    Examples
    --------
    >>> show_number(20000.0), show_number(186.78), show_number(4305564.2, 3)
    ('20 000', '186.8', '4 310 000')
    """
    whole, point, rest = _digits(value, figures).partition(".")
    return f"{int(whole):,}".replace(",", " ") + point + rest if len(whole) > 4 else whole + point + rest


def show_mass(grams: float, unit: str = "g", *, figures: int | None = None) -> str:
    """
    A mass in the farm's unit.

    Parameters
    ----------
    grams : float
        The mass. [g]
    unit : str
        `g`: grams as a scale shows them, kilograms from 10 kg up. `oz`: ounces, pounds from 16 oz up.
    figures : int or None
        Significant figures; as many as a scale gives if left out.

    Examples
    --------
    >>> show_mass(2268, "oz"), show_mass(168.4, figures=2)
    ('5 lb', '170 g')
    """
    if unit == "oz":
        ounces = _digits(grams / GRAMS_PER_OUNCE, figures or 3)
        return f"{ounces} oz" if abs(float(ounces)) < 16 else f"{_digits(grams / GRAMS_PER_POUND, figures or 3)} lb"
    if abs(grams) >= 10_000:
        return f"{_digits(grams / 1000, figures or 3)} kg"
    return f"{_digits(grams, figures or (4 if abs(grams) >= 1000 else 3))} g"


_PARTS_OF_A_CUP = {"": 0.0, "1/2": 1 / 2, "1/4": 1 / 4, "3/4": 3 / 4, "1/3": 1 / 3, "2/3": 2 / 3}
"""What a set of measuring cups holds; simple parts first."""
_PARTS_OF_AN_INCH = {
    "": 0.0, "1/2": 0.5, "1/4": 0.25, "3/4": 0.75, "1/8": 0.125, "3/8": 0.375, "5/8": 0.625, "7/8": 0.875,
}  # fmt: skip
_NEAR = 0.02
"""Nobody fills a cup nearer than this. [-]"""
_PARTS_OF_A_GALLON = {"": 0.0, "1/2": 1 / 2, "1/4": 1 / 4, "3/4": 3 / 4}
"""Quarts are quarters of it."""
_NEAR_ON_A_JUG = 0.005
"""A gallon less a spoon of bleach is a gallon. [-]"""
_NEAR_ON_A_RULER = 0.025
"""A cutting height of 13 mm is what others call half an inch. [-]"""


def show_volume(ml: float, unit: str = "ml") -> str:
    """
    A volume in the farm's unit: millilitres (litres from 10 l up), or spoons below a quarter cup, cups, gallons.

    Examples
    --------
    >>> show_volume(60, "cup"), show_volume(240, "cup"), show_volume(355, "cup"), show_volume(15, "cup")
    ('1/4 cup', '1 cup', '1 1/2 cup', '1 tbsp')
    >>> show_volume(3776.0, "cup"), show_volume(5678.0, "cup"), show_volume(10000, "cup")
    ('1 gal', '1 1/2 gal', '2.64 gal')
    """
    if unit != "cup":
        return f"{_digits(ml / 1000)} l" if abs(ml) >= 10_000 else f"{_digits(ml)} ml"
    if abs(ml) >= ML_PER_GALLON * (1 - _NEAR_ON_A_JUG):
        return f"{_parted(ml / ML_PER_GALLON, _PARTS_OF_A_GALLON, _NEAR_ON_A_JUG) or _digits(ml / ML_PER_GALLON)} gal"
    if abs(ml) >= ML_PER_CUP / 4 * (1 - _NEAR):
        return f"{_in_cups(ml / ML_PER_CUP) or _digits(ml / ML_PER_CUP)} cup"
    if abs(ml) >= ML_PER_TABLESPOON * (1 - _NEAR) or ml == 0:
        return f"{_in_cups(ml / ML_PER_TABLESPOON) or _digits(ml / ML_PER_TABLESPOON, 2)} tbsp"
    return f"{_in_cups(ml / ML_PER_TEASPOON) or _digits(ml / ML_PER_TEASPOON, 2)} tsp"


def _in_cups(amount: float) -> str:
    return _parted(amount, _PARTS_OF_A_CUP, _NEAR)


def _parted(amount: float, parts: Mapping[str, float], near: float) -> str:
    """A whole number and one of the parts, where the amount is as good as that; else nothing."""
    below = math.floor(abs(amount))
    for shown, part in parts.items():
        for whole in (below, below + 1):
            if (whole or shown) and abs(amount - whole - part) <= near * abs(amount) and whole + part < 10:
                return f"{whole} {shown}".strip() if whole else shown
    return ""


def show_length(mm: float, unit: str = "mm") -> str:
    """
    A length in the farm's unit: millimetres, or inches as a ruler has them.

    Examples
    --------
    >>> show_length(13.0), show_length(13.0, "in"), show_length(40.0, "in")
    ('13 mm', '1/2 in', '1.6 in')
    """
    if unit != "in":
        return f"{_digits(mm)} mm"
    inches = mm / MM_PER_INCH
    return f"{_parted(inches, _PARTS_OF_AN_INCH, _NEAR_ON_A_RULER) or _digits(inches, 2)} in"


def degrees_in(celsius: float, unit: str) -> float:
    """A temperature [°C] in the unit somebody reads, C or F."""
    return celsius * 9 / 5 + 32 if unit == "F" else celsius


def show_temperature(celsius: float, unit: str = "C") -> str:
    """A temperature in the farm's unit, to half a degree Celsius or one degree Fahrenheit."""
    if unit == "F":
        return f"{_digits(round(degrees_in(celsius, unit)))} F"
    return f"{_digits(round(celsius * 2) / 2)} C"


_MINOR_DIGITS = dict.fromkeys(
    (
        "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "UYI", "VND", "VUV", "XAF", "XOF",
        "XPF",
    ),
    0,
) | dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3) | dict.fromkeys(("CLF", "UYW"), 4)  # fmt: skip
"""Digits after the point of a currency that has not two: ISO 4217, from memory."""


def money_places(currency: str = "") -> int:
    """Digits after the point that a currency has. [-]"""
    return _MINOR_DIGITS.get(currency, 2)


def show_money(amount: float | Decimal, currency: str = "", *, places: int | None = None) -> str:
    """
    An amount of money, rounded as people do: half a cent goes up.

    Parameters
    ----------
    amount : float or Decimal
        The amount. [currency]
    currency : str
        Its three letters (ISO 4217), shown after it; as many digits as it has.
    places : int or None
        Digits after the point; the currency's own if left out.

    Examples
    --------
    >>> show_money(2.675, "EUR"), show_money(1234567.891), show_money(1499.6, "JPY"), show_money(-0.001)
    ('2.68 EUR', '1 234 567.89', '1 500 JPY', '0.00')
    """
    from decimal import ROUND_HALF_UP, Decimal

    digits = money_places(currency) if places is None else places
    exact = amount if isinstance(amount, Decimal) else Decimal(repr(round(amount, 9)))
    rounded = exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP)
    shown = f"{abs(rounded):,}".replace(",", " ")
    return f"{'-' if rounded < 0 else ''}{shown} {currency}".strip()
