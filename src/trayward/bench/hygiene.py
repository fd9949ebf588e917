"""Sanitiser sums: how much of a product makes a strength, and what strength came of what was poured."""

from __future__ import annotations

import msgspec

from trayward.bench.hygiene_label import Label, strength_of
from trayward.bench.types import Amount, Sheet
from trayward.errors import Finding, InputError
from trayward.science.chlorine import WARMEST, hypochlorous_share
from trayward.science.dilution import (
    PPM_PER_PERCENT,
    powder_for,
    ppm_made,
    ppm_of_powder,
    product_for,
)
from trayward.science.either import require_each
from trayward.science.sanitiser import USE_WORDS, Agent, Use, check_limit, limit_for
from trayward.units import show_volume

CAUTIONS = (
    "Clean and rinse first: dirt uses a sanitiser up. Then sanitise.",
    "A sum is no measurement: read a test strip made for this sanitiser.",
    "The product's label rules use, contact time, rinse and protection; local codes and licensed practice go before "
    "this sheet.",
    "Gloves and eye protection, and fresh air. Never mix two products: chlorine with acid or ammonia gives poison gas.",
)
"""Said on every sheet of this bench that has to do with a sanitiser."""
FLAMMABLE = "Alcohol burns: no flame, no spark, no hot lamp near it, and fresh air."
HOT_C = 40.0
"""Warmer water drives chlorine and peroxyacetic acid off: from memory. [°C]"""


def _given(agent: Agent, label: Label, read_as: str = "") -> tuple[Amount, ...]:
    return (
        Amount(name="sanitiser", value=agent.name),
        Amount(name="label", value=label.words(), note=f"read as {read_as}" if read_as else ""),
    )


def _of_use(use: Use, counted_as: str) -> Amount:
    limit = limit_for(counted_as, use)
    note = f"{limit.rule}: at most {limit.ppm:g} ppm" if limit else "no figure on record here: the label decides"
    return Amount(name="for", value=USE_WORDS[use], note=note)


def dilute_sheet(
    agent: Agent,
    label: Label,
    target_ppm: float,
    total_ml: float,
    *,
    use: Use = "surface",
    ph: float | None = None,
    water_c: float | None = None,
) -> Sheet:
    """
    How much product makes a wanted volume of a wanted strength.

    Parameters
    ----------
    agent : Agent
        The sanitiser.
    label : Label
        Strength of the product.
    target_ppm : float
        Strength wanted, by the product's label. [mg/l] For alcohol per cent by volume x 10,000.
    total_ml : float
        Volume wanted in all. [ml]
    use : Use
        What it touches, for the limits on record.
    ph, water_c : float or None
        Of the mixed solution [-], [°C]; with a pH, how much of the chlorine acts quickly.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range or the product is weaker than what is wanted.
    """
    if agent.form == "powder":
        made = _powder(agent, label, target_ppm, total_ml)
    else:
        made = _liquid(agent, label, target_ppm, total_ml)
    limit = check_limit(use, agent.counted_as, target_ppm) if agent.form != "spirit" else None
    quick, odd = _quick_form(agent, target_ppm, ph, water_c)
    given = (
        *made.given,
        _strength_amount("strength wanted", agent, target_ppm),
        Amount(name="to be made", value=total_ml, unit="ml", kind="volume"),
        *((_of_use(use, agent.counted_as),) if agent.form != "spirit" else ()),
    )
    return msgspec.structs.replace(
        made,
        title=f"Too strong for {USE_WORDS[use]}: look below." if limit else made.title,
        given=given,
        found=(*made.found, *quick),
        findings=tuple(found for found in (limit, *odd) if found is not None),
        # What a rule does not allow is not explained step by step.
        steps=() if limit else _steps(agent, target_ppm),
        sources=_sources(agent, use, quick),
        cautions=_cautions(agent),
    )


def _strength_amount(name: str, agent: Agent, ppm: float, note: str = "") -> Amount:
    if agent.form == "spirit":
        return Amount(name=name, value=ppm / PPM_PER_PERCENT, unit="% by volume", note=note)
    return Amount(name=name, value=ppm, unit="ppm", note=note or f"mg of {agent.counted_as} in a litre")


