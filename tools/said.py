"""Find the sentences that the rooms below the pages say: what `web/words/LANGUAGE-said.po` has a translation of.

The rooms speak English, in f-strings and constants. A sentence becomes a *shape*: its words, with a slot for each
value, named by the expression that stands there (`{trays:g} of {recipe} sown`; `:g` where a number is sure to stand). A
string of several sentences gives a shape for each; one with a choice in it a shape for each way it can come out.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterable, Iterator
from itertools import product
from pathlib import Path
from typing import Any

ROOMS = Path(__file__).resolve().parents[1] / "src" / "trayward"

SPOKEN = (
    "errors.py", "units.py", "words.py", "rounds/**/*.py", "plan/**/*.py", "desk/**/*.py", "farm/**/*.py",
    "outlook/**/*.py",
    "library/**/*.py", "bench/**/*.py", "science/**/*.py", "pictures/light_map.py", "pictures/swings.py", "web/**/*.py",
    "store/people/**/*.py", "hygiene/**/*.py", "sensors/**/*.py",
    "exchange/feed.py", "money/report_words.py", "money/earned.py", "money/report.py", "money/found.py",
    "money/invoicing.py", "money/listed.py",
    "money/suppose.py", "money/coins.py", "money/grown.py",
    "trace/words.py", "trace/steps.py", "trace/lives.py", "trace/balance.py", "trace/walk.py", "trace/recall.py",
)  # fmt: skip
"""Modules whose sentences can reach a page."""

SILENT = (
    "desk/sheets/demo.py", "desk/sheets/words.py", "desk/setup/barn.py", "desk/setup/written.py",
    "desk/setup/written_stores.py",
    "desk/setup/toml_lines.py", "desk/door.py",
    "farm/codec.py", "farm/entries/*.py", "plan/solve.py", "plan/crop_model.py", "plan/farm_search.py",
    "outlook/mixed*.py", "outlook/latent*.py", "outlook/normal.py", "outlook/censored*.py", "outlook/memory.py",
    "store/people/proofs.py", "web/api/**/*.py", "web/look/**/*.py", "web/work.py", "web/drawing/**/*.py",
    "web/live.py", "web/warming.py", "web/sow/picture.py", "hygiene/pack.py", "web/sensors/watch.py",
    "web/sensors/telling.py", "web/sensors/listening.py", "sensors/loggers.py", "sensors/topics.py",
)  # fmt: skip
"""Of them, those that only speak to programs, to files, or to who writes programs."""

RAISING = ("web/api/**/*.py",)
"""Modules of which only what they refuse is said to people; the rest of their words is told to who writes programs."""

GUIDES = ("library/data/trouble.json",)
"""Data whose sentences reach a page."""
RULES = "library/data/rules.json"
"""The table of public rules; its citations stay as they were published."""
TOLD_OF_A_GUIDE = frozenset(("title", "look", "hold", "ask", "text", "caution"))
"""The parts of a guide that are shown, beside the names of what has a title."""

NOT_SAID_FILE = Path(__file__).with_name("not-said.txt")
"""Strings that look like sentences and are none: names of units as they are typed, words that drawings are made of."""

ALONE = (
    "and", "or", "more", "to", "in", "sown", "moist", "dry", "misted", "soaked", "covered", "uncovered", "tall",
    "mat", "received", "ready", "soil", "cut", "less", "none", "nothing", "never", "now", "here", "elsewhere", "other",
    "tap", "sooner", "later", "surface", "most", "least", "lowest", "highest", "this", "leaf", "leaks", "borderline",
    "typed", "apart", "inside", "middle", "right", "front", "line", "bleach", "alcohol", "alkali", "ammonia",
    "chlorine",
    "peroxide", "soap", "tools", "sprouts", "beam", "depth", "deep", "opening", "power", "rent", "wage", "samples",
    "speed", "synchrony", "thick", "thickness", "uncertainty", "unevenness", "uniformity", "volume", "warmth", "wash",
    "wavelength", "outlook", "markup", "contribution", "incandescent", "celsius", "fahrenheit", "mist", "packs", "pack",
    "daily", "dew", "dilute", "distance", "emergence", "even", "feed", "fit", "lux", "map", "mesh", "mix", "moves",
    "photon", "pressure", "refill", "solution", "spoons", "spread", "state", "warmer", "hot water", "break even",
    "weight", "tray", "where", "Ready?", "yes", "no",
    "shelf trays", "lit days", "shelf days", "pack weight", "to alkalinity", "stands in it", "change after",
    "by the orders of four weeks either way", "by its product's price", "potassium", "phosphorus", "nitrogen",
    "calcium",
    "magnesium", "sulphur", "iron", "sodium", "chloride", "citrate", "nitrate", "phosphate", "sulphate",
    "thermometer", "cleaner", "dose", "method", "laboratory", "source", "protection", "distribution", "findings",
    "outcome", "action", "trainer", "course", "pests", "training", "yearly",
    "scrape", "sells", "retired", "lost",
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November",
    "December", "cleaning of trays and mats",
    "Cutting", "Turn", "Deliver",
    "calm", "caution", "column", "dark shelves", "fate", "lead", "moisture", "pause first", "pause last", "pool",
    "round new name", "seller", "stack", "start", "surely", "tested", "thing", "thrown", "uncleared", "watts", "wear",
    "word", "valid from", "ppm least", "ppm most", "water least", "A bare number is in.",
    "{across:g} x {down:g} of {label} on {paper}", "roll {measure}",
    "{value} a kWh", "ready{several}", "{value:g} in 100 ml",
)  # fmt: skip
"""Single words that sentences are joined with or made of; other single words are left, for most are keys and names."""
OF_MANY = "many-places"
OF_JSON = (
    "must be a whole number", "must be a whole number from {least} to {most}", "must be a number",
    "must be a number from {least} to {most}", "must be a number of at least {least}",
    "must be a number more than {least} and up to {most}", "must be text", "must be text of {least} to {most} letters",
    "must be text of up to {most} letters", "must be one of {choices}", "must be a list",
    "must be a list of {least} to {most}", "must be a list of at least {least}", "must be a list of up to {most}",
    "must be true or false", "must be a day", "must be a moment with its offset", "must be a time of day",
    "must be a UUID", "must be an exact amount", "must be an object of JSON", "must be of another kind",
    "Send it without quotes.", "Send it without quotes, in {unit}.", "Send it in quotes, without control characters.",
    "Choose one of them.", "Send it in square brackets.", "Send it as {example}.",
    "Make a new one for each thing you say.", "Send it as text with a point.", "See /api for its fields.",
    "Send each name with its value.", "there is no such field", "Fields: {names}.",
)  # fmt: skip
"""What is said of JSON of another shape, which is put together of the type it should have (`web/api/misshapen.py`)."""

MOST_WAYS = 24
"""A string that can come out in more ways than this has its choices as slots."""
COUNTED = frozenset(("counted", "_count", "_counted"))
"""Functions that say a count with its noun."""
PART = "part"
"""Words of so few letters that they would fit anything: only who names them as a part of a sentence finds them."""
NAME_FIRST = frozenset(
    ("InputError", "UnreadableError", "NotFoundError", "require_between", "require_share", "require_positive", "Doubt")
)
"""Calls whose first word names what is wrong."""
NOT_SAID = frozenset(
    (
        "TypeError",
        "AssertionError",
        "KeyError",
        "RuntimeError",
        "Literal",
        "getLogger",
        "compile",
        "Form",
        "warning",
        "info",
    )
)
"""Calls whose strings nobody is told."""

_ENDS = re.compile(r"(?<=[.?!]) +(?=[A-Z“{])|(?<=\}) +(?=[A-Z][a-z])")
_SLOT = re.compile(r"\{[^{}]*\}")
_FLAG = re.compile(r"--[a-z][a-z-]*")
"""An option of the command line, which a page calls by its field's name."""
_FORMAT = re.compile(r"\{([a-z_]*)(:[^{}]*)?\}")
_WORD = re.compile(r"[A-Za-z]{2,}")

