"""The sums of money: what a tray costs, what to ask for it, and how many pay the rent."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from trayward.bench.money_told import EXAMPLE, Told, given_amounts, price_amount
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding, InputError
from trayward.science.costs import TrayCosts, TrayInputs, tray_costs
from trayward.science.money import adding_up, break_even, margin_of_price, margin_of_safety, price_for_margin
from trayward.units import money_places, show_money

OPENSTAX = "openstax_managerial"
LITTLE = 0.005
"""Of 100 parts; shown as less. [-]"""
DAYS_OF = {"day": 1.0, "week": 7.0, "month": 365.25 / 12, "year": 365.25}
"""Days in each span of time costs are said for."""


# A tray ---------------------------------------------------------------------------------------------------------------


def tray_sheet(told: Told) -> Sheet:
    """What a tray costs, line by line, and what that makes a portion and a pack."""
    costs = tray_costs(told.inputs)
    found = [
        Amount(name="cost of a tray", value=costs.tray, unit=told.currency, kind="money", note="that is cut"),
        portion_cost(told, costs),
    ]
    if costs.pack_g:
        found.append(Amount(name="cost of a pack", value=costs.one_pack, unit=told.currency, kind="money"))
    found.append(
        Amount(name="can be sold", value=costs.saleable_g, unit="g", kind="mass", note="of a tray that is cut")
    )
    found += _earned(told, costs)
    return Sheet(
        bench="money",
        task="tray",
        title=f"{_upper(told.name)} that is cut costs {said(told, costs.tray)}; {told.portion.words} that can be sold "
        f"{said(told, costs.gram * told.portion.grams)}.",
        given=given_amounts(told),
        found=tuple(found),
        grids=(bill(told, costs),),
        holds=holds(told),
        sources=told.sources,
    )


def portion_cost(told: Told, costs: TrayCosts) -> Amount:
    """Cost of a portion that can be sold, with its range where that of the weight is known."""
    grams = told.portion.grams
    ends = [costs_at(told.inputs, weight).gram * grams for weight in (told.weight_high_g, told.weight_low_g) if weight]
    low, high = ends if len(ends) == 2 else (None, None)
    note = "as its weight varies" if ends else ""
    name = f"cost of {told.portion.words}"
    return Amount(name=name, value=costs.gram * grams, unit=told.currency, kind="money", low=low, high=high, note=note)


def costs_at(inputs: TrayInputs, weight_g: float) -> TrayCosts:
    """What a tray costs at another weight."""
    import msgspec

    return tray_costs(msgspec.structs.replace(inputs, weight_g=weight_g))


def bill(told: Told, costs: TrayCosts) -> Grid:
    """The lines of a tray's cost, the dearest first; what is shown adds up to what is shown below."""
    lines = [(line.name, line.amount) for line in costs.lines if line.amount]
    lines.append(("its part of lost trays", costs.carried))
    lines = sorted((line for line in lines if line[1]), key=lambda line: (-line[1], line[0]))
    places = money_places(told.currency)
    amounts = [amount for _, amount in lines]
    trays = adding_up(amounts, places)
    portion = told.portion.grams / costs.saleable_g
    parts = adding_up([amount * portion for amount in amounts], places)
    rows: list[tuple[str, ...]] = [
        (name, _bare(tray, places), _bare(part, places), _percent(amount / costs.tray))
        for (name, amount), tray, part in zip(lines, trays, parts, strict=True)
    ]
    rows.append(("together", _bare(costs.tray, places), _bare(costs.tray * portion, places), "100 %"))
    rows = ranged(rows, (1, 2, 3))
    unit = f" [{told.currency}]" if told.currency else ""
    return Grid(
        title="What it goes on", columns=("Line", f"A tray{unit}", told.portion.words, "Share"), rows=tuple(rows)
    )


def ranged(rows: Sequence[tuple[str, ...]], columns: Sequence[int]) -> list[tuple[str, ...]]:
    """Rows whose numbers stand under each other, the last digits in line."""
    widest = {column: max((len(row[column]) for row in rows), default=0) for column in columns}
    return [tuple(cell.rjust(widest.get(place, 0)) for place, cell in enumerate(row)) for row in rows]