def _liquid(agent: Agent, label: Label, target_ppm: float, total_ml: float) -> Sheet:
    strength = strength_of(agent, label)
    _require_weaker(agent, target_ppm, strength.ppm)
    product = product_for(target_ppm, strength.ppm, total_ml)
    found = [
        Amount(name=f"{agent.name} to measure", value=product, unit="ml", kind="volume", note=_spoons(product)),
        Amount(name="water to measure first", value=total_ml - product, unit="ml", kind="volume"),
        Amount(name="one part in", value=strength.ppm / target_ppm, unit="parts in all"),
    ]
    if strength.other_ppm is not None and strength.other_ppm >= target_ppm:
        other = product_for(target_ppm, strength.other_ppm, total_ml)
        note = f"if the label means {strength.other_as}"
        found.append(Amount(name="read otherwise", value=other, unit="ml", kind="volume", note=note))
    return _sheet(agent, label, strength.read_as, tuple(found))


def _require_weaker(agent: Agent, target_ppm: float, strength_ppm: float) -> None:
    if agent.form == "spirit" and target_ppm > strength_ppm:
        own = f"must not be above the product's own {strength_ppm / PPM_PER_PERCENT:g} %"
        raise InputError("target", f"{target_ppm / PPM_PER_PERCENT:g}", own, "Use a stronger product.", "%")


def _spoons(ml: float) -> str:
    return f"{show_volume(ml, 'cup')}, US" if ml >= 0.5 else "too little for a spoon: make more, or weigh it"


def _powder(agent: Agent, label: Label, target_ppm: float, total_ml: float) -> Sheet:
    grams = powder_for(target_ppm, _share_of_weight(label), total_ml)
    found = (
        Amount(name=f"{agent.name} to weigh", value=grams, unit="g", kind="mass"),
        Amount(name="water to measure first", value=total_ml, unit="ml", kind="volume"),
    )
    return _sheet(agent, label, "available chlorine of the weight", found)


def _share_of_weight(label: Label) -> float:
    if label.percent is None:
        raise InputError("label", label.words(), "a powder has its strength in per cent of weight", 'Say "65 %".')
    require_each("label strength", label.percent, 0, 100, "%", "Read the strength on the label.", above=True)
    return label.percent / 100


def _sheet(agent: Agent, label: Label, read_as: str, found: tuple[Amount, ...]) -> Sheet:
    return Sheet(
        bench="hygiene",
        task="dilute",
        title=f"How much {agent.name} to measure.",
        given=_given(agent, label, read_as),
        found=found,
        holds=_holds(agent),
    )


def _holds(agent: Agent) -> tuple[str, ...]:
    if agent.form == "spirit":
        return ("By volume, made up to the mark: alcohol and water shrink a little when they meet.",)
    first = (
        "What is in the product stays the same and is spread over the volume; water and product are taken to add up, "
        "and the water to use up nothing."
    )
    if agent.counted_as != "chlorine":
        return (first,)
    return (
        first,
        "A product loses strength as it ages, faster when warm or in light; how fast is not reckoned here. Buy it "
        "fresh, and let the strip decide.",
    )


def _steps(agent: Agent, target_ppm: float) -> tuple[str, ...]:
    wanted = f"{target_ppm / PPM_PER_PERCENT:g} %" if agent.form == "spirit" else f"{target_ppm:g} ppm"
    strip = () if agent.form == "spirit" else (f"Stir, wait a minute, read a strip: it should say about {wanted}.",)
    pour = (
        "Weigh the powder in a dry cup, and stir it" if agent.form == "powder" else "Measure the product, and pour it"
    )
    return (
        "Wash and rinse what is to be sanitised.",
        "Put on gloves and glasses, open a window.",
        f"Measure the water, cool or lukewarm. {pour} into the water, never the other way round.",
        *strip,
        "Keep everything wet for the label's contact time; then drain, or rinse where the label says so.",
        f"Write on the bottle: {agent.name}, {wanted}, when it was made.",
    )


