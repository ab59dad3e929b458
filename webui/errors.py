"""Errors as pages and as JSON: what is wrong and what to do, no path and no traceback."""

from __future__ import annotations

from pathlib import PurePath
from typing import TYPE_CHECKING

from flask import Response, jsonify, render_template, request
from flask_wtf.csrf import CSRFError
from werkzeug.exceptions import HTTPException

from vault.jobs.accounts.accounts import TooManyAttempts
from vault.model.errors import (
    Damaged,
    Refused,
    Unavailable,
    Unreadable,
    VaultError,
    WrongUsage,
)
from vault.model.internal_errors import internal_error
from webui.documents import http_error_document
from webui.page_words import page_words

if TYPE_CHECKING:
    from flask import Flask

# By exit class: what the command line leaves with, and what that is in HTTP (RFC 9110, RFC 6585).
_STATUS = {
    TooManyAttempts: 429,
    WrongUsage: 404,
    Refused: 403,
    Unreadable: 422,
    Damaged: 500,
    Unavailable: 503,
}
_OTHER_FORM = "This form is too old, or is not one of ours. Open the page anew and try again."
OURS = "Something went wrong in the viewer itself; its log has the reason"


def handle(app: Flask) -> None:
    """Answer every error in the form that was asked for."""
    app.register_error_handler(VaultError, _vault_error)
    app.register_error_handler(HTTPException, _http_error)
    app.register_error_handler(Exception, _own_error)


def with_status(answer: Response, error: VaultError) -> Response:
    """Give an answer the status that an error has; one that was asked wrong is the asker's."""
    status = next((s for kind, s in _STATUS.items() if isinstance(error, kind)), 500)
    answer.status_code = 400 if status == 404 and request.method == "POST" else status
    if isinstance(error, TooManyAttempts):
        answer.headers["Retry-After"] = str(error.wait)
    return answer


def _vault_error(error: VaultError) -> Response:
    status = with_status(Response(), error).status_code
    is_page = not request.path.startswith("/api/")
    hint = hint_text(error) if is_page else error.hint
    return with_status(_answer(status, error_text(error), hint), error)


def error_text(error: VaultError) -> str:
    """What is wrong and where, without the folders of this machine."""
    message = page_words(error.message) or error.message
    if error.file is None:
        return message
    line = f", line {error.line}" if error.line else ""
    return f"{PurePath(error.file).name}{line}: {message}"


def hint_text(error: VaultError) -> str:
    """What to do next, in the words of a form; empty where nothing is known."""
    return page_words(error.hint or "")


def _http_error(error: HTTPException) -> Response:
    own = error.get_response()
    if own.status_code < 400:  # a redirection
        return Response(own.get_data(), own.status_code, own.headers)
    words = _OTHER_FORM if isinstance(error, CSRFError) else error.description or error.name
    answer = _answer(own.status_code, words, None)
    if "Allow" in own.headers:  # RFC 9110, 15.5.6
        answer.headers["Allow"] = own.headers["Allow"]
    if own.status_code == 401:  # RFC 6750
        answer.headers["WWW-Authenticate"] = 'Bearer realm="axisvault"'
    return answer


def _own_error(error: Exception) -> Response:
    return _answer(500, own_text(error, request.path), None)


def own_text(error: BaseException, what: str) -> str:
    """What is said of an error of our own: its number, by which the log has it."""
    return f"{OURS}: {internal_error(error, what).message}."


def _answer(status: int, message: str, hint: str | None) -> Response:
    if request.path.startswith("/api/"):
        answer = jsonify(http_error_document(status, message, hint))
    else:
        page = render_template("error.html", message=message, hint=hint, status=status)
        answer = Response(page, mimetype="text/html")
    answer.status_code = status
    return answer
