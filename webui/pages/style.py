"""The look: the paper that sheet and report have too, and what pages add; and the one script."""

from __future__ import annotations

from importlib.resources import files

from flask import Response

from vault.store.vault import Vault
from webui.page import Page


def style(vault: Vault) -> Page:
    """One stylesheet."""
    paper = files("vault.jobs.paper").joinpath("paper.css").read_text("utf-8")
    own = files("webui").joinpath("static/pages.css").read_text("utf-8")
    return Page("", "", dict, raw=Response(paper + own, mimetype="text/css"))


def script(vault: Vault) -> Page:
    """Results while somebody types into the box of the header: comfort alone."""
    text = files("webui").joinpath("static/search.js").read_text("utf-8")
    return Page("", "", dict, raw=Response(text, mimetype="text/javascript"))
