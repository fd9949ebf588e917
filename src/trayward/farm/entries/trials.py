"""The entry about a trial."""

from __future__ import annotations

from trayward.farm.entries.body import Body
from trayward.farm.trials import Trial


class TrialSet(Body, frozen=True, kw_only=True):
    """A trial is as said from now on; sowings that carry its name are its trays."""

    KIND = "trial set"
    trial: Trial
    dropped: bool = False
    """True: it is given up. Its trays stay what they are."""

    def subjects(self) -> tuple[str, ...]:
        return (f"trial:{self.trial.name}", f"recipe:{self.trial.recipe}")
