"""Sanitisers in use: contact time, pH, whether a mixed solution is still good, and what must not be mixed."""

from __future__ import annotations

import math
from collections.abc import Sequence

from trayward.bench.hygiene import CAUTIONS
from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding
from trayward.science.chlorine import contact_minutes, hypochlorous_share, ph_for_share, tank_minutes
from trayward.science.chlorine_ct import giardia_ct
from trayward.science.never_mix import PAIRS, Pair, what_comes_of
from trayward.science.sanitiser import Agent
from trayward.science.solution_life import CHANGE_AFTER, check_solution

MIX_CAUTION = (
    "One product at a time, and rinse between two. If it has happened: leave at once, leave the door open, call for "
    "help from outside."
)


def contact_sheet(
    ppm: float,
    *,
    minutes: float | None = None,
    ct: float | None = None,
    ph: float | None = None,
    water_c: float | None = None,
    baffling: float = 1.0,
) -> Sheet:
    """
    Strength times time: what so many minutes come to, or how many are needed.

    Parameters
    ----------
    ppm : float
        Strength left at the end. [mg/l]
    minutes : float or None
        Contact time. [min]
    ct : float or None
        Strength x time wanted [mg min/l]; None with a pH and a temperature: the table for clear drinking water.
    ph, water_c : float or None
        Of the water. [-], [°C]
    baffling : float
        How evenly a tank is passed through. [-]

    Returns
    -------
    Sheet
    """
    given = [Amount(name="strength left at the end", value=ppm, unit="ppm")]
    found: list[Amount] = []
    tabled = ph is not None and water_c is not None
    if ph is not None and water_c is not None:
        given += [Amount(name="pH", value=ph), Amount(name="water", value=water_c, unit="C", kind="temperature")]
        table = giardia_ct(ppm, ph, water_c)
        ct = table if ct is None else ct
        note = "clear drinking water, 99.9 % of Giardia cysts, free chlorine"
        found.append(Amount(name="strength x time of the table", value=table, unit="mg min/l", note=note))
    if ct is not None:
        needed = contact_minutes(ct, ppm)
        found.insert(0, Amount(name="contact time needed", value=needed, unit="min", kind="minutes"))
        if baffling < 1:
            stay = tank_minutes(needed, baffling)
            found.insert(1, Amount(name="stay in the tank on average", value=stay, unit="min", kind="minutes"))
            given.append(Amount(name="share of the average stay that nearly all water gets", value=baffling))
    if minutes is not None:
        given.append(Amount(name="contact time", value=minutes, unit="min", kind="minutes"))
        found.insert(0, Amount(name="strength x time", value=ppm * minutes, unit="mg min/l"))
    return Sheet(
        bench="hygiene",
        task="contact",
        title="Strength times time.",
        given=tuple(given),
        found=tuple(found),
        holds=_contact_holds(tabled),
        cautions=CAUTIONS,
        sources=("epa_ct_giardia",) if tabled else ("memory",),
    )


def _contact_holds(tabled: bool) -> tuple[str, ...]:
    first = "The same strength x time is taken to do the same work, which holds within a few times the strength."
    if not tabled:
        return (first, "For trays and surfaces the label's own contact time counts, not this sum.")
    return (
        first,
        "The table is for clear drinking water, read to the safe side: colder, stronger, higher pH. It says nothing of "
        "trays, seed or greens.",
    )


def chlorine_sheet(ph: float, water_c: float = 20.0, ppm: float | None = None) -> Sheet:
    """How much of the free chlorine is in its quick form at a pH and temperature [-], [°C]; `ppm` of free chlorine."""
    share = hypochlorous_share(ph, water_c)
    found = [Amount(name="acts quickly", value=share, unit="-", kind="share", note="hypochlorous acid")]
    if ppm is not None:
        found.append(Amount(name="of it", value=share * ppm, unit="ppm", note=f"of {ppm:g} ppm free chlorine"))
    found.append(Amount(name="pH for 90 %", value=ph_for_share(0.9, water_c)))
    grid = Grid(
        title="Share that acts quickly, by pH",
        columns=("pH", *(f"{each:g}" for each in _PHS)),
        rows=((f"{water_c:.0f} °C", *(f"{100 * hypochlorous_share(each, water_c):.0f} %" for each in _PHS)),),
    )
    odd: tuple[Finding, ...] = ()
    if ph < 6:
        message = f"pH = {ph:g}: the lower it is, the more chlorine comes off as gas."
        odd = (Finding(code="chlorine-ph", severity="odd", message=message, remedy="Never pour acid into chlorine."),)
    return Sheet(
        bench="hygiene",
        task="chlorine",
        title="How much of the chlorine acts quickly.",
        given=(
            Amount(name="pH", value=ph, note="of the solution as mixed: bleach raises it"),
            Amount(name="water", value=water_c, unit="C", kind="temperature"),
        ),
        found=tuple(found),
        grids=(grid,),
        findings=odd,
        holds=("From 0 to 35 °C and pH 4 to 11, in clear water. Dirt, light and ammonia use chlorine up.",),
        cautions=CAUTIONS,
        sources=("morris1966",),
    )


