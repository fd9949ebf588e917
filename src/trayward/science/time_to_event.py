"""When something happened that is only seen at looks: interval-censored maximum likelihood.

A seed that showed its root between two looks is known to that interval and no closer; one that had not at the last look
is known only to be later, or never. The curves that are fitted live in `science.germination_curves`. Loads numpy:
import it inside the function that needs it.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import msgspec
import numpy as np
from numpy.typing import ArrayLike

from trayward.errors import InputError
from trayward.science.counts import Counts, Curve, Floats
from trayward.science.likelihood import Search, errors_of


class CurveFit(msgspec.Struct, frozen=True, kw_only=True):
    """
    A fitted curve.

    `values` and `errors` are by parameter; an error is None where the data do not give one (a share at its limit, a
    spread that no look resolves), and `notes` say why. `minus_2_log_likelihood` leaves the multinomial constant out.
    [-]
    """

    curve: Any
    values: dict[str, float]
    errors: dict[str, float | None]
    minus_2_log_likelihood: float
    seeds: float
    converged: bool
    notes: tuple[str, ...] = ()

    @property
    def aic(self) -> float:
        """Akaike's criterion: -2 log likelihood + 2 for every fitted parameter. [-]"""
        return self.minus_2_log_likelihood + 2 * len(self.errors)

    def share_at(self, time: ArrayLike, setting: ArrayLike = 0.0) -> Floats:
        """Share of all seeds germinated by `time` (n,) at one setting. [-]"""
        times = np.atleast_1d(np.asarray(time, float))
        return np.asarray(self.curve.share(self._vector(), times, _same_setting(setting, len(times))))

    def time_to(self, share: ArrayLike, setting: ArrayLike = 0.0) -> Floats:
        """
        Time until a share of *all* seeds, not only of those that germinate, has germinated (n,).

        Infinite where the curve stays below it: "not reached" is never made a date by drawing the curve on.
        """
        shares = np.atleast_1d(np.asarray(share, float))
        if not np.all((shares > 0) & (shares < 1)):
            raise InputError("share", share, "must lie between 0 and 1", "Give 0.5 for half of all seeds.")
        return np.asarray(self.curve.time(self._vector(), shares, _same_setting(setting, len(shares))))

    def _vector(self) -> Floats:
        return np.array([self.values[name] for name in self.curve.names])


def _same_setting(setting: ArrayLike, n: int) -> Floats:
    return np.tile(np.atleast_1d(np.asarray(setting, float)), (n, 1))


def fit(
    curve: Curve,
    counts: Counts,
    *,
    by_dish: bool = False,
    fixed: Mapping[str, float] | None = None,
) -> CurveFit:
    """
    Fit a curve to germination counts by maximum likelihood, each count known only to lie between two looks.

    Parameters
    ----------
    curve : Curve
        What is fitted; see `science.germination_curves`.
    counts : Counts
        Seeds by interval, from `science.counts.counted`.
    by_dish : bool
        Standard errors that allow for seeds of one dish being alike (cluster-robust); else as if every seed stood
        alone.
    fixed : mapping, optional
        Parameters held at a value and not fitted, by name.

    Returns
    -------
    CurveFit
        Estimates, standard errors, -2 log likelihood.

    Raises
    ------
    InputError
        If no seed germinated: there is nothing to fit.

    Notes
    -----
    Maximises sum n log[F(end) - F(start)], with n log[1 - F(last look)] for the seeds left over [1]_. Errors come from
    the inverse of the observed information; by dish, from the sandwich of that and the summed scores of the dishes.

    References
    ----------
    .. [1] A. Onofri, P. Benincasa, M. B. Mesgaran and C. Ritz, 2018, European Journal of Agronomy 101:129,
       doi 10.1016/j.eja.2018.08.011. (Its method as described in the data's notes; the paper was not read.)

    Examples
    --------
    >>> from trayward.science.counts import counted_at_looks
    >>> from trayward.science.germination_curves import LogLogistic
    >>> dish = counted_at_looks(range(1, 15), [0, 0, 0, 0, 4, 17, 10, 7, 1, 0, 1, 0, 0, 0], 50)
    >>> round(fit(LogLogistic(), dish).values["median"], 2)
    6.05
    """
    if counts.germinated <= 0:
        raise InputError("germinated", 0, "some seed must have germinated to fit a curve", "Look again later.", "seeds")
    search = Search(curve, counts, dict(fixed or {}))
    inner, least, converged = search.best()
    values = search.natural(inner)
    errors, notes = errors_of(search, values, by_dish)
    return CurveFit(
        curve=curve,
        values=dict(zip(curve.names, map(float, values), strict=True)),
        errors=errors,
        minus_2_log_likelihood=2 * least,
        seeds=counts.total,
        converged=converged,
        notes=notes if converged else (*notes, "the search did not settle: read the figures with care"),
    )


def minus_2_log_likelihood(curve: Curve, counts: Counts, values: Mapping[str, float]) -> float:
    """-2 log likelihood of a curve at given values, without the multinomial constant. [-]"""
    point = np.array([values[name] for name in curve.names])
    return 2 * Search(curve, counts, {}).loss_at(point)
