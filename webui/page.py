"""What a page is: a function of an open vault that gives a template, its content, and its data.

A page that can be acted on has a second function, which does what was asked for and says where to
go on. Both have one address; the same address below `/api/v1` gives JSON.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from textwrap import shorten
from typing import TYPE_CHECKING, Any

from flask import (
    Response,
    current_app,
    flash,
    jsonify,
    make_response,
    redirect,
    render_template,
    request,
)

from vault.meaning.reader import SYSTEMS, reading_in
from vault.model.errors import VaultError, WrongUsage
from vault.model.typed_text import required_text, text_or_none
from webui.errors import told
from webui.visitors import check_form, needed_account, needed_reader

if TYPE_CHECKING:
    from flask import Flask
    from werkzeug.wrappers import Response as AnyResponse

    from vault.model.accounts import Account
    from vault.store.vault import Vault
    from webui.open_vaults import OpenVaults

API = "/api/v1"
_MOST_WORDS = 800  # of a message: it goes on in a cookie, of which browsers keep 4096 bytes


@dataclass(frozen=True, slots=True)
class Page:
    """A page that is ready to be shown. `crumbs` are names and addresses, from the site on.

    `data` gives the same as JSON; `raw` is a page that needs no template. With `refresh` the
    browser looks again after so many seconds.
    """

    template: str
    title: str
    data: Callable[[], Mapping[str, object]]
    content: dict[str, Any] = field(default_factory=dict)
    crumbs: tuple[tuple[str, str], ...] = ()
    raw: Response | None = None
    refresh: int | None = None


@dataclass(frozen=True, slots=True)
class Done:
    """What became of an act: the page to go on with, in words, and as JSON."""

    address: str
    words: str
    data: Mapping[str, object] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Act:
    """What can be done on a page: by whom, with which fields; `files` are those that carry some,
    and the `required` ones must be filled.

    `do` gets the open vault, the account and the parts of the address. Without a `role` everybody
    may do it (and there is no account); without a `summary` it is no part of the API, else its
    answer there is a `document`.
    """

    do: Callable[..., Done]
    role: str | None
    summary: str = ""
    fields: Mapping[str, str] = field(default_factory=dict)
    files: Mapping[str, str] = field(default_factory=dict)
    required: tuple[str, ...] = ()
    document: object = None


@dataclass(frozen=True, slots=True)
class Route:
    """An address, the function that makes its page, and what may be asked for in the address.

    A page without a `summary` has no data of its own, else these are a `document`. One that is not
    `guarded` is shown to everybody.
    """

    rule: str
    make: Callable[..., Page]
    summary: str = ""
    query: Mapping[str, str] = field(default_factory=dict)
    act: Act | None = None
    guarded: bool = True
    document: object = None

    @property
    def offered(self) -> list[str]:
        """Methods of the address below `/api/v1`."""
        return ["GET"] * bool(self.summary) + ["POST"] * bool(self.act and self.act.summary)

    @property
    def documents(self) -> list[object]:
        """Types of the answers of the address below `/api/v1`, in the order of its methods."""
        answers = {"GET": self.document, "POST": self.act.document if self.act else None}
        return [answers[method] for method in self.offered]


def register(app: Flask, route: Route) -> None:
    """Give a page its address, and its data the same one below `/api/v1`."""
    name = route.make.__name__

    def show(**arguments: str) -> AnyResponse:
        if request.method == "POST":
            return _acted(route, arguments)
        with _vault() as vault, reading_in(units()):
            if route.guarded:
                needed_reader(vault)
            return _shown(vault, route.make(vault, **arguments))

    def data(**arguments: str) -> Response:
        with _vault() as vault, reading_in(units()):
            if request.method == "POST":
                act, account = _allowed(route)
                return jsonify(act.do(vault, account, **arguments).data)
            needed_reader(vault)
            return jsonify(route.make(vault, **arguments).data())

    methods = ["GET", "POST"] if route.act else ["GET"]
    app.add_url_rule(route.rule, name, show, methods=methods)
    if offered := route.offered:
        app.add_url_rule(f"{API}{route.rule}", f"{name}_data", data, methods=offered)


def _vault() -> AbstractContextManager[Vault]:
    vaults: OpenVaults = current_app.extensions["vaults"]
    return vaults.one()


def _shown(vault: Vault, page: Page, problem: VaultError | None = None) -> Response:
    if page.raw is not None:
        return page.raw
    answer = make_response(
        render_template(
            page.template,
            page=page,
            site=vault.site,
            units=units(),
            problem=problem,
            **page.content,
        )
    )
    if page.refresh is not None:
        answer.headers["Refresh"] = str(page.refresh)
    return answer


def _acted(route: Route, arguments: Mapping[str, str]) -> AnyResponse:
    """Do it and go on; where it is refused, the page again with the reason and what was typed."""
    act, account = _allowed(route)
    with _vault() as vault, reading_in(units()):
        try:
            done = act.do(vault, account, **arguments)
        except VaultError as error:
            vault.refresh()
            return told(_shown(vault, route.make(vault, **arguments), error), error)
    flash(shorten(done.words, _MOST_WORDS, placeholder=" …"))
    return redirect(done.address, 303)


def _allowed(route: Route) -> tuple[Act, Account | None]:
    """The act of a page and who does it; what is not allowed is answered here."""
    act = route.act
    assert act is not None
    account = needed_account(act.role) if act.role else None
    check_form()
    return act, account


def units() -> str:
    """The units that the reader asked for. Raises WrongUsage."""
    wanted = request.args.get("units", "drive")
    if wanted not in SYSTEMS:
        raise WrongUsage(f"there are no units {wanted!r}", hint=", ".join(SYSTEMS))
    return wanted


def query_arg(name: str) -> str | None:
    """What was asked for in the address, None for nothing."""
    return text_or_none(request.args.get(name))


def form_field(name: str) -> str | None:
    """What was typed into a field of a form, None for nothing."""
    return text_or_none(request.form.get(name))


def required_field(name: str) -> str:
    """What was typed into a field that must be filled. Raises WrongUsage."""
    return required_text(request.form.get(name), name.replace("_", " "))


def selector(text: str) -> str:
    """A selector that a visitor may use: states of the vault, no files of the server."""
    if text.startswith("file:"):
        raise WrongUsage("a file cannot be named here", hint="MACHINE/AXIS[@WHEN]")
    return text


def axis_crumbs(machine_name: str, axis_name: str) -> tuple[tuple[str, str], ...]:
    """Names and addresses from the site to an axis."""
    return (
        ("Site", "/"),
        (machine_name, f"/machine/{machine_name}"),
        (axis_name, f"/axis/{machine_name}/{axis_name}"),
    )
