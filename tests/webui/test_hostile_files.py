"""Files and forms that nobody sends by accident: names, sizes, shapes. Nothing of them stays."""

from __future__ import annotations

import tracemalloc
from collections.abc import Iterator
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.webui.hostile import FORM, Export, came_through, made, multipart, uploads
from tests.webui.visiting import Visit, token_for
from vault.jobs.export.content import MAX_BYTES
from vault.jobs.export.read_export import read_export
from vault.model.errors import Unreadable, VaultError
from vault.store.vault import Vault
from webui.app import create_app


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


EVIL_NAMES = [
    "../../x.csv", "/etc/cron.d/x", "..\\..\\x.csv", "C:\\x.csv", "...", " ", "CON", "nul.csv",
    "notes.json", "../notes.json", "x" * 300 + ".csv", "é" * 200 + ".csv", "git~1",
    'a"; filename="b.csv', "\u0430.csv", "﹒﹒／x.csv", "a\u202evsc.exe", "a\tb\x7f.csv",
    "<img src=x onerror=zz()>.csv", "%2e%2e%2fx",
]  # fmt: skip
"""Ways out, reserved names (of NTFS and git), too long ones, letters that look like others."""


def test_no_name_of_a_file_leads_anywhere_else(
    admin: Visit, folder: Path, export_text: Export
) -> None:
    def elsewhere() -> dict[Path, bytes]:
        kept = folder / "axisvault"
        return {
            path: path.read_bytes()
            for path in folder.parent.rglob("*")
            if path.is_file() and kept not in path.parents
        }

    before, content = elsewhere(), export_text("7").encode()
    names = [*EVIL_NAMES, "same.csv", "same.csv"]
    files = [(name, content + f";;;{n}\r\n".encode()) for n, name in enumerate(names)]
    body = multipart(files, {"csrf_token": admin.csrf("/take-in"), "axis": "m1/lift"})
    answer = admin.client.post("/take-in", data=body, content_type=FORM)
    assert answer.status_code == 303
    place = folder / "axisvault/uploads" / answer.headers["Location"].rpartition("/")[2]
    kept = sorted(path.read_bytes() for path in place.glob("*/*"))
    assert kept == sorted(content for _, content in files)  # each once, none over another
    assert not any(path.is_symlink() or path.is_dir() for path in place.glob("*/*"))
    page = admin.get(answer.headers["Location"])
    assert page.status_code == 200
    assert came_through(page.text) == []
    assert elsewhere() == before
    admin.send(answer.headers["Location"], do="forget")
    assert uploads(folder) == []


TOO_MUCH: dict[str, dict[str, Any]] = {
    "no body at all": {"data": b"", "content_type": FORM},
    "another boundary": {"content_type": "multipart/form-data; boundary=yy"},
    "no boundary": {"content_type": "multipart/form-data"},
    "not a form": {"content_type": "application/json"},
    "cut off": {"cut": 60},
    "many fields": {"fields": {f"f{n}": "x" for n in range(10_000)}},
    "a long field": {"fields": {"note": "x" * 600_000}},
    "many files": {"files": [("a.csv", b"x")] * 201},
    "a file without a name": {"files": [("", b"x")]},
}


@pytest.mark.parametrize("how", TOO_MUCH)
def test_a_body_that_is_no_form_of_ours_is_refused_and_nothing_of_it_is_kept(
    how: str, app: Flask, folder: Path, export_text: Export
) -> None:
    told = dict(TOO_MUCH[how])
    files = told.pop("files", [("a.csv", export_text("7").encode())])
    body = multipart(files, {"axis": "m1/lift", **told.pop("fields", {})})
    body = body[: len(body) - told.pop("cut", 0)]
    more = {"data": body, "content_type": FORM, **told}
    before, header = uploads(folder), token_for(folder, "technician")
    answer = app.test_client().post("/api/v1/take-in", headers=header, **more)
    assert answer.status_code in (400, 413)
    assert answer.json is not None
    assert len(answer.json["error"]["message"].split()) >= 4
    assert uploads(folder) == before == []


def test_a_body_without_a_length_is_no_way_around_the_limit(
    folder: Path, export_text: Export
) -> None:
    """As a server passes it on that takes chunks (RFC 9112, 7.1) and leaves counting to us."""
    app = create_app(folder)
    app.config["MAX_CONTENT_LENGTH"] = 50_000
    body = multipart([("a.csv", b"x" * 100_000)], {"axis": "m1/lift"})
    answer = app.test_client().open(
        "/api/v1/take-in", method="POST", headers=token_for(folder, "technician"),
        content_type=FORM, input_stream=BytesIO(body),
        environ_overrides={"wsgi.input_terminated": True},
    )  # fmt: skip
    assert answer.status_code == 413
    assert uploads(folder) == []


def test_fields_that_are_no_text_are_taken_as_near_as_can_be(app: Flask, folder: Path) -> None:
    body = multipart([], {"code": "3210h", "note": "NOTE"}).replace(b"NOTE", b"\xff\xfe\xc0\xaf")
    answer = app.test_client().post(
        "/api/v1/axis/m1/lift", data=body, headers=token_for(folder, "technician"),
        content_type=FORM,
    )  # fmt: skip
    assert answer.status_code == 200


HUGE = {
    "a million lines": lambda head: head + "set/1;N;1;\r\n" * 1_000_000,
    "fifteen million empty lines": lambda head: head + "\r\n" * 15_000_000,
    "an open quote over ten million lines": lambda head: head + 'set/1;"' + "\r\n" * 10_000_000,
    "five million digits": lambda head: head + "set/1;N;" + "9" * 5_000_000 + ";\r\n",
    "an exponent": lambda head: head + "lim/lag;N;1e999999999;mm\r\n",
    "one line of NUL": lambda head: "\0" * 5_000_000,
}


@pytest.mark.parametrize("what", HUGE)
def test_an_export_that_blows_up_is_refused_before_it_fills_the_memory(
    what: str, folder: Path, app: Flask
) -> None:
    """Read first, the largest of these takes more than a gigabyte."""
    content = HUGE[what]("Drive;HZ-04;;\r\nCode;Name;Value;Unit\r\n").encode()
    assert len(content) < MAX_BYTES
    with Vault.open(folder) as vault:
        family = vault.family_file("hazel")
    tracemalloc.start()
    try:
        with pytest.raises(VaultError):
            read_export(content, "big.csv", family, known=[family])
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 100 * 2**20


def test_a_file_over_the_limit_leaves_nothing_on_disk(
    app: Flask, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("webui.uploads.MAX_BYTES", 1000)
    body = multipart([("small.csv", b"x"), ("big.csv", b"x" * 1001)], {})
    answer = app.test_client().post(
        "/api/v1/take-in", data=body, headers=token_for(folder, "technician"),
        content_type=FORM,
    )  # fmt: skip
    assert answer.status_code == 422
    assert "big.csv" in (answer.json or {})["error"]["message"]
    assert uploads(folder) == []


def test_a_dictionary_that_cannot_be_read_leaves_no_upload_behind(
    admin: Visit, folder: Path, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise Unreadable("families/hazel.yaml is broken")

    monkeypatch.setattr(Vault, "family_file", broken)
    file = (BytesIO(export_text("7").encode()), "a.csv")
    assert admin.send("/take-in", export=file).status_code == 422
    assert uploads(folder) == []
