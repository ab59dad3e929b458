"""Who is there: sessions and tokens, what their role allows, and that a form is our own."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from flask import abort, current_app, g, redirect, request, session
from flask.sessions import SecureCookieSessionInterface
from flask_login import LoginManager, UserMixin, current_user, login_user
from flask_wtf.csrf import CSRFProtect

from vault.model.accounts import Account
from vault.model.errors import Refused, Unavailable, VaultError
from vault.model.wording import with_article
from vault.store.local.accounts import Accounts

if TYPE_CHECKING:
    from pathlib import Path

    from flask import Flask, Request

    from vault.store.vault import Vault

_csrf = CSRFProtect()


class Visitor(UserMixin):  # type: ignore[misc]
    """Somebody with an account; `secret` is that of the session, None with a token."""

    def __init__(self, account: Account, secret: str | None) -> None:
        self.account = account
        self.secret = secret

    def get_id(self) -> str | None:
        """What the session's cookie carries."""
        return self.secret


class _Cookies(SecureCookieSessionInterface):
    """Cookies that go over TLS only where there is TLS."""

    def get_cookie_secure(self, app: Flask) -> bool:
        return request.is_secure


def set_up(app: Flask) -> None:
    """Know who is there."""
    app.secret_key = _key(state_folder(app))
    app.session_interface = _Cookies()
    app.config.update(
        SESSION_COOKIE_NAME="axisvault",
        SESSION_COOKIE_HTTPONLY=True,
        SESSION_COOKIE_SAMESITE="Lax",
        WTF_CSRF_CHECK_DEFAULT=False,  # by `check_csrf`, since tokens need none
        WTF_CSRF_TIME_LIMIT=None,  # as long as the session
    )
    _csrf.init_app(app)
    manager = LoginManager(app)
    manager.session_protection = None  # addresses change on phones; the session itself is checked
    manager.user_loader(_by_session)
    manager.request_loader(_by_token)
    app.jinja_env.globals |= {"visitor": visitor, "may": may}


def state_folder(app: Flask) -> Path:
    """Where accounts, uploads and work lie: beside the repository."""
    folder: Path = app.config["VAULT"] / "axisvault"
    return folder


def accounts() -> Accounts:
    """The accounts, to be closed. Raises Unavailable."""
    return Accounts(state_folder(current_app))


def _key(state: Path) -> bytes:
    try:
        with Accounts(state) as kept:
            return kept.key("session")
    except Unavailable:  # a vault that may only be read: nobody can log in there
        import secrets

        return secrets.token_bytes(32)


def _by_session(secret: str) -> Visitor | None:
    account = _looked_up(lambda kept: kept.of_session(secret))
    return Visitor(account, secret) if account else None


def _by_token(asking: Request) -> Visitor | None:
    sent = asking.authorization
    if sent is None or sent.type != "bearer" or not sent.token:
        return None
    secret = sent.token
    account = _looked_up(lambda kept: kept.of_token(secret))
    return Visitor(account, None) if account else None


def _looked_up(find: Callable[[Accounts], Account | None]) -> Account | None:
    """Who that is; nobody where the accounts cannot be read.

    Why they cannot is kept for `_nobody_is_there`: what everybody may read is shown all the same.
    """
    try:
        with accounts() as kept:
            return find(kept)
    except Unavailable as error:
        current_app.logger.error("%s", error)
        g.accounts_problem = error
        return None


def visitor() -> Account | None:
    """The account of whoever is there."""
    user: Any = current_user
    return user.account if user.is_authenticated else None


def may(role: str) -> bool:
    """Whether whoever is there may do what a role may do."""
    account = visitor()
    return account is not None and account.may(role)


def require_account(role: str) -> Account:
    """The account, which must have a role. Else the answer is to log in, or a refusal."""
    account = visitor()
    if account is None:
        _nobody_is_there()
    elif not account.may(role):
        raise Refused(
            f"this takes the role {role}, and {account.name} is {with_article(account.role)}"
        )
    assert account is not None
    return account


def require_reader(vault: Vault) -> None:
    """Let everybody read where that is open, else only who has an account."""
    if visitor() is None and not reading_is_open(vault):
        _nobody_is_there()


def reading_is_open(vault: Vault) -> bool:
    """Whether the pages may be read without logging in."""
    try:
        wanted = vault.site_record.open_reading
    except VaultError:  # somebody broke vault.yaml
        wanted = None
    return bool(current_app.config["IS_LOCAL"]) if wanted is None else wanted


def _nobody_is_there() -> None:
    """Ask to log in, or say why nobody can. Raises Unavailable."""
    problem: Unavailable | None = g.get("accounts_problem")
    if problem is not None:
        raise problem
    if request.path.startswith("/api/") or request.path == "/metrics":
        abort(401, "Log in: send a token as 'Authorization: Bearer TOKEN'.")
    asked = request.full_path.rstrip("?") if request.method == "GET" else request.path
    from urllib.parse import quote

    abort(redirect(f"/log-in?next={quote(asked, safe='')}", 303))


def check_csrf() -> None:
    """Answer 400 unless the form came from a page of ours; a token needs no form."""
    if current_user.is_authenticated and current_user.secret is None:
        return
    _csrf.protect()


def begin_session(account: Account, secret: str) -> None:
    """Begin a session: nothing of what the browser had before is kept."""
    session.clear()
    login_user(Visitor(account, secret))


def local_path(wanted: str | None) -> str:
    """An address of this site to go on with; the front page for anything else."""
    text = wanted or "/"
    is_ours = text.startswith("/") and not text.startswith(("//", "/\\", "/log-in"))
    return text if is_ours and text.isprintable() and "\\" not in text else "/"
