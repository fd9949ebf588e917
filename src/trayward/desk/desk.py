"""The desk: every use case, one call each; the only door for command line, pages and study."""

from __future__ import annotations

from trayward.desk.growing import Growing
from trayward.desk.planning import Planning
from trayward.desk.selling import Selling
from trayward.desk.stores import Stores


class Desk(Growing, Selling, Stores, Planning):
    """A farm's book with everything that can be asked of it and said to it. Every call takes `at`."""
