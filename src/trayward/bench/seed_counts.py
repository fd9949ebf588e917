"""Seed tests and counts: a germination series, repeats, the weight of a thousand, how evenly seed is spread."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate

from trayward.bench.types import Amount, Grid, Sheet
from trayward.errors import Finding
from trayward.science import germination as figures
from trayward.science.seed_test import REPEATS_VARY, compare_repeats, seeds_to_test, weight_of_repeats, wilson

HOLDS_LOOKS = (
    "Seed counts as sprouted at the look it was seen at; it sprouted some time before. Look more often to know better.",
    "Two lots compare only when looked at on the same days, as warm and as wet.",
)


def germination_sheet(days: Sequence[float], fresh: Sequence[float], seeds: float) -> Sheet:
    """
    What a germination test says, from the seeds newly sprouted at each look.

    Parameters
    ----------
    days : sequence of float, length n
        When it was looked at, from sowing. [d] Rising.
    fresh : sequence of float, length n
        Seeds newly sprouted at each look. [-]
    seeds : float
        Seeds in the test. [-] At least as many as sprouted.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If looks are out of order, or more sprouted than there were.
    """
    share = figures.germination_share(fresh, seeds)
    low, high = wilson(round(sum(fresh)), round(seeds), 0.8)
    return Sheet(
        bench="seed",
        task="germination",
        title="What the germination test says.",
        given=(Amount(name="seeds in the test", value=seeds), Amount(name="looks", value=len(days))),
        found=(
            Amount(name="sprouted in the end", value=share, unit="-", kind="share", low=low, high=high),
            Amount(name="half of those up", value=figures.middle_time(days, fresh), unit="d", note=_COOLBEAR),
            Amount(
                name="half, the other way", value=figures.middle_time(days, fresh, "farooq"), unit="d", note=_FAROOQ
            ),
            *_mean(days, fresh),
            Amount(
                name="speed", value=figures.speed(days, fresh), unit="seeds a day", note="new seeds over day, summed"
            ),
            *_together(days, fresh),
        ),
        grids=(_series(days, fresh, seeds),),
        holds=HOLDS_LOOKS,
        sources=("germinationmetrics", "newcombe1998"),
    )


_COOLBEAR = "T50, middle seed (N + 1) / 2 (Coolbear)"
_FAROOQ = "T50, middle seed N / 2 (Farooq)"


def _mean(days: Sequence[float], fresh: Sequence[float]) -> tuple[Amount, ...]:
    mean = figures.mean_time(days, fresh)
    if sum(fresh) <= 1:
        return (Amount(name="mean time", value=mean, unit="d"),)
    error = figures.mean_time_error(days, fresh)
    reach = 1.281552 * error
    return (
        Amount(name="mean time", value=mean, unit="d", low=mean - reach, high=mean + reach),
        Amount(name="varies by", value=figures.time_variation(days, fresh), unit="-", kind="share", note="of the mean"),
    )


def _together(days: Sequence[float], fresh: Sequence[float]) -> tuple[Amount, ...]:
    if sum(fresh) < 2:
        return ()
    uniform = figures.uniformity(days, fresh)
    return (
        Amount(name="synchrony", value=figures.synchrony(fresh), note="1 when all come at one look"),
        Amount(name="uncertainty", value=figures.uncertainty(fresh), unit="bits", note="0 when all come at one look"),
        *((Amount(name="uniformity", value=uniform, unit="/d2"),) if uniform != float("inf") else ()),
    )


def _series(days: Sequence[float], fresh: Sequence[float], seeds: float) -> Grid:
    piled = accumulate(fresh)
    rows = tuple(
        (f"{day:g}", f"{new:g}", f"{100 * all_so_far / seeds:.0f} %")
        for day, new, all_so_far in zip(days, fresh, piled, strict=True)
    )
    return Grid(title="Look by look", columns=("Day", "New", "So far"), rows=rows)


def sprouted_sheet(sprouted: int, tested: int, repeats: Sequence[float] = ()) -> Sheet:
    """
    How sure a share of live seed is, whether repeats agree, and how many seeds a surer test takes.

    Parameters
    ----------
    sprouted, tested : int
        Seeds that sprouted, of those tested. [-]
    repeats : sequence of float, length 2 or 4
        Where the test was made of repeats of 100: how many sprouted in each. [%] Empty: it was not.

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a count cannot be.
    """
    share = sprouted / max(tested, 1)
    low, high = wilson(sprouted, tested, 0.8)
    wide_low, wide_high = wilson(sprouted, tested, 0.95)
    agreed, odd = _agreed(repeats)
    found = (
        Amount(name="sprouts", value=share, unit="-", kind="share", low=low, high=high),
        Amount(name="19 in 20 between", value=f"{100 * wide_low:.1f} and {100 * wide_high:.1f} %"),
        *agreed,
    )
    rows = tuple(
        (f"{100 * within:g} points", *(str(seeds_to_test(within, share, sure)) for sure in (0.8, 0.95)))
        for within in (0.1, 0.05, 0.03, 0.02)
    )
    return Sheet(
        bench="seed",
        task="test",
        title="How sure the test is.",
        given=(Amount(name="sprouted", value=f"{sprouted} of {tested}"),),
        found=found,
        grids=(Grid(title="Seeds to test", columns=("Known to within", "8 in 10", "19 in 20"), rows=rows),),
        findings=odd,
        holds=("Seeds taken blindly from all through the bag, each sprouting or not by itself.",),
        sources=("newcombe1998", *(("cfr_7_201_55",) if repeats else ())),
    )


def _agreed(repeats: Sequence[float]) -> tuple[tuple[Amount, ...], tuple[Finding, ...]]:
    if not repeats:
        return (), ()
    seen = compare_repeats(repeats)
    if seen.allowed_pct is None:
        return (Amount(name="repeats apart", value=seen.range_pct, unit="points"),), ()
    note = f"up to {seen.allowed_pct} are allowed at a mean of {seen.mean_pct:.0f} %"
    amount = Amount(name="repeats apart", value=seen.range_pct, unit="points", note=note)
    if seen.agree:
        return (amount,), ()
    message = f"repeats apart = {seen.range_pct:g} points: more than the {seen.allowed_pct} that chance explains."
    return (amount,), (
        Finding(code="repeats-apart", severity="odd", message=message, remedy="Test again with fresh seed, all alike."),
    )


def weight_sheet(seeds: int, grams: Sequence[float]) -> Sheet:
    """Weight of a thousand seeds from one or more counted and weighed samples: seeds in each, what each weighs [g]."""
    found = weight_of_repeats(seeds, grams)
    reach = 1.281552 * found.error_g if found.error_g is not None else None
    low, high = (found.tsw_g - reach, found.tsw_g + reach) if reach is not None else (None, None)
    vary = found.vary_pct
    odd: tuple[Finding, ...] = ()
    if vary is not None and vary > REPEATS_VARY:
        message = f"repeats vary by {vary:.1f} %: more than the {REPEATS_VARY:g} % that laboratories allow."
        odd = (
            Finding(code="weights-vary", severity="odd", message=message, remedy="Count again, take a finer scale."),
        )
    return Sheet(
        bench="seed",
        task="weight",
        title="What a thousand seeds weigh.",
        given=(
            Amount(name="seeds in each sample", value=seeds),
            Amount(name="samples", value=len(grams), note=", ".join(f"{each:g} g" for each in grams)),
        ),
        found=(
            Amount(name="1000 seeds weigh", value=found.tsw_g, unit="g", kind="mass", low=low, high=high),
            Amount(name="seeds in a gram", value=1000 / found.tsw_g),
            *((Amount(name="samples vary by", value=vary, unit="%"),) if vary is not None else ()),
        ),
        findings=odd,
        holds=("Clean dry seed taken blindly; the scale's last figure counts once for every sample.",),
        sources=("ista_weight",),
    )


def spread_sheet(counts: Sequence[float]) -> Sheet:
    """How evenly seed or water is spread, from what is counted or caught in cells of one size."""
    from trayward.science.spread import christiansen, low_quarter, spread_of_counts

    seen = spread_of_counts(counts)
    whole = all(float(count).is_integer() for count in counts)
    words = {
        "even": "more even than seed that falls by chance",
        "random": "as seed falls by chance: nothing speaks against it",
        "clumped": "clumped: some cells hold too much, others too little",
    }[seen.pattern]
    by_chance = Amount(name="unevenness", value=seen.dispersion, note=f"1 by chance; {words}")
    odd: tuple[Finding, ...] = ()
    if whole and seen.pattern == "clumped":
        remedy = "Sow half across, half along, or shake from higher up."
        odd = (Finding(code="spread-clumped", severity="odd", message=f"The seed lies {words}.", remedy=remedy),)
    return Sheet(
        bench="seed",
        task="spread",
        title="How evenly it is spread.",
        given=(Amount(name="cells", value=seen.cells),),
        found=(
            Amount(
                name="even to",
                value=christiansen(counts),
                unit="-",
                kind="share",
                note="Christiansen: 100 % is all alike",
            ),
            Amount(name="poorest quarter gets", value=low_quarter(counts), unit="-", kind="share", note="of the mean"),
            Amount(name="mean of a cell", value=seen.mean),
            *((by_chance,) if whole else ()),
        ),
        findings=odd,
        holds=(
            "Cells of one size, all through the tray. Small cells look less even than large ones: compare alike.",
            *(() if whole else ("What is caught, not counted: unevenness against chance is told for counts alone.",)),
        ),
        sources=("christiansen1942", *(("student1907",) if whole else ())),
    )
