"""The proof beside the search: how much better any plan could be, looked for while the search still goes on.

The solver works while Python does something else, so search and proof take a core each, and then the reasons and the
proof. What is proven depends on how fast the machine is; the plan does not, for nothing of the proof goes into it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Event
from types import TracebackType

import numpy as np

from trayward.errors import PlanError
from trayward.plan.crop_model import Answered, Asked, CropModel
from trayward.plan.days import Floats
from trayward.plan.farm_search import FarmSearch
from trayward.plan.plots import Plot
from trayward.plan.prices import find_prices, spread

THREADS = 2
"""So many crops are asked side by side once nothing else is left to do; until then one at a time. [-]"""


class Proof:
    """
    A bound that is looked for from now on, to be asked for once a plan is found.

    Left by an error it stops, else it goes on until its time is up.

    Parameters
    ----------
    search : FarmSearch
        Before it has begun: the proof begins from the same trays.
    price : array
        What one more of each limit is worth (limits, days). [currency]
    enough : float
        It stops once no plan can be better by more than this. [currency]
    late : callable
        Whether its time is up; it goes on as long as the search does all the same.

    Examples
    --------
    >>> with Proof(search, plots, asked, disposal, price, enough, late) as proof:  # doctest: +SKIP
    ...     search.settle(late)
    ...     proof.found(search.cost())
    >>> bound = proof.of(search.cost())  # doctest: +SKIP
    """

    def __init__(
        self,
        search: FarmSearch,
        plots: Sequence[Plot],
        asked: Sequence[Asked],
        disposal: float,
        price: Floats,
        enough: float,
        late: Callable[[], bool],
    ) -> None:
        self._shared, self._enough, self._late = search.shared, enough, late
        self._parts, self._disposal = list(zip(plots, asked, strict=True)), disposal
        self._start = spread(search.shared, price, search.use)
        # Worked out now: what trays bring is the search's to weigh once it has begun.
        self._plan = [
            Answered(take.copy(), worth.model.forgone - worth.alone.of(take) + float(worth.choices.cost @ take))
            for worth, take in zip(search.worths, search.takes, strict=True)
        ]
        self._known, self._found, self._asked, self._left = np.inf, Event(), Event(), Event()

    def __enter__(self) -> Proof:
        self._pool = ThreadPoolExecutor(1)
        self._bound = self._pool.submit(self._look)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if kind is not None:
            self._left.set()
        self._found.set()
        self._pool.shutdown(wait=kind is not None)

    def found(self, cost: float) -> None:
        """A plan is found that costs so much [currency]: from now on the proof ends once its time is up."""
        self._known = cost
        self._found.set()

    def of(self, cost: float) -> float:
        """
        A cost that no plan is below, the one found included [currency]; waits until it is time or it is enough.

        Minus infinity where the solver failed: a plan stands without a proof, too.
        """
        self.found(cost)
        self._asked.set()
        try:
            return min(self._bound.result(), cost)
        except PlanError:
            return -np.inf

    def _look(self) -> float:
        if not self._parts:
            return -np.inf
        models = [CropModel(plot, asked, self._disposal) for plot, asked in self._parts]
        return find_prices(
            self._shared, models, enough=self._enough, start=self._start, plan=self._plan, known=lambda: self._known,
            late=self._stops, threads=lambda: THREADS if self._asked.is_set() else 1,
        ).bound  # fmt: skip

    def _stops(self) -> bool:
        return self._left.is_set() or (self._found.is_set() and self._late())
