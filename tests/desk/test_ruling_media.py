"""What a recipe's medium counts as where rules ask."""

from __future__ import annotations

import msgspec
import pytest

from tests.trace.made import PEA
from trayward.desk.ruling import grown_in
from trayward.farm.recipes import Medium


@pytest.mark.parametrize(
    ("name", "counts"),
    [
        ("water", "water"), ("Water only", "water"), ("plain water", "water"), ("water mat", "mat"),
        ("mesh mat", "mat"), ("mat over water", "mat"), ("coir", "soil or substrate"),
        ("potting soil", "soil or substrate"), ("hemp mat", "soil or substrate"), ("", ""),
    ],
)  # fmt: skip
def test_a_medium_counts_as_what_it_is_called(name: str, counts: str) -> None:
    recipe = msgspec.structs.replace(PEA, medium=Medium(name=name, reusable=False))
    assert grown_in(recipe) == counts
