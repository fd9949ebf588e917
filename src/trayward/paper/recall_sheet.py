"""A recall on paper: what was asked, whom to tell, what to hold, grams that add up; to work from, and to keep.

Before a recall is kept it has lines to fill in while somebody telephones; afterwards it says how it went.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from datetime import date, datetime
from itertools import islice

import msgspec

from trayward.farm.calendar import local_day, zone
from trayward.farm.recalls import Contact, Told
from trayward.farm.settings import FarmSettings
from trayward.hygiene.pack import moment
from trayward.paper.flow import Blank, Cell, Column, Flow, Tick, Words
from trayward.paper.paper import paper_of
from trayward.paper.tongue import ENGLISH, Tongue, later
from trayward.trace.recall import KeptRecall, RecallCustomer, RecallDelivery, RecallLot, RecallPack, RecallSheet
from trayward.trace.words import CAUTION, went_words
from trayward.trace.words import Words as TraceWords
from trayward.units import GRAMS_PER_OUNCE
from trayward.words import listed

MOST_LINES = 8
"""So many lots of a delivery stand in one row; the rest go on in the next, so that no row is taller than a page."""
FACTS = (Column(wide=40.0), Column())
CALL = (
    Column(title=later("Told"), wide=14.0, align="centre"),
    Column(title=later("Whom")),
    Column(title=later("May still be there"), wide=52.0),
    Column(title=later("By whom, when"), wide=42.0),
)
GOT = (Column(title=later("Went out"), wide=46.0), Column(title=later("What they got")))
CALLED = (
    Column(title=later("Went out"), wide=46.0),
    Column(title=later("What they got")),
    Column(title=later("Told"), wide=54.0),
)
PACKS = (
    Column(title=later("Pack lot"), wide=38.0),
    Column(title=later("Product")),
    Column(title=later("Filled"), wide=27.0),
    Column(title=later("Where"), wide=40.0),
    Column(title=later("Best before"), wide=34.0),
    Column(title=later("Held"), wide=14.0, align="centre"),
)
HOLD = (Column(title=later("Hold here")), Column(title=later("Held"), wide=14.0, align="centre"))


class _Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """What every part of the paper is made from."""

    flow: Flow
    found: RecallSheet
    words: TraceWords
    settings: FarmSettings
    kept: KeptRecall | None = None

    @property
    def tongue(self) -> Tongue:
        """The language it is in."""
        return self.flow.tongue

    def mass(self, grams: float) -> str:
        """A weight [g] as the farm shows it."""
        return self.tongue.number(self.words.mass(grams))

    @property
    def account(self) -> str:
        """What was accounted for."""
        return self.tongue.said(self.words.account(self.found))

    @property
    def codes(self) -> dict[str, str]:
        """Name of a pack or harvest lot -> its code, as a label carries it."""
        packs = {pack.pack: pack.code for pack in self.found.packs}
        return packs | {lot.harvest: lot.code for lot in self.found.lots}

    def moment(self, at: datetime) -> str:
        """A moment on the farm's clock, as other papers that are kept say it."""
        return moment(at, zone(self.settings))


def recall_sheet_pdf(
    found: RecallSheet, settings: FarmSettings, *, at: datetime, began: datetime | None = None, size: str = "",
    tongue: Tongue = ENGLISH,
) -> bytes:  # fmt: skip
    """
    The sheet to work from: whom to call and what to hold, with boxes and lines for what is done.

    Parameters
    ----------
    found : RecallSheet
        What was worked out.
    at : datetime
        When it is printed.
    began : datetime, optional
        When somebody began to look; a line to fill in where it is not said.
    size : str
        `A4` or `Letter`; the farm's if left out.
    tongue : Tongue
        The language it is in.
    """
    words = TraceWords(settings)
    asked = tongue.said(_asked(found, words))
    about = tongue._("%(asked)s, as of %(when)s", asked=asked, when=moment(found.at, zone(settings)))
    flow = paper_of(settings, at, size, tongue).flow(tongue._("Recall sheet"), about)
    sheet = _Sheet(flow=flow, found=found, words=words, settings=settings)
    flow.words(tongue.said(CAUTION))
    _call(sheet)
    _hold(sheet)
    _to_fill_in(sheet, began)
    _details(sheet)
    _others(sheet.flow)
    return _signed(sheet)


