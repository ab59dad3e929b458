"""However much is sent, asked or packed together: it is refused by counting, and nobody waits.

No time is asserted. What is hostile here is made by the tests.
"""

from __future__ import annotations

import resource
import socket
import subprocess
import sys
from collections.abc import Callable
from contextlib import ExitStack, closing
from fnmatch import fnmatchcase
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import BY, ROOT, Outcome
from tests.webui.hostile import serving
from tests.webui.visiting import Visit, add_people, token_for
from vault.formats.ini_lines import read_ini
from vault.jobs.export.content import MAX_LINE, read_content
from vault.jobs.sync.sync import look
from vault.model.errors import Unreadable, WrongUsage
from vault.model.numerals import parse_number
from vault.model.patterns import fits_glob
from vault.model.watch_rules import WatchRule
from vault.store.files import yaml_text
from vault.store.git import exchange
from vault.store.vault import Vault
from webui import server
from webui.app import create_app
from webui.limits import MOST_HEADER, STRANGERS_BODY

pytestmark = pytest.mark.sweep(2)

Cli = Callable[..., Outcome]
Take = Callable[..., Any]
Export = Callable[..., str]
MIB = 1024 * 1024


# YAML


@pytest.mark.parametrize(
    "text",
    [
        "a: " + "[" * 100_000 + "]" * 100_000,  # takes more stack than a process has
        "a: " + "[" * 101,
        "- " * 20_000 + "x",
        "".join(f"{' ' * n}a:\n" for n in range(300)),
        "a: &a [x, x]\n" + "".join(f"k{n}: &k{n} [*a, *a]\n" for n in range(3)) + "b: [" * 200,
        "k0: &k0 [x, x, x, x, x, x, x, x, x, x]\n"
        + "".join(f"k{n}: &k{n} [{', '.join([f'*k{n - 1}'] * 10)}]\n" for n in range(1, 9)),
        "- x\n" * 400_000,
        "[" + "x," * 400_000 + "]",
        "a: &a [*a]",
        "? [1]\n: 2",
        "a: !!python/object/apply:os.system [ls]",
        "a: !!int x",
        "a: !!binary '@'",
        "%YAML 9.9\n---\na: 1",
        "--- a\n--- b",
        "a: \x00",
        "\t- a",
        "a: 1\na: 2",
    ],
    ids=range(18),
)
def test_a_yaml_text_beyond_its_limits_is_refused_in_one_line(text: str) -> None:
    try:
        read = yaml_text.load(text, "x.yaml")
    except Unreadable as error:
        assert "\n" not in str(error)
        assert "x.yaml" in str(error)
    else:
        assert text in ("a: &a [*a]", "? [1]\n: 2", "a: !!binary '@'"), read


def test_brackets_within_quotes_are_no_nesting() -> None:
    text = "a:\n" + '- "[x"\n' * 500
    assert yaml_text.load(text, "x.yaml") == {"a": ["[x"] * 500}


def test_an_anchor_that_is_used_a_few_times_is_read() -> None:
    assert yaml_text.load("a: &x {b: 1}\nc: *x\n", "x.yaml") == {"a": {"b": 1}, "c": {"b": 1}}


def test_a_number_of_thousands_of_digits_is_a_text() -> None:
    for text in ("9" * 5000, "1." + "0" * 5000 + "1", "1.0e999999999", "0x" + "f" * 5000):
        assert yaml_text.load(f"a: {text}", "x.yaml") == {"a": text}


# Patterns


@given(st.text("ab*?[]!-/", max_size=10), st.text("ab/]![", max_size=8))
def test_a_pattern_means_what_it_always_did(pattern: str, text: str) -> None:
    assert fits_glob(text, pattern) == fnmatchcase(text, pattern)


def test_a_pattern_of_many_stars_ends() -> None:
    assert not fits_glob("a" * 129, "*a" * 140 + "b")
    assert not fits_glob("[" * 129, "[" * 150 + "*" * 100 + "x")


def test_a_rule_of_many_folders_ends() -> None:
    rule = WatchRule(folder="/".join(["**", "a"] * 40).lstrip("/") + "/b", to=None)
    assert not rule.fits(["a"] * 60)
    assert WatchRule(folder="**/x/**/b", to=None).fits(["a", "x", "c", "d", "b"])
    assert not WatchRule(folder="**/x", to=None).fits([])
    assert WatchRule(folder="**", to=None).fits([])


def test_a_pattern_of_spread_is_bounded(vault: Vault, cli: Cli) -> None:
    assert cli("spread", "*" * 301).code == WrongUsage.exit_code
    assert cli("spread", "[" * 300).code == WrongUsage.exit_code


