"""What a view is given: who asks, when, what was typed, the farm, and how to answer."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, TypeVar

import msgspec
from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from trayward.errors import Finding, InputError
from trayward.farm.entries import Body, Struck
from trayward.farm.settings import METRIC, US, FarmSettings, ShownUnits
from trayward.paper.tongue import Tongue as OnPaper
from trayward.rounds.entries.typed import typed_in
from trayward.rounds.measures import in_units
from trayward.web.faults import Fault, ShutError, json_fault
from trayward.web.guard import Right, Who
from trayward.web.look.locales import NAMES as LANGUAGES
from trayward.web.look.locales import Tongue
from trayward.web.look.on_paper import on_paper
from trayward.web.look.own_names import Names, as_typed, names_of
from trayward.web.once import once
from trayward.web.routing import Way
from trayward.web.send import Send, is_send
from trayward.web.shield import KEY_COOKIE, new_key
from trayward.web.typed import Typed, Upload
from trayward.web.words_kept import SAY_COOKIE, kept_word
from trayward.web.work import Long
from trayward.words import as_text

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from trayward.bootstrap import Farm
    from trayward.desk.core import Receipt, Said
    from trayward.web.guard import People
    from trayward.web.held import Held
    from trayward.web.house import House

T = TypeVar("T")


class Sent(msgspec.Struct, frozen=True, kw_only=True):
    """What came with a request beside its address."""

    words: tuple[tuple[str, str], ...] = ()
    files: Mapping[str, Upload] = {}
    body: bytes = b""
    """As it came, where it is no form."""


WORDED_HERE = frozenset(("answered-too",))
"""Codes of findings that a view words in the page's language itself."""


class Gone(RedirectResponse):
    """On to another page, with a short word to show there."""

    def __init__(self, where: str, say: str, findings: Sequence[Finding], undo: Sequence[str]) -> None:
        super().__init__(where, status_code=303)
        self.where, self.say, self.findings, self.undo = where, say, tuple(findings), tuple(undo)


