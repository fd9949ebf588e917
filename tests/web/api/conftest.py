"""Lantern Loft for programs: a client that sends JSON, and one token of each role."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from argon2.profiles import CHEAPEST
from httpx2 import Response
from starlette.testclient import TestClient

from tests.web.conftest import ADDRESS, MORNING, Clock
from trayward.store.people import ROLES, Hasher
from trayward.web.api.operation import BASE
from trayward.web.app import create_app
from trayward.web.guard import Role
from trayward.web.people.keeper import FarmPeople


class Program:
    """Something that talks to the farm, with a token or without."""

    def __init__(self, client: TestClient, token: str = "") -> None:
        self.client = client
        self.headers = {"Authorization": f"Bearer {token}"} if token else {}

    def get(self, path: str, **headers: str) -> Response:
        """Ask for something."""
        more = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.get(BASE + path, headers={**self.headers, **more})

    def told(self, path: str) -> Any:
        """What is told where it must be there."""
        answer = self.get(path)
        assert answer.status_code == 200, answer.text[:400]
        return answer.json()

    def say(self, path: str, **fields: Any) -> Response:
        """Say something."""
        return self.client.post(BASE + path, json=fields, headers=self.headers)

    def kept(self, path: str, **fields: Any) -> Any:
        """The receipt of something that must be kept."""
        answer = self.say(path, **fields)
        assert answer.status_code == 200, answer.text[:600]
        return answer.json()


@pytest.fixture
def farm(book: Path, clock: Clock) -> Iterator[Program]:
    """A program on this machine, of a farm with no people."""
    with TestClient(create_app(str(book), now=clock), base_url=ADDRESS) as client:
        yield Program(client)


@pytest.fixture(scope="module")
def programs(lantern_loft: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[Role | None, Program]]:
    """A program of each role, and a stranger; only for what leaves the book as it is."""
    import shutil

    book = tmp_path_factory.mktemp("programs") / "lantern-loft.sqlite"
    shutil.copyfile(lantern_loft, book)
    keeper = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    people = keeper.needed
    people.persons.add("ida", "owner", password="seven wet trays drip", at=MORNING, by="tests")
    with TestClient(create_app(str(book), now=Clock(), people=keeper), base_url=ADDRESS) as client:
        found: dict[Role | None, Program] = {None: Program(client)}
        for role in ROLES:
            found[role] = Program(client, people.tokens.add(f"program {role}", role, at=MORNING, by="tests")[1])
        yield found
    keeper.close()
