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
from trayward.rounds.words import counted, day_words, listed
from trayward.trace.recall import KeptRecall, RecallCustomer, RecallDelivery, RecallLot, RecallPack, RecallSheet
from trayward.trace.words import CAUTION, went_words
from trayward.trace.words import Words as TraceWords
from trayward.units import GRAMS_PER_OUNCE

MOST_LINES = 8
"""So many lots of a delivery stand in one row; the rest go on in the next, so that no row is taller than a page."""
FACTS = (Column(wide=40.0), Column())
CALL = (
    Column(title="Went out", wide=46.0),
    Column(title="What they got"),
    Column(title="Told", wide=14.0, align="centre"),
    Column(title="By whom, when", wide=48.0),
)
CALLED = (
    Column(title="Went out", wide=46.0),
    Column(title="What they got"),
    Column(title="Told", wide=54.0),
)
PACKS = (
    Column(title="Pack lot", wide=38.0),
    Column(title="Product"),
    Column(title="Filled", wide=27.0),
    Column(title="Where", wide=40.0),
    Column(title="Best before", wide=34.0),
    Column(title="Held", wide=14.0, align="centre"),
)
HOLD = (Column(title="Hold here"), Column(title="Held", wide=14.0, align="centre"))


class _Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """What every part of the paper is made from."""

    flow: Flow
    found: RecallSheet
    words: TraceWords
    settings: FarmSettings
    kept: KeptRecall | None = None

    @property
    def codes(self) -> dict[str, str]:
        """Name of a pack or harvest lot -> its code, as a label carries it."""
        packs = {pack.pack: pack.code for pack in self.found.packs}
        return packs | {lot.harvest: lot.code for lot in self.found.lots}

    def moment(self, at: datetime) -> str:
        """A moment on the farm's clock, as other papers that are kept say it."""
        return moment(at, zone(self.settings))


