"""A farm's labels: what the book knows of a pack, a harvest lot, a shelf or a tray, put on a label."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Final, Literal, get_args

from trayward.codes.gs1.dates import date_field
from trayward.codes.gs1.elements import bracketed, element_string
from trayward.codes.gs1.keys import gtin13, gtin14
from trayward.codes.gs1.link import digital_link
from trayward.codes.lot import coded, read
from trayward.errors import InputError, NotFoundError
from trayward.farm.calendar import local_day
from trayward.farm.entries import Cut, Packed
from trayward.farm.settings import FarmPaper, FarmSettings
from trayward.farm.spots import walking_shelves
from trayward.farm.state import FarmState
from trayward.paper.going_out import said_of, spellings, storage_words
from trayward.paper.kept_rows import sheet_name
from trayward.paper.label_sheets import label_sheet
from trayward.paper.labels import PackLabel, Tag, labels_pdf
from trayward.paper.paper import Printed
from trayward.paper.symbols import Symbol
from trayward.paper.tongue import ENGLISH, Tongue, later

if TYPE_CHECKING:
    from trayward.bootstrap import Farm

SymbolWord = Literal["code", "web", "gs1 matrix", "gs1 bars", "gs1 link", "none"]
SYMBOLS: Final[tuple[SymbolWord, ...]] = get_args(SymbolWord)
MOST_LABELS = 2000
"""Labels in one file."""
PAGE_OF_A_CODE = "/code/"
"""Where the farm's pages look a code up."""


def symbol_of(word: SymbolWord, name: str, product: str, best_before: date | None, paper: FarmPaper) -> Symbol | None:
    """
    The code on a label.

    Parameters
    ----------
    word : str
        `code`: a QR code of the lot code; `web`: of its page's address; `gs1 ...`: GTIN, best-before day and lot as
        Data Matrix, GS1-128 bars or the QR code of a Digital Link address; `none`.
    name : str
        Of the pack or lot, without its check character.

    Raises
    ------
    InputError
        If the farm has not said its address, its GS1 company prefix or the product's item reference.
    """
    if word == "none":
        return None
    if word == "code":
        return Symbol(kind="qr", text=coded(name))
    if word == "web":
        return Symbol(kind="qr", text=f"{_web(paper)}{PAGE_OF_A_CODE}{coded(name)}")
    fields = [("01", _gtin(product, paper))]
    fields += [("15", date_field(best_before))] if best_before is not None else []
    fields.append(("10", coded(name)))
    if word == "gs1 link":
        return Symbol(kind="qr", text=digital_link(fields, paper.web) if paper.web else digital_link(fields))
    kind: Literal["matrix", "bars"] = "matrix" if word == "gs1 matrix" else "bars"
    return Symbol(kind=kind, text=element_string(fields), gs1=True, below=bracketed(fields))


def _web(paper: FarmPaper) -> str:
    if not paper.web:
        raise InputError("web", "not said", "a code that leads to a page needs its address", "Set web in [farm.paper].")
    return paper.web


def _gtin(product: str, paper: FarmPaper) -> str:
    if not paper.gs1_prefix:
        rule, remedy = "GS1 codes need a company prefix of your own", "Set gs1_prefix in [farm.paper], or take code."
        raise InputError("gs1_prefix", "not said", rule, remedy)
    item = next((each.item for each in paper.gs1_items if each.product == product), None)
    if item is None:
        rule, remedy = "it has no item reference", "Set it in [farm.paper.gs1_items], or take code."
        raise InputError("product", product, rule, remedy)
    return gtin14(gtin13(paper.gs1_prefix, item))


def symbol_word(word: str) -> SymbolWord:
    """The kind of code somebody asks for; dashes count as blanks."""
    said = word.strip().lower().replace("-", " ") or "code"
    for known in SYMBOLS:
        if said == known:
            return known
    raise InputError("code", word, "there is no such code", f"Say one of: {', '.join(SYMBOLS)}.")


# Packs and lots -------------------------------------------------------------------------------------------------------