Way = tuple[str, ...]
"""One way a string can come out: literal text as it is, a slot as `\\0name`."""


def shapes() -> dict[str, list[str]]:
    """Every shape with the functions that say it: `rounds/done.py:done_words`."""
    found: dict[str, list[str]] = {}
    unsaid = frozenset(NOT_SAID_FILE.read_text(encoding="utf-8").splitlines())
    for path in modules():
        name = path.relative_to(ROOMS).as_posix()
        for function, shape in of_module(path.read_text(encoding="utf-8")):
            if shape in unsaid:
                continue
            places = found.setdefault(shape, [])
            place = f"{name}:{function}" if function else name
            if place not in places:
                places.append(place)
    for path in sorted({path for pattern in RAISING for path in ROOMS.glob(pattern)}):
        name = path.relative_to(ROOMS).as_posix()
        for function, shape in of_refusals(path.read_text(encoding="utf-8")):
            found.setdefault(shape, []).append(f"{name}:{function}")
    for guide in GUIDES:
        for shape in of_data(json.loads((ROOMS / guide).read_text(encoding="utf-8"))):
            found.setdefault(shape, []).append(guide)
    for shape in of_rules(json.loads((ROOMS / RULES).read_text(encoding="utf-8"))):
        found.setdefault(shape, []).append(RULES)
    for shape in OF_JSON:
        found.setdefault(shape, []).append("web/api/misshapen.py")
    for word in ALONE:
        found.setdefault(word, [OF_MANY])
    return dict(sorted(found.items()))


