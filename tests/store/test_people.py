"""What proves who somebody is: how it is hashed, and what is too easy to guess."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from argon2 import extract_parameters
from argon2.profiles import CHEAPEST

from trayward.errors import InputError
from trayward.store import open_book
from trayward.store.people import Hasher
from trayward.store.people.proofs import OBVIOUS, SHORTEST, kept_of, new_key, require_password, require_pin
from trayward.store.people.tries import buckets

GOOD = "seven wet trays drip"


def test_passwords_are_hashed_by_the_second_recommended_option_of_rfc_9106() -> None:
    """RFC 9106, section 4: Argon2id, t = 3, p = 4, m = 2^16 KiB, a salt of 128 bits and a tag of 256."""
    used = extract_parameters(Hasher().hash(GOOD))
    assert (used.type.name, used.version, used.time_cost, used.parallelism) == ("ID", 0x13, 3, 4)
    assert (used.memory_cost, used.salt_len, used.hash_len) == (65536, 16, 32)


def test_a_hash_fits_its_own_password_only_and_never_nothing() -> None:
    hasher = Hasher(CHEAPEST)
    kept = hasher.hash(GOOD)
    assert kept != hasher.hash(GOOD)
    assert hasher.fits(kept, GOOD)
    assert not hasher.fits(kept, GOOD + " ")
    assert not hasher.fits(None, GOOD)
    assert not hasher.fits("no hash at all", GOOD)


def test_an_unknown_name_takes_the_same_work(monkeypatch: pytest.MonkeyPatch) -> None:
    """Counted, not timed: one argon2 run of the same parameters each, so nothing tells the two apart."""
    from argon2 import PasswordHasher

    against: list[str] = []
    verify = PasswordHasher.verify

    def counted(self: PasswordHasher, kept: str, secret: str) -> bool:
        against.append(kept)
        return verify(self, kept, secret)

    monkeypatch.setattr(PasswordHasher, "verify", counted)
    hasher = Hasher(CHEAPEST)
    kept = hasher.hash(GOOD)
    hasher.fits(kept, "eleven dry mats hang")
    hasher.fits(None, GOOD)
    assert [extract_parameters(one) for one in against] == [extract_parameters(kept)] * 2


@pytest.mark.parametrize("password", [GOOD, "ten charac", "пшеница и горох", "x7!yx7!yx7", "ünï cödé"[:4] + "abcdefg"])
def test_length_is_what_counts(password: str) -> None:
    assert require_password(password, "Ada") == password


@pytest.mark.parametrize("password", ["", "short", "nine char", "x" * 201])
def test_a_password_too_short_or_endless_is_refused_without_repeating_it(password: str) -> None:
    with pytest.raises(InputError, match=f"password = {len(password)} characters: it must have 10 to 200") as caught:
        require_password(password, "Ada")
    assert not password or password not in str(caught.value)


@pytest.mark.parametrize("password", ["Password123", "qwertyuiop", "1111111111", "ababababab", "Lantern Loft 2026"])
def test_the_first_that_anybody_would_try_are_refused(password: str) -> None:
    with pytest.raises(InputError, match="one of the first that anybody would try"):
        require_password(password, "Lantern Loft")


def test_every_obvious_password_on_the_list_is_long_enough_to_need_it() -> None:
    assert all(len(one) >= SHORTEST for one in OBVIOUS)


@pytest.mark.parametrize("pin", ["7305", "91827", "918273"])
def test_a_pin_has_four_to_six_digits(pin: str) -> None:
    assert require_pin(pin) == pin


@pytest.mark.parametrize("pin", ["", "730", "9182736", "73o5", "٧٣٠٥", " 7305"])
def test_anything_else_is_no_pin(pin: str) -> None:
    with pytest.raises(InputError, match="it must be 4 to 6 digits"):
        require_pin(pin)


@pytest.mark.parametrize("pin", ["0000", "1234", "777777", "2580"])
def test_obvious_pins_are_refused(pin: str) -> None:
    with pytest.raises(InputError, match="one of the first that anybody would try"):
        require_pin(pin)


def test_keys_hold_256_bits_and_are_kept_as_sha_256() -> None:
    """SHA-256 of the empty text as published in FIPS 180 examples (from memory)."""
    assert len({new_key() for _ in range(100)}) == 100
    assert len(new_key()) == 43
    assert kept_of("") == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"


@pytest.mark.parametrize(
    ("address", "counted"),
    [
        ("192.0.2.7", "address:192.0.2.7"),
        ("::ffff:192.0.2.7", "address:192.0.2.7"),
        ("2001:db8:1:2:3:4:5:6", "address:2001:db8:1:2::/64"),
    ],
)
def test_tries_are_counted_for_a_household(address: str, counted: str) -> None:
    assert buckets("ada", address)[1].whose == counted


def test_opening_a_book_does_not_load_the_hashing(tmp_path: Path) -> None:
    open_book(tmp_path / "farm.book", create=True).close()
    program = (
        "import sys; from trayward.store import open_book; from trayward.store.people import SqlPeople; "
        "book = open_book(sys.argv[1]); SqlPeople(book).persons.anyone(); book.close(); print('argon2' in sys.modules)"
    )
    command = [sys.executable, "-c", program, str(tmp_path / "farm.book")]
    assert subprocess.run(command, capture_output=True, text=True, check=True).stdout.strip() == "False"
