"""Wondering: what a change would be worth, by planning twice and holding both plans side by side."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

from trayward.desk.planning import Planning

if TYPE_CHECKING:  # numpy loads with them: whoever wonders about nothing does not wait for it
    from trayward.plan.compare_types import Comparison
    from trayward.plan.decide import Effort
    from trayward.plan.supposed import Supposition


class Wondering(Planning):
    """What would be, were the farm a little different. Nothing is recorded."""

    def what_if(
        self, *changes: str | Supposition, at: datetime, weeks: int = 6, effort: Effort | None = None
    ) -> Comparison:
        """
        Compare the plan of the farm as it is with that of the farm as it might be.

        Parameters
        ----------
        *changes : str or Supposition
            What is different, in words ("2 more lit shelves of 4 spots", "no basil") or as values of `plan.what_if`.
            Several together make one farm.
        at : datetime
            Now.
        weeks : int
            How far both plans look. [weeks] Valid 3 to 8.
        effort : Effort, optional
            How hard both plans try; as usual if not said, without a proof and their reasons.

        Returns
        -------
        Comparison
            Both plans, what differs between them in money and in service, and a verdict in words. Both know the same:
            what the farm's trays have taught by now; both are weighed over the same ways the weeks may go, and each is
            looked for from the other, too.

        Raises
        ------
        InputError
            If some words are not understood, or what they say cannot be.
        PlanError
            If no plan can be made.

        Examples
        --------
        >>> from datetime import datetime, timezone
        >>> from trayward import Farm
        >>> morning = datetime(2026, 11, 25, 7, 0, tzinfo=timezone.utc)
        >>> with Farm.create(":memory:", "shelf", at=morning) as farm:
        ...     told = farm.what_if("no home-wed", at=morning, weeks=3)
        >>> told.what_if
        ('home-wed off',)
        """
        from trayward.plan.beside import plan_beside
        from trayward.plan.compare import compare
        from trayward.plan.compare_types import Side
        from trayward.plan.decide import Effort
        from trayward.plan.what_if import as_it_might_be, same_lessons
        from trayward.plan.words import weights_in

        units = self.settings(at).units
        state = self.state(at)
        with weights_in(units.mass):
            supposed = self._supposed(changes, at)
            other, ahead = as_it_might_be(state, supposed, at), self._look_ahead(state, at)
            alike = effort or Effort(proof_seconds=0, reasons=False)
            made = plan_beside(state, ahead, other, same_lessons(ahead, other), at, weeks=weeks, effort=alike)
            return compare(Side(state, made.as_it_is), Side(other, made.with_it), supposed, made.between)

    def _supposed(self, changes: Sequence[str | Supposition], at: datetime) -> list[Supposition]:
        """Words read, values as they are, in the order they were given."""
        from trayward.desk.wonder.words import read_what_if

        if not changes:
            return read_what_if("", self.state(at), at)
        found: list[Supposition] = []
        for change in changes:
            more = read_what_if(change, self.state(at), at, len(found)) if isinstance(change, str) else [change]
            found += more
        return found