# Exports


def test_a_line_of_megabytes_is_no_export(tmp_path: Path) -> None:
    path = tmp_path / "x.csv"
    path.write_bytes(b"a\r\nb\r\n" + b"c" * (MAX_LINE + 1) + b"\r\n")
    with pytest.raises(Unreadable, match="line 3: a line of more than 1,048,576 bytes"):
        read_content(path)
    path.write_bytes(b"a\r" + b"c" * (MAX_LINE - 1) + b"\r" + b"d" * MAX_LINE)
    assert len(read_content(path)) == 2 + 2 * MAX_LINE


@pytest.mark.parametrize("number", ["1" * 5000, "1" * 5000 + ",5", "0x" + "f" * 5000, "1" * 3000])
def test_an_export_with_a_number_without_end_is_read_or_refused(
    number: str, take: Take, export_text: Export
) -> None:
    with pytest.raises(ValueError, match="too long"):
        parse_number("1" * 3201)
    with pytest.raises(Unreadable, match="line 3: ") as refused:
        take(export_text(number))
    assert len(str(refused.value)) < 1000


@pytest.mark.parametrize("line", ["k{}=1\n", "[s{}]\n", "x{}\n"])
def test_ini_text_of_a_million_parts_is_refused_by_counting(line: str) -> None:
    text = "[a]\n" + "".join(line.format(number) for number in range(320_000))
    with pytest.raises(Unreadable, match=r"x\.dcf, line \d+: too many lines"):
        read_ini(text, "x.dcf")


_READS = """
import sys
from pathlib import Path
from vault.jobs.export.read_export import read_export
from vault.jobs.export.content import read_content
from vault.model.errors import VaultError
from vault.store.vault import FamilyFile
family = FamilyFile("hazel", Path(sys.argv[1]).read_bytes())
try:
    read_export(read_content(Path(sys.argv[2])), "x", known=[family], partial=True)
except VaultError:
    pass
status = Path("/proc/self/status").read_text()  # of this program alone, not what it was forked of
print(int(status.split("VmHWM:")[1].split()[0]) // 1024)
"""
_HEAD = b"Drive;HZ-04;;\r\nCode;Name;Value;Unit\r\n"
_INI = b"[FileInfo]\nFileName=a\n[DeviceInfo]\nVendorName=x\n"
HOSTILE: dict[str, Callable[[], bytes]] = {
    "cells": lambda: _HEAD + b"a;" * 16 * MIB,
    "rows": lambda: _HEAD + b"a;b;1;mm\r\n" * (3 * MIB),
    "quotes": lambda: _HEAD + b'"' * 31 * MIB,
    "wide rows": lambda: _HEAD + (b"lim/1;" + b"x;" * 150 + b"\r\n") * 90_000,
    "many cells a line": lambda: _HEAD + (b"a;" * 500_000 + b"\r\n") * 31,
    "sections": lambda: _INI + b"".join(b"[a%d]\n" % n for n in range(1_190_000)),
    "keys": lambda: _INI + b"".join(b"k%d=1\n" % n for n in range(1_190_000)),
    "no keys": lambda: _INI + b"".join(b"k%d\n" % n for n in range(1_190_000)),
    "objects": lambda: (
        _INI
        + b"".join(
            b"[%04Xsub%X]\nDataType=7\nParameterValue=1\n" % (index, sub)
            for index in range(0x2000, 0x2600)
            for sub in range(256)
        )[: 12 * MIB]
    ),
    "brackets": lambda: b"[" * 31 * MIB,
}


@pytest.mark.parametrize("name", HOSTILE)
def test_reading_32_mib_of_hostile_text_takes_less_than_300_mb(
    name: str, tmp_path: Path, family_text: str
) -> None:
    (tmp_path / "hazel.yaml").write_text(family_text)
    (tmp_path / "x").write_bytes(HOSTILE[name]()[: 32 * MIB])
    done = subprocess.run(
        [sys.executable, "-c", _READS, "hazel.yaml", "x"],
        cwd=tmp_path, env={"PYTHONPATH": f"{ROOT}:{':'.join(sys.path)}"},
        capture_output=True, text=True, check=True,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (4 << 30, 4 << 30)),
    )  # fmt: skip
    assert int(done.stdout) < 300


# A bundle


