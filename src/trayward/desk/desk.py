"""The desk: every use case, one call each; the only door for command line, pages and study."""

from __future__ import annotations

from trayward.desk.learning import Learning
from trayward.desk.taking_in import TakingIn
from trayward.desk.trialling import Trialling
from trayward.desk.wondering import Wondering


class Desk(Trialling, TakingIn, Learning, Wondering):
    """A farm's book with everything that can be asked of it and said to it. Every call takes `at`."""
