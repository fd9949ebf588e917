"""What the fields of the sums are called on a page, and words of the command line said as a page says them."""

from __future__ import annotations

import re

from trayward.web.bench.sums.declared import Field, Sum
from trayward.web.look.locales import later

TITLES = {
    "seed": later("Seed"),
    "water": later("Water"),
    "hygiene": later("Hygiene"),
    "money": later("Money"),
    "light": later("Light"),
    "air": later("Air"),
    "growth": later("Growth"),
}
"""What the benches are called."""

LABELS = {
    "acid": later("Acid, with its strength"),
    "adds": later("1 ml in a litre adds"),
    "age": later("Or how old it is"),
    "air": later("Carbon dioxide of the air"),
    "at_ec": later("EC of the tank now"),
    "band": later("It may be off by"),
    "base": later("Base"),
    "bath": later("Readings of the bath"),
    "beam": later("Beam angle"),
    "begin": later("Count from"),
    "beside": later("Other openings beside it"),
    "bought": later("Things bought"),
    "brim": later("Height of its sides"),
    "bulk": later("A millilitre of seed weighs"),
    "count": later("Seeds in each sample"),
    "counts": later("Counts"),
    "ct": later("Strength x time wanted"),
    "day_first": later("Order of its dates"),
    "deep": later("Depth of the water"),
    "differs": later("Widths differ by"),
    "dli": later("Light of a day [mol/m2]"),
    "ec": later("EC of the water"),
    "efficacy": later("Photons a joule"),
    "end": later("Wanted at"),
    "feed": later("Feed for a tray"),
    "feed_price": later("A litre of feed costs"),
    "file": later("A file, or its lines"),
    "first": later("One thing"),
    "full": later("Weight when full"),
    "hands": later("Minutes of hands"),
    "hold": later("Air to hold"),
    "holds": later("The label says"),
    "in_f": later("Temperatures are in"),
    "into": later("Water it went into"),
    "kept": later("Kept at"),
    "kwh_price": later("A kilowatt hour costs"),
    "label": later("Strength on its label"),
    "least": later("Weakest that will do"),
    "litres": later("Water in it"),
    "long": later("Length"),
    "lost": later("Trays lost before the cut"),
    "lot": later("Seed lot"),
    "lux": later("Lux meter"),
    "make": later("Make how much"),
    "made": later("Made at"),
    "mat_off": later("Mat off the bottom"),
    "mat_solid": later("Of the wet mat no water"),
    "measured": later("Measured light"),
    "minutes": later("Contact time"),
    "most": later("Strongest that will do"),
    "nm": later("Wavelength [nm]"),
    "now": later("Weight now"),
    "of": later("What is looked at"),
    "open_": later("Sides without a wall"),
    "pack_price": later("An empty pack costs"),
    "ph": later("pH"),
    "ppfd": later("Light on the leaves (PPFD)"),
    "ppm": later("Strength [ppm]"),
    "readings": later("Readings of the meter"),
    "rent": later("Rent of a shelf"),
    "round_holes": later("The holes are round"),
    "salt": later("Salt"),
    "samples": later("Weights of the samples"),
    "second": later("And another"),
    "seed_price": later("Seed costs"),
    "seeds": later("Seeds in the test"),
    "size": later("Size"),
    "source": later("What shines"),
    "spare": later("Kept over"),
    "sprouted": later("Sprouted in a test"),
    "standing": later("The pH is to hold once the water has stood open"),
    "start": later("Measured at"),
    "strips": later("Strips read"),
    "tap": later("Share of tap water"),
    "to": later("Wanted"),
    "tsw": later("A thousand seeds weigh"),
    "us": later("Units"),
    "use": later("What it touches"),
    "uses": later("Uses of the medium"),
    "wage": later("An hour of hands costs"),
    "water_ec": later("EC of the plain water"),
    "water_price": later("A cubic metre of water costs"),
    "weight": later("A tray weighs when cut"),
}
"""By the name a sum knows them by; all others are called as that name reads."""

