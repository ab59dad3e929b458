"""Who may do what: roles, sessions, throttling, forms, and what a visitor gets to see of errors."""

from __future__ import annotations

import re
import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher, Type, extract_parameters
from flask import Flask

from tests.conftest import BY, Outcome
from tests.webui.visiting import PASSWORD, PEOPLE, Visit, add_people, token_for
from vault.jobs.accounts import accounts as people
from vault.jobs.audit.audit import audit
from vault.jobs.audit.question import Question
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit as visit_of
from vault.jobs.records.edit import set_site
from vault.model.accounts import ACCOUNT_ROLES
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store import clock
from vault.store.local import accounts as kept
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault
from webui.app import create_app
from webui.routes import ROUTES

Cli = Callable[..., Outcome]
Doors = dict[str | None, Visit]


@pytest.fixture(scope="module")
def peopled(
    with_hazel: Path, tmp_path_factory: pytest.TempPathFactory, export_text: Callable[..., str]
) -> Path:
    """A vault with one axis, three snapshots and an account of each role, for copying only."""
    place = tmp_path_factory.mktemp("peopled")
    shutil.copytree(with_hazel / "plant", place / "plant")
    with Vault.open(place / "plant") as vault:
        for day, lag in (("1", "2,5"), ("2", "3"), ("3", "4")):
            (place / "lift.csv").write_text(export_text(lag))
            who = visit_of(BY, taken_at=f"2026-03-0{day}T08:00:00+00:00")
            ingest(vault, place / "lift.csv", Address.parse("m1/lift"), who)
    add_people(place / "plant")
    return place / "plant"


@pytest.fixture
def folder(peopled: Path, tmp_path: Path) -> Path:
    """A copy of that vault."""
    return Path(shutil.copytree(peopled, tmp_path / "plant"))


@pytest.fixture
def app(folder: Path) -> Iterator[Flask]:
    made = create_app(folder)
    yield made
    made.extensions["work_queue"].wait(60)


@pytest.fixture(scope="module")
def doors(peopled: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Doors]:
    """A visit for each role, one without, to a copy on which only refused writing is tried."""
    made = create_app(shutil.copytree(peopled, tmp_path_factory.mktemp("doors") / "plant"))
    visits: dict[str | None, Visit] = {role: Visit(made) for role in (None, *ACCOUNT_ROLES)}
    for role, visit in visits.items():
        if role is not None:
            assert visit.log_in(role).status_code == 303
    yield visits
    made.extensions["work_queue"].wait(60)


def addresses() -> list[tuple[str, str]]:
    """Every address that can be written to, and the role that it takes."""
    return [
        (
            route.rule.replace("<machine_name>/<axis_name>", "m1/lift").replace(
                "<upload_id>", "abcdefghijklmnop"
            ),
            route.form.role,
        )
        for route in ROUTES
        if route.form is not None and route.form.role is not None
    ]


_PAGES_ONLY = {
    "/account", "/take-in/abcdefghijklmnop", "/draft", "/draft/abcdefghijklmnop",
    "/families/<name>", "/new-axis", "/axis/m1/lift/standing", "/machine/<machine_name>/record",
}  # fmt: skip
# What a form says that is allowed; what comes of it depends on the address.
FIELDS = {"do": "none", "place": "m1", "code": "8611h", "what": "new"}


@pytest.mark.parametrize(("address", "needed"), addresses())
@pytest.mark.parametrize("role", [None, *ACCOUNT_ROLES])
def test_every_writing_address_lets_in_who_may_and_nobody_else(
    address: str, needed: str, role: str | None, doors: Doors
) -> None:
    order = list(ACCOUNT_ROLES)
    visit = doors[role]
    csrf = visit.csrf("/log-in")
    answer = visit.client.post(address, data={**FIELDS, "csrf_token": csrf})
    may = role is not None and order.index(role) >= order.index(needed)
    if may:
        assert answer.status_code in (303, 400, 404, 422)  # done, or refused for what was sent
        assert "/log-in" not in answer.headers.get("Location", "")
    elif role is None:
        assert answer.status_code == 303
        assert answer.headers["Location"].startswith("/log-in?next=")
    else:
        assert answer.status_code == 403
        assert f"takes the role {needed}" in answer.text


