"""What this device keeps, the page for pages that need a signal, and what a phone wants for its first screen."""

from __future__ import annotations

from starlette.responses import Response

from trayward.web.ask import Ask
from trayward.web.routing import page


def unsent(ask: Ask) -> Response:
    """What waits, what was not accepted, what was sent today. All of it is on the device: its script fills it in."""
    return ask.show("unsent/page.html")


def away(ask: Ask) -> Response:
    """Kept on the device for pages that are not: they need a signal. It names nobody, so it may stay after log-out."""
    return ask.show("unsent/away.html")


def manifest(ask: Ask) -> Response:
    """What a phone is told that puts the pages on its first screen (W3C, Web Application Manifest, from memory)."""
    told = ask.show("unsent/manifest.json")
    told.headers["Content-Type"] = "application/manifest+json"
    return told


ROUTES = (
    page("/unsent", unsent, may="look", farmless=True),
    page("/unsent/away", away, may="anyone", farmless=True),
    page("/manifest.webmanifest", manifest, may="anyone", farmless=True),
)
