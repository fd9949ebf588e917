"""How much of a seed lot is alive: what its label and its tests say, with doubt, and how seed ages in store.

Plain Python throughout: a round asks for it, and must not load a heavy library.
"""

from __future__ import annotations

import math

import msgspec

from trayward.errors import InputError
from trayward.science.bell import below, beta_quantile, probit
from trayward.science.seed_life import COOL_DRY_ROOM, Store, store_factor

LABEL_COUNTS_AS = 30.0
"""A label's figure weighs as much as this many seeds of one's own test. [-]

Our choice. The laboratory tested four times 100 (7 CFR 201.55, text seen), but at its best temperature, months ago, on
a sample of a sack that was then shipped and stored: 30 gives 92 % an 8-in-10 range of 85 to 97 %, and lets a test of 50
seeds outweigh it.
"""
ORDINARY_COUNTS_AS = 12.0
"""What lots of the crop commonly do weighs as much as this many tested seeds: our choice, 87 % gives 75 to 97 %. [-]"""
UNKNOWN_SHARE, UNKNOWN_COUNTS_AS = 0.85, 4.0
"""Seed of which nothing is known at all: common practice, no source, and hardly weighs."""
SUREST_LABEL = 0.995
"""A label of 100 % is read as this: labels are rounded, and no lot is sure to the last seed. [-]"""

LIFE_LOG_SD = 0.5
"""Doubt of a crop's storage life, on its logarithm. [-] Our choice: charts for one crop differ two times and more."""


class LiveShare(msgspec.Struct, frozen=True, kw_only=True):
    """
    Share of a lot's seed that is alive, with doubt: a beta distribution.

    `mean` and `sd` [-]; `alpha` and `beta` its parameters [-]; `basis` says in words what it rests on.
    """

    mean: float
    sd: float
    alpha: float
    beta: float
    basis: str = ""

    @property
    def low(self) -> float:
        """Eight of ten lots like it lie above this and below `high`. [-]"""
        return beta_quantile(self.alpha, self.beta, 0.1)

    @property
    def high(self) -> float:
        """See `low`. [-]"""
        return beta_quantile(self.alpha, self.beta, 0.9)

    @property
    def doubt(self) -> float:
        """Standard deviation as a share of the mean. [-]"""
        return self.sd / self.mean


def _of(alpha: float, beta: float) -> LiveShare:
    whole = alpha + beta
    return LiveShare(
        mean=alpha / whole, sd=math.sqrt(alpha * beta / (whole + 1)) / whole, alpha=alpha, beta=beta
    )  # fmt: skip


def live_share(
    label: float | None,
    sprouted: int = 0,
    tested: int = 0,
    *,
    ordinary: float | None = None,
    label_counts_as: float = LABEL_COUNTS_AS,
) -> LiveShare:
    """
    Share of live seed, from the label and one's own test.

    Parameters
    ----------
    label : float or None
        The label's share that sprouts [-]; None where it says nothing. Valid above 0 and up to 1.
    sprouted, tested : int
        Seeds that sprouted in one's own test, of those tested. [-]
    ordinary : float or None
        What ordinary lots of the crop do [-]; stands in for a missing label, with more doubt.
    label_counts_as : float
        How many tested seeds the label weighs as much as. [-] Valid above 0.

    Returns
    -------
    LiveShare
        Mean, standard deviation, and the beta distribution itself.

    Raises
    ------
    InputError
        If a share lies outside 0 to 1, or more sprouted than were tested.

    Notes
    -----
    The label is a beta distribution worth `label_counts_as` seeds; a test adds what sprouted to its first parameter and
    what did not to its second, which is exact for seeds that sprout independently (beta-binomial conjugacy [1]_).

    References
    ----------
    .. [1] A. Gelman and others, 2013, Bayesian Data Analysis, chapter 2. (From memory.)

    Examples
    --------
    >>> share = live_share(0.92, sprouted=43, tested=50)
    >>> round(share.mean, 3), round(share.low, 2), round(share.high, 2)
    (0.882, 0.83, 0.93)
    """
    if not 0 <= sprouted <= tested:
        raise InputError("sprouted", f"{sprouted} of {tested}", "must lie between none and all", "Count it again.")
    if not 0 < label_counts_as < math.inf:
        raise InputError("label_counts_as", f"{label_counts_as:g}", "must be above 0", "", "seeds")
    start = _before_tests(label, ordinary, label_counts_as)
    return after_test(start, sprouted, tested)


