"""Entries about orders, once or standing."""

from __future__ import annotations

from trayward.farm.entries.body import Body
from trayward.farm.orders import Order, Pause, StandingOrder


class OrderPlaced(Body, frozen=True, kw_only=True):
    """Somebody wants something on a day."""

    KIND = "order placed"
    order: Order

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order.order}", f"customer:{self.order.customer}")


class OrderChanged(Body, frozen=True, kw_only=True):
    """The order is as said from now on (all of it)."""

    KIND = "order changed"
    order: Order

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order.order}", f"customer:{self.order.customer}")


class OrderCancelled(Body, frozen=True, kw_only=True):
    """The order is off."""

    KIND = "order cancelled"
    order: str
    reason: str = ""

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.order}",)


class StandingOrderSet(Body, frozen=True, kw_only=True):
    """A repeating order is as said from now on (all of it)."""

    KIND = "standing order set"
    standing: StandingOrder

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.standing.standing}", f"customer:{self.standing.customer}")


class StandingOrderPaused(Body, frozen=True, kw_only=True):
    """No deliveries of a repeating order for a while."""

    KIND = "standing order paused"
    standing: str
    pause: Pause

    def subjects(self) -> tuple[str, ...]:
        return (f"order:{self.standing}",)
