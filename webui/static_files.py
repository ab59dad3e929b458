"""The look and the scripts: files of the program, which no vault has to be open for.

Pages name them with a mark of what is in them, so a browser asks once, and anew only after an
upgrade: else three of four requests would be for what it has. Without the mark it asks each time
whether they changed.
"""

from __future__ import annotations

from functools import cache
from hashlib import sha256
from importlib.resources import files
from typing import TYPE_CHECKING

from flask import Response, request

from vault.model.errors import WrongUsage

if TYPE_CHECKING:
    from flask import Flask

STYLE = "style.css"
_SCRIPTS = ("search", "forms", "work", "record", "trial")
_MARK = "v"
_YEAR = 365 * 24 * 3600  # seconds: as long as RFC 9111 has anything kept
_LETTERS = 12  # of the mark


def serve(app: Flask) -> None:
    """Give the files their addresses, and templates the function that names them."""
    app.add_url_rule(f"/{STYLE}", "style", lambda: _answer(STYLE))
    app.add_url_rule("/<name>.js", "script", lambda name: _answer(f"{name}.js"))
    app.jinja_env.globals["static_file"] = address


def address(name: str) -> str:
    """Where a page finds a file: with a mark that changes with what is in it."""
    return f"/{name}?{_MARK}={_mark(name)}"


@cache
def _content(name: str) -> bytes:
    """What is in a file. Raises WrongUsage."""
    own = files("webui").joinpath("static")
    if name == STYLE:  # the paper that sheet and report have too, and what pages add
        paper = files("vault.jobs.paper").joinpath("paper.css")
        return paper.read_bytes() + own.joinpath("pages.css").read_bytes()
    if name.removesuffix(".js") not in _SCRIPTS:
        raise WrongUsage(f"there is no script {name.removesuffix('.js')!r}")
    return own.joinpath(name).read_bytes()


@cache
def _mark(name: str) -> str:
    return sha256(_content(name)).hexdigest()[:_LETTERS]


def _answer(name: str) -> Response:
    kind = "text/css" if name == STYLE else "text/javascript"
    answer = Response(_content(name), mimetype=kind)
    answer.set_etag(_mark(name))
    if request.args.get(_MARK) == _mark(name):
        answer.cache_control.public = True
        answer.cache_control.max_age = _YEAR
        answer.cache_control.immutable = True
    answer.make_conditional(request)
    return answer