def recall_sheet_pdf(
    found: RecallSheet, settings: FarmSettings, *, at: datetime, began: datetime | None = None, size: str = ""
) -> bytes:
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
    """
    words = TraceWords(settings)
    about = f"{_asked(found, words)}, as of {moment(found.at, zone(settings))}"
    sheet = _Sheet(flow=paper_of(settings, at, size).flow("Recall sheet", about), found=found, words=words,
                   settings=settings)  # fmt: skip
    _to_fill_in(sheet, began)
    _body(sheet)
    _others(sheet.flow)
    return _signed(sheet)


def kept_recall_pdf(kept: KeptRecall, settings: FarmSettings, *, at: datetime, size: str = "") -> bytes:
    """The report of a recall that was kept: how it went, who was reached, what was accounted for."""
    told, words = kept.recall, TraceWords(settings)
    title = "Recall exercise" if told.exercise else "Recall"
    about = f"{told.recall}, {_day(told.ended, settings)}: {_asked(kept.sheet, words)}"
    flow = paper_of(settings, at, size).flow(title, about)
    sheet = _Sheet(flow=flow, found=kept.sheet, words=words, settings=settings, kept=kept)
    _as_it_went(sheet, kept)
    _body(sheet)
    return _signed(sheet)


def _body(sheet: _Sheet) -> None:
    _hold(sheet)
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


def _day(at: datetime, settings: FarmSettings) -> str:
    return _in_full(local_day(at, settings))


def _in_full(day: date) -> str:
    return f"{day_words(day)} {day.year}"


# In front -------------------------------------------------------------------------------------------------------------


def _to_fill_in(sheet: _Sheet, began: datetime | None) -> None:
    found = sheet.found
    flow = sheet.flow
    reached = sum(each.reachable for each in found.customers)
    flow.table(FACTS)
    _fact(flow, "Asked", _asked(found, sheet.words))
    _fact(flow, "Lots called back", _lots(found))
    _fact(flow, "Accounted for", sheet.words.account(found))
    to_tell = f"{counted(len(found.customers), 'customer')}, {reached} with a telephone or an e-mail in the book"
    _fact(flow, "To tell", to_tell if found.customers else "Nobody had of it.")
    _fact(flow, "Why", Blank())
    _fact(flow, "Began", sheet.moment(began) if began is not None else Blank())
    _fact(flow, "Ended", Blank())
    _fact(flow, "It took", Blank(unit="minutes"))
    flow.end_table()
    flow.gap(2.0)
    flow.words(CAUTION)


def _as_it_went(sheet: _Sheet, kept: KeptRecall) -> None:
    flow, told, found = sheet.flow, kept.recall, sheet.found
    flow.table(FACTS)
    _fact(flow, "Asked", _asked(found, sheet.words))
    _fact(flow, "Why", told.reason)
    _fact(flow, "What it was", "An exercise: nothing was called back." if told.exercise else "Crop was called back.")
    _fact(flow, "Began", sheet.moment(told.began))
    _fact(flow, "Ended", sheet.moment(told.ended))
    _fact(flow, "It took", Words(words=f"{told.minutes:.0f} minutes", bold=True))
    _fact(flow, "Lots called back", _lots(found))
    _fact(flow, "Accounted for", _kept_account(sheet, kept))
    reached = sum(each.reached for each in told.told)
    _fact(flow, "Reached", f"{reached} of {counted(len(told.told), 'customer')}" if told.told else "Nobody had of it.")
    _fact(flow, "Kept", f"in the book as {told.recall} by {kept.by}, {sheet.moment(kept.written)}")
    flow.end_table()
    flow.gap(2.0)
    flow.words(CAUTION)


def _fact(flow: Flow, name: str, cell: Cell) -> None:
    flow.row(Words(words=name, bold=True), cell)


def _lots(found: RecallSheet) -> str:
    return listed((lot.code or lot.harvest for lot in found.lots), most=8) or "none"


def _kept_account(sheet: _Sheet, kept: KeptRecall) -> Cell:
    """What was accounted for when it was kept; and today's, where the book says another thing by now."""
    told, words = kept.recall, sheet.words
    then = f"{words.share(told.share)} of {words.mass(told.cut_g)} cut was accounted for"
    if not kept.changed:
        return (Words(words=words.account(sheet.found), bold=True),) if told.cut_g else words.account(sheet.found)
    now = f"The book was put right since. It now says of that moment: {words.account(sheet.found)}"
    return (Words(words=f"{then}, as it was kept.", bold=True), now)


# Hold, and tell -------------------------------------------------------------------------------------------------------


def _hold(sheet: _Sheet) -> None:
    found, flow = sheet.found, sheet.flow
    packs = [f"{counted(each.here, 'pack')} of {each.code or each.pack}" for each in found.packs if each.here]
    rows = [f"In the cold room: {sheet.words.mass(grams)} loose of {sheet.codes.get(lot, lot)}"
            for lot, grams in found.cold_room.items()]  # fmt: skip
    rows += [f"Do not cut: tray {tray}" for tray in found.growing]
    if packs:
        rows.append(f"Packs here: {sum(each.here for each in found.packs)} of {counted(len(packs), 'pack lot')}, below")
    flow.gap(3.0)
    flow.table(HOLD)
    for words in rows:
        flow.row(words, Tick())
    if not rows:
        flow.row("Nothing of it is here.", "")
    flow.end_table()


def _contacts(sheet: _Sheet) -> None:
    flow, found, kept = sheet.flow, sheet.found, sheet.kept
    flow.gap(4.0)
    flow.heading_line("Whom to tell" if kept is None else "Who was told", keep=40.0)
    told = {each.customer: each for each in kept.recall.told} if kept is not None else {}
    gone = [each for name, each in told.items() if name not in {customer.customer for customer in found.customers}]
    if not found.customers and not gone:
        flow.words("Nobody had of it.", bold=True)
        return
    flow.table(CALL if kept is None else CALLED)
    for customer in found.customers:
        flow.section(customer.customer, _reach_words(customer, sheet.words))
        for number, row in enumerate(_went_out(sheet, customer)):
            flow.row(
                *row,
                *_told_cells(
                    told.get(customer.customer), kept is not None, first=number == 0, reachable=customer.reachable
                ),
            )
    for each in gone:
        had = went_words(each.packs, 0.0, each.trays, sheet.settings.units.mass)
        flow.section(each.customer, f"Had {had}, as it was kept. The book says no longer that anything went to them.")
        flow.row(
            "", f"{sheet.words.mass(each.grams)} in all" if each.grams else "", *_told_cells(each, True, first=True)
        )
    flow.end_table()