@pytest.mark.parametrize(("address", "needed"), addresses())
def test_every_writing_address_asks_a_script_for_its_token(
    address: str, needed: str, doors: Doors
) -> None:
    client = doors[None].client.application.test_client()
    answer = client.post(f"/api/v1{address}", data=FIELDS)
    if address in _PAGES_ONLY:
        assert answer.status_code in (404, 405)  # no part of the API
        return
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")
    wrong = client.post(f"/api/v1{address}", data=FIELDS, headers={"Authorization": "Bearer x"})
    assert wrong.status_code == 401


@pytest.mark.parametrize(("address", "needed"), addresses())
def test_a_form_from_elsewhere_does_nothing(address: str, needed: str, doors: Doors) -> None:
    visit = doors["admin"]
    for sent in (FIELDS, {**FIELDS, "csrf_token": "made-up"}):
        answer = visit.client.post(address, data=sent)
        assert answer.status_code == 400
        assert "not one of ours" in answer.text


def test_a_session_cannot_write_through_the_api_without_the_form_s_token(app: Flask) -> None:
    visit = Visit(app)
    visit.log_in("technician")
    assert visit.client.post("/api/v1/axis/m1/lift", data={"code": "8611h"}).status_code == 400


def test_reading_takes_a_log_in_unless_only_this_machine_reaches_it(
    app: Flask, folder: Path
) -> None:
    away, here = app.test_client(), create_app(folder, is_local=True).test_client()
    for address in ("/", "/axis/m1/lift", "/health", "/find?text=following", "/metrics"):
        assert here.get(address).status_code == 200
        assert away.get(address).status_code in (303, 401)
    assert away.get("/api/v1/axis/m1/lift").status_code == 401
    assert away.get("/axis/m1/lift?units=si").headers["Location"] == (
        "/log-in?next=%2Faxis%2Fm1%2Flift%3Funits%3Dsi"
    )
    for address in ("/healthz", "/style.css", "/log-in"):
        assert away.get(address).status_code == 200


@pytest.mark.parametrize(("wanted", "is_local", "status"), [(True, False, 200), (False, True, 303)])
def test_the_site_may_say_whether_reading_is_open(
    wanted: bool, is_local: bool, status: int, folder: Path, tmp_path: Path
) -> None:
    record = tmp_path / "site.yaml"
    record.write_text(
        f"schema: axisvault/vault/1\nsite: Works\nopen_reading: {str(wanted).lower()}\n"
    )
    with Vault.open(folder) as vault:
        set_site(vault, record, BY)
    assert create_app(folder, is_local=is_local).test_client().get("/").status_code == status


def test_a_page_elsewhere_cannot_call_this_machine_by_a_name_of_its_own(folder: Path) -> None:
    client = create_app(folder, is_local=True).test_client()
    assert client.get("/", base_url="http://elsewhere.example").status_code == 400
    assert client.get("/", base_url="http://127.0.0.1:8080").status_code == 200


def test_logging_in_begins_a_new_session_and_logging_out_ends_it(app: Flask, folder: Path) -> None:
    visit = Visit(app)
    visit.get("/log-in")
    before = visit.client.get_cookie("axisvault")
    form = visit.csrf("/log-in")
    answer = visit.log_in("reader")
    after = visit.client.get_cookie("axisvault")
    assert answer.status_code == 303
    assert before is not None
    assert after is not None
    assert before.value != after.value
    assert visit.csrf("/account") != form  # nothing of the old session is good any more
    # A cookie that was fixed before logging in, or kept after logging out, opens nothing.
    for cookie in (before, after):
        if cookie is after:
            visit.send("/account", do="log-out")
        thief = app.test_client()
        thief.set_cookie("axisvault", cookie.value)
        assert thief.get("/").status_code == 303