def _earned(told: Told, costs: TrayCosts) -> list[Amount]:
    """What is left of a price, where one is known."""
    if told.price is None:
        return []
    left = margin_of_tray(told.inputs, told.price)
    share = margin_of_price(told.price, costs.gram)
    return [
        Amount(name="left of a tray", value=left, unit=told.currency, kind="money", note="sold to the last gram"),
        Amount(name="margin", value=share, unit="-", kind="share", note="of the price"),
    ]


def margin_of_tray(inputs: TrayInputs, price: float, fee: float = 0.0) -> float:
    """What a tray that is cut leaves, sold to the last gram at a price of a gram. [currency]"""
    costs = tray_costs(inputs)
    return costs.saleable_g * price * (1 - fee) - costs.tray


def holds(told: Told) -> tuple[str, ...]:
    """What the figures rest on and leave out."""
    found = [*told.rests]
    if told.examples:
        found.append(f'Prices marked "{EXAMPLE}" are made up: only with your own is this your cost.')
    found.append("A lost tray counts as grown to its end; one thrown away early cost a little less.")
    found.append("Not counted: crop that is cut and not sold, delivery, taxes, and work that is for no tray.")
    return tuple(found)


def said(told: Told, amount: float) -> str:
    """An amount of the farm's money."""
    return show_money(amount, told.currency)


def bill_words(told: Told, amount: float) -> str:
    """An amount without its currency, for a table that names it."""
    return _bare(amount, money_places(told.currency))


def _bare(amount: float, places: int) -> str:
    return show_money(amount, places=places)


def _percent(share: float) -> str:
    return f"{100 * share:.0f} %" if share >= LITTLE else "< 1 %"


def _upper(words: str) -> str:
    return words[:1].upper() + words[1:]


# A price --------------------------------------------------------------------------------------------------------------


def price_sheet(told: Told, margin: float, fee: float = 0.0) -> Sheet:
    """
    What to ask so that a share of the price is left.

    Parameters
    ----------
    told : Told
        The tray.
    margin, fee : float
        Shares of the price: what is to be left, and what goes to a market or a shop. [-]
    """
    costs = tray_costs(told.inputs)
    gram = price_for_margin(costs.gram, margin, fee)
    portion, pack = told.portion, costs.pack_g
    found = [price_amount(told, gram, f"price of {portion.words}")]
    if pack:
        found.insert(0, Amount(name="price of a pack", value=gram * pack, unit=told.currency, kind="money"))
    found.append(price_amount(told, costs.gram, f"cost of {portion.words}"))
    left = margin_of_tray(told.inputs, gram, fee)
    found.append(
        Amount(name="left of a tray", value=left, unit=told.currency, kind="money", note="sold to the last gram")
    )
    markup = gram / costs.gram - 1 if costs.gram else 0.0
    found.append(Amount(name="markup", value=markup, unit="-", kind="share", note="on top of the cost"))
    asked = f"{said(told, gram * pack)} a pack" if pack else f"{said(told, gram * portion.grams)} for {portion.words}"
    shares: tuple[Amount, ...] = (Amount(name="margin", value=margin, unit="-", kind="share", note="of the price"),)
    if fee:
        shares += (Amount(name="fee", value=fee, unit="-", kind="share", note="of the price"),)
    return Sheet(
        bench="money",
        task="price",
        title=f"Ask {asked} of {told.crop or 'it'} and {100 * margin:.3g} % of the price is left.",
        given=(*shares, *given_amounts(told)),
        found=tuple(found),
        grids=(_prices(told, costs, fee),),
        holds=("Prices are without tax.", *holds(told)),
        findings=_below_cost(told, costs, fee),
        sources=told.sources,
    )


def _prices(told: Told, costs: TrayCosts, fee: float) -> Grid:
    """Prices by margin, so that one can see what a round price leaves."""
    rows: list[tuple[str, ...]] = []
    for margin in (0.0, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7):
        if margin + fee < 1:
            gram = price_for_margin(costs.gram, margin, fee)
            each = [show_money(gram * told.portion.grams, places=money_places(told.currency))]
            each += [show_money(gram * costs.pack_g, places=money_places(told.currency))] if costs.pack_g else []
            rows.append((f"{100 * margin:.0f} %", *each))
    packs = ("A pack",) if costs.pack_g else ()
    return Grid(
        title="Prices by margin",
        columns=("Margin", told.portion.words, *packs),
        rows=tuple(ranged(rows, range(2 + len(packs)))),
    )