def _reach_words(customer: RecallCustomer, words: TraceWords) -> str:
    contact: Contact = customer.contact
    how = ", ".join(
        [f"ask for {contact.person}"] * bool(contact.person)
        + [f"telephone {contact.phone}"] * bool(contact.phone)
        + [f"e-mail {contact.email}"] * bool(contact.email)
        + [contact.address] * bool(contact.address)
    )
    said = [
        _capital(how),
        "" if customer.reachable else "No telephone and no e-mail is in the book",
        "" if customer.known else "The book has no such customer (any more)",
        f"Had {words.had(customer)}" + (f" ({words.mass(customer.grams)} in all)" if customer.packs else ""),
    ]
    return f"{'. '.join(part for part in said if part)}."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


def _went_out(sheet: _Sheet, customer: RecallCustomer) -> Iterator[tuple[Cell, Cell]]:
    """Rows of what went to a customer with each delivery, none taller than a page."""
    if not customer.deliveries:
        yield "", sheet.words.had(customer)
    for each in customer.deliveries:
        lines = iter(_lines_of(sheet, each))
        head: Cell = (Words(words=_day(each.at, sheet.settings), bold=True), *_papers(sheet, each))
        while some := tuple(islice(lines, MOST_LINES)):
            yield head, some
            head = f"{each.delivery}, more"


def _papers(sheet: _Sheet, each: RecallDelivery) -> list[str]:
    """Under which name it went out, who brought it, and the customer's own paper for it."""
    clock = f"{each.at.astimezone(zone(sheet.settings)):%H:%M}"
    line = ", ".join(word for word in (clock, each.delivery, each.by) if word)
    return [line, each.document] if each.document not in ("", each.delivery) else [line]


def _lines_of(sheet: _Sheet, each: RecallDelivery) -> list[str]:
    codes, products = sheet.codes, {pack.pack: pack.product for pack in sheet.found.packs}
    lines = [
        f"{counted(packs, 'pack')} of {codes.get(name) or name}{f', {products[name]}' if name in products else ''}"
        for name, packs in each.packs.items()
    ]
    lines += [f"{sheet.words.mass(grams)} loose of {codes.get(name) or name}" for name, grams in each.loose.items()]
    return [*lines, *(f"live tray {tray}" for tray in each.trays)] or ["nothing of these lots"]


def _told_cells(told: Told | None, kept: bool, *, first: bool, reachable: bool = True) -> tuple[Cell, ...]:
    """A box and two lines while somebody telephones; afterwards whether the word reached them."""
    if not kept:
        return (Tick(), Blank(labels=("by", "at") if reachable else ("number", "by", "at"))) if first else ("", "")
    if not first:
        return ("",)
    if told is None:
        return (Words(words="Not on the list then", bold=True),)
    said = Words(words="told" if told.reached else "NOT REACHED", bold=True)
    return ((said, told.note) if told.note else said,)


# Packs and grams ------------------------------------------------------------------------------------------------------


def _packs(sheet: _Sheet) -> None:
    flow, packs = sheet.flow, sheet.found.packs
    flow.gap(4.0)
    flow.heading_line(f"Packs: {counted(len(packs), 'lot')}", keep=24.0)
    if not packs:
        flow.words("None was filled.", bold=True)
        return
    flow.table(PACKS)
    for pack in packs:
        flow.row(*_pack(pack, sheet.words))
    flow.end_table()


