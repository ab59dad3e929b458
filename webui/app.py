"""Making the application: its settings, what templates may call, and every address."""

from __future__ import annotations

from functools import cache, partial
from ipaddress import ip_address
from pathlib import Path
from urllib.parse import urlsplit

from flask import Flask, jsonify, request
from werkzeug.exceptions import SecurityError
from werkzeug.middleware.proxy_fix import ProxyFix

from webui import (
    errors,
    headers,
    limits,
    metrics,
    static_files,
    template_functions,
    visitors,
)
from webui.background_work import WorkQueue
from webui.open_vaults import OpenVaults
from webui.openapi import document
from webui.routes import ROUTES
from webui.routing import register

LARGEST_REQUEST = 256 * 1024 * 1024


def _by_its_own_name() -> None:
    """A page elsewhere must not reach this one under a name of its own."""
    host = urlsplit(f"//{request.host}").hostname or ""
    if not _is_loopback(host):
        raise SecurityError(f"Host {request.host!r} is not trusted.")


def _is_loopback(host: str) -> bool:
    """Whether a name or address can only be this machine."""
    if host == "localhost":
        return True
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return False


def create_app(
    folder: Path, *, is_local: bool = False, proxies: int = 0, most_work: int | None = None
) -> Flask:
    """Make the application for the vault in a folder. A plain WSGI callable.

    `is_local`: only this machine reaches it, so reading takes no log-in unless the site says so.
    `proxies`: how many servers in front of it set X-Forwarded-For, -Proto, -Host and -Prefix; those
    of anybody else are not believed. `most_work`: how much long work of one account may run at a
    time.
    """
    app = Flask(__name__)
    app.config.update(
        VAULT=folder,
        IS_LOCAL=is_local,
        MAX_CONTENT_LENGTH=LARGEST_REQUEST,
        MAX_FORM_PARTS=4000,
    )
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.finalize = template_functions.make_visible
    app.jinja_env.globals |= template_functions.FUNCTIONS
    app.extensions["work_queue"] = WorkQueue(folder, most_work)
    app.extensions["vaults"] = OpenVaults(folder)
    if is_local:
        app.before_request(_by_its_own_name)
    metrics.clock(app)
    visitors.set_up(app)
    headers.apply(app)
    limits.apply(app)
    errors.handle(app)
    for page in ROUTES:
        register(app, page)
    static_files.serve(app)
    app.add_url_rule("/healthz", "healthz", lambda: ("ok\n", {"Content-Type": "text/plain"}))
    app.add_url_rule("/metrics", "metrics", metrics.metrics)
    described = cache(partial(document, ROUTES))  # it takes a moment, and is seldom asked for
    app.add_url_rule("/api/v1/openapi.json", "openapi", lambda: jsonify(described()))
    if proxies:
        app.wsgi_app = ProxyFix(  # type: ignore[method-assign]
            app.wsgi_app, x_for=proxies, x_proto=proxies, x_host=proxies, x_prefix=proxies
        )
    return app
