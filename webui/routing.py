"""Serving pages: a page and its data get one address each, and a form is done and followed up."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextlib import AbstractContextManager, suppress
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
    url_for,
)

from vault.meaning.reader import reading_in
from vault.model.errors import VaultError, WrongUsage
from vault.model.written_form import written_as, zone_text
from vault.store.clock import now
from webui.errors import with_status
from webui.request_fields import units
from webui.tables import ASKED, table_as_csv, with_links
from webui.visitors import check_csrf, require_account, require_reader

if TYPE_CHECKING:
    from flask import Flask
    from werkzeug.wrappers import Response as AnyResponse

    from vault.model.accounts import Account
    from vault.store.vault import Vault
    from webui.open_vaults import OpenVaults
    from webui.page import Form, Page, Route

API = "/api/v1"
_NEXT = "next"
"""Category of messages that are links: an address, a blank, and words."""
_MOST_WORDS = 800  # of a message: it goes on in a cookie, of which browsers keep 4096 bytes


def register(app: Flask, route: Route) -> None:
    """Give a page its address, and its data the same one below `/api/v1`."""
    name = route.make.__name__

    def show(**arguments: str) -> AnyResponse:
        if request.method == "POST":
            return _submitted(route, arguments)
        with _vault() as vault, reading_in(units()), written_as(vault.written_form):
            if route.guarded:
                require_reader(vault)
            called = _called_now(vault, arguments)
            if called != arguments:
                query = f"?{request.query_string.decode()}" if request.query_string else ""
                return redirect(f"{_place(name, called)}{query}")
            return _shown(vault, route.make(vault, **arguments))

    def data(**arguments: str) -> Response:
        with _vault() as vault, reading_in(units()), written_as(vault.written_form):
            if request.method == "POST":
                form, account = _allowed_form(route)
                called = _called_now(vault, arguments)
                return jsonify(form.submit(vault, account, **called).data)
            require_reader(vault)
            return jsonify(route.make(vault, **_called_now(vault, arguments)).data())

    methods = ["GET", "POST"] if route.form else ["GET"]
    app.add_url_rule(route.rule, name, show, methods=methods)
    if offered := route.offered:
        app.add_url_rule(f"{API}{route.rule}", f"{name}_data", data, methods=offered)


def _place(name: str, arguments: Mapping[str, Any]) -> str:
    """Address of a page with its parts."""
    return url_for(name, **arguments)


def _called_now(vault: Vault, arguments: Mapping[str, str]) -> dict[str, str]:
    """Parts of an address, with the present names of the machine and axis in it.

    What cannot be a name stays as it is, for the page to refuse.
    """
    machine, axis = arguments.get("machine_name"), arguments.get("axis_name")
    if machine is None:
        return {**arguments}
    if axis is None:
        return {**arguments, "machine_name": vault.names.machine_name(vault.names.machine(machine))}
    with suppress(WrongUsage):
        machine, _, axis = str(vault.address(f"{machine}/{axis}")).partition("/")
    return {**arguments, "machine_name": machine, "axis_name": axis}


def _vault() -> AbstractContextManager[Vault]:
    vaults: OpenVaults = current_app.extensions["vaults"]
    return vaults.borrow()


def _shown(vault: Vault, page: Page, problem: VaultError | None = None) -> Response:
    if page.raw is not None:
        return page.raw
    moment = now()
    text = render_template(
        page.template,
        page=page,
        site=vault.site,
        units=units(),
        moment=moment,
        zone=zone_text(moment),
        problem=problem,
        **page.content,
    )
    if request.method == "POST":  # what was sent is in no address
        answer = make_response(text)
    elif (number := request.args.get(ASKED)) is not None:
        return _table(page, text, number)
    else:
        answer = make_response(with_links(text, request.args.items(multi=True)))
    return answer


def _table(page: Page, text: str, number: str) -> Response:
    """One table of a page, to be opened in a spreadsheet."""
    answer = Response(table_as_csv(text, number), mimetype="text/csv")
    name = re.sub(r"[^\w.-]+", "-", page.title).strip("-.")
    answer.headers.set("Content-Disposition", "attachment", filename=f"{name}-{number}.csv")
    return answer


def _submitted(route: Route, arguments: Mapping[str, str]) -> AnyResponse:
    """Do it and go on; where it is refused, the page again with the reason and what was typed."""
    form, account = _allowed_form(route)
    with _vault() as vault, reading_in(units()), written_as(vault.written_form):
        arguments = _called_now(vault, arguments)
        try:
            done = form.submit(vault, account, **arguments)
        except VaultError as error:
            vault.refresh()
            return with_status(_shown(vault, route.make(vault, **arguments), error), error)
        if done.address is None:
            return _shown(vault, route.make(vault, **arguments))
    flash(shorten(done.words, _MOST_WORDS, placeholder=" …"))
    for words, address in done.next:
        flash(f"{address} {words}", _NEXT)
    return redirect(done.address, 303)


def _allowed_form(route: Route) -> tuple[Form, Account | None]:
    """The form of a page and who sends it; what is not allowed is answered here."""
    form = route.form
    assert form is not None
    account = require_account(form.role) if form.role else None
    check_csrf()
    return form, account
