"""Bring the catalogues of the pages' words up to date with templates and code; say what has no translation yet.

`python -m tools.words` writes `src/trayward/web/words/es.po` anew: new words are added empty, words no longer used go.
The same for `es-said.po`, which holds the sentences that the rooms below say (see `tools/said.py`).
`python -m tools.words --missing` only lists what has no translation.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import DEFAULT_KEYWORDS, extract_from_dir
from babel.messages.pofile import read_po, write_po

from tools.said import CONTEXT, shapes
from trayward.paper.tongue import ON_PAPER

WEB = Path(__file__).resolve().parents[1] / "src" / "trayward" / "web"
PAPER = WEB.with_name("paper")
WORDS = WEB / "words"
LANGUAGES = ("es",)
METHODS = [("**/templates/**.html", "jinja2"), ("templates/**.html", "jinja2"), ("**.py", "python")]
AS_THE_PAGES_DO = {"silent": "false", "extensions": "jinja2.ext.do,jinja2.ext.loopcontrols"}
"""Templates are read with what the pages' own environment has; one that cannot be read is told."""
OPTIONS = {"**/templates/**.html": AS_THE_PAGES_DO, "templates/**.html": AS_THE_PAGES_DO}
KEYWORDS = {**DEFAULT_KEYWORDS, "later": None}
"""What marks words: `_`, `ngettext`, and `later` for those that a template translates."""
EMPTY = """msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n != 1);\\n"
"""
"""A catalogue to begin with: one and many, as Spanish has them for all numbers that a farm counts to."""
HEADER = "# The pages' words in another language. Written by `python -m tools.words`; fill in what is empty.\n#"
SAID_HEADER = """# What the rooms below say, in another language.
#
# Written by `python -m tools.words`; fill in what is empty.
# A slot such as {trays} holds what the sentence was told of; {trays:g} is sure to hold a number. A
# translation has the same slots, in any order. Each shape stands with the functions that say it.
#"""


def used() -> Catalog:
    """Every string of ours that a page or a sheet may show, with the files it is in."""
    found = Catalog(project="Trayward", fuzzy=False)
    for file, _, words, _, _ in extract_from_dir(PAPER, method_map=[("**.py", "python")], keywords=KEYWORDS):
        found.add(words, None, [(f"{PAPER.name}/{file}", 0)], context=ON_PAPER)
    for file, line, words, comments, context in extract_from_dir(
        WEB, method_map=METHODS, options_map=OPTIONS, keywords=KEYWORDS, comment_tags=("Translators:",)
    ):
        del line
        found.add(words, None, [(file, 0)], auto_comments=comments, context=context)
    return found


def said() -> Catalog:
    """Every shape of a sentence that the rooms below say, with the functions that say it."""
    found = Catalog(project="Trayward", fuzzy=False)
    for shape, places in shapes().items():
        context, _, words = shape.rpartition(CONTEXT)
        found.add(words, None, [(place, 0) for place in places], context=context or None)
        found.get(words, context or None).flags.clear()
    return found


def kept(language: str) -> Catalog:
    """The catalogue as it stands; an empty one where there is none yet. `es-said`: that of what rooms below say."""
    path = WORDS / f"{language}.po"
    begun = BytesIO(EMPTY.encode())
    return read_po(BytesIO(path.read_bytes()) if path.is_file() else begun, locale=language[:2])


def renewed(name: str) -> bytes:
    """A catalogue with every word in use, in a form that is the same each time: `es`, or `es-said`."""
    catalogue = kept(name)
    catalogue.update(_in_use(name), no_fuzzy_matching=True)
    catalogue.obsolete.clear()
    catalogue.header_comment = SAID_HEADER if name.endswith(SAID) else HEADER
    made = BytesIO()
    write_po(
        made, catalogue, width=110, omit_header=False, sort_output=True, include_lineno=False, ignore_obsolete=True
    )
    lines = [line for line in made.getvalue().decode().split("\n") if not line.startswith(DATED)]
    return "\n".join(lines).encode()


DATED = (
    '"POT-Creation-Date',
    '"PO-Revision-Date',
    '"Generated-By',
    '"Last-Translator',
    '"Report-Msgid',
    '"Language-Team',
)
"""Lines of a catalogue's head that differ from day to day or say nothing."""


SAID = "-said"


def _in_use(name: str) -> Catalog:
    return said() if name.endswith(SAID) else used()


def missing(name: str) -> Iterator[Message]:
    """Words in use that have no translation, of a catalogue: `es`, or `es-said`."""
    there = kept(name)
    for message in _in_use(name):
        found = there.get(message.id, message.context) if message.id else None
        if message.id and (found is None or not _whole(found)):
            yield message


def _whole(message: Message) -> bool:
    return all(message.string) if isinstance(message.string, tuple | list) else bool(message.string)


def main(words: list[str]) -> int:
    """Write the catalogues, or list what is missing."""
    lacks = False
    for name in (each + kind for each in LANGUAGES for kind in ("", SAID)):
        if "--missing" not in words:
            WORDS.mkdir(exist_ok=True)
            (WORDS / f"{name}.po").write_bytes(renewed(name))
        lacking = list(missing(name))
        if "--missing" in words:
            for message in lacking:
                print(f"{name}: {message.id!r} in {', '.join(sorted({file for file, _ in message.locations}))}")
        print(f"{name}: {len(lacking)} without a translation")
        lacks = lacks or bool(lacking)
    return 1 if lacks and "--missing" in words else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
