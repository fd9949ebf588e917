"""What a sanitiser's label says its strength is, and what that comes to in milligrams per litre."""

from __future__ import annotations

import msgspec

from trayward.science.dilution import strength_of_percent
from trayward.science.either import require_each
from trayward.science.sanitiser import Agent


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """
    The strength on a label.

    `percent` [%] or `ppm` [mg/l], the other None. `by`: what the per cent is of: "weight", "volume" (weight by volume;
    for alcohol volume by volume), or "" where the label does not say. `available`: it counts available chlorine.
    """

    percent: float | None = None
    ppm: float | None = None
    by: str = ""
    available: bool = False
    density: float | None = None
    """Of the product, where the label says it. [g/ml]"""

    def words(self) -> str:
        """As a person would write it."""
        if self.ppm is not None:
            return f"{self.ppm:g} ppm"
        by = {"weight": " by weight", "volume": " by volume"}.get(self.by, "")
        return f"{self.percent:g} %{' available chlorine' if self.available else ''}{by}"


class Strength(msgspec.Struct, frozen=True, kw_only=True):
    """What a label comes to [mg/l]; how it was read; and, where it can be read two ways, the other one [mg/l]."""

    ppm: float
    read_as: str
    other_ppm: float | None = None
    other_as: str = ""


def strength_of(agent: Agent, label: Label) -> Strength:
    """
    What a label's strength comes to in milligrams per litre of what is counted.

    Where a label's per cent does not say of what, bleach is read as weight by volume, as extension tables do (5.25 % is
    52,500 ppm), others as weight by weight; the other reading is given beside it.
    """
    if label.ppm is not None:
        require_each("label strength", label.ppm, 0, 1e6, "ppm", "Read it on the label.", above=True)
        return Strength(ppm=label.ppm, read_as="as written")
    percent = label.percent if label.percent is not None else 0.0
    by_volume = strength_of_percent(percent)
    if agent.form == "spirit":
        return Strength(ppm=by_volume, read_as="per cent by volume")
    counted = 1.0 if label.available else agent.counted_by_weight
    density = label.density or agent.density(percent)
    by_weight = strength_of_percent(percent, density_g_per_ml=density, active_share=counted)
    weight_words = f"per cent by weight at {density:.3g} g/ml"
    volume_words = "per cent as grams in 100 ml"
    if label.by or label.density:
        weighed = label.by != "volume"
        return Strength(ppm=by_weight if weighed else by_volume, read_as=weight_words if weighed else volume_words)
    if agent.per_weight:
        return Strength(ppm=by_weight, read_as=weight_words, other_ppm=by_volume, other_as=volume_words)
    return Strength(ppm=by_volume, read_as=volume_words, other_ppm=by_weight, other_as=weight_words)
