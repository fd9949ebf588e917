"""Trouble seen on trays, what is likely behind it, and clearing what was held back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Unpack

from trayward.desk.core import Receipt, Said, worked_out
from trayward.desk.lookup import trays_named
from trayward.desk.planning import Planning
from trayward.errors import Doubt, InputError
from trayward.farm.entries import TroubleCleared, TroubleSeen
from trayward.farm.holds import SUSPECTED_MOULD, held_trays, lot_held, pack_held
from trayward.farm.state import FarmState, Tray
from trayward.library.trouble import hold_for, sign_said, trouble_guide

if TYPE_CHECKING:
    from trayward.rounds.sisters import Sisters
    from trayward.rounds.trouble_rank import Ranked


class Troubling(Planning):
    """Say what trouble is seen, ask what is likely behind it, and clear what turned out well."""

    _sisters: Sisters | None = None
    """Trays that are done with, as they were read for the causes asked before."""

    @worked_out(TroubleSeen)
    def see_trouble(
        self,
        trays: Sequence[str],
        sign: str,
        *,
        cause: str = "",
        where: str = "",
        share: float | None = None,
        looks: Mapping[str, bool] | None = None,
        note: str = "",
        **said: Unpack[Said],
    ) -> Receipt:
        """
        Trouble seen on trays, also on ones that were cut.

        What may be mould, rot or the like holds the trays back until they are cleared by name: no cut, no pack and no
        delivery of them is proposed, and what was cut of them is held, too.

        Parameters
        ----------
        trays : sequence of str
            Which.
        sign : str
            What is seen, by the guide or in words of one's own.
        cause : str
            What it most likely is, by the guide's name; left out where nobody knows.
        where : str
            Where on the tray: edge, middle, patches, all over.
        share : float, optional
            Share of each tray that has it. [-]
        looks : mapping
            Answers of a close look, by the guide's names.

        Raises
        ------
        InputError
            If nothing is said, or a share lies outside 0 to 1.
        NotFoundError
            If a tray, a cause or a question is none the farm or the guide knows.
        """
        if not sign.strip():
            raise InputError("sign", "nothing", "trouble has a sign", "Say in a word what is seen: white fuzz.")
        if share is not None and not 0 <= share <= 1:
            raise InputError("share", f"{share:g}", "must lie in [0, 1]", "Write 20 % as 0.2.")
        guide, known = trouble_guide(), sign_said(sign)
        named = known.name if known is not None else " ".join(sign.split())
        cause = guide.cause(cause).name if cause.strip() else ""
        asked = {guide.look(name).name: bool(answer) for name, answer in (looks or {}).items()}
        body = TroubleSeen(
            trays=tuple(tray.tray for tray in trays_named(self.state(said["at"]), trays)), sign=named, cause=cause,
            where=" ".join(where.split()), share=share, looks=asked, hold=hold_for(named, cause), note=note.strip(),
        )  # fmt: skip
        return self._say(body, **said)

    @worked_out(TroubleCleared)
    def clear_trouble(self, trays: Sequence[str], found: str, *, note: str = "", **said: Unpack[Said]) -> Receipt:
        """
        Somebody looked close: what the trays were held back for was something else, and they go on as others do.

        Raises
        ------
        InputError
            If it is not said what it was, it is mould after all, or none of the trays is held back.
        """
        what = " ".join(found.split())
        if not what:
            raise InputError("found", "nothing", "who clears a tray says what it was", "Say it: root hairs.")
        if hold_for(what, what):
            raise InputError("found", what, "a tray with that is not cleared", "Throw it away: trayward discard.")
        state = self.state(said["at"])
        named = tuple(tray.tray for tray in trays_named(state, trays))
        held = tuple(held_trays(state, named))
        if named and not held:
            raise InputError("trays", ", ".join(named), "none of them is held back", "See: trayward trouble list")
        return self._say(TroubleCleared(trays=held, found=what, note=note.strip()), **said)

    def likely_causes(
        self,
        tray: str,
        sign: str,
        *,
        where: str = "",
        share: float | None = None,
        looks: Mapping[str, bool] | None = None,
        at: datetime,
    ) -> tuple[Ranked, ...]:
        """What may be behind a sign on a tray, the likeliest first, with what of its own records speaks for each."""
        from trayward.rounds.sisters import Sisters
        from trayward.rounds.trouble_rank import rank_causes

        state = self.state(at)
        named = trays_named(state, [tray])[0]
        known = sign_said(sign) or trouble_guide().sign(sign)
        if self._sisters is None:
            self._sisters = Sisters()
        # Of the farm as it is now alone: one of an earlier moment would make what was read worthless.
        sisters = self._sisters if state is self._state else None
        return rank_causes(state, named, known, at, where=where, share=share, looks=looks or {}, sisters=sisters)

    def held_back(self, at: datetime) -> dict[str, str]:
        """Every tray that is held back and why: those that grow, and those whose crop may still be here."""
        state = self.state(at)
        found = held_trays(state, (tray.tray for tray in state.growing()))
        for lot in state.harvests.values():
            found |= lot_held(state, lot) if lot.left_g > 0 else {}
        for pack in state.packs.values():
            found |= pack_held(state, pack.parts) if pack.left > 0 else {}
        return found

    def _why_held(self, trays: Sequence[str], at: datetime) -> str:
        """What trays are thrown away for that were held back."""
        state = self.state(at)
        words = (tray.problem for name in trays if (tray := state.tray(name)) is not None and tray.problem)
        return next(words, SUSPECTED_MOULD)


def held_doubts(state: FarmState, trays: Sequence[Tray]) -> list[Doubt]:
    """Trays that are to be cut though they are held back: whoever does it says so twice, and the crop stays held."""
    return [
        Doubt(
            subject=f"tray {name}",
            value=hold,
            said=hold,
            rule="it is held back: not to be eaten or sold. Its crop stays held until the tray is cleared",
        )
        for name, hold in held_trays(state, [tray.tray for tray in trays]).items()
    ]
