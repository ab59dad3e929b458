"""Headers that every answer carries: nothing from outside, nothing inline, no frames."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import request
from flask_login import current_user

if TYPE_CHECKING:
    from flask import Flask, Response

_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; style-src 'self'; script-src 'self'; "
    "connect-src 'self'; img-src 'self' data:; form-action 'self'; frame-ancestors 'none'; "
    "base-uri 'none'",
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cache-Control": "no-cache",
}


def apply(app: Flask) -> None:
    """Put the headers on every answer; a page that has a policy of its own keeps it."""

    @app.after_request
    def put(answer: Response) -> Response:
        for name, value in _HEADERS.items():
            answer.headers.setdefault(name, value)
        is_ours = bool(answer.cache_control.public)  # a file of the program
        if not is_ours and current_user.is_authenticated:  # nothing stays on a shared machine
            answer.headers["Cache-Control"] = "no-store"
        if request.is_secure:
            answer.headers.setdefault("Strict-Transport-Security", "max-age=31536000")
        return answer