def kept_recall_pdf(
    kept: KeptRecall, settings: FarmSettings, *, at: datetime, size: str = "", tongue: Tongue = ENGLISH
) -> bytes:
    """The report of a recall that was kept: how it went, who was reached, what was accounted for."""
    told, words = kept.recall, TraceWords(settings)
    title = tongue._("Recall exercise") if told.exercise else tongue._("Recall")
    day = tongue.day_in_full(local_day(told.ended, settings))
    about = f"{told.recall}, {day}: {tongue.said(_asked(kept.sheet, words))}"
    flow = paper_of(settings, at, size, tongue).flow(title, about)
    sheet = _Sheet(flow=flow, found=kept.sheet, words=words, settings=settings, kept=kept)
    _as_it_went(sheet, kept)
    _body(sheet)
    return _signed(sheet)


def _body(sheet: _Sheet) -> None:
    _hold(sheet)
    _details(sheet)


def _details(sheet: _Sheet) -> None:
    _contacts(sheet)
    _packs(sheet)
    _grams(sheet)
    _findings(sheet)


def _asked(found: RecallSheet, words: TraceWords) -> str:
    """What was asked for, a lot under the code that its label carries."""
    codes = {lot.harvest: lot.code for lot in found.lots} | {pack.pack: pack.code for pack in found.packs}
    start = found.start
    code = codes.get(start.name, start.name) if start.kind in ("harvest", "pack") else start.name
    return words.start(msgspec.structs.replace(start, name=code))


# Whom to telephone ----------------------------------------------------------------------------------------------------


def _call(sheet: _Sheet) -> None:
    """Every customer on a line or two, whoever likely has most of it uneaten first: the page to telephone from."""
    flow, found, tongue = sheet.flow, sheet.found, sheet.tongue
    flow.gap(3.0)
    flow.heading_line(tongue._("Whom to telephone, the most urgent first"), keep=24.0)
    if not found.customers:
        flow.words(tongue._("Nobody had of it."), bold=True)
        return
    flow.table(CALL)
    for each in found.customers:
        how = ", ".join(part for part in (each.contact.person, each.contact.phone or each.contact.email) if part)
        none = tongue._("No telephone and no e-mail is in the book")
        whom: Cell = (Words(words=each.customer, bold=True), how if each.reachable else none)
        labels = (later("by, at"),) if each.reachable else (later("number"), later("by, at"))
        flow.row(Tick(), whom, tongue.said(_capital(sheet.words.still(each))), Blank(labels=labels))
    flow.end_table()
    flow.words(tongue._("First comes who likely has most of it uneaten."))
    flow.words(tongue._("What each of them got, and when, stands on the pages after this list."))


# In front -------------------------------------------------------------------------------------------------------------


def _to_fill_in(sheet: _Sheet, began: datetime | None) -> None:
    found, flow, tongue = sheet.found, sheet.flow, sheet.tongue
    flow.gap(4.0)
    reached = sum(each.reachable for each in found.customers)
    flow.table(FACTS)
    _fact(flow, later("Asked"), tongue.said(_asked(found, sheet.words)))
    _fact(flow, later("Lots called back"), _lots(sheet))
    _fact(flow, later("Accounted for"), sheet.account)
    to_tell = tongue.ngettext(
        "%(num)s customer, %(reached)s with a telephone or an e-mail in the book",
        "%(num)s customers, %(reached)s with a telephone or an e-mail in the book",
        len(found.customers), reached=reached,
    )  # fmt: skip
    _fact(flow, later("To tell"), to_tell if found.customers else tongue._("Nobody had of it."))
    _fact(flow, later("Why"), Blank())
    _fact(flow, later("Began"), sheet.moment(began) if began is not None else Blank())
    _fact(flow, later("Ended"), Blank())
    _fact(flow, later("It took"), Blank(unit=tongue._("minutes")))
    flow.end_table()


def _as_it_went(sheet: _Sheet, kept: KeptRecall) -> None:
    flow, told, found, tongue = sheet.flow, kept.recall, sheet.found, sheet.tongue
    flow.table(FACTS)
    _fact(flow, later("Asked"), tongue.said(_asked(found, sheet.words)))
    _fact(flow, later("Why"), told.reason)
    called = tongue._("Crop was called back.")
    _fact(flow, later("What it was"), tongue._("An exercise: nothing was called back.") if told.exercise else called)
    _fact(flow, later("Began"), sheet.moment(told.began))
    _fact(flow, later("Ended"), sheet.moment(told.ended))
    took = tongue.ngettext("%(num)s minute", "%(num)s minutes", round(told.minutes))
    _fact(flow, later("It took"), Words(words=took, bold=True))
    _fact(flow, later("Lots called back"), _lots(sheet))
    _fact(flow, later("Accounted for"), _kept_account(sheet, kept))
    reached = tongue.ngettext(
        "%(reached)s of %(num)s customer", "%(reached)s of %(num)s customers", len(told.told),
        reached=sum(each.reached for each in told.told),
    )  # fmt: skip
    _fact(flow, later("Reached"), reached if told.told else tongue._("Nobody had of it."))
    when = sheet.moment(kept.written)
    _fact(
        flow,
        later("Kept"),
        tongue._("in the book as %(name)s by %(who)s, %(when)s", name=told.recall, who=kept.by, when=when),
    )
    flow.end_table()
    flow.gap(2.0)
    flow.words(tongue.said(CAUTION))


