"""What a page is: a function of an open vault that gives a template, its content, and its data."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from flask import Response, current_app, jsonify, render_template, request

from vault.meaning.reader import SYSTEMS, reading_in
from vault.model.errors import WrongUsage
from vault.store.vault import Vault

if TYPE_CHECKING:
    from flask import Flask

Json = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Page:
    """A page that is ready to be shown. `crumbs` are names and addresses, from the site on.

    `data` gives the same as JSON; `raw` is a page that needs no template.
    """

    template: str
    title: str
    data: Callable[[], Json]
    content: dict[str, Any] = field(default_factory=dict)
    crumbs: tuple[tuple[str, str], ...] = ()
    raw: Response | None = None


@dataclass(frozen=True, slots=True)
class Route:
    """An address, the function that makes its page, and what may be asked for in the address.

    A page without a `summary` has no data of its own.
    """

    rule: str
    make: Callable[..., Page]
    summary: str = ""
    query: Mapping[str, str] = field(default_factory=dict)


def register(app: Flask, route: Route) -> None:
    """Give a page its address, and its data the same one below `/api/v1`."""
    name = route.make.__name__

    def show(**arguments: str) -> Response | str:
        with Vault.open(current_app.config["VAULT"]) as vault, reading_in(units()):
            page = route.make(vault, **arguments)
            if page.raw is not None:
                return page.raw
            return render_template(
                page.template, page=page, site=vault.site, units=units(), **page.content
            )

    def data(**arguments: str) -> Response:
        with Vault.open(current_app.config["VAULT"]) as vault, reading_in(units()):
            return jsonify(route.make(vault, **arguments).data())

    app.add_url_rule(route.rule, name, show)
    if route.summary:
        app.add_url_rule(f"/api/v1{route.rule}", f"{name}_data", data)


def units() -> str:
    """The units that the reader asked for. Raises WrongUsage."""
    wanted = request.args.get("units", "drive")
    if wanted not in SYSTEMS:
        raise WrongUsage(f"there are no units {wanted!r}", hint=", ".join(SYSTEMS))
    return wanted


def asked(name: str) -> str | None:
    """What was asked for in the address, None for nothing."""
    return (request.args.get(name) or "").strip() or None


def selector(text: str) -> str:
    """A selector that a visitor may use: states of the vault, no files of the server."""
    if text.startswith("file:"):
        raise WrongUsage("a file cannot be named here", hint="MACHINE/AXIS[@WHEN]")
    return text
