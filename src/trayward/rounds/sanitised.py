"""What is odd about kit that was sanitised, as it was written down."""

from __future__ import annotations

import msgspec

from trayward.errors import Finding, InputError


def sanitised_findings(agent: str, strength_ppm: float | None) -> tuple[Finding, ...]:
    """
    A strength above what a rule names for a surface that food touches and nobody rinses.

    Parameters
    ----------
    agent : str
        What was used, as the grower calls it; one that nobody listed is left to its label.
    strength_ppm : float or None
        As measured. [mg/l]

    Returns
    -------
    tuple of Finding
        Odd, never wrong: whether the kit was rinsed after is not in the book.

    Examples
    --------
    >>> sanitised_findings("bleach", 400.0)[0].message
    'chlorine = 400 ppm: above the 200 ppm that 40 CFR 180.940 names for a surface food touches, not rinsed.'
    >>> sanitised_findings("bleach", 150.0), sanitised_findings("our own mixture", 400.0)
    ((), ())
    """
    from trayward.science.sanitiser import agent_named, check_limit

    if strength_ppm is None:
        return ()
    try:
        meant = agent_named(agent)
    except InputError:
        return ()
    found = check_limit("surface", meant.counted_as, strength_ppm) if meant.form != "spirit" else None
    if found is None:
        return ()
    remedy = "Rinse this kit with clean water, or do what the label says for this strength. Mix it weaker next time."
    return (msgspec.structs.replace(found, severity="odd", remedy=remedy),)
