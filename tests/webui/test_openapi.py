"""The OpenAPI document: what it promises is what the site does, as schemathesis asks it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings

from webui import create_app
from webui.pages import ALL


@pytest.fixture(scope="module")
def api(works: Path) -> Any:
    return schemathesis.openapi.from_wsgi("/api/v1/openapi.json", create_app(works))


PATHS = [re.sub(r"<(?:path:)?(\w+)>", r"{\1}", route.rule) for route in ALL if route.summary]


@pytest.mark.parametrize("path", PATHS)
def test_every_answer_is_as_the_document_says(path: str, api: Any) -> None:
    """No server error, the promised statuses, types and bodies, whatever is asked."""

    @settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
    @given(case=api[path]["GET"].as_strategy())
    def ask(case: Any) -> None:
        case.call_and_validate()

    ask()


def test_every_page_with_data_is_in_the_document(works: Path) -> None:
    client = create_app(works).test_client()
    found = client.get("/api/v1/openapi.json").json or {}
    assert found["openapi"] == "3.1.0"
    described = {
        path.replace("{", "<").replace("}", ">").replace("<code>", "<path:code>")
        for path in found["paths"]
    }
    assert described == {route.rule for route in ALL if route.summary}
    served = {rule.rule for rule in client.application.url_map.iter_rules()}
    assert {f"/api/v1{path}" for path in described} <= served
