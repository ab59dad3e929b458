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
# What hints say of the command line, and the same of a form.
_IN_A_FORM = (
    ("--reason TEXT", "put it under Reason"),
    ("axisvault axis list shows what is retired", "the page of the machine shows what is retired"),
    ("axisvault axis list", "the site page lists machines and axes"),
    ("axisvault ingest FILE --to M/A", "take an export in: see Take in above"),
    ("--accept ", ""),
    ("axisvault golden approve ", "approve a state of "),
    ("axisvault trial template ", "keep a trial of "),
    (", or say why it is right without: --even-so", ", or say in the form why it is right without"),
    ("another one has another time: --taken-at TIME", "another one has another time"),
    ("say the node id: --node-id N", "put the node id under 'Node id'"),
    ("; --all shows every line", ""),
    ("; --all shows every one", ""),
    ("--partial takes", "a tick at 'leave out lines that cannot be read' takes"),
    ("--taken-at file dates it so, --taken-at now dates it today; or give the time",
     "put file, now or a time under Taken"),
    ("say it yourself: --taken-at TIME", "put a time under Taken"),
    ("say it: --taken-at TIME", "put a time under Taken"),
    ("say why: --even-so REASON", "say why in the form"),
    ("say why it may run: --even-so", "say why it may run in the form"),
    ("as what it is: --even-so REASON", "as what it is, with a reason in the form"),
    ("pick one: --channel N", "pick one under 'Axis within the file'"),
    ("say what it is: axisvault family draft FILE --name NAME "
     "--say columns.code=HEADING --say columns.value=HEADING",
     "where its rows are shown, say under Columns which are the codes and the values"),
    ("give it with --describe FILE beside", "send it under 'Device descriptions', beside"),
    ("take it in: axisvault ingest FILE --to MACHINE/AXIS", "take it in: see Take in above"),
)  # fmt: skip
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
    if error.file is None:
        return error.message
    line = f", line {error.line}" if error.line else ""
    return f"{PurePath(error.file).name}{line}: {error.message}"


def hint_text(error: VaultError) -> str:
    """What to do next, in the words of a form; empty where nothing is known."""
    hint = error.hint or ""
    for option, words in _IN_A_FORM:
        hint = hint.replace(option, words)
    return hint


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
