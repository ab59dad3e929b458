"""What the addresses below /api/v1 take and give, as an OpenAPI 3.1 document."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from vault import __version__
from vault.meaning.reader import SYSTEMS
from webui.documents import HttpErrorDocument
from webui.schemas import Schema, schema_of, schemas

if TYPE_CHECKING:
    from webui.page import Route

_PLACE = re.compile(r"<(?:path:)?(\w+)>")
_PLACES = {
    "machine_name": "A machine.",
    "axis_name": "An axis of it.",
    "when": "latest, previous, first, golden, ~N, a date or time, or the id of a snapshot.",
    "code": "A parameter, by code or role.",
    "name": "A drive family.",
    "snapshot": "The id of a snapshot.",
    "number": "The number of a restore plan, or its id.",
    "work_id": "The id of a work.",
    "topic": "A topic of the manual: trust, glossary.",
}
_UNITS = {
    "name": "units",
    "in": "query",
    "description": "Units of the sentences.",
    "schema": {"type": "string", "enum": list(SYSTEMS), "default": "drive"},
}


def document(routes: tuple[Route, ...]) -> Schema:
    """The document; every route that has data of its own is in it."""
    answers = [answer for route in routes for answer in route.documents]
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "axisvault",
            "version": __version__,
            "description": "A vault of drive parameters. The data are those that the command "
            "line prints with --json; exact numbers are strings, keys may be added.",
        },
        "servers": [{"url": "/api/v1"}],
        "paths": {
            _PLACE.sub(r"{\1}", route.rule): {
                method.lower(): _reading(route) if method == "GET" else _writing(route)
                for method in route.offered
            }
            for route in routes
            if route.offered
        },
        "components": {
            "schemas": schemas([*answers, HttpErrorDocument]),
            "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        },
        "security": [{}, {"token": []}],
    }


def _reading(route: Route) -> Schema:
    query = [
        {
            "name": name,
            "in": "query",
            "required": False,
            "description": words,
            "schema": {"type": "string"},
        }
        for name, words in route.query.items()
    ]
    name = route.make.__name__
    return _operation(route, name, route.summary, route.document, [*query, _UNITS])


def _writing(route: Route) -> Schema:
    """A form: its fields as a form, which carries the files."""
    form = route.form
    assert form is not None
    fields = {n: {"type": "string", "description": words} for n, words in form.fields.items()}
    files = {
        name: {"type": "string", "contentMediaType": "application/octet-stream", "description": w}
        for name, w in form.files.items()
    }
    kind = "multipart/form-data" if files else "application/x-www-form-urlencoded"
    schema: Schema = {"type": "object", "properties": {**fields, **files}}
    if form.required:
        schema["required"] = list(form.required)
    return {
        **_operation(
            route,
            form.submit.__name__,
            f"{form.summary} Role: {form.role}.",
            form.document,
            [_UNITS],
        ),
        "requestBody": {"content": {kind: {"schema": schema}}},
        "security": [{"token": []}],
    }


def _operation(
    route: Route, name: str, summary: str, answer: object, query: list[Schema]
) -> Schema:
    places = [
        {
            "name": place,
            "in": "path",
            "required": True,
            "description": _PLACES[place],
            "schema": {"type": "string", "minLength": 1},
        }
        for place in _PLACE.findall(route.rule)
    ]
    return {
        "operationId": name,
        "summary": summary,
        "parameters": [*places, *query],
        "responses": {
            "200": {
                "description": summary,
                "content": {"application/json": {"schema": schema_of(answer)}},
            },
            **{
                code: {
                    "description": words,
                    "content": {"application/json": {"schema": schema_of(HttpErrorDocument)}},
                }
                for code, words in _ERRORS.items()
            },
        },
    }


_ERRORS = {
    "400": "The request itself cannot be understood.",
    "401": "Log in: the token is missing, or is none.",
    "403": "A guard said no, or the role does not allow it.",
    "404": "There is no such thing, or the question cannot be answered.",
    "413": "More was sent than is taken.",
    "422": "What was sent, or a file of the vault that people write, cannot be read.",
    "429": "Too much was tried; wait.",
    "500": "The vault contradicts itself.",
    "503": "The vault is busy or cannot be reached.",
}
