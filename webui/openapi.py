"""What the addresses below /api/v1 take and give, as an OpenAPI 3.1 document."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from vault import __version__
from vault.meaning.reader import SYSTEMS

if TYPE_CHECKING:
    from webui.page import Route

Json = dict[str, Any]
_PLACE = re.compile(r"<(?:path:)?(\w+)>")
_PLACES = {
    "machine_name": "A machine.",
    "axis_name": "An axis of it.",
    "when": "latest, previous, first, golden, ~N, a date or time, or the id of a snapshot.",
    "code": "A parameter, by code or role.",
    "name": "A drive family.",
}
_UNITS = {
    "name": "units",
    "in": "query",
    "description": "Units of the sentences.",
    "schema": {"type": "string", "enum": list(SYSTEMS), "default": "drive"},
}


def document(routes: tuple[Route, ...]) -> Json:
    """The document; every route that has data of its own is in it."""
    return {
        "openapi": "3.1.0",
        "info": {
            "title": "axisvault",
            "version": __version__,
            "description": "Reading a vault of drive parameters. The data are those that the "
            "command line prints with --json; exact numbers are strings, keys may be added.",
        },
        "servers": [{"url": "/api/v1"}],
        "paths": {
            _PLACE.sub(r"{\1}", route.rule): {"get": _operation(route)}
            for route in routes
            if route.summary
        },
        "components": {"schemas": {"Error": _ERROR}},
    }


def _operation(route: Route) -> Json:
    places = [
        {
            "name": name,
            "in": "path",
            "required": True,
            "description": _PLACES[name],
            "schema": {"type": "string", "minLength": 1},
        }
        for name in _PLACE.findall(route.rule)
    ]
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
    return {
        "operationId": route.make.__name__,
        "summary": route.summary,
        "parameters": [*places, *query, _UNITS],
        "responses": {
            "200": {
                "description": route.summary,
                "content": {"application/json": {"schema": {"type": "object"}}},
            },
            **{
                code: {
                    "description": words,
                    "content": {
                        "application/json": {"schema": {"$ref": "#/components/schemas/Error"}}
                    },
                }
                for code, words in _ERRORS.items()
            },
        },
    }


_ERRORS = {
    "400": "The request itself cannot be understood.",
    "403": "A guard said no.",
    "404": "There is no such thing, or the question cannot be answered.",
    "422": "A file of the vault that people write cannot be read.",
    "500": "The vault contradicts itself.",
    "503": "The vault is busy or cannot be reached.",
}
_ERROR: Json = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["code", "message", "hint"],
            "properties": {
                "code": {"type": "integer"},
                "message": {"type": "string"},
                "hint": {"type": ["string", "null"]},
            },
        }
    },
}
