"""A mail server for the tests: SMTP as RFC 5321 has it, as much as a client says to hand one mail in."""

from __future__ import annotations

import base64
import socketserver
from email import message_from_bytes, policy
from email.message import EmailMessage
from threading import Thread


class MailServer:
    """Listens on a port of its own and keeps what is handed in; `answers` are said to the next mails instead."""

    def __init__(self, port: int = 0) -> None:
        self.mails: list[tuple[str, tuple[str, ...], EmailMessage]] = []
        """From whom, to whom, and the mail."""
        self.logins: list[str] = []
        self.answers: list[str] = []
        self.refuses: set[str] = set()
        """Who has no mailbox here."""
        server = self

        class Talk(socketserver.StreamRequestHandler):
            def handle(self) -> None:
                server._talk(self)

        class Threading(socketserver.ThreadingTCPServer):
            allow_reuse_address, daemon_threads = True, True

        self._server = Threading(("127.0.0.1", port), Talk)
        self.port = self._server.server_address[1]
        Thread(target=self._server.serve_forever, kwargs={"poll_interval": 0.02}, daemon=True).start()

    def close(self) -> None:
        """Gone: who calls is not answered."""
        self._server.shutdown()
        self._server.server_close()

    def _talk(self, talk: socketserver.StreamRequestHandler) -> None:
        def say(words: str) -> None:
            talk.wfile.write(f"{words}\r\n".encode())

        say("220 here")
        sender, to = "", list[str]()
        while line := talk.rfile.readline().decode().strip():
            word = line.split()[0].upper()
            if word == "EHLO":
                say("250-here")
                say("250 AUTH PLAIN")
            elif word == "AUTH":
                self.logins.append(base64.b64decode(line.split()[-1]).decode().strip("\0"))
                say("235 welcome")
            elif word == "MAIL":
                sender, to = line.partition("<")[2].partition(">")[0], []
                say("250 yes")
            elif word == "RCPT":
                who = line.partition("<")[2].partition(">")[0]
                refused = who in self.refuses
                to += [] if refused else [who]
                say("550 no such mailbox" if refused else "250 yes")
            elif word == "DATA":
                say("354 go on")
                read = b""
                while (part := talk.rfile.readline()) != b".\r\n":
                    read += part.removeprefix(b".")
                said = self.answers.pop(0) if self.answers else "250 kept"
                if said.startswith("2"):
                    mail = message_from_bytes(read, policy=policy.default)
                    assert isinstance(mail, EmailMessage)
                    self.mails.append((sender, tuple(to), mail))
                say(said)
            elif word == "QUIT":
                say("221 bye")
                return
            else:
                say("250 yes")