def _pack(pack: RecallPack, words: TraceWords) -> tuple[Cell, ...]:
    parts = ((pack.delivered, "gone out"), (pack.here, "here"), (pack.thrown, "thrown away"))
    where = ", ".join(f"{number} {word}" for number, word in parts if number)
    mixed = (f"mixed: {words.mass(pack.affected_g)} of the lots",) if pack.mixed else ()
    best = _in_full(date.fromisoformat(pack.best_before)) if pack.best_before else ""
    filled = f"{pack.packs} of {words.mass(pack.pack_g)}"
    return (
        Words(words=pack.code or pack.pack, bold=True), (pack.product, *mixed), filled, where or "none", best,
        Tick() if pack.here else "",
    )  # fmt: skip


def _grams(sheet: _Sheet) -> None:
    """Where the grams of each lot are, in whole steps that add up in every row and every column."""
    flow, lots = sheet.flow, sheet.found.lots
    unit, step_g = ("oz", GRAMS_PER_OUNCE / 10) if sheet.settings.units.mass == "oz" else ("g", 1.0)
    flow.gap(4.0)
    flow.heading_line("Where it all is", keep=34.0)
    if not lots:
        flow.words("Nothing was cut of it.", bold=True)
        return
    flow.words(f"In {unit}. Cut = gone out + here + thrown away or sampled + missing, in each row.")
    titles = ("Cut", "Gone out", "Here", "Thrown or sampled", "Missing")
    widths = (24.0, 28.0, 24.0, 32.0, 26.0)
    numbers = [Column(title=title, wide=wide, align="right") for title, wide in zip(titles, widths, strict=True)]
    flow.table((Column(title="Harvest lot"), *numbers))
    rows = [steps_of(lot, step_g) for lot in lots]
    for lot, row in zip(lots, rows, strict=True):
        flow.row((Words(words=lot.code or lot.harvest, bold=True), lot.crop), *_figures(row, unit))
    if len(rows) > 1:
        sums = [sum(column) for column in zip(*rows, strict=True)]
        flow.row(*(Words(words=words, bold=True) for words in ("All", *_figures(sums, unit))))
    flow.end_table()
    flow.words(sheet.words.account(sheet.found), bold=True)


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


def _figures(row: Sequence[int], unit: str) -> list[str]:
    return [f"{number / 10:.1f}" if unit == "oz" else str(number) for number in row]


# The end --------------------------------------------------------------------------------------------------------------


def _findings(sheet: _Sheet) -> None:
    flow, kept = sheet.flow, sheet.kept
    found = sheet.found.findings
    then = [] if kept is None else set(kept.recall.findings) - {each.message for each in found}
    # Who cannot be reached stands at each customer already: here they are one line.
    unreached = [each.customer for each in sheet.found.customers if not each.reachable]
    now = [each.sentence() for each in found if each.code != "contact-missing"]
    if unreached:
        now.append(f"No telephone and no e-mail in the book: {listed(unreached, most=len(unreached))}.")
    flow.gap(4.0)
    flow.heading_line("What was found", keep=14.0)
    for words in sorted(then):
        flow.words(f"When it was kept: {words}")
    for words in now:
        flow.words(words)
    if not then and not now:
        flow.words("Nothing: everything adds up." if sheet.found.lots else "Nothing.")


def _others(flow: Flow) -> None:
    """Lines for those whom the book does not know: an authority, an insurer."""
    flow.gap(4.0)
    flow.heading_line("Others who were told", keep=60.0)
    flow.words("Whether an authority has to be told, and how soon, is for local law to say.")
    flow.table((Column(), Column(wide=48.0)))
    for _ in range(2):
        flow.row(Blank(labels=("who", "what they said")), Blank(labels=("by", "at")), ruled=False)
    flow.end_table()


def _signed(sheet: _Sheet) -> bytes:
    flow = sheet.flow
    flow.gap(6.0)
    flow.need(30.0)
    half = flow.wide / 2
    flow.table((Column(wide=half), Column(wide=half)))
    for who in ("led by", "looked over by"):
        flow.row(Blank(labels=(who,)), Blank(labels=("signed, day",)), ruled=False)
    return flow.pdf()
