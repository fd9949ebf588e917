"""The option `--language`: papers and calendars in another language than the terminal's English."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from trayward.errors import InputError

if TYPE_CHECKING:
    from trayward.cli.given import Given
    from trayward.paper.tongue import Tongue

LANGUAGE = click.option(
    "--language", default="", metavar="LANGUAGE", help="en or es, with or without a region; English if left out. "
    "Example: es-MX.",
)  # fmt: skip


def tongue_of(given: Given, language: str) -> Tongue:
    """
    A language for what is printed, with the farm's own names left as they are.

    Raises
    ------
    InputError
        If there is no such language.
    """
    from trayward.paper.tongue import ENGLISH

    if not language:
        return ENGLISH
    # The catalogues are read where somebody wants them: that takes as long as a sheet.
    from trayward.web.look.locales import NAMES, Tongues
    from trayward.web.look.on_paper import on_paper
    from trayward.web.look.own_names import names_of

    if language[:2].lower() not in NAMES or language[2:3] not in ("", "-", "_"):
        raise InputError("language", language, "there is no such language", f"Say one of: {', '.join(NAMES)}.")
    tongue = Tongues().choose(language, "")
    return on_paper(tongue, names_of(given.farm.state(given.at)).sayer(tongue.sayings, tongue.locale))


def said_in(given: Given, language: str) -> Callable[[str], str]:
    """What says a sentence of the rooms in a language. Raises as `tongue_of`."""
    return tongue_of(given, language).said
