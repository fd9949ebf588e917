"""What the scale is likely to say of a tray that is cut now, for asking back at once where it says something else."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from trayward.desk.soon import Soon
from trayward.outlook.doubt import Bounds, weight_bounds, weight_expected


class Scale(Soon):
    """Weights of cuts before they are made."""

    def weights_expected(self, trays: Iterable[str], at: datetime) -> dict[str, Bounds]:
        """What each of some trays is likely to bring if it is cut now, and from where on a weight is doubted. [g]

        As `cut` would doubt it. Trays are left out where nobody knows, or that grow no more.
        """
        state = self.state(at)
        ahead = self._outlook_soon(state, at)
        found: dict[str, Bounds] = {}
        for name in trays:
            tray = state.tray(name)
            if tray is None or tray.fate != "growing" or tray.recipe not in state.recipes:
                continue
            told = ahead.standing(tray)
            expected = weight_expected(tray, state.recipe_of(tray), told, at)
            bounds = weight_bounds(tray, told, expected, at) if expected is not None else None
            if bounds is not None:
                found[name] = bounds
        return found
