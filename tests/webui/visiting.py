"""Visitors for tests: an account of every role, and a client that sends forms as browsers do."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from vault.jobs.accounts.accounts import add_account
from vault.model.accounts import ACCOUNT_ROLES
from vault.store.local.accounts import Accounts

PASSWORD = "plum tea on the loom"
PEOPLE = {
    "reader": "Oda Reed <oda@tileworks.example>",
    "technician": "Tomas Quillfeather <tomas@tileworks.example>",
    "approver": "Abena Lorn <abena@tileworks.example>",
    "admin": "Ivo Marr <ivo@tileworks.example>",
}
_TOKEN = re.compile(r'name="csrf_token" value="([^"]+)"')


def add_people(folder: Path) -> None:
    """One account for every role, named like it."""
    for role in ACCOUNT_ROLES:
        add_account(folder / "axisvault", role, PEOPLE[role], role, PASSWORD, by="Mira")


def token_for(folder: Path, name: str) -> dict[str, str]:
    """The header that a script of an account sends."""
    with Accounts(folder / "axisvault") as accounts:
        return {"Authorization": f"Bearer {accounts.make_token(name, 'tests', by='Mira')}"}


class Visit:
    """A browser without scripts: it keeps cookies, and sends the hidden field of a page's form."""

    def __init__(self, app: Flask) -> None:
        self.client: FlaskClient = app.test_client()

    def get(self, address: str, **more: Any) -> TestResponse:
        return self.client.get(address, **more)

    def csrf(self, address: str) -> str:
        found = _TOKEN.search(self.client.get(address).text)
        assert found is not None, f"no form at {address}"
        return found[1]

    def send(self, address: str, form: str | None = None, **fields: Any) -> TestResponse:
        """Send the form of a page; `form` is the page, if it is another one."""
        fields["csrf_token"] = self.csrf(form or address)
        names = {name.removesuffix("_"): value for name, value in fields.items()}
        return self.client.post(address, data=names)

    def log_in(self, name: str, password: str = PASSWORD) -> TestResponse:
        return self.send("/log-in", name=name, password=password)
