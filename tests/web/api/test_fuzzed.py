"""The whole document held against the application: whatever is sent, right or wrong, is answered as it says.

The requests are made by schemathesis (schemathesis.readthedocs.io), the same ones in every run. In what is sent right,
names that the farm has are put in for half of the made-up ones, so that it gets further than to an unknown tray.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from argon2.profiles import CHEAPEST
from hypothesis import HealthCheck, Phase, given, seed, settings
from jsonschema_rs import validator_for
from schemathesis import GenerationMode
from schemathesis.config import SchemathesisConfig

from tests.web.conftest import MORNING, Clock
from trayward.bootstrap import Farm
from trayward.store.people import Hasher
from trayward.web.api.operation import BASE, Nothing, Operation
from trayward.web.api.routes import OPERATIONS
from trayward.web.app import create_app
from trayward.web.people.keeper import FarmPeople

EXAMPLES = 10
SEED = 20261125

CONFIG: dict[str, Any] = {
    "seed": SEED,
    "checks": {
        # What fits the schema may still be of a tray that nobody has, or look mistyped.
        "positive_data_acceptance": {"expected-statuses": ["2xx", 401, 403, 404, 409, 422]},
        # What the checker expects by itself, with 413, which the document has for a body too large to read, and without
        # 406, 428 and faults of the server, which are none of ours here.
        "negative_data_rejection": {"expected-statuses": [400, 401, 403, 404, 413, 422]},
    },
}


@pytest.fixture(scope="module")
def token_and_app(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Any]]:
    """A farm with a tray of each kind of record, its owner, and a token of theirs."""
    book = tmp_path_factory.mktemp("fuzzed") / "farm.sqlite"
    with Farm.create(book, "shelf", at=MORNING) as farm:
        farm.sow("broccoli", 2, at=MORNING)
        farm.note("Begun.", at=MORNING)
    keeper = FarmPeople(str(book), hasher=Hasher(CHEAPEST))
    keeper.needed.persons.add("ida", "owner", password="seven wet trays drip", at=MORNING, by="tests")
    token = keeper.needed.tokens.add("fuzz", "owner", at=MORNING, by="tests")[1]
    app = create_app(str(book), now=Clock(), people=keeper)
    yield token, app
    app.state.house.close()
    keeper.close()


@pytest.fixture(scope="module")
def described(token_and_app: tuple[str, Any]) -> Any:
    """The document, as schemathesis reads it from the application itself."""
    return _read(token_and_app)


@pytest.fixture(scope="module")
def named(token_and_app: tuple[str, Any]) -> Any:
    """The same, with names that the farm has in half of the bodies."""
    found = _read(token_and_app)
    found.hook("map_body")(with_real_names)
    return found


def _read(token_and_app: tuple[str, Any]) -> Any:
    token, app = token_and_app
    headers = {"Authorization": f"Bearer {token}"}
    config = SchemathesisConfig.from_dict(CONFIG)
    return schemathesis.openapi.from_asgi("/api/1/openapi.json", app, config=config, headers=headers)


REAL: dict[str, Any] = {
    "trays": ["261125A.1"], "recipe": "broccoli", "pool": "grow trays", "product": "broccoli", "lot": "broccoli-1",
    "crop": "broccoli", "grams": {"261125A.1": 90.0}, "moves": {"261125A.1": "A1.1"},
}  # fmt: skip


def with_real_names(context: Any, body: Any) -> Any:
    """Half of the made-up names (those of even length) become some that the farm has."""
    if not isinstance(body, dict):
        return body
    alike = {
        name: REAL[name]
        for name, value in body.items()
        if name in REAL and type(value) is type(REAL[name]) and value and len(str(value)) % 2 == 0
    }
    return {**body, **alike}


MODES = {"right": GenerationMode.POSITIVE, "wrong": GenerationMode.NEGATIVE}


@pytest.mark.parametrize("mode", MODES)
@pytest.mark.parametrize("operation", OPERATIONS, ids=lambda one: f"{one.method} {one.path}")
def test_whatever_is_sent_is_answered_as_the_document_says(
    token_and_app: tuple[str, Any], described: Any, named: Any, operation: Operation, mode: str
) -> None:
    if mode == "wrong" and operation.method == "GET" and operation.takes is Nothing:
        pytest.skip("there is nothing to say wrong")
    document = named if mode == "right" else described  # a name put in would mend what is wrong
    one = document[BASE + operation.path.replace(":path}", "}")][operation.method]
    headers = {"Authorization": f"Bearer {token_and_app[0]}"}

    @seed(SEED)
    @settings(
        max_examples=EXAMPLES, deadline=None, database=None, phases=(Phase.generate,),
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(case=one.as_strategy(generation_mode=MODES[mode]))
    def ask(case: Any) -> None:
        case.call_and_validate(headers=headers)

    ask()


def test_the_document_is_openapi_and_names_every_operation(token_and_app: tuple[str, Any], described: Any) -> None:
    told = described.raw_schema
    assert told["openapi"] == "3.1.0"
    assert sum(len(path) for path in told["paths"].values()) == len(OPERATIONS)
    for schema in told["components"]["schemas"].values():
        validator_for({**schema, "components": told["components"]})


def test_the_document_leads_nowhere_else(tmp_path: Path, described: Any) -> None:
    assert "http" not in str(described.raw_schema["servers"])
