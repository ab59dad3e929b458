"""The OpenAPI document: what it promises is what the site does, as schemathesis asks it."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis.specs.openapi.checks import positive_data_acceptance

from tests.sweeps import part_of
from vault.jobs.accounts.accounts import add_account
from vault.store.local.accounts import Accounts
from webui.app import create_app
from webui.routes import ROUTES

OPERATIONS = [
    (re.sub(r"<(?:path:)?(\w+)>", r"{\1}", route.rule), method)
    for route in ROUTES
    for method in route.offered
]

PLACES = {
    "machine_name": "kiln-loader", "axis_name": "hoist", "when": "latest", "name": "larch",
    "code": "following_error_window", "topic": "trust",
}  # fmt: skip
QUERIES = {
    "/compare": {"left": "kiln-loader/hoist@first", "right": "kiln-loader/hoist"},
    "/spread": {"pattern": "*/lift"},
    "/find": {"text": "following_error_window"},
    "/search": {"text": "hoist"},
    "/audit": {"place": "kiln-loader/hoist"},
}


@pytest.fixture(scope="module")
def site(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Any, str]]:
    """The API over a copy of the demo's vault, and a token that may do everything."""
    folder = tmp_path_factory.mktemp("api") / "vault"
    shutil.copytree(works, folder)
    add_account(
        folder / "axisvault",
        "mira",
        "Mira Okafor <m@x.example>",
        "admin",
        "plum tea loom",
        by="Mira",
    )
    with Accounts(folder / "axisvault") as accounts:
        token = accounts.make_token("mira", "these tests", by="Mira")
    app = create_app(folder, is_local=True)
    yield schemathesis.openapi.from_wsgi("/api/v1/openapi.json", app), token
    app.extensions["work_queue"].wait(60)


@pytest.mark.parametrize(("path", "method"), OPERATIONS)
def test_every_answer_is_as_the_document_says(
    path: str, method: str, site: tuple[Any, str]
) -> None:
    """No server error, the promised statuses, types and bodies, whatever is asked."""
    api, token = site

    @settings(max_examples=part_of(12, 3), deadline=None, suppress_health_check=list(HealthCheck))
    @given(case=api[path][method].as_strategy(), is_there=st.booleans())
    def ask(case: Any, is_there: bool) -> None:
        if is_there and method == "GET":  # else what is asked for is hardly ever there
            case.path_parameters = {name: PLACES.get(name, name) for name in case.path_parameters}
            case.query = QUERIES.get(path, {})
        case.call_and_validate(
            headers={"Authorization": f"Bearer {token}"},
            # A form of the right shape may still name an axis or a day that there is not.
            excluded_checks=[positive_data_acceptance] if method == "POST" else [],
        )

    ask()


def test_every_page_with_data_is_in_the_document(works: Path) -> None:
    client = create_app(works, is_local=True).test_client()
    found = client.get("/api/v1/openapi.json").json or {}
    assert found["openapi"] == "3.1.0"
    described = {
        (path.replace("{", "<").replace("}", ">").replace("<code>", "<path:code>"), method.upper())
        for path, methods in found["paths"].items()
        for method in methods
    }
    assert described == {(route.rule, method) for route in ROUTES for method in route.offered}
    served = {rule.rule for rule in client.application.url_map.iter_rules()}
    assert {f"/api/v1{path}" for path, _ in described} <= served
