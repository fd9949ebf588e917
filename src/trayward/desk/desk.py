"""The desk: every use case, one call each; the only door for command line, pages and study."""

from __future__ import annotations

from trayward.desk.answering import Answering
from trayward.desk.door import looks_at_what_it_is_given
from trayward.desk.earning import Earning
from trayward.desk.exchanging import Exchanging
from trayward.desk.learning import Learning
from trayward.desk.looking_up import LookingUp
from trayward.desk.photos import Photos
from trayward.desk.sensing import Sensing
from trayward.desk.stores_supplies import Supplying
from trayward.desk.taking_in import TakingIn
from trayward.desk.tracing import Tracing
from trayward.desk.trialling import Trialling
from trayward.desk.wondering import Wondering


@looks_at_what_it_is_given
class Desk(
    Answering,
    Photos,
    Trialling,
    TakingIn,
    Learning,
    Sensing,
    Tracing,
    Earning,
    Supplying,
    LookingUp,
    Wondering,
    Exchanging,
):
    """A farm's book with everything that can be asked of it and said to it. Every call takes `at`."""
