"""Small sums of light that need no map: daily light, hours, energy and money, lux, photons, distance."""

from __future__ import annotations

from trayward.bench.light_layout import MAINS, better_than_built
from trayward.bench.types import Amount, Sheet
from trayward.errors import Finding, InputError
from trayward.science.either import require_each
from trayward.science.light import dli, hours_for_dli, ppfd_for_dli
from trayward.science.light_power import EFFICACY_LIMIT, ideal_efficacy, photon_energy
from trayward.science.light_readings import SIZES_AWAY, like_a_point, lux_factor, lux_of_ppfd, ppfd_at, ppfd_of_lux

PPFD, DAY = "umol/m2/s", "mol/m2/d"
ENOUGH = (6.0, 8.0)
"""Daily light that is enough for microgreens. [mol/m2/d] Source: `lopez_cafe`."""
WHAT_IS_ENOUGH = (
    f"{ENOUGH[0]:g} to {ENOUGH[1]:g} mol/m2/d is called enough for microgreens; more brings moderately more weight, "
    "more colour and shorter stems. Your own trays decide."
)
DARK_HOURS = "Whether a crop wants a night is another question: this is light x time alone."


def _hours(hours: float, name: str = "light a day") -> Amount:
    return Amount(name=name, value=60 * hours, unit="min", kind="minutes")


def daily_sheet(ppfd: float, hours: float, *, lux: float | None = None, light: str = "") -> Sheet:
    """
    Daily light from light and hours.

    Parameters
    ----------
    ppfd : float
        Light on the leaves. [umol/m2/s]
    hours : float
        Hours of light a day. [h]
    lux : float or None
        The reading it came from, with what shone. [lux]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    read = (Amount(name=f"reading, {light}", value=lux, unit="lux"),) if lux is not None else ()
    return Sheet(
        bench="light",
        task="daily",
        title="The light that comes down on the leaves in a day.",
        given=(*read, Amount(name="light on the leaves", value=ppfd, unit=PPFD), _hours(hours)),
        found=(Amount(name="daily light", value=dli(ppfd, hours), unit=DAY),),
        holds=("Light x time, by definition; the light is the mean over the shelf.", WHAT_IS_ENOUGH),
        sources=("lopez_cafe", *((lux_factor(light).source,) if light else ())),
    )


def hours_sheet(mol_m2_d: float, ppfd: float) -> Sheet:
    """
    Hours of light for a daily light.

    Parameters
    ----------
    mol_m2_d : float
        Daily light wanted. [mol/m2/d]
    ppfd : float
        Light on the leaves. [umol/m2/s]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range, or a day is too short.
    """
    hours = hours_for_dli(mol_m2_d, ppfd)
    return Sheet(
        bench="light",
        task="hours",
        title="How long the lamps must shine each day.",
        given=(
            Amount(name="daily light wanted", value=mol_m2_d, unit=DAY),
            Amount(name="light on the leaves", value=ppfd, unit=PPFD),
        ),
        found=(
            _hours(hours),
            Amount(name="light it would take in 12 h", value=ppfd_for_dli(mol_m2_d, 12), unit=PPFD),
            Amount(name="light it would take in 16 h", value=ppfd_for_dli(mol_m2_d, 16), unit=PPFD),
        ),
        holds=("Light x time, by definition.", WHAT_IS_ENOUGH, DARK_HOURS),
        cautions=(MAINS,),
        sources=("lopez_cafe",),
    )


def lux_sheet(light: str, *, lux: float | None = None, ppfd: float | None = None) -> Sheet:
    """
    Lux in PPFD, or PPFD in lux.

    Parameters
    ----------
    light : str
        What shines.
    lux, ppfd : float or None
        One of the two. [lux], [umol/m2/s]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If both or neither are given, or one is out of range.
    NotFoundError
        If no factor of that light is known.
    """
    if (lux is None) == (ppfd is None):
        rule = "say either lux or PPFD"
        raise InputError("reading", "both" if lux is not None else "none", rule, "For instance 10800 --source sun.")
    known = lux_factor(light)
    wide = f"usual: {known.low:g} to {known.high:g}" if known.low and known.high else ""
    factor = Amount(name="lux for one umol/m2/s", value=known.factor, note=wide)
    given = Amount(name="reading", value=lux, unit="lux") if lux is not None else _ppfd("light", ppfd or 0.0)
    if lux is not None:
        low, high = (known.factor / (end or known.factor) for end in (known.high, known.low))
        found = _with_ends("light", ppfd_of_lux(lux, light), PPFD, low, high)
    else:
        assert ppfd is not None
        low, high = ((end or known.factor) / known.factor for end in (known.low, known.high))
        found = _with_ends("lux meter shows", lux_of_ppfd(ppfd, light), "lux", low, high)
    return Sheet(
        bench="light",
        task="lux",
        title="What a lux meter shows, and the photons that plants count.",
        given=(given, Amount(name="what shines", value=light.strip())),
        found=(found, factor),
        holds=(
            "A factor holds for one spectrum. White LEDs differ by make: their sheet gives lumens and umol/s.",
            "Never for pink, purple, red or blue lamps: a lux meter hardly sees what they give.",
        ),
        sources=(known.source,),
    )


def _with_ends(name: str, value: float, unit: str, low: float, high: float) -> Amount:
    """A value, to three figures, and where it may lie by the lamp's make."""
    ends = (f"{float(f'{value * end:.3g}'):g}" for end in (low, high))
    note = f"{' to '.join(ends)} by the lamp's make" if low < high else ""
    return Amount(name=name, value=float(f"{value:.4g}"), unit=unit, note=note)


