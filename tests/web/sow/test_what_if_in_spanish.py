"""What is supposed, and what it comes to, in Spanish: no word of it stays English."""

from __future__ import annotations

from datetime import date

import pytest

from trayward.plan.compare_types import Between
from trayward.plan.compare_words import between_words
from trayward.plan.suppose_growing import MoreSeed
from trayward.plan.suppose_selling import Cost, OrdersTimes, PricesTimes
from trayward.plan.suppose_space import DaysOff, MoreHands, MoreKit, MoreShelves
from trayward.plan.supposed import Supposition
from trayward.web.look.locales import Tongues

DEC_8, DEC_10 = date(2026, 12, 8), date(2026, 12, 10)
SUPPOSED: tuple[tuple[Supposition, str], ...] = (
    (MoreShelves(count=2, kind="lit", spots=4), "2 baldas con luz más, de 4 sitios"),
    (
        MoreShelves(count=1, kind="dark", spots=4, stack=2, first=DEC_8),
        "1 balda a oscuras más, de 4 sitios, 2 en altura, desde el mar, 8 dic",
    ),
    (MoreKit(pool="cover", count=-4, last=DEC_8), "4 tapas menos, hasta el mar, 8 dic"),
    (DaysOff(first=DEC_8, last=DEC_10), "cerrado desde el mar, 8 dic hasta el jue, 10 dic"),
    (DaysOff(first=DEC_8, last=DEC_8), "cerrado el mar, 8 dic"),
    (MoreHands(minutes=-30.0), "30 min menos cada día de trabajo"),
    (OrdersTimes(names=("thimble-tue",), factor=2.0), "el doble de thimble-tue"),
    (OrdersTimes(names=("thimble-tue",), factor=0.0, last=DEC_8), "thimble-tue en pausa, hasta el mar, 8 dic"),
    (PricesTimes(factor=1.1), "todo un 10 % más caro"),
    (Cost(what="wage_h", amount=18.0), "salario 18,00 por hora"),
    (MoreSeed(crop="pea", grams=500.0, comes_on=DEC_10), "500 g más de semilla de pea, que llega el jue, 10 dic"),
)  # fmt: skip


@pytest.mark.parametrize(("supposed", "told"), SUPPOSED, ids=lambda one: one if isinstance(one, str) else "")
def test_what_is_supposed_is_told_in_spanish(supposed: Supposition, told: str) -> None:
    assert Tongues().of("es_ES").said(supposed.words()) == told


def test_the_verdict_is_told_in_spanish() -> None:
    """Three weeks in which the margin is 24 less and letting down costs 15 less: 3.00 a week worse."""
    between = Between(
        count=96, mean=-9.0, low=-12.0, high=-6.0, margin=-24.0, tenth=-30.0, ninetieth=15.0, better=0.3, worse=0.7,
        own=-9.0, own_low=-12.0, own_high=-6.0,
    )  # fmt: skip
    words = between_words(between, 3.0, "EUR", told=True)
    assert Tongues().of("es_ES").said(words) == (
        "Peor: 3,00 EUR a la semana de media (2,00 a 4,00): el margen es 8,00 EUR menos y dejar sin servir a clientes "
        "cuesta 5,00 EUR menos. "
        "Es peor en 7 de cada 10 futuros; 8 de cada 10 están entre 5,00 EUR mejor y 10 EUR peor."
    )