def pack_label(farm: Farm, name: str, at: datetime, *, code: str = "code", tongue: Tongue = ENGLISH) -> PackLabel:
    """
    The label of a pack lot, or of what is loose of a harvest lot.

    Parameters
    ----------
    name : str
        As the book has it, or with its check character.

    Raises
    ------
    NotFoundError
        If the book has neither a pack nor a harvest lot of that name.
    """
    plain = next((each for each in spellings(name) if _known(farm, each)), name.strip())
    settings = farm.settings(at)
    word = symbol_word(code)
    if packed := said_of(farm, f"pack:{plain}", Packed):
        return _of_pack(farm, packed[1], settings, word, at, tongue)
    if cut := said_of(farm, f"harvest:{plain}", Cut):
        return _of_harvest(farm.state(at), cut[1], local_day(cut[0], settings), settings, word, tongue)
    state = farm.state(at)
    raise NotFoundError("pack", name, (*state.packs, *state.harvests))


def _known(farm: Farm, name: str) -> bool:
    return any(farm.book.about(f"{kind}:{name}") for kind in ("pack", "harvest"))


def _of_pack(
    farm: Farm, body: Packed, settings: FarmSettings, word: SymbolWord, at: datetime, tongue: Tongue
) -> PackLabel:
    state = farm.state(at)
    cuts = {part.harvest: _cut_day(farm, part.harvest, settings) for part in body.parts}
    days = sorted({day for day in cuts.values() if day is not None})
    return _label(
        settings, word, body.pack, product=body.product, net_g=body.pack_g, cut=tuple(days),
        best_before=body.best_before, basis=_basis(body.best_before, cuts, state, tongue), tongue=tongue,
    )  # fmt: skip


def _of_harvest(
    state: FarmState, body: Cut, day: date, settings: FarmSettings, word: SymbolWord, tongue: Tongue
) -> PackLabel:
    lot = state.harvests.get(body.harvest)
    best = day + timedelta(days=lot.cold_room_days) if lot is not None else None
    basis = _basis(best, {body.harvest: day}, state, tongue)
    return _label(
        settings, word, body.harvest, product=body.crop, cut=(day,), best_before=best, basis=basis, tongue=tongue
    )


def _label(
    settings: FarmSettings, word: SymbolWord, name: str, *, product: str, cut: tuple[date, ...],
    best_before: date | None, basis: str, tongue: Tongue, net_g: float = 0.0,
) -> PackLabel:  # fmt: skip
    paper = settings.paper
    return PackLabel(
        product=product, net_g=net_g, cut=cut, best_before=best_before, basis=basis, lot=coded(name),
        storage=storage_words(paper, tongue), words=paper.words, farm=settings.name, address=paper.address,
        ounces=settings.units.mass == "oz", symbol=symbol_of(word, name, product, best_before, paper),
    )  # fmt: skip


def _cut_day(farm: Farm, harvest: str, settings: FarmSettings) -> date | None:
    cut = said_of(farm, f"harvest:{harvest}", Cut)
    return local_day(cut[0], settings) if cut else None


def _basis(best_before: date | None, cuts: dict[str, date | None], state: FarmState, tongue: Tongue) -> str:
    """What a best-before day rests on: the first cut and how long the crop keeps in the cold room."""
    first = min((day for day in cuts.values() if day is not None), default=None)
    if best_before is None or first is None:
        return ""
    by_life = [
        day + timedelta(days=lot.cold_room_days)
        for name, day in cuts.items()
        if day is not None and (lot := state.harvests.get(name)) is not None
    ]
    days = (best_before - first).days
    if by_life and min(by_life) == best_before:
        return tongue.ngettext("keeps %(num)s day cold", "keeps %(num)s days cold", days)
    return tongue.ngettext("%(num)s day after the cut, as packed", "%(num)s days after the cut, as packed", days)


