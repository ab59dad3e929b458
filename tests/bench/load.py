"""Many people at once on a served vault: readers and writers over HTTP, on loopback.

A person looks at an answer for a while before asking for the next one.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from http.client import HTTPConnection
from pathlib import Path
from time import monotonic, sleep
from uuid import uuid4

from tests.bench.measure import CHECKOUT, program, seconds
from vault.jobs.accounts.accounts import add_account
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.local.accounts import Accounts
from vault.store.vault import Vault

READERS, WRITERS = 50, 4
_LOOKING = 5.0  # seconds from an answer to what is asked next
_PERSON = "Bench <bench@localhost>"


@dataclass(slots=True)
class Load:
    """What came of it: seconds until each site page was answered, and of ten `git rev-parse` at the
    same time, answers in all, snapshots that were stored.
    """

    pages: list[float] = field(default_factory=list)
    looks: list[float] = field(default_factory=list)
    answers: int = 0
    stored: list[str] = field(default_factory=list)
    errors: list[str] = field(default_factory=list)


def under_load(folder: Path, span: float) -> Load:
    """Serve a vault, read and write for so long, and hold what was stored against the vault."""
    with Vault.open(folder) as vault:
        before, axes = vault.index.count(), vault.index.axes()
        exports = {axis: resolve(vault, str(axis)).export_content() for axis in axes[:WRITERS]}
    token, load = _token(folder), Load()
    with _served(folder) as port:
        end = monotonic() + span
        people = [
            threading.Thread(target=_read, args=(port, axes, number, end, load))
            for number in range(READERS)
        ]
        people += [
            threading.Thread(target=_write, args=(port, axis, content, token, end, load))
            for axis, content in exports.items()
        ]
        people.append(threading.Thread(target=_look, args=(folder, end, load)))
        for one in people:
            one.start()
        for one in people:
            one.join()
    with Vault.open(folder) as vault:
        there = {s.id for axis in exports for s in vault.index.snapshots(axis)}
        lost = [one for one in load.stored if one not in there]
        if vault.index.count() - before != len(load.stored) or lost:
            load.errors.append(f"{len(lost)} of {len(load.stored)} writes are lost")
    return load


def _read(port: int, axes: list[Address], number: int, end: float, load: Load) -> None:
    axis = axes[number * 17 % len(axes)]
    others = (f"/axis/{axis}", f"/api/v1/axis/{axis}", f"/machine/{axis.machine}")
    link = HTTPConnection("127.0.0.1", port, timeout=120)
    turn = number
    sleep(number / READERS * _LOOKING)
    while monotonic() < end:
        address = "/" if turn % 2 else others[turn // 2 % len(others)]
        turn += 1
        begun = monotonic()
        try:
            link.request("GET", address)
            answer = link.getresponse()
            waited = monotonic() - begun
            answer.read()
        except OSError as error:
            load.errors.append(f"GET {address}: {error}")
            link.close()
            continue
        load.answers += 1
        if answer.status != 200:
            load.errors.append(f"GET {address}: {answer.status}")
        elif address == "/":
            load.pages.append(waited)
        sleep(_LOOKING)


def _look(folder: Path, end: float, load: Load) -> None:
    """What the same machine takes for the work that a page is held against, under the same load."""
    while monotonic() < end:
        load.looks.append(seconds(lambda: looks_at_git(folder)))
        sleep(_LOOKING)


def _write(port: int, axis: Address, content: bytes, token: str, end: float, load: Load) -> None:
    link = HTTPConnection("127.0.0.1", port, timeout=120)
    while monotonic() < end:
        kind, body = _form({"axis": str(axis), "even_so": "bench"}, content)
        headers = {"Authorization": f"Bearer {token}", "Content-Type": kind}
        try:
            link.request("POST", "/api/v1/take-in", body, headers)
            answer = link.getresponse()
            said = answer.read()
        except OSError as error:
            load.errors.append(f"POST: {error}")
            link.close()
            continue
        load.answers += 1
        if answer.status == 200:
            load.stored.append(json.loads(said)["snapshot"])
        else:
            load.errors.append(f"POST: {answer.status} {said[:200]!r}")
        sleep(_LOOKING)


def _form(fields: dict[str, str], content: bytes) -> tuple[str, bytes]:
    """A form with a file, as RFC 7578 writes it."""
    edge = uuid4().hex
    parts = [
        f'--{edge}\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{text}\r\n'.encode()
        for name, text in fields.items()
    ]
    head = f'--{edge}\r\nContent-Disposition: form-data; name="export"; filename="a.csv"\r\n\r\n'
    body = b"".join([*parts, head.encode(), content, f"\r\n--{edge}--\r\n".encode()])
    return f"multipart/form-data; boundary={edge}", body


def looks_at_git(folder: Path) -> None:
    """Ten times what a `git status` is made of."""
    for _ in range(10):
        program("git", "rev-parse", "HEAD", folder=folder)


def _token(folder: Path) -> str:
    add_account(folder / "axisvault", "bench", _PERSON, "technician", uuid4().hex, by=_PERSON)
    with Accounts(folder / "axisvault") as accounts:
        return accounts.make_token("bench", "load", by=_PERSON)


@contextmanager
def _served(folder: Path) -> Iterator[int]:
    """The viewer in a process of its own; gives the port."""
    process = subprocess.Popen(
        [sys.executable, "-m", "vault", "--vault", str(folder), "serve", "--port", "0"],
        cwd=CHECKOUT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    try:
        assert process.stdout is not None
        found = re.search(r":(\d+)/", process.stdout.readline())
        if found is None:
            raise RuntimeError("the viewer does not begin")
        yield int(found[1])
    finally:
        process.terminate()
        process.wait(60)