def _below_cost(told: Told, costs: TrayCosts, fee: float) -> tuple[Finding, ...]:
    if told.price is None or margin_of_price(told.price, costs.gram, fee) >= 0:
        return ()
    now = said(told, told.price * told.portion.grams)
    message = (
        f"price of {told.portion.words} = {now}: less than it costs, {said(told, costs.gram * told.portion.grams)}."
    )
    return (
        Finding(
            code="below-cost", severity="odd", message=message, remedy="Ask more, or see what moves its cost most."
        ),
    )


# Break-even -----------------------------------------------------------------------------------------------------------


def break_even_sheet(
    told: Told, fixed: Mapping[str, float], *, fee: float = 0.0, planned: float | None = None
) -> Sheet:
    """
    How many trays a week pay the costs that come whether one sows or not.

    Parameters
    ----------
    told : Told
        The tray, with its price.
    fixed : mapping of str to float
        What each fixed cost comes to in a week. [currency/week]
    fee : float
        Share of the price that goes to a market or a shop. [-]
    planned : float or None
        Trays a week that are to be sold. [1/week]

    Raises
    ------
    InputError
        If no price is known, or a tray costs as much as it brings.
    """
    if told.price is None:
        raise InputError("price", "none", "break-even needs one", "Say it: --price 4.50.")
    if not fixed:
        raise InputError(
            "fixed", "none", "break-even needs a cost that always comes", 'For instance "rent=350 a month".'
        )
    costs, whole = tray_costs(told.inputs), sum(fixed.values())
    brings = costs.saleable_g * told.price * (1 - fee)
    if not brings > costs.tray:
        rule = f"must be above what one costs, {costs.tray:.2f}, or no number of trays pays the fixed costs"
        raise InputError("what a tray brings", f"{brings:.2f}", rule, "Ask more, or grow it cheaper.")
    even = break_even(whole, brings, costs.tray)
    found = [
        Amount(name="trays to sell a week", value=even.whole, note=f"exactly {even.units:.4g}"),
        Amount(
            name="trays to sow a week", value=round(even.whole / (1 - costs.lost), 2), note="with those that are lost"
        ),
        Amount(
            name="a tray leaves", value=even.contribution, unit=told.currency, kind="money", note="towards fixed costs"
        ),
        Amount(name="contribution", value=even.ratio, unit="-", kind="share", note="of what a tray brings"),
        Amount(name="sales a week", value=even.sales, unit=told.currency, kind="money", note="at break-even"),
        Amount(name="fixed costs a week", value=whole, unit=told.currency, kind="money"),
    ]
    found += _planned(told, even.units, even.contribution, whole, planned)
    weekly = tuple(
        Amount(name=name, value=cost, unit=told.currency, kind="money", note="a week") for name, cost in fixed.items()
    )
    return Sheet(
        bench="money",
        task="break-even",
        title=_even_words(told, even.whole),
        given=(*weekly, *given_amounts(told)),
        found=tuple(found),
        holds=(
            "Every gram that can be sold is sold; hands are paid by the minute they work.",
            *holds(told),
        ),
        findings=_twice(told, fixed),
        sources=(OPENSTAX, *told.sources),
    )  # fmt: skip


def _even_words(told: Told, trays: int) -> str:
    of = f" of {told.crop}" if told.crop else ""
    if trays == 1:
        return f"1 tray{of} sold a week pays the fixed costs."
    return f"{trays} trays{of} sold a week pay the fixed costs."


def _planned(told: Told, least: float, leaves: float, fixed: float, planned: float | None) -> list[Amount]:
    if planned is None:
        return []
    safety = margin_of_safety(planned, least)
    earned = planned * leaves - fixed
    note = "so far may sales fall" if safety >= 0 else "too few: it loses"
    return [
        Amount(name="earned a week", value=earned, unit=told.currency, kind="money", note=f"at {planned:g} trays"),
        Amount(name="margin of safety", value=safety, unit="-", kind="share", note=note),
    ]


def _twice(told: Told, fixed: Mapping[str, float]) -> tuple[Finding, ...]:
    """Rent that counts on the shelf and again among the fixed costs."""
    if not told.inputs.shelf_rent_day or not any("rent" in name for name in fixed):
        return ()
    message = "rent = twice: it counts for each shelf and again among the fixed costs."
    return (Finding(code="rent-twice", severity="odd", message=message, remedy="Leave one of them out."),)