def test_a_small_bundle_that_holds_something_huge_is_refused_unread(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, cli: Cli,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    take(export_text("1"))
    other = tmp_path / "other"
    assert cli("create", other, "--copy", vault.repository.path).code == 0
    with Vault.open(other) as copy, copy.writing():
        copy.write_files({"notes.bin": b"\0" * (exchange.MOST_OBJECT + 1)}, "x\n", BY)
    bundle = tmp_path / "x.bundle"
    assert cli("--vault", other, "sync", "give", bundle).code == 0
    assert bundle.stat().st_size < 10 * MIB

    def never(*_: object) -> None:
        raise AssertionError("it was read")

    monkeypatch.setattr("vault.jobs.sync.sync.joined_histories", never)
    with pytest.raises(Unreadable, match="67,108,865 bytes"):
        look(vault, str(bundle), BY)
    outcome = cli("create", tmp_path / "third", "--copy", bundle)
    assert outcome.code == Unreadable.exit_code
    assert not (tmp_path / "third").exists()


# Requests


@pytest.fixture
def folder(vault: Vault, take: Take, export_text: Export) -> Path:
    take(export_text("1"))
    add_people(vault.repository.path)
    return vault.repository.path


def test_what_is_asked_for_is_bounded(folder: Path) -> None:
    client = create_app(folder, is_local=True).test_client()
    assert "Nothing is called that" in client.get(f"/find?text={'x' * 300}").text
    for address, status in (
        (f"/find?text={'x' * 301}", 400),
        (f"/find?{'x' * 101}=1", 400),
        ("/find?" + "&".join(f"a{n}=1" for n in range(61)), 400),
        (f"/find?text={'x' * 9000}", 414),
        (f"/api/v1/find?text={'x' * 301}", 400),
        (f"/api/v1/search?text={'x' * 301}", 400),
    ):
        answer = client.get(address)
        assert answer.status_code == status, address[:40]
        assert len(answer.data) < 20_000
    assert client.get("/", headers={"X-Odd": "x" * (MOST_HEADER + 1)}).status_code == 431


def test_a_stranger_sends_little(folder: Path) -> None:
    app = create_app(folder)
    client = app.test_client()
    much = {"export": "x" * (STRANGERS_BODY + 1)}
    for address in ("/log-in", "/take-in", "/api/v1/take-in", "/health"):
        assert client.post(address, data=much).status_code == 413
    known = client.post("/api/v1/take-in", data=much, headers=token_for(folder, "technician"))
    assert known.status_code != 413
    visit = Visit(app)
    visit.log_in("technician")
    assert visit.send("/axis/m1/lift", code="1", note="x" * 20_001).status_code == 400


def answer_to(port: int, request: bytes, body: int) -> bytes:
    """The answer to a request of which so many bytes of the body are sent."""
    with closing(socket.create_connection(("127.0.0.1", port), timeout=30)) as link:
        link.sendall(request)
        try:
            for _ in range(body // 65536):
                link.sendall(b"x" * 65536)
        except OSError:  # it has hung up
            pass
        return link.recv(65536)


def test_the_server_takes_no_large_body_of_a_stranger(folder: Path) -> None:
    token = token_for(folder, "technician")["Authorization"]
    head = b"POST /api/v1/take-in HTTP/1.1\r\nHost: localhost\r\n%sContent-Length: %d\r\n\r\n"
    with serving(folder) as (_, port):
        told = answer_to(port, head % (b"Cookie: axisvault=made.up\r\n", 40 * MIB), MIB)
        assert b" 413 " in told.split(b"\r\n")[0]
        known = answer_to(port, head % (b"Authorization: %s\r\n" % token.encode(), MIB), MIB)
        assert b" 413 " not in known.split(b"\r\n")[0]
        large = b"GET / HTTP/1.1\r\nHost: localhost\r\nX-A: %s\r\n\r\n" % (b"x" * 40_000)
        assert b" 431 " in answer_to(port, large, 0).split(b"\r\n")[0]


def test_one_address_has_so_many_connections(folder: Path) -> None:
    get = b"GET /healthz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n"
    with serving(folder) as (_, port), ExitStack() as held:
        for _ in range(server._PER_ADDRESS):
            held.enter_context(closing(socket.create_connection(("127.0.0.1", port), timeout=30)))
        with closing(socket.create_connection(("127.0.0.1", port), timeout=30)) as link:
            try:
                link.sendall(get)
                assert link.recv(100) == b""
            except ConnectionError:
                pass
        held.close()
        for _ in range(50):
            try:
                if b" 200 " in answer_to(port, get, 0):
                    break
            except ConnectionError:
                continue
        else:
            raise AssertionError("nobody gets in any more")
