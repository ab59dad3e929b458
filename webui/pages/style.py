"""The look: the paper that sheet and report have too, and what pages add; and the scripts."""

from __future__ import annotations

from importlib.resources import files

from flask import Response

from vault.model.errors import WrongUsage
from vault.store.vault import Vault
from webui.page import Page

_SCRIPTS = ("search", "forms", "work", "record", "trial")


def style(vault: Vault) -> Page:
    """One stylesheet."""
    paper = files("vault.jobs.paper").joinpath("paper.css").read_text("utf-8")
    own = files("webui").joinpath("static/pages.css").read_text("utf-8")
    return Page("", "", dict, raw=Response(paper + own, mimetype="text/css"))


def script(vault: Vault, name: str) -> Page:
    """One of our scripts: comfort alone. Raises WrongUsage."""
    if name not in _SCRIPTS:
        raise WrongUsage(f"there is no script {name!r}")
    text = files("webui").joinpath(f"static/{name}.js").read_text("utf-8")
    return Page("", "", dict, raw=Response(text, mimetype="text/javascript"))
