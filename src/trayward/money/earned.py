"""The account: what everything that grew, went out or was thrown away in a time cost and brought, by whatever one asks.

**When things count.** A tray's cost counts on the day it leaves: cut for the last time, gone out live, or thrown away.
What is sold counts on the day it is delivered, packs when they are filled, soap and sanitiser when kit is washed, for
the trays whose kit is taken to be washed (`farm.kit_owners`), disposal when something is thrown away, overheads and
supplies that went otherwise day by day. Trays that still grow cost nothing yet but these two.

**By what.** Each amount is shared out exactly, in millionths of the currency by largest remainders: sales over the
trays they were cut from, a tray's cost over those who had its crop. So sums are the same whatever they are taken by.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime, timedelta
from decimal import Decimal

from trayward.errors import InputError
from trayward.farm.bills import LineGone
from trayward.farm.calendar import day_start, local_day, month_end
from trayward.farm.due import lines_due
from trayward.farm.gone import grams_gone
from trayward.farm.state import FarmState, Tray
from trayward.farm.supplies import LOOSE, Taken
from trayward.farm.supply_costs import pack_cost, taken_since
from trayward.money.coins import from_micro, in_coins, rounded, share_out, summed, to_micro
from trayward.money.found import Unknown, findings_of
from trayward.money.grown import KnownCosts, TrayCoster, TrayMoney
from trayward.money.invoicing import without_tax
from trayward.money.keys import Keys
from trayward.money.sold import Flow, billed, worth
from trayward.money.supplied import loose_cost, stands_for_it, taken_cost
from trayward.money.terms import Terms
from trayward.money.types import (
    BY,
    EMPTY,
    GROWING,
    NAMELESS,
    PARTS,
    THROWN,
    UNKNOWN,
    By,
    Earned,
    Lost,
    Parts,
    Row,
    Supposed,
)

DAY = timedelta(days=1)
LONGEST = 366 * 5
"""Days one account may span. Our choice. [d]"""
HOLDS = (
    "A tray's cost counts on the day it leaves, a sale on the day it is delivered.",
    "Hands count by the recipe's minutes for the stages a tray went through, light by the shelf it stood on; lamps "
    "over empty spots, delivery and taxes are not counted.",
    "Feed counts with the tray that got it, soap and sanitiser on the day of the washing, both by what deliveries of "
    "them cost.",
    "Supplies used by hand or thrown away, and supplies or seed that a count found missing, are spread like overheads "
    "over the trays that stood; a medium or packs used by hand count once, at the recipe's or the farm's own figure.",
    "Nobody pays for more than was asked for: what goes out beyond that is good weight.",
)


def earned(
    state: FarmState,
    terms: Terms,
    first: date,
    last: date,
    *,
    by: By = "crop",
    at: datetime,
    supposed: Supposed | None = None,
    known: KnownCosts | None = None,
) -> Earned:
    """
    What a farm earned from one day to another, both included, by what is asked for.

    Parameters
    ----------
    state : FarmState
        The farm as the book has it at `at`.
    terms : Terms
        What things cost through time.
    first, last : date
        Days of the farm.
    by : str
        One of `trayward.money.types.BY`.
    at : datetime
        Now: what is due later is not short yet.
    supposed : Supposed, optional
        Other prices on the same record.
    known : KnownCosts, optional
        What trays cost that was worked out before; filled on the way.

    Returns
    -------
    Earned
        Rows in whole coins that add up to the total, the dearest loss last.

    Raises
    ------
    InputError
        If the days are the wrong way round or too far apart, or nothing can be told by that.
    """
    if by not in BY:
        raise InputError("by", by, "an account is told by one of these", f"Known: {', '.join(BY)}.")
    if last < first:
        raise InputError("last day", last.isoformat(), f"it comes before the first, {first}", "Swap the two.")
    if (last - first).days > LONGEST:
        raise InputError("days", (last - first).days, f"one account spans at most {LONGEST}", "Ask for less.", "d")
    return _Account(state, terms, first, last, by, at, supposed or Supposed(), known).told()


class _Account:
    def __init__(
        self, state: FarmState, terms: Terms, first: date, last: date, by: By, at: datetime, supposed: Supposed,
        known: KnownCosts | None = None,
    ) -> None:  # fmt: skip
        self.state, self.terms, self.first, self.last, self.by = state, terms, first, last, by
        self.at, self.supposed = at, supposed
        self.currency = terms.settings.money.currency
        self.coster = TrayCoster(state, terms, supposed, known)
        self.flow = Flow(state, first)
        self.rows: dict[str, dict[str, int]] = defaultdict(lambda: defaultdict(int))
        self.unknown = Unknown()
        self.lost_trays, self.lost_micro, self.thrown_micro, self.thrown_g = 0, 0, 0, 0.0
        self.trays_cut, self.trays_live, self.cut_g, self.sold_g, self.spot_days = 0, 0, 0.0, 0.0, 0
        self.keys = Keys(state, terms, self.flow, by, at)

    def told(self) -> Earned:
        """Everything entered, and told."""
        self.here = self._here()
        self.keys.since = self.coster.since = min(
            (tray.sown_at for tray in (*self.here, *self._washed())), default=self.at
        )
        for tray in self._left_within():
            self._enter_tray(self.coster.cost(tray))
        for delivery in self.flow.deliveries(self.last):
            for line in delivery.lines:
                self._enter_line(delivery.day, delivery.customer, line)
        self._enter_packs()
        self._enter_agents()
        self._enter_thrown()
        self._enter_overheads()
        return self._made()

    # Entering --------------------------------------------------------------------------------------------------------

    def add(self, part: str, micro: int, keys: Mapping[str, float]) -> None:
        """Enter an amount, shared out over rows."""
        if not micro:
            return
        if len(keys) == 1:
            self.rows[next(iter(keys))][part] += micro
            return
        names = [name for name, weight in keys.items() if weight > 0]
        if not names:
            self.rows[UNKNOWN][part] += micro
            return
        for name, amount in zip(names, share_out(micro, [keys[name] for name in names]), strict=True):
            self.rows[name][part] += amount

    def _left_within(self) -> Iterator[Tray]:
        end = day_start(self.last + DAY, self.terms.settings)
        for tray in self.here:
            if tray.ended_at is not None and tray.ended_at < end:
                yield tray

    def _here(self) -> list[Tray]:
        """Trays that stood at some time since the first day, those that left long ago passed over."""
        begin = day_start(self.first, self.terms.settings)
        ended = self.coster.trays_left.since(self.state, begin)
        standing = [
            tray for tray in self.state.trays.values() if tray.ended_at is None or tray.ended_at >= begin
        ]  # fmt: skip
        return ended + standing

    def _enter_tray(self, cost: TrayMoney) -> None:
        tray = cost.tray
        self.keys.stays[tray.tray] = cost.stays
        went = self.keys.went(tray)
        keys = self.keys.of_tray(tray, cost.day, went)
        for part in ("seed", "medium", "feed", "hands", "energy"):
            self.add(part, getattr(cost, part), keys)
        self.trays_cut += tray.fate == "cut"
        self.trays_live += tray.fate == "delivered"
        self.cut_g += tray.grams or 0.0
        self.spot_days += cost.spot_days
        if tray.fate == "discarded":
            self.lost_trays += 1
            self.lost_micro += cost.total
        elif THROWN in went:
            self.thrown_micro += round(cost.total * went[THROWN] / sum(went.values()))

    def _enter_line(self, day: date, customer: str, line: LineGone) -> None:
        quantity, grams = billed(self.state, line), grams_gone(self.state, line)
        self.sold_g += grams
        other = None if line.own else self.supposed.prices.get(line.product)
        amount = worth(line, quantity, other)
        if amount is None:
            self.unknown.no_price.setdefault(line.product or line.line, []).append(line.line)
            return
        if not quantity and grams + len(line.trays):
            self.unknown.given.append(line.line)
        part = "own_table" if line.home else "sales"
        bare = amount if line.home else without_tax(amount, line.product, self.state.billing)
        self.add(part, to_micro(rounded(bare, self.currency)), self.keys.of_line(day, customer, line))

    def _enter_packs(self) -> None:
        begin, end = day_start(self.first, self.terms.settings), day_start(self.last + DAY, self.terms.settings)
        for pack in reversed(self.state.packs.values()):
            if pack.packed_at < begin:
                break
            if pack.packed_at >= end:
                continue
            day = local_day(pack.packed_at, self.terms.settings)
            priced = pack_cost(self.state, pack.product, pack.packed_at)
            price = self.terms.money(pack.packed_at).packaging if priced is None else priced
            each = price if self.supposed.packaging is None else self.supposed.packaging
            self.unknown.packs += pack.packs if not each else 0
            self.add(
                "packaging", to_micro(each * pack.packs), self.keys.of_lots(day, pack.parts, self.flow.pack_went(pack))
            )

    def _agents(self) -> Iterator[Taken]:
        """What washing and sanitising took in this time."""
        begin, end = day_start(self.first, self.terms.settings), day_start(self.last + DAY, self.terms.settings)
        return (taken for taken in taken_since(self.state, begin, end) if taken.of in ("washed", "sanitised"))

    def _washed(self) -> Iterator[Tray]:
        """Trays whose kit was washed in this time; some of them left long before."""
        names = {name for taken in self._agents() for name in taken.trays}
        return (tray for name in names if (tray := self.state.tray(name)) is not None)

    def _enter_agents(self) -> None:
        for taken in self._agents():
            micro, day = (
                taken_cost(self.state, taken, self.coster.no_supply_cost),
                local_day(taken.at, self.terms.settings),
            )
            names = [name for name in taken.trays if self.state.tray(name) is not None]
            if not names:
                self.add("agents", micro, {self.keys.time(day) if self.keys.by_time else UNKNOWN: 1.0})
                continue
            for name, part in zip(names, share_out(micro, [taken.trays[name] for name in names]), strict=True):
                tray = self.state.tray(name)
                assert tray is not None
                went = self.keys.went(tray) if tray.ended_at is not None else {GROWING: 1.0}
                self.add("agents", part, self.keys.of_tray(tray, day, went))

    def _enter_thrown(self) -> None:
        for thrown in self.flow.thrown(self.last):
            lots = self.flow.lots_of(thrown.loose, thrown.packs)
            grams = sum(lots.values())
            self.thrown_g += grams
            price = self.terms.money(day_start(thrown.day + DAY, self.terms.settings)).disposal_kg
            each = price if self.supposed.disposal_kg is None else self.supposed.disposal_kg
            self.add("disposal", to_micro(each * grams / 1000), self.keys.of_lots(thrown.day, lots, {THROWN: 1.0}))

    def _enter_overheads(self) -> None:
        """What comes every month, and supplies that went without a tray: over the trays that stood in those days."""
        spans = list(_spans(self.first, self.last))
        monthly, loose = [self._month(begin) for begin, _ in spans], self._loose(spans)
        if not any(monthly) and not any(loose):
            return
        stood = self._stood(spans)
        for (begin, end), month, gone, trays in zip(spans, monthly, loose, stood, strict=True):
            share = ((end - begin).days + 1) / month_end(begin).day
            self._spread("overheads", to_micro(month * share), begin, trays)
            self._spread("loose", gone, begin, trays)

    def _spread(self, part: str, micro: int, begin: date, trays: dict[str, float]) -> None:
        """An amount over the trays that stood from a day on, by how long they did."""
        if not trays or not micro:
            self.add(part, micro, {self.keys.time(begin) if self.keys.by_time else EMPTY: 1.0})
            return
        names = list(trays)
        for name, amount in zip(names, share_out(micro, list(trays.values())), strict=True):
            tray = self.state.tray(name)
            assert tray is not None
            went = self.keys.went(tray) if tray.ended_at is not None else {GROWING: 1.0}
            self.add(part, amount, self.keys.of_tray(tray, begin, went))

    def _loose(self, spans: list[tuple[date, date]]) -> list[int]:
        """For each span of days, what supplies cost that went otherwise. [millionths of the currency]"""
        settings = self.terms.settings
        starts = [day_start(begin, settings) for begin, _ in spans]
        found, end = [0] * len(spans), day_start(self.last + DAY, settings)
        for taken in taken_since(self.state, starts[0], end):
            if taken.of in LOOSE and not stands_for_it(self.state, taken, self.terms.money(taken.at)):
                found[bisect_right(starts, taken.at) - 1] += loose_cost(taken, self.coster.no_supply_cost)
        return found

    def _month(self, day: date) -> float:
        """What overheads come to in a month, as they were on a day. [currency]"""
        held = self.terms.money(day_start(day + DAY, self.terms.settings)).overheads
        now = {each.name: each.month for each in held} | self.supposed.overheads
        return sum(now.values())

    def _stood(self, spans: list[tuple[date, date]]) -> list[dict[str, float]]:
        """For each span of days, how long each tray stood on a spot in it. [d]"""
        found: list[dict[str, float]] = [{} for _ in spans]
        settings, today = self.terms.settings, local_day(self.at, self.terms.settings)
        end = day_start(self.last + DAY, settings)
        for tray in self.here:
            since = next((step.since for step in tray.steps if step.spot is not None), None)
            if tray.sown_at >= end or since is None:
                continue
            came = local_day(since, settings)
            went = local_day(tray.ended_at, settings) if tray.ended_at is not None else today + DAY
            for number, (start, stop) in enumerate(spans):
                days = (min(went, stop + DAY) - max(came, start)).days
                if days > 0:
                    found[number][tray.tray] = float(days)
        return found

    # Telling ---------------------------------------------------------------------------------------------------------

    def _made(self) -> Earned:
        names = self._in_order()
        columns = {
            part: in_coins([self.rows[name].get(part, 0) for name in names], self.currency) for part in PARTS
        }  # fmt: skip
        rows = tuple(
            _row(name, {part: columns[part][place] for part in PARTS}, name in NAMELESS)
            for place, name in enumerate(names)
        )
        total = _row("together", {part: summed(columns[part]) for part in PARTS}, False)
        kilos, weeks = self.sold_g / 1000, self.spot_days / 7
        return Earned(
            first=self.first,
            last=self.last,
            by=self.by,
            currency=self.currency,
            rows=rows,
            total=total,
            lost=self._lost(),
            trays_cut=self.trays_cut,
            trays_live=self.trays_live,
            cut_g=self.cut_g,
            sold_g=self.sold_g,
            spot_days=float(self.spot_days),
            per_kg=rounded(total.left / Decimal(repr(kilos)), self.currency) if kilos > 0 else None,
            per_spot_week=rounded(total.left / Decimal(repr(weeks)), self.currency) if weeks > 0 else None,
            findings=findings_of(self.coster, self.unknown, self.state),
            holds=HOLDS,
        )

    def _in_order(self) -> list[str]:
        """Time runs forward; else what earned most stands first, and what went to nobody last."""
        if self.keys.by_time:
            return sorted(self.rows)

        def key(name: str) -> tuple[bool, int, str]:
            parts = self.rows[name]
            left = parts.get("sales", 0) - sum(parts.get(part, 0) for part in PARTS[2:])
            return name in NAMELESS, -left, name

        return sorted(self.rows, key=key)

    def _lost(self) -> Lost:
        lines, value = 0, Decimal(0)
        today = local_day(self.at, self.terms.settings)
        for line in lines_due(self.state, self.first, min(self.last, today - DAY)) if self.first < today else ():
            if self.state.began is not None and line.due < local_day(self.state.began, self.terms.settings):
                continue
            whole, done = (line.trays, line.done_trays) if line.live else (line.grams, line.done_g)
            if whole > 0 and done < whole * 0.999:
                lines += 1
                value += to_micro(line.value * (1 - done / whole))
        return Lost(
            trays=self.lost_trays,
            trays_cost=rounded(from_micro(self.lost_micro), self.currency),
            thrown_g=self.thrown_g,
            thrown_cost=rounded(from_micro(self.thrown_micro), self.currency),
            short_lines=lines,
            short_value=rounded(from_micro(int(value)), self.currency),
        )


def _row(name: str, amounts: Mapping[str, Decimal], nobody: bool) -> Row:
    parts = Parts(**amounts)
    return Row(name=name, parts=parts, costs=parts.costs, left=parts.left, nobody=nobody)


def exact_parts(
    state: FarmState, terms: Terms, first: date, last: date, by: By, at: datetime
) -> dict[str, dict[str, int]]:
    """The rows of an account before they are shown in coins. [millionths of the currency]"""
    account = _Account(state, terms, first, last, by, at, Supposed())
    account.told()
    return {name: dict(parts) for name, parts in account.rows.items()}


def _spans(first: date, last: date) -> Iterator[tuple[date, date]]:
    """Days cut where weeks or months end."""
    begin = first
    for day in _days(first, last):
        following = day + DAY
        if day == last or following.weekday() == 0 or following.day == 1:
            yield begin, day
            begin = following


def _days(first: date, last: date) -> Iterable[date]:
    return (first + number * DAY for number in range((last - first).days + 1))
