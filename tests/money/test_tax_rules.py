"""
Sums of an invoice against published rules, worked out anew here from the lines alone.

How tax is rounded is not one rule: Directive 2006/112/EC says none, and in the absence of one "it is for Member States
to decide on the rules and methods of rounding" (Court of Justice, C-484/06 Koninklijke Ahold, 10 July 2008, OJ C 223,
30.8.2008, p. 9; the directive itself from memory). So a farm chooses: by line or by document, half up or half to even.
Whatever it chooses, its sums must be those a receiver's program asks for.

EN 16931-1, business rules as the European validation artefacts word them (version 1.3.16, read in a digest of them):
BR-CO-10 and -13 (the net total is the sum of the lines' net amounts), BR-CO-14 (total tax is the sum of each rate's),
BR-CO-15 (net and tax make the total), BR-CO-17 (a rate's tax is its net amount times the rate, to two decimals; checked
there to within one unit of the currency, which is what absorbs rounding by line), BR-DEC (no amount has more than two).
"""

from __future__ import annotations

from datetime import date
from decimal import ROUND_DOWN, Decimal
from fractions import Fraction
from typing import Literal

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from trayward.farm.bills import Billing, BillLine, Party, Rounding
from trayward.money.invoicing import taxes_of

COIN = Fraction(1, 100)
RATES = (("none", "0"), ("reduced", "5.5"), ("lower", "7"), ("standard", "19"), ("higher", "25"))
LINES = st.lists(st.tuples(st.integers(1, 500_000), st.sampled_from(RATES)), min_size=1, max_size=40)
"""Amounts in cents, each with its rate. [EUR]"""
HOW = st.tuples(st.sampled_from(["line", "document"]), st.sampled_from(["half up", "half even"]), st.booleans())


def lines_of(cents: list[tuple[int, tuple[str, str]]]) -> list[BillLine]:
    return [
        BillLine(
            source=f"x:{place}",
            day=date(2026, 11, 9),
            product="pea",
            quantity=Decimal(1),
            unit="packs",
            price=Decimal(amount) / 100,
            per="pack",
            amount=Decimal(amount) / 100,
            rate=name,
            percent=Decimal(percent),
        )
        for place, (amount, (name, percent)) in enumerate(cents)
    ]


def to_coin(amount: Fraction, rule: Rounding) -> Fraction:
    """To the coin in whole numbers: not by the decimals the code itself uses."""
    below, rest = divmod(amount, COIN)
    up = rest * 2 > COIN or (rest * 2 == COIN and (rule == "half up" or below % 2 == 1))
    return (below + up) * COIN


@settings(max_examples=150, deadline=None, phases=(Phase.explicit, Phase.generate))
@given(cents=LINES, how=HOW)
def test_the_sums_of_an_invoice_are_those_the_european_standard_asks_for(
    cents: list[tuple[int, tuple[str, str]]], how: tuple[Literal["line", "document"], Rounding, bool]
) -> None:
    per, rounding, included = how
    billing = Billing(seller=Party(name="Lantern Loft"), per=per, rounding=rounding, included=included)
    taxes, net, tax, total = taxes_of(lines_of(cents), billing, "EUR")
    whole = Fraction(sum(amount for amount, _ in cents), 100)
    assert Fraction(total if included else net) == whole, "BR-CO-10 and -13; prices with tax in them stay what they are"
    assert net == sum(each.net for each in taxes)
    assert tax == sum(each.tax for each in taxes), "BR-CO-14"
    assert net + tax == total, "BR-CO-15"
    amounts = (net, tax, total, *(each.net for each in taxes), *(each.tax for each in taxes))
    assert all(each == each.quantize(Decimal("0.01"), ROUND_DOWN) for each in amounts), "BR-DEC"
    assert len({each.rate for each in taxes}) == len(taxes) == len({rate for _, rate in cents})
    for each in taxes:
        mine = [Fraction(amount, 100) for amount, (name, _) in cents if name == each.rate]
        percent = Fraction(each.percent)
        share = percent / (100 + percent) if included else percent / 100
        parts = mine if per == "line" else [sum(mine, Fraction(0))]
        assert Fraction(each.tax) == sum(to_coin(part * share, rounding) for part in parts)
        assert abs(Fraction(each.tax) - Fraction(each.net) * percent / 100) < 1, "BR-CO-17 as receivers check it"
        if per == "document" and not included:
            assert abs(Fraction(each.tax) - Fraction(each.net) * percent / 100) <= COIN / 2, "BR-CO-17 to two decimals"


def test_by_line_and_by_document_differ_by_half_a_coin_a_line_at_most() -> None:
    """Forty lines of 0.13 at 19 %: 0.0247 each is 0.02, in all 0.80; of 5.20 at once it is 0.988, so 0.99. By hand."""
    lines = lines_of([(13, ("standard", "19"))] * 40)
    found = {
        per: taxes_of(lines, Billing(seller=Party(name="Lantern Loft"), per=per), "EUR")[2]  # type: ignore[arg-type]
        for per in ("line", "document")
    }
    assert found == {"line": Decimal("0.80"), "document": Decimal("0.99")}
