"""How much a request may carry, asked before any page looks at it. Bounds are our own choice."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import abort, request

from vault.model.bounds import MOST_TYPED
from vault.model.wording import plural
from webui.visitors import visitor

if TYPE_CHECKING:
    from flask import Flask

STRANGERS_BODY = 64 * 1024
"""Bytes that somebody may send who is not logged in: a name and a password."""
MOST_HEADER = 8 * 1024
_MOST_ADDRESS = 4096
_MOST_QUERY = 60
_MOST_FIELD = 20_000
_MOST_NAME = 100
_AN_ADDRESS = {"next": _MOST_ADDRESS}  # it holds one with a query of its own


def apply(app: Flask) -> None:
    """Refuse what is beyond them: in the address, in headers and in forms."""

    @app.before_request
    def look() -> None:
        for name, value in request.headers.items():
            if len(value) > MOST_HEADER:
                abort(431, f"The header {name[:_MOST_NAME]} is too long.")
        if len(request.query_string) > 2 * _MOST_ADDRESS:
            abort(414, "The address is too long.")
        if len(request.args) > _MOST_QUERY:
            abort(400, f"An address asks for at most {plural(_MOST_QUERY, 'thing')}.")
        for name, value in request.args.items(multi=True):
            if len(value) > _AN_ADDRESS.get(name, MOST_TYPED) or len(name) > _MOST_NAME:
                said = f"What is asked for as {name[:_MOST_NAME]!r} is longer than {MOST_TYPED}"
                abort(400, f"{said} characters.")
        if request.method in ("GET", "HEAD"):
            return
        if visitor() is None:
            request.max_content_length = STRANGERS_BODY
            if (request.content_length or 0) > STRANGERS_BODY:
                abort(413, "Log in before so much is sent.")
        for name, value in request.form.items(multi=True):
            called = name or ""  # a part of a form may have no name
            if len(value) > _MOST_FIELD or len(called) > _MOST_NAME:
                said = f"What was typed as {called[:_MOST_NAME]!r} is longer than {_MOST_FIELD:,}"
                abort(400, f"{said} characters.")
