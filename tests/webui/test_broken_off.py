"""What is cut short, or done by two at once: killed servers, silent senders, two at one upload."""

from __future__ import annotations

import hashlib
import http.client
import re
import signal
import socket
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Callable
from contextlib import ExitStack, closing
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask import Flask

from tests.conftest import ROOT, every_snapshot
from tests.webui.hostile import FORM, Export, multipart, serving, settle, uploads
from tests.webui.visiting import PASSWORD, Visit
from vault.jobs.restore.sign_off import last_check
from vault.jobs.restore.target import planned
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.files import layout
from vault.store.git.history import commits_changing
from vault.store.vault import Vault
from webui import background_work as works

LIFT = Address("m1", "lift")


@pytest.fixture
def person(app: Flask) -> Visit:
    visit = Visit(app)
    visit.log_in("admin")
    return visit


def stored(folder: Path) -> Counter[str]:
    """How often each export is in the vault, by its hash; the vault must verify."""
    with Vault.open(folder) as vault:
        found = verify(vault)
        assert list(found.problems) == []
        return Counter(one.record.export_sha256 for one in every_snapshot(vault))


def sent(person: Visit, texts: list[str]) -> str:
    """Send exports of the lift; gives the page where they wait."""
    files = [(BytesIO(text.encode()), f"{n}.csv") for n, text in enumerate(texts)]
    return person.send("/take-in", axis="m1/lift", export=files).headers["Location"]


def at_once(many: int, act: Callable[[int], Any]) -> list[Any]:
    """What came of an act that so many do at the same moment."""
    barrier, came = threading.Barrier(many), []

    def do(number: int) -> None:
        barrier.wait()
        came.append(act(number))

    threads = [threading.Thread(target=do, args=(number,)) for number in range(many)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(came) == many
    return came


def as_one(person: Visit, app: Flask) -> Visit:
    """The same person in another window."""
    other, cookie = Visit(app), person.client.get_cookie("axisvault")
    assert cookie is not None
    other.client.set_cookie("axisvault", cookie.value)
    return other


# A process that stores what waits at an address, and is killed at a moment of it.
_DOOMED = """
import os, signal, sys
from importlib import import_module
from pathlib import Path
from tests.webui.visiting import Visit
from webui.app import create_app
folder, page, moment = Path(sys.argv[1]), sys.argv[2], sys.argv[3]
place = import_module("webui.pages.take_in")
from vault.store.git.repository import Repository

def killing(where, name, after):
    real = getattr(where, name)
    def doomed(*values, **named):
        found = real(*values, **named) if after else None
        os.kill(os.getpid(), signal.SIGKILL)
    setattr(where, name, doomed)

app = create_app(folder)
person = Visit(app)
person.log_in("admin")
csrf = person.csrf(page)
where, name, after = {
    "before": (place, "ingest", False), "after": (place, "ingest", True),
    "moved": (Repository, "advance", True), "moving": (Repository, "advance", False),
}[moment]
killing(where, name, after)
form = {"csrf_token": csrf, "axis-0": "m1/lift", "axis-1": "m1/lift", "do": "store"}
person.client.post(page, data=form)
app.extensions["work_queue"].wait(60)
"""


@pytest.mark.sweep(2)
@pytest.mark.parametrize("moment", ["before", "moving", "moved", "after"])
def test_storing_that_was_killed_is_told_and_ends_with_each_export_stored_once(
    moment: str, folder: Path, export_text: Export, person: Visit, app: Flask
) -> None:
    texts = [export_text("4"), export_text("5")]
    page, before = sent(person, texts), stored(folder)
    run = [sys.executable, "-c", _DOOMED, str(folder), page, moment]
    done = subprocess.run(run, env={"PYTHONPATH": str(ROOT)}, cwd=ROOT, check=False)
    assert done.returncode == -signal.SIGKILL
    assert len(stored(folder) - before) == (moment in ("moved", "after"))
    (told,) = person.get("/api/v1/work").json["work"]  # type: ignore[index]
    assert told["state"] == "stopped"
    text = person.get(f"/work/{told['id']}").text
    assert "The viewer ended before this was done" in text
    assert f'href="{page}"' in text
    assert person.get(page).status_code == 200  # what waited waits
    form = {"axis-0": "m1/lift", "axis-1": "m1/lift", "do": "store"}
    settle(app, person.send(page, **form))
    after = stored(folder) - before
    assert after == Counter(hashlib.sha256(text.encode()).hexdigest() for text in texts)
    assert uploads(folder) == []


class Caller:
    """A browser on a real server."""

    def __init__(self, port: int) -> None:
        self.port, self.cookie = port, ""

    def ask(self, method: str, address: str, body: bytes = b"", kind: str = "") -> tuple[int, str]:
        """Status, and where it leads or what it says."""
        with closing(http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)) as link:
            headers = {"Cookie": self.cookie} | ({"Content-Type": kind} if kind else {})
            link.request(method, address, body, headers)
            answer = link.getresponse()
            text = answer.read().decode()
            self.cookie = (answer.headers["Set-Cookie"] or self.cookie).partition(";")[0]
            return answer.status, answer.headers["Location"] or text

    def send(self, address: str, files: list[tuple[str, bytes]], **fields: str) -> tuple[int, str]:
        found = re.search('csrf_token" value="([^"]+)', self.ask("GET", address)[1])
        assert found is not None
        return self.ask("POST", address, multipart(files, {**fields, "csrf_token": found[1]}), FORM)