def _before_tests(label: float | None, ordinary: float | None, label_counts_as: float) -> LiveShare:
    share, worth = UNKNOWN_SHARE, UNKNOWN_COUNTS_AS
    if label is not None:
        share, worth = label, label_counts_as
    elif ordinary is not None:
        share, worth = ordinary, ORDINARY_COUNTS_AS
    if not 0 < share <= 1:
        raise InputError("label", f"{share:g}", "must lie above 0 and up to 1", "Give 0.92 for 92 %.")
    share = min(max(share, 1 - SUREST_LABEL), SUREST_LABEL)
    return _of(share * worth, (1 - share) * worth)


def after_test(share: LiveShare, sprouted: int, tested: int) -> LiveShare:
    """A live share after a seed test: exact for seeds that sprout independently."""
    return _of(share.alpha + sprouted, share.beta + tested - sprouted)


def aged(share: LiveShare, years: float, life_years: float, store: Store = COOL_DRY_ROOM) -> LiveShare:
    """
    A live share after a time in store.

    Parameters
    ----------
    share : LiveShare
        As it was.
    years : float
        Time since. [a] Below 0 counts as 0.
    life_years : float
        Storage life of the crop's seed in the cool dry room. [a] Valid above 0.
    store : Store
        Where it was kept.

    Returns
    -------
    LiveShare
        Lower and less sure; the same where no time has passed.

    Raises
    ------
    InputError
        If the life is not above 0, or the store lies outside Harrington's range.

    Notes
    -----
    The probit of the share falls in a straight line (the form of Ellis and Roberts, see
    `science.seed_life.probit_days`), by one in a storage life: 90 % comes to 61 %. That reading of "storage life" is
    our choice. The life itself is taken as lognormal with `LIFE_LOG_SD`. Both are carried through by Gauss rules (two
    points for the share, three for the life), and the result is the beta distribution of the same mean and variance.

    Examples
    --------
    >>> fresh = live_share(0.9)
    >>> round(aged(fresh, 3.0, 3.0).mean, 2), aged(fresh, 0.0, 3.0) == fresh
    (0.58, True)
    """
    if not 0 < life_years < math.inf:
        raise InputError("life_years", f"{life_years:g}", "must be above 0", "", "years")
    if math.isnan(years):
        raise InputError("years", "nan", "must be a number", "", "years")
    if years <= 0:
        return share
    fall = years / (life_years * store_factor(store))
    points = [
        (weight_share * weight_fall, below(start - min(fall * factor, 8.0)))
        for weight_share, start in ((weight, probit(value)) for weight, value in _two_points(share))
        for weight_fall, factor in _THREE_POINTS
    ]
    mean = sum(weight * value for weight, value in points)
    variance = sum(weight * (value - mean) ** 2 for weight, value in points)
    mean = min(max(mean, 1e-4), 1 - 1e-4)
    worth = max(mean * (1 - mean) / max(variance, 1e-12) - 1, 0.02)
    return _of(mean * worth, (1 - mean) * worth)


_THREE_POINTS = (
    (1 / 6, math.exp(-math.sqrt(3) * LIFE_LOG_SD)),
    (2 / 3, 1.0),
    (1 / 6, math.exp(math.sqrt(3) * LIFE_LOG_SD)),
)
"""Weights of the three-point rule for a lognormal life, and what each multiplies the fall by."""


def _two_points(share: LiveShare) -> tuple[tuple[float, float], ...]:
    """Weights and places of the two-point rule with the beta's mean, variance and skewness; both inside 0 to 1."""
    a, b = share.alpha, share.beta
    skew = 2 * (b - a) * math.sqrt(a + b + 1) / ((a + b + 2) * math.sqrt(a * b))
    reach = math.sqrt(1 + skew**2 / 4)
    low, high = share.sd * (skew / 2 - reach), share.sd * (skew / 2 + reach)
    return ((high / (high - low), share.mean + low), (-low / (high - low), share.mean + high))
