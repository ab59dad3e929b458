"""The viewer: a Flask application over an open vault. One plain page so far."""

from __future__ import annotations

from pathlib import Path

from flask import Flask, render_template_string

from vault.jobs.edit_records import axis_sheet
from vault.store.vault import Vault

_PAGE = """<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">
<title>{{ site }}</title></head>
<body><h1>{{ site }}</h1>
<ul>{% for sheet in sheets %}
<li>{{ sheet.address }}{% if sheet.title %}: {{ sheet.title }}{% endif %},
{{ sheet.snapshots }} snapshots</li>{% endfor %}</ul>
<p>The vault reads exports and never writes to a drive.</p></body></html>
"""


def create_app(folder: Path) -> Flask:
    """Make the application for the vault in a folder. It needs no network."""
    app = Flask(__name__)

    @app.get("/")
    def site() -> str:
        with Vault.open(folder) as vault:
            sheets = [axis_sheet(vault, address) for address in vault.axes()]
            return render_template_string(_PAGE, site=vault.site, sheets=sheets)

    return app
