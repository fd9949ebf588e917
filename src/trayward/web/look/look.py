"""Templates: one Jinja environment for each language and set of units, all of a process sharing what they compiled."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from jinja2 import BaseLoader, BytecodeCache, ChoiceLoader, Environment, FileSystemLoader, StrictUndefined
from jinja2.bccache import Bucket

from trayward import __version__
from trayward.farm.settings import ShownUnits
from trayward.pictures.look import mark_of
from trayward.web.look.filters import filters_for, in_ten
from trayward.web.look.locales import NAMES, Tongue, Tongues
from trayward.web.look.statics import Statics

if TYPE_CHECKING:
    from trayward.web.ask import Ask

WEB = Path(__file__).parents[1]


class Look:
    """Everything that turns what a view found out into a page."""

    def __init__(self, web: Path = WEB) -> None:
        features = sorted(path for path in web.iterdir() if path.is_dir() and path.name not in ("templates", "static"))
        self.tongues = Tongues()
        self.statics = Statics((web / "static", *(each / "static" for each in features)))
        folders = [web / "templates", *(each / "templates" for each in features)]
        self._loader = ChoiceLoader([FileSystemLoader(folder) for folder in folders if folder.is_dir()])
        self._environments: dict[tuple[str, ShownUnits], Environment] = {}

    def render(self, ask: Ask, template: str, values: Mapping[str, Any]) -> str:
        """A template with a view's values; `ask` and the moment's own helpers stand beside them."""
        environment = self.environment(ask.tongue, ask.units)
        moments = {"clock": _clock(ask), "when": _when(ask), "when_year": _when_year(ask)}
        return environment.get_template(template).render(values, ask=ask, **moments)

    def environment(self, tongue: Tongue, units: ShownUnits) -> Environment:
        """The environment of a language and a set of units."""
        key = (tongue.locale, units)
        if key not in self._environments:
            self._environments[key] = self._made(self._loader, tongue, units)
        return self._environments[key]

    def _made(self, loader: BaseLoader, tongue: Tongue, units: ShownUnits) -> Environment:
        made = Environment(
            loader=loader, autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
            extensions=["jinja2.ext.i18n", "jinja2.ext.do", "jinja2.ext.loopcontrols"], bytecode_cache=_COMPILED,
            auto_reload=False,
        )  # fmt: skip
        made.install_gettext_callables(tongue.words.gettext, tongue.words.ngettext, newstyle=True)  # type: ignore[attr-defined]
        made.filters.update(filters_for(tongue, units))
        made.globals.update(
            static=self.statics.address, scripts_of=self.statics.needs, mark_of=mark_of, in_ten=in_ten,
            span=tongue.span, tongue=tongue, units=units,
            languages=NAMES, version=__version__, name_of=_name_of(tongue),
        )  # fmt: skip
        return made


def _name_of(tongue: Tongue) -> Any:
    """
    `name_of(word)`: a stage, a round or a piece of kit in this language, or as the grower named it.

    A name is not `_`'s to translate: Jinja takes what `_` gives for markup of ours and for a format string.
    """

    def name_of(word: str) -> str:
        return tongue.words.gettext(word) if word else ""

    return name_of


def _when_year(ask: Ask) -> Any:
    """`when_year(moment)`: day, year and time of day on the farm's wall."""

    def when_year(moment: datetime) -> str:
        local = ask.local(moment)
        return f"{ask.tongue.day(local.date(), year=True)} {ask.tongue.clock(local)}"

    return when_year


def _clock(ask: Ask) -> Any:
    """`clock(moment)`: the time of day on the farm's wall."""

    def clock(moment: datetime) -> str:
        return ask.tongue.clock(ask.local(moment))

    return clock


def _when(ask: Ask) -> Any:
    """`when(moment)`: the time of day today, the day with it on others."""

    def when(moment: datetime) -> str:
        local = ask.local(moment)
        clock = ask.tongue.clock(local)
        return clock if local.date() == ask.today else f"{ask.tongue.day(local.date())} {clock}"

    return when


class _Compiled(BytecodeCache):
    """Templates as they were compiled, for all environments and all pages of a process: they only differ in words and
    units. Each stands under its file, with a checksum of its source: one that was changed is compiled anew."""

    def __init__(self) -> None:
        self._kept: dict[str, bytes] = {}

    def load_bytecode(self, bucket: Bucket) -> None:
        found = self._kept.get(bucket.key)
        if found is not None:
            bucket.bytecode_from_string(found)

    def dump_bytecode(self, bucket: Bucket) -> None:
        self._kept[bucket.key] = bucket.bytecode_to_string()


_COMPILED = _Compiled()