def _cautions(agent: Agent) -> tuple[str, ...]:
    return (*CAUTIONS, FLAMMABLE) if agent.form == "spirit" else CAUTIONS


def _quick_form(
    agent: Agent, ppm: float, ph: float | None, water_c: float | None
) -> tuple[tuple[Amount, ...], tuple[Finding | None, ...]]:
    hot = _hot(agent, water_c)
    if ph is None or agent.counted_as != "chlorine":
        return (), (hot,)
    share = hypochlorous_share(ph, water_c if water_c is not None and water_c <= WARMEST else 20.0)
    note = f"the quick form of chlorine at pH {ph:g}, {ppm * share:.3g} ppm"
    return (Amount(name="acts quickly", value=share, unit="-", kind="share", note=note),), (hot, _slow(ph, share))


def _hot(agent: Agent, water_c: float | None) -> Finding | None:
    if water_c is None or water_c <= HOT_C or agent.counted_as not in ("chlorine", "peroxyacetic acid"):
        return None
    return Finding(
        code="water-hot-for-sanitiser",
        severity="odd",
        message=f"water = {water_c:.0f} °C: above {HOT_C:.0f} °C it drives fumes off and loses strength.",
        remedy="Take cool or lukewarm water, unless the label says otherwise.",
    )


def _slow(ph: float, share: float) -> Finding | None:
    if ph < 6:
        message = f"pH = {ph:g}: the lower it is, the more chlorine comes off as gas."
        remedy = "Keep it at 6.5 or above, and never pour acid into a chlorine solution."
    elif share < 0.5:
        message = f"pH = {ph:g}: only {100 * share:.0f} % of the chlorine acts quickly."
        remedy = "Keep to the label's contact time. Never pour acid into a chlorine solution to lower the pH."
    else:
        return None
    return Finding(code="chlorine-ph", severity="odd", message=message, remedy=remedy)


def _sources(agent: Agent, use: Use, quick: tuple[Amount, ...]) -> tuple[str, ...]:
    limit = limit_for(agent.counted_as, use)
    keys = ["phytosphere_bmp", "purdue_vch"]
    keys += [limit.source] if limit and agent.form != "spirit" else []
    keys += ["morris1966"] if quick else []
    return (*keys, "memory")


def made_sheet(agent: Agent, label: Label, product: float, water_ml: float, *, use: Use = "surface") -> Sheet:
    """
    What strength came of a product poured into water.

    Parameters
    ----------
    agent, label, use
        As for `dilute_sheet`.
    product : float
        What was poured in. [ml], of a powder [g]
    water_ml : float
        Water it went into. [ml]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    if agent.form == "powder":
        ppm = ppm_of_powder(product, _share_of_weight(label), water_ml)
        other, read_as = None, "available chlorine of the weight"
        poured = Amount(name="weighed", value=product, unit="g", kind="mass")
    else:
        strength = strength_of(agent, label)
        ppm, read_as = ppm_made(product, strength.ppm, water_ml), strength.read_as
        other = strength.other_ppm and (ppm_made(product, strength.other_ppm, water_ml), strength.other_as)
        poured = Amount(name="poured in", value=product, unit="ml", kind="volume")
    found = [_strength_amount("strength made", agent, ppm)]
    if other:
        found.append(_strength_amount("read otherwise", agent, other[0], f"if the label means {other[1]}"))
    limit = check_limit(use, agent.counted_as, ppm) if agent.form != "spirit" else None
    return Sheet(
        bench="hygiene",
        task="strength",
        title=f"Strength that was made of {agent.name}.",
        given=(
            *_given(agent, label, read_as),
            poured,
            Amount(name="into water", value=water_ml, unit="ml", kind="volume"),
            *((_of_use(use, agent.counted_as),) if agent.form != "spirit" else ()),
        ),
        found=tuple(found),
        holds=_holds(agent),
        findings=(limit,) if limit else (),
        cautions=_cautions(agent),
        sources=_sources(agent, use, ()),
    )
