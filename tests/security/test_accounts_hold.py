"""Nobody locks another out, a token makes no tokens, and the log of accounts cannot be bent.

Accounts and people are invented.
"""

from __future__ import annotations

import sqlite3
import stat
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from tests.webui.visiting import PASSWORD, PEOPLE, Visit, add_people, token_for
from vault.jobs.accounts.accounts import TooManyAttempts, log_in, log_of_accounts
from vault.jobs.audit.audit import audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import Question
from vault.jobs.verify.verify import verify
from vault.model.accounts import Account
from vault.model.errors import Refused, Unavailable
from vault.store.clock import now
from vault.store.local import accounts as module
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault
from webui.app import create_app
from webui.background_work import Outcome as CameOf
from webui.background_work import WorkQueue


@pytest.fixture
def people(vault: Vault) -> Vault:
    add_people(vault.repository.path)
    return vault


def fails(accounts: Accounts, address: str, name: str = "reader") -> type[Exception]:
    try:
        log_in(accounts, name, "not the password", address)
    except Refused as error:
        return type(error)
    raise AssertionError("it let somebody in")


def test_one_address_cannot_lock_another_out(people: Vault) -> None:
    with Accounts(people.state) as accounts:
        for _ in range(200):
            fails(accounts, "10.0.0.9")
        assert fails(accounts, "10.0.0.9") is TooManyAttempts
        assert log_in(accounts, "reader", PASSWORD, "10.0.0.5")[0].name == "reader"


def test_many_addresses_of_one_network_are_one(people: Vault) -> None:
    with Accounts(people.state) as accounts:
        seen = [fails(accounts, f"2001:db8:1:2::{n:x}") for n in range(1, 12)]
        assert seen[-1] is TooManyAttempts
        assert log_in(accounts, "reader", PASSWORD, "2001:db8:1:3::1")[0].name == "reader"
        for n in range(1, 12):  # mapped IPv4 stays what it is
            fails(accounts, f"::ffff:10.0.0.{n}", "approver")
        assert log_in(accounts, "approver", PASSWORD, "::ffff:10.0.0.99")[0].name == "approver"


