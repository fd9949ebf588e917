"""The normal distribution for whole arrays, far into its tails, with numpy alone.

The round asks it, and importing scipy for it would cost 300 ms of the one second that a round may take. The tests hold
it against scipy.special.
"""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from trayward.errors import InputError

Floats = NDArray[np.float64]

ROOT_TWO_PI: Final = math.sqrt(2 * math.pi)
FAR: Final = 1e100
"""An edge this far away counts as none; its square can still be written."""
TINY: Final = 1e-300
"""Stands for a mass that rounding took to zero, so that its logarithm is still a number."""

# Phi(-x) exp(x^2 / 2) (x + KNEE) for x >= 0, as a polynomial in (x - KNEE) / (x + KNEE): the substitution of Shepherd
# and Laframboise (1981), Mathematics of Computation 36:249-253 (from memory). Coefficients are ours: a Chebyshev fit at
# 400 points of scipy.special.erfcx, cut off at degree 18; largest relative error seen 2e-14.
KNEE: Final = 5.0
TAIL: Final = (
    0.769193049750053,
    -0.6653825028902379,
    0.4953056159719294,
    -0.3135331566602434,
    0.16502036610469042,
    -0.06911863890510742,
    0.020795067654981292,
    -0.00299337513589865,
    -0.0007978750567615088,
    0.0005448917059174282,
    -5.9354138645410936e-05,
    -4.974299450627266e-05,
    1.6630743099203527e-05,
    3.9475582346182705e-06,
    -2.6955391590902566e-06,
    -3.0109366270132417e-07,
    3.6710267840813385e-07,
    1.8616230060036504e-08,
    -3.239215798640002e-08,
)


def tail(x: Floats) -> Floats:
    """Phi(-x) exp(x^2 / 2) for x >= 0: what is left of the upper tail once its steep part is taken out. [-]"""
    near = 1 / (x + KNEE)
    at = 1 - 2 * KNEE * near
    total = np.full_like(at, TAIL[-1])
    for coefficient in TAIL[-2::-1]:
        total *= at
        total += coefficient
    total *= near
    return total


def cdf(x: Any) -> Floats:
    """
    Phi, the chance that a standard normal draw is at most `x`. [-]

    Examples
    --------
    >>> float(cdf(0.0))
    0.5
    """
    x = np.asarray(x, dtype=np.float64)
    upper = np.exp(-0.5 * x * x) * tail(np.abs(x))
    return np.asarray(np.where(x > 0, 1 - upper, upper))


def log_cdf(x: Any) -> Floats:
    """Logarithm of Phi, as exact at -1,000 as at 0. [-]"""
    x = np.asarray(x, dtype=np.float64)
    with np.errstate(divide="ignore"):
        rest = tail(np.abs(x))
        upper = np.log1p(-np.exp(-0.5 * x * x) * np.where(x > 0, rest, 0.0))
        return np.asarray(np.where(x > 0, upper, np.log(rest) - 0.5 * x * x))


def mass_within(near: Floats, far: Floats) -> tuple[Floats, Floats, Floats]:
    """
    Log of Phi(near) - Phi(-far), and the density at each edge as a share of that mass.

    Parameters
    ----------
    near, far : array
        How far the edges of an interval lie from zero, seen from the side its middle is on: `near` its closer edge,
        below zero where the interval does not hold zero; `far` the other, `far` >= |`near`|. Where there is none, give
        `FAR`. [-]

    Returns
    -------
    tuple of array
        Log mass [-], phi(near) / mass [-], phi(far) / mass [-].

    Notes
    -----
    mass = exp(-near^2/2) [tail(|near|) - exp((near^2 - far^2)/2) tail(far)] outside zero, and one less the like sum
    around it: no difference of two numbers close to one is taken. An interval of width w loses as many digits as w has
    zeros; `log_cdf_between` mends that. Signs in place of choices keep it fast.
    """
    outside = np.minimum(near, 0.0)
    side = np.copysign(1.0, near)
    steep = np.exp(-0.5 * np.square(near - outside))
    ratio = np.exp(0.5 * (near - far) * (near + far))
    mass = tail(np.abs(near))
    mass += side * ratio * tail(far)
    mass *= side * steep
    np.subtract(0.5 + 0.5 * side, mass, out=mass)
    np.maximum(mass, TINY, out=mass)
    steep /= ROOT_TWO_PI * mass
    return np.log(mass) - 0.5 * np.square(outside), steep, ratio * steep