def _fact(flow: Flow, name: str, cell: Cell) -> None:
    flow.row(Words(words=flow.tongue._(name), bold=True), cell)


def _lots(sheet: _Sheet) -> str:
    codes = listed((lot.code or lot.harvest for lot in sheet.found.lots), most=8)
    return sheet.tongue.said(codes) if codes else sheet.tongue._("none")


def _kept_account(sheet: _Sheet, kept: KeptRecall) -> Cell:
    """What was accounted for when it was kept; and today's, where the book says another thing by now."""
    told, tongue = kept.recall, sheet.tongue
    if not kept.changed:
        return (Words(words=sheet.account, bold=True),) if told.cut_g else sheet.account
    share, cut = tongue.number(sheet.words.share(told.share)), sheet.mass(told.cut_g)
    then = tongue._("%(share)s of %(mass)s cut was accounted for, as it was kept.", share=share, mass=cut)
    now = tongue._("The book was put right since. It now says of that moment: %(account)s", account=sheet.account)
    return (Words(words=then, bold=True), now)


# Hold, and tell -------------------------------------------------------------------------------------------------------


def _hold(sheet: _Sheet) -> None:
    found, flow, tongue = sheet.found, sheet.flow, sheet.tongue
    packs = [each for each in found.packs if each.here]
    rows = [
        tongue._("In the cold room: %(mass)s loose of %(lot)s", mass=sheet.mass(grams), lot=sheet.codes.get(lot, lot))
        for lot, grams in found.cold_room.items()
    ]
    rows += [tongue._("Do not cut: tray %(tray)s", tray=tray) for tray in found.growing]
    if packs:
        here = sum(each.here for each in packs)
        rows.append(
            tongue.ngettext(
                "Packs here: %(here)s of %(num)s pack lot, below", "Packs here: %(here)s of %(num)s pack lots, below",
                len(packs), here=here,
            )
        )  # fmt: skip
    flow.gap(3.0)
    flow.table(HOLD)
    for words in rows:
        flow.row(words, Tick())
    if not rows:
        flow.row(tongue._("Nothing of it is here."), "")
    flow.end_table()


def _contacts(sheet: _Sheet) -> None:
    flow, found, kept, tongue = sheet.flow, sheet.found, sheet.kept, sheet.tongue
    flow.gap(4.0)
    flow.heading_line(tongue._("What they got") if kept is None else tongue._("Who was told"), keep=40.0)
    told = {each.customer: each for each in kept.recall.told} if kept is not None else {}
    gone = [each for name, each in told.items() if name not in {customer.customer for customer in found.customers}]
    if not found.customers and not gone:
        flow.words(tongue._("Nobody had of it."), bold=True)
        return
    flow.table(GOT if kept is None else CALLED)
    for customer in found.customers:
        flow.section(customer.customer, _reach_words(customer, sheet))
        for number, row in enumerate(_went_out(sheet, customer)):
            cells = _told_cells(told.get(customer.customer), tongue, first=number == 0) if kept is not None else ()
            flow.row(*row, *cells)
    for each in gone:
        had = went_words(each.packs, 0.0, each.trays, sheet.settings.units.mass)
        about = tongue._(
            "Had %(what)s, as it was kept. The book says no longer that anything went to them.", what=tongue.said(had)
        )
        flow.section(each.customer, about)
        in_all = tongue._("%(mass)s in all", mass=sheet.mass(each.grams)) if each.grams else ""
        flow.row("", in_all, *_told_cells(each, tongue, first=True))
    flow.end_table()


