"""Alarms told by e-mail: to whom the farm says, by a mail server that the machine is given.

RFC 5321 (SMTP), RFC 3207 (STARTTLS), RFC 8314 (TLS from the start on port 465), RFC 5322 (the message), RFC 3834 (that
nobody answers a message of a program by another program). From memory.
"""

from __future__ import annotations

import logging
import os
import smtplib
import ssl
from collections.abc import Callable, Mapping
from datetime import datetime
from email.message import EmailMessage
from email.utils import format_datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, Final
from urllib.parse import unquote, urlsplit

import msgspec

from trayward.errors import InputError
from trayward.farm.settings import FarmSettings
from trayward.sensors.words import ANSWER_IT
from trayward.web.sensors.telling import Hopeless

log = logging.getLogger("trayward.sensors")

PASSWORD, PASSWORD_FILE, AUTHORITY, SENDER = (
    "TRAYWARD_MAIL_PASSWORD", "TRAYWARD_MAIL_PASSWORD_FILE", "TRAYWARD_MAIL_CA", "TRAYWARD_MAIL_FROM",
)  # fmt: skip
"""The password, or a file that holds it; the file of the server's own authority; from whom the mails are."""
PORTS: Final = {"smtp": 587, "smtps": 465}
HERE: Final = ("127.0.0.1", "::1", "localhost")
PATIENCE_S = 20.0
"""How long the server is waited for at each step. [s]"""


class MailServer(msgspec.Struct, frozen=True, kw_only=True):
    """Where the mail server is."""

    host: str
    port: int
    tls: bool
    """TLS from the start; else it is asked for before anything is said, but on this machine itself."""
    user: str = ""
    password: str = ""
    sender: str
    authority: str = ""


def mail_server_of(url: str, environment: Mapping[str, str] | None = None) -> MailServer:
    """
    A mail server's address taken apart.

    Parameters
    ----------
    url : str
        `smtps://USER@HOST`, `smtp://USER@HOST:587`; the `@` of a user is written `%40`.
    environment : mapping, optional
        Where the password stands; that of the process if left out.

    Raises
    ------
    InputError
        If it is no such address, holds a password (others on the machine could read it there), has no sender, or its
        password's file cannot be read.

    Examples
    --------
    >>> server = mail_server_of("smtps://loft%40lantern-loft.example@mail.lantern-loft.example", {})
    >>> server.host, server.port, server.sender
    ('mail.lantern-loft.example', 465, 'loft@lantern-loft.example')
    """
    told, parts = os.environ if environment is None else environment, urlsplit(url)
    if parts.scheme not in PORTS or not parts.hostname:
        rule = "it is no mail server's address"
        raise InputError("mail server", parts.hostname or url[:40], rule, "Give smtps://USER@HOST.")
    if parts.password:
        rule = "a password in an address can be read by others on this machine"
        raise InputError("mail server", parts.hostname, rule, f"Put it into the environment as {PASSWORD}.")
    try:
        port = parts.port or PORTS[parts.scheme]
    except ValueError as error:
        raise InputError("mail server", parts.hostname, "its port is none", "For instance 587.") from error
    user = unquote(parts.username or "")
    sender = told.get(SENDER, user)
    if "@" not in sender or sender.split() != [sender]:
        rule = "nobody says from whom the mails are"
        raise InputError(
            "mail server", parts.hostname, rule, f"Put an e-mail address into the environment as {SENDER}."
        )
    return MailServer(
        host=parts.hostname, port=port, tls=parts.scheme == "smtps", user=user, password=_password(told),
        sender=sender, authority=told.get(AUTHORITY, ""),
    )  # fmt: skip


def _password(told: Mapping[str, str]) -> str:
    path = told.get(PASSWORD_FILE, "")
    if not path:
        return told.get(PASSWORD, "")
    try:
        return Path(path).read_text().strip()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            "mail password", path, "the file cannot be read", "See that it is there, for us alone."
        ) from error