def modules() -> list[Path]:
    """The modules that are read."""
    silent = {path for pattern in SILENT for path in ROOMS.glob(pattern)}
    return sorted({path for pattern in SPOKEN for path in ROOMS.glob(pattern)} - silent)


def of_data(data: object) -> dict[str, None]:
    """The sentences of a guide, once each, and the names in it, be they single words."""
    found: dict[str, None] = {}
    if isinstance(data, list):
        for each in data:
            found |= of_data(each)
    elif isinstance(data, dict):
        for key, value in data.items():
            if key == "name" and "title" in data:
                found[value] = None
            elif key in TOLD_OF_A_GUIDE and isinstance(value, str):
                found |= dict.fromkeys(_sentences((value,)))
            elif key != "cues":
                found |= of_data(value)
    return found


def of_rules(table: dict[str, list[dict[str, Any]]]) -> dict[str, None]:
    """Titles, notes and reasons of a table of rules, once each; what a reason is told of is a slot."""
    found: list[str] = []
    for each in (*table["thresholds"], *table["dates"]):
        found += [each["title"], each["note"]]
    for each in table["readings"]:
        found += [each["title"], *each["because"].values()]
    said = dict.fromkeys(shape for words in found for shape in _sentences(tuple(_pieces(words))))
    # What else it asks for is told whole, also where it names a command.
    return said | dict.fromkeys(other for each in table["readings"] for other in each["others"])


def of_module(source: str) -> Iterator[tuple[str, str]]:
    """The shapes of a module, each with the function it is in."""
    yield from _of(ast.parse(source), "")


def of_refusals(source: str) -> Iterator[tuple[str, str]]:
    """The shapes of what a module refuses, each with the function that does."""
    for outer in ast.walk(ast.parse(source)):
        if isinstance(outer, ast.FunctionDef):
            calls = (node for node in ast.walk(outer) if isinstance(node, ast.Call))
            for call in calls:
                if _called(call).endswith("Error"):
                    yield from dict.fromkeys(_of(call, outer.name))


