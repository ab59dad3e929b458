"""Text that nobody types by accident, wherever text can be written: nothing of it runs or hides."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from urllib.parse import quote

import pytest
from flask import Flask

from tests.webui.hostile import HOSTILE, UNSEEN, Export, Parsed, came_through, made, settle
from tests.webui.visiting import Visit
from vault.jobs.accounts.accounts import failed_log_ins
from vault.model.visible_text import STAND_IN, visible
from vault.store.clock import now
from webui.app import create_app
from webui.routes import ROUTES

pytestmark = pytest.mark.sweep(4)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, family_text: str, export_text: Export) -> Path:
    return made(tmp_path_factory.mktemp("hostile"), family_text, export_text)


@pytest.fixture(scope="module")
def app(folder: Path) -> Iterator[Flask]:
    app = create_app(folder)
    yield app
    app.extensions["work_queue"].wait(60)


@pytest.fixture(scope="module")
def admin(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("admin")
    return visit


def hostile_export(export_text: Export, lag: str) -> bytes:
    """An export whose names, codes, units and nameplate are markup, as far as its format goes."""
    text = "".join(c for c in HOSTILE if c not in '";\x00\u2028')
    rows = export_text(lag).replace("Setting 3;", f"{text};")
    return rows.replace("HZ-04;;", f"HZ-04{text};;\r\nSerial;{text};;").encode()


@pytest.fixture(scope="module")
def told(
    tmp_path_factory: pytest.TempPathFactory, family_text: str, export_text: Export
) -> dict[str, str]:
    """Every page that shows hostile text, after that was written wherever it can be."""
    folder = made(tmp_path_factory.mktemp("told"), family_text, export_text)
    app = create_app(folder)
    person = Visit(app)
    person.log_in("admin")
    more = {"work_order": HOSTILE, "note": HOSTILE}
    file = (BytesIO(hostile_export(export_text, "4")), "a.csv")
    waiting = person.send("/take-in", axis="m1/lift", export=file, **more).headers["Location"]
    pages = {"waiting": person.get(waiting).text}
    store = {"axis-0": "m1/lift", "even_so-0": HOSTILE, "do": "store", **more}
    pages["stored"] = person.get(settle(app, person.send(waiting, **store))).text
    golden = "/axis/m1/lift/golden"
    for act in (
        {"do": "approve", "when": "latest"},
        {"do": "waive", "code": "lim/lag", "allow": "any", "until": "2099-01-01"},
    ):
        assert person.send(golden, reason=HOSTILE, **act).status_code == 303
    fault = person.send("/axis/m1/lift", form="/account", code="3210h", note=HOSTILE)
    assert fault.status_code == 303
    plan = person.send("/restore/m1/lift", when="latest").headers["Location"]
    pages["planned"] = person.get(plan).text
    person.send(plan, do="tick", **{"text:move.1": HOSTILE})
    left = (BytesIO(hostile_export(export_text, "5")), "left.csv")
    check = person.send(plan, do="check", export=left, even_so=HOSTILE, **more)
    pages["checked"] = person.get(check.headers["Location"]).text
    signed = person.send(plan, do="sign-off", even_so=HOSTILE)
    pages["signed"] = person.get(plan).text
    assert signed.status_code == 303
    person.send("/account", do="token", purpose=visible(HOSTILE)[:60])
    Visit(app).log_in(HOSTILE[-30:], "x")
    packed = settle(app, person.send("/audit", form="/audit?place=m1", place="m1", fault="3210h"))
    with zipfile.ZipFile(BytesIO(person.get(f"{packed}/file").data)) as package:
        pages["report"] = package.read("evidence-m1/report.html").decode()
    axis, both = "/axis/m1/lift", "/compare?left=m1/lift@first&right=m1/lift"
    for address in (
        "/", "/machine/m1", axis, f"{axis}/at/latest", f"{axis}/at/latest/check", golden,
        f"{axis}/parameter/set/3", f"{axis}/parameter/lim/lag", "/restore/m1/lift", both,
        "/restore/m1/lift/sheet", f"{both}&all=1", "/account", "/work",
        "/audit?place=m1&fault=3210h", "/find?text=set", "/spread?pattern=m1/*", "/take-in",
    ):  # fmt: skip
        answer = person.get(address)
        assert answer.status_code == 200, address
        pages[address] = answer.text
    return pages


def test_markup_and_hidden_signs_stay_text_on_every_page(told: dict[str, str]) -> None:
    assert {name: came_through(text) for name, text in told.items() if came_through(text)} == {}


def test_what_is_hidden_in_a_text_is_marked_and_the_rest_is_there(told: dict[str, str]) -> None:
    for page in (
        "waiting", "report", "/axis/m1/lift", "/axis/m1/lift/golden", "checked", "signed",
        "/compare?left=m1/lift@first&right=m1/lift", "/audit?place=m1&fault=3210h", "/account",
        "/restore/m1/lift/sheet",
    ):  # fmt: skip
        assert "&lt;zz-tag&gt;" in told[page], page
    assert STAND_IN in told["/audit?place=m1&fault=3210h"]


def test_a_nameplate_cannot_turn_what_stands_beside_it_around(told: dict[str, str]) -> None:
    """Unicode Standard Annex 9: an override holds to the end of its paragraph."""
    assert f"{{{{1234*5678}}}}{STAND_IN}{STAND_IN}" in told["/axis/m1/lift"]


def forms() -> list[tuple[str, str, str]]:
    """Address of every act, a page with its form, and each of its fields."""
    shown = {
        "/axis/m1/lift": "/axis/m1/lift/golden", "/audit": "/audit?place=m1",
        "/restore/m1/lift/plan/<number>": "/restore/m1/lift",
        "/restore/m1/lift/check": "/restore/m1/lift",
    }  # fmt: skip
    more = {"/log-in": ["name", "password", "next"],
            "/account": ["do", "purpose", "password", "new", "again"]}  # fmt: skip
    found = []
    for route in ROUTES:
        if route.form is not None and "<upload_id>" not in route.rule:
            address = route.rule.replace("<machine_name>/<axis_name>", "m1/lift")
            fields = [*route.form.fields, *more.get(address, [])]
            found += [(address, shown.get(address, address), field) for field in fields]
    return found


# What is right, so that the one hostile field is looked at.
USUAL = {
    "/axis/m1/lift/golden": {
        "do": "waive", "code": "lim/lag", "allow": "any", "until": "2099-01-01", "reason": "x",
    },
    "/audit": {"place": "m1"},
    "/axis/m1/lift": {"code": "3210h"},
    "/account": {"do": "token", "purpose": "x"},
    "/log-in": {"name": "reader", "password": "x"},
    "/take-in": {"axis": "m1/lift"},
}  # fmt: skip
NUMBERS = ("encoder_bits", "rated_current", "rated_torque", "moved", "allow")


@pytest.mark.parametrize(("address", "page", "field"), forms())
def test_any_field_may_hold_anything(
    address: str, page: str, field: str, app: Flask, admin: Visit
) -> None:
    who = Visit(app) if address == "/log-in" else admin
    wide = ("1e999999999..2e999999999 mm", "1e999999999 mm=1 mm") if field in NUMBERS else ()
    if "<number>" in address:
        address = who.send("/restore/m1/lift", do="make").headers["Location"]
    for text in (HOSTILE, "9" * 10_000, *wide):
        answer = who.send(address, form=page, **{**USUAL.get(address, {}), field: text})
        assert answer.status_code in (303, 400, 403, 404, 422, 429)
        assert came_through(answer.text) == []
        assert len(answer.headers.get("Set-Cookie", "")) < 4096  # RFC 6265, 6.1
        if answer.status_code == 303:
            assert answer.headers["Location"].startswith("/")
            assert came_through(who.get(answer.headers["Location"]).text) == []
            app.extensions["work_queue"].wait(60)


def test_a_waiting_export_may_be_given_anything_and_can_be_opened_again(
    admin: Visit, export_text: Export
) -> None:
    file = (BytesIO(export_text("4").encode()), "a.csv")
    page = admin.send("/take-in", axis="m1/lift", export=file).headers["Location"]
    assert {"axis-0", "even_so-0", "note"} <= Parsed(admin.get(page).text).fields
    fields = ("axis", "family", "channel", "taken_at", "partial", "even_so", "occasion", "note")
    for field in fields:
        name = field if field in ("occasion", "note") else f"{field}-0"
        for text in (HOSTILE, "9" * 10_000, "²"):
            answer = admin.send(page, **{"axis-0": "m1/lift", name: text})
            assert answer.status_code == 303
            answer = admin.get(page)
            assert answer.status_code == 200
            assert came_through(answer.text) == []
    assert admin.send(page, do="forget").status_code == 303


@pytest.mark.parametrize(
    "address",
    ["/find?text={}", "/find?text=set&value={}", "/spread?pattern={}",
     "/compare?left={0}&right={0}", "/compare?left=m1/lift@first&right=m1/lift&fault={}",
     "/audit?place={}", "/restore/m1/lift?motor={}", "/restore/m1/lift?when={}",
     "/axis/m1/lift/golden?when={}", "/axis/m1/lift/golden?code={}",
     "/axis/m1/lift/parameter/{}", "/families/{}", "/machine/{}", "/?units={}",
     "/log-in?next={}", "/take-in/{}", "/work/{}",
     "/draft/{}", "/draft/{}/file", "/families/hazel?code={}"],
)  # fmt: skip
def test_any_address_may_ask_for_anything(address: str, admin: Visit) -> None:
    for text in (HOSTILE, "9" * 10_000):
        answer = admin.get(address.format(quote(text, safe="")))
        assert answer.status_code in (200, 400, 404, 414)
        assert came_through(answer.text) == []


def test_a_guess_at_the_door_writes_nothing_into_the_audit_that_is_not_seen(
    app: Flask, folder: Path
) -> None:
    """Who keeps the vault reads the audit in a terminal, which takes orders from \\x1b."""
    start = now()
    Visit(app).log_in("\x1b[2Jreader\n\u202enimda", "wrong wrong")
    names = [one.account for one in failed_log_ins(folder / "axisvault", start, now())]
    assert f"{STAND_IN}[2jreader {STAND_IN}nimda" in names
    assert not any(UNSEEN.search(name) for name in names)


def test_a_token_says_in_words_what_it_is_for(admin: Visit) -> None:
    for purpose in ("x" * 101, "night\u202ely", "\x1b[2J"):
        answer = admin.send("/account", do="token", purpose=purpose)
        assert answer.status_code == 400
        assert "does not say what the token is for" in answer.text


def test_names_and_headers_of_what_is_downloaded_are_plain(admin: Visit, app: Flask) -> None:
    work = settle(app, admin.send("/audit", form="/audit?place=m1", place="m1/lift"))
    answer = admin.get(f"{work}/file")
    told = answer.headers["Content-Disposition"]
    assert told == "attachment; filename=evidence-m1-lift.zip"
    with zipfile.ZipFile(BytesIO(answer.data)) as package:
        for name in package.namelist():
            assert name.isprintable()
            assert not name.startswith("/")
            assert ".." not in name.split("/")


@pytest.mark.parametrize(
    "header", ["X-Forwarded-Host", "X-Forwarded-For", "Referer", "User-Agent", "Accept-Language"]
)
def test_no_header_gets_into_an_answer(header: str, app: Flask) -> None:
    answer = app.test_client().get("/axis/m1/lift", headers={header: "zz<zz-tag>.example"})
    assert "zz" not in answer.text
    assert "zz" not in str(answer.headers)