def log_cdf_between(low: Any, high: Any) -> Floats:
    """
    Logarithm of Phi(high) - Phi(low), exact in both tails and for narrow intervals. [-]

    Parameters
    ----------
    low, high : array
        The edges; -inf and inf are allowed, and low == high gives -inf. [-]

    Raises
    ------
    InputError
        If an edge is no number or low > high.

    Notes
    -----
    A narrow interval takes three terms of the series of its middle, phi(m) w [1 + (m^2 - 1) w^2/24 + ...].

    Examples
    --------
    >>> float(log_cdf_between(-math.inf, math.inf))
    0.0
    """
    low, high = np.broadcast_arrays(np.asarray(low, dtype=np.float64), np.asarray(high, dtype=np.float64))
    if not np.all(low <= high):
        raise InputError("interval", _first(low, high), "must have its low edge at or below its high edge")
    low, high = np.clip(low, -FAR, FAR), np.clip(high, -FAR, FAR)
    width, middle = high - low, 0.5 * (low + high)
    far_off = middle * width
    narrow = (width < 0.05) & (np.abs(far_off) < 0.05)
    w2, mw2 = np.where(narrow, width, 0.0) ** 2, np.where(narrow, far_off, 0.0) ** 2
    series = (mw2 - w2) / 24 + (mw2 * mw2 - 6 * mw2 * w2 + 3 * w2 * w2) / 1920
    with np.errstate(divide="ignore"):
        mended = np.log(width / ROOT_TWO_PI) - 0.5 * middle * middle + np.log1p(series)
        return np.where(narrow | (width == 0), mended, mass_within(np.minimum(high, -low), np.maximum(high, -low))[0])


def _first(low: Floats, high: Floats) -> str:
    """The first pair of edges that cannot be, for a message."""
    spot = int(np.argmin((low <= high).ravel()))
    return f"({low.ravel()[spot]:g}, {high.ravel()[spot]:g})"


# Quantiles ------------------------------------------------------------------------------------------------------------

# Wichura (1988), algorithm AS 241, routine PPND16; the digits are those in Python's own statistics.NormalDist.
# fmt: off
_MIDDLE: Final = (
    (
        3.3871328727963666080e0, 1.3314166789178437745e2, 1.9715909503065514427e3, 1.3731693765509461125e4,
        4.5921953931549871457e4, 6.7265770927008700853e4, 3.3430575583588128105e4, 2.5090809287301226727e3,
    ), (
        1.0, 4.2313330701600911252e1, 6.8718700749205790830e2, 5.3941960214247511077e3,
        2.1213794301586595867e4, 3.9307895800092710610e4, 2.8729085735721942674e4, 5.2264952788528545610e3,
    ),
)
_OUTER: Final = (
    (
        1.42343711074968357734e0, 4.63033784615654529590e0, 5.76949722146069140550e0, 3.64784832476320460504e0,
        1.27045825245236838258e0, 2.41780725177450611770e-1, 2.27238449892691845833e-2, 7.74545014278341407640e-4,
    ), (
        1.0, 2.05319162663775882187e0, 1.67638483018380384940e0, 6.89767334985100004550e-1,
        1.48103976427480074590e-1, 1.51986665636164571966e-2, 5.47593808499534494600e-4, 1.05075007164441684324e-9,
    ),
)
_OUTMOST: Final = (
    (
        6.65790464350110377720e0, 5.46378491116411436990e0, 1.78482653991729133580e0, 2.96560571828504891230e-1,
        2.65321895265761230930e-2, 1.24266094738807843860e-3, 2.71155556874348757815e-5, 2.01033439929228813265e-7,
    ), (
        1.0, 5.99832206555887937690e-1, 1.36929880922735805310e-1, 1.48753612908506148525e-2,
        7.86869131145613259100e-4, 1.84631831751005468180e-5, 1.42151175831644588870e-7, 2.04426310338993978564e-15,
    ),
)
# fmt: on