class Ask:
    """
    One request, for one view. Use it in that request's thread only.

    The farm is taken when it is first touched, and given back when the view is done: until then nobody else has it.
    """

    def __init__(self, house: House, request: Request, way: Way, now: datetime, who: Who | None, sent: Sent) -> None:
        self.request, self.way, self.now = request, way, now
        self._house, self._who, self._sent = house, who, sent
        self._taken, self._handed_on = False, False
        self.send: Send | None = None
        """What a device kept and sends now; None for a form just filled in."""
        self.fault: Fault | None = None
        """What was wrong with the form, where its page is shown again."""
        self.refused: Ask | None = None
        """The act that was refused, where its page is shown again."""
        self.word_shown = False
        """Whether the short word of the act before was put on the page."""

    # Who and when ----------------------------------------------------------------------------------------------------

    @property
    def who(self) -> Who:
        """Who asks. Only pages for anyone are seen by strangers; they ask `ask.known` first."""
        if self._who is None:
            raise ShutError("Nobody is logged in.", "Log in first.", status=401)
        return self._who

    @property
    def known(self) -> Who | None:
        """Who asks; None for a stranger."""
        return self._who

    def may(self, right: Right) -> bool:
        """Whether who asks may do what takes that right: for showing a button or not."""
        return self._who is not None and self._who.may(right)

    def rate(self) -> None:
        """Count this request among those of who sends it. Raises `ShutError` (429) where they are too many."""
        self._house.rate.count(self.who.name, self.now)

    @property
    def people(self) -> People:
        """Who keeps the accounts."""
        return self._house.people

    @once
    def at(self) -> datetime:
        """The moment the page is of, in UTC: now, or where the book ends if a device's clock ran a little ahead."""
        self._take()
        return self._house.office.seen_at(self.now)

    @once
    def ends_beyond(self) -> datetime | None:
        """Where the book ends, if this machine's clock is behind that."""
        return self._house.office.ends_beyond(self.now) if self.has_farm else None

    @once
    def zone(self) -> ZoneInfo:
        """The farm's time zone."""
        self._take()
        return self._house.office.zone(self.now)

    @once
    def today(self) -> date:
        """The farm's own day."""
        return self.at.astimezone(self.zone).date()

    def local(self, moment: datetime) -> datetime:
        """A moment on the farm's wall clock."""
        return moment.astimezone(self.zone)

    @property
    def said(self) -> Said:
        """How a thing is said to the farm: when it happened, by whom, and whether it is to be kept in any case."""
        if self.send is not None:
            return self.send.said(self.who.name)
        sure = self.form.ticked("sure") or self.request.headers.get("trayward-sure", "") == "1"
        return {"at": self.at, "by": self.who.name, "recorded": self.now, "ids": None, "sure": sure}

    # The farm --------------------------------------------------------------------------------------------------------

    @property
    def farm(self) -> Farm:
        """The farm, this request's alone until its view is done."""
        self._take()
        return self._house.office.farm

    @property
    def has_farm(self) -> bool:
        """Whether there is a farm in the book yet."""
        self._take()
        return self._house.office.has_farm

    def begin(self, setup: Any) -> None:
        """Set up a farm where there is none: a ready setup's name, or what a setup file says."""
        self._take()
        self._house.office.begin(setup, at=self.now, by=self.who.name)

    @property
    def settings(self) -> FarmSettings:
        """The farm's settings."""
        self._take()
        return self._house.office.settings(self.now)

    @once
    def units(self) -> ShownUnits:
        """The person's units, or the farm's."""
        chosen = self._who.units if self._who is not None else ""
        if chosen or not self.has_farm:
            return US if chosen == "us" else METRIC
        return self.settings.units

    def kept(self, key: Hashable, make: Callable[[], T]) -> T:
        """A value made once for this version of the book: `ask.kept(("yields", crop), lambda: ...)`."""
        self._take()
        return self._house.office.kept(key, make)

    @property
    def version(self) -> str:
        """Moves whenever the book does, or long work is done."""
        self._take()
        return self._house.version

    def long(self, job: str, **asked: Any) -> Long[Any]:
        """What a job of another process worked out for this version of the book, or how far it is."""
        return self._house.work.ask(job, self.at, self._house.office.version, self.today, asked)

    def newest(self, job: str, **asked: Any) -> Long[Any]:
        """The newest a job gave so far, of whatever version of the book; nothing is begun for it."""
        return self._house.work.newest(job, asked)

    def shown_again(self, held: Held, who: Who) -> Response | None:
        """A form that went through the log-in, on its page, for somebody who is known now; None where there is none."""
        return self._house.shown_again(self, held, who)

    # What was sent ---------------------------------------------------------------------------------------------------

    @property
    def path(self) -> Mapping[str, Any]:
        """The named parts of the address."""
        return self.request.path_params

    @once
    def query(self) -> Typed:
        """What stands behind the `?` of the address."""
        return self._typed(QueryParams(self.request.url.query).multi_items(), {})

    @once
    def form(self) -> Typed:
        """What was typed into the form, and its files."""
        return self._typed(self._sent.words, self._sent.files)

    @property
    def body(self) -> bytes:
        """What was sent where it is no form: JSON."""
        return self._sent.body

    def read(self, kind: type[T]) -> T:
        """
        The JSON that was sent, as a msgspec struct.

        Raises
        ------
        InputError
            If it is no JSON, or not of that shape.
        """
        try:
            return msgspec.json.decode(self.body or b"{}", type=kind)
        except (msgspec.DecodeError, UnicodeDecodeError) as error:
            raise InputError("body", self.body[:40].decode(errors="replace"), str(error), "See /api.") from error

    def typed(self, name: str, default: object = "", form: str = "") -> str:
        """What a field shows: the words typed before where its form was refused, else what it begins with."""
        back = self.refused
        if back is not None and form == back.form.text("_form") and (name in back.form or not default):
            return back.form.text(name)
        return "" if default is None else str(default)

    def _typed(self, words: Iterable[tuple[str, str]], files: Mapping[str, Upload]) -> Typed:
        farm = self._house.office.head.seq > 0
        return Typed(words, files, units=self.units, zone=self.zone if farm else None)

    # Words -----------------------------------------------------------------------------------------------------------

    @once
    def tongue(self) -> Tongue:
        """The language the page is in, with its ways of writing days and numbers."""
        chosen = self.request.query_params.get("lang", "") or (self._who.language if self._who is not None else "")
        chosen = chosen or self.request.cookies.get("trayward-lang", "")
        return self._house.look.tongues.choose(chosen, self.request.headers.get("accept-language", ""))

    @property
    def locale(self) -> str:
        """As in `en_GB`, `es`."""
        return self.tongue.locale

    def _(self, words: str, **values: object) -> str:
        """Words of ours in the page's language, with `%(name)s` filled in."""
        return self.tongue.gettext(words, **values)

    def ngettext(self, one: str, many: str, number: int, **values: object) -> str:
        """The same for a count, which stands in them as `%(num)s`."""
        return self.tongue.ngettext(one, many, number, **values)

    def say(self, sentence: str) -> str:
        """A sentence of the rooms below in the page's language; the farm's own names stay as they are."""
        return self._say(sentence)

    @once
    def _say(self) -> Callable[[str], str]:
        return self.sayer(self.tongue)

    def measured(self, sentence: str) -> str:
        """A sentence, as `say` says it, with its measures in the page's units; the farm's own names stay."""
        units = self.units
        if units == METRIC:
            return sentence
        return self._own_names.kept(sentence, lambda words: in_units(words, units, self.tongue.number))

    def told(self, sentence: str, *entries: str) -> str:
        """`say` and `measured` of a sentence that tells these entries of the book: what was typed stays as it was."""
        return as_typed(sentence, self._typed_in(entries), self.tongue.sayings, self.say, self.measured)

    def told_of(self, sentence: str, *bodies: Body) -> str:
        """As `told`, of what is to be kept or was: entries by what they say, whether they are in the book or not."""
        typed = sorted(self._typed_into(bodies), key=len, reverse=True)
        return as_typed(sentence, typed, self.tongue.sayings, self.say, self.measured)

    def _typed_in(self, entries: Iterable[str]) -> list[str]:
        """What was typed into entries and into those that they strike."""
        found: list[str] = []
        for name in entries:
            kept = self.farm.book.get(name)
            if kept is not None:
                found += self._typed_into((kept.entry.body,))
                found += self._typed_in((kept.entry.body.entry,)) if isinstance(kept.entry.body, Struck) else []
        return sorted(found, key=len, reverse=True)

    def _typed_into(self, bodies: Iterable[Body]) -> list[str]:
        """What was typed; words of ours among it are ours."""
        sayings = self.tongue.sayings
        typed = (words for body in bodies for words in typed_in(body))
        return [words for words in typed if sayings is None or not sayings.knows(words)]

    def sayer(self, tongue: Tongue) -> Callable[[str], str]:
        """`say` for another language; it asks nothing of the farm any more."""
        return str if tongue.sayings is None else self._own_names.sayer(tongue.sayings, tongue.locale)

    def tongue_of(self, *languages: str) -> Tongue:
        """The first of some languages that is one of ours: `es`, `es_MX`; else what is asked for in the header."""
        chosen = next((each for each in languages if each[:2] in LANGUAGES), "")
        return self._house.look.tongues.choose(chosen, self.request.headers.get("accept-language", ""))

    def told_wrong(self, fault: Fault, status: int) -> Response:
        """
        What went wrong, as JSON, its sentences in the language of who reads them.

        A device shows what it is told as it is, so in its page's language; a program in the one its header asks for.
        """
        tongue = self.tongue if is_send(self.request.headers) else self.tongue_of()
        # Where the book is out of reach, or nobody may look into it, the names in it are not asked for.
        say = tongue.said if fault.kind in ("book", "shut") else self.sayer(tongue)
        return json_fault(fault, status, tongue, say)

    def on_paper(self, language: str = "") -> OnPaper:
        """The page's language for a sheet, or another; the names its farm's people gave stay as they are."""
        tongue = self.tongue_of(language) if language else self.tongue
        return on_paper(tongue, self.sayer(tongue))

    @once
    def _own_names(self) -> Names:
        if not self.has_farm:
            return Names(())
        return self.kept("names-given", lambda: names_of(self.farm.state(self.at)))

    # Answers ---------------------------------------------------------------------------------------------------------

    def show(self, template: str, *, status: int = 200, **values: Any) -> Response:
        """A page made of a template."""
        refused = 422 if self.fault is not None and status == 200 else status
        return HTMLResponse(self._house.look.render(self, template, values), status_code=refused)

    def go(self, where: str, say: str = "", *, findings: Sequence[Finding] = (), undo: Sequence[str] = ()) -> Response:
        """
        On to a page, with a short word shown there; what looks odd about what was kept is shown with it.

        `undo`: ids of the entries that a button beside the word takes back.
        """
        return Gone(where, say, [self._in_own_words(each) for each in findings], undo)

    def _in_own_words(self, finding: Finding) -> Finding:
        """A finding in the page's language, once: what a view worded itself may hold what somebody typed."""
        if finding.code in WORDED_HERE:
            return finding
        return msgspec.structs.replace(finding, message=self.say(finding.message), remedy=self.say(finding.remedy))

    def recorded(self, where: str, say: str, receipt: Receipt) -> Response:
        """On to a page once something was recorded: what looks odd is shown there, and a button takes it back."""
        undo = [kept.entry.id for kept in receipt.kept]
        return self.go(where, say, findings=receipt.findings, undo=undo)

    def json(self, value: Any, status: int = 200) -> Response:
        """An answer to a program."""
        return Response(msgspec.json.encode(value, enc_hook=as_text), status_code=status, media_type="application/json")

    @property
    def wants_json(self) -> bool:
        """Whether a program asks, not a person."""
        accepts = self.request.headers.get("accept", "")
        return self.way.asking == "json" or is_send(self.request.headers) or accepts.startswith("application/json")

    # What the shared templates need ----------------------------------------------------------------------------------

    @once
    def key(self) -> str:
        """The key that a form carries and the browser's cookie has too."""
        return self.request.cookies.get(KEY_COOKIE, "") or new_key()

    @property
    def key_is_new(self) -> bool:
        """Whether the browser has to be given the key yet."""
        return "key" in self.__dict__ and not self.request.cookies.get(KEY_COOKIE)

    @property
    def here(self) -> str:
        """This page's own address, without the name of the machine."""
        query = self.request.url.query
        return self.request.url.path + (f"?{query}" if query else "")

    @property
    def sent_words(self) -> Sequence[tuple[str, str]]:
        """Fields and words as they were sent."""
        return self._sent.words

    def word(self) -> dict[str, Any]:
        """The short word of the act before: what to say, what looked odd, what can be taken back. Once."""
        if self.request.headers.get("trayward-live"):
            return {}
        self.word_shown = SAY_COOKIE in self.request.cookies
        return kept_word(self.request.cookies)

    def has(self, path: str) -> bool:
        """Whether there is a page at that path, for showing a link to it."""
        return path in self._house.pages

    # The farm is taken and given back --------------------------------------------------------------------------------

    def _take(self) -> None:
        # Handed on within its own thread: waiting for it would be waiting for ever.
        if not self._taken and not self._handed_on:
            self._house.office.take()
            self._taken = True

    def done(self) -> None:
        """Give the farm back. The house does it after the view."""
        if self._taken:
            self._taken = False
            self._house.office.give_back()

    def hand_on(self, other: Ask) -> None:
        """Hand the farm on to another ask of the same request."""
        self._take()
        other._taken, self._taken, self._handed_on = True, False, True