def test_attempts_of_a_clock_that_ran_ahead_count_for_nothing(
    people: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Accounts(people.state) as accounts:
        monkeypatch.setattr(module, "now", lambda: now() + timedelta(days=400))
        for _ in range(20):
            accounts.note_attempt("reader", "10.0.0.5")
        monkeypatch.undo()
        assert log_in(accounts, "reader", PASSWORD, "10.0.0.5")[0].name == "reader"


def test_a_token_makes_no_tokens(people: Vault) -> None:
    folder = people.repository.path
    app = create_app(folder, is_local=True)
    header = token_for(folder, "technician")
    client = app.test_client()
    sent = {"do": "token", "purpose": "one more"}
    answer = client.post("/account", data=sent, headers=header)
    assert answer.status_code == 403
    with Accounts(people.state) as accounts:
        assert [purpose for purpose, _ in accounts.tokens("technician")] == ["tests"]
    visit = Visit(app)
    visit.log_in("technician")
    assert visit.send("/account", **sent).status_code == 303
    with Accounts(people.state) as accounts:
        assert len(accounts.tokens("technician")) == 2


def test_rights_that_were_given_and_taken_are_told_and_no_secret_is(
    vault: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    (tmp_path / "word").write_text(PASSWORD + "\n")
    with_word = ("--password-file", "word")
    cli("user", "add", "mira", "--person", BY, "--role", "admin", *with_word)
    token = cli("user", "token", "mira", "--for", "nightly", "--json").json["token"]
    cli("user", "password", "mira", *with_word)
    cli("user", "token", "mira", "--for", "again")
    cli("user", "token", "mira", "--for", "again", "--withdraw")
    cli("user", "remove", "mira", "--by", PEOPLE["admin"])
    told = cli("user", "log", "--json").json
    assert [(one["what"], one["detail"]) for one in told["changes"]] == [
        ("added", f"admin, {BY}"),
        ("token made", "nightly"),
        ("another password, its tokens ended", ""),
        ("token made", "again"),
        ("token ended", "again"),
        ("removed", ""),
    ]
    assert {one["by"] for one in told["changes"]} == {BY, PEOPLE["admin"]}
    assert told["broken"] is None
    assert "account mira: added (admin" in cli("user", "log").stdout
    with Accounts(vault.state) as accounts:
        text = accounts.log_text()
    assert token not in text
    assert PASSWORD not in text
    assert "argon2" not in text


def test_the_audit_and_the_evidence_tell_of_accounts(
    people: Vault, take: Callable[..., Any], export_text: Callable[..., str], tmp_path: Path
) -> None:
    take(export_text("1"))
    asked = audit(people, Question("m1"))
    titles = [getattr(entry, "title", "") for entry in asked.entries]
    assert f"account approver: added (approver, {PEOPLE['approver']})" in titles
    write_evidence(people, asked, tmp_path / "evidence")
    kept = (tmp_path / "evidence/accounts.jsonl").read_text().splitlines()
    assert len(kept) == 4


@pytest.mark.parametrize(
    "statement",
    [
        "UPDATE log SET line = replace(line, 'reader', 'admin') WHERE n = 1",
        "DELETE FROM log WHERE n = 2",
    ],
)
def test_a_log_that_was_bent_past_the_program_is_told(people: Vault, statement: str) -> None:
    database = sqlite3.connect(people.state / module.FILE)
    with pytest.raises(sqlite3.IntegrityError, match="only appended"):
        database.execute(statement)
    for trigger in ("log_stays", "log_is_as_it_was"):
        database.execute(f"DROP TRIGGER {trigger}")
    database.execute(statement)
    database.commit()
    database.close()
    assert log_of_accounts(people.state).broken is not None
    assert "accounts" in {problem.kind for problem in verify(people).problems}


def test_accounts_of_an_older_file_are_in_the_log_once_there_is_one(vault: Vault) -> None:
    vault.state.mkdir(exist_ok=True)
    database = sqlite3.connect(vault.state / module.FILE)
    database.executescript(module._STEPS[0])
    database.execute("INSERT INTO accounts VALUES ('old', 'Oda <oda@x.example>', 'admin', 'x', 0)")
    database.execute("PRAGMA user_version = 1")
    database.commit()
    database.close()
    with Accounts(vault.state) as accounts:
        accounts.add("new", "Neu <neu@x.example>", "reader", "x", by=BY)
        found = [(one.what, one.account) for one in accounts.log().changes]
    assert found == [("was there", "old"), ("added", "new")]


def test_uploads_and_work_are_for_their_owner_alone(people: Vault) -> None:
    folder = people.repository.path
    (folder / "axisvault/work").mkdir(parents=True, exist_ok=True)
    (folder / "axisvault/work").chmod(0o755)
    queue = WorkQueue(folder)
    account = Account("reader", PEOPLE["reader"], "reader", now())
    work = queue.start("Verify", account, lambda *_: CameOf())
    queue.wait(30)
    for place in (folder / "axisvault/work", folder / "axisvault/work" / work.id):
        assert stat.S_IMODE(place.stat().st_mode) == 0o700


def test_work_of_one_account_can_be_bounded(people: Vault) -> None:
    queue = WorkQueue(people.repository.path, most=1)
    release = threading.Event()

    def long(*_: Any) -> CameOf:
        release.wait(60)
        return CameOf()

    accounts = [Account(name, PEOPLE[name], name, now()) for name in ("reader", "admin")]
    queue.start("Verify", accounts[0], long)
    with pytest.raises(Unavailable, match="1 work of reader run"):
        queue.start("Verify", accounts[0], long)
    queue.start("Verify", accounts[1], long)
    release.set()
    queue.wait(60)
    queue.start("Verify", accounts[0], long)
    queue.wait(60)