def _of(node: ast.AST, function: str) -> Iterator[tuple[str, str]]:
    """Shapes in a piece of code."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        function = node.name
    if _is_nothing_said(node):
        return
    if _is_words(node):
        for way in _ways(node):
            for shape in _sentences(way):
                yield function, shape
        yield from (found for each in _slots_of(node) for found in _of(each, function))
        return
    if isinstance(node, ast.Call) and _called(node) in COUNTED:
        yield from ((function, shape) for shape in _counts(node))
    if isinstance(node, ast.Call) and _called(node) == "filled" and _is_part(node):
        yield function, f"{PART}{CONTEXT}{_shape_of_part(node)}"
        yield from (found for each in (*node.args[1:], *node.keywords) for found in _of(each, function))
        return
    if isinstance(node, ast.Call) and _called(node) in NAME_FIRST and node.args:
        yield from ((function, name) for name in _named_first(node.args[0]))
    for child in _children(node):
        yield from _of(child, function)


def _is_nothing_said(node: ast.AST) -> bool:
    if isinstance(node, ast.Expr):
        return isinstance(node.value, ast.Constant)
    if isinstance(node, ast.Call):
        return _called(node) in NOT_SAID | {"_", "later", "ngettext", "gettext"}
    return isinstance(node, ast.Subscript) and isinstance(node.value, ast.Name) and node.value.id == "Literal"


def _children(node: ast.AST) -> Iterable[ast.AST]:
    """What is in a piece of code, without names of columns and what only is compared with."""
    if isinstance(node, ast.Compare):
        return ()
    if isinstance(node, ast.Subscript):
        return [node.value] if isinstance(node.slice, ast.Constant) else [node.value, node.slice]
    return list(ast.iter_child_nodes(node))


def _called(node: ast.Call) -> str:
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _is_words(node: ast.AST) -> bool:
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str)
    if isinstance(node, ast.BinOp):
        return isinstance(node.op, ast.Add) and (_is_words(node.left) or _is_words(node.right))
    if isinstance(node, ast.IfExp):
        return _is_words(node.body) or _is_words(node.orelse)
    return isinstance(node, ast.JoinedStr)


def _ways(node: ast.AST) -> list[Way]:
    """Every way a string can come out."""
    if isinstance(node, ast.Constant):
        return [tuple(_pieces(str(node.value)))]
    if isinstance(node, ast.JoinedStr):
        return _together([_ways(each) for each in node.values])
    if isinstance(node, ast.FormattedValue):
        return _ways(node.value) if _is_words(node.value) and node.conversion < 0 else [(_slot(node),)]
    if isinstance(node, ast.BinOp) and _is_words(node):
        return _together([_ways(node.left), _ways(node.right)])
    if isinstance(node, ast.IfExp) and _is_words(node):
        return [*_ways(node.body), *_ways(node.orelse)]
    return [("\0" + _named(node),)]


def _pieces(text: str) -> Iterator[str]:
    """The pieces of a constant; `{}` and `{name}` in it are filled in later by `format`."""
    last = 0
    for found in _FORMAT.finditer(text):
        yield text[last : found.start()]
        yield f"\0{found[1] or 'value'}" + (":g" if found[2] else "")
        last = found.end()
    yield text[last:]


def _together(parts: list[list[Way]]) -> list[Way]:
    many = 1
    for part in parts:
        many *= len(part)
    if many > MOST_WAYS:
        parts = [part if len(part) == 1 else [("\0words",)] for part in parts]
    return [tuple(piece for way in ways for piece in way) for ways in product(*parts)]


def _slots_of(node: ast.AST) -> Iterator[ast.AST]:
    """The expressions in a string's slots, which may say something themselves."""
    if isinstance(node, ast.JoinedStr):
        for each in node.values:
            if isinstance(each, ast.FormattedValue):
                yield from _slots_of(each.value) if _is_words(each.value) else [each.value]
    elif isinstance(node, ast.BinOp) and _is_words(node):
        yield from _slots_of(node.left)
        yield from _slots_of(node.right)
    elif isinstance(node, ast.IfExp) and _is_words(node):
        yield node.test
        yield from _slots_of(node.body)
        yield from _slots_of(node.orelse)
    elif not isinstance(node, ast.Constant):
        yield node


def _slot(node: ast.FormattedValue) -> str:
    spec = "".join(
        str(each.value) for each in getattr(node.format_spec, "values", ()) if isinstance(each, ast.Constant)
    )
    number = re.search(r"[gfde]$|^[+,]*$", spec) if spec else None
    return "\0" + _named(node.value) + (":g" if number and "%" not in spec else "")


def _named(node: ast.AST) -> str:
    """A name for a slot, from its expression."""
    if isinstance(node, ast.Name):
        return node.id.strip("_").lower()
    if isinstance(node, ast.Attribute):
        return node.attr.strip("_").lower()
    if isinstance(node, ast.Call):
        own = _called(node).strip("_").lower()
        if own in TELLS_LITTLE and (node.args or isinstance(node.func, ast.Attribute)):
            return _named(node.args[0] if node.args else node.func.value)  # type: ignore[attr-defined]
        return own or "words"
    if isinstance(node, ast.Subscript):
        return _named(node.value)
    if isinstance(node, ast.BinOp):
        return _named(node.left if not isinstance(node.left, ast.Constant) else node.right)
    if isinstance(node, ast.UnaryOp):
        return _named(node.operand)
    return "words"


