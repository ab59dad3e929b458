"""Errors as pages and as JSON: what is wrong and what to do, no path and no traceback."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import Response, current_app, jsonify, render_template, request
from werkzeug.exceptions import HTTPException

from vault.model.errors import (
    Damaged,
    Refused,
    Unavailable,
    Unreadable,
    VaultError,
    WrongUsage,
)

if TYPE_CHECKING:
    from flask import Flask

# By exit class: what the command line leaves with, and what that is in HTTP (RFC 9110).
_STATUS = {WrongUsage: 404, Refused: 403, Unreadable: 422, Damaged: 500, Unavailable: 503}
_OURS = "Something went wrong in the viewer itself; its log has the reason."


def handle(app: Flask) -> None:
    """Answer every error in the form that was asked for."""
    app.register_error_handler(VaultError, _vault_error)
    app.register_error_handler(HTTPException, _http_error)
    app.register_error_handler(Exception, _own_error)


def _vault_error(error: VaultError) -> Response:
    status = next((s for kind, s in _STATUS.items() if isinstance(error, kind)), 500)
    return _answer(status, error.message, error.hint)


def _http_error(error: HTTPException) -> Response:
    own = error.get_response()
    if own.status_code < 400:  # a redirection
        return Response(own.get_data(), own.status_code, own.headers)
    answer = _answer(own.status_code, error.description or error.name, None)
    if "Allow" in own.headers:  # RFC 9110, 15.5.6
        answer.headers["Allow"] = own.headers["Allow"]
    return answer


def _own_error(error: Exception) -> Response:
    current_app.logger.error("unexpected", exc_info=error)
    return _answer(500, _OURS, None)


def _answer(status: int, message: str, hint: str | None) -> Response:
    if request.path.startswith("/api/"):
        answer = jsonify({"error": {"code": status, "message": message, "hint": hint}})
    else:
        page = render_template("error.html", message=message, hint=hint, status=status)
        answer = Response(page, mimetype="text/html")
    answer.status_code = status
    return answer