OWN_LABELS = {
    ("growth", "to"): later("Other shelves"),
    ("growth", "shelf"): later("Temperature at the seed"),
    ("growth", "night"): later("By night"),
    ("growth", "hours"): later("Hours of day"),
    ("growth", "base"): later("Base temperature"),
    ("growth", "gap"): later("A longer step is a gap"),
    ("air", "room"): later("Temperature of the room"),
    ("air", "light"): later("Light on the trays (PPFD)"),
    ("air", "size"): later("Room"),
    ("air", "per_tray"): later("A tray loses a day"),
    ("air", "plate"): later("Rating of the dehumidifier"),
    ("air", "plate_air"): later("Air it holds for"),
    ("air", "fan"): later("Fan"),
    ("light", "trays"): later("Trays on the shelf"),
    ("light", "size"): later("Longest side of the lamp"),
    ("light", "reading"): later("Reading of a lux meter"),
    ("light", "price"): later("A kilowatt hour costs"),
    ("light", "width"): later("Shining width"),
    ("light", "length"): later("Shining length of a lamp"),
    ("light", "height"): later("Lamps above the leaves"),
    ("light", "days"): later("Days in the light"),
    ("seed", "trays"): later("Trays a week"),
    ("seed", "grams"): later("Seed on a tray"),
    ("seed", "have"): later("In stock"),
    ("seed", "amount"): later("Amount of seed"),
    ("seed", "years"): later("Years in store"),
    ("seed", "opening"): later("Opening of the mesh"),
    ("seed", "width"): later("Width of the seed"),
    ("seed", "thickness"): later("Thickness of the seed"),
    ("seed", "humidity"): later("Humidity of the air there"),
    ("seed", "density"): later("Live seeds wanted"),
    ("seed", "repeats"): later("Repeats of 100 seeds"),
    ("water", "to"): later("Wanted"),
    ("water", "tray"): later("Tray of the farm"),
    ("water", "empty"): later("Weight when dry"),
    ("water", "radius"): later("Radius of a lying barrel"),
    ("money", "seed"): later("Seed on a tray"),
    ("money", "water"): later("Water for a tray"),
    ("money", "medium"): later("Medium of a tray costs"),
    ("money", "wear"): later("Wear of trays, one use"),
    ("money", "price"): later("It sells for"),
    ("money", "planned"): later("Trays sold a week"),
    ("hygiene", "water"): later("Temperature of the water"),
    ("hygiene", "to"): later("Strength wanted"),
    ("hygiene", "strips"): later("Strips read"),
}
"""By bench and name, where one name means several things."""

MAIN = {
    ("seed", "grams"): ("crop", "density", "tray", "lot", "tsw", "germination"),
    ("seed", "need"): ("crop", "trays", "grams", "weeks", "have"),
    ("seed", "age"): ("crop", "years", "kept", "humidity"),
    ("water", "acid"): ("acid", "to", "make", "ph", "alkalinity"),
    ("water", "base"): ("base", "to", "make", "ph", "alkalinity"),
    ("water", "blend"): ("tap", "to_alkalinity", "make", "ph", "alkalinity"),
    ("water", "feed"): ("to", "adds", "water_ec", "make"),
    ("water", "depth"): ("mat", "mat_off", "poured", "to"),
    ("water", "tank"): ("long", "width", "radius", "deep", "litres"),
    ("money", "price"): ("crop", "margin", "fee", "weight", "seed_price"),
    ("money", "break-even"): ("crop", "price", "fixed", "planned"),
    ("money", "density"): ("crop", "price", "seed", "weight"),
    ("money", "moves"): ("crop", "swing", "of"),
    ("light", "map"): ("shelf", "lamps", "trays", "height", "measured"),
    ("light", "height"): ("shelf", "lamps", "trays", "evenness", "ppfd"),
    ("light", "energy"): ("shelf", "lamps", "hours", "crop", "price"),
    ("air", "room"): ("size", "trays", "hold", "outside", "plate"),
}
"""What is asked first; the rest folds away. Of other sums the fields that are needed, and the first few others."""
SHOWN_FIRST = 5


def label_of(bench: str, field: Field) -> str:
    """What a field is called, in English."""
    own = OWN_LABELS.get((bench, field.name)) or LABELS.get(field.name)
    return own or field.name.strip("_").replace("_", " ").capitalize()


def help_of(field: Field) -> tuple[str, str]:
    """What its help says, and the example in it; either may be empty."""
    told, _, example = field.help.partition("Example: ")
    example = example.strip().removesuffix(".")
    quoted = example.startswith('"') and example.endswith('"') and example.count('"') == 2
    return told.strip(), example[1:-1] if quoted else example


def main_fields(bench: str, each: Sum) -> tuple[str, ...]:
    """Names of the fields that are asked first."""
    chosen = MAIN.get((bench, each.name))
    if chosen is not None:
        return chosen
    needed = [field.name for field in each.fields if field.required or not field.flags]
    others = [field.name for field in each.fields if field.name not in needed and field.name != "us"]
    return tuple(needed + others[: max(0, SHOWN_FIRST - len(needed))])


_FLAG = re.compile(r"--([a-z][a-z-]*)")
_COMMAND = re.compile(r"(?:For instance: |Ask: |Use: )?trayward bench ([a-z]+) ([a-z-]+)(?: [^.]*)?")


def page_words(words: str, bench: str, each: Sum) -> str:
    """
    Words that name options or commands, said as the page calls them.

    Examples
    --------
    >>> from trayward.web.bench.sums.declared import bench_named
    >>> light = bench_named("light").sums["height"]
    >>> page_words("Give --evenness 70%, or --ppfd 150, or both.", "light", light)
    'Give “Evenness” 70%, or “Light on the leaves (PPFD)” 150, or both.'
    """
    fields = {flag: field for field in each.fields for flag in field.flags}

    def named(found: re.Match[str]) -> str:
        field = fields.get(found[0])
        return f"“{label_of(bench, field)}”" if field is not None else found[1].replace("-", " ")

    return _FLAG.sub(named, _COMMAND.sub(r"See the bench \1, \2", words))
