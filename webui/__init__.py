"""The viewer: a Flask application over a vault. It needs no network and works without scripts.

Every page has its data under the same address below `/api/v1`, as the command line's `--json` has
it. There is no domain logic here: a page asks a job and shows what it says.
"""

from __future__ import annotations

from pathlib import Path

from flask import Flask, jsonify

from webui import errors, headers, pages, pictures, words
from webui.metrics import metrics
from webui.openapi import document
from webui.page import register


def create_app(folder: Path) -> Flask:
    """Make the application for the vault in a folder. A plain WSGI callable."""
    app = Flask(__name__)
    app.config.update(VAULT=folder, MAX_CONTENT_LENGTH=32 * 1024 * 1024)
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.globals |= {**words.HELPERS, "picture": pictures}
    headers.apply(app)
    errors.handle(app)
    for page in pages.ALL:
        register(app, page)
    app.add_url_rule("/healthz", "healthz", lambda: ("ok\n", {"Content-Type": "text/plain"}))
    app.add_url_rule("/metrics", "metrics", metrics)
    described = document(pages.ALL)
    app.add_url_rule("/api/v1/openapi.json", "openapi", lambda: jsonify(described))
    return app