def test_a_server_killed_while_it_stores_goes_on_where_it_was(
    folder: Path, export_text: Export
) -> None:
    texts = [export_text(str(4 + n)).encode() for n in range(12)]
    form = {f"axis-{n}": "m1/lift" for n in range(len(texts))}
    log_in = {"name": "admin", "password": PASSWORD}
    before = stored(folder)
    with serving(folder) as (process, port):
        caller = Caller(port)
        caller.send("/log-in", [], **log_in)
        files = [(f"{n}.csv", text) for n, text in enumerate(texts)]
        _, page = caller.send("/take-in", files, axis="m1/lift")
        _, work = caller.send(page, [], do="store", **form)
        while '"done":0' in caller.ask("GET", f"/api/v1{work}")[1].replace(" ", ""):
            pass  # until the first of them is stored
        process.kill()
        process.wait()
    stored(folder)
    with serving(folder) as (_, port):
        caller = Caller(port)
        caller.send("/log-in", [], **log_in)
        status, _ = caller.ask("GET", page)
        if status == 200:  # else it was quicker than we were
            assert '"state":"stopped"' in caller.ask("GET", f"/api/v1{work}")[1].replace(" ", "")
            _, work = caller.send(page, [], do="store", **form)
            while re.search("running|waiting", caller.ask("GET", f"/api/v1{work}")[1]):
                pass
    assert stored(folder) - before == Counter(hashlib.sha256(text).hexdigest() for text in texts)


def test_senders_that_fall_silent_keep_nobody_else_waiting(folder: Path) -> None:
    half = (
        b"POST /log-in HTTP/1.1\r\nHost: localhost\r\nContent-Length: 100000\r\n"
        b"Content-Type: multipart/form-data; boundary=zz\r\n\r\n--zz\r\nContent-Dispos",
        b"POST /log-in HTTP/1.1\r\nHost: localhost\r\nTransfer-Encoding: chunked\r\n\r\n"
        b"ffff\r\nname=",
        b"GET /axis/m1/lift HTTP/1.1\r\nHost: loc",
        b"",
    )
    with serving(folder) as (process, port), ExitStack() as silent:
        for number in range(120):
            link = silent.enter_context(closing(socket.create_connection(("127.0.0.1", port))))
            link.sendall(half[number % len(half)])
        with closing(socket.create_connection(("127.0.0.1", port), timeout=60)) as link:
            link.sendall(b"\x1b[2J /\x1b[2J\xe2\x80\xae HTTP/1.0\r\nHost: localhost\r\n\r\n")
            assert link.recv(12).startswith(b"HTTP/1.0 4")
        for _ in range(3):
            assert Caller(port).ask("GET", "/axis/m1/lift")[0] == 200
        process.send_signal(signal.SIGTERM)
        _, log = process.communicate(timeout=60)
    assert log.count("GET /axis/m1/lift 200") == 3
    assert "\x1b" not in log  # whoever looks at the log looks at it in a terminal
    assert "Traceback" not in log


def test_an_upload_that_many_store_at_once_is_stored_once(
    folder: Path, export_text: Export, person: Visit, app: Flask
) -> None:
    page, before = sent(person, [export_text("4"), export_text("5")]), stored(folder)
    csrf = person.csrf(page)
    form = {"axis-0": "m1/lift", "axis-1": "m1/lift", "do": "store", "csrf_token": csrf}
    windows = [as_one(person, app) for _ in range(6)]
    answers = at_once(6, lambda n: windows[n].client.post(page, data=form).status_code)
    app.extensions["work_queue"].wait(60)
    assert answers.count(303) == 1
    assert set(answers) <= {303, 400, 403}  # gone by then, or being stored
    assert sorted((stored(folder) - before).values()) == [1, 1]
    assert uploads(folder) == []
    assert list((folder / "axisvault/uploads").iterdir()) == []


def test_a_page_that_was_left_open_gives_no_file_the_axis_of_another(
    folder: Path, export_text: Export, person: Visit, app: Flask
) -> None:
    """The first of two is stored meanwhile: the second must not take its place in the form."""
    page = sent(person, [export_text("4"), export_text("5")])
    csrf = person.csrf(page)
    form = {"axis-0": "m1/lift", "axis-1": "", "do": "store", "csrf_token": csrf}
    settle(app, as_one(person, app).client.post(page, data=form))
    left = as_one(person, app)
    settle(app, left.client.post(page, data={**form, "axis-0": "m1/lift", "axis-1": ""}))
    with Vault.open(folder) as vault:
        assert vault.index.count() == 4  # three that were there, and the first