def test_the_cookie_is_out_of_reach_and_goes_over_tls_only_where_there_is_tls(
    folder: Path,
) -> None:
    plain, proxied = create_app(folder), create_app(folder, proxies=1)
    cookie = plain.test_client().get("/log-in").headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie
    assert "Secure" not in cookie
    secure = {"X-Forwarded-Proto": "https", "X-Forwarded-Host": "vault.example"}
    answer = proxied.test_client().get("/log-in", headers=secure)
    assert "Secure" in answer.headers["Set-Cookie"]
    assert "max-age" in answer.headers["Strict-Transport-Security"]
    # Unless it is configured, what anybody writes into these headers is not believed.
    assert "Secure" not in plain.test_client().get("/log-in", headers=secure).headers["Set-Cookie"]


def test_sessions_end_when_idle_and_after_a_shift(
    app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = clock.now()
    monkeypatch.setattr(kept, "now", lambda: moment)
    visit = Visit(app)
    visit.log_in("reader")
    for _ in range(7):  # used every hour and a half, until it has lasted too long
        moment += timedelta(minutes=90)
        assert visit.get("/").status_code == 200
    moment += timedelta(minutes=100)
    assert visit.get("/").status_code == 303
    visit = Visit(app)
    visit.log_in("reader")
    moment += timedelta(minutes=121)
    assert visit.get("/").status_code == 303


def test_removing_an_account_or_changing_its_password_ends_sessions_and_tokens(
    app: Flask, folder: Path, cli: Cli
) -> None:
    visit, header = Visit(app), token_for(folder, "reader")
    visit.log_in("reader")
    assert app.test_client().get("/api/v1/", headers=header).status_code == 200
    form = {"do": "password", "password": PASSWORD, "new": "seven wet stones", "again": "x"}
    assert visit.send("/account", **form).status_code == 400
    form["again"] = form["new"]
    assert visit.send("/account", **{**form, "password": "wrong"}).status_code == 403
    other = Visit(app)
    other.log_in("reader")
    assert visit.send("/account", **form).status_code == 303
    assert other.get("/").status_code == 303
    assert app.test_client().get("/api/v1/", headers=header).status_code == 401
    assert other.log_in("reader").status_code == 403
    assert other.log_in("reader", "seven wet stones").status_code == 303
    assert cli("user", "remove", "reader").code == 0
    assert other.get("/").status_code == 303


def test_guessing_is_slowed_down_per_account_and_address(app: Flask, folder: Path) -> None:
    visit = Visit(app)
    codes = [visit.log_in("reader", f"guess number {n}").status_code for n in range(12)]
    assert codes == [403] * 8 + [429] * 4
    answer = visit.log_in("reader")  # even the right password has to wait
    assert answer.status_code == 429
    assert 0 < int(answer.headers["Retry-After"]) <= 15 * 60
    assert visit.log_in("admin").status_code == 303  # another account, from the same place
    elsewhere = {"environ_base": {"REMOTE_ADDR": "192.0.2.7"}}  # RFC 5737
    form = {"name": "reader", "password": PASSWORD}
    page = app.test_client()
    token = re.findall(r'csrf_token" value="([^"]+)', page.get("/log-in", **elsewhere).text)[0]
    answer = page.post("/log-in", data={**form, "csrf_token": token}, **elsewhere)
    assert answer.status_code == 303  # the owner is not shut out


def test_guessing_many_accounts_from_one_address_is_slowed_down(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    moment = clock.now()
    for module in (people, kept):
        monkeypatch.setattr(module, "now", lambda: moment)
    monkeypatch.setattr(people, "_is_password", lambda hashed, password: False)
    with Accounts(folder / "axisvault") as accounts:
        for n in range(40):
            with pytest.raises(people.Refused, match="name or password"):
                people.log_in(accounts, f"name{n}", "x", "192.0.2.9")
        with pytest.raises(people.TooManyAttempts):
            people.log_in(accounts, "name99", "x", "192.0.2.9")
        moment += timedelta(minutes=16)
        with pytest.raises(people.Refused, match="name or password"):
            people.log_in(accounts, "name99", "x", "192.0.2.9")


def test_a_wrong_name_and_a_wrong_password_look_the_same(app: Flask) -> None:
    visit = Visit(app)
    texts = [
        re.sub(r'value="[^"]*"', "", visit.log_in(name, "wrong wrong wrong").text)
        for name in ("reader", "nobody")
    ]
    assert "name or password is not right" in texts[0]
    assert texts[0] == texts[1]


def test_log_ins_that_failed_stand_in_the_audit(app: Flask, folder: Path, cli: Cli) -> None:
    start = clock.now()
    visit = Visit(app)
    for _ in range(3):
        visit.log_in("approver", "wrong wrong wrong")
    with Vault.open(folder) as vault:
        (entry,) = audit(vault, Question("m1/lift", start=start)).entries
    assert entry.title == "3 attempts to log in failed, account approver, from 127.0.0.1"
    assert "3 attempts to log in failed" in cli("audit", "m1").stdout


def test_after_logging_in_one_goes_on_where_one_wanted_to_and_nowhere_else(app: Flask) -> None:
    for wanted, led in (
        ("/axis/m1/lift", "/axis/m1/lift"),
        ("//evil.example/", "/"),
        ("https://evil.example/", "/"),
        ("/\\evil.example", "/"),
        ("/log-in", "/"),
    ):
        visit = Visit(app)
        answer = visit.send("/log-in", name="reader", password=PASSWORD, next=wanted)
        assert answer.headers["Location"] == led


def test_every_write_is_recorded_by_its_account(app: Flask, folder: Path) -> None:
    visit = Visit(app)
    visit.log_in("approver")
    page = "/axis/m1/lift/golden"
    answer = visit.send(page, do="approve", when="latest", reason="as it should be")
    assert answer.status_code == 303
    with Vault.open(folder) as vault:
        approval = vault.golden(next(iter(vault.axes()))).approval
        assert approval is not None
        assert approval.by == PEOPLE["approver"]
        assert vault.repository.commit_header(vault.tip).author == PEOPLE["approver"]


def test_what_is_refused_is_told_and_nothing_that_was_typed_is_lost(app: Flask) -> None:
    visit = Visit(app)
    visit.log_in("approver")
    page = "/axis/m1/lift/golden"
    visit.send(page, do="approve", when="latest", reason="as it should be")
    form = {"do": "waive", "code": "lim/lag", "allow": "4..x mm", "until": "2099-01-01"}
    answer = visit.send(page, **form, reason="worn <screw>")
    assert answer.status_code == 400
    assert 'role="alert"' in answer.text
    assert "worn &lt;screw&gt;" in answer.text
    assert "4..x mm" in answer.text


@pytest.mark.parametrize("role", ["reader", "technician"])
def test_work_is_seen_by_who_began_it_and_by_an_admin(role: str, app: Flask) -> None:
    owner = Visit(app)
    owner.log_in("approver")
    work = owner.send("/audit", form="/audit?place=m1/lift", place="m1/lift").headers["Location"]
    app.extensions["work_queue"].wait(60)
    assert owner.get(f"{work}/file").status_code == 200
    other, admin = Visit(app), Visit(app)
    other.log_in(role)
    admin.log_in("admin")
    for address in (work, f"{work}/file", f"/api/v1{work}"):
        assert other.get(address).status_code == 403
        assert admin.get(address).status_code == 200


@pytest.mark.parametrize(
    "address",
    ["/work/..%2F..%2Findex", "/work/../accounts.sqlite", "/work/aaaaaaaaaaaaaaaa/file",
     "/take-in/..%2F..%2F..%2F", "/take-in/aaaaaaaaaaaaaaaa"],
)  # fmt: skip
def test_tricks_with_addresses_lead_nowhere(address: str, app: Flask, folder: Path) -> None:
    visit = Visit(app)
    visit.log_in("admin")
    answer = visit.get(address)
    assert answer.status_code == 404
    assert str(folder) not in answer.text


def test_more_than_is_taken_is_refused(app: Flask) -> None:
    app.config["MAX_CONTENT_LENGTH"] = 10_000
    visit = Visit(app)
    visit.log_in("technician")
    csrf = visit.csrf("/take-in")
    sent: dict[str, Any] = {"csrf_token": csrf, "export": (BytesIO(b"x" * 20_000), "a.csv")}
    assert visit.client.post("/take-in", data=sent).status_code == 413


def test_passwords_and_secrets_are_not_kept_as_they_are(app: Flask, folder: Path) -> None:
    visit, header = Visit(app), token_for(folder, "reader")
    visit.log_in("reader")
    file = folder / "axisvault" / kept.FILE
    content = b"".join(path.read_bytes() for path in file.parent.glob(f"{kept.FILE}*"))
    assert b"$argon2id$" in content
    assert PASSWORD.encode() not in content
    assert header["Authorization"].removeprefix("Bearer ").encode() not in content
    assert file.stat().st_mode & 0o077 == 0


def test_passwords_are_hashed_at_the_cost_that_the_standard_recommends(
    quick_passwords: PasswordHasher,
) -> None:
    """RFC 9106, section 4, second recommended option: 3 passes, 4 lanes, 64 MiB, 128-bit salt."""
    hashed = extract_parameters(quick_passwords.hash(PASSWORD))
    assert hashed.type is Type.ID
    assert (hashed.time_cost, hashed.parallelism) == (3, 4)
    assert hashed.memory_cost >= 64 * 1024  # KiB
    assert (hashed.salt_len, hashed.hash_len) >= (16, 32)
    assert quick_passwords.check_needs_rehash(people._HASHER.hash(PASSWORD))


@pytest.mark.parametrize("password", ["short", "x" * 40, "other123456789"])
def test_a_password_that_is_guessed_at_once_is_refused(password: str, folder: Path) -> None:
    with pytest.raises(WrongUsage):
        people.add_account(folder / "axisvault", "other", "A <a@b>", "reader", password, by="Mira")


def test_a_vault_that_may_only_be_read_is_shown_and_nobody_logs_in(
    works: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(works, tmp_path / "plant")

    def unwritable(self: Accounts, state: Path) -> None:
        raise kept.Unavailable("the accounts cannot be read or written: read-only")

    monkeypatch.setattr(Accounts, "__init__", unwritable)
    client = create_app(tmp_path / "plant", is_local=True).test_client()
    assert client.get("/").status_code == 200
    assert client.get("/log-in").status_code == 200


def test_accounts_are_added_listed_and_removed_at_the_command_line(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    (tmp_path / "secret").write_text(f"{PASSWORD}\n")
    person = "Mira Okafor <mira@tileworks.example>"
    add = ("user", "add", "mira", "--person", person, "--role", "technician")
    assert cli(*add, "--password-file", "secret").code == 0
    assert cli(*add, "--password-file", "secret").code == 2  # there is one already
    assert cli("user", "add", "Mira!", "--person", person, "--password-file", "secret").code == 2
    (one,) = cli("user", "list", "--json").json["accounts"]
    assert (one["name"], one["role"], one["person"]) == ("mira", "technician", person)
    token = cli("user", "token", "mira", "--for", "reports").stdout.strip()
    client = create_app(vault.repository.path).test_client()
    header = {"Authorization": f"Bearer {token}"}
    assert client.get("/api/v1/", headers=header).status_code == 200
    assert cli("user", "token", "mira", "--for", "reports", "--withdraw").code == 0
    assert client.get("/api/v1/", headers=header).status_code == 401
    assert cli("user", "remove", "mira").code == 0
    assert cli("user", "list").stdout == "There is no account: axisvault user add NAME\n"
