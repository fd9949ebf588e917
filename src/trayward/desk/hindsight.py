"""What was still to be had at a moment, by what is known today."""

from __future__ import annotations

from msgspec.structs import replace

from trayward.farm.state import FarmState


def less_what_went_since(then: FarmState, now: FarmState) -> FarmState:
    """
    The farm at an earlier moment, with what was taken since already gone; changes `then` and gives it back.

    Parameters
    ----------
    then : FarmState
        The farm at that moment; nobody else may hold it.
    now : FarmState
        The farm after all that the book knows.

    Returns
    -------
    FarmState
        Only for choosing from: spots on which a tray stands now are taken, and no more seed, crop or packs are left
        than now; what has gone out for an order line since need not go out again. What was taken and is free again does
        not show.
    """
    for name, lot in then.seed.items():
        lot.left_g = min(lot.left_g, now.seed[name].left_g) if name in now.seed else lot.left_g
    # Lots are shared with other states of the farm: what changes becomes a new value. Where nothing was cut, packed or
    # delivered since, which is nearly always, the tens of thousands of them need not be gone through.
    for name, cut in then.harvests.items() if then.harvests != now.harvests else ():
        if name in now.harvests and now.harvests[name].left_g < cut.left_g:
            then.harvests[name] = replace(cut, left_g=now.harvests[name].left_g)
    for name, packed in then.packs.items() if then.packs != now.packs else ():
        if name in now.packs and now.packs[name].left < packed.left:
            then.packs[name] = replace(packed, left=now.packs[name].left)
    for spot, tray in now.spots.items():
        if spot not in then.spots:
            then.spots[spot] = tray
            then.trays.setdefault(tray, now.trays[tray])
    for line, grams in now.delivered.items() if then.delivered != now.delivered else ():
        then.delivered[line] = max(grams, then.delivered.get(line, 0.0))
    for line, trays in now.delivered_trays.items() if then.delivered_trays != now.delivered_trays else ():
        then.delivered_trays[line] = max(trays, then.delivered_trays.get(line, 0))
    return then