def _ppfd(name: str, value: float) -> Amount:
    return Amount(name=name, value=value, unit=PPFD)


def photon_sheet(nm: float, efficacy: float | None = None) -> Sheet:
    """
    Energy of photons of one colour, and the best that a lamp of that colour could do.

    Parameters
    ----------
    nm : float
        Wavelength. [nm]
    efficacy : float or None
        What a lamp of that colour gives. [umol/J]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If the wavelength is out of range, or the lamp would give more than physics allows.
    """
    ideal = ideal_efficacy(nm)
    found = [
        Amount(name="energy of a mol of photons", value=photon_energy(nm), unit="kJ/mol"),
        Amount(name="photons a joule at best", value=ideal, unit="umol/J"),
    ]
    if efficacy is not None:
        remedy = f"Light of {nm:g} nm has {ideal:.2f} umol in each joule; look again at the lamp's sheet."
        require_each("efficacy", efficacy, 0, ideal, "umol/J", remedy, above=True)
        found.insert(0, Amount(name="power that becomes light", value=efficacy / ideal, unit="-", kind="share"))
    lamp = (Amount(name="photons a joule of the lamp", value=efficacy, unit="umol/J"),) if efficacy is not None else ()
    return Sheet(
        bench="light",
        task="photon",
        title="How much energy light of one colour takes.",
        given=(Amount(name="wavelength", value=nm, unit="nm"), *lamp),
        found=tuple(found),
        holds=(
            f"Exact for one wavelength. Of the photons that are counted, 400 to 700 nm, no lamp gives more than "
            f"{EFFICACY_LIMIT:.2f} umol/J.",
            "Whole LED lamps of today reach 3.4 (white and red) to 4.1 umol/J (blue and red) at most.",
        ),
        findings=better_than_built(efficacy),
        sources=("si_2019", "kusuma2020"),
    )


def distance_sheet(ppfd: float, measured_mm: float, distance_mm: float, size_mm: float | None = None) -> Sheet:
    """
    Light of one small lamp at another distance.

    Parameters
    ----------
    ppfd : float
        Light measured straight below it. [umol/m2/s]
    measured_mm, distance_mm : float
        Distance of that, and the other one. [mm]
    size_mm : float or None
        The lamp's longest side. [mm]

    Returns
    -------
    Sheet

    Raises
    ------
    InputError
        If a value is out of range.
    """
    nearest = min(measured_mm, distance_mm)
    far = size_mm is None or like_a_point(size_mm, nearest)
    size = (Amount(name="longest side of the lamp", value=size_mm, unit="mm", kind="length"),) if size_mm else ()
    return Sheet(
        bench="light",
        task="distance",
        title="The light of one small lamp, nearer or farther.",
        given=(
            _ppfd("light measured", ppfd),
            Amount(name="measured at", value=measured_mm, unit="mm", kind="length"),
            Amount(name="wanted at", value=distance_mm, unit="mm", kind="length"),
            *size,
        ),
        found=(_ppfd("light there", ppfd_at(ppfd, measured_mm, distance_mm)),),
        holds=(
            f"One lamp, straight below it, at more than {SIZES_AWAY:g} times its longest side.",
            "Below bars and panels light falls off more slowly: use the map.",
        ),
        findings=() if far else (_too_near(size_mm or 0.0),),
        sources=("daylight_algorithms",),
    )


def _too_near(size_mm: float) -> Finding:
    message = f"lamp = {size_mm:g} mm long: nearer than {SIZES_AWAY:g} times that it is no point, and this is wrong."
    return Finding(code="lamp-no-point", severity="wrong", message=message, remedy="Use: trayward bench light map")