def _reach_words(customer: RecallCustomer, sheet: _Sheet) -> str:
    contact: Contact = customer.contact
    tongue = sheet.tongue
    how = ", ".join(
        [tongue._("ask for %(person)s", person=contact.person)] * bool(contact.person)
        + [tongue._("telephone %(number)s", number=contact.phone)] * bool(contact.phone)
        + [tongue._("e-mail %(address)s", address=contact.email)] * bool(contact.email)
        + [contact.address] * bool(contact.address)
    )
    had = tongue._("Had %(what)s", what=tongue.said(sheet.words.had(customer)))
    in_all = tongue._("%(mass)s in all", mass=sheet.mass(customer.grams))
    said = [
        _capital(how),
        "" if customer.reachable else tongue._("No telephone and no e-mail is in the book"),
        "" if customer.known else tongue._("The book has no such customer (any more)"),
        f"{had} ({in_all})" if customer.packs else had,
    ]
    return f"{'. '.join(part for part in said if part)}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _went_out(sheet: _Sheet, customer: RecallCustomer) -> Iterator[tuple[Cell, Cell]]:
    """Rows of what went to a customer with each delivery, none taller than a page."""
    if not customer.deliveries:
        yield "", sheet.tongue.said(sheet.words.had(customer))
    for each in customer.deliveries:
        lines = iter(_lines_of(sheet, each))
        day = sheet.tongue.day_in_full(local_day(each.at, sheet.settings))
        head: Cell = (Words(words=day, bold=True), *_papers(sheet, each))
        while some := tuple(islice(lines, MOST_LINES)):
            yield head, some
            head = sheet.tongue._("%(delivery)s, more", delivery=each.delivery)


def _papers(sheet: _Sheet, each: RecallDelivery) -> list[str]:
    """Under which name it went out, who brought it, and the customer's own paper for it."""
    clock = sheet.tongue.clock(each.at.astimezone(zone(sheet.settings)))
    line = ", ".join(word for word in (clock, each.delivery, each.by) if word)
    return [line, each.document] if each.document not in ("", each.delivery) else [line]


def _lines_of(sheet: _Sheet, each: RecallDelivery) -> list[str]:
    codes, products, tongue = sheet.codes, {pack.pack: pack.product for pack in sheet.found.packs}, sheet.tongue
    lines = []
    for name, packs in each.packs.items():
        what = f", {products[name]}" if name in products else ""
        lot = codes.get(name) or name
        lines.append(tongue.ngettext("%(num)s pack of %(lot)s", "%(num)s packs of %(lot)s", packs, lot=lot) + what)
    lines += [
        tongue._("%(mass)s loose of %(lot)s", mass=sheet.mass(grams), lot=codes.get(name) or name)
        for name, grams in each.loose.items()
    ]
    lines += [tongue._("live tray %(tray)s", tray=tray) for tray in each.trays]
    return lines or [tongue._("nothing of these lots")]


def _told_cells(told: Told | None, tongue: Tongue, *, first: bool) -> tuple[Cell, ...]:
    """Whether the word reached them, beside the first thing they got."""
    if not first:
        return ("",)
    if told is None:
        return (Words(words=tongue._("Not on the list then"), bold=True),)
    said = Words(words=tongue._("told") if told.reached else tongue._("NOT REACHED"), bold=True)
    return ((said, told.note) if told.note else said,)


# Packs and grams ------------------------------------------------------------------------------------------------------


def _packs(sheet: _Sheet) -> None:
    flow, packs, tongue = sheet.flow, sheet.found.packs, sheet.tongue
    flow.gap(4.0)
    flow.heading_line(tongue.ngettext("Packs: %(num)s lot", "Packs: %(num)s lots", len(packs)), keep=24.0)
    if not packs:
        flow.words(tongue._("None was filled."), bold=True)
        return
    flow.table(PACKS)
    for pack in packs:
        flow.row(*_pack(pack, sheet))
    flow.end_table()


def _pack(pack: RecallPack, sheet: _Sheet) -> tuple[Cell, ...]:
    tongue = sheet.tongue
    parts = ((pack.delivered, later("gone out")), (pack.here, later("here")), (pack.thrown, later("thrown away")))
    where = ", ".join(f"{number} {tongue._(word)}" for number, word in parts if number)
    mixed = (tongue._("mixed: %(mass)s of the lots", mass=sheet.mass(pack.affected_g)),) if pack.mixed else ()
    best = tongue.day_in_full(date.fromisoformat(pack.best_before)) if pack.best_before else ""
    filled = tongue._("%(packs)s of %(mass)s", packs=pack.packs, mass=sheet.mass(pack.pack_g))
    none = tongue._("none")
    return (
        Words(words=pack.code or pack.pack, bold=True), (pack.product, *mixed), filled, where or none, best,
        Tick() if pack.here else "",
    )  # fmt: skip