_PHS = (6.0, 6.5, 7.0, 7.5, 8.0, 8.5, 9.0)


def solution_sheet(
    agent: Agent,
    readings: Sequence[tuple[float, float]],
    age_min: float,
    least_ppm: float,
    most_ppm: float = math.inf,
    *,
    change_after_min: float = CHANGE_AFTER,
) -> Sheet:
    """
    Whether a mixed solution is still good: its age, its strips, the strengths that will do.

    Parameters
    ----------
    agent : Agent
        What it is.
    readings : sequence of (float, float)
        Strips: age when read [min] and strength [mg/l].
    age_min : float
        Its age now. [min]
    least_ppm, most_ppm : float
        Weakest and strongest that will do, by the label. [mg/l]
    change_after_min : float
        Age from which it is made new whatever the strip says. [min]

    Returns
    -------
    Sheet
    """
    check = check_solution(readings, age_min, least_ppm, most_ppm, change_after_min=change_after_min)
    found = [Amount(name="still good", value=check.verdict == "good", note=check.words)]
    if check.last_ppm is not None:
        found.append(Amount(name="last strip", value=check.last_ppm, unit="ppm"))
        found.append(Amount(name="read", value=check.since_min, unit="min", kind="minutes", note="ago"))
    if check.fall_per_h is not None:
        found.append(Amount(name="lost in an hour", value=check.fall_per_h, unit="-", kind="share"))
    if check.weak_at_min is not None:
        note = f"after it was made: about then it comes to {least_ppm:g} ppm"
        found.append(Amount(name="too weak", value=check.weak_at_min, unit="min", kind="minutes", note=note))
    log = Grid(
        title="Its strips",
        columns=("Age", "Strip"),
        rows=tuple((f"{age:.0f} min", f"{ppm:g} ppm") for age, ppm in sorted(readings)),
    )
    most = [Amount(name="strongest that will do", value=most_ppm, unit="ppm")] if math.isfinite(most_ppm) else []
    return Sheet(
        bench="hygiene",
        task="solution",
        title=f"Is the {agent.name} solution still good?",
        given=(
            Amount(name="age", value=age_min, unit="min", kind="minutes"),
            Amount(name="weakest that will do", value=least_ppm, unit="ppm", note="by the label"),
            *most,
            Amount(name="made new after", value=change_after_min, unit="min", kind="minutes"),
        ),
        found=tuple(found),
        grids=(log,) if readings else (),
        holds=(
            "The pace is drawn through the strips as if the same share went in every hour; dirt takes it in jumps. A "
            "strip tells steps, not figures.",
        ),
        cautions=CAUTIONS,
        sources=("purdue_vch",),
    )


def mix_sheet(first: str | None = None, second: str | None = None) -> Sheet:
    """What must never be mixed: all pairs, those of one product, or what comes of two that meet."""
    if first is None or second is None:
        return _pairs_sheet(_pairs_with(first))
    pairs = what_comes_of(first, second)
    if pairs:
        words = f"Never: {'; '.join(pair.what for pair in pairs)}."
    else:
        words = "No danger is on record here, and that permits nothing: never mix what a label does not say to mix."
    sheet = _pairs_sheet(pairs)
    found = (Amount(name=f"{first} and {second}", value="never" if pairs else "do not", note=words),)
    title = f"What comes of {first} and {second}?"
    return Sheet(
        bench="hygiene", task="mix", title=title, given=(), found=found, grids=sheet.grids if pairs else (),
        holds=sheet.holds, cautions=sheet.cautions, sources=sheet.sources,
    )  # fmt: skip


def _pairs_with(product: str | None) -> tuple[Pair, ...]:
    if product is None:
        return PAIRS
    from trayward.science.never_mix import groups_of

    mine = groups_of(product)
    return tuple(pair for pair in PAIRS if pair.first in mine or pair.second in mine)


def _pairs_sheet(pairs: Sequence[Pair]) -> Sheet:
    rows = tuple((pair.first, pair.second, pair.what) for pair in pairs)
    return Sheet(
        bench="hygiene",
        task="mix",
        title="What must never be mixed.",
        given=(),
        found=(Amount(name="pairs on record", value=len(rows)),),
        grids=(Grid(title="Never together", columns=("This", "With this", "What comes of it"), rows=rows),),
        holds=("What is not in the table is not safe by that: only what both labels name may be mixed.",),
        cautions=(MIX_CAUTION, *CAUTIONS[2:3]),
        sources=tuple(dict.fromkeys(pair.source for pair in pairs)) or ("memory",),
    )
