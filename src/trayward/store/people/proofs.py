"""What shows that somebody is who they say: passwords and PINs as argon2 hashes, long random keys as SHA-256.

References
----------
A. Biryukov, D. Dinu, D. Khovratovich, S. Josefsson, Argon2 Memory-Hard Function, RFC 9106, 2021, section 4: the second
recommended option (Argon2id, 3 passes, 4 lanes, 64 MiB, salt of 128 bits, tag of 256). It is what argon2-cffi takes
when told nothing; it is named here so that another version of the library changes nothing unseen.

NIST, SP 800-63B-4, section 3.1.1.2, as in the text of its public repository (draft of revision 4; read there): length
counts and no mixture of letters, digits and signs may be asked for; at least 8 characters, better 15; 64 and more are
taken, spaces and Unicode too, brought to one form (NFKC); the whole password is held against a list of what is commonly
used or to be expected; no change is asked for at intervals. The final text asks for 15 where a password is the only
proof (said in an issue of OWASP's ASVS; the final text itself was not read). Ten here is our choice between the two,
for a farm whose pages stand in its own network.
"""

from __future__ import annotations

import secrets
import unicodedata
from functools import cached_property
from hashlib import sha256
from threading import BoundedSemaphore
from typing import TYPE_CHECKING

from trayward.errors import InputError

if TYPE_CHECKING:
    from argon2 import Parameters, PasswordHasher

SHORTEST = 10
LONGEST = 200
"""Longer ones are not typed by people; a limit keeps the work of one try bounded."""

PIN_DIGITS = (4, 6)
PIN_TRIES = 5
"""So many wrong PINs in a row on a device, and it takes the password. [-]"""

AT_ONCE = 2
"""Hashes worked out at the same time: each takes 64 MiB, and a flood of tries must not take all there is."""

KEY_BYTES = 32
"""Bytes of chance in a key: 256 bits are not guessed, so one quick hash is enough for keeping them."""

_OBVIOUS = """
    password12 password123 passwordpassword password1234 passw0rd123 p@ssword123
    1234567890 0123456789 0987654321 9876543210 12345678910 123456789012 1234512345 1122334455 1q2w3e4r5t 1q2w3e4r5t6y
    1qaz2wsx3edc q1w2e3r4t5 qwertyuiop qwerty1234 qwerty12345 qwerty123456 qwertzuiop azertyuiop asdfghjkl1 zaq12wsxcde3
    abcdefghij abcdefghijkl abcd123456 abc1234567 iloveyou12 iloveyou123 letmein123 letmeinnow welcome123 welcome1234
    changeme12 changeme123 administrator admin12345 admin123456 administrador contraseña contrasena contraseña1
    contrasena1 contraseña123 bienvenido1 microgreens microgreen microgreens1 microgreens123
    trayward12 trayward123 traywardtrayward lanternloft lanternloft1 sunflower1 sunflower123 football123 baseball123
    """
OBVIOUS = frozenset(_OBVIOUS.split())
"""The most obvious of those long enough, from memory. Tries are few by `tries`, so a long list would add little."""

OBVIOUS_PINS = frozenset(
    ("1234", "4321", "12345", "54321", "123456", "654321", "1212", "2580", "0852", "112233", "121212")
)
"""The most obvious PINs beside those of one digit only, from memory."""


class Hasher:
    """Hashes passwords and PINs, few at a time."""

    def __init__(self, parameters: Parameters | None = None) -> None:
        self._parameters = parameters
        self._turn = BoundedSemaphore(AT_ONCE)

    @cached_property
    def _argon2(self) -> PasswordHasher:
        from argon2 import PasswordHasher
        from argon2.profiles import RFC_9106_LOW_MEMORY

        return PasswordHasher.from_parameters(self._parameters or RFC_9106_LOW_MEMORY)

    @cached_property
    def _nobodys(self) -> str:
        return self.hash(secrets.token_urlsafe(KEY_BYTES))

    def hash(self, secret: str) -> str:
        """What to keep of a password or PIN."""
        with self._turn:
            return self._argon2.hash(in_one_form(secret))

    def fits(self, kept: str | None, secret: str) -> bool:
        """Whether a secret is the one that was kept. Takes as long where there is none: that must not be told apart."""
        from argon2.exceptions import InvalidHashError, VerificationError

        against = self._nobodys if kept is None else kept
        try:
            with self._turn:
                self._argon2.verify(against, in_one_form(secret)[: 4 * LONGEST])
        except (VerificationError, InvalidHashError):
            return False
        return kept is not None

    def is_old(self, kept: str) -> bool:
        """Whether it was hashed with other parameters than now, and should be hashed again."""
        return self._argon2.check_needs_rehash(kept)


def in_one_form(secret: str) -> str:
    """The same characters however the keyboard put them together (Unicode NFKC)."""
    return unicodedata.normalize("NFKC", secret)


def new_key(prefix: str = "") -> str:
    """A random key of 256 bits, to be shown once."""
    return prefix + secrets.token_urlsafe(KEY_BYTES)


def new_id() -> str:
    """A random name for something kept; no secret."""
    return secrets.token_hex(8)


def kept_of(key: str) -> str:
    """What is kept of a random key: its SHA-256."""
    return sha256(key.encode()).hexdigest()


def require_password(password: str, name: str) -> str:
    """The password, if it will do. Raises `InputError`, which never repeats it."""
    plain = in_one_form(password)
    length = f"it must have {SHORTEST} to {LONGEST} characters"
    if not SHORTEST <= len(plain) <= LONGEST:
        raise InputError(
            "password", f"{len(plain)} characters", length, "Four or five plain words are easy to remember."
        )
    folded = plain.casefold()
    if folded in OBVIOUS or len(set(folded)) < 4 or folded.strip(" 0123456789") == name.casefold():
        rule = "it is one of the first that anybody would try"
        raise InputError("password", "as typed", rule, "Take four or five words that do not belong together.")
    return password


def require_pin(pin: str) -> str:
    """The PIN, if it will do. Raises `InputError`, which never repeats it."""
    low, high = PIN_DIGITS
    if not (pin.isascii() and pin.isdigit() and low <= len(pin) <= high):
        raise InputError("pin", "as typed", f"it must be {low} to {high} digits", "Take digits that only you know.")
    if pin in OBVIOUS_PINS or len(set(pin)) == 1:
        raise InputError("pin", "as typed", "it is one of the first that anybody would try", "Take other digits.")
    return pin
