"""The forms of a what-if, and the one door to read them: words in, suppositions out, or what is wrong with them."""

from __future__ import annotations

import difflib
import re
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import NamedTuple

from trayward.desk.wonder import growing, selling, space
from trayward.desk.wonder.reading import Asked
from trayward.errors import InputError, NotFoundError
from trayward.farm.state import FarmState
from trayward.plan.supposed import Supposition

LONGEST = 300
"""Longer words are no one change. [characters]"""


class Form(NamedTuple):
    """One way to say a change: how it is read, what it is called, what it speaks of, and how it is said."""

    read: Callable[[Asked], list[Supposition] | None]
    called: str
    about: tuple[str, ...]
    example: str


FORMS = (
    Form(space.read_shelves, "shelves", ("shelf", "shelves", "lit", "dark", "spots"), "2 more lit shelves of 4 spots"),
    Form(space.read_shelf_gone, "a shelf out of use", ("shelf",), "shelf F2 out of use until 2026-12-20"),
    Form(space.read_hands, "hours of work", ("hours", "minutes", "hands", "work"), "2 h more every Tue"),
    Form(space.read_days_off, "days off", ("day", "off", "closed", "holiday"), "day off on 2026-12-08"),
    Form(growing.read_lost, "trays lost", ("lost", "trays", "tray", "spoilt"), "all radish trays lost"),
    Form(growing.read_not_sown, "a crop not sown", ("sown", "grown"), "basil not sown"),
    Form(growing.read_seed, "seed", ("seed", "lot", "late", "delivery"), "seed lot PEA-26-2 late until 2026-12-20"),
    Form(selling.read_cost, "a cost", ("wage", "energy", "packaging", "disposal", "cost"), "wage 18 an hour"),
    Form(selling.read_percent, "prices", ("price", "dearer", "cheaper"), "basil 10 % dearer"),
    Form(
        selling.read_order,
        "an order",
        ("order", "every", "customer", "packs"),
        "200 g pea every Tue at 4.50 per 100 g for Thimble Corner from 2026-12-08",
    ),
    Form(selling.read_price, "a price", ("price", "per", "sell"), "basil at 11 per 100 g"),
    Form(selling.read_times, "an order of another size", ("twice", "half", "double", "times"), "twice thimble-tue"),
    Form(growing.read_no, "something left out", ("no", "without", "drop", "stop", "paused"), "no thimble-fri"),
    Form(space.read_kit, "kit", ("more", "fewer", "mats", "covers", "trays", "kit"), "10 more mesh mats"),
)
"""In the order they are tried: what is said most plainly first."""


def read_what_if(text: str, state: FarmState, at: datetime, before: int = 0) -> list[Supposition]:
    """
    What some words suppose different.

    Parameters
    ----------
    text : str
        One change, or several parted by semicolons.
    state : FarmState
        The farm whose names they use.
    at : datetime
        Now; `tomorrow` and `Tue` are counted from its day.
    before : int
        How many changes were read before these: orders that are made up get names of their own.

    Raises
    ------
    InputError
        If some of it is not understood: what it was taken for and why it cannot be, or the forms that are known.
    """
    said = [" ".join(part.split()).rstrip(".") for part in text.split(";") if part.strip()]
    if not said:
        raise InputError("what-if", "nothing", "it says no change", f"Say for instance {_examples(FORMS[:4])}.")
    return [one for number, part in enumerate(said, before + 1) for one in read_one(Asked(part, state, at, number))]


def read_one(asked: Asked) -> list[Supposition]:
    """What one phrase supposes. Raises `InputError` as `read_what_if` does."""
    if len(asked.text) > LONGEST:
        raise InputError("what-if", f"{asked.text[:40]}...", "it is too long for one change", "Part it with ;")
    for form in FORMS:
        try:
            found = form.read(asked)
        except InputError as err:
            shown = f"{err.value} {err.unit}".strip()
            rule = f"it is understood as {form.called}, but {err.name} = {shown}: {err.rule}"
            raise InputError("what-if", repr(asked.text), rule, err.remedy) from err
        except NotFoundError as err:
            rule = f"it is understood as {form.called}, but {str(err).rstrip('.')}"
            raise InputError("what-if", repr(asked.text), rule) from err
        if found is not None:
            return found
    raise InputError("what-if", repr(asked.text), "these words are not understood", _way_out(asked.text))


def _way_out(text: str) -> str:
    """Forms that speak of the same things; where there are none, all of them."""
    words = re.findall(r"[a-z]+", text.casefold())
    near = [form for form in FORMS if any(difflib.get_close_matches(word, form.about, cutoff=0.8) for word in words)]
    if near and len(near) <= 4:
        return f"Did you mean something like {_examples(near)}?"
    return f"Known forms: {_examples(FORMS)}."


def _examples(forms: Sequence[Form]) -> str:
    return ", ".join(f'"{form.example}"' for form in forms)