def test_what_is_being_stored_can_be_neither_changed_nor_thrown_away(
    folder: Path, export_text: Export, person: Visit, app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, go_on = threading.Event(), threading.Event()
    store = works.Vault.open

    def slow(place: Path) -> Vault:
        begun.set()
        assert go_on.wait(60)
        return store(place)

    page = sent(person, [export_text("4")])
    csrf = person.csrf(page)
    form = {"axis-0": "m1/lift", "csrf_token": csrf}

    class Slow:
        open = staticmethod(slow)

    monkeypatch.setattr(works, "Vault", Slow)
    work = person.client.post(page, data={**form, "do": "store"}).headers["Location"]
    assert begun.wait(60)
    for do in ("look", "store", "forget"):
        answer = person.client.post(page, data={**form, "axis-0": "m1/belt", "do": do})
        assert answer.status_code == 403
        assert "being stored already" in answer.text
    go_on.set()
    app.extensions["work_queue"].wait(60)
    assert "is stored as m1/lift@" in person.get(work).text


def test_an_upload_can_be_stored_after_work_that_could_not_even_begin(
    folder: Path, export_text: Export, person: Visit, app: Flask, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Broken:
        @staticmethod
        def open(_: Path) -> Vault:
            raise works.Unavailable("the vault is on a share that is away")

    page = sent(person, [export_text("4")])
    form = {"axis-0": "m1/lift", "do": "store"}
    with monkeypatch.context() as patch:
        patch.setattr(works, "Vault", Broken)
        work = settle(app, person.send(page, **form))
    assert "on a share that is away" in person.get(work).text
    assert f'href="{page}"' in person.get(work).text
    assert "is stored as" in person.get(settle(app, person.send(page, **form))).text


def test_no_more_work_is_begun_than_can_wait(
    person: Visit, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(works, "_MOST_WAITING", 0)
    answer = person.send("/audit", form="/audit?place=m1", place="m1")
    assert answer.status_code == 503
    assert "too much work waits" in answer.text


def test_approving_and_withdrawing_at_once_leaves_one_of_both(
    folder: Path, person: Visit, app: Flask
) -> None:
    page = "/axis/m1/lift/golden"
    assert person.send(page, do="approve", when="latest", reason="as built").status_code == 303
    form = {"reason": "x", "when": "latest", "csrf_token": person.csrf(page)}
    windows = [as_one(person, app) for _ in range(8)]
    acts = [{**form, "do": ("approve", "withdraw")[n % 2]} for n in range(8)]
    answers = at_once(8, lambda n: windows[n].client.post(page, data=acts[n]).status_code)
    assert set(answers) <= {303, 400}  # 400: there was nothing to withdraw
    with Vault.open(folder) as vault:
        edits = commits_changing(vault.repository, vault.tip, layout.golden_file(LIFT))
        done = [one.subject for one in edits]
        assert len(done) == 1 + answers.count(303)
        assert ("approved" in done[-1]) == (vault.golden(LIFT).approval is not None)
    stored(folder)


def test_a_restore_is_signed_off_once_and_only_as_it_was_seen(
    folder: Path, export_text: Export, person: Visit, app: Flask
) -> None:
    page = person.send("/restore/m1/lift", when="latest").headers["Location"]

    def check(place: str) -> None:
        file = (BytesIO(export_text("3", place=place).encode()), "left.csv")
        assert person.send(page, do="check", export=file).status_code == 303

    check("1")
    stale = re.findall('name="snapshot" value="([^"]+)', person.get(page).text)
    check("2")
    fresh = re.findall('name="snapshot" value="([^"]+)', person.get(page).text)
    answer = person.send(page, do="sign-off", snapshot=stale[0])
    assert answer.status_code == 403
    assert "was checked since" in answer.text
    form = {"do": "sign-off", "snapshot": fresh[0], "unticked": "1"}
    form["csrf_token"] = person.csrf(page)
    windows = [as_one(person, app) for _ in range(4)]
    answers = at_once(4, lambda n: windows[n].client.post(page, data=form).status_code)
    assert sorted(answers) == [303, 403, 403, 403]
    with Vault.open(folder) as vault:
        plan, checked = planned(vault, LIFT), last_check(vault, LIFT)
        assert plan is not None
        assert plan.signed_off is not None
        assert checked is not None
        assert plan.signed_off.snapshot == checked.snapshot.id == fresh[0]
        edits = commits_changing(vault.repository, vault.tip, layout.restore_file(LIFT))
        done = [one.subject for one in edits]
        assert sum("signed off" in subject for subject in done) == 1
