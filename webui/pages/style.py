"""The look: the paper that sheet and report have too, and what pages add; and the scripts."""

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
    return _script("search.js")


def record_script(vault: Vault) -> Page:
    """What follows from an axis record while somebody types it: comfort alone."""
    return _script("record.js")


def _script(name: str) -> Page:
    text = files("webui").joinpath(f"static/{name}").read_text("utf-8")
    return Page("", "", dict, raw=Response(text, mimetype="text/javascript"))