def _ratio(shape: tuple[tuple[float, ...], tuple[float, ...]], at: Floats) -> Floats:
    """A rational function; coefficients from the constant up."""
    above, below = shape
    return np.asarray(np.polyval(above[::-1], at) / np.polyval(below[::-1], at))


def quantile(p: Any) -> Floats:
    """
    What a standard normal draw stays at or below with chance `p`. [-]

    Raises
    ------
    InputError
        If a chance is not in [0, 1].

    References
    ----------
    Wichura, M. J. (1988). Algorithm AS 241: The percentage points of the normal distribution. Applied Statistics
    37:477-484. doi 10.2307/2347330.

    Examples
    --------
    >>> round(float(quantile(0.9)), 4)
    1.2816
    """
    p = np.asarray(p, dtype=np.float64)
    _require_chances(p)
    with np.errstate(divide="ignore"):
        return _from_tails(np.log(p), np.log1p(-p), p - 0.5)


def _require_chances(p: Floats) -> None:
    """Raise `InputError` unless all lie in [0, 1]."""
    fine = ((p >= 0) & (p <= 1)).ravel()
    if not fine.all():
        raise InputError("chance", f"{p.ravel()[np.argmin(fine)]:g}", "must lie in [0, 1]")


def _from_tails(log_below: Floats, log_above: Floats, off: Floats) -> Floats:
    """The point with these log chances below and above it; `off` is the chance below less one half."""
    middle = off * _ratio(_MIDDLE, 0.180625 - np.minimum(off * off, 0.180625))
    depth = np.sqrt(-np.minimum(log_below, log_above))
    # The fit ends at a chance of exp(-27^2); below that the tail is found by Newton's method.
    outer = np.where(
        depth <= 5, _ratio(_OUTER, np.minimum(depth, 5) - 1.6), _ratio(_OUTMOST, np.clip(depth, 5, 27) - 5)
    )
    found = np.where(np.abs(off) <= 0.425, middle, np.copysign(outer, off))
    deep = depth > 26
    if np.any(deep):
        found = np.where(deep, np.copysign(_deep(np.where(deep, depth, 26.0)), off), found)
    return found


def _deep(depth: Floats) -> Floats:
    """The point x whose upper tail has log chance -depth^2, far out: Newton's method from the tail's leading term."""
    goal = depth * depth
    far = ~np.isfinite(goal)
    goal = np.where(far, 1e4, goal)
    x = np.sqrt(2 * goal - np.log(4 * math.pi * goal))
    for _ in range(4):
        rest = tail(x)
        x += (goal - 0.5 * x * x + np.log(rest)) * ROOT_TWO_PI * rest
    return np.where(far, np.inf, x)


def truncated_quantile(u: Any, low: Any, high: Any) -> Floats:
    """
    What a standard normal draw known to lie between two edges stays at or below with chance `u`. [-]

    Parameters
    ----------
    u : array
        Chances in [0, 1]; uniform ones give draws.
    low, high : array
        The edges, -inf and inf allowed, low <= high. [-]

    Returns
    -------
    array
        Points in [low, high], right even where the edges lie 1,000 standard deviations out.

    Raises
    ------
    InputError
        If a chance is not in [0, 1] or the edges are the wrong way round.

    Examples
    --------
    >>> float(truncated_quantile(0.5, -2.0, 2.0))
    0.0
    """
    u, low, high = np.broadcast_arrays(*(np.asarray(item, dtype=np.float64) for item in (u, low, high)))
    _require_chances(u)
    log_mass = log_cdf_between(low, high)
    with np.errstate(divide="ignore"):
        below = np.logaddexp(log_cdf(low), np.log(u) + log_mass)
        above = np.logaddexp(log_cdf(-high), np.log1p(-u) + log_mass)
    off = np.where(below < above, np.exp(below) - 0.5, 0.5 - np.exp(above))
    return np.clip(_from_tails(np.minimum(below, 0.0), np.minimum(above, 0.0), off), low, high)