def labels_paper(
    farm: Farm,
    names: Sequence[str],
    at: datetime,
    *,
    on: str,
    copies: int = 0,
    code: str = "code",
    start: int = 1,
    right: float = 0.0,
    down: float = 0.0,
    outlines: bool = False,
    tongue: Tongue = ENGLISH,
) -> Printed:
    """
    Labels of packs and harvest lots.

    Parameters
    ----------
    names : sequence of str
        Pack or harvest lots.
    on : str
        The sheet or roll, see `label_sheets.label_sheet`.
    copies : int
        Of each; 0: as many as there are packs of it, and one of a harvest lot.
    start : int
        First free place on the first sheet.
    right, down : float
        How far labels are moved. [mm]
    outlines : bool
        With lines round each, to try on plain paper.
    tongue : Tongue
        The language of the fixed words.

    Raises
    ------
    InputError
        If the best-before day of one is over, or the labels cannot be printed as asked.
    """
    sheet = label_sheet(on)
    today = local_day(at, farm.settings(at))
    made: list[PackLabel | Tag] = []
    for name in names:
        label = pack_label(farm, name, at, code=code, tongue=tongue)
        if label.best_before is not None and label.best_before < today:
            rule = f"its best-before day, {label.best_before:%Y-%m-%d}, is over"
            raise InputError("lot", name, rule, "Do not sell it; say that it is thrown away.")
        made += [label] * (copies or _count(farm, label, at))
    _some(made)
    how = {"start": start, "move": (right, down), "outlines": outlines, "tongue": tongue}
    settings = farm.settings(at)
    pdf = labels_pdf(made, sheet, tongue._("%(farm)s, labels", farm=settings.name), **how)
    return Printed(pdf=pdf, name=f"labels-{sheet_name(at, settings)}")


def _count(farm: Farm, label: PackLabel, at: datetime) -> int:
    lot = farm.state(at).packs.get(read(label.lot))
    return max(lot.left, 1) if lot is not None else 1


def _some(made: Sequence[object]) -> None:
    if not 1 <= len(made) <= MOST_LABELS:
        rule = f"a file holds 1 to {MOST_LABELS} labels"
        raise InputError("labels", len(made), rule, "Name what they are for, or print them in parts.")


# Tags -----------------------------------------------------------------------------------------------------------------

TagsOf = Literal["shelves", "spots", "trays"]
TITLES: Final[dict[TagsOf, str]] = {"shelves": later("shelves"), "spots": later("spots"), "trays": later("trays")}


def tags_of(farm: Farm, what: TagsOf, at: datetime, *, only: Iterable[str] = (), tongue: Tongue = ENGLISH) -> list[Tag]:
    """
    Tags for shelves, spots or growing trays, in walking order; `only` some of them by name.

    Raises
    ------
    NotFoundError
        If the farm has none of a name.
    """
    state, settings = farm.state(at), farm.settings(at)
    found = {tag.name: tag for tag in _tags(state, settings, what, tongue)}
    wanted = list(only)
    for name in wanted:
        if name not in found:
            raise NotFoundError({"shelves": "shelf", "spots": "spot", "trays": "tray"}[what], name, tuple(found))
    return [found[name] for name in wanted] if wanted else list(found.values())


def _tags(state: FarmState, settings: FarmSettings, what: TagsOf, tongue: Tongue) -> Iterable[Tag]:
    if what == "trays":
        for tray in state.growing():
            sown, lots = tongue.plain_day(local_day(tray.sown_at, settings)), ", ".join(tray.lots)
            about = tongue._("%(crop)s, sown %(day)s, %(lots)s", crop=tray.crop, day=sown, lots=lots)
            yield Tag(name=tray.tray, about=about, symbol=Symbol(kind="qr", text=coded(tray.tray)))
        return
    for shelf in walking_shelves(state):
        kind = tongue.said(shelf.kind)
        about = tongue._("rack %(rack)s, %(kind)s", rack=shelf.rack, kind=kind)
        about = f"{shelf.room}, {about}" if shelf.room else about
        names = (shelf.name,) if what == "shelves" else shelf.spot_names()
        spots = tongue.ngettext("%(num)s spot", "%(num)s spots", len(shelf.spot_names()))
        told = f"{about}, {spots}" if what == "shelves" else about
        for name in names:
            yield Tag(name=name, about=told, symbol=Symbol(kind="qr", text=coded(name)))


def tags_paper(
    farm: Farm,
    what: TagsOf,
    at: datetime,
    *,
    on: str,
    only: Iterable[str] = (),
    start: int = 1,
    right: float = 0.0,
    down: float = 0.0,
    outlines: bool = False,
    tongue: Tongue = ENGLISH,
) -> Printed:
    """Tags for shelves, spots or trays; see `labels_paper`."""
    sheet, settings = label_sheet(on), farm.settings(at)
    made: list[PackLabel | Tag] = list(tags_of(farm, what, at, only=only, tongue=tongue))
    _some(made)
    how = {"start": start, "move": (right, down), "outlines": outlines}
    pdf = labels_pdf(made, sheet, f"{settings.name}, {tongue._(TITLES[what])}", **how)
    return Printed(pdf=pdf, name=f"tags-{what}-{sheet_name(at, settings)}")