def _grams(sheet: _Sheet) -> None:
    """Where the grams of each lot are, in whole steps that add up in every row and every column."""
    flow, lots, tongue = sheet.flow, sheet.found.lots, sheet.tongue
    unit, step_g = ("oz", GRAMS_PER_OUNCE / 10) if sheet.settings.units.mass == "oz" else ("g", 1.0)
    flow.gap(4.0)
    flow.heading_line(tongue._("Where it all is"), keep=34.0)
    if not lots:
        flow.words(tongue._("Nothing was cut of it."), bold=True)
        return
    flow.words(
        tongue._("In %(unit)s. Cut = gone out + here + thrown away or sampled + missing, in each row.", unit=unit)
    )
    titles = (later("Cut"), later("Gone out"), later("Here"), later("Thrown or sampled"), later("Missing"))
    widths = (24.0, 28.0, 24.0, 32.0, 26.0)
    numbers = [Column(title=title, wide=wide, align="right") for title, wide in zip(titles, widths, strict=True)]
    flow.table((Column(title=later("Harvest lot")), *numbers))
    rows = [steps_of(lot, step_g) for lot in lots]
    for lot, row in zip(lots, rows, strict=True):
        flow.row((Words(words=lot.code or lot.harvest, bold=True), lot.crop), *_figures(row, unit, tongue))
    if len(rows) > 1:
        sums = [sum(column) for column in zip(*rows, strict=True)]
        flow.row(*(Words(words=words, bold=True) for words in (tongue._("All"), *_figures(sums, unit, tongue))))
    flow.end_table()
    flow.words(sheet.account, bold=True)


def steps_of(lot: RecallLot, step_g: float) -> list[int]:
    """
    Cut, gone out, here, thrown or sampled, and missing in whole steps of a scale, so that the first is the sum.

    What is missing is rounded by itself; of the others those nearest to the next step take what is left over.

    Examples
    --------
    >>> steps_of(RecallLot(harvest="H1", code="", crop="pea", cut_g=50.0, delivered_g=16.7, here_g=16.7,
    ...                    thrown_g=16.6), 1.0)
    [50, 17, 17, 16, 0]
    """
    cut, missing = round(lot.cut_g / step_g), round(lot.missing_g / step_g)
    exact = [grams / step_g for grams in (lot.delivered_g, lot.here_g, lot.thrown_g)]
    whole = [math.floor(part) for part in exact]
    order = sorted(range(len(exact)), key=lambda place: (whole[place] - exact[place], place))
    over = cut - missing - sum(whole)
    for number in range(abs(over)):
        whole[order[number % len(order)]] += 1 if over > 0 else -1
    return [cut, *whole, missing]


def _figures(row: Sequence[int], unit: str, tongue: Tongue) -> list[str]:
    return [tongue.number(f"{number / 10:.1f}") if unit == "oz" else str(number) for number in row]


# The end --------------------------------------------------------------------------------------------------------------


def _findings(sheet: _Sheet) -> None:
    flow, kept, tongue = sheet.flow, sheet.kept, sheet.tongue
    found = sheet.found.findings
    then = [] if kept is None else set(kept.recall.findings) - {each.message for each in found}
    # Who cannot be reached stands at each customer already: here they are one line.
    unreached = sorted(each.customer for each in sheet.found.customers if not each.reachable)
    now = [tongue.said(each.sentence()) for each in found if each.code != "contact-missing"]
    if unreached:
        names = tongue._(" and ").join([", ".join(unreached[:-1]), unreached[-1]] if unreached[1:] else unreached)
        now.append(tongue._("No telephone and no e-mail in the book: %(names)s.", names=names))
    flow.gap(4.0)
    flow.heading_line(tongue._("What was found"), keep=14.0)
    for words in sorted(then):
        flow.words(tongue._("When it was kept: %(finding)s", finding=tongue.said(words)))
    for words in now:
        flow.words(words)
    if not then and not now:
        flow.words(tongue._("Nothing: everything adds up.") if sheet.found.lots else tongue._("Nothing."))


def _others(flow: Flow) -> None:
    """Lines for those whom the book does not know: an authority, an insurer."""
    flow.gap(4.0)
    tongue = flow.tongue
    flow.heading_line(tongue._("Others who were told"), keep=60.0)
    flow.words(tongue._("Whether an authority has to be told, and how soon, is for local law to say."))
    flow.table((Column(), Column(wide=48.0)))
    for _ in range(2):
        who, by = (later("who"), later("what they said")), (later("by"), later("at"))
        flow.row(Blank(labels=who), Blank(labels=by), ruled=False)
    flow.end_table()


def _signed(sheet: _Sheet) -> bytes:
    flow = sheet.flow
    flow.gap(6.0)
    flow.need(30.0)
    half = flow.wide / 2
    flow.table((Column(wide=half), Column(wide=half)))
    for who in (later("led by"), later("looked over by")):
        flow.row(Blank(labels=(who,)), Blank(labels=(later("signed, day"),)), ruled=False)
    return flow.pdf()
