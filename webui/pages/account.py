"""Logging in and out, and one's own account. These pages take no part in the API."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import request, session
from flask_login import current_user, logout_user

from vault.jobs.accounts.accounts import change_password, is_own_password, log_in
from vault.model.accounts import ACCOUNT_ROLES
from vault.model.errors import Refused, WrongUsage
from vault.model.wording import plural
from vault.store.vault import Vault
from webui.page import FormResult, Page
from webui.request_fields import form_field, query_arg, required_field
from webui.visitors import accounts, begin_session, local_path, visitor

if TYPE_CHECKING:
    from vault.model.accounts import Account

_SITE = (("Site", "/"),)


def log_in_page(vault: Vault) -> Page:
    """Name and password."""
    return Page("log_in.html", "Log in", dict, {"next": local_path(query_arg("next"))}, _SITE)


def let_in(vault: Vault, _account: None) -> FormResult:
    """Check the password and begin a session."""
    with accounts() as kept:
        account, secret = log_in(
            kept,
            required_field("name"),
            request.form.get("password", ""),
            request.remote_addr or "",
        )
    begin_session(account, secret)
    return FormResult(local_path(form_field("next")), f"You are logged in as {account.person}.")


def own_account(vault: Vault) -> Page:
    """Who one is, what one may do, and the tokens."""
    account = visitor()
    tokens = []
    if account is not None:
        with accounts() as kept:
            tokens = kept.tokens(account.name)
    content = {"account": account, "tokens": tokens, "roles": ACCOUNT_ROLES}
    return Page("account.html", "Your account", dict, content, _SITE)


def change_account(vault: Vault, account: Account) -> FormResult:
    """Log out, change the password, make or end a token."""
    match required_field("do"):
        case "log-out":
            return log_out()
        case "password":
            return _new_password(vault, account)
        case "token":
            if current_user.secret is None:
                raise Refused(
                    "a token makes no tokens", hint="log in with the password, or: user token"
                )
            with accounts() as kept:
                purpose = required_field("purpose")
                made = kept.make_token(account.name, purpose, by=account.person)
            return FormResult("/account", f"The token, shown this once: {made}")
        case "end-token":
            with accounts() as kept:
                purpose = required_field("purpose")
                ended = kept.end_tokens(account.name, purpose, by=account.person)
            return FormResult("/account", f"{plural(ended, 'token')} ended.")
        case other:
            raise WrongUsage(f"there is nothing like {other!r} to do")


def log_out() -> FormResult:
    """End the session, here and in the vault."""
    if current_user.secret is not None:
        with accounts() as kept:
            kept.end_session(current_user.secret)
    logout_user()
    session.clear()
    return FormResult("/", "You are logged out.")


def _new_password(vault: Vault, account: Account) -> FormResult:
    fresh = request.form.get("new", "")
    if fresh != request.form.get("again", ""):
        raise WrongUsage("the new password was not typed the same twice")
    with accounts() as kept:
        old = request.form.get("password", "")
        if not is_own_password(kept, account.name, old, request.remote_addr or ""):
            raise Refused("the present password is not right")
    change_password(vault.state, account.name, fresh, by=account.person)
    logout_user()
    session.clear()
    return FormResult(
        "/log-in", "The password is changed; every session has ended. Log in with it."
    )
