"""Accounts that are damaged, removed or changed: nobody is let in as somebody, and it is told."""

from __future__ import annotations

import re
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import pytest
from flask import Flask

from tests.conftest import Outcome
from tests.webui.hostile import Export, made, settle
from tests.webui.visiting import PASSWORD, PEOPLE, Visit, token_for
from vault.jobs.accounts import accounts as people
from vault.store.local.accounts import FILE, Accounts
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]


@pytest.fixture(scope="module")
def pattern(
    tmp_path_factory: pytest.TempPathFactory, family_text: str, export_text: Export
) -> Path:
    """A vault with an account of each role, to be copied."""
    return made(tmp_path_factory.mktemp("accounts"), family_text, export_text)


@pytest.fixture
def folder(pattern: Path, tmp_path: Path) -> Path:
    return shutil.copytree(pattern, tmp_path / "plant")


def _bytes(file: Path, change: Callable[[bytes], bytes]) -> None:
    file.write_bytes(change(file.read_bytes()))


def _sql(file: Path, statements: str) -> None:
    database = sqlite3.connect(file)
    database.executescript(statements)
    database.close()


def _folder(file: Path) -> None:
    file.unlink()
    file.mkdir()


GOOD_COPY, MAY_READ = "put a good copy of it back", "must be able to read and write"
DAMAGE: dict[str, tuple[Callable[[Path], object], str]] = {
    "other bytes": (lambda f: _bytes(f, lambda b: bytes(range(256)) * 80), GOOD_COPY),
    "cut short": (lambda f: _bytes(f, lambda b: b[: len(b) // 2]), GOOD_COPY),
    "only its head": (lambda f: _bytes(f, lambda b: b[:100]), GOOD_COPY),
    "a folder": (_folder, MAY_READ),
    "newer": (lambda f: _sql(f, "PRAGMA user_version = 99"), "update this one"),
    "older": (lambda f: _sql(f, "PRAGMA user_version = 0"), GOOD_COPY),
    "no tables": (lambda f: _sql(f, "DROP TABLE accounts; DROP TABLE sessions"), GOOD_COPY),
    "a role there is not": (lambda f: _sql(f, "UPDATE accounts SET role = 'owner'"), GOOD_COPY),
    "no time": (lambda f: _sql(f, "UPDATE accounts SET created = 'long ago'"), GOOD_COPY),
}  # fmt: skip


@dataclass(frozen=True)
class Doors:
    """One vault behind an open and a closed viewer, and somebody inside of each."""

    folder: Path
    open_app: Flask
    closed_app: Flask
    inside: Visit
    away: Visit
    header: dict[str, str]


@pytest.fixture(scope="module")
def doors(pattern: Path, tmp_path_factory: pytest.TempPathFactory) -> Doors:
    folder = shutil.copytree(pattern, tmp_path_factory.mktemp("doors") / "plant")
    header = token_for(folder, "admin")
    apps = create_app(folder, is_local=True), create_app(folder)
    inside, away = map(Visit, apps)
    for visit in (inside, away):
        visit.log_in("technician")
    return Doors(folder, *apps, inside, away, header)


@pytest.fixture
def damaged(request: pytest.FixtureRequest, doors: Doors) -> Iterator[str]:
    """The accounts damaged in one way, until the test is over; what is advised then."""
    file = doors.folder / "axisvault" / FILE
    good = file.read_bytes()
    damage, advice = DAMAGE[request.param]
    damage(file)
    yield advice
    shutil.rmtree(file) if file.is_dir() else file.unlink()
    file.write_bytes(good)
    for visit in (doors.inside, doors.away):  # and they are taken up again at once
        assert visit.get("/work").status_code == 200


@pytest.mark.parametrize("damaged", DAMAGE, indirect=True)
def test_damaged_accounts_let_nobody_in_and_hide_nothing_that_is_open(
    damaged: str, doors: Doors, export_text: Export
) -> None:
    for visit in (Visit(doors.open_app), doors.inside):  # whatever cookie one has
        assert visit.get("/axis/m1/lift").status_code == 200
    for app in (doors.open_app, doors.closed_app):
        assert app.test_client().get("/healthz").status_code == 200
    with Vault.open(doors.folder) as vault:
        tip = vault.tip
    asking, header = doors.closed_app.test_client(), doors.header
    export = {"axis": "m1/lift", "export": (BytesIO(export_text("7").encode()), "a.csv")}
    for answer in (
        doors.inside.get("/work"),
        doors.away.get("/"),
        asking.get("/api/v1/", headers=header),
        asking.post("/api/v1/take-in", headers=header, data=export),
        Visit(doors.open_app).log_in("technician"),
        Visit(doors.closed_app).log_in("technician"),
    ):
        assert answer.status_code == 503
        assert FILE in answer.text
        assert damaged in answer.text
        assert "Traceback" not in answer.text
        assert str(doors.folder) not in answer.text
    assert asking.get("/").status_code == 303  # to the log-in, as before
    with Vault.open(doors.folder) as vault:
        assert vault.tip == tip


@pytest.mark.parametrize("damaged", ["cut short", "a folder"], indirect=True)
def test_a_viewer_that_begins_with_damaged_accounts_shows_what_is_open(
    damaged: str, doors: Doors
) -> None:
    app = create_app(doors.folder, is_local=True)
    assert app.test_client().get("/axis/m1/lift").status_code == 200
    assert app.test_client().get("/health").status_code == 200
    assert damaged in Visit(app).log_in("admin").text


@pytest.mark.parametrize("how", ["empty", "gone"])
def test_accounts_that_are_gone_are_nobody_s(how: str, folder: Path) -> None:
    header, app = token_for(folder, "admin"), create_app(folder)
    visit = Visit(app)
    visit.log_in("admin")
    file = folder / "axisvault" / FILE
    file.write_bytes(b"") if how == "empty" else file.unlink()
    assert visit.get("/").status_code == 303
    assert app.test_client().get("/api/v1/", headers=header).status_code == 401
    assert Visit(app).log_in("admin").status_code == 403


def test_the_command_line_says_which_file_is_damaged_and_what_to_do(folder: Path, cli: Cli) -> None:
    file = folder / "axisvault" / FILE
    file.write_bytes(b"x" * 5000)
    done = cli("--vault", folder, "user", "list")
    assert done.code == 6
    assert str(file) in done.stderr
    assert GOOD_COPY in done.stderr


def test_another_account_s_upload_can_be_neither_seen_nor_stored_nor_forgotten(
    folder: Path, export_text: Export
) -> None:
    app = create_app(folder)
    owner, other = Visit(app), Visit(app)
    owner.log_in("technician")
    other.log_in("admin")
    file = (BytesIO(export_text("7").encode()), "a.csv")
    page = owner.send("/take-in", axis="m1/lift", export=file).headers["Location"]
    assert other.get(page).status_code == 404
    for do in ("look", "store", "forget"):
        form = {"do": do, "axis-0": "m1/lift"}
        answer = other.send(page, form="/take-in", **form)
        assert answer.status_code == 400
        assert "nothing here that waits" in answer.text
    assert owner.get(page).status_code == 200
    done = owner.send(page, **{"do": "store", "axis-0": "m1/lift"})
    work = settle(app, done)
    assert "is stored as m1/lift@" in owner.get(work).text


def test_what_an_account_may_do_is_looked_up_for_every_request(folder: Path) -> None:
    app, header = create_app(folder), token_for(folder, "technician")
    visit, client = Visit(app), app.test_client()
    visit.log_in("technician")
    csrf = visit.csrf("/take-in")
    _sql(
        folder / "axisvault" / FILE, "UPDATE accounts SET role = 'reader' WHERE name = 'technician'"
    )
    fault = {"code": "3210h", "csrf_token": csrf}
    assert visit.client.post("/axis/m1/lift", data=fault).status_code == 403
    assert client.post("/api/v1/axis/m1/lift", data=fault, headers=header).status_code == 403
    assert visit.get("/axis/m1/lift").status_code == 200


def test_an_account_of_the_same_name_inherits_neither_session_nor_token(folder: Path) -> None:
    app, header = create_app(folder), token_for(folder, "reader")
    visit = Visit(app)
    visit.log_in("reader")
    with Accounts(folder / "axisvault") as accounts:
        accounts.remove("reader", by="Mira")
    people.add_account(
        folder / "axisvault", "reader", PEOPLE["admin"], "admin", PASSWORD, by="Mira"
    )
    assert visit.get("/").status_code == 303
    assert app.test_client().get("/api/v1/", headers=header).status_code == 401


def _remove(state: Path) -> None:
    with Accounts(state) as accounts:
        accounts.remove("reader", by="Mira")


def _change(state: Path) -> None:
    people.change_password(state, "reader", "seven wet stones", by="Mira")


def _replace(state: Path) -> None:
    _remove(state)
    people.add_account(state, "reader", PEOPLE["admin"], "admin", "seven wet stones", by="Mira")


@pytest.mark.parametrize("meanwhile", [_remove, _change, _replace])
def test_a_password_that_is_taken_away_while_it_is_looked_at_opens_nothing(
    meanwhile: Callable[[Path], None], folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    look = people._is_password

    def slow(hashed: str, password: str) -> bool:
        is_right = look(hashed, password)
        monkeypatch.setattr(people, "_is_password", look)
        meanwhile(folder / "axisvault")
        return is_right

    monkeypatch.setattr(people, "_is_password", slow)
    visit = Visit(create_app(folder))
    assert visit.log_in("reader").status_code == 403
    assert visit.get("/").status_code == 303


def test_guesses_at_the_same_moment_do_not_get_around_the_limit(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Eight may fail for an account from one address; the rest is not even looked at."""
    looked: list[str] = []
    monkeypatch.setattr(people, "_is_password", lambda _, text: bool(looked.append(text)))
    app, many = create_app(folder), 24
    at_once, answers = threading.Barrier(many), []

    def guess(number: int) -> None:
        visit = Visit(app)
        csrf = visit.csrf("/log-in")
        at_once.wait()
        form = {"name": "reader", "password": f"guess number {number}", "csrf_token": csrf}
        answers.append(visit.client.post("/log-in", data=form).status_code)

    threads = [threading.Thread(target=guess, args=(number,)) for number in range(many)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(answers) == many
    assert set(answers) <= {403, 429}
    assert len(looked) == answers.count(403) <= 8


def test_a_page_says_nothing_of_who_else_there_is(folder: Path) -> None:
    visit = Visit(create_app(folder))
    visit.log_in("reader")
    for address in ("/", "/account", "/work", "/health"):
        text = visit.get(address).text
        names = re.findall("technician|approver", re.sub(r"(?s)<p class=.when.*?</p>", "", text))
        assert names == []