TELLS_LITTLE = frozenset((
    "len", "abs", "round", "int", "float", "str", "max", "min", "sum", "strip", "lower", "replace",
    "capitalize", "removeprefix", "removesuffix", "rstrip", "isoformat", "sorted",
))  # fmt: skip
"""Functions whose argument names a slot better than they do."""


CONTEXT = "\4"
"""Stands between a context and its words, as in compiled catalogues."""
FEW_LETTERS = 4


def _shape_of_part(node: ast.Call) -> str:
    first = node.args[0]
    return str(first.value).replace("{}", "{value}") if isinstance(first, ast.Constant) else ""


def _is_part(node: ast.Call) -> bool:
    """Whether what is filled has hardly a letter of its own, and yet says something."""
    shape = _shape_of_part(node) if node.args else ""
    letters = sum(each.isalpha() for each in _SLOT.sub("", shape))
    return 0 < letters <= FEW_LETTERS or bool(re.fullmatch(r"\{\w+\} \{\w+\}", shape))


def _counts(node: ast.Call) -> Iterator[str]:
    nouns = [each.value for each in node.args[1:] if isinstance(each, ast.Constant) and isinstance(each.value, str)]
    if nouns:
        yield f"{{number:g}} {nouns[0]}"
        yield f"{{number:g}} {nouns[1] if len(nouns) > 1 else nouns[0] + 's'}"


def _named_first(node: ast.AST) -> Iterator[str]:
    """What an error says is wrong, or not there: also where it is a single word."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str) and re.fullmatch(r"[a-z]{3,}", node.value):
        yield node.value


def _sentences(way: Way) -> Iterator[str]:
    """The sentences of one way, each as a shape."""
    text = "".join(
        "{" + piece[1:] + "}" if piece[:1] == "\0" else piece.replace("{", "(").replace("}", ")") for piece in way
    )
    for line in text.split("\n"):
        said = line.partition("Example: ")[0]  # after it stands what is typed into a field
        for part in _ENDS.split(_FLAG.sub("{field}", said)):
            shape = _numbered(part.strip(" ,;"))
            if is_said(shape):
                yield shape


def _numbered(shape: str) -> str:
    """A shape in which each slot has its own name."""
    seen: dict[str, int] = {}

    def own(found: re.Match[str]) -> str:
        name, _, kind = found[0][1:-1].partition(":")
        seen[name] = seen.get(name, 0) + 1
        kind = ":g" if kind else ""
        return f"{{{name}{seen[name] if seen[name] > 1 else ''}{kind}}}"

    return _SLOT.sub(own, shape)


def is_said(shape: str) -> bool:
    """Whether a shape is for people: words of a language, not a key, a path, a pattern or a unit."""
    words = _WORD.findall(_SLOT.sub(" ", shape))
    if not words or all(word in UNITS for word in words):
        return False
    if "; filename=" in shape or re.search(
        r"[\\^$<>@#]|\w\[|_[a-z]|\w/\w+\.\w|://|\.toml|%[dsYmHM(]|[a-z]\(|==|^\W*$", _SLOT.sub("", shape)
    ):
        return False
    plain = _SLOT.sub("", shape)
    if " " not in shape.strip() or "trayward " in plain or plain[:1] == plain[-1:] == '"':
        return False
    return bool(re.search(r"[a-z]{2,}", plain))


UNITS = frozenset(
    [
        "kg",
        "mg",
        "ml",
        "mm",
        "cm",
        "nm",
        "mol",
        "umol",
        "µmol",
        "kPa",
        "Pa",
        "ppm",
        "dS",
        "meq",
        "Wh",
        "kWh",
        "kW",
        "oz",
        "lb",
        "cup",
        "tbsp",
        "tsp",
        "fl",
        "EC",
        "pH",
        "CO",
        "NFT",
        "PPFD",
        "DLI",
        "cm2",
        "m2",
        "hPa",
        "EUR",
        "UTC",
        "CaCO",
        "MJ",
        "kJ",
    ]
)
"""Words that are the same in every language."""


def words_in(shape: str) -> list[str]:
    """A shape's own words."""
    return _WORD.findall(_SLOT.sub(" ", shape))


def slots_in(shape: str) -> list[str]:
    """Names of a shape's slots."""
    return sorted(found[1:-1].partition(":")[0] for found in _SLOT.findall(shape))
