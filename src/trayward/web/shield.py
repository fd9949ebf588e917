"""What keeps strangers' pages out: where a request may come from, and what a page of ours may load."""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from urllib.parse import urlsplit

from trayward.web.faults import ShutError
from trayward.web.send import ID

KEY_COOKIE = "trayward-key"
KEY_FIELD = "_key"
BY_SCRIPT = "trayward-script"
"""Header of what our own scripts send: no form of another page can set it, and no script of one may."""

POLICY = "; ".join(
    (
        "default-src 'none'", "script-src 'self'", "style-src 'self'", "img-src 'self' blob:", "connect-src 'self'",
        "font-src 'self'", "manifest-src 'self'", "worker-src 'self'", "form-action 'self'", "frame-ancestors 'none'",
        "base-uri 'none'",
    )
)  # fmt: skip
"""Content security policy: nothing from anywhere else, nothing inline. blob: shows a photo before it is sent."""

HEADERS = (
    ("Content-Security-Policy", POLICY),
    ("X-Content-Type-Options", "nosniff"),
    ("Referrer-Policy", "same-origin"),
    ("Cross-Origin-Opener-Policy", "same-origin"),
    ("Cross-Origin-Resource-Policy", "same-origin"),
    ("Permissions-Policy", "camera=(self), microphone=(), geolocation=(), payment=(), usb=()"),
    ("X-Frame-Options", "DENY"),
)

LOOPBACK = frozenset(("localhost", "127.0.0.1", "::1"))
"""Names of this machine."""


def host_of(host_header: str) -> str:
    """
    The name in a Host header, without its port.

    Examples
    --------
    >>> host_of("127.0.0.1:8470"), host_of("[::1]:8470"), host_of("localhost")
    ('127.0.0.1', '::1', 'localhost')
    """
    return urlsplit(f"//{host_header}").hostname or ""


def require_loopback(headers: Mapping[str, str]) -> None:
    """Raise `ShutError` for another name than this machine's: a page elsewhere may point its own name at us."""
    if host_of(headers.get("host", "")) not in LOOPBACK:
        rule = "These pages are for this machine alone, as nobody has to log in."
        raise ShutError(rule, "Open them as http://127.0.0.1, or add people first.")


def new_key() -> str:
    """A key that a form carries and the browser's cookie has too."""
    return secrets.token_urlsafe(24)


def require_own_page(
    headers: Mapping[str, str],
    cookies: Mapping[str, str],
    key: str,
    *,
    by_token: bool = False,
    by_program: bool = False,
) -> None:
    """
    Raise `ShutError` for what another site's page sends with our cookie.

    Browsers say where a request comes from, and that has to be us. Beside that it carries a header that only our own
    scripts can set (so pages a phone kept for days can still send), or the key of the form, which the cookie has too.
    """
    if by_token:
        return
    site, origin = headers.get("sec-fetch-site", ""), headers.get("origin", "")
    if site not in ("", "same-origin", "none") or (origin and not _is_ours(origin, headers.get("host", ""))):
        raise ShutError("This was sent from another site.", "Open the page here and send it again.")
    # JSON neither: no form can send it, and a script of another page has to ask us first, which we do not answer.
    if headers.get(ID) or headers.get(BY_SCRIPT) or by_program:
        return
    known = cookies.get(KEY_COOKIE, "")
    if not known or not hmac.compare_digest(known.encode(), key.encode()):
        rule = "This form is too old, or cookies are not let through."
        raise ShutError(rule, "Open the page again; what you typed is below.")


def _is_ours(origin: str, host: str) -> bool:
    """Whether an origin has our name and port; not its scheme, as TLS may end before us."""
    return urlsplit(origin).netloc.lower() == host.lower()