class Mail:
    """
    A mail for each alarm, and one when it is over, to those the farm names.

    Parameters
    ----------
    server : MailServer
        Where it is handed in. Said on the machine alone: a page that could name another server would send it the
        password.
    """

    name = "mail"

    def __init__(self, server: MailServer) -> None:
        self._server = server
        self._to: tuple[str, ...] = ()
        self._say: Callable[[str], str] = str

    @property
    def shown(self) -> str:
        """The server."""
        return f"{self._server.host}:{self._server.port}"

    @property
    def ready(self) -> bool:
        """Whether the farm names anybody."""
        return bool(self._to)

    def addressed(self, settings: FarmSettings, say: Callable[[str], Callable[[str], str]]) -> None:
        """To those whom the farm names now, in the language it says."""
        wanted = settings.alarm_mail
        self._to, self._say = wanted.to, say(wanted.language)

    def send(self, told: dict[str, Any]) -> str:
        """Hand it in once; what was wrong, in words, or nothing."""
        try:
            refused = self._handed_in(self.message(told))
        except smtplib.SMTPRecipientsRefused as error:
            worst = max(code for code, _ in error.recipients.values())
            return _answered(worst, f"it takes no mail for {', '.join(error.recipients)}")
        except smtplib.SMTPResponseException as error:
            forever = error.smtp_code if not isinstance(error, smtplib.SMTPAuthenticationError) else 0
            return _answered(forever, f"it answered {error.smtp_code} {_line(error.smtp_error)}")
        except (smtplib.SMTPException, OSError) as error:
            reason = getattr(error, "strerror", None) or error
            return f"it is not reached ({reason})"
        for each in refused:
            log.error("alarm %s: %s takes no mail for %s", told["alarm"], self.shown, each)
        return ""

    def _handed_in(self, message: EmailMessage) -> dict[str, Any]:
        server = self._server
        context = ssl.create_default_context(cafile=server.authority or None)
        if server.tls:
            talk: smtplib.SMTP = smtplib.SMTP_SSL(server.host, server.port, timeout=PATIENCE_S, context=context)
        else:
            talk = smtplib.SMTP(server.host, server.port, timeout=PATIENCE_S)
        with talk:
            if not server.tls and (server.host not in HERE or server.authority):
                # Without it, password and words could be read on the way: rather not told by this way at all.
                talk.starttls(context=context)
            if server.password:
                talk.login(server.user, server.password)
            return talk.send_message(message, server.sender, list(self._to))

    def message(self, told: dict[str, Any]) -> EmailMessage:
        """The mail about an alarm."""
        made, say = EmailMessage(), self._say
        made["Subject"] = f"{_line(say(told['title']))}, {_line(told['farm'])}"
        made["From"], made["To"] = self._server.sender, ", ".join(self._to)
        made["Date"] = format_datetime(datetime.fromisoformat(told["until"] or told["since"]))
        # The same mail twice, after an answer that was lost on the way, is known again by its id.
        mark = sha256(f"{told['farm']} {told['alarm']} {told['over']}".encode()).hexdigest()[:24]
        made["Message-ID"] = f"<{mark}@{self._server.sender.rpartition('@')[2]}>"
        made["Auto-Submitted"] = "auto-generated"
        lines = [say(told["text"]), say(told["do"]), say(ANSWER_IT)]
        made.set_content("\n\n".join(line for line in lines if line) + f"\n\n-- \n{_line(told['farm'])}\n")
        return made


def _answered(code: int, words: str) -> str:
    """By RFC 5321 a 5 in front means that the same again is refused again, a 4 that later may do."""
    return Hopeless(words) if 500 <= code < 600 else words


def _line(words: str | bytes) -> str:
    """In one line: nothing that was typed can begin another field of the mail."""
    return " ".join((words.decode(errors="replace") if isinstance(words, bytes) else words).split())
